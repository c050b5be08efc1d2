//! The knobs of the grey-scale picture.

use picture::{Knob, KnobUnit};

use crate::state::State;
use crate::texts::{KnobTexts, Texts, TuningTexts, fill};

/// One knob.
#[derive(Debug, Clone, PartialEq)]
pub struct KnobView {
    /// Which.
    pub knob: Knob,
    /// Its name: "Gain", "2.2 cm" for a slider of the time gain.
    pub name: String,
    /// Its name read aloud: "Time gain at 2.2 cm".
    pub label: String,
    /// Value in its unit.
    pub value: f64,
    /// The value as a number without needless digits.
    pub text: String,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// A useful step.
    pub step: f64,
    /// "dB".
    pub unit: &'static str,
    /// The unit as read aloud.
    pub unit_words: &'static str,
    /// What turning it does; empty for a slider of the time gain.
    pub meaning: &'static str,
    /// Whether it was turned; the others follow transducer and depth.
    pub turned: bool,
}

/// All knobs.
#[derive(Debug, Clone, PartialEq)]
pub struct TuningView {
    /// Gain, dynamic range, frequency, focus, compensation.
    pub knobs: Vec<KnobView>,
    /// Time gain from the face down.
    pub time_gain: Vec<KnobView>,
    /// Whether any knob was turned.
    pub turned: bool,
    /// Whether some of the grey-scale picture is shown, so that the knobs show.
    pub grey_shown: bool,
}

/// Knobs with a name of their own, most used first.
const NAMED: [Knob; 5] = [
    Knob::Gain,
    Knob::DynamicRange,
    Knob::Frequency,
    Knob::Focus,
    Knob::Compensation,
];

pub(super) fn tuning_view(state: &State, texts: &Texts) -> TuningView {
    let sliders = Knob::all().filter(|knob| matches!(knob, Knob::Slider(_)));
    TuningView {
        knobs: NAMED.map(|knob| knob_view(state, knob, texts)).to_vec(),
        time_gain: sliders.map(|knob| knob_view(state, knob, texts)).collect(),
        turned: !state.tuning().is_plain(),
        grey_shown: state.grey().percent > 0.0,
    }
}

fn words(knob: Knob, texts: &TuningTexts) -> Option<&KnobTexts> {
    let place = NAMED.iter().position(|named| *named == knob)?;
    texts.knobs.get(place)
}

fn knob_view(state: &State, knob: Knob, texts: &Texts) -> KnobView {
    let (all, field) = (&texts.tuning, state.field());
    let range = knob.range(&field);
    let value = state.grey_settings().get(knob);
    let own = words(knob, all);
    let (name, label) = match (own, knob.slider_share()) {
        (Some(own), _) => (own.name.to_owned(), own.name.to_owned()),
        (None, share) => {
            let cm = share.unwrap_or(0.0) * field.depth().get() / 10.0;
            let depth = knob_text(cm, 0.1).replace('.', texts.units.decimal);
            (
                fill(all.slider, &[&depth]),
                fill(all.slider_label, &[&depth]),
            )
        }
    };
    KnobView {
        knob,
        name,
        label,
        value,
        text: knob_text(value, range.step),
        low: range.low,
        high: range.high,
        step: range.step,
        unit: range.unit.symbol(),
        unit_words: unit_words(range.unit, all),
        meaning: own.map_or("", |own| own.meaning),
        turned: state.tuning().turned(knob).is_some(),
    }
}

fn unit_words(unit: KnobUnit, texts: &TuningTexts) -> &'static str {
    let [megahertz, millimetres, decibels, per_way] = texts.unit_words;
    match unit {
        KnobUnit::Megahertz => megahertz,
        KnobUnit::Millimetres => millimetres,
        KnobUnit::Decibels => decibels,
        KnobUnit::DecibelsPerCmMhz => per_way,
    }
}

/// As many decimals as the step has, without needless noughts or a negative zero.
pub(crate) fn knob_text(value: f64, step: f64) -> String {
    let text = if step < 0.1 {
        format!("{value:.2}")
    } else {
        format!("{value:.1}")
    };
    let text = text.trim_end_matches('0').trim_end_matches('.');
    match text {
        "-0" | "" => "0".to_owned(),
        other => other.to_owned(),
    }
}

/// "Gain 6 dB."
pub(super) fn knob_sentence(state: &State, knob: Knob, texts: &Texts) -> String {
    let view = knob_view(state, knob, texts);
    // The field beside the slider wants a point whatever the language.
    let text = view.text.replace('.', texts.units.decimal);
    format!("{} {text} {}.", view.label, view.unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_the_decimals_of_their_step() {
        for (value, step, text) in [
            (0.6, 0.05, "0.6"),
            (0.65, 0.05, "0.65"),
            (3.5, 0.5, "3.5"),
            (60.0, 5.0, "60"),
            (-0.0, 1.0, "0"),
            (-0.01, 1.0, "0"),
            (-12.0, 1.0, "-12"),
            (100.0, 5.0, "100"),
        ] {
            assert_eq!(knob_text(value, step), text, "{value}");
        }
    }
}
