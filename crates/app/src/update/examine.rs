//! Freeze, annotate, acquire, review, delete, finish.

use std::collections::BTreeMap;

use course::examination::{Kept, KeptPicture, plain_line};
use course::link::{self, LinkState};
use course::moment::Moment;
use practice::acquisition::request;
use practice::annotation::{TokenKind, complete, read};

use crate::action::{Action, Changes, Way};
use crate::address;
use crate::examine::acquired::{as_written, judge, replay, snap};
use crate::examine::{Examine, MOST_OFFERED, Note, picture_now, picture_of};
use crate::start;
use crate::state::State;
use crate::texts::{ExamineTexts, fill};

use super::probe::head_for;
use super::steps::{begin_step, close_step, end_interaction};
use super::viewer::finish_motion;

/// Whether an action would change the picture or move what it was taken from, so that it waits while the picture is
/// frozen. An action that is missing here lets the picture go; see [`follow`].
fn is_held(action: &Action) -> bool {
    matches!(
        action,
        Action::GrabProbe { .. }
            | Action::DragProbe { .. }
            | Action::PlaceProbe { .. }
            | Action::Slide { .. }
            | Action::SlideStep(..)
            | Action::SetMovement(..)
            | Action::MovementStep(..)
            | Action::ReverseNotch
            | Action::QuarterTurn(_)
            | Action::Predict(_)
            | Action::PickWindow(_)
            | Action::TryOut(_)
            | Action::SetDepth(_)
            | Action::DepthStep(_)
            | Action::ChooseTransducer(_)
            | Action::SetMark(_)
            | Action::SetApex(_)
            | Action::SetTolerance(_)
            | Action::SetPosition(_)
            | Action::SetGrey(_)
            | Action::SwitchPicture
            | Action::SetGain(_)
            | Action::TurnKnob(..)
            | Action::KnobStep(..)
            | Action::ResetKnobs
            | Action::Undo
            | Action::Redo
            | Action::Reset
            | Action::ChooseBody(_)
    )
}

/// Refuses what has to wait while the picture is frozen, with a sentence.
pub(super) fn refuse(state: &mut State, action: &Action) -> Option<Changes> {
    if !state.examination.is_frozen() || !is_held(action) {
        return None;
    }
    let said = told(state, Note::Held, |texts| texts.held);
    Some(Changes {
        refused: true,
        ..said
    })
}

/// Keeps the examination true to what is shown: a picture that changed is frozen no longer, and one that was frozen
/// before a reload is frozen again as soon as its body is here.
pub(super) fn follow(state: &mut State, changes: Changes) -> Changes {
    let changed = state
        .examination
        .held
        .as_ref()
        .is_some_and(|held| *held != picture_now(state));
    if changed {
        return changes.and(let_go(state));
    }
    if state.examination.hold_awaited.is_none() || state.body().is_none() {
        return changes;
    }
    let awaited = state.examination.hold_awaited.take();
    let here = picture_of(as_written(&address::link_of(state)));
    if awaited.is_some_and(|awaited| picture_of(awaited) == here) {
        changes.and(hold(state))
    } else {
        state.examination.kept.held = None;
        changes.and(examined())
    }
}

/// The examination changed: panels, and what is kept.
fn examined() -> Changes {
    Changes {
        panels: true,
        keep: true,
        ..Changes::none()
    }
}

fn saying(words: impl Into<String>) -> Changes {
    Changes {
        announcement: Some(words.into()),
        ..examined()
    }
}

/// Tells a note, and says it where it is new.
fn told(state: &mut State, note: Note, words: fn(&ExamineTexts) -> &'static str) -> Changes {
    if state.examination.tell(note) {
        Changes {
            announcement: Some(words(&state.texts.examine).to_owned()),
            ..Changes::panels()
        }
    } else {
        Changes::none()
    }
}

pub(super) fn examine(state: &mut State, what: Examine) -> Changes {
    let examination = &mut state.examination;
    match what {
        Examine::VocabularyArrived(vocabulary) => {
            examination.vocabulary = Some(vocabulary);
            examination.vocabulary_failed = false;
            examination.judged.clear();
            examination.forget(&Note::NoVocabulary);
            Changes::panels()
        }
        Examine::VocabularyFailed => {
            examination.vocabulary_failed = true;
            examination.tell(Note::NoVocabulary);
            Changes::panels()
        }
        Examine::BringBack(kept) => bring_back(state, *kept),
        Examine::TakeUp(slot) => {
            examination.wanted = Some(slot);
            Changes::panels()
        }
        Examine::Tell(note) => {
            examination.tell(note);
            Changes::panels()
        }
        Examine::TakeBack(note) => {
            examination.forget(&note);
            Changes::panels()
        }
        Examine::PutAside(all) => {
            examination.asides = all;
            Changes::panels()
        }
        Examine::SaveAside(name) => {
            examination.aside_wanted = Some(name);
            Changes::panels()
        }
        Examine::AsideSaved(name) => {
            examination.aside_wanted = None;
            examination.forget(&Note::NotSaved);
            if !examination.asides_saved.contains(&name) {
                examination.asides_saved.push(name);
            }
            Changes::panels()
        }
        Examine::AsideNotSaved => {
            examination.aside_wanted = None;
            told(state, Note::NotSaved, |texts| texts.not_saved)
        }
        Examine::Reseed(seed) => {
            examination.kept.seed = seed;
            examined()
        }

        Examine::Freeze => freeze(state),
        Examine::Unfreeze => unfreeze(state),
        Examine::SwitchFreeze if examination.is_frozen() => unfreeze(state),
        Examine::SwitchFreeze => freeze(state),

        Examine::Write(text) => {
            let line = plain_line(&text);
            examination.offers_open = line != examination.kept.line || examination.offers_open;
            examination.offer = None;
            examination.kept.line = line;
            examination.line_used = false;
            examination.forget(&Note::Ambiguous);
            examined()
        }
        Examine::OfferStep(way) => offer_step(state, way),
        Examine::TakeOffer(which) => take_offer(state, which),
        Examine::CloseOffers => {
            examination.offers_open = false;
            examination.offer = None;
            Changes::panels()
        }
        Examine::Choose { token, choice } => choose(state, token, choice),
        Examine::Check => check_line(state),

        Examine::Acquire(at) => acquire(state, at),
        Examine::Judge => judge_one(state),
        Examine::Review(number) => {
            if examination.picture(number).is_some() {
                examination.reviewed = Some(number);
                examination.finishing = false;
            }
            Changes::panels()
        }
        Examine::ReviewStep(way) => review_step(state, way),
        Examine::CloseReview => {
            examination.reviewed = None;
            Changes::panels()
        }
        Examine::GoTo(number) => go_to(state, number),
        Examine::Delete(number) => delete(state, number),
        Examine::PutBack => put_back(state),

        Examine::Request(id) => choose_request(state, id),
        Examine::OpenFinish => {
            examination.finishing = true;
            examination.reviewed = None;
            Changes::panels()
        }
        Examine::CloseFinish => {
            examination.finishing = false;
            Changes::panels()
        }
        Examine::Finish => {
            if examination.pictures().is_empty() {
                return Changes::none();
            }
            examination.kept.finished = true;
            examination.removed.clear();
            examination
                .notes
                .retain(|note| !matches!(note, Note::Deleted(_)));
            saying(state.texts.examine.finished_said)
        }
        Examine::Reopen => {
            examination.kept.finished = false;
            examination.forget(&Note::Finished);
            examined()
        }
        Examine::BeginNew(seed) => begin_new(state, seed),
    }
}

fn freeze(state: &mut State) -> Changes {
    if state.examination.is_frozen() {
        return Changes::none();
    }
    if state.body().is_none() {
        return told(state, Note::NoPicture, |texts| texts.no_picture);
    }
    let settled = come_to_rest(state);
    let changes = settled.and(hold(state));
    changes.and(saying(state.texts.examine.frozen_said))
}

/// Ends what moves, and puts the probe on the digits that can be kept.
fn come_to_rest(state: &mut State) -> Changes {
    let changes = finish_motion(state).and(end_interaction(state));
    snap(state);
    start::settle(state);
    changes.and(Changes {
        picture: true,
        address: true,
        ..Changes::pose()
    })
}

fn hold(state: &mut State) -> Changes {
    let view = picture_now(state);
    let examination = &mut state.examination;
    examination.held = Some(view);
    examination.forget(&Note::NoPicture);
    examination.forget(&Note::CheckNeedsFreeze);
    state.examination.kept.held = Some(address::fragment(state));
    Changes {
        picture: true,
        ..examined()
    }
}

fn let_go(state: &mut State) -> Changes {
    let examination = &mut state.examination;
    examination.held = None;
    examination.hold_awaited = None;
    examination.kept.held = None;
    examination.checked = None;
    // What stands on a picture is not carried over to the next one, where it would be wrong.
    if examination.line_used {
        examination.kept.line.clear();
        examination.line_used = false;
        examination.offers_open = false;
    }
    examination.forget(&Note::Held);
    Changes {
        picture: true,
        ..examined()
    }
}

fn unfreeze(state: &mut State) -> Changes {
    if !state.examination.is_frozen() {
        return Changes::none();
    }
    let_go(state).and(saying(state.texts.examine.unfrozen_said))
}

fn offer_step(state: &mut State, way: Way) -> Changes {
    let examination = &mut state.examination;
    examination.offers_open = true;
    let count = examination.offers().len();
    if count == 0 {
        examination.offers_open = false;
        return Changes::none();
    }
    let last = count - 1;
    examination.offer = Some(match (examination.offer, way) {
        (Some(place), Way::Forward) if place < last => place + 1,
        (Some(place), Way::Back) if place > 0 => place - 1,
        (_, Way::Forward) => 0,
        (_, Way::Back) => last,
    });
    Changes::panels()
}

fn take_offer(state: &mut State, which: Option<usize>) -> Changes {
    let examination = &mut state.examination;
    let Some(vocabulary) = examination.vocabulary.clone() else {
        return Changes::none();
    };
    let place = which.or(examination.offer);
    let offers = complete(&vocabulary, &examination.kept.line, MOST_OFFERED);
    let Some(offer) = place.and_then(|place| offers.get(place)) else {
        return Changes::none();
    };
    let mut line = examination.kept.line.clone();
    line.replace_range(offer.range.clone(), offer.mark);
    line.push(' ');
    examination.kept.line = plain_line(&line);
    examination.offers_open = false;
    examination.offer = None;
    examination.line_used = false;
    examination.forget(&Note::Ambiguous);
    examined()
}

/// Writes the mark of the chosen meaning in place of the ambiguous word. A meaning that the vocabulary does not hold
/// takes the word out.
fn choose(state: &mut State, token: usize, choice: usize) -> Changes {
    let examination = &mut state.examination;
    let Some(vocabulary) = examination.vocabulary.clone() else {
        return Changes::none();
    };
    let line = examination.kept.line.clone();
    let tokens = read(&vocabulary, &line);
    let Some((range, mark)) = tokens.get(token).and_then(|token| match token.kind {
        TokenKind::Ambiguous(word) => {
            Some((token.range.clone(), word.choices.get(choice)?.mark.as_str()))
        }
        _ => None,
    }) else {
        return Changes::none();
    };
    let mut new = line.clone();
    new.replace_range(range, mark);
    let words: Vec<&str> = new.split_whitespace().collect();
    let was_checked = examination.checked.as_deref() == Some(line.as_str());
    examination.kept.line = words.join(" ");
    if was_checked {
        examination.checked = Some(examination.kept.line.clone());
    }
    if !examination.has_ambiguous_word() {
        examination.forget(&Note::Ambiguous);
    }
    examined()
}

fn check_line(state: &mut State) -> Changes {
    let examination = &mut state.examination;
    examination.offers_open = false;
    examination.offer = None;
    if !examination.is_frozen() {
        return told(state, Note::CheckNeedsFreeze, |texts| {
            texts.check_needs_freeze
        });
    }
    examination.checked = Some(examination.kept.line.clone());
    Changes::panels()
}

fn acquire(state: &mut State, at: Moment) -> Changes {
    if state.examination.is_finished() {
        return told(state, Note::Finished, |texts| texts.finished_note);
    }
    if state.body().is_none() {
        return told(state, Note::NoPicture, |texts| texts.no_picture);
    }
    if state.examination.is_full() {
        return told(state, Note::StripFull, |texts| texts.strip_full);
    }
    if state.examination.has_ambiguous_word() {
        let frozen = freeze(state);
        state.examination.checked = Some(state.examination.kept.line.clone());
        let asked = told(state, Note::Ambiguous, |texts| texts.ambiguous_note);
        return frozen.and(asked).and(Changes::panels());
    }
    let settled = if state.examination.is_frozen() {
        Changes::none()
    } else {
        come_to_rest(state)
    };
    let view = as_written(&address::link_of(state));
    let examination = &mut state.examination;
    let number = examination.kept.next.max(1);
    // Capitals, as the line shows it and as is usual on pictures (common practice, no source).
    let words: Vec<String> = examination
        .kept
        .line
        .split_whitespace()
        .map(str::to_uppercase)
        .collect();
    let annotation = plain_line(&words.join(" "));
    examination.kept.next = number.saturating_add(1);
    examination.kept.pictures.push(KeptPicture {
        number,
        at,
        view,
        annotation: annotation.clone(),
    });
    examination.line_used = true;
    examination.offers_open = false;
    if examination.is_frozen() && !annotation.is_empty() {
        examination.checked = Some(examination.kept.line.clone());
    }
    if !examination.is_frozen() {
        examination.kept.line.clear();
        examination.line_used = false;
    }
    let texts = &state.texts.examine;
    let words = if annotation.is_empty() {
        fill(texts.acquired_bare_said, &[&number.to_string()])
    } else {
        fill(texts.acquired_said, &[&number.to_string(), &annotation])
    };
    settled.and(saying(words))
}

fn judge_one(state: &mut State) -> Changes {
    let Some(number) = state.unjudged() else {
        return Changes::none();
    };
    let judged = state
        .examination
        .picture(number)
        .and_then(|picture| judge(state, picture));
    if let Some(judged) = judged {
        state.examination.judged.insert(number, judged);
    }
    Changes::panels()
}

fn review_step(state: &mut State, way: Way) -> Changes {
    let examination = &mut state.examination;
    let pictures = examination.pictures();
    let Some(last) = pictures.len().checked_sub(1) else {
        return Changes::none();
    };
    let here = examination
        .reviewed
        .and_then(|number| pictures.iter().position(|picture| picture.number == number));
    // From the live picture, back leads to the last one; at either end it stays.
    let place = match (here, way) {
        (None, Way::Back) => last,
        (None, Way::Forward) => 0,
        (Some(place), Way::Back) => place.saturating_sub(1),
        (Some(place), Way::Forward) => (place + 1).min(last),
    };
    let number = pictures.get(place).map(|picture| picture.number);
    examination.reviewed = number;
    Changes::panels()
}

/// The probe goes back to where a picture was acquired, as one step of undo; for another body than the present one, that
/// body is opened.
fn go_to(state: &mut State, number: u32) -> Changes {
    let Some(picture) = state.examination.picture(number).cloned() else {
        return Changes::none();
    };
    let let_go = unfreeze(state);
    state.examination.reviewed = None;
    if picture.view.body.as_deref() != Some(state.body_id.as_str()) || state.body().is_none() {
        start::open_link(state, &link::write(&picture.view));
        start::meet_body(state);
        return let_go.and(Changes {
            body: true,
            address: true,
            ..Changes::everything()
        });
    }
    let before = begin_step(state);
    let again = replay(state, &picture);
    state.setup = again.setup;
    state.window = again.window;
    state.grey_percent = again.grey_percent;
    let moved = head_for(state, again.pose);
    let_go
        .and(moved)
        .and(close_step(state, before))
        .and(Changes {
            picture: true,
            scene: true,
            ..Changes::none()
        })
}

fn delete(state: &mut State, number: u32) -> Changes {
    if state.examination.is_finished() {
        return told(state, Note::Finished, |texts| texts.finished_note);
    }
    let examination = &mut state.examination;
    let place = examination
        .pictures()
        .iter()
        .position(|picture| picture.number == number);
    let Some(place) = place else {
        return Changes::none();
    };
    let picture = examination.kept.pictures.remove(place);
    examination.removed.push((place, picture));
    if examination.reviewed == Some(number) {
        // The next one comes into its place, else the one before it.
        let left = examination.pictures();
        let near = left.get(place).or_else(|| left.last());
        examination.reviewed = near.map(|picture| picture.number);
    }
    examination
        .notes
        .retain(|note| !matches!(note, Note::Deleted(_)));
    examination.tell(Note::Deleted(number));
    saying(fill(state.texts.examine.deleted, &[&number.to_string()]))
}

fn put_back(state: &mut State) -> Changes {
    let examination = &mut state.examination;
    let Some((place, picture)) = examination.removed.pop() else {
        return Changes::none();
    };
    let number = picture.number;
    let place = place.min(examination.kept.pictures.len());
    examination.kept.pictures.insert(place, picture);
    examination
        .notes
        .retain(|note| !matches!(note, Note::Deleted(_)));
    if let Some((_, next)) = examination.removed.last() {
        let note = Note::Deleted(next.number);
        examination.tell(note);
    }
    saying(fill(
        state.texts.examine.put_back_said,
        &[&number.to_string()],
    ))
}

fn choose_request(state: &mut State, id: Option<String>) -> Changes {
    let known = id.filter(|id| request(id).is_some());
    if let Some(wanted) = known.as_deref().and_then(request)
        && let Some(facts) = state.facts()
        && !wanted.fits(|id| facts.find(id).is_some())
    {
        return told(state, Note::ListDoesNotFit, |texts| texts.list_does_not_fit);
    }
    let examination = &mut state.examination;
    examination.kept.request = known;
    examination.forget(&Note::ListDoesNotFit);
    // An annotation has to name a part where the list asks for parts.
    examination.judged.clear();
    examined()
}

fn begin_new(state: &mut State, seed: u64) -> Changes {
    let let_go = let_go(state);
    let examination = &mut state.examination;
    let request = examination.kept.request.take();
    examination.kept = Kept {
        seed,
        next: 1,
        request,
        ..Kept::default()
    };
    examination.checked = None;
    examination.line_used = false;
    examination.offers_open = false;
    examination.reviewed = None;
    examination.finishing = false;
    examination.removed.clear();
    examination.judged = BTreeMap::new();
    examination
        .notes
        .retain(|note| !matches!(note, Note::Finished | Note::Deleted(_) | Note::StripFull));
    let_go.and(saying(state.texts.examine.begun_said))
}

fn bring_back(state: &mut State, kept: Kept) -> Changes {
    let let_go = let_go(state);
    let frozen = kept.held.as_deref().and_then(|held| link::read(held).ok());
    let examination = &mut state.examination;
    examination.kept = kept;
    examination.kept.held = None;
    examination.kept.next = examination.kept.next.max(1);
    examination.wanted = None;
    examination.reviewed = None;
    examination.finishing = false;
    examination.removed.clear();
    examination.judged = BTreeMap::new();
    examination
        .notes
        .retain(|note| !matches!(note, Note::Earlier { .. }));
    let mut changes = let_go.and(examined());
    if let Some(view) = frozen {
        // Another link in the address was opened on purpose and goes before the frozen view.
        let asked = state.awaited.clone().unwrap_or_default();
        let nothing_asked = picture_of(asked.clone()) == picture_of(LinkState::default());
        let same = picture_of(asked) == picture_of(view.clone());
        if nothing_asked || same {
            if !same {
                start::open_link(state, &link::write(&view));
                start::meet_body(state);
                changes = changes.and(Changes {
                    body: true,
                    ..Changes::everything()
                });
            }
            state.examination.hold_awaited = Some(view);
        }
    }
    changes
}
