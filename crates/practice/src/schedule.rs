//! What is due, what is weak and what comes next.
//!
//! Two things are kept for each skill, both from first tries alone: a box for when to see it again, and a rating for how
//! hard it may be. Spacing and mixing follow published findings on practice (a review names practice testing and
//! distributed practice the two most useful of ten techniques: Dunlosky and others, Psychological Science in the Public
//! Interest 2013; 14: 4–58, ratings from memory); the gaps, the mastery rule and the target are settings of this
//! project. Nothing here measures a person: it orders questions.

use std::collections::{BTreeMap, VecDeque};

use crate::random::SplitMix64;
use crate::skill::{Kind, Level, Skill};

/// Days until a skill in each box is due again: settings of this project.
pub const GAPS_DAYS: [u64; 5] = [1, 3, 7, 16, 35];

/// Milliseconds of a day.
pub const DAY_MS: u64 = 86_400_000;

/// From this score on a first try counts as right for box and mastery.
pub const RIGHT: f64 = 0.999;

/// The share of right answers that the next question aims at.
pub const TARGET: f64 = 0.75;

/// One first try.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attempt {
    /// The skill.
    pub skill: Skill,
    /// How hard the question was.
    pub level: Level,
    /// When, milliseconds since 1970 (UTC).
    pub at_ms: u64,
    /// Marks, 0 to 1.
    pub score: f64,
    /// In how many ways the question could be answered by blind choosing; 1 where it cannot be guessed.
    pub ways: u32,
}

/// When a skill counts as mastered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MasteryRule {
    /// The share of right answers.
    pub share: f64,
    /// Over so many last first tries.
    pub over: usize,
}

impl Default for MasteryRule {
    /// 80 % of the last ten.
    fn default() -> Self {
        Self {
            share: 0.8,
            over: 10,
        }
    }
}

/// Where a skill stands in the boxes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Card {
    /// Number of the box, counted from 0; [`GAPS_DAYS`] gives its gap.
    pub place: usize,
    /// When it is due again, milliseconds since 1970 (UTC).
    pub due_ms: u64,
}

impl Card {
    /// The card after an answer at `at_ms`: right when due goes one box on, wrong goes back to the first; a right answer
    /// before it is due changes nothing.
    ///
    /// Nothing becomes due later than an examination that is still to come: at the latest a day before `exam_ms`, the
    /// start of its day, so that it is seen once more; after an answer on that last day, by `exam_ms` itself.
    #[must_use]
    pub fn after(card: Option<Self>, right: bool, at_ms: u64, exam_ms: Option<u64>) -> Self {
        let place = match (card, right) {
            (_, false) | (None, true) => 0,
            (Some(card), true) if at_ms < card.due_ms => return card,
            (Some(card), true) => (card.place + 1).min(GAPS_DAYS.len() - 1),
        };
        let due = at_ms.saturating_add(GAPS_DAYS[place] * DAY_MS);
        let due_ms = match exam_ms {
            Some(exam) if exam > at_ms => {
                let day_before = exam.saturating_sub(DAY_MS);
                due.min(if day_before > at_ms { day_before } else { exam })
            }
            _ => due,
        };
        Self { place, due_ms }
    }
}

/// The chance of a right answer: `1/k + (1 − 1/k) / (1 + e^−(θ − d))` for `k` ways to answer by blind choosing, of which
/// one is right, ability θ and difficulty d; for an open answer (`k` = 1) the logistic alone.
///
/// Pelánek: Applications of the Elo rating system in adaptive educational systems, Computers & Education 2016; 98:
/// 169–179 (formula from memory).
#[must_use]
pub fn expected(ability: f64, difficulty: f64, ways: u32) -> f64 {
    let logistic = 1.0 / (1.0 + libm::exp(difficulty - ability));
    if ways <= 1 {
        return logistic;
    }
    let guess = 1.0 / f64::from(ways);
    guess + (1.0 - guess) * logistic
}

/// How much the `n`-th answer (from 0) moves a rating: `1 / (1 + 0.05 n)`, of the same source.
#[must_use]
pub fn weight(n: u32) -> f64 {
    1.0 / (1.0 + 0.05 * f64::from(n))
}

/// The difficulty of a question before anybody has answered it, on the scale of the ratings: by level, and a little by
/// kind (settings of this project).
#[must_use]
pub fn prior(kind: Kind, level: Level) -> f64 {
    let by_level = match level {
        Level::Easy => -1.0,
        Level::Medium => 0.0,
        Level::Hard => 1.0,
    };
    let by_kind = match kind {
        Kind::PlaneFromProbe | Kind::TransducerFromPicture => -0.5,
        Kind::PlaneFromPicture | Kind::Side | Kind::NotchFromPicture => 0.0,
        Kind::Axis | Kind::PlaceProbe | Kind::Annotate => 0.25,
        Kind::NextMove | Kind::FindTheFault => 0.5,
    };
    by_level + by_kind
}

/// What is known of one skill.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The last first tries, right or not, the oldest first; as many as the mastery rule looks at.
    pub last: VecDeque<bool>,
    /// How many first tries there were.
    pub tries: u32,
    /// Its place in the boxes.
    pub card: Card,
    /// The rating θ that picks the level.
    pub ability: f64,
}

impl Standing {
    /// The share of right answers among the last first tries.
    #[must_use]
    pub fn accuracy(&self) -> f64 {
        share(&self.last)
    }
}

fn share(tries: &VecDeque<bool>) -> f64 {
    let count = |right: usize| f64::from(u32::try_from(right).unwrap_or(u32::MAX));
    if tries.is_empty() {
        return 0.0;
    }
    count(tries.iter().filter(|right| **right).count()) / count(tries.len())
}

/// How much help a question comes with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Help {
    /// A worked example first.
    Worked,
    /// The first step is given.
    FirstStep,
    /// None.
    None,
}

/// All that the record says about what is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    standings: BTreeMap<Skill, Standing>,
    kinds: BTreeMap<Kind, VecDeque<bool>>,
    rule: MasteryRule,
}

impl Progress {
    /// The progress that `attempts` (the oldest first) come to.
    #[must_use]
    pub fn of(attempts: &[Attempt], rule: MasteryRule, exam_ms: Option<u64>) -> Self {
        let mut progress = Self {
            standings: BTreeMap::new(),
            kinds: BTreeMap::new(),
            rule,
        };
        for attempt in attempts {
            progress.add(attempt, exam_ms);
        }
        progress
    }

    fn add(&mut self, attempt: &Attempt, exam_ms: Option<u64>) {
        let right = attempt.score >= RIGHT;
        let before = self.standings.get(&attempt.skill);
        let start = before.map_or_else(
            || self.start_ability(attempt.skill.kind),
            |standing| standing.ability,
        );
        let tries = before.map_or(0, |standing| standing.tries);
        let difficulty = prior(attempt.skill.kind, attempt.level);
        let chance = expected(start, difficulty, attempt.ways);
        let card = Card::after(
            before.map(|standing| standing.card),
            right,
            attempt.at_ms,
            exam_ms,
        );
        let mut last = before.map_or_else(VecDeque::new, |standing| standing.last.clone());
        push(&mut last, right, self.rule.over);
        self.standings.insert(
            attempt.skill,
            Standing {
                last,
                tries: tries + 1,
                card,
                ability: start + weight(tries) * (attempt.score - chance),
            },
        );
        let of_kind = self.kinds.entry(attempt.skill.kind).or_default();
        push(of_kind, right, self.rule.over);
    }

    /// A new skill starts at the mean of its kind: somebody who knows the sides of transverse pictures is no beginner at
    /// those of sagittal ones.
    fn start_ability(&self, kind: Kind) -> f64 {
        let (sum, count) = self
            .standings
            .iter()
            .filter(|(skill, _)| skill.kind == kind)
            .fold((0.0, 0.0), |(sum, count), (_, standing)| {
                (sum + standing.ability, count + 1.0)
            });
        if count > 0.0 { sum / count } else { 0.0 }
    }

    /// What is known of a skill; `None` before its first try.
    #[must_use]
    pub fn standing(&self, skill: Skill) -> Option<&Standing> {
        self.standings.get(&skill)
    }

    /// The skills that were tried.
    pub fn standings(&self) -> impl Iterator<Item = (Skill, &Standing)> {
        self.standings.iter().map(|(skill, one)| (*skill, one))
    }

    /// The skills that come up for review up to `until_ms`, with when (milliseconds since 1970), the first ones first.
    #[must_use]
    pub fn due_until(&self, until_ms: u64) -> Vec<(Skill, u64)> {
        let due = self
            .standings
            .iter()
            .map(|(skill, one)| (*skill, one.card.due_ms));
        let mut due: Vec<(Skill, u64)> = due.filter(|(_, due_ms)| *due_ms <= until_ms).collect();
        due.sort_by_key(|(_, due_ms)| *due_ms);
        due
    }

    /// Right answers and first tries among the last ones of a kind.
    #[must_use]
    pub fn of_kind(&self, kind: Kind) -> (usize, usize) {
        self.kinds.get(&kind).map_or((0, 0), |tries| {
            (tries.iter().filter(|right| **right).count(), tries.len())
        })
    }

    /// Whether a kind is mastered: enough first tries, enough of them right.
    #[must_use]
    pub fn kind_is_mastered(&self, kind: Kind) -> bool {
        self.kinds
            .get(&kind)
            .is_some_and(|last| self.mastered(last))
    }

    /// Whether a skill is mastered.
    #[must_use]
    pub fn is_mastered(&self, skill: Skill) -> bool {
        self.standings
            .get(&skill)
            .is_some_and(|standing| self.mastered(&standing.last))
    }

    fn mastered(&self, last: &VecDeque<bool>) -> bool {
        last.len() >= self.rule.over && share(last) >= self.rule.share
    }

    /// The skills that were missed more than the mastery rule allows, the weakest first.
    #[must_use]
    pub fn weak(&self) -> Vec<Skill> {
        let mut weak: Vec<(Skill, f64)> = self
            .standings
            .iter()
            .map(|(skill, standing)| (*skill, standing.accuracy()))
            .filter(|(_, accuracy)| *accuracy < self.rule.share)
            .collect();
        weak.sort_by(|a, b| a.1.total_cmp(&b.1));
        weak.into_iter().map(|(skill, _)| skill).collect()
    }

    /// How much help a question of this kind comes with: a worked example before the first try, the first step while
    /// fewer than half of the last tries were right, then none.
    #[must_use]
    pub fn help(&self, kind: Kind) -> Help {
        match self.kinds.get(&kind) {
            None => Help::Worked,
            Some(last) if last.len() < 3 || share(last) < 0.5 => Help::FirstStep,
            Some(_) => Help::None,
        }
    }

    /// The level whose chance of a right answer is nearest to [`TARGET`].
    #[must_use]
    pub fn level(&self, skill: Skill, ways: u32) -> Level {
        let ability = self.standing(skill).map_or_else(
            || self.start_ability(skill.kind),
            |standing| standing.ability,
        );
        let off = |level: Level| (expected(ability, prior(skill.kind, level), ways) - TARGET).abs();
        Level::ALL
            .into_iter()
            .min_by(|a, b| off(*a).total_cmp(&off(*b)))
            .unwrap_or(Level::Easy)
    }

    /// The skills of a round of `count` questions at `now_ms`, of those that are `available` (in the order in which they
    /// are best met): what is due, then what is weak, then what is new; mixed so that planes that are taken for one
    /// another follow each other, and no skill follows itself.
    #[must_use]
    pub fn round(&self, available: &[Skill], count: usize, now_ms: u64, seed: u64) -> Vec<Skill> {
        if available.is_empty() || count == 0 {
            return Vec::new();
        }
        let known = |skill: &Skill| self.standings.contains_key(skill);
        let mut due: Vec<Skill> = available.iter().copied().filter(known).collect();
        due.sort_by_key(|skill| self.standings.get(skill).map(|one| one.card.due_ms));
        let (mut due, later): (Vec<Skill>, Vec<Skill>) = due.into_iter().partition(|skill| {
            self.standings
                .get(skill)
                .is_some_and(|one| one.card.due_ms <= now_ms)
        });
        let weak: Vec<Skill> = self
            .weak()
            .into_iter()
            .filter(|skill| later.contains(skill))
            .collect();
        let new: Vec<Skill> = available
            .iter()
            .copied()
            .filter(|skill| !known(skill))
            .collect();
        // Something new in every round, but never so much that what is due has no place.
        let for_new = if known_any(&due, &weak) {
            count.div_ceil(3)
        } else {
            count
        };
        due.truncate(count - for_new.min(new.len()).min(count));
        let mut chosen = due;
        let room = |chosen: &[Skill]| count - chosen.len();
        let weak_room = room(&chosen).saturating_sub(for_new.min(new.len()));
        chosen.extend(weak.iter().copied().take(weak_room));
        chosen.extend(spread(&new, room(&chosen)));
        let rest: Vec<Skill> = weak
            .into_iter()
            .chain(later)
            .filter(|skill| !chosen.contains(skill))
            .collect();
        chosen.extend(rest.into_iter().take(room(&chosen)));
        let mut random = SplitMix64::new(seed);
        let mut again = 0;
        while chosen.len() < count {
            chosen.push(chosen[again]);
            again += 1;
        }
        random.shuffle(&mut chosen);
        interleaved(chosen)
    }
}

fn known_any(due: &[Skill], weak: &[Skill]) -> bool {
    !due.is_empty() || !weak.is_empty()
}

fn push(last: &mut VecDeque<bool>, right: bool, most: usize) {
    last.push_back(right);
    while last.len() > most {
        last.pop_front();
    }
}

/// The first `count` of the new skills, kind by kind in turn: a round of one kind would tell the answer by habit.
fn spread(new: &[Skill], count: usize) -> Vec<Skill> {
    let mut by_kind: Vec<VecDeque<Skill>> = Vec::new();
    for kind in Kind::ALL {
        let of_kind: VecDeque<Skill> = new
            .iter()
            .copied()
            .filter(|skill| skill.kind == kind)
            .collect();
        if !of_kind.is_empty() {
            by_kind.push(of_kind);
        }
    }
    // Kinds are met a few at a time, the first ones first.
    by_kind.truncate(KINDS_AT_ONCE);
    let mut taken = Vec::new();
    while taken.len() < count && by_kind.iter().any(|queue| !queue.is_empty()) {
        for queue in &mut by_kind {
            if taken.len() < count
                && let Some(skill) = queue.pop_front()
            {
                taken.push(skill);
            }
        }
    }
    taken
}

/// So many new kinds of question a round at most (setting of this project).
const KINDS_AT_ONCE: usize = 4;

/// The skills in an order in which none follows itself where that can be had, and another plane follows each plane.
fn interleaved(mut skills: Vec<Skill>) -> Vec<Skill> {
    let mut ordered: Vec<Skill> = Vec::with_capacity(skills.len());
    while !skills.is_empty() {
        let before = ordered.last().copied();
        let fits = |skill: &Skill| match before {
            None => 0,
            Some(before) if before == *skill => 3,
            Some(before) if before.plane == skill.plane => 2,
            Some(_) => 1,
        };
        let best = (0..skills.len())
            .min_by_key(|place| fits(&skills[*place]))
            .unwrap_or(0);
        ordered.push(skills.remove(best));
    }
    ordered
}
