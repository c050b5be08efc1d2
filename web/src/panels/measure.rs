//! One adjustable quantity: a slider, a field for typing, and what it means in words.

use super::parts;
use leptos::prelude::*;

/// A named quantity with its unit, its value and what moves it.
pub(crate) struct Measure {
    /// Unique in the page; the parts' ids are made of it.
    pub(crate) id: &'static str,
    /// Shown name; empty where it stands above.
    pub(crate) name: &'static str,
    /// Name read aloud.
    pub(crate) label: &'static str,
    /// Unit as shown beside the number.
    pub(crate) unit: &'static str,
    /// Unit as read aloud.
    pub(crate) unit_words: &'static str,
    /// Least value, greatest value.
    pub(crate) range: Signal<(f64, f64)>,
    /// Value now.
    pub(crate) value: Signal<f64>,
    /// What it means, or nothing.
    pub(crate) words: Signal<String>,
    /// Called with every new value while it moves.
    pub(crate) set: Callback<f64>,
    /// Called when it comes to rest.
    pub(crate) end: Callback<()>,
}

impl Measure {
    /// Slider, number field and words.
    pub(crate) fn view(self) -> AnyView {
        let Self {
            id,
            name,
            label,
            unit,
            unit_words,
            range,
            value,
            words,
            set,
            end,
        } = self;
        let slider_id = format!("{id}-slider");
        let shown = Signal::derive(move || number(value.get()));
        let least = Signal::derive(move || number(range.get().0));
        let most = Signal::derive(move || number(range.get().1));
        let spoken = Signal::derive(move || {
            let (number, words) = (shown.get(), words.get());
            if words.is_empty() {
                format!("{number} {unit_words}")
            } else {
                format!("{number} {unit_words}, {words}")
            }
        });
        let take = Callback::new(move |text: String| {
            if let Ok(number) = text.trim().parse::<f64>()
                && number.is_finite()
            {
                let (low, high) = range.get_untracked();
                set.run(number.clamp(low, high.max(low)));
            }
        });
        let slider = NodeRef::<leptos::html::Input>::new();
        parts::when_refused(move || {
            if let Some(slider) = slider.get_untracked() {
                slider.set_value(&shown.get_untracked());
            }
        });
        view! {
            <div class="measure">
                <label for=slider_id.clone()>{name}</label>
                <input
                    node_ref=slider
                    type="range"
                    id=slider_id
                    aria-label=label
                    min=least
                    max=most
                    step="1"
                    prop:value=shown
                    aria-valuetext=spoken
                    on:input=move |event| take.run(event_target_value(&event))
                    on:change=move |_| end.run(())
                />
                {number_field(format!("{id}-number"), format!("{label}, {unit_words}"), shown, take, end)}
                <span class="unit" aria-hidden="true">
                    {unit}
                </span>
                <span class="words" aria-hidden="true">
                    {words}
                </span>
            </div>
        }
        .into_any()
    }
}

/// A field for typing a number; it is taken when the typing is done.
pub(crate) fn number_field(
    id: String,
    label: String,
    shown: Signal<String>,
    take: Callback<String>,
    end: Callback<()>,
) -> AnyView {
    view! {
        <input
            type="number"
            id=id
            step="any"
            inputmode="decimal"
            aria-label=label
            prop:value=shown
            on:change=move |event| {
                take.run(event_target_value(&event));
                end.run(());
                // A value that was brought into its range, or refused, is shown as it now is.
                event_target::<web_sys::HtmlInputElement>(&event).set_value(&shown.get_untracked());
            }
        />
    }
    .into_any()
}

/// A number without needless digits: at most one decimal.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Degrees around a circle as [`number`] writes them; a full turn is none.
pub(crate) fn turn(degrees: f64) -> String {
    let text = number(degrees);
    if text == "360" { "0".to_owned() } else { text }
}
