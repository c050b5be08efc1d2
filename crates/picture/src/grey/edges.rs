//! Edge shadows: what refraction and grazing boundaries take from a beam.
//!
//! A boundary hit at a steep angle turns the beam aside (Snell) and, near grazing, reflects most of it; behind the
//! edges of a cyst, a vessel or a skull thin dark lines result. A beam is as wide as its aperture, though, so a
//! narrow obstacle takes only a part of it: the loss is averaged over a share of the aperture across the beams.
//! Cause: standard ultrasound physics, from memory; the strengths are our simplification.

use super::acoustics::crossing;
use super::beam_grid::{BEAMS, SAMPLES};
use super::decibel::exp2;
use super::echoes::Scene;
use super::medium::single;

/// Samples per step of the table.
const COARSE: usize = 8;
const ROWS: usize = SAMPLES / COARSE;

/// Share of the aperture over which a loss is averaged.
const BLUR: f64 = 0.16;

/// A beam turned by this angle (radians; 7 degrees) misses the receiving aperture by so much that a quarter of its
/// intensity is left.
const LOST_TURN: f32 = 0.122;

/// Beyond this share of the intensity at a right angle a boundary is a reflector (bone, gas) and casts a shadow of its
/// own, which is the business of `echoes`.
pub(crate) const REFLECTOR: f32 = 0.1;

/// Steeper angles of incidence (tangent) than this count as grazing, whose loss is worked out here.
pub(crate) const GRAZING: f32 = 1.0;

/// What is left of every beam at every depth (amplitude, 1 without edges), row by row of [`COARSE`] samples.
#[derive(Debug, Clone, Default)]
pub(crate) struct Edges {
    left: Vec<f32>,
    sums: Vec<f32>,
}

impl Edges {
    /// Walks all beams.
    pub(crate) fn measure(&mut self, scene: &Scene<'_>, aperture_mm: f64) {
        self.left.clear();
        self.left.resize(ROWS * BEAMS, 1.0);
        for k in 0..BEAMS {
            self.walk(scene, k);
        }
        for row in 0..ROWS {
            let spacing = scene.grid.spacing_mm(scene.grid.depth_of(row * COARSE));
            let half = (BLUR * aperture_mm / 2.0 / spacing.max(1e-3) + 0.5).min(40.0);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "between 0 and 40"
            )]
            let half = half as usize;
            self.blur(row, half);
        }
    }

    /// The factors of one beam, sample by sample.
    pub(crate) fn line(&self, k: usize, out: &mut [f32; SAMPLES]) {
        let step = 1.0 / COARSE as f32;
        for (row, part) in out.chunks_exact_mut(COARSE).enumerate() {
            let from = self.left[row * BEAMS + k];
            let to = self.left[(row + 1).min(ROWS - 1) * BEAMS + k];
            let rise = (to - from) * step;
            let mut at = from;
            for x in part {
                *x = at;
                at += rise;
            }
        }
    }

    fn walk(&mut self, scene: &Scene<'_>, k: usize) {
        let (mut turned, mut passed) = (0.0_f32, 1.0_f32);
        let mut row = 0;
        let mut factor = 1.0;
        let runs = scene.runs.line(k);
        for pair in runs.windows(2) {
            let (last, next) = (
                scene.media.get(pair[0].label),
                scene.media.get(pair[1].label),
            );
            let (a, b) = (&last.medium, &next.medium);
            if a == b || pair[1].start <= 0.0 {
                continue;
            }
            let straight = crossing(a.z, a.c, b.z, b.c, 0.0).reflected;
            if straight > REFLECTOR {
                break;
            }
            let spacing = scene.grid.spacing_mm(pair[1].start).max(1e-3);
            let tangent = single(pair[1].slope / spacing);
            // Walls are rough and beams have a width: nothing grazes closer than this (83 degrees).
            let tangent = tangent.clamp(-8.0, 8.0);
            let hit = crossing(a.z, a.c, b.z, b.c, tangent);
            let plain = crossing(a.z, a.c, b.z, b.c, held(tangent)).reflected;
            let end = scene.sample_at(pair[1].start).div_ceil(COARSE).min(ROWS);
            while row < end {
                self.left[row * BEAMS + k] = factor;
                row += 1;
            }
            turned += hit.turned;
            passed *= (1.0 - hit.reflected) / (1.0 - plain);
            let off = turned / LOST_TURN;
            factor = passed * exp2(-off * off);
        }
        while row < ROWS {
            self.left[row * BEAMS + k] = factor;
            row += 1;
        }
    }

    /// Running mean over `half` beams to either side; the outermost beams go on beyond the edges.
    fn blur(&mut self, row: usize, half: usize) {
        let line = &mut self.left[row * BEAMS..(row + 1) * BEAMS];
        self.sums.clear();
        self.sums.push(0.0);
        let mut sum = 0.0;
        let last = BEAMS - 1;
        for k in 0..BEAMS + 2 * half {
            sum += line[k.saturating_sub(half).min(last)];
            self.sums.push(sum);
        }
        let width = 2 * half + 1;
        let share = 1.0 / single(super::beam_grid::count(width));
        for (k, x) in line.iter_mut().enumerate() {
            *x = (self.sums[k + width] - self.sums[k]) * share;
        }
    }
}

/// An angle of incidence (tangent) without its grazing part.
pub(crate) fn held(tangent: f32) -> f32 {
    tangent.clamp(-GRAZING, GRAZING)
}
