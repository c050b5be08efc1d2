//! Where on the body a point of the skin is, as data and in plain words.
//!
//! The borders are our own, drawn between the body's landmarks so that they scale with it; regional anatomy names the
//! same regions without fixing such borders (common practice, no source). The words are
//! in [`PlaceWords`].

mod words;

pub use words::PlaceWords;

use std::collections::BTreeMap;

use geometry::{Direction, Patient, PatientSide, Point};

use crate::axis::{CentreLine, Foot};
use crate::structure::{BodySide, Structure};

/// A region of the skin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Area {
    /// Head without the parts below.
    Head,
    /// Soft gap behind the forehead of a newborn.
    AnteriorFontanelle,
    /// Soft gap at the back of a newborn's head.
    PosteriorFontanelle,
    /// Behind the ear.
    BehindEar,
    /// Neck.
    Neck,
    /// Shoulder and the slope from the neck to it.
    Shoulder,
    /// Upper arm.
    UpperArm,
    /// Elbow.
    Elbow,
    /// Forearm.
    Forearm,
    /// Wrist and hand.
    Hand,
    /// Chest above the lower end of the breastbone.
    Chest,
    /// Lower ribs at the side.
    LowerChest,
    /// Belly from the ribs to above the navel.
    UpperAbdomen,
    /// Belly around the navel.
    MidAbdomen,
    /// Belly below the navel.
    LowerAbdomen,
    /// Side between ribs and hip bone.
    Flank,
    /// Back down to the lowest ribs.
    UpperBack,
    /// Back below the ribs.
    LowerBack,
    /// Skin over the pubic bones.
    PubicRegion,
    /// Fold between belly and thigh.
    Groin,
    /// Side of the pelvis.
    Hip,
    /// Buttock.
    Buttock,
    /// Between the thighs.
    Perineum,
    /// Upper third of the thigh.
    UpperThigh,
    /// Middle third of the thigh.
    MidThigh,
    /// Lower third of the thigh.
    LowerThigh,
    /// Knee.
    Knee,
    /// Leg below the knee.
    LowerLeg,
    /// Ankle and foot.
    Foot,
    /// A body without the landmarks that would tell.
    Unknown,
}

/// How far a point lies from the mid-line.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub enum Midline {
    /// Within [`ON_MIDLINE_MM`] of it.
    On,
    /// So many mm to the patient's left.
    Left(f64),
    /// So many mm to the patient's right.
    Right(f64),
}

/// Up to this distance in mm a place counts as on the mid-line (half of the trade's parasagittal limit, see
/// [`geometry::MID_SAGITTAL_HALF_WIDTH`]; common practice, no source).
pub const ON_MIDLINE_MM: f64 = 2.5;

/// A place on the skin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkinPlace {
    /// Region.
    pub area: Area,
    /// The half of the body it lies on; [`BodySide::Mid`] on the mid-line.
    pub half: BodySide,
    /// The way the skin faces, most of all.
    pub facing: PatientSide,
    /// Distance from the mid-line, where that helps: on front and back of head, neck and trunk.
    pub midline: Option<Midline>,
}

/// The borders between the regions of one body.
#[derive(Debug, Clone, PartialEq)]
pub enum RegionMap {
    /// A body with the landmarks of a trunk.
    Trunk(Box<Trunk>),
    /// A newborn's head.
    Head(Head),
    /// Too few landmarks for either.
    Unknown,
}

/// Landmarks and limb bones that the regions of an adult body are drawn from, patient mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Trunk {
    c4: f64,
    c7: f64,
    jugular_notch: f64,
    sternal_angle: f64,
    xiphoid_tip: f64,
    xiphisternal: f64,
    t12: f64,
    l1: f64,
    l3: f64,
    l5: f64,
    iliac_crest: [f64; 3],
    asis: [f64; 3],
    symphysis: [f64; 3],
    hip: [f64; 3],
    knee: [f64; 3],
    humerus: [Option<CentreLine>; 2],
    forearm: [Option<CentreLine>; 2],
    /// Size of this body relative to the woman that the lengths below were read from.
    scale: f64,
}

/// Landmarks that the regions of a newborn's head are drawn from, patient mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    bregma: [f64; 3],
    lambda: [f64; 3],
    vertex: f64,
}

/// Height of C7 above L4 in the woman whose proportions set the plain lengths of this file, mm.
const WOMAN_C7_MM: f64 = 403.0;

impl RegionMap {
    /// The map of a body with these landmarks (patient mm by name) and structures (for the arm bones).
    #[must_use]
    pub fn new(landmarks: &BTreeMap<String, [f64; 3]>, structures: &[Structure]) -> Self {
        Self::trunk(landmarks, structures)
            .map(|trunk| Self::Trunk(Box::new(trunk)))
            .or_else(|| Self::head(landmarks).map(Self::Head))
            .unwrap_or(Self::Unknown)
    }

    fn trunk(landmarks: &BTreeMap<String, [f64; 3]>, structures: &[Structure]) -> Option<Trunk> {
        let at = |name: &str| landmarks.get(name).copied();
        let bones = |name: &str| {
            ["left_", "right_"].map(|side| {
                let bone = structures.iter().find(|structure| {
                    structure
                        .id
                        .as_str()
                        .strip_prefix(side)
                        .is_some_and(|rest| rest == name)
                });
                bone.and_then(|bone| bone.centre_line.clone())
            })
        };
        Some(Trunk {
            c4: at("C4")?[2],
            c7: at("C7")?[2],
            jugular_notch: at("jugular_notch")?[2],
            sternal_angle: at("sternal_angle")?[2],
            xiphoid_tip: at("xiphoid_tip")?[2],
            xiphisternal: at("xiphisternal_joint")?[2],
            t12: at("T12")?[2],
            l1: at("L1")?[2],
            l3: at("L3")?[2],
            l5: at("L5")?[2],
            iliac_crest: at("iliac_crest_top")?,
            asis: at("asis")?,
            symphysis: at("pubic_symphysis_top")?,
            hip: at("hip_centre")?,
            knee: at("knee_joint")?,
            humerus: bones("humerus"),
            forearm: bones("forearm_bones"),
            scale: (at("C7")?[2] - at("L4")?[2]) / WOMAN_C7_MM,
        })
    }

    fn head(landmarks: &BTreeMap<String, [f64; 3]>) -> Option<Head> {
        let at = |name: &str| landmarks.get(name).copied();
        Some(Head {
            bregma: at("bregma")?,
            lambda: at("lambda")?,
            vertex: at("vertex")?[2],
        })
    }

    /// The place of a point of the skin (patient mm) whose outward normal is `normal`. Total: every point has a place.
    #[must_use]
    pub fn place(&self, point: Point<Patient>, normal: Direction<Patient>) -> SkinPlace {
        let any = facing(normal);
        // The trunk has no top and no underside of its own: an overhang of it still belongs to front, back or side.
        let around = Direction::from_array([normal.x(), normal.y(), 0.0]).map_or(any, facing);
        let (area, facing) = match self {
            Self::Trunk(trunk) => {
                let area = trunk.area(point, normal, around);
                (area, if area.is_trunk() { around } else { any })
            }
            Self::Head(head) => (head.area(point, any), any),
            Self::Unknown => (Area::Unknown, any),
        };
        let midline = Midline::of(point.x());
        let half = match midline {
            Midline::On => BodySide::Mid,
            Midline::Left(_) => BodySide::Left,
            Midline::Right(_) => BodySide::Right,
        };
        let helps = (area.is_trunk() || area == Area::Head)
            && !matches!(
                area,
                Area::Flank | Area::Groin | Area::Hip | Area::Buttock | Area::Perineum
            )
            && !matches!(facing, PatientSide::Left | PatientSide::Right);
        SkinPlace {
            area,
            half,
            facing,
            midline: helps.then_some(midline),
        }
    }
}

impl Midline {
    /// The distance of a point with this x (patient mm) from the mid-line.
    #[must_use]
    pub fn of(x: f64) -> Self {
        if x > ON_MIDLINE_MM {
            Self::Left(x)
        } else if x < -ON_MIDLINE_MM {
            Self::Right(-x)
        } else {
            Self::On
        }
    }
}

impl Trunk {
    fn area(&self, point: Point<Patient>, normal: Direction<Patient>, facing: PatientSide) -> Area {
        let [x, y, z] = point.to_array();
        let (out, front) = (x.abs(), normal.y() < 0.0);
        if let Some(area) = self.arm(point, normal) {
            return area;
        }
        if z < self.hip[2]
            && let Some(area) = self.leg(out, z, normal, facing)
        {
            return area;
        }
        let side = matches!(facing, PatientSide::Left | PatientSide::Right);
        // The neck reaches higher at the back than under the chin; the chin lies before C4.
        let skull = if y < -20.0 * self.scale {
            self.c4 - 15.0 * self.scale
        } else {
            self.c4 + 30.0 * self.scale
        };
        let collar = if front { self.jugular_notch } else { self.c7 };
        if z > skull {
            return Area::Head;
        }
        if out > 60.0 * self.scale && z > self.jugular_notch {
            return Area::Shoulder;
        }
        if z > collar {
            return Area::Neck;
        }
        if self.groin(x, z) && front && !side {
            return Area::Groin;
        }
        if side {
            return if z > self.xiphisternal {
                Area::Chest
            } else if z > self.l1 {
                Area::LowerChest
            } else if z > self.iliac_crest[2] {
                Area::Flank
            } else {
                Area::Hip
            };
        }
        if !front {
            return if z > self.t12 {
                Area::UpperBack
            } else if z > self.l5 || (out < 30.0 * self.scale && z > 2.2 * self.l5) {
                Area::LowerBack
            } else {
                Area::Buttock
            };
        }
        // The rib margin falls from the lower end of the breastbone toward the lowest ribs at the side; the tip of the
        // breastbone hangs down between its two arms.
        let share = (out / self.iliac_crest[0]).min(1.0);
        let margin = if out < 12.0 * self.scale {
            self.xiphoid_tip
        } else {
            self.xiphisternal + share * (self.l1 - self.xiphisternal)
        };
        if z > margin {
            if z > self.xiphoid_tip {
                Area::Chest
            } else {
                Area::LowerChest
            }
        } else if z > self.l3 {
            Area::UpperAbdomen
        } else if z > self.l5 {
            Area::MidAbdomen
        } else if z > self.symphysis[2] + 15.0 * self.scale {
            Area::LowerAbdomen
        } else {
            Area::PubicRegion
        }
    }

    /// The part of the arm, if the point lies on one: near an arm bone, on skin that faces away from it (the trunk's
    /// skin beside the arm faces toward it).
    fn arm(&self, point: Point<Patient>, normal: Direction<Patient>) -> Option<Area> {
        let limb = usize::from(point.x() < 0.0);
        let near = |bone: &[Option<CentreLine>; 2], reach: f64| -> Option<Foot> {
            let foot = bone[limb].as_ref()?.nearest(point);
            let away = (point - foot.point).dot(normal.to_vector());
            (foot.distance < reach * self.scale && away > 0.3 * foot.distance).then_some(foot)
        };
        let forearm = near(&self.forearm, 60.0).or_else(|| self.hand(limb, point));
        let upper = near(&self.humerus, 80.0);
        match (upper, forearm) {
            (Some(upper), forearm)
                if forearm.is_none_or(|fore| upper.distance <= fore.distance) =>
            {
                Some(if upper.fraction < 0.12 {
                    Area::Shoulder
                } else if upper.fraction > 0.88 {
                    Area::Elbow
                } else {
                    Area::UpperArm
                })
            }
            (_, Some(fore)) => Some(if fore.fraction < 0.14 {
                Area::Elbow
            } else if fore.fraction >= 1.0 {
                Area::Hand
            } else {
                Area::Forearm
            }),
            (_, None) => None,
        }
    }

    /// The end of the forearm bones, if the point lies beyond it along their line, as the hand does.
    fn hand(&self, limb: usize, point: Point<Patient>) -> Option<Foot> {
        let foot = self.forearm[limb].as_ref()?.nearest(point);
        let beyond = point - foot.point;
        let along = beyond.dot(foot.tangent.to_vector());
        let across = (beyond - foot.tangent * along).norm();
        // The hand reaches about 200 mm beyond the bones of the forearm.
        (foot.fraction >= 1.0 && along < 230.0 * self.scale && across < 65.0 * self.scale)
            .then_some(foot)
    }

    /// The part of the leg for a point below the hip joint.
    fn leg(
        &self,
        out: f64,
        z: f64,
        normal: Direction<Patient>,
        facing: PatientSide,
    ) -> Option<Area> {
        let down = (self.hip[2] - z) / (self.hip[2] - self.knee[2]);
        if down > 1.88 {
            return Some(Area::Foot);
        }
        if down > 1.13 {
            return Some(Area::LowerLeg);
        }
        if down > 0.87 {
            return Some(Area::Knee);
        }
        if out < 25.0 * self.scale && down < 0.25 && normal.z() < -0.5 {
            return Some(Area::Perineum);
        }
        let fold = match facing {
            PatientSide::Posterior => 0.15,
            PatientSide::Left | PatientSide::Right => 0.08,
            PatientSide::Anterior | PatientSide::Head | PatientSide::Foot => {
                if self.groin(out, z) || (out < 20.0 * self.scale && down < 0.12) {
                    return None;
                }
                0.0
            }
        };
        if down < fold {
            return None;
        }
        Some(if down < 0.29 {
            Area::UpperThigh
        } else if down < 0.58 {
            Area::MidThigh
        } else {
            Area::LowerThigh
        })
    }

    /// In the band from 8 mm above to 32 mm below the line from the front spine of the hip bone to beside the top of
    /// the symphysis, seen from the front; not in the quarter next to the spine.
    fn groin(&self, x: f64, z: f64) -> bool {
        let (a, b) = (
            [self.asis[0], self.asis[2]],
            [20.0 * self.scale, self.symphysis[2]],
        );
        let (along, to) = ([b[0] - a[0], b[1] - a[1]], [x.abs() - a[0], z - a[1]]);
        let squared = along[0] * along[0] + along[1] * along[1];
        let t = (along[0] * to[0] + along[1] * to[1]) / squared;
        let below = (along[0] * to[1] - along[1] * to[0]) / squared.sqrt();
        (0.25..=1.05).contains(&t) && -8.0 * self.scale < below && below < 32.0 * self.scale
    }
}

impl Head {
    fn area(&self, point: Point<Patient>, facing: PatientSide) -> Area {
        let distance = |from: [f64; 3]| (point - Point::from_array(from)).norm();
        if distance(self.bregma) < 18.0 {
            return Area::AnteriorFontanelle;
        }
        if distance(self.lambda) < 12.0 {
            return Area::PosteriorFontanelle;
        }
        let sideways = matches!(
            facing,
            PatientSide::Left | PatientSide::Right | PatientSide::Foot
        );
        if point.z() < 0.3 * self.vertex && point.y() > 20.0 && point.x().abs() > 20.0 && sideways {
            return Area::BehindEar;
        }
        Area::Head
    }
}

/// The body side a normal points to most of all; ties in the order x, y, z.
fn facing(normal: Direction<Patient>) -> PatientSide {
    let (x, y, z) = (normal.x(), normal.y(), normal.z());
    if x.abs() >= y.abs() && x.abs() >= z.abs() {
        if x < 0.0 {
            PatientSide::Right
        } else {
            PatientSide::Left
        }
    } else if y.abs() >= z.abs() {
        if y < 0.0 {
            PatientSide::Anterior
        } else {
            PatientSide::Posterior
        }
    } else if z < 0.0 {
        PatientSide::Foot
    } else {
        PatientSide::Head
    }
}

impl Area {
    /// Neck and trunk, as against head and limbs.
    fn is_trunk(self) -> bool {
        matches!(
            self,
            Self::Neck
                | Self::Chest
                | Self::LowerChest
                | Self::UpperAbdomen
                | Self::MidAbdomen
                | Self::LowerAbdomen
                | Self::Flank
                | Self::UpperBack
                | Self::LowerBack
                | Self::PubicRegion
                | Self::Groin
                | Self::Hip
                | Self::Buttock
                | Self::Perineum
        )
    }
}
