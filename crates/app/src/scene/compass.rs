//! The patient's axes, for a small compass in the corner of the body view.

use geometry::PatientSide;

use super::matrix;
use crate::state::State;
use crate::texts::Texts;

/// One end of an axis of the patient.
#[derive(Debug, Clone, PartialEq)]
pub struct AxisTip {
    /// Which.
    pub side: PatientSide,
    /// Its DICOM letter.
    pub letter: char,
    /// Its words.
    pub words: &'static str,
    /// Unit direction in the room.
    pub direction: [f32; 3],
}

/// The six ends, each followed by its opposite.
#[must_use]
pub fn compass(state: &State, texts: &Texts) -> [AxisTip; 6] {
    let room_from_patient = state.position().room_from_patient();
    PatientSide::ALL.map(|side| AxisTip {
        side,
        letter: side.letter(),
        words: texts.sides.name(side),
        direction: matrix::single3(
            room_from_patient
                .apply_direction(side.direction())
                .to_array(),
        ),
    })
}
