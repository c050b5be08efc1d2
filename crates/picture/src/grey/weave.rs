//! Textures along beams, at knots that neighbouring beams share.
//!
//! A texture is coarser than samples and beams are: it is worked out at knots some samples and some beams apart, and
//! goes straight in between. Knots stand at whole multiples of their distance, whatever the tissue's outline, so that a
//! knot is worked out once and what is seen of it does not depend on where a boundary runs.

use std::ops::Range;

use super::beam_grid::{BeamGrid, SAMPLES, count};
use super::medium::{Filled, single};
use super::texture::{LANES, LEAST_STRIDE, MOST_STRIDE, Texture};

/// Knots along a beam, in whole chunks.
const KNOTS: usize = (SAMPLES / LEAST_STRIDE + 2).next_multiple_of(LANES);
const _: () = assert!(KNOTS / LANES <= 64, "one bit for every chunk of a row");

/// Least distance of knots across the beams. Along a beam knots stand two lengths of the pulse apart, see
/// [`LEAST_STRIDE`]; across, even the narrowest beam smears over its neighbours.
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
    line: [f32; SAMPLES + MOST_STRIDE],
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            other: [0.0; KNOTS],
            between: [0.0; KNOTS],
            line: [0.0; SAMPLES + MOST_STRIDE],
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
        self.samples = texture.stride(grid);
        let spacing = single(grid.spacing_mm(grid.depth_mm / 2.0));
        let coarser = single(count(grid.detail().stride()));
        let most = WIDER * texture.finest_mm() * coarser / spacing;
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
        _ => spread_by::<MOST_STRIDE>(knots, samples, part, line),
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
const NUMBERS: [f32; MOST_STRIDE] = [
    0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0,
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::Field;
    use crate::grey::beam_grid::{BEAMS, Detail};
    use crate::grey::medium::{Medium, tests::tissue};
    use crate::transducer::transducer;
    use geometry::{ApexSide, Convention, ImagePlane, Mm, Point, Vector};

    /// Relative; places some hundred cells from the origin are exact to a few 10⁻⁵ of a cell in single precision, and the
    /// steepest texture changes by a few dB over a tenth of a cell.
    const ROUNDING: f32 = 1e-3;

    fn textured(key: &str) -> Filled {
        let plane = ImagePlane::from_notch_and_beam(
            Point::new(11.0, -40.0, 73.0),
            Vector::new(0.0, 0.0, 1.0),
            Vector::new(0.0, 1.0, 0.0),
            Convention::GENERAL,
        )
        .expect("a plane");
        Filled::new(Medium::of(&tissue(key), 3.5), 0, &plane, [0.0, 0.0, 1.0])
    }

    /// All of beam `k`, beams before it having been asked for as a picture does.
    fn line(grid: &BeamGrid, here: &Filled, k: usize) -> Vec<f32> {
        let mut weave = Weave::default();
        let mut part = Vec::new();
        for beam in 0..=k {
            part = vec![1.0; SAMPLES];
            weave.shade(grid, beam, here, 0..SAMPLES, &mut part);
        }
        part
    }

    #[test]
    fn check_knots() {
        let field = Field::new(transducer("convex").unwrap(), Mm::new(120.0), ApexSide::Top);
        for detail in [Detail::Full, Detail::Moving] {
            let grid = BeamGrid::new(&field, detail);
            for key in ["liver", "muscle", "fat_subcutaneous", "kidney_cortex"] {
                let here = textured(key);
                let apart = here.medium.texture.stride(&grid);
                let last = grid.count() - 1;
                for k in [0, 1, 2, 3, 64, 101, last] {
                    let whole = line(&grid, &here, k);
                    // A piece shows the same, wherever a boundary cuts it off.
                    for piece in [0..1, 3..9, 100..101, 77..300, 511..512] {
                        let mut part = vec![1.0; piece.len()];
                        Weave::default().shade(&grid, k, &here, piece.clone(), &mut part);
                        for (a, b) in part.iter().zip(&whole[piece.clone()]) {
                            let off = (a / b - 1.0).abs();
                            assert!(off < ROUNDING, "{key} {detail:?} beam {k} {piece:?}: {off}");
                        }
                    }
                    // On a beam with knots of its own they are the function itself.
                    if k % 4 == 0 || k == last {
                        for knot in [0, 5, 20] {
                            let at = grid.beams[k].at(grid.depth_of(knot * apart)).map(single);
                            let (mut want, mut other) = ([0.0; LANES], [0.0; LANES]);
                            let place = here.place(at, 1.0);
                            here.medium
                                .texture
                                .factors(place, [0.0; 3], &mut want, &mut other);
                            let off = whole[knot * apart] / want[0];
                            assert!(
                                (off - 1.0).abs() < 0.02,
                                "{key} beam {k} knot {knot}: {off}"
                            );
                        }
                    }
                }
            }
        }
        assert_eq!(BEAMS % 4, 0, "the beams asked for above have knots");
    }
}
