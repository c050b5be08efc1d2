//! What the page asks of the browser beside drawing: files, storage, the address, preferences, the stop, the page
//! around a frame.

pub(crate) mod address;
pub(crate) mod copy;
pub(crate) mod fetch;
pub(crate) mod language;
pub(crate) mod pick;
pub(crate) mod prefer;
pub(crate) mod report;
pub(crate) mod save;
pub(crate) mod session;
pub(crate) mod stop;
pub(crate) mod store;

/// What the page's own file says in a `data-` attribute of its body; empty where it says nothing.
pub(crate) fn page_data(name: &str) -> String {
    web_sys::window()
        .and_then(|window| {
            window
                .document()?
                .body()?
                .get_attribute(&format!("data-{name}"))
        })
        .unwrap_or_default()
}
