//! A set on paper: questions with vector pictures, and the answers on a sheet apart.
//!
//! The same seed gives the same sheet again, so it is printed on it. The body is a chart, its outline from one side with
//! the probe on it; where the learner has to place the probe the chart is empty, and the answer sheet has it.

mod chart;
mod picture;

use std::sync::Arc;

use ::picture::Palette;
use anatomy::Body;
use course::round;
use course::set::{Set, identity};
use geometry::{Convention, PatientSide, Placement};
use practice::annotation::Vocabulary;
use practice::explain::explain;
use practice::{Answer, Fault, Question, Task, View};

use crate::practise::sentences;
use crate::texts::{Texts, fill};
use crate::views::view_named;

/// One question on paper.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetQuestion {
    /// Its name in results.
    pub id: String,
    /// What is asked.
    pub prompt: String,
    /// The place of the probe in words, where the body is part of the question.
    pub words: String,
    /// Pictures as SVG, each with its caption, which may be empty.
    pub pictures: Vec<(String, String)>,
    /// Options, a list for each part with its heading.
    pub parts: Vec<(String, Vec<String>)>,
    /// Whether there is a line to write on.
    pub line: bool,
    /// Marks.
    pub points: u32,
    /// The right answer.
    pub answer: String,
    /// Why.
    pub reason: String,
    /// Pictures beside the answer, as those of the question.
    pub answer_pictures: Vec<(String, String)>,
}

/// The whole worksheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Name of the set.
    pub title: String,
    /// What learners read first.
    pub description: String,
    /// The questions.
    pub questions: Vec<SheetQuestion>,
    /// Pictures to acquire at the scanner, to be ticked off.
    pub acquire: Vec<String>,
    /// Sentences about what is not on paper; empty where all is.
    pub left_out: String,
    /// What stands at the foot of every page: set, seed, version.
    pub foot: String,
}

/// The worksheet of a set. Questions about a body that is not among `bodies` are left out and counted.
#[must_use]
pub fn sheet(
    set: &Set,
    seed: u64,
    bodies: &[Arc<Body>],
    vocabulary: Option<&Vocabulary>,
    palette: &Palette,
    texts: &Texts,
) -> Sheet {
    let words = &texts.worksheet;
    let find = |id: &str| bodies.iter().find(|body| body.id() == id);
    let order = round::order(set, seed);
    let questions: Vec<SheetQuestion> = order
        .iter()
        .filter_map(|place| {
            let body = find(round::body_at(set, *place)?)?;
            let item = round::item(set, *place, seed, body, vocabulary).ok()?;
            Some(on_paper(&item, body, palette, texts))
        })
        .collect();
    let left = order.len() - questions.len();
    let wanted = find(&set.body).map(|body| (body, round::requested(set, body)));
    let mut left_out = Vec::new();
    if left > 0 {
        left_out.push(fill(words.left_out, &[&left.to_string()]));
    }
    let acquire = match wanted {
        Some((body, Ok(Some(request)))) => request
            .views
            .iter()
            .map(|view| view_named(view, Some(body.facts()), texts))
            .collect(),
        Some((_, Err(refused))) => {
            left_out.push(fill(words.pictures_left_out, &[&refused.to_string()]));
            Vec::new()
        }
        Some((_, Ok(None))) | None => Vec::new(),
    };
    Sheet {
        title: set.title.clone(),
        description: set.description.clone(),
        left_out: left_out.join(" "),
        foot: fill(
            words.foot,
            &[
                &identity(set),
                &set.seed.unwrap_or(seed).to_string(),
                env!("CARGO_PKG_VERSION"),
            ],
        ),
        questions,
        acquire,
    }
}

fn on_paper(item: &round::Item, body: &Body, palette: &Palette, texts: &Texts) -> SheetQuestion {
    let question = &item.question;
    let (words, paper) = (&texts.practise, &texts.worksheet);
    let places = matches!(question.task, Task::Place { .. });
    let name = |number: usize| format!("{}-{number}", item.id);
    let mut prompt = item
        .prompt
        .clone()
        .unwrap_or_else(|| sentences::prompt(question, words));
    if places {
        prompt = format!("{prompt} {}", paper.place);
    }
    let display = question.display();
    let mut pictures = Vec::new();
    if display.body {
        pictures.push(charted(question, body, !places, places, texts));
    }
    if display.picture && !places {
        pictures.extend(sections(question, body, palette, &name, texts));
    }
    let parts = question
        .parts()
        .iter()
        .map(|part| {
            let options = part
                .options
                .iter()
                .map(|one| sentences::choice(*one, words));
            (
                sentences::part(part.asked, words).to_owned(),
                options.collect(),
            )
        })
        .collect();
    let mut told = Vec::new();
    if display.body && !places {
        told.push(probe_words(&question.view, body, texts));
    }
    told.extend(sentences::caption(question, texts));
    let right = right(question);
    let answer = match sentences::right_answer(question, words) {
        Some(answer) if !places => answer,
        _ => probe_words(&question.view, body, texts),
    };
    SheetQuestion {
        id: item.id.clone(),
        prompt,
        words: told.join(" "),
        pictures,
        parts,
        line: matches!(question.task, Task::Write { .. }),
        points: item.points,
        answer,
        reason: explain(question, &right)
            .iter()
            .map(|reason| sentences::reason(reason, texts))
            .collect::<Vec<_>>()
            .join(" "),
        answer_pictures: if places {
            let section = sections(
                question,
                body,
                palette,
                &|number| format!("{}-answer-{number}", item.id),
                texts,
            );
            std::iter::once(charted(question, body, true, false, texts))
                .chain(section)
                .collect()
        } else {
            Vec::new()
        },
    }
}

/// The chart of the body with its caption.
fn charted(
    question: &Question,
    body: &Body,
    probe: bool,
    whole: bool,
    texts: &Texts,
) -> (String, String) {
    let view = &question.view;
    let side = chart::seen_from(&view.placement);
    let place = PatientSide::ALL.iter().position(|one| *one == side);
    let caption = texts.worksheet.seen_from[place.unwrap_or(0)];
    let field = view.field();
    let face = field.face();
    let face_mm = match (face.first(), face.last()) {
        (Some(first), Some(last)) => (last[0] - first[0]).abs(),
        _ => 0.0,
    };
    let wanted = chart::Wanted {
        placement: &view.placement,
        face_mm,
        probe,
        whole,
    };
    (chart::svg(body, &wanted, caption), caption.to_owned())
}

/// The picture of a question, or the two of a movement, with their captions.
fn sections(
    question: &Question,
    body: &Body,
    palette: &Palette,
    name: &dyn Fn(usize) -> String,
    texts: &Texts,
) -> Vec<(String, String)> {
    let display = question.display();
    let fault = question.disagreement.as_ref();
    let reversed = fault.filter(|shown| shown.fault == Fault::NotchReversed);
    let [words, before_words, after_words] = texts.teach.quiz_pictures;
    let show = picture::Show {
        words,
        letters: display.letters,
        exchanged: fault.is_some_and(|shown| shown.depth_letters_exchanged),
        mark: display.mark,
        mark_at: reversed.map(|shown| shown.department),
        lit: display
            .lit
            .then(|| question.subject.as_ref().map(|subject| &subject.structure))
            .flatten(),
    };
    if let Some(after) = &question.after {
        let [before_caption, after_caption] = texts.worksheet.before_after;
        let with = |words| picture::Show { words, ..show };
        let (first, second) = (with(before_words), with(after_words));
        let before = picture::svg(body, &question.view, &first, palette, &name(1));
        let after = picture::svg(body, after, &second, palette, &name(2));
        return vec![
            (before, before_caption.to_owned()),
            (after, after_caption.to_owned()),
        ];
    }
    let here = question.view.placement;
    // A probe turned by half a turn gives the picture of the other mark side: the chart shows the one, the picture the
    // other.
    let convention = match fault {
        Some(shown) if shown.fault == Fault::NotchReversed => Convention {
            mark: here.convention.mark.opposite(),
            ..here.convention
        },
        Some(shown) => shown.picture.convention,
        None => here.convention,
    };
    let view = View {
        placement: Placement { convention, ..here },
        ..question.view.clone()
    };
    vec![(
        picture::svg(body, &view, &show, palette, &name(1)),
        String::new(),
    )]
}

/// The answer that is right, for its reasons.
fn right(question: &Question) -> Answer {
    match &question.task {
        Task::Choose(parts) => Answer::Chosen(parts.iter().map(|part| part.right).collect()),
        Task::Place { .. } | Task::Write { .. } => Answer::Skipped,
    }
}

/// Where the probe stands, in words, for the chart alone does not tell tilt and pressure.
fn probe_words(view: &View, body: &Body, texts: &Texts) -> String {
    let (pose, words) = (&view.placement.pose, &texts.pictures);
    let place = body.facts().regions.place(pose.contact(), pose.normal());
    let mut parts = vec![
        words.place(&place),
        words.notch(pose, view.tolerance),
        words.beam(pose.axes().depth),
    ];
    parts.extend(words.press(pose.press()));
    parts.join(" ")
}
