//! What the page around the frame may ask of what is in it. The script beside (`web/embed/port.js`) checks where a
//! message comes from and what shape it has; here its text is read.
//!
//! Another set, another language: the address of the frame is changed, and the view that it names is put into the page in
//! place of the present one, as if the frame had been loaded with it. What the learner has done is carried over.

use super::theme;
use crate::desk::{Desk, Handle};
use crate::platform::prefer::Theme;
use crate::platform::{address, language, report};
use crate::set;
use app::course::set as sets;
use app::share::{Embed, Shown, read_set_link, view_of};
use app::texts::{LANGUAGES, form};
use app::{Action, share};
use std::cell::{Cell, RefCell};

thread_local! {
    /// What is in the page now.
    static PRESENT: Cell<Option<Handle>> = const { Cell::new(None) };
    static LISTENS: Cell<bool> = const { Cell::new(false) };
    /// What the view that comes next begins with.
    static CARRIED: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// Serves what is now in the page.
pub(crate) fn serve(handle: Handle) {
    PRESENT.set(Some(handle));
    if LISTENS.replace(true) {
        return;
    }
    report::asked(|kind, text| match kind {
        "set-view" => set_view(text),
        "load-set" => load_set(text),
        "set-theme" => set_theme(text),
        "set-locale" => set_locale(text),
        "request-results" => request_results(),
        // "pause" is the affair of the script that looks after the body view.
        _ => {}
    });
    report::listen("planeward:redraw", |_| {
        with(Desk::draw_body_now);
    });
    report::listening();
}

/// What was carried over from the view before, once.
pub(crate) fn carried() -> Option<String> {
    CARRIED.with(|carried| carried.borrow_mut().take())
}

fn with<T>(use_desk: impl FnOnce(&Desk) -> T) -> Option<T> {
    PRESENT.get()?.with(use_desk)
}

/// The wishes in the frame's address, changed. What cannot be read is told and leaves all as it was.
fn changed(change: impl FnOnce(&mut Embed)) -> Option<String> {
    let mut wishes = Embed::read(&address::read()).unwrap_or_default();
    change(&mut wishes);
    let fragment = wishes.write();
    match Embed::read(&fragment) {
        Ok(_readable) => Some(fragment),
        Err(error) => {
            report::trouble(&error.to_string());
            None
        }
    }
}

/// Puts what the address names into the page, in place of what is there.
fn begin_again(fragment: &str, carry: Option<String>) {
    address::replace(fragment);
    if address::read() != fragment {
        report::trouble("the browser does not let this frame change its address");
        return;
    }
    CARRIED.with(|carried| *carried.borrow_mut() = carry);
    if set::is_wanted() {
        set::mount();
    } else {
        super::mount();
    }
}

fn set_view(text: &str) {
    let view = view_of(text);
    if !set::is_wanted() {
        with(|desk| desk.act(Action::OpenLink(view.to_owned())));
        return;
    }
    match app::course::link::read(view) {
        Ok(link) => {
            let fragment = changed(|wishes| wishes.shown = Shown::View(Box::new(link)));
            if let Some(fragment) = fragment {
                begin_again(&fragment, None);
            }
        }
        Err(error) => report::trouble(&error.to_string()),
    }
}

fn load_set(text: &str) {
    let text = text.trim().trim_start_matches('#');
    let read = if text.starts_with('{') {
        sets::read(text.as_bytes()).map_err(|faults| {
            let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
            faults.join("; ")
        })
    } else {
        read_set_link(text).map_err(|error| error.to_string())
    };
    match read {
        Ok(reading) => {
            let fragment = changed(|wishes| {
                wishes.shown = Shown::Set(Box::new(reading.set));
                wishes.question = None;
            });
            if let Some(fragment) = fragment {
                begin_again(&fragment, None);
            }
        }
        Err(reason) => report::trouble(&reason),
    }
}

fn set_theme(text: &str) {
    let word = share::Theme::WORDS.iter().find(|(word, _)| *word == text);
    let Some((_, wanted)) = word else { return };
    with(|desk| desk.set_theme(theme(*wanted)));
    // A view that comes in place of this one has the same colours.
    if let Some(fragment) = changed(|wishes| wishes.theme = *wanted) {
        address::replace(&fragment);
    }
}

fn set_locale(tag: &str) {
    let Some(wanted) = language::offered(tag) else {
        let known: Vec<&str> = LANGUAGES.iter().map(|(tag, _)| *tag).collect();
        report::trouble(&form(
            "there is no language \"{}\"; there are: {}",
            &[tag, &known.join(", ")],
        ));
        return;
    };
    if wanted == language::texts().language {
        return;
    }
    let carry = if set::is_wanted() {
        with(|desk| desk.read(set::unfinished)).flatten().flatten()
    } else {
        with(|desk| desk.read(app::address::fragment)).flatten()
    };
    if let Some(fragment) = changed(|wishes| wishes.language = Some(wanted.to_owned())) {
        begin_again(&fragment, carry);
    }
}

fn request_results() {
    let found = with(|desk| {
        desk.read(|state| {
            let round = state.practise().round()?;
            let over = round.stage() == app::practise::Stage::Review;
            Some((round.result_file()?, over))
        })
    });
    match found.flatten().flatten() {
        Some(((name, text), over)) => report::results(&name, &text, over),
        None => report::trouble("there is no set here, so there are no results"),
    }
}

/// The colours of the page for a wish of the address.
pub(crate) fn dress(desk: &Desk) {
    let wishes = Embed::read(&address::read()).unwrap_or_default();
    let wanted = theme(wishes.theme);
    if wanted != Theme::Auto {
        desk.set_theme(wanted);
    }
}
