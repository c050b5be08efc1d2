//! Echo levels to grey: gain, time gain, logarithm, dynamic range.

use super::beam_grid::{BeamGrid, SAMPLES};
use super::decibel::log2;
use super::medium::single;
use super::settings::{GreySettings, within};
use crate::field::Field;

/// Where liver lies between black (0) and white (1): a middle grey with room above for what is brighter (common
/// practice).
pub const LIVER_GREY: f64 = 0.5;

/// Levels in dB per factor of 2 in energy: 10 log₁₀ 2.
const DB_PER_LOG2: f64 = 3.010_299_956_639_812;

/// The system's own compensation goes no further than this, dB, or all that is deep would be amplified noise (common
/// practice).
const MOST_COMPENSATION_DB: f64 = 76.0;

/// Energies below this are black whatever the gain.
const FLOOR: f32 = 1e-24;

/// Energies to their levels: log₂, held above that of [`FLOOR`].
pub(crate) fn levels(energies: &mut [f32]) {
    for x in energies {
        *x = log2(*x + FLOOR);
    }
}

/// Grey = `slope` · log₂ energy + `offset` of the sample.
#[derive(Debug, Clone, Default)]
pub(crate) struct Compression {
    slope: f32,
    offset: Vec<f32>,
}

impl Compression {
    /// Works the knobs out for every sample.
    pub(crate) fn set(&mut self, field: &Field, grid: &BeamGrid, settings: &GreySettings) {
        let range = within(settings.dynamic_range_db, 30.0, 100.0);
        let gain = within(settings.gain_db, -60.0, 60.0);
        let per_mm = within(settings.compensation_db, 0.0, 2.0) * settings.mhz(field) * 0.2;
        let white = 255.0;
        self.slope = single(white * DB_PER_LOG2 / range);
        self.offset.clear();
        self.offset.extend((0..SAMPLES).map(|i| {
            let depth = grid.depth_of(i);
            let own = (per_mm * depth).min(MOST_COMPENSATION_DB);
            let raised = gain + own + settings.slider_gain_db(depth / grid.depth_mm);
            single(white * (raised / range + LIVER_GREY))
        }));
    }

    /// See [`spelled`](super::spelled).
    pub(crate) fn spelled(&self) -> String {
        format!("{{\"slope\":{},\"offset\":{:?}}}", self.slope, self.offset)
    }

    /// Greys of one line of levels.
    pub(crate) fn apply(&self, levels: &[f32], out: &mut [u8]) {
        for ((grey, level), offset) in out.iter_mut().zip(levels).zip(&self.offset) {
            let value = self.slope * level + offset;
            let value = if value > 0.0 { value } else { 0.0 };
            let value = if value < 255.0 { value } else { 255.0 };
            // Adding 2²³ leaves the nearest whole number in the low bits; quicker than a cast that has to mind
            // every float there is.
            let [low, ..] = (value + 8_388_608.0).to_bits().to_le_bytes();
            *grey = low;
        }
    }
}
