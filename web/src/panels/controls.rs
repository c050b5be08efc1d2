//! The controls: everything a hand or a scanner's panel does, also by number and by button.

use super::choice::{Menu, Radios};
use super::dial::{Dial, DialView};
use super::measure::{Measure, Quantity};
use super::words;
use crate::desk::Handle;
use app::views::{MovementView, WindowsView};
use app::{Action, Movement, SlideAxis, Step, Way};
use leptos::prelude::*;

/// All controls.
#[component]
pub(crate) fn Controls(handle: Handle) -> impl IntoView {
    view! {
        <section class="panel" aria-label=handle.texts().panels.probe>
            <div class="column">
                <Notch handle />
                <Movements handle />
                <History handle />
            </div>
            <div class="column">
                <Places handle />
                <Slide handle />
                <Display handle />
                <BodyAndView handle />
            </div>
        </section>
    }
}

#[component]
fn History(handle: Handle) -> impl IntoView {
    let panels = handle.texts().panels;
    let history = handle.panel(|panels| &panels.history);
    view! {
        <div class="group row">
            <button
                type="button"
                prop:disabled=move || !history.get().can_undo
                on:click=move |_| handle.act(Action::Undo)
            >
                {panels.undo}
            </button>
            <button
                type="button"
                prop:disabled=move || !history.get().can_redo
                on:click=move |_| handle.act(Action::Redo)
            >
                {panels.redo}
            </button>
            <button type="button" on:click=move |_| handle.act(Action::Reset)>
                {panels.reset}
            </button>
        </div>
    }
}

/// One of the four movements of the probe.
fn movement(handle: Handle, wanted: Movement) -> Memo<MovementView> {
    let place = Movement::ALL
        .iter()
        .position(|known| *known == wanted)
        .unwrap_or(0);
    handle.panel(move |panels| {
        panels
            .probe
            .movements
            .get(place)
            .unwrap_or(&panels.probe.movements[0])
    })
}

/// What a value means, without the number in front.
fn meaning(text: &str) -> String {
    text.split_once(", ")
        .map(|(_, words)| words.to_owned())
        .unwrap_or_default()
}

#[component]
fn Notch(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let panels = texts.panels;
    let rotate = movement(handle, Movement::Rotate);
    let clock = handle.panel(|panels| &panels.probe.clock);
    let dial = Memo::new(move |_| {
        let clock = clock.get();
        DialView {
            degrees: clock.degrees,
            words: format!("{}, {}", clock.hours, meaning(&rotate.get().value_text)),
            around: clock.letters,
        }
    });
    let set = move |degrees: f64| handle.act(Action::SetMovement(Movement::Rotate, degrees));
    let end = move || handle.end();
    let typed = move |event| {
        if let Ok(degrees) = event_target_value(&event).trim().parse::<f64>() {
            set(degrees);
            end();
        }
    };
    view! {
        <section class="group" aria-labelledby="notch-title">
            <h2 id="notch-title">{panels.notch}</h2>
            <div class="notch-row">
                <Dial dial set end label=panels.notch_dial />
                <div class="side-by">
                    <p class="clock">
                        <b>{move || clock.get().hours}</b>
                        <span>{move || meaning(&rotate.get().value_text)}</span>
                    </p>
                    <p class="turn">
                        <input
                            type="number"
                            id="notch-number"
                            step="any"
                            inputmode="decimal"
                            aria-label=format!("{}, {}", panels.notch, words::DEGREES)
                            prop:value=move || super::measure::number(rotate.get().value)
                            on:change=typed
                        />
                        <span class="unit" aria-hidden="true">{texts.units.degrees}</span>
                        <button
                            type="button"
                            aria-label=panels.quarter_anticlockwise
                            on:click=move |_| handle.act(Action::QuarterTurn(Way::Back))
                        >
                            "−90°"
                        </button>
                        <button
                            type="button"
                            aria-label=panels.quarter_clockwise
                            on:click=move |_| handle.act(Action::QuarterTurn(Way::Forward))
                        >
                            "+90°"
                        </button>
                    </p>
                    <button type="button" on:click=move |_| handle.act(Action::ReverseNotch)>
                        {panels.reverse_notch}
                    </button>
                </div>
            </div>
        </section>
    }
}

#[component]
fn Movements(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let panels = texts.panels;
    let rows = [
        (Movement::Tilt, "tilt", texts.units.degrees, words::DEGREES),
        (Movement::Rock, "rock", texts.units.degrees, words::DEGREES),
        (
            Movement::Compress,
            "compress",
            texts.units.mm,
            words::MILLIMETRES,
        ),
    ]
    .map(|(wanted, id, unit, unit_words)| {
        let view = movement(handle, wanted);
        let name = texts.movement(wanted).name;
        view! {
            <Measure
                quantity=Quantity { id, name, unit, unit_words }
                range=Signal::derive(move || view.with(|view| (view.least, view.most)))
                value=Signal::derive(move || view.with(|view| view.value))
                words=Signal::derive(move || view.with(|view| meaning(&view.value_text)))
                set=move |value| handle.act(Action::SetMovement(wanted, value))
                end=move || handle.end()
            />
        }
    });
    let depth = handle.panel(|panels| &panels.depth);
    view! {
        <section class="group" aria-labelledby="probe-title">
            <h2 id="probe-title">{panels.probe}</h2>
            {rows.into_iter().collect_view()}
            <Measure
                quantity=Quantity {
                    id: "depth",
                    name: panels.depth,
                    unit: texts.units.mm,
                    unit_words: words::MILLIMETRES,
                }
                range=Signal::derive(move || depth.with(|depth| (depth.least_mm, depth.most_mm)))
                value=Signal::derive(move || depth.with(|depth| depth.value_mm))
                words=Signal::derive(String::new)
                set=move |value| handle.act(Action::SetDepth(value))
                end=move || handle.end()
            />
        </section>
    }
}

/// Named windows, transducer, body.
#[component]
fn Places(handle: Handle) -> impl IntoView {
    let transducer = handle.panel(|panels| &panels.display.transducer);
    let body = handle.panel(|panels| &panels.scene.body);
    view! {
        <div class="group">
            <Windows handle />
            <Menu handle id="transducer" choice=transducer />
            <Menu handle id="body" choice=body />
        </div>
    }
}

#[component]
fn Windows(handle: Handle) -> impl IntoView {
    let panels = handle.texts().panels;
    let windows = handle.panel(|panels| &panels.windows);
    let current = Memo::new(move |_| {
        windows.with(|windows: &WindowsView| {
            let mut all = windows.groups.iter().flat_map(|group| &group.windows);
            all.find(|item| item.chosen).map(|item| item.key.clone())
        })
    });
    // The list itself only changes with the body.
    let list = Memo::new(move |_| {
        windows.with(|windows| {
            let entry = |item: &app::views::MenuItem| (item.key.clone(), item.label.clone());
            let group = |group: &app::views::WindowGroup| {
                (
                    group.region.clone(),
                    group.windows.iter().map(entry).collect::<Vec<_>>(),
                )
            };
            windows.groups.iter().map(group).collect::<Vec<_>>()
        })
    });
    let option = move |(key, label): (String, String)| {
        let own = key.clone();
        view! {
            <option value=key prop:selected=move || current.get().as_deref() == Some(own.as_str())>
                {label}
            </option>
        }
    };
    view! {
        <div class="field">
            <label for="window">{panels.windows}</label>
            <select
                id="window"
                on:change=move |event| {
                    let key = event_target_value(&event);
                    if !key.is_empty() {
                        handle.act(Action::PickWindow(key));
                    }
                }
            >
                <option value="" prop:selected=move || current.get().is_none()>
                    {words::NO_WINDOW}
                </option>
                {move || {
                    list.get()
                        .into_iter()
                        .map(|(region, items)| {
                            view! {
                                <optgroup label=region>
                                    {items.into_iter().map(option).collect_view()}
                                </optgroup>
                            }
                        })
                        .collect_view()
                }}
            </select>
        </div>
    }
}

/// Steps over the skin without a drag.
#[component]
fn Slide(handle: Handle) -> impl IntoView {
    let panels = handle.texts().panels;
    let clock = handle.panel(|panels| &panels.probe.clock);
    let button =
        move |place: usize, axis: SlideAxis, way: Way, arrow: &'static str, name: &'static str| {
            let toward =
                move || clock.with(|clock| clock.words.get(place).cloned().unwrap_or_default());
            view! {
                <button
                    type="button"
                    aria-label=move || format!("{name}: {}", toward())
                    on:click=move |_| {
                        handle.act(Action::SlideStep(axis, way, Step::Coarse));
                        handle.end();
                    }
                >
                    <span aria-hidden="true">{arrow}" "</span>
                    {toward}
                </button>
            }
        };
    view! {
        <section class="group" aria-labelledby="slide-title">
            <h2 id="slide-title">{panels.slide}</h2>
            <div class="pad">
                {button(0, SlideAxis::TwelveOClock, Way::Forward, "↑", panels.slide_head)}
                {button(2, SlideAxis::TwelveOClock, Way::Back, "↓", panels.slide_foot)}
                {button(3, SlideAxis::ThreeOClock, Way::Back, "←", panels.slide_nine)}
                {button(1, SlideAxis::ThreeOClock, Way::Forward, "→", panels.slide_three)}
            </div>
        </section>
    }
}

/// Mark side, apex side, tolerance.
#[component]
fn Display(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let panels = texts.panels;
    let display = handle.panel(|panels| &panels.display);
    let mark = handle.panel(|panels| &panels.display.mark);
    let apex = handle.panel(|panels| &panels.display.apex);
    view! {
        <section class="group" aria-labelledby="display-title">
            <h2 id="display-title">{panels.display}</h2>
            <Radios handle name="mark" choice=mark />
            <Radios handle name="apex" choice=apex />
            <p class="label" id="tolerance-words">{panels.tolerance}</p>
            <Measure
                quantity=Quantity {
                    id: "tolerance",
                    name: "",
                    unit: texts.units.degrees,
                    unit_words: words::DEGREES,
                }
                label=panels.tolerance
                range=Signal::derive(move || {
                    display.with(|display| (display.least_tolerance_deg, display.most_tolerance_deg))
                })
                value=Signal::derive(move || display.with(|display| display.tolerance_deg))
                words=Signal::derive(String::new)
                set=move |value| handle.act(Action::SetTolerance(value))
                end=move || handle.end()
            />
            <p class="note">{texts.messages.tolerance_note}</p>
        </section>
    }
}

/// What is changed seldom.
#[component]
fn BodyAndView(handle: Handle) -> impl IntoView {
    let panels = handle.texts().panels;
    let position = handle.panel(|panels| &panels.scene.position);
    let seat = handle.panel(|panels| &panels.scene.seat);
    let filter = handle.panel(|panels| &panels.scene.filter);
    let skin = handle.panel(|panels| &panels.scene.skin_shown);
    view! {
        <section class="group" aria-labelledby="more-title">
            <h2 id="more-title">{words::MORE}</h2>
            <Menu handle id="position" choice=position />
            <Menu handle id="seat" choice=seat />
            <Menu handle id="filter" choice=filter />
            <div class="choices">
                <label>
                    <input
                        type="checkbox"
                        prop:checked=move || skin.get()
                        on:change=move |event| handle.act(Action::ShowSkin(event_target_checked(&event)))
                    />
                    {panels.show_skin}
                </label>
            </div>
        </section>
    }
}
