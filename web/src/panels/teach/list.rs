//! The list of questions: order by dragging or by buttons, and one line of trouble where there is any.

use super::Workshop;
use crate::panels::parts::{self, Button};
use app::teach::{EntryView, TeachAction};
use leptos::prelude::*;

/// The list under its heading.
pub(super) fn list(work: Workshop) -> AnyView {
    let words = work.texts();
    let entries = work.value(|view| view.entries.clone());
    let dragged = RwSignal::new(None::<usize>);
    let lines = move || {
        let entries = entries.get();
        let last = entries.len().saturating_sub(1);
        entries
            .into_iter()
            .enumerate()
            .map(|(place, entry)| line(work, place, last, entry, dragged))
            .collect::<Vec<AnyView>>()
    };
    let empty = move || entries.with(Vec::is_empty);
    let body = view! {
        <p class="note" hidden=move || !empty()>
            {words.none_yet}
        </p>
        <ol class="questions" id="questions">
            {lines}
        </ol>
        <p class="note" hidden=empty>
            {words.order_hint}
        </p>
    }
    .into_any();
    parts::group("questions-title", words.questions, vec![body])
}

fn line(
    work: Workshop,
    place: usize,
    last: usize,
    entry: EntryView,
    dragged: RwSignal<Option<usize>>,
) -> AnyView {
    let words = work.texts();
    let EntryView {
        id,
        name,
        detail,
        warnings,
        chosen,
    } = entry;
    let step = |sign: &'static str, pattern: &'static str, action: TeachAction, off: bool| {
        let read = pattern.replace("{}", &name);
        Button {
            class: "small",
            disabled: Signal::stored(off),
            ..Button::new(sign, move || work.act(action.clone())).named(move || read.clone())
        }
        .view()
    };
    let buttons = vec![
        step(
            "↑",
            words.up,
            TeachAction::Move {
                from: place,
                to: place.saturating_sub(1),
            },
            place == 0,
        ),
        step(
            "↓",
            words.down,
            TeachAction::Move {
                from: place,
                to: place + 1,
            },
            place == last,
        ),
        step("×2", words.copy, TeachAction::Copy(place), false),
        step("✕", words.remove, TeachAction::Remove(place), false),
    ];
    let wanted = (!chosen).then_some(place);
    let open = Button {
        class: "plain-button",
        pressed: Signal::stored(Some(chosen.to_string())),
        ..Button::new(Signal::stored(name), move || {
            work.act(TeachAction::Choose(wanted));
        })
    };
    let troubles = warnings
        .into_iter()
        .map(|words| view! { <p class="trouble">{words}</p> }.into_any())
        .collect::<Vec<AnyView>>();
    view! {
        <li
            data-id=id
            on:dragover=move |event| {
                if dragged.get_untracked().is_some() {
                    event.prevent_default();
                }
            }
            on:drop=move |event| {
                event.prevent_default();
                if let Some(from) = dragged.get_untracked() {
                    dragged.set(None);
                    work.act(TeachAction::Move { from, to: place });
                }
            }
        >
            <div class="question-line">
                <span
                    class="handle"
                    draggable="true"
                    aria-hidden="true"
                    on:dragstart=move |_| dragged.set(Some(place))
                    on:dragend=move |_| dragged.set(None)
                >
                    "⠿"
                </span>
                <span class="question-name">{open.view()} <span class="soft">{detail}</span></span>
                <span class="row">{buttons}</span>
            </div>
            {troubles}
        </li>
    }
    .into_any()
}
