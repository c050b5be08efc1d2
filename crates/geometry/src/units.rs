//! Lengths and angles as types.

use std::f64::consts::{PI, TAU};
use std::ops::{Add, Div, Mul, Neg, Sub};

use thiserror::Error;

/// A number that cannot be a length or an angle.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum UnitError {
    /// An angle is infinite or not a number; give a finite one.
    #[error("angle {value} is not a finite number of degrees")]
    AngleNotFinite {
        /// The offending value, degrees.
        value: f64,
    },
    /// A length is infinite or not a number; give a finite one.
    #[error("length {value} is not a finite number of millimetres")]
    LengthNotFinite {
        /// The offending value, millimetres.
        value: f64,
    },
}

/// An angle, or a rotation whose axis and sense the user of the value documents.
///
/// Kept in radians; read and written in the unit the method names.
/// Trigonometry lives here because `f64::sin` and its kin give different bits on different
/// platforms, while `libm` gives the same ones everywhere.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Angle {
    radians: f64,
}

impl Angle {
    /// No rotation.
    pub const ZERO: Self = Self { radians: 0.0 };

    /// An angle of so many degrees, for a finite value the caller knows.
    /// Values from outside go through [`Angle::try_deg`].
    #[must_use]
    pub const fn deg(degrees: f64) -> Self {
        Self {
            radians: degrees * (PI / 180.0),
        }
    }

    /// An angle of so many radians, for a finite value the caller knows.
    #[must_use]
    pub const fn rad(radians: f64) -> Self {
        Self { radians }
    }

    /// An angle of so many degrees, from outside data.
    ///
    /// # Errors
    ///
    /// [`UnitError::AngleNotFinite`] for an infinity or not-a-number.
    pub fn try_deg(degrees: f64) -> Result<Self, UnitError> {
        if degrees.is_finite() {
            Ok(Self::deg(degrees))
        } else {
            Err(UnitError::AngleNotFinite { value: degrees })
        }
    }

    /// The angle in degrees.
    #[must_use]
    pub const fn to_deg(self) -> f64 {
        self.radians * (180.0 / PI)
    }

    /// The angle in radians.
    #[must_use]
    pub const fn to_rad(self) -> f64 {
        self.radians
    }

    /// Whether the angle is an ordinary number.
    #[must_use]
    pub const fn is_finite(self) -> bool {
        self.radians.is_finite()
    }

    /// Sine.
    #[must_use]
    pub fn sin(self) -> f64 {
        libm::sin(self.radians)
    }

    /// Cosine.
    #[must_use]
    pub fn cos(self) -> f64 {
        libm::cos(self.radians)
    }

    /// Tangent.
    #[must_use]
    pub fn tan(self) -> f64 {
        libm::tan(self.radians)
    }

    /// The angle from −90° to 90° with this sine; values outside −1…1 are taken as the nearer end,
    /// so that a dot product of unit vectors may be passed as it comes.
    #[must_use]
    pub fn asin(sine: f64) -> Self {
        Self::rad(libm::asin(sine.clamp(-1.0, 1.0)))
    }

    /// The angle from 0° to 180° with this cosine; values outside −1…1 are taken as the nearer end.
    #[must_use]
    pub fn acos(cosine: f64) -> Self {
        Self::rad(libm::acos(cosine.clamp(-1.0, 1.0)))
    }

    /// The angle from the +x half-axis to the point (`x`, `y`), −180° to 180°, positive toward +y;
    /// zero at the origin.
    #[must_use]
    pub fn atan2(y: f64, x: f64) -> Self {
        Self::rad(libm::atan2(y, x))
    }

    /// Size without sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self {
            radians: self.radians.abs(),
        }
    }

    /// The same rotation, in 0° ≤ a < 360°.
    #[must_use]
    pub fn wrapped_360(self) -> Self {
        let turned = libm::fmod(self.radians, TAU);
        let positive = if turned < 0.0 { turned + TAU } else { turned };
        // A tiny negative angle plus a turn rounds to the whole turn.
        Self {
            radians: if positive >= TAU { 0.0 } else { positive + 0.0 },
        }
    }

    /// The same rotation, in −180° < a ≤ 180°.
    #[must_use]
    pub fn wrapped_180(self) -> Self {
        let positive = self.wrapped_360().radians;
        Self {
            radians: if positive > PI {
                positive - TAU
            } else {
                positive
            },
        }
    }

    /// The angle moved to the nearer end of `low` to `high` when outside.
    #[must_use]
    pub fn clamped(self, low: Self, high: Self) -> Self {
        if self < low {
            low
        } else if self > high {
            high
        } else {
            self
        }
    }
}

impl Add for Angle {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::rad(self.radians + other.radians)
    }
}

impl Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::rad(self.radians - other.radians)
    }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self::rad(-self.radians)
    }
}

impl Mul<f64> for Angle {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::rad(self.radians * factor)
    }
}

impl Div<f64> for Angle {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self::rad(self.radians / divisor)
    }
}

/// A length in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Mm(f64);

impl Mm {
    /// No length.
    pub const ZERO: Self = Self(0.0);

    /// So many millimetres, for a finite value the caller knows.
    /// Values from outside go through [`Mm::try_new`].
    #[must_use]
    pub const fn new(millimetres: f64) -> Self {
        Self(millimetres)
    }

    /// So many millimetres, from outside data.
    ///
    /// # Errors
    ///
    /// [`UnitError::LengthNotFinite`] for an infinity or not-a-number.
    pub fn try_new(millimetres: f64) -> Result<Self, UnitError> {
        if millimetres.is_finite() {
            Ok(Self(millimetres))
        } else {
            Err(UnitError::LengthNotFinite { value: millimetres })
        }
    }

    /// The length in millimetres.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// Size without sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

impl Add for Mm {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Mm {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Mm {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Mm {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}

impl Div<f64> for Mm {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self(self.0 / divisor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check_wrap(degrees: f64, expected_360: f64, expected_180: f64) {
        let angle = Angle::deg(degrees);
        assert!(
            (angle.wrapped_360().to_deg() - expected_360).abs() < 1e-9,
            "{degrees} in 0..360"
        );
        assert!(
            (angle.wrapped_180().to_deg() - expected_180).abs() < 1e-9,
            "{degrees} in ±180"
        );
    }

    #[test]
    fn wrapping_keeps_the_rotation() {
        for (degrees, expected_360, expected_180) in [
            (0.0, 0.0, 0.0),
            (-0.0, 0.0, 0.0),
            (359.0, 359.0, -1.0),
            (-90.0, 270.0, -90.0),
            (180.0, 180.0, 180.0),
            (-180.0, 180.0, 180.0),
            (725.0, 5.0, 5.0),
            (-725.0, 355.0, -5.0),
        ] {
            check_wrap(degrees, expected_360, expected_180);
        }
        assert!(
            Angle::rad(-1e-300).wrapped_360() < Angle::deg(360.0),
            "never a whole turn"
        );
    }

    #[test]
    fn outside_values_are_checked() {
        assert!(
            Angle::try_deg(f64::NAN).is_err(),
            "not a number is no angle"
        );
        assert!(
            Angle::try_deg(f64::INFINITY).is_err(),
            "an infinity is no angle"
        );
        assert!(Mm::try_new(f64::NAN).is_err(), "not a number is no length");
        let message = Mm::try_new(f64::INFINITY).unwrap_err().to_string();
        assert_eq!(message, "length inf is not a finite number of millimetres");
    }
}
