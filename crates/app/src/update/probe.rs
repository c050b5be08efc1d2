//! The probe moved by hand or by program.

use geometry::{Angle, Direction, Mm, Patient, Pose, ProbeAxes, Vector};

use crate::action::{Changes, Movement, SlideAxis};
use crate::drag::Drag;
use crate::motion::PoseMotion;
use crate::scene::{ScreenPoint, Viewport};
use crate::start;
use crate::state::{Interaction, State};

use super::steps::{begin_step, close_step, open_interaction};
use super::viewer::finish_motion;

/// Steepest tilt and rock by hand, degrees: beyond it the face would leave the skin.
pub const STEEPEST_DEG: f64 = 80.0;

/// Deepest compression, mm (common practice, no source).
pub const DEEPEST_PRESS_MM: f64 = 25.0;

/// Longest slide in one action, mm.
const LONGEST_SLIDE_MM: f64 = 500.0;

/// Usual step of a movement, degrees or mm.
#[must_use]
pub fn usual_step(movement: Movement) -> f64 {
    match movement {
        Movement::Rotate => 5.0,
        Movement::Tilt | Movement::Rock => 2.0,
        Movement::Compress => 1.0,
    }
}

/// Value of a movement in a pose, degrees or mm.
#[must_use]
pub fn movement_value(pose: &Pose, movement: Movement) -> f64 {
    match movement {
        Movement::Rotate => pose.rotation().to_deg(),
        Movement::Tilt => pose.tilt().to_deg(),
        Movement::Rock => pose.rock().to_deg(),
        Movement::Compress => pose.press().get(),
    }
}

pub(super) fn grab(state: &mut State, at: ScreenPoint, viewport: Viewport) -> Changes {
    let changes = finish_motion(state);
    if state.skin().is_none() {
        return changes;
    }
    state.drag = Drag::start(state, at, viewport);
    changes
}

/// A move that belongs to an interaction: at once, and one step of undo with the others.
pub(super) fn moved_by_hand(state: &mut State, kind: Interaction, pose: Pose) -> Changes {
    let finished = finish_motion(state);
    if pose == state.pose {
        return finished;
    }
    open_interaction(state, kind);
    state.pose = pose;
    state.window = None;
    start::settle(state);
    finished.and(Changes::pose())
}

/// A move by the program: one step of undo, animated.
pub(super) fn moved_by_program(state: &mut State, pose: Pose) -> Changes {
    let before = begin_step(state);
    state.window = None;
    let changes = head_for(state, pose);
    changes.and(close_step(state, before))
}

/// Sends the probe to `pose`, by animation unless less motion is wanted.
pub(crate) fn head_for(state: &mut State, pose: Pose) -> Changes {
    state.drag = None;
    if pose == state.pose {
        state.pose_motion = None;
    } else if state.reduced_motion {
        state.pose_motion = None;
        state.pose = pose;
    } else {
        state.pose_motion = Some(PoseMotion::new(state.pose, pose));
    }
    start::settle(state);
    Changes::pose()
}

pub(super) fn slide(state: &mut State, axis: SlideAxis, mm: f64) -> Changes {
    if !mm.is_finite() || mm == 0.0 {
        return Changes::none();
    }
    let pose = *state.settled_pose();
    let along = slide_direction(&pose, axis) * mm.clamp(-LONGEST_SLIDE_MM, LONGEST_SLIDE_MM);
    let slid = state.skin().map(|skin| skin.slide(&pose, along));
    slid.map_or_else(Changes::none, |slid| {
        moved_by_hand(state, Interaction::Slide, slid)
    })
}

/// Unit direction of a slide; the skin takes its tangent part.
pub(super) fn slide_direction(pose: &Pose, axis: SlideAxis) -> Vector<Patient> {
    let (twelve, three) = geometry::clock_face(pose.normal());
    match axis {
        SlideAxis::TwelveOClock => twelve.to_vector(),
        SlideAxis::ThreeOClock => three.to_vector(),
        SlideAxis::Notch => pose.notch_on_skin().to_vector(),
        // Depth × lateral with the beam straight in: the elevation axis on the skin.
        SlideAxis::Across => (-pose.normal()).cross(pose.notch_on_skin()),
    }
}

pub(super) fn set_movement(state: &mut State, movement: Movement, value: f64) -> Changes {
    if !value.is_finite() {
        return Changes::none();
    }
    let pose = *state.settled_pose();
    let steep = Angle::deg(value.clamp(-STEEPEST_DEG, STEEPEST_DEG));
    let moved = match movement {
        Movement::Rotate => pose.with_rotation(Angle::deg(value)),
        Movement::Tilt => pose.with_tilt(steep),
        Movement::Rock => pose.with_rock(steep),
        Movement::Compress => pose.with_press(Mm::new(value.clamp(0.0, DEEPEST_PRESS_MM))),
    };
    moved_by_hand(state, Interaction::Movement(movement), moved)
}

/// Turns the probe about its own beam, so that half a turn leaves the image plane exactly where it is, also
/// when the probe is tilted or rocked. Turning by the rotation alone would carry the tilt round with it.
pub(super) fn turn_notch(
    state: &mut State,
    notch: impl FnOnce(&ProbeAxes) -> Direction<Patient>,
) -> Changes {
    let pose = *state.settled_pose();
    let axes = pose.axes();
    let (notch, beam) = (notch(&axes).to_vector(), axes.depth.to_vector());
    Pose::from_notch_and_beam(pose.contact(), pose.normal(), notch, beam).map_or_else(
        |_| Changes::none(),
        |turned| moved_by_program(state, turned.with_press(pose.press())),
    )
}

pub(super) fn pick_window(state: &mut State, id: &str) -> Changes {
    let window = state
        .facts()
        .and_then(|facts| facts.windows.iter().find(|window| window.id == id))
        .cloned();
    let Some(window) = window else {
        return Changes::none();
    };
    let before = begin_step(state);
    state.setup = start::window_setup(&state.setup, &window);
    state.window = Some(window.id.clone());
    let changes = head_for(state, window.pose);
    changes.and(close_step(state, before)).and(Changes {
        picture: true,
        scene: true,
        ..Changes::none()
    })
}
