//! Messages.

use wording::wording;

wording! {
    /// Messages. `{}` stands for what is put in.
    pub struct MessageTexts {
        /// A link that cannot be read; `{}` is the reason.
        broken_link: "The link could not be read, so this is the first view: {}.",
        /// A link to an unknown body, window or transducer; `{}` is its name.
        unknown_body: "The link asks for a body that is not here, \"{}\", so this is the first view.",
        /// See [`Self::unknown_body`].
        unknown_window: "The link asks for a window this body does not have, \"{}\".",
        /// See [`Self::unknown_body`].
        unknown_transducer: "The link asks for a transducer that is not here, \"{}\".",
        /// A body that cannot be had; `{}` is the reason.
        body_failed: "The body could not be loaded: {}. The rest of the page works.",
        /// While a body is on its way.
        loading: "Loading the body",
        /// While its inside is on the way.
        loading_inside: "The skin is here. Loading the organs",
        /// Without WebGL2.
        no_body_view: "This browser cannot draw the body view, which needs WebGL2. The picture, the names and \
                       all controls work without it.",
        /// Why a name has a limit.
        tolerance_note: "No published standard fixes how far a plane may be off and keep its name.",
    }
}
