//! Loops to runs along every beam: the label map in beam space, with exact ends.
//!
//! Beams fan out, so a straight edge of a loop is no straight line in (depth, beam). Instead of bending loops the
//! crossing of every edge with every beam is worked out, which is exact, and the painter does the rest.
//!
//! Each beam is taken as a whole straight line, through and behind the point where the beams meet, so that a closed
//! loop crosses it an even number of times. Which beams an edge crosses follows from the sides its ends are on.

use anatomy::{Body, Section};

use super::beam_grid::{BEAMS, BeamGrid};
use super::press::BEHIND_MM;
use crate::field::Field;
use crate::gel::{GEL, Gel};
use crate::scan::{Painter, RunMap};
use crate::schematic::{open_layer, skin_loops};

/// Steepest contour that is kept apart from one along the beam (tangent of the angle of incidence).
const STEEPEST: f64 = 60.0;

/// Length of contour whose direction counts as one, of the depth shown.
const SMOOTH: f64 = 0.02;

/// Where a point is among the beams.
#[derive(Debug, Clone, Copy)]
struct Place {
    /// Beams that have the point on their right (for a point in front of the apex; on their left for one behind).
    beams: usize,
    front: bool,
}

/// Fills `runs` with what every beam of `grid` meets from [`BEHIND_MM`] behind the face to the
/// depth shown. Labels are numbers of the body's surfaces, [`GEL`] for gel.
pub(crate) fn paint_beams(
    body: &Body,
    section: &Section,
    field: &Field,
    grid: &BeamGrid,
    painter: &mut Painter,
    gel: &mut Gel,
    runs: &mut RunMap,
) {
    let from_mm = -BEHIND_MM;
    gel.measure(field, skin_loops(section));
    begin(painter, grid, from_mm);
    painter.layer(GEL, []);
    for polygon in gel.polygons() {
        add_loop(painter, grid, from_mm, polygon);
    }
    for layer in section.layers() {
        open_layer(painter, body, layer.surface);
        for outline in section.loops(*layer) {
            add_loop(painter, grid, from_mm, outline.points);
        }
    }
    painter.paint(runs);
}

/// Starts the painter for all beams of a grid.
pub(crate) fn begin(painter: &mut Painter, grid: &BeamGrid, from_mm: f64) {
    painter.begin(
        u32::try_from(BEAMS).unwrap_or(u32::MAX),
        from_mm,
        grid.depth_mm,
    );
}

/// Adds one closed loop (image mm) to the painter's current layer.
pub(crate) fn add_loop(painter: &mut Painter, grid: &BeamGrid, from_mm: f64, points: &[[f64; 2]]) {
    let Some(&last) = points.last() else {
        return;
    };
    let smooth_mm = SMOOTH * grid.depth_mm;
    if misses(grid, from_mm, points) {
        return;
    }
    let count = points.len();
    let mut from = last;
    let mut from_place = place(grid, from, 0);
    let mut from_heading = None;
    for (i, &to) in points.iter().enumerate() {
        let to_place = place(grid, to, from_place.beams);
        let (low, high) = if from_place.beams < to_place.beams {
            (from_place.beams, to_place.beams)
        } else {
            (to_place.beams, from_place.beams)
        };
        let mut to_heading = None;
        if low < high || from_place.front != to_place.front {
            let headings = [
                from_heading.unwrap_or_else(|| heading(points, (i + count - 1) % count, smooth_mm)),
                heading(points, i, smooth_mm),
            ];
            to_heading = Some(headings[1]);
            let mut cross = |k: usize| add_crossing(painter, grid, k, [from, to], headings);
            if from_place.front == to_place.front {
                (low..high).for_each(&mut cross);
            } else {
                (0..low).for_each(&mut cross);
                (high..BEAMS).for_each(&mut cross);
            }
        }
        (from, from_place, from_heading) = (to, to_place, to_heading);
    }
}

/// Direction of the contour around vertex `i`, from about `smooth_mm` before it to as far behind it.
///
/// Facets, and the small kinks where a plane clips a corner of one, would give a boundary that flickers from beam to
/// beam; the beam has a width, and sees no such thing.
fn heading(points: &[[f64; 2]], i: usize, smooth_mm: f64) -> [f64; 2] {
    let count = points.len();
    // Not so far that a small round loop is seen from across.
    let most = (count / 10).clamp(1, 8);
    let far = |step: &dyn Fn(usize) -> usize| {
        let mut at = points[step(1)];
        for n in 2..=most {
            let gone = minus(at, points[i]);
            if gone[0] * gone[0] + gone[1] * gone[1] > smooth_mm * smooth_mm {
                break;
            }
            at = points[step(n)];
        }
        at
    };
    let ahead = far(&|n| (i + n) % count);
    let behind = far(&|n| (i + count - n % count) % count);
    minus(ahead, behind)
}

/// Whether no point of the loop can lie in the field: its box is clear of the box of the beams.
fn misses(grid: &BeamGrid, from_mm: f64, points: &[[f64; 2]]) -> bool {
    let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
    for p in points {
        for axis in 0..2 {
            if p[axis] < low[axis] {
                low[axis] = p[axis];
            }
            if p[axis] > high[axis] {
                high[axis] = p[axis];
            }
        }
    }
    let (mut least, mut most) = ([f64::MAX; 2], [f64::MIN; 2]);
    for beam in [
        &grid.beams[0],
        &grid.beams[BEAMS / 2],
        &grid.beams[BEAMS - 1],
    ] {
        for corner in [beam.at(from_mm), beam.at(grid.depth_mm)] {
            for axis in 0..2 {
                least[axis] = least[axis].min(corner[axis]);
                most[axis] = most[axis].max(corner[axis]);
            }
        }
    }
    // The middle two beams are almost, not quite, on the axis.
    const SLACK_MM: f64 = 0.1;
    (0..2).any(|a| low[a] > most[a] + SLACK_MM || high[a] < least[a] - SLACK_MM)
        || !(low[0] + low[1] + high[0] + high[1]).is_finite()
}

fn minus(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// Distance of a point to the image right of beam `k` (positive), on a screen whose beams run down.
fn right_of(grid: &BeamGrid, k: usize, at: [f64; 2]) -> f64 {
    let beam = &grid.beams[k];
    let rel = minus(at, beam.start);
    // Beams that run up the screen turn the other way.
    let down = if beam.along[1] < 0.0 { -1.0 } else { 1.0 };
    down * (rel[0] * beam.along[1] - rel[1] * beam.along[0])
}

/// Walks from a guess, since neighbours along a loop are neighbours among the beams.
fn place(grid: &BeamGrid, at: [f64; 2], guess: usize) -> Place {
    let front = grid
        .apex
        .is_none_or(|(apex, _)| (at[1] - apex[1]) * grid.beams[BEAMS / 2].along[1] >= 0.0);
    let counted = |k: usize| (right_of(grid, k, at) >= 0.0) == front;
    let mut beams = guess;
    while beams < BEAMS && counted(beams) {
        beams += 1;
    }
    while beams > 0 && !counted(beams - 1) {
        beams -= 1;
    }
    Place { beams, front }
}

fn add_crossing(
    painter: &mut Painter,
    grid: &BeamGrid,
    k: usize,
    [from, to]: [[f64; 2]; 2],
    [from_heading, to_heading]: [[f64; 2]; 2],
) {
    let beam = &grid.beams[k];
    let edge = minus(to, from);
    let across = cross(beam.along, edge);
    if across == 0.0 {
        return;
    }
    let rel = minus(from, beam.start);
    let depth = cross(rel, edge) / across;
    let part = -cross(beam.along, rel) / across;
    let part = if (0.0..=1.0).contains(&part) {
        part
    } else {
        0.5
    };
    let heading = [0, 1].map(|a: usize| from_heading[a] + (to_heading[a] - from_heading[a]) * part);
    let down = if beam.along[1] < 0.0 { -1.0 } else { 1.0 };
    let ahead = heading[0] * beam.along[0] + heading[1] * beam.along[1];
    let aside = -cross(beam.along, heading) * down;
    let steep = if aside.abs() * STEEPEST > ahead.abs() {
        ahead / aside
    } else {
        STEEPEST.copysign(ahead * aside)
    };
    let slope = steep * grid.spacing_mm(depth.clamp(0.0, grid.depth_mm));
    let turn = if across > 0.0 { 1 } else { -1 };
    painter.add_crossing(u32::try_from(k).unwrap_or(u32::MAX), depth, slope, turn);
}
