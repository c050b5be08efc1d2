//! What can be changed of the question that is open.

use super::share::open_preview;
use super::{Workshop, count_field, option_menu, text_field};
use crate::panels::parts::{self, Button};
use app::Action;
use app::course::set::Difficulty;
use app::geometry::{ImageSide, PatientSide};
use app::practice::skill::{side_from_key, side_key};
use app::practice::{Kind, PlaneClass};
use app::teach::{EntryForm, Option3, TeachAction, TeachView};
use leptos::prelude::*;

/// The form; nothing where no question is open.
pub(super) fn form(work: Workshop) -> AnyView {
    let shape = work.value(|view| view.form.as_ref().map(|form| (form.entry, shape(form))));
    let body = move || {
        shape
            .get()
            .map(|(entry, shape)| fields(work, entry, &shape))
    };
    view! { <div class="question-form">{body}</div> }.into_any()
}

/// Which fields there are; while this stays, the fields stay and only their values change.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Shape {
    kinds: bool,
    sides: bool,
    structures: bool,
    drawn: bool,
}

fn shape(form: &EntryForm) -> Shape {
    Shape {
        kinds: !form.kinds.is_empty(),
        sides: !form.sides.is_empty(),
        structures: !form.structures.is_empty(),
        drawn: form.drawn.is_some(),
    }
}

fn fields(work: Workshop, entry: usize, shape: &Shape) -> AnyView {
    let words = work.texts();
    let read = |pick: fn(&EntryForm) -> String| {
        work.value(move |view| view.form.as_ref().map(pick).unwrap_or_default())
    };
    let whole = |text: &str| text.trim().parse::<u32>().unwrap_or(1);
    let mut fields = Vec::new();
    if shape.kinds {
        fields.push(menu(
            work,
            "form-kind",
            words.kind,
            |form| form.kinds.clone(),
            move |key| Kind::from_key(key).map(|kind| TeachAction::Kind(entry, kind)),
        ));
    }
    if shape.sides {
        fields.push(menu(
            work,
            "form-side",
            words.side,
            |form| form.sides.clone(),
            move |key| {
                let side = ImageSide::ALL.into_iter().find(|side| side.word() == key);
                Some(TeachAction::Side(entry, side))
            },
        ));
    }
    if shape.structures {
        fields.push(menu(
            work,
            "form-structure",
            words.structure,
            |form| form.structures.clone(),
            move |key| {
                let id = (!key.is_empty()).then(|| key.to_owned());
                Some(TeachAction::Structure(entry, id))
            },
        ));
    }
    if shape.drawn {
        fields.extend(drawn(work, entry));
    } else {
        let show = Button::new(words.show_view, move || {
            if let Some(fragment) = work.read(|teach| teach.fragment(entry)) {
                work.handle.act(Action::OpenLink(fragment));
            }
        });
        let take = Button::new(words.take_view, move || {
            work.act(TeachAction::TakeView(entry));
        });
        fields.push(parts::div("row", vec![show.view(), take.view()]));
    }
    let preview = Button::new(words.preview_one, move || {
        open_preview(work, Some(entry));
    });
    fields.push(parts::div("row", vec![preview.view()]));
    fields.push(text_field(
        "form-prompt",
        words.prompt,
        true,
        read(|form| form.prompt.clone()),
        Callback::new(move |text| work.act(TeachAction::Prompt(entry, text))),
    ));
    fields.push(text_field(
        "form-hint",
        words.hint,
        true,
        read(|form| form.hint.clone()),
        Callback::new(move |text| work.act(TeachAction::Hint(entry, text))),
    ));
    fields.push(count_field(
        "form-points",
        words.points,
        "",
        read(|form| form.points.to_string()),
        Callback::new(move |text: String| work.act(TeachAction::Points(entry, whole(&text)))),
    ));
    parts::group("form-title", words.edit, fields)
}

fn drawn(work: Workshop, entry: usize) -> Vec<AnyView> {
    let words = work.texts();
    let count = work.value(|view| {
        let drawn = view.form.as_ref().and_then(|form| form.drawn.as_ref());
        drawn
            .map(|drawn| drawn.count.to_string())
            .unwrap_or_default()
    });
    vec![
        count_field(
            "form-count",
            words.count,
            "",
            count,
            Callback::new(move |text: String| {
                let count = text.trim().parse().unwrap_or(1);
                work.act(TeachAction::Count(entry, count));
            }),
        ),
        menu(
            work,
            "form-drawn-kind",
            words.kind,
            |form| {
                form.drawn
                    .as_ref()
                    .map(|drawn| drawn.kinds.clone())
                    .unwrap_or_default()
            },
            move |key| Some(TeachAction::DrawnKind(entry, Kind::from_key(key))),
        ),
        menu(
            work,
            "form-level",
            words.difficulty_field,
            |form| {
                form.drawn
                    .as_ref()
                    .map(|drawn| drawn.levels.clone())
                    .unwrap_or_default()
            },
            move |key| {
                let found = Difficulty::WORDS.iter().find(|(word, _)| *word == key);
                found.map(|(_, level)| TeachAction::Difficulty(entry, *level))
            },
        ),
        menu(
            work,
            "form-plane",
            words.plane_field,
            |form| {
                form.drawn
                    .as_ref()
                    .map(|drawn| drawn.planes.clone())
                    .unwrap_or_default()
            },
            move |key| Some(TeachAction::Plane(entry, PlaneClass::from_key(key))),
        ),
        menu(
            work,
            "form-approach",
            words.approach,
            |form| {
                form.drawn
                    .as_ref()
                    .map(|drawn| drawn.approaches.clone())
                    .unwrap_or_default()
            },
            move |key| {
                let side: Option<PatientSide> =
                    side_from_key(key).filter(|side| side_key(*side) == key);
                Some(TeachAction::Approach(entry, side))
            },
        ),
    ]
}

fn menu(
    work: Workshop,
    id: &'static str,
    label: &'static str,
    pick: fn(&EntryForm) -> Vec<Option3>,
    act: impl Fn(&str) -> Option<TeachAction> + Send + Sync + 'static,
) -> AnyView {
    let of_form = move |view: &TeachView| view.form.as_ref().map(pick).unwrap_or_default();
    option_menu(work, id, label, of_form, act)
}
