//! Segments: named stretches of a vessel, poles of a kidney, lobes of a liver.
//!
//! The body descriptions list overlapping segments (the caudate lobe lies inside the rule for the right lobe; the
//! stretch of the aorta between two heights also meets the ascending aorta) and leave open which wins. Here the more
//! particular rule wins: ellipsoid, box, arc, axis, z, half-space; within one kind the first listed. With that the
//! caudate lobe is found inside the liver and the ascending aorta is not taken for the descending one.

use geometry::{Patient, Point};

use crate::axis::{CentreLine, LongAxis};
use crate::catalogue::SegmentPlace;

/// One named segment.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// Name within the structure: `right_lobe`.
    pub id: String,
    /// English words: "Right lobe".
    pub label: String,
    /// Which points belong to it, patient mm.
    pub place: SegmentPlace,
}

/// Lower ranks win.
fn rank(place: &SegmentPlace) -> u8 {
    match place {
        SegmentPlace::Ellipsoid { .. } => 0,
        SegmentPlace::Box { .. } => 1,
        SegmentPlace::Arc { .. } => 2,
        SegmentPlace::Axis { .. } => 3,
        SegmentPlace::Z { .. } => 4,
        SegmentPlace::Halfspace { .. } => 5,
    }
}

/// The winning segment at `point`, patient mm.
#[must_use]
pub fn segment_at<'a>(
    segments: &'a [Segment],
    axis: Option<&LongAxis>,
    centre_line: Option<&CentreLine>,
    point: Point<Patient>,
) -> Option<&'a Segment> {
    segments
        .iter()
        .filter(|segment| contains(&segment.place, axis, centre_line, point))
        .min_by_key(|segment| rank(&segment.place))
}

/// Whether `point` obeys the rule of a segment. A rule whose centre line or axis is missing contains nothing.
fn contains(
    place: &SegmentPlace,
    axis: Option<&LongAxis>,
    centre_line: Option<&CentreLine>,
    point: Point<Patient>,
) -> bool {
    let p = point.to_array();
    match *place {
        SegmentPlace::Arc { from, to } => {
            centre_line.is_some_and(|line| between(line.nearest(point).fraction, from, to))
        }
        SegmentPlace::Axis { from, to } => fraction_along(axis, centre_line, point)
            .is_some_and(|fraction| between(fraction, from, to)),
        SegmentPlace::Z { from, to } => from.min(to) <= p[2] && p[2] <= from.max(to),
        SegmentPlace::Halfspace { at, n } => {
            (0..3).map(|k| n[k] * (p[k] - at[k])).sum::<f64>() < 0.0
        }
        SegmentPlace::Ellipsoid { c, r } => {
            let gauge: f64 = (0..3).map(|k| (p[k] - c[k]) / r[k]).map(|q| q * q).sum();
            gauge <= 1.0
        }
        SegmentPlace::Box { lo, hi } => (0..3).all(|k| lo[k] <= p[k] && p[k] <= hi[k]),
    }
}

/// Fraction along the straight axis, held to 0–1 so that the rounded ends of an organ belong to its end segments.
fn fraction_along(
    axis: Option<&LongAxis>,
    centre_line: Option<&CentreLine>,
    point: Point<Patient>,
) -> Option<f64> {
    match *axis? {
        LongAxis::Line { a, b } | LongAxis::Principal { a, b } => {
            let along = b - a;
            let fraction = (point - a).dot(along) / along.dot(along);
            fraction.is_finite().then(|| fraction.clamp(0.0, 1.0))
        }
        LongAxis::CentreLine => Some(centre_line?.nearest(point).fraction),
    }
}

/// Half-open so that touching segments do not both claim their border, closed at the very end.
fn between(fraction: f64, from: f64, to: f64) -> bool {
    from <= fraction && (fraction < to || (to >= 1.0 && fraction <= to))
}
