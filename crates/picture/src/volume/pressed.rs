//! Sections of a volume under a pressed probe: all three planes show the body as it gives way to the face.
//!
//! Planes along the beam are bent as the image plane is. The plane parallel to the face lies across the pressing: it
//! shows the tissue that has come to its depth at the chosen point, everywhere as there (our simplification).

use anatomy::{Body, Section, SectionScratch};
use geometry::{Convention, Point, Pose};

use super::{Volume, VolumeCut, VolumePlane};
use crate::press::{Face, Press, press_face};

/// Working memory of [`Volume::section_into`].
#[derive(Debug, Default)]
pub struct CutScratch {
    cut: SectionScratch,
    press: Press,
    /// The plane along the beam that tells how deep tissue has gone.
    acquired: Option<Section>,
}

impl Volume {
    /// Cuts `body` along a plane of this volume for a probe held in `pose`, as the body gives way to the face.
    pub fn section_into(
        &self,
        body: &Body,
        cut: &VolumeCut,
        pose: &Pose,
        scratch: &mut CutScratch,
        section: &mut Section,
    ) {
        match cut.which {
            VolumePlane::Acquired | VolumePlane::Crossing => {
                let CutScratch {
                    cut: memory, press, ..
                } = scratch;
                body.section_into(&cut.plane(pose), memory, section);
                press_face(body, self.face_in(cut), section, press);
            }
            VolumePlane::Face => {
                let depth = self.depth_before(body, cut, pose, scratch);
                let [x, y, _] = cut.at.to_array();
                let from = VolumeCut {
                    at: Point::new(x, y, depth),
                    ..*cut
                };
                body.section_into(&from.plane(pose), &mut scratch.cut, section);
            }
        }
    }

    /// The face as it stands in a plane along the beam.
    fn face_in(&self, cut: &VolumeCut) -> Face {
        let [x, y, _] = cut.at.to_array();
        match cut.which {
            VolumePlane::Crossing => Face::crossing(self.field(), x, self.pivot_mm()),
            _ => Face::of(self.field()).beside(self.field(), y, self.pivot_mm()),
        }
    }

    /// Depth at which the tissue lay that is now at the point of `cut`.
    fn depth_before(
        &self,
        body: &Body,
        cut: &VolumeCut,
        pose: &Pose,
        scratch: &mut CutScratch,
    ) -> f64 {
        let along = self.cut(VolumePlane::Acquired, cut.at, Convention::GENERAL);
        let plane = along.plane(pose);
        let section = scratch
            .acquired
            .get_or_insert_with(|| Section::empty(&plane));
        body.section_into(&plane, &mut scratch.cut, section);
        press_face(body, self.face_in(&along), section, &mut scratch.press);
        let [x, y] = along.to_image(cut.at);
        scratch.press.depth_before(x, y * self.field().sense())
    }
}
