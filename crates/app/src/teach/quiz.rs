//! Questions of a set for other quiz programs: still pictures and choices, in the words of the page.
//!
//! The pictures are states that show a question as a learner would see it; the page draws them.

use course::qti::{self, QtiItem};
use course::round;
use course::set::Set;
use geometry::SideName;
use practice::Question;
use practice::annotation::Vocabulary;
use practice::question::Asked;

use crate::practise::{posed, sentences};
use crate::state::State;
use crate::texts::{Texts, fill};

/// One question without its pictures.
#[derive(Debug, Clone)]
pub struct Draft {
    /// The question; its pictures are still to be drawn.
    pub item: QtiItem,
    /// What the pictures show, each with words for those who do not see it.
    pub shots: Vec<(State, &'static str)>,
}

/// A set as a quiz.
#[derive(Debug, Clone)]
pub struct Quiz {
    /// The questions.
    pub drafts: Vec<Draft>,
    /// How many questions have no place in it: they need the body, a ring around a structure, typing, or two answers.
    pub left: usize,
}

/// The quiz of a set. Questions on another body than that of `state` are left out.
#[must_use]
pub fn quiz(set: &Set, state: &State, texts: &Texts) -> Quiz {
    let own = set.vocabulary.as_ref();
    let own = own.and_then(|own| course::vocabulary::from_json(own).ok());
    let words = own.as_ref().or(state.examination().vocabulary.as_deref());
    let order = round::order(set, set.seed.unwrap_or(0));
    let drafts: Vec<Draft> = order
        .iter()
        .filter_map(|place| draft(set, *place, state, words, texts))
        .collect();
    Quiz {
        left: order.len() - drafts.len(),
        drafts,
    }
}

fn draft(
    set: &Set,
    place: u32,
    state: &State,
    vocabulary: Option<&Vocabulary>,
    texts: &Texts,
) -> Option<Draft> {
    let item = round::item(set, place, 0, state.body()?, vocabulary).ok()?;
    let question = &item.question;
    let [part] = question.parts() else {
        return None;
    };
    if !qti::is_still(question.kind) {
        return None;
    }
    let words = &texts.practise;
    let options = part
        .options
        .iter()
        .map(|choice| (choice.key(), sentences::choice(*choice, words)));
    let [one, before, after] = texts.teach.quiz_pictures;
    let shots = if question.after.is_some() {
        vec![
            (posed(state, question, false), before),
            (posed(state, question, true), after),
        ]
    } else {
        vec![(posed(state, question, false), one)]
    };
    Some(Draft {
        item: QtiItem {
            title: format!("{}: {}", set.title, item.id),
            prompt: item
                .prompt
                .clone()
                .unwrap_or_else(|| prompt(question, part.asked, texts)),
            options: options.collect(),
            right: part.right.key(),
            points: item.points,
            pictures: Vec::new(),
            feedback: String::new(),
            id: item.id,
        },
        shots,
    })
}

fn prompt(question: &Question, asked: Asked, texts: &Texts) -> String {
    let prompt = sentences::prompt(question, &texts.practise);
    if !matches!(asked, Asked::ImageSide(_)) {
        return prompt;
    }
    // The body is not shown, so the pose is told.
    let axes = question.view.placement.pose.axes();
    let toward = |direction| sentences::toward(SideName::of(direction).dominant(), &texts.practise);
    let pose = fill(
        texts.teach.quiz_pose,
        &[toward(axes.depth), toward(axes.lateral)],
    );
    format!("{pose} {prompt}")
}
