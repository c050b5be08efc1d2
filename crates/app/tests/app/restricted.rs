//! A view in another page: what its author closed stays as it was.

use crate::support::{act, opened};
use app::scene::{CameraPreset, ScreenPoint, Viewport};
use app::{Action, Movement, Open, SlideAxis, State, Step, Way, address};

const VIEW: Viewport = Viewport {
    width: 800.0,
    height: 600.0,
};

const AUTHORS_VIEW: &str = "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=30&depth=140";

fn restricted(open: Open) -> State {
    let mut state = opened(AUTHORS_VIEW);
    act(
        &mut state,
        Action::Restrict {
            open,
            fragment: AUTHORS_VIEW.to_owned(),
        },
    );
    state
}

/// What a learner could try, and the least that has to be open for it.
fn tries() -> Vec<(&'static str, Action, Open)> {
    let at = ScreenPoint { x: 400.0, y: 300.0 };
    vec![
        (
            "turn the view",
            Action::TurnCamera {
                azimuth_deg: 30.0,
                elevation_deg: 5.0,
            },
            Open::Look,
        ),
        ("go nearer", Action::ZoomCamera(0.8), Open::Look),
        (
            "look from above",
            Action::Camera(CameraPreset::FromAbove),
            Open::Look,
        ),
        (
            "point out the liver",
            Action::ChooseStructure(Some("liver".to_owned())),
            Open::Look,
        ),
        (
            "turn the notch",
            Action::SetMovement(Movement::Rotate, 90.0),
            Open::Notch,
        ),
        (
            "turn it a step",
            Action::MovementStep(Movement::Rotate, Way::Forward, Step::Usual),
            Open::Notch,
        ),
        ("reverse it", Action::ReverseNotch, Open::Notch),
        (
            "turn it a quarter",
            Action::QuarterTurn(Way::Back),
            Open::Notch,
        ),
        ("tilt", Action::SetMovement(Movement::Tilt, 20.0), Open::All),
        (
            "rock",
            Action::MovementStep(Movement::Rock, Way::Forward, Step::Usual),
            Open::All,
        ),
        (
            "slide",
            Action::SlideStep(SlideAxis::TwelveOClock, Way::Back, Step::Coarse),
            Open::All,
        ),
        (
            "put the probe elsewhere",
            Action::PlaceProbe { at, viewport: VIEW },
            Open::All,
        ),
        ("show more depth", Action::SetDepth(200.0), Open::All),
        (
            "take another probe",
            Action::ChooseTransducer("linear".to_owned()),
            Open::All,
        ),
        (
            "go to a window",
            Action::PickWindow("sagittal_left_aorta_proximal".to_owned()),
            Open::All,
        ),
        (
            "take another body",
            Action::ChooseBody("adult_male".to_owned()),
            Open::All,
        ),
        ("fade to grey", Action::SetGrey(100.0), Open::All),
    ]
}

#[test]
fn check_what_is_closed_does_nothing_and_what_is_open_does() {
    for (word, open) in Open::WORDS {
        for (name, action, least) in tries() {
            let mut state = restricted(open);
            let before = format!("{state:?}");
            act(&mut state, action);
            act(&mut state, Action::EndInteraction);
            let changed = format!("{state:?}") != before;
            assert_eq!(changed, open >= least, "{name} where {} is open", word);
        }
    }
}

#[test]
fn check_reset_goes_back_to_the_authors_view() {
    let mut state = restricted(Open::Notch);
    let first = address::fragment(&state);
    for action in [
        Action::SetMovement(Movement::Rotate, 200.0),
        Action::EndInteraction,
    ] {
        act(&mut state, action);
    }
    assert_ne!(address::fragment(&state), first, "the notch was turned");
    act(&mut state, Action::SetReducedMotion(true));
    act(&mut state, Action::Reset);
    assert_eq!(address::fragment(&state), first, "Reset");
    act(&mut state, Action::Undo);
    assert!(address::fragment(&state).contains("turn=200"), "and back");
}

#[test]
fn check_another_view_can_be_opened_from_outside() {
    let mut state = restricted(Open::Nothing);
    act(
        &mut state,
        Action::OpenLink("v1.body=adult_female&at=0,-110,118&out=-90,0&turn=270".to_owned()),
    );
    assert!(
        address::fragment(&state).contains("turn=270"),
        "the author's page may change the view"
    );
}
