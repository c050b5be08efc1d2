//! What lies under the pointer, or under the cross that keys move, has a name.

use crate::support::{act, opened};
use app::drawing::{Drawing, palette};
use app::views::{CursorView, cursor};
use app::{Action, State, Step, Texts};
use picture::BeamPoint;

fn under(state: &State) -> Option<CursorView> {
    let mut drawing = Drawing::new(palette().expect("all colours"));
    drawing.look_at(state);
    cursor(state, drawing.contents(), &Texts::english())
}

/// The aorta of the egg runs along x = 8, y = 30, so that a sagittal plane at x = 8 holds it 145 mm deep.
const ALONG_AORTA: &str = "#v1.at=8,-115,125&out=-90,0&turn=0&depth=200";

fn check_under(state: &State, at: [f64; 2], name: Option<&str>, facts: &[&str]) {
    let mut state = state.clone();
    act(&mut state, Action::PointAt(Some(at)));
    let view = under(&state);
    assert_eq!(view.as_ref().map(|view| view.name.as_str()), name, "{at:?}");
    for part in facts {
        let text = view.as_ref().map(CursorView::text).unwrap_or_default();
        assert!(text.contains(part), "{part:?} is not in {text:?}");
    }
}

#[test]
fn the_place_pointed_at_is_named_with_part_axis_and_tissue() {
    let state = opened(ALONG_AORTA);
    let deep = |mm: f64, across: f64| {
        let [x, y] = state.field().image_point(BeamPoint {
            beam: 0.0,
            depth_mm: mm,
        });
        [x + across, y]
    };
    check_under(
        &state,
        deep(145.0, 0.0),
        Some("Aorta, proximal"),
        &["long axis, 0°", "tissue: blood", "145 mm deep"],
    );
    check_under(&state, deep(145.0, 60.0), Some("Aorta"), &["long axis"]);
    check_under(
        &state,
        deep(6.0, 0.0),
        Some("Skin, fat or muscle"),
        &["6 mm deep"],
    );
    check_under(&state, deep(500.0, 0.0), None, &[]);
    let mut turned = state.clone();
    act(
        &mut turned,
        Action::SetMovement(app::Movement::Rotate, 270.0),
    );
    act(&mut turned, Action::EndInteraction);
    check_under(
        &turned,
        deep(145.0, 0.0),
        Some("Aorta, proximal"),
        &["short axis, 8"],
    );
}

#[test]
fn keys_move_the_cross_from_the_middle_and_keep_it_in_the_picture() {
    let mut state = opened(ALONG_AORTA);
    assert_eq!(under(&state), None, "nothing is pointed at");
    let changes = act(&mut state, Action::MoveCursor([1.0, 0.0], Step::Usual));
    assert!(
        changes.cursor && !changes.panels && !changes.draws(),
        "no picture is drawn anew: {changes:?}"
    );
    let view = under(&state).expect("in the picture");
    assert!(
        view.by_keys && view.text().contains("100 mm deep"),
        "in the middle: {view:?}"
    );
    act(&mut state, Action::MoveCursor([0.0, 1.0], Step::Usual));
    let view = under(&state).expect("in the picture");
    assert!(
        view.text().contains("104 mm deep"),
        "one step is a fiftieth of the depth: {view:?}"
    );
    for _ in 0..100 {
        act(&mut state, Action::MoveCursor([0.0, 1.0], Step::Coarse));
    }
    let bounds = state.field().bounds();
    act(&mut state, Action::MoveCursor([0.0, 0.0], Step::Fine));
    let at = under(&state)
        .map(|view| view.at)
        .unwrap_or([0.0, bounds.max[1]]);
    assert!(at[1] <= bounds.max[1], "it stays in the picture");
    act(&mut state, Action::PointAt(None));
    assert_eq!(under(&state), None, "put away");
    act(&mut state, Action::PointAt(Some([f64::NAN, 0.0])));
    assert_eq!(under(&state), None, "no place");
}
