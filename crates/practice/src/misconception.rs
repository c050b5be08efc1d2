//! Wrong ideas as data: what somebody who holds one would answer, reckoned from the geometry of the question.
//!
//! The list follows what the trade sees again and again (common practice, no source); the geometry of each follows
//! from the conventions of `geometry`. A wrong answer carries a misconception's name only when it is exactly what the
//! misconception predicts for this question, and the prediction is not right.

use anatomy::AxisView;
use geometry::{Angle, BodyPlane, ImageSide, MarkSide, ObliqueKind, PatientSide, SideName};
use picture::TopShape;

use crate::compose::{other, tilt_side};
use crate::mark;
use crate::question::{Answer, Asked, Choice, Eye, Fault, Move, PlaneWord, Question, View};

/// A wrong idea.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Misconception {
    /// The side on which the picture's mark is shown makes no difference.
    MarkIgnored,
    /// Sitting at the patient's left exchanges the picture's sides.
    SeatSwapsPicture,
    /// From behind, the sides are as they are from the front.
    FrontRuleFromBehind,
    /// The top of the picture is the front, wherever the probe stands.
    FrontAtTop,
    /// The viewer's right is the patient's right.
    ViewerForPatient,
    /// A transverse picture is seen from the head.
    SeenFromHead,
    /// The notch side of the probe is shown at the side away from the mark.
    NotchFarSide,
    /// Every plane along the body is sagittal.
    LongIsSagittal,
    /// The notch alone names the plane: to the head sagittal, else transverse.
    NotchNamesPlane,
    /// The plane is named by how it runs to the organ: along it sagittal, across it transverse.
    OrganAxisForPlane,
    /// The organ is shown as the body plane says: sagittal and coronal along it, transverse across it.
    PlaneForOrganAxis,
    /// Tilt is called rock, and rock tilt.
    TiltForRock,
    /// Rotating is called tilting.
    TiltForTurn,
    /// Clockwise is meant as seen from inside the body.
    TurnSeenFromInside,
    /// Every picture that widens with depth is a sector from a point.
    WideIsSector,
}

impl Misconception {
    /// All, the more particular ones first: of several that fit, the first is the one to talk about.
    pub const ALL: [Self; 15] = [
        Self::MarkIgnored,
        Self::SeatSwapsPicture,
        Self::FrontRuleFromBehind,
        Self::FrontAtTop,
        Self::ViewerForPatient,
        Self::SeenFromHead,
        Self::NotchFarSide,
        Self::LongIsSagittal,
        Self::NotchNamesPlane,
        Self::OrganAxisForPlane,
        Self::PlaneForOrganAxis,
        Self::TiltForRock,
        Self::TiltForTurn,
        Self::TurnSeenFromInside,
        Self::WideIsSector,
    ];

    /// Stable name.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::MarkIgnored => "mark_ignored",
            Self::SeatSwapsPicture => "seat_swaps_picture",
            Self::FrontRuleFromBehind => "front_rule_from_behind",
            Self::FrontAtTop => "front_at_top",
            Self::ViewerForPatient => "viewer_for_patient",
            Self::SeenFromHead => "seen_from_head",
            Self::NotchFarSide => "notch_far_side",
            Self::LongIsSagittal => "long_is_sagittal",
            Self::NotchNamesPlane => "notch_names_plane",
            Self::OrganAxisForPlane => "organ_axis_for_plane",
            Self::PlaneForOrganAxis => "plane_for_organ_axis",
            Self::TiltForRock => "tilt_for_rock",
            Self::TiltForTurn => "tilt_for_turn",
            Self::TurnSeenFromInside => "turn_seen_from_inside",
            Self::WideIsSector => "wide_is_sector",
        }
    }

    /// The misconception with this name.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.key() == key)
    }

    /// What somebody who holds it chooses in a part of `question` (number `place`); `None` where it says nothing about
    /// that part. The prediction may be right.
    #[must_use]
    pub fn predict(self, question: &Question, place: usize) -> Option<Choice> {
        let part = question.parts().get(place)?;
        match (part.asked, part.right) {
            (Asked::Plane, _) => self.plane(question).map(Choice::Plane),
            (Asked::ImageSide(side), Choice::Side(truth)) => self
                .image_side(&question.view, side, truth)
                .map(Choice::Side),
            (Asked::Notch, Choice::Side(truth)) => {
                self.notch(&question.view, truth).map(Choice::Side)
            }
            (Asked::Move, Choice::Move(truth)) => {
                self.movement(&question.view, truth).map(Choice::Move)
            }
            (Asked::Axis, _) => self.axis(&question.view).map(Choice::Axis),
            (Asked::Shape, Choice::Shape(truth)) => self.shape(truth).map(Choice::Shape),
            (Asked::Fault, _) => self.fault(question).map(|(fault, _)| Choice::Fault(fault)),
            (Asked::Repair, _) => self.fault(question).map(|(_, repair)| repair),
            _ => None,
        }
    }

    /// The plane that its holder names.
    #[must_use]
    pub fn plane(self, question: &Question) -> Option<PlaneWord> {
        let view = &question.view;
        let sagittal = PlaneWord::Named(BodyPlane::Sagittal);
        let transverse = PlaneWord::Named(BodyPlane::Transverse);
        match self {
            Self::LongIsSagittal => {
                let along = view.naming().angles.transverse >= Angle::deg(45.0);
                along.then_some(sagittal)
            }
            Self::NotchNamesPlane => {
                let notch = SideName::of(view.placement.pose.axes().lateral).dominant();
                Some(match notch {
                    PatientSide::Head | PatientSide::Foot => sagittal,
                    _ => transverse,
                })
            }
            Self::OrganAxisForPlane => match question.subject.as_ref()?.axis?.0 {
                AxisView::Long => Some(sagittal),
                AxisView::Short => Some(transverse),
                AxisView::Oblique => None,
            },
            _ => None,
        }
    }

    fn image_side(self, view: &View, side: ImageSide, truth: PatientSide) -> Option<PatientSide> {
        let across = matches!(side, ImageSide::Left | ImageSide::Right);
        let sideways = matches!(truth, PatientSide::Left | PatientSide::Right);
        let mirrored = truth.opposite();
        match self {
            Self::MarkIgnored => {
                let other_mark = view.placement.convention.mark == MarkSide::Right;
                (across && other_mark).then_some(mirrored)
            }
            Self::SeatSwapsPicture => (across && view.eye == Eye::LeftSeat).then_some(mirrored),
            Self::FrontRuleFromBehind => {
                let behind = view.approach() == PatientSide::Posterior;
                (behind && across && sideways).then_some(match side {
                    ImageSide::Left => PatientSide::Right,
                    _ => PatientSide::Left,
                })
            }
            Self::FrontAtTop => match side {
                ImageSide::Top => Some(PatientSide::Anterior),
                ImageSide::Bottom => Some(PatientSide::Posterior),
                ImageSide::Left | ImageSide::Right => None,
            },
            Self::ViewerForPatient => (across && sideways).then_some(match side {
                ImageSide::Left => PatientSide::Left,
                _ => PatientSide::Right,
            }),
            Self::SeenFromHead => {
                let plane = view.plane();
                let over = view.naming().angles.transverse < Angle::deg(45.0);
                // The normal points away from the viewer: toward the head for who looks from the feet.
                let from_feet = plane.normal().z() > 0.0;
                (across && sideways && over && from_feet).then_some(mirrored)
            }
            Self::NotchFarSide => across.then_some(mirrored),
            _ => None,
        }
    }

    fn notch(self, view: &View, truth: PatientSide) -> Option<PatientSide> {
        let mark = view.placement.convention.mark;
        match self {
            Self::MarkIgnored => (mark == MarkSide::Right).then_some(truth.opposite()),
            Self::NotchFarSide => Some(truth.opposite()),
            Self::ViewerForPatient => {
                let sideways = matches!(truth, PatientSide::Left | PatientSide::Right);
                sideways.then_some(match mark {
                    MarkSide::Left => PatientSide::Left,
                    MarkSide::Right => PatientSide::Right,
                })
            }
            _ => None,
        }
    }

    fn movement(self, view: &View, truth: Move) -> Option<Move> {
        let positive = || tilt_side(&view.placement.pose).ok();
        let tilt = |forward: bool| {
            let side = positive()?;
            Some(Move::Tilt(if forward { side } else { side.opposite() }))
        };
        match (self, truth) {
            (Self::TiltForRock, Move::Tilt(side)) => Some(if positive()? == side {
                Move::RockToNotch
            } else {
                Move::RockFromNotch
            }),
            (Self::TiltForRock, Move::RockToNotch) | (Self::TiltForTurn, Move::TurnClockwise) => {
                tilt(true)
            }
            (Self::TiltForRock, Move::RockFromNotch) | (Self::TiltForTurn, Move::TurnCounter) => {
                tilt(false)
            }
            (Self::TurnSeenFromInside, Move::TurnClockwise | Move::TurnCounter) => {
                Some(truth.opposite())
            }
            _ => None,
        }
    }

    fn axis(self, view: &View) -> Option<AxisView> {
        if self != Self::PlaneForOrganAxis {
            return None;
        }
        Some(match PlaneWord::of(view.naming().name) {
            PlaneWord::Named(BodyPlane::Transverse)
            | PlaneWord::Oblique(Some(ObliqueKind::Transverse)) => AxisView::Short,
            _ => AxisView::Long,
        })
    }

    fn shape(self, truth: TopShape) -> Option<TopShape> {
        let widens = matches!(truth, TopShape::Curved | TopShape::TightCurve);
        (self == Self::WideIsSector && widens).then_some(TopShape::Point)
    }

    /// What its holder finds wrong with a picture and a body that disagree, and the repair.
    fn fault(self, question: &Question) -> Option<(Fault, Choice)> {
        let shown = question.disagreement.as_ref()?;
        let pose = &question.view.placement.pose;
        let notch = SideName::of(pose.axes().lateral).dominant();
        let turn = (Fault::NotchReversed, Choice::TurnNotch(notch.opposite()));
        match self {
            // The mark's side passes unseen, so the mirrored picture is laid to the notch.
            Self::MarkIgnored => (shown.fault == Fault::MarkOnOtherSide).then_some(turn),
            // Every right notch looks reversed.
            Self::NotchFarSide => (shown.fault != Fault::NotchReversed).then_some(turn),
            Self::FrontAtTop => {
                let top = question.view.sides().top.dominant();
                (top != PatientSide::Anterior).then_some((
                    Fault::DepthLetters,
                    Choice::WriteAtTop(PatientSide::Anterior),
                ))
            }
            Self::ViewerForPatient => {
                let side = shown.caption?;
                (shown.fault != Fault::BodySide)
                    .then_some((Fault::BodySide, Choice::WriteSide(other(side))))
            }
            _ => None,
        }
    }
}

/// What somebody who holds `one` answers where everything else they do is right; `None` where it makes no difference to
/// this question, or the question is not answered by choosing.
#[must_use]
pub fn answer_of(one: Misconception, question: &Question) -> Option<Answer> {
    let right = question.right_choices();
    if right.is_empty() {
        return None;
    }
    let chosen: Vec<Choice> = right
        .iter()
        .enumerate()
        .map(|(place, right)| one.predict(question, place).unwrap_or(*right))
        .collect();
    (chosen != right).then_some(Answer::Chosen(chosen))
}

/// The misconceptions that a wrong answer follows, the most particular first; none for a right answer.
#[must_use]
pub fn named(
    question: &Question,
    answer: &Answer,
    context: &crate::compose::Context<'_>,
) -> Vec<Misconception> {
    match answer {
        Answer::Chosen(chosen) => Misconception::ALL
            .into_iter()
            .filter(|one| {
                question.parts().iter().enumerate().any(|(place, part)| {
                    let given = chosen.get(place).copied();
                    given.is_some_and(|given| !mark::accepts(part.right, given))
                        && one.predict(question, place) == given
                })
            })
            .collect(),
        Answer::Placed(placement) => {
            let comparison = mark::compare(question, placement);
            let mut held = Vec::new();
            if comparison.wrong_half() {
                held.push(Misconception::ViewerForPatient);
            }
            if comparison.reversed {
                held.push(Misconception::NotchFarSide);
            }
            held
        }
        Answer::Written(line) => mark::written_claims(question, line, context)
            .map(|claims| in_writing(question, &claims))
            .unwrap_or_default(),
        Answer::Skipped => Vec::new(),
    }
}

fn in_writing(question: &Question, claims: &mark::Claims) -> Vec<Misconception> {
    Misconception::ALL
        .into_iter()
        .filter(|one| {
            let plane = claims
                .wrong_plane
                .is_some_and(|given| one.plane(question) == Some(given));
            plane || (*one == Misconception::ViewerForPatient && claims.other_side)
        })
        .collect()
}
