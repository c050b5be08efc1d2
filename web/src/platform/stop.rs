//! The visible stop: after a panic no further call may reach the program.
//!
//! With `panic = "abort"` a panic alone does not stop a WebAssembly instance: later events would run on
//! broken state. The panic hook keeps the message; the abort handler, the last code that runs, hands it
//! to the page's own script, which shows the stop screen and needs nothing of the program.

use std::cell::RefCell;
use wasm_bindgen::JsValue;

thread_local! {
    static MESSAGE: RefCell<String> = const { RefCell::new(String::new()) };
}

/// Installs the panic hook and the abort handler. Called once, before anything else.
pub(crate) fn install() {
    std::panic::set_hook(Box::new(|info| {
        let text = info.to_string();
        MESSAGE.with(|message| {
            if let Ok(mut message) = message.try_borrow_mut() {
                message.clone_from(&text);
            }
        });
        web_sys::console::error_1(&JsValue::from_str(&text));
    }));
    wasm_bindgen::handler::set_on_abort(show);
}

fn show() {
    let text = MESSAGE.with(|message| {
        message
            .try_borrow()
            .map(|text| text.clone())
            .unwrap_or_default()
    });
    let text = if text.is_empty() {
        "The program stopped without a message.".to_owned()
    } else {
        text
    };
    let init = web_sys::CustomEventInit::new();
    init.set_detail(&JsValue::from_str(&text));
    if let (Some(window), Ok(event)) = (
        web_sys::window(),
        web_sys::CustomEvent::new_with_event_init_dict("planeward:stopped", &init),
    ) {
        // Nothing is left that could act on a failure here.
        let _ = window.dispatch_event(&event);
    }
}
