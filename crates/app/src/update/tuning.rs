//! The knobs of the grey-scale picture, and how much of it is shown.

use picture::Knob;

use crate::action::{Changes, Way};
use crate::state::{Interaction, State};
use crate::tuning::Tuning;

use super::signed;
use super::steps::{begin_step, close_step, open_interaction};

/// The picture looks otherwise; body, plane and names stay.
pub(super) fn picture_changed() -> Changes {
    Changes {
        picture: true,
        panels: true,
        ..Changes::none()
    }
}

pub(super) fn set_grey(state: &mut State, percent: f64) -> Changes {
    if percent.is_finite() {
        state.grey_percent = percent.clamp(0.0, 100.0);
    }
    Changes {
        address: true,
        ..picture_changed()
    }
}

/// Turns one knob; a drag of its slider is one step of undo.
pub(super) fn turn_knob(state: &mut State, knob: Knob, value: f64) -> Changes {
    let mut tuning = state.setup.tuning;
    tuning.turn(knob, value, &state.field());
    if tuning == state.setup.tuning {
        return Changes::none();
    }
    open_interaction(state, Interaction::Tuning(knob));
    state.setup.tuning = tuning;
    picture_changed()
}

pub(super) fn knob_step(state: &mut State, knob: Knob, way: Way) -> Changes {
    let step = knob.range(&state.field()).step;
    let value = state.grey_settings().get(knob) + signed(way) * step;
    turn_knob(state, knob, value)
}

/// All knobs follow transducer and depth again: one step of undo.
pub(super) fn reset_knobs(state: &mut State) -> Changes {
    if state.setup.tuning.is_plain() {
        return Changes::none();
    }
    let before = begin_step(state);
    state.setup.tuning = Tuning::default();
    picture_changed().and(close_step(state, before))
}
