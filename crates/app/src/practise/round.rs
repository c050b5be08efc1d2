//! A round: which questions, how each was answered.

use practice::annotation::Vocabulary;
use practice::compose::Context;
use practice::generate::{self, Draw, Focus};
use practice::mark::{Marked, mark};
use practice::misconception::{Misconception, named};
use practice::random::SplitMix64;
use practice::record::{Answered, Event, EventId};
use practice::schedule::{Help, MasteryRule, Progress};
use practice::{Answer, Choice, Kind, Level, Question, Skill, Task};

use super::set::{self, SetRound};
use super::{Note, check, note, show};
use crate::action::Changes;
use crate::state::State;

/// Questions of a round.
const ROUND: usize = 10;

/// Options of a usual question, for the choice of a level before the question is there.
const USUAL_WAYS: u32 = 4;

/// What a round is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// To learn: explained at once, with hints.
    Practice,
    /// To see whether somebody is ready: five questions, told at the end.
    Check,
    /// What a teacher's set asks; started by [`super::PractiseAction::StartSet`] alone.
    Set,
}

/// How far a round is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// A worked example is shown.
    Worked,
    /// A question is open.
    Asking,
    /// All questions of a check are open, on one page.
    Sheet,
    /// Its answer is explained.
    Told,
    /// The learner acquires the pictures that a set wants.
    Acquiring,
    /// All are answered.
    Review,
}

/// A question of a round with its answer.
#[derive(Debug, Clone)]
pub struct Item {
    pub(crate) seed: u64,
    pub(crate) question: Question,
    /// Shown before it, with its answer.
    pub(crate) example: Option<Question>,
    pub(crate) first_step: bool,
    pub(crate) chosen: Vec<Option<Choice>>,
    pub(crate) line: String,
    pub(crate) hints: u32,
    pub(crate) answer: Option<Answer>,
    pub(crate) marked: Option<Marked>,
    pub(crate) held: Vec<Misconception>,
    /// What a question of a check shows beside its options; made once, since it never changes.
    pub(crate) figure: Option<Figured>,
    /// What stands beside the stages: the picture before a movement, then what the learner gave.
    pub(crate) given: Option<Figured>,
}

/// A view beside the stages, as it is shown and as it is told.
#[derive(Debug, Clone)]
pub(crate) struct Figured {
    pub(crate) figure: super::FigureView,
    /// The same in words.
    pub(crate) words: String,
}

impl Item {
    /// The question.
    #[must_use]
    pub fn question(&self) -> &Question {
        &self.question
    }

    /// Its marks, once it is answered.
    #[must_use]
    pub fn marked(&self) -> Option<&Marked> {
        self.marked.as_ref()
    }

    /// Takes and marks an answer; what the record says of it.
    pub(super) fn take(&mut self, answer: Answer, context: &Context<'_>) -> Event {
        let question = &self.question;
        let marked = mark(question, &answer, self.hints, context);
        self.held = named(question, &answer, context);
        let event = Event::Answered(Answered {
            skill: question.skill(),
            level: question.level,
            seed: self.seed,
            body: question.view.body.clone(),
            first_try: true,
            score: marked.fraction,
            hints: self.hints,
            ways: question.ways(),
            misconception: self.held.first().copied(),
        });
        self.answer = Some(answer);
        self.marked = Some(marked);
        event
    }
}

/// A round.
#[derive(Debug, Clone)]
pub struct Round {
    pub(crate) seed: u64,
    pub(crate) purpose: Purpose,
    pub(crate) items: Vec<Item>,
    pub(crate) at: usize,
    pub(crate) stage: Stage,
    /// When it began, milliseconds since 1970 (UTC), where the learner wants to see the time it takes.
    pub(crate) clock_ms: Option<u64>,
    /// When it was finished, milliseconds since 1970 (UTC).
    pub(crate) ended_ms: Option<u64>,
    /// The set that it is of.
    pub(crate) set: Option<Box<SetRound>>,
    /// Questions left open were told once already.
    pub(crate) told_open: bool,
}

impl Round {
    /// How far it is.
    #[must_use]
    pub fn stage(&self) -> Stage {
        self.stage
    }

    /// The question that is open or was last told.
    #[must_use]
    pub fn item(&self) -> Option<&Item> {
        self.items.get(self.at)
    }

    /// The set that it is of.
    #[must_use]
    pub fn set(&self) -> Option<&SetRound> {
        self.set.as_deref()
    }

    /// Name and text of the result file of a set's round, also of one that is not over.
    #[must_use]
    pub fn result_file(&self) -> Option<(String, String)> {
        set::result_file(self)
    }

    /// The unfinished round of a set as text, to be taken up again; empty for other rounds.
    #[must_use]
    pub fn unfinished(&self) -> String {
        set::kept(self)
    }

    /// Whether it is the round of a set.
    pub(crate) fn is_of_a_set(&self) -> bool {
        self.set.is_some()
    }

    /// Whether answers are told at the end only.
    pub(super) fn is_silent(&self) -> bool {
        self.set.as_ref().is_some_and(|set| set.is_silent())
    }

    /// All questions.
    #[must_use]
    pub fn items(&self) -> &[Item] {
        &self.items
    }

    /// The question on show: the worked example before its question.
    pub(crate) fn on_show(&self) -> Option<&Question> {
        let item = self.item()?;
        match self.stage {
            Stage::Worked => item.example.as_ref(),
            _ => Some(&item.question),
        }
    }
}

/// The words of annotations, where they are here.
pub(super) fn vocabulary(state: &State) -> Option<&Vocabulary> {
    state.examination.vocabulary.as_deref()
}

pub(super) fn progress(state: &State) -> Progress {
    Progress::of(
        &state.practise.record.attempts(),
        MasteryRule::default(),
        state.practise.record.exam_ms(),
    )
}

/// The skills that can be asked about now.
pub(super) fn available(state: &State) -> Vec<Skill> {
    let Some(body) = state.body() else {
        return Vec::new();
    };
    let words = vocabulary(state).is_some();
    generate::skills(body)
        .into_iter()
        .filter(|skill| words || skill.kind != Kind::Annotate)
        .filter(|skill| state.practise.only.is_none_or(|kind| kind == skill.kind))
        .collect()
}

pub(super) fn start(state: &mut State, seed: u64, now_ms: u64, purpose: Purpose) -> Changes {
    state.practise.now_ms = state.practise.now_ms.max(now_ms);
    if state.body().is_none() {
        return note(&mut state.practise, Note::Waiting);
    }
    let items = match purpose {
        Purpose::Practice => practice_items(state, seed, now_ms),
        Purpose::Check => check::items(state, seed),
        Purpose::Set => Vec::new(),
    };
    if items.is_empty() {
        return note(&mut state.practise, Note::NoQuestions);
    }
    let stage = match purpose {
        Purpose::Check => Stage::Sheet,
        Purpose::Practice | Purpose::Set => first_stage(items.first()),
    };
    let timed = state.practise.timed && purpose == Purpose::Practice;
    state.practise.note = None;
    state.practise.round = Some(Round {
        seed,
        purpose,
        items,
        at: 0,
        stage,
        clock_ms: timed.then_some(now_ms),
        ended_ms: None,
        set: None,
        told_open: false,
    });
    let changes = show::question(state);
    check::figures(state);
    changes
}

fn first_stage(item: Option<&Item>) -> Stage {
    if item.is_some_and(|item| item.example.is_some()) {
        Stage::Worked
    } else {
        Stage::Asking
    }
}

fn practice_items(state: &State, seed: u64, now_ms: u64) -> Vec<Item> {
    let progress = progress(state);
    let skills = progress.round(&available(state), ROUND, now_ms, seed);
    let mut met: Vec<Kind> = Vec::new();
    let mut items = Vec::new();
    for (number, skill) in (0_u64..).zip(skills) {
        let own = SplitMix64::stream(seed, number).bits();
        let level = progress.level(skill, USUAL_WAYS);
        let Some(question) = drawn(state, own, skill, level) else {
            continue;
        };
        let first = !met.contains(&skill.kind);
        met.push(skill.kind);
        let help = progress.help(skill.kind);
        let example = if first && help == Help::Worked {
            let other = SplitMix64::stream(own, 1).bits();
            drawn(state, other, skill, Level::Easy)
        } else {
            None
        };
        items.push(item(own, question, example, help != Help::None));
    }
    items
}

pub(super) fn item(
    seed: u64,
    question: Question,
    example: Option<Question>,
    first_step: bool,
) -> Item {
    Item {
        seed,
        chosen: vec![None; question.parts().len()],
        question,
        example,
        first_step,
        line: String::new(),
        hints: 0,
        answer: None,
        marked: None,
        held: Vec::new(),
        figure: None,
        given: None,
    }
}

/// A question that exercises the skill; where none can be had at this level, one of its kind.
fn drawn(state: &State, seed: u64, skill: Skill, level: Level) -> Option<Question> {
    let body = state.body()?;
    let context = Context {
        body,
        vocabulary: vocabulary(state),
    };
    let focus = Focus {
        plane: Some(skill.plane),
        approach: Some(skill.approach),
        layout: Some(skill.layout),
    };
    let plain = Draw::new(seed, skill.kind, level);
    let wanted = Draw { focus, ..plain };
    generate::draw(&wanted, &context)
        .or_else(|_| generate::draw(&plain, &context))
        .ok()
}

fn open_item(state: &mut State) -> Option<&mut Item> {
    let round = state.practise.round.as_mut()?;
    if round.stage != Stage::Asking {
        return None;
    }
    round.items.get_mut(round.at)
}

pub(super) fn understood(state: &mut State) -> Changes {
    match &mut state.practise.round {
        Some(round) if round.stage == Stage::Worked => round.stage = Stage::Asking,
        _ => return Changes::none(),
    }
    show::question(state)
}

pub(super) fn choose(state: &mut State, part: usize, choice: Choice) -> Changes {
    let Some(item) = open_item(state) else {
        return Changes::none();
    };
    let offered = item
        .question
        .parts()
        .get(part)
        .is_some_and(|part| part.options.contains(&choice));
    if offered && let Some(chosen) = item.chosen.get_mut(part) {
        *chosen = Some(choice);
    }
    state.practise.note = None;
    Changes::panels()
}

/// Longest annotation line, characters.
const LONGEST_LINE: usize = 80;

pub(super) fn write(state: &mut State, line: String) -> Changes {
    if let Some(item) = open_item(state) {
        item.line = line.chars().take(LONGEST_LINE).collect();
    }
    Changes::panels()
}

pub(super) fn hint(state: &mut State) -> Changes {
    let allowed = state
        .practise
        .round
        .as_ref()
        .and_then(Round::set)
        .is_none_or(SetRound::has_hints);
    if !allowed {
        return Changes::none();
    }
    let Some(item) = open_item(state) else {
        return Changes::none();
    };
    if item.hints < most_hints(item) {
        item.hints += 1;
    }
    Changes::panels()
}

/// A rule, where it was not given already, and one wrong option struck out.
pub(super) fn most_hints(item: &Item) -> u32 {
    let rule = u32::from(!item.first_step);
    rule + u32::from(struck_out(&item.question).is_some())
}

/// A wrong option of the first part, for the last hint: the one that no misconception predicts is the least use, so it
/// is the first wrong one.
pub(super) fn struck_out(question: &Question) -> Option<Choice> {
    let part = question.parts().first()?;
    if part.options.len() < 3 {
        return None;
    }
    part.options.iter().copied().find(|one| *one != part.right)
}

pub(super) fn submit(state: &mut State, now_ms: u64, nonce: u32) -> Changes {
    let placed = show::placement(state);
    let Some(item) = open_item(state) else {
        return Changes::none();
    };
    let answer = match &item.question.task {
        Task::Choose(_) => {
            let chosen: Option<Vec<Choice>> = item.chosen.iter().copied().collect();
            match chosen {
                Some(chosen) => Answer::Chosen(chosen),
                None => return note(&mut state.practise, Note::ChooseFirst),
            }
        }
        Task::Place { .. } => Answer::Placed(placed),
        Task::Write { .. } => {
            if item.line.trim().is_empty() {
                return note(&mut state.practise, Note::WriteFirst);
            }
            Answer::Written(item.line.clone())
        }
    };
    answered(state, answer, now_ms, nonce)
}

pub(super) fn skip(state: &mut State, now_ms: u64, nonce: u32) -> Changes {
    answered(state, Answer::Skipped, now_ms, nonce)
}

fn answered(state: &mut State, answer: Answer, now_ms: u64, nonce: u32) -> Changes {
    let Some(body) = state.body().cloned() else {
        return Changes::none();
    };
    let words = vocabulary(state).cloned();
    let Some(item) = open_item(state) else {
        return Changes::none();
    };
    let context = Context {
        body: &body,
        vocabulary: words.as_ref(),
    };
    let event = item.take(answer, &context);
    let of_a_set = state
        .practise
        .round
        .as_ref()
        .is_some_and(Round::is_of_a_set);
    let practise = &mut state.practise;
    practise.note = None;
    // The record is the learner's own; the round of a set belongs to the course.
    if !of_a_set {
        practise.record.add(
            EventId {
                at_ms: now_ms,
                nonce,
            },
            event,
        );
        practise.revision += 1;
    }
    if of_a_set && set::answered(state, now_ms) {
        // Another try: the question stays open.
        if let Some(item) = open_item(state) {
            item.answer = None;
            item.marked = None;
            item.held.clear();
        }
        return note(&mut state.practise, Note::TryAgain);
    }
    let silent = state.practise.round.as_ref().is_some_and(Round::is_silent);
    if silent {
        return next(state, now_ms);
    }
    if let Some(round) = &mut state.practise.round {
        round.stage = Stage::Told;
    }
    show::told(state)
}

pub(super) fn next(state: &mut State, now_ms: u64) -> Changes {
    let Some(round) = &mut state.practise.round else {
        return Changes::none();
    };
    if matches!(
        round.stage,
        Stage::Worked | Stage::Acquiring | Stage::Review
    ) {
        return Changes::none();
    }
    if round.item().is_some_and(|item| item.answer.is_none()) {
        return Changes::none();
    }
    if round.at + 1 < round.items.len() {
        // A round that is taken up again may have answers further on.
        let rest = round.items.iter().skip(round.at + 1);
        let open = rest.take_while(|item| item.answer.is_some()).count();
        if round.at + 1 + open < round.items.len() {
            round.at += 1 + open;
            round.stage = first_stage(round.item());
            set::shown(state, now_ms);
            return show::question(state);
        }
    }
    if let Some(changes) = set::to_pictures(state, now_ms) {
        return changes;
    }
    let Some(round) = &mut state.practise.round else {
        return Changes::none();
    };
    round.stage = Stage::Review;
    round.ended_ms = Some(now_ms);
    if round.is_of_a_set() {
        set::finished(state);
        return show::review(state);
    }
    show::review(state)
}

/// Marks of the whole round, 0 to 1.
pub(super) fn fraction(round: &Round) -> f64 {
    let count = f64::from(u32::try_from(round.items.len()).unwrap_or(u32::MAX));
    let sum: f64 = round
        .items
        .iter()
        .filter_map(|item| item.marked.as_ref())
        .map(|marked| marked.fraction)
        .sum();
    if count > 0.0 { sum / count } else { 0.0 }
}
