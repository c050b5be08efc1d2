//! What the workshop shows, as plain values.

use course::round;
use course::set::{Asked, Difficulty, Drawn, Feedback, Fixed, Order, Question, Set, WantedView};
use geometry::{ApexSide, BodyPosition, ImageSide, MarkSide, PatientSide};
use practice::acquisition::requests;
use practice::{Kind, Level, PlaneClass};

use super::checks::Tried;
use super::{Teach, Wanted};
use crate::names;
use crate::state::{BODIES, State};
use crate::texts::{TeachTexts, Texts, fill};
use crate::views::{body_words, list_name, position_words, view_label};

/// A key, its words, and whether it is chosen.
pub type Option3 = (String, String, bool);

/// Settings of the whole set.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Its name.
    pub title: String,
    /// What learners read first.
    pub description: String,
    /// Percent to pass, or none.
    pub pass_percent: Option<u32>,
    /// How often each question may be answered.
    pub attempts: u32,
    /// Tolerance, degrees.
    pub tolerance_deg: f64,
    /// Shuffled.
    pub shuffled: bool,
    /// Told at the end only.
    pub at_end: bool,
    /// Hints may be asked for.
    pub hints: bool,
    /// Words with which a label is asked for; empty for none.
    pub label: String,
    /// Language of the teacher's own words.
    pub language: String,
    /// Whether all learners get the same drawn questions in the same order.
    pub seeded: bool,
    /// Whether a course system is told "failed".
    pub report_failed: bool,
    /// Bodies.
    pub bodies: Vec<Option3>,
    /// How the body lies.
    pub positions: Vec<Option3>,
    /// Sides of the mark.
    pub marks: Vec<Option3>,
    /// Ends of the footprint.
    pub apexes: Vec<Option3>,
}

/// Pictures to acquire.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AcquireForm {
    /// Lists: none, those of the program that fit the body, the teacher's own.
    pub lists: Vec<Option3>,
    /// The views of the list.
    pub views: Vec<String>,
    /// Whether the views can be taken off, and others added.
    pub own: bool,
    /// Why the list cannot be asked for; empty where it can.
    pub trouble: String,
}

/// One line of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct EntryView {
    /// Name in results.
    pub id: String,
    /// What is asked.
    pub name: String,
    /// Where, or how many.
    pub detail: String,
    /// Why it cannot be asked like this, or what is to be known; sentences.
    pub warnings: Vec<String>,
    /// Open for changes.
    pub chosen: bool,
}

/// What can be changed of an entry with a fixed view.
#[derive(Debug, Clone, PartialEq)]
pub struct EntryForm {
    /// Its place in the list.
    pub entry: usize,
    /// Own wording.
    pub prompt: String,
    /// Own hint.
    pub hint: String,
    /// Marks.
    pub points: u32,
    /// Kinds, for one with a fixed view.
    pub kinds: Vec<Option3>,
    /// Sides of the image, where one is asked for.
    pub sides: Vec<Option3>,
    /// Structures, where one is asked about.
    pub structures: Vec<Option3>,
    /// For one that draws.
    pub drawn: Option<DrawnForm>,
}

/// What can be changed of an entry that draws.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnForm {
    /// How many.
    pub count: u32,
    /// Kinds.
    pub kinds: Vec<Option3>,
    /// How hard.
    pub levels: Vec<Option3>,
    /// Planes.
    pub planes: Vec<Option3>,
    /// Sides the probe stands on.
    pub approaches: Vec<Option3>,
}

/// Everything.
#[derive(Debug, Clone, PartialEq)]
pub struct TeachView {
    /// Settings.
    pub settings: Settings,
    /// The list.
    pub entries: Vec<EntryView>,
    /// What is open for changes.
    pub form: Option<EntryForm>,
    /// Pictures to acquire.
    pub acquire: AcquireForm,
    /// How many questions learners get, and how many have trouble: a sentence.
    pub summary: String,
    /// Notes about the file that was opened last.
    pub notes: Vec<String>,
    /// A step can be taken back.
    pub can_undo: bool,
    /// A step can be done again.
    pub can_redo: bool,
}

impl TeachView {
    /// Nothing, before there is a state to read.
    #[must_use]
    pub fn empty() -> Self {
        Self {
            settings: Settings {
                title: String::new(),
                description: String::new(),
                pass_percent: None,
                attempts: 1,
                tolerance_deg: 20.0,
                shuffled: false,
                at_end: false,
                hints: true,
                label: String::new(),
                language: String::new(),
                seeded: false,
                report_failed: false,
                bodies: Vec::new(),
                positions: Vec::new(),
                marks: Vec::new(),
                apexes: Vec::new(),
            },
            entries: Vec::new(),
            form: None,
            acquire: AcquireForm::default(),
            summary: String::new(),
            notes: Vec::new(),
            can_undo: false,
            can_redo: false,
        }
    }
}

impl Teach {
    /// What is shown. Questions are tried on the body of `state`, so it may take a moment after a change.
    pub fn view(&mut self, state: &State, texts: &Texts) -> TeachView {
        let words = &texts.teach;
        let own_words = self.set.vocabulary.as_ref();
        let own_words = own_words.and_then(|own| course::vocabulary::from_json(own).ok());
        let vocabulary = own_words
            .as_ref()
            .or(state.examination().vocabulary.as_deref());
        let mut first = 0;
        let mut entries = Vec::new();
        for place in 0..self.set.questions.len() {
            let tried = state.body().map_or(Tried::Fine, |body| {
                self.checks.entry(&self.set, place, first, body, vocabulary)
            });
            let question = &self.set.questions[place];
            entries.push(EntryView {
                id: question.id.clone(),
                name: name(question, words),
                detail: detail(question, state, texts),
                warnings: warnings(tried, words),
                chosen: self.chosen == Some(place),
            });
            first += question.count();
        }
        let troubled = entries
            .iter()
            .filter(|entry| !entry.warnings.is_empty())
            .count();
        let form = self.chosen.and_then(|entry| {
            let question = self.set.questions.get(entry)?;
            Some(form(entry, question, state, words))
        });
        TeachView {
            settings: Settings {
                title: self.set.title.clone(),
                description: self.set.description.clone(),
                pass_percent: self.set.pass_percent,
                attempts: self.set.attempts,
                tolerance_deg: self.set.tolerance_deg,
                shuffled: self.set.order == Order::Shuffled,
                at_end: self.set.feedback == Feedback::AtEnd,
                hints: self.set.hints,
                label: self.set.label.clone().unwrap_or_default(),
                language: self.set.language.clone(),
                seeded: self.set.seed.is_some(),
                report_failed: self.set.report_failed,
                bodies: bodies(&self.set, texts),
                positions: positions(&self.set, texts),
                marks: marks(&self.set, texts),
                apexes: apexes(&self.set, texts),
            },
            acquire: acquire(&self.set, state, texts),
            form,
            summary: summary(first, troubled, words),
            entries,
            notes: self.notes.clone(),
            can_undo: !self.undo.is_empty(),
            can_redo: !self.redo.is_empty(),
        }
    }
}

fn option(key: &str, words: &str, chosen: bool) -> Option3 {
    (key.to_owned(), words.to_owned(), chosen)
}

fn bodies(set: &Set, texts: &Texts) -> Vec<Option3> {
    BODIES
        .map(|id| option(id, body_words(id, &texts.choices), set.body == id))
        .to_vec()
}

fn positions(set: &Set, texts: &Texts) -> Vec<Option3> {
    BodyPosition::ALL
        .map(|position| {
            let words = position_words(position, &texts.choices);
            option(position.key(), words, set.position == position)
        })
        .to_vec()
}

fn marks(set: &Set, texts: &Texts) -> Vec<Option3> {
    let choices = &texts.choices;
    [
        (MarkSide::Left, choices.image_left),
        (MarkSide::Right, choices.image_right),
    ]
    .map(|(side, words)| option(side.word(), words, set.mark == side))
    .to_vec()
}

fn apexes(set: &Set, texts: &Texts) -> Vec<Option3> {
    let choices = &texts.choices;
    [
        (ApexSide::Top, choices.image_top),
        (ApexSide::Bottom, choices.image_bottom),
    ]
    .map(|(end, words)| option(end.word(), words, set.apex == end))
    .to_vec()
}

/// Key of the teacher's own list in the menu; no list of the program is called like that.
const OWN_LIST: &str = "own";

fn acquire(set: &Set, state: &State, texts: &Texts) -> AcquireForm {
    let words = &texts.teach;
    let wanted = set.acquire.as_ref();
    let list = wanted.and_then(|wanted| wanted.list.as_deref());
    let own = wanted.is_some() && list.is_none();
    let mut lists = vec![option("", words.acquire_none, wanted.is_none())];
    lists.extend(requests().iter().map(|request| {
        let name = list_name(&request.id, &texts.examine);
        option(&request.id, name, list == Some(&*request.id))
    }));
    lists.push(option(OWN_LIST, words.acquire_own, own));
    let own_views = || wanted.into_iter().flat_map(|wanted| &wanted.views);
    let subject = |view: &WantedView| names::structure(state.facts(), &view.subject, texts);
    let body = state.body().filter(|body| body.id() == set.body);
    let found = body.map(|body| round::requested(set, body));
    let (views, trouble) = match found {
        Some(Ok(Some(request))) => {
            let label = |view| view_label(state, view, texts);
            (request.views.iter().map(label).collect(), String::new())
        }
        Some(Err(refused)) => {
            let trouble = fill(words.trouble, &[&refused.to_string()]);
            (own_views().map(subject).collect(), trouble)
        }
        Some(Ok(None)) => (Vec::new(), String::new()),
        None => {
            let other = if wanted.is_some() {
                words.acquire_other_body
            } else {
                ""
            };
            (own_views().map(subject).collect(), other.to_owned())
        }
    };
    AcquireForm {
        lists,
        views,
        own,
        trouble,
    }
}

fn summary(questions: u32, troubled: usize, words: &TeachTexts) -> String {
    let count = match questions {
        0 => words.no_questions.to_owned(),
        1 => words.one_question.to_owned(),
        many => fill(words.many_questions, &[&many.to_string()]),
    };
    match troubled {
        0 => count,
        1 => format!("{count} {}", words.one_trouble),
        many => format!(
            "{count} {}",
            fill(words.many_troubles, &[&many.to_string()])
        ),
    }
}

fn warnings(tried: Tried, words: &TeachTexts) -> Vec<String> {
    match tried {
        Tried::Fine => Vec::new(),
        Tried::Trouble(reason) => vec![fill(words.trouble, &[&reason])],
        Tried::OtherBody => vec![words.other_body.to_owned()],
    }
}

fn name(question: &Question, words: &TeachTexts) -> String {
    match &question.asked {
        Asked::Fixed(fixed) => words.kind(fixed.kind).to_owned(),
        Asked::Drawn(drawn) => match drawn.kinds.as_slice() {
            [one] => fill(
                words.drawn_of,
                &[&drawn.count.to_string(), words.kind(*one)],
            ),
            _ => fill(words.drawn, &[&drawn.count.to_string()]),
        },
    }
}

fn detail(question: &Question, state: &State, texts: &Texts) -> String {
    let words = &texts.teach;
    match &question.asked {
        Asked::Fixed(fixed) => {
            let window = fixed.view.window.as_deref();
            let named = window.map(|id| {
                let known = state
                    .facts()
                    .and_then(|facts| facts.windows.iter().find(|window| window.id == id));
                known.map_or_else(|| id.to_owned(), |window| window.label.clone())
            });
            let place = named.unwrap_or_else(|| words.own_view.to_owned());
            match &fixed.structure {
                Some(structure) => {
                    let name = names::structure(state.facts(), structure, texts);
                    format!("{place}; {name}")
                }
                None => place,
            }
        }
        Asked::Drawn(drawn) => {
            let mut parts = vec![words.difficulty(drawn.difficulty).to_owned()];
            parts.extend(drawn.plane.map(|plane| words.plane(plane).to_owned()));
            parts.extend(
                drawn
                    .approach
                    .map(|side| fill(words.from_side, &[words.side(side)])),
            );
            parts.join("; ")
        }
    }
}

fn form(entry: usize, question: &Question, state: &State, words: &TeachTexts) -> EntryForm {
    let usual = EntryForm {
        entry,
        prompt: question.prompt.clone().unwrap_or_default(),
        hint: question.hint.clone().unwrap_or_default(),
        points: question.points,
        kinds: Vec::new(),
        sides: Vec::new(),
        structures: Vec::new(),
        drawn: None,
    };
    match &question.asked {
        Asked::Fixed(fixed) => EntryForm {
            kinds: kinds(words, |kind| fixed.kind == kind),
            sides: if fixed.kind == Kind::Side {
                sides(fixed, words)
            } else {
                Vec::new()
            },
            structures: if matches!(
                fixed.kind,
                Kind::Axis | Kind::Annotate | Kind::PlaceProbe | Kind::FindTheFault
            ) {
                structures(fixed, state, words)
            } else {
                Vec::new()
            },
            ..usual
        },
        Asked::Drawn(drawn) => EntryForm {
            drawn: Some(drawn_form(drawn, words)),
            ..usual
        },
    }
}

fn kinds(words: &TeachTexts, chosen: impl Fn(Kind) -> bool) -> Vec<Option3> {
    Kind::ALL
        .into_iter()
        .map(|kind| {
            (
                kind.key().to_owned(),
                words.kind(kind).to_owned(),
                chosen(kind),
            )
        })
        .collect()
}

fn sides(fixed: &Fixed, words: &TeachTexts) -> Vec<Option3> {
    let marked = (
        String::new(),
        words.marked_side.to_owned(),
        fixed.side.is_none(),
    );
    let all = ImageSide::ALL.into_iter().map(|side| {
        let [left, right, top, bottom] = words.image_sides;
        let name = match side {
            ImageSide::Left => left,
            ImageSide::Right => right,
            ImageSide::Top => top,
            ImageSide::Bottom => bottom,
        };
        (
            side.word().to_owned(),
            name.to_owned(),
            fixed.side == Some(side),
        )
    });
    std::iter::once(marked).chain(all).collect()
}

fn structures(fixed: &Fixed, state: &State, words: &TeachTexts) -> Vec<Option3> {
    let first = (
        String::new(),
        words.first_structure.to_owned(),
        fixed.structure.is_none(),
    );
    let chosen = fixed.structure.as_deref();
    let mut all: Vec<Option3> = state
        .facts()
        .map(|facts| facts.structures.iter())
        .into_iter()
        .flatten()
        .map(|structure| {
            let id = structure.id.as_str();
            (id.to_owned(), structure.label.clone(), chosen == Some(id))
        })
        .collect();
    all.sort_by(|a, b| a.1.cmp(&b.1));
    all.insert(0, first);
    all
}

fn drawn_form(drawn: &Drawn, words: &TeachTexts) -> DrawnForm {
    let one = match drawn.kinds.as_slice() {
        [one] => Some(*one),
        _ => None,
    };
    let any = |chosen: bool| (String::new(), words.any.to_owned(), chosen);
    let mut kinds = kinds(words, |kind| one == Some(kind));
    kinds.insert(0, any(one.is_none()));
    let levels = Difficulty::WORDS
        .iter()
        .map(|(key, level)| {
            let name = words.difficulty(*level).to_owned();
            ((*key).to_owned(), name, drawn.difficulty == *level)
        })
        .collect();
    let mut planes: Vec<Option3> = PlaneClass::ALL
        .into_iter()
        .map(|plane| {
            let name = words.plane(plane).to_owned();
            (plane.key().to_owned(), name, drawn.plane == Some(plane))
        })
        .collect();
    planes.insert(0, any(drawn.plane.is_none()));
    let mut approaches: Vec<Option3> = PatientSide::ALL
        .into_iter()
        .map(|side| {
            let key = practice::skill::side_key(side).to_owned();
            (
                key,
                words.side(side).to_owned(),
                drawn.approach == Some(side),
            )
        })
        .collect();
    approaches.insert(0, any(drawn.approach.is_none()));
    DrawnForm {
        count: drawn.count,
        kinds,
        levels,
        planes,
        approaches,
    }
}

impl Wanted {
    /// What a key of [`AcquireForm::lists`] stands for.
    #[must_use]
    pub fn from_key(key: &str) -> Self {
        match key {
            "" => Self::Nothing,
            OWN_LIST => Self::Own,
            list => Self::List(list.to_owned()),
        }
    }
}

impl TeachTexts {
    /// A kind of question for a menu.
    #[must_use]
    pub fn kind(&self, kind: Kind) -> &'static str {
        let place = Kind::ALL.iter().position(|other| *other == kind);
        self.kinds[place.unwrap_or(0)]
    }

    /// A difficulty for a menu.
    #[must_use]
    pub fn difficulty(&self, difficulty: Difficulty) -> &'static str {
        let [easy, medium, hard, mixed] = self.difficulties;
        match difficulty {
            Difficulty::Of(Level::Easy) => easy,
            Difficulty::Of(Level::Medium) => medium,
            Difficulty::Of(Level::Hard) => hard,
            Difficulty::Mixed => mixed,
        }
    }

    fn plane(&self, plane: PlaneClass) -> &'static str {
        let place = PlaneClass::ALL.iter().position(|other| *other == plane);
        self.plane_classes[place.unwrap_or(0)]
    }

    fn side(&self, side: PatientSide) -> &'static str {
        let place = PatientSide::ALL.iter().position(|other| *other == side);
        self.approaches[place.unwrap_or(0)]
    }
}
