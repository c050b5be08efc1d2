//! The knobs of the grey-scale picture, folded away until somebody wants them.

use super::measure::number_field;
use super::parts::{self, Button};
use crate::desk::Handle;
use app::Action;
use app::views::{KnobView, TuningView};
use leptos::prelude::*;

/// One row of the list: which knob of which list.
#[derive(Clone, Copy)]
enum Row {
    Named(usize),
    Slider(usize),
}

impl Row {
    fn of(self, view: &TuningView) -> Option<&KnobView> {
        match self {
            Self::Named(place) => view.knobs.get(place),
            Self::Slider(place) => view.time_gain.get(place),
        }
    }
}

/// The group.
pub(crate) fn tuning(handle: Handle) -> AnyView {
    let texts = handle.texts().tuning;
    let panels = handle.shown().panels;
    let (named, sliders) =
        panels.with_untracked(|panels| (panels.tuning.knobs.len(), panels.tuning.time_gain.len()));
    let turned = Signal::derive(move || {
        let turned = panels.with(|panels| panels.tuning.turned);
        if turned {
            texts.turned.to_owned()
        } else {
            String::new()
        }
    });
    let plain = Signal::derive(move || panels.with(|panels| !panels.tuning.turned));
    let unseen = move || panels.with(|panels| panels.tuning.grey_shown);
    let show = Button::new(texts.show_grey, move || handle.act(Action::SwitchPicture));
    let reset = Button {
        disabled: plain,
        ..Button::new(texts.reset, move || handle.act(Action::ResetKnobs))
    };
    let rows: Vec<AnyView> = (0..named)
        .map(|place| knob(handle, Row::Named(place)))
        .collect();
    let sliders: Vec<AnyView> = (0..sliders)
        .map(|place| knob(handle, Row::Slider(place)))
        .collect();
    view! {
        <details class="group tuning" id="tuning">
            <summary>
                {texts.title} <span class="turned">{turned}</span>
            </summary>
            <div class="note row" hidden=unseen>
                <p>{texts.only_grey}</p>
                {show.view()}
            </div>
            {rows}
            <fieldset class="time-gain">
                <legend>{texts.time_gain}</legend>
                {parts::paragraph("note", texts.time_gain_meaning)}
                {sliders}
            </fieldset>
            {reset.view()}
        </details>
    }
    .into_any()
}

/// Slider, number with its unit, and what it does.
fn knob(handle: Handle, row: Row) -> AnyView {
    let panels = handle.shown().panels;
    let read = move |part: fn(&KnobView) -> String| {
        Signal::derive(move || {
            panels.with(|panels| row.of(&panels.tuning).map(part).unwrap_or_default())
        })
    };
    let id = match row {
        Row::Named(place) => format!("knob-{place}"),
        Row::Slider(place) => format!("time-gain-{place}"),
    };
    let slider_id = format!("{id}-slider");
    let (name, label) = (
        read(|knob| knob.name.clone()),
        read(|knob| knob.label.clone()),
    );
    let value = read(|knob| knob.text.clone());
    let spoken = read(|knob| format!("{} {}", knob.text, knob.unit_words));
    let number_label = panels.with_untracked(|panels| {
        let knob = row.of(&panels.tuning);
        knob.map(|knob| format!("{}, {}", knob.label, knob.unit_words))
            .unwrap_or_default()
    });
    let take = Callback::new(move |text: String| {
        let which = panels.with_untracked(|panels| row.of(&panels.tuning).map(|knob| knob.knob));
        if let (Some(knob), Ok(number)) = (which, text.trim().parse::<f64>()) {
            handle.act(Action::TurnKnob(knob, number));
        }
    });
    let end = Callback::new(move |()| handle.end());
    view! {
        <div class="measure knob">
            <label for=slider_id.clone()>{name}</label>
            <input
                type="range"
                id=slider_id
                aria-label=label
                min=read(|knob| knob.low.to_string())
                max=read(|knob| knob.high.to_string())
                step=read(|knob| knob.step.to_string())
                prop:value=value
                aria-valuetext=spoken
                on:input=move |event| take.run(event_target_value(&event))
                on:change=move |_| end.run(())
            />
            {number_field(format!("{id}-number"), number_label, value, take, end)}
            <span class="unit" aria-hidden="true">
                {read(|knob| knob.unit.to_owned())}
            </span>
            <span class="words">{read(|knob| knob.meaning.to_owned())}</span>
        </div>
    }
    .into_any()
}
