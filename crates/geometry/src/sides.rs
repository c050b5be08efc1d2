//! Sides of the patient, and which of them each side of the image shows.

use crate::convention::ImageSide;
use crate::frames::{Direction, Patient};
use crate::plane::ImagePlane;
use crate::units::Angle;

/// Components of a direction at or below this size get no letter in files.
/// DICOM PS3.3 C.7.6.1.1.1 gives no number; 0.0001 is what open-source implementations use.
pub const FILE_THRESHOLD: f64 = 1e-4;

/// The letter threshold for screens: a component counts when it is larger than the sine of the
/// naming tolerance, so that a plane that still carries a plain name has plain sides.
#[must_use]
pub fn screen_threshold(tolerance: Angle) -> f64 {
    tolerance.sin()
}

/// A side of the patient; never a side of the picture or of the viewer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PatientSide {
    /// The patient's own right: −x.
    Right,
    /// The patient's own left: +x.
    Left,
    /// Front: −y.
    Anterior,
    /// Back: +y.
    Posterior,
    /// Head end: +z.
    Head,
    /// Foot end: −z.
    Foot,
}

impl PatientSide {
    /// All six, each followed by its opposite.
    pub const ALL: [Self; 6] = [
        Self::Right,
        Self::Left,
        Self::Anterior,
        Self::Posterior,
        Self::Head,
        Self::Foot,
    ];

    /// The unit direction toward this side.
    #[must_use]
    pub fn direction(self) -> Direction<Patient> {
        match self {
            Self::Right => -Direction::x_axis(),
            Self::Left => Direction::x_axis(),
            Self::Anterior => -Direction::y_axis(),
            Self::Posterior => Direction::y_axis(),
            Self::Head => Direction::z_axis(),
            Self::Foot => -Direction::z_axis(),
        }
    }

    /// The letter of DICOM PS3.3 C.7.6.1.1.1 for a biped: R, L, A, P, H or F.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Right => 'R',
            Self::Left => 'L',
            Self::Anterior => 'A',
            Self::Posterior => 'P',
            Self::Head => 'H',
            Self::Foot => 'F',
        }
    }

    /// The side across the body.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Right => Self::Left,
            Self::Left => Self::Right,
            Self::Anterior => Self::Posterior,
            Self::Posterior => Self::Anterior,
            Self::Head => Self::Foot,
            Self::Foot => Self::Head,
        }
    }

    /// Plain words, as they stand after "toward the": "patient's right", "front", "head", …
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Right => "patient's right",
            Self::Left => "patient's left",
            Self::Anterior => "front",
            Self::Posterior => "back",
            Self::Head => "head",
            Self::Foot => "feet",
        }
    }

    /// Plain words for a side of the picture that shows this end of the body: "head end", "foot
    /// end", otherwise as [`PatientSide::words`].
    #[must_use]
    pub const fn end_words(self) -> &'static str {
        match self {
            Self::Head => "head end",
            Self::Foot => "foot end",
            Self::Right | Self::Left | Self::Anterior | Self::Posterior => self.words(),
        }
    }

    /// The anatomist's word: "right", "left", "anterior", "posterior", "cephalic", "caudal".
    #[must_use]
    pub const fn trade_word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Left => "left",
            Self::Anterior => "anterior",
            Self::Posterior => "posterior",
            Self::Head => "cephalic",
            Self::Foot => "caudal",
        }
    }
}

/// What a direction is called: the patient sides it has a part in, the most dominant first.
///
/// Parts that differ by less than rounding (one part in 10⁹) count as equal and stand in the order
/// left–right, front–back, head–foot; DICOM PS3.3 C.7.6.1.1.1 asks for the dominant one first and
/// leaves ties open, open-source implementations resolve them x, y, z.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideName {
    parts: [(PatientSide, f64); 3],
}

/// Components closer than this are a tie.
const TIE: f64 = 1e-9;

impl SideName {
    /// The name of `direction`.
    #[must_use]
    pub fn of(direction: Direction<Patient>) -> Self {
        let part = |value: f64, negative, positive| {
            (if value < 0.0 { negative } else { positive }, value.abs())
        };
        let mut parts = [
            part(direction.x(), PatientSide::Right, PatientSide::Left),
            part(direction.y(), PatientSide::Anterior, PatientSide::Posterior),
            part(direction.z(), PatientSide::Foot, PatientSide::Head),
        ];
        // Whole steps of the tie width make an order that has no cycles; the sort is stable.
        let steps = |size: f64| (size / TIE).round();
        parts.sort_by(|a, b| steps(b.1).total_cmp(&steps(a.1)));
        Self { parts }
    }

    /// The sides whose component is larger than `threshold`, with the component (0 to 1), dominant
    /// first.
    /// The most dominant side is always there, whatever the threshold: every direction has a name.
    pub fn parts(&self, threshold: f64) -> impl Iterator<Item = (PatientSide, f64)> + '_ {
        self.parts
            .iter()
            .copied()
            .enumerate()
            .filter(move |(place, (_, size))| *place == 0 || *size > threshold)
            .map(|(_, part)| part)
    }

    /// The most dominant side.
    #[must_use]
    pub const fn dominant(&self) -> PatientSide {
        self.parts[0].0
    }

    /// DICOM letters, dominant first: "H", "FP", "HAL".
    #[must_use]
    pub fn letters(&self, threshold: f64) -> String {
        self.parts(threshold)
            .map(|(side, _)| side.letter())
            .collect()
    }

    /// Plain words of a direction, dominant first: "head", "feet and patient's left".
    #[must_use]
    pub fn words(&self, threshold: f64) -> String {
        self.joined(threshold, PatientSide::words)
    }

    /// Plain words of a side of the picture, dominant first: "head end", "foot end and patient's
    /// left".
    #[must_use]
    pub fn end_words(&self, threshold: f64) -> String {
        self.joined(threshold, PatientSide::end_words)
    }

    fn joined(&self, threshold: f64, word: fn(PatientSide) -> &'static str) -> String {
        let words: Vec<&str> = self.parts(threshold).map(|(side, _)| word(side)).collect();
        match words.as_slice() {
            [one] => (*one).to_owned(),
            [one, two] => format!("{one} and {two}"),
            [first @ .., last] => format!("{} and {last}", first.join(", ")),
            [] => String::new(),
        }
    }
}

/// What the four sides of an image are called.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sides {
    /// Image left.
    pub left: SideName,
    /// Image right.
    pub right: SideName,
    /// Image top.
    pub top: SideName,
    /// Image bottom.
    pub bottom: SideName,
}

impl Sides {
    /// The names for `plane`: image right is the row direction, image bottom the column direction,
    /// the other two their opposites.
    #[must_use]
    pub fn of(plane: &ImagePlane) -> Self {
        Self {
            left: SideName::of(-plane.row()),
            right: SideName::of(plane.row()),
            top: SideName::of(-plane.column()),
            bottom: SideName::of(plane.column()),
        }
    }

    /// The name of one side.
    #[must_use]
    pub const fn get(&self, side: ImageSide) -> &SideName {
        match side {
            ImageSide::Left => &self.left,
            ImageSide::Right => &self.right,
            ImageSide::Top => &self.top,
            ImageSide::Bottom => &self.bottom,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check_letters(direction: [f64; 3], threshold: f64, letters: &str) {
        let direction = Direction::from_array(direction).expect("a direction");
        assert_eq!(
            SideName::of(direction).letters(threshold),
            letters,
            "{direction:?}"
        );
    }

    #[test]
    fn letters_are_dominant_first() {
        check_letters([0.0, 0.0, 1.0], FILE_THRESHOLD, "H");
        check_letters([0.0, 0.342, -0.94], FILE_THRESHOLD, "FP");
        check_letters([-0.5, 0.5, 0.707], FILE_THRESHOLD, "HRP");
        check_letters([0.0, 0.342, -0.94], 0.35, "F");
    }

    #[test]
    fn ties_stand_in_axis_order() {
        let (sine, cosine) = (Angle::deg(45.0).sin(), Angle::deg(45.0).cos());
        check_letters([sine, cosine, 0.0], FILE_THRESHOLD, "LP");
        check_letters([cosine, sine, 0.0], FILE_THRESHOLD, "LP");
        check_letters([0.0, -1.0, 1.0], FILE_THRESHOLD, "AH");
        check_letters([-1.0, -1.0, -1.0], FILE_THRESHOLD, "RAF");
    }

    #[test]
    fn every_direction_has_a_name() {
        check_letters([1.0, 1.0, 1.0], 0.65, "L");
    }

    #[test]
    fn words_name_every_part() {
        let words = |direction: [f64; 3]| {
            SideName::of(Direction::from_array(direction).expect("a direction")).words(0.3)
        };
        assert_eq!(words([0.0, 0.0, -1.0]), "feet");
        assert_eq!(words([-0.5, 0.0, 0.866]), "head and patient's right");
        assert_eq!(words([-0.5, 0.5, 0.707]), "head, patient's right and back");
        let name = SideName::of(Direction::from_array([0.5, 0.0, -0.866]).expect("a direction"));
        assert_eq!(name.end_words(0.3), "foot end and patient's left");
    }

    #[test]
    fn sides_agree_with_their_directions() {
        for side in PatientSide::ALL {
            let name = SideName::of(side.direction());
            assert_eq!(name.dominant(), side);
            assert_eq!(name.letters(FILE_THRESHOLD), side.letter().to_string());
            assert_eq!(side.opposite().direction(), -side.direction());
        }
    }
}
