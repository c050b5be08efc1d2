//! What a tab takes along when its page loads again.

use crate::support::{act, body, opened};
use app::address::fragment;
use app::scene::StructureFilter;
use app::session::{read, write};
use app::why::Ask;
use app::{Action, Movement, State, Way};
use geometry::MarkSide;

/// A view with five steps behind it, of which one was taken back, and everything else turned away from what is usual.
fn worked_on() -> State {
    let mut state = opened("#v1.at=0,-115,60&out=-90,0&turn=0&probe=volume_convex&depth=150");
    for action in [
        Action::SetMovement(Movement::Rotate, 123.4567),
        Action::EndInteraction,
        Action::SetDepth(130.0),
        Action::EndInteraction,
        Action::SetMark(MarkSide::Right),
        Action::QuarterTurn(Way::Forward),
        Action::SetGain(6.0),
        Action::EndInteraction,
        Action::Undo,
        Action::SetFilter(StructureFilter::Vessels),
        Action::ShowSkin(false),
        Action::SetPredicting(true),
        Action::ShowVolume(true),
        Action::SetVolumePoint([3.0, -4.0, 70.0]),
        Action::ChooseStructure(Some("liver".to_owned())),
        Action::AskWhy(Ask::Axis("aorta".to_owned())),
        Action::TurnCamera {
            azimuth_deg: 20.0,
            elevation_deg: 5.0,
        },
        Action::ZoomCamera(0.7),
    ] {
        act(&mut state, action);
    }
    state
}

/// The page loaded again with what the tab took along.
fn again(text: &str, address: &str) -> State {
    let left = read(text).expect("readable");
    let mut state = State::new(left.view_at(address).expect("the same address"));
    act(&mut state, Action::SetReducedMotion(true));
    act(&mut state, Action::TakeUp(Box::new(left)));
    act(&mut state, Action::BodyArrived(body("adult_female")));
    state
}

/// All views from the last that can be done again back to the first.
fn all_steps(mut state: State) -> Vec<String> {
    while state.can_redo() {
        act(&mut state, Action::Redo);
    }
    let mut steps = vec![fragment(&state)];
    while state.can_undo() {
        act(&mut state, Action::Undo);
        steps.push(fragment(&state));
    }
    steps
}

#[test]
fn steps_and_what_was_on_show_come_along() {
    let before = worked_on();
    // The address follows with a delay.
    let address = "v1.body=adult_female";
    let text = write(&before, address).expect("something to take along");
    let after = again(&text, address);
    assert_eq!(fragment(&after), fragment(&before), "the same view");
    assert!(after.can_redo() && after.can_undo(), "both ways");
    let steps = all_steps(before.clone());
    assert_eq!(steps.len(), 6, "{steps:?}");
    assert_eq!(all_steps(after.clone()), steps, "step by step");
    assert_eq!(after.filter(), StructureFilter::Vessels);
    assert!(!after.skin_shown() && after.volume_shown());
    assert_eq!(after.chosen(), Some("aorta"));
    assert_eq!(after.asked(), Some(&Ask::Axis("aorta".to_owned())));
    assert_eq!(after.camera(), before.camera(), "the viewer stays");
    let point = |state: &State| state.volume_point().map(geometry::Point::to_array);
    assert_eq!(point(&after), point(&before));
    assert!(!after.is_moving(), "no animation is played again");
    assert_eq!(write(&after, address).as_ref(), Some(&text), "and again");
}

#[test]
fn an_opened_link_is_not_overruled() {
    let text = write(&worked_on(), "v1.body=adult_female").expect("a text");
    let left = read(&text).expect("readable");
    for other in ["", "v1.body=adult_male", "v1.body=adult_female&turn=90"] {
        assert_eq!(left.view_at(other), None, "{other:?}");
    }
    // Another body has other steps.
    let mut state = State::new("");
    act(&mut state, Action::ChooseBody("adult_male".to_owned()));
    act(&mut state, Action::TakeUp(Box::new(left)));
    act(&mut state, Action::BodyArrived(body("adult_male")));
    assert!(!state.can_undo() && state.skin_shown());
}

#[test]
fn what_cannot_be_read_is_passed_over() {
    let address = "v1.body=adult_female";
    let text = write(&worked_on(), address).expect("a text");
    for bad in [
        String::new(),
        "planeward-tab 2\nundo v1.".to_owned(),
        "planeward-tab 1\nview nothing".to_owned(),
        text.repeat(2000),
    ] {
        assert!(read(&bad).is_none(), "{} bytes", bad.len());
    }
    let damaged = text
        .replace(
            "undo v1.body=adult_female&at=0",
            "undo v1.body=adult_female&at=zero",
        )
        .replace("chosen aorta", "chosen unicorn")
        .replace("why axis aorta", "why axis unicorn")
        .replace("viewer ", "viewer NaN,");
    let state = again(&format!("{damaged}\nlater something new"), address);
    assert_eq!(state.chosen(), None, "no such structure");
    assert_eq!(state.asked(), None);
    assert!(!state.can_undo(), "every step was damaged");
    assert!(state.can_redo(), "and the other list was not");
    assert!(state.camera().distance_mm().is_finite());
}

#[test]
fn no_more_steps_are_taken_along_than_are_kept() {
    let address = "v1.body=adult_female";
    let mut state = opened("");
    for turn in 0..260 {
        act(
            &mut state,
            Action::SetMovement(Movement::Rotate, f64::from(turn)),
        );
        act(&mut state, Action::EndInteraction);
    }
    let text = write(&state, address).expect("a text");
    let lines = text
        .lines()
        .filter(|line| line.starts_with("undo "))
        .count();
    assert_eq!(lines, 200);
    assert!(text.len() < 100_000, "{} bytes", text.len());
    let more = format!("{text}\n{}", text.lines().last().expect("a line"));
    assert_eq!(all_steps(again(&more, address)).len(), 201);
}
