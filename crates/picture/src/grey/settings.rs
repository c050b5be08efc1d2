//! The knobs of the grey-scale picture.

use crate::field::Field;
use crate::transducer::FaceShape;

/// Number of time-gain sliders, from the face to the deepest sample.
pub const TGC_SLIDERS: usize = 8;

/// What an examiner sets.
///
/// All values are brought into their ranges where they are used, so any value gives a picture;
/// [`set`](Self::set) refuses those out of range. The depth shown is the field's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GreySettings {
    /// Centre frequency, MHz; kept inside the transducer's band.
    pub frequency_mhz: f64,
    /// Overall gain, dB; 0 shows liver at its usual grey.
    pub gain_db: f64,
    /// Range of echo levels from black to white, dB (30 to 100).
    pub dynamic_range_db: f64,
    /// Time-gain sliders, dB each, evenly spaced from the face to the depth shown, straight between them. They come
    /// on top of the system's own compensation.
    pub tgc: [f64; TGC_SLIDERS],
    /// The system's own compensation, dB/(cm MHz): the attenuation that leaves a picture even.
    pub compensation_db: f64,
    /// Depth of the transmit focus, mm.
    pub focus_mm: f64,
    /// Number of the electronic noise picture; the same number gives the same noise.
    pub noise: u32,
}

/// Loss there and back, by the system's own compensation, that a picture is set up to reach through, dB: about what
/// the compensation makes up for before it raises nothing but noise (common practice, no source).
const REACH_DB: f64 = 80.0;

/// Steps of the frequency, MHz.
const FREQUENCY_STEP: f64 = 0.5;

impl GreySettings {
    /// Settings to start from: the transducer's usual frequency or, for a deep picture, the highest that reaches its
    /// end; 60 dB, and the focus at half the depth.
    ///
    /// 60 dB and the focus at the region of interest are common practice. The compensation is what the tissue under
    /// such a face needs on average, body wall included: a little over the rule of thumb of 0.5 dB/(cm MHz) for soft
    /// tissue (from memory), and more where most of the way is muscle.
    #[must_use]
    pub fn for_field(field: &Field) -> Self {
        let compensation_db = match field.transducer().shape {
            FaceShape::Flat { .. } => 0.65,
            FaceShape::Curved { .. } | FaceShape::Point { .. } => 0.6,
        };
        let (low, high) = field.transducer().band_mhz;
        let reaching = REACH_DB / (compensation_db * 2.0 * field.depth().get() / 10.0);
        let reaching = libm::floor(reaching / FREQUENCY_STEP) * FREQUENCY_STEP;
        Self {
            frequency_mhz: within(field.transducer().usual_mhz.min(reaching), low, high),
            gain_db: 0.0,
            dynamic_range_db: 60.0,
            tgc: [0.0; TGC_SLIDERS],
            compensation_db,
            focus_mm: field.depth().get() * 0.5,
            noise: 0,
        }
    }

    /// The frequency used with this field's transducer.
    pub(crate) fn mhz(&self, field: &Field) -> f64 {
        let (low, high) = field.transducer().band_mhz;
        within(self.frequency_mhz, low, high)
    }

    /// Gain at a depth of `share` (0 to 1) of the depth shown, without the system's own compensation, dB.
    pub(crate) fn slider_gain_db(&self, share: f64) -> f64 {
        const LAST: f64 = 7.0;
        const MOST_DB: f64 = 40.0;
        let place = within(share, 0.0, 1.0) * LAST;
        let below = place.floor().min(LAST - 1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and 6"
        )]
        let i = below as usize;
        let at = |i: usize| within(self.tgc[i], -MOST_DB, MOST_DB);
        at(i) + (at(i + 1) - at(i)) * (place - below)
    }
}

/// `value` brought between two bounds; the middle of them when it is not a number.
pub(crate) fn within(value: f64, low: f64, high: f64) -> f64 {
    if value.is_nan() {
        (low + high) / 2.0
    } else {
        value.clamp(low, high)
    }
}
