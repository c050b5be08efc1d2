//! The acquired volume of a transducer that sweeps its scan plane, and the three planes laid through one point of it.
//!
//! A mechanical volume transducer turns its array about an axis behind the face that runs along the array. The volume
//! is therefore the field of view turned about that axis, from one end of the sweep to the other; outside it nothing
//! was acquired, so nothing can be shown there. The axis lies so far behind the face that the swept face is as thick
//! as the transducer's: distance = half the thickness / sin(sweep) (elementary geometry).
//!
//! The three planes are orthogonal. The first is the acquired plane, the second holds the beam and stands across it,
//! the third is parallel to the face. They are laid out so that neighbours share a direction: the first and the second
//! have the beam from top to bottom, the first and the third the same direction from left to right. The second is what
//! would be seen after a quarter turn of the notch anticlockwise (as seen from outside), the third is seen along the
//! beam. With the notch to the head on the front of the body these are the usual sagittal, transverse and coronal
//! layouts.
//!
//! Points are given in the probe frame, mm: x toward the notch, y along the elevation axis, z along the beam from the
//! centre of the footprint.

mod outline;
mod pressed;
mod section;

pub use pressed::CutScratch;
pub use section::{VolumeSeen, volume_contents};

use geometry::{
    Angle, Convention, ImagePlane, MarkSide, Patient, Point, Pose, Probe, Transform, Vector,
};

use crate::field::{Bounds, Field};

/// The point stays this far from the face and from the deepest echo, mm, so that every plane through it shows something.
const LEAST_INSET_MM: f64 = 1.0;

/// Rounding allowance at the edge, mm: a point brought to the edge is inside by any way of reckoning.
const EDGE_MM: f64 = 1e-6;

/// One of the three planes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum VolumePlane {
    /// The acquired plane, or one parallel to it: holds notch direction and beam.
    Acquired,
    /// Across the acquired plane: holds the beam and the elevation axis.
    Crossing,
    /// Parallel to the transducer's face, across the beam.
    Face,
}

impl VolumePlane {
    /// All three, in the order of their numbers.
    pub const ALL: [Self; 3] = [Self::Acquired, Self::Crossing, Self::Face];

    /// 1, 2 or 3. A number and no letter: A would be read as anterior.
    #[must_use]
    pub const fn number(self) -> u8 {
        match self {
            Self::Acquired => 1,
            Self::Crossing => 2,
            Self::Face => 3,
        }
    }

    /// Place in [`VolumePlane::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Acquired => 0,
            Self::Crossing => 1,
            Self::Face => 2,
        }
    }
}

/// A field of view swept to both sides.
#[derive(Debug, Clone, Copy)]
pub struct Volume {
    field: Field,
    sweep: Angle,
    pivot_mm: f64,
}

/// A plane through a point of the volume, with its layout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumeCut {
    /// Which of the three.
    pub which: VolumePlane,
    /// The point it goes through, probe frame, mm.
    pub at: Point<Probe>,
    /// Unit directions of image right and image down, probe frame.
    across: [f64; 3],
    down: [f64; 3],
}

impl Volume {
    /// The volume of a transducer that sweeps; `None` for one that does not.
    #[must_use]
    pub fn new(field: Field) -> Option<Self> {
        let transducer = field.transducer();
        let sweep = transducer.sweep.filter(|sweep| sweep.sin() > 0.0)?;
        Some(Self {
            field,
            sweep,
            pivot_mm: transducer.face_thickness.get() / 2.0 / sweep.sin(),
        })
    }

    /// The field of view that is swept.
    #[must_use]
    pub const fn field(&self) -> &Field {
        &self.field
    }

    /// How far the plane leaves the middle, each way.
    #[must_use]
    pub const fn sweep(&self) -> Angle {
        self.sweep
    }

    /// Distance of the axis of the sweep behind the face, mm.
    #[must_use]
    pub const fn pivot_mm(&self) -> f64 {
        self.pivot_mm
    }

    /// Sweep angle of a place, positive toward the elevation axis.
    pub(crate) fn angle_of(&self, at: [f64; 3]) -> Angle {
        Angle::atan2(at[1], at[2] + self.pivot_mm)
    }

    /// Height of a place in its own swept plane, mm along that plane's central beam.
    pub(crate) fn height_of(&self, at: [f64; 3]) -> f64 {
        let behind = at[2] + self.pivot_mm;
        (at[1] * at[1] + behind * behind).sqrt() - self.pivot_mm
    }

    /// Whether a place was acquired.
    #[must_use]
    pub fn contains(&self, at: Point<Probe>) -> bool {
        let at = at.to_array();
        self.angle_of(at).abs() <= self.sweep
            && self
                .field
                .contains([at[0], self.height_of(at) * self.field.sense()])
    }

    /// The nearest place of the volume, coordinate by coordinate: depth first, then across, then along.
    ///
    /// A coordinate that is no number becomes the middle.
    #[must_use]
    pub fn clamp(&self, at: Point<Probe>) -> Point<Probe> {
        let [x, y, z] = at
            .to_array()
            .map(|part| if part.is_nan() { 0.0 } else { part });
        let depth = self.field.depth().get();
        let z = z.clamp(LEAST_INSET_MM, depth - LEAST_INSET_MM);
        let most = (self.half_thickness_at(z) - EDGE_MM).max(0.0);
        let y = y.clamp(-most, most);
        let most = (self.half_width_at(self.height_of([0.0, y, z])) - EDGE_MM).max(0.0);
        Point::new(x.clamp(-most, most), y, z)
    }

    /// The point the planes start from: on the central beam, at half the depth.
    #[must_use]
    pub fn middle(&self) -> Point<Probe> {
        Point::new(0.0, 0.0, self.field.depth().get() / 2.0)
    }

    /// One of the planes through `at`, which is brought into the volume first.
    #[must_use]
    pub fn cut(&self, which: VolumePlane, at: Point<Probe>, convention: Convention) -> VolumeCut {
        let mark = match convention.mark {
            MarkSide::Left => 1.0,
            MarkSide::Right => -1.0,
        };
        let sense = self.field.sense();
        let (across, down) = match which {
            VolumePlane::Acquired => ([-mark, 0.0, 0.0], [0.0, 0.0, sense]),
            VolumePlane::Crossing => ([0.0, mark, 0.0], [0.0, 0.0, sense]),
            // Seen along the beam: row × column = beam, and lateral × beam = −elevation.
            VolumePlane::Face => ([-mark, 0.0, 0.0], [0.0, -mark, 0.0]),
        };
        VolumeCut {
            which,
            at: self.clamp(at),
            across,
            down,
        }
    }

    /// The smallest rectangle that holds the outline of this plane wherever the point is, image mm: pictures keep
    /// their scale while the point moves.
    #[must_use]
    pub fn bounds(&self, which: VolumePlane) -> Bounds {
        let field = self.field.bounds();
        let depth = self.field.depth().get();
        let thick = (depth + self.pivot_mm) * self.sweep.sin();
        let wide = field.max[0];
        match which {
            VolumePlane::Acquired => field,
            VolumePlane::Crossing => {
                let lowest = self.pivot_mm - self.field.edge_drop().get();
                let top = lowest * self.sweep.cos() - self.pivot_mm;
                let ends = [top * self.field.sense(), depth * self.field.sense()];
                Bounds {
                    min: [-thick, ends[0].min(ends[1])],
                    max: [thick, ends[0].max(ends[1])],
                }
            }
            VolumePlane::Face => Bounds {
                min: [-wide, -thick],
                max: [wide, thick],
            },
        }
    }

    /// The edge of the volume in a plane as a closed polygon (last joins first), image mm of [`VolumeCut::plane`].
    #[must_use]
    pub fn outline(&self, cut: &VolumeCut) -> Vec<[f64; 2]> {
        let [x, y, z] = cut.at.to_array();
        let sense = self.field.sense();
        match cut.which {
            VolumePlane::Acquired => self.acquired_outline(y, sense),
            VolumePlane::Crossing => self.crossing_outline(x, sense),
            VolumePlane::Face => self.face_outline(z),
        }
    }
}

impl VolumeCut {
    /// The plane of a probe held in `pose`. Its image origin is the centre of the footprint moved along the plane's
    /// normal, so image coordinates are the probe's own.
    #[must_use]
    pub fn plane(&self, pose: &Pose) -> ImagePlane {
        let patient_from_probe = pose.patient_from_probe();
        let vector = |parts: [f64; 3]| {
            patient_from_probe.apply_vector(Vector::<Probe>::new(parts[0], parts[1], parts[2]))
        };
        let origin = patient_from_probe.apply_point(Point::from_array(self.origin()));
        // With mark left and apex top a row is the notch turned round and a column the beam. The directions are
        // perpendicular unit vectors, so there is always a plane.
        ImagePlane::from_notch_and_beam(
            origin,
            -vector(self.across),
            vector(self.down),
            Convention::GENERAL,
        )
        .unwrap_or_else(|_| ImagePlane::from_pose(pose, Convention::GENERAL))
    }

    /// Where an image point of this plane is in the probe frame, mm.
    #[must_use]
    pub fn to_probe(&self, at: [f64; 2]) -> Point<Probe> {
        let origin = self.origin();
        Point::from_array(
            [0, 1, 2].map(|k| origin[k] + at[0] * self.across[k] + at[1] * self.down[k]),
        )
    }

    /// Where a place of the probe frame is in this plane, image mm; what lies beside the plane is brought onto it.
    #[must_use]
    pub fn to_image(&self, at: Point<Probe>) -> [f64; 2] {
        let at = at.to_array();
        let along = |axis: &[f64; 3]| at.iter().zip(axis).map(|(a, b)| a * b).sum();
        [along(&self.across), along(&self.down)]
    }

    /// The line in which another plane cuts this one: a place on it and its unit direction, image mm. `None` for the
    /// plane itself.
    #[must_use]
    pub fn line_of(&self, other: VolumePlane) -> Option<([f64; 2], [f64; 2])> {
        let through = self.to_image(self.at);
        let shared = match (self.which, other) {
            (a, b) if a == b => return None,
            // The direction both hold: beam, notch direction, elevation.
            (
                VolumePlane::Acquired | VolumePlane::Crossing,
                VolumePlane::Acquired | VolumePlane::Crossing,
            ) => 2,
            (
                VolumePlane::Acquired | VolumePlane::Face,
                VolumePlane::Acquired | VolumePlane::Face,
            ) => 0,
            _ => 1,
        };
        Some((
            through,
            [self.across[shared].abs(), self.down[shared].abs()],
        ))
    }

    /// +1 where the beams run from image left to image right along the notch direction, -1 against it.
    pub(crate) fn beam_sign(&self) -> f64 {
        // Rows of the acquired and the face plane, and the rule by which the crossing plane follows them.
        self.across[0] - self.across[1]
    }

    fn origin(&self) -> [f64; 3] {
        let [x, y, z] = self.at.to_array();
        match self.which {
            VolumePlane::Acquired => [0.0, y, 0.0],
            VolumePlane::Crossing => [x, 0.0, 0.0],
            VolumePlane::Face => [0.0, 0.0, z],
        }
    }
}

/// The probe frame of the patient point `at`: the inverse of [`Pose::patient_from_probe`].
#[must_use]
pub fn probe_point(pose: &Pose, at: Point<Patient>) -> Point<Probe> {
    let probe_from_patient: Transform<Patient, Probe> = pose.patient_from_probe().inverse();
    probe_from_patient.apply_point(at)
}
