//! The language of the page: which one is wanted, its words, and the marks in the document.
//!
//! The choice is read once, before the page is built; choosing another one loads the page again. The address keeps the
//! probe's place, and the tab takes the rest along (`session`).

use super::{fetch, store};
use app::Texts;
use app::texts::LANGUAGES;
use std::cell::Cell;

/// Key of the stored choice, and of the address: `?lang=es`, or `lang=es` in the fragment of a frame.
const STORED: &str = "language";
const IN_ADDRESS: &str = "lang";

/// The tag of the wanted language: by the address, else the learner's earlier choice, else the browser's language where
/// the page has it, else English.
fn wanted() -> &'static str {
    let location = web_sys::window().map(|window| window.location());
    let whole = location.and_then(|location| {
        Some(format!(
            "{}&{}",
            location.search().ok()?,
            location.hash().ok()?
        ))
    });
    let named = whole.as_deref().and_then(in_address);
    let browsers = web_sys::window().and_then(|window| window.navigator().language());
    [named.map(str::to_owned), store::get(STORED), browsers]
        .into_iter()
        .flatten()
        .find_map(|tag| offered(&tag))
        .unwrap_or(LANGUAGES[0].0)
}

fn in_address(address: &str) -> Option<&str> {
    address
        .split(['?', '#', '&', '.'])
        .find_map(|part| part.strip_prefix(IN_ADDRESS)?.strip_prefix('='))
}

/// The offered language that a tag such as `es-MX` falls under.
pub(crate) fn offered(tag: &str) -> Option<&'static str> {
    let first = tag.split(['-', '_']).next()?.to_ascii_lowercase();
    LANGUAGES
        .iter()
        .map(|(known, _)| *known)
        .find(|known| *known == first)
}

thread_local! {
    static TEXTS: Cell<&'static Texts> = Cell::new(Texts::first());
    static MISSING: Cell<Option<&'static str>> = const { Cell::new(None) };
}

/// The words of the page.
pub(crate) fn texts() -> &'static Texts {
    TEXTS.get()
}

/// The name of the language that was wanted and did not arrive.
pub(crate) fn missing() -> Option<&'static str> {
    MISSING.get()
}

/// Fetches the words of the wanted language and marks the document; stays with English when they do not arrive.
pub(crate) async fn take_up() {
    let tag = wanted();
    MISSING.set(None);
    if tag == LANGUAGES[0].0 {
        TEXTS.set(Texts::first());
    } else {
        match words(tag).await {
            Some(texts) => TEXTS.set(texts),
            None => MISSING.set(
                LANGUAGES
                    .iter()
                    .find(|(known, _)| *known == tag)
                    .map(|(_, name)| *name),
            ),
        }
    }
    mark(texts());
}

async fn words(tag: &str) -> Option<&'static Texts> {
    let list = document()?.body()?.get_attribute("data-languages")?;
    let address = list
        .split_whitespace()
        .find_map(|entry| entry.strip_prefix(tag)?.strip_prefix('='))?;
    let bytes = fetch::whole(address).await.ok()?;
    // The words last as long as the page.
    let text = String::from_utf8(bytes).ok()?.leak();
    Some(Box::leak(Box::new(Texts::read(text))))
}

/// Says in the document which language this is and which way it runs, and puts the words of the stop screen there.
fn mark(texts: &Texts) {
    let Some(document) = document() else { return };
    let root = document.document_element();
    let before = root.as_ref().and_then(|root| root.get_attribute("lang"));
    if let Some(root) = root {
        let _ = root.set_attribute("lang", texts.language);
        let _ = root.set_attribute("dir", texts.direction);
    }
    if texts.language == LANGUAGES[0].0 && before.as_deref() == Some(LANGUAGES[0].0) {
        // The pages are written in it.
        return;
    }
    let (stop, update) = (&texts.stop, &texts.update);
    let (words, reload) = match &*super::page_data("page") {
        "embed" => (stop.words_in_frame, stop.reload_in_frame),
        "" => {
            document.set_title(texts.page.window_title);
            (stop.words, stop.reload)
        }
        _ => (stop.words, stop.reload),
    };
    for (id, words) in [
        ("update-words", update.words),
        ("update-take", update.take),
        ("update-later", update.later),
        ("stop-title", stop.title),
        ("stop-words", words),
        ("stop-reload", reload),
        ("stop-copy", stop.copy),
        ("stop-fresh", stop.fresh),
    ] {
        if let Some(element) = document.get_element_by_id(id) {
            element.set_text_content(Some(words));
        }
    }
    if let Some(element) = document.get_element_by_id("stop-message") {
        let _ = element.set_attribute("aria-label", stop.message);
    }
    if let Some(element) = document.get_element_by_id("stop-copied") {
        let _ = element.set_attribute("data-copied", stop.copied);
        let _ = element.set_attribute("data-marked", stop.marked);
    }
}

/// Takes another language: kept where the browser allows it, else in the address; the page loads again.
pub(crate) fn choose(tag: &str) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let location = window.location();
    store::set(STORED, tag);
    let search = location.search().unwrap_or_default();
    let kept = store::get(STORED).as_deref() == Some(tag);
    if kept && in_address(&search).is_none() {
        let _ = location.reload();
        return;
    }
    let others = search
        .trim_start_matches('?')
        .split('&')
        .filter(|part| !part.is_empty() && in_address(part).is_none());
    let wanted = format!("{IN_ADDRESS}={tag}");
    let parts: Vec<&str> = others.chain([wanted.as_str()]).collect();
    let _ = location.set_search(&parts.join("&"));
}

fn document() -> Option<web_sys::Document> {
    web_sys::window()?.document()
}
