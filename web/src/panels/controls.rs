//! The controls: everything a hand or a scanner's panel does, also by number and by button.

use super::choice;
use super::dial::{DialView, dial};
use super::measure::{Measure, number, number_field};
use super::parts::{self, Button, Group, Menu};
use super::words;
use crate::desk::Handle;
use app::views::{MovementView, Panels};
use app::{Action, Movement, SlideAxis, Step, Way};
use leptos::prelude::*;

/// All controls.
pub(crate) fn controls(handle: Handle) -> AnyView {
    let label = handle.texts().panels.probe;
    let hand = parts::div(
        "column",
        vec![notch(handle), movements(handle), history(handle)],
    );
    let setup = parts::div(
        "column",
        vec![
            places(handle),
            slide(handle),
            display(handle),
            body_and_view(handle),
        ],
    );
    view! {
        <section class="panel" aria-label=label>
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

fn notch(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = texts.panels;
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
    let label = format!("{}, {}", panels.notch, words::DEGREES);
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
    let beside = parts::div("side-by", vec![clock, turn, reverse]);
    let row = parts::div(
        "notch-row",
        vec![dial(view, panels.notch_dial, set, end), beside],
    );
    parts::group("notch-title", panels.notch, vec![row])
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
        unit_words: words::MILLIMETRES,
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
            row(Movement::Tilt, "tilt", texts.units.degrees, words::DEGREES),
            row(Movement::Rock, "rock", texts.units.degrees, words::DEGREES),
            row(
                Movement::Compress,
                "compress",
                texts.units.mm,
                words::MILLIMETRES,
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
    let panels = handle.shown().panels;
    // The list itself only changes with the body.
    let groups = Memo::new(move |_| {
        panels.with(|panels| {
            let free = Group::plain(vec![(String::new(), words::NO_WINDOW.to_owned())]);
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
        unit_words: words::DEGREES,
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

/// From section to grey-scale, and its gain.
fn grey(handle: Handle) -> Vec<AnyView> {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let end = Callback::new(move |()| handle.end());
    let share = Measure {
        id: "grey",
        name: texts.panels.grey_share,
        label: texts.panels.grey_share,
        unit: texts.units.percent,
        unit_words: words::PERCENT,
        range: Signal::stored((0.0, 100.0)),
        value: Signal::derive(move || panels.with(|panels| panels.display.grey_percent)),
        words: Signal::stored(String::new()),
        set: Callback::new(move |value| handle.act(Action::SetGrey(value))),
        end,
    };
    let gain = Measure {
        id: "gain",
        name: texts.panels.gain,
        label: texts.panels.gain,
        unit: texts.units.db,
        unit_words: words::DECIBELS,
        range: Signal::stored(app::GreyChoice::GAIN_RANGE_DB),
        value: Signal::derive(move || panels.with(|panels| panels.display.gain_db)),
        words: Signal::stored(String::new()),
        set: Callback::new(move |value| handle.act(Action::SetGain(value))),
        end,
    };
    vec![share.view(), gain.view()]
}

/// What is changed seldom.
fn body_and_view(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let shown = Signal::derive(move || panels.with(|panels| panels.scene.skin_shown));
    let change = Callback::new(move |shown| handle.act(Action::ShowSkin(shown)));
    let skin = parts::tick(
        "checkbox",
        "skin",
        handle.texts().panels.show_skin.to_owned(),
        shown,
        change,
    );
    parts::group(
        "more-title",
        words::MORE,
        vec![
            choice::menu(handle, "position", |panels| &panels.scene.position),
            choice::menu(handle, "seat", |panels| &panels.scene.seat),
            choice::menu(handle, "filter", |panels| &panels.scene.filter),
            parts::div("choices", vec![skin]),
        ],
    )
}
