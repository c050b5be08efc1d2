//! A view whose author left only some of it open: what may still happen there.

use course::link::{self, LinkState};
use course::share::Open;

use crate::action::{Action, Movement};
use crate::state::State;

/// What the author of an embedding page left open, and the view to go back to.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    pub(crate) open: Open,
    /// The author's view; the body's own first view where there is none.
    pub(crate) home: LinkState,
}

impl Limits {
    /// Nothing is closed, as on the page itself.
    pub(crate) fn none() -> Self {
        Self {
            open: Open::All,
            home: LinkState::default(),
        }
    }

    /// The limits of a view that an author opened with this fragment. A broken one has no view to go back to.
    pub(crate) fn of(open: Open, fragment: &str) -> Self {
        Self {
            open,
            home: link::read(fragment.trim()).unwrap_or_default(),
        }
    }
}

/// Whether `action` may happen in a view with these limits.
///
/// What the program needs for itself is always allowed: bodies that arrive, links, time, settings of the system.
/// A new kind of action is closed in every restricted view until it is named here.
#[must_use]
pub fn allows(open: Open, action: &Action) -> bool {
    needed(action) || open >= least(action)
}

fn needed(action: &Action) -> bool {
    matches!(
        action,
        Action::BodyProgress { .. }
            | Action::SkinArrived { .. }
            | Action::BodyArrived(_)
            | Action::BodyFailed { .. }
            | Action::RetryBody
            | Action::OpenLink(_)
            | Action::Restrict { .. }
            | Action::EndInteraction
            | Action::Tick(_)
            | Action::SetReducedMotion(_)
            | Action::SetBodyViewWorks(_)
            | Action::DismissMessage
    )
}

/// How much has to be open for an action.
fn least(action: &Action) -> Open {
    match action {
        Action::OrbitCamera { .. }
        | Action::TurnCamera { .. }
        | Action::PanCamera { .. }
        | Action::ZoomCamera(_)
        | Action::Camera(_)
        | Action::ChooseStructure(_) => Open::Look,
        Action::SetMovement(Movement::Rotate, _)
        | Action::MovementStep(Movement::Rotate, ..)
        | Action::ReverseNotch
        | Action::QuarterTurn(_)
        | Action::Undo
        | Action::Redo
        | Action::Reset => Open::Notch,
        _ => Open::All,
    }
}

impl State {
    /// What the learner may change.
    #[must_use]
    pub fn open(&self) -> Open {
        self.limits.open
    }

    /// Where Reset goes for the body in use.
    pub(crate) fn home(&self) -> LinkState {
        let home = &self.limits.home;
        if home.body.as_deref().is_none_or(|body| body == self.body_id) {
            home.clone()
        } else {
            LinkState::default()
        }
    }
}
