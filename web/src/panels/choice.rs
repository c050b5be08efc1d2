//! A menu or a row of radio buttons for one choice of the application.

use crate::desk::Handle;
use app::views::Choice;
use leptos::prelude::*;

fn take(handle: Handle, choice: Memo<Choice>, key: &str) {
    let action = choice.with_untracked(|choice| {
        choice
            .items
            .iter()
            .find(|item| item.key == key)
            .map(|item| item.action.clone())
    });
    if let Some(action) = action {
        handle.act(action);
    }
}

/// A choice as a drop-down menu.
#[component]
pub(crate) fn Menu(handle: Handle, id: &'static str, choice: Memo<Choice>) -> impl IntoView {
    view! {
        <div class="field">
            <label for=id>{choice.get_untracked().label}</label>
            <select id=id on:change=move |event| take(handle, choice, &event_target_value(&event))>
                {move || {
                    choice
                        .get()
                        .items
                        .into_iter()
                        .map(|item| {
                            view! {
                                <option value=item.key prop:selected=item.chosen>
                                    {item.label}
                                </option>
                            }
                        })
                        .collect_view()
                }}
            </select>
        </div>
    }
}

/// A choice of few as radio buttons.
#[component]
pub(crate) fn Radios(handle: Handle, name: &'static str, choice: Memo<Choice>) -> impl IntoView {
    // The items themselves never change, only which is chosen.
    let Choice { label, items } = choice.get_untracked();
    let buttons = items
        .into_iter()
        .map(|item| {
            let (key, wanted) = (item.key.clone(), item.key.clone());
            let chosen = move || {
                choice.with(|choice| {
                    choice
                        .items
                        .iter()
                        .any(|item| item.key == key && item.chosen)
                })
            };
            view! {
                <label>
                    <input
                        type="radio"
                        name=name
                        value=item.key
                        prop:checked=chosen
                        on:change=move |_| take(handle, choice, &wanted)
                    />
                    {item.label}
                </label>
            }
        })
        .collect_view();
    view! {
        <fieldset class="radios">
            <legend>{label}</legend>
            <div class="choices">{buttons}</div>
        </fieldset>
    }
}
