//! What a tab takes along when its page loads again, in the storage of the tab alone.

use super::{address, store};
use crate::desk::Desk;
use app::session::{self, Session};
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;

/// Key in the tab's storage.
const KEPT: &str = "tab";

/// What was taken along from the page that stood here before, where the address still is that page's.
pub(crate) fn left() -> Option<Session> {
    let session = session::read(&store::of_tab(KEPT)?)?;
    session.view_at(&address::read())?;
    Some(session)
}

/// Keeps what is to be taken along, whenever the page is left. Where the browser keeps nothing, nothing is taken along.
pub(crate) fn keep_on_leaving(desk: &Desk) {
    let desk = desk.clone();
    let leave = Closure::<dyn FnMut()>::new(move || {
        let text = desk.read(|state| session::write(state, &address::read()));
        match text.flatten() {
            Some(text) => store::set_of_tab(KEPT, &text),
            None => store::clear_of_tab(KEPT),
        }
    });
    if let Some(window) = web_sys::window() {
        let _ = window.add_event_listener_with_callback("pagehide", leave.as_ref().unchecked_ref());
    }
    // Keeps as long as the page lives.
    leave.forget();
}
