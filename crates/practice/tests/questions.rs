//! Ten thousand seeds of every kind of question on the baked bodies: each is answered by one thing, and away from every
//! border. What the tests hold them against is reckoned here anew, from the pose alone.
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

mod support;

use anatomy::AxisView;
use geometry::{ApexSide, BodyPlane, ImageSide, MarkSide, ObliqueKind, PatientSide};
use practice::generate::{Draw, Focus, NoQuestion, draw, skills};
use practice::mark::mark;
use practice::{
    Answer, Asked, Choice, Fault, Kind, Layout, Level, Move, PlaneClass, PlaneWord, Question, Task,
};
use support::{BODIES, context};

const SEEDS: u64 = 10_000;

/// Least distance from a border, degrees, less rounding.
const BORDER: f64 = 5.0 - 1e-6;

/// An arc cosine near 0° loses half the digits, degrees.
const ROUNDING: f64 = 1e-5;

/// Level and body of a seed: each level a third of them, the woman eight tenths.
fn dealt(seed: u64) -> (Level, &'static str) {
    let level = Level::ALL[usize::try_from(seed % 3).expect("below 3")];
    let body = match seed % 10 {
        8 => BODIES[1],
        9 => BODIES[2],
        _ => BODIES[0],
    };
    (level, body)
}

fn drawn(kind: Kind, seed: u64) -> Question {
    let (level, body) = dealt(seed);
    draw(&Draw::new(seed, kind, level), &context(body))
        .unwrap_or_else(|error| panic!("{kind:?} {level:?} {body} seed {seed}: {error}"))
}

type V = [f64; 3];

fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: V, b: V) -> V {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// Notch, beam and plane normal of the question's view.
fn axes(question: &Question) -> (V, V, V) {
    let axes = question.view.placement.pose.axes();
    let (notch, beam) = (axes.lateral.to_array(), axes.depth.to_array());
    (notch, beam, cross(notch, beam))
}

/// Angle from the plane's normal to each patient axis, degrees: sagittal, coronal, transverse.
fn plane_angles(normal: V) -> [f64; 3] {
    normal.map(|part| libm::acos(part.abs().min(1.0)).to_degrees())
}

/// The patient side nearest to a direction, and how far off it is, degrees.
fn nearest_side(direction: V) -> (PatientSide, f64) {
    let sides = [
        (PatientSide::Right, [-1.0, 0.0, 0.0]),
        (PatientSide::Left, [1.0, 0.0, 0.0]),
        (PatientSide::Anterior, [0.0, -1.0, 0.0]),
        (PatientSide::Posterior, [0.0, 1.0, 0.0]),
        (PatientSide::Head, [0.0, 0.0, 1.0]),
        (PatientSide::Foot, [0.0, 0.0, -1.0]),
    ];
    sides
        .into_iter()
        .map(|(side, axis)| {
            let cosine = dot(direction, axis).clamp(-1.0, 1.0);
            (side, libm::acos(cosine).to_degrees())
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .expect("six sides")
}

fn image_side(question: &Question, side: ImageSide) -> V {
    let (notch, beam, _) = axes(question);
    let convention = question.view.placement.convention;
    let minus = |v: V| v.map(|part| -part);
    match (side, convention.mark, convention.apex) {
        (ImageSide::Left, MarkSide::Left, _) | (ImageSide::Right, MarkSide::Right, _) => notch,
        (ImageSide::Left, MarkSide::Right, _) | (ImageSide::Right, MarkSide::Left, _) => {
            minus(notch)
        }
        (ImageSide::Top, _, ApexSide::Top) | (ImageSide::Bottom, _, ApexSide::Bottom) => {
            minus(beam)
        }
        (ImageSide::Top, _, ApexSide::Bottom) | (ImageSide::Bottom, _, ApexSide::Top) => beam,
    }
}

/// The one plane word that the angles leave, away from every border.
fn check_plane(question: &Question, seed: u64) -> PlaneWord {
    let (_, _, normal) = axes(question);
    let angles = plane_angles(normal);
    let tolerance = question.view.tolerance.to_deg();
    let names = [
        BodyPlane::Sagittal,
        BodyPlane::Coronal,
        BodyPlane::Transverse,
    ];
    let (nearest, angle) = names
        .into_iter()
        .zip(angles)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .expect("three planes");
    assert!(
        (angle - tolerance).abs() >= BORDER,
        "seed {seed}: {angle}° from {nearest:?} with a tolerance of {tolerance}°"
    );
    if angle < tolerance {
        return PlaneWord::Named(nearest);
    }
    assert!(
        (angles[2] - 45.0).abs() >= BORDER,
        "seed {seed}: {}° from transverse",
        angles[2]
    );
    PlaneWord::Oblique(Some(if angles[2] > 45.0 {
        ObliqueKind::Longitudinal
    } else {
        ObliqueKind::Transverse
    }))
}

fn check_side(direction: V, given: Choice, seed: u64) {
    let (side, off) = nearest_side(direction);
    assert!(off <= 45.0 - BORDER, "seed {seed}: {off}° off {side:?}");
    assert_eq!(given, Choice::Side(side), "seed {seed}");
}

/// The probe as it is drawn and told, by its notch along the skin, says the same as the plane.
fn check_notch_as_drawn(question: &Question, seed: u64) {
    let (notch, _, _) = axes(question);
    let on_skin = question.view.placement.pose.notch_on_skin().to_array();
    let (side, off) = nearest_side(on_skin);
    assert!(
        off <= 45.0 - BORDER,
        "seed {seed}: drawn {off}° off {side:?}"
    );
    assert_eq!(side, nearest_side(notch).0, "seed {seed}");
}

/// What holds for every question.
fn check_form(question: &Question, seed: u64) {
    let worth: f64 = question.parts().iter().map(|part| part.worth).sum();
    if let Task::Choose(parts) = &question.task {
        assert!((worth - 1.0).abs() < 1e-12, "seed {seed}: worth {worth}");
        for part in parts {
            let right = part.options.iter().filter(|one| **one == part.right);
            assert_eq!(right.count(), 1, "seed {seed}: one right option");
            let mut once = part.options.clone();
            once.dedup();
            assert_eq!(once, part.options, "seed {seed}: no option twice");
            assert!(
                (2..=8).contains(&part.options.len()),
                "seed {seed}: {} options",
                part.options.len()
            );
        }
    }
    let display = question.display();
    assert!(
        display.body || display.picture,
        "seed {seed}: something is shown"
    );
}

fn check_kind(kind: Kind, check: impl Fn(&Question, u64)) {
    for seed in 0..SEEDS {
        let question = drawn(kind, seed);
        assert_eq!(question.kind, kind, "seed {seed}");
        check_form(&question, seed);
        check(&question, seed);
    }
}

fn right(question: &Question) -> Choice {
    question.right_choices()[0]
}

#[test]
fn planes_from_probes_have_one_name() {
    check_kind(Kind::PlaneFromProbe, |question, seed| {
        let word = check_plane(question, seed);
        assert_eq!(right(question), Choice::Plane(word), "seed {seed}");
    });
}

#[test]
fn planes_from_pictures_have_one_name() {
    check_kind(Kind::PlaneFromPicture, |question, seed| {
        let word = check_plane(question, seed);
        assert_eq!(right(question), Choice::Plane(word), "seed {seed}");
    });
}

#[test]
fn sides_are_never_aslant() {
    check_kind(Kind::Side, |question, seed| {
        let Asked::ImageSide(side) = question.parts()[0].asked else {
            panic!("seed {seed}: a side is asked for");
        };
        check_side(image_side(question, side), right(question), seed);
        if matches!(side, ImageSide::Left | ImageSide::Right) {
            check_notch_as_drawn(question, seed);
        }
    });
}

#[test]
fn notches_are_never_aslant() {
    check_kind(Kind::NotchFromPicture, |question, seed| {
        let (notch, _, _) = axes(question);
        check_side(notch, right(question), seed);
    });
}

#[test]
fn shapes_are_those_of_the_transducer() {
    check_kind(Kind::TransducerFromPicture, |question, seed| {
        let shape = question.view.transducer.top_shape();
        assert_eq!(right(question), Choice::Shape(shape), "seed {seed}");
    });
}

#[test]
fn movements_are_one_movement() {
    check_kind(Kind::NextMove, |question, seed| {
        let after = question.after.as_ref().expect("the view after");
        let (before, after) = (&question.view.placement.pose, &after.placement.pose);
        let went = (after.contact() - before.contact()).norm();
        let turned = |a: V, b: V| libm::acos(dot(a, b).clamp(-1.0, 1.0)).to_degrees();
        let (a, b) = (before.axes(), after.axes());
        let notch = turned(a.lateral.to_array(), b.lateral.to_array());
        let beam = turned(a.depth.to_array(), b.depth.to_array());
        let pressed = after.press().get() - before.press().get();
        let Choice::Move(made) = right(question) else {
            panic!("seed {seed}: a movement");
        };
        match made {
            Move::Slide(_) => {
                assert!(went > 7.9 && beam < 8.1, "seed {seed}: {went} mm, {beam}°");
                let (_, off) = nearest_side(
                    (after.contact() - before.contact())
                        .direction()
                        .expect("it went")
                        .to_array(),
                );
                assert!(off <= 45.0 - BORDER, "seed {seed}: slides {off}° aslant");
            }
            Move::Tilt(side) => {
                // A rocked beam swings by less than the plane tilts.
                let plane = turned(a.elevation.to_array(), b.elevation.to_array());
                assert!(went < 1e-9 && plane > 9.9, "seed {seed}: tilts {plane}°");
                let swung = (b.depth.to_vector() - a.depth.to_vector()).to_array();
                let (_, off) = nearest_side(a.elevation.to_array());
                assert!(off <= 45.0 - BORDER, "seed {seed}: tilts {off}° aslant");
                assert!(
                    dot(swung, side.direction().to_array()) > 0.0,
                    "seed {seed}: swings toward {side:?}"
                );
            }
            Move::RockToNotch | Move::RockFromNotch => {
                assert!(went < 1e-9 && beam > 9.0, "seed {seed}: rocks {beam}°");
                let toward = dot(b.depth.to_array(), a.lateral.to_array())
                    - dot(a.depth.to_array(), a.lateral.to_array());
                assert_eq!(
                    toward > 0.0,
                    made == Move::RockToNotch,
                    "seed {seed}: rocks {toward}"
                );
            }
            Move::TurnClockwise | Move::TurnCounter => {
                assert!(went < 1e-9 && notch > 9.9, "seed {seed}: turns {notch}°");
            }
            Move::Press | Move::Release => {
                assert!(
                    pressed.abs() >= 4.0 && beam < ROUNDING,
                    "seed {seed}: {pressed} mm"
                );
            }
        }
    });
}

#[test]
fn axes_are_away_from_their_borders() {
    check_kind(Kind::Axis, |question, seed| {
        let word = check_plane(question, seed);
        let subject = question.subject.as_ref().expect("a lit structure");
        let (view, angle) = subject.axis.expect("with an axis");
        let angle = angle.to_deg();
        let wanted = if angle <= 20.0 {
            AxisView::Long
        } else if angle >= 70.0 {
            AxisView::Short
        } else {
            AxisView::Oblique
        };
        assert!(
            (angle - 20.0).abs() >= BORDER && (angle - 70.0).abs() >= BORDER,
            "seed {seed}: {angle}° to the axis"
        );
        assert_eq!(view, wanted, "seed {seed}");
        assert_eq!(
            question.right_choices(),
            [Choice::Axis(view), Choice::Plane(word)],
            "seed {seed}"
        );
    });
}

#[test]
fn wanted_views_can_be_told_and_reached() {
    check_kind(Kind::PlaceProbe, |question, seed| {
        check_plane(question, seed);
        let (_, off) = nearest_side(image_side(question, ImageSide::Left));
        assert!(
            off <= 45.0 - BORDER,
            "seed {seed}: image left {off}° aslant"
        );
        let marks = |answer: &Answer| {
            let body = BODIES.into_iter().find(|id| *id == question.view.body);
            mark(question, answer, 0, &context(body.expect("a known body")))
        };
        let best = marks(&Answer::Placed(question.view.placement));
        assert!(best.is_right(), "seed {seed}: {best:?}");
        let Task::Place { start } = &question.task else {
            panic!("seed {seed}: a place is asked for");
        };
        let at_start = marks(&Answer::Placed(*start));
        assert!(
            at_start.fraction < best.fraction,
            "seed {seed}: something is left to do"
        );
    });
}

#[test]
fn lit_structures_have_a_word() {
    check_kind(Kind::Annotate, |question, seed| {
        check_plane(question, seed);
        let subject = question.subject.as_ref().expect("a lit structure");
        assert!(!subject.label.is_empty(), "seed {seed}");
    });
}

#[test]
fn faults_can_be_told() {
    check_kind(Kind::FindTheFault, |question, seed| {
        for side in ImageSide::ALL {
            let (_, off) = nearest_side(image_side(question, side));
            assert!(off <= 45.0 - BORDER, "seed {seed}: {side:?} {off}° aslant");
        }
        let shown = question.disagreement.as_ref().expect("a disagreement");
        let here = &question.view.placement;
        let pose_differs = shown.picture.pose != here.pose;
        let mark_differs = shown.picture.convention.mark != shown.department;
        let caption_differs = question
            .subject
            .as_ref()
            .zip(shown.caption)
            .is_some_and(|(subject, caption)| subject.side != caption);
        let told = [
            (Fault::NotchReversed, pose_differs),
            (Fault::MarkOnOtherSide, mark_differs),
            (Fault::DepthLetters, shown.depth_letters_exchanged),
            (Fault::BodySide, caption_differs),
        ];
        for (fault, differs) in told {
            assert_eq!(
                differs,
                fault == shown.fault,
                "seed {seed}: only {:?}",
                shown.fault
            );
        }
        if shown.fault == Fault::BodySide {
            assert!(
                here.pose.contact().x().abs() >= 15.0,
                "seed {seed}: stands clear of the mid-line"
            );
        }
    });
}

#[test]
fn equal_draws_give_equal_questions() {
    for kind in Kind::ALL {
        for seed in 0..30 {
            assert_eq!(drawn(kind, seed), drawn(kind, seed), "{kind:?} {seed}");
        }
    }
}

#[test]
fn what_no_probe_can_do_is_refused_with_its_reason() {
    let focus = Focus {
        plane: Some(PlaneClass::Coronal),
        approach: Some(PatientSide::Anterior),
        layout: None,
    };
    let wanted = Draw {
        focus,
        ..Draw::new(1, Kind::PlaneFromProbe, Level::Easy)
    };
    let error = draw(&wanted, &context(BODIES[0])).expect_err("no such plane");
    assert!(
        matches!(error, NoQuestion::PlaneNeedsBeam { .. }),
        "{error:?}"
    );
    assert_eq!(
        error.to_string(),
        "a coronal plane cannot be had from the front: the plane must contain the beam"
    );
}

#[test]
fn every_skill_of_a_body_can_be_asked_about() {
    for id in BODIES {
        let context = context(id);
        let all = skills(context.body);
        assert!(all.len() > 50, "{id}: {} skills", all.len());
        let mut missing = Vec::new();
        for skill in all {
            let found = Level::ALL.into_iter().any(|level| {
                let wanted = Draw {
                    focus: Focus {
                        plane: Some(skill.plane),
                        approach: Some(skill.approach),
                        layout: Some(skill.layout),
                    },
                    ..Draw::new(5, skill.kind, level)
                };
                draw(&wanted, &context).is_ok_and(|question| question.skill() == skill)
            });
            if !found {
                missing.push(skill.key());
            }
        }
        assert!(missing.is_empty(), "{id}: {missing:?}");
    }
}

/// The hard questions are hard in all the ways they are meant to be.
#[test]
fn hard_questions_vary() {
    let questions: Vec<Question> = (0..600)
        .filter_map(|seed| {
            let wanted = Draw::new(seed, Kind::Side, Level::Hard);
            draw(&wanted, &context(BODIES[usize::from(seed % 5 == 0) * 2])).ok()
        })
        .collect();
    let some = |what: &str, holds: &dyn Fn(&Question) -> bool| {
        let count = questions.iter().filter(|one| holds(one)).count();
        assert!(count >= 10, "{what}: {count} of {}", questions.len());
    };
    for layout in Layout::ALL {
        some(layout.key(), &|one| one.skill().layout == layout);
    }
    for plane in PlaneClass::ALL {
        some(plane.key(), &|one| one.skill().plane == plane);
    }
    for side in PatientSide::ALL {
        some(side.words(), &|one| one.skill().approach == side);
    }
    for eye in practice::Eye::ALL {
        some(eye.key(), &|one| one.view.eye == eye);
    }
}
