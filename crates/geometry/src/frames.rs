//! Points, vectors and unit directions that know the frame they are in.

use std::marker::PhantomData;
use std::ops::{Add, Div, Mul, Neg, Sub};

use nalgebra::Vector3;

/// A right-handed frame with millimetre axes; see the crate page for them.
pub trait Frame: Copy + std::fmt::Debug + PartialEq + Send + Sync + 'static {
    /// The frame's name in messages.
    const NAME: &'static str;
}

macro_rules! frame {
    ($(#[$doc:meta])* $name:ident, $text:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub struct $name;
        impl Frame for $name {
            const NAME: &'static str = $text;
        }
    };
}

frame! {
    /// DICOM's patient-based frame: +x to the patient's left, +y to the back, +z to the head
    /// (PS3.3 C.7.6.2.1.1).
    Patient, "patient"
}
frame! {
    /// The patient frame of the body as it is shown, its arms and legs bent as the position asks.
    /// The trunk is where it is in [`Patient`]. Only for drawing, like [`Room`].
    Posed, "posed"
}
frame! {
    /// The room: +z up against gravity. Only for drawing; see [`crate::BodyPosition`].
    Room, "room"
}
frame! {
    /// The probe: x lateral (toward the notch), y elevation, z depth (into the body).
    Probe, "probe"
}
frame! {
    /// The picture: x from image left to right, y from top to bottom, z away from the viewer.
    Image, "image"
}

/// Shorter vectors have no direction, mm: a micrometre's thousandth is rounding, not geometry.
pub const SHORTEST_LENGTH: f64 = 1e-9;

/// A displacement in frame `F`, mm (or a pure number where a formula needs one).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vector<F: Frame> {
    pub(crate) inner: Vector3<f64>,
    frame: PhantomData<F>,
}

/// A place in frame `F`, mm from its origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point<F: Frame> {
    pub(crate) inner: Vector3<f64>,
    frame: PhantomData<F>,
}

/// A unit vector in frame `F`.
///
/// Made only by normalising ([`Vector::direction`]) or by rotating another direction, so its length
/// is one to rounding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction<F: Frame> {
    pub(crate) inner: Vector3<f64>,
    frame: PhantomData<F>,
}

impl<F: Frame> Vector<F> {
    /// The vector with these components, mm.
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self::wrap(Vector3::new(x, y, z))
    }

    pub(crate) const fn wrap(inner: Vector3<f64>) -> Self {
        Self {
            inner,
            frame: PhantomData,
        }
    }

    /// The vector with components (x, y, z), mm.
    #[must_use]
    pub const fn from_array(components: [f64; 3]) -> Self {
        Self::new(components[0], components[1], components[2])
    }

    /// The components (x, y, z), mm.
    #[must_use]
    pub fn to_array(self) -> [f64; 3] {
        self.inner.into()
    }

    /// First component, mm.
    #[must_use]
    pub fn x(self) -> f64 {
        self.inner.x
    }

    /// Second component, mm.
    #[must_use]
    pub fn y(self) -> f64 {
        self.inner.y
    }

    /// Third component, mm.
    #[must_use]
    pub fn z(self) -> f64 {
        self.inner.z
    }

    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.inner.dot(&other.inner)
    }

    /// Vector product, by the right-hand rule.
    #[must_use]
    pub fn cross(self, other: Self) -> Self {
        Self::wrap(self.inner.cross(&other.inner))
    }

    /// Length, mm.
    #[must_use]
    pub fn norm(self) -> f64 {
        self.inner.norm()
    }

    /// The unit vector along this one; `None` when it is shorter than [`SHORTEST_LENGTH`] or not
    /// finite.
    #[must_use]
    pub fn direction(self) -> Option<Direction<F>> {
        let largest = self.inner.amax();
        if !self.inner.iter().all(|c| c.is_finite()) || largest < SHORTEST_LENGTH {
            return None;
        }
        // Scaled first so that squares of huge components stay finite.
        let scaled = self.inner / largest;
        Some(Direction::wrap(scaled / scaled.norm()))
    }

    /// Whether every component is an ordinary number.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.inner.iter().all(|c| c.is_finite())
    }
}

impl<F: Frame> Point<F> {
    /// The frame's origin.
    pub const ORIGIN: Self = Self::new(0.0, 0.0, 0.0);

    /// The point with these coordinates, mm.
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self::wrap(Vector3::new(x, y, z))
    }

    pub(crate) const fn wrap(inner: Vector3<f64>) -> Self {
        Self {
            inner,
            frame: PhantomData,
        }
    }

    /// The point with coordinates (x, y, z), mm.
    #[must_use]
    pub const fn from_array(coordinates: [f64; 3]) -> Self {
        Self::new(coordinates[0], coordinates[1], coordinates[2])
    }

    /// The coordinates (x, y, z), mm.
    #[must_use]
    pub fn to_array(self) -> [f64; 3] {
        self.inner.into()
    }

    /// First coordinate, mm.
    #[must_use]
    pub fn x(self) -> f64 {
        self.inner.x
    }

    /// Second coordinate, mm.
    #[must_use]
    pub fn y(self) -> f64 {
        self.inner.y
    }

    /// Third coordinate, mm.
    #[must_use]
    pub fn z(self) -> f64 {
        self.inner.z
    }

    /// The displacement from the frame's origin, mm.
    #[must_use]
    pub const fn to_vector(self) -> Vector<F> {
        Vector::wrap(self.inner)
    }

    /// Whether every coordinate is an ordinary number.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.inner.iter().all(|c| c.is_finite())
    }
}

impl<F: Frame> Direction<F> {
    /// The frame's +x.
    #[must_use]
    pub const fn x_axis() -> Self {
        Self::wrap(Vector3::new(1.0, 0.0, 0.0))
    }

    /// The frame's +y.
    #[must_use]
    pub const fn y_axis() -> Self {
        Self::wrap(Vector3::new(0.0, 1.0, 0.0))
    }

    /// The frame's +z.
    #[must_use]
    pub const fn z_axis() -> Self {
        Self::wrap(Vector3::new(0.0, 0.0, 1.0))
    }

    pub(crate) const fn wrap(inner: Vector3<f64>) -> Self {
        Self {
            inner,
            frame: PhantomData,
        }
    }

    /// The direction of (x, y, z), of any length; `None` as for [`Vector::direction`].
    #[must_use]
    pub fn from_array(components: [f64; 3]) -> Option<Self> {
        Vector::from_array(components).direction()
    }

    /// The components, whose squares sum to one.
    #[must_use]
    pub fn to_array(self) -> [f64; 3] {
        self.inner.into()
    }

    /// First component.
    #[must_use]
    pub fn x(self) -> f64 {
        self.inner.x
    }

    /// Second component.
    #[must_use]
    pub fn y(self) -> f64 {
        self.inner.y
    }

    /// Third component.
    #[must_use]
    pub fn z(self) -> f64 {
        self.inner.z
    }

    /// Cosine of the angle between two directions.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.inner.dot(&other.inner)
    }

    /// Vector product, by the right-hand rule; its length is the sine of the angle between.
    #[must_use]
    pub fn cross(self, other: Self) -> Vector<F> {
        Vector::wrap(self.inner.cross(&other.inner))
    }

    /// The vector one millimetre long.
    #[must_use]
    pub const fn to_vector(self) -> Vector<F> {
        Vector::wrap(self.inner)
    }

    /// This direction's part perpendicular to `other`, made a unit again; `None` when the two are
    /// parallel.
    #[must_use]
    pub fn perpendicular_to(self, other: Self) -> Option<Self> {
        Vector::wrap(self.inner - other.inner * self.dot(other)).direction()
    }
}

impl<F: Frame> Neg for Direction<F> {
    type Output = Self;
    fn neg(self) -> Self {
        // Adding zero turns -0 into 0, so that printed axes read cleanly.
        Self::wrap((-self.inner).map(|c| c + 0.0))
    }
}

impl<F: Frame> Mul<f64> for Direction<F> {
    type Output = Vector<F>;
    fn mul(self, length: f64) -> Vector<F> {
        Vector::wrap(self.inner * length)
    }
}

impl<F: Frame> Neg for Vector<F> {
    type Output = Self;
    fn neg(self) -> Self {
        Self::wrap((-self.inner).map(|c| c + 0.0))
    }
}

impl<F: Frame> Add for Vector<F> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::wrap(self.inner + other.inner)
    }
}

impl<F: Frame> Sub for Vector<F> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::wrap(self.inner - other.inner)
    }
}

impl<F: Frame> Mul<f64> for Vector<F> {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::wrap(self.inner * factor)
    }
}

impl<F: Frame> Div<f64> for Vector<F> {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self::wrap(self.inner / divisor)
    }
}

impl<F: Frame> Sub for Point<F> {
    type Output = Vector<F>;
    fn sub(self, other: Self) -> Vector<F> {
        Vector::wrap(self.inner - other.inner)
    }
}

impl<F: Frame> Add<Vector<F>> for Point<F> {
    type Output = Self;
    fn add(self, step: Vector<F>) -> Self {
        Self::wrap(self.inner + step.inner)
    }
}

impl<F: Frame> Sub<Vector<F>> for Point<F> {
    type Output = Self;
    fn sub(self, step: Vector<F>) -> Self {
        Self::wrap(self.inner - step.inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_refuse_what_has_none() {
        for bad in [
            [0.0, 0.0, 0.0],
            [1e-10, 0.0, 0.0],
            [f64::NAN, 1.0, 0.0],
            [f64::INFINITY, 0.0, 0.0],
            [1.0, f64::NAN, f64::NAN],
        ] {
            assert!(
                Direction::<Patient>::from_array(bad).is_none(),
                "{bad:?} has no direction"
            );
        }
    }

    #[test]
    fn directions_have_length_one() {
        for good in [[3.0, 4.0, 0.0], [1e300, 1e300, -1e300], [0.0, 1e-8, 0.0]] {
            let direction = Direction::<Patient>::from_array(good).expect("a direction");
            assert!(
                (direction.to_vector().norm() - 1.0).abs() < 1e-15,
                "{good:?}"
            );
        }
    }

    #[test]
    fn vector_product_is_right_handed() {
        let z = Direction::<Patient>::x_axis().cross(Direction::y_axis());
        assert_eq!(z, Vector::new(0.0, 0.0, 1.0));
    }
}
