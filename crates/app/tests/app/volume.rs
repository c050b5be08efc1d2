//! Three planes square to each other through one point of a swept volume, each named by its geometry.

use crate::support::{act, opened};
use app::drawing::palette;
use app::scene::{LineKind, Viewport, VolumePiece, scene, volume_sheets};
use app::views::{VolumeView, volume_view};
use app::volume::{VolumeDrawing, cut_lines, volume_frame};
use app::{Action, State, Texts};
use picture::VolumePlane;

/// A volume transducer upright on the front of the egg, over its aorta, notch to the head.
const OVER_AORTA: &str = "#v1.probe=volume_convex&at=4,-115,125&out=-90,0&turn=0&depth=180";

fn looked(state: &State) -> VolumeDrawing {
    let mut drawing = VolumeDrawing::default();
    drawing.look_at(state, &palette().expect("all colours"));
    drawing
}

fn shown(state: &State) -> VolumeView {
    volume_view(state, &looked(state), &Texts::english())
}

#[test]
fn the_planes_are_named_by_geometry_and_by_what_they_show() {
    let mut state = opened(OVER_AORTA);
    assert!(
        shown(&state).planes.is_empty(),
        "not before they are wanted"
    );
    let changes = act(&mut state, Action::SwitchVolume);
    assert!(changes.scene && changes.panels, "{changes:?}");
    let said = "Three planes of a volume: 1. Mid-sagittal, 2. Transverse, 3. Coronal.";
    assert_eq!(changes.announcement.as_deref(), Some(said));
    let away = act(&mut state, Action::ShowVolume(false));
    let said = "The planes of the volume are put away.";
    assert_eq!(away.announcement.as_deref(), Some(said));
    act(&mut state, Action::ShowVolume(true));
    // Through the aorta, which runs 145 mm behind the front.
    act(&mut state, Action::SetVolumePoint([0.0, 0.0, 145.0]));
    let view = shown(&state);
    let told: Vec<_> = view
        .planes
        .iter()
        .map(|plane| {
            (
                plane.caption.as_str(),
                plane.letters.each_ref().map(String::as_str),
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            ("1. Mid-sagittal", ["H", "F", "A", "P"]),
            ("2. Transverse", ["R", "L", "A", "P"]),
            ("3. Coronal", ["H", "F", "L", "R"]),
        ]
    );
    for (plane, part) in view.planes.iter().zip([
        "aorta in long axis",
        "aorta in short axis",
        "aorta in long axis",
    ]) {
        assert!(
            plane.sentence.contains(part),
            "{part:?} is not in {:?}",
            plane.sentence
        );
    }
}

#[test]
fn the_point_is_moved_by_number_and_in_the_pictures_and_stays_inside() {
    let mut state = opened(OVER_AORTA);
    act(&mut state, Action::ShowVolume(true));
    let at = |state: &State| state.volume_point().expect("a point").to_array();
    act(
        &mut state,
        Action::PointInVolume(VolumePlane::Acquired, [12.0, 100.0]),
    );
    // Image left is the notch's side, so image right runs against the notch direction.
    assert!(
        (at(&state)[0] + 12.0).abs() < 1e-9 && (at(&state)[2] - 100.0).abs() < 1e-9,
        "{:?}",
        at(&state)
    );
    for wild in [
        [900.0, 0.0, 50.0],
        [0.0, -900.0, 50.0],
        [0.0, 0.0, 9000.0],
        [0.0, 0.0, -5.0],
    ] {
        act(&mut state, Action::SetVolumePoint(wild));
        let volume = state.volume().expect("a volume");
        assert!(
            volume.contains(state.volume_point().expect("a point")),
            "{wild:?}"
        );
    }
    let before = at(&state);
    act(&mut state, Action::SetVolumePoint([f64::NAN, 0.0, 0.0]));
    assert_eq!(
        at(&state).map(f64::to_bits),
        before.map(f64::to_bits),
        "no number"
    );
    let view = shown(&state);
    assert_eq!(view.point.len(), 3, "three coordinates");
    assert!(
        view.point
            .iter()
            .all(|part| part.least <= part.value && part.value <= part.most),
        "{view:?}"
    );
}

#[test]
fn other_planes_cross_as_lines_and_stand_in_the_body_view() {
    let mut state = opened(OVER_AORTA);
    act(&mut state, Action::ShowVolume(true));
    let frame = volume_frame(&state, VolumePlane::Face, [120, 120], 1.0).expect("a frame");
    let lines = cut_lines(&state, VolumePlane::Face, &frame);
    let crossing: Vec<VolumePlane> = lines.iter().map(|line| line.which).collect();
    assert_eq!(crossing, [VolumePlane::Acquired, VolumePlane::Crossing]);
    let view = Viewport {
        width: 400.0,
        height: 300.0,
    };
    let scene = scene(&state, view, &Texts::english());
    let drawn: Vec<(LineKind, &str)> = scene
        .lines
        .iter()
        .map(|line| (line.kind, line.words.as_str()))
        .collect();
    assert_eq!(
        drawn,
        [
            (LineKind::Volume(VolumePlane::Acquired), "1 mid-sagittal"),
            (LineKind::Volume(VolumePlane::Crossing), "2 transverse"),
            (LineKind::Volume(VolumePlane::Face), "3 coronal"),
        ]
    );
}

/// Distance along a line of sight at which it meets a piece; none where it passes beside it. All in the room, mm.
fn met(piece: &VolumePiece, eye: [f64; 3], toward: [f64; 3]) -> Option<f64> {
    let corners = piece.corners.map(|corner| corner.map(f64::from));
    let [a, b, _, d] = corners;
    let minus = |p: [f64; 3], q: [f64; 3]| [0, 1, 2].map(|k: usize| p[k] - q[k]);
    let dot = |p: [f64; 3], q: [f64; 3]| p.iter().zip(q).map(|(x, y)| x * y).sum::<f64>();
    let (right, down) = (minus(b, a), minus(d, a));
    let normal = [
        right[1] * down[2] - right[2] * down[1],
        right[2] * down[0] - right[0] * down[2],
        right[0] * down[1] - right[1] * down[0],
    ];
    let steep = dot(normal, toward);
    if steep.abs() < 1e-9 {
        return None;
    }
    let far = dot(normal, minus(a, eye)) / steep;
    let at = [0, 1, 2].map(|k: usize| eye[k] + far * toward[k]);
    // A hair inside, so that what only touches does not count.
    let within = |side: [f64; 3]| {
        let share = dot(minus(at, a), side) / dot(side, side);
        (0.001..=0.999).contains(&share)
    };
    (far > 0.0 && within(right) && within(down)).then_some(far)
}

#[test]
fn sheets_of_the_volume_hang_in_the_body_view_each_over_what_lies_behind_it() {
    let mut state = opened(OVER_AORTA);
    assert!(
        volume_sheets(&state).sheets.is_empty(),
        "not before they are wanted"
    );
    act(&mut state, Action::ShowVolume(true));
    let middle = volume_sheets(&state);
    let which: Vec<VolumePlane> = middle.sheets.iter().map(|sheet| sheet.which).collect();
    assert_eq!(
        which,
        [VolumePlane::Crossing, VolumePlane::Face],
        "the field of view hangs in the first plane already"
    );
    let mut covered = 0_u32;
    for at in [[0.0, 0.0, 90.0], [14.0, -20.0, 120.0], [-25.0, 12.0, 60.0]] {
        act(&mut state, Action::SetVolumePoint(at));
        for turn in 0..12 {
            let volume = volume_sheets(&state);
            assert!(volume.point.is_some(), "the point is marked");
            let eye = state.camera().eye();
            for behind in &volume.pieces {
                let [a, _, c, _] = behind.corners.map(|corner| corner.map(f64::from));
                let toward = [0, 1, 2].map(|k: usize| (a[k] + c[k]) / 2.0 - eye[k]);
                let Some(far) = met(behind, eye, toward) else {
                    continue;
                };
                let mut painted = false;
                for other in &volume.pieces {
                    painted |= other == behind;
                    let Some(near) = met(other, eye, toward) else {
                        continue;
                    };
                    if near < far - 1e-6 {
                        covered += 1;
                        assert!(painted, "turn {turn}: {other:?} covers {behind:?}");
                    }
                }
            }
            act(
                &mut state,
                Action::TurnCamera {
                    azimuth_deg: 30.0,
                    elevation_deg: if turn % 2 == 0 { 35.0 } else { -30.0 },
                },
            );
        }
    }
    assert!(covered > 50, "sheets do cover each other: {covered}");
}

#[test]
fn planes_are_drawn_in_flat_colours_and_in_grey_once_the_volume_is_acquired() {
    let mut state = opened(OVER_AORTA);
    act(&mut state, Action::ShowVolume(true));
    let mut drawing = looked(&state);
    let coloured = |rgba: &[u8]| rgba.chunks_exact(4).filter(|p| p[0] != p[1]).count();
    for which in VolumePlane::ALL {
        let frame = volume_frame(&state, which, [80, 80], 1.0).expect("a frame");
        assert!(
            coloured(drawing.picture(&state, which, &frame)) > 200,
            "{which:?}"
        );
    }
    act(&mut state, Action::SetGrey(100.0));
    let frame = volume_frame(&state, VolumePlane::Face, [80, 80], 1.0).expect("a frame");
    assert!(
        coloured(drawing.picture(&state, VolumePlane::Face, &frame)) > 200,
        "flat until acquired"
    );
    let mut frames = 0;
    while drawing.advance(&state) {
        frames += 1;
        assert!(frames < 100, "it ends");
    }
    let grey = drawing.picture(&state, VolumePlane::Face, &frame);
    assert_eq!(coloured(grey), 0, "sound has no colours");
    assert!(grey.chunks_exact(4).any(|p| p[0] > 40), "echoes are seen");
}

#[test]
fn a_transducer_that_does_not_sweep_offers_one_that_does() {
    let mut state = opened("");
    act(&mut state, Action::ShowVolume(true));
    let view = shown(&state);
    assert!(
        !view.sweeps && !view.shown && view.planes.is_empty(),
        "{view:?}"
    );
    act(&mut state, view.take.expect("an offer"));
    assert!(
        shown(&state).sweeps && shown(&state).shown,
        "and shows them at once"
    );
}
