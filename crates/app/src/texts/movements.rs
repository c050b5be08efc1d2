//! Movements.

use wording::wording;

wording! {
    /// A movement in words.
    pub struct MovementTexts {
        /// Its published name.
        name: "Rotate",
        /// What it does, in one sentence.
        meaning: "Turns the probe about its beam. The notch moves round the clock on the skin.",
        /// Name of the button for more.
        forward: "Rotate clockwise",
        /// Name of the button for less.
        back: "Rotate anticlockwise",
    }
}

/// Rotate, tilt, rock, compress.
pub(super) const ENGLISH: [MovementTexts; 4] = [
    MovementTexts::ENGLISH,
    MovementTexts {
        name: "Tilt",
        meaning: "Fans the beam across the image plane, to a new plane through the same line of skin.",
        forward: "Tilt, positive way",
        back: "Tilt, negative way",
    },
    MovementTexts {
        name: "Rock",
        meaning: "Swings the beam toward the notch or away from it. The plane stays the same.",
        forward: "Rock toward the notch",
        back: "Rock away from the notch",
    },
    MovementTexts {
        name: "Compress",
        meaning: "Pushes the probe into the body. The plane stays the same.",
        forward: "Compress more",
        back: "Compress less",
    },
];
