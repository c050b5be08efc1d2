//! What the browser tests need to reach, only with `?test` in the address.
//!
//! - `planeward:test-panic` on the document: panics, as a fault in the program would.
//! - `planeward:test-pixels`: puts the section's RGBA bytes into `event.detail.rgba`.

use crate::desk::Desk;
use crate::platform::address;
use js_sys::{Reflect, Uint8Array};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};

/// Listens, if the switch stands in the address.
pub(crate) fn install(desk: &Desk) {
    if !address::has_test_switch() {
        return;
    }
    listen("planeward:test-panic", |_| {
        panic!("a panic asked for by a test");
    });
    let desk = desk.clone();
    listen("planeward:test-pixels", move |event| {
        let pixels = Uint8Array::from(desk.picture_pixels().as_slice());
        let _ = Reflect::set(&event.detail(), &JsValue::from_str("rgba"), &pixels);
    });
}

fn listen(name: &str, act: impl FnMut(web_sys::CustomEvent) + 'static) {
    let Some(page) = web_sys::window().and_then(|window| window.document()) else {
        return;
    };
    let heard = Closure::<dyn FnMut(web_sys::CustomEvent)>::new(act);
    let _ = page.add_event_listener_with_callback(name, heard.as_ref().unchecked_ref());
    // Listens as long as the page lives.
    heard.forget();
}
