//! One view in a frame of another page, as its author asked.

pub(crate) mod channel;

use crate::desk::{Desk, Handle, Place};
use crate::page;
use crate::panels::controls::{controls, notch};
use crate::panels::head::{notice_view, notices};
use crate::panels::parts::{self, Button, Refused};
use crate::panels::picture::picture_stage;
use crate::panels::reading::reading;
use crate::platform::prefer::Theme;
use crate::platform::{address, report};
use crate::stage::body_canvas::body_stage;
use crate::test_hooks;
use app::share::{self, Embed, EmbedError, Height, Open, Text, Views};
use app::texts::{EmbedTexts, form};
use app::views::NoticeKind;
use app::{Action, share::view_of};
use leptos::prelude::*;

/// Puts the view into its element, in place of the loading words.
pub(crate) fn mount() {
    page::mount_view(frame);
}

fn frame() -> AnyView {
    let fragment = address::read();
    let read = Embed::read(&fragment);
    let wishes = read.clone().unwrap_or_default();
    let desk = Desk::new(view_of(&fragment), Place::Frame);
    desk.set_theme(theme(wishes.theme));
    desk.act(Action::SetGrey(f64::from(wishes.grey_percent)));
    desk.act(Action::Restrict {
        open: wishes.open,
        fragment: view_of(&fragment).to_owned(),
    });
    if let Some(view) = channel::carried() {
        desk.act(Action::OpenLink(view));
    }
    test_hooks::install(&desk);
    let handle = Handle::new(desk);
    listen(handle);
    page::follow_the_system(handle);
    let shown = handle.shown();
    provide_context(Refused(shown.refused));
    let moving = Signal::derive(move || shown.moving.get().to_string());
    view! {
        <div
            class="frame page"
            data-body=shown.body
            data-moving=moving
            data-show=word(wishes.views, &Views::WORDS)
            data-open=word(wishes.open, &Open::WORDS)
            data-height=word(wishes.height, &Height::WORDS)
        >
            {head(handle)}
            {messages(handle, read.err().filter(|error| !matches!(error, EmbedError::View(_))))}
            <main class="stages">{stages(handle, wishes.views)}</main>
            <p class="notice" id="still-words" role="status" hidden>
                {handle.texts().embed.still}
            </p>
            {left_open(handle, &wishes)}
            {in_words(handle, wishes.text == Text::Folded)}
            {foot(handle, &fragment)}
            <p class="unseen" id="live" role="status" aria-live="polite" aria-atomic="true">
                {shown.live}
            </p>
        </div>
    }
    .into_any()
}

fn theme(wanted: share::Theme) -> Theme {
    match wanted {
        share::Theme::Auto => Theme::Auto,
        share::Theme::Light => Theme::Light,
        share::Theme::Dark => Theme::Dark,
    }
}

/// The word of a choice, for the style sheet.
fn word<T: PartialEq>(value: T, table: &[(&'static str, T)]) -> &'static str {
    let found = table.iter().find(|(_, meaning)| *meaning == value);
    found.map_or("", |(word, _)| word)
}

/// What the page around may ask, and what it is told of the body.
fn listen(handle: Handle) {
    channel::serve(handle);
    let body = handle.shown().body;
    Effect::new(move |_| {
        let stage = body.get();
        if stage == "loaded" {
            report::report("ready", &[("shown", true.into())]);
        } else if stage == "failed" {
            report::trouble("the body could not be loaded");
        }
    });
}

fn head(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let name =
        Signal::derive(move || panels.with(|panels| form(texts.page.plane, &[&panels.plane.name])));
    let toward = Signal::derive(move || {
        panels.with(|panels| panels.plane.offset.clone().unwrap_or_default())
    });
    view! {
        <header class="frame-head">
            <h1 id="plane-name">{name}</h1>
            <p>{toward}</p>
        </header>
    }
    .into_any()
}

/// Notes about the view's address.
fn messages(handle: Handle, broken: Option<EmbedError>) -> AnyView {
    let panels = handle.shown().panels;
    let notes = Memo::new(move |_| panels.with(|panels| notices(panels, NoticeKind::Note)));
    let list = move || {
        let one = |notice| {
            view! { <div class="notice" id="notice">{notice_view(handle, notice)}</div> }.into_any()
        };
        notes.get().into_iter().map(one).collect::<Vec<AnyView>>()
    };
    let wishes = broken.map(|error| {
        let sentence = handle.texts().embed.broken(&error.to_string());
        view! {
            <p class="notice" id="wishes">
                {sentence}
            </p>
        }
        .into_any()
    });
    view! {
        <div role="status" class="messages">
            {wishes}
            {list}
        </div>
    }
    .into_any()
}

fn stages(handle: Handle, show: Views) -> Vec<AnyView> {
    let body = move || {
        let stage = body_stage(handle);
        // The canvas has its context once the first frame of the page is built.
        Effect::new(move |_| report::body_view());
        stage
    };
    match show {
        Views::Both => vec![body(), picture_stage(handle)],
        Views::Body => vec![body()],
        Views::Picture => vec![picture_stage(handle)],
    }
}

fn left_open(handle: Handle, wishes: &Embed) -> Option<AnyView> {
    let texts = handle.texts().embed;
    let back = || {
        let back = Button::new(texts.back, move || handle.act(Action::Reset));
        parts::div("row", vec![back.view()])
    };
    match wishes.open {
        Open::Nothing | Open::Look => None,
        Open::Notch => Some(
            view! {
                <section class="frame-controls" aria-label=texts.controls>
                    {notch(handle)}
                    {back()}
                </section>
            }
            .into_any(),
        ),
        Open::All => Some(controls(handle)),
    }
}

/// The scene in words: folded, or for screen readers alone.
fn in_words(handle: Handle, unfolds: bool) -> AnyView {
    let words = reading(handle);
    if unfolds {
        view! {
            <details class="frame-words">
                <summary>{handle.texts().embed.words}</summary>
                {words}
            </details>
        }
        .into_any()
    } else {
        view! { <div class="unseen">{words}</div> }.into_any()
    }
}

/// Caution, and the way out of the frame.
fn foot(handle: Handle, fragment: &str) -> AnyView {
    let EmbedTexts {
        caution, own_tab, ..
    } = handle.texts().embed;
    let page = format!("./#{}", view_of(fragment));
    view! {
        <footer class="frame-foot">
            <span>{caution}</span>
            <a href=page target="_blank" rel="noopener">
                {own_tab}
            </a>
        </footer>
    }
    .into_any()
}
