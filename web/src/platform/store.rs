//! What is kept between visits, where the browser allows it: small settings, and the examination.
//!
//! In a sandboxed frame, with storage blocked or full, settings quietly are as on a first visit; for the examination
//! the application is told, because work is at stake.

use app::examine::keeping::{Refusal, Shelf};
use wasm_bindgen::JsValue;
use web_sys::Storage;

const PREFIX: &str = "planeward.";

/// The name under which a tab remembers its examination.
const OWN: &str = "examination";

fn storage() -> Option<Storage> {
    web_sys::window()?.local_storage().ok()?
}

/// Kept for one tab, also over a reload.
fn of_this_tab() -> Option<Storage> {
    web_sys::window()?.session_storage().ok()?
}

fn named(name: &str) -> String {
    format!("{PREFIX}{name}")
}

/// The text kept under `key`, if there is one and it can be read.
pub(crate) fn get(key: &str) -> Option<String> {
    storage()?.get_item(&named(key)).ok()?
}

/// Keeps `value` under `key`, if the browser lets us.
pub(crate) fn set(key: &str, value: &str) {
    if let Some(storage) = storage() {
        let _ = storage.set_item(&named(key), value);
    }
}

/// The text kept for this tab under `key`.
pub(crate) fn of_tab(key: &str) -> Option<String> {
    of_this_tab()?.get_item(&named(key)).ok()?
}

/// Keeps `value` for this tab under `key`, if the browser lets us.
pub(crate) fn set_of_tab(key: &str, value: &str) {
    if let Some(tab) = of_this_tab()
        && tab.set_item(&named(key), value).is_err()
    {
        // An older text must not come back in its place.
        let _ = tab.remove_item(&named(key));
    }
}

/// Takes away what is kept for this tab under `key`.
pub(crate) fn clear_of_tab(key: &str) {
    if let Some(tab) = of_this_tab() {
        let _ = tab.remove_item(&named(key));
    }
}

/// The browser's storage as a shelf for examinations.
pub(crate) struct BrowserShelf;

/// A refused write: full where the browser says so.
fn refusal(error: &JsValue) -> Refusal {
    let name = js_sys::Reflect::get(error, &JsValue::from_str("name"))
        .ok()
        .and_then(|name| name.as_string());
    match name.as_deref() {
        Some("QuotaExceededError" | "NS_ERROR_DOM_QUOTA_REACHED") => Refusal::Full,
        _ => Refusal::Blocked,
    }
}

impl Shelf for BrowserShelf {
    fn get(&self, name: &str) -> Result<Option<String>, Refusal> {
        let storage = storage().ok_or(Refusal::Blocked)?;
        storage
            .get_item(&named(name))
            .map_err(|_refused| Refusal::Blocked)
    }

    fn put(&self, name: &str, text: &str) -> Result<(), Refusal> {
        let storage = storage().ok_or(Refusal::Blocked)?;
        storage
            .set_item(&named(name), text)
            .map_err(|error| refusal(&error))
    }

    fn clear(&self, name: &str) {
        if let Some(storage) = storage() {
            let _ = storage.remove_item(&named(name));
        }
    }

    fn names(&self) -> Vec<String> {
        let Some(storage) = storage() else {
            return Vec::new();
        };
        let count = storage.length().unwrap_or(0);
        (0..count)
            .filter_map(|place| storage.key(place).ok()?)
            .filter_map(|name| name.strip_prefix(PREFIX).map(str::to_owned))
            .collect()
    }

    fn own(&self) -> Option<String> {
        of_this_tab()?.get_item(&named(OWN)).ok()?
    }

    fn set_own(&self, name: &str) {
        if let Some(tab) = of_this_tab() {
            let _ = tab.set_item(&named(OWN), name);
        }
    }
}
