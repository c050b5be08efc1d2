//! The one place where the state changes.

mod bodies;
mod cursor;
mod examine;
mod limits;
mod predict;
mod probe;
mod setup;
mod steps;
mod tuning;
mod viewer;
mod volume;
mod why;

pub use limits::{Limits, allows};
pub(crate) use probe::head_for;
pub(crate) use steps::LONGEST_UNDO;
pub(crate) use viewer::move_camera;

pub use probe::{DEEPEST_PRESS_MM, STEEPEST_DEG, movement_value, usual_step};

use picture::Knob;

use crate::action::{Action, Changes, Step, Way};
use crate::drag;
use crate::predict::Turn;
use crate::scene::{CameraPreset, preset_camera};
use crate::state::{BodyStage, Interaction, Message, State};

use bodies::*;
use cursor::*;
use probe::*;
use setup::*;
use steps::*;
use tuning::*;
use viewer::*;
use why::*;

/// Usual slide of one key press, mm.
const SLIDE_STEP_MM: f64 = 2.0;

/// Applies `action`. Total: any action in any state leaves a valid state.
#[must_use]
pub fn update(state: &mut State, action: Action) -> Changes {
    if !allows(state.limits.open, &action) {
        return Changes::none();
    }
    if let Some(refused) = examine::refuse(state, &action) {
        return refused;
    }
    let changes = apply(state, action);
    let changes = predict::follow(state, changes);
    examine::follow(state, changes)
}

fn apply(state: &mut State, action: Action) -> Changes {
    if crate::practise::forbids(state, &action) {
        return Changes::none();
    }
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
        Action::TakeUp(session) => take_up_session(state, session),
        Action::Restrict { open, fragment } => {
            state.limits = Limits::of(open, &fragment);
            Changes::panels()
        }

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
        Action::ReverseNotch => predict::turn_or_ask(state, Turn::Reverse),
        Action::QuarterTurn(way) => predict::turn_or_ask(state, Turn::Quarter(way)),
        Action::SetPredicting(on) => predict::set_predicting(state, on),
        Action::Predict(said) => predict::predict(state, said),
        Action::PickWindow(id) => pick_window(state, &id),
        Action::EndInteraction => end_interaction(state),

        Action::SetDepth(mm) => set_depth(state, mm),
        Action::DepthStep(way) => depth_step(state, way),
        Action::ChooseTransducer(id) => match picture::transducer(&id) {
            Some(known) => set_up(state, |setup| {
                setup.tuning = setup.tuning.carried(setup.transducer, known);
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
            let percent = if state.grey_percent < 50.0 {
                100.0
            } else {
                0.0
            };
            set_grey(state, percent)
        }
        Action::SetGain(db) => turn_knob(state, Knob::Gain, db),
        Action::TurnKnob(knob, value) => turn_knob(state, knob, value),
        Action::KnobStep(knob, way) => knob_step(state, knob, way),
        Action::ResetKnobs => reset_knobs(state),
        Action::ChooseStructure(id) => choose_structure(state, id),

        Action::ShowVolume(shown) => volume::show_volume(state, shown),
        Action::SwitchVolume => {
            let shown = !state.volume.shown;
            volume::show_volume(state, shown)
        }
        Action::SetVolumePoint(at) => volume::set_point(state, at),
        Action::PointInVolume(which, at) => volume::point_in(state, which, at),
        Action::AskWhy(ask) => ask_why(state, ask),
        Action::CloseWhy => close_why(state),
        Action::TryOut(tryout) => try_out(state, tryout),
        Action::PointAt(at) => point_at(state, at),
        Action::MoveCursor(by, step) => move_cursor(state, by, step),

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
        Action::LanguageFailed(name) => {
            state.message = Some(Message::NoLanguage(name));
            Changes::panels()
        }
        Action::Practise(action) => crate::practise::update(state, action),
        Action::DismissMessage => {
            state.message = None;
            Changes::panels()
        }
        Action::Examine(what) => {
            let changes = examine::examine(state, what);
            crate::practise::pictures_changed(state);
            changes
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
