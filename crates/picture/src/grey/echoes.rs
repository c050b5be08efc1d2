//! One beam on its way: what it meets, what comes back, what is left.
//!
//! Levels are amplitudes after the way there and back; 1 is the mean echo of liver right at the face. Along a beam run
//! by run: the echo of each boundary with its angle, the echo of the tissue between. What is left on the way is worked
//! out for all beams together in `transmission`; shadows behind bone and stone, edge shadows and enhancement behind
//! fluid follow from it alone.
//! What does not follow from one way there and back (ghosts between boundaries, the haze behind gas, the mirror image)
//! is added in `multipath`.

use super::acoustics::{crossing, straight};
use super::beam_grid::{BeamGrid, SAMPLES, count};
use super::decibel::{amplitude, exp2};
use super::medium::{Filled, Finish, LIVER_BELOW_MIRROR_DB, Media, Medium, single};
use super::multipath;
use super::texture::{LANES, LEAST_STRIDE, smooth_noise};
use super::transmission::{COARSE, Left, REFLECTOR, ROWS, held};
use super::weave::Weave;
use crate::gel::GEL;
use crate::scan::{Label, OUTSIDE, Run, RunMap};

/// Angle at which the smooth part of a boundary's echo has fallen to 1/e (as its sine): as wide as the cone of an
/// aperture at two to three times its width in depth. Common practice, no source.
const LOBE_SINE: f32 = 0.36;

/// Rough part of a boundary's echo against a smooth one at a right angle (amplitude), the part seen from any side.
const ROUGH: f32 = 0.10;

/// Part of the smooth echo that even the most uneven boundary keeps (amplitude).
const LEAST_SMOOTH: f32 = 0.12;

/// What is left where the walk may stop: nothing of it would show, it is far below the electronic noise.
pub(crate) const NOTHING: f32 = 1e-6;

/// Air at the face thinner than this is taken for gel: the skin is never quite where its mesh says.
const THIN_AIR_MM: f64 = 1.5;

/// How uneven a boundary is along itself: power of two of its echo between the extremes of the smooth random function
/// (12 dB), and the size of the patches, mm. Chosen by eye.
const UNEVEN: f32 = 2.0;
pub(crate) const PATCH_MM: f64 = 4.0;

/// Part of its amplitude that a rough reflector (bone) sends straight back once more.
const ROUGH_AGAIN: f32 = 0.08;

/// One medium along one beam.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    loss_db_mm: f32,
    /// Amplitudes of the samples of a row against what is left at its start.
    fades: [f32; COARSE],
}

impl Stretch {
    fn new(medium: &Medium, along_fibres: f32, step_mm: f64) -> Self {
        let echo = medium.echo_along(along_fibres);
        let fade = amplitude(-medium.loss_db_mm * single(step_mm));
        let mut fades = [0.0; COARSE];
        let mut level = echo * amplitude(-medium.loss_db_mm * single(step_mm * 0.5));
        for x in &mut fades {
            *x = level;
            level *= fade;
        }
        Self {
            loss_db_mm: medium.loss_db_mm,
            fades,
        }
    }
}

/// Media without fibres that were met before, by number.
type Stretches = [Option<(u16, Stretch)>; KEPT];
const KEPT: usize = 64;

/// A boundary on the way.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Bounce {
    pub(crate) depth_mm: f32,
    /// Height of its echo.
    pub(crate) echo: f32,
    /// Amplitude that it sends straight back, of 1.
    pub(crate) back: f32,
    /// What is left just in front of it and just behind it.
    pub(crate) before: f32,
    pub(crate) after: f32,
}

/// A way that goes on after a mirror: place and direction in the image, from a sample on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Turn {
    pub(crate) sample: usize,
    pub(crate) start: [f64; 2],
    pub(crate) along: [f64; 2],
}

/// What one beam sends back, sample by sample.
#[derive(Debug, Clone)]
pub(crate) struct Echoes {
    /// Mean amplitude of the scatterers.
    pub(crate) tissue: [f32; SAMPLES],
    /// Mean amplitude of echoes that belong to no place in the body: multiple scattering, ringing.
    pub(crate) haze: [f32; SAMPLES],
    /// First sample behind all tissue that sends anything back.
    pub(crate) end: usize,
    /// Heights of boundaries and their ghosts.
    pub(crate) lines: [f32; SAMPLES],
    /// From where on the scatterers are those of a mirrored way.
    pub(crate) turn: Option<Turn>,
    pub(crate) bounces: Vec<Bounce>,
    stretches: Stretches,
    weave: Weave,
}

impl Echoes {
    /// Forgets what belongs to one picture.
    pub(crate) fn begin(&mut self) {
        self.stretches = [None; KEPT];
        self.weave.begin();
    }
}

impl Default for Echoes {
    fn default() -> Self {
        Self {
            tissue: [0.0; SAMPLES],
            haze: [0.0; SAMPLES],
            end: 0,
            lines: [0.0; SAMPLES],
            turn: None,
            bounces: Vec::new(),
            stretches: [None; KEPT],
            weave: Weave::default(),
        }
    }
}

/// What all beams of a picture share.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scene<'a> {
    pub(crate) grid: &'a BeamGrid,
    pub(crate) runs: &'a RunMap,
    pub(crate) media: &'a Media,
    pub(crate) mhz: f32,
    /// Place of the image origin and of its axes per mm, in patches of boundaries.
    pub(crate) patches: [[f32; 3]; 3],
    /// Haze of the face itself, see [`multipath::ring_at_face`].
    pub(crate) at_face: &'a [f32; SAMPLES],
    /// See [`super::point_spread::PointSpread::line_gain`].
    pub(crate) line_gain: &'a [f32],
}

impl Scene<'_> {
    /// Sends beam `k`, of which `left` is left on its way.
    pub(crate) fn send(&self, k: usize, left: &Left, out: &mut Echoes) {
        out.tissue.fill(0.0);
        out.haze = *self.at_face;
        out.lines.fill(0.0);
        out.turn = None;
        out.end = 0;
        out.bounces.clear();
        let runs = self.runs.line(k);
        let first_end = runs.get(1).map_or(self.grid.depth_mm, |next| next.start);
        if runs.first().is_some_and(|r| r.label == OUTSIDE) && first_end > THIN_AIR_MM {
            multipath::ring_in_air(self, out);
            return;
        }
        let mirror = amplitude(LIVER_BELOW_MIRROR_DB);
        let row_mm = self.grid.step_mm * count(COARSE);
        let mut before: Option<&Filled> = None;
        // What is left against what is left at the start of the row.
        let mut within = 1.0_f32;
        let mut row = 0;
        for (i, run) in runs.iter().enumerate() {
            let end = runs
                .get(i + 1)
                .map_or(self.grid.depth_mm, |next| next.start);
            let here = self.medium(i, run.label);
            let medium = &here.medium;
            if let Some(Filled {
                medium: last,
                number,
                ..
            }) = before
                && *number != here.number
                && run.start > 0.0
            {
                let tangent = self.grid.tangent_of(run);
                let straight = straight(last.z, medium.z);
                let share = if straight > REFLECTOR {
                    crossing(last.z, last.c, medium.z, medium.c, tangent).reflected
                } else {
                    crossing(last.z, last.c, medium.z, medium.c, held(tangent)).reflected
                };
                let share = above(share, medium.front);
                let whole = left.at.get(row).copied().unwrap_or(0.0);
                let before = whole * within;
                within *= 1.0 - share;
                if before > NOTHING {
                    let uneven = exp2(UNEVEN * (smooth_noise(self.patch(k, run.start)) - 0.5));
                    let smooth = above(last.smooth, medium.smooth);
                    let back = share.sqrt() * lobe(tangent, smooth) * uneven;
                    let echo = before * back * mirror;
                    self.stroke(out, single(run.start), echo, single(run.slope.abs()));
                    out.bounces.push(Bounce {
                        depth_mm: single(run.start),
                        echo,
                        // Bone is rough and its echo goes many ways: little of it comes straight back twice.
                        back: if straight > REFLECTOR && medium.finish == Finish::Plain {
                            back * ROUGH_AGAIN
                        } else if back < 1.0 {
                            back
                        } else {
                            1.0
                        },
                        before,
                        after: whole * within,
                    });
                }
                match medium.finish {
                    Finish::Plain => {}
                    Finish::Mirror => {
                        multipath::mirror(self, k, run.start, tangent, before * share, out);
                        break;
                    }
                    Finish::Bubbles => {
                        multipath::haze(self, run.start, before * share.sqrt(), out);
                    }
                }
            }
            before = Some(here);
            let mut from = if run.start > 0.0 { run.start } else { 0.0 };
            let piece = self.stretch(k, here, run, &mut out.stretches);
            let first_sample = self.sample_at(from);
            let mut loudest = 0.0;
            let mut whole_row = false;
            while row < ROWS {
                let row_end = row_mm * count(row + 1);
                let to = if end < row_end { end } else { row_end };
                let level = left.at[row] * within;
                loudest = above(loudest, level);
                if level > NOTHING {
                    if whole_row && end >= row_end {
                        let values = row_of(&piece, level, left.gain[row]);
                        out.tissue[row * COARSE..(row + 1) * COARSE].copy_from_slice(&values);
                    } else {
                        self.fill(&piece, (from, to), level, (row, left.gain[row]), out);
                    }
                }
                if end < row_end {
                    within *= amplitude(-medium.loss_db_mm * above(single(to - from), 0.0));
                    break;
                }
                within = 1.0;
                row += 1;
                from = row_end;
                whole_row = true;
            }
            if loudest > NOTHING {
                out.end = self.sample_at(end);
                if !medium.texture.is_even() {
                    let samples = first_sample..out.end;
                    if let Some(part) = out.tissue.get_mut(samples.clone()) {
                        out.weave.shade(self.grid, k, here, samples, part);
                    }
                }
            }
        }
        multipath::ghosts(self, out);
    }

    /// The place of a boundary in the random function that makes it uneven.
    fn patch(&self, k: usize, depth_mm: f64) -> [f32; 3] {
        let [x, y] = self.grid.beams[k].at(depth_mm).map(single);
        let [zero, row, column] = self.patches;
        [0, 1, 2].map(|c: usize| zero[c] + x * row[c] + y * column[c])
    }

    /// The medium of run number `i` of a beam: thin air at the face is taken for gel.
    pub(crate) fn medium(&self, i: usize, label: Label) -> &Filled {
        if i == 0 && label == OUTSIDE {
            self.media.get(GEL)
        } else {
            self.media.get(label)
        }
    }

    /// What a medium does to beam `k` that enters it with `run`. Most media do the same to every beam: they are kept.
    fn stretch(&self, k: usize, here: &Filled, run: &Run, kept: &mut Stretches) -> Stretch {
        let medium = &here.medium;
        let step_mm = self.grid.step_mm;
        if medium.fibre_drop_db != 0.0 {
            let along = if medium.sheet {
                let tangent = self.grid.tangent_of(run);
                tangent / (1.0 + tangent * tangent).sqrt()
            } else {
                self.along_fibres(k, here)
            };
            return Stretch::new(medium, along, step_mm);
        }
        let place = &mut kept[usize::from(here.number) % KEPT];
        match place {
            Some((number, stretch)) if *number == here.number => *stretch,
            _ => {
                let stretch = Stretch::new(medium, 0.0, step_mm);
                *place = Some((here.number, stretch));
                stretch
            }
        }
    }

    /// Cosine between beam `k` and the fibres of a medium.
    fn along_fibres(&self, k: usize, here: &Filled) -> f32 {
        let along = self.grid.beams[k].along;
        here.fibre[0] * single(along[0]) + here.fibre[1] * single(along[1])
    }

    /// The echo of the tissue between two depths of one row; `level` is what is left at the first, `gain` what the
    /// exchange between beams adds over the row.
    fn fill(
        &self,
        piece: &Stretch,
        (from, to): (f64, f64),
        level: f32,
        (row, gain): (usize, f32),
        out: &mut Echoes,
    ) {
        let row_from = row * COARSE;
        let (first, end) = (self.sample_at(from), self.sample_at(to));
        if first >= end {
            return;
        }
        // As if the tissue had begun with the row: then its samples are those of every whole row.
        let before = single(from - self.grid.step_mm * count(row_from));
        let values = row_of(piece, level * amplitude(piece.loss_db_mm * before), gain);
        let part = &mut out.tissue[first..end];
        for (x, value) in part.iter_mut().zip(&values[first - row_from..]) {
            *x = *value;
        }
    }

    /// Multiplies at most [`LEAST_STRIDE`] amplitudes along a straight way by the texture of the tissue there.
    pub(crate) fn texture(&self, here: &Filled, start: [f32; 2], way: [f32; 2], part: &mut [f32]) {
        let stride = single(count(here.medium.texture.stride(self.grid)));
        let (from, step) = (
            here.place(start, 1.0),
            here.place(way.map(|w| w * stride), 0.0),
        );
        let (mut factors, mut other) = ([0.0_f32; LANES], [0.0_f32; LANES]);
        let texture = &here.medium.texture;
        texture.factors(from, step, &mut factors, &mut other);
        let rise = (factors[1] - factors[0]) / stride;
        for (value, number) in part.iter_mut().zip(NUMBERS) {
            *value *= factors[0] + rise * number;
        }
    }

    /// First sample at or behind a depth.
    pub(crate) fn sample_at(&self, depth_mm: f64) -> usize {
        let place = depth_mm / self.grid.step_mm - 0.5;
        // Rounding up by hand: asked some ten thousand times for a picture, and the library's way is long natively.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a cast from float stops at 0"
        )]
        let below = place as u32;
        let up = u32::from(f64::from(below) < place);
        usize::try_from(below.saturating_add(up))
            .unwrap_or(SAMPLES)
            .min(SAMPLES)
    }

    /// Adds the echo of a boundary that the beam meets `reach` mm deeper or shallower than its neighbours do: it fills
    /// the gap to them, or a steep boundary would be a row of dots.
    fn stroke(&self, out: &mut Echoes, depth_mm: f32, height: f32, reach: f32) {
        const MOST: f32 = 32.0;
        let step = single(self.grid.step_mm);
        let pieces = reach / step;
        let pieces = if pieces > MOST { MOST } else { pieces };
        if pieces < 2.0 {
            self.line(out, depth_mm, height);
            return;
        }
        let each = height / pieces.sqrt();
        let mut at = depth_mm - (pieces - 1.0) / 2.0 * step;
        let end = depth_mm + pieces / 2.0 * step;
        while at < end {
            self.line(out, at, each);
            at += step;
        }
    }

    /// Adds a line of a height, shared between the two samples around its depth.
    pub(crate) fn line(&self, out: &mut Echoes, depth_mm: f32, height: f32) {
        let place = depth_mm / single(self.grid.step_mm) - 0.5;
        if place < 0.0 {
            return;
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative"
        )]
        let i = place as usize;
        let part = place - i as f32;
        if let (Some([a, b]), Some(gain)) = (
            out.lines
                .get_mut(i..i + 2)
                .and_then(|s| <&mut [f32; 2]>::try_from(s).ok()),
            self.line_gain.get(i),
        ) {
            *a += height * gain * (1.0 - part);
            *b += height * gain * part;
        }
    }
}

/// Samples between two places of a texture, at least.
const NUMBERS: [f32; LEAST_STRIDE] = [0.0, 1.0, 2.0, 3.0];

/// The samples of one whole row of a medium, `level` being left at its start.
fn row_of(piece: &Stretch, level: f32, gain: f32) -> [f32; COARSE] {
    const MIDDLES: [f32; COARSE] = [0.5, 1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5];
    let rise = (gain - 1.0) / COARSE as f32;
    let mut values = [0.0; COARSE];
    for ((x, fade), middle) in values.iter_mut().zip(&piece.fades).zip(MIDDLES) {
        *x = level * fade * (1.0 + rise * middle);
    }
    values
}

/// Height of a boundary's echo by its angle: a smooth part in a lobe around the perpendicular, a rough part that
/// falls with the cosine (Lambert).
fn lobe(tangent: f32, smooth: f32) -> f32 {
    let q = tangent * tangent;
    let cosine = 1.0 / (1.0 + q).sqrt();
    let sine2 = q / (1.0 + q);
    let share = LEAST_SMOOTH + (1.0 - LEAST_SMOOTH) * smooth;
    // e^-x = 2^(-x log2 e).
    let narrow = exp2(-std::f32::consts::LOG2_E / (LOBE_SINE * LOBE_SINE) * sine2);
    share * narrow + ROUGH * smooth * cosine
}

/// The larger; `f32::max` is a library call in WebAssembly.
pub(crate) fn above(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_boundary_is_brightest_at_a_right_angle() {
        let mut last = lobe(0.0, 1.0);
        assert!((last - 1.0 - ROUGH).abs() < 1e-3, "{last}");
        for degrees in 1..90 {
            let tangent = single(libm::tan(f64::from(degrees).to_radians()));
            let now = lobe(tangent, 1.0);
            assert!(now < last, "{degrees} degrees: {now} after {last}");
            last = now;
        }
        assert!(lobe(1.0, 1.0) < 0.12, "at 45 degrees only the rough part");
        assert!(lobe(0.0, 0.1) < 0.25, "an uneven boundary is weaker");
    }
}
