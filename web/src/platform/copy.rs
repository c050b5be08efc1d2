//! Text for the clipboard.

use js_sys::Reflect;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

/// Puts `text` on the clipboard; false where that is not allowed, as in some frames.
pub(crate) async fn to_clipboard(text: &str) -> bool {
    let write = || -> Option<js_sys::Promise> {
        let navigator = web_sys::window()?.navigator();
        let clipboard = Reflect::get(&navigator, &JsValue::from_str("clipboard")).ok()?;
        let write: js_sys::Function = Reflect::get(&clipboard, &JsValue::from_str("writeText"))
            .ok()?
            .dyn_into()
            .ok()?;
        write
            .call1(&clipboard, &JsValue::from_str(text))
            .ok()?
            .dyn_into()
            .ok()
    };
    match write() {
        Some(promise) => JsFuture::from(promise).await.is_ok(),
        None => false,
    }
}

/// Marks the text of a field, so that the usual keys copy it.
pub(crate) fn mark(id: &str) {
    let field = web_sys::window()
        .and_then(|window| window.document()?.get_element_by_id(id))
        .and_then(|element| element.dyn_into::<web_sys::HtmlInputElement>().ok());
    if let Some(field) = field {
        let _ = field.focus();
        field.select();
    }
}
