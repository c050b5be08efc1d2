//! Moves made by the program: short animations, driven by time as an argument.

use anatomy::SkinSurface;
use geometry::{Angle, Direction, Patient, Pose, Vector};

use crate::scene::Camera;

/// How long a move of the probe takes, ms: long enough to follow, short enough not to wait for.
pub(crate) const POSE_MS: f64 = 450.0;

/// How long a move of the viewer takes, ms.
pub(crate) const CAMERA_MS: f64 = 500.0;

/// The probe on its way.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PoseMotion {
    from: Pose,
    to: Pose,
    elapsed_ms: f64,
}

impl PoseMotion {
    pub(crate) fn new(from: Pose, to: Pose) -> Self {
        Self {
            from,
            to,
            elapsed_ms: 0.0,
        }
    }

    pub(crate) fn end(&self) -> &Pose {
        &self.to
    }

    /// Where the probe is `ms` later; true when it has arrived. It then is exactly at its end.
    pub(crate) fn step(&mut self, ms: f64, skin: Option<&SkinSurface>) -> (Pose, bool) {
        self.elapsed_ms += ms;
        if self.elapsed_ms >= POSE_MS {
            return (self.to, true);
        }
        let share = eased(self.elapsed_ms / POSE_MS);
        (between(&self.from, &self.to, share, skin), false)
    }
}

/// The viewer on the way.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CameraMotion {
    from: Camera,
    to: Camera,
    elapsed_ms: f64,
}

impl CameraMotion {
    pub(crate) fn new(from: Camera, to: Camera) -> Self {
        Self {
            from,
            to,
            elapsed_ms: 0.0,
        }
    }

    pub(crate) fn end(&self) -> &Camera {
        &self.to
    }

    pub(crate) fn step(&mut self, ms: f64) -> (Camera, bool) {
        self.elapsed_ms += ms;
        if self.elapsed_ms >= CAMERA_MS {
            return (self.to, true);
        }
        let share = eased(self.elapsed_ms / CAMERA_MS);
        (self.from.toward(&self.to, share), false)
    }
}

/// Slow at both ends: 3t² − 2t³.
fn eased(share: f64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    share * share * (3.0 - 2.0 * share)
}

/// A pose between two: the contact travels over the skin; rotation, tilt and rock turn the short way.
///
/// Each part is interpolated by itself, so that a turn of the notch is seen as a turn and not as a tumble.
fn between(from: &Pose, to: &Pose, share: f64, skin: Option<&SkinSurface>) -> Pose {
    let straight = from.contact() + (to.contact() - from.contact()) * share;
    let still = from.contact() == to.contact();
    let (contact, normal) = match skin {
        Some(skin) if !still => {
            let point = skin.nearest(straight);
            (point.point, skin.smoothed_normal(&point))
        }
        _ => (straight, mixed(from.normal(), to.normal(), share)),
    };
    // Both ends are carried to the place in between, because the clock's twelve jumps where the skin faces
    // head or feet, and a turn measured across that jump would spin the probe.
    let carried = |pose: &Pose| {
        if still {
            pose.rotation()
        } else {
            pose.slid_to(contact, normal).rotation()
        }
    };
    let (a, b) = (carried(from), carried(to));
    let rotation = a + (b - a).wrapped_180() * share;
    let mix = |a: Angle, b: Angle| a + (b - a) * share;
    let press = from.press() + (to.press() - from.press()) * share;
    let (tilt, rock) = (
        mix(from.tilt(), to.tilt()),
        from.rock() + (to.rock() - from.rock()).wrapped_180() * share,
    );
    Pose::new(contact, normal, rotation, tilt, rock, press).unwrap_or(*to)
}

fn mixed(from: Direction<Patient>, to: Direction<Patient>, share: f64) -> Direction<Patient> {
    let sum: Vector<Patient> = from * (1.0 - share) + to * share;
    sum.direction().unwrap_or(to)
}
