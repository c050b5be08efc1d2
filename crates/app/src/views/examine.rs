//! The examination as its panels and dialogs show it.

mod pictures;
mod request;
mod verdict;

pub use pictures::{CardView, ReviewView, picture_lines};
pub use request::{FinishView, RequestRow, RequestView};
pub(crate) use request::{label as view_label, name_of as list_name, named as view_named};
pub use verdict::{VerdictKind, VerdictRow, VerdictView};

use picture::Contents;
use practice::annotation::Meaning;

use crate::action::Action;
use crate::examine::{Examine, Note};
use crate::state::State;
use crate::texts::{ExamineTexts, Texts, fill};

use super::status::Offer;

/// A word that may finish the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfferView {
    /// The word: "SMA".
    pub mark: String,
    /// What it stands for, where that is longer: "SUPERIOR MESENTERIC ARTERY".
    pub name: Option<String>,
    /// What it claims: "structure".
    pub claims: &'static str,
    /// Whether it was gone to.
    pub chosen: bool,
}

/// A sentence with what can be done about it.
#[derive(Debug, Clone)]
pub struct NoteView {
    /// The sentence.
    pub text: String,
    /// Whether work may be lost.
    pub grave: bool,
    /// What can be done.
    pub offers: Vec<Offer>,
}

// What is offered follows from the note.
impl PartialEq for NoteView {
    fn eq(&self, other: &Self) -> bool {
        (&self.text, self.grave, self.offers.len())
            == (&other.text, other.grave, other.offers.len())
    }
}

/// A choice by key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListChoice {
    /// Key of the list; empty for none.
    pub key: String,
    /// Its name.
    pub label: &'static str,
    /// Whether it is the present one.
    pub chosen: bool,
}

/// Everything about the examination.
#[derive(Debug, Clone, PartialEq)]
pub struct ExamineView {
    /// Whether the picture is frozen.
    pub frozen: bool,
    /// Name of the button that freezes or unfreezes.
    pub freeze: &'static str,
    /// Whether there is a picture to freeze or acquire.
    pub has_picture: bool,
    /// Whether the examination is finished.
    pub finished: bool,
    /// Whether leaving the page should be asked about.
    pub unfinished: bool,
    /// The annotation line.
    pub line: String,
    /// Words that may finish it.
    pub offers: Vec<OfferView>,
    /// The checked line, while it stands there and the picture is frozen.
    pub verdict: Option<VerdictView>,
    /// The strip.
    pub cards: Vec<CardView>,
    /// Lists that this body can be asked for, first none.
    pub lists: Vec<ListChoice>,
    /// The requested list.
    pub request: Option<RequestView>,
    /// The picture that is looked at again.
    pub review: Option<ReviewView>,
    /// What is to be known before finishing.
    pub finish: Option<FinishView>,
    /// What has to be told.
    pub notes: Vec<NoteView>,
    /// Kept work that could not be read.
    pub asides: Vec<AsideView>,
}

/// Kept work that could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AsideView {
    /// The name under which it is kept.
    pub name: String,
    /// "Put aside 29 November 2026, 19:35".
    pub label: String,
    /// Whether the reader has its text, so that it may be thrown away.
    pub saved: bool,
}

pub(super) fn examine_view(state: &State, seen: Option<&Contents>, texts: &Texts) -> ExamineView {
    let examination = state.examination();
    let words = &texts.examine;
    let frozen = examination.is_frozen();
    ExamineView {
        frozen,
        freeze: if frozen { words.unfreeze } else { words.freeze },
        has_picture: state.body().is_some(),
        finished: examination.is_finished(),
        unfinished: examination.is_unfinished(),
        line: examination.line().to_owned(),
        offers: offers(state, words),
        verdict: verdict::live(state, seen, texts),
        cards: pictures::cards(state, texts),
        lists: request::lists(state, words),
        request: request::request_view(state, texts),
        review: pictures::review(state, texts),
        finish: request::finish(state, texts),
        notes: examination
            .notes()
            .iter()
            .map(|note| note_view(state, note, words))
            .collect(),
        asides: examination
            .asides()
            .iter()
            .map(|aside| AsideView {
                label: fill(words.aside_at, &[&aside.at.words()]),
                saved: examination.asides_saved.contains(&aside.name),
                name: aside.name.clone(),
            })
            .collect(),
    }
}

fn offers(state: &State, words: &ExamineTexts) -> Vec<OfferView> {
    let examination = state.examination();
    examination
        .offers()
        .iter()
        .enumerate()
        .map(|(place, offer)| OfferView {
            mark: offer.mark.to_owned(),
            name: (offer.name != offer.mark).then(|| offer.name.to_owned()),
            claims: claims(offer.meaning, words),
            chosen: examination.offer == Some(place),
        })
        .collect()
}

fn claims(meaning: &Meaning, words: &ExamineTexts) -> &'static str {
    match meaning {
        Meaning::Plane(_) => words.claims_plane,
        Meaning::Side(_) => words.claims_side,
        Meaning::Structure { .. } => words.claims_structure,
        Meaning::Segment { .. } => words.claims_segment,
        Meaning::Manoeuvre => words.claims_manoeuvre,
    }
}

fn note_view(state: &State, note: &Note, words: &ExamineTexts) -> NoteView {
    let offer = |label, what: Examine| Offer {
        label,
        action: Action::Examine(what),
    };
    let put_away = |label| offer(label, Examine::TakeBack(note.clone()));
    let closed = vec![put_away(words.close)];
    let (text, offers) = match note {
        Note::Held => (
            words.held.to_owned(),
            vec![
                offer(words.unfreeze, Examine::Unfreeze),
                put_away(words.close),
            ],
        ),
        Note::NoPicture => (words.no_picture.to_owned(), closed),
        Note::CheckNeedsFreeze => (
            words.check_needs_freeze.to_owned(),
            vec![offer(words.freeze, Examine::Freeze), put_away(words.close)],
        ),
        Note::Ambiguous => (words.ambiguous_note.to_owned(), closed),
        Note::Finished => (
            words.finished_note.to_owned(),
            vec![offer(words.reopen, Examine::Reopen), put_away(words.close)],
        ),
        Note::StripFull => (words.strip_full.to_owned(), closed),
        Note::Deleted(number) => (
            fill(words.deleted, &[&number.to_string()]),
            vec![
                offer(words.put_back, Examine::PutBack),
                put_away(words.close),
            ],
        ),
        Note::NoVocabulary => (words.no_vocabulary.to_owned(), closed),
        Note::KeepsNothing => (words.keeps_nothing.to_owned(), closed),
        Note::StorageFull => (words.storage_full.to_owned(), closed),
        Note::OtherTab => (words.other_tab.to_owned(), closed),
        Note::Damaged { lines, aside } => {
            let name = aside.as_deref().unwrap_or_default();
            let text = if *lines == 0 {
                fill(words.damaged_whole, &[name])
            } else {
                fill(words.damaged_lines, &[&lines.to_string(), name])
            };
            let mut offers = closed;
            if let Some(name) = aside {
                offers.insert(0, offer(words.save_aside, Examine::SaveAside(name.clone())));
            }
            (text, offers)
        }
        Note::Earlier {
            pictures,
            last,
            slot,
        } => {
            let when = last.map(|last| last.words()).unwrap_or_default();
            let text = fill(words.earlier, &[&when, &pictures.to_string()]);
            let mut offers = vec![put_away(words.not_now)];
            // Work begun in the meantime would be pushed aside.
            if !state.examination().is_unfinished() {
                offers.insert(0, offer(words.continue_work, Examine::TakeUp(slot.clone())));
            }
            (text, offers)
        }
        Note::ListDoesNotFit => (words.list_does_not_fit.to_owned(), closed),
        Note::NotSaved => (words.not_saved.to_owned(), closed),
    };
    NoteView {
        text,
        grave: matches!(
            note,
            Note::KeepsNothing | Note::StorageFull | Note::Damaged { .. } | Note::NotSaved
        ),
        offers,
    }
}
