//! The body view's stage: caption bar, canvas with its gestures and keys, words over it.

use super::pointer::{self, Pointers};
use super::size::Watch;
use crate::desk::Handle;
use crate::panels::help;
use app::keys::{self, KeyAnswer, KeyPress};
use app::{Action, Texts};
use leptos::html;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;
use web_sys::{HtmlCanvasElement, KeyboardEvent, PointerEvent};

/// Zoom of the two buttons.
const CLOSER: f64 = 0.8;

/// The body view with its caption bar.
#[component]
pub(crate) fn BodyStage(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let panels = texts.panels;
    view! {
        <section class="stage" aria-labelledby="body-title">
            <div class="caption">
                <h2 id="body-title">{panels.body}</h2>
                <div class="row">
                    <Viewpoints handle />
                    <button
                        type="button"
                        aria-label=panels.nearer
                        on:click=move |_| handle.act(Action::ZoomCamera(CLOSER))
                    >
                        "+"
                    </button>
                    <button
                        type="button"
                        aria-label=panels.farther
                        on:click=move |_| handle.act(Action::ZoomCamera(1.0 / CLOSER))
                    >
                        "−"
                    </button>
                </div>
            </div>
            <div class="view body-view">
                <BodyCanvas handle />
                <Trouble handle />
            </div>
        </section>
    }
}

/// Named viewpoints as a menu that stays on its name: the view may be turned freely afterwards.
#[component]
fn Viewpoints(handle: Handle) -> impl IntoView {
    let view = handle.texts().panels.view;
    let scene = handle.panel(|panels| &panels.scene);
    let choose = move |key: &str| {
        let action = scene.with_untracked(|scene| {
            scene
                .viewpoints
                .iter()
                .find(|item| item.key == key)
                .map(|item| item.action.clone())
        });
        if let Some(action) = action {
            handle.act(action);
        }
    };
    view! {
        <span class="viewpoints" role="group" aria-label=view>
            {move || {
                scene
                    .get()
                    .viewpoints
                    .into_iter()
                    .map(|item| {
                        let (key, label) = (item.key.clone(), item.label.clone());
                        view! {
                            <button type="button" class="viewpoint" title=label on:click=move |_| choose(&key)>
                                {item.label}
                            </button>
                        }
                    })
                    .collect_view()
            }}
        </span>
        <select
            class="viewpoints-menu"
            aria-label=view
            on:change=move |event| {
                choose(&event_target_value(&event));
                let select = event_target::<web_sys::HtmlSelectElement>(&event);
                select.set_selected_index(0);
            }
        >
            <option value="">{view}</option>
            {move || {
                scene
                    .get()
                    .viewpoints
                    .into_iter()
                    .map(|item| view! { <option value=item.key>{item.label}</option> })
                    .collect_view()
            }}
        </select>
    }
}

#[component]
fn BodyCanvas(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let canvas = NodeRef::<html::Canvas>::new();
    let tags = NodeRef::<html::Div>::new();
    let pointers = StoredValue::new_local(Pointers::new());
    let watch = StoredValue::new_local(None::<Watch>);
    let used = RwSignal::new(false);

    Effect::new(move |_| {
        let (Some(canvas), Some(tags)) = (canvas.get(), tags.get()) else {
            return;
        };
        attach(handle, &canvas, tags.into());
        watch.set_value(Watch::new(&canvas, move |size| {
            handle.with(|desk| desk.body_view_resized(size));
        }));
    });

    let pointer = move |step: fn(&mut Pointers, &crate::desk::Desk, &PointerEvent),
                        event: &PointerEvent| {
        handle.with(|desk| {
            pointers.try_update_value(|pointers| step(pointers, desk, event));
        });
    };
    view! {
        <canvas
            node_ref=canvas
            id="body-canvas"
            tabindex="0"
            role="img"
            aria-label=texts.panels.body_view
            aria-describedby="body-hint description"
            on:pointerdown=move |event| {
                used.set(true);
                pointer(Pointers::down, &event);
            }
            on:pointermove=move |event| pointer(Pointers::moved, &event)
            on:pointerup=move |event| pointer(|p, d, e| p.up(d, e, true), &event)
            on:pointercancel=move |event| pointer(|p, d, e| p.up(d, e, false), &event)
            on:lostpointercapture=move |event| pointer(|p, d, e| p.up(d, e, false), &event)
            on:contextmenu=move |event| event.prevent_default()
            on:wheel=move |event| {
                handle.with(|desk| pointer::wheel(desk, &event));
            }
            on:keydown=move |event| {
                used.set(true);
                key_down(handle, &texts, &event);
            }
            on:keyup=move |_| handle.end()
        ></canvas>
        <div node_ref=tags class="tags" aria-hidden="true"></div>
        <p class="hint" id="body-hint" class:unseen=move || used.get()>
            {texts.panels.body_view_hint}
        </p>
    }
}

fn key_down(handle: Handle, _texts: &Texts, event: &KeyboardEvent) {
    let key = event.key();
    let press = KeyPress {
        key: &key,
        shift: event.shift_key(),
        control: event.ctrl_key() || event.meta_key(),
        alt: event.alt_key(),
    };
    let mark = handle
        .with(|desk| desk.read(|state| state.convention().mark))
        .flatten();
    let Some(mark) = mark else { return };
    match keys::answer(press, mark) {
        KeyAnswer::Act(action) => {
            event.prevent_default();
            handle.act(action);
        }
        KeyAnswer::Help => {
            event.prevent_default();
            help::open();
        }
        KeyAnswer::Leave => {}
    }
}

/// Hands the canvas over and listens for the loss of its context.
fn attach(handle: Handle, canvas: &HtmlCanvasElement, tags: web_sys::HtmlElement) {
    let listen = |name: &str, heard: Closure<dyn FnMut(web_sys::Event)>| {
        let _ = canvas.add_event_listener_with_callback(name, heard.as_ref().unchecked_ref());
        // Lives as long as the canvas, which lives as long as the page.
        heard.forget();
    };
    // Without this the browser never gives the context back.
    listen(
        "webglcontextlost",
        Closure::new(move |event: web_sys::Event| event.prevent_default()),
    );
    listen(
        "webglcontextrestored",
        Closure::new(move |_| {
            handle.with(crate::desk::Desk::restore_body_view);
        }),
    );
    let canvas = canvas.clone();
    handle.with(move |desk| desk.attach_body_view(canvas, tags));
}

/// What stands over the body view: progress, a missing file, no WebGL2.
#[component]
fn Trouble(handle: Handle) -> impl IntoView {
    let status = handle.panel(|panels| &panels.status);
    let instead = Memo::new(move |_| status.with(|status| status.instead_of_body_view));
    let progress = Memo::new(move |_| status.with(|status| status.progress.clone()));
    let troubles = Memo::new(move |_| {
        status.with(|status| {
            let grave =
                |notice: &&app::views::Notice| notice.kind == app::views::NoticeKind::Trouble;
            status
                .notices
                .iter()
                .filter(grave)
                .cloned()
                .collect::<Vec<_>>()
        })
    });
    let any = move || instead.get().is_some() || !troubles.with(Vec::is_empty);
    view! {
        <div class="said" id="body-trouble" role="alert" class:empty=move || !any()>
            {move || instead.get().map(|words| view! { <p>{words}</p> })}
            {move || troubles.get().into_iter().map(|notice| view! { <Notice handle notice /> }).collect_view()}
        </div>
        {move || {
            progress
                .get()
                .map(|progress| {
                    view! {
                        <div class="loading">
                            <label for="body-progress">{progress.text}</label>
                            <progress id="body-progress" max="1" value=progress.share></progress>
                        </div>
                    }
                })
        }}
    }
}

/// A sentence with its button.
#[component]
pub(crate) fn Notice(handle: Handle, notice: app::views::Notice) -> impl IntoView {
    let offer = notice.offer.map(|offer| {
        let action = offer.action;
        view! {
            <button type="button" on:click=move |_| handle.act(action.clone())>
                {offer.label}
            </button>
        }
    });
    view! {
        <p>{notice.text}</p>
        {offer}
    }
}
