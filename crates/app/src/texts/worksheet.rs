//! Words of a set on paper.

use wording::wording;

wording! {
    /// Words of the worksheet. `{}` stands for what is put in.
    pub struct WorksheetTexts {
        /// While it is made.
        opening: "Making the worksheet …",
        /// It cannot be made; `{}` is the reason.
        broken: "The worksheet could not be made: {}.",
        /// Button.
        print: "Print",
        /// Field.
        paper: "Paper",
        /// Sizes of paper.
        sizes: ["A4", "Letter"],
        /// Tick.
        name_field: "A line for the name",
        /// The line for the name.
        name: "Name",
        /// Marks behind a question; `{}` is how many.
        points: "{} mark|{} marks",
        /// Two pictures of one question.
        before_after: ["Before", "After"],
        /// What to do on the chart where the probe has to be placed.
        place: "Draw the probe's face on the body as a line, and its notch as a ring at one end.",
        /// Under the chart, in the order of [`geometry::PatientSide::ALL`].
        seen_from: [
            "Seen from the patient's right",
            "Seen from the patient's left",
            "Seen from the front",
            "Seen from behind",
            "Seen from the head, the patient's front up",
            "Seen from the feet, the patient's front up",
        ],
        /// Under the first chart.
        key: "On the body the line is the probe's face and the ring its notch. In the picture the dot is the mark.",
        /// Heading of the pictures to acquire.
        acquire: "Acquire at the scanner",
        /// Heading of the sheet with the answers.
        answers: "Answers",
        /// Questions that are not on paper; `{}` is how many.
        left_out: "Questions that could not be put on paper: {}.",
        /// The pictures to acquire are not on paper; `{}` is why.
        pictures_left_out: "The pictures to acquire could not be put on paper: {}.",
        /// Foot of every page: set, seed, version.
        foot: "Planeward worksheet. Set {}, seed {}, version {}. For teaching, not for diagnosis.",
    }
}
