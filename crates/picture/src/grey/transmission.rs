//! What is left of every beam at every depth: attenuation, boundaries, edges, and the width of a beam that fills
//! shadows in again.
//!
//! A boundary hit at a steep angle turns the beam aside (Snell) and, near grazing, reflects most of it; behind the
//! edges of a cyst, a vessel or a skull dark lines result. A beam is no line, though: its aperture sees a point from
//! many sides, so whatever one straight line loses is shared with its neighbours, the more the deeper. Behind a rib the
//! shadow's edge is soft, behind a thin fascia that runs along the beam there is almost none. Here the beams exchange
//! what is left a little from row to row on the way down.
//!
//! Cause: standard ultrasound physics, from memory; the strengths are our simplification.

use super::acoustics::{crossing, straight};
use super::beam_grid::{SAMPLES, count};
use super::decibel::exp2;
use super::echoes::{Scene, above};
use super::medium::{Filled, single};
use crate::scan::OUTSIDE;

/// Samples per row.
pub(crate) const COARSE: usize = 8;
pub(crate) const ROWS: usize = SAMPLES / COARSE;

/// Width over which neighbours exchange from one row to the next, of the depth shown: with [`ROWS`] rows a shadow's
/// edge is as soft, a fifth of the depth below its cause, as an aperture of 2/5 of the distance makes it.
const EXCHANGE: f64 = 0.022;

/// A beam turned by this angle (radians; 7 degrees) misses the receiving aperture by so much that a quarter of its
/// intensity is left.
const LOST_TURN: f32 = 0.122;

/// Beyond this share of the intensity at a right angle a boundary is a reflector (bone, gas).
pub(crate) const REFLECTOR: f32 = 0.1;

/// Steeper angles of incidence (tangent) than this count as grazing: what they reflect goes aside and is lost.
const GRAZING: f32 = 1.0;

/// What is left of every beam (amplitude there and back) at the start of every row, row after row.
#[derive(Debug, Clone, Default)]
pub(crate) struct Transmission {
    left: Vec<f32>,
    /// What a row itself lets through, and whether it begins inside a reflector.
    passed: Vec<f32>,
    hard: Vec<bool>,
    sums: Vec<f32>,
    beams: usize,
}

/// What is left of one beam, from row to row.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Left {
    /// At the start of each row.
    pub(crate) at: [f32; ROWS],
    /// What the exchange with the neighbours adds by the end of a row, as a factor.
    pub(crate) gain: [f32; ROWS],
}

impl Transmission {
    /// Walks all beams.
    pub(crate) fn measure(&mut self, scene: &Scene<'_>) {
        self.beams = scene.grid.count();
        self.left.clear();
        self.left.resize(ROWS * self.beams, 1.0);
        self.passed.clear();
        self.passed.resize(ROWS * self.beams, 1.0);
        self.hard.clear();
        self.hard.resize(ROWS * self.beams, false);
        for k in 0..self.beams {
            self.walk(scene, k);
        }
        for row in 1..ROWS {
            let depth = scene.grid.step_mm * count(row * COARSE);
            let spacing = scene.grid.spacing_mm(depth).max(1e-3);
            let half = EXCHANGE * scene.grid.depth_mm / spacing / 2.0;
            self.exchange(row, single(half.min(40.0)));
        }
    }

    /// What is left of beam `k`.
    pub(crate) fn beam(&self, k: usize) -> Left {
        let mut out = Left {
            at: [0.0; ROWS],
            gain: [1.0; ROWS],
        };
        for row in 0..ROWS {
            out.at[row] = self.left[row * self.beams + k];
        }
        for row in 0..ROWS - 1 {
            const MOST: f32 = 3.0;
            let own = out.at[row] * self.passed[row * self.beams + k];
            let gain = out.at[row + 1] / (own + 1e-20);
            out.gain[row] = if gain < MOST { gain } else { MOST };
        }
        out
    }

    /// What every row of one beam lets through.
    fn walk(&mut self, scene: &Scene<'_>, k: usize) {
        let row_mm = scene.grid.step_mm * count(COARSE);
        let mut log2 = 0.0;
        let mut row = 0;
        let mut before: Option<&Filled> = None;
        let mut hard = false;
        let runs = scene.runs.line(k);
        for (i, run) in runs.iter().enumerate() {
            let here = scene.medium(i, run.label);
            let medium = &here.medium;
            if let Some(Filled {
                medium: last,
                number,
                ..
            }) = before
                && *number != here.number
                && run.start > 0.0
            {
                // Walls are rough and beams have a width: nothing grazes closer than this (83 degrees).
                let tangent = scene.grid.tangent_of(run).clamp(-8.0, 8.0);
                let straight = straight(last.z, medium.z);
                let hit = crossing(last.z, last.c, medium.z, medium.c, tangent);
                hard = straight > REFLECTOR;
                let share = if hit.reflected > medium.front {
                    hit.reflected
                } else {
                    medium.front
                };
                log2 += super::decibel::log2(1.0 - share + 1e-12);
                if !hard {
                    let off = hit.turned / LOST_TURN;
                    log2 -= off * off;
                }
            }
            before = Some(here);
            let end = runs
                .get(i + 1)
                .map_or(scene.grid.depth_mm, |next| next.start);
            let loss = medium.loss_db_mm * super::decibel::LOG2_OF_DB;
            let mut from = if run.start > 0.0 { run.start } else { 0.0 };
            while row < ROWS {
                let row_end = row_mm * count(row + 1);
                if end < row_end {
                    log2 -= loss * above(single(end - from), 0.0);
                    break;
                }
                log2 -= loss * single(row_end - from);
                from = row_end;
                self.passed[row * self.beams + k] = exp2(log2);
                log2 = 0.0;
                row += 1;
                if row < ROWS {
                    self.hard[row * self.beams + k] = hard || run.label == OUTSIDE && i > 0;
                }
            }
        }
        while row < ROWS {
            self.passed[row * self.beams + k] = exp2(log2);
            log2 = 0.0;
            row += 1;
        }
    }

    /// Row `row` from the one above: what that lets through, spread over `half` beams to either side. Nothing is spread
    /// into a reflector; the outermost beams go on beyond the edges.
    fn exchange(&mut self, row: usize, half: f32) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and 40"
        )]
        let whole = half as usize;
        // The neighbours just beyond the whole ones count in part, so that the width grows smoothly.
        let part = half - whole as f32;
        let (above, below) = self.left.split_at_mut(row * self.beams);
        let above = &above[(row - 1) * self.beams..];
        let passed = &self.passed[(row - 1) * self.beams..row * self.beams];
        let reach = whole + 1;
        self.sums.clear();
        self.sums.resize(self.beams + 2 * reach, 0.0);
        for ((x, a), p) in self.sums[reach..].iter_mut().zip(above).zip(passed) {
            *x = a * p;
        }
        let (first, last) = (self.sums[reach], self.sums[reach + self.beams - 1]);
        self.sums[..reach].fill(first);
        self.sums[reach + self.beams..].fill(last);
        let share = 1.0 / (1.0 + 2.0 * half);
        let mut sum: f32 = self.sums[1..2 * whole + 2].iter().sum();
        for (k, x) in below[..self.beams].iter_mut().enumerate() {
            let edges = self.sums[k] + self.sums[k + 2 * reach];
            let spread = (sum + part * edges) * share;
            *x = if self.hard[row * self.beams + k] {
                self.sums[k + reach]
            } else if spread > 0.0 {
                spread
            } else {
                0.0
            };
            if k + 1 < self.beams {
                sum += self.sums[k + 2 * whole + 2] - self.sums[k + 1];
            }
        }
    }
}

/// An angle of incidence (tangent) without its grazing part.
pub(crate) fn held(tangent: f32) -> f32 {
    tangent.clamp(-GRAZING, GRAZING)
}
