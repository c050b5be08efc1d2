//! Turns about an axis through a point, taken by any share.

use geometry::{Angle, Direction, Patient, Point, Vector};

/// A turn about an axis through a centre: right-handed about the axis for a positive angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Turn {
    pub(crate) centre: Point<Patient>,
    pub(crate) axis: Direction<Patient>,
    pub(crate) angle: Angle,
}

impl Turn {
    /// The single turn about `centre` that brings the first pair of directions to the second. Of each pair the second
    /// counts only by its part across the first. `None` where a pair has no such part.
    pub(crate) fn between(
        centre: Point<Patient>,
        from: [Direction<Patient>; 2],
        to: [Direction<Patient>; 2],
    ) -> Option<Self> {
        let frame = |[along, aside]: [Direction<Patient>; 2]| {
            let aside = aside.perpendicular_to(along)?;
            Some([along, aside, along.cross(aside).direction()?])
        };
        let (from, to) = (frame(from)?, frame(to)?);
        // The rotation is the sum of the products to·fromᵀ; its trace and its antisymmetric part give angle and axis.
        let trace: f64 = (0..3).map(|k| from[k].dot(to[k])).sum();
        let twice = (0..3).fold(Vector::new(0.0, 0.0, 0.0), |sum, k| {
            sum + from[k].cross(to[k])
        });
        Some(Self {
            centre,
            axis: twice.direction().unwrap_or(from[0]),
            angle: Angle::atan2(twice.norm(), trace - 1.0),
        })
    }

    /// The shortest turn about the origin that brings `from` to `to`; `None` when they agree or are opposite.
    pub(crate) fn shortest(from: Direction<Patient>, to: Direction<Patient>) -> Option<Self> {
        let across = from.cross(to);
        Some(Self {
            centre: Point::ORIGIN,
            axis: across.direction()?,
            angle: Angle::atan2(across.norm(), from.dot(to)),
        })
    }

    /// `vector` turned by `share` of the angle (Rodrigues' formula).
    pub(crate) fn vector(&self, vector: Vector<Patient>, share: f64) -> Vector<Patient> {
        let angle = self.angle * share;
        let (sin, cos) = (angle.sin(), angle.cos());
        let axis = self.axis.to_vector();
        vector * cos + axis.cross(vector) * sin + axis * (axis.dot(vector) * (1.0 - cos))
    }

    /// `point` turned about the centre by `share` of the angle.
    pub(crate) fn point(&self, point: Point<Patient>, share: f64) -> Point<Patient> {
        self.centre + self.vector(point - self.centre, share)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SAME: f64 = 1e-12;

    #[test]
    fn a_turn_brings_one_pair_of_directions_to_the_other() {
        let direction = |c: [f64; 3]| Direction::<Patient>::from_array(c).expect("a direction");
        for (from, to) in [
            (
                [[0.2, 0.0, -1.0], [0.0, -1.0, 0.0]],
                [[1.0, -0.3, 0.2], [0.0, 0.0, 1.0]],
            ),
            (
                [[0.0, 0.1, -1.0], [0.0, 1.0, 0.0]],
                [[0.4, -1.0, 0.1], [0.0, 0.0, -1.0]],
            ),
            (
                [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]],
                [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]],
            ),
        ] {
            let (from, to) = (from.map(direction), to.map(direction));
            let turn = Turn::between(Point::ORIGIN, from, to).expect("not parallel");
            let along = turn.vector(from[0].to_vector(), 1.0);
            assert!((along - to[0].to_vector()).norm() < SAME, "{along:?}");
            let aside = from[1].perpendicular_to(from[0]).expect("across");
            let wanted = to[1].perpendicular_to(to[0]).expect("across");
            let aside = turn.vector(aside.to_vector(), 1.0);
            assert!((aside - wanted.to_vector()).norm() < SAME, "{aside:?}");
        }
    }
}
