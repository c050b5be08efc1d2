//! The learner's record in the browser's storage, and what practice needs of clock and chance.
//!
//! The text is read once at the start and written whenever it has changed. Another page of the program writes to the
//! same place: before each write what stands there is taken in, so that neither loses the other's answers.

use crate::desk::Desk;
use crate::examination::{chance, now};
use crate::platform::store::BrowserShelf;
use app::Action;
use app::examine::keeping::Shelf as _;
use app::practise::{PractiseAction, Source};
use std::cell::Cell;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;
use web_sys::StorageEvent;

/// The name of the record in the storage.
const NAME: &str = "record";

/// Where a text goes that could not be read, or not wholly.
const SET_ASIDE: &str = "record-set-aside";

/// Which revision of the record is kept.
pub(crate) struct KeptRecord {
    revision: Cell<u64>,
    told: Cell<bool>,
}

impl KeptRecord {
    pub(crate) const fn new() -> Self {
        Self {
            revision: Cell::new(0),
            told: Cell::new(false),
        }
    }

    /// Writes the record where it has changed since; says so when the browser does not keep it.
    pub(crate) fn keep(&self, desk: &Desk) {
        let revision = desk.read(|state| state.practise().revision());
        let Some(revision) = revision.filter(|revision| *revision != self.revision.get()) else {
            return;
        };
        self.revision.set(revision);
        let erased = desk.read(|state| state.practise().record().is_empty()) == Some(true);
        if erased {
            BrowserShelf.clear(NAME);
            BrowserShelf.clear(SET_ASIDE);
            return;
        }
        if let Some(Some(damaged)) =
            desk.read(|state| state.practise().damaged().map(str::to_owned))
        {
            let _ = BrowserShelf.put(SET_ASIDE, &damaged);
        } else if let Ok(Some(text)) = BrowserShelf.get(NAME) {
            // Another page may have written since.
            desk.act(Action::Practise(PractiseAction::RecordCame(
                Some(text),
                Source::Storage,
            )));
        }
        let text = desk.read(|state| state.practise().record_text().1);
        let kept = text.is_some_and(|text| BrowserShelf.put(NAME, &text).is_ok());
        if !kept && !self.told.replace(true) {
            desk.act(Action::Practise(PractiseAction::RecordNotKept));
        }
    }
}

/// Reads the record, and follows what other pages write.
pub(crate) fn begin(desk: &Desk) {
    if let Ok(text) = BrowserShelf.get(NAME) {
        desk.act(Action::Practise(PractiseAction::RecordCame(
            text,
            Source::Storage,
        )));
    }
    let desk = desk.clone();
    let heard = Closure::<dyn FnMut(StorageEvent)>::new(move |event: StorageEvent| {
        // No key: everything was cleared.
        if event.key().is_none_or(|key| key == "planeward.record") {
            desk.act(Action::Practise(PractiseAction::RecordCame(
                event.new_value(),
                Source::OtherPage,
            )));
        }
    });
    if let Some(window) = web_sys::window() {
        let _ = window.add_event_listener_with_callback("storage", heard.as_ref().unchecked_ref());
    }
    // Listens as long as the page lives.
    heard.forget();
}

/// Now, milliseconds since 1970 (UTC).
pub(crate) fn now_ms() -> u64 {
    u64::try_from(now().unix_ms).unwrap_or(0)
}

/// A number drawn for an event.
#[expect(
    clippy::cast_possible_truncation,
    reason = "any 32 of the drawn bits will do"
)]
pub(crate) fn nonce() -> u32 {
    chance() as u32
}

/// A seed short enough to be read out and typed.
pub(crate) fn seed() -> u64 {
    chance() % 1_000_000
}
