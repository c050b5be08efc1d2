//! Numbers as they are printed: rounding noise off, no minus zero.

use geometry::{Angle, Direction, Mm, Patient, Point};

/// Decimal places of unit vectors, of degrees, and of millimetres.
const UNIT_PLACES: f64 = 1e12;
const DEGREE_PLACES: f64 = 1e9;
const MM_PLACES: f64 = 1e6;

fn rounded(value: f64, places: f64) -> f64 {
    let scaled = value * places;
    // Numbers too large to have such places stay as they are.
    if scaled.abs() < 1e15 {
        scaled.round() / places + 0.0
    } else {
        value
    }
}

pub(crate) fn unit(direction: Direction<Patient>) -> [f64; 3] {
    direction.to_array().map(|c| rounded(c, UNIT_PLACES))
}

pub(crate) fn degrees(angle: Angle) -> f64 {
    rounded(angle.to_deg(), DEGREE_PLACES)
}

pub(crate) fn mm(length: Mm) -> f64 {
    millimetres(length.get())
}

pub(crate) fn millimetres(value: f64) -> f64 {
    rounded(value, MM_PLACES)
}

pub(crate) fn place(point: Point<Patient>) -> [f64; 3] {
    point.to_array().map(millimetres)
}
