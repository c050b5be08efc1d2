//! One adjustable quantity: a slider, a field for typing, and what it means in words.

use leptos::prelude::*;

/// Least and greatest value.
pub(crate) type Range = (f64, f64);

/// A named quantity with its unit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Quantity {
    /// Unique in the page; the parts' ids are made of it.
    pub(crate) id: &'static str,
    /// Shown name.
    pub(crate) name: &'static str,
    /// Unit as shown beside the number.
    pub(crate) unit: &'static str,
    /// Unit as read aloud.
    pub(crate) unit_words: &'static str,
}

/// Slider and number field of one quantity. `set` is called while it moves, `end` when it comes to rest.
#[component]
pub(crate) fn Measure(
    quantity: Quantity,
    #[prop(into)] range: Signal<Range>,
    #[prop(into)] value: Signal<f64>,
    #[prop(into)] words: Signal<String>,
    /// Name read aloud, where it is not the shown one.
    #[prop(optional)]
    label: Option<&'static str>,
    set: impl Fn(f64) + Copy + 'static,
    end: impl Fn() + Copy + 'static,
) -> impl IntoView {
    let Quantity {
        id,
        name,
        unit,
        unit_words,
    } = quantity;
    let label = label.unwrap_or(name);
    let slider_id = format!("{id}-slider");
    let shown = move || number(value.get());
    let take = move |text: String| {
        if let Ok(number) = text.trim().parse::<f64>()
            && number.is_finite()
        {
            let (low, high) = range.get_untracked();
            set(number.clamp(low, high));
        }
    };
    let valuetext = move || {
        let words = words.get();
        let number = shown();
        if words.is_empty() {
            format!("{number} {unit_words}")
        } else {
            format!("{number} {unit_words}, {words}")
        }
    };
    view! {
        <div class="measure">
            <label for=slider_id.clone()>{name}</label>
            <input
                type="range"
                id=slider_id
                aria-label=label
                min=move || range.get().0.to_string()
                max=move || range.get().1.to_string()
                step="1"
                prop:value=shown
                aria-valuetext=valuetext
                on:input=move |event| take(event_target_value(&event))
                on:change=move |_| end()
            />
            <input
                type="number"
                id=format!("{id}-number")
                min=move || range.get().0.to_string()
                max=move || range.get().1.to_string()
                step="any"
                inputmode="decimal"
                aria-label=format!("{label}, {unit_words}")
                prop:value=shown
                on:change=move |event| {
                    take(event_target_value(&event));
                    end();
                }
            />
            <span class="unit" aria-hidden="true">{unit}</span>
            <span class="words" aria-hidden="true">{move || words.get()}</span>
        </div>
    }
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
