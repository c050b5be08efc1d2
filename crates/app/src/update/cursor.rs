//! The place in the picture that is pointed at.

use crate::action::{Changes, Step};
use crate::cursor::Cursor;
use crate::state::State;

fn cursor_moved() -> Changes {
    Changes {
        cursor: true,
        ..Changes::none()
    }
}

pub(super) fn point_at(state: &mut State, at: Option<[f64; 2]>) -> Changes {
    let at = at.filter(|at| at.iter().all(|part| part.is_finite()));
    let cursor = at.map(|at| Cursor { at, by_keys: false });
    if state.cursor == cursor {
        return Changes::none();
    }
    state.cursor = cursor;
    cursor_moved()
}

/// The first step puts the cursor in the middle of the picture.
pub(super) fn move_cursor(state: &mut State, by: [f64; 2], step: Step) -> Changes {
    if !by.iter().all(|part| part.is_finite()) {
        return Changes::none();
    }
    let field = state.field();
    state.cursor = Some(match state.cursor {
        Some(cursor) => cursor.moved(by, step, &field),
        None => Cursor::middle(&field),
    });
    cursor_moved()
}
