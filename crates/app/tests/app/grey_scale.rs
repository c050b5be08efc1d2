//! From the section in flat colours to the grey-scale picture and back.

use crate::support::{act, opened};
use app::drawing::{Drawing, palette};
use app::keys::{KeyAnswer, KeyPress, answer};
use app::{Action, State};
use geometry::MarkSide;
use picture::Knob;

fn picture(drawing: &mut Drawing, state: &State) -> Vec<u8> {
    let frame = Drawing::frame(state, 160, 160, 1.0);
    drawing.look_at(state);
    drawing.picture(state, &frame, 1.0).to_vec()
}

fn coloured(rgba: &[u8]) -> usize {
    rgba.chunks_exact(4)
        .filter(|p| p[0] != p[1] || p[1] != p[2])
        .count()
}

fn mean(rgba: &[u8]) -> f64 {
    let sum: u64 = rgba.chunks_exact(4).map(|p| u64::from(p[1])).sum();
    sum as f64 / (rgba.len() / 4) as f64
}

#[test]
fn the_picture_fades_from_section_to_grey_scale_and_back() {
    let mut state = opened("");
    let mut drawing = Drawing::new(palette().expect("all colours"));
    let flat = picture(&mut drawing, &state);
    assert!(coloured(&flat) > 1000, "tissues have colours");

    let changes = act(&mut state, Action::SetGrey(100.0));
    assert!(
        changes.picture && changes.panels && changes.address && !changes.pose,
        "{changes:?}"
    );
    let grey = picture(&mut drawing, &state);
    assert_eq!(grey.len(), flat.len());
    assert_eq!(coloured(&grey), 0, "sound has no colours");
    assert!(mean(&grey) > 5.0, "echoes are seen");

    act(&mut state, Action::SetGrey(50.0));
    let both = picture(&mut drawing, &state);
    for ((a, b), c) in flat.iter().zip(&grey).zip(&both) {
        let middle = f64::midpoint(f64::from(*a), f64::from(*b));
        assert!(
            (f64::from(*c) - middle).abs() <= 1.0,
            "{a} and {b} give {c}"
        );
    }
    act(&mut state, Action::SetGrey(0.0));
    assert_eq!(picture(&mut drawing, &state), flat);
}

#[test]
fn gain_makes_it_brighter_and_values_out_of_range_are_brought_back() {
    let mut state = opened("");
    let mut drawing = Drawing::new(palette().expect("all colours"));
    act(&mut state, Action::SetGrey(1e9));
    act(&mut state, Action::SetGain(-1e9));
    let least = Knob::Gain.range(&state.field()).low;
    assert!(
        (state.grey().percent - 100.0).abs() < f64::EPSILON,
        "all grey"
    );
    assert!(
        (state.grey().gain_db - least).abs() < f64::EPSILON,
        "darkest"
    );
    let dark = picture(&mut drawing, &state);
    act(&mut state, Action::SetGain(f64::NAN));
    assert_eq!(picture(&mut drawing, &state), dark);
    act(&mut state, Action::SetGain(10.0));
    assert!(mean(&picture(&mut drawing, &state)) > mean(&dark) + 10.0);
}

#[test]
fn the_scan_follows_the_probe_and_serves_the_sheet_too() {
    let mut state = opened("");
    act(&mut state, Action::SwitchPicture);
    assert!((state.grey().percent - 100.0).abs() < f64::EPSILON);
    let mut kept = Drawing::new(palette().expect("all colours"));
    let first = picture(&mut kept, &state);
    act(&mut state, Action::ReverseNotch);
    act(&mut state, Action::Tick(60_000.0));
    let turned = picture(&mut kept, &state);
    assert_ne!(turned, first);
    // A drawing that remembers draws what one does that has seen nothing before.
    let mut fresh = Drawing::new(palette().expect("all colours"));
    assert_eq!(picture(&mut fresh, &state), turned);
    let scene = app::scene::scene(
        &state,
        app::scene::Viewport {
            width: 400.0,
            height: 300.0,
        },
        &app::Texts::english(),
    );
    let sheet = kept.field_texture(&state, &scene.field_sheet).to_vec();
    assert_eq!(coloured(&sheet), 0);
    assert!(mean(&sheet) > 5.0);
    act(&mut state, Action::SwitchPicture);
    assert!(coloured(kept.field_texture(&state, &scene.field_sheet)) > 1000);
}

#[test]
fn a_key_changes_between_them() {
    let press = KeyPress {
        key: "v",
        shift: false,
        control: false,
        alt: false,
    };
    assert!(matches!(
        answer(press, MarkSide::Left),
        KeyAnswer::Act(Action::SwitchPicture)
    ));
}

/// While it moves the picture has less detail; at rest it is what a fresh look shows.
#[test]
fn a_resting_picture_is_whole_again() {
    let mut state = opened("#v1.grey=100");
    let mut kept = Drawing::new(palette().expect("all colours"));
    picture(&mut kept, &state);
    act(&mut state, Action::SetMovement(app::Movement::Tilt, 7.0));
    let moving = picture(&mut kept, &state);
    let changes = act(&mut state, Action::EndInteraction);
    assert!(changes.picture, "it is drawn once more: {changes:?}");
    let resting = picture(&mut kept, &state);
    assert!(resting != moving, "with more detail");
    let mut fresh = Drawing::new(palette().expect("all colours"));
    assert!(picture(&mut fresh, &state) == resting, "and nothing else");
}
