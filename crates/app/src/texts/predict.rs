//! Predictions before the notch is turned.

use wording::wording;

wording! {
    /// Words of predictions. `{}` stands for what is put in, in the order given.
    pub struct PredictTexts {
        /// Check box.
        switch: "Let me predict before the notch turns",
        /// What the answers are laid out as.
        answers: "Answers, laid out as the sides of the picture",
        /// Puts the question away.
        not_now: "Not now",
        /// The question: patient's side, turn.
        question: "Image left now shows the {}. Where will it be after {}?",
        /// The turns: half way round, a quarter clockwise, a quarter anticlockwise.
        turns: [
            "half a turn of the notch",
            "a quarter turn clockwise",
            "a quarter turn anticlockwise",
        ],
        /// The answer that it is at no side.
        nowhere: "At no side",
        /// It was right: where.
        right: "Yes: {}.",
        /// It was not: where.
        wrong: "No: {}.",
        /// At a side of the picture: patient's side, image side.
        at: "the {} is at {}",
        /// At none: patient's side.
        at_none: "the {} is at no side, for the plane now runs across that direction",
    }
}
