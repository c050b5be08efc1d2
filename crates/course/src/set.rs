//! Exercise sets, version 1: what a teacher asks, as a JSON file that people can read and write.
//!
//! `schemas/set-1.json` beside this crate describes the format for other programs; [`read()`] holds a file against the same
//! rules and says of every fault where it is, what was found and what was expected.
//!
//! ```json
//! {
//!   "format": "planeward-set",
//!   "version": 1,
//!   "title": "Upper abdomen, first look",
//!   "body": "adult_female",
//!   "pass_percent": 80,
//!   "questions": [
//!     { "id": "aorta", "kind": "plane_from_picture", "view": { "window": "sagittal_left_aorta_proximal" } },
//!     { "id": "mixed", "draw": { "kinds": ["side", "notch_from_picture"], "count": 6, "difficulty": "easy" } }
//!   ]
//! }
//! ```
//!
//! Fields that this version does not know are kept and written back, so that a file of a later version survives a visit
//! to an earlier program; a *known* field with a wrong value is an error, never a guess. Lengths are millimetres, angles
//! degrees; a view is where the probe stands, as in [`crate::link`].

mod question;
mod read;
mod write;

use anatomy::json::Json;
use geometry::{ApexSide, BodyPosition, MarkSide};

use crate::link::LinkState;

pub use practice::compose::Step;
pub use practice::{Fault as FaultKind, Kind, Level, PlaneClass};
pub use question::{Acquire, Asked, Difficulty, Drawn, Fixed, Question, View, WantedView};
pub use read::{Reading, read, read_unfinished};
pub use write::{identity, pretty, short};

/// What stands in the field `format`.
pub const FORMAT: &str = "planeward-set";

/// The version that this program reads and writes.
pub const VERSION: u32 = 1;

/// Largest file that is looked at, bytes.
pub const LARGEST: usize = 1 << 20;

/// Most entries in the list of questions.
pub const MOST_ENTRIES: usize = 100;

/// Most questions that one entry may draw, and that a whole set may ask.
pub const MOST_QUESTIONS: u32 = 200;

/// Largest seed: the largest whole number that every reader of JSON keeps exactly.
pub const LARGEST_SEED: u64 = (1 << 53) - 1;

/// In which order questions are asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// As they stand.
    #[default]
    AsWritten,
    /// Shuffled by the seed of the round.
    Shuffled,
}

impl Order {
    /// Words of the file.
    pub const WORDS: [(&'static str, Self); 2] = [
        ("as_written", Self::AsWritten),
        ("shuffled", Self::Shuffled),
    ];
}

/// When the learner is told how an answer was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Feedback {
    /// After each answer.
    #[default]
    AtOnce,
    /// After the last one.
    AtEnd,
}

impl Feedback {
    /// Words of the file.
    pub const WORDS: [(&'static str, Self); 2] =
        [("at_once", Self::AtOnce), ("at_end", Self::AtEnd)];
}

/// An exercise set.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// What it is called, 1 to 200 characters.
    pub title: String,
    /// Language of the teacher's own words, BCP 47: "en".
    pub language: String,
    /// What the learner reads first; may be empty.
    pub description: String,
    /// Identifier of the body of views that name none.
    pub body: String,
    /// How the body lies.
    pub position: BodyPosition,
    /// Side of the image that shows the notch side.
    pub mark: MarkSide,
    /// End of the image that shows the footprint.
    pub apex: ApexSide,
    /// Tolerance of plane names and of marking, 5 to 40 degrees.
    pub tolerance_deg: f64,
    /// Share of the marks from which the set is passed, percent; `None` where nothing is passed or failed.
    pub pass_percent: Option<u32>,
    /// How often the learner may answer each question, 1 to 20.
    pub attempts: u32,
    /// In which order questions are asked.
    pub order: Order,
    /// When the learner is told.
    pub feedback: Feedback,
    /// Whether hints may be asked for.
    pub hints: bool,
    /// The words with which the learner is asked for a label ("Bench number"); `None` where none is asked for, which is
    /// the rule: then the results hold nothing personal.
    pub label: Option<String>,
    /// Whether a course system is told "failed". Some systems turn the whole grade into 0 then, so it is off.
    pub report_failed: bool,
    /// Seed of everything that is drawn or shuffled, so that all learners get the same; `None`: each round its own.
    pub seed: Option<u64>,
    /// The words that annotations are held against, as [`crate::vocabulary`] has it; `None` for the usual ones.
    pub vocabulary: Option<Json>,
    /// The questions.
    pub questions: Vec<Question>,
    /// Pictures that the learner has to acquire.
    pub acquire: Option<Acquire>,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

impl Default for Set {
    fn default() -> Self {
        Self {
            title: String::new(),
            language: "en".to_owned(),
            description: String::new(),
            body: "adult_female".to_owned(),
            position: BodyPosition::Supine,
            mark: MarkSide::Left,
            apex: ApexSide::Top,
            tolerance_deg: 20.0,
            pass_percent: None,
            attempts: 1,
            order: Order::AsWritten,
            feedback: Feedback::AtOnce,
            hints: true,
            label: None,
            report_failed: false,
            seed: None,
            vocabulary: None,
            questions: Vec::new(),
            acquire: None,
            more: Vec::new(),
        }
    }
}

impl Set {
    /// How many questions a learner is asked: a drawn entry counts as often as it draws.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.questions.iter().map(Question::count).sum()
    }

    /// The set with one of its entries alone, and nothing to acquire; `None` where it has none of this name.
    #[must_use]
    pub fn only(&self, id: &str) -> Option<Self> {
        let one = self.questions.iter().find(|question| question.id == id)?;
        Some(Self {
            questions: vec![one.clone()],
            acquire: None,
            ..self.clone()
        })
    }

    /// A view as the scan page opens it: what the view does not say, the set does.
    #[must_use]
    pub fn link_state(&self, view: &View) -> LinkState {
        LinkState {
            body: Some(view.body.clone().unwrap_or_else(|| self.body.clone())),
            window: view.window.clone(),
            pose: view.pose,
            transducer: view.transducer.clone(),
            depth_mm: view.depth_mm,
            mark: self.mark,
            apex: self.apex,
            tolerance_deg: self.tolerance_deg,
            position: self.position,
            ..LinkState::default()
        }
    }

    /// The identifiers of all bodies that the set names, each once, in the order of the set.
    #[must_use]
    pub fn bodies(&self) -> Vec<&str> {
        let mut bodies = vec![&*self.body];
        let views = self.questions.iter().flat_map(Question::views);
        for body in views.filter_map(|view| view.body.as_deref()) {
            if !bodies.contains(&body) {
                bodies.push(body);
            }
        }
        bodies
    }
}
