//! What the examiner has turned on the grey-scale picture, knob by knob.
//!
//! Only knobs that were turned are kept. The others follow the transducer and the depth: the focus of an examiner who
//! never touched it stays at half the depth.

use picture::grey::TGC_SLIDERS;
use picture::{Field, GreySettings, Knob, Transducer};

/// Number of knobs: five, and the sliders of the time gain.
const KNOBS: usize = 5 + TGC_SLIDERS;

/// A knob this near to its own value counts as not turned, in the knob's unit.
const SAME: f64 = 1e-9;

/// Values of the knobs that were turned.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tuning {
    turned: [Option<f64>; KNOBS],
}

fn place(knob: Knob) -> Option<usize> {
    Knob::all().position(|known| known == knob)
}

impl Tuning {
    /// The value a knob was turned to, in its unit; none while it follows transducer and depth.
    #[must_use]
    pub fn turned(&self, knob: Knob) -> Option<f64> {
        self.turned.get(place(knob)?).copied().flatten()
    }

    /// Whether no knob was turned.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        self.turned.iter().all(Option::is_none)
    }

    /// The settings for a field: its own, with what was turned, each brought into its range.
    #[must_use]
    pub fn settings(&self, field: &Field) -> GreySettings {
        let mut settings = GreySettings::for_field(field);
        for knob in Knob::all() {
            if let Some(value) = self.turned(knob) {
                let fitting = knob.range(field).clamp(value);
                // A value of the range is never refused.
                let _ = settings.set(knob, fitting, field);
            }
        }
        settings
    }

    /// Turns a knob; the value is brought into its range with `field`, and one that is no number changes nothing.
    pub(crate) fn turn(&mut self, knob: Knob, value: f64, field: &Field) {
        if !value.is_finite() {
            return;
        }
        let fitting = knob.range(field).clamp(value);
        let own = GreySettings::for_field(field).get(knob);
        self.put(knob, ((fitting - own).abs() > SAME).then_some(fitting));
    }

    /// Takes over a value without a field to check it against; [`Self::settings`] brings it into range.
    pub(crate) fn put(&mut self, knob: Knob, value: Option<f64>) {
        if let Some(slot) = place(knob).and_then(|at| self.turned.get_mut(at)) {
            *slot = value.filter(|value| value.is_finite());
        }
    }

    /// The tuning that goes on when the transducer changes: what belongs to the array starts anew.
    #[must_use]
    pub(crate) fn carried(mut self, from: &Transducer, to: &Transducer) -> Self {
        if from.id != to.id {
            for knob in [Knob::Frequency, Knob::Focus, Knob::Compensation] {
                self.put(knob, None);
            }
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::{ApexSide, Mm};
    use picture::{transducer, transducers};

    fn field(id: &str, depth_mm: f64) -> Field {
        Field::new(
            transducer(id).expect("known"),
            Mm::new(depth_mm),
            ApexSide::Top,
        )
    }

    #[test]
    fn what_was_not_turned_follows_the_depth() {
        let mut tuning = Tuning::default();
        let deep = field("convex", 200.0);
        assert_eq!(tuning.settings(&deep), GreySettings::for_field(&deep));
        tuning.turn(Knob::Gain, 7.0, &deep);
        let shallow = field("convex", 100.0);
        let settings = tuning.settings(&shallow);
        assert_eq!(settings.get(Knob::Gain).to_bits(), 7.0_f64.to_bits());
        assert_eq!(settings.get(Knob::Focus).to_bits(), 50.0_f64.to_bits());
    }

    #[test]
    fn every_knob_turns_back_to_untouched() {
        for transducer in transducers() {
            let field = Field::new(transducer, transducer.usual_depth, ApexSide::Top);
            for knob in Knob::all() {
                let mut tuning = Tuning::default();
                tuning.turn(knob, 1e9, &field);
                let high = knob.range(&field).high;
                let got = tuning.settings(&field).get(knob);
                assert_eq!(got.to_bits(), high.to_bits(), "{knob:?}");
                tuning.turn(knob, f64::NAN, &field);
                assert!(!tuning.is_plain(), "{knob:?}: no number changes nothing");
                tuning.turn(knob, GreySettings::for_field(&field).get(knob), &field);
                assert!(tuning.is_plain(), "{knob:?}");
            }
        }
    }

    #[test]
    fn another_array_starts_with_its_own_frequency_and_keeps_the_gain() {
        let convex = field("convex", 150.0);
        let mut tuning = Tuning::default();
        tuning.turn(Knob::Gain, 5.0, &convex);
        tuning.turn(Knob::Frequency, 2.5, &convex);
        let linear = field("linear", 40.0);
        let carried = tuning.carried(convex.transducer(), linear.transducer());
        assert_eq!(carried.turned(Knob::Gain), Some(5.0));
        assert_eq!(carried.turned(Knob::Frequency), None);
        assert_eq!(
            tuning.carried(convex.transducer(), convex.transducer()),
            tuning
        );
    }
}
