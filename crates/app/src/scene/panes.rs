//! The three planes of a volume in the body view: sheets that stand across each other and carry their pictures.

use geometry::{Point, Probe, Room, Transform};
use picture::{Bounds, Volume, VolumeCut, VolumePlane};

use super::matrix;
use super::sheet::{self, Sheet};
use crate::state::State;

/// Texture of a plane, mm a pixel: the sheets are seen smaller than the field of view's own.
const MM_PER_PX: f64 = 0.6;

/// Nearer to the image plane than this, mm, the acquired plane is the field of view that hangs there anyway.
const SAME_PLANE_MM: f64 = 0.5;

/// A plane of the volume as a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumeSheet {
    /// Which.
    pub which: VolumePlane,
    /// Where it stands and the pixels to paint for it.
    pub sheet: Sheet,
}

/// A piece of such a sheet, on one side of the other two planes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumePiece {
    /// Which plane it is a piece of.
    pub which: VolumePlane,
    /// Corners in the room: image top left, top right, bottom right, bottom left of the piece.
    pub corners: [[f32; 3]; 4],
    /// The part of the sheet's picture: left, top, right, bottom, as shares of its width and height.
    pub part: [f32; 4],
}

/// The planes of a volume, while they are on show.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct VolumeSheets {
    /// The sheets.
    pub sheets: Vec<VolumeSheet>,
    /// Their pieces, so that painting them in this order puts everything nearer over what is farther.
    pub pieces: Vec<VolumePiece>,
    /// The point where the planes cross, in the room, mm; none while they are not shown.
    pub point: Option<[f32; 3]>,
}

/// The planes of the volume for a state; empty while they are not on show.
#[must_use]
pub fn volume_sheets(state: &State) -> VolumeSheets {
    let (true, Some(volume), Some(at)) =
        (state.volume_shown(), state.volume(), state.volume_point())
    else {
        return VolumeSheets::default();
    };
    let room_from_attached = state.room_from_attached(state.pose());
    let room_from_probe = state.pose().patient_from_probe().then(&room_from_attached);
    let mut out = VolumeSheets {
        point: Some(matrix::single3(room_from_probe.apply_point(at).to_array())),
        ..VolumeSheets::default()
    };
    let eye = eye_from(state, &room_from_probe, at);
    let mut pieces: Vec<([i8; 3], VolumePiece)> = Vec::with_capacity(12);
    for which in VolumePlane::ALL {
        let Some(cut) = state.volume_cut(which) else {
            continue;
        };
        if which == VolumePlane::Acquired && at.y().abs() < SAME_PLANE_MM {
            continue;
        }
        let plane = cut.plane(state.pose());
        let sheet = sheet::sheet(state, &plane, wanted(&volume, &cut), MM_PER_PX);
        for bounds in quarters(&sheet.bounds, cut.to_image(cut.at)) {
            let piece = VolumePiece {
                which,
                corners: sheet::corners(state, &plane, &bounds),
                part: part_of(&bounds, &sheet.bounds),
            };
            pieces.push((nearness(&cut, &bounds, eye), piece));
        }
        out.sheets.push(VolumeSheet { which, sheet });
    }
    pieces.sort_by_key(|(nearness, _)| *nearness);
    out.pieces = pieces.into_iter().map(|(_, piece)| piece).collect();
    out
}

/// The viewer's place as seen from the point, along the probe's axes, mm.
fn eye_from(state: &State, room_from_probe: &Transform<Probe, Room>, at: Point<Probe>) -> [f64; 3] {
    let eye = Point::<Room>::from_array(state.camera().eye());
    let eye = room_from_probe.inverse().apply_point(eye).to_array();
    let at = at.to_array();
    [0, 1, 2].map(|axis: usize| eye[axis] - at[axis])
}

/// The rectangle round the volume's edge in this plane: no more than is to be seen, so that no piece is empty.
fn wanted(volume: &Volume, cut: &VolumeCut) -> Bounds {
    Bounds::around(&volume.outline(cut)).unwrap_or_else(|| volume.bounds(cut.which))
}

/// The parts of a rectangle on the four sides of a point, image mm.
fn quarters(bounds: &Bounds, through: [f64; 2]) -> Vec<Bounds> {
    let spans = |axis: usize| {
        let (low, high) = (bounds.min[axis], bounds.max[axis]);
        let middle = through[axis].clamp(low, high);
        [[low, middle], [middle, high]]
    };
    let mut parts = Vec::with_capacity(4);
    for [left, right] in spans(0) {
        for [top, bottom] in spans(1) {
            if right > left && bottom > top {
                parts.push(Bounds {
                    min: [left, top],
                    max: [right, bottom],
                });
            }
        }
    }
    parts
}

fn part_of(part: &Bounds, whole: &Bounds) -> [f32; 4] {
    let share = |at: f64, axis: usize| {
        matrix::narrow((at - whole.min[axis]) / (whole.max[axis] - whole.min[axis]))
    };
    [
        share(part.min[0], 0),
        share(part.min[1], 1),
        share(part.max[0], 0),
        share(part.max[1], 1),
    ]
}

/// What a piece is sorted by, far ones first: for each of the planes square to x, y and z of the probe in turn, whether
/// the piece lies beyond it (-1), in it (0) or on the viewer's side (1). The three planes divide space, and no piece
/// reaches through one of them, so what is on the viewer's side is never hidden by what is not.
fn nearness(cut: &VolumeCut, bounds: &Bounds, eye: [f64; 3]) -> [i8; 3] {
    const IN_IT_MM: f64 = 1e-6;
    let middle = [0, 1].map(|axis: usize| (bounds.min[axis] + bounds.max[axis]) / 2.0);
    let (middle, at) = (cut.to_probe(middle).to_array(), cut.at.to_array());
    [0, 1, 2].map(|axis: usize| {
        let off = (middle[axis] - at[axis]) * eye[axis].signum();
        if off.abs() < IN_IT_MM {
            0
        } else if off > 0.0 {
            1
        } else {
            -1
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_is_cut_into_what_there_is_on_each_side() {
        let whole = Bounds {
            min: [-10.0, 0.0],
            max: [30.0, 20.0],
        };
        for (through, count) in [([0.0, 5.0], 4), ([-10.0, 5.0], 2), ([40.0, -3.0], 1)] {
            let parts = quarters(&whole, through);
            assert_eq!(parts.len(), count, "{through:?}");
            let area: f64 = parts.iter().map(|part| part.width() * part.height()).sum();
            assert!((area - 800.0).abs() < 1e-9, "nothing is lost: {area}");
        }
        let [left, top, right, bottom] = part_of(
            &Bounds {
                min: [0.0, 5.0],
                max: [30.0, 20.0],
            },
            &whole,
        );
        for (got, want) in [(left, 0.25), (top, 0.25), (right, 1.0), (bottom, 1.0)] {
            assert!((got - want).abs() < 1e-6, "{got} for {want}");
        }
    }
}
