//! The controls: everything a hand or a scanner's panel does, also by number and by button.

use super::dial::{DialView, dial};
use super::measure::{Measure, number, number_field};
use super::parts::{self, Button, Group, Menu};
use super::tuning::tuning;
use super::volume::volume;
use super::why::{self, why};
use super::{acquire, choice};
use crate::desk::Handle;
use app::views::{MovementView, Panels};
use app::why::Ask;
use app::{Action, Movement, SlideAxis, Step, Way};
use leptos::prelude::*;

/// All controls.
pub(crate) fn controls(handle: Handle) -> AnyView {
    let label = handle.texts().panels.probe;
    let hand = parts::div(
        "column",
        vec![
            notch(handle),
            movements(handle),
            history(handle),
            acquire::requested(handle),
        ],
    );
    let setup = parts::div(
        "column",
        vec![
            places(handle),
            slide(handle),
            display(handle),
            tuning(handle),
            volume(handle),
            body_and_view(handle),
        ],
    );
    view! {
        <section class="panel" aria-label=label>
            {why(handle)}
            {hand}
            {setup}
        </section>
    }
    .into_any()
}

/// A text of the panels.
fn text(
    handle: Handle,
    read: impl Fn(&Panels) -> String + Send + Sync + 'static,
) -> Signal<String> {
    let panels = handle.shown().panels;
    Signal::derive(move || panels.with(&read))
}

fn history(handle: Handle) -> AnyView {
    let texts = handle.texts().panels;
    let panels = handle.shown().panels;
    let step = |label: &'static str, action: fn() -> Action, can: fn(&Panels) -> bool| {
        let disabled = Signal::derive(move || panels.with(|panels| !can(panels)));
        Button {
            disabled,
            ..Button::new(label, move || handle.act(action()))
        }
        .view()
    };
    parts::div(
        "group row",
        vec![
            step(
                texts.undo,
                || Action::Undo,
                |panels| panels.history.can_undo,
            ),
            step(
                texts.redo,
                || Action::Redo,
                |panels| panels.history.can_redo,
            ),
            step(texts.reset, || Action::Reset, |_| true),
        ],
    )
}

/// One of the four movements of the probe.
fn movement(panels: &Panels, wanted: Movement) -> &MovementView {
    let [first, ..] = &panels.probe.movements;
    panels
        .probe
        .movements
        .iter()
        .find(|movement| movement.movement == wanted)
        .unwrap_or(first)
}

/// What a value means, without the number in front.
fn meaning(text: &str) -> String {
    text.split_once(", ")
        .map(|(_, words)| words.to_owned())
        .unwrap_or_default()
}

pub(crate) fn notch(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = &texts.panels;
    let all = handle.shown().panels;
    let view = Signal::derive(move || {
        all.with(|panels| {
            let clock = &panels.probe.clock;
            DialView {
                degrees: clock.degrees,
                words: format!(
                    "{}, {}",
                    clock.hours,
                    meaning(&movement(panels, Movement::Rotate).value_text)
                ),
                around: clock.letters.clone(),
            }
        })
    });
    let set = Callback::new(move |degrees: f64| {
        handle.act(Action::SetMovement(Movement::Rotate, degrees));
    });
    let end = Callback::new(move |()| handle.end());
    let hours = text(handle, |panels| panels.probe.clock.hours.clone());
    let toward = text(handle, |panels| {
        meaning(&movement(panels, Movement::Rotate).value_text)
    });
    let shown = text(handle, |panels| {
        number(movement(panels, Movement::Rotate).value)
    });
    let typed = Callback::new(move |text: String| {
        if let Ok(degrees) = text.trim().parse::<f64>() {
            set.run(degrees);
        }
    });
    let label = format!("{}, {}", panels.notch, texts.page.degrees);
    let quarter = |sign: &'static str, name: &'static str, way: Way| {
        Button::new(sign, move || handle.act(Action::QuarterTurn(way)))
            .named(move || name.to_owned())
            .view()
    };
    let turn = parts::div(
        "turn",
        vec![
            number_field("notch-number".to_owned(), label, shown, typed, end),
            view! { <span class="unit" aria-hidden="true">{texts.units.degrees}</span> }.into_any(),
            quarter("−90°", panels.quarter_anticlockwise, Way::Back),
            quarter("+90°", panels.quarter_clockwise, Way::Forward),
        ],
    );
    let clock = parts::div(
        "clock",
        vec![
            parts::paragraph("hours", hours),
            parts::paragraph("toward", toward),
        ],
    );
    let reverse = Button::new(panels.reverse_notch, move || {
        handle.act(Action::ReverseNotch);
    })
    .view();
    let mark = Button {
        class: "asks-mark",
        ..Button::new(texts.why.ask_mark, move || why::ask(handle, Ask::Mark))
    }
    .view();
    let both = parts::div("turn", vec![reverse, mark]);
    let beside = parts::div("side-by", vec![clock, turn, both]);
    let row = parts::div(
        "notch-row",
        vec![dial(view, panels.notch_dial, set, end), beside],
    );
    let follows = text(handle, |panels| panels.probe.clock.follows.clone());
    let follows = parts::paragraph("follows", follows);
    parts::group(
        "notch-title",
        panels.notch,
        vec![row, follows, predict(handle)],
    )
}

/// A prediction before the notch turns, where it is wanted.
fn predict(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let on = Signal::derive(move || panels.with(|panels| panels.predict.on));
    let switch = parts::tick(
        "checkbox",
        "predict",
        handle.texts().predict.switch.to_owned(),
        on,
        Callback::new(move |on| handle.act(Action::SetPredicting(on))),
    );
    let answers = Memo::new(move |_| panels.with(|panels| panels.predict.answers.clone()));
    // Where each answer stands: as the sides of the picture do.
    const PLACES: [&str; 5] = ["left", "right", "top", "bottom", "none"];
    let buttons = move || {
        let button = |(item, place): (app::views::MenuItem, &'static str)| {
            let action = item.action;
            Button {
                class: place,
                ..Button::new(Signal::stored(item.label), move || {
                    handle.act(action.clone());
                })
            }
            .view()
        };
        answers
            .get()
            .into_iter()
            .zip(PLACES)
            .map(button)
            .collect::<Vec<AnyView>>()
    };
    let asked = text(handle, |panels| panels.predict.question.clone());
    let told = text(handle, |panels| panels.predict.verdict.clone());
    let unasked = Signal::derive(move || asked.with(String::is_empty));
    let untold = Signal::derive(move || told.with(String::is_empty));
    let verdict_class = text(handle, |panels| {
        match panels.predict.right {
            Some(true) => "verdict right",
            Some(false) => "verdict wrong",
            None => "verdict",
        }
        .to_owned()
    });
    let (question, verdict) = (
        NodeRef::<leptos::html::P>::new(),
        NodeRef::<leptos::html::P>::new(),
    );
    let asker = StoredValue::new_local(None::<web_sys::Element>);
    let host = NodeRef::<leptos::html::Div>::new();
    // The focus goes to the question, then to what was true, and back to where it was: so both are read, and keys go on.
    Effect::new(move |before: Option<(bool, bool)>| {
        let now = (!unasked.get(), !untold.get());
        let was = before.unwrap_or_default();
        if now == was {
            return now;
        }
        if now.0 && !was.0 {
            asker.set_value(why::active());
        }
        let there = if now.1 { verdict } else { question };
        if now.0 {
            why::focus(there.get_untracked().map(Into::into));
            // Once the answers stand there, all of it is brought into sight.
            request_animation_frame(move || {
                if let Some(host) = host.get_untracked() {
                    let bottom = host.get_bounding_client_rect().bottom();
                    if bottom
                        > window()
                            .inner_height()
                            .ok()
                            .and_then(|room| room.as_f64())
                            .unwrap_or(bottom)
                    {
                        host.scroll_into_view_with_bool(false);
                    }
                }
            });
        } else if why::active().is_none_or(|here| {
            here.closest(".predict").is_ok_and(|at| at.is_some()) || here.tag_name() == "BODY"
        }) {
            why::focus(asker.try_update_value(Option::take).flatten());
        }
        now
    });
    let texts = handle.texts();
    let not_now = Button::new(texts.predict.not_now, move || {
        handle.act(Action::SetPredicting(true));
    });
    let ask_why = Button::new(texts.why.ask, move || {
        let side = panels.with_untracked(|panels| panels.predict.side);
        if let Some(side) = side {
            why::ask(handle, Ask::Side(side));
        }
    });
    view! {
        <div
            class="predict"
            node_ref=host
            on:keydown=move |event: web_sys::KeyboardEvent| {
                if event.key() == "Escape" && !unasked.get_untracked() {
                    handle.act(Action::SetPredicting(true));
                }
            }
        >
            <div class="choices">{switch}</div>
            <p class="question" tabindex="-1" id="predict-question" node_ref=question hidden=unasked>
                {asked}
            </p>
            <div class="answers" role="group" aria-label=texts.predict.answers hidden=move || unasked.get() || !untold.get()>
                {buttons} <div class="away">{not_now.view()}</div>
            </div>
            <p class=verdict_class tabindex="-1" id="predict-verdict" node_ref=verdict hidden=untold>
                {told}
            </p>
            <div class="row" hidden=untold>
                {ask_why.view()}
            </div>
        </div>
    }
    .into_any()
}

fn movements(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let end = Callback::new(move |()| handle.end());
    let row = |wanted: Movement, id: &'static str, unit: &'static str, unit_words: &'static str| {
        let name = texts.movement(wanted).name;
        Measure {
            id,
            name,
            label: name,
            unit,
            unit_words,
            range: Signal::derive(move || {
                panels.with(|panels| {
                    (
                        movement(panels, wanted).least,
                        movement(panels, wanted).most,
                    )
                })
            }),
            value: Signal::derive(move || panels.with(|panels| movement(panels, wanted).value)),
            words: text(handle, move |panels| {
                meaning(&movement(panels, wanted).value_text)
            }),
            set: Callback::new(move |value| handle.act(Action::SetMovement(wanted, value))),
            end,
        }
        .view()
    };
    let depth = Measure {
        id: "depth",
        name: texts.panels.depth,
        label: texts.panels.depth,
        unit: texts.units.mm,
        unit_words: texts.page.millimetres,
        range: Signal::derive(move || {
            panels.with(|panels| (panels.depth.least_mm, panels.depth.most_mm))
        }),
        value: Signal::derive(move || panels.with(|panels| panels.depth.value_mm)),
        words: Signal::stored(String::new()),
        set: Callback::new(move |value| handle.act(Action::SetDepth(value))),
        end,
    };
    parts::group(
        "probe-title",
        texts.panels.probe,
        vec![
            row(
                Movement::Tilt,
                "tilt",
                texts.units.degrees,
                texts.page.degrees,
            ),
            row(
                Movement::Rock,
                "rock",
                texts.units.degrees,
                texts.page.degrees,
            ),
            row(
                Movement::Compress,
                "compress",
                texts.units.mm,
                texts.page.millimetres,
            ),
            depth.view(),
        ],
    )
}

/// Named windows, transducer, body.
fn places(handle: Handle) -> AnyView {
    parts::div(
        "group",
        vec![
            windows(handle),
            choice::menu(handle, "transducer", |panels| &panels.display.transducer),
            choice::menu(handle, "body", |panels| &panels.scene.body),
        ],
    )
}

fn windows(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    // The list itself only changes with the body.
    let groups = Memo::new(move |_| {
        panels.with(|panels| {
            let free = Group::plain(vec![(String::new(), texts.page.no_window.to_owned())]);
            let regions = panels.windows.groups.iter().map(|group| Group {
                heading: Some(group.region.clone()),
                options: group
                    .windows
                    .iter()
                    .map(|item| (item.key.clone(), item.label.clone()))
                    .collect(),
            });
            std::iter::once(free).chain(regions).collect()
        })
    });
    let chosen = text(handle, |panels| {
        let mut all = panels
            .windows
            .groups
            .iter()
            .flat_map(|group| &group.windows);
        all.find(|item| item.chosen)
            .map(|item| item.key.clone())
            .unwrap_or_default()
    });
    let choose = Callback::new(move |key: String| {
        if !key.is_empty() {
            handle.act(Action::PickWindow(key));
        }
    });
    let menu = Menu {
        id: "window",
        class: "",
        name: None,
        groups,
        chosen,
        choose,
    };
    parts::field("window", handle.texts().panels.windows, menu.view())
}

/// Steps over the skin without a drag.
fn slide(handle: Handle) -> AnyView {
    let panels = handle.texts().panels;
    let button =
        |place: usize, axis: SlideAxis, way: Way, arrow: &'static str, name: &'static str| {
            let toward = text(handle, move |panels| {
                panels
                    .probe
                    .clock
                    .words
                    .get(place)
                    .cloned()
                    .unwrap_or_default()
            });
            let label = Signal::derive(move || format!("{arrow} {}", toward.get()));
            let act = move || {
                handle.act(Action::SlideStep(axis, way, Step::Coarse));
                handle.end();
            };
            Button::new(label, act)
                .named(move || format!("{name}: {arrow} {}", toward.get()))
                .view()
        };
    let pad = vec![
        button(
            0,
            SlideAxis::TwelveOClock,
            Way::Forward,
            "↑",
            panels.slide_head,
        ),
        button(
            2,
            SlideAxis::TwelveOClock,
            Way::Back,
            "↓",
            panels.slide_foot,
        ),
        button(3, SlideAxis::ThreeOClock, Way::Back, "←", panels.slide_nine),
        button(
            1,
            SlideAxis::ThreeOClock,
            Way::Forward,
            "→",
            panels.slide_three,
        ),
    ];
    parts::group("slide-title", panels.slide, vec![parts::div("pad", pad)])
}

/// Mark side, apex side, tolerance.
fn display(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let tolerance = Measure {
        id: "tolerance",
        name: "",
        label: texts.panels.tolerance,
        unit: texts.units.degrees,
        unit_words: texts.page.degrees,
        range: Signal::derive(move || {
            panels.with(|panels| {
                (
                    panels.display.least_tolerance_deg,
                    panels.display.most_tolerance_deg,
                )
            })
        }),
        value: Signal::derive(move || panels.with(|panels| panels.display.tolerance_deg)),
        words: Signal::stored(String::new()),
        set: Callback::new(move |value| handle.act(Action::SetTolerance(value))),
        end: Callback::new(move |()| handle.end()),
    };
    parts::group(
        "display-title",
        texts.panels.display,
        vec![
            parts::div("grey", grey(handle)),
            choice::radios(handle, "mark", |panels| &panels.display.mark),
            choice::radios(handle, "apex", |panels| &panels.display.apex),
            parts::paragraph("label", texts.panels.tolerance),
            tolerance.view(),
            parts::paragraph("note", texts.messages.tolerance_note),
        ],
    )
}

/// From section to grey-scale.
fn grey(handle: Handle) -> Vec<AnyView> {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let end = Callback::new(move |()| handle.end());
    let share = Measure {
        id: "grey",
        name: texts.panels.grey_share,
        label: texts.panels.grey_share,
        unit: texts.units.percent,
        unit_words: texts.page.percent,
        range: Signal::stored((0.0, 100.0)),
        value: Signal::derive(move || panels.with(|panels| panels.display.grey_percent)),
        words: Signal::stored(String::new()),
        set: Callback::new(move |value| handle.act(Action::SetGrey(value))),
        end,
    };
    vec![share.view()]
}

/// What is changed seldom.
fn body_and_view(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let shown = Signal::derive(move || panels.with(|panels| panels.scene.skin_shown));
    let change = Callback::new(move |shown| handle.act(Action::ShowSkin(shown)));
    let skin = parts::tick(
        "checkbox",
        "skin",
        texts.panels.show_skin.to_owned(),
        shown,
        change,
    );
    parts::group(
        "more-title",
        texts.page.more,
        vec![
            choice::menu(handle, "position", |panels| &panels.scene.position),
            choice::menu(handle, "seat", |panels| &panels.scene.seat),
            choice::menu(handle, "filter", |panels| &panels.scene.filter),
            parts::div("choices", vec![skin]),
        ],
    )
}
