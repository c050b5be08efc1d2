//! Where a body bends, found from its landmarks, its bones and its skin.

use geometry::{Direction, Patient, Point, Vector};

use crate::axis::LongAxis;
use crate::body::BodyFacts;
use crate::skin::SkinSurface;

/// Radius of the head of the upper arm's bone at woman size, mm (body description: 21): its centre lies so far inside
/// the end of the bone.
const HUMERAL_HEAD_MM: f64 = 21.0;
/// From the lower end of that bone to the elbow's hinge at woman size, mm (same source).
const ELBOW_MM: f64 = 14.0;
/// The forearm from hinge to wrist, as a share of the upper arm from centre to hinge (same source).
const FOREARM_SHARE: f64 = 0.79;
/// The knee's hinge lies in the thigh bone's condyles: this far above the joint line and behind the landmark, mm.
const CONDYLES_MM: [f64; 2] = [22.0, 5.0];
/// The ankle's hinge from the knee's joint line at woman size, mm: out, back, toward the head (body description).
const ANKLE_FROM_KNEE_MM: [f64; 3] = [-7.0, 2.0, -366.0];
/// The gap's top is taken to lie so far below the skin, mm: at the very top the two sides part.
const JUST_BELOW_MM: f64 = 6.0;
/// The thigh is turned about a point so far behind the hip's centre, mm at woman size: nearer to the middle of the flesh
/// that bends, which a turn about the bone's own centre would stretch more than it presses.
const HIP_BEHIND_MM: f64 = 6.0;
/// Step of the search for the armpit, mm.
const SEARCH_MM: f64 = 2.0;

/// The joints of the left side, patient mm; the right side is its mirror image.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Joints {
    pub(crate) shoulder: Point<Patient>,
    pub(crate) elbow: Point<Patient>,
    pub(crate) wrist: Point<Patient>,
    pub(crate) hip: Point<Patient>,
    pub(crate) knee: Point<Patient>,
    pub(crate) ankle: Point<Patient>,
    /// Top of the gap between arm and trunk.
    pub(crate) armpit: Point<Patient>,
    /// Top of the gap between the thighs, on the mid-line.
    pub(crate) crotch: Point<Patient>,
    /// Factor for lengths written at woman size.
    pub(crate) scale: f64,
}

impl Joints {
    /// The joints of a body; `None` for a body without arms and legs.
    pub(crate) fn of(facts: &BodyFacts, skin: &SkinSurface) -> Option<Self> {
        let scale = facts.offset_scale;
        let landmark = |name: &str| facts.landmarks.get(name).map(|&at| Point::from_array(at));
        let humerus = &facts.structures[facts.find("left_humerus")?.0];
        let Some(LongAxis::Principal { a, b } | LongAxis::Line { a, b }) = humerus.axis else {
            return None;
        };
        let (low, high) = if a.z() < b.z() { (a, b) } else { (b, a) };
        let down = (low - high).direction()?;
        let shoulder = high + down * (HUMERAL_HEAD_MM * scale);
        let elbow = low - down * (ELBOW_MM * scale);
        let wrist = elbow + (elbow - shoulder) * FOREARM_SHARE;
        let (hip, knee_line): (Point<Patient>, Point<Patient>) =
            (landmark("hip_centre")?, landmark("knee_joint")?);
        let [up, back] = CONDYLES_MM.map(|mm| mm * scale);
        Some(Self {
            shoulder,
            elbow,
            wrist,
            hip: hip + Vector::new(0.0, HIP_BEHIND_MM * scale, 0.0),
            knee: knee_line + Vector::new(0.0, back, up),
            ankle: knee_line + Vector::from_array(ANKLE_FROM_KNEE_MM) * scale,
            armpit: armpit(skin, shoulder, elbow)?,
            crotch: crotch(skin, hip)?,
            scale,
        })
    }

    /// From shoulder to elbow in the unposed body; the forearm goes on the same way.
    pub(crate) fn arm_axis(&self) -> Direction<Patient> {
        (self.elbow - self.shoulder)
            .direction()
            .unwrap_or(-Direction::z_axis())
    }

    /// From hip to knee in the unposed body.
    pub(crate) fn thigh_axis(&self) -> Direction<Patient> {
        (self.knee - self.hip)
            .direction()
            .unwrap_or(-Direction::z_axis())
    }
}

/// The highest place where someone going out from the mid-line, at the arm's depth, leaves the trunk and enters the arm.
fn armpit(
    skin: &SkinSurface,
    shoulder: Point<Patient>,
    elbow: Point<Patient>,
) -> Option<Point<Patient>> {
    let out = Direction::x_axis();
    let depth = shoulder.y();
    let mut level = shoulder.z();
    while level > elbow.z() {
        let leaves = skin
            .ray_from_inside(Point::new(0.0, depth, level), out)?
            .point;
        if let Some(enters) = skin.ray(leaves + out * 0.01, out) {
            let middle = (leaves.x() + enters.point.x()) / 2.0;
            return Some(Point::new(middle, depth, level - JUST_BELOW_MM));
        }
        level -= SEARCH_MM;
    }
    None
}

/// The lowest skin of the trunk on the mid-line, at the depth of the hips.
fn crotch(skin: &SkinSurface, hip: Point<Patient>) -> Option<Point<Patient>> {
    let down = -Direction::z_axis();
    let depths = [-30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0];
    let lowest = depths
        .iter()
        .filter_map(|back| skin.ray_from_inside(Point::new(0.0, hip.y() + back, hip.z()), down))
        .map(|at| at.point.z())
        .fold(f64::INFINITY, f64::min);
    lowest
        .is_finite()
        .then(|| Point::new(0.0, hip.y(), lowest - JUST_BELOW_MM))
}
