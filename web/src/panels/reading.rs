//! The scene in words: one paragraph and one table, always from the same values as the pixels.

use crate::desk::Handle;
use app::Action;
use app::views::StructureView;
use leptos::prelude::*;

/// Description and section table.
#[component]
pub(crate) fn Reading(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let panels = texts.panels;
    let words = handle.panel(|panels| &panels.words);
    let reason = {
        let plane = handle.panel(|panels| &panels.plane);
        Memo::new(move |_| plane.with(|plane| plane.reason.clone()))
    };
    let mark = {
        let sides = handle.panel(|panels| &panels.sides);
        Memo::new(move |_| sides.with(|sides| sides.notch.clone()))
    };
    let structures = handle.panel(|panels| &panels.structures);
    let note = Memo::new(move |_| structures.with(|table| table.axis_note.clone()));
    let rows = Memo::new(move |_| structures.with(|table| table.rows.clone()));
    view! {
        <section class="reading" aria-label=panels.describe tabindex="0">
            <div>
                <h2>{panels.describe}</h2>
                <p id="description">{move || words.get().text()}</p>
                <p class="note">{move || reason.get()} " " {move || mark.get()} " " {move || note.get()}</p>
            </div>
            <table id="section-table">
                <caption>{panels.structures}</caption>
                <thead>
                    <tr>
                        <th scope="col">{panels.column_structure}</th>
                        <th scope="col">{panels.column_axis}</th>
                        <th scope="col">{panels.column_place}</th>
                        <th scope="col" class="number">
                            {panels.column_depth}
                        </th>
                    </tr>
                </thead>
                <tbody>
                    <For each=move || rows.get() key=row_key let:row>
                        <Row handle row />
                    </For>
                </tbody>
            </table>
        </section>
    }
}

/// A row is written anew when anything in it differs.
fn row_key(row: &StructureView) -> String {
    let StructureView {
        id,
        segment,
        axis,
        across,
        depth,
        chosen,
        ..
    } = row;
    format!("{id} {segment:?} {axis:?} {across} {depth} {chosen}")
}

#[component]
fn Row(handle: Handle, row: StructureView) -> impl IntoView {
    let StructureView {
        id,
        label,
        segment,
        axis,
        axis_angle,
        across,
        depth,
        chosen,
        ..
    } = row;
    let name = match segment {
        Some(segment) => format!("{label}, {}", segment.to_lowercase()),
        None => label,
    };
    let seen_in = match (axis, axis_angle) {
        (Some(axis), Some(angle)) => format!("{axis}, {angle}"),
        (Some(axis), None) => axis.to_owned(),
        (None, _) => String::new(),
    };
    let wanted = (!chosen).then_some(id);
    view! {
        <tr class:chosen=chosen>
            <th scope="row">
                <button
                    type="button"
                    class="plain-button"
                    aria-pressed=chosen.to_string()
                    on:click=move |_| handle.act(Action::ChooseStructure(wanted.clone()))
                >
                    {name}
                </button>
            </th>
            <td>{seen_in}</td>
            <td>{across}</td>
            <td class="number">{depth}</td>
        </tr>
    }
}
