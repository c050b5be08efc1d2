//! Acquired pictures: cards of the strip, the picture that is looked at again, and the words saved with one.

use course::examination::KeptPicture;
use geometry::{Sides, name_plane};

use crate::examine::acquired::{plane_of, replay};
use crate::state::State;
use crate::texts::{Texts, fill};
use crate::views::menus::depth_text;
use crate::views::plane::{central_offset, exact_naming};
use crate::views::words::pose_sentences;

use super::verdict::{VerdictView, plane_words, verdict};

/// A picture of the strip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardView {
    /// Its number.
    pub number: u32,
    /// "Picture 3".
    pub title: String,
    /// What stands on it, or that nothing does.
    pub annotation: String,
    /// Its plane: "sagittal".
    pub plane: &'static str,
    /// "14:05:12".
    pub time: String,
    /// How its annotation came out, once that is known.
    pub verdict: Option<&'static str>,
    /// Whether nothing is to be mended.
    pub all_right: Option<bool>,
    /// Whether it can be drawn.
    pub drawable: bool,
}

/// The picture that is looked at again.
#[derive(Debug, Clone, PartialEq)]
pub struct ReviewView {
    /// Its number.
    pub number: u32,
    /// "Picture 3, 2 of 5".
    pub title: String,
    /// What stands on it, or that nothing does.
    pub annotation: String,
    /// Plane, sides, settings, probe, time, sentence by sentence.
    pub lines: Vec<String>,
    /// Its annotation, token by token.
    pub verdict: Option<VerdictView>,
    /// Whether there is one before it.
    pub has_previous: bool,
    /// Whether there is one after it.
    pub has_next: bool,
    /// Whether it can be taken out.
    pub can_delete: bool,
    /// Why it cannot be drawn, where that is so.
    pub not_drawn: Option<&'static str>,
}

fn annotation(kept: &KeptPicture, texts: &Texts) -> String {
    if kept.annotation.is_empty() {
        texts.examine.bare.to_owned()
    } else {
        kept.annotation.clone()
    }
}

fn is_here(state: &State, kept: &KeptPicture) -> bool {
    state
        .body()
        .is_some_and(|body| kept.view.body.as_deref() == Some(body.id()))
}

pub(super) fn cards(state: &State, texts: &Texts) -> Vec<CardView> {
    let examination = state.examination();
    examination
        .pictures()
        .iter()
        .map(|kept| card(state, kept, texts))
        .collect()
}

fn card(state: &State, kept: &KeptPicture, texts: &Texts) -> CardView {
    let words = &texts.examine;
    let drawable = is_here(state, kept);
    let all_right = state
        .examination()
        .judged(kept.number)
        .and_then(|judged| judged.report.as_ref())
        .map(practice::annotation::Report::all_right);
    let verdict = match all_right {
        Some(true) => Some(words.card_right),
        Some(false) => Some(words.card_wrong),
        None => (!drawable && state.body().is_some()).then_some(words.card_other_body),
    };
    let at = kept.at.words();
    CardView {
        number: kept.number,
        title: fill(words.card, &[&kept.number.to_string()]),
        annotation: annotation(kept, texts),
        plane: plane_of(kept).map_or("", |(plane, tolerance)| {
            plane_words(name_plane(plane.normal(), tolerance).name, texts)
        }),
        time: at
            .split_once(' ')
            .map_or(at.clone(), |(_, time)| time.to_owned()),
        verdict,
        all_right,
        drawable,
    }
}

pub(super) fn review(state: &State, texts: &Texts) -> Option<ReviewView> {
    let examination = state.examination();
    let kept = examination.reviewed()?;
    let pictures = examination.pictures();
    let place = pictures
        .iter()
        .position(|picture| picture.number == kept.number)?;
    let words = &texts.examine;
    let judged = examination.judged(kept.number);
    let verdict = judged
        .and_then(|judged| Some((judged, judged.report.as_ref()?)))
        .zip(examination.vocabulary.as_deref())
        .map(|((judged, report), vocabulary)| {
            verdict(
                report,
                vocabulary,
                &kept.annotation,
                judged.facts.plane,
                false,
                texts,
            )
        });
    Some(ReviewView {
        number: kept.number,
        title: fill(
            words.review_title,
            &[
                &kept.number.to_string(),
                &(place + 1).to_string(),
                &pictures.len().to_string(),
            ],
        ),
        annotation: annotation(kept, texts),
        lines: facts(state, kept, texts),
        verdict,
        has_previous: place > 0,
        has_next: place + 1 < pictures.len(),
        can_delete: !examination.is_finished(),
        not_drawn: (!is_here(state, kept)).then_some(words.not_drawn),
    })
}

/// What is known of a picture, sentence by sentence.
fn facts(state: &State, kept: &KeptPicture, texts: &Texts) -> Vec<String> {
    let again = replay(state, kept);
    let (words, said) = (&texts.examine, &texts.pictures);
    let grey = again.grey();
    let shown = if grey.percent > 0.0 {
        fill(
            words.settings_grey,
            &[
                &format!("{:.0}", grey.percent),
                &format!("{:.0}", grey.gain_db),
            ],
        )
    } else {
        words.settings_flat.to_owned()
    };
    vec![
        said.plane(&exact_naming(&again), central_offset(&again)),
        said.sides(&Sides::of(&again.plane()), again.tolerance()),
        fill(
            words.settings,
            &[
                texts.transducer(again.transducer()),
                &depth_text(again.depth().get(), texts),
                &shown,
            ],
        ),
        pose_sentences(&again, texts),
        fill(words.acquired_at, &[&kept.at.words()]),
    ]
}

/// Title, annotation and facts of a picture, for its caption and for lists.
#[must_use]
pub fn picture_lines(state: &State, kept: &KeptPicture, texts: &Texts) -> Vec<String> {
    let title = fill(texts.examine.card, &[&kept.number.to_string()]);
    let mut lines = vec![format!("{title}: {}", annotation(kept, texts))];
    lines.extend(facts(state, kept, texts));
    lines
}
