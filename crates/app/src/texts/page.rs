//! Words of the page around the panels, and of the screens that stand in it when the program does not run.

use wording::wording;

wording! {
    /// Words of the page itself.
    pub struct PageTexts {
        /// Of the browser's window.
        window_title: "Planeward: where is the image plane?",
        /// Name of the plane.
        plane: "{} plane",
        /// Between an angle and a body plane's name: "38° from sagittal".
        from: "from",
        /// Name of the buttons between scanning and practising.
        screens: "Screens",
        theme_auto: "Auto",
        language: "Language",
        /// First line of the window menu.
        no_window: "Not at a named window",
        /// Heading of the setup that is seldom changed.
        more: "Body and view",
        /// Read aloud for the sign after a number.
        degrees: "degrees",
        millimetres: "millimetres",
        percent: "percent",
        picture_hint: "Press on a structure to point it out in both views.",
        /// A file's name, a number.
        file_missing: "the file {} is missing (status {})",
        /// A file's name.
        file_broken: "the file {} did not arrive, the connection may be down",
        list_broken: "the list of bodies cannot be read",
        /// A body's identifier.
        no_such_body: "there is no body {} beside this page",
        /// The name of a language.
        language_failed: "The words for \"{}\" did not arrive, so the page is in English.",
    }

    /// Words about a newer version of the page.
    pub struct UpdateTexts {
        words: "A newer version of this page is ready. Taking it loads the page again; your probe position stays.",
        take: "Take it now",
        later: "Later",
    }

    /// Words of the stop screen.
    pub struct StopTexts {
        title: "Planeward has stopped",
        words: "Something went wrong inside the program, so it stopped rather than show a wrong picture. The address of this page still holds your probe position.",
        /// The same in the frame of another page.
        words_in_frame: "Something went wrong inside the program, so it stopped rather than show a wrong picture. The page around this frame goes on.",
        reload: "Reload at this probe position",
        reload_in_frame: "Reload this view",
        copy: "Copy the message",
        fresh: "Start at the first view",
        message: "Message of the fault",
        copied: "Copied.",
        marked: "The message is marked. Copy it with your usual keys.",
    }
}
