//! Practice without a screen: the round that is open, what was answered, and what the record says.
//!
//! A question takes over the probe, the setup and the viewpoint of the scan; what was there before comes back when the
//! screen is left. Times and seeds come in with the actions.

mod check;
mod figure;
mod in_words;
mod pictures;
mod review;
mod round;
pub(crate) mod sentences;
mod set;
mod show;
mod told;
mod view;

pub(crate) use check::begin_if_awaited;
pub use figure::{CompareView, FigureView, Still};
pub use pictures::PicturesView;
pub use review::{CardView, ReviewRow, ReviewView};
pub use round::{Item, Purpose, Round, Stage};
pub use set::SetRound;
pub(crate) use set::{body_came, pictures_changed};
pub(crate) use show::{posed, veiled};
pub(crate) use view::practise_view;

pub use told::{PartMarkView, ToldView};
pub use view::{
    ExamView, HomeView, KindRow, OptionView, PartView, PractiseView, QuestionView, SheetView,
    WriteView, time_words,
};

use std::sync::Arc;

use anatomy::Body;
use course::record;
use course::set::Set;
use geometry::MarkSide;
use practice::record::{Event, EventId, Record};
use practice::{Choice, Kind};

use crate::action::{Action, Changes};
use crate::examine::Examine;
use crate::state::{Snapshot, State};

/// Which screen is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Screen {
    /// The scan.
    #[default]
    Scan,
    /// Practice.
    Practise,
}

/// Where a text of a record comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// The browser's storage, at the start.
    Storage,
    /// The browser's storage, changed by another page of the program.
    OtherPage,
    /// A file.
    File,
}

/// Everything that can happen on the Practise screen.
#[derive(Debug, Clone, PartialEq)]
pub enum PractiseAction {
    /// Open the screen.
    Open,
    /// Go back to the scan, as it was left.
    Close,
    /// A text of a record is here; `None` where there is none (erased by another page).
    RecordCame(Option<String>, Source),
    /// The record could not be kept.
    RecordNotKept,
    /// Erase the record.
    Erase,
    /// Ask only about this kind, or about all.
    Only(Option<Kind>),
    /// Show the time that a round takes, or do not.
    Timed(bool),
    /// Start a round.
    Start {
        /// The seed that everything is drawn from.
        seed: u64,
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
        /// What for.
        purpose: Purpose,
    },
    /// Start the round of a set, or take it up again.
    StartSet {
        /// The set.
        set: Box<Set>,
        /// The seed of a new round.
        seed: u64,
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
        /// What a course system has kept of an earlier visit.
        kept: String,
    },
    /// What the learner typed where a set asks for a label.
    Label(String),
    /// The learner is done with the pictures that a set wants.
    PicturesDone {
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
    },
    /// Leave the round.
    Stop,
    /// The worked example is read.
    Understood,
    /// Choose in a part.
    Choose(usize, Choice),
    /// Choose in a part of a question of a check: number of the question, number of the part.
    ChooseOf(usize, usize, Choice),
    /// Mark all questions of a check.
    Finish {
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
        /// A number drawn for the first event; the others follow it.
        nonce: u32,
    },
    /// What time it is, milliseconds since 1970 (UTC): what is due is told from it.
    Now(u64),
    /// Set the day of the examination, as "2026-12-24", or take it back with an empty text.
    SetExam {
        /// The day.
        date: String,
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
        /// A number drawn for the event.
        nonce: u32,
    },
    /// What stands in the annotation line.
    Write(String),
    /// Answer.
    Submit {
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
        /// A number drawn for the event.
        nonce: u32,
    },
    /// Go on without an answer.
    Skip {
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
        /// A number drawn for the event.
        nonce: u32,
    },
    /// Take a hint.
    Hint,
    /// Show the learner's own pose, or the right one.
    ShowMine(bool),
    /// On to the next question, or to the review.
    Next {
        /// Now, milliseconds since 1970 (UTC).
        now_ms: u64,
    },
    /// Open a question of the round in the scan screen.
    Reopen(usize),
    /// Put the note away.
    Dismiss,
}

/// Something to tell the learner once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// The body is not here yet.
    Waiting,
    /// No question could be had.
    NoQuestions,
    /// A part is not answered.
    ChooseFirst,
    /// Nothing is written.
    WriteFirst,
    /// The answer was not right, and there is another try.
    TryAgain,
    /// These questions of a check, counted from 1, have a part that is not answered.
    LeftOpen(Vec<usize>),
    /// The day of the examination is past.
    ExamIsPast,
    /// So many answers came in from a file.
    Merged(usize),
    /// A file is no record; why.
    NotARecord(String),
    /// The stored text could not be read at all; why.
    Unreadable(String),
    /// So many lines were damaged; number and reason of the first.
    Damaged(usize, usize, String),
    /// The browser keeps nothing.
    NotKept,
    /// The record is erased.
    Erased,
}

/// What is known on the Practise screen.
#[derive(Debug, Clone, Default)]
pub struct Practise {
    pub(crate) screen: Screen,
    pub(crate) record: Record,
    pub(crate) revision: u64,
    pub(crate) damaged: Option<String>,
    pub(crate) note: Option<Note>,
    pub(crate) only: Option<Kind>,
    /// Whether the time that a round takes is shown.
    pub(crate) timed: bool,
    pub(crate) round: Option<Round>,
    /// The seed of the readiness check that a link asks for.
    pub(crate) check_seed: Option<u64>,
    /// The link's check has not begun yet.
    pub(crate) check_waits: bool,
    /// The last known time, milliseconds since 1970 (UTC).
    pub(crate) now_ms: u64,
    /// The scan as it was left.
    pub(crate) before: Option<Box<Snapshot>>,
    /// Whether all that is practised is a teacher's set.
    pub(crate) is_of_a_set: bool,
    /// The bodies that a set asks about.
    pub(crate) shelf: Vec<Arc<Body>>,
    /// A set that waits for them.
    pub(crate) pending: Option<set::Pending>,
}

impl Practise {
    /// Which screen is open.
    #[must_use]
    pub fn screen(&self) -> Screen {
        self.screen
    }

    /// The record as text, to be kept, and a number that rises whenever it has to be kept anew.
    #[must_use]
    pub fn record_text(&self) -> (u64, String) {
        (self.revision, record::write(&self.record))
    }

    /// The number of [`Self::record_text`] alone.
    #[must_use]
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// A stored text that could not be read, to be kept under another name.
    #[must_use]
    pub fn damaged(&self) -> Option<&str> {
        self.damaged.as_deref()
    }

    /// The record.
    #[must_use]
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// What a link says of this screen behind the scan: `screen=practise`, with the seed of a readiness check.
    #[must_use]
    pub(crate) fn link_words(&self) -> Option<String> {
        if self.screen == Screen::Scan {
            return None;
        }
        let round = self.round.as_ref();
        let open = round.filter(|round| round.purpose == Purpose::Check);
        let seed = open.map(|round| round.seed).or(self.check_seed);
        let check = seed.map(|seed| format!("&check={seed}"));
        Some(format!("screen=practise{}", check.unwrap_or_default()))
    }

    /// The seed of the readiness check that a link asks for.
    #[must_use]
    pub fn check_seed(&self) -> Option<u64> {
        self.check_seed
    }

    /// The open round.
    #[must_use]
    pub fn round(&self) -> Option<&Round> {
        self.round.as_ref()
    }
}

/// What the views leave out while a question is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a part of the screen that is there or not"
)]
pub struct Veil {
    /// The body view is shown.
    pub body: bool,
    /// The picture is shown.
    pub picture: bool,
    /// The letters at the picture's sides are shown.
    pub letters: bool,
    /// Top and bottom letters are exchanged.
    pub exchanged: bool,
    /// The mark is shown, at its place or at this one.
    pub mark: bool,
    /// The side at which the mark is drawn, where that is not the layout's own.
    pub mark_at: Option<MarkSide>,
    /// Names of structures and of the plane are shown.
    pub names: bool,
    /// The probe may be moved.
    pub moves: bool,
}

impl Veil {
    /// Everything is shown.
    pub const OPEN: Self = Self {
        body: true,
        picture: true,
        letters: true,
        exchanged: false,
        mark: true,
        mark_at: None,
        names: true,
        moves: true,
    };
}

/// Applies an action; total like [`crate::update()`].
pub(crate) fn update(state: &mut State, action: PractiseAction) -> Changes {
    let changes = match action {
        PractiseAction::Open => show::open(state),
        PractiseAction::RecordCame(text, source) => record_came(&mut state.practise, text, source),
        PractiseAction::RecordNotKept => note(&mut state.practise, Note::NotKept),
        PractiseAction::Erase => {
            let practise = &mut state.practise;
            practise.record = Record::new();
            practise.damaged = None;
            practise.revision += 1;
            note(practise, Note::Erased)
        }
        PractiseAction::Only(kind) => {
            state.practise.only = kind;
            Changes::panels()
        }
        PractiseAction::Timed(shown) => {
            state.practise.timed = shown;
            Changes::panels()
        }
        PractiseAction::Start {
            seed,
            now_ms,
            purpose,
        } => round::start(state, seed, now_ms, purpose),
        PractiseAction::StartSet {
            set,
            seed,
            now_ms,
            kept,
        } => set::start(state, &set, seed, now_ms, &kept),
        PractiseAction::Label(label) => set::label(state, &label),
        PractiseAction::PicturesDone { now_ms } => set::pictures_done(state, now_ms),
        // The round of a set is all that its page has.
        PractiseAction::Stop | PractiseAction::Close
            if state
                .practise
                .round
                .as_ref()
                .is_some_and(Round::is_of_a_set) =>
        {
            Changes::none()
        }
        PractiseAction::Stop => {
            state.practise.round = None;
            show::home(state)
        }
        PractiseAction::Close => show::close(state),
        PractiseAction::Understood => round::understood(state),
        PractiseAction::Choose(part, choice) => round::choose(state, part, choice),
        PractiseAction::ChooseOf(number, part, choice) => {
            check::choose(state, number, part, choice)
        }
        PractiseAction::Finish { now_ms, nonce } => check::finish(state, now_ms, nonce),
        PractiseAction::Now(now_ms) => {
            state.practise.now_ms = now_ms;
            Changes::panels()
        }
        PractiseAction::SetExam {
            date,
            now_ms,
            nonce,
        } => set_exam(&mut state.practise, &date, now_ms, nonce),
        PractiseAction::Write(line) => round::write(state, line),
        PractiseAction::Submit { now_ms, nonce } => round::submit(state, now_ms, nonce),
        PractiseAction::Skip { now_ms, nonce } => round::skip(state, now_ms, nonce),
        PractiseAction::Hint => round::hint(state),
        PractiseAction::ShowMine(mine) => show::show_mine(state, mine),
        PractiseAction::Next { now_ms } => round::next(state, now_ms),
        PractiseAction::Reopen(number) => show::reopen(state, number),
        PractiseAction::Dismiss => {
            state.practise.note = None;
            return Changes::panels();
        }
    };
    Changes {
        panels: true,
        ..changes
    }
}

fn note(practise: &mut Practise, note: Note) -> Changes {
    practise.note = Some(note);
    Changes::panels()
}

/// A day that cannot be read, or one of a year that is still being typed, changes nothing.
fn set_exam(practise: &mut Practise, date: &str, now_ms: u64, nonce: u32) -> Changes {
    /// 2000-01-01, milliseconds since 1970.
    const EARLIEST_MS: u64 = 946_684_800_000;
    practise.now_ms = now_ms;
    let day_ms = record::day_ms(date).filter(|day| *day >= EARLIEST_MS);
    if (day_ms.is_none() && !date.is_empty()) || day_ms == practise.record.exam_ms() {
        return Changes::panels();
    }
    let id = EventId {
        at_ms: now_ms,
        nonce,
    };
    practise.record.add(id, Event::Exam { day_ms });
    practise.revision += 1;
    practise.note = day_ms
        .is_some_and(|day| day <= now_ms)
        .then_some(Note::ExamIsPast);
    Changes::panels()
}

fn record_came(practise: &mut Practise, text: Option<String>, source: Source) -> Changes {
    let Some(text) = text else {
        if source == Source::OtherPage {
            practise.record = Record::new();
        }
        return Changes::panels();
    };
    match record::read(&text) {
        Ok(reading) => {
            let new = practise.record.merge(&reading.record);
            let first = reading.set_aside.first();
            if let Some(first) = first {
                practise.note = Some(Note::Damaged(
                    reading.set_aside.len(),
                    first.line,
                    first.reason.clone(),
                ));
                practise.damaged = Some(text);
            } else if source == Source::File {
                practise.note = Some(Note::Merged(new));
            }
            // What came from the storage is there already, unless it has to be written without its damage.
            if source == Source::File || !reading.set_aside.is_empty() {
                practise.revision += 1;
            }
        }
        Err(error) if source == Source::File => {
            practise.note = Some(Note::NotARecord(error.to_string()));
        }
        Err(error) => {
            practise.note = Some(Note::Unreadable(error.to_string()));
            practise.damaged = Some(text);
            practise.revision += 1;
        }
    }
    Changes::panels()
}

/// Takes over what a link says of this screen: `screen=practise` opens it, `check=7` names the seed of a readiness check.
/// A seed that is no number is passed over, as other unknown words of a link are.
pub(crate) fn follow_link(state: &mut State, fragment: &str) {
    let word = |key: &str| {
        fragment
            .trim_start_matches('#')
            .trim_start_matches(course::link::VERSION)
            .split('&')
            .find_map(|part| part.strip_prefix(key)?.strip_prefix('='))
    };
    state.practise.check_seed = word("check").and_then(|seed| seed.parse().ok());
    let wanted = word("screen") == Some("practise");
    state.practise.before = None;
    state.practise.check_waits = wanted && state.practise.check_seed.is_some();
    if wanted {
        state.practise.screen = Screen::Practise;
        state.practise.round = None;
        // What was there before is the link's own view, once the body is here to show it.
        remember_scan(state);
    } else {
        state.practise.screen = Screen::Scan;
    }
}

/// The scan as it is becomes what the screen goes back to, when nothing else is.
pub(crate) fn remember_scan(state: &mut State) {
    let practise = &state.practise;
    if practise.screen == Screen::Practise && practise.round.is_none() {
        state.practise.before = Some(Box::new(state.snapshot()));
    }
}

/// Whether an action would move what an open question shows, or choose the answer for the learner.
pub(crate) fn forbids(state: &State, action: &Action) -> bool {
    if state.practise.screen == Screen::Scan || state.practise.round.is_none() {
        return false;
    }
    let chooses = matches!(
        action,
        Action::PickWindow(_)
            | Action::ChooseBody(_)
            | Action::ChooseTransducer(_)
            | Action::SetMark(_)
            | Action::SetApex(_)
            | Action::SetTolerance(_)
            | Action::SetPosition(_)
            | Action::SetSeat(_)
            | Action::ChooseStructure(_)
            | Action::Reset
    );
    let moves = matches!(
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
            | Action::Undo
            | Action::Redo
            | Action::SetDepth(_)
            | Action::DepthStep(_)
    );
    // Pictures are frozen and acquired where a set wants them; elsewhere that would hold the probe of a question.
    let acquires = matches!(
        action,
        Action::Examine(
            Examine::Freeze
                | Examine::SwitchFreeze
                | Examine::Acquire(_)
                | Examine::Check
                | Examine::Request(_)
                | Examine::OpenFinish
                | Examine::GoTo(_)
        )
    );
    if pictures::is_open(state) {
        let own_choice = matches!(action, Action::ChooseTransducer(_) | Action::SetSeat(_));
        let own_list = matches!(
            action,
            Action::Examine(Examine::Request(_) | Examine::OpenFinish)
        );
        return (chooses && !own_choice) || own_list;
    }
    chooses || acquires || (moves && !state.veil().moves)
}
