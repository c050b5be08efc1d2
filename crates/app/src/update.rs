//! The one place where the state changes.

use geometry::{Angle, Mm, Pose, Vector};

use crate::action::{Action, Changes, Movement, SlideAxis, Step, Way};
use crate::drag::Drag;
use crate::motion::{CameraMotion, PoseMotion};
use crate::scene::{Camera, preset_camera};
use crate::start;
use crate::state::{BODIES, BodyStage, Interaction, Snapshot, State};
use crate::views;

/// Steepest tilt and rock by hand, degrees: beyond it the face would leave the skin.
pub const STEEPEST_DEG: f64 = 80.0;

/// Deepest compression, mm (common practice, no source).
pub const DEEPEST_PRESS_MM: f64 = 25.0;

/// Usual slide of one key press, mm.
const SLIDE_STEP_MM: f64 = 2.0;

/// One step of the depth setting, mm.
const DEPTH_STEP_MM: f64 = 10.0;

/// Most steps that can be taken back.
const LONGEST_UNDO: usize = 200;

/// Longest slide in one action, mm.
const LONGEST_SLIDE_MM: f64 = 500.0;

/// Applies `action`. Total: any action in any state leaves a valid state.
#[must_use]
pub fn update(state: &mut State, action: Action) -> Changes {
    match action {
        Action::BodyProgress { id, received, total } => body_progress(state, &id, received, total),
        Action::SkinArrived { facts, skin } => {
            if facts.id != state.body_id || matches!(state.stage, BodyStage::Loaded(_)) {
                return Changes::none();
            }
            state.stage = BodyStage::SkinOnly { facts, skin };
            body_came(state)
        }
        Action::BodyArrived(body) => {
            if body.id() != state.body_id {
                return Changes::none();
            }
            state.stage = BodyStage::Loaded(body);
            forget_unknown_structure(state);
            body_came(state)
        }
        Action::BodyFailed { id, reason } => body_failed(state, &id, reason),
        Action::RetryBody => retry_body(state),
        Action::ChooseBody(id) => choose_body(state, &id),
        Action::OpenLink(fragment) => open_link(state, &fragment),

        Action::GrabProbe { at, viewport } => grab(state, at, viewport),
        Action::DragProbe { at, viewport } => {
            let pose = state.drag.and_then(|drag| drag.pose(state, at, viewport));
            pose.map_or_else(Changes::none, |pose| moved_by_hand(state, Interaction::Drag, pose))
        }
        Action::PlaceProbe { at, viewport } => {
            let ray = crate::drag::patient_ray(state, at, viewport);
            let pose = state.skin().and_then(|skin| {
                let hit = skin.ray(ray.origin, ray.direction)?;
                Some(skin.place(state.settled_pose(), &hit))
            });
            pose.map_or_else(Changes::none, |pose| moved_by_program(state, pose))
        }
        Action::Slide { axis, mm } => slide(state, axis, mm),
        Action::SlideStep(axis, way, step) => {
            slide(state, axis, SLIDE_STEP_MM * signed(way) * step_factor(step))
        }
        Action::SetMovement(movement, value) => set_movement(state, movement, value),
        Action::MovementStep(movement, way, step) => {
            let by = usual_step(movement) * signed(way) * step_factor(step);
            let value = movement_value(state.settled_pose(), movement) + by;
            set_movement(state, movement, value)
        }
        Action::ReverseNotch => turn_notch(state, Angle::deg(180.0)),
        Action::QuarterTurn(way) => turn_notch(state, Angle::deg(90.0 * signed(way))),
        Action::PickWindow(id) => pick_window(state, &id),
        Action::EndInteraction => end_interaction(state),

        Action::SetDepth(mm) => set_depth(state, mm),
        Action::DepthStep(way) => {
            // To the next whole step, so that a depth of 155 mm becomes 160 or 150.
            let steps = state.setup.depth.get() / DEPTH_STEP_MM;
            let next = match way {
                Way::Forward => (steps + 1e-9).floor() + 1.0,
                Way::Back => (steps - 1e-9).ceil() - 1.0,
            };
            set_depth(state, next * DEPTH_STEP_MM)
        }
        Action::ChooseTransducer(id) => match picture::transducer(&id) {
            Some(known) => set_up(state, |setup| {
                setup.transducer = known;
                setup.depth = known.clamp_depth(setup.depth);
            }),
            None => Changes::none(),
        },
        Action::SetMark(mark) => set_up(state, |setup| setup.convention.mark = mark),
        Action::SetApex(apex) => set_up(state, |setup| setup.convention.apex = apex),
        Action::SetTolerance(degrees) => set_tolerance(state, degrees),
        Action::SetPosition(position) => {
            set_up(state, |setup| setup.position = position).and(Changes {
                scene: true,
                ..Changes::none()
            })
        }
        Action::SetSeat(seat) => {
            let changes = set_up(state, |setup| setup.seat = seat);
            let seat_view = preset_camera(state, crate::scene::CameraPreset::ExaminerSeat);
            changes.and(move_camera(state, seat_view))
        }
        Action::SetFilter(filter) => {
            state.filter = filter;
            scene_changed()
        }
        Action::ShowSkin(shown) => {
            state.skin_shown = shown;
            scene_changed()
        }
        Action::ChooseStructure(id) => choose_structure(state, id),

        Action::OrbitCamera { dx, dy, viewport } => {
            let camera = state.camera.dragged(dx, dy, viewport);
            camera_by_hand(state, camera)
        }
        Action::TurnCamera { azimuth_deg, elevation_deg } => {
            let camera = state.camera.orbited(azimuth_deg, elevation_deg);
            camera_by_hand(state, camera)
        }
        Action::PanCamera { dx, dy, viewport } => {
            let camera = state.camera.panned(dx, dy, viewport);
            camera_by_hand(state, camera)
        }
        Action::ZoomCamera(factor) => {
            let camera = state.camera.zoomed(factor);
            camera_by_hand(state, camera)
        }
        Action::Camera(preset) => {
            let camera = preset_camera(state, preset);
            move_camera(state, camera)
        }

        Action::Undo => undo(state),
        Action::Redo => redo(state),
        Action::Reset => reset(state),
        Action::Tick(ms) => tick(state, ms),
        Action::SetReducedMotion(reduced) => {
            state.reduced_motion = reduced;
            if reduced { finish_motion(state) } else { Changes::none() }
        }
        Action::SetBodyViewWorks(works) => {
            state.body_view_works = works;
            Changes::panels()
        }
        Action::DismissMessage => {
            state.message = None;
            Changes::panels()
        }
    }
}

fn signed(way: Way) -> f64 {
    match way {
        Way::Forward => 1.0,
        Way::Back => -1.0,
    }
}

fn step_factor(step: Step) -> f64 {
    match step {
        Step::Usual => 1.0,
        Step::Fine => 0.2,
        Step::Coarse => 5.0,
    }
}

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

// ------------------------------------------------------------------ bodies and links

fn body_progress(state: &mut State, id: &str, received: u64, total: Option<u64>) -> Changes {
    if id == state.body_id && matches!(state.stage, BodyStage::Loading { .. }) {
        state.stage = BodyStage::Loading { received, total };
        return Changes::panels();
    }
    Changes::none()
}

fn body_came(state: &mut State) -> Changes {
    start::meet_body(state);
    Changes {
        body: true,
        ..Changes::everything()
    }
}

fn body_failed(state: &mut State, id: &str, reason: String) -> Changes {
    if id != state.body_id || matches!(state.stage, BodyStage::Loaded(_)) {
        return Changes::none();
    }
    // What was shown of the skin goes too: a view that can be moved but never cut would puzzle.
    state.stage = BodyStage::Failed { reason };
    state.drag = None;
    Changes {
        body: true,
        ..Changes::everything()
    }
}

fn retry_body(state: &mut State) -> Changes {
    if !matches!(state.stage, BodyStage::Failed { .. }) {
        return Changes::none();
    }
    state.stage = BodyStage::Loading {
        received: 0,
        total: None,
    };
    Changes {
        body: true,
        panels: true,
        ..Changes::none()
    }
}

fn choose_body(state: &mut State, id: &str) -> Changes {
    if id == state.body_id || !BODIES.contains(&id) {
        return Changes::none();
    }
    state.message = None;
    start::open_body(state, id, course::link::LinkState::default());
    Changes {
        body: true,
        address: true,
        ..Changes::everything()
    }
}

fn open_link(state: &mut State, fragment: &str) -> Changes {
    if fragment.trim_start_matches('#') == crate::address::fragment(state) {
        return Changes::none();
    }
    start::open_link(state, fragment);
    start::meet_body(state);
    Changes {
        body: true,
        ..Changes::everything()
    }
}

fn forget_unknown_structure(state: &mut State) {
    if let (Some(body), Some(id)) = (state.body(), &state.chosen)
        && body.find(id).is_none()
    {
        state.chosen = None;
    }
}

fn choose_structure(state: &mut State, id: Option<String>) -> Changes {
    let known = id.filter(|id| {
        let facts = state.facts();
        facts.is_some_and(|facts| facts.find(id).is_some())
    });
    state.chosen = known;
    Changes {
        picture: true,
        scene: true,
        panels: true,
        ..Changes::none()
    }
}

fn scene_changed() -> Changes {
    Changes {
        scene: true,
        panels: true,
        ..Changes::none()
    }
}

// ------------------------------------------------------------------ the probe

fn grab(state: &mut State, at: crate::scene::ScreenPoint, viewport: crate::scene::Viewport) -> Changes {
    let changes = finish_motion(state);
    if state.skin().is_none() {
        return changes;
    }
    state.drag = Drag::start(state, at, viewport);
    if state.drag.is_some() {
        open_interaction(state, Interaction::Drag);
    }
    changes
}

/// A move that belongs to an interaction: at once, and one step of undo with the others.
fn moved_by_hand(state: &mut State, kind: Interaction, pose: Pose) -> Changes {
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
fn moved_by_program(state: &mut State, pose: Pose) -> Changes {
    let before = begin_step(state);
    state.window = None;
    let changes = head_for(state, pose);
    changes.and(close_step(state, before))
}

/// Sends the probe to `pose`, by animation unless less motion is wanted.
fn head_for(state: &mut State, pose: Pose) -> Changes {
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

fn slide(state: &mut State, axis: SlideAxis, mm: f64) -> Changes {
    if !mm.is_finite() || mm == 0.0 {
        return Changes::none();
    }
    let pose = *state.settled_pose();
    let along = slide_direction(&pose, axis) * mm.clamp(-LONGEST_SLIDE_MM, LONGEST_SLIDE_MM);
    let slid = state.skin().map(|skin| skin.slide(&pose, along));
    slid.map_or_else(Changes::none, |slid| moved_by_hand(state, Interaction::Slide, slid))
}

/// Unit direction of a slide; the skin takes its tangent part.
fn slide_direction(pose: &Pose, axis: SlideAxis) -> Vector<geometry::Patient> {
    let (twelve, three) = geometry::clock_face(pose.normal());
    match axis {
        SlideAxis::TwelveOClock => twelve.to_vector(),
        SlideAxis::ThreeOClock => three.to_vector(),
        SlideAxis::Notch => pose.notch_on_skin().to_vector(),
        // Depth × lateral with the beam straight in: the elevation axis on the skin.
        SlideAxis::Across => (-pose.normal()).cross(pose.notch_on_skin()),
    }
}

fn set_movement(state: &mut State, movement: Movement, value: f64) -> Changes {
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

fn turn_notch(state: &mut State, by: Angle) -> Changes {
    let pose = *state.settled_pose();
    moved_by_program(state, pose.with_rotation(pose.rotation() + by))
}

fn pick_window(state: &mut State, id: &str) -> Changes {
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

// ------------------------------------------------------------------ setup

/// A change of the setup: one step of undo.
fn set_up(state: &mut State, change: impl FnOnce(&mut crate::state::Setup)) -> Changes {
    let before = begin_step(state);
    change(&mut state.setup);
    setup_changed(state).and(close_step(state, before))
}

fn setup_changed(state: &mut State) -> Changes {
    start::settle(state);
    Changes {
        pose: true,
        picture: true,
        scene: true,
        panels: true,
        ..Changes::none()
    }
}

fn set_depth(state: &mut State, mm: f64) -> Changes {
    if !mm.is_finite() {
        return Changes::none();
    }
    let depth = state.setup.transducer.clamp_depth(Mm::new(mm));
    if depth == state.setup.depth {
        return Changes::none();
    }
    open_interaction(state, Interaction::Depth);
    state.setup.depth = depth;
    setup_changed(state)
}

fn set_tolerance(state: &mut State, degrees: f64) -> Changes {
    if !degrees.is_finite() {
        return Changes::none();
    }
    let (low, high) = geometry::TOLERANCE_RANGE;
    let tolerance = Angle::deg(degrees).clamped(low, high);
    if tolerance == state.setup.tolerance {
        return Changes::none();
    }
    open_interaction(state, Interaction::Tolerance);
    state.setup.tolerance = tolerance;
    setup_changed(state)
}

// ------------------------------------------------------------------ steps of undo

fn open_interaction(state: &mut State, kind: Interaction) {
    match &state.open {
        Some((running, _)) if *running == kind => {}
        _ => {
            let before = begin_step(state);
            state.open = Some((kind, before));
        }
    }
}

/// Closes what was open and remembers how things are.
fn begin_step(state: &mut State) -> Snapshot {
    if let Some((_, before)) = state.open.take() {
        remember(state, before);
    }
    state.drag = None;
    state.snapshot()
}

/// A complete step: remembered, spoken, and written to the address.
fn close_step(state: &mut State, before: Snapshot) -> Changes {
    remember(state, before);
    Changes {
        panels: true,
        address: true,
        announcement: Some(views::announcement(state)),
        ..Changes::none()
    }
}

fn remember(state: &mut State, before: Snapshot) {
    if before == state.snapshot() {
        return;
    }
    state.undo.push(before);
    if state.undo.len() > LONGEST_UNDO {
        state.undo.remove(0);
    }
    state.redo.clear();
}

fn end_interaction(state: &mut State) -> Changes {
    state.drag = None;
    let Some((_, before)) = state.open.take() else {
        return Changes::none();
    };
    start::settle(state);
    close_step(state, before)
}

fn undo(state: &mut State) -> Changes {
    let now = begin_step(state);
    let Some(before) = state.undo.pop() else {
        return Changes::none();
    };
    state.redo.push(now);
    bring_back(state, before)
}

fn redo(state: &mut State) -> Changes {
    let now = begin_step(state);
    let Some(after) = state.redo.pop() else {
        return Changes::none();
    };
    state.undo.push(now);
    bring_back(state, after)
}

fn bring_back(state: &mut State, snapshot: Snapshot) -> Changes {
    state.setup = snapshot.setup;
    state.window = snapshot.window;
    let changes = head_for(state, snapshot.pose);
    changes.and(Changes {
        picture: true,
        scene: true,
        panels: true,
        address: true,
        announcement: Some(views::announcement(state)),
        ..Changes::none()
    })
}

/// Back to the first view of the body; can itself be taken back.
fn reset(state: &mut State) -> Changes {
    if state.parts().is_none() {
        return Changes::none();
    }
    let before = begin_step(state);
    let (pose, undo, redo) = (state.pose, state.undo.clone(), state.redo.clone());
    let camera = state.camera;
    let id = state.body_id.clone();
    start::open_body(state, &id, course::link::LinkState::default());
    start::meet_body(state);
    let (first_pose, first_camera) = (state.pose, state.camera);
    state.pose = pose;
    state.camera = camera;
    state.undo = undo;
    state.redo = redo;
    state.message = None;
    let moved = head_for(state, first_pose).and(move_camera(state, first_camera));
    moved.and(close_step(state, before)).and(Changes {
        picture: true,
        scene: true,
        ..Changes::none()
    })
}

// ------------------------------------------------------------------ the viewer and time

fn camera_by_hand(state: &mut State, camera: Camera) -> Changes {
    state.camera_motion = None;
    if camera == state.camera {
        return Changes::none();
    }
    state.camera = camera;
    Changes::camera()
}

fn move_camera(state: &mut State, camera: Camera) -> Changes {
    if state.reduced_motion {
        state.camera_motion = None;
        state.camera = camera;
    } else {
        state.camera_motion = Some(CameraMotion::new(state.camera, camera));
    }
    Changes::camera()
}

fn tick(state: &mut State, ms: f64) -> Changes {
    if !ms.is_finite() || ms < 0.0 {
        return Changes::none();
    }
    let mut changes = Changes::none();
    if let Some(mut motion) = state.pose_motion.take() {
        let (pose, arrived) = motion.step(ms, state.skin());
        state.pose = pose;
        if !arrived {
            state.pose_motion = Some(motion);
        }
        start::settle(state);
        changes = changes.and(Changes::pose());
    }
    if let Some(mut motion) = state.camera_motion.take() {
        let (camera, arrived) = motion.step(ms);
        state.camera = camera;
        if !arrived {
            state.camera_motion = Some(motion);
        }
        changes = changes.and(Changes::camera());
    }
    changes
}

/// Puts probe and viewer where they were going.
fn finish_motion(state: &mut State) -> Changes {
    let mut changes = Changes::none();
    if let Some(motion) = state.pose_motion.take() {
        state.pose = *motion.end();
        start::settle(state);
        changes = changes.and(Changes::pose());
    }
    if state.reduced_motion
        && let Some(motion) = state.camera_motion.take()
    {
        state.camera = *motion.end();
        changes = changes.and(Changes::camera());
    }
    changes
}
