//! The image plane in the body view: sheets that carry pictures, the cut, and arrows with words.

use geometry::{
    Image, ImagePlane, ImageSide, Patient, Point, Room, Sides, Transform, screen_threshold,
};
use picture::{Bounds, Frame, Margins};

use super::matrix;
use crate::state::State;
use crate::texts::Texts;

/// Finest texture of the field of view, mm a pixel: finer than the sheet is ever seen.
const FIELD_MM_PER_PX: f64 = 0.4;

/// Texture of the cut face, mm a pixel.
const CUT_MM_PER_PX: f64 = 1.0;

/// How far around the field the cut face reaches, mm: enough to see the cut organs in their place without
/// painting the whole length of the body at every move.
const CUT_REACH_MM: f64 = 220.0;

/// Gap between the sheet's edge and its arrows, mm.
const ARROW_GAP_MM: f64 = 14.0;

/// A rectangle in the image plane that carries a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Corners in the room: image top left, top right, bottom right, bottom left. The picture's first pixel row
    /// runs from the first to the second.
    pub corners: [[f32; 3]; 4],
    /// The pixels to paint for it; its outer pixel edges are the rectangle's edges.
    pub frame: Frame,
    /// The rectangle in image mm.
    pub bounds: Bounds,
}

/// The image plane as a dividing plane in the room: `normal · p + offset` is positive on the viewer's side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutPlane {
    /// Unit normal (x, y, z) and offset, mm.
    pub equation: [f32; 4],
    /// Whether the viewer looks at the picture's front, that is along the image normal. From behind, the
    /// sheet shows the picture mirrored, as seeing through it would.
    pub seen_from_front: bool,
}

/// An arrow at one side of the field of view.
#[derive(Debug, Clone, PartialEq)]
pub struct SideArrow {
    /// Which side of the image it stands at.
    pub side: ImageSide,
    /// Foot of the arrow in the room.
    pub position: [f32; 3],
    /// Unit direction in the room, outward from the sheet.
    pub direction: [f32; 3],
    /// Letters, dominant first: "H".
    pub letters: String,
    /// Words: "head".
    pub words: String,
    /// Whether the notch is at this side.
    pub has_notch: bool,
}

fn frame_for(bounds: Bounds, mm_per_px: f64) -> Frame {
    let pixels = |length: f64| count((length / mm_per_px).ceil().clamp(1.0, 2048.0));
    Frame::fit_bounds(
        bounds,
        pixels(bounds.width()),
        pixels(bounds.height()),
        Margins::all(0.0),
    )
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the caller clamps to 1..=2048"
)]
fn count(pixels: f64) -> u32 {
    pixels as u32
}

fn room_from_image(state: &State, plane: &ImagePlane) -> Transform<Image, Room> {
    let room_from_attached = state.room_from_attached(state.pose());
    plane.patient_from_image().then(&room_from_attached)
}

/// Corners of a rectangle of an image plane in the room, in the order of [`Sheet::corners`].
pub(super) fn corners(state: &State, plane: &ImagePlane, bounds: &Bounds) -> [[f32; 3]; 4] {
    let room_from_image = room_from_image(state, plane);
    let corner = |x: f64, y: f64| {
        matrix::single3(
            room_from_image
                .apply_point(Point::new(x, y, 0.0))
                .to_array(),
        )
    };
    let ([left, top], [right, bottom]) = (bounds.min, bounds.max);
    [
        corner(left, top),
        corner(right, top),
        corner(right, bottom),
        corner(left, bottom),
    ]
}

/// A sheet in an image plane that shows at least what was wanted.
pub(super) fn sheet(state: &State, plane: &ImagePlane, wanted: Bounds, mm_per_px: f64) -> Sheet {
    let frame = frame_for(wanted, mm_per_px);
    // Whole pixels cover a little more than was wanted; the corners follow the pixels.
    let bounds = frame.covered();
    Sheet {
        corners: corners(state, plane, &bounds),
        frame,
        bounds,
    }
}

/// The sheet of the field of view.
#[must_use]
pub fn field_sheet(state: &State) -> Sheet {
    sheet(
        state,
        &state.plane(),
        state.field().bounds(),
        FIELD_MM_PER_PX,
    )
}

/// The sheet of the cut face around the field.
#[must_use]
pub fn cut_sheet(state: &State) -> Sheet {
    let field = state.field().bounds();
    let mut wanted = Bounds {
        min: field.min.map(|low| low - CUT_REACH_MM),
        max: field.max.map(|high| high + CUT_REACH_MM),
    };
    if let Some(body) = body_bounds(state) {
        for axis in 0..2 {
            let low = wanted.min[axis].max(body.min[axis]);
            let high = wanted.max[axis].min(body.max[axis]);
            // A plane that misses the body altogether keeps a small sheet, and nothing is painted on it.
            (wanted.min[axis], wanted.max[axis]) = if high > low {
                (low, high)
            } else {
                (low, low + 1.0)
            };
        }
    }
    sheet(state, &state.plane(), wanted, CUT_MM_PER_PX)
}

/// The skin's box seen along the image normal, image mm.
fn body_bounds(state: &State) -> Option<Bounds> {
    let (low, high) = state.skin()?.bounds();
    let plane = state.plane();
    let mut points = Vec::with_capacity(8);
    for corner in 0..8_u8 {
        let pick = |axis: usize| {
            if corner >> axis & 1 == 0 {
                low[axis]
            } else {
                high[axis]
            }
        };
        let [x, y, _] = plane.to_image(Point::<Patient>::new(pick(0), pick(1), pick(2)));
        points.push([x, y]);
    }
    Bounds::around(&points)
}

/// The image plane in the room, turned toward the viewer.
#[must_use]
pub fn cut_plane(state: &State) -> CutPlane {
    let room_from_attached = state.room_from_attached(state.pose());
    let plane = state.plane();
    let normal = room_from_attached
        .apply_direction(plane.normal())
        .to_array();
    let origin = room_from_attached
        .apply_point(plane.to_patient([0.0, 0.0]))
        .to_array();
    let offset = -matrix::dot(normal, origin);
    // The image normal points away from someone who looks at the picture.
    let seen_from_front = matrix::dot(normal, state.camera().eye()) + offset < 0.0;
    let sign = if seen_from_front { -1.0 } else { 1.0 };
    CutPlane {
        equation: [normal[0], normal[1], normal[2], offset].map(|part| matrix::narrow(part * sign)),
        seen_from_front,
    }
}

/// An arrow at the middle of each side of the field of view, in the order of [`ImageSide::ALL`].
#[must_use]
pub fn side_arrows(state: &State, texts: &Texts) -> [SideArrow; 4] {
    let plane = state.plane();
    let sides = Sides::of(&plane);
    let bounds = state.field().bounds();
    let threshold = screen_threshold(state.tolerance());
    let notch_side = crate::views::notch_side(state);
    ImageSide::ALL.map(|side| {
        let ([x, y], toward) = arrow_place(side, &bounds);
        let (position, direction) = in_room(state, &plane, [x, y], toward);
        let name = sides.get(side);
        SideArrow {
            side,
            position,
            direction,
            letters: name.letters(threshold),
            words: texts.sides.words(name, threshold),
            has_notch: side == notch_side,
        }
    })
}

/// Foot of an arrow and its direction, image mm.
fn arrow_place(side: ImageSide, bounds: &Bounds) -> ([f64; 2], [f64; 2]) {
    let middle = [
        (bounds.min[0] + bounds.max[0]) / 2.0,
        (bounds.min[1] + bounds.max[1]) / 2.0,
    ];
    match side {
        ImageSide::Left => ([bounds.min[0] - ARROW_GAP_MM, middle[1]], [-1.0, 0.0]),
        ImageSide::Right => ([bounds.max[0] + ARROW_GAP_MM, middle[1]], [1.0, 0.0]),
        ImageSide::Top => ([middle[0], bounds.min[1] - ARROW_GAP_MM], [0.0, -1.0]),
        ImageSide::Bottom => ([middle[0], bounds.max[1] + ARROW_GAP_MM], [0.0, 1.0]),
    }
}

fn in_room(
    state: &State,
    plane: &ImagePlane,
    at: [f64; 2],
    toward: [f64; 2],
) -> ([f32; 3], [f32; 3]) {
    let room_from_attached = state.room_from_attached(state.pose());
    let position = room_from_attached.apply_point(plane.to_patient(at));
    let direction = plane.row() * toward[0] + plane.column() * toward[1];
    let direction = room_from_attached.apply_vector(direction);
    (
        matrix::single3(position.to_array()),
        matrix::single3(direction.to_array()),
    )
}
