//! Arms and legs bent as the position of the body asks: for drawing only.
//!
//! Sections, names and sides belong to the unposed body, in the patient frame. A [`Posture`] bends the body as it is
//! shown: a smooth map from [`Patient`] to [`Posed`] that leaves the trunk alone and turns the limbs about shoulder,
//! elbow, hip, knee and ankle. What stands on the skin (probe, sheet, arrows) is carried along as one piece by
//! [`Posture::carry`]; a ray of sight meets the bent skin and is answered with the place on the unposed one by
//! [`PosedSkin::ray`].

mod joints;
mod refine;
mod skin;
mod stance;
mod surface;
mod turn;
mod weights;

use geometry::{Angle, BodyPosition, Direction, Patient, Point, Posed, Transform, Vector};

use crate::body::BodyFacts;
use crate::skin::SkinSurface;
use joints::Joints;
use stance::{SideStance, stance};
use turn::Turn;
use weights::{Shares, left_say};

pub use skin::PosedSkin;
pub use surface::PosedSurface;
use surface::single;

/// Step of the differences that the map's slope is read from, mm: far below the shortest bend, far above rounding.
const SLOPE_STEP_MM: f64 = 0.25;

/// How a body is bent in one position.
///
/// Total on finite input; the identity where nothing bends, and everywhere for a body without limbs.
#[derive(Debug, Clone, PartialEq)]
pub struct Posture {
    position: BodyPosition,
    limbs: Option<Limbs>,
}

/// The joints of one side as shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbPlaces {
    /// Centre of the shoulder.
    pub shoulder: Point<Posed>,
    /// Hinge of the elbow.
    pub elbow: Point<Posed>,
    /// Wrist.
    pub wrist: Point<Posed>,
    /// Centre about which the thigh turns.
    pub hip: Point<Posed>,
    /// Hinge of the knee.
    pub knee: Point<Posed>,
    /// Hinge of the ankle.
    pub ankle: Point<Posed>,
}

#[derive(Debug, Clone, PartialEq)]
struct Limbs {
    joints: Joints,
    /// Turns of the left side and of the right side, the latter as seen in a mirror at the mid-line.
    sides: [SideTurns; 2],
}

/// Turns of one side, in the order in which they are applied: the farthest from the trunk first.
#[derive(Debug, Clone, Copy, PartialEq)]
struct SideTurns {
    hand: Turn,
    elbow: Turn,
    shoulder: Turn,
    ankle: Turn,
    knee: Turn,
    hip: Turn,
}

impl Posture {
    /// The posture of a body in a position.
    #[must_use]
    pub fn new(facts: &BodyFacts, skin: &SkinSurface, position: BodyPosition) -> Self {
        let limbs = Joints::of(facts, skin).and_then(|joints| {
            let [left, right] = stance(position);
            Some(Limbs {
                sides: [side_turns(&joints, &left)?, side_turns(&joints, &right)?],
                joints,
            })
        });
        Self { position, limbs }
    }

    /// A posture that bends nothing.
    #[must_use]
    pub fn unposed(position: BodyPosition) -> Self {
        Self {
            position,
            limbs: None,
        }
    }

    /// The position it belongs to.
    #[must_use]
    pub fn position(&self) -> BodyPosition {
        self.position
    }

    /// Whether there are limbs to bend.
    #[must_use]
    pub fn bends(&self) -> bool {
        self.limbs.is_some()
    }

    /// The joints as shown, of the patient's left and right side; `None` for a body without limbs.
    #[must_use]
    pub fn limbs(&self) -> Option<[LimbPlaces; 2]> {
        let limbs = self.limbs.as_ref()?;
        Some([false, true].map(|mirrored| {
            let turns = &limbs.sides[usize::from(mirrored)];
            let shown = |joint: Point<Patient>, shares: Shares| {
                let pull = Pull {
                    turns,
                    shares,
                    mirrored,
                    say: 1.0,
                };
                let moved = pull.point(mirror_point(joint, mirrored));
                Point::from_array(moved.to_array())
            };
            let joints = &limbs.joints;
            LimbPlaces {
                shoulder: shown(joints.shoulder, Shares::default()),
                elbow: shown(joints.elbow, Shares::UPPER_ARM),
                wrist: shown(joints.wrist, Shares::FOREARM),
                hip: shown(joints.hip, Shares::default()),
                knee: shown(joints.knee, Shares::THIGH),
                ankle: shown(joints.ankle, Shares::LOWER_LEG),
            }
        }))
    }

    /// Where a place of the unposed body is shown.
    #[must_use]
    pub fn point(&self, point: Point<Patient>) -> Point<Posed> {
        let moved = self.local(point).map_or(point, |local| local.point(point));
        Point::from_array(moved.to_array())
    }

    /// Which way a surface through `point` that faces `normal` in the unposed body faces as shown.
    #[must_use]
    pub fn normal(&self, point: Point<Patient>, normal: Direction<Patient>) -> Direction<Posed> {
        let unchanged = Direction::from_array(normal.to_array());
        let turned = self.local(point).and_then(|_| {
            let slope = |axis: Direction<Patient>| {
                let step = axis * SLOPE_STEP_MM;
                self.point(point + step) - self.point(point - step)
            };
            let (x, y, z) = (
                slope(Direction::x_axis()),
                slope(Direction::y_axis()),
                slope(Direction::z_axis()),
            );
            // The cofactors of the slope turn area vectors.
            let area = y.cross(z) * normal.x() + z.cross(x) * normal.y() + x.cross(y) * normal.z();
            area.direction()
        });
        turned.or(unchanged).unwrap_or(-Direction::y_axis())
    }

    /// The motion that carries what is attached to the skin at `point`, where it faces `normal`: with the place, turned
    /// as the limb is turned there, and standing on the shown skin as it stood on the unposed one.
    #[must_use]
    pub fn carry(
        &self,
        point: Point<Patient>,
        normal: Direction<Patient>,
    ) -> Transform<Patient, Posed> {
        let place = self.point(point);
        let unturned = Transform::shifting(point, place);
        let Some(local) = self.local(point) else {
            return unturned;
        };
        let turned = |axis: Direction<Patient>| local.vector(axis.to_vector());
        // In a bend the skin leans over more or less than the limb turns; the rest of the way goes by the shortest turn.
        let facing = self.normal(point, normal).to_array();
        let straighten = turned(normal)
            .direction()
            .zip(Direction::from_array(facing))
            .and_then(|(is, wanted)| Turn::shortest(is, wanted));
        let axis = |axis: Direction<Patient>| {
            let turned = turned(axis);
            let stood = straighten.map_or(turned, |turn| turn.vector(turned, 1.0));
            Direction::from_array(stood.to_array())
        };
        axis(Direction::x_axis())
            .zip(axis(Direction::y_axis()))
            .and_then(|(x, y)| Transform::carrying(point, place, x, y))
            .unwrap_or(unturned)
    }

    fn local(&self, point: Point<Patient>) -> Option<Local<'_>> {
        let limbs = self.limbs.as_ref()?;
        if !point.is_finite() {
            return None;
        }
        let say = left_say(&limbs.joints, point);
        let pull = |mirrored: bool, say: f64| {
            if say <= 0.0 {
                return None;
            }
            let shares = Shares::at(&limbs.joints, mirror_point(point, mirrored));
            (!shares.none()).then_some(Pull {
                turns: &limbs.sides[usize::from(mirrored)],
                shares,
                mirrored,
                say,
            })
        };
        let local = Local {
            pulls: [pull(false, say), pull(true, 1.0 - say)],
        };
        local.pulls.iter().any(Option::is_some).then_some(local)
    }
}

/// What the two sides do at one place.
#[derive(Debug, Clone, Copy)]
struct Local<'a> {
    pulls: [Option<Pull<'a>>; 2],
}

impl Local<'_> {
    fn point(&self, point: Point<Patient>) -> Point<Patient> {
        let pulls = self.pulls.iter().flatten();
        pulls.fold(point, |at, pull| {
            at + (pull.point(point) - point) * pull.say
        })
    }

    fn vector(&self, vector: Vector<Patient>) -> Vector<Patient> {
        let pulls = self.pulls.iter().flatten();
        pulls.fold(vector, |v, pull| {
            v + (pull.vector(vector) - vector) * pull.say
        })
    }
}

/// What one side does at one place.
#[derive(Debug, Clone, Copy)]
struct Pull<'a> {
    turns: &'a SideTurns,
    shares: Shares,
    mirrored: bool,
    /// How much of the motion counts.
    say: f64,
}

impl Pull<'_> {
    fn chain(&self) -> [(&Turn, f64); 6] {
        let (turns, shares) = (self.turns, &self.shares);
        [
            (&turns.hand, shares.hand),
            (&turns.elbow, shares.elbow),
            (&turns.shoulder, shares.shoulder),
            (&turns.ankle, shares.ankle),
            (&turns.knee, shares.knee),
            (&turns.hip, shares.hip),
        ]
    }

    fn point(&self, point: Point<Patient>) -> Point<Patient> {
        let moved = self
            .chain()
            .iter()
            .filter(|(_, share)| *share > 0.0)
            .fold(mirror_point(point, self.mirrored), |at, (turn, share)| {
                turn.point(at, *share)
            });
        mirror_point(moved, self.mirrored)
    }

    fn vector(&self, vector: Vector<Patient>) -> Vector<Patient> {
        let turned = self
            .chain()
            .iter()
            .filter(|(_, share)| *share > 0.0)
            .fold(mirror_vector(vector, self.mirrored), |v, (turn, share)| {
                turn.vector(v, *share)
            });
        mirror_vector(turned, self.mirrored)
    }
}

/// Left and right exchanged, if `mirrored`. A turn mirrored, taken and mirrored back is a turn.
fn mirror_point(point: Point<Patient>, mirrored: bool) -> Point<Patient> {
    if mirrored {
        Point::new(-point.x(), point.y(), point.z())
    } else {
        point
    }
}

fn mirror_vector(vector: Vector<Patient>, mirrored: bool) -> Vector<Patient> {
    if mirrored {
        Vector::new(-vector.x(), vector.y(), vector.z())
    } else {
        vector
    }
}

fn side_turns(joints: &Joints, stance: &SideStance) -> Option<SideTurns> {
    let direction = |of: [f64; 3]| Direction::<Patient>::from_array(of);
    let (arm, leg) = (&stance.arm, &stance.leg);
    let (front, back) = (-Direction::y_axis(), Direction::y_axis());
    let (arm_axis, thigh_axis) = (joints.arm_axis(), joints.thigh_axis());
    let hinge = |axis: Direction<Patient>, toward: Direction<Patient>, centre, degrees| {
        Some(Turn {
            centre,
            axis: axis.cross(toward).direction()?,
            angle: Angle::deg(degrees),
        })
    };
    Some(SideTurns {
        hand: Turn {
            centre: joints.elbow,
            axis: arm_axis,
            angle: Angle::deg(arm.hand_deg),
        },
        elbow: hinge(arm_axis, front, joints.elbow, arm.elbow_deg)?,
        shoulder: Turn::between(
            joints.shoulder,
            [arm_axis, front],
            [direction(arm.upper_arm)?, direction(arm.folds_toward)?],
        )?,
        ankle: Turn {
            centre: joints.ankle,
            axis: Direction::x_axis(),
            angle: Angle::deg(leg.toes_deg),
        },
        knee: hinge(thigh_axis, back, joints.knee, leg.knee_deg)?,
        hip: Turn::between(
            joints.hip,
            [thigh_axis, back],
            [direction(leg.thigh)?, direction(leg.folds_toward)?],
        )?,
    })
}
