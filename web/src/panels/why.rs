//! "Why?": the answer in words, beside what the body view shows of it, and mark and notch tried out.

use super::parts::{self, Button};
use crate::desk::{Desk, Handle};
use crate::stage::size::Watch;
use app::Action;
use app::views::{Panels, WhyView};
use app::why::{Ask, Tryout};
use leptos::html;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::HtmlElement;

const TITLE_ID: &str = "why-title";

fn document() -> Option<web_sys::Document> {
    web_sys::window()?.document()
}

/// What has the focus.
pub(crate) fn active() -> Option<web_sys::Element> {
    document()?.active_element()
}

/// Gives the focus to an element, if there is one.
pub(crate) fn focus(element: Option<web_sys::Element>) {
    if let Some(element) = element.and_then(|element| element.dyn_into::<HtmlElement>().ok()) {
        let _ = element.focus();
    }
}

/// Asks, and reads the answer from its title on.
pub(crate) fn ask(handle: Handle, ask: Ask) {
    handle.act(Action::AskWhy(ask));
}

/// The answer; nothing before anything is asked.
pub(crate) fn why(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let asked =
        Memo::new(move |_| panels.with(|panels| panels.why.as_ref().map(|why| why.ask.clone())));
    let asker = StoredValue::new_local(None::<web_sys::Element>);
    // The focus goes to the answer and comes back to what asked, as with a dialog; nothing is trapped.
    Effect::new(move |before: Option<bool>| {
        let shown = asked.with(Option::is_some);
        let was = before.unwrap_or(false);
        if shown && !was {
            asker.set_value(active());
        }
        if shown {
            let title = document().and_then(|page| page.get_element_by_id(TITLE_ID));
            focus(title.clone());
            // The answer's paragraphs come in after this, and the browser keeps what is beneath them where it was.
            request_animation_frame(move || {
                if let Some(title) = title {
                    title.scroll_into_view();
                }
            });
        } else if was {
            focus(asker.try_update_value(Option::take).flatten());
        }
        shown
    });
    let hidden = move || asked.with(Option::is_none);
    let has_tryout = Memo::new(move |_| panels.with(|panels| tryout(panels).is_some()));
    let texts = handle.texts().why;
    let title = part(handle, |why| why.title.clone());
    let source = part(handle, |why| why.source.to_owned());
    let drawn = part(handle, |why| why.drawn.clone().unwrap_or_default());
    let answer = Memo::new(move |_| {
        panels.with(|panels| {
            let why = panels.why.as_ref();
            why.map(|why| why.answer.clone()).unwrap_or_default()
        })
    });
    let paragraphs = move || {
        answer
            .get()
            .into_iter()
            .map(|words| view! { <p>{words}</p> }.into_any())
            .collect::<Vec<AnyView>>()
    };
    let close = Button::new(texts.close, move || handle.act(Action::CloseWhy)).view();
    let tried = move || has_tryout.get().then(|| tryout_view(handle));
    view! {
        <section
            class="group why"
            id="why"
            aria-labelledby=TITLE_ID
            hidden=hidden
            on:keydown=move |event: web_sys::KeyboardEvent| {
                if event.key() == "Escape" {
                    handle.act(Action::CloseWhy);
                }
            }
        >
            <h2 id=TITLE_ID tabindex="-1">
                {title}
            </h2>
            <div class="answer">{paragraphs}</div>
            {tried}
            <p class="note">{drawn}</p>
            <p class="note">{source}</p>
            {close}
        </section>
    }
    .into_any()
}

fn part(handle: Handle, read: fn(&WhyView) -> String) -> Signal<String> {
    let panels = handle.shown().panels;
    Signal::derive(move || panels.with(|panels| panels.why.as_ref().map(read).unwrap_or_default()))
}

fn tryout(panels: &Panels) -> Option<&app::views::TryoutView> {
    panels.why.as_ref()?.tryout.as_ref()
}

/// Two buttons, two pictures, one verdict.
fn tryout_view(handle: Handle) -> AnyView {
    let texts = handle.texts().why;
    let panels = handle.shown().panels;
    let now = Signal::derive(move || {
        panels.with(|panels| tryout(panels).map(|view| view.tryout).unwrap_or_default())
    });
    let toggle = |label: &'static str, read: fn(Tryout) -> bool, turn: fn(Tryout) -> Tryout| {
        Button {
            pressed: Signal::derive(move || Some(read(now.get()).to_string())),
            ..Button::new(label, move || {
                handle.act(Action::TryOut(turn(now.get_untracked())));
            })
        }
        .view()
    };
    let verdict = Signal::derive(move || {
        panels.with(|panels| {
            tryout(panels)
                .map(|view| view.verdict.to_owned())
                .unwrap_or_default()
        })
    });
    let letters = |read: fn(&app::views::TryoutView) -> &[String; 2], place: usize| {
        Signal::derive(move || {
            panels.with(|panels| {
                let view = tryout(panels);
                view.and_then(|view| read(view).get(place).cloned())
                    .unwrap_or_default()
            })
        })
    };
    let figure =
        |after: bool, caption: &'static str, read: fn(&app::views::TryoutView) -> &[String; 2]| {
            let choices = handle.texts().choices;
            let [left, right] = [letters(read, 0), letters(read, 1)];
            let said = Signal::derive(move || {
                format!(
                    "{caption}. {}: {}. {}: {}.",
                    choices.image_left,
                    left.get(),
                    choices.image_right,
                    right.get()
                )
            });
            view! {
                <figure>
                    <div class="small-picture">{canvas(handle, after, said)}</div>
                    <figcaption>
                        <b aria-hidden="true">{left}</b>
                        <span>{caption}</span>
                        <b aria-hidden="true">{right}</b>
                    </figcaption>
                </figure>
            }
            .into_any()
        };
    let buttons = vec![
        toggle(
            texts.try_notch,
            |tried| tried.notch,
            |tried| Tryout {
                notch: !tried.notch,
                ..tried
            },
        ),
        toggle(
            texts.try_mark,
            |tried| tried.mark,
            |tried| Tryout {
                mark: !tried.mark,
                ..tried
            },
        ),
    ];
    parts::div(
        "tryout",
        vec![
            parts::div("row", buttons),
            parts::div(
                "pair",
                vec![
                    figure(false, texts.before, |view| &view.before),
                    figure(true, texts.after, |view| &view.after),
                ],
            ),
            view! { <p role="status" class="verdict">{verdict}</p> }.into_any(),
        ],
    )
}

fn canvas(handle: Handle, after: bool, said: Signal<String>) -> AnyView {
    let canvas = NodeRef::<html::Canvas>::new();
    let watch = StoredValue::new_local(None::<Watch>);
    Effect::new(move |_| {
        let Some(canvas) = canvas.get() else { return };
        handle.with(|desk| desk.attach_tryout(after, Some(canvas.clone())));
        watch.set_value(Watch::new(&canvas, move |size| {
            handle.with(|desk| desk.tryout_resized(after, size));
        }));
    });
    on_cleanup(move || {
        handle.with(|desk: &Desk| desk.attach_tryout(after, None));
    });
    view! { <canvas node_ref=canvas role="img" aria-label=said></canvas> }.into_any()
}
