//! Pictures that learners have to acquire after the questions.

use super::{Workshop, option_menu};
use crate::panels::parts::{self, Button};
use app::teach::{TeachAction, Wanted};
use leptos::prelude::*;

/// The list and how it changes.
pub(super) fn acquire(work: Workshop) -> AnyView {
    let words = work.texts();
    let views = work.value(|view| view.acquire.views.clone());
    let own = work.value(|view| view.acquire.own);
    let trouble = work.value(|view| view.acquire.trouble.clone());
    let any = work.value(|view| {
        view.acquire
            .lists
            .iter()
            .any(|(key, _, chosen)| *chosen && !key.is_empty())
    });
    let rows = move || {
        let own = own.get();
        views
            .get()
            .into_iter()
            .enumerate()
            .map(|(place, view)| row(work, place, view, own))
            .collect::<Vec<AnyView>>()
    };
    let menu = option_menu(
        work,
        "set-acquire",
        words.acquire_list,
        |view| view.acquire.lists.clone(),
        |key| Some(TeachAction::Acquire(Wanted::from_key(key))),
    );
    let add = Button::new(words.acquire_add, move || {
        work.act(TeachAction::AcquireView);
    });
    let body = view! {
        {menu}
        <p class="note" hidden=move || !any.get()>
            {words.acquire_note}
        </p>
        <ol class="wanted-list" id="wanted-list">
            {rows}
        </ol>
        <p class="trouble" hidden=move || trouble.with(String::is_empty)>
            {trouble}
        </p>
        <div class="row" hidden=move || !own.get()>
            {add.view()}
        </div>
    }
    .into_any();
    parts::group("acquire-title", words.acquire, vec![body])
}

fn row(work: Workshop, place: usize, view: String, own: bool) -> AnyView {
    let label = work.texts().remove.replace("{}", &view);
    let remove = own.then(|| {
        Button {
            class: "small",
            ..Button::new("✕", move || work.act(TeachAction::AcquireRemove(place)))
        }
        .named(move || label.clone())
        .view()
    });
    view! {
        <li>
            <span>{view}</span>
            {remove}
        </li>
    }
    .into_any()
}
