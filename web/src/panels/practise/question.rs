//! A question, a worked example, and what came out.

use super::{act, read};
use crate::desk::Handle;
use crate::panels::parts::{Button, div, paragraph};
use crate::record::{nonce, now_ms};
use app::practice::Choice;
use app::practise::{
    OptionView, PartMarkView, PartView, PractiseAction, PractiseView, QuestionView, ToldView,
};
use leptos::prelude::*;
use std::sync::Arc;

/// The question as it is when the page is built; what changes while it is open comes in through signals.
pub(super) fn question(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let built = panels.with_untracked(|panels| panels.practise.question.clone());
    let Some(built) = built else {
        return ().into_any();
    };
    let texts = handle.texts().practise;
    let of = |part: fn(&QuestionView) -> String| {
        read(handle, move |view| {
            view.question.as_ref().map(part).unwrap_or_default()
        })
    };
    let place_note = built.place.then(|| paragraph("note", texts.place_note));
    let caption = built
        .caption
        .clone()
        .map(|words| paragraph("caption-words", words));
    let told = built.told.clone().map(|told| told_view(handle, told));
    let buttons = if built.asking {
        asking(handle, &built)
    } else if built.worked {
        let go = Button {
            class: "firm",
            ..Button::new(texts.worked_done, move || {
                act(handle, PractiseAction::Understood);
            })
        };
        vec![go.view()]
    } else {
        let label = match (built.last, built.pictures_follow) {
            (true, true) => handle.texts().set.to_pictures,
            (true, false) => texts.finish,
            (false, _) => texts.next,
        };
        let next = Button {
            class: "firm",
            ..Button::new(label, move || {
                act(handle, PractiseAction::Next { now_ms: now_ms() });
            })
        };
        vec![next.view()]
    };
    // The round of a set is all that its page has.
    let of_a_set = panels.with_untracked(|panels| panels.practise.of_a_set);
    let stop =
        (!of_a_set).then(|| Button::new(texts.stop, move || act(handle, PractiseAction::Stop)));
    let fields = (0..built.parts.len())
        .map(|part| part_view(handle, &built, part))
        .collect::<Vec<AnyView>>();
    view! {
        <p class="kind soft">{built.kind}</p>
        <p class="prompt" id="practise-prompt">
            {built.prompt.clone()}
        </p>
        {caption}
        {place_note}
        <form
            class="answers"
            on:submit=|event| event.prevent_default()
        >
            {told}
            {fields}
            {line(handle, &built)}
            {hints(handle)}
            {div("row", buttons)}
        </form>
        <details class="in-words" open=!built.place>
            <summary>{texts.in_words}</summary>
            <p id="practise-words">{of(|question| question.words.clone())}</p>
        </details>
        {stop.map(|stop| div("row", vec![stop.view()]))}
    }
    .into_any()
}

fn submit(handle: Handle) {
    act(
        handle,
        PractiseAction::Submit {
            now_ms: now_ms(),
            nonce: nonce(),
        },
    );
}

/// Answer, hint, skip.
fn asking(handle: Handle, built: &QuestionView) -> Vec<AnyView> {
    let texts = handle.texts().practise;
    // A frame in a sandbox may send no form, and the browser says so before any listener hears of it. The Enter key presses
    // this button, too.
    let answer = view! {
        <button
            type="submit"
            class="firm"
            on:click=move |event| {
                event.prevent_default();
                submit(handle);
            }
        >
            {texts.answer}
        </button>
    }
    .into_any();
    let more = read(handle, |view| {
        view.question
            .as_ref()
            .is_some_and(|question| question.more_hints)
    });
    let hint = built.more_hints.then(|| {
        Button {
            disabled: Signal::derive(move || !more.get()),
            ..Button::new(texts.hint, move || act(handle, PractiseAction::Hint))
        }
        .view()
    });
    let skip = Button::new(texts.skip, move || {
        act(
            handle,
            PractiseAction::Skip {
                now_ms: now_ms(),
                nonce: nonce(),
            },
        );
    });
    let mut buttons = vec![answer];
    buttons.extend(hint);
    buttons.push(skip.view());
    buttons
}

fn hints(handle: Handle) -> AnyView {
    let words = read(handle, |view| {
        view.question
            .as_ref()
            .map(|question| question.hints.clone())
            .unwrap_or_default()
    });
    let list = move || {
        words
            .get()
            .into_iter()
            .map(|hint| paragraph("practise-hint", hint))
            .collect::<Vec<AnyView>>()
    };
    view! { <div role="status">{list}</div> }.into_any()
}

fn part_view(handle: Handle, built: &QuestionView, part: usize) -> AnyView {
    let field = Field {
        name: format!("practise-part-{part}"),
        disabled: !built.asking,
        part,
        question: Arc::new(|view| view.question.as_ref()),
        choose: Arc::new(move |choice| PractiseAction::Choose(part, choice)),
    };
    field.view(handle, &built.parts[part])
}

type OfPractise<T> = Arc<dyn Fn(&PractiseView) -> Option<&T> + Send + Sync>;

/// The options of one part of a question.
pub(super) struct Field {
    /// Name of the group of buttons.
    pub name: String,
    pub disabled: bool,
    /// Number of the part, from 0.
    pub part: usize,
    /// The question that the part belongs to, as it is at the time.
    pub question: OfPractise<QuestionView>,
    pub choose: Arc<dyn Fn(Choice) -> PractiseAction + Send + Sync>,
}

impl Field {
    pub(super) fn view(&self, handle: Handle, built: &PartView) -> AnyView {
        let options = built
            .options
            .iter()
            .map(|option| self.option(handle, option))
            .collect::<Vec<AnyView>>();
        view! {
            <fieldset class="options">
                <legend>{built.legend}</legend>
                {options}
            </fieldset>
        }
        .into_any()
    }

    fn option(&self, handle: Handle, option: &OptionView) -> AnyView {
        let choice = option.choice;
        let (part, question) = (self.part, Arc::clone(&self.question));
        let chosen = read(handle, move |view| {
            question(view)
                .and_then(|question| question.parts.get(part))
                .and_then(|part| part.options.iter().find(|option| option.choice == choice))
                .is_some_and(|option| option.chosen)
        });
        let state = match (option.right, option.chosen) {
            (Some(true), _) => "right",
            (Some(false), true) => "wrong",
            _ => "open",
        };
        let sign = match state {
            "right" => "✓ ",
            "wrong" => "✗ ",
            _ => "",
        };
        let choose = Arc::clone(&self.choose);
        view! {
            <label class="option" data-state=state>
                <input
                    type="radio"
                    name=self.name.clone()
                    value=choice.key()
                    prop:checked=chosen
                    disabled=self.disabled
                    on:change=move |_| act(handle, choose(choice))
                />
                <span>{sign} {option.words.clone()}</span>
            </label>
        }
        .into_any()
    }
}

fn line(handle: Handle, built: &QuestionView) -> Option<AnyView> {
    let write = built.write.as_ref()?;
    let texts = handle.texts().practise;
    let view = view! {
        <div class="line">
            <label for="practise-line">{texts.annotation}</label>
            <input
                type="text"
                id="practise-line"
                autocomplete="off"
                autocapitalize="characters"
                spellcheck="false"
                aria-describedby="practise-line-hint"
                value=write.line.clone()
                disabled=!built.asking
                on:input=move |event| act(handle, PractiseAction::Write(event_target_value(&event)))
            />
            <p class="note" id="practise-line-hint">
                {texts.annotation_hint}
            </p>
        </div>
    };
    Some(view.into_any())
}

/// What came out, with its reasons.
fn told_view(handle: Handle, told: ToldView) -> AnyView {
    let texts = handle.texts().practise;
    let paragraphs = |class: &'static str, lines: Vec<String>| {
        lines
            .into_iter()
            .map(|line| paragraph(class, line))
            .collect::<Vec<AnyView>>()
    };
    let parts = (!told.parts.is_empty()).then(|| part_marks(told.parts));
    let mut lines = paragraphs("given", told.answers);
    lines.extend(paragraphs("reason", told.reasons));
    lines.extend(
        told.misconception
            .map(|words| paragraph("misconception", words)),
    );
    let marks = told
        .marks
        .map(|words| view! { <span class="soft">{words}</span> }.into_any());
    let compare = told.compare.then(|| {
        let button = |label: &'static str, mine: bool| {
            Button::new(label, move || act(handle, PractiseAction::ShowMine(mine))).view()
        };
        div(
            "row",
            vec![
                button(texts.show_mine, true),
                button(texts.show_right, false),
            ],
        )
    });
    view! {
        <div class="told" data-verdict=told.key>
            <p class="verdict">
                <b>{told.verdict}</b>
                " "
                {marks}
            </p>
            {parts}
            {lines}
            {compare}
        </div>
    }
    .into_any()
}

/// The marks part by part.
fn part_marks(parts: Vec<PartMarkView>) -> AnyView {
    let rows = parts
        .into_iter()
        .map(|part| {
            let sign = match part.key {
                "right" => "✓",
                "wrong" => "✗",
                _ => "~",
            };
            view! {
                <li data-verdict=part.key>
                    <p>
                        <span aria-hidden="true">{sign}</span>
                        " "
                        <b>{part.name}</b>
                        " "
                        <span class="soft">{part.marks}</span>
                    </p>
                    <p>{part.words}</p>
                </li>
            }
            .into_any()
        })
        .collect::<Vec<AnyView>>();
    view! { <ul class="part-marks">{rows}</ul> }.into_any()
}
