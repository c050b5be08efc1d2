//! Every question tried on the body that is here: is it clear, can it be had at all.

use std::sync::Arc;

use anatomy::Body;
use course::round;
use course::set::{Asked, Question, Set};
use practice::Kind;
use practice::annotation::Vocabulary;

/// How many questions of an entry that draws are tried: more would keep the teacher waiting.
const MOST_TRIED: u32 = 3;

/// Seed of what is tried where the set has none; any other gives another draw of the same wish.
const SEED: u64 = 1;

/// What was found about an entry, and what it was found for.
#[derive(Debug, Clone, PartialEq)]
struct Known {
    question: Question,
    settings: String,
    trouble: Option<String>,
}

/// What is known of entries, so that a change to one does not try all.
#[derive(Debug, Clone, Default)]
pub(super) struct Checks {
    known: Vec<Known>,
}

/// Whether an entry could be tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Tried {
    /// It is fine.
    Fine,
    /// It cannot be asked like this: why, as a clause.
    Trouble(String),
    /// Its body is not here.
    OtherBody,
}

impl Checks {
    /// Tries the entry at `place` of the list, whose first question has the number `first` in the set.
    pub(super) fn entry(
        &mut self,
        set: &Set,
        place: usize,
        first: u32,
        body: &Arc<Body>,
        vocabulary: Option<&Vocabulary>,
    ) -> Tried {
        let Some(question) = set.questions.get(place) else {
            return Tried::Fine;
        };
        if round::body_at(set, first) != Some(body.id()) {
            return Tried::OtherBody;
        }
        if vocabulary.is_none() && needs_vocabulary(question) {
            return Tried::Fine;
        }
        let settings = settings(set, body);
        let known = self
            .known
            .iter()
            .find(|known| known.question == *question && known.settings == settings);
        if let Some(known) = known {
            return tried(known.trouble.clone());
        }
        let last = first + question.count().min(MOST_TRIED);
        let trouble = (first..last).find_map(|place| {
            let item = round::item(set, place, SEED, body, vocabulary);
            item.err().map(|refused| refused.to_string())
        });
        if self.known.len() > 2 * course::set::MOST_ENTRIES {
            self.known.clear();
        }
        self.known.push(Known {
            question: question.clone(),
            settings,
            trouble: trouble.clone(),
        });
        tried(trouble)
    }
}

/// Annotations are held against words; until those are here such questions are not tried.
fn needs_vocabulary(question: &Question) -> bool {
    match &question.asked {
        Asked::Fixed(fixed) => fixed.kind == Kind::Annotate,
        Asked::Drawn(drawn) => drawn.kinds.contains(&Kind::Annotate),
    }
}

fn tried(trouble: Option<String>) -> Tried {
    trouble.map_or(Tried::Fine, Tried::Trouble)
}

/// What of a set, beside the question, decides whether it can be asked.
fn settings(set: &Set, body: &Body) -> String {
    format!(
        "{} {} {:?} {:?} {:?} {:?} {}",
        body.id(),
        set.body,
        set.mark,
        set.apex,
        set.position,
        set.seed,
        set.tolerance_deg
    )
}
