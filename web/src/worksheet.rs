//! A set on paper: the sheet on the screen is the sheet that is printed.

use crate::desk::{Desk, Handle, Place};
use crate::examination::chance;
use crate::page;
use crate::panels::parts::{self, Button, Group, Menu};
use crate::platform::prefer::Theme;
use crate::platform::{address, fetch, language, page_data};
use app::anatomy::Body;
use app::course::set::Set as ExerciseSet;
use app::course::share::read_set_link;
use app::state::BODIES;
use app::worksheet::{Sheet, SheetQuestion, sheet};
use app::{Action, drawing};
use leptos::prelude::*;
use std::sync::Arc;
use wasm_bindgen_futures::spawn_local;

/// Puts the sheet into its element, in place of the loading words.
pub(crate) fn mount() {
    page::mount_view(worksheet);
}

fn worksheet() -> AnyView {
    Theme::Light.show();
    let desk = Desk::new("", Place::Frame);
    let handle = Handle::new(desk);
    let words = language::texts().worksheet;
    let fragment = address::read();
    let trouble = RwSignal::new(String::new());
    let made = RwSignal::new(None::<Sheet>);
    let paper = RwSignal::new("a4".to_owned());
    let named = RwSignal::new(false);
    // The seed of a sheet that was printed stands on it, and makes the same one again.
    let seed = fragment
        .split('&')
        .find_map(|part| part.strip_prefix("seed=")?.parse().ok())
        .unwrap_or_else(|| chance() >> 32);
    match read_set_link(fragment.split('&').next().unwrap_or_default()) {
        Ok(reading) => {
            let set = reading.set;
            handle.act(Action::ChooseBody(set.body.clone()));
            make(handle, set, seed, made, trouble);
        }
        Err(reason) => trouble.set(words.broken.replace("{}", &reason.to_string())),
    }
    let print = Button {
        class: "firm",
        disabled: Signal::derive(move || made.with(Option::is_none)),
        ..Button::new(words.print, || {
            if let Some(window) = web_sys::window() {
                let _ = window.print();
            }
        })
    };
    let [a4, letter] = words.sizes;
    let options = vec![
        ("a4".to_owned(), a4.to_owned()),
        ("letter".to_owned(), letter.to_owned()),
    ];
    let sizes = Menu {
        id: "paper",
        class: "",
        name: Some(words.paper),
        groups: Group::fixed(options),
        chosen: paper.into(),
        choose: Callback::new(move |key| paper.set(key)),
    };
    let name = parts::tick(
        "checkbox",
        "name",
        words.name_field.to_owned(),
        named.into(),
        Callback::new(move |on| named.set(on)),
    );
    let said = Signal::derive(move || {
        let trouble = trouble.get();
        if trouble.is_empty() && made.with(Option::is_none) {
            words.opening.to_owned()
        } else {
            trouble
        }
    });
    let content = move || made.get().map(|sheet| paper_view(sheet, named));
    view! {
        <div class="page sheet" data-paper=paper data-ready=move || made.with(Option::is_some).to_string()>
            <div class="sheet-tools row">{print.view()} {sizes.view()} {name}</div>
            <p class="note sheet-note" role="status">
                {said}
            </p>
            <main>{content}</main>
        </div>
    }
    .into_any()
}

/// Waits for the bodies one after the other and for the words of annotations, then makes the sheet.
fn make(
    handle: Handle,
    set: ExerciseSet,
    seed: u64,
    made: RwSignal<Option<Sheet>>,
    trouble: RwSignal<String>,
) {
    let body = handle.shown().body;
    let texts = language::texts();
    let here = StoredValue::new_local(Vec::<Arc<Body>>::new());
    Effect::new(move |_| match body.get() {
        "failed" => trouble.set(
            texts
                .worksheet
                .broken
                .replace("{}", "the body did not arrive"),
        ),
        "loaded" => {
            let arrived = handle.with(|desk| desk.read(|state| state.body().cloned()));
            let next = here.try_update_value(|here| {
                here.extend(arrived.flatten().flatten());
                let wanted = set.bodies().into_iter();
                wanted
                    .filter(|id| BODIES.contains(id))
                    .find(|id| here.iter().all(|body| body.id() != *id))
                    .map(str::to_owned)
            });
            if let Some(Some(next)) = next {
                handle.act(Action::ChooseBody(next));
                return;
            }
            let set = set.clone();
            spawn_local(async move {
                let words = match &set.vocabulary {
                    Some(own) => app::course::vocabulary::from_json(own).ok(),
                    None => match fetch::whole(&page_data("vocabulary")).await {
                        Ok(bytes) => app::course::vocabulary::read(&bytes).ok(),
                        Err(_) => None,
                    },
                };
                let Ok(palette) = drawing::palette() else {
                    return;
                };
                let sheet = here.with_value(|bodies| {
                    sheet(&set, seed, bodies, words.as_ref(), &palette, texts)
                });
                made.set(Some(sheet));
            });
        }
        _ => {}
    });
}

fn paper_view(sheet: Sheet, named: RwSignal<bool>) -> AnyView {
    let words = language::texts().worksheet;
    let answers = sheet.questions.iter().map(answer).collect::<Vec<AnyView>>();
    let questions = sheet
        .questions
        .into_iter()
        .map(question)
        .collect::<Vec<AnyView>>();
    let acquire = (!sheet.acquire.is_empty()).then(|| {
        let views = sheet
            .acquire
            .into_iter()
            .map(|view| view! { <li>{view}</li> }.into_any())
            .collect::<Vec<AnyView>>();
        view! {
            <section class="sheet-question">
                <h2>{words.acquire}</h2>
                <ul class="sheet-options">{views}</ul>
            </section>
        }
        .into_any()
    });
    view! {
        <h1>{sheet.title.clone()}</h1>
        <p class="sheet-name" hidden=move || !named.get()>
            {words.name}
            ": "
        </p>
        <p>{sheet.description}</p>
        <p class="sheet-key">{words.key}</p>
        <ol class="sheet-questions">{questions}</ol>
        {acquire}
        <section class="sheet-answers">
            <h2>{format!("{}: {}", words.answers, sheet.title)}</h2>
            <ol>{answers}</ol>
            <p class="note">{sheet.left_out}</p>
        </section>
        <p class="sheet-foot">{sheet.foot}</p>
    }
    .into_any()
}

fn question(question: SheetQuestion) -> AnyView {
    let texts = language::texts();
    let words = texts.worksheet;
    let number = usize::try_from(question.points).unwrap_or(1);
    let points = texts
        .counted(words.points, number)
        .replace("{}", &question.points.to_string());
    let pictures = figures(question.pictures);
    let parts = question
        .parts
        .into_iter()
        .map(|(heading, options)| {
            let options = options
                .into_iter()
                .map(|option| view! { <li>{option}</li> }.into_any())
                .collect::<Vec<AnyView>>();
            view! {
                <p class="sheet-part">{heading}</p>
                <ul class="sheet-options">{options}</ul>
            }
            .into_any()
        })
        .collect::<Vec<AnyView>>();
    let line = question.line.then(|| parts::paragraph("sheet-line", ""));
    view! {
        <li class="sheet-question">
            <p class="sheet-prompt">
                {question.prompt} <span class="soft">{format!(" ({points})")}</span>
            </p>
            <p>{question.words}</p>
            <div class="sheet-pictures">{pictures}</div>
            {parts}
            {line}
        </li>
    }
    .into_any()
}

fn figures(pictures: Vec<(String, String)>) -> Vec<AnyView> {
    pictures
        .into_iter()
        .map(|(svg, caption)| {
            // The program's own drawing: outlines and letters, no text from anybody else.
            view! {
                <figure>
                    <div inner_html=svg></div>
                    <figcaption>{caption}</figcaption>
                </figure>
            }
            .into_any()
        })
        .collect()
}

fn answer(question: &SheetQuestion) -> AnyView {
    let (answer, reason) = (question.answer.clone(), question.reason.clone());
    let pictures = figures(question.answer_pictures.clone());
    let pictures = (!pictures.is_empty())
        .then(|| view! { <div class="sheet-pictures">{pictures}</div> }.into_any());
    view! {
        <li>
            <b>{answer}</b>
            " "
            {reason}
            {pictures}
        </li>
    }
    .into_any()
}
