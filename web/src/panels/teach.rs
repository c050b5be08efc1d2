//! The panel of the workshop: settings, the list of questions, what can be changed of one, and how the set goes out.

mod acquire;
mod form;
mod list;
mod share;

use super::parts::{self, Button, Group, Menu};
use crate::desk::Handle;
use crate::examination::chance;
use crate::platform::store;
use crate::teach::KEPT;
use app::course::set;
use app::geometry::{ApexSide, BodyPosition, MarkSide};
use app::practice::Kind;
use app::teach::{Option3, Settings, Teach, TeachAction, TeachView};
use app::texts::TeachTexts;
use leptos::prelude::*;

pub(crate) use share::preview;

/// The set in the making, and what is shown of it.
#[derive(Clone, Copy)]
pub(crate) struct Workshop {
    pub(crate) handle: Handle,
    teach: StoredValue<Teach, LocalStorage>,
    pub(crate) shown: RwSignal<TeachView>,
    /// The words of the last thing that was done with the outside.
    pub(crate) said: RwSignal<String>,
    /// The address of what is previewed, while it is.
    pub(crate) preview: RwSignal<Option<String>>,
}

impl Workshop {
    pub(crate) fn new(handle: Handle) -> Self {
        let mut teach = Teach::default();
        let texts = handle.texts();
        let view = handle
            .with(|desk| desk.read(|state| teach.view(state, texts)))
            .flatten();
        let work = Self {
            handle,
            shown: RwSignal::new(view.unwrap_or_else(TeachView::empty)),
            teach: StoredValue::new_local(teach),
            said: RwSignal::new(String::new()),
            preview: RwSignal::new(None),
        };
        work.refresh();
        work
    }

    pub(crate) fn texts(self) -> TeachTexts {
        self.handle.texts().teach
    }

    /// Does something to the set, shows it, and keeps it.
    pub(crate) fn act(self, action: TeachAction) {
        let changed = self
            .handle
            .with(|desk| {
                desk.read(|state| {
                    self.teach
                        .try_update_value(|teach| teach.update(action, state))
                })
            })
            .flatten()
            .flatten();
        if changed == Some(true) {
            self.refresh();
            store::set(KEPT, &self.read(Teach::kept));
        }
    }

    /// Shows the set as it is, its questions tried anew.
    pub(crate) fn refresh(self) {
        let texts = self.handle.texts();
        let view = self
            .handle
            .with(|desk| {
                desk.read(|state| {
                    self.teach
                        .try_update_value(|teach| teach.view(state, texts))
                })
            })
            .flatten()
            .flatten();
        if let Some(view) = view
            && self.shown.with_untracked(|old| *old != view)
        {
            self.shown.set(view);
        }
    }

    /// The set as learners get it.
    pub(crate) fn given(self) -> set::Set {
        let untitled = self.texts().untitled;
        self.read(|teach| teach.given(untitled))
    }

    /// Reads the set in the making.
    pub(crate) fn read<T>(self, look: impl FnOnce(&Teach) -> T) -> T {
        self.teach.with_value(look)
    }

    /// A value of what is shown.
    pub(crate) fn value<T: Clone + PartialEq + Send + Sync + 'static>(
        self,
        pick: impl Fn(&TeachView) -> T + Send + Sync + 'static,
    ) -> Memo<T> {
        Memo::new(move |_| self.shown.with(&pick))
    }
}

/// The panel.
pub(crate) fn panel(work: Workshop) -> AnyView {
    let words = work.texts();
    let notes = work.value(|view| view.notes.join(" "));
    let said = work.said;
    let summary = work.value(|view| view.summary.clone());
    let title = text_field(
        "set-title",
        words.name,
        false,
        work.value(|view| view.settings.title.clone()),
        Callback::new(move |text| work.act(TeachAction::Title(text))),
    );
    let parts = vec![
        parts::div(
            "column",
            vec![
                parts::div(
                    "group",
                    vec![
                        title,
                        parts::paragraph("note summary", summary),
                        history(work),
                    ],
                ),
                share::files(work),
                add(work),
                list::list(work),
            ],
        ),
        parts::div(
            "column",
            vec![
                form::form(work),
                acquire::acquire(work),
                settings(work),
                share::share(work),
            ],
        ),
    ];
    view! {
        <section class="panel teach-panel" aria-label=words.set tabindex="0">
            <h2 class="teach-title">{words.title}</h2>
            <p class="notice" role="status" hidden=move || notes.with(String::is_empty)>
                {notes}
            </p>
            {parts}
            <p class="note" id="teach-said" role="status">
                {said}
            </p>
        </section>
    }
    .into_any()
}

fn history(work: Workshop) -> AnyView {
    let texts = work.handle.texts().panels;
    let step = |label: &'static str, action: TeachAction, can: fn(&TeachView) -> bool| {
        let can = work.value(can);
        Button {
            disabled: Signal::derive(move || !can.get()),
            ..Button::new(label, move || work.act(action.clone()))
        }
        .view()
    };
    parts::div(
        "row",
        vec![
            step(texts.undo, TeachAction::Undo, |view| view.can_undo),
            step(texts.redo, TeachAction::Redo, |view| view.can_redo),
        ],
    )
}

/// What to ask about the view on the page.
fn add(work: Workshop) -> AnyView {
    let words = work.texts();
    let chosen = RwSignal::new(Kind::PlaneFromProbe.key().to_owned());
    let kinds: Vec<_> = Kind::ALL
        .into_iter()
        .map(|kind| (kind.key().to_owned(), words.kind(kind).to_owned()))
        .collect();
    let menu = Menu {
        id: "add-kind",
        class: "",
        name: Some(words.kind),
        groups: Group::fixed(kinds),
        chosen: chosen.into(),
        choose: Callback::new(move |key| chosen.set(key)),
    };
    let one = Button {
        class: "firm",
        ..Button::new(words.add_button, move || {
            if let Some(kind) = Kind::from_key(&chosen.get_untracked()) {
                work.act(TeachAction::Add(kind));
            }
        })
    };
    let many = Button::new(words.add_drawn, move || work.act(TeachAction::AddDrawn));
    parts::group(
        "add-title",
        words.add,
        vec![
            menu.view(),
            parts::div("row", vec![one.view(), many.view()]),
        ],
    )
}

fn settings(work: Workshop) -> AnyView {
    let words = work.texts();
    let read = |pick: fn(&Settings) -> String| work.value(move |view| pick(&view.settings));
    let flag = |pick: fn(&Settings) -> bool| {
        let value = work.value(move |view| pick(&view.settings));
        Signal::derive(move || value.get())
    };
    let whole = |text: &str| text.trim().parse::<u32>().ok();
    let tick =
        |name: &'static str, label: &str, value: Signal<bool>, act: fn(bool) -> TeachAction| {
            let change = Callback::new(move |on| work.act(act(on)));
            parts::tick("checkbox", name, label.to_owned(), value, change)
        };
    let fields = vec![
        option_menu(
            work,
            "set-body",
            words.body,
            |view| view.settings.bodies.clone(),
            |key| Some(TeachAction::Body(key.to_owned())),
        ),
        option_menu(
            work,
            "set-position",
            words.position,
            |view| view.settings.positions.clone(),
            |key| {
                BodyPosition::ALL
                    .into_iter()
                    .find(|one| one.key() == key)
                    .map(TeachAction::Position)
            },
        ),
        option_menu(
            work,
            "set-mark",
            words.mark,
            |view| view.settings.marks.clone(),
            |key| {
                [MarkSide::Left, MarkSide::Right]
                    .into_iter()
                    .find(|one| one.word() == key)
                    .map(TeachAction::Mark)
            },
        ),
        option_menu(
            work,
            "set-apex",
            words.apex,
            |view| view.settings.apexes.clone(),
            |key| {
                [ApexSide::Top, ApexSide::Bottom]
                    .into_iter()
                    .find(|one| one.word() == key)
                    .map(TeachAction::Apex)
            },
        ),
        text_field(
            "set-description",
            words.description,
            true,
            read(|s| s.description.clone()),
            Callback::new(move |text| work.act(TeachAction::Description(text))),
        ),
        count_field(
            "set-pass",
            words.pass,
            "%",
            read(|s| s.pass_percent.map_or_else(String::new, |p| p.to_string())),
            Callback::new(move |text: String| work.act(TeachAction::Pass(whole(&text)))),
        ),
        count_field(
            "set-attempts",
            words.attempts,
            "",
            read(|s| s.attempts.to_string()),
            Callback::new(move |text: String| {
                work.act(TeachAction::Attempts(whole(&text).unwrap_or(1)));
            }),
        ),
        count_field(
            "set-tolerance",
            words.tolerance,
            "°",
            read(|s| super::measure::number(s.tolerance_deg)),
            Callback::new(move |text: String| {
                if let Ok(degrees) = text.trim().parse() {
                    work.act(TeachAction::Tolerance(degrees));
                }
            }),
        ),
        parts::div(
            "choices",
            vec![
                tick(
                    "shuffle",
                    words.shuffle,
                    flag(|s| s.shuffled),
                    TeachAction::Shuffle,
                ),
                tick(
                    "at-end",
                    words.at_end,
                    flag(|s| s.at_end),
                    TeachAction::TellAtEnd,
                ),
                tick("hints", words.hints, flag(|s| s.hints), TeachAction::Hints),
                tick("seeded", words.seeded, flag(|s| s.seeded), |on| {
                    // A number that can be read out over a table.
                    TeachAction::Seed(on.then(|| chance() >> 44))
                }),
                tick(
                    "report-failed",
                    words.report_failed,
                    flag(|s| s.report_failed),
                    TeachAction::ReportFailed,
                ),
            ],
        ),
        parts::paragraph("note", words.report_failed_note),
        text_field(
            "set-language",
            words.language,
            false,
            read(|s| s.language.clone()),
            Callback::new(move |text| work.act(TeachAction::Language(text))),
        ),
        text_field(
            "set-label",
            words.label,
            false,
            read(|s| s.label.clone()),
            Callback::new(move |text| work.act(TeachAction::Label(text))),
        ),
        parts::paragraph("note", words.label_note),
    ];
    view! {
        <details class="group">
            <summary>{words.settings}</summary>
            {fields}
        </details>
    }
    .into_any()
}

/// A menu under a label.
pub(crate) fn option_menu(
    work: Workshop,
    id: &'static str,
    label: &'static str,
    pick: impl Fn(&TeachView) -> Vec<Option3> + Send + Sync + 'static,
    act: impl Fn(&str) -> Option<TeachAction> + Send + Sync + 'static,
) -> AnyView {
    let options = work.value(pick);
    let groups = Memo::new(move |_| {
        options.with(|options| {
            let plain = options
                .iter()
                .map(|(key, words, _)| (key.clone(), words.clone()));
            vec![Group::plain(plain.collect())]
        })
    });
    let chosen = Signal::derive(move || {
        options.with(|options| {
            let chosen = options.iter().find(|(_, _, chosen)| *chosen);
            chosen.map(|(key, ..)| key.clone()).unwrap_or_default()
        })
    });
    let menu = Menu {
        id,
        class: "",
        name: None,
        groups,
        chosen,
        choose: Callback::new(move |key: String| {
            if let Some(action) = act(&key) {
                work.act(action);
            }
        }),
    };
    parts::field(id, label, menu.view())
}

/// A line or some lines of text under a label; taken when the typing is done.
pub(crate) fn text_field(
    id: &'static str,
    label: &'static str,
    long: bool,
    value: Memo<String>,
    set: Callback<String>,
) -> AnyView {
    let input = if long {
        view! {
            <textarea
                id=id
                rows="2"
                prop:value=value
                on:change=move |event| set.run(event_target_value(&event))
            ></textarea>
        }
        .into_any()
    } else {
        view! {
            <input
                type="text"
                id=id
                autocomplete="off"
                prop:value=value
                on:change=move |event| set.run(event_target_value(&event))
            />
        }
        .into_any()
    };
    view! {
        <div class="wide-field">
            <label for=id>{label}</label>
            {input}
        </div>
    }
    .into_any()
}

/// A whole number under a label.
pub(crate) fn count_field(
    id: &'static str,
    label: &'static str,
    unit: &'static str,
    value: Memo<String>,
    set: Callback<String>,
) -> AnyView {
    view! {
        <div class="count-field">
            <label for=id>{label}</label>
            <input
                type="number"
                id=id
                inputmode="numeric"
                prop:value=value
                on:change=move |event| {
                    set.run(event_target_value(&event));
                    // What was made of it is shown, also when it stays as it was.
                    event_target::<web_sys::HtmlInputElement>(&event).set_value(&value.get_untracked());
                }
            />
            <span class="unit" aria-hidden="true">
                {unit}
            </span>
        </div>
    }
    .into_any()
}
