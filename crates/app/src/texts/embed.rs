//! Words of a view that stands in another page.

use wording::wording;

wording! {
    /// Words of the embedded view.
    pub struct EmbedTexts {
        /// Name of the controls below the views.
        controls: "Probe",
        /// Goes back to the author's view.
        back: "Back to the first view",
        /// Opens the view outside the frame.
        own_tab: "Open in its own tab",
        /// After a file was given away; `{}` is its name.
        saved: "Saved as {}. If no file arrives, this frame does not allow downloads.",
        /// Puts what stands in that file on the clipboard.
        copy_file: "Copy the text of the file",
        /// Unfolds the scene in words.
        words: "In words",
        /// Why a view is drawn still.
        still: "Drawn still. This page shows more moving body views than the browser keeps at once. Scroll others out \
                of sight, or open this one in its own tab.",
        /// The author's wishes cannot be read; `{}` is the reason.
        broken_wishes: "This view was not set up as its page asked: {}.",
        /// The address asks for one question of a set; `{}` is its name.
        no_question: "This set has no question with the name {}.",
        /// The short footer; the whole one stands on the page itself.
        caution: "For teaching. Not for diagnosis.",
    }
}

impl EmbedTexts {
    /// The sentence for wishes that cannot be read.
    #[must_use]
    pub fn broken(&self, reason: &str) -> String {
        super::fill(self.broken_wishes, &[reason])
    }
}
