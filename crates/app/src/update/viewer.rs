//! The viewer of the body view, and time.

use crate::action::Changes;
use crate::motion::CameraMotion;
use crate::scene::Camera;
use crate::start;
use crate::state::State;

pub(super) fn camera_by_hand(state: &mut State, camera: Camera) -> Changes {
    state.camera_motion = None;
    if camera == state.camera {
        return Changes::none();
    }
    state.camera = camera;
    Changes::camera()
}

pub(crate) fn move_camera(state: &mut State, camera: Camera) -> Changes {
    if state.reduced_motion {
        state.camera_motion = None;
        state.camera = camera;
    } else {
        state.camera_motion = Some(CameraMotion::new(state.camera, camera));
    }
    Changes::camera()
}

pub(super) fn tick(state: &mut State, ms: f64) -> Changes {
    if !ms.is_finite() || ms < 0.0 {
        return Changes::none();
    }
    let mut changes = super::why::tick_why(state, ms);
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
pub(super) fn finish_motion(state: &mut State) -> Changes {
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
