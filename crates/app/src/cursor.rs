//! A place in the picture that the pointer or the keyboard points at.

use geometry::{ImagePlane, Patient, Point};
use picture::{BeamPoint, Field};

use crate::action::Step;

/// One step of the keyboard cursor as a share of the depth shown; a coarse one is five times, a fine one a fifth of it.
const STEP_SHARE: f64 = 0.02;

/// A place in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cursor {
    /// Image mm: x to image right, y down, origin at the centre of the footprint.
    pub at: [f64; 2],
    /// Whether keys moved it there: then it is drawn, and its words are spoken.
    pub by_keys: bool,
}

impl Cursor {
    /// The place in the patient, mm.
    #[must_use]
    pub fn place(&self, plane: &ImagePlane) -> Point<Patient> {
        plane.to_patient(self.at)
    }

    /// In the middle of a field.
    pub(crate) fn middle(field: &Field) -> Self {
        Self {
            at: field.image_point(BeamPoint {
                beam: 0.0,
                depth_mm: field.depth().get() / 2.0,
            }),
            by_keys: true,
        }
    }

    /// Moved by steps to image right and down, kept inside the field's rectangle.
    pub(crate) fn moved(self, [right, down]: [f64; 2], step: Step, field: &Field) -> Self {
        let factor = match step {
            Step::Usual => 1.0,
            Step::Fine => 0.2,
            Step::Coarse => 5.0,
        };
        let mm = field.depth().get() * STEP_SHARE * factor;
        let bounds = field.bounds();
        let inside = |value: f64, axis: usize| value.clamp(bounds.min[axis], bounds.max[axis]);
        Self {
            at: [
                inside(self.at[0] + right * mm, 0),
                inside(self.at[1] + down * mm, 1),
            ],
            by_keys: true,
        }
    }
}
