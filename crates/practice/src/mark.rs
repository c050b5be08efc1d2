//! Marks, part by part: each part has its own mark and its own finding; together they are 0 to 1.

use anatomy::BodySide;
use geometry::{
    Angle, BodyPlane, ObliqueKind, Placement, PoseComparison, SideName, name_plane,
    sagittal_offset, screen_threshold,
};
use picture::{BeamPoint, Field};

use crate::annotation::{
    self, Finding as WordFinding, Meaning, Part as WordPart, PlaneWord as Claimed, Shot, SideWord,
    TokenKind, Vocabulary, Why, read,
};
use crate::compose::{Context, seen};
use crate::question::{Answer, Asked, Choice, Part, PlaneWord, Question, Task};

/// What one hint costs of all the marks (setting of this project).
pub const HINT_COST: f64 = 0.25;

/// Marks from here on count as all of them: rounding, not a miss.
pub const FULL: f64 = 0.999;

/// How far beyond the tolerance a plane's mark falls from whole to nothing (setting of this project).
pub const PLANE_FADE: Angle = Angle::deg(25.0);

/// An aim point this close to the plane is met, mm (setting of this project: about half a large vessel).
pub const AIM_MET_MM: f64 = 10.0;

/// An aim point this far from the plane is missed, mm (setting of this project).
pub const AIM_MISSED_MM: f64 = 40.0;

/// What a part's mark is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Aspect {
    /// A part that was chosen.
    Chosen(Asked),
    /// The angle between the planes.
    PlaneAngle,
    /// Which way round the picture is.
    WayRound,
    /// How far the plane passes from the aim point.
    Aim,
    /// Whether the aim point is in the field of view.
    InField,
    /// The half of the body.
    BodyHalf,
    /// Whether the depth setting leaves the aim point in the middle third.
    Depth,
    /// The plane that was written.
    WrittenPlane,
    /// The side that was written.
    WrittenSide,
    /// The structure that was written.
    WrittenStructure,
}

/// What came out for a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// Right.
    Right,
    /// Right in part.
    Partly,
    /// Wrong.
    Wrong,
    /// The plane is right, but the picture is the other way round: reported apart, never as a plain miss.
    Reversed,
    /// Not answered, or not to be judged because another part is wrong.
    Missing,
}

/// The mark of one part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartMark {
    /// What it is for.
    pub aspect: Aspect,
    /// Its share of all marks.
    pub worth: f64,
    /// From 0 to 1.
    pub score: f64,
    /// What came out.
    pub finding: Finding,
}

/// The marks of an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Marked {
    /// Part by part.
    pub parts: Vec<PartMark>,
    /// How many hints were taken.
    pub hints: u32,
    /// All marks, 0 to 1, hints taken off.
    pub fraction: f64,
}

impl Marked {
    /// Whether every part is right, hints or not.
    #[must_use]
    pub fn is_right(&self) -> bool {
        self.parts.iter().all(|part| part.score >= FULL)
    }

    /// Whether the picture was the other way round.
    #[must_use]
    pub fn is_reversed(&self) -> bool {
        self.parts
            .iter()
            .any(|part| part.finding == Finding::Reversed)
    }
}

/// Marks `answer`, of which `hints` hints are taken off.
#[must_use]
pub fn mark(question: &Question, answer: &Answer, hints: u32, context: &Context<'_>) -> Marked {
    let parts = match (&question.task, answer) {
        (Task::Choose(parts), Answer::Chosen(chosen)) => parts
            .iter()
            .enumerate()
            .map(|(place, part)| chosen_mark(question, part, chosen.get(place).copied()))
            .collect(),
        (Task::Place { .. }, Answer::Placed(placement)) => placed(question, placement),
        (Task::Write { side }, Answer::Written(line)) => written(question, *side, line, context),
        _ => unanswered(question),
    };
    let sum: f64 = parts.iter().map(|part| part.worth * part.score).sum();
    let kept = (1.0 - HINT_COST * f64::from(hints)).clamp(0.0, 1.0);
    Marked {
        fraction: (sum * kept).clamp(0.0, 1.0),
        parts,
        hints,
    }
}

/// Whether `given` counts as `right` in full: the same, or "longitudinal" for "sagittal".
#[must_use]
pub fn accepts(right: Choice, given: Choice) -> bool {
    let sagittal = Choice::Plane(PlaneWord::Named(BodyPlane::Sagittal));
    given == right || (right == sagittal && given == Choice::Plane(PlaneWord::Longitudinal))
}

/// The score of a choice: 1 where it is accepted; ½ for an oblique plane of the other kind, for a movement the other
/// way, and for a direction that is the second of a slanting side; else 0.
#[must_use]
pub fn choice_score(question: &Question, part: &Part, given: Choice) -> f64 {
    if accepts(part.right, given) {
        return 1.0;
    }
    let half = match (part.right, given) {
        (Choice::Plane(PlaneWord::Oblique(_)), Choice::Plane(PlaneWord::Oblique(_))) => true,
        (Choice::Move(right), Choice::Move(given)) => right.same_movement(given),
        (Choice::Side(_), Choice::Side(given)) => {
            let threshold = screen_threshold(question.view.tolerance);
            asked_direction(question, part.asked)
                .is_some_and(|name| name.parts(threshold).any(|(side, _)| side == given))
        }
        _ => false,
    };
    if half { 0.5 } else { 0.0 }
}

fn asked_direction(question: &Question, asked: Asked) -> Option<SideName> {
    match asked {
        Asked::ImageSide(side) => Some(*question.view.sides().get(side)),
        Asked::Notch => Some(SideName::of(question.view.placement.pose.axes().lateral)),
        _ => None,
    }
}

fn chosen_mark(question: &Question, part: &Part, given: Option<Choice>) -> PartMark {
    let (score, finding) = given.map_or((0.0, Finding::Missing), |given| {
        graded(choice_score(question, part, given))
    });
    PartMark {
        aspect: Aspect::Chosen(part.asked),
        worth: part.worth,
        score,
        finding,
    }
}

fn graded(score: f64) -> (f64, Finding) {
    let finding = if score >= FULL {
        Finding::Right
    } else if score > 0.0 {
        Finding::Partly
    } else {
        Finding::Wrong
    };
    (score, finding)
}

/// The placement held against the question's view.
#[must_use]
pub fn compare(question: &Question, placement: &Placement) -> PoseComparison {
    let view = &question.view;
    let aim = question
        .subject
        .as_ref()
        .map_or(view.placement.pose.contact(), |subject| subject.aim);
    let field = Field::new(view.transducer, placement.depth, placement.convention.apex);
    PoseComparison::new(placement, &view.placement, aim, view.tolerance, |at| {
        field.contains(at)
    })
}

/// The parts of a placement, by section 8 of the conventions: angle between the planes, way round, aim point, field of
/// view, half of the body, depth.
#[must_use]
pub fn placed(question: &Question, placement: &Placement) -> Vec<PartMark> {
    let comparison = compare(question, placement);
    let tolerance = question.view.tolerance;
    let beyond = (comparison.plane_angle - tolerance).to_deg() / PLANE_FADE.to_deg();
    let aim = comparison.aim_distance.get();
    let missed = (aim - AIM_MET_MM) / (AIM_MISSED_MM - AIM_MET_MM);
    let agrees = comparison.plane_angle <= tolerance;
    let part = |aspect, worth, score: f64| {
        let (score, finding) = graded(score.clamp(0.0, 1.0));
        PartMark {
            aspect,
            worth,
            score,
            finding,
        }
    };
    let yes = |holds: bool| if holds { 1.0 } else { 0.0 };
    let mut way_round = part(Aspect::WayRound, 0.2, yes(agrees && !comparison.reversed));
    if comparison.reversed {
        way_round.finding = Finding::Reversed;
    } else if !agrees {
        way_round.finding = Finding::Missing;
    }
    vec![
        part(Aspect::PlaneAngle, 0.35, 1.0 - beyond.max(0.0)),
        way_round,
        part(Aspect::Aim, 0.2, 1.0 - missed.max(0.0)),
        part(Aspect::InField, 0.1, yes(comparison.aim_in_field)),
        part(Aspect::BodyHalf, 0.1, yes(!comparison.wrong_half())),
        part(Aspect::Depth, 0.05, yes(comparison.aim_in_middle_third)),
    ]
}

fn unanswered(question: &Question) -> Vec<PartMark> {
    let missing = |aspect, worth| PartMark {
        aspect,
        worth,
        score: 0.0,
        finding: Finding::Missing,
    };
    match &question.task {
        Task::Choose(parts) => parts
            .iter()
            .map(|part| missing(Aspect::Chosen(part.asked), part.worth))
            .collect(),
        Task::Place { start } => placed(question, start)
            .into_iter()
            .map(|part| missing(part.aspect, part.worth))
            .collect(),
        Task::Write { side } => written_worths(*side)
            .into_iter()
            .map(|(aspect, worth)| missing(aspect, worth))
            .collect(),
    }
}

fn written_worths(side: Option<BodySide>) -> Vec<(Aspect, f64)> {
    if side.is_some() {
        vec![
            (Aspect::WrittenPlane, 0.4),
            (Aspect::WrittenSide, 0.25),
            (Aspect::WrittenStructure, 0.35),
        ]
    } else {
        vec![
            (Aspect::WrittenPlane, 0.55),
            (Aspect::WrittenStructure, 0.45),
        ]
    }
}

/// What a written line claims, as far as marks go.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Claims {
    /// Whether a plane was written, and was right.
    pub plane: Option<bool>,
    /// The plane that was written where it is wrong; "longitudinal" counts as sagittal here.
    pub wrong_plane: Option<PlaneWord>,
    /// Whether a side was written, and was right.
    pub side: Option<bool>,
    /// The side that was written is the other one.
    pub other_side: bool,
    /// Whether a structure was written, and was the one asked about, whichever its side.
    pub structure: Option<bool>,
}

/// Reads what a line claims about the question's view; `None` without a vocabulary or a structure to write of.
#[must_use]
pub fn written_claims(question: &Question, line: &str, context: &Context<'_>) -> Option<Claims> {
    let (vocabulary, subject) = (context.vocabulary?, question.subject.as_ref()?);
    let view = &question.view;
    let (plane, field) = (view.plane(), view.field());
    let contents = seen(view, context.body);
    let centre = field.image_point(BeamPoint {
        beam: 0.0,
        depth_mm: field.depth().get() / 2.0,
    });
    let shot = Shot {
        body: context.body,
        plane: &plane,
        naming: name_plane(plane.normal(), view.tolerance),
        offset: sagittal_offset(&plane, centre),
        contents: &contents,
        centre,
    };
    let report = annotation::check(vocabulary, line, &shot, false);
    let mut claims = Claims::default();
    for token in report
        .tokens
        .iter()
        .filter(|token| token.part == Some(WordPart::Plane))
    {
        let right = match &token.finding {
            WordFinding::Right | WordFinding::RightForTheStructure(_) => true,
            // Said twice is no other claim.
            WordFinding::Wrong(Why::Twice) => continue,
            _ => false,
        };
        claims.plane = Some(claims.plane.unwrap_or(true) && right);
        if !right {
            claims.wrong_plane = token
                .mark
                .as_deref()
                .and_then(|mark| said(vocabulary, mark));
        }
    }
    let wanted_side = match question.task {
        Task::Write { side } => side,
        _ => None,
    };
    let pair = pair_name(subject.structure.as_str());
    for token in read(vocabulary, line) {
        let TokenKind::Term(term) = token.kind else {
            continue;
        };
        let mut side_said = None;
        match &term.meaning {
            Meaning::Side(side) => side_said = Some(*side),
            Meaning::Structure {
                structures, side, ..
            } => {
                side_said = *side;
                let fits = structures.iter().any(|id| pair_name(id) == pair);
                claims.structure = Some(claims.structure.unwrap_or(false) || fits);
            }
            Meaning::Segment {
                structure: Some(id),
                ..
            } => {
                let fits = pair_name(id) == pair;
                claims.structure = Some(claims.structure.unwrap_or(false) || fits);
            }
            _ => {}
        }
        if let (Some(said), Some(wanted)) = (side_said, wanted_side) {
            let right = matches!(
                (said, wanted),
                (SideWord::Right, BodySide::Right) | (SideWord::Left, BodySide::Left)
            );
            claims.side = Some(claims.side.unwrap_or(true) && right);
            claims.other_side |= !right && said != SideWord::Both;
        }
    }
    Some(claims)
}

/// A structure's identifier without its side: two of a pair have one name.
fn pair_name(id: &str) -> &str {
    id.strip_prefix("left_")
        .or_else(|| id.strip_prefix("right_"))
        .unwrap_or(id)
}

/// The plane that a mark of the vocabulary says.
fn said(vocabulary: &Vocabulary, mark: &str) -> Option<PlaneWord> {
    let term = vocabulary.terms().iter().find(|term| term.mark == mark)?;
    let Meaning::Plane(word) = term.meaning else {
        return None;
    };
    match word {
        Claimed::Sagittal | Claimed::MidSagittal | Claimed::Longitudinal => {
            Some(PlaneWord::Named(BodyPlane::Sagittal))
        }
        Claimed::Transverse => Some(PlaneWord::Named(BodyPlane::Transverse)),
        Claimed::Coronal => Some(PlaneWord::Named(BodyPlane::Coronal)),
        Claimed::Oblique => Some(PlaneWord::Oblique(None)),
        Claimed::LongitudinalOblique => Some(PlaneWord::Oblique(Some(ObliqueKind::Longitudinal))),
        Claimed::TransverseOblique => Some(PlaneWord::Oblique(Some(ObliqueKind::Transverse))),
        Claimed::LongAxis | Claimed::ShortAxis => None,
    }
}

fn written(
    question: &Question,
    side: Option<BodySide>,
    line: &str,
    context: &Context<'_>,
) -> Vec<PartMark> {
    let claims = written_claims(question, line, context).unwrap_or_default();
    written_worths(side)
        .into_iter()
        .map(|(aspect, worth)| {
            let claim = match aspect {
                Aspect::WrittenPlane => claims.plane,
                Aspect::WrittenSide => claims.side,
                _ => claims.structure,
            };
            let (score, finding) = match claim {
                None => (0.0, Finding::Missing),
                Some(true) => (1.0, Finding::Right),
                Some(false) => (0.0, Finding::Wrong),
            };
            PartMark {
                aspect,
                worth,
                score,
                finding,
            }
        })
        .collect()
}
