//! The scheduler and its rating formula against figures reckoned elsewhere, and the rules of rounds.

use practice::schedule::{
    Attempt, Card, DAY_MS, GAPS_DAYS, Help, MasteryRule, Progress, expected, prior, weight,
};
use practice::{Kind, Layout, Level, PlaneClass, Skill};
use proptest::prelude::*;

fn skill(kind: Kind, plane: PlaneClass) -> Skill {
    Skill {
        kind,
        plane,
        approach: geometry::PatientSide::Anterior,
        layout: Layout::General,
    }
}

/// Answers 1, 0, 1, 1, 0 with four options, both ratings from 0 and both moved: the figures were computed from the
/// formulas of the published description, outside this program.
#[test]
fn ratings_follow_the_formula() {
    let chances = [0.625_000, 0.759_384, 0.499_451, 0.664_907, 0.766_905];
    let abilities = [0.375_000, -0.348_223, 0.106_822, 0.398_208, -0.240_880];
    let (mut ability, mut difficulty) = (0.0, 0.0);
    let answers = [1.0, 0.0, 1.0, 1.0, 0.0];
    for (n, score) in (0_u32..).zip(answers) {
        let place = usize::try_from(n).expect("five of them");
        let chance = expected(ability, difficulty, 4);
        assert!((chance - chances[place]).abs() < 1e-6, "{n}: {chance}");
        let step = weight(n) * (score - chance);
        ability += step;
        difficulty -= step;
        assert!((ability - abilities[place]).abs() < 1e-6, "{n}: {ability}");
    }
}

/// Two players of 1500 and 1600 on the chess scale of 400 to a tenfold chance: the published expectation of the first is
/// 0.359935 (also what the crate `skillratings` gives). The logistic here is the same curve on its natural scale.
#[test]
fn the_logistic_is_that_of_published_ratings() {
    let natural = 100.0 * std::f64::consts::LN_10 / 400.0;
    assert!(
        (expected(0.0, natural, 1) - 0.359_935).abs() < 1e-6,
        "open answers"
    );
    // The three-parameter curve at θ = 0.5, a = 1.2, b = −0.3, c = 0.25 (catsim.irt.icc): with four options and the
    // slope folded into the scale.
    let curve = expected(1.2 * 0.5, 1.2 * -0.3, 4);
    assert!((curve - 0.792_341_353_8).abs() < 1e-9, "{curve}");
}

#[test]
fn boxes_have_their_gaps() {
    let mut card = Card::after(None, true, 0, None);
    for (place, gap) in GAPS_DAYS.iter().enumerate() {
        assert_eq!(card.place, place);
        let now = card.due_ms;
        assert_eq!(now % DAY_MS, 0, "whole days");
        let early = Card::after(Some(card), true, now - 1, None);
        assert_eq!(
            early, card,
            "a right answer before it is due changes nothing"
        );
        let missed = Card::after(Some(card), false, now, None);
        assert_eq!(
            (missed.place, missed.due_ms),
            (0, now + DAY_MS),
            "back to the start"
        );
        let _ = gap;
        card = Card::after(Some(card), true, now, None);
    }
    assert_eq!(card.place, GAPS_DAYS.len() - 1, "the last box keeps");
    // 1 + 3 + 7 + 16 + 35 days, and 35 more.
    assert_eq!(card.due_ms, (1 + 3 + 7 + 16 + 35 + 35) * DAY_MS);
}

#[test]
fn nothing_is_due_later_than_the_examination() {
    let exam = 10 * DAY_MS;
    let card = Card {
        place: 2,
        due_ms: 5 * DAY_MS,
    };
    let next = Card::after(Some(card), true, 5 * DAY_MS, Some(exam));
    assert_eq!(next.due_ms, 9 * DAY_MS, "once more on the day before");
    let on_the_eve = Card::after(Some(card), true, exam - DAY_MS, Some(exam));
    assert_eq!(on_the_eve.due_ms, exam);
    let after_it = Card::after(Some(card), true, 11 * DAY_MS, Some(exam));
    assert_eq!(
        after_it.due_ms,
        27 * DAY_MS,
        "a past examination binds nothing"
    );
}

/// What a learner answers on 30 days, with an examination on day 20: a review that is planned before the examination is
/// never planned beyond it, and all of them are listed.
#[test]
fn reviews_before_an_examination_are_listed_by_day() {
    let exam = 20 * DAY_MS;
    let skills = [
        PlaneClass::Sagittal,
        PlaneClass::Transverse,
        PlaneClass::Coronal,
    ]
    .map(|plane| skill(Kind::Side, plane));
    let answers: Vec<Attempt> = (0..19)
        .flat_map(|day| {
            skills
                .into_iter()
                .enumerate()
                .map(move |(place, skill)| Attempt {
                    skill,
                    level: Level::Easy,
                    at_ms: day * DAY_MS + 7_200_000,
                    score: if (day + place as u64).is_multiple_of(5) {
                        0.0
                    } else {
                        1.0
                    },
                    ways: 4,
                })
        })
        .collect();
    for count in 1..=answers.len() {
        let progress = Progress::of(&answers[..count], MasteryRule::default(), Some(exam));
        let due = progress.due_until(exam);
        assert_eq!(
            due.len(),
            progress.standings().count(),
            "none is planned beyond it"
        );
        assert!(
            due.windows(2).all(|pair| pair[0].1 <= pair[1].1),
            "the first ones first"
        );
        let free = Progress::of(&answers[..count], MasteryRule::default(), None);
        assert!(free.due_until(exam).len() <= due.len());
    }
    let none = Progress::of(&[], MasteryRule::default(), Some(exam));
    assert!(none.due_until(exam).is_empty());
}

fn tries(skill: Skill, right: &[bool]) -> Vec<Attempt> {
    (0_u64..)
        .zip(right)
        .map(|(at, right)| Attempt {
            skill,
            level: Level::Easy,
            at_ms: at * DAY_MS,
            score: if *right { 1.0 } else { 0.0 },
            ways: 5,
        })
        .collect()
}

#[test]
fn mastery_is_eight_of_the_last_ten() {
    let skill = skill(Kind::Side, PlaneClass::Transverse);
    let check = |right: &[bool], mastered: bool| {
        let progress = Progress::of(&tries(skill, right), MasteryRule::default(), None);
        assert_eq!(progress.is_mastered(skill), mastered, "{right:?}");
        assert_eq!(progress.kind_is_mastered(Kind::Side), mastered, "{right:?}");
    };
    check(&[true; 9], false);
    check(&[true; 10], true);
    let mut mixed = vec![false; 5];
    mixed.extend([true; 8]);
    check(&mixed, true);
    mixed.extend([false; 3]);
    check(&mixed, false);
}

#[test]
fn help_fades() {
    let skill = skill(Kind::Side, PlaneClass::Transverse);
    for (right, help) in [
        (vec![], Help::Worked),
        (vec![true], Help::FirstStep),
        (vec![false, false, true, false], Help::FirstStep),
        (vec![true, true, true], Help::None),
    ] {
        let progress = Progress::of(&tries(skill, &right), MasteryRule::default(), None);
        assert_eq!(progress.help(Kind::Side), help, "{right:?}");
    }
}

#[test]
fn levels_follow_the_learner() {
    let skill = skill(Kind::Side, PlaneClass::Transverse);
    let level = |right: &[bool]| {
        Progress::of(&tries(skill, right), MasteryRule::default(), None).level(skill, 5)
    };
    assert_eq!(level(&[]), Level::Easy);
    assert_eq!(level(&[true; 12]), Level::Medium);
    assert_eq!(level(&[false; 12]), Level::Easy);
    for kind in Kind::ALL {
        assert!(
            prior(kind, Level::Easy) < prior(kind, Level::Medium)
                && prior(kind, Level::Medium) < prior(kind, Level::Hard),
            "{kind:?}"
        );
    }
}

fn available() -> Vec<Skill> {
    Kind::ALL
        .into_iter()
        .flat_map(|kind| PlaneClass::ALL.map(|plane| skill(kind, plane)))
        .collect()
}

proptest! {
    /// A round has as many questions as asked for, all of them available, and what is due is among them.
    #[test]
    fn rounds_are_full_and_mixed(
        answers in prop::collection::vec((0_usize..40, any::<bool>(), 0_u64..60), 0..120),
        count in 1_usize..20,
        seed in any::<u64>(),
    ) {
        let available = available();
        let mut attempts: Vec<Attempt> = answers
            .iter()
            .map(|(place, right, day)| Attempt {
                skill: available[*place],
                level: Level::Medium,
                at_ms: day * DAY_MS,
                score: if *right { 1.0 } else { 0.0 },
                ways: 4,
            })
            .collect();
        attempts.sort_by_key(|attempt| attempt.at_ms);
        let now = 60 * DAY_MS;
        let progress = Progress::of(&attempts, MasteryRule::default(), None);
        let round = progress.round(&available, count, now, seed);
        prop_assert_eq!(round.len(), count);
        prop_assert!(round.iter().all(|skill| available.contains(skill)), "{round:?}");
        prop_assert_eq!(&round, &progress.round(&available, count, now, seed), "the same again");
        let mut once = round.clone();
        once.sort();
        once.dedup();
        if once.len() > count.div_ceil(2) {
            let twice = round.windows(2).filter(|pair| pair[0] == pair[1]).count();
            prop_assert_eq!(twice, 0, "no skill follows itself: {:?}", round);
        }
    }
}

#[test]
fn what_is_due_comes_first_and_new_things_keep_coming() {
    let available = available();
    let known = available[0];
    let progress = Progress::of(&tries(known, &[false]), MasteryRule::default(), None);
    let round = progress.round(&available, 10, 3 * DAY_MS, 1);
    assert!(round.contains(&known), "the missed one is due again");
    let new = round.iter().filter(|skill| **skill != known).count();
    assert_eq!(new, 9, "the rest is new");
    let empty = Progress::of(&[], MasteryRule::default(), None);
    let first = empty.round(&available, 10, 0, 1);
    let mut kinds: Vec<Kind> = first.iter().map(|skill| skill.kind).collect();
    kinds.sort();
    kinds.dedup();
    assert_eq!(kinds.len(), 4, "a few kinds at a time: {kinds:?}");
    assert!(
        empty.weak().is_empty(),
        "nothing is weak before it was tried"
    );
}
