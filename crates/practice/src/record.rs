//! What a learner has done: a log of events that only grows, so that two logs can always be put together.
//!
//! Nothing in it says who the learner is. How it is written to a file is the business of `course`.

use std::collections::BTreeMap;

use crate::misconception::Misconception;
use crate::schedule::Attempt;
use crate::skill::{Level, Skill};

/// The name of an event: when it happened and a number that tells events of one moment apart. Equal names are one event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EventId {
    /// When, milliseconds since 1970 (UTC).
    pub at_ms: u64,
    /// A number drawn for the event.
    pub nonce: u32,
}

/// One answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered {
    /// The skill.
    pub skill: Skill,
    /// How hard the question was.
    pub level: Level,
    /// The seed it was drawn from.
    pub seed: u64,
    /// The body.
    pub body: String,
    /// Whether it was the first try at this question; only first tries count for what is known.
    pub first_try: bool,
    /// Marks, 0 to 1.
    pub score: f64,
    /// How many hints were taken.
    pub hints: u32,
    /// In how many ways it could be answered by blind choosing.
    pub ways: u32,
    /// The misconception that a wrong answer followed.
    pub misconception: Option<Misconception>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A question was answered, or skipped with no marks.
    Answered(Answered),
    /// A readiness check was finished.
    Checked {
        /// The seed of the check.
        seed: u64,
        /// The name of its set.
        set: String,
        /// Marks of all, 0 to 1.
        score: f64,
        /// How many questions it had.
        questions: u32,
    },
    /// The day of an examination, or of the first patient, was set or taken back.
    Exam {
        /// The start of that day (UTC), milliseconds since 1970; `None` where it was taken back.
        day_ms: Option<u64>,
    },
}

/// The log.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    events: BTreeMap<EventId, Event>,
}

impl Record {
    /// An empty log.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            events: BTreeMap::new(),
        }
    }

    /// Adds an event; one that is known by its name already is left as it is. Returns whether it was new.
    pub fn add(&mut self, id: EventId, event: Event) -> bool {
        if self.events.contains_key(&id) {
            return false;
        }
        self.events.insert(id, event);
        true
    }

    /// Adds all events of another log; what is there stays. Returns how many were new.
    pub fn merge(&mut self, other: &Self) -> usize {
        other
            .events
            .iter()
            .filter(|(id, event)| self.add(**id, (*event).clone()))
            .count()
    }

    /// All events, the oldest first.
    #[must_use]
    pub fn events(&self) -> impl ExactSizeIterator<Item = (EventId, &Event)> + DoubleEndedIterator {
        self.events.iter().map(|(id, event)| (*id, event))
    }

    /// How many events there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.events.len()
    }

    /// Whether nothing has happened yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.events.is_empty()
    }

    /// The first tries, the oldest first.
    #[must_use]
    pub fn attempts(&self) -> Vec<Attempt> {
        self.events
            .iter()
            .filter_map(|(id, event)| match event {
                Event::Answered(answered) if answered.first_try => Some(Attempt {
                    skill: answered.skill,
                    level: answered.level,
                    at_ms: id.at_ms,
                    score: answered.score,
                    ways: answered.ways,
                }),
                _ => None,
            })
            .collect()
    }

    /// How many answers there are.
    #[must_use]
    pub fn answers(&self) -> usize {
        let answered = |event: &&Event| matches!(event, Event::Answered(_));
        self.events.values().filter(answered).count()
    }

    /// The start of the day of the examination (UTC), milliseconds since 1970, as it was last set; `None` where none is.
    #[must_use]
    pub fn exam_ms(&self) -> Option<u64> {
        let set = self.events.values().rev().find_map(|event| match event {
            Event::Exam { day_ms } => Some(*day_ms),
            _ => None,
        });
        set.flatten()
    }

    /// How often wrong answers followed each misconception, the most frequent first.
    #[must_use]
    pub fn misconceptions(&self) -> Vec<(Misconception, usize)> {
        let mut counts: BTreeMap<Misconception, usize> = BTreeMap::new();
        for event in self.events.values() {
            if let Event::Answered(Answered {
                misconception: Some(one),
                ..
            }) = event
            {
                *counts.entry(*one).or_default() += 1;
            }
        }
        let mut counts: Vec<_> = counts.into_iter().collect();
        counts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        counts
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(seed: u64, score: f64) -> Event {
        Event::Answered(Answered {
            skill: Skill::from_key("side.transverse.front.general").expect("a skill"),
            level: Level::Easy,
            seed,
            body: "adult_female".to_owned(),
            first_try: true,
            score,
            hints: 0,
            ways: 4,
            misconception: None,
        })
    }

    fn record(times: &[u64]) -> Record {
        let mut record = Record::new();
        for at_ms in times {
            record.add(
                EventId {
                    at_ms: *at_ms,
                    nonce: 1,
                },
                event(*at_ms, 1.0),
            );
        }
        record
    }

    #[test]
    fn merging_is_the_union_whichever_way_round_and_however_often() {
        let (one, other) = (record(&[1, 2, 5]), record(&[2, 3]));
        let mut a = one.clone();
        assert_eq!(a.merge(&other), 1, "only 3 is new");
        let mut b = other.clone();
        assert_eq!(b.merge(&one), 2, "1 and 5 are new");
        assert_eq!(a, b, "the order does not matter");
        assert_eq!(a.merge(&other), 0, "nothing twice");
        assert_eq!(a.attempts().len(), 4);
    }

    #[test]
    fn the_day_of_the_examination_is_the_one_set_last() {
        let mut one = Record::new();
        let mut set = |at_ms, day_ms| one.add(EventId { at_ms, nonce: 1 }, Event::Exam { day_ms });
        set(5, Some(86_400_000));
        set(9, Some(172_800_000));
        assert_eq!(one.exam_ms(), Some(172_800_000));
        let mut other = Record::new();
        let taken_back = EventId { at_ms: 7, nonce: 3 };
        other.add(taken_back, Event::Exam { day_ms: None });
        assert_eq!(other.exam_ms(), None);
        other.merge(&one);
        assert_eq!(other.exam_ms(), Some(172_800_000), "9 is after 7");
        assert_eq!(other.answers(), 0, "a day is no answer");
        assert!(!other.is_empty(), "and is kept like one");
    }

    #[test]
    fn merging_never_overwrites() {
        let mut one = Record::new();
        let id = EventId { at_ms: 7, nonce: 7 };
        one.add(id, event(1, 1.0));
        let mut other = Record::new();
        other.add(id, event(1, 0.0));
        one.merge(&other);
        assert_eq!(
            one.events().next().map(|(_, event)| event.clone()),
            Some(event(1, 1.0))
        );
    }
}
