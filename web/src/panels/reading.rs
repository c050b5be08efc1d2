//! The scene in words: one paragraph and one table, always from the same values as the pixels.

use super::parts::Button;
use super::why;
use crate::desk::Handle;
use app::Action;
use app::views::{Panels, StructureView};
use app::why::Ask;
use leptos::prelude::*;

/// Description and section table.
pub(crate) fn reading(handle: Handle) -> AnyView {
    let texts = handle.texts().panels;
    let panels = handle.shown().panels;
    let description = Signal::derive(move || panels.with(|panels| panels.words.text()));
    let notes = Signal::derive(move || panels.with(notes));
    let rows = Memo::new(move |_| panels.with(|panels| panels.structures.rows.clone()));
    let list = move || {
        rows.get()
            .into_iter()
            .map(|row| row_view(handle, row))
            .collect::<Vec<AnyView>>()
    };
    let heading = |words: &'static str, class: &'static str| {
        view! {
            <th scope="col" class=class>
                {words}
            </th>
        }
        .into_any()
    };
    let headings = vec![
        heading(texts.column_structure, ""),
        heading(texts.column_axis, ""),
        heading(texts.column_place, ""),
        heading(texts.column_depth, "number"),
    ];
    view! {
        <section class="reading" aria-label=texts.describe tabindex="0">
            <div>
                <h2>{texts.describe}</h2>
                <p id="description">{description}</p>
                <p class="note">{notes}</p>
            </div>
            <table id="section-table">
                <caption>{texts.structures}</caption>
                <thead>
                    <tr>{headings}</tr>
                </thead>
                <tbody>{list}</tbody>
            </table>
        </section>
    }
    .into_any()
}

/// Why the plane has its name, where the mark is, and plane and axis told apart.
fn notes(panels: &Panels) -> String {
    let mut text = format!("{} {}", panels.plane.reason, panels.sides.notch);
    if let Some(note) = &panels.structures.axis_note {
        text.push(' ');
        text.push_str(note);
    }
    text
}

fn row_view(handle: Handle, row: StructureView) -> AnyView {
    let StructureView {
        id,
        name,
        axis,
        axis_angle,
        ask: asked_as,
        across,
        depth,
        chosen,
        ..
    } = row;
    let seen_in = match (axis, axis_angle) {
        (Some(axis), Some(angle)) => format!("{axis}, {angle}"),
        (Some(axis), None) => axis.to_owned(),
        (None, _) => String::new(),
    };
    let asked = Ask::Axis(id.clone());
    let seen_in_view = if seen_in.is_empty() {
        String::new().into_any()
    } else {
        Button {
            class: "plain-button asks",
            ..Button::new(Signal::stored(seen_in), move || {
                why::ask(handle, asked.clone());
            })
        }
        .named(move || asked_as.clone())
        .view()
    };
    let wanted = (!chosen).then_some(id);
    let button = Button {
        class: "plain-button",
        pressed: Signal::stored(Some(chosen.to_string())),
        ..Button::new(Signal::stored(name), move || {
            handle.act(Action::ChooseStructure(wanted.clone()));
        })
    };
    view! {
        <tr>
            <th scope="row">{button.view()}</th>
            <td>{seen_in_view}</td>
            <td>{across}</td>
            <td class="number">{depth}</td>
        </tr>
    }
    .into_any()
}
