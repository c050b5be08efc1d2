//! The body view as plain numbers: what a renderer needs and nothing it would have to know about anatomy.
//!
//! Everything is in the room frame (mm, +z up; see [`geometry::BodyPosition`]) unless it says otherwise, in
//! single precision, matrices column-major.

mod camera;
mod compass;
mod furniture;
mod lines;
mod look;
mod matrix;
mod panes;
mod presets;
mod probe;
mod sheet;

pub use camera::{Camera, CameraMatrices, ScreenPoint, Viewport};
pub use compass::{AxisTip, compass};
pub(crate) use furniture::furniture;
pub use furniture::{Block, Furniture};
pub use lines::{Line, LineKind, skin_trace};
pub use look::{StructureFilter, SurfaceLook, SurfaceRole, surface_looks};
pub use matrix::Matrix;
pub use panes::{VolumePiece, VolumeSheet, VolumeSheets, volume_sheets};
pub use presets::{CameraPreset, preset_camera};
pub use probe::{ProbeFace, ProbeSolid, probe_solid};
pub use sheet::{CutPlane, Sheet, SideArrow, cut_plane, cut_sheet, field_sheet, side_arrows};

use crate::lit::{self, Lit};
use crate::state::State;
use crate::texts::Texts;

/// The body view at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// The viewer.
    pub camera: CameraMatrices,
    /// Turns coordinates of the shown meshes ([`geometry::Posed`]) into room coordinates.
    pub room_from_posed: Matrix,
    /// Places the probe solid, built in the probe frame, in the room.
    pub room_from_probe: Matrix,
    /// The probe's measures.
    pub probe: ProbeSolid,
    /// The rectangle that carries the picture of the field of view.
    pub field_sheet: Sheet,
    /// The field's edge in the room, closed (last joins first).
    pub field_outline: Vec<[f32; 3]>,
    /// The larger rectangle that carries the cut face of the body.
    pub cut_sheet: Sheet,
    /// The image plane, its positive side toward the viewer.
    pub cut_plane: CutPlane,
    /// Which way the four sides of the sheet look, with words.
    pub arrows: [SideArrow; 4],
    /// What stands out, while a name is asked about.
    pub lit: Lit,
    /// Lines drawn into the view.
    pub lines: Vec<Line>,
    /// The planes of a volume, while they are on show.
    pub volume: VolumeSheets,
    /// What the body lies or sits on.
    pub furniture: Furniture,
    /// The patient's axes, with words.
    pub compass: [AxisTip; 6],
}

/// The body view for a view of this size.
#[must_use]
pub fn scene(state: &State, viewport: Viewport, texts: &Texts) -> Scene {
    let room_from_posed = state.position().room_from_posed();
    let room_from_attached = state.room_from_attached(state.pose());
    let room_from_probe = state.pose().patient_from_probe().then(&room_from_attached);
    let plane = state.plane();
    let lit = lit::lit(state);
    let field_outline = state
        .field()
        .outline()
        .into_iter()
        .map(|point| {
            let room = room_from_attached.apply_point(plane.to_patient(point));
            matrix::single3(room.to_array())
        })
        .collect();
    Scene {
        camera: state.camera().matrices(viewport),
        room_from_posed: matrix::single(&room_from_posed.to_columns()),
        room_from_probe: matrix::single(&room_from_probe.to_columns()),
        probe: probe_solid(state.transducer()),
        field_sheet: field_sheet(state),
        field_outline,
        cut_sheet: cut_sheet(state),
        cut_plane: cut_plane(state),
        arrows: unveiled(state, side_arrows(state, texts)),
        lines: lines::lines(state, &lit, texts),
        volume: volume_sheets(state),
        lit,
        furniture: state.shown.furniture().clone(),
        compass: compass(state, texts),
    }
}

/// Arrows without words while a question asks for what they say.
fn unveiled(state: &State, mut arrows: [SideArrow; 4]) -> [SideArrow; 4] {
    let veil = state.veil();
    if !veil.letters || !veil.picture {
        for arrow in &mut arrows {
            arrow.words.clear();
        }
    }
    arrows
}
