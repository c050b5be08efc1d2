//! What the image plane is called.

use thiserror::Error;

use crate::frames::{Direction, Patient};
use crate::plane::ImagePlane;
use crate::units::{Angle, Mm};

/// How far a plane may be off and still carry a plain name, unless an exercise says otherwise.
/// No published standard fixes this number: it is a project setting.
pub const DEFAULT_TOLERANCE: Angle = Angle::deg(20.0);

/// The smallest and largest tolerance an exercise may set.
pub const TOLERANCE_RANGE: (Angle, Angle) = (Angle::deg(5.0), Angle::deg(40.0));

/// A sagittal plane this close to the mid-line is mid-sagittal.
pub const MID_SAGITTAL_HALF_WIDTH: Mm = Mm::new(5.0);

/// Rounding allowance at the limits of a name: an angle meant to be exactly the tolerance stays
/// within it.
const AT_THE_LIMIT: Angle = Angle::deg(1e-6);

/// A naming tolerance outside [`TOLERANCE_RANGE`].
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("tolerance of {degrees}° is outside 5° to 40°")]
pub struct ToleranceError {
    /// The offending value, degrees.
    pub degrees: f64,
}

/// Checks a tolerance from outside.
///
/// # Errors
///
/// [`ToleranceError`] when `degrees` is not within [`TOLERANCE_RANGE`], or not finite.
pub fn check_tolerance(degrees: f64) -> Result<Angle, ToleranceError> {
    // The limits are whole degrees, compared before the change to radians rounds them.
    if (5.0..=40.0).contains(&degrees) {
        Ok(Angle::deg(degrees))
    } else {
        Err(ToleranceError { degrees })
    }
}

/// One of the three body planes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BodyPlane {
    /// Divides the patient's right from left; normal along x.
    Sagittal,
    /// Divides front from back; normal along y.
    Coronal,
    /// Divides head from feet; normal along z.
    Transverse,
}

impl BodyPlane {
    /// All three, in the order ties are resolved.
    pub const ALL: [Self; 3] = [Self::Sagittal, Self::Coronal, Self::Transverse];

    /// The plane's name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sagittal => "sagittal",
            Self::Coronal => "coronal",
            Self::Transverse => "transverse",
        }
    }
}

/// The angle between a plane and each of the three body planes, 0° to 90°.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaneAngles {
    /// From the sagittal plane.
    pub sagittal: Angle,
    /// From the coronal plane.
    pub coronal: Angle,
    /// From the transverse plane.
    pub transverse: Angle,
}

impl PlaneAngles {
    /// The angles of a plane with normal `normal`; its sign does not matter.
    #[must_use]
    pub fn of(normal: Direction<Patient>) -> Self {
        // atan2 of the two legs is exact near 0° as well, where acos loses half the digits.
        let from = |axis: Direction<Patient>| {
            Angle::atan2(normal.cross(axis).norm(), normal.dot(axis).abs())
        };
        Self {
            sagittal: from(Direction::x_axis()),
            coronal: from(Direction::y_axis()),
            transverse: from(Direction::z_axis()),
        }
    }

    /// The angle from one body plane.
    #[must_use]
    pub const fn get(&self, plane: BodyPlane) -> Angle {
        match plane {
            BodyPlane::Sagittal => self.sagittal,
            BodyPlane::Coronal => self.coronal,
            BodyPlane::Transverse => self.transverse,
        }
    }

    /// The body planes, nearest first.
    /// Angles that differ by less than a millionth of a degree are a tie, resolved in the order
    /// sagittal, coronal, transverse.
    #[must_use]
    pub fn nearest(&self) -> [BodyPlane; 3] {
        let steps = |plane: BodyPlane| (self.get(plane).to_rad() / AT_THE_LIMIT.to_rad()).round();
        let mut planes = BodyPlane::ALL;
        planes.sort_by(|a, b| steps(*a).total_cmp(&steps(*b)));
        planes
    }
}

/// Which way an oblique plane runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ObliqueKind {
    /// The head–foot axis is within 45° of the plane (45° itself included).
    Longitudinal,
    /// It is not.
    Transverse,
}

impl ObliqueKind {
    /// The kind's word: "longitudinal" or "transverse".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Longitudinal => "longitudinal",
            Self::Transverse => "transverse",
        }
    }
}

/// How a plane is oblique.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Oblique {
    /// Longitudinal or transverse oblique.
    pub kind: ObliqueKind,
    /// Turned about two axes: all three angles exceed the tolerance T and none exceeds 90° − T.
    pub double: bool,
    /// The two nearest body planes, the nearer first.
    pub between: [BodyPlane; 2],
}

/// The name of a plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaneName {
    /// Within the tolerance of a body plane.
    Named(BodyPlane),
    /// Farther than that from all three.
    Oblique(Oblique),
}

impl PlaneName {
    /// "sagittal", "coronal", "transverse" or "oblique".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Named(plane) => plane.word(),
            Self::Oblique(_) => "oblique",
        }
    }
}

/// A plane's name with the figures it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaneNaming {
    /// The angles from the three body planes.
    pub angles: PlaneAngles,
    /// The name.
    pub name: PlaneName,
    /// The tolerance the name was given with.
    pub tolerance: Angle,
}

/// Names the plane with normal `normal`; its sign does not matter.
///
/// Only the normal counts: a rocked sagittal plane is still sagittal, though its rows and columns
/// run aslant.
/// The nearest body plane names the plane when the angle between them is at most `tolerance`;
/// otherwise it is oblique between the two nearest.
/// The rule is the project's own; no published standard gives one.
///
/// ```
/// use geometry::{Angle, BodyPlane, Direction, PlaneName, DEFAULT_TOLERANCE, name_plane};
/// let tilted = Direction::from_array([0.0, -0.26, 0.97]).expect("not zero");
/// let naming = name_plane(tilted, DEFAULT_TOLERANCE);
/// assert_eq!(naming.name, PlaneName::Named(BodyPlane::Transverse));
/// ```
#[must_use]
pub fn name_plane(normal: Direction<Patient>, tolerance: Angle) -> PlaneNaming {
    let angles = PlaneAngles::of(normal);
    let [first, second, third] = angles.nearest();
    let name = if angles.get(first) <= tolerance + AT_THE_LIMIT {
        PlaneName::Named(first)
    } else {
        // The head–foot axis makes 90° minus the transverse angle with the plane.
        let longitudinal = angles.transverse >= Angle::deg(45.0) - AT_THE_LIMIT;
        PlaneName::Oblique(Oblique {
            kind: if longitudinal {
                ObliqueKind::Longitudinal
            } else {
                ObliqueKind::Transverse
            },
            double: angles.get(third) <= Angle::deg(90.0) - tolerance + AT_THE_LIMIT,
            between: [first, second],
        })
    };
    PlaneNaming {
        angles,
        name,
        tolerance,
    }
}

/// Where a sagittal plane lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SagittalOffset {
    /// Within [`MID_SAGITTAL_HALF_WIDTH`] of the mid-line.
    MidSagittal,
    /// Right parasagittal: this far to the patient's right of the mid-line.
    Right(Mm),
    /// Left parasagittal: this far to the patient's left of the mid-line.
    Left(Mm),
}

/// The side offset of `plane` at image point `middle` (x, y; mm), which for the name is where the
/// central ray reaches the middle of the displayed depth: (0, depth/2) with the apex at the top,
/// (0, −depth/2) with the apex at the bottom.
#[must_use]
pub fn sagittal_offset(plane: &ImagePlane, middle: [f64; 2]) -> SagittalOffset {
    let x = plane.to_patient(middle).x();
    if x.abs() <= MID_SAGITTAL_HALF_WIDTH.get() {
        SagittalOffset::MidSagittal
    } else if x < 0.0 {
        SagittalOffset::Right(Mm::new(-x))
    } else {
        SagittalOffset::Left(Mm::new(x))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::convention::Convention;
    use crate::frames::{Point, Vector};

    fn check_name(normal: [f64; 3], tolerance: f64, expected: PlaneName) {
        let normal = Direction::from_array(normal).expect("a normal");
        for normal in [normal, -normal] {
            let naming = name_plane(normal, Angle::deg(tolerance));
            assert_eq!(naming.name, expected, "{normal:?} within {tolerance}°");
        }
    }

    fn oblique(kind: ObliqueKind, double: bool, between: [BodyPlane; 2]) -> PlaneName {
        PlaneName::Oblique(Oblique {
            kind,
            double,
            between,
        })
    }

    #[test]
    fn names_follow_the_normal() {
        use BodyPlane::{Coronal, Sagittal, Transverse};
        let (longitudinal, transverse) = (ObliqueKind::Longitudinal, ObliqueKind::Transverse);
        let at = |degrees: f64| (Angle::deg(degrees).sin(), Angle::deg(degrees).cos());
        check_name([1.0, 0.0, 0.0], 20.0, PlaneName::Named(Sagittal));
        check_name([0.0, 1.0, 0.0], 20.0, PlaneName::Named(Coronal));
        check_name([0.0, 0.0, 1.0], 20.0, PlaneName::Named(Transverse));
        let (s, c) = at(20.0);
        check_name([0.0, -s, c], 20.0, PlaneName::Named(Transverse));
        check_name([c, 0.0, s], 20.0, PlaneName::Named(Sagittal));
        let (s, c) = at(20.001);
        check_name(
            [0.0, -s, c],
            20.0,
            oblique(transverse, false, [Transverse, Coronal]),
        );
        let (s, c) = at(38.0);
        check_name(
            [c, 0.0, s],
            20.0,
            oblique(longitudinal, false, [Sagittal, Transverse]),
        );
        check_name([c, 0.0, s], 38.0, PlaneName::Named(Sagittal));
        // A tie at 45° between sagittal and transverse, and longitudinal by the rule's "within".
        check_name(
            [1.0, 0.0, 1.0],
            20.0,
            oblique(longitudinal, false, [Sagittal, Transverse]),
        );
        check_name(
            [1.0, 1.0, 1.0],
            20.0,
            oblique(longitudinal, true, [Sagittal, Coronal]),
        );
    }

    #[test]
    fn no_plane_is_farther_than_the_body_diagonal() {
        // arccos(1/√3) = 54.7356°, the largest possible angle from the nearest body plane.
        let diagonal = Direction::from_array([1.0, 1.0, 1.0]).expect("a normal");
        let angles = PlaneAngles::of(diagonal);
        for plane in BodyPlane::ALL {
            assert!(
                (angles.get(plane).to_deg() - 54.735_610_317).abs() < 1e-8,
                "{plane:?}"
            );
        }
    }

    #[test]
    fn offsets_name_the_patients_side() {
        let plane = |x: f64| {
            ImagePlane::from_notch_and_beam(
                Point::new(x, -100.0, 0.0),
                Vector::new(0.0, 0.0, 1.0),
                Vector::new(0.0, 1.0, 0.0),
                Convention::GENERAL,
            )
            .expect("a plane")
        };
        assert_eq!(
            sagittal_offset(&plane(-5.0), [0.0, 70.0]),
            SagittalOffset::MidSagittal
        );
        assert_eq!(
            sagittal_offset(&plane(-20.0), [0.0, 70.0]),
            SagittalOffset::Right(Mm::new(20.0))
        );
        assert_eq!(
            sagittal_offset(&plane(5.1), [0.0, 70.0]),
            SagittalOffset::Left(Mm::new(5.1))
        );
    }

    #[test]
    fn tolerances_from_outside_are_checked() {
        for bad in [4.9, 40.1, -20.0, f64::NAN, f64::INFINITY] {
            assert!(check_tolerance(bad).is_err(), "{bad}");
        }
        for good in [5.0, 20.0, 40.0] {
            assert!(check_tolerance(good).is_ok(), "{good}");
        }
    }
}
