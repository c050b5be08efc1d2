//! A round that a teacher's set asks for: its questions, what a course system is told of it, and its result file.
//!
//! What a course system is told stands in `web/course/driver.js`; here it is made, as JSON texts in the order in which they
//! happened, and the page only hands them on.

mod file;

use anatomy::json::Json;
use course::json::{Fields, compact};
use course::results::resume::{self, Answered, Progress};
use course::results::{Outcome, PoseError};
use course::set::{self, Feedback, Set};
use course::{link, round};
use practice::compose::Context;
use practice::mark::{Marked, mark};
use practice::random::SplitMix64;
use practice::{Answer, Choice, Task};

use super::pictures::{self, Pictures};
use super::round::{Item, Purpose, Round, Stage, fraction, item, vocabulary};
use super::{Note, Screen, note, show};
use crate::action::Changes;
use crate::start;
use crate::state::{BODIES, BodyStage, State};
use file::{answer_key, options, pose_error, right_key};

pub(super) use file::result_file;

/// The set of a round, and what happened to its questions.
#[derive(Debug, Clone)]
pub struct SetRound {
    pub(crate) set: Set,
    identity: String,
    attempt: u32,
    /// What the learner typed where the set asks for a label.
    label: String,
    started_ms: u64,
    /// When the open question was shown, milliseconds since 1970 (UTC).
    shown_ms: u64,
    /// One for each item of the round.
    asked: Vec<Asked>,
    /// Pictures that have to be acquired at the end.
    pub(super) pictures: Option<Pictures>,
    /// Questions that could not be asked, and why.
    left: Vec<String>,
    events: Vec<String>,
}

#[derive(Debug, Clone)]
struct Asked {
    id: String,
    place: u32,
    points: u32,
    hint: Option<String>,
    prompt: Option<String>,
    tries: Vec<String>,
    first_score: f64,
    first_ms: u64,
    misconception: Option<&'static str>,
    pose: Option<PoseError>,
}

impl SetRound {
    /// Everything that a course system is to be told, oldest first, as JSON.
    #[must_use]
    pub fn events(&self) -> &[String] {
        &self.events
    }

    /// Questions that could not be asked, and why.
    #[must_use]
    pub fn left(&self) -> &[String] {
        &self.left
    }

    /// The teacher's own wording of a question.
    pub(super) fn prompt(&self, at: usize) -> Option<&str> {
        self.asked.get(at)?.prompt.as_deref()
    }

    /// The teacher's own hint.
    pub(super) fn hint(&self, at: usize) -> Option<&str> {
        self.asked.get(at)?.hint.as_deref()
    }

    /// The words with which the learner is asked for a label, if the set asks.
    pub(super) fn label_words(&self) -> Option<&str> {
        self.set.label.as_deref()
    }

    /// Whether pictures follow the questions.
    pub(super) fn has_pictures(&self) -> bool {
        let pictures = self.pictures.as_ref();
        pictures.is_some_and(|pictures| pictures.done_ms.is_none())
    }

    /// Whether hints may be asked for.
    pub(super) fn has_hints(&self) -> bool {
        self.set.hints
    }

    /// Whether answers are told at the end only.
    pub(super) fn is_silent(&self) -> bool {
        self.set.feedback == Feedback::AtEnd
    }
}

/// A set that waits for its bodies.
#[derive(Debug, Clone)]
pub(crate) struct Pending {
    set: Box<Set>,
    seed: u64,
    now_ms: u64,
    kept: String,
}

/// A body has come: the round that waits for it goes on.
pub(crate) fn body_came(state: &mut State) -> Changes {
    if state.body().is_none() {
        return Changes::none();
    }
    match state.practise.pending.take() {
        Some(one) => start(state, &one.set, one.seed, one.now_ms, &one.kept),
        None => Changes::none(),
    }
}

/// Keeps the body that is here for questions about it, and turns to the first one of the set that is not here yet.
/// Whether all are here; bodies that nobody knows are not waited for.
fn gather(state: &mut State, set: &Set) -> bool {
    let wanted: Vec<&str> = set
        .bodies()
        .into_iter()
        .filter(|id| BODIES.contains(id))
        .collect();
    let shelf = &mut state.practise.shelf;
    shelf.retain(|body| wanted.contains(&body.id()));
    if let BodyStage::Loaded(body) = &state.stage
        && shelf.iter().all(|known| known.id() != body.id())
    {
        shelf.push(body.clone());
    }
    let missing = wanted
        .into_iter()
        .find(|id| shelf.iter().all(|known| known.id() != *id));
    let Some(id) = missing.map(str::to_owned) else {
        return true;
    };
    if state.body_id != id {
        start::open_body(state, &id, link::LinkState::default());
    }
    false
}

/// Starts or takes up again the round of a set. `seed` is for a new one; `kept` is what a course system has of an earlier
/// visit. Bodies that are not here yet are waited for.
pub(super) fn start(state: &mut State, set: &Set, seed: u64, now_ms: u64, kept: &str) -> Changes {
    state.practise.screen = Screen::Practise;
    state.practise.is_of_a_set = true;
    if !gather(state, set) {
        state.practise.pending = Some(Pending {
            set: Box::new(set.clone()),
            seed,
            now_ms,
            kept: kept.to_owned(),
        });
        return Changes {
            body: true,
            ..Changes::everything().and(note(&mut state.practise, Note::Waiting))
        };
    }
    let Some(running) = composed(state, set, seed, now_ms, kept) else {
        return note(&mut state.practise, Note::NoQuestions);
    };
    let open = running.items.iter().position(|item| item.answer.is_none());
    state.practise.note = None;
    state.practise.round = Some(Round {
        at: open.unwrap_or(0),
        stage: if open.is_some() {
            Stage::Asking
        } else {
            Stage::Review
        },
        ..running
    });
    if let Some(round) = state.practise.round.as_mut() {
        tell_start(round);
    }
    if open.is_some() {
        return show::question(state);
    }
    if let Some(changes) = pictures::begin(state, now_ms) {
        return changes;
    }
    show::review(state)
}

/// The round as it begins; `None` where nothing of it can be asked.
fn composed(state: &State, set: &Set, seed: u64, now_ms: u64, kept: &str) -> Option<Round> {
    let shelf = &state.practise.shelf;
    let on_shelf = |id: &str| shelf.iter().find(|body| body.id() == id);
    let identity = set::identity(set);
    let before = resume::read(kept, &identity);
    let seed = before.as_ref().map_or(seed, |kept| kept.seed);
    let words = vocabulary(state);
    let (mut items, mut asked, mut left) = (Vec::new(), Vec::new(), Vec::new());
    for place in round::order(set, seed) {
        let Some(body) = round::body_at(set, place).and_then(on_shelf) else {
            left.push(format!("{}: there is no such body", place + 1));
            continue;
        };
        let context = Context {
            body,
            vocabulary: words,
        };
        match round::item(set, place, seed, body, words) {
            Ok(one) => {
                let own = SplitMix64::stream(seed, u64::from(place)).bits();
                let mut entry = Asked {
                    id: one.id,
                    place,
                    points: one.points,
                    hint: one.hint,
                    prompt: one.prompt,
                    tries: Vec::new(),
                    first_score: 0.0,
                    first_ms: 0,
                    misconception: None,
                    pose: None,
                };
                let mut item = item(own, one.question, None, false);
                let known = before.as_ref().and_then(|kept| kept.answered.get(&place));
                if let Some(known) = known {
                    take_up(&mut item, &mut entry, known, &context);
                }
                items.push(item);
                asked.push(entry);
            }
            Err(refused) => left.push(format!("{}: {refused}", place + 1)),
        }
    }
    let wanted = on_shelf(&set.body).map(|body| round::requested(set, body));
    let wanted = match wanted {
        Some(Ok(Some(request))) => {
            let earlier = |nth: usize| {
                let place = picture_place(set, nth);
                let known = before.as_ref().and_then(|kept| kept.answered.get(&place));
                known.map_or(0.0, |known| f64::from(known.score) / 100.0)
            };
            let earlier = (0..request.views.len()).map(earlier).collect();
            Some(Pictures::new(request, earlier))
        }
        Some(Err(refused)) => {
            left.push(format!("acquire: {refused}"));
            None
        }
        Some(Ok(None)) | None => None,
    };
    if items.is_empty() && wanted.is_none() {
        return None;
    }
    let started_ms = before
        .as_ref()
        .map_or(now_ms, |kept| kept.started_s.saturating_mul(1000));
    let running = SetRound {
        set: set.clone(),
        identity,
        attempt: before.as_ref().map_or(1, |kept| kept.attempt),
        label: String::new(),
        started_ms,
        shown_ms: now_ms,
        asked,
        pictures: wanted,
        left,
        events: Vec::new(),
    };
    Some(Round {
        seed,
        purpose: Purpose::Set,
        at: 0,
        stage: Stage::Asking,
        items,
        clock_ms: None,
        ended_ms: None,
        set: Some(Box::new(running)),
        told_open: false,
    })
}

/// The place of a picture in what is kept: behind those of all questions.
fn picture_place(set: &Set, nth: usize) -> u32 {
    set.count()
        .saturating_add(u32::try_from(nth).unwrap_or(u32::MAX))
}

fn tell_start(round: &mut Round) {
    let (percent, progress) = (percent(round), progress(round));
    let questions = parts(round);
    let Some(set) = round.set.as_mut() else {
        return;
    };
    let mut event = Fields::default();
    event.text("type", "started");
    event.put(
        "passPercent",
        set.set
            .pass_percent
            .map_or(Json::Null, |percent| Json::Number(f64::from(percent))),
    );
    event.put("reportFailed", Json::Bool(set.set.report_failed));
    event.number("items", questions as f64);
    event.number("percent", percent);
    event.number("progress", progress);
    set.events.push(compact(&event.object()));
}

/// How many questions and pictures there are.
fn parts(round: &Round) -> usize {
    let pictures = round.set.as_ref().and_then(|set| set.pictures.as_ref());
    round.items.len() + pictures.map_or(0, Pictures::len)
}

/// Share of questions and pictures that are done, 0 to 1.
fn progress(round: &Round) -> f64 {
    let answered = round.items.iter().filter(|item| item.answer.is_some());
    let pictures = round.set.as_ref().and_then(|set| set.pictures.as_ref());
    let acquired = pictures.map_or(0, |pictures| match pictures.done_ms {
        Some(_) => pictures.len(),
        None => pictures.len() - pictures.missing(),
    });
    (answered.count() + acquired) as f64 / parts(round).max(1) as f64
}

/// Pictures came, went, or are judged: what a course system keeps follows.
pub(crate) fn pictures_changed(state: &mut State) {
    if !pictures::follow(state) {
        return;
    }
    let Some(round) = state.practise.round.as_mut() else {
        return;
    };
    let kept = kept(round);
    let (percent, progress) = (percent(round), progress(round));
    if let Some(set) = round.set.as_mut() {
        let mut event = Fields::default();
        event.text("type", "state");
        event.text("state", &kept);
        event.number("percent", percent);
        event.number("progress", progress);
        set.events.push(compact(&event.object()));
    }
}

/// The last question is told: on to the pictures, where there are any left.
pub(super) fn to_pictures(state: &mut State, now_ms: u64) -> Option<Changes> {
    pictures::begin(state, now_ms)
}

/// The learner is done with the pictures.
pub(super) fn pictures_done(state: &mut State, now_ms: u64) -> Changes {
    if !pictures::is_open(state) {
        return Changes::none();
    }
    pictures::finish(state, now_ms);
    if let Some(round) = state.practise.round.as_mut() {
        tell_pictures(round);
        round.stage = Stage::Review;
        round.ended_ms = Some(now_ms);
    }
    finished(state);
    show::review(state)
}

fn tell_pictures(round: &mut Round) {
    let (percent, progress, kept) = (percent(round), progress(round), kept(round));
    let Some(set) = round.set.as_mut() else {
        return;
    };
    let Some(pictures) = &set.pictures else {
        return;
    };
    let mut events = Vec::new();
    for (nth, (view, mark)) in pictures.views().enumerate() {
        let told = Told {
            id: &round::picture_id(&set.set, nth),
            kind: ACQUIRE,
            answer: &mark.annotation,
            correct: &pictures::view_key(view),
            options: &[],
            outcome: picture_outcome(mark.score),
            score: mark.score,
            points: 1.0,
            latency_ms: latency(pictures),
            words: "",
        };
        events.push(told.event([percent, progress], &kept));
    }
    set.events.extend(events);
}

/// What stands in results as the kind of a picture of the list.
const ACQUIRE: &str = "acquire";

/// Pictures that are not there count as not answered: somebody who stopped has not answered wrong.
fn picture_outcome(score: f64) -> Outcome {
    match round::outcome(score) {
        Outcome::Wrong => Outcome::Unanswered,
        other => other,
    }
}

/// From showing the list to finishing it, ms.
fn latency(pictures: &Pictures) -> u64 {
    pictures
        .done_ms
        .map_or(0, |done| done.saturating_sub(pictures.shown_ms))
}

/// An answer of an earlier visit. Choices and annotations are marked anew, so that they can be explained; the marks stay
/// those that were given.
fn take_up(item: &mut Item, entry: &mut Asked, known: &Answered, context: &Context<'_>) {
    let share = |percent: u32| f64::from(percent) / 100.0;
    entry.tries.clone_from(&known.answers);
    entry.first_score = share(known.first_score);
    entry.first_ms = u64::from(known.seconds) * 1000;
    let last = known.answers.last().map_or("", String::as_str);
    let answer = match &item.question.task {
        Task::Choose(_) => {
            let chosen: Option<Vec<Choice>> = last.split('+').map(Choice::from_key).collect();
            chosen.map_or(Answer::Skipped, Answer::Chosen)
        }
        Task::Write { .. } if !last.is_empty() => Answer::Written(last.to_owned()),
        _ => Answer::Skipped,
    };
    if let Answer::Chosen(chosen) = &answer {
        item.chosen = chosen.iter().copied().map(Some).collect();
    }
    item.hints = known.hints;
    item.marked = Some(Marked {
        fraction: share(known.score),
        ..mark(&item.question, &answer, known.hints, context)
    });
    item.answer = Some(answer);
}

/// Notes an answer of the open question; whether the learner may try again.
pub(super) fn answered(state: &mut State, now_ms: u64) -> bool {
    let Some(round) = state.practise.round.as_mut() else {
        return false;
    };
    let at = round.at;
    let (Some(set), Some(item)) = (round.set.as_mut(), round.items.get(at)) else {
        return false;
    };
    let (Some(answer), Some(marked), Some(entry)) =
        (&item.answer, &item.marked, set.asked.get_mut(at))
    else {
        return false;
    };
    let words = answer_key(answer);
    if entry.tries.is_empty() {
        entry.first_score = marked.fraction;
        entry.first_ms = now_ms.saturating_sub(set.shown_ms);
        entry.misconception = item.held.first().map(|held| held.key());
        entry.pose = match answer {
            Answer::Placed(placed) => Some(pose_error(placed, &item.question)),
            _ => None,
        };
    }
    if *answer != Answer::Skipped {
        entry.tries.push(words);
    }
    let tries = u32::try_from(entry.tries.len()).unwrap_or(u32::MAX);
    let again = !set.is_silent()
        && *answer != Answer::Skipped
        && !marked.is_right()
        && tries < set.set.attempts;
    tell_answer(round, at);
    again
}

/// Longest label, characters.
const LONGEST_LABEL: usize = 100;

/// What the learner typed where the set asks for a label; goes into the result file and nowhere else.
pub(super) fn label(state: &mut State, label: &str) -> Changes {
    let round = state.practise.round.as_mut();
    if let Some(set) = round.and_then(|round| round.set.as_mut()) {
        let plain = label.chars().filter(|c| !c.is_control());
        set.label = plain.take(LONGEST_LABEL).collect();
    }
    Changes::panels()
}

/// The next question is on show.
pub(super) fn shown(state: &mut State, now_ms: u64) {
    if let Some(set) = state
        .practise
        .round
        .as_mut()
        .and_then(|round| round.set.as_mut())
    {
        set.shown_ms = now_ms;
    }
}

/// The last question is answered.
pub(super) fn finished(state: &mut State) {
    let Some(round) = state.practise.round.as_mut() else {
        return;
    };
    let (percent, kept) = (percent(round), kept(round));
    let Some(set) = round.set.as_mut() else {
        return;
    };
    let mut event = Fields::default();
    event.text("type", "finished");
    event.number("percent", percent);
    let passed = set.set.pass_percent;
    event.put(
        "passed",
        passed.map_or(Json::Null, |mark| {
            Json::Bool(percent >= f64::from(mark) - 1e-9)
        }),
    );
    event.text("state", &kept);
    set.events.push(compact(&event.object()));
}

/// Share of the marks of the whole set so far, percent, weighed by points.
pub(super) fn percent(round: &Round) -> f64 {
    let Some(set) = &round.set else {
        return 100.0 * fraction(round);
    };
    let (mut got, mut whole) = (0.0, 0.0);
    for (item, entry) in round.items.iter().zip(&set.asked) {
        let points = f64::from(entry.points);
        whole += points;
        got += points * item.marked.as_ref().map_or(0.0, |marked| marked.fraction);
    }
    if let Some(pictures) = &set.pictures {
        whole += pictures.len() as f64;
        got += pictures.sum();
    }
    if whole > 0.0 {
        100.0 * got / whole
    } else {
        0.0
    }
}

fn tell_answer(round: &mut Round, at: usize) {
    let (progress, percent, kept) = (progress(round), percent(round), kept(round));
    let (Some(set), Some(item)) = (round.set.as_mut(), round.items.get(at)) else {
        return;
    };
    let Some(entry) = set.asked.get(at) else {
        return;
    };
    let score = item.marked.as_ref().map_or(0.0, |marked| marked.fraction);
    let told = Told {
        id: &entry.id,
        kind: item.question.kind.key(),
        answer: entry.tries.last().map_or("", String::as_str),
        correct: &right_key(&item.question),
        options: &options(&item.question),
        outcome: outcome(item),
        score,
        points: f64::from(entry.points),
        latency_ms: entry.first_ms,
        words: entry.prompt.as_deref().unwrap_or_default(),
    };
    set.events.push(told.event([percent, progress], &kept));
}

/// What the page of a set is told of one answer (`web/course/driver.js` says what the fields mean).
struct Told<'a> {
    id: &'a str,
    kind: &'a str,
    answer: &'a str,
    correct: &'a str,
    options: &'a [String],
    outcome: Outcome,
    /// Share of the points, from 0 to 1.
    score: f64,
    points: f64,
    latency_ms: u64,
    words: &'a str,
}

impl Told<'_> {
    /// The event, with percent and progress of the round and its state after this answer.
    fn event(&self, [percent, progress]: [f64; 2], kept: &str) -> String {
        let mut about = Fields::default();
        about.text("id", self.id);
        about.text("kind", self.kind);
        about.text("answer", self.answer);
        about.text("correct", self.correct);
        about.texts("options", self.options);
        about.text("outcome", self.outcome.word());
        about.number("score", self.score);
        about.number("points", self.points);
        about.number("latencyMs", self.latency_ms as f64);
        about.text("words", self.words);
        let mut event = Fields::default();
        event.text("type", "answered");
        event.put("item", about.object());
        event.number("percent", percent);
        event.number("progress", progress);
        event.text("state", kept);
        compact(&event.object())
    }
}

fn outcome(item: &Item) -> Outcome {
    match (&item.answer, &item.marked) {
        (Some(Answer::Skipped), Some(marked)) if marked.fraction <= 0.0 => Outcome::Unanswered,
        (Some(_), Some(marked)) => round::outcome(marked.fraction),
        _ => Outcome::Unanswered,
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a share from 0 to 1 gives 0 to 100"
)]
fn whole_percent(share: f64) -> u32 {
    (share.clamp(0.0, 1.0) * 100.0).round() as u32
}

/// The unfinished round as a course system keeps it.
pub(super) fn kept(round: &Round) -> String {
    let Some(set) = &round.set else {
        return String::new();
    };
    let mut progress = Progress {
        set: set.identity.clone(),
        seed: round.seed,
        attempt: set.attempt,
        started_s: set.started_ms / 1000,
        ..Progress::default()
    };
    for (item, entry) in round.items.iter().zip(&set.asked) {
        let (Some(marked), Some(_)) = (&item.marked, &item.answer) else {
            continue;
        };
        let tries = u32::try_from(entry.tries.len()).unwrap_or(u32::MAX);
        progress.answered.insert(
            entry.place,
            Answered {
                score: whole_percent(marked.fraction),
                first_score: whole_percent(entry.first_score),
                // A question that was passed over counts as tried, or an earlier state would win over it.
                tries: tries.max(1),
                hints: item.hints,
                seconds: u32::try_from(entry.first_ms / 1000).unwrap_or(u32::MAX),
                answers: entry.tries.clone(),
            },
        );
    }
    for (nth, mark) in set
        .pictures
        .iter()
        .flat_map(|pictures| &pictures.marks)
        .enumerate()
        .filter(|(_, mark)| mark.score > 0.0)
    {
        let score = whole_percent(mark.score);
        progress.answered.insert(
            picture_place(&set.set, nth),
            Answered {
                score,
                first_score: score,
                // More tries win when two states are merged; here the better picture has to.
                tries: score.max(1),
                hints: 0,
                seconds: 0,
                answers: Vec::new(),
            },
        );
    }
    // The driver adds a line of its own.
    resume::write(&progress, resume::SCORM_12 - 16)
}
