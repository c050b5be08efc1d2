//! One beam on its way: what it meets, what comes back, what is left.
//!
//! Levels are amplitudes after the way there and back; 1 is the mean echo of liver right at the face. Along a beam run
//! by run: the echo of each boundary with its angle, the echo of the tissue between, the loss in it. Shadows behind
//! bone and stone and enhancement behind fluid follow from these alone; shadows at edges are measured in `edges`.
//! What does not follow from one way there and back (ghosts between boundaries, the haze behind gas, the mirror image)
//! is added in `multipath`.

use super::acoustics::crossing;
use super::beam_grid::{BeamGrid, SAMPLES, count};
use super::decibel::{amplitude, exp2};
use super::edges::{REFLECTOR, held};
use super::medium::{Filled, Finish, LIVER_BELOW_MIRROR_DB, Media, single};
use super::multipath;
use crate::gel::GEL;
use crate::scan::{OUTSIDE, RunMap};

/// Angle at which the smooth part of a boundary's echo has fallen to 1/e (as its sine): as wide as the cone of an
/// aperture at two to three times its width in depth. Common practice, no source.
const LOBE_SINE: f32 = 0.36;

/// Rough part of a boundary's echo against a smooth one at a right angle (amplitude), the part seen from any side.
const ROUGH: f32 = 0.10;

/// Part of the smooth echo that even the most uneven boundary keeps (amplitude).
const LEAST_SMOOTH: f32 = 0.12;

/// What is left where the walk may stop: nothing of it would show.
pub(crate) const NOTHING: f32 = 1e-7;

/// Air at the face thinner than this is taken for gel: the skin is never quite where its mesh says.
const THIN_AIR_MM: f64 = 1.5;

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
    /// Heights of boundaries and their ghosts.
    pub(crate) lines: [f32; SAMPLES],
    /// From where on the scatterers are those of a mirrored way.
    pub(crate) turn: Option<Turn>,
    pub(crate) bounces: Vec<Bounce>,
}

impl Default for Echoes {
    fn default() -> Self {
        Self {
            tissue: [0.0; SAMPLES],
            haze: [0.0; SAMPLES],
            lines: [0.0; SAMPLES],
            turn: None,
            bounces: Vec::new(),
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
    /// Haze of the face itself, see [`multipath::ring_at_face`].
    pub(crate) at_face: &'a [f32; SAMPLES],
    /// See [`super::point_spread::PointSpread::line_gain`].
    pub(crate) line_gain: &'a [f32],
}

impl Scene<'_> {
    /// Sends beam `k`.
    pub(crate) fn send(&self, k: usize, out: &mut Echoes) {
        out.tissue.fill(0.0);
        out.haze = *self.at_face;
        out.lines.fill(0.0);
        out.turn = None;
        out.bounces.clear();
        let runs = self.runs.line(k);
        let first_end = runs.get(1).map_or(self.grid.depth_mm, |next| next.start);
        if runs.first().is_some_and(|r| r.label == OUTSIDE) && first_end > THIN_AIR_MM {
            multipath::ring_in_air(self, out);
            return;
        }
        let mirror = amplitude(LIVER_BELOW_MIRROR_DB);
        let mut left = 1.0_f32;
        let mut before: Option<Filled> = None;
        for (i, run) in runs.iter().enumerate() {
            let end = runs
                .get(i + 1)
                .map_or(self.grid.depth_mm, |next| next.start);
            let here = if i == 0 && run.label == OUTSIDE {
                self.media.get(GEL)
            } else {
                self.media.get(run.label)
            };
            let medium = &here.medium;
            if let Some(Filled { medium: last, .. }) = before
                && last != *medium
                && run.start > 0.0
            {
                let tangent = single(run.slope / self.grid.spacing_mm(run.start).max(1e-3));
                let straight = crossing(last.z, last.c, medium.z, medium.c, 0.0).reflected;
                let share = if straight > REFLECTOR {
                    crossing(last.z, last.c, medium.z, medium.c, tangent).reflected
                } else {
                    crossing(last.z, last.c, medium.z, medium.c, held(tangent)).reflected
                };
                let share = above(share, medium.front);
                let back = share.sqrt() * lobe(tangent, above(last.smooth, medium.smooth));
                let echo = left * back * mirror;
                let before = left;
                left *= 1.0 - share;
                self.stroke(out, single(run.start), echo, single(run.slope.abs()));
                out.bounces.push(Bounce {
                    depth_mm: single(run.start),
                    echo,
                    // Bone is rough and its echo goes many ways: little of it comes straight back twice.
                    back: if straight > REFLECTOR && medium.finish == Finish::Plain {
                        back * 0.3
                    } else {
                        back
                    },
                    before,
                    after: left,
                });
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
            self.fill(k, &here, (run.start, end), left, out);
            left *= amplitude(-medium.loss_db_mm * single(end - run.start.max(0.0)));
            if left < NOTHING {
                break;
            }
            before = Some(here);
        }
        multipath::ghosts(self, out);
    }

    /// The echo of the tissue between two depths; `seen` is what is left at the first.
    fn fill(&self, k: usize, here: &Filled, (from, to): (f64, f64), seen: f32, out: &mut Echoes) {
        let (first, end) = (self.sample_at(from), self.sample_at(to));
        if first >= end {
            return;
        }
        let medium = &here.medium;
        let beam = &self.grid.beams[k];
        let step = single(self.grid.step_mm);
        let to_first = single(self.grid.depth_of(first) - from.max(0.0));
        let along = here.fibre[0] * single(beam.along[0]) + here.fibre[1] * single(beam.along[1]);
        let mut level = seen * medium.echo_along(along) * amplitude(-medium.loss_db_mm * to_first);
        let fade = amplitude(-medium.loss_db_mm * step);
        let part = &mut out.tissue[first..end];
        for x in part.iter_mut() {
            *x = level;
            level *= fade;
        }
        if !medium.texture.is_even() {
            let start = beam.at(self.grid.depth_of(first)).map(single);
            let way = beam.along.map(|a| single(a * self.grid.step_mm));
            self.texture(here, start, way, part);
        }
    }

    /// Multiplies amplitudes along a straight way by the texture of the tissue there.
    pub(crate) fn texture(&self, here: &Filled, start: [f32; 2], way: [f32; 2], part: &mut [f32]) {
        let [origin, x, y] = here.grain;
        let at = |n: f32| {
            let p = [start[0] + n * way[0], start[1] + n * way[1]];
            let place = [0, 1, 2].map(|c: usize| origin[c] + p[0] * x[c] + p[1] * y[c]);
            here.medium.texture.factor(place)
        };
        let samples = here.medium.texture.stride(single(self.grid.step_mm));
        let stride = single(count(samples));
        let mut n = 0.0;
        let mut from = at(0.0);
        for chunk in part.chunks_mut(samples) {
            n += stride;
            let to = at(n);
            let rise = (to - from) / stride;
            let mut factor = from;
            for value in chunk {
                *value *= factor;
                factor += rise;
            }
            from = to;
        }
    }

    /// First sample at or behind a depth.
    pub(crate) fn sample_at(&self, depth_mm: f64) -> usize {
        let place = libm::ceil(depth_mm / self.grid.step_mm - 0.5);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a cast from float stops at 0"
        )]
        let i = place as usize;
        i.min(SAMPLES)
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

fn above(a: f32, b: f32) -> f32 {
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
