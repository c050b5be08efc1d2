//! All words of the interface, in one struct a language.
//!
//! Sentences about planes, notch, beam and picture come from [`picture::words`]; everything else a learner reads
//! is here. English is complete; another language is another value of [`Texts`].

mod english;

use geometry::{BodyPlane, PatientSide, SideName};

use crate::action::Movement;

/// Names of the patient's sides, as names of a side of the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SideTexts {
    /// Right, left, front, back, head, foot, in the order of [`PatientSide::ALL`].
    pub plain: [&'static str; 6],
    /// The same with the trade's word in brackets.
    pub full: [&'static str; 6],
    /// Joins two: " and ".
    pub and: &'static str,
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

/// Units after a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UnitTexts {
    /// Millimetres.
    pub mm: &'static str,
    /// Centimetres.
    pub cm: &'static str,
    /// Square centimetres.
    pub cm2: &'static str,
    /// Square millimetres.
    pub mm2: &'static str,
    /// Percent.
    pub percent: &'static str,
    /// Decibels.
    pub db: &'static str,
    /// Degrees, directly after the number.
    pub degrees: &'static str,
}

/// Words of the keyboard map.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(
    missing_docs,
    reason = "each field is the words for the deed it is named after"
)]
pub struct KeyTexts {
    pub arrow_up: &'static str,
    pub arrow_down: &'static str,
    pub arrow_left: &'static str,
    pub arrow_right: &'static str,
    pub control: &'static str,
    pub shift: &'static str,
    pub steps_note: &'static str,
    pub slide_twelve: &'static str,
    pub slide_six: &'static str,
    pub slide_three: &'static str,
    pub slide_nine: &'static str,
    pub slide_notch: &'static str,
    pub slide_tail: &'static str,
    pub sweep_forward: &'static str,
    pub sweep_back: &'static str,
    pub rotate_clockwise: &'static str,
    pub rotate_anticlockwise: &'static str,
    pub tilt_forward: &'static str,
    pub tilt_back: &'static str,
    pub rock_forward: &'static str,
    pub rock_back: &'static str,
    pub press_in: &'static str,
    pub press_out: &'static str,
    pub reverse_notch: &'static str,
    pub quarter_clockwise: &'static str,
    pub quarter_anticlockwise: &'static str,
    pub swap_mark: &'static str,
    pub switch_picture: &'static str,
    pub deeper: &'static str,
    pub shallower: &'static str,
    pub view_seat: &'static str,
    pub view_feet: &'static str,
    pub view_left: &'static str,
    pub view_above: &'static str,
    pub view_window: &'static str,
    pub orbit_up: &'static str,
    pub orbit_down: &'static str,
    pub orbit_left: &'static str,
    pub orbit_right: &'static str,
    pub nearer: &'static str,
    pub farther: &'static str,
    pub undo: &'static str,
    pub redo: &'static str,
    pub reset: &'static str,
    pub help: &'static str,
}

/// Words of the panels: headings, buttons, choices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(
    missing_docs,
    reason = "each field is the words for the part it is named after"
)]
pub struct PanelTexts {
    pub title: &'static str,
    pub body_view: &'static str,
    pub body_view_hint: &'static str,
    pub picture: &'static str,
    pub plane: &'static str,
    pub sides: &'static str,
    pub probe: &'static str,
    pub notch: &'static str,
    pub notch_dial: &'static str,
    pub structures: &'static str,
    pub windows: &'static str,
    pub view: &'static str,
    pub display: &'static str,
    pub keyboard: &'static str,
    pub describe: &'static str,
    pub depth: &'static str,
    pub transducer: &'static str,
    pub body: &'static str,
    pub position: &'static str,
    pub examiner: &'static str,
    pub mark_side: &'static str,
    pub apex_side: &'static str,
    pub tolerance: &'static str,
    pub layers: &'static str,
    pub show_skin: &'static str,
    pub grey_share: &'static str,
    pub gain: &'static str,
    pub undo: &'static str,
    pub redo: &'static str,
    pub reset: &'static str,
    pub reverse_notch: &'static str,
    pub quarter_clockwise: &'static str,
    pub quarter_anticlockwise: &'static str,
    pub swap_mark: &'static str,
    pub nearer: &'static str,
    pub farther: &'static str,
    pub retry: &'static str,
    pub dismiss: &'static str,
    pub reload: &'static str,
    pub copy_link: &'static str,
    pub link_copied: &'static str,
    pub theme: &'static str,
    pub theme_light: &'static str,
    pub theme_dark: &'static str,
    pub close: &'static str,
    pub slide: &'static str,
    pub slide_head: &'static str,
    pub slide_foot: &'static str,
    pub slide_three: &'static str,
    pub slide_nine: &'static str,
    pub column_structure: &'static str,
    pub column_axis: &'static str,
    pub column_place: &'static str,
    pub column_depth: &'static str,
    pub column_area: &'static str,
}

/// Words for choices and states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(
    missing_docs,
    reason = "each field is the words for the value it is named after"
)]
pub struct ChoiceTexts {
    pub supine: &'static str,
    pub prone: &'static str,
    pub left_side_down: &'static str,
    pub right_side_down: &'static str,
    pub seated: &'static str,
    pub lithotomy: &'static str,
    pub seat_right: &'static str,
    pub seat_left: &'static str,
    pub image_left: &'static str,
    pub image_right: &'static str,
    pub image_top: &'static str,
    pub image_bottom: &'static str,
    pub everything: &'static str,
    pub organs: &'static str,
    pub vessels: &'static str,
    pub skeleton: &'static str,
    pub only_chosen: &'static str,
    pub view_seat: &'static str,
    pub view_feet: &'static str,
    pub view_left: &'static str,
    pub view_above: &'static str,
    pub view_window: &'static str,
    pub adult_female: &'static str,
    pub adult_male: &'static str,
    pub infant_head: &'static str,
    pub long_axis: &'static str,
    pub short_axis: &'static str,
    pub oblique_axis: &'static str,
}

/// A movement in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MovementTexts {
    /// Its published name.
    pub name: &'static str,
    /// What it does, in one sentence.
    pub meaning: &'static str,
    /// Name of the button for more.
    pub forward: &'static str,
    /// Name of the button for less.
    pub back: &'static str,
}

/// Messages. `{}` stands for what is put in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MessageTexts {
    /// A link that cannot be read; `{}` is the reason.
    pub broken_link: &'static str,
    /// A link to an unknown body, window or transducer; `{}` is its name.
    pub unknown_body: &'static str,
    /// See [`Self::unknown_body`].
    pub unknown_window: &'static str,
    /// See [`Self::unknown_body`].
    pub unknown_transducer: &'static str,
    /// A body that cannot be had; `{}` is the reason.
    pub body_failed: &'static str,
    /// While a body is on its way.
    pub loading: &'static str,
    /// While its inside is on the way.
    pub loading_inside: &'static str,
    /// Without WebGL2.
    pub no_body_view: &'static str,
    /// Why a name has a limit.
    pub tolerance_note: &'static str,
}

/// Names of planes and why. `{}` stands for what is put in, in the order given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlaneTexts {
    /// Sagittal, coronal, transverse, as inside a sentence.
    pub words: [&'static str; 3],
    /// Oblique, as inside a sentence.
    pub oblique: &'static str,
    /// A sagittal plane within 5 mm of the mid-line.
    pub mid_sagittal: &'static str,
    /// A sagittal plane right of it.
    pub right_parasagittal: &'static str,
    /// A sagittal plane left of it.
    pub left_parasagittal: &'static str,
    /// Distance to the right in mm.
    pub right_of_midline: &'static str,
    /// Distance to the left in mm.
    pub left_of_midline: &'static str,
    /// A coronal plane.
    pub coronal: &'static str,
    /// A transverse plane.
    pub transverse: &'static str,
    /// Oblique, nearer to running along the body.
    pub longitudinal_oblique: &'static str,
    /// Oblique, nearer to running across the body.
    pub transverse_oblique: &'static str,
    /// Turned about two axes, nearer to running along the body.
    pub double_longitudinal: &'static str,
    /// Turned about two axes, nearer to running across the body.
    pub double_transverse: &'static str,
    /// Why a plane has a plain name: angle, plane, tolerance, plane.
    pub named_reason: &'static str,
    /// Why a plane is oblique: angle, plane, angle, plane, tolerance.
    pub oblique_reason: &'static str,
    /// Where the notch is in the image: image side.
    pub notch_side: &'static str,
    /// Body plane and structure axis: plane, structure, axis, angle.
    pub two_answers: &'static str,
}

/// The probe in words. `{}` stands for what is put in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ProbeTexts {
    /// A full hour.
    pub hour: &'static str,
    /// Where the notch points: degrees, side.
    pub notch_toward: &'static str,
    /// Where a tilt has swung the beam: degrees, side.
    pub beam_toward: &'static str,
    /// No tilt or rock: degrees.
    pub straight: &'static str,
    /// Rocked toward the notch: degrees, side.
    pub rocked_to_notch: &'static str,
    /// Rocked away from it: degrees, side.
    pub rocked_from_notch: &'static str,
    /// Contact point: mm left or right, before or behind, above or below the origin.
    pub contact: &'static str,
    /// Left and right of the origin.
    pub left_right: [&'static str; 2],
    /// Behind and in front of it.
    pub behind_before: [&'static str; 2],
    /// Toward the head and the feet from it.
    pub head_foot: [&'static str; 2],
}

/// All words of one language.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Texts {
    /// BCP 47 tag.
    pub language: &'static str,
    /// Names of the patient's sides.
    pub sides: SideTexts,
    /// Units.
    pub units: UnitTexts,
    /// Keyboard map.
    pub keys: KeyTexts,
    /// Panels.
    pub panels: PanelTexts,
    /// Choices.
    pub choices: ChoiceTexts,
    /// Planes.
    pub planes: PlaneTexts,
    /// The probe.
    pub probe: ProbeTexts,
    /// Rotate, tilt, rock, compress, in the order of [`Movement::ALL`].
    pub movements: [MovementTexts; 4],
    /// Messages.
    pub messages: MessageTexts,
    /// The standing footer, sentence by sentence.
    pub footer: [&'static str; 4],
}

impl Texts {
    /// English.
    #[must_use]
    pub fn english() -> Self {
        english::TEXTS
    }

    /// A body plane inside a sentence.
    #[must_use]
    pub fn plane_word(&self, plane: BodyPlane) -> &'static str {
        let [sagittal, coronal, transverse] = self.planes.words;
        match plane {
            BodyPlane::Sagittal => sagittal,
            BodyPlane::Coronal => coronal,
            BodyPlane::Transverse => transverse,
        }
    }

    /// Words of one movement.
    #[must_use]
    pub fn movement(&self, movement: Movement) -> &MovementTexts {
        let [rotate, tilt, rock, compress] = &self.movements;
        match movement {
            Movement::Rotate => rotate,
            Movement::Tilt => tilt,
            Movement::Rock => rock,
            Movement::Compress => compress,
        }
    }
}

/// `pattern` with each `{}` replaced by the next of `values`.
pub(crate) fn fill(pattern: &str, values: &[&str]) -> String {
    let mut values = values.iter();
    let mut pieces = pattern.split("{}");
    let mut text = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        text.push_str(values.next().unwrap_or(&""));
        text.push_str(piece);
    }
    text
}

/// With a capital first letter.
pub(crate) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_go_in_in_order() {
        assert_eq!(fill("{} of {}.", &["one", "two"]), "one of two.");
        assert_eq!(fill("none", &["one"]), "none");
        assert_eq!(fill("{}{}", &["one"]), "one");
    }
}
