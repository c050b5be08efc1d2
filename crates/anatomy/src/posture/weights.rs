//! How much of each joint's turn a place of the body takes: smooth shares from 0 (trunk) to 1 (beyond the joint).
//!
//! A joint turns the body about its centre by its angle times the share. Such a turn keeps distances from the axis, so
//! a limb neither thins nor twists into a string at a bend; how much volume is gained or lost depends on how fast the
//! share changes along the turn only, which the lengths below are chosen for.

use geometry::{Angle, Patient, Point, Vector};

use super::joints::Joints;

/// Length over which the shoulder takes up its turn, across the armpit's gap, mm at woman size.
const SHOULDER_MM: f64 = 180.0;
/// Length over which the elbow bends, mm.
const ELBOW_MM: f64 = 105.0;
/// Length over which the hip bends: at the level of its centre, and how much longer per mm to the front, where flesh
/// is pressed together.
const HIP_MM: f64 = 190.0;
const HIP_TO_THE_FRONT: f64 = 0.35;
/// How far below the hip's centre the middle of its bend lies, mm.
const HIP_BELOW_MM: f64 = 0.0;
/// Slope of the fold of the groin: its outer end is higher.
const GROIN_SIN: f64 = 0.6;
/// Width beside the mid-line over which the legs' turns set in, mm.
const GROIN_MM: f64 = 50.0;
/// On the mid-line the turns set in from this far below the hip's centre over that length, mm, up to that share: the
/// bottom of the trunk stays, the flesh between the thighs goes with them.
const BETWEEN_BELOW_MM: f64 = 35.0;
const BETWEEN_MM: f64 = 95.0;
const BETWEEN_SHARE: f64 = 0.7;
/// Length over which the knee bends, mm.
const KNEE_MM: f64 = 150.0;
/// Length over which the ankle bends, mm.
const ANKLE_MM: f64 = 64.0;

/// Shares of the turns of one side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Shares {
    pub(crate) shoulder: f64,
    pub(crate) elbow: f64,
    pub(crate) hand: f64,
    pub(crate) hip: f64,
    pub(crate) knee: f64,
    pub(crate) ankle: f64,
}

impl Shares {
    /// What moves as the bone of the upper arm does, and so on down the limb.
    pub(crate) const UPPER_ARM: Self = Self {
        shoulder: 1.0,
        ..Self::NONE
    };
    pub(crate) const FOREARM: Self = Self {
        elbow: 1.0,
        ..Self::UPPER_ARM
    };
    pub(crate) const THIGH: Self = Self {
        hip: 1.0,
        ..Self::NONE
    };
    pub(crate) const LOWER_LEG: Self = Self {
        knee: 1.0,
        ..Self::THIGH
    };
    pub(crate) const NONE: Self = Self {
        shoulder: 0.0,
        elbow: 0.0,
        hand: 0.0,
        hip: 0.0,
        knee: 0.0,
        ankle: 0.0,
    };

    /// Whether nothing turns here.
    pub(crate) fn none(&self) -> bool {
        self.shoulder <= 0.0 && self.hip <= 0.0
    }

    /// The shares that the left side's turns have in a place.
    pub(crate) fn at(joints: &Joints, point: Point<Patient>) -> Self {
        let mm = joints.scale;
        let mut shares = Self {
            shoulder: shoulder(joints, point),
            ..Self::NONE
        };
        if shares.shoulder > 0.0 {
            let along_arm = (point - joints.elbow).dot(joints.arm_axis().to_vector());
            let forearm = (joints.wrist - joints.elbow).norm();
            shares.elbow = shares.shoulder * ramp(along_arm / (ELBOW_MM * mm) + 0.5);
            shares.hand = shares.shoulder * ramp((along_arm / forearm - 0.25) / 0.75);
        }
        let leg = 1.0 - shares.shoulder;
        if leg > 0.0 {
            let below = |joint: Point<Patient>| joint.z() - point.z();
            shares.hip = leg * hip(joints, point);
            shares.knee = leg * ramp(below(joints.knee) / (KNEE_MM * mm) + 0.5);
            shares.ankle = leg * ramp(below(joints.ankle) / (ANKLE_MM * mm) + 0.5);
        }
        shares
    }
}

/// 0 before 0, 1 after 1, even slope between, rounded off over a fifth at both ends.
fn ramp(t: f64) -> f64 {
    const ROUND: f64 = 0.2;
    let t = t.clamp(0.0, 1.0);
    let end = |t: f64| t * t / (2.0 * ROUND * (1.0 - ROUND));
    if t < ROUND {
        end(t)
    } else if t > 1.0 - ROUND {
        1.0 - end(1.0 - t)
    } else {
        (t - ROUND / 2.0) / (1.0 - ROUND)
    }
}

/// A length that is 0 above the top of a gap between two parts, goes on as the distance to the side there, and grows
/// down along both walls of the gap, positive on the outer one: so that what grows with it is spread over the skin on
/// both sides of the top and jumps in the empty gap only.
///
/// `aside` and `above` are the distances from the gap's top, mm.
fn past_gap(aside: f64, above: f64) -> f64 {
    let from_top = (aside * aside + above * above).sqrt();
    let half = Angle::atan2(aside, above) / 2.0;
    let cos = half.cos();
    // cos φ = 2 cos² φ/2 − 1. The second factor lowers the walls' share without a slope across them.
    from_top * 2.0 * half.sin() * (0.6 + 0.4 * cos * cos)
}

fn shoulder(joints: &Joints, point: Point<Patient>) -> f64 {
    // The fold leans a little to the mid-line on its way up, as the gap below it leans out.
    const LEAN: f64 = 0.12;
    let mm = joints.scale;
    let from = point - joints.armpit;
    let upright = (1.0 - LEAN * LEAN).sqrt();
    let aside = from.x() * upright + from.z() * LEAN;
    let above = from.z() * upright - from.x() * LEAN;
    let past = past_gap(aside, above);
    // Breast and shoulder blade, in front of and behind the arm, belong to the trunk, and so do neck and head.
    let beside = beyond(
        (point.y() - joints.shoulder.y()).abs(),
        40.0 * mm,
        20.0 * mm,
    );
    let higher = beyond(point.z() - joints.shoulder.z(), 40.0 * mm, 20.0 * mm);
    ramp((past - 0.5 * beside - higher) / (SHOULDER_MM * mm) + 0.5)
}

/// By how much `length` exceeds `limit`, setting in softly over `soft`.
fn beyond(length: f64, limit: f64, soft: f64) -> f64 {
    let t = ((length - limit) / soft + 0.5).max(0.0);
    if t < 1.0 {
        t * t * soft / 2.0
    } else {
        length - limit
    }
}

fn hip(joints: &Joints, point: Point<Patient>) -> f64 {
    let mm = joints.scale;
    let from = point - joints.hip;
    let down = Vector::new(GROIN_SIN, 0.0, -(1.0 - GROIN_SIN * GROIN_SIN).sqrt());
    let forward = (-from.y()).clamp(-110.0 * mm, 110.0 * mm);
    let length = HIP_MM * mm + HIP_TO_THE_FRONT * forward;
    let share = ramp((from.dot(down) - HIP_BELOW_MM * mm) / length + 0.5);
    if share <= 0.0 {
        return 0.0;
    }
    let below = joints.hip.z() - point.z();
    let between = BETWEEN_SHARE * ramp((below / mm - BETWEEN_BELOW_MM) / BETWEEN_MM);
    let beside = ramp(past_midline(joints, point).abs());
    share * (between + (1.0 - between) * beside)
}

/// How far a place is on one side of the mid-line, −1 … 1 and beyond: between these both legs pull at it.
fn past_midline(joints: &Joints, point: Point<Patient>) -> f64 {
    past_gap(point.x(), point.z() - joints.crotch.z()) / (GROIN_MM * joints.scale)
}

/// The say of the left side at a place, 0 … 1; the rest is the right side's.
pub(crate) fn left_say(joints: &Joints, point: Point<Patient>) -> f64 {
    ramp(0.5 + past_midline(joints, point) / 2.0)
}
