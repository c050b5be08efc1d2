//! Questions drawn from seeds, one JSON object a line.

use std::io::Write;

use anatomy::BodySide;
use anyhow::Context as _;
use course::vocabulary::{VocabularyFile, from_file};
use geometry::{Angle, ImageSide, Placement};
use practice::annotation::Vocabulary;
use practice::compose::Context;
use practice::generate::{Draw, draw};
use practice::{Asked, Fault, Kind, Level, Question, Task, View};
use serde::Serialize;

use crate::answer::axis_word;
use crate::bodies::Bodies;
use crate::number;

/// The words of annotations, as the project ships them.
const VOCABULARY: &str = include_str!("../../../models/vocabulary.toml");

/// What to draw.
#[derive(Debug)]
pub(crate) struct Wanted<'a> {
    pub(crate) seed: u64,
    pub(crate) count: u64,
    pub(crate) kind: Option<Kind>,
    pub(crate) level: Option<Level>,
    pub(crate) body: Option<&'a str>,
    pub(crate) tolerance_deg: f64,
}

#[derive(Debug, Serialize)]
struct Line {
    seed: u64,
    kind: &'static str,
    level: &'static str,
    skill: String,
    view: ViewLine,
    parts: Vec<PartLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    start: Option<PlacementLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    after: Option<PlacementLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    write_side: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    subject: Option<SubjectLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    disagreement: Option<DisagreementLine>,
}

#[derive(Debug, Serialize)]
struct ViewLine {
    body: String,
    window: Option<String>,
    transducer: &'static str,
    position: &'static str,
    eye: &'static str,
    tolerance_deg: f64,
    #[serde(flatten)]
    placement: PlacementLine,
}

#[derive(Debug, Serialize)]
struct PlacementLine {
    contact_mm: [f64; 3],
    normal: [f64; 3],
    rotation_deg: f64,
    tilt_deg: f64,
    rock_deg: f64,
    press_mm: f64,
    mark: &'static str,
    apex: &'static str,
    depth_mm: f64,
}

#[derive(Debug, Serialize)]
struct PartLine {
    asked: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    image_side: Option<&'static str>,
    options: Vec<String>,
    right: String,
    worth: f64,
}

#[derive(Debug, Serialize)]
struct SubjectLine {
    structure: String,
    side: &'static str,
    axis: Option<&'static str>,
    axis_deg: Option<f64>,
    aim_mm: [f64; 3],
}

#[derive(Debug, Serialize)]
struct DisagreementLine {
    fault: &'static str,
    picture: PlacementLine,
    department: &'static str,
    caption: Option<&'static str>,
    depth_letters_exchanged: bool,
}

/// Draws and prints.
///
/// # Errors
///
/// When a body cannot be read, a question cannot be had, or the output is closed.
pub(crate) fn print(
    wanted: &Wanted<'_>,
    bodies: &mut Bodies,
    output: &mut impl Write,
) -> anyhow::Result<()> {
    let file: VocabularyFile = toml::from_str(VOCABULARY).context("the vocabulary is damaged")?;
    let vocabulary = from_file(file).context("the vocabulary is damaged")?;
    let ids = match wanted.body {
        Some(id) => vec![id.to_owned()],
        None => bodies.ids()?,
    };
    for offset in 0..wanted.count {
        let seed = wanted.seed.wrapping_add(offset);
        let kind = wanted.kind.unwrap_or_else(|| turn(&Kind::ALL, offset));
        let round = offset / 10;
        let level = wanted.level.unwrap_or_else(|| turn(&Level::ALL, round));
        let id = turn_ref(&ids, round / 3);
        let question = one(wanted, seed, kind, level, bodies.get(id)?, &vocabulary)?;
        serde_json::to_writer(&mut *output, &line(seed, &question))?;
        writeln!(output)?;
    }
    Ok(())
}

/// The items in turn.
fn turn<T: Copy>(items: &[T], offset: u64) -> T {
    *turn_ref(items, offset)
}

fn turn_ref<T>(items: &[T], offset: u64) -> &T {
    let count = u64::try_from(items.len()).unwrap_or(1).max(1);
    &items[usize::try_from(offset % count).unwrap_or(0)]
}

fn one(
    wanted: &Wanted<'_>,
    seed: u64,
    kind: Kind,
    level: Level,
    body: &anatomy::Body,
    vocabulary: &Vocabulary,
) -> anyhow::Result<Question> {
    let context = Context {
        body,
        vocabulary: Some(vocabulary),
    };
    let order = Draw {
        tolerance: Angle::deg(wanted.tolerance_deg),
        ..Draw::new(seed, kind, level)
    };
    draw(&order, &context).with_context(|| {
        format!(
            "{} {} of seed {seed} on {}",
            level.key(),
            kind.key(),
            body.id()
        )
    })
}

fn line(seed: u64, question: &Question) -> Line {
    Line {
        seed,
        kind: question.kind.key(),
        level: question.level.key(),
        skill: question.skill().key(),
        view: view(&question.view),
        parts: question.parts().iter().map(part).collect(),
        start: match &question.task {
            Task::Place { start } => Some(placement(start)),
            Task::Choose(_) | Task::Write { .. } => None,
        },
        after: question
            .after
            .as_ref()
            .map(|view| placement(&view.placement)),
        write_side: match &question.task {
            Task::Write { side } => side.map(body_side),
            Task::Choose(_) | Task::Place { .. } => None,
        },
        subject: question.subject.as_ref().map(|subject| SubjectLine {
            structure: subject.structure.as_str().to_owned(),
            side: body_side(subject.side),
            axis: subject.axis.map(|(view, _)| axis_word(view)),
            axis_deg: subject.axis.map(|(_, angle)| number::degrees(angle)),
            aim_mm: number::place(subject.aim),
        }),
        disagreement: question
            .disagreement
            .as_ref()
            .map(|shown| DisagreementLine {
                fault: fault(shown.fault),
                picture: placement(&shown.picture),
                department: shown.department.word(),
                caption: shown.caption.map(body_side),
                depth_letters_exchanged: shown.depth_letters_exchanged,
            }),
    }
}

fn view(view: &View) -> ViewLine {
    ViewLine {
        body: view.body.clone(),
        window: view.window.clone(),
        transducer: view.transducer.id,
        position: view.position.key(),
        eye: view.eye.key(),
        tolerance_deg: number::degrees(view.tolerance),
        placement: placement(&view.placement),
    }
}

fn placement(placement: &Placement) -> PlacementLine {
    let (pose, convention) = (&placement.pose, placement.convention);
    PlacementLine {
        contact_mm: number::place(pose.contact()),
        normal: number::unit(pose.normal()),
        rotation_deg: number::degrees(pose.rotation()),
        tilt_deg: number::degrees(pose.tilt()),
        rock_deg: number::degrees(pose.rock()),
        press_mm: number::mm(pose.press()),
        mark: convention.mark.word(),
        apex: convention.apex.word(),
        depth_mm: number::mm(placement.depth),
    }
}

fn part(part: &practice::Part) -> PartLine {
    let image_side = match part.asked {
        Asked::ImageSide(side) => Some(side),
        _ => None,
    };
    PartLine {
        asked: match part.asked {
            Asked::Plane => "plane",
            Asked::ImageSide(_) => "image_side",
            Asked::Notch => "notch",
            Asked::Move => "move",
            Asked::Fault => "fault",
            Asked::Repair => "repair",
            Asked::Shape => "shape",
            Asked::Axis => "axis",
        },
        image_side: image_side.map(ImageSide::word),
        options: part.options.iter().map(|choice| choice.key()).collect(),
        right: part.right.key(),
        worth: part.worth,
    }
}

const fn fault(fault: Fault) -> &'static str {
    match fault {
        Fault::NotchReversed => "notch_reversed",
        Fault::MarkOnOtherSide => "mark_on_other_side",
        Fault::DepthLetters => "depth_letters",
        Fault::BodySide => "body_side",
    }
}

const fn body_side(side: BodySide) -> &'static str {
    match side {
        BodySide::Left => "left",
        BodySide::Right => "right",
        BodySide::Mid => "mid",
    }
}
