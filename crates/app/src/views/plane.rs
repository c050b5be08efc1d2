//! The plane's name with its reasons, and the names of the four sides of the image.

use geometry::{
    BodyPlane, ImageSide, Mm, ObliqueKind, PlaneAngles, PlaneName, SagittalOffset, Sides,
    name_plane, sagittal_offset, screen_threshold,
};
use picture::BeamPoint;

use crate::state::State;
use crate::texts::{PlaneTexts, Texts, fill};

/// The angle between the image plane and one body plane.
#[derive(Debug, Clone, PartialEq)]
pub struct AngleView {
    /// Which body plane.
    pub plane: BodyPlane,
    /// Its name.
    pub name: &'static str,
    /// Exact, degrees.
    pub degrees: f64,
    /// "38°".
    pub text: String,
    /// Whether it is the smallest of the three.
    pub nearest: bool,
}

/// The plane's name.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneView {
    /// "Mid-sagittal", "Left parasagittal", "Transverse", "Longitudinal oblique", …
    pub name: String,
    /// "sagittal", "coronal", "transverse" or "oblique": the answer to "which plane?".
    pub word: &'static str,
    /// "9 mm left of the mid-line", for a parasagittal plane.
    pub offset: Option<String>,
    /// The rule applied to this plane, in one sentence.
    pub reason: String,
    /// The three angles, exact at every moment: sagittal, coronal, transverse.
    pub angles: [AngleView; 3],
    /// Tolerance in force, "20°".
    pub tolerance: String,
    /// That no standard fixes it.
    pub tolerance_note: &'static str,
}

/// "38°", with one decimal where whole degrees would hide on which side of the tolerance the angle is.
fn angle_text(degrees: f64, tolerance_deg: f64, texts: &Texts) -> String {
    let near = (degrees - tolerance_deg).abs() < 1.0 && (degrees - tolerance_deg).abs() > 1e-6;
    if near {
        // Rounded away from the limit, so that 20.04 never reads as 20.0.
        let tenths = degrees * 10.0;
        let tenths = if degrees > tolerance_deg {
            tenths.ceil()
        } else {
            tenths.floor()
        };
        texts.number(tenths / 10.0, 1) + texts.units.degrees
    } else {
        format!("{degrees:.0}{}", texts.units.degrees)
    }
}

pub(super) fn plane_view(state: &State, texts: &Texts) -> PlaneView {
    let plane = state.plane();
    let tolerance_deg = state.tolerance().to_deg();
    let angles = PlaneAngles::of(plane.normal());
    let [nearest, second, _] = angles.nearest();
    let text_of = |plane| angle_text(angles.get(plane).to_deg(), tolerance_deg, texts);
    let shown = state.shown_plane;
    let words = &texts.planes;
    let (name, offset) = match shown {
        PlaneName::Named(BodyPlane::Sagittal) => sagittal_name(state, words),
        PlaneName::Named(BodyPlane::Coronal) => (words.coronal, None),
        PlaneName::Named(BodyPlane::Transverse) => (words.transverse, None),
        PlaneName::Oblique(oblique) => {
            let name = match (oblique.double, oblique.kind) {
                (false, ObliqueKind::Longitudinal) => words.longitudinal_oblique,
                (false, ObliqueKind::Transverse) => words.transverse_oblique,
                (true, ObliqueKind::Longitudinal) => words.double_longitudinal,
                (true, ObliqueKind::Transverse) => words.double_transverse,
            };
            (name, None)
        }
    };
    let limit = angle_text(tolerance_deg, tolerance_deg, texts);
    let reason = match shown {
        PlaneName::Named(plane) => {
            let word = texts.plane_word(plane);
            fill(words.named_reason, &[&text_of(plane), word, &limit, word])
        }
        PlaneName::Oblique(_) => {
            let [near, next] = [nearest, second].map(|plane| texts.plane_word(plane));
            let (near_text, next_text) = (text_of(nearest), text_of(second));
            fill(
                words.oblique_reason,
                &[&near_text, near, &next_text, next, &limit],
            )
        }
    };
    PlaneView {
        name: name.to_owned(),
        word: shown.word(),
        offset,
        reason,
        angles: BodyPlane::ALL.map(|plane| AngleView {
            plane,
            name: texts.plane_word(plane),
            degrees: angles.get(plane).to_deg(),
            text: text_of(plane),
            nearest: plane == nearest,
        }),
        tolerance: format!("{tolerance_deg:.0}{}", texts.units.degrees),
        tolerance_note: texts.messages.tolerance_note,
    }
}

fn sagittal_name(state: &State, words: &PlaneTexts) -> (&'static str, Option<String>) {
    let distance = |pattern, mm: Mm| Some(fill(pattern, &[&format!("{:.0}", mm.get())]));
    match central_offset(state) {
        SagittalOffset::MidSagittal => (words.mid_sagittal, None),
        SagittalOffset::Right(mm) => (
            words.right_parasagittal,
            distance(words.right_of_midline, mm),
        ),
        SagittalOffset::Left(mm) => (words.left_parasagittal, distance(words.left_of_midline, mm)),
    }
}

/// Offset of the plane where the central ray reaches the middle of the displayed depth.
pub(crate) fn central_offset(state: &State) -> SagittalOffset {
    let field = state.field();
    let middle = field.image_point(BeamPoint {
        beam: 0.0,
        depth_mm: field.depth().get() / 2.0,
    });
    sagittal_offset(&state.plane(), middle)
}

/// One side of the image.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SideView {
    /// Which side of the image.
    pub side: ImageSide,
    /// "Image left".
    pub label: &'static str,
    /// Letters of DICOM PS3.3 C.7.6.1.1.1, dominant first, parts above the screen threshold: "HR".
    pub letters: String,
    /// "head end and patient's right".
    pub words: String,
    /// "head end (cephalic) and patient's right".
    pub full_words: String,
    /// Whether the notch is at this side.
    pub has_notch: bool,
}

/// The four sides of the image.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SidesView {
    /// Left, right, top, bottom of the image.
    pub sides: [SideView; 4],
    /// "The notch is at image left."
    pub notch: String,
}

/// The side of the image at which the notch side of the probe is shown.
#[must_use]
pub fn notch_side(state: &State) -> ImageSide {
    match state.convention().mark {
        geometry::MarkSide::Left => ImageSide::Left,
        geometry::MarkSide::Right => ImageSide::Right,
    }
}

pub(crate) fn sides_view(state: &State, texts: &Texts) -> SidesView {
    let names = Sides::of(&state.plane());
    let threshold = screen_threshold(state.tolerance());
    let notch = notch_side(state);
    let choices = &texts.choices;
    SidesView {
        sides: ImageSide::ALL.map(|side| {
            let name = names.get(side);
            SideView {
                side,
                label: match side {
                    ImageSide::Left => choices.image_left,
                    ImageSide::Right => choices.image_right,
                    ImageSide::Top => choices.image_top,
                    ImageSide::Bottom => choices.image_bottom,
                },
                letters: name.letters(threshold),
                words: texts.sides.words(name, threshold),
                full_words: texts.sides.full_words(name, threshold),
                has_notch: side == notch,
            }
        }),
        notch: match (state.convention().mark, texts.planes.notch_side) {
            (geometry::MarkSide::Left, [left, _]) => left.to_owned(),
            (geometry::MarkSide::Right, [_, right]) => right.to_owned(),
        },
    }
}

/// The exact name, whatever is on show: for marking and for words at rest.
pub(crate) fn exact_naming(state: &State) -> geometry::PlaneNaming {
    name_plane(state.plane().normal(), state.tolerance())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_angle_never_reads_as_the_other_side_of_the_limit() {
        for (degrees, text) in [
            (20.0, "20°"),
            (20.04, "20.1°"),
            (19.96, "19.9°"),
            (19.4, "19.4°"),
            (20.95, "21.0°"),
            (38.4, "38°"),
            (0.2, "0°"),
        ] {
            assert_eq!(
                angle_text(degrees, 20.0, &Texts::english()),
                text,
                "{degrees}"
            );
        }
    }
}
