//! How arms and legs are held in each position of the body: the table.
//!
//! Written for a limb of the patient's left; the right one is its mirror image. Directions are (out from the
//! mid-line, toward the back, toward the head) of the trunk, of any length. All figures are common practice, no source:
//! positions as they are asked for before a scan, held so that the trunk is free and the body rests on its bed.

use geometry::BodyPosition;

/// How one arm is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ArmStance {
    /// From shoulder to elbow.
    pub(crate) upper_arm: [f64; 3],
    /// To which side of the upper arm the forearm folds.
    pub(crate) folds_toward: [f64; 3],
    /// Bend of the elbow, degrees; 0 is straight.
    pub(crate) elbow_deg: f64,
    /// Turn of the hand about the forearm, degrees: from the palm at the thigh, positive turns the thumb to the
    /// mid-line and the palm to the back.
    pub(crate) hand_deg: f64,
}

/// How one leg is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LegStance {
    /// From hip to knee.
    pub(crate) thigh: [f64; 3],
    /// To which side of the thigh the lower leg folds.
    pub(crate) folds_toward: [f64; 3],
    /// Bend of the knee, degrees; 0 is straight.
    pub(crate) knee_deg: f64,
    /// Bend of the ankle, degrees: positive points the toes.
    pub(crate) toes_deg: f64,
}

/// How arm and leg of one side are held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SideStance {
    pub(crate) arm: ArmStance,
    pub(crate) leg: LegStance,
}

/// Straight down, the knee ready to fold back.
const STRAIGHT_LEG: LegStance = LegStance {
    thigh: [0.0, 0.07, -1.0],
    folds_toward: [0.0, 1.0, 0.0],
    knee_deg: 0.0,
    toes_deg: 18.0,
};

/// Beside the trunk, resting on the bed.
const SUPINE: SideStance = SideStance {
    arm: ArmStance {
        upper_arm: [0.33, 0.13, -0.94],
        folds_toward: [0.12, -1.0, 0.0],
        elbow_deg: 4.0,
        hand_deg: 60.0,
    },
    leg: LegStance {
        thigh: [0.03, 0.07, -1.0],
        ..STRAIGHT_LEG
    },
};

/// Face down, the arms beside the trunk on the bed, the feet over the end of it.
const PRONE: SideStance = SideStance {
    arm: ArmStance {
        upper_arm: [0.34, -0.17, -0.93],
        folds_toward: [-0.2, -1.0, 0.0],
        elbow_deg: 2.0,
        hand_deg: 50.0,
    },
    leg: LegStance {
        thigh: [0.02, -0.05, -1.0],
        toes_deg: 42.0,
        ..STRAIGHT_LEG
    },
};

/// The side that lies on the bed: arm forward on the bed, knee a little bent.
const LOWER_SIDE: SideStance = SideStance {
    arm: ArmStance {
        upper_arm: [0.0, -0.91, -0.40],
        folds_toward: [0.05, 0.0, 1.0],
        elbow_deg: 100.0,
        hand_deg: 0.0,
    },
    leg: LegStance {
        thigh: [0.04, -0.34, -0.94],
        folds_toward: [0.0, 1.0, -0.3],
        knee_deg: 38.0,
        toes_deg: 15.0,
    },
};

/// The side away from the bed: arm forward with the hand before the face, knee bent more, in front of the other.
const UPPER_SIDE: SideStance = SideStance {
    arm: ArmStance {
        upper_arm: [0.10, -0.96, -0.12],
        folds_toward: [-1.0, -0.05, 0.35],
        elbow_deg: 68.0,
        hand_deg: 0.0,
    },
    leg: LegStance {
        thigh: [-0.20, -0.60, -0.78],
        folds_toward: [-0.05, 1.0, -0.6],
        knee_deg: 66.0,
        toes_deg: 15.0,
    },
};

/// Upright on the edge of the bed, the hands on the thighs.
const SEATED: SideStance = SideStance {
    arm: ArmStance {
        upper_arm: [0.20, -0.16, -0.96],
        folds_toward: [-0.36, -1.0, 0.0],
        elbow_deg: 66.0,
        hand_deg: 70.0,
    },
    leg: LegStance {
        thigh: [0.10, -1.0, -0.13],
        folds_toward: [0.0, 0.0, -1.0],
        knee_deg: 82.0,
        toes_deg: 4.0,
    },
};

/// On the back, thighs up and apart, lower legs level on supports.
const LITHOTOMY: SideStance = SideStance {
    arm: SUPINE.arm,
    leg: LegStance {
        thigh: [0.44, -0.80, -0.40],
        folds_toward: [0.10, 0.1, -1.0],
        knee_deg: 72.0,
        toes_deg: 5.0,
    },
};

/// How the left and the right side are held.
pub(crate) fn stance(position: BodyPosition) -> [SideStance; 2] {
    match position {
        BodyPosition::Supine => [SUPINE; 2],
        BodyPosition::Prone => [PRONE; 2],
        BodyPosition::LeftSideDown => [LOWER_SIDE, UPPER_SIDE],
        BodyPosition::RightSideDown => [UPPER_SIDE, LOWER_SIDE],
        BodyPosition::Seated => [SEATED; 2],
        BodyPosition::Lithotomy => [LITHOTOMY; 2],
    }
}
