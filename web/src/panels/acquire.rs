//! Freeze and acquire beside the picture, the strip of acquired pictures, the requested list, and what has to be told.

use super::annotation::annotation;
use super::parts::{self, Button, Group, Menu};
use crate::desk::{Desk, Handle};
use crate::examination::{self, UNDRAWN};
use app::views::{CardView, ExamineView, NoteView};
use app::{Action, Examine};
use leptos::prelude::*;

/// Something of the examination's view.
pub(crate) fn read<T: Send + Sync + 'static>(
    handle: Handle,
    pick: impl Fn(&ExamineView) -> T + Send + Sync + 'static,
) -> Signal<T> {
    let panels = handle.shown().panels;
    Signal::derive(move || panels.with(|panels| pick(&panels.examine)))
}

/// Lets something happen to the examination.
pub(crate) fn act(handle: Handle, what: Examine) {
    handle.act(Action::Examine(what));
}

/// Acquires the picture at this moment.
pub(crate) fn acquire_now(handle: Handle) {
    act(handle, Examine::Acquire(examination::now()));
}

/// The two buttons of the picture's caption bar.
pub(crate) fn freeze_and_acquire(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let empty = read(handle, |view| !view.has_picture);
    let freeze = Button {
        disabled: empty,
        ..Button::new(read(handle, |view| view.freeze.to_owned()), move || {
            act(handle, Examine::SwitchFreeze);
        })
    };
    let acquire = Button {
        disabled: empty,
        class: "firm",
        ..Button::new(texts.acquire, move || acquire_now(handle))
    };
    parts::div("row", vec![freeze.view(), acquire.view()])
}

/// Says over the picture that it is frozen.
pub(crate) fn frozen_sign(handle: Handle) -> AnyView {
    let words = handle.texts().examine.frozen;
    let hidden = read(handle, |view| !view.frozen);
    view! {
        <p class="frozen" hidden=hidden>
            {words}
        </p>
    }
    .into_any()
}

/// The bar beneath the stages.
pub(crate) fn examine_bar(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let finish = Button::new(texts.finish_open, move || {
        act(handle, Examine::OpenFinish);
    });
    view! {
        <section class="examine" aria-label=texts.title>
            {annotation(handle, finish.view())} {strip(handle)}
        </section>
    }
    .into_any()
}

/// The acquired pictures.
pub(crate) fn strip(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let cards = read(handle, |view| view.cards.clone());
    let empty = Signal::derive(move || cards.with(Vec::is_empty));
    let keys = move || {
        cards.with(|cards| {
            cards
                .iter()
                .map(|card| (card.number, card.drawable))
                .collect::<Vec<_>>()
        })
    };
    view! {
        <p class="note" id="strip-empty" class:unseen=move || !empty.get()>
            {texts.strip_empty}
        </p>
        <ol class="strip" aria-label=texts.strip hidden=move || empty.get()>
            <For
                each=keys
                key=|key| *key
                children=move |(number, drawable)| card_view(handle, cards, number, drawable)
            />
        </ol>
    }
    .into_any()
}

fn card_view(handle: Handle, cards: Signal<Vec<CardView>>, number: u32, drawable: bool) -> AnyView {
    let of = move |pick: fn(&CardView) -> String| {
        Signal::derive(move || {
            cards.with(|cards| {
                let card = cards.iter().find(|card| card.number == number);
                card.map(pick).unwrap_or_default()
            })
        })
    };
    let verdict = of(|card| card.verdict.unwrap_or_default().to_owned());
    let class = of(|card| match card.all_right {
        Some(true) => "verdict right".to_owned(),
        Some(false) => "verdict wrong".to_owned(),
        None => "verdict".to_owned(),
    });
    view! {
        <li>
            <button
                type="button"
                class="card"
                id=format!("card-{number}")
                on:click=move |_| act(handle, Examine::Review(number))
            >
                {small_picture(handle, number, drawable)}
                <span class="card-words">
                    <span class="unseen">{of(|card| format!("{}: ", card.title))}</span>
                    <b>{of(|card| format!("{}. {}", card.number, card.annotation))}</b>
                    <span>{of(|card| card.plane.to_owned())}</span>
                    <span>{of(|card| card.time.clone())}</span>
                    <span class=class>{verdict}</span>
                </span>
            </button>
        </li>
    }
    .into_any()
}

fn small_picture(handle: Handle, number: u32, drawable: bool) -> AnyView {
    let canvas = NodeRef::<leptos::html::Canvas>::new();
    Effect::new(move |_| {
        if let Some(canvas) = canvas.get()
            && drawable
        {
            let _ = canvas.set_attribute(UNDRAWN, &number.to_string());
            // The frame that brought the card may be over before it stands in the page.
            handle.with(Desk::wake);
        }
    });
    view! { <canvas node_ref=canvas aria-hidden="true"></canvas> }.into_any()
}

/// The requested list: which views are there, and what the others lack.
pub(crate) fn requested(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let lists = read(handle, |view| view.lists.clone());
    let groups = Memo::new(move |_| {
        let options = lists.with(|lists| {
            lists
                .iter()
                .map(|list| (list.key.clone(), list.label.to_owned()))
                .collect()
        });
        vec![Group::plain(options)]
    });
    let chosen = Signal::derive(move || {
        lists.with(|lists| {
            let chosen = lists.iter().find(|list| list.chosen);
            chosen.map(|list| list.key.clone()).unwrap_or_default()
        })
    });
    let choose = Callback::new(move |key: String| {
        act(handle, Examine::Request((!key.is_empty()).then_some(key)));
    });
    let menu = Menu {
        id: "requested",
        class: "",
        name: None,
        groups,
        chosen,
        choose,
    };
    parts::group(
        "requested-title",
        texts.title,
        vec![
            parts::field("requested", texts.request, menu.view()),
            summary(handle),
            request_rows(handle),
            asides(handle),
        ],
    )
}

/// Kept work that could not be read: each text can be saved, and then thrown away.
fn asides(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let all = read(handle, |view| view.asides.clone());
    let row = move |aside: app::views::AsideView| {
        let (name, gone) = (aside.name.clone(), aside.name);
        let save = Button::new(texts.save_aside, move || {
            act(handle, Examine::SaveAside(name.clone()));
        });
        let away = Button::new(texts.throw_away, move || {
            handle.with(|desk| examination::throw_away(desk, &gone));
        });
        let away = aside.saved.then(|| away.view());
        view! {
            <li>
                <span>{aside.label}</span>
                <span class="row">{save.view()} {away}</span>
            </li>
        }
        .into_any()
    };
    let rows = move || all.get().into_iter().map(row).collect::<Vec<AnyView>>();
    view! {
        <div class="asides" hidden=move || all.with(Vec::is_empty)>
            <p class="label">{texts.aside_title}</p>
            <ul>{rows}</ul>
        </div>
    }
    .into_any()
}

/// The list's views, as a list.
pub(crate) fn request_rows(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let request = Memo::new(move |_| panels.with(|panels| panels.examine.request.clone()));
    let rows = move || {
        let rows = request
            .get()
            .map(|request| request.rows)
            .unwrap_or_default();
        let one = |row: app::views::RequestRow| {
            let class = if row.covered.is_some() {
                "there"
            } else {
                "missing"
            };
            view! {
                <li class=class>
                    <span>{row.label}</span>
                    <b>{row.state}</b>
                    <span class="note">{row.nearest}</span>
                </li>
            }
            .into_any()
        };
        rows.into_iter().map(one).collect::<Vec<AnyView>>()
    };
    view! { <ul class="requested">{rows}</ul> }.into_any()
}

/// How much of the list is there.
fn summary(handle: Handle) -> AnyView {
    let words = read(handle, |view| {
        let request = view.request.as_ref();
        request.map_or_else(String::new, |request| request.summary.clone())
    });
    parts::paragraph("label", words)
}

/// What has to be told, each sentence with what can be done about it.
pub(crate) fn notes(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let all = Memo::new(move |_| panels.with(|panels| panels.examine.notes.clone()));
    let one = move |note: NoteView| {
        let buttons = note
            .offers
            .into_iter()
            .map(|offer| {
                let action = offer.action;
                Button::new(offer.label, move || handle.act(action.clone())).view()
            })
            .collect::<Vec<AnyView>>();
        let class = if note.grave { "notice bad" } else { "notice" };
        view! {
            <div class=class>
                <p>{note.text}</p>
                <div class="row">{buttons}</div>
            </div>
        }
        .into_any()
    };
    let list = move || all.get().into_iter().map(one).collect::<Vec<AnyView>>();
    view! {
        <div role="status" class="messages" id="examine-notes">
            {list}
        </div>
    }
    .into_any()
}

/// Runs a job that gives a file to the reader.
pub(crate) fn save<F: Future<Output = ()> + 'static>(handle: Handle, job: impl FnOnce(Desk) -> F) {
    if let Some(desk) = handle.with(Desk::clone) {
        wasm_bindgen_futures::spawn_local(job(desk));
    }
}
