//! View values: what each panel shows, as plain data that can be compared, so that the page is written to only
//! where the words change.
//!
//! Pixels and words come from the same state: the picture's [`Contents`] are made from the section that was drawn.

mod menus;
mod plane;
mod probe;
mod status;
mod structures;
mod words;

pub use menus::{
    Choice, DepthView, DisplayView, MenuItem, SceneMenuView, WindowGroup, WindowsView,
};
pub use plane::{AngleView, PlaneView, SideView, SidesView, notch_side};
pub use probe::{ClockView, MovementView, ProbeView};
pub use status::{Notice, NoticeKind, Offer, Progress, StatusView};
pub use structures::{StructureView, StructuresView};
pub use words::WordsView;
pub(crate) use words::announcement;

use picture::Contents;

use crate::state::State;
use crate::texts::Texts;

/// Everything the panels show.
#[derive(Debug, Clone, PartialEq)]
pub struct Panels {
    /// The plane's name and why.
    pub plane: PlaneView,
    /// The four sides of the image.
    pub sides: SidesView,
    /// The scene in sentences.
    pub words: WordsView,
    /// What the picture shows.
    pub structures: StructuresView,
    /// Movements, clock and place of the probe.
    pub probe: ProbeView,
    /// Named windows.
    pub windows: WindowsView,
    /// Depth setting.
    pub depth: DepthView,
    /// How the picture is shown.
    pub display: DisplayView,
    /// What the body view shows and from where.
    pub scene: SceneMenuView,
    /// Progress and messages.
    pub status: StatusView,
    /// Whether a step can be taken back, and done again.
    pub history: HistoryView,
}

/// State of the undo and redo buttons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HistoryView {
    /// A step can be taken back.
    pub can_undo: bool,
    /// A step can be done again.
    pub can_redo: bool,
}

/// All panels for a state and what its picture shows (`None` before a body is here).
#[must_use]
pub fn panels(state: &State, seen: Option<&Contents>, texts: &Texts) -> Panels {
    Panels {
        plane: plane::plane_view(state, texts),
        sides: plane::sides_view(state, texts),
        words: words::words_view(state, seen),
        structures: structures::structures_view(state, seen, texts),
        probe: probe::probe_view(state, texts),
        windows: menus::windows_view(state),
        depth: menus::depth_view(state, texts),
        display: menus::display_view(state, texts),
        scene: menus::scene_view(state, texts),
        status: status::status_view(state, texts),
        history: HistoryView {
            can_undo: state.can_undo(),
            can_redo: state.can_redo(),
        },
    }
}
