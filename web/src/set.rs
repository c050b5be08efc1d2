//! One exercise set and nothing else: the start page of course packages, and a set in a frame of another page.
//!
//! The set comes from a file beside the page, or from the page's address. Its round runs on the Practise screen; what
//! happens goes to the driver of the course system, if the page has one.

mod course;

use crate::desk::{Desk, Handle, Place};
use crate::embed::channel;
use crate::page;
use crate::panels::controls::controls;
use crate::panels::parts::{self, Refused};
use crate::panels::picture::picture_stage;
use crate::panels::practise::{given_stages, practise, veil_words};
use crate::panels::review;
use crate::platform::{address, fetch, language, page_data, report};
use crate::record::{now_ms, seed};
use crate::stage::body_canvas::body_stage;
use crate::test_hooks;
use app::course::json::compact;
use app::course::set::{self, Set};
use app::examine::{Examine, shipped_vocabulary, vocabulary_arrived};
use app::practise::PractiseAction;
use app::share::{Embed, Shown};
use app::texts::form;
use app::{Action, State};
use leptos::prelude::*;
use std::cell::RefCell;
use wasm_bindgen_futures::spawn_local;

/// Where the set stands.
enum Source {
    File(String),
    Here(Box<Set>),
}

thread_local! {
    /// The set, what a course system kept, and the words of annotations, from the moment they are read until the page is
    /// built.
    static READ: RefCell<Option<(Set, String, Examine)>> = const { RefCell::new(None) };
}

fn source() -> Option<Source> {
    let file = page_data("set");
    if !file.is_empty() {
        return Some(Source::File(file));
    }
    if page_data("page") != "embed" {
        return None;
    }
    match Embed::read(&address::read()).ok()?.shown {
        Shown::Set(set) => Some(Source::Here(set)),
        Shown::File(file) => Some(Source::File(file)),
        Shown::Usual | Shown::View(_) => None,
    }
}

/// Whether the page is that of a set.
pub(crate) fn is_wanted() -> bool {
    source().is_some()
}

/// Reads the set, then puts the page into its element.
pub(crate) fn mount() {
    spawn_local(async {
        match read().await {
            Ok(set) => {
                let kept = match channel::carried() {
                    Some(carried) => carried,
                    None => report::course_state().await,
                };
                let words = vocabulary(&set).await;
                READ.with(|read| *read.borrow_mut() = Some((set, kept, words)));
                page::mount_view(round);
            }
            Err(reason) => {
                page::say(&reason);
                report::trouble(&reason);
            }
        }
    });
}

/// The unfinished round of a set as text, to be taken up again.
pub(crate) fn unfinished(state: &State) -> Option<String> {
    Some(state.practise().round()?.unfinished())
}

/// The set, or of it the one question that the address asks for.
async fn read() -> Result<Set, String> {
    let set = whole().await?;
    let wishes = Embed::read(&address::read()).unwrap_or_default();
    let Some(wanted) = wishes.question.filter(|_| page_data("set").is_empty()) else {
        return Ok(set);
    };
    set.only(&wanted)
        .ok_or_else(|| form(language::texts().embed.no_question, &[&wanted]))
}

async fn whole() -> Result<Set, String> {
    match source() {
        Some(Source::Here(set)) => Ok(*set),
        Some(Source::File(file)) => {
            let bytes = fetch::whole(&file).await?;
            set::read(&bytes)
                .map(|reading| reading.set)
                .map_err(|faults| {
                    let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
                    faults.join("; ")
                })
        }
        None => Err(String::new()),
    }
}

/// The set's own words of annotations, or the program's.
async fn vocabulary(set: &Set) -> Examine {
    if let Some(own) = &set.vocabulary {
        return vocabulary_arrived(compact(own).as_bytes());
    }
    match fetch::whole(&page_data("vocabulary")).await {
        Ok(json) => shipped_vocabulary(&json, language::texts()),
        Err(_missing) => Examine::VocabularyFailed,
    }
}

fn round() -> AnyView {
    let Some((set, kept, words)) = READ.with(|read| read.borrow_mut().take()) else {
        return ().into_any();
    };
    let fragment = format!("v1.body={}", set.body);
    let desk = Desk::new(&fragment, Place::Frame);
    desk.act(Action::Examine(words));
    test_hooks::install(&desk);
    let handle = Handle::new(desk);
    page::follow_the_system(handle);
    handle.with(channel::dress);
    channel::serve(handle);
    let shown = handle.shown();
    provide_context(Refused(shown.refused));
    let title = set.title.clone();
    let description = set.description.clone();
    let moving = Signal::derive(move || shown.moving.get().to_string());
    let language = set.language.clone();
    begin(handle, set, kept);
    tell(handle);
    let footer = handle.texts().footer.join(" ");
    let stages = move || {
        let stages = view! { <div class="stages">{given_stages(handle)} {body_stage(handle)} {picture_stage(handle)}</div> };
        // The canvas has its context once the first frame of the page is built.
        Effect::new(move |_| report::body_view());
        stages
    };
    view! {
        <div class="set-page" data-body=shown.body data-moving=moving data-veil=veil_words(handle)>
            <header class="set-head">
                <div lang=language>
                    <h1>{title}</h1>
                    {(!description.is_empty()).then(|| parts::paragraph("soft", description))}
                </div>
                {course::line(handle)}
            </header>
            <main class="work">
                {stages()}
                {practise(handle)}
                {controls(handle)}
            </main>
            <footer class="foot">{footer}</footer>
            <p class="unseen" id="live" role="status" aria-live="polite" aria-atomic="true">
                {shown.live}
            </p>
            {review::review(handle)}
        </div>
    }
    .into_any()
}

/// Starts the round once the body is here.
fn begin(handle: Handle, set: Set, kept: String) {
    let body = handle.shown().body;
    let waiting = StoredValue::new(Some((set, kept)));
    Effect::new(move |_| {
        match body.get() {
            "loaded" => {}
            "failed" => return report::trouble("the body could not be loaded"),
            _ => return,
        }
        if let Some((set, kept)) = waiting.try_update_value(Option::take).flatten() {
            handle.act(Action::Practise(PractiseAction::StartSet {
                set: Box::new(set),
                seed: seed(),
                now_ms: now_ms(),
                kept,
            }));
        }
    });
}

/// Hands on what the round says, each event once.
fn tell(handle: Handle) {
    let panels = handle.shown().panels;
    Effect::new(move |told: Option<usize>| {
        panels.track();
        let told = told.unwrap_or(0);
        let new: Vec<String> = handle
            .with(|desk| {
                desk.read(|state| {
                    let set = state.practise().round().and_then(app::practise::Round::set);
                    set.map(|set| set.events()[told.min(set.events().len())..].to_vec())
                })
            })
            .flatten()
            .flatten()
            .unwrap_or_default();
        for event in &new {
            report::course(event);
        }
        if told == 0 && !new.is_empty() {
            report::report("ready", &[("shown", true.into())]);
        }
        told + new.len()
    });
}
