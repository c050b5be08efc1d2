//! One polite live region that speaks when things have come to rest.

use leptos::prelude::{GetUntracked as _, RwSignal, Set as _};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;

/// Rest after the last change before anything is said. Shorter, and held keys chatter; longer, and the words come
/// after the learner has moved on.
const REST_MS: i32 = 700;

/// Collects what could be said and says the last of it.
pub(crate) struct Speaker {
    words: Rc<RefCell<String>>,
    timer: Cell<Option<i32>>,
    say: Closure<dyn FnMut()>,
}

impl Speaker {
    /// A speaker for the text of the live region.
    pub(crate) fn new(region: RwSignal<String>) -> Self {
        let words: Rc<RefCell<String>> = Rc::default();
        let say = {
            let words = words.clone();
            Closure::new(move || {
                let text = words.borrow().clone();
                if region.get_untracked() != text {
                    region.set(text);
                }
            })
        };
        Self {
            words,
            timer: Cell::new(None),
            say,
        }
    }

    /// Says `text` once nothing else has been handed in for a while.
    pub(crate) fn say_soon(&self, text: String) {
        *self.words.borrow_mut() = text;
        let Some(window) = web_sys::window() else {
            return;
        };
        if let Some(timer) = self.timer.take() {
            window.clear_timeout_with_handle(timer);
        }
        let callback = self.say.as_ref().unchecked_ref();
        self.timer.set(
            window
                .set_timeout_with_callback_and_timeout_and_arguments_0(callback, REST_MS)
                .ok(),
        );
    }
}
