//! Bodies that arrive or do not, links that are opened, the structure pointed out.

use crate::action::Changes;
use crate::session::Session;
use crate::start;
use crate::state::{BODIES, BodyStage, State};

pub(super) fn body_progress(
    state: &mut State,
    id: &str,
    received: u64,
    total: Option<u64>,
) -> Changes {
    if id == state.body_id && matches!(state.stage, BodyStage::Loading { .. }) {
        state.stage = BodyStage::Loading { received, total };
        return Changes::panels();
    }
    Changes::none()
}

pub(super) fn body_came(state: &mut State) -> Changes {
    start::meet_body(state);
    crate::practise::begin_if_awaited(state);
    let round = crate::practise::body_came(state);
    Changes {
        body: true,
        ..Changes::everything().and(round)
    }
}

pub(super) fn body_failed(state: &mut State, id: &str, reason: String) -> Changes {
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

pub(super) fn retry_body(state: &mut State) -> Changes {
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

pub(super) fn choose_body(state: &mut State, id: &str) -> Changes {
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

pub(super) fn open_link(state: &mut State, fragment: &str) -> Changes {
    if fragment.trim_start_matches('#') == crate::address::fragment(state) {
        return Changes::none();
    }
    let had_body = state.body().is_some();
    let before = state.body_id.clone();
    start::open_link(state, fragment);
    start::meet_body(state);
    crate::practise::begin_if_awaited(state);
    Changes {
        // The meshes stay where they are when only the view is another one.
        body: !had_body || before != state.body_id,
        ..Changes::everything()
    }
}

/// What this tab took along, now or as soon as the skin is here.
pub(super) fn take_up_session(state: &mut State, session: Box<Session>) -> Changes {
    state.session = Some(session);
    // Before the first view is met, meeting it takes this up.
    if state.awaited.is_none() {
        crate::session::take_up(state);
    }
    Changes::everything()
}

pub(super) fn forget_unknown_structure(state: &mut State) {
    if let (Some(body), Some(id)) = (state.body(), &state.chosen)
        && body.find(id).is_none()
    {
        state.chosen = None;
    }
}

pub(super) fn choose_structure(state: &mut State, id: Option<String>) -> Changes {
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

pub(super) fn scene_changed() -> Changes {
    Changes {
        scene: true,
        panels: true,
        ..Changes::none()
    }
}
