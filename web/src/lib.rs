//! The page: components, canvases, storage, the address. Wiring only.
//!
//! What the program knows and does is in `app`; what is drawn in the body view goes through `gl`. Here events become
//! actions, changes become pixels and signals, and the browser is asked for files and storage.
//!
//! State comes in three tiers:
//!
//! - *hot*: the pose while it is dragged, the camera. It lives in [`desk`], behind no signal.
//! - *settled*: what panels show. One signal a panel, written at most once a frame, and only where it differs.
//! - *kept*: the address and the theme, written when an interaction ends.

mod announce;
mod body_file;
mod desk;
mod embed;
mod examination;
mod page;
mod panels;
mod platform;
mod record;
mod results;
mod set;
mod stage;
mod teach;
mod test_hooks;
mod worksheet;

use wasm_bindgen::prelude::wasm_bindgen;

/// Starts the page; called by the module's loader.
#[wasm_bindgen(start)]
pub fn start() {
    platform::stop::install();
    if set::is_wanted() {
        set::mount();
        return;
    }
    match &*platform::page_data("page") {
        "embed" => embed::mount(),
        "teach" => teach::mount(),
        "results" => results::mount(),
        "worksheet" => worksheet::mount(),
        _ => page::mount(),
    }
}
