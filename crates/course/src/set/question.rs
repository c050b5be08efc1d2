//! What a set asks: questions, and pictures to acquire.

use anatomy::AxisView;
use anatomy::json::Json;
use geometry::{BodyPlane, ImageSide, PatientSide};
use practice::compose::Step;
use practice::{Fault, Kind, Level, PlaneClass};

use crate::link::LinkPose;

/// How hard drawn questions are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Difficulty {
    /// All of one level.
    Of(Level),
    /// The levels in turn.
    Mixed,
}

impl Default for Difficulty {
    fn default() -> Self {
        Self::Of(Level::Easy)
    }
}

impl Difficulty {
    /// Words of the file.
    pub const WORDS: [(&'static str, Self); 4] = [
        (Level::Easy.key(), Self::Of(Level::Easy)),
        (Level::Medium.key(), Self::Of(Level::Medium)),
        (Level::Hard.key(), Self::Of(Level::Hard)),
        ("mixed", Self::Mixed),
    ];

    /// The level of the `nth` question, counted from 0.
    #[must_use]
    pub fn level(self, nth: u32) -> Level {
        match self {
            Self::Of(level) => level,
            Self::Mixed => Level::ALL[(nth % 3) as usize],
        }
    }
}

/// Where the probe stands: on a named window, or at a pose, which wins.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct View {
    /// Identifier of the body; `None` for the set's.
    pub body: Option<String>,
    /// Identifier of a named window.
    pub window: Option<String>,
    /// The pose; numbers to a thousandth, as a link has them.
    pub pose: Option<LinkPose>,
    /// Identifier of the transducer; `None` for the window's.
    pub transducer: Option<String>,
    /// Displayed depth, 10 to 400 mm; `None` for the window's.
    pub depth_mm: Option<f64>,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

/// One entry of the list of questions.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Its name in results: a letter, then up to 39 letters, digits and `_`; once in a set. Course systems refuse others,
    /// and drawn questions get `_1`, `_2` … behind it.
    pub id: String,
    /// Marks for a right answer, 1 to 100; of an entry that draws, of each.
    pub points: u32,
    /// The teacher's own hint; `None` for the program's.
    pub hint: Option<String>,
    /// The teacher's own wording of the question; `None` for the program's.
    pub prompt: Option<String>,
    /// What is asked.
    pub asked: Asked,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// One question with a fixed view.
    Fixed(Box<Fixed>),
    /// Questions drawn from a seed.
    Drawn(Drawn),
}

/// One question with a fixed view. Which of the optional parts it may have depends on the kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Fixed {
    /// Its kind.
    pub kind: Kind,
    /// Where the probe stands; for "place the probe" where it should stand, for "next move" where it stood before.
    pub view: View,
    /// "side": the side of the image that is asked for; `None`: the side with the mark.
    pub side: Option<ImageSide>,
    /// The structure that the question is about, by its identifier. "axis" and "annotate" need it; "place the probe" and
    /// "find the fault" take the window's first one where it is `None`.
    pub structure: Option<String>,
    /// "place the probe": where it stands at first; `None`: beside the wanted place.
    pub start: Option<View>,
    /// "next move" needs it: the movement.
    pub movement: Option<Step>,
    /// "find the fault" needs it: what is wrong.
    pub fault: Option<Fault>,
}

impl Fixed {
    /// A question without its optional parts.
    #[must_use]
    pub fn new(kind: Kind, view: View) -> Self {
        Self {
            kind,
            view,
            side: None,
            structure: None,
            start: None,
            movement: None,
            fault: None,
        }
    }
}

/// Questions drawn from a seed.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Their kinds, each once, at least one.
    pub kinds: Vec<Kind>,
    /// How many, 1 to 200.
    pub count: u32,
    /// How hard.
    pub difficulty: Difficulty,
    /// Only views of this plane.
    pub plane: Option<PlaneClass>,
    /// Only probes on this side of the patient.
    pub approach: Option<PatientSide>,
    /// Their own seed; `None` for the round's.
    pub seed: Option<u64>,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

impl Question {
    /// A question with a fixed view, for one mark.
    #[must_use]
    pub fn fixed(id: &str, kind: Kind, view: View) -> Self {
        Self {
            id: id.to_owned(),
            points: 1,
            hint: None,
            prompt: None,
            asked: Asked::Fixed(Box::new(Fixed::new(kind, view))),
            more: Vec::new(),
        }
    }

    /// How many questions this entry asks.
    #[must_use]
    pub fn count(&self) -> u32 {
        match &self.asked {
            Asked::Fixed(_) => 1,
            Asked::Drawn(drawn) => drawn.count,
        }
    }

    /// The name in results of the `nth` question of this entry, counted from 0.
    ///
    /// ```
    /// # use course::set::{Kind, Question, View};
    /// let question = Question::fixed("aorta", Kind::Side, View::default());
    /// assert_eq!(question.item_id(0), "aorta");
    /// ```
    #[must_use]
    pub fn item_id(&self, nth: u32) -> String {
        match &self.asked {
            Asked::Fixed(_) => self.id.clone(),
            Asked::Drawn(_) => format!("{}_{}", self.id, nth.saturating_add(1)),
        }
    }

    /// Its fixed views.
    pub fn views(&self) -> impl Iterator<Item = &View> {
        let fixed = match &self.asked {
            Asked::Fixed(fixed) => Some(fixed),
            Asked::Drawn(_) => None,
        };
        fixed
            .into_iter()
            .flat_map(|fixed| std::iter::once(&fixed.view).chain(&fixed.start))
    }
}

/// Pictures that the learner has to acquire: one of the program's own lists, or a list of the teacher's.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Acquire {
    /// Key of a list of the program.
    pub list: Option<String>,
    /// The teacher's own list.
    pub views: Vec<WantedView>,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

/// One picture that is asked for; as [`practice::acquisition::View`], with own names.
#[derive(Debug, Clone, PartialEq)]
pub struct WantedView {
    /// Identifier of the structure it is of.
    pub subject: String,
    /// The plane of the body, where it matters.
    pub plane: Option<BodyPlane>,
    /// How the plane runs to the structure's axis, where it matters.
    pub axis: Option<AxisView>,
    /// Identifier of the part at the middle of the picture, where it matters.
    pub segment: Option<String>,
    /// Structures that have to be shown in its place: where it has divided.
    pub divides_into: Vec<String>,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

/// Words of the kinds of questions.
pub(super) fn kind_words() -> [(&'static str, Kind); 10] {
    Kind::ALL.map(|kind| (kind.key(), kind))
}

/// Words of what can be wrong.
pub(super) const FAULT_WORDS: [(&str, Fault); 4] = [
    ("notch_reversed", Fault::NotchReversed),
    ("mark_on_other_side", Fault::MarkOnOtherSide),
    ("depth_letters", Fault::DepthLetters),
    ("body_side", Fault::BodySide),
];

/// Words of the planes that drawn questions can be narrowed to.
pub(super) fn class_words() -> [(&'static str, PlaneClass); 4] {
    PlaneClass::ALL.map(|class| (class.key(), class))
}

/// Words of the sides of the patient.
pub(super) fn side_words() -> [(&'static str, PatientSide); 6] {
    PatientSide::ALL.map(|side| (practice::skill::side_key(side), side))
}

/// Words of the three planes of the body.
pub(super) fn plane_words() -> [(&'static str, BodyPlane); 3] {
    BodyPlane::ALL.map(|plane| (plane.word(), plane))
}

/// Words of the three ways a plane runs to an axis.
pub(super) const AXIS_WORDS: [(&str, AxisView); 3] = [
    ("long", AxisView::Long),
    ("short", AxisView::Short),
    ("oblique", AxisView::Oblique),
];

/// The word of a value in its table.
pub(super) fn word_of<T: PartialEq>(value: T, table: &[(&'static str, T)]) -> &'static str {
    table
        .iter()
        .find(|(_, meaning)| *meaning == value)
        .map_or("", |(word, _)| word)
}
