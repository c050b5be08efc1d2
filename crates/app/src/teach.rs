//! The workshop of exercise sets: what a teacher has put together, and what can be done to it.
//!
//! It stands beside [`State`], which it reads for the view that a question is about and for the body that questions are
//! tried on. Everything is total: an action that means nothing leaves the set as it was.

mod checks;
mod quiz;
mod view;

use course::set::{
    self, Acquire, Asked, Difficulty, Drawn, Feedback, Order, Question, Set, View, WantedView,
};
use geometry::{ApexSide, BodyPosition, ImageSide, MarkSide, PatientSide, PlaneName};
use picture::{Press, contents, press_section};
use practice::acquisition::Facts;
use practice::{Kind, Level, PlaneClass};

use crate::address;
use crate::state::{BODIES, State};
use crate::views::exact_naming;
use checks::Checks;

pub use quiz::{Draft, Quiz, quiz};
pub use view::{AcquireForm, DrawnForm, EntryForm, EntryView, Option3, Settings, TeachView};

/// Most steps that can be taken back.
const LONGEST_UNDO: usize = 100;

/// What is being put together.
#[derive(Debug, Clone)]
pub struct Teach {
    set: Set,
    chosen: Option<usize>,
    undo: Vec<Set>,
    redo: Vec<Set>,
    /// What is wrong with a file that was opened last, or what was not understood in it.
    notes: Vec<String>,
    checks: Checks,
}

/// What a teacher can do.
#[derive(Debug, Clone, PartialEq)]
pub enum TeachAction {
    /// An empty set.
    New,
    /// A set from a file.
    Open(Vec<u8>),
    /// The set as it was kept in the making ([`Teach::kept`]), or a link.
    OpenKept(String),
    /// Its name.
    Title(String),
    /// What learners read first.
    Description(String),
    /// Percent of the marks from which it is passed; `None` where nothing is passed.
    Pass(Option<u32>),
    /// How often each question may be answered.
    Attempts(u32),
    /// Tolerance, degrees.
    Tolerance(f64),
    /// Whether questions are shuffled.
    Shuffle(bool),
    /// Whether learners are told at the end only.
    TellAtEnd(bool),
    /// Whether hints may be asked for.
    Hints(bool),
    /// The words with which learners are asked for a label; empty for none.
    Label(String),
    /// The body of views that name none, and of pictures to acquire.
    Body(String),
    /// How the body lies.
    Position(BodyPosition),
    /// Side of the image that shows the notch side.
    Mark(MarkSide),
    /// End of the image that shows the footprint.
    Apex(ApexSide),
    /// Language of the teacher's own words.
    Language(String),
    /// The seed that all learners get; `None`: each round its own.
    Seed(Option<u64>),
    /// Whether a course system is told "failed".
    ReportFailed(bool),
    /// The list of pictures to acquire: one of the program's, the teacher's own, or none.
    Acquire(Wanted),
    /// The view on the page becomes a picture to acquire.
    AcquireView,
    /// Take a picture off the list.
    AcquireRemove(usize),
    /// Ask this about the view on the page.
    Add(Kind),
    /// Questions that are drawn.
    AddDrawn,
    /// Open an entry for changes.
    Choose(Option<usize>),
    /// Take an entry away.
    Remove(usize),
    /// Put an entry at another place.
    Move {
        /// Where it is.
        from: usize,
        /// Where it goes.
        to: usize,
    },
    /// A second one like it.
    Copy(usize),
    /// The view on the page becomes the entry's.
    TakeView(usize),
    /// Another kind for an entry.
    Kind(usize, Kind),
    /// Own wording of an entry; empty for the program's.
    Prompt(usize, String),
    /// Own hint of an entry; empty for the program's.
    Hint(usize, String),
    /// Marks of an entry.
    Points(usize, u32),
    /// The side of the image that is asked for; `None` for the one with the mark.
    Side(usize, Option<ImageSide>),
    /// The structure that is asked about; `None` for the window's first.
    Structure(usize, Option<String>),
    /// How many are drawn.
    Count(usize, u32),
    /// Which kinds are drawn; `None` for all.
    DrawnKind(usize, Option<Kind>),
    /// How hard drawn ones are.
    Difficulty(usize, Difficulty),
    /// Only this plane is drawn.
    Plane(usize, Option<PlaneClass>),
    /// Only from this side.
    Approach(usize, Option<PatientSide>),
    /// Take back.
    Undo,
    /// Do again.
    Redo,
}

/// Which pictures a set wants acquired.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// None.
    Nothing,
    /// A list of the program, by its key.
    List(String),
    /// The teacher's own; it begins with the view on the page.
    Own,
}

impl Default for Teach {
    fn default() -> Self {
        Self {
            set: empty(),
            chosen: None,
            undo: Vec::new(),
            redo: Vec::new(),
            notes: Vec::new(),
            checks: Checks::default(),
        }
    }
}

fn empty() -> Set {
    Set {
        title: String::new(),
        pass_percent: Some(80),
        ..Set::default()
    }
}

impl Teach {
    /// The set as it is now.
    #[must_use]
    pub fn set(&self) -> &Set {
        &self.set
    }

    /// The set as learners get it: one without a title has the name `untitled`.
    #[must_use]
    pub fn given(&self, untitled: &str) -> Set {
        let mut given = self.set.clone();
        if given.title.trim().is_empty() {
            untitled.clone_into(&mut given.title);
        }
        given
    }

    /// The set in the making as a text, whatever it still lacks.
    #[must_use]
    pub fn kept(&self) -> String {
        set::pretty(&self.set)
    }

    /// The view of an entry as the fragment of an address; `None` for one that is drawn.
    #[must_use]
    pub fn fragment(&self, entry: usize) -> Option<String> {
        let Asked::Fixed(fixed) = &self.set.questions.get(entry)?.asked else {
            return None;
        };
        Some(course::link::write(&self.set.link_state(&fixed.view)))
    }

    /// Applies `action`; returns whether the set or what is shown of it changed.
    pub fn update(&mut self, action: TeachAction, state: &State) -> bool {
        match action {
            TeachAction::Undo => self.step(true),
            TeachAction::Redo => self.step(false),
            TeachAction::Choose(entry) => {
                self.chosen = entry.filter(|entry| *entry < self.set.questions.len());
                true
            }
            TeachAction::Open(bytes) => {
                let read = set::read(&bytes);
                self.take(read.map_err(|faults| faults.iter().map(ToString::to_string).collect()))
            }
            TeachAction::OpenKept(text) => {
                let read = if text.starts_with('{') {
                    set::read_unfinished(text.as_bytes())
                        .map_err(|faults| faults.iter().map(ToString::to_string).collect())
                } else {
                    course::share::read_set_link(&text).map_err(|error| vec![error.to_string()])
                };
                self.take(read)
            }
            other => {
                let mut next = self.set.clone();
                let chosen = change(&mut next, &other, state);
                if let Some(chosen) = chosen {
                    self.chosen = chosen;
                }
                self.put(next)
            }
        }
    }

    /// Takes over a set that was read, or says what is wrong with it; the present one is then kept.
    fn take(&mut self, read: Result<set::Reading, Vec<String>>) -> bool {
        match read {
            Ok(reading) => {
                self.notes = reading
                    .unknown
                    .iter()
                    .map(|field| match field.like {
                        Some(like) => format!(
                            "\"{}\" means nothing here; did you mean \"{like}\"?",
                            field.path
                        ),
                        None => format!("\"{}\" means nothing here; it is kept.", field.path),
                    })
                    .collect();
                self.chosen = None;
                self.put(reading.set);
            }
            Err(faults) => self.notes = faults,
        }
        true
    }

    fn put(&mut self, next: Set) -> bool {
        let last = next.questions.len().checked_sub(1);
        self.chosen = self.chosen.and_then(|chosen| Some(chosen.min(last?)));
        if next == self.set {
            return false;
        }
        self.undo.push(std::mem::replace(&mut self.set, next));
        if self.undo.len() > LONGEST_UNDO {
            self.undo.remove(0);
        }
        self.redo.clear();
        true
    }

    fn step(&mut self, back: bool) -> bool {
        let (from, to) = if back {
            (&mut self.undo, &mut self.redo)
        } else {
            (&mut self.redo, &mut self.undo)
        };
        let Some(set) = from.pop() else { return false };
        to.push(std::mem::replace(&mut self.set, set));
        self.chosen = None;
        true
    }
}

/// A text that a file can hold: at most so many characters, and none that control a printer.
fn typed(text: &str, most: usize) -> String {
    let held = |c: &char| !c.is_control() || matches!(c, '\n' | '\t');
    text.chars().filter(held).take(most).collect()
}

/// Does an action to a set; returns what is chosen afterwards where that changes.
fn change(set: &mut Set, action: &TeachAction, state: &State) -> Option<Option<usize>> {
    let words = |text: &String, most: usize| -> Option<String> {
        let text = typed(text, most);
        (!text.trim().is_empty()).then_some(text)
    };
    match action {
        TeachAction::New => {
            *set = empty();
            return Some(None);
        }
        TeachAction::Title(text) => set.title = typed(text, 200),
        TeachAction::Description(text) => set.description = typed(text, 2000),
        TeachAction::Pass(percent) => set.pass_percent = percent.map(|percent| percent.min(100)),
        TeachAction::Attempts(times) => set.attempts = (*times).clamp(1, 20),
        TeachAction::Tolerance(degrees) => {
            if let Ok(tolerance) = geometry::check_tolerance(*degrees) {
                set.tolerance_deg = thousandths(tolerance.to_deg());
            }
        }
        TeachAction::Shuffle(shuffled) => {
            set.order = if *shuffled {
                Order::Shuffled
            } else {
                Order::AsWritten
            };
        }
        TeachAction::TellAtEnd(at_end) => {
            set.feedback = if *at_end {
                Feedback::AtEnd
            } else {
                Feedback::AtOnce
            };
        }
        TeachAction::Hints(allowed) => set.hints = *allowed,
        TeachAction::Label(text) => set.label = words(text, 100),
        TeachAction::Body(id) => {
            if BODIES.contains(&id.as_str()) && *id != set.body {
                change_body(set, id);
            }
        }
        TeachAction::Position(position) => set.position = *position,
        TeachAction::Mark(mark) => set.mark = *mark,
        TeachAction::Apex(apex) => set.apex = *apex,
        TeachAction::Language(tag) => {
            let plain = |b: u8| b.is_ascii_alphanumeric() || b == b'-';
            let tag = tag.trim();
            if (2..=35).contains(&tag.len()) && tag.bytes().all(plain) {
                tag.clone_into(&mut set.language);
            }
        }
        TeachAction::Seed(seed) => set.seed = seed.map(|seed| seed & set::LARGEST_SEED),
        TeachAction::ReportFailed(told) => set.report_failed = *told,
        TeachAction::Acquire(Wanted::Nothing) => set.acquire = None,
        TeachAction::Acquire(Wanted::List(id)) => {
            if practice::acquisition::request(id).is_some() {
                set.acquire = Some(Acquire {
                    list: Some(id.clone()),
                    ..Acquire::default()
                });
            }
        }
        TeachAction::Acquire(Wanted::Own) => {
            if set
                .acquire
                .as_ref()
                .is_none_or(|wanted| wanted.list.is_some())
            {
                set.acquire = None;
                acquire_view(set, state);
            }
        }
        TeachAction::AcquireView => acquire_view(set, state),
        TeachAction::AcquireRemove(place) => {
            if let Some(wanted) = &mut set.acquire
                && *place < wanted.views.len()
            {
                wanted.views.remove(*place);
            }
            if set
                .acquire
                .as_ref()
                .is_some_and(|wanted| wanted.list.is_none() && wanted.views.is_empty())
            {
                set.acquire = None;
            }
        }
        TeachAction::Add(kind) => return add(set, *kind, state),
        TeachAction::AddDrawn => return add_drawn(set),
        TeachAction::Remove(entry) => {
            if *entry < set.questions.len() {
                set.questions.remove(*entry);
            }
            return Some(None);
        }
        TeachAction::Move { from, to } => {
            if *from < set.questions.len() && *to < set.questions.len() {
                let question = set.questions.remove(*from);
                set.questions.insert(*to, question);
                return Some(Some(*to));
            }
        }
        TeachAction::Copy(entry) => {
            if set.questions.len() < set::MOST_ENTRIES
                && let Some(mut copy) = set.questions.get(*entry).cloned()
            {
                copy.id = free_id(set, stem(&copy.id));
                set.questions.insert(*entry + 1, copy);
                return Some(Some(*entry + 1));
            }
        }
        TeachAction::TakeView(entry) => {
            let view = view_of(set, state);
            if let Some(fixed) = fixed(set, *entry) {
                fixed.view = view;
            }
        }
        TeachAction::Kind(entry, kind) => {
            let subject = subject(state);
            if let Some(fixed) = fixed(set, *entry)
                && (!needs_subject(*kind) || fixed.structure.is_some() || subject.is_some())
            {
                fixed.kind = *kind;
                complete(fixed, subject);
            }
        }
        TeachAction::Prompt(entry, text) => {
            if let Some(question) = set.questions.get_mut(*entry) {
                question.prompt = words(text, 500);
            }
        }
        TeachAction::Hint(entry, text) => {
            if let Some(question) = set.questions.get_mut(*entry) {
                question.hint = words(text, 500);
            }
        }
        TeachAction::Points(entry, points) => {
            if let Some(question) = set.questions.get_mut(*entry) {
                question.points = (*points).clamp(1, 100);
            }
        }
        TeachAction::Side(entry, side) => {
            if let Some(fixed) = fixed(set, *entry) {
                fixed.side = *side;
            }
        }
        TeachAction::Structure(entry, structure) => {
            if let Some(fixed) = fixed(set, *entry) {
                fixed.structure.clone_from(structure);
            }
        }
        TeachAction::Count(entry, count) => {
            if let Some(drawn) = drawn(set, *entry) {
                drawn.count = (*count).clamp(1, 50);
            }
        }
        TeachAction::DrawnKind(entry, kind) => {
            if let Some(drawn) = drawn(set, *entry) {
                drawn.kinds = kind.map_or_else(every_kind, |kind| vec![kind]);
            }
        }
        TeachAction::Difficulty(entry, difficulty) => {
            if let Some(drawn) = drawn(set, *entry) {
                drawn.difficulty = *difficulty;
            }
        }
        TeachAction::Plane(entry, plane) => {
            if let Some(drawn) = drawn(set, *entry) {
                drawn.plane = *plane;
            }
        }
        TeachAction::Approach(entry, approach) => {
            if let Some(drawn) = drawn(set, *entry) {
                drawn.approach = *approach;
            }
        }
        TeachAction::Open(_)
        | TeachAction::OpenKept(_)
        | TeachAction::Choose(_)
        | TeachAction::Undo
        | TeachAction::Redo => {}
    }
    None
}

/// Views that named no body stay on the one that they were made for.
fn change_body(set: &mut Set, id: &str) {
    let before = std::mem::replace(&mut set.body, id.to_owned());
    for question in &mut set.questions {
        if let Asked::Fixed(fixed) = &mut question.asked {
            for view in std::iter::once(&mut fixed.view).chain(&mut fixed.start) {
                let own = view.body.take().unwrap_or_else(|| before.clone());
                view.body = (own != id).then_some(own);
            }
        }
    }
}

/// Most pictures that a set may ask for.
const MOST_PICTURES: usize = 60;

/// The view on the page as a picture to acquire: what it is of, its plane where that has a name, else how it runs to the
/// structure, and the part at its middle.
fn acquire_view(set: &mut Set, state: &State) {
    let Some((subject, body)) = subject(state).zip(state.body()) else {
        return;
    };
    if body.id() != set.body {
        if !set.questions.is_empty() || set.acquire.is_some() {
            return;
        }
        body.id().clone_into(&mut set.body);
    }
    let (plane, field) = (state.plane(), state.field());
    let mut section = body.section(&plane);
    let mut press = Press::default();
    press_section(body, &field, &mut section, &mut press);
    let seen = contents(body, &section, &field).under(&press);
    let name = exact_naming(state).name;
    let facts = Facts::of(body, &plane, &field, name, &seen);
    let shown = facts.shown.iter().find(|shown| shown.id == subject);
    let named = match name {
        PlaneName::Named(plane) => Some(plane),
        PlaneName::Oblique(_) => None,
    };
    let view = WantedView {
        plane: named,
        axis: shown
            .and_then(|shown| shown.axis)
            .filter(|_| named.is_none()),
        segment: shown.and_then(|shown| Some(shown.segment.as_ref()?.0.clone())),
        divides_into: Vec::new(),
        more: Vec::new(),
        subject,
    };
    let wanted = set.acquire.get_or_insert_default();
    wanted.list = None;
    if wanted.views.len() < MOST_PICTURES && !wanted.views.contains(&view) {
        wanted.views.push(view);
    }
}

fn add(set: &mut Set, kind: Kind, state: &State) -> Option<Option<usize>> {
    if set.questions.len() >= set::MOST_ENTRIES {
        return None;
    }
    let subject = subject(state);
    if needs_subject(kind) && subject.is_none() {
        return None;
    }
    if set.questions.is_empty() {
        // The first view decides on which body, how it lies and how the picture is shown.
        state.body_id().clone_into(&mut set.body);
        set.position = state.position();
        set.mark = state.convention().mark;
        set.apex = state.convention().apex;
        set.tolerance_deg = thousandths(state.tolerance().to_deg());
    }
    let view = view_of(set, state);
    let id = free_id(set, kind.key());
    let mut question = Question::fixed(&id, kind, view);
    if let Asked::Fixed(fixed) = &mut question.asked {
        complete(fixed, subject);
    }
    set.questions.push(question);
    Some(Some(set.questions.len() - 1))
}

fn add_drawn(set: &mut Set) -> Option<Option<usize>> {
    if set.questions.len() >= set::MOST_ENTRIES {
        return None;
    }
    let id = free_id(set, "drawn");
    let mut question = Question::fixed(&id, Kind::Side, View::default());
    question.asked = Asked::Drawn(Drawn {
        kinds: every_kind(),
        count: 5,
        difficulty: Difficulty::Of(Level::Easy),
        plane: None,
        approach: None,
        seed: None,
        more: Vec::new(),
    });
    set.questions.push(question);
    Some(Some(set.questions.len() - 1))
}

/// Kinds that need nothing of the teacher, in the order of menus.
fn every_kind() -> Vec<Kind> {
    Kind::ALL
        .into_iter()
        .filter(|kind| *kind != Kind::Annotate)
        .collect()
}

/// What the kind needs beside the view; what it must not have goes.
fn complete(fixed: &mut set::Fixed, structure: Option<String>) {
    use practice::compose::Step;
    fixed.side = fixed.side.filter(|_| fixed.kind == Kind::Side);
    let about = matches!(
        fixed.kind,
        Kind::Axis | Kind::Annotate | Kind::PlaceProbe | Kind::FindTheFault
    );
    fixed.structure = fixed.structure.take().or(structure).filter(|_| about);
    fixed.start = fixed
        .start
        .take()
        .filter(|_| fixed.kind == Kind::PlaceProbe);
    fixed.movement = (fixed.kind == Kind::NextMove).then(|| {
        fixed
            .movement
            .unwrap_or(Step::Tilt(geometry::Angle::deg(15.0)))
    });
    fixed.fault = (fixed.kind == Kind::FindTheFault)
        .then(|| fixed.fault.unwrap_or(practice::Fault::NotchReversed));
}

/// Kinds that cannot do without a structure of their own.
fn needs_subject(kind: Kind) -> bool {
    matches!(kind, Kind::Axis | Kind::Annotate)
}

/// What the view on the page is about: the structure that is pointed out, else the window's first one, else what lies in
/// the middle of the picture.
fn subject(state: &State) -> Option<String> {
    let pointed_out = state.chosen().map(str::to_owned);
    let named = || {
        let window = state.window()?;
        let found = state
            .facts()?
            .windows
            .iter()
            .find(|other| other.id == window)?;
        Some(found.must_see.first()?.as_str().to_owned())
    };
    let middle = || {
        let body = state.body()?;
        let bounds = state.field().bounds();
        let centre = [0, 1].map(|k| (bounds.min[k] + bounds.max[k]) / 2.0);
        let found = body.section(&state.plane()).structure_at(body, centre)?;
        Some(body.structure(found.structure?).id.as_str().to_owned())
    };
    pointed_out.or_else(named).or_else(middle)
}

fn thousandths(degrees: f64) -> f64 {
    (degrees * 1000.0).round() / 1000.0
}

/// The view on the page as a question has it.
fn view_of(set: &Set, state: &State) -> View {
    // Files and links hold thousandths; a set in the making holds the same.
    let link = address::link_of(state);
    View {
        body: link.body.filter(|body| *body != set.body),
        pose: link
            .pose
            .filter(|_| link.window.is_none())
            .map(course::link::tidy),
        window: link.window,
        transducer: link.transducer,
        depth_mm: link.depth_mm.map(thousandths),
        more: Vec::new(),
    }
}

fn fixed(set: &mut Set, entry: usize) -> Option<&mut set::Fixed> {
    match &mut set.questions.get_mut(entry)?.asked {
        Asked::Fixed(fixed) => Some(fixed),
        Asked::Drawn(_) => None,
    }
}

fn drawn(set: &mut Set, entry: usize) -> Option<&mut Drawn> {
    match &mut set.questions.get_mut(entry)?.asked {
        Asked::Drawn(drawn) => Some(drawn),
        Asked::Fixed(_) => None,
    }
}

/// A name without the number behind it.
fn stem(id: &str) -> &str {
    id.trim_end_matches(|c: char| c.is_ascii_digit())
        .trim_end_matches('_')
}

/// The first name of this stem that no entry has.
fn free_id(set: &Set, stem: &str) -> String {
    let short: String = stem.chars().take(32).collect();
    (1_u32..)
        .map(|number| format!("{short}_{number}"))
        .find(|id| set.questions.iter().all(|question| question.id != *id))
        .unwrap_or(short)
}
