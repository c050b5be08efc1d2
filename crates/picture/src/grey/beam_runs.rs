//! Loops to runs along every beam: the label map in beam space, with exact ends.
//!
//! Beams fan out, so a straight edge of a loop is no straight line in (depth, beam). Instead of bending loops the
//! crossing of every edge with every beam is worked out, which is exact, and the painter does the rest.
//!
//! Each beam is taken as a whole straight line, through and behind the point where the beams meet, so that a closed
//! loop crosses it an even number of times. Which beams an edge crosses follows from the sides its ends are on.

use anatomy::{Body, Section};

use super::beam_grid::BeamGrid;
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

/// Outlines that are no layers of the section as they are, used again from picture to picture.
#[derive(Debug, Clone, Default)]
pub(crate) struct Shapes {
    gel: Gel,
    bent: Bent,
}

/// Fills `runs` with what every beam of `grid` meets from the face to the depth shown. Labels are numbers of the body's surfaces, [`GEL`] for gel.
pub(crate) fn paint_beams(
    body: &Body,
    section: &Section,
    field: &Field,
    grid: &BeamGrid,
    painter: &mut Painter,
    Shapes { gel, bent }: &mut Shapes,
    runs: &mut RunMap,
) {
    gel.measure(field, skin_loops(section));
    begin(painter, grid);
    painter.layer(GEL, []);
    for polygon in gel.polygons() {
        add_loop(painter, grid, polygon);
    }
    for layer in section.layers() {
        open_layer(painter, body, layer.surface);
        for outline in section.loops(*layer) {
            let least_mm = EDGE * grid.depth_mm;
            if least_mm > FINEST_MM {
                add_loop(painter, grid, outline.points);
            } else if !grid.is_clear_of(outline.points) {
                add_loop(painter, grid, bent.of(outline.points, least_mm));
            }
        }
    }
    painter.paint(runs);
}

/// Edges of an outline that are longer than this, of the depth shown, are bent.
const EDGE: f64 = 0.007;

/// In deep pictures, where this is above so many mm, no facet shows that bending would be worth its time for.
const FINEST_MM: f64 = 0.5;

/// Corners that turn further than this are corners of the body, not of its mesh (cosine; 60 degrees).
const CORNER: f64 = 0.5;

/// Outlines with more points: between two of them the curve through their neighbours, so that a vessel cut from a mesh
/// is round again. Points stay where they are; a point is added off the middle of an edge by the four-point rule of
/// Dyn, Levin and Gregory (Computer Aided Geometric Design 1987; 4: 257-268, from memory).
#[derive(Debug, Clone, Default)]
struct Bent {
    plain: Vec<[f64; 2]>,
    once: Vec<[f64; 2]>,
    twice: Vec<[f64; 2]>,
}

impl Bent {
    fn of(&mut self, points: &[[f64; 2]], least_mm: f64) -> &[[f64; 2]] {
        drop_straight(points, FLAT * least_mm, &mut self.plain);
        refine(&self.plain, least_mm, &mut self.once);
        refine(&self.once, least_mm, &mut self.twice);
        &self.twice
    }
}

/// A point nearer to the line between its neighbours than this, of the least edge, only parts a facet of the mesh.
const FLAT: f64 = 0.45;

/// Leaves out points that part facets, at most three in a row.
fn drop_straight(points: &[[f64; 2]], least_mm: f64, out: &mut Vec<[f64; 2]>) {
    const IN_A_ROW: u8 = 3;
    out.clear();
    let count = points.len();
    let mut dropped = 0;
    for (i, &at) in points.iter().enumerate() {
        if let Some(&kept) = out.last()
            && dropped < IN_A_ROW
            && i + 1 < count
        {
            let chord = minus(points[i + 1], kept);
            let off = cross(chord, minus(at, kept));
            let long = chord[0] * chord[0] + chord[1] * chord[1];
            if off * off < least_mm * least_mm * long {
                dropped += 1;
                continue;
            }
        }
        dropped = 0;
        out.push(at);
    }
    // Too little left to be an outline: a sliver, which stays as it is.
    if out.len() < 5 {
        out.clear();
        out.extend_from_slice(points);
    }
}

fn refine(points: &[[f64; 2]], least_mm: f64, out: &mut Vec<[f64; 2]>) {
    out.clear();
    let count = points.len();
    if count < 5 {
        out.extend_from_slice(points);
        return;
    }
    let smooth = |before: [f64; 2], at: [f64; 2], after: [f64; 2]| {
        let (a, b) = (minus(at, before), minus(after, at));
        let along = a[0] * b[0] + a[1] * b[1];
        let (long, next) = (a[0] * a[0] + a[1] * a[1], b[0] * b[0] + b[1] * b[1]);
        along > 0.0 && along * along > CORNER * CORNER * long * next
    };
    let least = least_mm * least_mm;
    let mut before = points[count - 1];
    let mut bends_here = smooth(points[count - 2], before, points[0]);
    for i in 0..count {
        let (at, after) = (points[i], points[(i + 1) % count]);
        let bends_at = smooth(before, at, after);
        // The edge from `before` to `at`.
        let edge = minus(at, before);
        if bends_here && bends_at && edge[0] * edge[0] + edge[1] * edge[1] > least {
            let far = points[(i + count - 2) % count];
            out.push([0, 1].map(|a: usize| (9.0 * (before[a] + at[a]) - far[a] - after[a]) / 16.0));
        }
        out.push(at);
        (before, bends_here) = (at, bends_at);
    }
}

/// Starts the painter for all beams of a grid.
pub(crate) fn begin(painter: &mut Painter, grid: &BeamGrid) {
    painter.begin(
        u32::try_from(grid.count()).unwrap_or(u32::MAX),
        0.0,
        grid.depth_mm,
    );
}

/// Adds one closed loop (image mm) to the painter's current layer.
pub(crate) fn add_loop(painter: &mut Painter, grid: &BeamGrid, points: &[[f64; 2]]) {
    let Some(&last) = points.last() else {
        return;
    };
    let smooth_mm = SMOOTH * grid.depth_mm;
    if grid.is_clear_of(points) {
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
                (high..grid.count()).for_each(&mut cross);
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
        .is_none_or(|(apex, _)| (at[1] - apex[1]) * grid.beams[grid.count() / 2].along[1] >= 0.0);
    let counted = |k: usize| (right_of(grid, k, at) >= 0.0) == front;
    let mut beams = guess;
    while beams < grid.count() && counted(beams) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grey::beam_grid::count;
    use geometry::{ApexSide, Mm};

    fn ring(corners: usize) -> Vec<[f64; 2]> {
        (0..corners)
            .map(|i| {
                let angle = geometry::Angle::deg(360.0 * count(i) / count(corners));
                [10.0 * angle.cos(), 10.0 * angle.sin()]
            })
            .collect()
    }

    #[test]
    fn a_ring_of_a_mesh_is_round_again_and_a_box_stays_a_box() {
        let mut bent = Bent::default();
        let round = bent.of(&ring(12), 0.1).to_vec();
        assert_eq!(round.len(), 48, "every edge is parted twice");
        for p in &round {
            let radius = libm::hypot(p[0], p[1]);
            // The middles of the twelve edges lie at 9.66.
            assert!((radius - 10.0).abs() < 0.08, "{p:?} at {radius}");
        }
        // The same ring with its facets parted, as triangles part them.
        let parted: Vec<_> = ring(12)
            .windows(2)
            .flat_map(|two| {
                let middle = [0, 1].map(|a: usize| (two[0][a] + two[1][a]) / 2.0);
                [two[0], middle]
            })
            .chain(ring(12).last().copied())
            .collect();
        let round = bent.of(&parted, 0.1);
        assert!(
            round.iter().all(|p| libm::hypot(p[0], p[1]) > 9.9),
            "{round:?}"
        );
        let square = [[0.0, 0.0], [9.0, 0.0], [9.0, 5.0], [9.0, 9.0], [0.0, 9.0]];
        assert_eq!(bent.of(&square, 0.1), square, "corners are corners");
        // Where edges are short against what is seen, outlines stay within half of that.
        let fine = bent.of(&ring(48), 0.7);
        assert!(
            fine.iter()
                .all(|p| (libm::hypot(p[0], p[1]) - 10.0).abs() < 0.35),
            "{fine:?}"
        );
        assert!(bent.of(&[], 0.1).is_empty(), "no outline, no points");
    }

    /// Skin that slants and bulges before every face: gel fills the gap from the face on, in one piece, on every beam.
    #[test]
    fn gel_begins_at_the_face_on_every_beam() {
        for transducer in crate::transducer::transducers() {
            for (number, apex) in [ApexSide::Top, ApexSide::Bottom]
                .into_iter()
                .cycle()
                .take(60)
                .enumerate()
            {
                let field = Field::new(transducer, Mm::new(90.0), apex);
                let grid = BeamGrid::new(&field, super::super::beam_grid::Detail::Full);
                let slant = -0.1 + 0.0035 * count(number);
                let near = |x: f64| (2.0 + slant * x + 0.001 * x * x) * field.sense();
                let wide: Vec<f64> = (-300..=300).map(|i| f64::from(i) * 0.5).collect();
                let far = 400.0 * field.sense();
                let skin: Vec<[f64; 2]> = wide
                    .iter()
                    .map(|x| [*x, near(*x)])
                    .chain([[150.0, far], [-150.0, far]])
                    .collect();
                let mut gel = Gel::default();
                gel.measure(&field, std::iter::once(skin.as_slice()));
                let mut painter = Painter::default();
                begin(&mut painter, &grid);
                painter.layer(GEL, []);
                for polygon in gel.polygons() {
                    add_loop(&mut painter, &grid, polygon);
                }
                let mut runs = RunMap::default();
                painter.paint(&mut runs);
                let mut filled = 0;
                for k in 1..grid.count() - 1 {
                    let line: Vec<_> = runs.line(k).iter().map(|run| run.label).collect();
                    if line.contains(&GEL) {
                        filled += 1;
                        assert_eq!(
                            line,
                            [GEL, crate::scan::OUTSIDE],
                            "{}, slant {slant}: beam {k} {:?}",
                            transducer.id,
                            runs.line(k)
                        );
                    }
                }
                assert!(filled > 40, "{}: gel on {filled} beams only", transducer.id);
            }
        }
    }
}
