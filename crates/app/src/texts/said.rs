//! What is announced after a step.

use wording::wording;

wording! {
    /// Announcements of a changed setting.
    pub struct SaidTexts {
        /// What was chosen, what it is now.
        choice: "{}: {}.",
        /// Depth with its unit.
        depth: "Depth {}.",
        /// Left, right.
        mark: ["Mark at image left.", "Mark at image right."],
        /// Top, bottom.
        face: ["Face of the probe at image top.", "Face of the probe at image bottom."],
        /// Degrees.
        tolerance: "A plane keeps its name within {}.",
    }
}
