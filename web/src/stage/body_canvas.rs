//! The body view's stage: caption bar, canvas with its gestures and keys, words over it.

use super::pointer::{self, Pointers};
use super::size::Watch;
use crate::desk::Handle;
use crate::panels::head::{notice_view, notices};
use crate::panels::parts::{Button, Group, Menu};
use crate::panels::practise::which;
use crate::panels::{acquire, annotation, help};
use app::Action;
use app::keys::{self, KeyAnswer, KeyPress};
use app::views::{MenuItem, NoticeKind};
use leptos::html;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;
use web_sys::{HtmlCanvasElement, KeyboardEvent, PointerEvent};

/// Zoom of the two buttons.
const CLOSER: f64 = 0.8;

/// The body view with its caption bar.
pub(crate) fn body_stage(handle: Handle) -> AnyView {
    let panels = handle.texts().panels;
    let zoom = |sign: &'static str, name: &'static str, factor: f64| {
        Button::new(sign, move || handle.act(Action::ZoomCamera(factor)))
            .named(move || name.to_owned())
            .view()
    };
    let tools = vec![
        viewpoint_buttons(handle),
        viewpoint_menu(handle),
        zoom("+", panels.nearer, CLOSER),
        zoom("−", panels.farther, 1.0 / CLOSER),
    ];
    let tools = if is_still(handle) { Vec::new() } else { tools };
    view! {
        <section class="stage body-stage" aria-labelledby="body-title">
            <div class="caption">
                <h2 id="body-title">{panels.body}</h2>
                {which(handle)}
                <div class="row">{tools}</div>
            </div>
            <div class="view body-view">{canvas(handle)} {trouble(handle)}</div>
        </section>
    }
    .into_any()
}

/// Whether the author of the page around left nothing open, so that no key or gesture does anything here.
fn is_still(handle: Handle) -> bool {
    let open = handle.with(|desk| desk.read(app::State::open)).flatten();
    open == Some(app::Open::Nothing)
}

fn viewpoints(handle: Handle) -> Vec<MenuItem> {
    handle
        .shown()
        .panels
        .with_untracked(|panels| panels.scene.viewpoints.clone())
}

/// Named viewpoints as buttons, where there is room.
fn viewpoint_buttons(handle: Handle) -> AnyView {
    let button = |item: MenuItem| {
        let action = item.action;
        Button::new(Signal::stored(item.label), move || {
            handle.act(action.clone());
        })
        .view()
    };
    let buttons = viewpoints(handle)
        .into_iter()
        .map(button)
        .collect::<Vec<AnyView>>();
    view! {
        <span class="viewpoints" role="group" aria-label=handle.texts().panels.view>
            {buttons}
        </span>
    }
    .into_any()
}

/// The same as a menu that goes back to its name: the view may be turned freely afterwards.
fn viewpoint_menu(handle: Handle) -> AnyView {
    let view = handle.texts().panels.view;
    let items = viewpoints(handle);
    let mut options = vec![(String::new(), view.to_owned())];
    options.extend(
        items
            .iter()
            .map(|item| (item.key.clone(), item.label.clone())),
    );
    let choose = Callback::new(move |key: String| {
        if let Some(item) = items.iter().find(|item| item.key == key) {
            handle.act(item.action.clone());
        }
    });
    Menu {
        id: "viewpoint",
        class: "viewpoints-menu",
        name: Some(view),
        groups: Group::fixed(options),
        chosen: Signal::stored(String::new()),
        choose,
    }
    .view()
}

fn canvas(handle: Handle) -> AnyView {
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
            tabindex=(!is_still(handle)).then_some("0")
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
                key_down(handle, &event);
            }
            on:keyup=move |_| handle.end()
        ></canvas>
        <div node_ref=tags class="tags" aria-hidden="true"></div>
        <p class="hint" id="body-hint" class:unseen=move || used.get()>
            {texts.panels.body_view_hint}
        </p>
    }
    .into_any()
}

fn key_down(handle: Handle, event: &KeyboardEvent) {
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
        KeyAnswer::Annotate => {
            event.prevent_default();
            annotation::focus();
        }
        KeyAnswer::Acquire => {
            event.prevent_default();
            acquire::acquire_now(handle);
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
fn trouble(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let instead = Signal::derive(move || {
        panels.with(|panels| {
            panels
                .status
                .instead_of_body_view
                .map(str::to_owned)
                .unwrap_or_default()
        })
    });
    let troubles = Memo::new(move |_| panels.with(|panels| notices(panels, NoticeKind::Trouble)));
    let class = Signal::derive(move || {
        let empty = instead.with(String::is_empty) && troubles.with(Vec::is_empty);
        if empty {
            "said empty".to_owned()
        } else {
            "said".to_owned()
        }
    });
    let list = move || {
        troubles
            .get()
            .into_iter()
            .map(|notice| notice_view(handle, notice))
            .collect::<Vec<AnyView>>()
    };
    let waiting = Signal::derive(move || {
        let text = panels.with(|panels| {
            panels
                .status
                .progress
                .as_ref()
                .map(|progress| progress.text)
        });
        text.map(str::to_owned).unwrap_or_default()
    });
    let waiting_class = Signal::derive(move || {
        if waiting.with(String::is_empty) {
            "loading empty".to_owned()
        } else {
            "loading".to_owned()
        }
    });
    // Without a value the bar shows that something goes on, not how far it is.
    let share = Signal::derive(move || {
        panels.with(|panels| {
            panels
                .status
                .progress
                .as_ref()?
                .share
                .map(|share| format!("{share:.3}"))
        })
    });
    view! {
        <div class=class id="body-trouble" role="alert">
            <p>{instead}</p>
            {list}
        </div>
        <div class=waiting_class>
            <label for="body-progress">{waiting}</label>
            <progress id="body-progress" max="1" value=share></progress>
        </div>
    }
    .into_any()
}
