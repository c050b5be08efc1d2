//! Pictures that a set wants acquired: the last task of its round.
//!
//! The learner has the probe, freezes, annotates and acquires as in the scan, without names on the picture and without
//! the windows that would put the probe there by themselves. Each view of the list gives one mark: half of it for a
//! picture that shows the view, half for a right annotation on that picture. Where there are no words to check
//! annotations with, the picture alone counts.

use std::sync::Arc;

use anatomy::AxisView;
use course::examination::Kept;
use course::link::{self, LinkState};
use geometry::Angle;
use practice::acquisition::{Request, View};

use crate::action::Changes;
use crate::examine::Examination;
use crate::examine::acquired::judge;
use crate::start;
use crate::state::State;
use crate::texts::{Texts, fill};
use crate::views::view_label;

use super::review::ReviewRow;
use super::round::{Round, Stage};
use super::{Screen, show};

/// What a picture that shows a view gives without a right annotation, share of the mark.
const SHOWN_ONLY: f64 = 0.5;

/// How the probe is turned when the task begins, degrees.
const BEGIN_TURN_DEG: f64 = 45.0;

/// The list of a set's round, and what came out.
#[derive(Debug, Clone)]
pub(crate) struct Pictures {
    pub(super) request: Arc<Request>,
    /// Share of the mark that an earlier visit earned for each view.
    earlier: Vec<f64>,
    /// When the task was shown, milliseconds since 1970 (UTC).
    pub(super) shown_ms: u64,
    /// When it was finished.
    pub(super) done_ms: Option<u64>,
    /// What came out for each view so far.
    pub(super) marks: Vec<ViewMark>,
}

/// What came out for one view.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct ViewMark {
    /// Share of the mark.
    pub(super) score: f64,
    /// Number of the picture that shows it; `None` where none does.
    pub(super) picture: Option<u32>,
    /// What stands on that picture.
    pub(super) annotation: String,
    /// That picture as a link.
    pub(super) link: Option<String>,
    /// Whether an earlier visit earned it.
    pub(super) earlier: bool,
}

impl Pictures {
    pub(super) fn new(request: Request, earlier: Vec<f64>) -> Self {
        let marks = earlier.iter().map(|score| earned(*score)).collect();
        Self {
            request: Arc::new(request),
            earlier,
            shown_ms: 0,
            done_ms: None,
            marks,
        }
    }

    /// How many views are asked for.
    pub(super) fn len(&self) -> usize {
        self.request.views.len()
    }

    /// The views with what came out for each.
    pub(super) fn views(&self) -> impl Iterator<Item = (&View, &ViewMark)> {
        self.request.views.iter().zip(&self.marks)
    }

    /// How many views have no picture.
    pub(super) fn missing(&self) -> usize {
        self.marks.iter().filter(|mark| mark.score <= 0.0).count()
    }

    /// Sum of the shares.
    pub(super) fn sum(&self) -> f64 {
        self.marks.iter().map(|mark| mark.score).sum()
    }
}

fn earned(score: f64) -> ViewMark {
    ViewMark {
        score,
        earlier: score > 0.0,
        ..ViewMark::default()
    }
}

/// A view as results have it: "aorta/sagittal/proximal".
pub(super) fn view_key(view: &View) -> String {
    let mut parts = vec![view.subject.clone()];
    parts.extend(view.plane.map(|plane| plane.word().to_owned()));
    parts.extend(view.axis.map(|axis| {
        match axis {
            AxisView::Long => "long",
            AxisView::Short => "short",
            AxisView::Oblique => "oblique",
        }
        .to_owned()
    }));
    parts.extend(view.segment.clone());
    if !view.divides_into.is_empty() {
        parts.push(format!("into_{}", view.divides_into.join("_and_")));
    }
    parts.join("/")
}

/// What the pictures of the examination give for each view.
fn marks(state: &State, pictures: &Pictures) -> Vec<ViewMark> {
    let examination = state.examination();
    let words = examination.vocabulary.is_some();
    let of_view = |(view, earlier): (&View, &f64)| {
        let mut best = earned(*earlier);
        for kept in examination.pictures() {
            let Some(judged) = examination.judged(kept.number) else {
                continue;
            };
            if !view.lacks(&judged.facts).is_empty() {
                continue;
            }
            let annotated = judged
                .report
                .as_ref()
                .is_some_and(|report| report.all_right());
            let score = if annotated || !words { 1.0 } else { SHOWN_ONLY };
            if score > best.score || (best.earlier && score >= best.score) {
                best = ViewMark {
                    score,
                    picture: Some(kept.number),
                    annotation: kept.annotation.clone(),
                    link: Some(link::write(&kept.view)),
                    earlier: false,
                };
            }
        }
        best
    };
    pictures
        .request
        .views
        .iter()
        .zip(&pictures.earlier)
        .map(of_view)
        .collect()
}

/// Takes the probe to the first view of the set's body and gives it to the learner; whether there is such a task left.
pub(super) fn begin(state: &mut State, now_ms: u64) -> Option<Changes> {
    let round = state.practise.round.as_mut()?;
    let set = round.set.as_mut()?;
    let pictures = set.pictures.as_mut()?;
    if pictures.done_ms.is_some() {
        return None;
    }
    pictures.shown_ms = now_ms;
    let request = pictures.request.clone();
    let (seed, body) = (round.seed, set.set.body.clone());
    let wanted = LinkState {
        mark: set.set.mark,
        apex: set.set.apex,
        tolerance_deg: set.set.tolerance_deg,
        position: set.set.position,
        ..LinkState::default()
    };
    round.stage = Stage::Acquiring;
    let other = show::bring(state, &body);
    start::open_body(state, &body, wanted);
    start::meet_body(state);
    // The first view of an adult is one that lists ask for; turned, it is none.
    state.pose = state.pose.with_rotation(Angle::deg(BEGIN_TURN_DEG));
    start::settle(state);
    let words = state.examination.vocabulary.take();
    state.examination = Examination {
        vocabulary_failed: state.examination.vocabulary_failed,
        vocabulary: words,
        kept: Kept {
            seed,
            next: 1,
            ..Kept::default()
        },
        asked: Some(request),
        ..Examination::default()
    };
    Some(Changes {
        body: other,
        ..Changes::everything()
    })
}

/// Brings the marks up to date with the pictures that are there; whether they changed.
pub(super) fn follow(state: &mut State) -> bool {
    if !is_open(state) {
        return false;
    }
    let Some(pictures) = of(state) else {
        return false;
    };
    let now = marks(state, pictures);
    let Some(pictures) = state
        .practise
        .round
        .as_mut()
        .and_then(|round| round.set.as_mut()?.pictures.as_mut())
    else {
        return false;
    };
    let changed = pictures.marks != now;
    pictures.marks = now;
    changed
}

/// The pictures of the round, where it has any.
pub(super) fn of(state: &State) -> Option<&Pictures> {
    state
        .practise
        .round
        .as_ref()?
        .set
        .as_ref()?
        .pictures
        .as_ref()
}

/// Whether the learner is acquiring.
pub(super) fn is_open(state: &State) -> bool {
    state.practise.screen == Screen::Practise
        && state
            .practise
            .round
            .as_ref()
            .is_some_and(|round| round.stage == Stage::Acquiring)
}

/// Judges what was not judged yet and closes the list.
pub(super) fn finish(state: &mut State, now_ms: u64) {
    while let Some(number) = state.unjudged() {
        let judged = state
            .examination
            .picture(number)
            .and_then(|picture| judge(state, picture));
        let Some(judged) = judged else { break };
        state.examination.judged.insert(number, judged);
    }
    follow(state);
    state.examination.held = None;
    state.examination.kept.held = None;
    state.examination.reviewed = None;
    if let Some(pictures) = state
        .practise
        .round
        .as_mut()
        .and_then(|round| round.set.as_mut()?.pictures.as_mut())
    {
        pictures.done_ms = Some(now_ms);
    }
}

/// The task as its panel shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct PicturesView {
    /// What to do.
    pub prompt: &'static str,
    /// How it is marked.
    pub marks: &'static str,
    /// Name of the button that finishes.
    pub finish: String,
    /// What the two views show, for somebody who sees neither.
    pub words: String,
    /// Whether nothing is told before the end.
    pub silent: bool,
}

pub(super) fn view(state: &State, words_of_views: String, texts: &Texts) -> Option<PicturesView> {
    let pictures = of(state)?;
    let words = &texts.set;
    let missing = pictures.missing();
    let silent = state.practise.round.as_ref().is_some_and(Round::is_silent);
    Some(PicturesView {
        prompt: words.pictures_prompt,
        marks: if state.examination.vocabulary_failed {
            words.pictures_marks_bare
        } else {
            words.pictures_marks
        },
        finish: if silent {
            texts.practise.finish.to_owned()
        } else if missing == 0 {
            words.pictures_done.to_owned()
        } else {
            fill(
                texts.counted(words.pictures_missing, missing),
                &[&missing.to_string()],
            )
        },
        words: words_of_views,
        silent,
    })
}

/// The lines of the review; `first` is the number of the first one.
pub(super) fn rows(state: &State, first: usize, texts: &Texts) -> Vec<ReviewRow> {
    let Some(pictures) = of(state) else {
        return Vec::new();
    };
    let (words, practise) = (&texts.set, &texts.practise);
    pictures
        .views()
        .enumerate()
        .map(|(nth, (view, mark))| {
            let full = mark.score >= 1.0 - 1e-9;
            let number = mark.picture.map(|number| number.to_string());
            let number: &[&str] = &[number.as_deref().unwrap_or_default()];
            let sentence = match (mark.picture, full) {
                (Some(_), true) if mark.annotation.is_empty() => fill(words.view_shown, number),
                (Some(_), true) => fill(words.view_right, number),
                (Some(_), false) => fill(words.view_half, number),
                (None, _) if mark.earlier => words.view_earlier.to_owned(),
                (None, _) => words.view_missing.to_owned(),
            };
            let mut lines = vec![sentence];
            if !mark.annotation.is_empty() {
                lines.push(fill(words.annotated, &[&mark.annotation]));
            }
            let (verdict, key) = if full {
                (practise.right, "right")
            } else if mark.score > 0.0 {
                (practise.partly, "partly")
            } else {
                (practise.wrong, "wrong")
            };
            ReviewRow {
                title: format!(
                    "{}. {}: {}",
                    first + nth,
                    words.picture,
                    view_label(state, view, texts)
                ),
                lines,
                verdict,
                key,
                marks: fill(practise.marks, &[&format!("{:.0}", mark.score * 100.0)]),
            }
        })
        .collect()
}
