//! Depth, transducer, convention, tolerance, position, seat.

use geometry::{Angle, Mm};

use crate::action::{Changes, Way};
use crate::start;
use crate::state::{Interaction, Setup, State};

use super::steps::{begin_step, close_step, open_interaction};

/// One step of the depth setting, mm.
const DEPTH_STEP_MM: f64 = 10.0;

/// A change of the setup: one step of undo.
pub(super) fn set_up(state: &mut State, change: impl FnOnce(&mut Setup)) -> Changes {
    let before = begin_step(state);
    change(&mut state.setup);
    setup_changed(state).and(close_step(state, before))
}

pub(super) fn setup_changed(state: &mut State) -> Changes {
    start::settle(state);
    Changes {
        pose: true,
        picture: true,
        scene: true,
        panels: true,
        ..Changes::none()
    }
}

pub(super) fn set_depth(state: &mut State, mm: f64) -> Changes {
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

/// To the next whole step, so that a depth of 155 mm becomes 160 or 150.
pub(super) fn depth_step(state: &mut State, way: Way) -> Changes {
    let steps = state.setup.depth.get() / DEPTH_STEP_MM;
    let next = match way {
        Way::Forward => (steps + 1e-9).floor() + 1.0,
        Way::Back => (steps - 1e-9).ceil() - 1.0,
    };
    set_depth(state, next * DEPTH_STEP_MM)
}

pub(super) fn set_tolerance(state: &mut State, degrees: f64) -> Changes {
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
