//! The visible stop: after a panic no further call may reach the program.
//!
//! With `panic = "abort"` a panic alone does not stop a WebAssembly instance: later events would run on
//! broken state. The build forces wasm-bindgen's abort handling, so every later call throws. What the
//! learner sees is the work of the page's own script, which needs nothing of the program: the hook below
//! hands it the message while the program still can, and the trap that follows makes it show the stop screen.
//! A fault without a panic (an exhausted stack) traps too, and is shown without a message.

use wasm_bindgen::JsValue;

/// Installs the panic hook. Called once, before anything else.
pub(crate) fn install() {
    std::panic::set_hook(Box::new(|info| {
        let text = JsValue::from_str(&info.to_string());
        web_sys::console::error_1(&text);
        let init = web_sys::CustomEventInit::new();
        init.set_detail(&text);
        if let (Some(window), Ok(event)) = (
            web_sys::window(),
            web_sys::CustomEvent::new_with_event_init_dict("planeward:panicked", &init),
        ) {
            // Nothing is left that could act on a failure here.
            let _ = window.dispatch_event(&event);
        }
    }));
}
