//! Progress and messages.

use crate::action::Action;
use crate::state::{BodyStage, Message, State};
use crate::texts::{Texts, fill};

/// How grave a notice is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoticeKind {
    /// Good to know.
    Note,
    /// Something does not work.
    Trouble,
}

/// What a notice offers to do.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Name of the button.
    pub label: &'static str,
    /// What it does.
    pub action: Action,
}

/// A sentence for the learner.
#[derive(Debug, Clone)]
pub struct Notice {
    /// How grave.
    pub kind: NoticeKind,
    /// The sentence.
    pub text: String,
    /// A button, where something can be done.
    pub offer: Option<Offer>,
}

// The offer follows from the kind of notice, so label and text tell two notices apart.
impl PartialEq for Notice {
    fn eq(&self, other: &Self) -> bool {
        let label = |notice: &Self| notice.offer.as_ref().map(|offer| offer.label);
        (self.kind, &self.text, label(self)) == (other.kind, &other.text, label(other))
    }
}

/// How much of the body is here.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// "Loading the body".
    pub text: &'static str,
    /// Share that is here, 0–1, where the whole is known.
    pub share: Option<f64>,
}

/// The status line.
#[derive(Debug, Clone, PartialEq)]
pub struct StatusView {
    /// Progress of loading; none when nothing loads.
    pub progress: Option<Progress>,
    /// Messages, gravest first.
    pub notices: Vec<Notice>,
    /// What stands in place of the body view when it cannot be drawn.
    pub instead_of_body_view: Option<&'static str>,
}

pub(super) fn status_view(state: &State, texts: &Texts) -> StatusView {
    let messages = &texts.messages;
    let mut notices = Vec::new();
    if let BodyStage::Failed { reason } = state.stage() {
        notices.push(Notice {
            kind: NoticeKind::Trouble,
            text: fill(messages.body_failed, &[reason]),
            offer: Some(Offer {
                label: texts.panels.retry,
                action: Action::RetryBody,
            }),
        });
    }
    if let Some(message) = &state.message {
        notices.push(Notice {
            kind: NoticeKind::Note,
            text: message_text(message, texts),
            offer: Some(Offer {
                label: texts.panels.dismiss,
                action: Action::DismissMessage,
            }),
        });
    }
    StatusView {
        progress: progress(state, texts),
        notices,
        instead_of_body_view: (!state.body_view_works()).then_some(messages.no_body_view),
    }
}

fn message_text(message: &Message, texts: &Texts) -> String {
    let messages = &texts.messages;
    match message {
        Message::BrokenLink(reason) => fill(messages.broken_link, &[reason]),
        Message::NoLanguage(name) => fill(texts.page.language_failed, &[name]),
        Message::LinkPartUnknown { key, value } => {
            let pattern = match *key {
                "body" => messages.unknown_body,
                "window" => messages.unknown_window,
                _ => messages.unknown_transducer,
            };
            fill(pattern, &[value])
        }
    }
}

fn progress(state: &State, texts: &Texts) -> Option<Progress> {
    match state.stage() {
        BodyStage::Loading { received, total } => Some(Progress {
            text: texts.messages.loading,
            share: total
                .filter(|total| *total > 0)
                .map(|total| share(*received, total)),
        }),
        BodyStage::SkinOnly { .. } => Some(Progress {
            text: texts.messages.loading_inside,
            share: None,
        }),
        BodyStage::Loaded(_) | BodyStage::Failed { .. } => None,
    }
}

#[expect(clippy::cast_precision_loss, reason = "a share of a progress bar")]
fn share(received: u64, total: u64) -> f64 {
    (received as f64 / total as f64).clamp(0.0, 1.0)
}
