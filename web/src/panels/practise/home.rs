//! Between rounds: what to practise, how it stands, the record.

use super::{act, read};
use crate::desk::Handle;
use crate::panels::parts::{self, Button, Group, Menu};
use crate::platform::save;
use crate::record::{nonce, now_ms, seed};
use app::practice::Kind;
use app::practise::{HomeView, PractiseAction, Purpose, Source};
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use wasm_bindgen_futures::JsFuture;

pub(super) fn home(handle: Handle) -> AnyView {
    let texts = handle.texts().practise;
    let start = |purpose: Purpose| {
        move || {
            let asked = handle
                .with(|desk| desk.read(|state| state.practise().check_seed()))
                .flatten()
                .flatten()
                .filter(|_| purpose == Purpose::Check);
            act(
                handle,
                PractiseAction::Start {
                    seed: asked.unwrap_or_else(seed),
                    now_ms: now_ms(),
                    purpose,
                },
            );
        }
    };
    let firm = Button {
        class: "firm",
        ..Button::new(texts.start, start(Purpose::Practice))
    };
    let check = Button::new(texts.check, start(Purpose::Check));
    let of = |part: fn(&HomeView) -> String| {
        read(handle, move |view| {
            view.home.as_ref().map(part).unwrap_or_default()
        })
    };
    view! {
        <p>{texts.intro}</p>
        {parts::field("practise-kind", texts.choose_kind, kind_menu(handle))}
        {parts::div("choices", vec![timed(handle)])}
        <p class="row">{firm.view()}</p>
        <p>{of(|home| home.weak.clone())}</p>
        <p>{of(|home| home.next.clone().unwrap_or_default())}</p>
        {standings(handle)}
        {exam(handle)}
        <h3>{texts.check}</h3>
        <p>{texts.check_intro}</p>
        <p class="row">{check.view()}</p>
        <h3>{texts.record}</h3>
        <p>{of(|home| home.record.clone())} " " {texts.record_note}</p>
        {record_tools(handle)}
    }
    .into_any()
}

/// Whether the time that a round takes is shown: nobody is hurried who does not want to be.
fn timed(handle: Handle) -> AnyView {
    let on = read(handle, |view| {
        view.home.as_ref().is_some_and(|home| home.timed)
    });
    let change = Callback::new(move |on| act(handle, PractiseAction::Timed(on)));
    let words = handle.texts().practise.timed.to_owned();
    parts::tick("checkbox", "practise-timed", words, on, change)
}

/// The day of the examination, and what comes up for review before it.
fn exam(handle: Handle) -> AnyView {
    let texts = handle.texts().practise;
    let date = read(handle, |view| {
        let home = view.home.as_ref();
        home.map(|home| home.exam.date.clone()).unwrap_or_default()
    });
    let words = read(handle, |view| {
        let home = view.home.as_ref();
        home.map(|home| home.exam.words.clone()).unwrap_or_default()
    });
    let rows = read(handle, |view| {
        let home = view.home.as_ref();
        home.map(|home| home.exam.rows.clone()).unwrap_or_default()
    });
    let list = move || {
        rows.get()
            .into_iter()
            .map(|(when, what)| {
                view! {
                    <li>
                        <span class="when">{when}</span>
                        <span>{what}</span>
                    </li>
                }
                .into_any()
            })
            .collect::<Vec<AnyView>>()
    };
    let set = move |event: leptos::ev::Event| {
        act(
            handle,
            PractiseAction::SetExam {
                date: event_target_value(&event),
                now_ms: now_ms(),
                nonce: nonce(),
            },
        );
    };
    view! {
        <div class="exam">
            <label for="practise-exam">{texts.exam}</label>
            <input
                type="date"
                id="practise-exam"
                aria-describedby="practise-exam-note"
                prop:value=date
                on:change=set
            />
            <p class="note" id="practise-exam-note">
                {texts.exam_note}
            </p>
            <p role="status">{words}</p>
            <ul class="standings due">{list}</ul>
        </div>
    }
    .into_any()
}

fn kind_menu(handle: Handle) -> AnyView {
    let texts = handle.texts().practise;
    let mut options = vec![(String::new(), texts.all_kinds.to_owned())];
    options.extend(
        Kind::ALL
            .iter()
            .zip(texts.kinds)
            .map(|(kind, name)| (kind.key().to_owned(), name.to_owned())),
    );
    Menu {
        id: "practise-kind",
        class: "",
        name: None,
        groups: Group::fixed(options),
        chosen: read(handle, |view| {
            let only = view.home.as_ref().map(|home| home.only);
            only.unwrap_or_default().to_owned()
        }),
        choose: Callback::new(move |key: String| {
            act(handle, PractiseAction::Only(Kind::from_key(&key)));
        }),
    }
    .view()
}

/// How each kind stands: what was right of the last tries, no measure of anybody.
fn standings(handle: Handle) -> AnyView {
    let rows = read(handle, |view| {
        view.home
            .as_ref()
            .map(|home| home.kinds.clone())
            .unwrap_or_default()
    });
    let list = move || {
        rows.get()
            .into_iter()
            .map(|row| {
                view! {
                    <li data-kind=row.key>
                        <span>{row.name}</span>
                        <span class="soft">{row.standing}</span>
                    </li>
                }
                .into_any()
            })
            .collect::<Vec<AnyView>>()
    };
    view! { <ul class="standings">{list}</ul> }.into_any()
}

fn record_tools(handle: Handle) -> AnyView {
    let texts = handle.texts().practise;
    let keep = Button::new(texts.save_record, move || {
        let text = handle.with(|desk| desk.read(|state| state.practise().record_text().1));
        if let Some(Some(text)) = text {
            save::give("planeward-record.json", "application/json", text.as_bytes());
        }
    });
    let erase = Button::new(texts.erase, move || act(handle, PractiseAction::Erase));
    let load = move |event: leptos::ev::Event| {
        let input: web_sys::HtmlInputElement = event_target(&event);
        let Some(file) = input.files().and_then(|files| files.get(0)) else {
            return;
        };
        input.set_value("");
        wasm_bindgen_futures::spawn_local(async move {
            let blob: &web_sys::Blob = file.unchecked_ref();
            let text = JsFuture::from(blob.text()).await.ok();
            let text = text.and_then(|text| text.as_string()).unwrap_or_default();
            act(handle, PractiseAction::RecordCame(Some(text), Source::File));
        });
    };
    view! {
        <p class="row">{keep.view()} {erase.view()}</p>
        <div class="load">
            <label for="practise-load">{texts.load_record}</label>
            <input type="file" id="practise-load" accept=".json,application/json" on:change=load />
        </div>
    }
    .into_any()
}
