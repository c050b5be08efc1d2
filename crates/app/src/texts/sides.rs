//! Names of the patient's sides.

use geometry::{PatientSide, SideName};
use wording::wording;

wording! {
    /// Names of the patient's sides, as names of a side of the picture.
    pub struct SideTexts {
        /// Right, left, front, back, head, foot, in the order of [`PatientSide::ALL`].
        plain: [
            "patient's right",
            "patient's left",
            "front",
            "back",
            "head end",
            "foot end",
        ],
        /// The same with the trade's word in brackets.
        full: [
            "patient's right",
            "patient's left",
            "front (anterior)",
            "back (posterior)",
            "head end (cephalic)",
            "foot end (caudal)",
        ],
        /// Joins two: " and ".
        and: " and ",
    }
}

impl SideTexts {
    /// "head end".
    #[must_use]
    pub fn name(&self, side: PatientSide) -> &'static str {
        pick(&self.plain, side)
    }

    /// "head end (cephalic)".
    #[must_use]
    pub fn full_name(&self, side: PatientSide) -> &'static str {
        pick(&self.full, side)
    }

    /// "foot end and patient's left", dominant first.
    #[must_use]
    pub fn words(&self, name: &SideName, threshold: f64) -> String {
        let words: Vec<&str> = name
            .parts(threshold)
            .map(|(side, _)| self.name(side))
            .collect();
        words.join(self.and)
    }

    /// The same with the trade's words in brackets.
    #[must_use]
    pub fn full_words(&self, name: &SideName, threshold: f64) -> String {
        let words: Vec<&str> = name
            .parts(threshold)
            .map(|(side, _)| self.full_name(side))
            .collect();
        words.join(self.and)
    }
}

fn pick(table: &[&'static str; 6], side: PatientSide) -> &'static str {
    PatientSide::ALL
        .iter()
        .zip(table)
        .find_map(|(known, word)| (*known == side).then_some(*word))
        .unwrap_or_default()
}
