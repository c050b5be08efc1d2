//! The two dialogs of the examination: looking at a picture again, and finishing.

use super::acquire::{act, request_rows, save};
use super::annotation::verdict_view;
use super::parts::{self, Button};
use crate::desk::Handle;
use crate::examination;
use app::Examine;
use app::action::Way;
use app::views::ReviewView;
use leptos::html;
use leptos::prelude::*;
use web_sys::{HtmlElement, KeyboardEvent};

/// A modal dialog that is open while `open` holds.
fn modal(
    id: &'static str,
    open: Signal<bool>,
    title: Signal<String>,
    close: Callback<()>,
    key: Callback<KeyboardEvent>,
    content: Vec<AnyView>,
) -> AnyView {
    let dialog = NodeRef::<html::Dialog>::new();
    let heading = NodeRef::<html::H2>::new();
    let title_id = format!("{id}-title");
    let named_by = title_id.clone();
    Effect::new(move |_| {
        let (wanted, Some(dialog)) = (open.get(), dialog.get()) else {
            return;
        };
        if wanted && !dialog.open() {
            let _ = dialog.show_modal();
            if let Some(heading) = heading.get() {
                let heading: &HtmlElement = &heading;
                let _ = heading.focus();
            }
        } else if !wanted && dialog.open() {
            dialog.close();
        }
    });
    view! {
        <dialog
            node_ref=dialog
            class="help examine-dialog"
            id=id
            aria-labelledby=named_by
            on:close=move |_| close.run(())
            on:keydown=move |event| key.run(event)
        >
            <h2 node_ref=heading id=title_id tabindex="-1">
                {title}
            </h2>
            {content}
        </dialog>
    }
    .into_any()
}

/// The picture that is looked at again, as large as the window allows.
pub(crate) fn review(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let panels = handle.shown().panels;
    let shown = Memo::new(move |_| panels.with(|panels| panels.examine.review.clone()));
    let of = move |pick: fn(&ReviewView) -> String| {
        Signal::derive(move || shown.with(|review| review.as_ref().map(pick).unwrap_or_default()))
    };
    let open = Signal::derive(move || shown.with(Option::is_some));
    let ends = move |pick: fn(&ReviewView) -> bool| {
        Signal::derive(move || shown.with(|review| !review.as_ref().is_some_and(pick)))
    };
    let number = move || shown.with_untracked(|review| review.as_ref().map(|review| review.number));
    let step = move |label: &'static str, way: Way, can: fn(&ReviewView) -> bool| {
        Button {
            disabled: ends(can),
            ..Button::new(label, move || act(handle, Examine::ReviewStep(way)))
        }
        .view()
    };
    let with_number =
        move |label: &'static str, can: fn(&ReviewView) -> bool, deed: fn(Handle, u32)| {
            Button {
                disabled: ends(can),
                ..Button::new(label, move || {
                    if let Some(number) = number() {
                        deed(handle, number);
                    }
                })
            }
            .view()
        };
    let drawn: fn(&ReviewView) -> bool = |review| review.not_drawn.is_none();
    let paging = vec![
        step(texts.previous, Way::Back, |review| review.has_previous),
        step(texts.next, Way::Forward, |review| review.has_next),
    ];
    let deeds = vec![
        with_number(texts.save_png, drawn, |handle, number| {
            save(handle, move |desk| examination::save_png(desk, number));
        }),
        with_number(texts.save_dicom, drawn, |handle, number| {
            handle.with(|desk| examination::save_dicom(desk, number));
        }),
        with_number(
            texts.go_to,
            |_| true,
            |handle, number| {
                act(handle, Examine::GoTo(number));
            },
        ),
        with_number(
            texts.delete,
            |review| review.can_delete,
            |handle, number| act(handle, Examine::Delete(number)),
        ),
    ];
    let closing = Button {
        class: "firm",
        ..Button::new(texts.close, move || act(handle, Examine::CloseReview))
    };
    let lines = Memo::new(move |_| {
        shown.with(|review| {
            review
                .as_ref()
                .map(|review| review.lines.clone())
                .unwrap_or_default()
        })
    });
    let facts = move || {
        let one = |line: String| view! { <p>{line}</p> }.into_any();
        lines.get().into_iter().map(one).collect::<Vec<AnyView>>()
    };
    let verdict = Memo::new(move |_| {
        shown.with(|review| review.as_ref().and_then(|review| review.verdict.clone()))
    });
    let findings = move || verdict.get().map(|verdict| verdict_view(handle, verdict));
    let content = vec![
        parts::div("row paging", paging),
        view! {
            <div class="review">
                {canvas(handle, of(|review| review.number.to_string()), of(|review| review.annotation.clone()))}
                <div class="review-words" tabindex="0" role="group" aria-label=of(|review| review.title.clone())>
                    <p class="annotated">{of(|review| review.annotation.clone())}</p>
                    <p class="note">{of(|review| review.not_drawn.unwrap_or_default().to_owned())}</p>
                    {findings}
                    {facts}
                </div>
            </div>
        }
        .into_any(),
        parts::div("row", deeds),
        closing.view(),
    ];
    let close = Callback::new(move |()| act(handle, Examine::CloseReview));
    let key = Callback::new(move |event: KeyboardEvent| {
        let way = match event.key().as_str() {
            "ArrowLeft" => Way::Back,
            "ArrowRight" => Way::Forward,
            _ => return,
        };
        event.prevent_default();
        act(handle, Examine::ReviewStep(way));
    });
    modal(
        "review",
        open,
        of(|review| review.title.clone()),
        close,
        key,
        content,
    )
}

fn canvas(handle: Handle, number: Signal<String>, name: Signal<String>) -> AnyView {
    let canvas = NodeRef::<html::Canvas>::new();
    Effect::new(move |_| {
        let (false, Some(canvas)) = (number.with(String::is_empty), canvas.get()) else {
            return;
        };
        handle.with(|desk| examination::draw_review(desk, &canvas));
    });
    view! { <canvas node_ref=canvas id="review-canvas" role="img" aria-label=name></canvas> }
        .into_any()
}

/// The set against the requested list, then the end of the examination.
pub(crate) fn finish(handle: Handle) -> AnyView {
    let texts = handle.texts().examine;
    let panels = handle.shown().panels;
    let shown = Memo::new(move |_| panels.with(|panels| panels.examine.finish.clone()));
    let open = Signal::derive(move || shown.with(Option::is_some));
    let title = Signal::derive(move || {
        shown.with(|finish| finish.as_ref().map_or("", |finish| finish.title).to_owned())
    });
    let sentences = move || {
        let sentences = shown
            .get()
            .map(|finish| finish.sentences)
            .unwrap_or_default();
        let one = |sentence: String| view! { <p>{sentence}</p> }.into_any();
        sentences.into_iter().map(one).collect::<Vec<AnyView>>()
    };
    let go_on = Button::new(texts.go_on, move || act(handle, Examine::CloseFinish));
    let buttons = move || {
        let Some(finish) = shown.get() else {
            return Vec::new();
        };
        let mut buttons = Vec::new();
        if finish.has_pictures {
            buttons.push(
                Button::new(texts.save_set, move || save(handle, examination::save_set)).view(),
            );
        }
        if finish.finished {
            let reopen = Button::new(texts.reopen, move || act(handle, Examine::Reopen));
            let anew = Button::new(texts.begin_new, move || {
                act(handle, Examine::BeginNew(examination::chance()));
            });
            buttons.extend([reopen.view(), anew.view()]);
        }
        if let Some(label) = finish.finish {
            let end = Button {
                class: "firm",
                ..Button::new(Signal::stored(label), move || act(handle, Examine::Finish))
            };
            buttons.push(end.view());
        }
        buttons
    };
    let content = vec![
        view! {
            <div id="finish-words" role="status">{sentences}</div>
            {request_rows(handle)}
            <div class="row">{buttons} {go_on.view()}</div>
        }
        .into_any(),
    ];
    let close = Callback::new(move |()| act(handle, Examine::CloseFinish));
    let key = Callback::new(|_| ());
    modal("finish", open, title, close, key, content)
}
