//! A teacher puts a set together.

use crate::support::{act, opened};
use app::practice::{Kind, PlaneClass};
use app::teach::{Teach, TeachAction, TeachView};
use app::{Action, State, Texts};
use course::set::{self, Asked, Difficulty};
use geometry::{BodyPosition, ImageSide, PatientSide};
use proptest::prelude::*;

fn done(teach: &mut Teach, state: &State, actions: &[TeachAction]) -> TeachView {
    for action in actions {
        teach.update(action.clone(), state);
    }
    teach.view(state, &Texts::english())
}

#[test]
fn check_a_set_is_built_from_views() {
    let state =
        opened("v1.body=adult_female&at=0,-110,118&out=-90,0&turn=270&depth=140&tol=15&lie=supine");
    let mut teach = Teach::default();
    let view = done(
        &mut teach,
        &state,
        &[
            TeachAction::Title("First look".to_owned()),
            TeachAction::Add(Kind::PlaneFromProbe),
            TeachAction::Add(Kind::Side),
            TeachAction::Side(1, Some(ImageSide::Right)),
            TeachAction::Points(1, 3),
            TeachAction::AddDrawn,
            TeachAction::Count(2, 4),
        ],
    );
    assert_eq!(view.summary, "6 questions.", "{view:?}");
    let set = teach.set();
    assert_eq!(set.body, "adult_female", "the first view decides the body");
    assert!(
        (set.tolerance_deg - 15.0).abs() < 1e-9,
        "and the tolerance: {}",
        set.tolerance_deg
    );
    assert_eq!(set.position, BodyPosition::Supine, "and how it lies");
    let again = set::read(set::pretty(set).as_bytes()).expect("a good file");
    assert_eq!(again.set, *set, "the file holds all of it");
    assert!(
        again.unknown.is_empty(),
        "and nothing else: {:?}",
        again.unknown
    );
    let names: Vec<&str> = set.questions.iter().map(|question| &*question.id).collect();
    assert_eq!(
        names,
        ["plane_from_probe_1", "side_1", "drawn_1"],
        "names course systems take"
    );
    let link = course::share::set_link(set).text;
    let mut other = Teach::default();
    other.update(TeachAction::OpenKept(link), &state);
    assert_eq!(other.set(), set, "kept work comes back");
}

#[test]
fn check_order_copies_and_steps_back() {
    let state = opened("");
    let mut teach = Teach::default();
    let ids = |teach: &Teach| -> Vec<String> {
        teach
            .set()
            .questions
            .iter()
            .map(|question| question.id.clone())
            .collect()
    };
    done(
        &mut teach,
        &state,
        &[
            TeachAction::Add(Kind::Side),
            TeachAction::Add(Kind::PlaneFromPicture),
            TeachAction::Copy(0),
        ],
    );
    assert_eq!(ids(&teach), ["side_1", "side_2", "plane_from_picture_1"]);
    done(&mut teach, &state, &[TeachAction::Move { from: 2, to: 0 }]);
    assert_eq!(ids(&teach), ["plane_from_picture_1", "side_1", "side_2"]);
    done(&mut teach, &state, &[TeachAction::Remove(1)]);
    assert_eq!(ids(&teach), ["plane_from_picture_1", "side_2"]);
    done(&mut teach, &state, &[TeachAction::Undo, TeachAction::Undo]);
    assert_eq!(ids(&teach), ["side_1", "side_2", "plane_from_picture_1"]);
    let view = done(&mut teach, &state, &[TeachAction::Redo]);
    assert_eq!(ids(&teach), ["plane_from_picture_1", "side_1", "side_2"]);
    assert!(view.can_redo && view.can_undo, "one more step each way");
}

#[test]
fn check_what_cannot_be_asked_is_said() {
    // An oblique plane near the border between two names.
    let state = opened("v1.body=adult_female&at=0,-110,118&out=-90,0&turn=337&tol=20");
    let mut teach = Teach::default();
    let view = done(
        &mut teach,
        &state,
        &[TeachAction::Add(Kind::PlaneFromProbe)],
    );
    let said = view.entries[0].warnings.join(" ");
    assert!(said.contains("border between two names"), "{said}");
    assert!(
        view.summary.contains("One needs a look"),
        "{}",
        view.summary
    );
    let view = done(
        &mut teach,
        &state,
        &[
            TeachAction::New,
            TeachAction::AddDrawn,
            TeachAction::DrawnKind(0, Some(Kind::PlaneFromProbe)),
            TeachAction::Plane(0, Some(PlaneClass::Coronal)),
            TeachAction::Approach(0, Some(PatientSide::Anterior)),
        ],
    );
    let said = view.entries[0].warnings.join(" ");
    assert!(
        said.contains(
            "a coronal plane cannot be had from the front: the plane must contain the beam"
        ),
        "{said}"
    );
}

#[test]
fn check_a_question_on_another_body_waits_for_it() {
    let mut state = opened("");
    let mut teach = Teach::default();
    done(
        &mut teach,
        &state,
        &[TeachAction::Add(Kind::PlaneFromProbe)],
    );
    act(&mut state, Action::ChooseBody("adult_male".to_owned()));
    act(
        &mut state,
        Action::BodyArrived(crate::support::body("adult_male")),
    );
    let view = done(
        &mut teach,
        &state,
        &[TeachAction::Add(Kind::PlaneFromProbe)],
    );
    assert!(
        view.entries[0].warnings.join(" ").contains("another body"),
        "{view:?}"
    );
    assert!(view.entries[1].warnings.is_empty(), "{view:?}");
    let Asked::Fixed(fixed) = &teach.set().questions[1].asked else {
        panic!("a fixed view");
    };
    assert_eq!(
        fixed.view.body.as_deref(),
        Some("adult_male"),
        "its own body is named"
    );
    let fragment = teach.fragment(0).expect("a view");
    act(&mut state, Action::OpenLink(fragment));
    assert_eq!(state.body_id(), "adult_female", "its view can be shown");
}

#[test]
fn check_a_bad_file_loses_nothing() {
    let state = opened("");
    let mut teach = Teach::default();
    done(&mut teach, &state, &[TeachAction::Add(Kind::Side)]);
    let before = teach.set().clone();
    for bad in [
        &b"no json"[..],
        br#"{"format":"planeward-set","version":1,"title":"A","attempts":0}"#,
    ] {
        let view = done(&mut teach, &state, &[TeachAction::Open(bad.to_vec())]);
        assert!(!view.notes.is_empty(), "the fault is told");
        assert_eq!(*teach.set(), before, "the work stays");
    }
}

fn any_action() -> impl Strategy<Value = TeachAction> {
    let entry = || 0_usize..5;
    let kind = || prop::sample::select(Kind::ALL.to_vec());
    prop_oneof![
        Just(TeachAction::New),
        "(?s).{0,220}".prop_map(TeachAction::Title),
        "(?s).{0,220}".prop_map(TeachAction::Description),
        "(?s).{0,220}".prop_map(TeachAction::Label),
        (entry(), "(?s).{0,220}").prop_map(|(entry, text)| TeachAction::Prompt(entry, text)),
        (entry(), "(?s).{0,220}").prop_map(|(entry, text)| TeachAction::Hint(entry, text)),
        kind().prop_map(TeachAction::Add),
        Just(TeachAction::AddDrawn),
        entry().prop_map(TeachAction::Remove),
        (entry(), entry()).prop_map(|(from, to)| TeachAction::Move { from, to }),
        entry().prop_map(TeachAction::Copy),
        prop::option::of(entry()).prop_map(TeachAction::Choose),
        (entry(), kind()).prop_map(|(entry, kind)| TeachAction::Kind(entry, kind)),
        (entry(), any::<u32>()).prop_map(|(entry, points)| TeachAction::Points(entry, points)),
        (entry(), any::<u32>()).prop_map(|(entry, count)| TeachAction::Count(entry, count)),
        (entry(), Just(Difficulty::Mixed))
            .prop_map(|(entry, level)| TeachAction::Difficulty(entry, level)),
        any::<f64>().prop_map(TeachAction::Tolerance),
        prop::option::of(any::<u32>()).prop_map(TeachAction::Pass),
        any::<u32>().prop_map(TeachAction::Attempts),
        prop::collection::vec(any::<u8>(), 0..20).prop_map(TeachAction::Open),
        ".{0,20}".prop_map(TeachAction::OpenKept),
        Just(TeachAction::Undo),
        Just(TeachAction::Redo),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever a teacher does, the set is one that a file can hold, and what is kept of it opens as it was.
    #[test]
    fn any_work_gives_a_good_set(actions in prop::collection::vec(any_action(), 0..25)) {
        let state = State::new("");
        let mut teach = Teach::default();
        for action in actions {
            teach.update(action, &state);
        }
        let mut again = Teach::default();
        again.update(TeachAction::OpenKept(teach.kept()), &state);
        prop_assert_eq!(again.set(), teach.set(), "{}", teach.kept());
        let set = teach.given("Untitled");
        let text = set::pretty(&set);
        if set.questions.is_empty() {
            return Ok(());
        }
        match set::read(text.as_bytes()) {
            Ok(reading) => prop_assert_eq!(reading.set, set, "{}", text),
            Err(faults) => prop_assert!(false, "{:?} in {}", faults, text),
        }
    }
}
