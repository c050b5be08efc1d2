//! What a learner does, step by step, without a screen.

use crate::support::{act, opened};
use app::drawing::{Drawing, palette};
use app::scene::{CameraPreset, ScreenPoint, Viewport};
use app::views::{NoticeKind, Panels, panels};
use app::{
    Action, BodyStage, Changes, Movement, SlideAxis, State, Step, Texts, Way, address, drag,
};
use geometry::{MarkSide, Pose};

const VIEW: Viewport = Viewport {
    width: 800.0,
    height: 600.0,
};

fn shown(state: &State) -> Panels {
    let mut drawing = Drawing::new(palette().expect("all colours"));
    drawing.look_at(state);
    panels(state, drawing.contents(), &Texts::english())
}

fn letters(state: &State) -> [String; 4] {
    shown(state).sides.sides.map(|side| side.letters)
}

fn names(panels: &Panels) -> Vec<&str> {
    panels
        .structures
        .rows
        .iter()
        .map(|row| row.id.as_str())
        .collect()
}

/// J1: the first view.
#[test]
fn the_page_opens_on_a_mid_sagittal_view_with_liver_and_aorta() {
    let state = opened("");
    let panels = shown(&state);
    assert_eq!(panels.plane.name, "Mid-sagittal");
    assert_eq!(letters(&state), ["H", "F", "A", "P"]);
    assert_eq!(panels.probe.clock.hours, "12 o'clock");
    assert_eq!(panels.probe.clock.toward, "head end");
    assert_eq!(state.transducer().id, "convex");
    assert_eq!(panels.depth.text, "15.5 cm");
    assert!(
        names(&panels).contains(&"liver") && names(&panels).contains(&"aorta"),
        "{panels:?}"
    );
    let text = panels.words.text();
    assert!(
        text.starts_with("Probe on the front of the upper abdomen"),
        "{text}"
    );
    assert!(text.contains("Mid-sagittal plane"), "{text}");
    assert!(text.contains("aorta proximal in long axis"), "{text}");
}

/// J1: turning the notch turns plane, sides and words.
#[test]
fn turning_the_notch_changes_every_name_at_once() {
    let mut state = opened("");
    act(&mut state, Action::SetMovement(Movement::Rotate, 270.0));
    let panels = shown(&state);
    assert_eq!(panels.plane.name, "Transverse");
    assert_eq!(letters(&state), ["R", "L", "A", "P"]);
    let note = panels.structures.axis_note.clone().unwrap_or_default();
    assert!(
        note.contains("transverse to the body") && note.contains("short axis"),
        "{note}"
    );

    act(&mut state, Action::SetMovement(Movement::Rotate, 320.0));
    let panels = shown(&state);
    assert_eq!(panels.plane.name, "Longitudinal oblique");
    assert_eq!(
        panels.plane.reason,
        "Oblique: 40° from sagittal, 50° from transverse. No body plane is within 20°."
    );
    assert_eq!(
        panels.plane.tolerance_note,
        Texts::english().messages.tolerance_note
    );
}

#[test]
fn rock_and_compression_leave_the_plane_alone() {
    let mut state = opened("");
    let before = shown(&state).plane.angles;
    act(&mut state, Action::SetMovement(Movement::Rock, 25.0));
    act(&mut state, Action::SetMovement(Movement::Compress, 12.0));
    let after = shown(&state).plane.angles;
    for (a, b) in before.iter().zip(&after) {
        assert!((a.degrees - b.degrees).abs() < 1e-9, "{a:?} {b:?}");
    }
}

/// Conventions, section 6: swapping the mark and reversing the notch give the same picture.
#[test]
fn mark_swapped_and_notch_reversed_give_the_same_picture() {
    let mut state = opened("");
    act(&mut state, Action::SetMovement(Movement::Tilt, 14.0));
    act(&mut state, Action::SetMovement(Movement::Rock, -9.0));
    let frame = Drawing::frame(&state, 200, 200, 1.0);
    let mut drawing = Drawing::new(palette().expect("all colours"));
    drawing.look_at(&state);
    let before = drawing.picture(&state, &frame, 1.0).to_vec();
    assert!(before.iter().any(|byte| *byte != 0), "something is drawn");

    act(&mut state, Action::SetMark(MarkSide::Right));
    assert!(drawing.look_at(&state), "another plane");
    let mirrored = drawing.picture(&state, &frame, 1.0).to_vec();
    assert_ne!(
        before, mirrored,
        "one without the other is the mirror image"
    );

    act(&mut state, Action::ReverseNotch);
    drawing.look_at(&state);
    let same = drawing.picture(&state, &frame, 1.0).to_vec();
    let apart = before
        .iter()
        .zip(&same)
        .filter(|(a, b)| a.abs_diff(**b) > 2)
        .count();
    assert!(
        apart < before.len() / 500,
        "{apart} of {} bytes differ",
        before.len()
    );
}

/// J2: drag, and take it back.
#[test]
fn a_drag_moves_the_probe_over_the_skin_and_is_one_step_of_undo() {
    let mut state = opened("");
    let start = *state.pose();
    let contact = drag::on_screen(&state, start.contact(), VIEW).expect("in view");
    assert_eq!(drag::under(&state, contact, VIEW), drag::Under::Probe);
    act(
        &mut state,
        Action::GrabProbe {
            at: contact,
            viewport: VIEW,
        },
    );
    for step in 1..=10 {
        let at = ScreenPoint {
            x: contact.x + f64::from(step) * 4.0,
            y: contact.y,
        };
        let changes = act(&mut state, Action::DragProbe { at, viewport: VIEW });
        assert!(changes.pose && !changes.address, "{changes:?}");
        let seen = drag::on_screen(&state, state.pose().contact(), VIEW).expect("in view");
        assert!(
            libm::hypot(seen.x - at.x, seen.y - at.y) < 3.0,
            "under the pointer: {seen:?} {at:?}"
        );
    }
    let changes = act(&mut state, Action::EndInteraction);
    assert!(
        changes.address && changes.announcement.is_some(),
        "{changes:?}"
    );
    let moved = (state.pose().contact() - start.contact()).norm();
    assert!(moved > 10.0, "{moved} mm");
    assert!(
        state.pose().tilt() == start.tilt() && state.pose().rock() == start.rock(),
        "kept"
    );

    act(&mut state, Action::Undo);
    assert_eq!(*state.pose(), start);
    act(&mut state, Action::Redo);
    assert!(
        (state.pose().contact() - start.contact()).norm() > 10.0,
        "done again"
    );
}

#[test]
fn arrow_steps_slide_along_the_skin() {
    for (axis, way, axis_index, sign) in [
        (SlideAxis::TwelveOClock, Way::Forward, 2, 1.0),
        (SlideAxis::TwelveOClock, Way::Back, 2, -1.0),
        (SlideAxis::ThreeOClock, Way::Forward, 0, 1.0),
        // The first view has its notch to the head; across it lies the patient's left.
        (SlideAxis::Notch, Way::Forward, 2, 1.0),
        (SlideAxis::Across, Way::Forward, 0, 1.0),
    ] {
        let mut state = opened("");
        let before = state.pose().contact().to_array();
        act(&mut state, Action::SlideStep(axis, way, Step::Coarse));
        let after = state.pose().contact().to_array();
        let moved = (after[axis_index] - before[axis_index]) * sign;
        assert!(
            (9.0..=10.1).contains(&moved),
            "{axis:?} {way:?}: {before:?} {after:?}"
        );
    }
}

#[test]
fn steps_of_one_kind_are_one_undo_until_they_end() {
    let mut state = opened("");
    let start = *state.pose();
    for _ in 0..5 {
        act(
            &mut state,
            Action::MovementStep(Movement::Tilt, Way::Forward, Step::Usual),
        );
    }
    act(&mut state, Action::EndInteraction);
    act(
        &mut state,
        Action::MovementStep(Movement::Tilt, Way::Forward, Step::Usual),
    );
    let tilt = |state: &State| state.pose().tilt().to_deg();
    assert!((tilt(&state) - 12.0).abs() < 1e-9, "{}", tilt(&state));
    act(&mut state, Action::Undo);
    assert!((tilt(&state) - 10.0).abs() < 1e-9, "{}", tilt(&state));
    act(&mut state, Action::Undo);
    assert_eq!(*state.pose(), start);
    assert!(
        !shown(&state).history.can_undo && shown(&state).history.can_redo,
        "at the first step"
    );
}

#[test]
fn a_window_brings_its_transducer_depth_and_mark() {
    let mut state = opened("");
    let changes = act(
        &mut state,
        Action::PickWindow("parasternal_long_axis".to_owned()),
    );
    assert!(
        changes.pose && changes.picture && changes.address,
        "{changes:?}"
    );
    assert_eq!(state.transducer().id, "phased");
    assert_eq!(state.convention().mark, MarkSide::Right);
    assert_eq!(shown(&state).depth.text, "15 cm");
    assert_eq!(
        shown(&state).windows.current.as_deref(),
        Some("Left parasternal long axis")
    );
    act(
        &mut state,
        Action::MovementStep(Movement::Rotate, Way::Forward, Step::Usual),
    );
    assert_eq!(shown(&state).windows.current, None, "moved away from it");
    let nothing = act(&mut state, Action::PickWindow("nowhere".to_owned()));
    assert_eq!(nothing, Changes::none());
}

#[test]
fn windows_are_grouped_by_region() {
    let groups = shown(&opened("")).windows.groups;
    let sizes: Vec<usize> = groups.iter().map(|group| group.windows.len()).collect();
    assert_eq!(sizes.iter().sum::<usize>(), 3, "{groups:?}");
    let abdomen = groups
        .iter()
        .find(|group| group.windows.len() > 1)
        .or(groups.first());
    assert!(
        abdomen.is_some_and(|group| group.region.contains("abdomen")),
        "{groups:?}"
    );
}

/// The pose never jumps: a move by the program is an animation that ends exactly where it should.
#[test]
fn program_moves_are_short_animations() {
    let mut state = opened("");
    act(&mut state, Action::SetReducedMotion(false));
    let from = *state.pose();
    act(
        &mut state,
        Action::PickWindow("transverse_aorta_mid".to_owned()),
    );
    assert_eq!(*state.pose(), from, "not yet moved");
    let goal = *state.settled_pose();
    let mut last = from;
    let mut frames = 0;
    while state.is_moving() {
        act(&mut state, Action::Tick(16.0));
        let step = (state.pose().contact() - last.contact()).norm();
        assert!(step < 8.0, "{step} mm in a frame");
        assert!(
            off_skin(&state, state.pose()) < 0.01,
            "on the skin all the way"
        );
        last = *state.pose();
        frames += 1;
        assert!(frames < 60, "it ends");
    }
    assert!(frames > 10, "{frames} frames");
    assert_eq!(*state.pose(), goal);
    // The address says where it is going, at once.
    act(&mut state, Action::Undo);
    let there = address::fragment(&state);
    act(&mut state, Action::Tick(1000.0));
    assert_eq!(there, address::fragment(&state));
}

fn off_skin(state: &State, pose: &Pose) -> f64 {
    let skin = state.skin().expect("a skin");
    (skin.nearest(pose.contact()).point - pose.contact()).norm()
}

#[test]
fn reversing_the_notch_turns_it_and_nothing_else() {
    let mut state = opened("");
    let before = *state.pose();
    act(&mut state, Action::ReverseNotch);
    assert_eq!(letters(&state), ["F", "H", "A", "P"]);
    assert_eq!(state.pose().contact(), before.contact());
    act(&mut state, Action::QuarterTurn(Way::Forward));
    assert!(
        (state.pose().rotation().to_deg() - 270.0).abs() < 1e-9,
        "{:?}",
        state.pose()
    );
}

#[test]
fn a_link_reopens_the_view_it_was_copied_from() {
    let mut state = opened("");
    act(
        &mut state,
        Action::Slide {
            axis: SlideAxis::ThreeOClock,
            mm: 31.7,
        },
    );
    act(&mut state, Action::SetMovement(Movement::Rotate, 300.0));
    act(&mut state, Action::SetMovement(Movement::Tilt, -12.3));
    act(&mut state, Action::SetDepth(123.0));
    act(&mut state, Action::SetMark(MarkSide::Right));
    act(&mut state, Action::SetTolerance(15.0));
    let link = address::fragment(&state);
    let again = opened(&link);
    assert_eq!(address::fragment(&again), link);
    assert_eq!(shown(&again).plane.name, shown(&state).plane.name);
    assert_eq!(letters(&again), letters(&state));
    assert_eq!(again.depth(), state.depth());
}

#[test]
fn a_short_link_may_name_a_window() {
    let state = opened("#v1.body=adult_male&window=parasternal_long_axis");
    assert_eq!(state.body_id(), "adult_male");
    assert_eq!(state.window(), Some("parasternal_long_axis"));
    assert_eq!(
        (state.transducer().id, state.convention().mark),
        ("phased", MarkSide::Right)
    );
    let state = opened("#v1.window=parasternal_long_axis&depth=120");
    assert!(
        (state.depth().get() - 120.0).abs() < 1e-9,
        "its own depth wins"
    );
}

fn check_message(fragment: &str, wanted: &str) {
    let state = opened(fragment);
    let notices = shown(&state).status.notices;
    let texts: Vec<&str> = notices.iter().map(|notice| notice.text.as_str()).collect();
    assert_eq!(texts, [wanted], "{fragment}");
    assert_eq!(
        shown(&state).plane.name,
        "Mid-sagittal",
        "the first view: {fragment}"
    );
}

#[test]
fn a_broken_link_gives_the_first_view_and_one_sentence() {
    check_message(
        "#hello",
        "The link could not be read, so this is the first view: the link does not start with \"v1.\", so it is not a \
         view of this version.",
    );
    check_message(
        "#v1.body=centaur",
        "The link asks for a body that is not here, \"centaur\", so this is the first view.",
    );
    check_message(
        "#v1.window=left_ear",
        "The link asks for a window this body does not have, \"left_ear\".",
    );
    check_message(
        "#v1.probe=spoon",
        "The link asks for a transducer that is not here, \"spoon\".",
    );
    let mut state = opened("#hello");
    act(&mut state, Action::DismissMessage);
    assert!(shown(&state).status.notices.is_empty(), "put away");
}

#[test]
fn a_missing_body_is_told_and_can_be_asked_for_again() {
    let mut state = State::new("");
    act(
        &mut state,
        Action::BodyFailed {
            id: "adult_female".to_owned(),
            reason: "the server answered 404".to_owned(),
        },
    );
    let status = shown(&state).status;
    let notice = status.notices.first().expect("a notice");
    assert_eq!(notice.kind, NoticeKind::Trouble);
    assert!(notice.text.contains("404"), "{}", notice.text);
    let retry = notice.offer.clone().expect("an offer").action;
    act(&mut state, retry);
    assert!(
        matches!(state.stage(), BodyStage::Loading { .. }),
        "{:?}",
        state.stage()
    );
    act(
        &mut state,
        Action::BodyArrived(crate::support::body("adult_female")),
    );
    assert_eq!(shown(&state).plane.name, "Mid-sagittal");
    assert!(shown(&state).status.notices.is_empty(), "all is well");
}

#[test]
fn the_probe_moves_before_the_organs_are_here() {
    let mut state = State::new("");
    act(&mut state, Action::SetReducedMotion(true));
    let (facts, skin) = crate::support::skin_only("adult_female");
    let changes = act(&mut state, Action::SkinArrived { facts, skin });
    assert!(changes.body && changes.pose, "{changes:?}");
    act(
        &mut state,
        Action::SlideStep(SlideAxis::ThreeOClock, Way::Forward, Step::Coarse),
    );
    act(&mut state, Action::SetMovement(Movement::Rotate, 270.0));
    assert_eq!(shown(&state).plane.name, "Transverse");
    assert!(
        shown(&state).status.progress.is_some(),
        "the rest is on its way"
    );
    let moved = *state.pose();
    act(
        &mut state,
        Action::BodyArrived(crate::support::body("adult_female")),
    );
    assert_eq!(
        *state.pose(),
        moved,
        "the organs do not push the probe away"
    );
    assert!(names(&shown(&state)).contains(&"aorta"), "and are seen");
}

#[test]
fn without_a_body_view_everything_else_works() {
    let mut state = opened("");
    act(&mut state, Action::SetBodyViewWorks(false));
    assert!(
        shown(&state).status.instead_of_body_view.is_some(),
        "a sentence instead"
    );
    act(
        &mut state,
        Action::MovementStep(Movement::Rotate, Way::Back, Step::Coarse),
    );
    assert_eq!(shown(&state).plane.name, "Longitudinal oblique");
}

#[test]
fn reset_goes_back_to_the_first_view_and_can_be_taken_back() {
    let mut state = opened("");
    let first = address::fragment(&state);
    act(
        &mut state,
        Action::PickWindow("parasternal_long_axis".to_owned()),
    );
    act(
        &mut state,
        Action::MovementStep(Movement::Tilt, Way::Forward, Step::Usual),
    );
    let before = address::fragment(&state);
    act(&mut state, Action::Reset);
    assert_eq!(address::fragment(&state), first);
    act(&mut state, Action::Undo);
    assert_eq!(address::fragment(&state), before);
}

#[test]
fn the_name_on_show_is_exact_as_soon_as_the_hand_rests() {
    let mut state = opened("");
    act(&mut state, Action::SetMovement(Movement::Rotate, 20.5));
    assert_eq!(shown(&state).plane.word, "sagittal", "kept while moving");
    let angle = &shown(&state).plane.angles[0];
    assert!(
        angle.degrees > 20.2 && angle.text.starts_with("20."),
        "the angle is exact: {angle:?}"
    );
    act(&mut state, Action::EndInteraction);
    assert_eq!(shown(&state).plane.word, "oblique", "exact at rest");
}

#[test]
fn announcements_say_only_what_is_new() {
    let mut state = opened("");
    act(&mut state, Action::SetDepth(120.0));
    let said = act(&mut state, Action::EndInteraction).announcement;
    assert_eq!(said.as_deref(), Some("Depth 12 cm."));
    let said = act(&mut state, Action::SetMark(MarkSide::Right))
        .announcement
        .unwrap_or_default();
    assert!(
        said.starts_with("Mark at image right.") && said.contains("Image left: foot end"),
        "{said}"
    );
    let said = act(&mut state, Action::EndInteraction);
    assert_eq!(said, Changes::none(), "nothing was open");
    act(
        &mut state,
        Action::PickWindow("transverse_aorta_mid".to_owned()),
    );
    let said = act(&mut state, Action::QuarterTurn(Way::Forward))
        .announcement
        .unwrap_or_default();
    assert!(
        said.contains("Notch toward the head (12 o'clock)."),
        "{said}"
    );
}

#[test]
fn a_tap_on_the_skin_places_the_probe() {
    let mut state = opened("");
    act(&mut state, Action::Camera(CameraPreset::FromAbove));
    let target = geometry::Point::from_array(crate::support::front(-60.0, 200.0));
    let at = drag::on_screen(&state, target, VIEW).expect("in view");
    assert_eq!(drag::under(&state, at, VIEW), drag::Under::Skin);
    act(&mut state, Action::PlaceProbe { at, viewport: VIEW });
    let off = (state.pose().contact() - target).norm();
    assert!(off < 3.0, "{off} mm from where it was tapped");
    let beside = ScreenPoint { x: 3.0, y: 3.0 };
    assert_eq!(drag::under(&state, beside, VIEW), drag::Under::Nothing);
}

#[test]
fn a_chosen_structure_is_noted_in_both_senses() {
    let mut state = opened("");
    act(
        &mut state,
        Action::ChooseStructure(Some("aorta".to_owned())),
    );
    let panels = shown(&state);
    let row = panels
        .structures
        .rows
        .iter()
        .find(|row| row.chosen)
        .expect("a chosen row");
    assert_eq!((row.label.as_str(), row.axis), ("Aorta", Some("long axis")));
    assert_eq!(row.name, "Aorta, proximal");
    let note = panels.structures.axis_note.unwrap_or_default();
    assert!(
        note.starts_with("Two answers: the plane is sagittal to the body"),
        "{note}"
    );
    act(
        &mut state,
        Action::ChooseStructure(Some("unicorn".to_owned())),
    );
    assert_eq!(state.chosen(), None);
}

/// What the panels say about a probe standing upright on the egg.
struct Said {
    link: &'static str,
    plane: &'static str,
    sides: [&'static str; 4],
    hours: &'static str,
    notch: &'static str,
}

fn check_said(said: &Said) {
    let state = opened(&format!("#v1.{}", said.link));
    let panels = shown(&state);
    assert_eq!(panels.plane.name, said.plane, "{}", said.link);
    assert_eq!(letters(&state), said.sides, "{}", said.link);
    assert_eq!(panels.probe.clock.hours, said.hours, "{}", said.link);
    assert_eq!(panels.probe.clock.toward, said.notch, "{}", said.link);
}

/// Expected names follow from the definitions: image left is the notch's side with the mark at image left, the image
/// top is where the beam comes from.
#[test]
fn every_side_of_the_body_is_named() {
    for said in [
        Said {
            link: "at=0,-115,60&out=-90,0&turn=270",
            plane: "Transverse",
            sides: ["R", "L", "A", "P"],
            hours: "9 o'clock",
            notch: "patient's right",
        },
        Said {
            link: "at=0,115,60&out=90,0&turn=270",
            plane: "Transverse",
            sides: ["L", "R", "P", "A"],
            hours: "9 o'clock",
            notch: "patient's left",
        },
        Said {
            link: "at=-170,0,60&out=180,0&turn=0",
            plane: "Coronal",
            sides: ["H", "F", "R", "L"],
            hours: "12 o'clock",
            notch: "head end",
        },
        Said {
            link: "at=170,0,60&out=0,0&turn=270",
            plane: "Transverse",
            sides: ["A", "P", "L", "R"],
            hours: "9 o'clock",
            notch: "front",
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=0&mark=right",
            plane: "Mid-sagittal",
            sides: ["F", "H", "A", "P"],
            hours: "12 o'clock",
            notch: "head end",
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=0&apex=bottom",
            plane: "Mid-sagittal",
            sides: ["H", "F", "P", "A"],
            hours: "12 o'clock",
            notch: "head end",
        },
        Said {
            link: "at=-30,-113.2,60&out=-90,0&turn=330&tol=10",
            plane: "Longitudinal oblique",
            sides: ["HR", "FL", "A", "P"],
            hours: "11 o'clock",
            notch: "head end and patient's right",
        },
        Said {
            link: "at=-30,-113.2,60&out=-90,0&turn=330&tol=35",
            plane: "Right parasagittal",
            sides: ["H", "F", "A", "P"],
            hours: "11 o'clock",
            notch: "head end",
        },
    ] {
        check_said(&said);
    }
}
