//! The annotation line: a text field with words offered beneath it (the combobox pattern of WAI-ARIA 1.2), and the
//! verdict, token by token.

use super::acquire::{act, read};
use super::parts::{self, Button};
use crate::desk::Handle;
use app::action::Way;
use app::views::{OfferView, VerdictRow, VerdictView};
use app::{Action, Examine};
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::{HtmlInputElement, KeyboardEvent};

const LINE: &str = "annotation-line";

/// Longest line that is kept, characters.
const LONGEST: &str = "200";

/// Moves the focus to the line.
pub(crate) fn focus() {
    let line = web_sys::window()
        .and_then(|window| window.document()?.get_element_by_id(LINE))
        .and_then(|found| found.dyn_into::<HtmlInputElement>().ok());
    if let Some(line) = line {
        let _ = line.focus();
        line.select();
    }
}

/// Line, check, verdict; `last` stands at the end of the line.
pub(crate) fn annotation(handle: Handle, last: AnyView) -> AnyView {
    let texts = handle.texts().examine;
    let check = Button::new(texts.check, move || act(handle, Examine::Check));
    view! {
        <div class="annotation">
            <label for=LINE>{texts.annotation}</label>
            {combobox(handle)}
            {check.view()}
            {last}
        </div>
        {verdict_panel(handle)}
    }
    .into_any()
}

fn combobox(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let panels = handle.shown().panels;
    let line = read(handle, |view| view.line.clone());
    let offers = Memo::new(move |_| panels.with(|panels| panels.examine.offers.clone()));
    let open = Signal::derive(move || !offers.with(Vec::is_empty));
    let expanded = Signal::derive(move || open.get().to_string());
    let active = Signal::derive(move || {
        let chosen = offers.with(|offers| offers.iter().position(|offer| offer.chosen));
        chosen.map(|place| format!("offer-{place}"))
    });
    let list = move || {
        offers
            .get()
            .into_iter()
            .enumerate()
            .map(|(place, offer)| offer_view(handle, place, offer))
            .collect::<Vec<AnyView>>()
    };
    view! {
        <div class="combo">
            <input
                type="text"
                id=LINE
                role="combobox"
                aria-autocomplete="list"
                aria-controls="offers"
                aria-expanded=expanded
                aria-activedescendant=active
                aria-describedby="annotation-hint"
                autocomplete="off"
                autocapitalize="characters"
                spellcheck="false"
                maxlength=LONGEST
                prop:value=line
                on:input=move |event| act(handle, Examine::Write(event_target_value(&event)))
                on:keydown=move |event| key_down(handle, &event, open, active)
                on:blur=move |_| act(handle, Examine::CloseOffers)
            />
            <ul id="offers" role="listbox" aria-label=texts.offers hidden=move || !open.get()>
                {list}
            </ul>
            <p class="unseen" id="annotation-hint">
                {texts.annotation_hint}
            </p>
        </div>
    }
    .into_any()
}

fn offer_view(handle: Handle, place: usize, offer: OfferView) -> AnyView {
    let chosen = offer.chosen.to_string();
    let name = offer.name.map(|name| format!(" {}", name.to_lowercase()));
    view! {
        <li
            id=format!("offer-{place}")
            role="option"
            aria-selected=chosen
            // The line keeps the focus.
            on:pointerdown=|event| event.prevent_default()
            on:click=move |_| act(handle, Examine::TakeOffer(Some(place)))
        >
            <b>{offer.mark}</b>
            <span>{name}</span>
            <span class="claims">{offer.claims}</span>
        </li>
    }
    .into_any()
}

fn key_down(
    handle: Handle,
    event: &KeyboardEvent,
    open: Signal<bool>,
    active: Signal<Option<String>>,
) {
    let what = match event.key().as_str() {
        "ArrowDown" => Examine::OfferStep(Way::Forward),
        "ArrowUp" => Examine::OfferStep(Way::Back),
        // While a word is being composed, Enter belongs to the keyboard.
        "Enter" if event.is_composing() => return,
        "Enter" if active.with_untracked(Option::is_some) => Examine::TakeOffer(None),
        "Enter" => Examine::Check,
        "Escape" if open.get_untracked() => Examine::CloseOffers,
        _ => return,
    };
    event.prevent_default();
    act(handle, what);
}

/// The verdict about the line.
fn verdict_panel(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let verdict = Memo::new(move |_| panels.with(|panels| panels.examine.verdict.clone()));
    let inside = move || verdict.get().map(|verdict| verdict_view(handle, verdict));
    view! {
        <div id="verdict" role="status">
            {inside}
        </div>
    }
    .into_any()
}

/// A verdict: how it came out, and token by token why.
pub(crate) fn verdict_view(handle: Handle, verdict: VerdictView) -> AnyView {
    let class = if verdict.all_right {
        "label verdict right"
    } else {
        "label verdict"
    };
    let rows = verdict
        .rows
        .into_iter()
        .map(|row| row_view(handle, row))
        .collect::<Vec<AnyView>>();
    parts::div(
        "verdict-box",
        vec![
            parts::paragraph(class, Signal::stored(verdict.summary)),
            view! { <ul class="findings">{rows}</ul> }.into_any(),
        ],
    )
}

fn row_view(handle: Handle, row: VerdictRow) -> AnyView {
    let choices = row
        .choices
        .into_iter()
        .map(|(label, action): (String, Action)| {
            Button::new(Signal::stored(label), move || handle.act(action.clone())).view()
        })
        .collect::<Vec<AnyView>>();
    let word = row.word.map(|word| format!("{word}: "));
    view! {
        <li class=row.kind.key()>
            <b>{row.kind_words}</b>
            <span>
                <strong>{word}</strong>
                {row.sentence}
            </span>
            {parts::div("choices", choices)}
        </li>
    }
    .into_any()
}
