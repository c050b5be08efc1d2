//! The one place where the state changes.

mod bodies;
mod probe;
mod setup;
mod steps;
mod viewer;

pub use probe::{DEEPEST_PRESS_MM, STEEPEST_DEG, movement_value, usual_step};

use crate::action::{Action, Changes, Step, Way};
use crate::drag;
use crate::scene::{CameraPreset, preset_camera};
use crate::state::{BodyStage, GreyChoice, Interaction, State};

use bodies::*;
use probe::*;
use setup::*;
use steps::*;
use viewer::*;

/// Usual slide of one key press, mm.
const SLIDE_STEP_MM: f64 = 2.0;

/// Applies `action`. Total: any action in any state leaves a valid state.
#[must_use]
pub fn update(state: &mut State, action: Action) -> Changes {
    match action {
        Action::BodyProgress {
            id,
            received,
            total,
        } => body_progress(state, &id, received, total),
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
            pose.map_or_else(Changes::none, |pose| {
                moved_by_hand(state, Interaction::Drag, pose)
            })
        }
        Action::PlaceProbe { at, viewport } => {
            let pose = state.skin().and_then(|skin| {
                let hit = drag::skin_at(state, at, viewport)?;
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
        Action::ReverseNotch => turn_notch(state, |axes| -axes.lateral),
        // Clockwise seen from outside, the notch goes to where the elevation axis was.
        Action::QuarterTurn(Way::Forward) => turn_notch(state, |axes| axes.elevation),
        Action::QuarterTurn(Way::Back) => turn_notch(state, |axes| -axes.elevation),
        Action::PickWindow(id) => pick_window(state, &id),
        Action::EndInteraction => end_interaction(state),

        Action::SetDepth(mm) => set_depth(state, mm),
        Action::DepthStep(way) => depth_step(state, way),
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
            let changes = set_up(state, |setup| setup.position = position);
            // The body turns in the room, so the viewer has to find the probe again.
            let seat_view = preset_camera(state, CameraPreset::ExaminerSeat);
            changes.and(move_camera(state, seat_view))
        }
        Action::SetSeat(seat) => {
            let changes = set_up(state, |setup| setup.seat = seat);
            let seat_view = preset_camera(state, CameraPreset::ExaminerSeat);
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
        Action::SetGrey(percent) => set_grey(state, percent),
        Action::SwitchPicture => {
            let percent = if state.grey.percent < 50.0 {
                100.0
            } else {
                0.0
            };
            set_grey(state, percent)
        }
        Action::SetGain(db) => set_gain(state, db),
        Action::ChooseStructure(id) => choose_structure(state, id),

        Action::OrbitCamera { dx, dy, viewport } => {
            let camera = state.camera.dragged(dx, dy, viewport);
            camera_by_hand(state, camera)
        }
        Action::TurnCamera {
            azimuth_deg,
            elevation_deg,
        } => {
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
            if reduced {
                finish_motion(state)
            } else {
                Changes::none()
            }
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

fn set_grey(state: &mut State, percent: f64) -> Changes {
    if percent.is_finite() {
        state.grey.percent = percent.clamp(0.0, 100.0);
    }
    picture_changed()
}

fn set_gain(state: &mut State, db: f64) -> Changes {
    if db.is_finite() {
        let (low, high) = GreyChoice::GAIN_RANGE_DB;
        state.grey.gain_db = db.clamp(low, high);
    }
    picture_changed()
}

/// The picture looks otherwise; body, plane and names stay.
fn picture_changed() -> Changes {
    Changes {
        picture: true,
        panels: true,
        ..Changes::none()
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
