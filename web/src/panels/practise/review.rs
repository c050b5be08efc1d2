//! After a round: every question with its answer, to be reopened, printed or saved.

use super::act;
use crate::desk::Handle;
use crate::panels::parts::{Button, div, paragraph};
use crate::platform::save;
use app::practise::{CardView, PractiseAction, ReviewRow};
use leptos::prelude::*;

pub(super) fn review(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let built = panels.with_untracked(|panels| panels.practise.review.clone());
    let Some(built) = built else {
        return ().into_any();
    };
    let texts = handle.texts().practise;
    let text = StoredValue::new(built.text);
    let print = Button::new(texts.print, || {
        if let Some(window) = web_sys::window() {
            let _ = window.print();
        }
    });
    let file = StoredValue::new(built.file);
    let label_of_save = if built.card.is_some() {
        texts.save_card
    } else {
        texts.save
    };
    let keep = Button::new(label_of_save, move || {
        let name = file.get_value();
        text.with_value(|text| {
            save::give(&name, "text/plain;charset=utf-8", text.as_bytes());
        });
    });
    let result = built.result.is_some().then(|| {
        let keep = Button {
            class: "firm",
            ..Button::new(texts.save_result, move || {
                // What is typed as a label changes the file while the page stands.
                let file = panels.with_untracked(|panels| panels.practise.review.clone());
                if let Some((name, text)) = file.and_then(|review| review.result) {
                    save::give(&name, "application/json", text.as_bytes());
                }
            })
        };
        keep.view()
    });
    let label = built.label.map(|words| {
        view! {
            <p class="row">
                <label for="set-label">{words}</label>
                <input
                    id="set-label"
                    type="text"
                    maxlength="100"
                    autocomplete="off"
                    on:input=move |event| {
                        act(handle, PractiseAction::Label(event_target_value(&event)));
                    }
                />
            </p>
        }
        .into_any()
    });
    let of_a_set = result.is_some();
    let again = Button {
        class: "firm",
        ..Button::new(texts.again, move || act(handle, PractiseAction::Stop))
    };
    // The round of a set is all that its page has.
    let first = result.unwrap_or_else(|| again.view());
    let rows = built
        .rows
        .into_iter()
        .enumerate()
        .map(|(number, row)| row_view(handle, number, row, of_a_set))
        .collect::<Vec<AnyView>>();
    let total = built
        .card
        .is_none()
        .then(|| paragraph("total", built.total));
    let card = built.card.map(card_view);
    view! {
        {total}
        {card}
        {label}
        <p>{built.weak}</p>
        <p>{built.next.unwrap_or_default()}</p>
        {div("row tools-row", vec![first, print.view(), keep.view()])}
        <ol class="review-list">{rows}</ol>
    }
    .into_any()
}

/// Day, set, seed and marks, and what came out question by question.
fn card_view(card: CardView) -> AnyView {
    let facts = card
        .facts
        .into_iter()
        .map(|(name, value)| {
            view! {
                <div>
                    <dt>{name}</dt>
                    <dd>{value}</dd>
                </div>
            }
            .into_any()
        })
        .collect::<Vec<AnyView>>();
    let questions = card
        .questions
        .into_iter()
        .map(|[title, verdict, marks]| {
            view! {
                <li>
                    <span>{title}</span>
                    <b>{verdict}</b>
                    <span class="soft">{marks}</span>
                </li>
            }
            .into_any()
        })
        .collect::<Vec<AnyView>>();
    view! {
        <div class="result-card">
            <dl>{facts}</dl>
            <ul>{questions}</ul>
            <p class="note">{card.note}</p>
        </div>
    }
    .into_any()
}

fn row_view(handle: Handle, number: usize, row: ReviewRow, of_a_set: bool) -> AnyView {
    let texts = handle.texts().practise;
    let lines = row
        .lines
        .into_iter()
        .map(|line| paragraph("", line))
        .collect::<Vec<AnyView>>();
    let title = row.title.clone();
    let open = (!of_a_set).then(|| {
        Button::new(texts.open_in_scan, move || {
            act(handle, PractiseAction::Reopen(number));
        })
        .named(move || format!("{}: {title}", texts.open_in_scan))
        .view()
    });
    view! {
        <li data-verdict=row.key>
            <h3>{row.title} ": " {row.verdict} " " <span class="soft">{row.marks}</span></h3>
            {lines}
            {open}
        </li>
    }
    .into_any()
}
