//! Steps that can be taken back: what belongs to one, and what is said at its end.

use crate::action::Changes;
use crate::start;
use crate::state::{Interaction, Snapshot, State};
use crate::views;

use super::probe::head_for;
use super::viewer::move_camera;

/// Most steps that can be taken back.
pub(crate) const LONGEST_UNDO: usize = 200;

pub(super) fn open_interaction(state: &mut State, kind: Interaction) {
    match &state.open {
        Some((running, _)) if *running == kind => {}
        _ => {
            let before = begin_step(state);
            state.open = Some((kind, before));
        }
    }
}

/// Closes what was open and remembers how things are.
pub(super) fn begin_step(state: &mut State) -> Snapshot {
    if let Some((_, before)) = state.open.take() {
        remember(state, before);
    }
    state.snapshot()
}

/// A complete step: remembered, spoken, and written to the address.
pub(super) fn close_step(state: &mut State, before: Snapshot) -> Changes {
    let changes = spoken(state, &before);
    remember(state, before);
    changes
}

/// The end of a step: panels, address, and the words for what is new.
pub(super) fn spoken(state: &State, before: &Snapshot) -> Changes {
    let words = views::announcement(state, before, state.texts);
    Changes {
        panels: true,
        address: true,
        announcement: (!words.is_empty()).then_some(words),
        ..Changes::none()
    }
}

pub(super) fn remember(state: &mut State, before: Snapshot) {
    if before == state.snapshot() {
        return;
    }
    state.undo.push(before);
    if state.undo.len() > LONGEST_UNDO {
        state.undo.remove(0);
    }
    state.redo.clear();
}

pub(super) fn end_interaction(state: &mut State) -> Changes {
    state.drag = None;
    let Some((_, before)) = state.open.take() else {
        return Changes::none();
    };
    let moved = state.pose != before.pose;
    start::settle(state);
    // A grey-scale picture of a moving probe has less detail than one at rest.
    close_step(state, before).and(Changes {
        picture: moved && state.grey_percent > 0.0,
        ..Changes::none()
    })
}

pub(super) fn undo(state: &mut State) -> Changes {
    let now = begin_step(state);
    let Some(before) = state.undo.pop() else {
        return Changes::none();
    };
    state.redo.push(now.clone());
    bring_back(state, before, &now)
}

pub(super) fn redo(state: &mut State) -> Changes {
    let now = begin_step(state);
    let Some(after) = state.redo.pop() else {
        return Changes::none();
    };
    state.undo.push(now.clone());
    bring_back(state, after, &now)
}

pub(super) fn bring_back(state: &mut State, snapshot: Snapshot, now: &Snapshot) -> Changes {
    state.setup = snapshot.setup;
    state.window = snapshot.window;
    let changes = head_for(state, snapshot.pose);
    changes.and(spoken(state, now)).and(Changes {
        picture: true,
        scene: true,
        ..Changes::none()
    })
}

/// Back to the first view of the body; can itself be taken back.
pub(super) fn reset(state: &mut State) -> Changes {
    if state.parts().is_none() {
        return Changes::none();
    }
    let before = begin_step(state);
    let (pose, undo, redo) = (state.pose, state.undo.clone(), state.redo.clone());
    let camera = state.camera;
    let id = state.body_id.clone();
    let home = state.home();
    start::open_body(state, &id, home);
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
