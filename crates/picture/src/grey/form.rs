//! The picture put together: runs, media, scatterers and point spread to greys in beam space.

use geometry::ImagePlane;

use super::beam_grid::{BEAMS, BeamGrid, SAMPLES};
use super::compression::{self, Compression};
use super::echoes::{Echoes, Scene};
use super::medium::single;
use super::point_spread::{AXIAL_PAD, LATERAL_TAPS, LINE, PADDED, PointSpread, ROUND};
use super::settings::GreySettings;
use super::speckle::{PART_POWER, Scatterers, mix};
use super::transmission::Transmission;
use crate::field::Field;

/// Electronic noise against the echo of liver right at the face, dB: with the loss of tissue it sets how deep a
/// frequency reaches (common practice: 3.5 MHz to about 20 cm).
const NOISE_DB: f64 = -95.0;

/// Numbers of electronic noise, and how far into them a beam begins after the one before: so that no two beams that are
/// smeared into each other show the same ones, nor the two parts of one.
const NOISE: usize = 1 << 15;
const NOISE_STEP: usize = 809;

/// Buffers of one picture in beam space, kept from picture to picture.
#[derive(Debug, Clone, Default)]
pub(crate) struct BeamImage {
    /// The two parts of the last beams, smeared along them.
    re: Vec<f32>,
    im: Vec<f32>,
    /// log₂ of the energy of all beams; liver at the face has mean energy 1.
    levels: Vec<f32>,
    pub(crate) greys: Vec<u8>,
    noise: Vec<i16>,
    noise_number: u32,
    transmission: Transmission,
    echoes: Box<Echoes>,
    pub(crate) compression: Compression,
}

impl BeamImage {
    /// Sends all beams: levels of their echoes, smeared along and across them.
    pub(crate) fn insonify(
        &mut self,
        scene: &Scene<'_>,
        plane: &ImagePlane,
        spread: &PointSpread,
        noise: u32,
    ) {
        self.make_noise(noise);
        let beams = scene.grid.count();
        self.re.resize(ROUND * LINE, 0.0);
        self.im.resize(ROUND * LINE, 0.0);
        self.levels.resize(beams * SAMPLES, 0.0);
        let scatterers = Scatterers::new(plane, spread.cell_mm());
        let unit = 1.0 / (2.0 * PART_POWER).sqrt();
        let noise_unit = single(1.0 / (2.0 * 65536.0 * 65536.0 / 12.0_f64).sqrt());
        let noise_level = single(libm::pow(10.0, NOISE_DB / 20.0));
        let (mut re, mut im) = ([0.0; PADDED], [0.0; PADDED]);
        let (mut a, mut b) = ([0.0; SAMPLES], [0.0; SAMPLES]);
        self.transmission.measure(scene);
        self.echoes.begin();
        for k in 0..beams {
            scene.send(k, &self.transmission.beam(k), &mut self.echoes);
            let beam = &scene.grid.beams[k];
            let step = scene.grid.step_mm;
            let end = self.echoes.end.min(SAMPLES);
            let split = self.echoes.turn.map_or(end, |turn| turn.sample.min(end));
            scatterers.along(
                beam.at(scene.grid.depth_of(0)),
                beam.along.map(|x| x * step),
                &mut a[..split],
                &mut b[..split],
            );
            if let Some(turn) = self.echoes.turn {
                scatterers.along(
                    turn.start,
                    turn.along.map(|x| x * step),
                    &mut a[split..end],
                    &mut b[split..end],
                );
            }
            let [noise_re, noise_im] = [k, k + BEAMS].map(|number| {
                let from = number * NOISE_STEP % (NOISE - SAMPLES);
                &self.noise[from..from + SAMPLES]
            });
            let Echoes {
                tissue,
                haze,
                lines,
                ..
            } = &*self.echoes;
            let middle = AXIAL_PAD..AXIAL_PAD + SAMPLES;
            let (re_line, im_line) = (&mut re[middle.clone()], &mut im[middle]);
            for i in 0..SAMPLES {
                let stray = (haze[i] + noise_level) * noise_unit;
                re_line[i] = stray * f32::from(noise_re[i]) + lines[i];
                im_line[i] = stray * f32::from(noise_im[i]);
            }
            for i in 0..end {
                let level = tissue[i] * unit;
                re_line[i] += level * a[i];
                im_line[i] += level * b[i];
            }
            let line = k % ROUND * LINE..k % ROUND * LINE + SAMPLES;
            spread.along(&re, &mut self.re[line.clone()]);
            spread.along(&im, &mut self.im[line]);
            if let Some(ready) = k.checked_sub(LATERAL_TAPS) {
                self.smear_across(ready, beams, spread);
            }
        }
        for k in beams.saturating_sub(LATERAL_TAPS)..beams {
            self.smear_across(k, beams, spread);
        }
    }

    /// The levels of beam `k`, from it and its neighbours.
    fn smear_across(&mut self, k: usize, beams: usize, spread: &PointSpread) {
        if let Some(line) = self.levels.get_mut(k * SAMPLES..(k + 1) * SAMPLES) {
            spread.energy(k, beams, &self.re, &self.im, line);
            compression::levels(line);
        }
    }

    /// Compresses.
    pub(crate) fn detect(&mut self, field: &Field, grid: &BeamGrid, settings: &GreySettings) {
        self.compression.set(field, grid, settings);
        self.greys.resize(self.levels.len(), 0);
        let lines = self.levels.chunks_exact(SAMPLES);
        for (levels, greys) in lines.zip(self.greys.chunks_exact_mut(SAMPLES)) {
            self.compression.apply(levels, greys);
        }
    }

    /// Energies before compression, beam after beam; liver at the face has mean 1.
    #[cfg(test)]
    pub(crate) fn energies(&self) -> Vec<f32> {
        let levels = self.levels.iter();
        levels.map(|level| super::decibel::exp2(*level)).collect()
    }

    /// Random numbers that belong to the screen and not to the body.
    fn make_noise(&mut self, number: u32) {
        if !self.noise.is_empty() && self.noise_number == number {
            return;
        }
        self.noise_number = number;
        self.noise.clear();
        let samples = (0_i32..).take(NOISE);
        self.noise.extend(samples.map(|i| {
            let [low, high, ..] = mix(i, number.cast_signed(), 0x5eed).to_le_bytes();
            i16::from_le_bytes([low, high])
        }));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beams_that_are_smeared_into_each_other_have_noise_of_their_own() {
        let from = |number: usize| number * NOISE_STEP % (NOISE - SAMPLES);
        for k in 0..BEAMS {
            for other in k..(k + LATERAL_TAPS + 1).min(BEAMS) {
                for (a, b) in [(k, other + BEAMS), (k + BEAMS, other), (k, other)] {
                    let apart = from(a).abs_diff(from(b));
                    assert!(a == b || apart >= SAMPLES, "{a} and {b}: {apart} apart");
                }
            }
        }
    }
}
