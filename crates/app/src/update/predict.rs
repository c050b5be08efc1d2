//! Predictions before the notch is turned.

use crate::action::{Changes, Way};
use crate::predict::{Turn, Whereabouts, question, view_of};
use crate::state::State;

use super::probe::turn_notch;

pub(super) fn set_predicting(state: &mut State, on: bool) -> Changes {
    state.predicting = on;
    state.prediction = None;
    Changes::panels()
}

/// Turns the notch, or asks first where a side will be; while a question of a round has the probe, that question is enough.
pub(super) fn turn_or_ask(state: &mut State, turn: Turn) -> Changes {
    if state.predicting && state.practise.before.is_none() {
        state.prediction = Some(question(state, turn));
        return Changes::panels();
    }
    do_turn(state, turn)
}

/// Takes an answer, and turns the notch to show what is true.
pub(super) fn predict(state: &mut State, said: Whereabouts) -> Changes {
    match &mut state.prediction {
        Some(asked) if asked.said.is_none() => {
            asked.said = Some(said);
            let turn = asked.turn;
            let changes = do_turn(state, turn).and(Changes::panels());
            let view = view_of(state);
            if let Some(answered) = &mut state.prediction {
                answered.about_view = view;
            }
            changes
        }
        _ => Changes::none(),
    }
}

/// Puts a question or an answer away once another view is on show than the one it is about.
pub(super) fn follow(state: &mut State, changes: Changes) -> Changes {
    let stale = state
        .prediction
        .as_ref()
        .is_some_and(|asked| asked.about_view != view_of(state));
    if !stale {
        return changes;
    }
    state.prediction = None;
    changes.and(Changes::panels())
}

fn do_turn(state: &mut State, turn: Turn) -> Changes {
    match turn {
        Turn::Reverse => turn_notch(state, |axes| -axes.lateral),
        // Clockwise seen from outside, the notch goes to where the elevation axis was.
        Turn::Quarter(Way::Forward) => turn_notch(state, |axes| axes.elevation),
        Turn::Quarter(Way::Back) => turn_notch(state, |axes| -axes.elevation),
    }
}
