//! The line about the course system: whether it is there, whether it took what it was given, and the way out.
//!
//! The driver beside the program (`web/course/driver.js`) tells what happens; without one there is no line.

use crate::desk::Handle;
use crate::panels::parts::Button;
use crate::platform::report;
use js_sys::Reflect;
use leptos::prelude::*;
use wasm_bindgen::JsValue;

/// What the learner is told.
#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    /// The driver is still looking.
    Looking,
    Connected,
    Ungraded,
    Saved,
    Trouble,
    None,
    Used,
    Ended,
    Left,
}

impl State {
    /// Whether the learner has to look after the result.
    const fn is_grave(self) -> bool {
        matches!(self, Self::Trouble | Self::None | Self::Used | Self::Ended)
    }

    /// Whether there is a session that can be closed.
    const fn is_open(self) -> bool {
        matches!(
            self,
            Self::Connected | Self::Ungraded | Self::Saved | Self::Trouble
        )
    }
}

/// The line; nothing on a page without a driver.
pub(super) fn line(handle: Handle) -> Option<AnyView> {
    if !report::has_course_driver() {
        return None;
    }
    let words = handle.texts().set;
    let now = RwSignal::new(read_info().unwrap_or(State::Looking));
    report::listen("planewardCourse", move |event| {
        let said = |name: &str| text(&event.detail(), name);
        let Some(before) = now.try_get_untracked() else {
            return;
        };
        let next = match said("type").as_str() {
            "connected" => read_info().unwrap_or(State::Connected),
            "saved" if matches!(before, State::Connected | State::Trouble) => State::Saved,
            "trouble" => State::Trouble,
            "none" if said("why") == "used" => State::Used,
            "none" => State::None,
            "ended" if before != State::Left => State::Ended,
            _ => return,
        };
        now.set(next);
    });
    let sentence = Signal::derive(move || {
        match now.get() {
            State::Looking => "",
            State::Connected => words.connected,
            State::Ungraded => words.ungraded,
            State::Saved => words.saved,
            State::Trouble => words.trouble,
            State::None => words.no_course,
            State::Used => words.used_launch,
            State::Ended => words.ended,
            State::Left => words.left_page,
        }
        .to_owned()
    });
    let leave = Button::new(words.leave, move || {
        now.set(State::Left);
        report::course("{\"type\":\"leave\"}");
        report::close_window();
    });
    let closed = move || !now.get().is_open();
    let view = view! {
        <div class="course-line" role="group" aria-label=words.course data-grave=move || now.get().is_grave().to_string()>
            <p role="status" id="course-state">
                {sentence}
            </p>
            <span hidden=closed>{leave.view()}</span>
        </div>
    };
    Some(view.into_any())
}

fn text(from: &JsValue, name: &str) -> String {
    Reflect::get(from, &JsValue::from_str(name))
        .ok()
        .and_then(|value| value.as_string())
        .unwrap_or_default()
}

/// What the driver knows by now: it may have found its system before this page stood.
fn read_info() -> Option<State> {
    let info = report::course_info()?;
    if text(&info, "standard").is_empty() {
        return match text(&info, "missing").as_str() {
            "" => None,
            "used" => Some(State::Used),
            _ => Some(State::None),
        };
    }
    Some(if text(&info, "mode") == "normal" {
        State::Connected
    } else {
        State::Ungraded
    })
}
