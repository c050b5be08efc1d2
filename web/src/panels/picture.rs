//! The picture's stage: caption bar, canvas, the names of the four sides.

use super::practise::which;
use super::{acquire, why};
use crate::desk::Handle;
use crate::stage::size::Watch;
use app::why::Ask;
use app::{Action, Step};
use leptos::html;
use leptos::prelude::*;
use web_sys::{KeyboardEvent, PointerEvent};

/// The picture with its caption bar.
pub(crate) fn picture_stage(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let fact = Signal::derive(move || {
        panels.with(|panels| {
            let chosen = panels
                .display
                .transducer
                .items
                .iter()
                .find(|item| item.chosen);
            let transducer = chosen.map(|item| item.label.as_str()).unwrap_or_default();
            format!("{transducer}, {}", panels.depth.text)
        })
    });
    let sides = (0..4)
        .map(|place| side_view(handle, place))
        .collect::<Vec<AnyView>>();
    view! {
        <section class="stage picture-stage" aria-labelledby="picture-title">
            <div class="caption">
                <h2 id="picture-title">{texts.panels.picture}</h2>
                {which(handle)}
                <p class="fact picture-fact soft">{fact}</p>
                {acquire::freeze_and_acquire(handle)}
            </div>
            <div class="view picture-view">
                {canvas(handle)} {sides} {cursor(handle)} {acquire::frozen_sign(handle)}
            </div>
        </section>
    }
    .into_any()
}

fn canvas(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let canvas = NodeRef::<html::Canvas>::new();
    let watch = StoredValue::new_local(None::<Watch>);
    Effect::new(move |_| {
        let Some(canvas) = canvas.get() else { return };
        handle.with(|desk| desk.attach_picture(canvas.clone()));
        watch.set_value(Watch::new(&canvas, move |size| {
            handle.with(|desk| desk.picture_resized(size));
        }));
    });
    let place = move |event: &PointerEvent| {
        let canvas = canvas.get_untracked()?;
        let rect = canvas.get_bounding_client_rect();
        if !event.is_primary() || rect.width() < 1.0 {
            return None;
        }
        let ratio = f64::from(canvas.width()) / rect.width();
        Some([
            (f64::from(event.client_x()) - rect.left()) * ratio - 0.5,
            (f64::from(event.client_y()) - rect.top()) * ratio - 0.5,
        ])
    };
    let press = move |event: PointerEvent| {
        if let Some(at) = place(&event) {
            handle.with(|desk| {
                desk.hover(Some(at));
                desk.point_out(at);
            });
        }
    };
    let moved = move |event: PointerEvent| {
        if let Some(at) = place(&event) {
            handle.with(|desk| desk.hover(Some(at)));
        }
    };
    let left = move |event: PointerEvent| {
        // A finger that is lifted leaves the name on show; a mouse takes it along.
        if event.pointer_type() == "mouse" {
            handle.with(|desk| desk.hover(None));
        }
    };
    view! {
        <canvas
            node_ref=canvas
            id="picture-canvas"
            tabindex="0"
            role="img"
            aria-label=texts.panels.picture
            aria-describedby="picture-hint picture-keys description"
            on:pointerup=press
            on:pointermove=moved
            on:pointerleave=left
            on:keydown=move |event| key_down(handle, &event)
        ></canvas>
        <p class="unseen" id="picture-hint">
            {texts.page.picture_hint}
        </p>
        <p class="unseen" id="side-hint">
            {texts.why.ask_side}
        </p>
        <p class="unseen" id="picture-keys">
            {texts.cursor.hint}
        </p>
    }
    .into_any()
}

fn key_down(handle: Handle, event: &KeyboardEvent) {
    if event.ctrl_key() || event.meta_key() {
        return;
    }
    let step = match (event.shift_key(), event.alt_key()) {
        (true, _) => Step::Coarse,
        (false, true) => Step::Fine,
        (false, false) => Step::Usual,
    };
    let by = match event.key().as_str() {
        "ArrowLeft" => [-1.0, 0.0],
        "ArrowRight" => [1.0, 0.0],
        "ArrowUp" => [0.0, -1.0],
        "ArrowDown" => [0.0, 1.0],
        "Enter" | " " => {
            event.prevent_default();
            handle.with(crate::desk::Desk::choose_under_cursor);
            return;
        }
        "Escape" => {
            handle.act(Action::PointAt(None));
            return;
        }
        _ => return,
    };
    // Alt with the left and right arrows is the browser's, to go back and forward.
    if event.alt_key() && by[0] != 0.0 {
        return;
    }
    event.prevent_default();
    handle.act(Action::MoveCursor(by, step));
}

/// The name of what is pointed at, beside the place; the live region says it when keys moved there.
fn cursor(handle: Handle) -> AnyView {
    let shown = handle.shown().cursor;
    let read = move |part: fn(&app::views::CursorView) -> String| {
        Signal::derive(move || shown.with(|cursor| cursor.as_ref().map(part).unwrap_or_default()))
    };
    let name = read(|cursor| cursor.name.clone());
    let facts = read(|cursor| cursor.facts.clone());
    let class = Signal::derive(move || {
        shown.with(|cursor| match cursor {
            Some(cursor) if cursor.by_keys => "cross",
            Some(_) => "cross bare",
            None => "cross away",
        })
    });
    view! {
        <div class=class id="picture-cross" aria-hidden="true"></div>
        <p class="under" id="under-cursor" aria-hidden="true">
            <b>{name}</b>
            <span>{facts}</span>
        </p>
    }
    .into_any()
}

/// The letters at one side, the words beneath.
fn side_view(handle: Handle, place: usize) -> AnyView {
    let panels = handle.shown().panels;
    let read = move |part: fn(&app::views::SideView) -> String| {
        Signal::derive(move || {
            panels.with(|panels| panels.sides.sides.get(place).map(part).unwrap_or_default())
        })
    };
    let ask = move |_| {
        let side =
            panels.with_untracked(|panels| panels.sides.sides.get(place).map(|side| side.side));
        if let Some(side) = side {
            why::ask(handle, Ask::Side(side));
        }
    };
    view! {
        <p class=read(|side| format!("side {}", side.side.word()))>
            <button type="button" aria-describedby="side-hint" on:click=ask>
                <span class="unseen">{read(|side| format!("{}: ", side.label))}</span>
                <b>{read(|side| side.letters.clone())}</b>
                <span>{read(|side| side.words.clone())}</span>
            </button>
        </p>
    }
    .into_any()
}
