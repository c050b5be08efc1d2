//! The knobs of the grey-scale picture: they change pixels, are kept in the link, and can be taken back.

use crate::support::{act, opened};
use app::drawing::{Drawing, palette};
use app::views::panels;
use app::{Action, State, Texts, Way, address};
use picture::{GreySettings, Knob};

fn grey(state: &State) -> Vec<u8> {
    let mut drawing = Drawing::new(palette().expect("all colours"));
    pixels(&mut drawing, state)
}

fn pixels(drawing: &mut Drawing, state: &State) -> Vec<u8> {
    let frame = Drawing::frame(state, 120, 120, 1.0);
    drawing.look_at(state);
    drawing.picture(state, &frame, 1.0).to_vec()
}

/// Values away from where a curvilinear transducer at 155 mm starts.
const TURNED: [(Knob, f64); 7] = [
    (Knob::Gain, 9.0),
    (Knob::DynamicRange, 40.0),
    (Knob::Frequency, 2.0),
    (Knob::Focus, 30.0),
    (Knob::Compensation, 0.3),
    (Knob::Slider(0), -12.0),
    (Knob::Slider(7), 15.0),
];

#[test]
fn every_knob_changes_the_picture_and_a_drawing_that_remembers_agrees() {
    let mut state = opened("#v1.grey=100");
    let mut kept = Drawing::new(palette().expect("all colours"));
    let mut last = pixels(&mut kept, &state);
    for (knob, value) in TURNED {
        let changes = act(&mut state, Action::TurnKnob(knob, value));
        assert!(
            changes.picture && changes.panels && !changes.pose,
            "{knob:?}: {changes:?}"
        );
        let now = pixels(&mut kept, &state);
        assert!(now != last, "{knob:?} changes nothing");
        assert!(now == grey(&state), "{knob:?}: what is kept is out of date");
        last = now;
    }
}

#[test]
fn the_link_brings_every_knob_back() {
    let mut state = opened("#v1.grey=70");
    for (knob, value) in TURNED {
        act(&mut state, Action::TurnKnob(knob, value));
    }
    act(&mut state, Action::EndInteraction);
    let link = address::fragment(&state);
    for part in [
        "grey=70",
        "gain=9",
        "range=40",
        "freq=2",
        "focus=30",
        "comp=0.3",
        "tgc=-12,0,0,0,0,0,0,15",
    ] {
        assert!(
            link.split('&').any(|known| known == part),
            "{part} in {link}"
        );
    }
    let again = opened(&link);
    assert_eq!(again.grey_settings(), state.grey_settings());
    assert_eq!(address::fragment(&again), link);
    // A link without them shows the section, whatever was shown before.
    let mut plain = again;
    act(
        &mut plain,
        Action::OpenLink("#v1.body=adult_female".to_owned()),
    );
    assert!(
        plain.grey().percent.abs() < f64::EPSILON && plain.tuning().is_plain(),
        "as sent"
    );
}

#[test]
fn turning_a_knob_is_one_step_of_undo_and_is_said() {
    let mut state = opened("");
    for value in [1.0, 2.0, 6.0] {
        act(&mut state, Action::TurnKnob(Knob::Gain, value));
    }
    let said = act(&mut state, Action::EndInteraction).announcement;
    assert_eq!(said.as_deref(), Some("Gain 6 dB."));
    act(&mut state, Action::KnobStep(Knob::Gain, Way::Back));
    act(&mut state, Action::EndInteraction);
    assert_eq!(state.tuning().turned(Knob::Gain), Some(5.0));
    act(&mut state, Action::Undo);
    act(&mut state, Action::Undo);
    assert!(state.tuning().is_plain(), "both steps are taken back");
    act(&mut state, Action::Redo);
    assert_eq!(state.tuning().turned(Knob::Gain), Some(6.0));
    let changes = act(&mut state, Action::ResetKnobs);
    assert_eq!(
        changes.announcement.as_deref(),
        Some("Reset picture settings.")
    );
    assert!(state.tuning().is_plain(), "all knobs follow the transducer");
}

#[test]
fn the_panel_shows_every_knob_with_its_unit() {
    let mut state = opened("");
    let view = |state: &State| panels(state, None, &Texts::english()).tuning;
    let named = view(&state);
    let all = named.knobs.iter().chain(&named.time_gain);
    assert_eq!(all.clone().count(), Knob::all().count());
    for knob in all {
        assert!(
            knob.low <= knob.value && knob.value <= knob.high,
            "{knob:?}"
        );
        assert!(!knob.unit.is_empty() && !knob.label.is_empty(), "{knob:?}");
    }
    assert!(!named.turned && !named.grey_shown, "nothing was touched");
    let focus = |state: &State| {
        let view = view(state);
        let found = view.knobs.iter().find(|knob| knob.knob == Knob::Focus);
        found.map(|knob| knob.text.clone())
    };
    assert_eq!(focus(&state).as_deref(), Some("77.5"));
    act(&mut state, Action::SetDepth(120.0));
    assert_eq!(focus(&state).as_deref(), Some("60"), "half the depth");
    let deepest = view(&state).time_gain.last().map(|knob| knob.label.clone());
    assert_eq!(deepest.as_deref(), Some("Time gain at 12 cm"));
    act(&mut state, Action::ChooseTransducer("linear".to_owned()));
    assert_eq!(
        state.grey_settings(),
        GreySettings::for_field(&state.field()),
        "its own band and focus"
    );
}

#[test]
fn figures_beside_the_knobs_have_the_decimal_sign_of_the_language() {
    let spanish = Texts::read(include_str!("../../../../web/languages/es.txt"));
    let state = opened("#v1.grey=100");
    for (texts, sign) in [(&Texts::ENGLISH, "2.2"), (&spanish, "2,2")] {
        let tuning = panels(&state, None, texts).tuning;
        let second = &tuning.time_gain[1];
        assert!(second.name.contains(sign), "{}", second.name);
        let focus = tuning.knobs.iter().find(|knob| knob.knob == Knob::Focus);
        let text = &focus.expect("the focus").text;
        assert_eq!(text, "77.5", "a number field is written with a point");
    }
}
