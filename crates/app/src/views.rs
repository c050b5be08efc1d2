//! View values: what each panel shows, as plain data that can be compared, so that the page is written to only
//! where the words change.
//!
//! Pixels and words come from the same state: the picture's [`Contents`] are made from the section that was drawn.

mod cursor;
mod examine;
mod menus;
mod plane;
mod predict;
mod probe;
mod status;
mod structures;
mod tuning;
mod volume;
mod why;
mod words;

pub use cursor::CursorView;
pub use examine::{
    AsideView, CardView, ExamineView, FinishView, ListChoice, NoteView, OfferView, RequestRow,
    RequestView, ReviewView, VerdictKind, VerdictRow, VerdictView, picture_lines,
};
pub(crate) use examine::{list_name, view_label, view_named};
pub use menus::{
    Choice, DepthView, DisplayView, MenuItem, SceneMenuView, WindowGroup, WindowsView,
};
pub(crate) use menus::{body_words, position_words};
pub(crate) use plane::sides_view;
pub use plane::{AngleView, PlaneView, SideView, SidesView, notch_side};
pub(crate) use plane::{central_offset, exact_naming};
pub use predict::PredictView;
pub use probe::{ClockView, MovementView, ProbeView};
pub use status::{Notice, NoticeKind, Offer, Progress, StatusView};
pub use structures::{StructureView, StructuresView};
pub use tuning::{KnobView, TuningView};
pub use volume::{CoordinateView, VolumePlaneView, VolumeView, volume_view};
pub(crate) use volume::{plane_words, volume_said};
pub use why::{TryoutView, WhyView};
pub use words::WordsView;
pub(crate) use words::{announcement, pose_sentences};

use picture::Contents;

use crate::practise::{PractiseView, Veil, practise_view, veiled};
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
    /// The knobs of the grey-scale picture.
    pub tuning: TuningView,
    /// What the body view shows and from where.
    pub scene: SceneMenuView,
    /// The answer on show.
    pub why: Option<WhyView>,
    /// What is to be predicted.
    pub predict: PredictView,
    /// Progress and messages.
    pub status: StatusView,
    /// Whether a step can be taken back, and done again.
    pub history: HistoryView,
    /// The examination.
    pub examine: ExamineView,
    /// Practice.
    pub practise: PractiseView,
    /// What is left out while a question is open.
    pub veil: Veil,
}

/// State of the undo and redo buttons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HistoryView {
    /// A step can be taken back.
    pub can_undo: bool,
    /// A step can be done again.
    pub can_redo: bool,
}

/// What is pointed at in the picture; none while a question asks for names. Apart from [`panels`], because a pointer moves
/// more often than anything else does.
#[must_use]
pub fn cursor(state: &State, seen: Option<&Contents>, texts: &Texts) -> Option<CursorView> {
    cursor::cursor_view(state, seen, texts).filter(|_| state.veil().names)
}

/// All panels for a state and what its picture shows (`None` before a body is here).
#[must_use]
pub fn panels(state: &State, seen: Option<&Contents>, texts: &Texts) -> Panels {
    let plane = plane::plane_view(state, texts);
    let sides = sides_view(state, texts);
    let structures = structures::structures_view(state, seen, texts);
    let panels = Panels {
        why: why::why_view(state, &plane, &sides, &structures, texts),
        predict: predict::predict_view(state, texts),
        plane,
        sides,
        words: words::words_view(state, seen, texts),
        structures,
        probe: probe::probe_view(state, texts),
        windows: menus::windows_view(state, texts),
        depth: menus::depth_view(state, texts),
        display: menus::display_view(state, texts),
        tuning: tuning::tuning_view(state, texts),
        scene: menus::scene_view(state, texts),
        status: status::status_view(state, texts),
        history: HistoryView {
            can_undo: state.can_undo(),
            can_redo: state.can_redo(),
        },
        examine: examine::examine_view(state, seen, texts),
        practise: practise_view(state, seen, texts),
        veil: state.veil(),
    };
    veiled(panels)
}
