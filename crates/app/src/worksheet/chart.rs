//! The body as a chart on paper: its outline as seen from one side, and the probe with its notch.
//!
//! The outline is the shadow of the skin on a plane, in bands of a few millimetres, so that it stays a small drawing.
//! Arms and legs stand as the body was described, whatever the position of the examination; the patient's own sides are
//! what the chart is about.

use std::fmt::Write as _;

use anatomy::Body;
use geometry::{PatientSide, Placement, SideName};

/// How far the chart reaches around the probe, mm to each side.
const REACH_MM: f64 = 260.0;

/// Height of a band of a chart around the probe, and of one of the whole body, mm.
const FINE_MM: f64 = 3.0;
const COARSE_MM: f64 = 8.0;

/// The probe's face is drawn at least this long, mm: a small probe on a whole body would be a dot.
const LEAST_FACE_MM: f64 = 40.0;

/// What stands on the chart.
pub(super) struct Wanted<'a> {
    /// The placement that decides from which side the body is seen.
    pub(super) placement: &'a Placement,
    /// Width of the probe's face, mm.
    pub(super) face_mm: f64,
    /// Whether the probe is drawn.
    pub(super) probe: bool,
    /// Whether the whole body is shown, so that the chart does not tell where the probe belongs.
    pub(super) whole: bool,
}

/// From which side a body is looked at to see a place on its skin.
pub(super) fn seen_from(placement: &Placement) -> PatientSide {
    SideName::of(placement.pose.normal()).dominant()
}

/// Right and down on the chart, in patient directions (LPS). The viewer stands upright beside the body; from the head and
/// the feet the patient's front is up.
const fn axes(side: PatientSide) -> ([f64; 3], [f64; 3]) {
    let down = [0.0, 0.0, -1.0];
    match side {
        PatientSide::Anterior => ([1.0, 0.0, 0.0], down),
        PatientSide::Posterior => ([-1.0, 0.0, 0.0], down),
        PatientSide::Right => ([0.0, -1.0, 0.0], down),
        PatientSide::Left => ([0.0, 1.0, 0.0], down),
        PatientSide::Head => ([-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]),
        PatientSide::Foot => ([1.0, 0.0, 0.0], [0.0, 1.0, 0.0]),
    }
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The chart as an SVG element; `name` is read aloud.
pub(super) fn svg(body: &Body, wanted: &Wanted<'_>, name: &str) -> String {
    let (right, down) = axes(seen_from(wanted.placement));
    let flat = |at: [f64; 3]| [dot(at, right), dot(at, down)];
    let contact = flat(wanted.placement.pose.contact().to_array());
    let mesh = body.skin().mesh();
    let points: Vec<[f64; 2]> = mesh
        .positions
        .iter()
        .map(|at| flat(at.map(f64::from)))
        .collect();
    let Some(all) = picture::Bounds::around(&points) else {
        return String::new();
    };
    let (mut min, mut max) = (all.min, all.max);
    if !wanted.whole {
        for k in 0..2 {
            min[k] = min[k].max(contact[k] - REACH_MM);
            max[k] = max[k].min(contact[k] + REACH_MM);
        }
    }
    let step = if wanted.whole { COARSE_MM } else { FINE_MM };
    let triangles = mesh
        .triangles
        .iter()
        .map(|corners| corners.map(|corner| points[corner as usize]));
    let shadow = shadow(triangles, min, max, step);
    let (width, height) = (max[0] - min[0], max[1] - min[1]);
    let scale = width.max(height) / 500.0;
    let room = 12.0 * scale;
    let mut out = String::new();
    let _ = write!(
        out,
        "<svg class=\"chart\" viewBox=\"{:.0} {:.0} {:.0} {:.0}\" role=\"img\" aria-label=\"{name}\"><path d=\"{shadow}\" fill=\"#d9d3c7\"/>",
        min[0] - room,
        min[1] - room,
        width + 2.0 * room,
        height + 2.0 * room
    );
    if wanted.probe {
        let lateral = flat(wanted.placement.pose.axes().lateral.to_array());
        let half = wanted.face_mm.max(LEAST_FACE_MM * scale) / 2.0;
        let end = |way: f64| [0, 1].map(|k| contact[k] + way * half * lateral[k]);
        let (far, notch) = (end(-1.0), end(1.0));
        let _ = write!(
            out,
            "<path d=\"M{:.1} {:.1}L{:.1} {:.1}\" stroke=\"#000000\" stroke-width=\"{:.1}\" stroke-linecap=\"round\"/><circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"#ffffff\" stroke=\"#000000\" stroke-width=\"{:.1}\"/>",
            far[0],
            far[1],
            notch[0],
            notch[1],
            7.0 * scale,
            notch[0],
            notch[1],
            8.0 * scale,
            3.0 * scale
        );
    }
    out.push_str("</svg>");
    out
}

/// The shadow of triangles as bands of rectangles, as the data of a path.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers of bands and columns, brought into their range first"
)]
fn shadow(
    triangles: impl Iterator<Item = [[f64; 2]; 3]>,
    min: [f64; 2],
    max: [f64; 2],
    step: f64,
) -> String {
    let count = |k: usize| (((max[k] - min[k]) / step).ceil() as usize).clamp(1, 1000);
    let (columns, rows) = (count(0), count(1));
    let mut dark = vec![false; columns * rows];
    let cell = |value: f64, k: usize, most: usize| {
        (((value - min[k]) / step).floor().max(0.0) as usize).min(most)
    };
    for [a, b, c] in triangles {
        let low = [0, 1].map(|k| a[k].min(b[k]).min(c[k]));
        let high = [0, 1].map(|k| a[k].max(b[k]).max(c[k]));
        if (0..2).any(|k| high[k] < min[k] || low[k] > max[k]) {
            continue;
        }
        for row in cell(low[1], 1, rows - 1)..=cell(high[1], 1, rows - 1) {
            for column in cell(low[0], 0, columns - 1)..=cell(high[0], 0, columns - 1) {
                // Triangles are about as small as a cell, so the cells around one are its shadow.
                dark[row * columns + column] = true;
            }
        }
    }
    let mut path = String::new();
    for row in 0..rows {
        let mut column = 0;
        while column < columns {
            if !dark[row * columns + column] {
                column += 1;
                continue;
            }
            let first = column;
            while column < columns && dark[row * columns + column] {
                column += 1;
            }
            let (x, y) = (min[0] + first as f64 * step, min[1] + row as f64 * step);
            // A little higher than its band, so that no seam is printed between two.
            let _ = write!(
                path,
                "M{x:.0} {y:.1}h{:.0}v{:.1}h-{:.0}z",
                (column - first) as f64 * step,
                step * 1.06,
                (column - first) as f64 * step
            );
        }
    }
    path
}
