//! What is lit in the body view while a name is asked about: the mark, the sheet, the arrows at its sides, in that
//! order, then what the question is about.

use geometry::{BodyPlane, Direction, ImagePlane, ImageSide, Patient, PlaneAngles, Point, Vector};
use picture::BeamPoint;

use crate::state::State;
use crate::views::notch_side;
use crate::why::Ask;

/// How long one stage of the animation lasts, ms.
const STAGE_MS: f64 = 700.0;

/// Stages before the answer rests.
const STAGES: f64 = 3.0;

/// Half the side of the square that shows a body plane, as a share of the depth.
const HALF_SIDE: f64 = 0.62;

/// Parts of the body view that stand out.
#[derive(Debug, Clone, PartialEq)]
pub struct Lit {
    /// The notch and the knob beside the face.
    pub notch: bool,
    /// The edge of the field of view.
    pub sheet: bool,
    /// Arrows, in the order of [`ImageSide::ALL`].
    pub sides: [bool; 4],
    /// A square in the body plane nearest to the image plane, swung out of the image plane: patient frame, mm, closed.
    pub body_plane: Option<(BodyPlane, [Point<Patient>; 4])>,
}

impl Lit {
    /// Nothing.
    pub const NOTHING: Self = Self {
        notch: false,
        sheet: false,
        sides: [false; 4],
        body_plane: None,
    };
}

/// Whether the animation of a question is over after `elapsed_ms`.
pub(crate) fn is_over(elapsed_ms: f64) -> bool {
    elapsed_ms >= STAGES * STAGE_MS
}

/// What is lit now. With less motion wanted, only the answer is.
#[must_use]
pub fn lit(state: &State) -> Lit {
    let Some(asked) = &state.why else {
        return Lit::NOTHING;
    };
    let stage = asked.elapsed_ms / STAGE_MS;
    let over = state.reduced_motion || is_over(asked.elapsed_ms);
    let notch_at = notch_side(state);
    let only = |side: ImageSide| ImageSide::ALL.map(|known| known == side);
    if !over && stage < 1.0 {
        return Lit {
            notch: true,
            ..Lit::NOTHING
        };
    }
    let swing = if over {
        1.0
    } else {
        ((stage - 1.0) / (STAGES - 1.0)).clamp(0.0, 1.0)
    };
    if !over && stage < 2.0 {
        return Lit {
            sheet: true,
            body_plane: plane_of(state, &asked.ask, swing),
            ..Lit::NOTHING
        };
    }
    match &asked.ask {
        Ask::Plane => Lit {
            sheet: true,
            body_plane: plane_of(state, &asked.ask, swing),
            ..Lit::NOTHING
        },
        Ask::Side(side) => Lit {
            sides: only(*side),
            notch: *side == notch_at,
            ..Lit::NOTHING
        },
        Ask::Mark => Lit {
            sides: only(notch_at),
            notch: true,
            ..Lit::NOTHING
        },
        Ask::Axis(_) => Lit {
            sheet: true,
            ..Lit::NOTHING
        },
    }
}

fn plane_of(state: &State, ask: &Ask, swing: f64) -> Option<(BodyPlane, [Point<Patient>; 4])> {
    (*ask == Ask::Plane).then(|| nearest_plane(state, swing))
}

/// The nearest body plane through the middle of the field, on its way out of the image plane: 0 in it, 1 arrived.
fn nearest_plane(state: &State, swing: f64) -> (BodyPlane, [Point<Patient>; 4]) {
    let plane = state.plane();
    let [nearest, ..] = PlaneAngles::of(plane.normal()).nearest();
    let axis = match nearest {
        BodyPlane::Sagittal => Direction::x_axis(),
        BodyPlane::Coronal => Direction::y_axis(),
        BodyPlane::Transverse => Direction::z_axis(),
    };
    let own = plane.normal();
    let toward = if own.dot(axis) < 0.0 { -axis } else { axis };
    let mixed: Vector<Patient> = own * (1.0 - swing) + toward * swing;
    let normal = mixed.direction().unwrap_or(toward);
    let field = state.field();
    let depth = field.depth().get();
    let middle = plane.to_patient(field.image_point(BeamPoint {
        beam: 0.0,
        depth_mm: depth / 2.0,
    }));
    (nearest, square(middle, normal, &plane, depth * HALF_SIDE))
}

/// A square about `middle` across `normal`, its sides as near to those of the image as they can be.
fn square(
    middle: Point<Patient>,
    normal: Direction<Patient>,
    plane: &ImagePlane,
    half: f64,
) -> [Point<Patient>; 4] {
    let row = plane
        .row()
        .perpendicular_to(normal)
        .unwrap_or_else(|| plane.row());
    let down = normal.cross(row);
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(across, along)| middle + row * (across * half) + down * (along * half))
}
