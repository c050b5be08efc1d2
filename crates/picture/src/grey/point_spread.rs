//! The point spread: how far one scatterer is smeared along and across the beam.
//!
//! Along the beam the pulse decides: resolution is half its length. Across, diffraction (wavelength × depth /
//! aperture) and, away from the transmit focus, the spread of the focused beam add up. Both are Gaussians here; their
//! widths are given at half height. Formulas: standard ultrasound physics, from memory; the strength of the
//! defocusing and the least f-number are common practice, no source.

use super::acoustics::{ASSUMED_SPEED_M_S, wavelength_mm};
use super::beam_grid::{BeamGrid, Detail, SAMPLES};
use super::medium::single;
use super::settings::{GreySettings, within};
use crate::field::Field;

/// Length of the transmitted pulse, cycles.
const PULSE_CYCLES: f64 = 2.0;

/// Smallest ratio of depth to aperture: elements far from the beam no longer see shallow points.
const LEAST_F_NUMBER: f64 = 1.5;

/// Share of the geometric width of the transmit beam that remains after dynamic focusing on receive.
const DEFOCUS: f64 = 0.05;

/// Width at half height of a Gaussian over its standard deviation: 2 √(2 ln 2).
pub(crate) const FWHM_OVER_SIGMA: f64 = 2.354_820_045;

/// The grid shows no pulse narrower than this standard deviation, samples.
const LEAST_AXIAL_SIGMA: f64 = 0.75;
const LEAST_LATERAL_SIGMA: f64 = 0.55;
/// Widest spread across the beams that is worked out, beams.
const MOST_LATERAL_SIGMA: f64 = 5.5;

/// Reach of the kernels in standard deviations; beyond it a Gaussian is below 4 %.
const REACH: f64 = 2.6;

/// Samples that share one reach of the kernel across the beams.
pub(crate) const BLOCK: usize = 16;
const AXIAL_TAPS: usize = 8;
pub(crate) const LATERAL_TAPS: usize = 15;

/// Lines kept at a time while beams are smeared into each other: those about one beam, as a power of two. What is left of a
/// picture is one number a sample, so that another gain does not smear it anew.
pub(crate) const ROUND: usize = 32;
const _: () = assert!(ROUND > 2 * LATERAL_TAPS, "no line is overwritten too early");

/// Length of such a line in memory. A little more than its samples: the same sample of many beams is read at once, and
/// near memory keeps few numbers that are a power of two apart.
pub(crate) const LINE: usize = SAMPLES + BLOCK;

/// Cell of the scatterers over the axial width: several cells in every resolution cell make speckle fully developed.
const CELL_SHARE: f64 = 0.6;

/// What the point spread is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Optics {
    wavelength_mm: f64,
    aperture_mm: f64,
    focus_mm: f64,
    step_mm: f64,
}

impl Optics {
    fn axial_fwhm_mm(&self) -> f64 {
        let pulse = PULSE_CYCLES * self.wavelength_mm / 2.0;
        pulse.max(LEAST_AXIAL_SIGMA * self.step_mm * FWHM_OVER_SIGMA)
    }

    fn lateral_fwhm_mm(&self, depth_mm: f64) -> f64 {
        let aperture = self
            .aperture_mm
            .min(depth_mm.max(self.wavelength_mm) / LEAST_F_NUMBER);
        let diffraction = self.wavelength_mm * depth_mm.max(self.wavelength_mm) / aperture;
        let spread = DEFOCUS * aperture * (depth_mm / self.focus_mm - 1.0).abs();
        libm::hypot(diffraction, spread)
    }
}

/// Kernels for one grid and one set of knobs.
#[derive(Debug, Clone)]
pub(crate) struct PointSpread {
    optics: Optics,
    grid_depth: f64,
    grid_pitch: f64,
    cell_mm: f64,
    /// Half kernel along the beam, the middle first.
    axial: Vec<f32>,
    /// Half kernels across the beams: tap after tap, each for all samples.
    lateral: Vec<[f32; SAMPLES]>,
    /// Taps needed in each block of samples, the middle one not counted.
    reach: Vec<usize>,
    /// What an echo of height 1 must enter with, so that it leaves with height 1 when it is even across the beams.
    pub(crate) line_gain: Vec<f32>,
}

/// Widths of the point spread that a field shows with these settings, mm at half height.
///
/// (along the beam, across it at `depth_mm`). The widths of the speckle follow: the covariance of the intensity of
/// fully developed speckle is the square of that of the point spread, which for a Gaussian has the width of the point
/// spread itself (statistics of laser speckle after Goodman, from memory).
#[must_use]
pub fn resolution_mm(field: &Field, settings: &GreySettings, depth_mm: f64) -> (f64, f64) {
    let grid = BeamGrid::new(field, Detail::Full);
    let optics = optics(field, &grid, settings);
    let spacing = grid.spacing_mm(depth_mm);
    let lateral = within(
        optics.lateral_fwhm_mm(depth_mm),
        LEAST_LATERAL_SIGMA * spacing * FWHM_OVER_SIGMA,
        MOST_LATERAL_SIGMA * spacing * FWHM_OVER_SIGMA,
    );
    (optics.axial_fwhm_mm(), lateral)
}

fn optics(field: &Field, grid: &BeamGrid, settings: &GreySettings) -> Optics {
    Optics {
        wavelength_mm: wavelength_mm(ASSUMED_SPEED_M_S, settings.mhz(field)),
        aperture_mm: field.transducer().aperture.get(),
        focus_mm: within(settings.focus_mm, 3.0, 2.0 * grid.depth_mm),
        step_mm: grid.step_mm,
    }
}

impl PointSpread {
    pub(crate) fn new(field: &Field, grid: &BeamGrid, settings: &GreySettings) -> Self {
        let optics = optics(field, grid, settings);
        let cell_mm = CELL_SHARE * optics.axial_fwhm_mm();
        let sigma = optics.axial_fwhm_mm() / FWHM_OVER_SIGMA / grid.step_mm;
        let mut half = [0.0; AXIAL_TAPS + 1];
        let taps = gaussian(&mut half, sigma);
        let passed = power(&half, grid.step_mm / cell_mm);
        scale(&mut half, 1.0 / passed.sqrt());
        let axial: Vec<f32> = half[..=taps].iter().map(|w| single(*w)).collect();
        let mut lateral = vec![[0.0; SAMPLES]; LATERAL_TAPS + 1];
        let mut reach = vec![0; SAMPLES / BLOCK];
        let mut line_gain = vec![0.0; SAMPLES];
        for i in 0..SAMPLES {
            let depth = grid.depth_of(i);
            let spacing = grid.spacing_mm(depth).max(1e-6);
            let sigma = within(
                optics.lateral_fwhm_mm(depth) / FWHM_OVER_SIGMA / spacing,
                LEAST_LATERAL_SIGMA,
                MOST_LATERAL_SIGMA,
            );
            let mut half = [0.0; LATERAL_TAPS + 1];
            let taps = gaussian(&mut half, sigma);
            let passed = power(&half, spacing / cell_mm);
            scale(&mut half, 1.0 / passed.sqrt());
            for (tap, w) in lateral.iter_mut().zip(half) {
                tap[i] = single(w);
            }
            let most = &mut reach[i / BLOCK];
            *most = taps.max(*most);
            let sum = half[0] + 2.0 * half[1..].iter().sum::<f64>();
            line_gain[i] = 1.0 / (axial[0] * single(sum));
        }
        Self {
            optics,
            grid_depth: grid.depth_mm,
            grid_pitch: grid.pitch,
            cell_mm,
            axial,
            lateral,
            reach,
            line_gain,
        }
    }

    /// Whether this is still the point spread of these.
    pub(crate) fn fits(&self, field: &Field, grid: &BeamGrid, settings: &GreySettings) -> bool {
        same(self.grid_depth, grid.depth_mm)
            && same(self.grid_pitch, grid.pitch)
            && self.optics == optics(field, grid, settings)
    }

    pub(crate) fn cell_mm(&self) -> f64 {
        self.cell_mm
    }

    /// See [`spelled`](super::spelled).
    pub(crate) fn spelled(&self) -> String {
        format!(
            "{{\"axial\":{:?},\"lateral\":{:?},\"reach\":{:?},\"line_gain\":{:?},\"cell_mm\":{}}}",
            self.axial, self.lateral, self.reach, self.line_gain, self.cell_mm
        )
    }

    /// Smears one line along the beam, from `line` (with [`AXIAL_PAD`] empty samples on either side) to `out`.
    pub(crate) fn along(&self, line: &[f32; PADDED], out: &mut [f32]) {
        let Some((middle, wings)) = self.axial.split_first() else {
            return;
        };
        for (from, out) in (AXIAL_PAD..)
            .step_by(BLOCK)
            .zip(out.chunks_exact_mut(BLOCK))
        {
            let mut sum = [0.0_f32; BLOCK];
            if let Some(x) = block(line, from) {
                for i in 0..BLOCK {
                    sum[i] = middle * x[i];
                }
            }
            for (w, tap) in wings.iter().zip(1..) {
                if let (Some(a), Some(b)) = (block(line, from - tap), block(line, from + tap)) {
                    for i in 0..BLOCK {
                        sum[i] += w * (a[i] + b[i]);
                    }
                }
            }
            out.copy_from_slice(&sum);
        }
    }

    /// Smears across the beams: the energy of beam `k` of so many, from the beams about it, of both parts; beam `n` is
    /// line `n` modulo [`ROUND`] of `re` and `im`.
    pub(crate) fn energy(&self, k: usize, beams: usize, re: &[f32], im: &[f32], out: &mut [f32]) {
        let last = beams.saturating_sub(1);
        let line = |n: usize| n % ROUND * LINE;
        let Some((middle, wings)) = self.lateral.split_first() else {
            return;
        };
        for ((number, &taps), out) in (0..).zip(&self.reach).zip(out.chunks_exact_mut(BLOCK)) {
            let from = number * BLOCK;
            let (mut sum_re, mut sum_im) = ([0.0_f32; BLOCK], [0.0_f32; BLOCK]);
            let here = line(k) + from;
            if let (Some(w), Some(a), Some(b)) =
                (block(middle, from), block(re, here), block(im, here))
            {
                for i in 0..BLOCK {
                    sum_re[i] = w[i] * a[i];
                    sum_im[i] = w[i] * b[i];
                }
            }
            for (tap, w) in (1..).zip(wings).take(taps) {
                // Beyond the edges the outermost beam goes on.
                let left = line(k.saturating_sub(tap)) + from;
                let right = line((k + tap).min(last)) + from;
                if let (Some(w), Some(a), Some(b), Some(c), Some(d)) = (
                    block(w, from),
                    block(re, left),
                    block(re, right),
                    block(im, left),
                    block(im, right),
                ) {
                    for i in 0..BLOCK {
                        sum_re[i] += w[i] * (a[i] + b[i]);
                        sum_im[i] += w[i] * (c[i] + d[i]);
                    }
                }
            }
            for (o, (a, b)) in out.iter_mut().zip(sum_re.iter().zip(&sum_im)) {
                *o = a * a + b * b;
            }
        }
    }
}

/// The block of samples that begins at `from`.
#[inline]
fn block(line: &[f32], from: usize) -> Option<&[f32; BLOCK]> {
    line.get(from..from + BLOCK)?.try_into().ok()
}

/// Empty samples on either side of a line before it is smeared.
pub(crate) const AXIAL_PAD: usize = AXIAL_TAPS;
/// Length of a padded line.
pub(crate) const PADDED: usize = SAMPLES + 2 * AXIAL_PAD;

/// Fills the half kernel and says how many taps beside the middle it has.
fn gaussian(half: &mut [f64], sigma: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a few standard deviations"
    )]
    let taps = (libm::ceil(REACH * sigma) as usize).clamp(1, half.len() - 1);
    for (w, tap) in half.iter_mut().take(taps + 1).zip(0_u32..) {
        let x = f64::from(tap) / sigma;
        *w = libm::exp(-0.5 * x * x);
    }
    taps
}

fn scale(half: &mut [f64], factor: f64) {
    for w in half {
        *w *= factor;
    }
}

/// Power that the kernel lets through from scatterers of power 1 at points `gap` cells apart. Points within one cell
/// are alike: on a line in a middling direction through squares, by the share (1 - 2 gap / π)² (2 / π being the mean of
/// a sine).
fn power(half: &[f64], gap: f64) -> f64 {
    let reach = half.len() - 1;
    let at = |k: usize| half[k.abs_diff(reach)];
    let mut sum = 0.0;
    for i in 0..=2 * reach {
        for j in 0..=2 * reach {
            let apart = super::beam_grid::count(i.abs_diff(j)) * gap;
            let left = (1.0 - apart * std::f64::consts::FRAC_2_PI).max(0.0);
            sum += at(i) * at(j) * left * left;
        }
    }
    sum
}

/// Equal to the bit.
fn same(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transducer::transducer;
    use geometry::{ApexSide, Mm};

    #[test]
    fn widths_follow_the_formulas() {
        let field = Field::new(transducer("convex").unwrap(), Mm::new(80.0), ApexSide::Top);
        let settings = GreySettings::for_field(&field);
        let (axial, at_focus) = resolution_mm(&field, &settings, settings.focus_mm);
        assert!(
            (axial - 0.44).abs() < 0.001,
            "two cycles at 3.5 MHz: {axial}"
        );
        let want = 0.44 * settings.focus_mm / 22.0;
        assert!(
            (at_focus - want).abs() < 0.01,
            "at the focus only diffraction: {at_focus} instead of {want}"
        );
        // Over its depth in wavelengths, away from the focus it is wider.
        for depth in [15.0, 79.0] {
            let (_, width) = resolution_mm(&field, &settings, depth);
            let least = 0.44 * (depth / 22.0_f64).max(1.5);
            assert!(
                width > 1.005 * least,
                "{width} at {depth}, diffraction {least}"
            );
        }
    }
}
