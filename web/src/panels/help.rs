//! The keyboard help, a modal dialog.

use super::parts::Button;
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

fn close() {
    if let Some(dialog) = dialog() {
        dialog.close();
    }
}

/// The dialog itself.
pub(crate) fn help(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let row = |line: keys::KeyHelp| {
        view! {
            <tr>
                <td>
                    <kbd>{line.keys}</kbd>
                </td>
                <td>{line.words}</td>
            </tr>
        }
        .into_any()
    };
    let rows = keys::help(texts)
        .into_iter()
        .map(row)
        .collect::<Vec<AnyView>>();
    let button = Button {
        class: "firm",
        ..Button::new(texts.panels.close, close)
    };
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
            {button.view()}
        </dialog>
    }
    .into_any()
}
