//! Rigid motions from one frame to another.

use std::marker::PhantomData;

use nalgebra::{Matrix3, Vector3};

use crate::frames::{Direction, Frame, Point, Vector};

/// A rotation and a shift that turn coordinates in `From` into coordinates in `To`, mm.
///
/// Variables are named target-first, so that frames cancel as they are read:
/// `patient_from_probe.apply_point(point_in_probe)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transform<From: Frame, To: Frame> {
    rotation: Matrix3<f64>,
    shift: Vector3<f64>,
    frames: PhantomData<(From, To)>,
}

impl<From: Frame, To: Frame> Transform<From, To> {
    /// The transform of a frame whose origin and axes are known in the target frame.
    /// The three axes must already be a right-handed orthonormal set, as every caller here has.
    pub(crate) fn from_axes(
        origin: Point<To>,
        x: Direction<To>,
        y: Direction<To>,
        z: Direction<To>,
    ) -> Self {
        Self {
            rotation: Matrix3::from_columns(&[x.inner, y.inner, z.inner]),
            shift: origin.inner,
            frames: PhantomData,
        }
    }

    /// The motion that carries `from` to `to` and turns nothing: axes of the two frames agree.
    #[must_use]
    pub fn shifting(from: Point<From>, to: Point<To>) -> Self {
        Self {
            rotation: Matrix3::identity(),
            shift: to.inner - from.inner,
            frames: PhantomData,
        }
    }

    /// The motion that carries `from` to `to`, the source's +x to `x`, and its +y as near to `y` as a
    /// right angle with `x` allows; `None` when the two are parallel.
    #[must_use]
    pub fn carrying(
        from: Point<From>,
        to: Point<To>,
        x: Direction<To>,
        y: Direction<To>,
    ) -> Option<Self> {
        let y = y.perpendicular_to(x)?;
        let z = x.cross(y).direction()?;
        let turned = Self::from_axes(Point::ORIGIN, x, y, z);
        let origin = to - turned.apply_vector(from.to_vector());
        Some(Self::from_axes(origin, x, y, z))
    }

    /// The place of `point`, mm.
    #[must_use]
    pub fn apply_point(&self, point: Point<From>) -> Point<To> {
        Point::wrap(self.rotation * point.inner + self.shift)
    }

    /// The displacement `vector`, mm; the shift does not touch it.
    #[must_use]
    pub fn apply_vector(&self, vector: Vector<From>) -> Vector<To> {
        Vector::wrap(self.rotation * vector.inner)
    }

    /// The direction `direction`.
    #[must_use]
    pub fn apply_direction(&self, direction: Direction<From>) -> Direction<To> {
        Direction::wrap(self.rotation * direction.inner)
    }

    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Transform<To, From> {
        let rotation = self.rotation.transpose();
        Transform {
            rotation,
            shift: -(rotation * self.shift),
            frames: PhantomData,
        }
    }

    /// This transform, then `next`: `c_from_a = b_from_a.then(&c_from_b)`.
    #[must_use]
    pub fn then<Next: Frame>(&self, next: &Transform<To, Next>) -> Transform<From, Next> {
        Transform {
            rotation: next.rotation * self.rotation,
            shift: next.rotation * self.shift + next.shift,
            frames: PhantomData,
        }
    }

    /// The 4 × 4 matrix, column after column (WebGL's order): the first three columns are the
    /// source frame's axes in the target frame, the fourth its origin, mm.
    #[must_use]
    pub fn to_columns(&self) -> [f64; 16] {
        let (r, t) = (&self.rotation, &self.shift);
        [
            r[(0, 0)],
            r[(1, 0)],
            r[(2, 0)],
            0.0, //
            r[(0, 1)],
            r[(1, 1)],
            r[(2, 1)],
            0.0, //
            r[(0, 2)],
            r[(1, 2)],
            r[(2, 2)],
            0.0, //
            t.x,
            t.y,
            t.z,
            1.0,
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frames::{Image, Patient, Room};

    #[test]
    fn carrying_keeps_the_point_and_turns_the_axes() {
        let (from, to) = (
            Point::<Patient>::new(7.0, -3.0, 2.0),
            Point::<Room>::new(1.0, 2.0, 3.0),
        );
        let y = Direction::from_array([0.4, 0.0, 1.0]).expect("a direction");
        let carried = Transform::carrying(from, to, Direction::x_axis(), y).expect("not parallel");
        assert!((carried.apply_point(from) - to).norm() < 1e-12, "the point");
        let z = carried.apply_direction(Direction::z_axis());
        assert!((z.dot(-Direction::y_axis()) - 1.0).abs() < 1e-12, "{z:?}");
        let parallel = Transform::carrying(from, to, Direction::x_axis(), -Direction::x_axis());
        assert!(parallel.is_none(), "no frame");
    }

    #[test]
    fn inverse_and_composition_agree() {
        let room_from_patient: Transform<Patient, Room> = Transform::from_axes(
            Point::new(10.0, 20.0, 30.0),
            Direction::y_axis(),
            -Direction::z_axis(),
            -Direction::x_axis(),
        );
        let patient_from_image: Transform<Image, Patient> = Transform::from_axes(
            Point::new(1.0, 2.0, 3.0),
            -Direction::z_axis(),
            Direction::y_axis(),
            Direction::x_axis(),
        );
        let room_from_image = patient_from_image.then(&room_from_patient);
        let point = Point::new(4.0, -5.0, 6.0);
        let two_steps = room_from_patient.apply_point(patient_from_image.apply_point(point));
        assert!(
            (room_from_image.apply_point(point) - two_steps).norm() < 1e-12,
            "composition"
        );
        let back = room_from_image.inverse().apply_point(two_steps);
        assert!((back - point).norm() < 1e-12, "inverse");
        assert_eq!(patient_from_image.to_columns()[0..4], [0.0, 0.0, -1.0, 0.0]);
        assert_eq!(
            patient_from_image.to_columns()[12..16],
            [1.0, 2.0, 3.0, 1.0]
        );
    }
}
