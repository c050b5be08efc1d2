//! One animation frame at a time, only when asked.

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;

/// What a frame runs, given its time in ms.
type Draw = Closure<dyn FnMut(f64)>;

/// Runs a function in the next animation frame; asking again before that changes nothing.
#[derive(Clone)]
pub(crate) struct FrameLoop {
    pending: Rc<Cell<bool>>,
    run: Rc<RefCell<Option<Draw>>>,
}

impl FrameLoop {
    pub(crate) fn new() -> Self {
        Self {
            pending: Rc::default(),
            run: Rc::default(),
        }
    }

    /// What a frame does; it is given the time of the frame in ms.
    pub(crate) fn set(&self, mut draw: impl FnMut(f64) + 'static) {
        let pending = self.pending.clone();
        *self.run.borrow_mut() = Some(Closure::new(move |time: f64| {
            pending.set(false);
            draw(time);
        }));
    }

    /// Asks for a frame.
    pub(crate) fn request(&self) {
        if self.pending.replace(true) {
            return;
        }
        let asked = self.run.try_borrow().ok().and_then(|run| {
            let callback = run
                .as_ref()?
                .as_ref()
                .unchecked_ref::<js_sys::Function>()
                .clone();
            web_sys::window()?.request_animation_frame(&callback).ok()
        });
        if asked.is_none() {
            self.pending.set(false);
        }
    }
}
