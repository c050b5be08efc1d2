//! The readiness check: all questions on one page, each with its own views, and one button that marks them all.

use super::question::Field;
use super::{act, read};
use crate::desk::Handle;
use crate::panels::figure::{self, Said};
use crate::panels::parts::{Button, div, paragraph};
use crate::record::{nonce, now_ms};
use app::practise::{PractiseAction, QuestionView, Still};
use leptos::prelude::*;
use std::sync::Arc;

pub(super) fn sheet(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let built = panels.with_untracked(|panels| panels.practise.sheet.clone());
    let Some(built) = built else {
        return ().into_any();
    };
    let texts = handle.texts().practise;
    let questions = built
        .questions
        .iter()
        .enumerate()
        .map(|(number, question)| question_view(handle, number, question))
        .collect::<Vec<AnyView>>();
    let answered = read(handle, |view| {
        let sheet = view.sheet.as_ref();
        sheet
            .map(|sheet| sheet.answered.clone())
            .unwrap_or_default()
    });
    let stop = Button::new(texts.stop, move || act(handle, PractiseAction::Stop));
    let finish = view! {
        <button
            type="submit"
            class="firm"
            on:click=move |event| {
                event.prevent_default();
                act(
                    handle,
                    PractiseAction::Finish {
                        now_ms: now_ms(),
                        nonce: nonce(),
                    },
                );
            }
        >
            {texts.check_finish}
        </button>
    }
    .into_any();
    view! {
        <p>{texts.check_intro}</p>
        <p class="soft">{texts.check_how}</p>
        <form
            class="sheet-form"
            on:submit=|event| event.prevent_default()
        >
            <ol class="sheet">{questions}</ol>
            <p role="status" class="answered">
                {answered}
            </p>
            {div("row", vec![finish, stop.view()])}
        </form>
    }
    .into_any()
}

fn question_view(handle: Handle, number: usize, built: &QuestionView) -> AnyView {
    let texts = handle.texts();
    let words = format!("sheet-{number}-words");
    let said = Said {
        body: format!("{}: {}", texts.panels.body, built.heading),
        picture: format!("{}: {}", texts.panels.picture, built.heading),
        words: words.clone(),
    };
    let which = Still::Question(number);
    let views = built.figure.as_ref().map(|shown| {
        let views = [
            figure::body(handle, which, shown, &said),
            figure::picture(handle, which, shown, &said),
        ];
        let views = views.into_iter().flatten().collect::<Vec<AnyView>>();
        let class = if views.len() > 1 {
            "views two"
        } else {
            "views"
        };
        div(class, views)
    });
    let caption = built
        .caption
        .clone()
        .map(|words| paragraph("caption-words", words));
    let parts = (0..built.parts.len())
        .map(|part| part_view(handle, number, built, part))
        .collect::<Vec<AnyView>>();
    view! {
        <li>
            <h3>{built.heading.clone()} <span class="soft">{format!(": {}", built.kind)}</span></h3>
            {views}
            <div class="asked">
                <p class="prompt">{built.prompt.clone()}</p>
                {caption}
                {parts}
                <details class="in-words">
                    <summary>{texts.practise.in_words}</summary>
                    <p id=words>{built.words.clone()}</p>
                </details>
            </div>
        </li>
    }
    .into_any()
}

fn part_view(handle: Handle, number: usize, built: &QuestionView, part: usize) -> AnyView {
    let field = Field {
        name: format!("sheet-{number}-part-{part}"),
        disabled: false,
        part,
        question: Arc::new(move |view| view.sheet.as_ref()?.questions.get(number)),
        choose: Arc::new(move |choice| PractiseAction::ChooseOf(number, part, choice)),
    };
    field.view(handle, &built.parts[part])
}
