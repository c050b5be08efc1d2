//! The keyboard help, a modal dialog.

use crate::desk::Handle;
use app::keys;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::HtmlDialogElement;

const ID: &str = "keys-help";

fn dialog() -> Option<HtmlDialogElement> {
    web_sys::window()?
        .document()?
        .get_element_by_id(ID)?
        .dyn_into()
        .ok()
}

/// Opens the dialog; the browser gives the focus back when it closes.
pub(crate) fn open() {
    if let Some(dialog) = dialog() {
        let _ = dialog.show_modal();
    }
}

/// The dialog itself.
#[component]
pub(crate) fn Help(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let rows = keys::help(&texts)
        .into_iter()
        .map(|line| {
            view! {
                <tr>
                    <td>
                        <kbd>{line.keys}</kbd>
                    </td>
                    <td>{line.words}</td>
                </tr>
            }
        })
        .collect_view();
    view! {
        <dialog class="help" id=ID aria-labelledby="keys-title">
            <h2 id="keys-title" tabindex="-1" autofocus>
                {texts.panels.keyboard}
            </h2>
            <p>{texts.panels.body_view_hint}</p>
            <p class="soft">{texts.keys.steps_note}</p>
            <table>
                <tbody>{rows}</tbody>
            </table>
            <button
                type="button"
                class="firm"
                on:click=move |_| {
                    if let Some(dialog) = dialog() {
                        dialog.close();
                    }
                }
            >
                {texts.panels.close}
            </button>
        </dialog>
    }
}
