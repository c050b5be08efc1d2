//! Small settings kept between visits, where the browser allows it.
//!
//! In a sandboxed frame, with storage blocked or full, every call here quietly does nothing: the page
//! then works as on a first visit.

fn storage() -> Option<web_sys::Storage> {
    web_sys::window()?.local_storage().ok()?
}

/// The text kept under `key`, if there is one and it can be read.
pub(crate) fn get(key: &str) -> Option<String> {
    storage()?.get_item(&format!("planeward.{key}")).ok()?
}

/// Keeps `value` under `key`, if the browser lets us.
pub(crate) fn set(key: &str, value: &str) {
    if let Some(storage) = storage() {
        let _ = storage.set_item(&format!("planeward.{key}"), value);
    }
}
