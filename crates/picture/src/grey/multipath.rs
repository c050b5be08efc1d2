//! Echoes that took more than one way there and back: ghosts, haze behind gas, mirror images, ringing.
//!
//! All of these are our simplifications of standard artefact physics (from memory): they put the right thing at the
//! right depth, with strengths chosen by eye where nothing else is said.

use super::beam_grid::{SAMPLES, count};
use super::decibel::{amplitude, exp2};
use super::echoes::{Bounce, Echoes, NOTHING, Scene, Turn, above};
use super::medium::{Finish, single};
use super::texture::LEAST_STRIDE;
use crate::scan::OUTSIDE;

/// What the transducer's own face sends back of an echo that reaches it (amplitude; -12 dB, common practice).
const FACE: f32 = 0.25;

/// Ghosts below this height do not show.
const LEAST_GHOST: f32 = 0.004;

/// Strongest boundaries of a beam that make ghosts.
const GHOSTS_OF: usize = 10;

/// Boundaries weaker than this (amplitude sent back) make no ghosts.
const LEAST_BACK: f32 = 0.012;

/// Reverberation: between two parallel boundaries at distance a every echo of the farther comes again a, 2a, ... behind
/// it, each time weaker by what the two send back.
pub(crate) fn ghosts(scene: &Scene<'_>, out: &mut Echoes) {
    out.bounces.retain(|b| b.back > LEAST_BACK);
    let face = Bounce {
        depth_mm: 0.0,
        echo: 0.0,
        back: FACE,
        before: 1.0,
        after: 1.0,
    };
    // Near the face first: what lies deeper makes ghosts deeper still, mostly below the picture.
    out.bounces.truncate(GHOSTS_OF);
    let end = single(scene.grid.depth_mm);
    for i in 0..out.bounces.len() {
        let far = out.bounces[i];
        for j in 0..=i {
            let near = if j == 0 { face } else { out.bounces[j - 1] };
            let apart = far.depth_mm - near.depth_mm;
            // Neighbours may have filled a shadow in again between the two; no ghost gains by that.
            let between = far.before / above(near.after, NOTHING);
            let between = if between < 1.0 { between } else { 1.0 };
            let again = near.back * far.back * between;
            let (mut depth, mut height) = (far.depth_mm + apart, far.echo * again);
            while height > LEAST_GHOST && depth < end && apart > 0.1 {
                scene.line(out, depth, height);
                depth += apart;
                height *= again;
            }
        }
    }
}

/// Haze right behind gas against liver at that place (amplitude), and how fast it fades, dB per cm and MHz.
const HAZE: f32 = 0.55;
const HAZE_FADE: f32 = 1.5;

/// Dirty shadow: between bubbles the sound goes to and fro and comes back late from where it never was.
pub(crate) fn haze(scene: &Scene<'_>, depth_mm: f64, level: f32, out: &mut Echoes) {
    let fade_db = -HAZE_FADE * scene.mhz * 0.1 * single(scene.grid.step_mm);
    let fade = amplitude(fade_db);
    // Some samples at a time, so that they do not wait for one another.
    let mut levels = [level * HAZE; 8];
    for i in 1..levels.len() {
        levels[i] = levels[i - 1] * fade;
    }
    let on = amplitude(fade_db * 8.0);
    for part in out.haze[scene.sample_at(depth_mm)..].chunks_mut(levels.len()) {
        for (x, level) in part.iter_mut().zip(&mut levels) {
            *x += *level;
            *level *= on;
        }
    }
}

/// Amplitude that stays together in a mirror image at long wavelengths: the mirror is no perfect one.
const MIRROR: f32 = 0.9;

/// Roughness of the mirror (standard deviation, mm): air spaces under the pleura. What comes back by way of it is
/// reflected twice, so e^-(4 pi roughness / wavelength)² of the amplitude stays together (scattering from rough
/// surfaces, from memory; the roughness is chosen by eye). An abdominal transducer sees liver above the diaphragm, a
/// high-frequency one under the pleura sees haze.
const ROUGHNESS_MM: f32 = 0.02;

/// Haze behind the mirror against that behind bubbles: air spaces under the smooth pleura scatter too.
const VEIL: f32 = 0.5;

/// Samples between two looks at the mirrored way.
const LOOK: usize = 4;
const _: () = assert!(LOOK <= LEAST_STRIDE, "one piece of a texture");

/// Mirror image: the beam goes on along its reflection, and what it meets there is drawn straight behind the mirror.
///
/// `tangent` is that of the angle of incidence, `level` what is left after reflecting there and back.
pub(crate) fn mirror(
    scene: &Scene<'_>,
    k: usize,
    depth_mm: f64,
    tangent: f32,
    level: f32,
    out: &mut Echoes,
) {
    let beam = &scene.grid.beams[k];
    let down = if beam.along[1] < 0.0 { -1.0 } else { 1.0 };
    let right = [beam.along[1] * down, -beam.along[0] * down];
    let t = f64::from(tangent);
    let face = [0, 1].map(|a: usize| (right[a] + t * beam.along[a]) / (1.0 + t * t).sqrt());
    let twice = 2.0 * (face[0] * beam.along[0] + face[1] * beam.along[1]);
    let along = [0, 1].map(|a: usize| twice * face[a] - beam.along[a]);
    let start = beam.at(depth_mm);
    let first = scene.sample_at(depth_mm);
    if first >= SAMPLES {
        return;
    }
    let place = |i: usize| {
        let way = scene.grid.depth_of(i) - depth_mm;
        [0, 1].map(|a: usize| start[a] + way * along[a])
    };
    out.turn = Some(Turn {
        sample: first,
        start: place(first),
        along,
    });
    haze(scene, depth_mm, level * VEIL, out);
    let step = single(scene.grid.step_mm);
    let phase = 4.0 * std::f32::consts::PI * ROUGHNESS_MM * scene.mhz / 1.54;
    let mut level = level * MIRROR * exp2(-std::f32::consts::LOG2_E * phase * phase);
    let last = count(scene.grid.count() - 1);
    for from in (first..SAMPLES).step_by(LOOK) {
        let to = (from + LOOK).min(SAMPLES);
        let at = place(from);
        let (beam, depth) = scene.grid.beam_and_depth(at);
        if depth <= 0.0 || level < NOTHING {
            break;
        }
        // Beside the field the anatomy is taken to go on as at its edge.
        let nearest = beam.clamp(0.0, last);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between the first and the last beam"
        )]
        let label = scene.runs.at((nearest + 0.5) as usize, depth);
        let here = scene.media.get(label);
        if label == OUTSIDE || here.medium.finish != Finish::Plain {
            // Back in gas or lung: whatever comes from there has lost its way.
            level *= 0.5;
            continue;
        }
        out.end = to;
        let fade = amplitude(-here.medium.loss_db_mm * step);
        for x in &mut out.tissue[from..to] {
            *x = level * here.medium.echo;
            level *= fade;
        }
        if !here.medium.texture.is_even() {
            let way = along.map(|a| single(a * scene.grid.step_mm));
            scene.texture(here, at.map(single), way, &mut out.tissue[from..to]);
        }
    }
}

/// The face rings for a moment after the pulse: height at the face (dB against liver) and fading per wavelength.
const RING_DB: f32 = 16.0;
const RING_FADE_DB: f32 = 7.0;
/// Near-field haze: late echoes from the layers of the face itself, below liver and fading with depth.
const NEAR_DB: f32 = -16.0;
const NEAR_FADE_DB_MM: f32 = 0.9;

/// The bright band at the face and the haze under it, the same for all beams.
pub(crate) fn ring_at_face(step: f32, mhz: f32, haze: &mut [f32; SAMPLES]) {
    haze.fill(0.0);
    let wave = 1.54 / mhz;
    for (level_db, fade_db) in [
        (RING_DB, RING_FADE_DB / wave),
        (NEAR_DB, NEAR_FADE_DB_MM * mhz / 3.5),
    ] {
        let fade = amplitude(-fade_db * step);
        let mut level = amplitude(level_db);
        for x in haze.iter_mut() {
            if level < NOTHING {
                break;
            }
            *x += level;
            level *= fade;
        }
    }
}

/// Thickness of the layers between elements and skin, wavelengths (common practice).
const LENS_WAVES: f32 = 2.5;
/// First ghost of the lens in air against liver, and the fall from one to the next, dB.
const LENS_DB: f32 = 32.0;
const LENS_FALL_DB: f32 = 4.0;
const LENS_GHOSTS: u8 = 16;

/// Lost contact: nothing leaves the lens, all of it goes to and fro in there. Lines at the top, darkness below.
pub(crate) fn ring_in_air(scene: &Scene<'_>, out: &mut Echoes) {
    let apart = LENS_WAVES * 1.54 / scene.mhz;
    for n in 1..=LENS_GHOSTS {
        let n = f32::from(n);
        scene.line(out, n * apart, amplitude(LENS_DB - LENS_FALL_DB * n));
    }
}
