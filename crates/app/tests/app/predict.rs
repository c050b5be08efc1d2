//! Predict, then see: the notch turns once the learner has said where a side will be.

use crate::support::{act, opened};
use app::predict::Whereabouts;
use app::views::{PredictView, panels};
use app::{Action, State, Texts, Way};
use geometry::ImageSide;

fn shown(state: &State) -> PredictView {
    panels(state, None, &Texts::english()).predict
}

fn check_prediction(link: &str, turn: &Action, said: Whereabouts, verdict: &str) {
    let mut state = opened(link);
    act(&mut state, Action::SetPredicting(true));
    let before = *state.pose();
    act(&mut state, turn.clone());
    let asked = shown(&state);
    assert_eq!(*state.pose(), before, "{link}: the notch waits");
    assert!(
        asked.question.ends_with('?') && asked.verdict.is_empty(),
        "{asked:?}"
    );
    assert_eq!(asked.answers.len(), 5, "four sides, or none");
    act(&mut state, Action::Predict(said));
    assert!(*state.pose() != before, "{link}: it turns");
    let told = shown(&state);
    assert_eq!(told.verdict, verdict, "{link}");
    assert!(told.answers.is_empty(), "it is said once");
    let after = *state.pose();
    act(&mut state, Action::Predict(Whereabouts::Nowhere));
    assert_eq!(*state.pose(), after, "a second answer changes nothing");
}

/// Worked out by hand: on the front, notch to the head, half a turn brings the head to image right; a quarter turn
/// leaves a transverse plane, which the head end is beside.
#[test]
fn what_was_said_is_compared_with_what_is_true() {
    const SAGITTAL: &str = "#v1.at=0,-115,60&out=-90,0&turn=0";
    const TRANSVERSE: &str = "#v1.at=0,-115,60&out=-90,0&turn=270";
    let left = Whereabouts::At(ImageSide::Left);
    let right = Whereabouts::At(ImageSide::Right);
    let quarter = Action::QuarterTurn(Way::Forward);
    check_prediction(
        SAGITTAL,
        &Action::ReverseNotch,
        right,
        "Yes: the head end is at image right.",
    );
    check_prediction(
        SAGITTAL,
        &Action::ReverseNotch,
        left,
        "No: the head end is at image right.",
    );
    check_prediction(
        SAGITTAL,
        &quarter,
        Whereabouts::Nowhere,
        "Yes: the head end is at no side, for the plane now runs across that direction.",
    );
    check_prediction(
        TRANSVERSE,
        &Action::ReverseNotch,
        right,
        "Yes: the patient's right is at image right.",
    );
}

#[test]
fn a_question_goes_with_the_view_it_is_about() {
    for other in [
        Action::SetMovement(app::Movement::Tilt, 12.0),
        Action::SetMark(geometry::MarkSide::Right),
        Action::PickWindow("sagittal_left_aorta_proximal".to_owned()),
        Action::SetPredicting(true),
    ] {
        let mut state = opened("#v1.at=0,-115,60&out=-90,0&turn=0");
        act(&mut state, Action::SetPredicting(true));
        act(&mut state, Action::ReverseNotch);
        assert!(!shown(&state).question.is_empty());
        act(&mut state, Action::ShowSkin(false));
        assert!(!shown(&state).question.is_empty(), "the view is the same");
        act(&mut state, other.clone());
        assert!(shown(&state).question.is_empty(), "{other:?}");
    }
    // An answer stays until something moves.
    let mut state = opened("#v1.at=0,-115,60&out=-90,0&turn=0");
    act(&mut state, Action::SetPredicting(true));
    act(&mut state, Action::ReverseNotch);
    act(
        &mut state,
        Action::Predict(Whereabouts::At(ImageSide::Right)),
    );
    let told = shown(&state);
    assert_eq!(
        (told.right, told.side),
        (Some(true), Some(ImageSide::Right))
    );
    act(&mut state, Action::Undo);
    assert!(shown(&state).verdict.is_empty(), "another view");
}

#[test]
fn a_frozen_picture_is_not_turned_by_an_answer() {
    let mut state = opened("#v1.at=0,-115,60&out=-90,0&turn=0");
    act(&mut state, Action::SetPredicting(true));
    act(&mut state, Action::ReverseNotch);
    act(&mut state, Action::Examine(app::Examine::Freeze));
    let before = *state.pose();
    act(&mut state, Action::Predict(Whereabouts::Nowhere));
    assert_eq!(*state.pose(), before);
    assert!(state.examination().is_frozen());
}

#[test]
fn without_the_wish_the_notch_turns_at_once() {
    let mut state = opened("");
    let before = *state.pose();
    act(&mut state, Action::ReverseNotch);
    assert!(*state.pose() != before, "at once");
    assert!(shown(&state).question.is_empty(), "nothing is asked");
    act(&mut state, Action::Predict(Whereabouts::Nowhere));
    assert!(shown(&state).verdict.is_empty(), "and nothing is answered");
}
