//! Pictures that a set wants acquired: the list, freezing, annotating, acquiring.

use super::{act, read};
use crate::desk::Handle;
use crate::panels::acquire::{freeze_and_acquire, notes, request_rows, strip};
use crate::panels::annotation::annotation;
use crate::panels::parts::{Button, paragraph};
use crate::record::now_ms;
use app::practise::{PicturesView, PractiseAction};
use leptos::prelude::*;

pub(super) fn pictures(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let of = |part: fn(&PicturesView) -> String| {
        read(handle, move |view| {
            view.pictures.as_ref().map(part).unwrap_or_default()
        })
    };
    let built = of(|pictures| pictures.prompt.to_owned());
    let marks = of(|pictures| pictures.marks.to_owned());
    // Whoever is told at the end only sees the list, without what is there already.
    let silent = read(handle, |view| {
        view.pictures
            .as_ref()
            .is_some_and(|pictures| pictures.silent)
    });
    let silent = Signal::derive(move || silent.get().to_string());
    let finish = Button {
        class: "firm",
        ..Button::new(of(|pictures| pictures.finish.clone()), move || {
            act(handle, PractiseAction::PicturesDone { now_ms: now_ms() });
        })
    };
    view! {
        <p class="prompt">{built}</p>
        {paragraph("note", marks)}
        <div class="wanted-pictures" data-silent=silent>
            {request_rows(handle)}
        </div>
        {notes(handle)}
        <section class="acquire-here" data-silent=silent aria-label=texts.examine.title>
            {freeze_and_acquire(handle)} {annotation(handle, ().into_any())} {strip(handle)}
        </section>
        <details class="in-words">
            <summary>{texts.practise.in_words}</summary>
            <p id="practise-words">{of(|pictures| pictures.words.clone())}</p>
        </details>
        <div class="row">{finish.view()}</div>
    }
    .into_any()
}
