//! The picture's stage: caption bar, canvas, the names of the four sides.

use super::words;
use crate::desk::Handle;
use crate::stage::size::Watch;
use leptos::html;
use leptos::prelude::*;
use web_sys::PointerEvent;

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
        <section class="stage" aria-labelledby="picture-title">
            <div class="caption">
                <h2 id="picture-title">{texts.panels.picture}</h2>
                <p class="fact soft">{fact}</p>
            </div>
            <div class="view picture-view">{canvas(handle)} {sides}</div>
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
    let press = move |event: PointerEvent| {
        let Some(canvas) = canvas.get_untracked() else {
            return;
        };
        let rect = canvas.get_bounding_client_rect();
        if !event.is_primary() || rect.width() < 1.0 {
            return;
        }
        let ratio = f64::from(canvas.width()) / rect.width();
        let at = [
            (f64::from(event.client_x()) - rect.left()) * ratio - 0.5,
            (f64::from(event.client_y()) - rect.top()) * ratio - 0.5,
        ];
        handle.with(|desk| desk.point_out(at));
    };
    view! {
        <canvas
            node_ref=canvas
            id="picture-canvas"
            role="img"
            aria-label=texts.panels.picture
            aria-describedby="picture-hint description"
            on:pointerup=press
        ></canvas>
        <p class="unseen" id="picture-hint">
            {words::PICTURE_HINT}
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
    view! {
        <p class=read(|side| format!("side {}", side.side.word()))>
            <span class="unseen">{read(|side| format!("{}: ", side.label))}</span>
            <b>{read(|side| side.letters.clone())}</b>
            <span>{read(|side| side.words.clone())}</span>
        </p>
    }
    .into_any()
}
