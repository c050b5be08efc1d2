//! The address bar as the place where a view is kept.

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::JsValue;
use wasm_bindgen::closure::Closure;

/// Least time between two writes. Safari refuses more than 100 in 30 s; this leaves room.
const PAUSE_MS: i32 = 500;

/// The fragment without its `#`; empty where there is none.
pub(crate) fn read() -> String {
    web_sys::window()
        .and_then(|window| window.location().hash().ok())
        .map(|hash| hash.trim_start_matches('#').to_owned())
        .unwrap_or_default()
}

/// Whether the developer's switch `?test` stands in the address.
pub(crate) fn has_test_switch() -> bool {
    web_sys::window()
        .and_then(|window| window.location().search().ok())
        .is_some_and(|search| {
            search
                .trim_start_matches('?')
                .split('&')
                .any(|part| part == "test")
        })
}

/// Writes the fragment at most twice a second, without a new step for the Back key.
pub(crate) struct Writer {
    wanted: Rc<RefCell<Option<String>>>,
    waiting: Rc<Cell<bool>>,
    tick: Closure<dyn FnMut()>,
}

impl Writer {
    pub(crate) fn new() -> Self {
        let wanted: Rc<RefCell<Option<String>>> = Rc::default();
        let waiting = Rc::new(Cell::new(false));
        let tick = {
            let (wanted, waiting) = (wanted.clone(), waiting.clone());
            Closure::new(move || {
                waiting.set(false);
                if let Some(fragment) = wanted.borrow_mut().take() {
                    replace(&fragment);
                }
            })
        };
        Self {
            wanted,
            waiting,
            tick,
        }
    }

    /// Puts `fragment` into the address soon.
    pub(crate) fn write(&self, fragment: String) {
        *self.wanted.borrow_mut() = Some(fragment);
        if self.waiting.replace(true) {
            return;
        }
        let started = web_sys::window().and_then(|window| {
            window
                .set_timeout_with_callback_and_timeout_and_arguments_0(
                    self.tick.as_ref().unchecked_ref(),
                    PAUSE_MS,
                )
                .ok()
        });
        if started.is_none() {
            self.waiting.set(false);
        }
    }
}

/// Puts `fragment` into the address at once, without a new step for the Back key.
pub(crate) fn replace(fragment: &str) {
    if fragment == read() {
        return;
    }
    if let Some(history) = web_sys::window().and_then(|window| window.history().ok()) {
        // Refused in some frames and past a browser's limit; the next write tries again.
        let _ = history.replace_state_with_url(&JsValue::NULL, "", Some(&format!("#{fragment}")));
    }
}
