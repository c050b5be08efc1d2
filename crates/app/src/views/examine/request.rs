//! The requested list: which of its views are there, and what the others lack.

use anatomy::BodyFacts;
use practice::acquisition::{Facts, Lack, Request, View, requests};

use crate::names;
use crate::state::State;
use crate::texts::{ExamineTexts, Texts, fill, uncapitalised};

use super::ListChoice;
use super::verdict::{axis_words, plane_words};

/// One view of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RequestRow {
    /// "Proximal abdominal aorta, sagittal".
    pub label: String,
    /// Number of the first picture that shows it.
    pub covered: Option<u32>,
    /// "Picture 2", or "Missing".
    pub state: String,
    /// For a missing one, which picture comes nearest and what it lacks.
    pub nearest: Option<String>,
}

/// The requested list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RequestView {
    /// Its name.
    pub title: &'static str,
    /// "3 of 7 views are there."
    pub summary: String,
    /// How many are missing.
    pub missing: usize,
    /// View by view.
    pub rows: Vec<RequestRow>,
}

/// What is to be known before finishing, and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FinishView {
    /// "Finish the examination", or that it is finished.
    pub title: &'static str,
    /// Sentences about the set as a whole.
    pub sentences: Vec<String>,
    /// Name of the button that finishes; none when there is nothing to finish.
    pub finish: Option<String>,
    /// Whether it is finished already.
    pub finished: bool,
    /// Whether there is anything to save.
    pub has_pictures: bool,
}

pub(crate) fn name_of(id: &str, words: &ExamineTexts) -> &'static str {
    match id {
        "aorta" => words.request_aorta,
        "kidneys" => words.request_kidneys,
        "thyroid" => words.request_thyroid,
        _ => words.request_other,
    }
}

/// Lists that the present body can be asked for; the chosen one stays in the menu whatever the body.
pub(super) fn lists(state: &State, words: &ExamineTexts) -> Vec<ListChoice> {
    let chosen = state
        .examination()
        .request()
        .map(|request| request.id.as_str());
    let fits = |request: &&Request| {
        chosen == Some(&*request.id)
            || state
                .facts()
                .is_none_or(|facts| request.fits(|id| facts.find(id).is_some()))
    };
    let none = ListChoice {
        key: String::new(),
        label: words.no_request,
        chosen: chosen.is_none(),
    };
    let known = requests().iter().filter(fits).map(|request| ListChoice {
        key: request.id.clone(),
        label: name_of(&request.id, words),
        chosen: chosen == Some(&*request.id),
    });
    std::iter::once(none).chain(known).collect()
}

pub(super) fn request_view(state: &State, texts: &Texts) -> Option<RequestView> {
    let request = state.examination().request()?;
    let rows: Vec<RequestRow> = request
        .views
        .iter()
        .map(|view| row(state, view, texts))
        .collect();
    let there = rows.iter().filter(|row| row.covered.is_some()).count();
    let words = &texts.examine;
    Some(RequestView {
        title: name_of(&request.id, words),
        summary: fill(
            words.covered,
            &[&there.to_string(), &rows.len().to_string()],
        ),
        missing: rows.len() - there,
        rows,
    })
}

fn row(state: &State, view: &View, texts: &Texts) -> RequestRow {
    let words = &texts.examine;
    let examination = state.examination();
    let judged: Vec<(u32, &Facts)> = examination
        .pictures()
        .iter()
        .filter_map(|kept| Some((kept.number, &examination.judged(kept.number)?.facts)))
        .collect();
    let covered = judged
        .iter()
        .find(|(_, facts)| view.lacks(facts).is_empty())
        .map(|(number, _)| *number);
    let nearest = judged
        .iter()
        .map(|(number, facts)| (*number, view.lacks(facts)))
        .filter(|(number, lacks)| {
            covered.is_none() && !is_one_of_the_list(state, *number) && shows_something(lacks, view)
        })
        .min_by_key(|(_, lacks)| lacks.len())
        .map(|(number, lacks)| {
            let said: Vec<String> = lacks
                .iter()
                .map(|lack| lack_words(state, lack, texts))
                .collect();
            fill(words.nearest, &[&number.to_string(), &said.join(", ")])
        });
    RequestRow {
        label: label(state, view, texts),
        covered,
        state: covered.map_or_else(
            || words.missing.to_owned(),
            |number| fill(words.there, &[&number.to_string()]),
        ),
        nearest,
    }
}

/// Whether a picture is a view of the list already, so that it is no failed attempt at another.
fn is_one_of_the_list(state: &State, number: u32) -> bool {
    let examination = state.examination();
    let judged = examination.judged(number);
    judged.is_some_and(|judged| {
        examination.request().is_some_and(|request| {
            request
                .views
                .iter()
                .any(|view| view.lacks(&judged.facts).is_empty())
        })
    })
}

/// Whether a picture is near enough to be worth naming: it shows what the view is of.
fn shows_something(lacks: &[Lack], view: &View) -> bool {
    let absent = lacks
        .iter()
        .filter(|lack| matches!(lack, Lack::NotShown(_)))
        .count();
    absent < view.divides_into.len().max(1)
}

pub(crate) fn label(state: &State, view: &View, texts: &Texts) -> String {
    named(view, state.facts(), texts)
}

/// A view in words, with the names of a body where there is one.
pub(crate) fn named(view: &View, facts: Option<&BodyFacts>, texts: &Texts) -> String {
    let words = &texts.examine;
    if !view.divides_into.is_empty() {
        let subject = names::structure(facts, &view.subject, texts);
        return fill(words.view_divides, &[&subject]);
    }
    let mut parts = vec![match &view.segment {
        Some(segment) => names::part(facts, &view.subject, segment, texts),
        None => names::structure(facts, &view.subject, texts),
    }];
    parts.extend(view.plane.map(|plane| texts.plane_word(plane).to_owned()));
    parts.extend(view.axis.map(|axis| axis_words(axis, texts).to_owned()));
    parts.join(", ")
}

fn lack_words(state: &State, lack: &Lack, texts: &Texts) -> String {
    let words = &texts.examine;
    match lack {
        Lack::NotShown(id) => {
            let name = names::structure(state.facts(), id, texts);
            fill(words.lack_not_shown, &[&uncapitalised(&name)])
        }
        Lack::PlaneIs(name) => fill(words.lack_plane, &[plane_words(*name, texts)]),
        Lack::AxisIs(Some(view)) => fill(words.lack_axis, &[axis_words(*view, texts)]),
        Lack::AxisIs(None) => words.lack_axis_unknown.to_owned(),
        Lack::SegmentIs(Some(part)) => fill(words.lack_segment, &[&uncapitalised(part)]),
        Lack::SegmentIs(None) => words.lack_no_segment.to_owned(),
        Lack::NotWhereItDivides => words.lack_divides.to_owned(),
    }
}

pub(super) fn finish(state: &State, texts: &Texts) -> Option<FinishView> {
    let examination = state.examination();
    if !examination.is_finishing() {
        return None;
    }
    let words = &texts.examine;
    let request = request_view(state, texts);
    let pictures = examination.pictures();
    let mut sentences = Vec::new();
    match &request {
        _ if pictures.is_empty() => sentences.push(words.finish_none.to_owned()),
        Some(request) => sentences.push(format!("{}: {}", request.title, request.summary)),
        None => sentences.push(fill(words.finish_no_list, &[&pictures.len().to_string()])),
    }
    let numbers = |wanted: &dyn Fn(u32, bool) -> bool| {
        let found: Vec<String> = pictures
            .iter()
            .filter(|kept| wanted(kept.number, kept.annotation.is_empty()))
            .map(|kept| kept.number.to_string())
            .collect();
        (!found.is_empty()).then(|| found.join(", "))
    };
    let wrong = |number: u32, _: bool| {
        examination
            .judged(number)
            .and_then(|judged| judged.report.as_ref())
            .is_some_and(|report| !report.all_right())
    };
    for (pattern, found) in [
        (words.finish_wrong, numbers(&wrong)),
        (words.finish_bare, numbers(&|_, bare| bare)),
        (
            words.finish_uncounted,
            numbers(&|number, _| {
                examination.judged(number).is_none() && state.unjudged().is_none()
            }),
        ),
    ] {
        sentences.extend(found.map(|found| fill(pattern, &[&found])));
    }
    let missing = request.map_or(0, |request| request.missing);
    let finished = examination.is_finished();
    let finish = (!finished && !pictures.is_empty()).then(|| {
        if missing == 0 {
            words.finish_now.to_owned()
        } else {
            fill(words.finish_missing, &[&missing.to_string()])
        }
    });
    Some(FinishView {
        title: if finished {
            words.finished_title
        } else {
            words.finish_title
        },
        sentences,
        finish,
        finished,
        has_pictures: !pictures.is_empty(),
    })
}
