//! Words of an exercise set that is played: its pictures to acquire, and what the course system does with the answers.

use wording::wording;

wording! {
    /// Words of the page of a set. `{}` stands for what is put in.
    pub struct SetTexts {
        /// Heading of the last task.
        pictures_heading: "Acquire the pictures",
        /// What to do.
        pictures_prompt: "Move the probe until the picture shows a view of the list. Freeze it, type the annotation, acquire it.",
        /// How it is marked.
        pictures_marks: "Each view gives one mark: half of it for the picture, half for the annotation on it.",
        /// How it is marked without words to check annotations with.
        pictures_marks_bare: "Each view gives one mark.",
        /// Button; all views are there.
        pictures_done: "Finish: all views are there",
        /// Button; `{}` is how many are missing.
        pictures_missing: "Finish with {} view missing|Finish with {} views missing",
        /// Button under the last question.
        to_pictures: "To the pictures",
        /// Part of the title of a line of the review.
        picture: "picture",
        /// What came out for a view; `{}` is the picture's number.
        view_right: "Picture {} shows it and says so.",
        /// See `view_right`.
        view_shown: "Picture {} shows it.",
        /// See `view_right`.
        view_half: "Picture {} shows it. Its annotation is missing or not right.",
        /// What came out for a view.
        view_earlier: "Acquired in an earlier visit.",
        /// What came out for a view.
        view_missing: "No picture shows it.",
        /// What stands on the picture.
        annotated: "Annotation: {}.",
        /// Under the questions, which are about several bodies.
        left: "{} question of this set could not be asked and does not count.|{} questions of this set could not be asked and do not count.",

        /// Group of the line about the course system.
        course: "Course system",
        /// It is there.
        connected: "Your answers go to the course system.",
        /// It grades nothing.
        ungraded: "The course system shows this without grading it.",
        /// It took what it was given.
        saved: "The course system has your answers.",
        /// It did not.
        trouble: "The course system did not take the last answer. Go on, and save the result file at the end.",
        /// There is none.
        no_course: "No course system answered. Save the result file at the end and hand it in.",
        /// The launch is good for one opening.
        used_launch: "This launch of the exercise was used already, so answers do not reach the course system. Open the exercise from the course again. If you go on here, save the result file at the end.",
        /// The session is over.
        ended: "The session with the course system is over. What it was given is kept. Open the exercise from the course again to go on.",
        /// Button.
        leave: "Close the exercise",
        /// After closing.
        left_page: "You can close this window now.",
    }
}
