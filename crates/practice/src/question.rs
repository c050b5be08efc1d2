//! A question as data: what is shown, what is asked, what may be answered, and what is right.

use anatomy::{AxisView, BodySide, StructureId};
use geometry::Patient;
use geometry::{
    Angle, BodyPlane, BodyPosition, ImagePlane, ImageSide, MarkSide, ObliqueKind, PatientSide,
    Placement, PlaneName, PlaneNaming, Point, Sides, name_plane,
};
use picture::{Field, TopShape, Transducer};

use crate::skill::{Kind, Layout, Level, PlaneClass, Skill, approach, side_from_key, side_key};

/// From where the body is looked at. It changes no answer: names belong to the patient.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Eye {
    /// From the usual seat at the patient's right.
    RightSeat,
    /// From a seat at the patient's left.
    LeftSeat,
    /// From the feet.
    Feet,
    /// From the head.
    Head,
}

impl Eye {
    /// All four.
    pub const ALL: [Self; 4] = [Self::RightSeat, Self::LeftSeat, Self::Feet, Self::Head];

    /// Stable name.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::RightSeat => "right_seat",
            Self::LeftSeat => "left_seat",
            Self::Feet => "feet",
            Self::Head => "head",
        }
    }

    /// The place with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|eye| eye.key() == key)
    }
}

/// A probe on a body with everything that its picture depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// Identifier of the body.
    pub body: String,
    /// The named window it was made from, if any.
    pub window: Option<String>,
    /// Pose, layout of the picture, displayed depth.
    pub placement: Placement,
    /// The transducer.
    pub transducer: &'static Transducer,
    /// How the body lies.
    pub position: BodyPosition,
    /// From where the body is looked at.
    pub eye: Eye,
    /// The tolerance of plane names.
    pub tolerance: Angle,
}

impl View {
    /// The image plane.
    #[must_use]
    pub fn plane(&self) -> ImagePlane {
        self.placement.plane()
    }

    /// What the plane is called.
    #[must_use]
    pub fn naming(&self) -> PlaneNaming {
        name_plane(self.plane().normal(), self.tolerance)
    }

    /// What the four sides of the picture are called.
    #[must_use]
    pub fn sides(&self) -> Sides {
        Sides::of(&self.plane())
    }

    /// The field of view.
    #[must_use]
    pub fn field(&self) -> Field {
        Field::new(
            self.transducer,
            self.placement.depth,
            self.placement.convention.apex,
        )
    }

    /// The side of the patient that the probe stands on.
    #[must_use]
    pub fn approach(&self) -> PatientSide {
        approach(&self.placement.pose)
    }

    /// The skill that a question of this kind about this view exercises.
    #[must_use]
    pub fn skill(&self, kind: Kind) -> Skill {
        Skill {
            kind,
            plane: PlaneClass::of(self.naming().name),
            approach: self.approach(),
            layout: Layout::of(self.placement.convention),
        }
    }
}

/// A plane as it is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PlaneWord {
    /// One of the three.
    Named(BodyPlane),
    /// "Longitudinal", which the trade also says for sagittal.
    Longitudinal,
    /// Oblique; the kind where it was asked for or said.
    Oblique(Option<ObliqueKind>),
}

impl PlaneWord {
    /// The word for a plane's name; the kind of an oblique plane is said.
    #[must_use]
    pub const fn of(name: PlaneName) -> Self {
        match name {
            PlaneName::Named(plane) => Self::Named(plane),
            PlaneName::Oblique(oblique) => Self::Oblique(Some(oblique.kind)),
        }
    }
}

/// A movement of the probe with its way.
///
/// The five movements: AIUM technical bulletin on transducer manipulation, J Ultrasound Med 1999; 18: 169–175. The
/// words for the ways are this project's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Move {
    /// Slide along the skin toward this side.
    Slide(PatientSide),
    /// Tilt, so that the beam swings toward this side.
    Tilt(PatientSide),
    /// Rock, so that the beam swings toward the notch.
    RockToNotch,
    /// Rock, so that the beam swings away from the notch.
    RockFromNotch,
    /// Rotate clockwise, as seen from outside the skin.
    TurnClockwise,
    /// Rotate counter-clockwise, as seen from outside the skin.
    TurnCounter,
    /// Press in.
    Press,
    /// Let go of the pressure.
    Release,
}

impl Move {
    /// Whether two are the same movement, whichever way.
    #[must_use]
    pub const fn same_movement(self, other: Self) -> bool {
        matches!(
            (self, other),
            (Self::Slide(_), Self::Slide(_))
                | (Self::Tilt(_), Self::Tilt(_))
                | (
                    Self::RockToNotch | Self::RockFromNotch,
                    Self::RockToNotch | Self::RockFromNotch
                )
                | (
                    Self::TurnClockwise | Self::TurnCounter,
                    Self::TurnClockwise | Self::TurnCounter
                )
                | (Self::Press | Self::Release, Self::Press | Self::Release)
        )
    }

    /// The same movement the other way.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Slide(side) => Self::Slide(side.opposite()),
            Self::Tilt(side) => Self::Tilt(side.opposite()),
            Self::RockToNotch => Self::RockFromNotch,
            Self::RockFromNotch => Self::RockToNotch,
            Self::TurnClockwise => Self::TurnCounter,
            Self::TurnCounter => Self::TurnClockwise,
            Self::Press => Self::Release,
            Self::Release => Self::Press,
        }
    }
}

/// What can be wrong when picture and body disagree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// The notch points the other way than the picture needs.
    NotchReversed,
    /// The picture is laid out with the mark on the side that the department does not use.
    MarkOnOtherSide,
    /// The letters at the top and the bottom of the picture are exchanged.
    DepthLetters,
    /// The caption names the other side of the body.
    BodySide,
}

impl Fault {
    /// All four.
    pub const ALL: [Self; 4] = [
        Self::NotchReversed,
        Self::MarkOnOtherSide,
        Self::DepthLetters,
        Self::BodySide,
    ];
}

/// One thing to choose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Choice {
    /// A plane.
    Plane(PlaneWord),
    /// A direction: a side of the patient.
    Side(PatientSide),
    /// A movement and its way.
    Move(Move),
    /// What is wrong.
    Fault(Fault),
    /// Put it right: turn the notch toward this side.
    TurnNotch(PatientSide),
    /// Put it right: show the mark at this side of the image.
    ShowMark(MarkSide),
    /// Put it right: write this side at the top of the image.
    WriteAtTop(PatientSide),
    /// Put it right: write this side of the body in the caption.
    WriteSide(BodySide),
    /// The shape of a picture's top.
    Shape(TopShape),
    /// How the plane runs to the structure's axis.
    Axis(AxisView),
}

/// Words of [`Choice::key`], and the choices they stand for, where nothing follows the word.
const PLAIN: [(Choice, &str); 29] = [
    (
        Choice::Plane(PlaneWord::Named(BodyPlane::Sagittal)),
        "sagittal",
    ),
    (
        Choice::Plane(PlaneWord::Named(BodyPlane::Coronal)),
        "coronal",
    ),
    (
        Choice::Plane(PlaneWord::Named(BodyPlane::Transverse)),
        "transverse",
    ),
    (Choice::Plane(PlaneWord::Longitudinal), "longitudinal"),
    (Choice::Plane(PlaneWord::Oblique(None)), "oblique"),
    (
        Choice::Plane(PlaneWord::Oblique(Some(ObliqueKind::Longitudinal))),
        "longitudinal_oblique",
    ),
    (
        Choice::Plane(PlaneWord::Oblique(Some(ObliqueKind::Transverse))),
        "transverse_oblique",
    ),
    (Choice::Move(Move::RockToNotch), "rock_to_notch"),
    (Choice::Move(Move::RockFromNotch), "rock_from_notch"),
    (Choice::Move(Move::TurnClockwise), "rotate_clockwise"),
    (Choice::Move(Move::TurnCounter), "rotate_counterclockwise"),
    (Choice::Move(Move::Press), "press"),
    (Choice::Move(Move::Release), "release"),
    (Choice::Fault(Fault::NotchReversed), "notch_reversed"),
    (Choice::Fault(Fault::MarkOnOtherSide), "mark_on_other_side"),
    (Choice::Fault(Fault::DepthLetters), "depth_letters"),
    (Choice::Fault(Fault::BodySide), "body_side"),
    (Choice::ShowMark(MarkSide::Left), "mark_at_image_left"),
    (Choice::ShowMark(MarkSide::Right), "mark_at_image_right"),
    (Choice::WriteSide(BodySide::Right), "caption_right"),
    (Choice::WriteSide(BodySide::Left), "caption_left"),
    (Choice::WriteSide(BodySide::Mid), "caption_mid"),
    (Choice::Shape(TopShape::Curved), "curved"),
    (Choice::Shape(TopShape::TightCurve), "tightly_curved"),
    (Choice::Shape(TopShape::Flat), "flat"),
    (Choice::Shape(TopShape::Point), "point"),
    (Choice::Axis(AxisView::Long), "long_axis"),
    (Choice::Axis(AxisView::Short), "short_axis"),
    (Choice::Axis(AxisView::Oblique), "oblique_to_axis"),
];

impl Choice {
    /// Stable name: `sagittal`, `toward_left`, `rotate_clockwise`, `tilt_head`, `notch_reversed`, …
    #[must_use]
    pub fn key(self) -> String {
        let sided = |word: &str, side: PatientSide| format!("{word}_{}", side_key(side));
        match self {
            Self::Side(side) => sided("toward", side),
            Self::Move(Move::Slide(side)) => sided("slide", side),
            Self::Move(Move::Tilt(side)) => sided("tilt", side),
            Self::TurnNotch(side) => sided("notch", side),
            Self::WriteAtTop(side) => sided("top", side),
            plain => PLAIN
                .iter()
                .find(|(choice, _)| *choice == plain)
                .map_or_else(String::new, |(_, key)| (*key).to_owned()),
        }
    }

    /// The choice with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        let plain = PLAIN.iter().find(|(_, name)| *name == key);
        plain.map(|(choice, _)| *choice).or_else(|| {
            let (word, side) = key.rsplit_once('_')?;
            let side = side_from_key(side)?;
            match word {
                "toward" => Some(Self::Side(side)),
                "slide" => Some(Self::Move(Move::Slide(side))),
                "tilt" => Some(Self::Move(Move::Tilt(side))),
                "notch" => Some(Self::TurnNotch(side)),
                "top" => Some(Self::WriteAtTop(side)),
                _ => None,
            }
        })
    }
}

/// What a part of a question asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Asked {
    /// The plane of the body.
    Plane,
    /// The direction of this side of the picture.
    ImageSide(ImageSide),
    /// Where the notch points.
    Notch,
    /// The movement and its way.
    Move,
    /// What is wrong.
    Fault,
    /// How to put it right.
    Repair,
    /// The shape of the transducer.
    Shape,
    /// How the plane runs to the lit structure's axis.
    Axis,
}

/// One choice to make.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What is asked.
    pub asked: Asked,
    /// What may be chosen, in the order in which it is shown; the right one is among them.
    pub options: Vec<Choice>,
    /// The right one.
    pub right: Choice,
    /// Its share of the marks; the shares of a question add up to 1.
    pub worth: f64,
}

/// How a question is answered.
#[derive(Debug, Clone, PartialEq)]
pub enum Task {
    /// By choosing, part by part.
    Choose(Vec<Part>),
    /// By putting the probe where the question's view is, starting from here.
    Place {
        /// Where the probe is at first.
        start: Placement,
    },
    /// By typing.
    Write {
        /// The side that has to be written; `None` where the structure is not one of a pair.
        side: Option<BodySide>,
    },
}

/// The structure that a question is about.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// Its identifier.
    pub structure: StructureId,
    /// Its name for people.
    pub label: String,
    /// The side of the body it belongs to.
    pub side: BodySide,
    /// How the plane runs to its axis, with the angle between axis and plane.
    pub axis: Option<(AxisView, Angle)>,
    /// The point that the beam goes for, patient mm.
    pub aim: Point<Patient>,
}

/// What disagrees in a question about a fault; the question's view is the probe as the body shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Disagreement {
    /// What is wrong.
    pub fault: Fault,
    /// The placement whose picture is shown.
    pub picture: Placement,
    /// The side of the image at which the department shows the mark.
    pub department: MarkSide,
    /// The side of the body that the caption says; `None` for a caption without a side.
    pub caption: Option<BodySide>,
    /// Whether the letters at top and bottom are exchanged.
    pub depth_letters_exchanged: bool,
}

/// What of a view is shown while the question is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a part of the screen that is there or not"
)]
pub struct Display {
    /// The body with the probe.
    pub body: bool,
    /// The picture.
    pub picture: bool,
    /// The mark beside the picture.
    pub mark: bool,
    /// The letters at the picture's sides.
    pub letters: bool,
    /// The names of structures in the picture.
    pub names: bool,
    /// Whether one structure, the subject, is lit.
    pub lit: bool,
}

/// A question.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Its kind.
    pub kind: Kind,
    /// How hard it was meant to be.
    pub level: Level,
    /// The view that is shown; for [`Kind::PlaceProbe`] the wanted one, for [`Kind::NextMove`] the one before.
    pub view: View,
    /// For [`Kind::NextMove`] the view after the movement.
    pub after: Option<View>,
    /// The structure it is about, if it is about one.
    pub subject: Option<Subject>,
    /// For [`Kind::FindTheFault`] what disagrees.
    pub disagreement: Option<Disagreement>,
    /// How it is answered.
    pub task: Task,
}

impl Question {
    /// The skill it exercises.
    #[must_use]
    pub fn skill(&self) -> Skill {
        self.view.skill(self.kind)
    }

    /// What is shown while it is open.
    #[must_use]
    pub const fn display(&self) -> Display {
        let all = Display {
            body: true,
            picture: true,
            mark: true,
            letters: true,
            names: false,
            lit: false,
        };
        match self.kind {
            Kind::PlaneFromProbe => Display {
                picture: false,
                ..all
            },
            Kind::PlaneFromPicture | Kind::NotchFromPicture => Display { body: false, ..all },
            Kind::Side => Display {
                letters: false,
                ..all
            },
            Kind::TransducerFromPicture => Display {
                body: false,
                mark: false,
                letters: false,
                ..all
            },
            // The place of the probe helps a beginner to read two bare pictures.
            Kind::NextMove => Display {
                body: matches!(self.level, Level::Easy),
                ..all
            },
            Kind::PlaceProbe | Kind::FindTheFault => all,
            Kind::Annotate => Display {
                letters: false,
                lit: true,
                ..all
            },
            Kind::Axis => Display {
                body: false,
                lit: true,
                ..all
            },
        }
    }

    /// The parts to choose from; none for a question that is answered otherwise.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        match &self.task {
            Task::Choose(parts) => parts,
            Task::Place { .. } | Task::Write { .. } => &[],
        }
    }

    /// The right answer of a question that is answered by choosing.
    #[must_use]
    pub fn right_choices(&self) -> Vec<Choice> {
        self.parts().iter().map(|part| part.right).collect()
    }

    /// In how many ways it can be answered by blind choosing; 1 for one that is answered otherwise, which cannot be
    /// guessed.
    #[must_use]
    pub fn ways(&self) -> u32 {
        self.parts()
            .iter()
            .map(|part| u32::try_from(part.options.len()).unwrap_or(u32::MAX))
            .fold(1, u32::saturating_mul)
    }
}

/// What a learner answered.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// One choice for each part, in their order.
    Chosen(Vec<Choice>),
    /// Where the probe was put.
    Placed(Placement),
    /// What was typed.
    Written(String),
    /// Nothing.
    Skipped,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_choice_is_read_back_from_its_name() {
        let sided = PatientSide::ALL.into_iter().flat_map(|side| {
            [
                Choice::Side(side),
                Choice::Move(Move::Slide(side)),
                Choice::Move(Move::Tilt(side)),
                Choice::TurnNotch(side),
                Choice::WriteAtTop(side),
            ]
        });
        for choice in PLAIN.iter().map(|(choice, _)| *choice).chain(sided) {
            let key = choice.key();
            assert!(!key.is_empty(), "{choice:?} has a name");
            assert_eq!(Choice::from_key(&key), Some(choice), "{key}");
        }
        assert_eq!(Choice::from_key("toward_x"), None);
        assert_eq!(Choice::from_key(""), None);
    }

    #[test]
    fn a_movement_taken_back_twice_is_itself() {
        for choice in PLAIN.iter().map(|(choice, _)| *choice) {
            if let Choice::Move(one) = choice {
                assert_eq!(one.opposite().opposite(), one, "{one:?}");
                assert!(one.same_movement(one.opposite()), "{one:?}");
            }
        }
        assert!(
            !Move::Tilt(PatientSide::Head).same_movement(Move::RockToNotch),
            "tilt is not rock"
        );
    }
}
