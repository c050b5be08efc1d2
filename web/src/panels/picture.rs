//! The picture's stage: caption bar, canvas, the names of the four sides.

use super::words;
use crate::desk::Handle;
use crate::stage::size::Watch;
use leptos::html;
use leptos::prelude::*;
use web_sys::PointerEvent;

/// The picture with its caption bar.
#[component]
pub(crate) fn PictureStage(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let depth = handle.panel(|panels| &panels.depth);
    let display = handle.panel(|panels| &panels.display);
    let fact = move || {
        let transducer = display.with(|display| {
            let chosen = display.transducer.items.iter().find(|item| item.chosen);
            chosen.map(|item| item.label.clone()).unwrap_or_default()
        });
        format!("{transducer}, {}", depth.get().text)
    };
    view! {
        <section class="stage" aria-labelledby="picture-title">
            <div class="caption">
                <h2 id="picture-title">{texts.panels.picture}</h2>
                <p class="fact soft">{fact}</p>
            </div>
            <div class="view picture-view">
                <PictureCanvas handle />
                <SideNames handle />
            </div>
        </section>
    }
}

#[component]
fn PictureCanvas(handle: Handle) -> impl IntoView {
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
}

/// Letters at the four sides, words beneath.
#[component]
fn SideNames(handle: Handle) -> impl IntoView {
    let sides = handle.panel(|panels| &panels.sides);
    view! {
        {move || {
            sides
                .get()
                .sides
                .map(|side| {
                    view! {
                        <p class=format!("side {}", side.side.word())>
                            <span class="unseen">{side.label}": "</span>
                            <b>{side.letters}</b>
                            <span>{side.words}</span>
                        </p>
                    }
                })
                .into_iter()
                .collect_view()
        }}
    }
}
