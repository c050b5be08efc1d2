//! Questions.

use crate::action::Changes;
use crate::state::State;
use crate::why::{Ask, Asked, Tryout};

use super::bodies::choose_structure;

/// What is lit changes: body view and panels.
fn lit_changed() -> Changes {
    Changes {
        scene: true,
        panels: true,
        ..Changes::none()
    }
}

/// Shows an answer and starts its animation; asking about an axis points the structure out.
pub(super) fn ask_why(state: &mut State, ask: Ask) -> Changes {
    let mut changes = lit_changed();
    if let Ask::Axis(id) = &ask {
        if state.facts().is_none_or(|facts| facts.find(id).is_none()) {
            return Changes::none();
        }
        changes = changes.and(choose_structure(state, Some(id.clone())));
    }
    let tryout = state
        .why
        .as_ref()
        .map_or_else(Tryout::default, |asked| asked.tryout);
    state.why = Some(Asked {
        ask,
        tryout,
        elapsed_ms: 0.0,
    });
    changes
}

pub(super) fn close_why(state: &mut State) -> Changes {
    if state.why.take().is_some() {
        lit_changed()
    } else {
        Changes::none()
    }
}

pub(super) fn try_out(state: &mut State, tryout: Tryout) -> Changes {
    match &mut state.why {
        Some(asked) => {
            asked.tryout = tryout;
            Changes::panels()
        }
        None => Changes::none(),
    }
}

/// Runs the animation of a question on.
pub(super) fn tick_why(state: &mut State, ms: f64) -> Changes {
    let runs = state.why_moves();
    match &mut state.why {
        Some(asked) if runs => {
            asked.elapsed_ms += ms;
            Changes::camera()
        }
        _ => Changes::none(),
    }
}
