//! Lines drawn into the body view: where the plane meets the skin, the axis of the structure pointed out, the body
//! plane that an answer is about, the planes of an acquired volume.

use anatomy::{LongAxis, Section, SurfaceKind};
use geometry::{BodyPlane, Patient, Point};
use picture::VolumePlane;

use super::matrix;
use crate::lit::Lit;
use crate::state::State;
use crate::texts::Texts;
use crate::views::plane_words;

/// A straight axis is drawn this much longer than it is stated, at each end, as a share of its length.
const BEYOND: f64 = 0.12;

/// Points of a trace closer than this are left out, mm: finer than a line on the screen is wide.
const TRACE_STEP_MM: f64 = 1.0;

/// Dashes of a trace and the gaps between them, mm: a dashed line is drawn by hand, which no crack in the skin is.
const DASH_MM: f64 = 11.0;
const GAP_MM: f64 = 5.0;

/// How far beside the middle of the field the trace on the skin runs, as a share of the field's width: far enough to
/// read its direction, not so far that it girds the whole body.
const TRACE_REACH: f64 = 1.0;

/// What a line shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// The axis of the structure pointed out.
    Axis,
    /// A square in a body plane.
    BodyPlane(BodyPlane),
    /// The edge of one of the three planes of a volume.
    Volume(VolumePlane),
}

/// A line in the room.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it shows.
    pub kind: LineKind,
    /// Its points, mm.
    pub points: Vec<[f32; 3]>,
    /// Whether the last joins the first.
    pub closed: bool,
    /// Words beside it, and where they stand in the room; empty for none.
    pub words: String,
}

/// The lines for a state.
#[must_use]
pub(super) fn lines(state: &State, lit: &Lit, texts: &Texts) -> Vec<Line> {
    let mut lines: Vec<Line> = axis_line(state).into_iter().collect();
    lines.extend(volume_lines(state, texts));
    if let Some((plane, corners)) = &lit.body_plane {
        let room_from_attached = state.room_from_attached(state.pose());
        let room = |point: &Point<Patient>| {
            matrix::single3(room_from_attached.apply_point(*point).to_array())
        };
        lines.push(Line {
            kind: LineKind::BodyPlane(*plane),
            points: corners.iter().map(room).collect(),
            closed: true,
            words: texts.plane_word(*plane).to_owned(),
        });
    }
    lines
}

/// The edges of the three planes of a volume, each with its number.
fn volume_lines(state: &State, texts: &Texts) -> Vec<Line> {
    let Some(volume) = state.volume().filter(|_| state.volume_shown()) else {
        return Vec::new();
    };
    let room_from_attached = state.room_from_attached(state.pose());
    VolumePlane::ALL
        .into_iter()
        .filter_map(|which| {
            let cut = state.volume_cut(which)?;
            let plane = cut.plane(state.pose());
            let number = which.number();
            let name = plane_words(state, &plane, cut.to_image(cut.at), texts);
            Some(Line {
                kind: LineKind::Volume(which),
                points: volume
                    .outline(&cut)
                    .into_iter()
                    .map(|at| {
                        let room = room_from_attached.apply_point(plane.to_patient(at));
                        matrix::single3(room.to_array())
                    })
                    .collect(),
                closed: true,
                words: format!("{number} {}", name.to_lowercase()),
            })
        })
        .collect()
}

fn axis_line(state: &State) -> Option<Line> {
    let body = state.body()?;
    let structure = body.structure(body.find(state.chosen()?)?);
    let points: Vec<Point<Patient>> = match structure.axis.as_ref()? {
        LongAxis::Line { a, b } | LongAxis::Principal { a, b } => {
            let beyond = (*b - *a) * BEYOND;
            vec![*a - beyond, *b + beyond]
        }
        LongAxis::CentreLine => structure.centre_line.as_ref()?.points().to_vec(),
    };
    Some(Line {
        kind: LineKind::Axis,
        points: points
            .into_iter()
            .map(|point| matrix::single3(state.shown_at(point).to_array()))
            .collect(),
        closed: false,
        words: String::new(),
    })
}

/// Where the plane of a section meets the shown skin around the probe: pieces of lines in the room, mm.
#[must_use]
pub fn skin_trace(state: &State, section: &Section) -> Vec<Vec<[f32; 3]>> {
    let Some(body) = state.body() else {
        return Vec::new();
    };
    let bounds = state.field().bounds();
    let reach = bounds.width() * TRACE_REACH;
    let contact = section.plane().to_image(state.pose().contact());
    let near = |at: [f64; 2]| {
        let (x, y) = (at[0] - contact[0], at[1] - contact[1]);
        x * x + y * y <= reach * reach
    };
    let mut pieces = Vec::new();
    for layer in section.layers() {
        let surface = body.surfaces().get(layer.surface);
        if surface.is_none_or(|surface| surface.kind != SurfaceKind::Skin) {
            continue;
        }
        for outline in section.loops(*layer) {
            cut_into_pieces(outline.points, &near, &mut pieces);
        }
    }
    let plane = section.plane();
    pieces
        .iter()
        .flat_map(|piece| dashes(piece))
        .map(|piece| {
            piece
                .into_iter()
                .map(|at| {
                    let shown = state.shown_at(plane.to_patient(at));
                    matrix::single3(shown.to_array())
                })
                .collect()
        })
        .collect()
}

/// A line in dashes.
fn dashes(line: &[[f64; 2]]) -> Vec<Vec<[f64; 2]>> {
    let mut dashes = Vec::new();
    let mut dash: Vec<[f64; 2]> = Vec::new();
    let mut along = 0.0;
    let mut last: Option<[f64; 2]> = None;
    for at in line {
        if let Some(last) = last {
            let (x, y) = (at[0] - last[0], at[1] - last[1]);
            along += (x * x + y * y).sqrt();
        }
        last = Some(*at);
        if along % (DASH_MM + GAP_MM) <= DASH_MM {
            dash.push(*at);
        } else if dash.len() > 1 {
            dashes.push(std::mem::take(&mut dash));
        } else {
            dash.clear();
        }
    }
    if dash.len() > 1 {
        dashes.push(dash);
    }
    dashes
}

/// The parts of a closed loop that are near, thinned out; a loop that is near all over gives one closed piece.
fn cut_into_pieces(
    points: &[[f64; 2]],
    near: &dyn Fn([f64; 2]) -> bool,
    pieces: &mut Vec<Vec<[f64; 2]>>,
) {
    // Begins at a far point, so that no near part is torn apart at the loop's seam.
    let start = points.iter().position(|at| !near(*at)).unwrap_or(0);
    let round = points.iter().cycle().skip(start).take(points.len() + 1);
    let mut piece: Vec<[f64; 2]> = Vec::new();
    for at in round {
        if !near(*at) {
            if piece.len() > 1 {
                pieces.push(std::mem::take(&mut piece));
            }
            piece.clear();
            continue;
        }
        let far_enough = piece.last().is_none_or(|last| {
            let (x, y) = (at[0] - last[0], at[1] - last[1]);
            x * x + y * y >= TRACE_STEP_MM * TRACE_STEP_MM
        });
        if far_enough {
            piece.push(*at);
        }
    }
    if piece.len() > 1 {
        pieces.push(piece);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring() -> Vec<[f64; 2]> {
        (0..360)
            .map(|degree| {
                let angle = geometry::Angle::deg(f64::from(degree));
                [100.0 * angle.cos(), 100.0 * angle.sin()]
            })
            .collect()
    }

    #[test]
    fn a_near_part_over_the_seam_stays_in_one_piece() {
        let mut pieces = Vec::new();
        cut_into_pieces(&ring(), &|at| at[0] > 50.0, &mut pieces);
        assert_eq!(pieces.len(), 1, "one part is near");
        let piece = pieces.first().expect("a piece");
        assert!(piece.iter().all(|at| at[0] > 50.0), "and nothing else");
        let ends = [piece.first(), piece.last()].map(|at| at.expect("an end")[1].abs());
        assert!(ends.iter().all(|y| *y > 80.0), "from end to end: {ends:?}");
    }

    #[test]
    fn two_near_parts_are_two_pieces_and_a_far_loop_is_none() {
        let mut pieces = Vec::new();
        cut_into_pieces(&ring(), &|at| at[0].abs() > 50.0, &mut pieces);
        assert_eq!(pieces.len(), 2, "left and right");
        pieces.clear();
        cut_into_pieces(&ring(), &|_| false, &mut pieces);
        assert!(pieces.is_empty(), "nothing is near");
        cut_into_pieces(&ring(), &|_| true, &mut pieces);
        assert_eq!(pieces.len(), 1, "all of it");
    }
}
