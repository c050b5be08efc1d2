//! The readiness check: five questions on one page, answered in any order and marked together.

use practice::compose::{Context, seen};
use practice::generate::{self, Draw};
use practice::random::SplitMix64;
use practice::record::{Event, EventId};
use practice::{Answer, Choice, Kind, Level};

use super::figure::{Still, figure};
use super::in_words::in_words;
use super::round::{self, Figured, Item, Purpose, Round, Stage, fraction, vocabulary};
use super::{Note, Screen, note, show};
use crate::action::Changes;
use crate::state::State;

/// One question each of what a learner has to be sure of before the first patient.
const CHECK: [Kind; 5] = [
    Kind::PlaneFromProbe,
    Kind::Side,
    Kind::NotchFromPicture,
    Kind::PlaneFromPicture,
    Kind::FindTheFault,
];

/// The name of the readiness check on its card and in the record.
pub(super) const CHECK_SET: &str = "readiness";

/// The questions of the check with this seed.
pub(super) fn items(state: &State, seed: u64) -> Vec<Item> {
    let Some(body) = state.body() else {
        return Vec::new();
    };
    let context = Context {
        body,
        vocabulary: vocabulary(state),
    };
    (0_u64..)
        .zip(CHECK)
        .filter_map(|(number, kind)| {
            let own = SplitMix64::stream(seed, number).bits();
            let question = generate::draw(&Draw::new(own, kind, Level::Medium), &context).ok()?;
            Some(round::item(own, question, None, false))
        })
        .collect()
}

/// Begins the check that the page's link asks for, once the body is here.
pub(crate) fn begin_if_awaited(state: &mut State) {
    let practise = &state.practise;
    let here = practise.screen == Screen::Practise && state.body().is_some();
    let Some(seed) = practise.check_seed.filter(|_| practise.check_waits && here) else {
        return;
    };
    state.practise.check_waits = false;
    let now_ms = state.practise.now_ms;
    let _ = round::start(state, seed, now_ms, Purpose::Check);
}

/// What each question shows, and the same in words: both stay as they are while the page is open.
pub(super) fn figures(state: &mut State) {
    let Some(count) = open_sheet(state).map(|round| round.items.len()) else {
        return;
    };
    for number in 0..count {
        let Some(shown) = state.still(Still::Question(number)) else {
            continue;
        };
        let (Some(body), Some(question)) = (
            shown.body(),
            shown.practise.round().and_then(Round::on_show),
        ) else {
            continue;
        };
        let contents = seen(&question.view, body);
        let figured = Figured {
            figure: figure(&shown, shown.texts),
            words: in_words(&shown, Some(&contents), question, shown.texts),
        };
        if let Some(item) = open_sheet(state).and_then(|round| round.items.get_mut(number)) {
            item.figure = Some(figured);
        }
    }
}

fn open_sheet(state: &mut State) -> Option<&mut Round> {
    let round = state.practise.round.as_mut()?;
    (round.stage == Stage::Sheet).then_some(round)
}

pub(super) fn choose(state: &mut State, number: usize, part: usize, choice: Choice) -> Changes {
    let Some(round) = open_sheet(state) else {
        return Changes::none();
    };
    let Some(item) = round.items.get_mut(number) else {
        return Changes::none();
    };
    let parts = item.question.parts();
    let offered = parts
        .get(part)
        .is_some_and(|part| part.options.contains(&choice));
    if offered && let Some(chosen) = item.chosen.get_mut(part) {
        *chosen = Some(choice);
    }
    round.told_open = false;
    state.practise.note = None;
    Changes::panels()
}

/// The numbers, from 1, of the questions that have a part without an answer.
pub(super) fn left_open(round: &Round) -> Vec<usize> {
    let items = round.items.iter().enumerate();
    items
        .filter(|(_, item)| item.chosen.iter().any(Option::is_none))
        .map(|(number, _)| number + 1)
        .collect()
}

/// What of a question was answered: as many parts from the first on as have an answer.
fn given(item: &Item) -> Answer {
    let chosen: Vec<Choice> = item.chosen.iter().map_while(|one| *one).collect();
    if chosen.is_empty() {
        Answer::Skipped
    } else {
        Answer::Chosen(chosen)
    }
}

/// Marks all questions. Where some are left open this is told first, and done when it is asked for again.
pub(super) fn finish(state: &mut State, now_ms: u64, nonce: u32) -> Changes {
    let Some(body) = state.body().cloned() else {
        return Changes::none();
    };
    let words = vocabulary(state).cloned();
    let Some(round) = open_sheet(state) else {
        return Changes::none();
    };
    let open = left_open(round);
    if !open.is_empty() && !round.told_open {
        round.told_open = true;
        return note(&mut state.practise, Note::LeftOpen(open));
    }
    let context = Context {
        body: &body,
        vocabulary: words.as_ref(),
    };
    let mut events: Vec<Event> = Vec::new();
    for item in &mut round.items {
        let answer = given(item);
        events.push(item.take(answer, &context));
    }
    round.stage = Stage::Review;
    round.ended_ms = Some(now_ms);
    events.push(Event::Checked {
        seed: round.seed,
        set: CHECK_SET.to_owned(),
        score: fraction(round),
        questions: u32::try_from(round.items.len()).unwrap_or(u32::MAX),
    });
    let practise = &mut state.practise;
    practise.note = None;
    practise.now_ms = now_ms;
    for (number, event) in (0_u32..).zip(events) {
        let id = EventId {
            at_ms: now_ms,
            nonce: nonce.wrapping_add(number),
        };
        practise.record.add(id, event);
    }
    practise.revision += 1;
    show::review(state)
}
