//! The body in every position: what is drawn and picked moves with the limbs, what is named never does.

#![allow(
    clippy::allow_attributes,
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "helpers of tests fail like the tests they serve; pixels are counted"
)]

use crate::support::{act, opened_with_doll};
use app::drag::{self, Under};
use app::drawing::{Drawing, palette};
use app::scene::{CameraPreset, ScreenPoint, Viewport, scene};
use app::views::{PlaneView, ProbeView, SidesView, StructuresView, WordsView, panels};
use app::{Action, Movement, State, Texts};
use geometry::{BodyPosition, Direction, Patient, Point, Pose, Room, Sides};
use proptest::prelude::*;

const VIEW: Viewport = Viewport {
    width: 900.0,
    height: 700.0,
};

/// The shown skin is made of facets, the map is smooth: they differ by half a millimetre where edges are halved until
/// they do not, and places of one facet by as much again.
const FACET_MM: f64 = 1.5;

/// A place seen through its own pixel, CSS pixels.
const SAME_PIXEL: f64 = 1.5;

/// Probes on trunk, arm, thigh and lower leg, as points outside the skin to come in from.
const PLACES: [[f64; 3]; 6] = [
    [10.0, -400.0, 120.0],
    [70.0, -400.0, 200.0],
    [-500.0, 20.0, -60.0],
    [82.0, -400.0, -380.0],
    [-82.0, 400.0, -540.0],
    [-400.0, 5.0, -760.0],
];

fn on_skin(state: &State, from: [f64; 3]) -> Pose {
    let skin = state.skin().expect("a skin");
    let at = skin.nearest(Point::from_array(from));
    skin.place(state.pose(), &at)
}

/// Puts the probe at a place by the only way there is: a tap where it is seen, from the position it is seen in.
fn tap(state: &mut State, contact: Point<Patient>) -> bool {
    let Some(at) = drag::on_screen(state, contact, VIEW) else {
        return false;
    };
    let seen = drag::skin_at(state, at, VIEW);
    if !seen.is_some_and(|seen| (seen.point - contact).norm() < FACET_MM * 2.0) {
        return false;
    }
    act(state, Action::PlaceProbe { at, viewport: VIEW });
    true
}

/// What must be the same in every position.
#[derive(PartialEq)]
struct Named {
    plane: PlaneView,
    sides: SidesView,
    words: WordsView,
    structures: StructuresView,
    probe: ProbeView,
    arrows: [(String, String); 4],
    picture: Vec<u8>,
}

fn named(state: &State, drawing: &mut Drawing) -> Named {
    drawing.look_at(state);
    let texts = Texts::english();
    let all = panels(state, drawing.contents(), &texts);
    let arrows = scene(state, VIEW, &texts).arrows;
    let frame = Drawing::frame(state, 120, 120, 1.0);
    Named {
        plane: all.plane,
        sides: all.sides,
        words: all.words,
        structures: all.structures,
        probe: all.probe,
        arrows: arrows.map(|arrow| (arrow.letters, arrow.words)),
        picture: drawing.picture(state, &frame, 1.0).to_vec(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn names_and_sides_never_change_with_the_position(
        place in prop::sample::select(PLACES.to_vec()),
        rotation in 0.0..360.0, tilt in -50.0..50.0, rock in -50.0..50.0,
    ) {
        let mut state = opened_with_doll();
        let contact = on_skin(&state, place).contact();
        for position in BodyPosition::ALL {
            act(&mut state, Action::SetPosition(position));
            if tap(&mut state, contact) {
                break;
            }
        }
        act(&mut state, Action::SetMovement(Movement::Rotate, rotation));
        act(&mut state, Action::SetMovement(Movement::Tilt, tilt));
        act(&mut state, Action::SetMovement(Movement::Rock, rock));
        act(&mut state, Action::EndInteraction);
        act(&mut state, Action::SetPosition(BodyPosition::Supine));
        let (pose, plane) = (*state.pose(), state.plane());
        let mut drawing = Drawing::new(palette().expect("all colours"));
        let first = named(&state, &mut drawing);
        for position in BodyPosition::ALL {
            act(&mut state, Action::SetPosition(position));
            prop_assert_eq!(state.pose(), &pose);
            prop_assert_eq!(Sides::of(&state.plane()), Sides::of(&plane));
            let now = named(&state, &mut drawing);
            prop_assert!(now == first, "{:?} says something else", position);
        }
    }

    /// Pointer → ray → shown skin → place on the body → where that is shown: the same pixel.
    #[test]
    fn what_is_picked_is_shown_where_it_was_picked(
        position in prop::sample::select(BodyPosition::ALL.to_vec()),
        preset in prop::sample::select(CameraPreset::ALL.to_vec()),
        x in 0.0..900.0, y in 0.0..700.0,
    ) {
        let mut state = opened_with_doll();
        act(&mut state, Action::SetPosition(position));
        act(&mut state, Action::Camera(preset));
        act(&mut state, Action::ZoomCamera(2.0));
        let at = ScreenPoint { x, y };
        if let Some(seen) = drag::skin_at(&state, at, VIEW) {
            let off = state.skin().expect("a skin").nearest(seen.point).point - seen.point;
            prop_assert!(off.norm() < 1e-3, "on the unposed skin: {:?}", off);
            let back = drag::on_screen(&state, seen.point, VIEW).expect("in front");
            let apart = libm::hypot(back.x - x, back.y - y);
            prop_assert!(apart < SAME_PIXEL, "{apart} px apart at {:?}", seen);
        }
    }
}

/// The property above is about something: in every position a good part of the view is body.
#[test]
fn every_viewpoint_has_body_in_it() {
    for position in BodyPosition::ALL {
        let mut state = opened_with_doll();
        act(&mut state, Action::SetPosition(position));
        for preset in CameraPreset::ALL {
            act(&mut state, Action::Camera(preset));
            let middle = ScreenPoint {
                x: VIEW.width / 2.0,
                y: VIEW.height / 2.0,
            };
            let under = drag::under(&state, middle, VIEW);
            assert_ne!(under, Under::Nothing, "{position:?} {preset:?}");
        }
    }
}

fn room(m: &[f32; 16], p: [f32; 3]) -> Point<Room> {
    let row = |r: usize| f64::from(m[r] * p[0] + m[4 + r] * p[1] + m[8 + r] * p[2] + m[12 + r]);
    Point::new(row(0), row(1), row(2))
}

/// In every position a probe can be put on every part that can be seen, stands on the shown skin, and can be dragged.
#[test]
fn a_probe_is_placed_and_dragged_on_bent_limbs() {
    let mut placed = 0;
    for position in BodyPosition::ALL {
        let mut held = opened_with_doll();
        act(&mut held, Action::SetPosition(position));
        for place in PLACES {
            for preset in CameraPreset::ALL {
                let mut state = held.clone();
                act(&mut state, Action::Camera(preset));
                let contact = on_skin(&state, place).contact();
                if !tap(&mut state, contact) {
                    continue;
                }
                placed += 1;
                check_stands(&state);
                check_drag(&mut state);
            }
        }
    }
    // Six positions, six places, each seen from two sides or so.
    assert!(placed > 50, "{placed} placed");
}

fn check_stands(state: &State) {
    let scene = scene(state, VIEW, &Texts::english());
    let face = room(&scene.room_from_probe, [0.0; 3]);
    let off = (face - state.shown_at(state.pose().footprint_centre())).norm();
    assert!(off < FACET_MM, "{:?}: {off} mm off", state.position());
    // Seen along its own beam from outside, the skin under it is where the probe stands.
    let beam = room(&scene.room_from_probe, [0.0, 0.0, 1.0]) - face;
    let posed_from_room = state.position().room_from_posed().inverse();
    let outside = posed_from_room.apply_point(face - beam * 30.0);
    let inward = posed_from_room
        .apply_vector(beam)
        .direction()
        .expect("a beam");
    let shown = state.shown_skin().expect("a skin");
    let met = shown.ray(state.skin().expect("a skin"), outside, inward);
    let off = met.map(|met| (met.point - state.pose().contact()).norm());
    assert!(
        off.is_some_and(|off| off < FACET_MM * 2.0),
        "{:?}: {off:?} mm from the contact",
        state.position()
    );
}

fn check_drag(state: &mut State) {
    let before = *state.pose();
    let contact = drag::on_screen(state, before.contact(), VIEW).expect("in view");
    assert_eq!(
        drag::under(state, contact, VIEW),
        Under::Probe,
        "the probe is where it was put"
    );
    let grabbed = Action::GrabProbe {
        at: contact,
        viewport: VIEW,
    };
    act(state, grabbed);
    for step in 1..=4 {
        let at = ScreenPoint {
            x: contact.x + f64::from(step),
            y: contact.y + f64::from(step),
        };
        act(state, Action::DragProbe { at, viewport: VIEW });
    }
    act(state, Action::EndInteraction);
    let seen = drag::on_screen(state, state.pose().contact(), VIEW).expect("in view");
    let off = libm::hypot(seen.x - contact.x - 4.0, seen.y - contact.y - 4.0);
    // At the rim of a limb, seen edge-on, the skin ends before the pointer does.
    let facing = facing(state, &before);
    assert!(
        off < 3.0 || facing < 0.35,
        "{:?}: {off} px behind the pointer, facing {facing}",
        state.position()
    );
    let skin = state.skin().expect("a skin");
    let lifted = (skin.nearest(state.pose().contact()).point - state.pose().contact()).norm();
    assert!(lifted < 1e-6, "{lifted} mm off the skin");
}

/// Cosine of the angle between the shown skin and the line of sight.
fn facing(state: &State, pose: &Pose) -> f64 {
    let outward = pose.contact() + pose.normal() * 1.0;
    let (foot, tip) = (state.shown_at(pose.contact()), state.shown_at(outward));
    let eye = Point::<Room>::from_array(state.camera().eye());
    let sight: Option<Direction<Room>> = (eye - foot).direction();
    let normal = (tip - foot).direction();
    sight.zip(normal).map_or(0.0, |(a, b)| a.dot(b))
}

/// The bed carries the trunk and stands in nothing but what rests on it.
#[test]
fn the_bed_is_under_the_body() {
    /// A body on its side sinks in, and the arm under it deeper than the trunk: by less than an arm's thickness.
    const SINKS_MM: f64 = 60.0;
    for position in BodyPosition::ALL {
        let mut state = opened_with_doll();
        act(&mut state, Action::SetPosition(position));
        let scene = scene(&state, VIEW, &Texts::english());
        let bed = scene.furniture.blocks.first().expect("a bed");
        let top = f64::from(scene.furniture.rest_height);
        let middle = room(&bed.room_from_block, [0.0; 3]);
        assert!(
            (middle.z() + f64::from(bed.half[2]) - top).abs() < 0.1,
            "{position:?}: the first block is the bed"
        );
        let over = |at: Point<Room>| {
            (at.x() - middle.x()).abs() < f64::from(bed.half[0])
                && (at.y() - middle.y()).abs() < f64::from(bed.half[1])
        };
        let mut lowest = f64::INFINITY;
        for at in &state.shown_skin().expect("a skin").mesh().positions {
            let at = room(&scene.room_from_posed, *at);
            if over(at) {
                lowest = lowest.min(at.z());
            }
        }
        assert!(
            (lowest - top).abs() < SINKS_MM,
            "{position:?}: {lowest} over {top}"
        );
        let trunk = state.shown_at(Point::new(0.0, 0.0, 100.0));
        assert!(over(trunk) && trunk.z() > top + 60.0, "{position:?}");
    }
}

/// What follows body and position is made anew by every way to change them.
#[test]
fn undo_and_links_bend_the_body_too() {
    let knee = Point::<Patient>::new(82.0, 5.0, -760.0);
    let at = |state: &State| state.shown_at(knee);
    let mut state = opened_with_doll();
    let lying = at(&state);
    act(&mut state, Action::SetPosition(BodyPosition::Seated));
    let seated = at(&state);
    assert_ne!(lying, seated, "the knee bends");
    act(&mut state, Action::Undo);
    assert_eq!(at(&state), lying, "straight again");
    act(&mut state, Action::Redo);
    assert_eq!(at(&state), seated, "bent again");
    let link = app::address::fragment(&state);
    act(&mut state, Action::Reset);
    assert_eq!(at(&state), lying, "straight again");
    act(&mut state, Action::OpenLink(link));
    assert_eq!(at(&state), seated, "bent again");
    // Another body, not here yet, has nothing to bend.
    act(&mut state, Action::ChooseBody("adult_male".to_owned()));
    assert!(state.shown_skin().is_none(), "no skin yet");
}

/// The cut face is carried with what is under the probe; the other thigh is somewhere else, and so is its section. The
/// two sides of the trunk stay together.
#[test]
fn no_section_hangs_in_the_air() {
    let mut drawing = Drawing::new(palette().expect("all colours"));
    // (where the probe comes from, half of the distance between two places at its level, whether both are painted)
    for (from, half, both) in [
        ([82.0, -400.0, -420.0], 82.0, false),
        ([40.0, -400.0, 120.0], 60.0, true),
    ] {
        let mut state = opened_with_doll();
        let contact = on_skin(&state, from).contact();
        act(&mut state, Action::Camera(CameraPreset::FromAbove));
        assert!(tap(&mut state, contact), "seen from above");
        act(&mut state, Action::SetMovement(Movement::Rotate, 270.0));
        act(&mut state, Action::SetPosition(BodyPosition::Lithotomy));
        drawing.look_at(&state);
        let sheet = scene(&state, VIEW, &Texts::english()).cut_sheet;
        let painted = drawing.cut_texture(&state, &sheet);
        let opacity = |x: f64| {
            let [x, y, _] = state.plane().to_image(Point::new(x, 5.0, contact.z()));
            let at = sheet.frame.to_px([x, y]).map(f64::round);
            let byte = (at[1] * f64::from(sheet.frame.width()) + at[0]) * 4.0 + 3.0;
            painted.get(byte as usize).copied()
        };
        assert_eq!(opacity(half), Some(255), "under the probe at {from:?}");
        let other = if both { 255 } else { 0 };
        assert_eq!(opacity(-half), Some(other), "across from {from:?}");
    }
}
