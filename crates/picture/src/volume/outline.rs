//! The edges of the swept volume in planes along and across it.
//!
//! A swept field is the field turned about an axis along the array, so a place is in it when its sweep angle is in the
//! sweep and its height in the turned plane is in the field. Every outline follows from that and from the extent of the
//! field at one height and at one distance from its middle.

use super::Volume;
use crate::field::BeamPoint;
use crate::transducer::FaceShape;

/// Straight pieces of one curved or bent edge: chords of a 25 cm arc over 70 degrees stay within 0.02 mm.
const PIECES: u32 = 96;

/// From 0 to 1 in [`PIECES`] steps.
fn steps() -> impl DoubleEndedIterator<Item = f64> {
    (0..=PIECES).map(|i| f64::from(i) / f64::from(PIECES))
}

impl Volume {
    /// Greatest distance from the central beam along the array at a height of the swept plane, mm; 0 where there is
    /// nothing.
    pub(super) fn half_width_at(&self, height: f64) -> f64 {
        let depth = self.field.depth().get();
        match self.field.transducer().shape {
            FaceShape::Flat { width, .. } if (0.0..=depth).contains(&height) => width.get() / 2.0,
            FaceShape::Flat { .. } => 0.0,
            FaceShape::Curved { .. } | FaceShape::Point { .. } => {
                let radius = self.field.apex_radius().unwrap_or(0.0);
                let (reach, far) = (radius + height, radius + depth);
                let side = reach * self.field.half_angle().tan();
                let arc = (far * far - reach * reach).max(0.0).sqrt();
                side.min(arc).max(0.0)
            }
        }
    }

    /// Greatest distance from the acquired plane at a depth below the footprint's centre, mm; 0 where there is nothing.
    pub(super) fn half_thickness_at(&self, z: f64) -> f64 {
        let (behind, far) = (z + self.pivot_mm, self.field.depth().get() + self.pivot_mm);
        let side = behind * self.sweep.tan();
        let arc = (far * far - behind * behind).max(0.0).sqrt();
        side.min(arc).max(0.0)
    }

    /// Least and greatest height of the field at a distance `x` from the central beam along the array; `None` beside
    /// the field.
    fn heights_at(&self, x: f64) -> Option<(f64, f64)> {
        let depth = self.field.depth().get();
        match self.field.transducer().shape {
            FaceShape::Flat { width, .. } => (x.abs() <= width.get() / 2.0).then_some((0.0, depth)),
            FaceShape::Curved { .. } | FaceShape::Point { .. } => {
                let radius = self.field.apex_radius().unwrap_or(0.0);
                let on_arc = |reach: f64| (reach * reach - x * x).max(0.0).sqrt() - radius;
                let beside = x.abs() / self.field.half_angle().tan() - radius;
                let (top, bottom) = (on_arc(radius).max(beside), on_arc(radius + depth));
                (top < bottom).then_some((top, bottom))
            }
        }
    }

    /// The field as it is met `off` beside the middle of the sweep: heights are measured in turned planes, and what
    /// the outermost plane does not reach is missing.
    pub(super) fn acquired_outline(&self, off: f64, sense: f64) -> Vec<[f64; 2]> {
        let depth_mm = self.field.depth().get();
        let mut edge: Vec<[f64; 2]> = Vec::new();
        let mut add = |beam: f64, depth_mm: f64| {
            let [x, y] = self.field.image_point(BeamPoint { beam, depth_mm });
            edge.push([x, y * sense]);
        };
        steps().for_each(|t| add(2.0 * t - 1.0, 0.0));
        steps().for_each(|t| add(1.0, t * depth_mm));
        steps().rev().for_each(|t| add(2.0 * t - 1.0, depth_mm));
        steps().rev().for_each(|t| add(-1.0, t * depth_mm));
        let least = off.abs() / self.sweep.sin() - self.pivot_mm;
        let mut out = Vec::with_capacity(edge.len());
        let down = |height: f64| {
            let reach = height + self.pivot_mm;
            ((reach * reach - off * off).max(0.0).sqrt() - self.pivot_mm) * sense
        };
        // Cut off along the lowest height (Sutherland and Hodgman, Communications of the ACM 1974; 17: 32–42).
        let mut from = edge.last().copied().unwrap_or([0.0; 2]);
        for to in edge {
            if (from[1] >= least) != (to[1] >= least) {
                let share = (least - from[1]) / (to[1] - from[1]);
                out.push([from[0] + share * (to[0] - from[0]), down(least)]);
            }
            if to[1] >= least {
                out.push([to[0], down(to[1])]);
            }
            from = to;
        }
        out
    }

    /// A ring sector about the axis of the sweep, `x` beside the central beam.
    pub(super) fn crossing_outline(&self, x: f64, sense: f64) -> Vec<[f64; 2]> {
        let Some((top, bottom)) = self.heights_at(x) else {
            return Vec::new();
        };
        let place = |t: f64, height: f64| {
            let angle = self.sweep * (2.0 * t - 1.0);
            let reach = height + self.pivot_mm;
            [
                reach * angle.sin(),
                (reach * angle.cos() - self.pivot_mm) * sense,
            ]
        };
        let near = steps().map(|t| place(t, top));
        let far = steps().rev().map(|t| place(t, bottom));
        near.chain(far).collect()
    }

    /// What lies `z` below the face: as long as the field is wide, as thick as the sweep is there.
    pub(super) fn face_outline(&self, z: f64) -> Vec<[f64; 2]> {
        let most = self.half_thickness_at(z);
        let behind = z + self.pivot_mm;
        // Closer together at the ends, where the edge may turn round.
        let along = |t: f64| most * libm::sin((t - 0.5) * std::f64::consts::PI);
        let side = |sign: f64, y: f64| {
            let height = (behind * behind + y * y).sqrt() - self.pivot_mm;
            [sign * self.half_width_at(height), y]
        };
        let right = steps().map(|t| side(1.0, along(t)));
        let left = steps().rev().map(|t| side(-1.0, along(t)));
        right.chain(left).collect()
    }
}
