//! The probe's pose on the skin, and reading it back from the notch and the beam.

use thiserror::Error;

use crate::clock::{clock_face, transport};
use crate::frames::{Direction, Patient, Point, Probe, SHORTEST_LENGTH, Vector};
use crate::transform::Transform;
use crate::units::{Angle, Mm};

/// A pose that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum PoseError {
    /// The contact point has a coordinate that is infinite or not a number.
    #[error("contact point ({}, {}, {}) mm is not finite", .point[0], .point[1], .point[2])]
    ContactNotFinite {
        /// The offending coordinates, patient frame, mm.
        point: [f64; 3],
    },
    /// An angle is infinite or not a number.
    #[error("{field} of {degrees}° is not a finite angle")]
    AngleNotFinite {
        /// Which angle: rotation, tilt or rock.
        field: &'static str,
        /// The offending value, degrees.
        degrees: f64,
    },
    /// The tilt is outside −90° to 90°; a larger tilt is a smaller one with the notch turned round.
    #[error("tilt of {degrees}° is outside -90° to 90°")]
    TiltOutOfRange {
        /// The offending value, degrees.
        degrees: f64,
    },
    /// The press is negative or not finite.
    #[error("press of {millimetres} mm is not a length of 0 mm or more")]
    PressOutOfRange {
        /// The offending value, mm.
        millimetres: f64,
    },
    /// The beam has no length, or is not finite.
    #[error(
        "beam ({}, {}, {}) has no direction (shorter than {SHORTEST_LENGTH} or not finite)",
        .beam[0], .beam[1], .beam[2]
    )]
    BeamWithoutDirection {
        /// The offending components, patient frame.
        beam: [f64; 3],
    },
    /// The notch has no length, or is not finite.
    #[error(
        "notch ({}, {}, {}) has no direction (shorter than {SHORTEST_LENGTH} or not finite)",
        .notch[0], .notch[1], .notch[2]
    )]
    NotchWithoutDirection {
        /// The offending components, patient frame.
        notch: [f64; 3],
    },
    /// The notch lies along the beam, so that it says nothing about the plane.
    #[error("notch and beam lie on one line ({degrees}° apart)")]
    NotchAlongBeam {
        /// Angle between the two, degrees.
        degrees: f64,
    },
}

/// A notch closer to the beam's line than this does not fix a plane.
const NOTCH_CONE: Angle = Angle::deg(1e-4);

/// Below this cosine the tilt counts as ±90°: see [`Pose::from_notch_and_beam`].
const UPRIGHT_PLANE: f64 = 1e-9;

/// The probe's three axes in the patient frame: right-handed, `elevation = depth × lateral`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProbeAxes {
    /// Along the face, toward the notch.
    pub lateral: Direction<Patient>,
    /// Across the face, perpendicular to the image plane.
    pub elevation: Direction<Patient>,
    /// Along the central beam, into the body.
    pub depth: Direction<Patient>,
}

/// Where the probe stands on the skin and how it is held.
///
/// The five movements carry the names of the AIUM technical bulletin on transducer manipulation
/// (J Ultrasound Med 1999; 18: 169–175): slide, rock, tilt, rotate, compress.
/// That bulletin fixes no signs; those below are this project's.
///
/// With `u` twelve and `v` three o'clock on the skin ([`clock_face`]) and `n` its outward normal:
///
/// 1. **rotation** θ, clockwise as seen from outside the skin:
///    `l = cos θ u + sin θ v`, `d = −n`, `e = d × l`.
///    On the front of the body 0° points the notch to the head, 90° to the patient's left, 270° to
///    the patient's right.
/// 2. **tilt** τ, across the plane, about `l`: `d' = cos τ d + sin τ e`, `e' = d' × l`.
///    On the front of the body, positive tilt swings the beam toward the head when the notch points
///    to the patient's right, and toward the patient's left when the notch points to the head.
/// 3. **rock** ρ, in the plane (heel–toe), about `e'`: `d'' = cos ρ d' + sin ρ l`,
///    `l'' = cos ρ l − sin ρ d'`.
///    Positive rock swings the beam toward the notch.
///    Rock never changes the plane.
///
/// **Press** is how far the footprint is pushed in along −n.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    contact: Point<Patient>,
    normal: Direction<Patient>,
    rotation: Angle,
    tilt: Angle,
    rock: Angle,
    press: Mm,
}

impl Pose {
    /// A pose from its parts.
    ///
    /// `contact` is the centre of the footprint on the skin (patient frame, mm), `normal` the skin's
    /// outward normal there.
    /// Rotation and rock are taken round the circle; rotation is kept in 0° ≤ θ < 360°, rock in
    /// −180° < ρ ≤ 180°.
    ///
    /// # Errors
    ///
    /// A [`PoseError`] naming the first value that is not finite or out of range: tilt must lie in
    /// −90° to 90°, press must not be negative.
    pub fn new(
        contact: Point<Patient>,
        normal: Direction<Patient>,
        rotation: Angle,
        tilt: Angle,
        rock: Angle,
        press: Mm,
    ) -> Result<Self, PoseError> {
        if !contact.is_finite() {
            return Err(PoseError::ContactNotFinite {
                point: contact.to_array(),
            });
        }
        for (field, angle) in [("rotation", rotation), ("tilt", tilt), ("rock", rock)] {
            if !angle.is_finite() {
                return Err(PoseError::AngleNotFinite {
                    field,
                    degrees: angle.to_deg(),
                });
            }
        }
        if tilt.abs() > Angle::deg(90.0) {
            return Err(PoseError::TiltOutOfRange {
                degrees: tilt.to_deg(),
            });
        }
        if !press.get().is_finite() || press < Mm::ZERO {
            return Err(PoseError::PressOutOfRange {
                millimetres: press.get(),
            });
        }
        Ok(Self {
            contact,
            normal,
            rotation: rotation.wrapped_360(),
            tilt,
            rock: rock.wrapped_180(),
            press,
        })
    }

    /// The pose on skin with outward normal `normal` at `contact` whose notch points along `notch`
    /// and whose central beam runs along `beam` (patient frame, any length); press 0 mm.
    ///
    /// Where the two are not perpendicular the beam wins: the notch is its part across the beam.
    /// Every pair that fixes a plane is reached exactly, whichever way the skin faces, with one set
    /// of angles: tilt within −90° to 90°, rotation and rock round the circle.
    /// From the plane's normal `e'' = d'' × l''`: `sin τ = e'' · n`; then rotation from the part of
    /// `e''` tangent to the skin, and rock from the beam's parts along and across the untilted notch.
    ///
    /// At a tilt of ±90° (the image plane touches the skin) rotation and rock turn about one axis
    /// and only their combination means anything; rock 0° is given then.
    ///
    /// # Errors
    ///
    /// [`PoseError::ContactNotFinite`], [`PoseError::BeamWithoutDirection`],
    /// [`PoseError::NotchWithoutDirection`] or [`PoseError::NotchAlongBeam`].
    pub fn from_notch_and_beam(
        contact: Point<Patient>,
        normal: Direction<Patient>,
        notch: Vector<Patient>,
        beam: Vector<Patient>,
    ) -> Result<Self, PoseError> {
        if !contact.is_finite() {
            return Err(PoseError::ContactNotFinite {
                point: contact.to_array(),
            });
        }
        let axes = ProbeAxes::from_notch_and_beam(notch, beam)?;
        let (u, v) = clock_face(normal);
        let depth = -normal;
        let sine = axes.elevation.dot(normal);
        let across = (axes.elevation.dot(u), axes.elevation.dot(v));
        let cosine = (across.0 * across.0 + across.1 * across.1).sqrt();
        let (rotation, tilt, rock) = if cosine < UPRIGHT_PLANE {
            let rotation = Angle::atan2(axes.lateral.dot(v), axes.lateral.dot(u));
            let tilt = Angle::deg(if sine < 0.0 { -90.0 } else { 90.0 });
            (rotation, tilt, Angle::ZERO)
        } else {
            let rotation = Angle::atan2(-across.0, across.1);
            let tilt = Angle::atan2(sine, cosine);
            let unrocked = unrocked_axes(u, v, depth, rotation, tilt);
            let rock = Angle::atan2(
                axes.depth.dot(unrocked.lateral),
                axes.depth.dot(unrocked.depth),
            );
            (rotation, tilt, rock)
        };
        Self::new(contact, normal, rotation, tilt, rock, Mm::ZERO)
    }

    /// Centre of the footprint on the unpressed skin, patient frame, mm.
    #[must_use]
    pub const fn contact(&self) -> Point<Patient> {
        self.contact
    }

    /// The skin's outward normal at the contact.
    #[must_use]
    pub const fn normal(&self) -> Direction<Patient> {
        self.normal
    }

    /// Rotation θ, clockwise from twelve o'clock as seen from outside the skin, 0° ≤ θ < 360°.
    #[must_use]
    pub const fn rotation(&self) -> Angle {
        self.rotation
    }

    /// Tilt τ, −90° to 90°; see [`Pose`] for its sense.
    #[must_use]
    pub const fn tilt(&self) -> Angle {
        self.tilt
    }

    /// Rock ρ, −180° < ρ ≤ 180°; positive swings the beam toward the notch.
    #[must_use]
    pub const fn rock(&self) -> Angle {
        self.rock
    }

    /// How far the footprint is pushed in, mm.
    #[must_use]
    pub const fn press(&self) -> Mm {
        self.press
    }

    /// The same pose with another rotation; an angle that is not finite changes nothing.
    #[must_use]
    pub fn with_rotation(self, rotation: Angle) -> Self {
        let rotation = if rotation.is_finite() {
            rotation.wrapped_360()
        } else {
            self.rotation
        };
        Self { rotation, ..self }
    }

    /// The same pose with another tilt, moved to the nearer end of −90° to 90° when outside; an
    /// angle that is not finite changes nothing.
    #[must_use]
    pub fn with_tilt(self, tilt: Angle) -> Self {
        let end = Angle::deg(90.0);
        let tilt = if tilt.is_finite() {
            tilt.clamped(-end, end)
        } else {
            self.tilt
        };
        Self { tilt, ..self }
    }

    /// The same pose with another rock; an angle that is not finite changes nothing.
    #[must_use]
    pub fn with_rock(self, rock: Angle) -> Self {
        let rock = if rock.is_finite() {
            rock.wrapped_180()
        } else {
            self.rock
        };
        Self { rock, ..self }
    }

    /// The same pose with another press; a negative one counts as 0 mm, one that is not finite
    /// changes nothing.
    #[must_use]
    pub fn with_press(self, press: Mm) -> Self {
        let press = if !press.get().is_finite() {
            self.press
        } else if press < Mm::ZERO {
            Mm::ZERO
        } else {
            press
        };
        Self { press, ..self }
    }

    /// The same angles at another place of the skin: the notch keeps its hour on the clock face, so
    /// its direction jumps where twelve o'clock does.
    /// For a slide, which must not jump, use [`Pose::slid_to`].
    /// A point that is not finite changes nothing.
    #[must_use]
    pub fn with_contact(self, contact: Point<Patient>, normal: Direction<Patient>) -> Self {
        if contact.is_finite() {
            Self {
                contact,
                normal,
                ..self
            }
        } else {
            self
        }
    }

    /// The pose after a slide to another place of the skin: the notch direction is carried over by
    /// [`transport`] and the rotation read back from it; tilt, rock and press are kept.
    /// A point that is not finite changes nothing.
    #[must_use]
    pub fn slid_to(self, contact: Point<Patient>, normal: Direction<Patient>) -> Self {
        if !contact.is_finite() {
            return self;
        }
        let notch = transport(self.notch_on_skin(), self.normal, normal);
        let (u, v) = clock_face(normal);
        let rotation = Angle::atan2(notch.dot(v), notch.dot(u)).wrapped_360();
        Self {
            contact,
            normal,
            rotation,
            ..self
        }
    }

    /// The notch direction along the skin, before tilt and rock: `l = cos θ u + sin θ v`.
    #[must_use]
    pub fn notch_on_skin(&self) -> Direction<Patient> {
        let (u, v) = clock_face(self.normal);
        turned(u, v, self.rotation)
    }

    /// The rotation as hours on the clock face, 0 ≤ h < 12; twelve o'clock is 0.
    #[must_use]
    pub fn notch_clock_hours(&self) -> f64 {
        self.rotation.to_deg() / 30.0
    }

    /// The probe's axes: `l''`, `e''` and `d''` of [`Pose`].
    #[must_use]
    pub fn axes(&self) -> ProbeAxes {
        let (u, v) = clock_face(self.normal);
        let unrocked = unrocked_axes(u, v, -self.normal, self.rotation, self.tilt);
        ProbeAxes {
            lateral: turned(unrocked.lateral, -unrocked.depth, self.rock),
            elevation: unrocked.elevation,
            depth: turned(unrocked.depth, unrocked.lateral, self.rock),
        }
    }

    /// Centre of the footprint after the press, patient frame, mm: the contact moved by the press
    /// along −n. It is the origin of the probe and image frames.
    #[must_use]
    pub fn footprint_centre(&self) -> Point<Patient> {
        self.contact + -self.normal * self.press.get()
    }

    /// The probe frame in the patient frame.
    #[must_use]
    pub fn patient_from_probe(&self) -> Transform<Probe, Patient> {
        let axes = self.axes();
        Transform::from_axes(
            self.footprint_centre(),
            axes.lateral,
            axes.elevation,
            axes.depth,
        )
    }
}

impl ProbeAxes {
    /// The axes of a probe whose notch points along `notch` and whose beam runs along `beam`
    /// (patient frame, any length); where they are not perpendicular the beam wins.
    ///
    /// # Errors
    ///
    /// [`PoseError::BeamWithoutDirection`], [`PoseError::NotchWithoutDirection`] or
    /// [`PoseError::NotchAlongBeam`].
    pub fn from_notch_and_beam(
        notch: Vector<Patient>,
        beam: Vector<Patient>,
    ) -> Result<Self, PoseError> {
        let depth = beam.direction().ok_or(PoseError::BeamWithoutDirection {
            beam: beam.to_array(),
        })?;
        let notch = notch.direction().ok_or(PoseError::NotchWithoutDirection {
            notch: notch.to_array(),
        })?;
        let across = notch.to_vector() - depth * notch.dot(depth);
        let apart = Angle::atan2(across.norm(), notch.dot(depth));
        let along = PoseError::NotchAlongBeam {
            degrees: apart.to_deg(),
        };
        if across.norm() < NOTCH_CONE.to_rad() {
            return Err(along);
        }
        let lateral = across.direction().ok_or(along)?;
        let elevation = depth.cross(lateral).direction().ok_or(along)?;
        Ok(Self {
            lateral,
            elevation,
            depth,
        })
    }
}

/// `cos a x + sin a y`: the unit vector `angle` away from `x` toward the perpendicular `y`.
fn turned(x: Direction<Patient>, y: Direction<Patient>, angle: Angle) -> Direction<Patient> {
    Direction::wrap(x.inner * angle.cos() + y.inner * angle.sin())
}

/// The axes after rotation and tilt: `l`, `e'`, `d'` of [`Pose`].
fn unrocked_axes(
    u: Direction<Patient>,
    v: Direction<Patient>,
    depth: Direction<Patient>,
    rotation: Angle,
    tilt: Angle,
) -> ProbeAxes {
    let lateral = turned(u, v, rotation);
    // e = d × l = cos θ v − sin θ u, since d × u = v.
    let elevation = turned(v, -u, rotation);
    ProbeAxes {
        lateral,
        elevation: turned(elevation, -depth, tilt),
        depth: turned(depth, elevation, tilt),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pose(normal: [f64; 3], rotation: f64, tilt: f64, rock: f64) -> Pose {
        Pose::new(
            Point::ORIGIN,
            Direction::from_array(normal).expect("a normal"),
            Angle::deg(rotation),
            Angle::deg(tilt),
            Angle::deg(rock),
            Mm::ZERO,
        )
        .expect("a pose")
    }

    fn check_near(got: Direction<Patient>, wanted: [f64; 3]) {
        let wanted = Vector::from_array(wanted);
        assert!(
            (got.to_vector() - wanted).norm() < 1e-12,
            "{got:?} is not {wanted:?}"
        );
    }

    const FRONT: [f64; 3] = [0.0, -1.0, 0.0];

    #[test]
    fn rotation_is_clockwise_from_outside() {
        for (degrees, notch) in [
            (0.0, [0.0, 0.0, 1.0]),
            (90.0, [1.0, 0.0, 0.0]),
            (180.0, [0.0, 0.0, -1.0]),
            (270.0, [-1.0, 0.0, 0.0]),
        ] {
            let axes = pose(FRONT, degrees, 0.0, 0.0).axes();
            check_near(axes.lateral, notch);
            check_near(axes.depth, [0.0, 1.0, 0.0]);
        }
    }

    #[test]
    fn tilt_and_rock_have_the_documented_sense() {
        let (s, c) = (Angle::deg(20.0).sin(), Angle::deg(20.0).cos());
        // Notch to the patient's right: positive tilt to the head.
        check_near(pose(FRONT, 270.0, 20.0, 0.0).axes().depth, [0.0, c, s]);
        // Notch to the head: positive tilt to the patient's left.
        check_near(pose(FRONT, 0.0, 20.0, 0.0).axes().depth, [s, c, 0.0]);
        // Positive rock toward the notch.
        check_near(pose(FRONT, 0.0, 0.0, 20.0).axes().depth, [0.0, c, s]);
        check_near(pose(FRONT, 0.0, 0.0, 20.0).axes().lateral, [0.0, -s, c]);
    }

    #[test]
    fn axes_are_right_handed() {
        let axes = pose([0.2, -0.9, 0.4], 33.0, -25.0, 14.0).axes();
        let elevation = axes.depth.cross(axes.lateral);
        assert!(
            (elevation - axes.elevation.to_vector()).norm() < 1e-12,
            "e = d × l"
        );
    }

    #[test]
    fn the_singular_tilt_is_still_reached() {
        for (notch, beam) in [
            ([0.0, 0.0, 1.0], [1.0, 0.0, 0.0]),
            ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]),
        ] {
            let found = Pose::from_notch_and_beam(
                Point::ORIGIN,
                -Direction::y_axis(),
                Vector::from_array(notch),
                Vector::from_array(beam),
            )
            .expect("a pose");
            assert!(
                (found.tilt().to_deg().abs() - 90.0).abs() < 1e-9,
                "the plane is tangent"
            );
            assert!(
                found.rock() == Angle::ZERO,
                "rock is free there and given as zero"
            );
            check_near(found.axes().lateral, notch);
            check_near(found.axes().depth, beam);
        }
    }

    fn check_error(result: Result<Pose, PoseError>, words: &str) {
        let message = result.expect_err("no pose").to_string();
        assert!(
            message.contains(words),
            "{message:?} should contain {words:?}"
        );
    }

    #[test]
    fn bad_values_are_named() {
        let front = -Direction::y_axis();
        let (zero, none) = (Angle::ZERO, Mm::ZERO);
        let far = Point::new(f64::INFINITY, 0.0, 0.0);
        check_error(
            Pose::new(far, front, zero, zero, zero, none),
            "contact point (inf, 0, 0) mm",
        );
        let bad = Angle::rad(f64::NAN);
        check_error(
            Pose::new(Point::ORIGIN, front, bad, zero, zero, none),
            "rotation of NaN°",
        );
        let wide = Angle::deg(91.0);
        check_error(
            Pose::new(Point::ORIGIN, front, zero, wide, zero, none),
            "tilt of 91° is outside",
        );
        let out = Mm::new(-2.0);
        check_error(
            Pose::new(Point::ORIGIN, front, zero, zero, zero, out),
            "press of -2 mm",
        );
        let read = |notch: [f64; 3], beam: [f64; 3]| {
            let (notch, beam) = (Vector::from_array(notch), Vector::from_array(beam));
            Pose::from_notch_and_beam(Point::ORIGIN, front, notch, beam)
        };
        check_error(
            read([0.0, 0.0, 1.0], [0.0; 3]),
            "beam (0, 0, 0) has no direction",
        );
        check_error(
            read([0.0; 3], [0.0, 1.0, 0.0]),
            "notch (0, 0, 0) has no direction",
        );
        check_error(read([0.0, -2.0, 0.0], [0.0, 1.0, 0.0]), "180° apart");
    }

    #[test]
    fn press_moves_the_footprint_inward() {
        let pressed = pose(FRONT, 0.0, 0.0, 0.0).with_press(Mm::new(7.0));
        assert_eq!(pressed.footprint_centre(), Point::new(0.0, 7.0, 0.0));
        assert_eq!(pressed.with_press(Mm::new(-3.0)).press(), Mm::ZERO);
    }
}
