//! What the body lies or stands on.

use geometry::{BodyPosition, Patient, Point};

use super::matrix;
use crate::state::State;

/// Free bed around a lying body, mm.
const SIDE_MARGIN_MM: f64 = 110.0;
const END_MARGIN_MM: f64 = 90.0;

/// Thickness of the mattress, mm.
const THICKNESS_MM: f64 = 90.0;

/// Skin box of an adult woman, patient mm, used until the skin is here.
const USUAL_BOUNDS: ([f64; 3], [f64; 3]) = ([-330.0, -125.0, -985.0], [330.0, 125.0, 652.0]);

/// A plain box under the body. Room frame, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bed {
    /// Middle of the upper face.
    pub top_centre: [f32; 3],
    /// Half of its length (along x) and half of its width (along y).
    pub half_size: [f32; 2],
    /// How thick it is, downward.
    pub thickness: f32,
}

/// Smallest and largest corner of the skin's box in the room, mm.
pub(crate) fn room_bounds(state: &State) -> ([f64; 3], [f64; 3]) {
    let (low, high) = state.skin().map_or(USUAL_BOUNDS, |skin| skin.bounds());
    let room_from_patient = state.position().room_from_patient();
    // Every position turns axes into axes, so two opposite corners of the box stay opposite corners.
    let corner = |at: [f64; 3]| {
        room_from_patient
            .apply_point(Point::<Patient>::from_array(at))
            .to_array()
    };
    let (a, b) = (corner(low), corner(high));
    let mut bounds = (a, a);
    for axis in 0..3 {
        bounds.0[axis] = a[axis].min(b[axis]);
        bounds.1[axis] = a[axis].max(b[axis]);
    }
    bounds
}

/// The bed under the lying body; a platform under the one that stands in for a seated body.
#[must_use]
pub fn bed(state: &State) -> Bed {
    let (low, high) = room_bounds(state);
    let margin = |length: f64, least: f64| {
        // A newborn's head gets a pad of its own size, not a bed.
        least.min(length * 0.35)
    };
    let (length, width) = (high[0] - low[0], high[1] - low[1]);
    let end = match state.position() {
        BodyPosition::Seated => margin(length, SIDE_MARGIN_MM),
        _ => margin(length, END_MARGIN_MM),
    };
    let side = margin(width, SIDE_MARGIN_MM);
    let tallest = (high[2] - low[2]).max(1.0);
    Bed {
        top_centre: matrix::single3([(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0, low[2]]),
        half_size: [
            matrix::narrow(length / 2.0 + end),
            matrix::narrow(width / 2.0 + side),
        ],
        thickness: matrix::narrow(THICKNESS_MM.min(tallest * 0.4)),
    }
}
