//! What there is to learn: kinds of question, how hard they are, and the skills that a record counts.

use geometry::{ApexSide, BodyPlane, Convention, MarkSide, PatientSide, PlaneName, Pose, SideName};

/// A kind of question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Body with probe, no picture: which plane?
    PlaneFromProbe,
    /// Picture with its side letters, no body: which plane?
    PlaneFromPicture,
    /// Body and bare picture: which direction is this side of the picture?
    Side,
    /// Picture with its side letters and mark: where does the notch point?
    NotchFromPicture,
    /// A wanted view in words and as a picture: put the probe there.
    PlaceProbe,
    /// Two pictures, before and after: which movement, which way?
    NextMove,
    /// A frozen picture and the body: type the annotation.
    Annotate,
    /// Picture and body that disagree: what is wrong, and put it right.
    FindTheFault,
    /// A bare picture: which transducer shape made it?
    TransducerFromPicture,
    /// Picture with one structure lit: long axis, short axis or oblique to it, and which body plane?
    Axis,
}

impl Kind {
    /// Every kind, in the order in which they are best met.
    pub const ALL: [Self; 10] = [
        Self::PlaneFromProbe,
        Self::PlaneFromPicture,
        Self::Side,
        Self::NotchFromPicture,
        Self::TransducerFromPicture,
        Self::NextMove,
        Self::Axis,
        Self::PlaceProbe,
        Self::Annotate,
        Self::FindTheFault,
    ];

    /// Stable name, as files and the command line write it.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::PlaneFromProbe => "plane_from_probe",
            Self::PlaneFromPicture => "plane_from_picture",
            Self::Side => "side",
            Self::NotchFromPicture => "notch_from_picture",
            Self::PlaceProbe => "place_probe",
            Self::NextMove => "next_move",
            Self::Annotate => "annotate",
            Self::FindTheFault => "find_the_fault",
            Self::TransducerFromPicture => "transducer_from_picture",
            Self::Axis => "axis",
        }
    }

    /// The kind with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.key() == key)
    }
}

/// How hard a question is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Standard windows as they are.
    Easy,
    /// Turned, tilted and reversed poses.
    Medium,
    /// Other positions, approaches and conventions, oblique planes, unusual viewpoints.
    Hard,
}

impl Level {
    /// All three, the easiest first.
    pub const ALL: [Self; 3] = [Self::Easy, Self::Medium, Self::Hard];

    /// Stable name.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::Medium => "medium",
            Self::Hard => "hard",
        }
    }

    /// The level with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|level| level.key() == key)
    }
}

/// A plane as skills count it: all oblique ones are one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PlaneClass {
    /// Sagittal.
    Sagittal,
    /// Coronal.
    Coronal,
    /// Transverse.
    Transverse,
    /// Any oblique plane.
    Oblique,
}

impl PlaneClass {
    /// All four.
    pub const ALL: [Self; 4] = [
        Self::Sagittal,
        Self::Coronal,
        Self::Transverse,
        Self::Oblique,
    ];

    /// The class of a name.
    #[must_use]
    pub const fn of(name: PlaneName) -> Self {
        match name {
            PlaneName::Named(BodyPlane::Sagittal) => Self::Sagittal,
            PlaneName::Named(BodyPlane::Coronal) => Self::Coronal,
            PlaneName::Named(BodyPlane::Transverse) => Self::Transverse,
            PlaneName::Oblique(_) => Self::Oblique,
        }
    }

    /// Stable name.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Sagittal => "sagittal",
            Self::Coronal => "coronal",
            Self::Transverse => "transverse",
            Self::Oblique => "oblique",
        }
    }

    /// The class with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|class| class.key() == key)
    }
}

/// How a picture is laid out, as skills count it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layout {
    /// Mark at image left, apex at the top.
    General,
    /// Mark at image right (echocardiography), apex at the top.
    MarkRight,
    /// Apex at the bottom (some endocavity practice), whichever side the mark is.
    ApexBottom,
}

impl Layout {
    /// All three.
    pub const ALL: [Self; 3] = [Self::General, Self::MarkRight, Self::ApexBottom];

    /// The layout of a convention.
    #[must_use]
    pub const fn of(convention: Convention) -> Self {
        match (convention.apex, convention.mark) {
            (ApexSide::Bottom, _) => Self::ApexBottom,
            (ApexSide::Top, MarkSide::Right) => Self::MarkRight,
            (ApexSide::Top, MarkSide::Left) => Self::General,
        }
    }

    /// Stable name.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::General => "general",
            Self::MarkRight => "mark_right",
            Self::ApexBottom => "apex_bottom",
        }
    }

    /// The layout with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|layout| layout.key() == key)
    }
}

/// The stable name of a patient side: "right", "left", "front", "back", "head", "feet".
#[must_use]
pub const fn side_key(side: PatientSide) -> &'static str {
    match side {
        PatientSide::Right => "right",
        PatientSide::Left => "left",
        PatientSide::Anterior => "front",
        PatientSide::Posterior => "back",
        PatientSide::Head => "head",
        PatientSide::Foot => "feet",
    }
}

/// The patient side with this stable name.
#[must_use]
pub fn side_from_key(key: &str) -> Option<PatientSide> {
    PatientSide::ALL
        .into_iter()
        .find(|side| side_key(*side) == key)
}

/// The side of the patient that the probe stands on: the side that the skin faces most.
#[must_use]
pub fn approach(pose: &Pose) -> PatientSide {
    SideName::of(pose.normal()).dominant()
}

/// Something that can be known or not: one kind of question about one plane, from one side, in one layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Skill {
    /// The kind of question.
    pub kind: Kind,
    /// The plane it is about.
    pub plane: PlaneClass,
    /// The side of the patient that the probe stands on.
    pub approach: PatientSide,
    /// How the picture is laid out.
    pub layout: Layout,
}

impl Skill {
    /// Stable name: `side.transverse.front.general`.
    #[must_use]
    pub fn key(&self) -> String {
        format!(
            "{}.{}.{}.{}",
            self.kind.key(),
            self.plane.key(),
            side_key(self.approach),
            self.layout.key()
        )
    }

    /// The skill with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        let mut parts = key.split('.');
        let skill = Self {
            kind: Kind::from_key(parts.next()?)?,
            plane: PlaneClass::from_key(parts.next()?)?,
            approach: side_from_key(parts.next()?)?,
            layout: Layout::from_key(parts.next()?)?,
        };
        parts.next().is_none().then_some(skill)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_skill_is_read_back_from_its_name() {
        for kind in Kind::ALL {
            for plane in PlaneClass::ALL {
                for approach in PatientSide::ALL {
                    for layout in Layout::ALL {
                        let skill = Skill {
                            kind,
                            plane,
                            approach,
                            layout,
                        };
                        assert_eq!(Skill::from_key(&skill.key()), Some(skill), "{skill:?}");
                    }
                }
            }
        }
        for bad in [
            "",
            "side",
            "side.transverse.front.general.x",
            "side.x.front.general",
        ] {
            assert_eq!(Skill::from_key(bad), None, "{bad:?}");
        }
    }
}
