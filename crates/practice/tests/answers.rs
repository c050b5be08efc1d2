//! Marks and misconceptions: what is right gets all marks and no name; marks never rise with the miss; whoever holds a
//! misconception is named with it.
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

mod support;

use std::collections::BTreeMap;

use anatomy::BodySide;
use geometry::{Angle, BodyPlane, Direction, Placement, Vector};
use practice::generate::{Draw, Focus, draw};
use practice::mark::{Aspect, FULL, Finding, HINT_COST, Marked, compare, mark, placed};
use practice::misconception::{Misconception, answer_of, named};
use practice::{Answer, Asked, Choice, Kind, Level, PlaneWord, Question, Task};
use support::{BODIES, context, word};

/// Seeds of each kind and level here; the borders have their own test with ten thousand.
const SEEDS: u64 = 50;

fn all() -> impl Iterator<Item = Question> {
    of(&Kind::ALL, SEEDS)
}

/// Questions of some kinds, `seeds` of each level.
fn of(kinds: &[Kind], seeds: u64) -> impl Iterator<Item = Question> {
    kinds.iter().copied().flat_map(move |kind| {
        Level::ALL.into_iter().flat_map(move |level| {
            (0..seeds).filter_map(move |seed| {
                let id = BODIES[usize::from(seed % 7 == 3) * 2];
                draw(&Draw::new(seed, kind, level), &context(id)).ok()
            })
        })
    })
}

fn marked(question: &Question, answer: &Answer, hints: u32) -> Marked {
    mark(question, answer, hints, &context(body_of(question)))
}

fn body_of(question: &Question) -> &'static str {
    BODIES
        .into_iter()
        .find(|id| *id == question.view.body)
        .expect("a known body")
}

fn written(question: &Question) -> String {
    let subject = question.subject.as_ref().expect("a structure");
    let plane = match PlaneWord::of(question.view.naming().name) {
        PlaneWord::Named(BodyPlane::Sagittal) | PlaneWord::Longitudinal => "SAG",
        PlaneWord::Named(BodyPlane::Coronal) => "COR",
        PlaneWord::Named(BodyPlane::Transverse) => "TRANS",
        PlaneWord::Oblique(Some(geometry::ObliqueKind::Longitudinal)) => "OBL LONG",
        PlaneWord::Oblique(_) => "OBL TRANS",
    };
    let side = match question.task {
        Task::Write {
            side: Some(BodySide::Left),
        } => "LT ",
        Task::Write {
            side: Some(BodySide::Right),
        } => "RT ",
        _ => "",
    };
    format!("{side}{plane} {}", word(subject.structure.as_str()))
}

fn right_answer(question: &Question) -> Answer {
    match &question.task {
        Task::Choose(_) => Answer::Chosen(question.right_choices()),
        Task::Place { .. } => Answer::Placed(question.view.placement),
        Task::Write { .. } => Answer::Written(written(question)),
    }
}

#[test]
fn the_right_answer_has_all_marks_and_no_misconception() {
    for question in all() {
        let answer = right_answer(&question);
        let got = marked(&question, &answer, 0);
        assert!(
            got.is_right() && got.fraction >= FULL,
            "{question:?} {answer:?} {got:?}"
        );
        let held = named(&question, &answer, &context(body_of(&question)));
        assert!(held.is_empty(), "{answer:?}: {held:?}");
    }
}

#[test]
fn skipping_has_no_marks_and_hints_cost_what_they_say() {
    for question in all() {
        let skipped = marked(&question, &Answer::Skipped, 0);
        assert!(skipped.fraction.abs() < 1e-12, "{skipped:?}");
        let worth: f64 = skipped.parts.iter().map(|part| part.worth).sum();
        assert!((worth - 1.0).abs() < 1e-12, "{worth}");
        if question.kind != Kind::Annotate {
            let answer = right_answer(&question);
            for hints in 0..6_u32 {
                let wanted = (1.0 - HINT_COST * f64::from(hints)).max(0.0);
                let got = marked(&question, &answer, hints);
                assert!((got.fraction - wanted).abs() < 1e-3, "{hints}: {got:?}");
                assert!(got.is_right(), "a hint does not make it wrong");
            }
        }
    }
}

#[test]
fn every_option_has_marks_between_none_and_all_and_only_one_has_all() {
    for question in all() {
        for (place, part) in question.parts().iter().enumerate() {
            let mut full = 0;
            for option in &part.options {
                let mut chosen = question.right_choices();
                chosen[place] = *option;
                let got = marked(&question, &Answer::Chosen(chosen), 0);
                assert!((0.0..=1.0).contains(&got.fraction), "{got:?}");
                full += usize::from(got.is_right());
            }
            assert_eq!(full, 1, "{:?}", part.options);
        }
    }
}

#[test]
fn longitudinal_is_accepted_for_sagittal_and_for_nothing_else() {
    let longitudinal = Choice::Plane(PlaneWord::Longitudinal);
    let mut both = [0, 0];
    for question in of(&[Kind::PlaneFromProbe, Kind::PlaneFromPicture], 60) {
        let part = &question.parts()[0];
        if part.asked != Asked::Plane {
            continue;
        }
        let sagittal = part.right == Choice::Plane(PlaneWord::Named(BodyPlane::Sagittal));
        let got = marked(&question, &Answer::Chosen(vec![longitudinal]), 0);
        assert_eq!(got.is_right(), sagittal, "{:?}", part.right);
        both[usize::from(sagittal)] += 1;
    }
    assert!(both.iter().all(|count| *count > 20), "{both:?}");
}

/// Whoever holds a misconception answers by it; that answer is named with it. Each is met often enough.
#[test]
fn whoever_holds_a_misconception_is_named_with_it() {
    let mut met: BTreeMap<Misconception, usize> = BTreeMap::new();
    // Few windows are on the back, so that side is asked about once more by itself.
    let behind = (0..200).filter_map(|seed| {
        let focus = Focus {
            approach: Some(geometry::PatientSide::Posterior),
            ..Focus::default()
        };
        let wanted = Draw {
            focus,
            ..Draw::new(seed, Kind::Side, Level::Medium)
        };
        draw(&wanted, &context(BODIES[0])).ok()
    });
    for question in of(&Kind::ALL, 100).chain(behind) {
        for one in Misconception::ALL {
            let Some(answer) = answer_of(one, &question) else {
                continue;
            };
            let held = named(&question, &answer, &context(body_of(&question)));
            let wrong = !marked(&question, &answer, 0).is_right();
            assert_eq!(
                held.contains(&one),
                wrong,
                "{one:?} in {:?}: {answer:?} {held:?}",
                question.kind
            );
            *met.entry(one).or_default() += usize::from(wrong);
        }
    }
    for one in Misconception::ALL {
        let count = met.get(&one).copied().unwrap_or(0);
        assert!(count >= 15, "{one:?} was met {count} times: {met:?}");
    }
}

/// Wrong options are there because somebody would choose them.
#[test]
fn wrong_options_come_from_misconceptions() {
    for question in all() {
        for (place, part) in question.parts().iter().enumerate() {
            let predicted = Misconception::ALL
                .into_iter()
                .filter_map(|one| one.predict(&question, place))
                .filter(|choice| !part.options.contains(choice))
                .count();
            let full = part.options.len() >= 6;
            assert!(predicted == 0 || full, "{:?}", part.options);
        }
    }
}

fn places() -> impl Iterator<Item = Question> {
    of(&[Kind::PlaceProbe], 100)
}

fn score(parts: &[practice::mark::PartMark], aspect: Aspect) -> f64 {
    parts
        .iter()
        .find(|part| part.aspect == aspect)
        .map_or(f64::NAN, |part| part.score)
}

#[test]
fn marks_never_rise_as_the_probe_turns_away() {
    for question in places() {
        let wanted = question.view.placement;
        for sign in [-1.0, 1.0] {
            let mut before = 1.0;
            for step in 0..=18 {
                let by = Angle::deg(sign * 5.0 * f64::from(step));
                let pose = wanted.pose.with_rotation(wanted.pose.rotation() + by);
                let got = placed(&question, &Placement { pose, ..wanted });
                let plane = score(&got, Aspect::PlaneAngle);
                assert!(plane <= before + 1e-12, "{plane} after {before}");
                before = plane;
            }
        }
    }
}

#[test]
fn marks_never_rise_as_the_plane_leaves_the_aim() {
    for question in places() {
        let wanted = question.view.placement;
        let across = wanted.pose.axes().elevation;
        let mut before = 1.0;
        for step in 0..20 {
            let contact = wanted.pose.contact() + across * (4.0 * f64::from(step));
            let pose = wanted.pose.with_contact(contact, wanted.pose.normal());
            let got = placed(&question, &Placement { pose, ..wanted });
            let aim = score(&got, Aspect::Aim);
            // Moving through the aim may bring it nearer first, by as much as the wanted view missed it.
            if step > 5 {
                assert!(aim <= before + 1e-9, "{aim} after {before}");
            }
            before = aim;
        }
        assert!(before < 1e-9, "far away there is nothing left: {before}");
    }
}

#[test]
fn the_reversed_picture_is_its_own_finding() {
    for question in places() {
        let wanted = question.view.placement;
        let pose = practice::compose::reversed(&wanted.pose).expect("a pose");
        let answer = Answer::Placed(Placement { pose, ..wanted });
        let got = marked(&question, &answer, 0);
        assert!(got.is_reversed(), "{got:?}");
        for part in &got.parts {
            let reversed = part.aspect == Aspect::WayRound;
            assert_eq!(part.score < FULL, reversed, "only the way round: {part:?}");
            assert_eq!(part.finding == Finding::Reversed, reversed, "{part:?}");
        }
        let held = named(&question, &answer, &context(body_of(&question)));
        assert_eq!(held, [Misconception::NotchFarSide]);
        // Turned back by the layout: the same picture again, and all marks.
        let mut convention = wanted.convention;
        convention.mark = convention.mark.opposite();
        let twice = Answer::Placed(Placement {
            pose,
            convention,
            ..wanted
        });
        assert!(marked(&question, &twice, 0).is_right(), "the same picture");
    }
}

/// What one placement is off from the other, the other is off from the one.
#[test]
fn angles_and_reversal_are_symmetric() {
    for question in places() {
        let Task::Place { start } = question.task else {
            continue;
        };
        let there = compare(&question, &start);
        let mut back = question.clone();
        back.view.placement = start;
        let here = compare(&back, &question.view.placement);
        assert!(
            (there.plane_angle - here.plane_angle).abs() < Angle::deg(1e-6),
            "{there:?} {here:?}"
        );
        assert_eq!(there.reversed, here.reversed);
        assert_eq!(there.wrong_half(), here.wrong_half());
    }
}

/// A body and a question mirrored left for right have mirrored answers: the marks know no favoured side.
#[test]
fn sides_are_judged_alike_on_both_halves() {
    let mut seen = [0, 0];
    for question in of(&[Kind::Side], 100) {
        let part = &question.parts()[0];
        let Choice::Side(right) = part.right else {
            continue;
        };
        let got = marked(
            &question,
            &Answer::Chosen(vec![Choice::Side(right.opposite())]),
            0,
        );
        assert!(got.fraction < 1e-12, "the opposite side is wrong: {got:?}");
        match right {
            geometry::PatientSide::Left => seen[0] += 1,
            geometry::PatientSide::Right => seen[1] += 1,
            _ => {}
        }
    }
    assert!(seen.iter().all(|count| *count > 15), "{seen:?}");
}

#[test]
fn the_wrong_half_is_named_for_what_it_is() {
    let mut met = 0;
    for question in places() {
        let wanted = question.view.placement;
        if wanted.pose.contact().x().abs() < 20.0 {
            continue;
        }
        let at = wanted.pose.contact().to_array();
        let mirrored = geometry::Point::new(-at[0], at[1], at[2]);
        let [x, y, z] = wanted.pose.normal().to_array();
        let normal = Direction::from_array([-x, y, z]).expect("a normal");
        let axes = wanted.pose.axes();
        let flip = |direction: Direction<geometry::Patient>| {
            let [x, y, z] = direction.to_array();
            Vector::new(-x, y, z)
        };
        let pose = geometry::Pose::from_notch_and_beam(
            mirrored,
            normal,
            flip(axes.lateral),
            flip(axes.depth),
        )
        .expect("a pose");
        let answer = Answer::Placed(Placement { pose, ..wanted });
        let held = named(&question, &answer, &context(body_of(&question)));
        assert!(held.contains(&Misconception::ViewerForPatient), "{held:?}");
        met += 1;
    }
    assert!(met > 50, "{met}");
}

#[test]
fn annotations_are_marked_word_by_word() {
    let mut met = 0;
    for question in of(&[Kind::Annotate], 30) {
        let Task::Write { side: Some(_) } = question.task else {
            continue;
        };
        let line = written(&question);
        let swapped = if let Some(rest) = line.strip_prefix("LT ") {
            format!("RT {rest}")
        } else {
            line.replacen("RT ", "LT ", 1)
        };
        let answer = Answer::Written(swapped);
        let got = marked(&question, &answer, 0);
        assert!((got.fraction - 0.75).abs() < 1e-9, "only the side: {got:?}");
        let held = named(&question, &answer, &context(body_of(&question)));
        assert_eq!(held, [Misconception::ViewerForPatient]);
        let bare = line.trim_start_matches("LT ").trim_start_matches("RT ");
        let got = marked(&question, &Answer::Written(bare.to_owned()), 0);
        assert!(
            (got.fraction - 0.75).abs() < 1e-9,
            "the side is missing: {got:?}"
        );
        assert_eq!(got.parts[1].finding, Finding::Missing);
        let got = marked(&question, &Answer::Written("nonsense".to_owned()), 0);
        assert!(got.fraction < 1e-9, "{got:?}");
        met += 1;
    }
    assert!(met > 10, "{met}");
}
