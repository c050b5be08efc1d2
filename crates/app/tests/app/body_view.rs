//! The body view in numbers.

use crate::support::{act, opened};
use app::colours::{Colour, Theme, Tokens};
use app::scene::{CameraPreset, StructureFilter, SurfaceRole, Viewport, scene, surface_looks};
use app::{Action, Movement, State, Texts};
use geometry::{BodyPosition, ImageSide, PatientSide};

const VIEW: Viewport = Viewport {
    width: 800.0,
    height: 600.0,
};

/// Room lengths pass through single precision.
const SAME_MM: f32 = 0.05;

#[expect(clippy::cast_possible_truncation, reason = "compared to SAME_MM only")]
fn narrow(value: f64) -> f32 {
    value as f32
}

fn minus(a: [f32; 3], b: [f32; 3]) -> [f32; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: [f32; 3], b: [f32; 3]) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn length(a: [f32; 3]) -> f32 {
    dot(a, a).sqrt()
}

fn apply(m: &[f32; 16], p: [f32; 3]) -> [f32; 3] {
    [0, 1, 2].map(|row: usize| m[row] * p[0] + m[4 + row] * p[1] + m[8 + row] * p[2] + m[12 + row])
}

#[test]
fn the_sheet_lies_in_the_plane_and_has_its_own_size() {
    for position in BodyPosition::ALL {
        let mut state = opened("");
        act(&mut state, Action::SetPosition(position));
        act(&mut state, Action::SetMovement(Movement::Rotate, 33.0));
        act(&mut state, Action::SetMovement(Movement::Tilt, 12.0));
        let scene = scene(&state, VIEW, &Texts::english());
        let plane = scene.cut_plane.equation;
        for sheet in [scene.field_sheet, scene.cut_sheet] {
            for corner in sheet.corners {
                let off = dot([plane[0], plane[1], plane[2]], corner) + plane[3];
                assert!(
                    off.abs() < SAME_MM,
                    "{position:?}: corner {off} mm off the plane"
                );
            }
            let [top_left, top_right, _, bottom_left] = sheet.corners;
            let width = length(minus(top_right, top_left));
            let height = length(minus(bottom_left, top_left));
            assert!(
                (f64::from(width) - sheet.bounds.width()).abs() < 0.1,
                "{width}"
            );
            assert!(
                (f64::from(height) - sheet.bounds.height()).abs() < 0.1,
                "{height}"
            );
            let pixels = f64::from(sheet.frame.width()) * sheet.frame.mm_per_px();
            assert!(
                (pixels - sheet.bounds.width()).abs() < 1e-6,
                "pixels fill the sheet"
            );
        }
        let eye = scene.camera.eye;
        let side = dot([plane[0], plane[1], plane[2]], eye) + plane[3];
        assert!(
            side > 0.0,
            "{position:?}: the viewer is on the positive side"
        );
    }
}

/// Each arrow points where its words say, however the body lies.
#[test]
fn arrows_agree_with_the_compass() {
    for position in BodyPosition::ALL {
        for rotation in [0.0, 90.0, 180.0, 270.0] {
            let mut state = opened("");
            act(&mut state, Action::SetPosition(position));
            act(&mut state, Action::SetMovement(Movement::Rotate, rotation));
            let scene = scene(&state, VIEW, &Texts::english());
            for arrow in &scene.arrows {
                let tip = scene
                    .compass
                    .iter()
                    .find(|tip| arrow.letters.starts_with(tip.letter))
                    .expect("a letter of the compass");
                assert!(
                    dot(tip.direction, arrow.direction) > 0.9,
                    "{position:?} {arrow:?}"
                );
                assert!(arrow.words.starts_with(tip.words), "{arrow:?}");
                assert_eq!(arrow.has_notch, arrow.side == ImageSide::Left, "{arrow:?}");
            }
        }
    }
}

#[test]
fn the_probe_stands_on_the_skin_with_its_notch_where_the_pose_says() {
    let state = opened("");
    let scene = scene(&state, VIEW, &Texts::english());
    let contact = state.pose().contact().to_array().map(narrow);
    let contact = apply(&scene.room_from_posed, contact);
    let face = apply(&scene.room_from_probe, [0.0, 0.0, 0.0]);
    assert!(
        length(minus(contact, face)) < SAME_MM,
        "{contact:?} {face:?}"
    );
    // Notch to the head: the lateral axis is the compass's head direction.
    let notch = minus(apply(&scene.room_from_probe, [1.0, 0.0, 0.0]), face);
    let head = scene
        .compass
        .iter()
        .find(|tip| tip.side == PatientSide::Head)
        .expect("head");
    assert!(dot(notch, head.direction) > 0.999, "{notch:?}");
    let beam = minus(apply(&scene.room_from_probe, [0.0, 0.0, 1.0]), face);
    assert!(
        beam[2] < -0.99,
        "straight down into a supine body: {beam:?}"
    );
}

fn eye_from_target(state: &State) -> [f64; 3] {
    let (eye, target) = (state.camera().eye(), state.camera().target());
    [eye[0] - target[0], eye[1] - target[1], eye[2] - target[2]]
}

/// Viewpoints on a supine body: head toward room −x, the patient's left toward +y.
#[test]
fn viewpoints_look_from_where_they_say() {
    for (preset, axis, sign) in [
        (CameraPreset::ExaminerSeat, 1, -1.0),
        (CameraPreset::FromFeet, 0, 1.0),
        (CameraPreset::FromLeft, 1, 1.0),
        (CameraPreset::FromAbove, 2, 1.0),
        (CameraPreset::ToWindow, 2, 1.0),
    ] {
        let mut state = opened("");
        act(&mut state, Action::Camera(preset));
        let from = eye_from_target(&state);
        let most = from.iter().fold(0.0_f64, |most, part| most.max(part.abs()));
        assert!(
            (from[axis] * sign - most).abs() < 1e-9,
            "{preset:?}: {from:?}"
        );
    }
}

#[test]
fn the_examiner_can_change_sides() {
    let mut state = opened("");
    assert!(eye_from_target(&state)[1] < 0.0, "at the patient's right");
    act(&mut state, Action::SetSeat(app::Seat::Left));
    assert!(eye_from_target(&state)[1] > 0.0, "at the patient's left");
}

fn check_filter(filter: StructureFilter, chosen: Option<&str>, wanted: &[&str]) {
    let mut state = opened("");
    act(&mut state, Action::SetFilter(filter));
    act(
        &mut state,
        Action::ChooseStructure(chosen.map(str::to_owned)),
    );
    let looks = surface_looks(&state, &Tokens::of(Theme::Light));
    let body = state.body().expect("a body");
    let shown: Vec<&str> = looks
        .iter()
        .filter(|look| look.role != SurfaceRole::Skin)
        .filter_map(|look| body.surfaces()[look.surface].structure())
        .map(|index| body.structure(index).id.as_str())
        .collect();
    assert_eq!(shown, wanted, "{filter:?}");
    for look in &looks {
        assert_ne!(look.colour, Colour::MISSING, "{look:?}");
    }
    assert_eq!(looks.first().map(|look| look.role), Some(SurfaceRole::Skin));
}

#[test]
fn filters_show_what_they_name() {
    check_filter(StructureFilter::Everything, None, &["liver", "aorta"]);
    check_filter(StructureFilter::Vessels, None, &["aorta"]);
    check_filter(StructureFilter::Organs, None, &["liver"]);
    check_filter(StructureFilter::Skeleton, None, &[]);
    check_filter(StructureFilter::Fluid, None, &[]);
    check_filter(StructureFilter::Chosen, Some("liver"), &["liver"]);
    check_filter(StructureFilter::Skeleton, Some("aorta"), &["aorta"]);
}

#[test]
fn hidden_skin_is_not_drawn() {
    let mut state = opened("");
    act(&mut state, Action::ShowSkin(false));
    let looks = surface_looks(&state, &Tokens::of(Theme::Dark));
    assert!(
        looks.iter().all(|look| look.role != SurfaceRole::Skin),
        "{looks:?}"
    );
}
