//! Textures along beams, at knots that neighbouring beams share.
//!
//! A texture is coarser than samples and beams are: it is worked out at knots some samples and some beams apart, and
//! goes straight in between. Knots stand at whole multiples of their distance, whatever the tissue's outline, so that a
//! knot is worked out once and what is seen of it does not depend on where a boundary runs.

use std::ops::Range;

use super::beam_grid::{BeamGrid, SAMPLES, count};
use super::medium::{Filled, single};
use super::texture::{LANES, LEAST_STRIDE, Texture};

/// Knots along a beam, in whole chunks.
const KNOTS: usize = (SAMPLES / LEAST_STRIDE + 2).next_multiple_of(LANES);
const _: () = assert!(KNOTS / LANES <= 64, "one bit for every chunk of a row");

/// Least distance of knots across the beams: half of them. Along a beam knots are [`LEAST_STRIDE`] samples apart, twice
/// what the pulse smears; across, the narrowest beam smears over its neighbours.
const LEAST_BEAMS: usize = 2;

/// Across the beams knots may stand further apart than along them, since what is seen is smeared more there.
const WIDER: f32 = 2.0;

/// Knots of all textures that a picture has met so far.
#[derive(Debug, Clone, Default)]
pub(crate) struct Weave {
    shades: Vec<Shade>,
    desk: Desk,
}

/// Working memory of one piece, never cleared.
#[derive(Debug, Clone)]
struct Desk {
    other: [f32; KNOTS],
    between: [f32; KNOTS],
    /// From the knot before a piece to the one behind it.
    line: [f32; SAMPLES + MOST_APART],
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            other: [0.0; KNOTS],
            between: [0.0; KNOTS],
            line: [0.0; SAMPLES + MOST_APART],
        }
    }
}

/// Knots of one texture: those of the two rows about the beam at hand.
#[derive(Debug, Clone)]
struct Shade {
    /// Distance of knots, samples and beams; 0 samples before it is known.
    samples: usize,
    beams: usize,
    rows: [Row; 2],
}

/// Knots along one beam.
#[derive(Debug, Clone)]
struct Row {
    beam: usize,
    /// Chunks that are worked out, a bit each.
    known: u64,
    factors: [f32; KNOTS],
}

impl Row {
    const EMPTY: Self = Self {
        beam: usize::MAX,
        known: 0,
        factors: [1.0; KNOTS],
    };
}

impl Weave {
    /// Forgets what belongs to one picture.
    pub(crate) fn begin(&mut self) {
        for shade in &mut self.shades {
            shade.samples = 0;
        }
    }

    /// Multiplies amplitudes of `samples` of beam `k` (`part`) by the texture of `here`.
    pub(crate) fn shade(
        &mut self,
        grid: &BeamGrid,
        k: usize,
        here: &Filled,
        samples: Range<usize>,
        part: &mut [f32],
    ) {
        if samples.is_empty() {
            return;
        }
        if self.shades.len() <= here.shade {
            self.shades.resize_with(here.shade + 1, || Shade {
                samples: 0,
                beams: 1,
                rows: [Row::EMPTY, Row::EMPTY],
            });
        }
        let (shade, desk) = (&mut self.shades[here.shade], &mut self.desk);
        if shade.samples == 0 {
            shade.begin(grid, &here.medium.texture);
        }
        let apart = shade.samples;
        let knots = samples.start / apart..(samples.end - 1) / apart + 2;
        let last = grid.count() - 1;
        let number = k / shade.beams;
        let [low, high] = [number, number + 1].map(|n| (n * shade.beams).min(last));
        shade.know(grid, here, (number, low), &knots, &mut desk.other);
        if low == k {
            let knots = &shade.rows[number % 2].factors;
            spread(knots, apart, &samples, part, &mut desk.line);
            return;
        }
        shade.know(grid, here, (number + 1, high), &knots, &mut desk.other);
        let share = single(count(k - low) / count(high - low));
        let between = &mut desk.between;
        let [near, far] = [number, number + 1].map(|n| &shade.rows[n % 2].factors[knots.clone()]);
        for ((x, a), b) in between[knots.clone()].iter_mut().zip(near).zip(far) {
            *x = a + (b - a) * share;
        }
        spread(between, apart, &samples, part, &mut desk.line);
    }
}

impl Shade {
    fn begin(&mut self, grid: &BeamGrid, texture: &Texture) {
        let coarser = grid.detail().stride();
        self.samples = (texture.stride(single(grid.step_mm)) * coarser).min(MOST_APART);
        let spacing = single(grid.spacing_mm(grid.depth_mm / 2.0));
        let most = WIDER * texture.finest_mm() * single(count(coarser)) / spacing;
        self.beams = if most < 4.0 { LEAST_BEAMS } else { 4 };
        for row in &mut self.rows {
            row.beam = usize::MAX;
        }
    }

    /// Works out what is not yet known of `knots` of the row with this number, which stands on `beam`.
    fn know(
        &mut self,
        grid: &BeamGrid,
        here: &Filled,
        (number, beam): (usize, usize),
        knots: &Range<usize>,
        other: &mut [f32; KNOTS],
    ) {
        let row = &mut self.rows[number % 2];
        if row.beam != beam {
            row.beam = beam;
            row.known = 0;
        }
        let way = single(grid.step_mm * count(self.samples));
        let ray = &grid.beams[beam];
        let mut chunk = knots.start / LANES;
        let end = knots.end.div_ceil(LANES);
        while chunk < end {
            let first = chunk;
            while chunk < end && row.known >> chunk & 1 == 0 {
                row.known |= 1 << chunk;
                chunk += 1;
            }
            if first < chunk {
                let at = ray.at(grid.depth_of(first * LANES * self.samples));
                let from = here.place(at.map(single), 1.0);
                let step = here.place(ray.along.map(|a| single(a) * way), 0.0);
                let factors = &mut row.factors[first * LANES..chunk * LANES];
                let other = &mut other[..factors.len()];
                here.medium.texture.factors(from, step, factors, other);
            }
            chunk += 1;
        }
    }
}

/// Multiplies `samples` (`part`) by what goes straight between knots `apart` samples from each other.
fn spread(
    knots: &[f32; KNOTS],
    apart: usize,
    samples: &Range<usize>,
    part: &mut [f32],
    line: &mut [f32],
) {
    match apart {
        4 => spread_by::<4>(knots, samples, part, line),
        8 => spread_by::<8>(knots, samples, part, line),
        _ => spread_by::<MOST_APART>(knots, samples, part, line),
    }
}

fn spread_by<const APART: usize>(
    knots: &[f32; KNOTS],
    samples: &Range<usize>,
    part: &mut [f32],
    line: &mut [f32],
) {
    let first = samples.start / APART;
    let pairs = knots[first..].windows(2);
    let count = samples.end.div_ceil(APART) - first;
    for (values, two) in line.chunks_exact_mut(APART).zip(pairs).take(count) {
        let rise = (two[1] - two[0]) / APART as f32;
        for (value, number) in values.iter_mut().zip(NUMBERS) {
            *value = two[0] + rise * number;
        }
    }
    for (value, factor) in part.iter_mut().zip(&line[samples.start % APART..]) {
        *value *= factor;
    }
}

/// Samples between two knots, at most.
const MOST_APART: usize = 16;
const NUMBERS: [f32; MOST_APART] = [
    0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0,
];
