//! Gas in bowel: where a beam enters what bowel holds, there are bubbles at some places of the body and none at others.
//!
//! Bubbles rise, so only beams that come from above meet them (the body lies on its back); beams from the flank or
//! from below see the content itself. How much of the lumen they fill is chosen by eye (common practice, no source).

use geometry::ImagePlane;

use super::beam_grid::BeamGrid;
use super::medium::{BUBBLES, Media, single};
use super::texture::smooth_noise;
use crate::scan::RunMap;

/// Size of the patches of bubbles, mm.
const PATCH_MM: f64 = 11.0;

/// How ragged their edges are: another function, that much as strong, of this size, mm.
const RAGGED: f32 = 0.4;
const RAGGED_MM: f64 = 1.7;

/// Where the random function is above this there are bubbles: about a third of the front of bowel.
const LEAST: f32 = 0.55;

/// Least share of the beam that goes down in the lying body (cosine).
const LEAST_DOWN: f64 = 0.4;

/// Puts bubbles into the runs.
pub(crate) fn float(plane: &ImagePlane, grid: &BeamGrid, media: &Media, runs: &mut RunMap) {
    for (k, beam) in grid.beams.iter().enumerate() {
        let way =
            plane.row().to_vector() * beam.along[0] + plane.column().to_vector() * beam.along[1];
        if way.to_array()[1] < LEAST_DOWN {
            continue;
        }
        runs.relabel(k, |before, run| {
            let gassy = media.get(run.label).medium.gassy && !media.get(before).medium.gassy;
            if !gassy || run.start <= 0.0 {
                return run.label;
            }
            let at = plane.to_patient(beam.at(run.start)).to_array();
            let patch = at.map(|x| single(x / PATCH_MM));
            let ragged = at.map(|x| single(x / RAGGED_MM));
            if smooth_noise(patch) + RAGGED * smooth_noise(ragged) > LEAST + RAGGED / 2.0 {
                BUBBLES
            } else {
                run.label
            }
        });
    }
}
