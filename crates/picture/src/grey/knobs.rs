//! The knobs of the grey-scale picture one by one, for a panel: range, step and unit of each, and checked setting.
//!
//! How deep the picture reaches is no knob of this list: it is part of the [`Field`], whose transducer says what it
//! offers ([`Transducer::depth_range`](crate::Transducer)).

use std::fmt;

use super::settings::{GreySettings, TGC_SLIDERS};
use crate::field::Field;

/// Least and greatest overall gain, dB.
const GAIN_DB: (f64, f64) = (-30.0, 30.0);
/// Least and greatest lift of one time-gain slider, dB.
const SLIDER_DB: (f64, f64) = (-20.0, 20.0);
/// Least and greatest dynamic range, dB.
const RANGE_DB: (f64, f64) = (30.0, 100.0);
/// Least and greatest compensation by the system itself, dB/(cm MHz).
const COMPENSATION: (f64, f64) = (0.0, 2.0);
/// Shallowest focus, mm.
const LEAST_FOCUS_MM: f64 = 3.0;

/// Something an examiner turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Knob {
    /// Centre frequency, inside the transducer's band.
    Frequency,
    /// Depth of the transmit focus, inside the picture.
    Focus,
    /// Overall gain.
    Gain,
    /// Range of echo levels from black to white.
    DynamicRange,
    /// One slider of the time gain, 0 at the face to [`TGC_SLIDERS`] - 1 at the deepest sample.
    Slider(usize),
    /// The system's own compensation for attenuation.
    Compensation,
}

/// Unit of a knob.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KnobUnit {
    /// Megahertz.
    Megahertz,
    /// Millimetres.
    Millimetres,
    /// Decibels.
    Decibels,
    /// Decibels per centimetre and megahertz.
    DecibelsPerCmMhz,
}

impl KnobUnit {
    /// "MHz", "mm", "dB", "dB/(cm MHz)".
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Megahertz => "MHz",
            Self::Millimetres => "mm",
            Self::Decibels => "dB",
            Self::DecibelsPerCmMhz => "dB/(cm MHz)",
        }
    }
}

/// How far a knob turns with one field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnobRange {
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// A useful step between values.
    pub step: f64,
    /// Unit of all three.
    pub unit: KnobUnit,
}

impl KnobRange {
    /// Whether a value lies in the range, ends included; a value that is no number does not.
    #[must_use]
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// The nearest value in the range; the middle of it for one that is no number.
    #[must_use]
    pub fn clamp(&self, value: f64) -> f64 {
        super::settings::within(value, self.low, self.high)
    }
}

/// A value that a knob does not have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum KnobError {
    /// No number, or outside the range.
    OutOfRange {
        /// Which knob.
        knob: Knob,
        /// What was wanted.
        value: f64,
        /// What there is.
        range: KnobRange,
    },
    /// There is no slider of that number.
    NoSuchSlider(usize),
}

impl fmt::Display for KnobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { knob, value, range } => write!(
                f,
                "{} of {value} {3} is not between {1} and {2} {3}",
                knob.name(),
                range.low,
                range.high,
                range.unit.symbol(),
            ),
            Self::NoSuchSlider(number) => write!(f, "there is no time-gain slider {number}"),
        }
    }
}

impl std::error::Error for KnobError {}

impl Knob {
    /// Lower-case name for error messages; a page has its own words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Frequency => "frequency",
            Self::Focus => "focus",
            Self::Gain => "gain",
            Self::DynamicRange => "dynamic range",
            Self::Slider(_) => "time gain",
            Self::Compensation => "compensation",
        }
    }

    /// All knobs, sliders from the face down.
    pub fn all() -> impl Iterator<Item = Self> {
        [
            Self::Frequency,
            Self::Focus,
            Self::Gain,
            Self::DynamicRange,
            Self::Compensation,
        ]
        .into_iter()
        .chain((0..TGC_SLIDERS).map(Self::Slider))
    }

    /// How far this knob turns with `field`. Bands are the transducer's; the other ranges are common practice, no
    /// source.
    #[must_use]
    pub fn range(self, field: &Field) -> KnobRange {
        let (low_mhz, high_mhz) = field.transducer().band_mhz;
        let (low, high, step, unit) = match self {
            Self::Frequency => (low_mhz, high_mhz, 0.5, KnobUnit::Megahertz),
            Self::Focus => (
                LEAST_FOCUS_MM,
                field.depth().get().max(LEAST_FOCUS_MM),
                1.0,
                KnobUnit::Millimetres,
            ),
            Self::Gain => (GAIN_DB.0, GAIN_DB.1, 1.0, KnobUnit::Decibels),
            Self::DynamicRange => (RANGE_DB.0, RANGE_DB.1, 5.0, KnobUnit::Decibels),
            Self::Slider(_) => (SLIDER_DB.0, SLIDER_DB.1, 1.0, KnobUnit::Decibels),
            Self::Compensation => (
                COMPENSATION.0,
                COMPENSATION.1,
                0.05,
                KnobUnit::DecibelsPerCmMhz,
            ),
        };
        KnobRange {
            low,
            high,
            step,
            unit,
        }
    }

    /// Depth at which a slider works fully, as a share (0 to 1) of the depth shown; `None` for other knobs and for a
    /// slider that is not there.
    #[must_use]
    pub fn slider_share(self) -> Option<f64> {
        let count = |n: usize| u8::try_from(n).map(f64::from).ok();
        match self {
            Self::Slider(number) if number < TGC_SLIDERS => {
                Some(count(number)? / count(TGC_SLIDERS - 1)?)
            }
            _ => None,
        }
    }
}

impl GreySettings {
    /// The value of a knob; 0 for a slider that is not there.
    #[must_use]
    pub fn get(&self, knob: Knob) -> f64 {
        match knob {
            Knob::Frequency => self.frequency_mhz,
            Knob::Focus => self.focus_mm,
            Knob::Gain => self.gain_db,
            Knob::DynamicRange => self.dynamic_range_db,
            Knob::Slider(number) => self.tgc.get(number).copied().unwrap_or(0.0),
            Knob::Compensation => self.compensation_db,
        }
    }

    /// Turns a knob to a value of its range with `field`; on error nothing changes.
    ///
    /// # Errors
    ///
    /// [`KnobError`] when the value is no number or out of range, or when there is no such slider.
    pub fn set(&mut self, knob: Knob, value: f64, field: &Field) -> Result<(), KnobError> {
        let range = knob.range(field);
        if !range.contains(value) {
            return Err(KnobError::OutOfRange { knob, value, range });
        }
        let place = match knob {
            Knob::Frequency => &mut self.frequency_mhz,
            Knob::Focus => &mut self.focus_mm,
            Knob::Gain => &mut self.gain_db,
            Knob::DynamicRange => &mut self.dynamic_range_db,
            Knob::Slider(number) => self
                .tgc
                .get_mut(number)
                .ok_or(KnobError::NoSuchSlider(number))?,
            Knob::Compensation => &mut self.compensation_db,
        };
        *place = value;
        Ok(())
    }

    /// The same settings with every value brought into its range with `field`, as after a change of transducer or
    /// depth. Settings that already fit stay as they are.
    #[must_use]
    pub fn fitted(self, field: &Field) -> Self {
        let mut fitted = self;
        for knob in Knob::all() {
            let value = knob.range(field).clamp(self.get(knob));
            // A value of the range is never refused.
            let _ = fitted.set(knob, value, field);
        }
        fitted
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transducer::transducers;
    use geometry::{ApexSide, Mm};

    fn fields() -> impl Iterator<Item = Field> {
        transducers()
            .iter()
            .map(|t| Field::new(t, t.usual_depth, ApexSide::Top))
    }

    #[test]
    fn every_knob_takes_its_range_and_nothing_else() {
        for field in fields() {
            let usual = GreySettings::for_field(&field);
            for knob in Knob::all() {
                let range = knob.range(&field);
                assert!(range.low < range.high && range.step > 0.0, "{knob:?}");
                assert!(range.contains(usual.get(knob)), "{knob:?} starts in range");
                for (value, fits) in [
                    (range.low, true),
                    (range.high, true),
                    (range.low - 0.01, false),
                    (range.high + 0.01, false),
                    (f64::NAN, false),
                    (f64::INFINITY, false),
                ] {
                    let mut settings = usual;
                    assert_eq!(settings.set(knob, value, &field).is_ok(), fits, "{knob:?}");
                    if fits {
                        assert_eq!(settings.get(knob).to_bits(), value.to_bits(), "{knob:?}");
                    } else {
                        assert_eq!(settings, usual, "{knob:?} is left alone");
                    }
                }
            }
            let mut settings = usual;
            assert_eq!(
                settings.set(Knob::Slider(TGC_SLIDERS), 1.0, &field),
                Err(KnobError::NoSuchSlider(TGC_SLIDERS))
            );
        }
        assert_eq!(Knob::Slider(0).slider_share(), Some(0.0));
        assert_eq!(Knob::Slider(TGC_SLIDERS - 1).slider_share(), Some(1.0));
        assert_eq!(Knob::Gain.slider_share(), None);
    }

    #[test]
    fn errors_name_knob_value_and_range() {
        let field = Field::new(
            crate::transducer::transducer("convex").unwrap(),
            Mm::new(150.0),
            ApexSide::Top,
        );
        let mut settings = GreySettings::for_field(&field);
        let said = settings
            .set(Knob::Frequency, 12.0, &field)
            .unwrap_err()
            .to_string();
        assert_eq!(said, "frequency of 12 MHz is not between 2 and 5 MHz");
    }

    #[test]
    fn settings_of_one_field_fit_another_afterwards() {
        for from in fields() {
            let usual = GreySettings::for_field(&from);
            assert_eq!(usual.fitted(&from), usual, "what fits stays");
            for to in fields() {
                let fitted = usual.fitted(&to);
                for knob in Knob::all() {
                    assert!(knob.range(&to).contains(fitted.get(knob)), "{knob:?}");
                }
            }
        }
    }
}
