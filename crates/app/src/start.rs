//! The first view of a body, and views opened from links.

use anatomy::{BodyFacts, SkinSurface, Window};
use course::link::{self, LinkState};
use geometry::{
    Angle, BodyPlane, BodyPosition, Convention, DEFAULT_TOLERANCE, Direction, Mm, PlaneName, Point,
    Pose,
};
use picture::{Transducer, transducer, transducers};

use crate::action::Seat;
use crate::address;
use crate::examine::Examination;
use crate::naming::shown_name;
use crate::practise;
use crate::scene::{Camera, CameraPreset, StructureFilter, preset_camera};
use crate::shown::{self, Shown};
use crate::state::{BODIES, BodyStage, Message, Setup, State};
use crate::texts::Texts;
use crate::tuning::Tuning;
use crate::update::Limits;
use crate::volume::VolumeChoice;

/// Depth of the first view, mm: shows the front of the spine behind the liver in an adult.
const FIRST_DEPTH: Mm = Mm::new(155.0);

/// Where the first view of an adult lies beside the mid-line at woman size, mm to the patient's left: still
/// mid-sagittal, and already along the aorta.
const FIRST_LEFT_MM: f64 = 4.0;

/// The window that the first view of an adult is taken from.
const FIRST_ADULT_WINDOW: &str = "sagittal_left_aorta_proximal";

/// The window of the first view of the newborn's head.
const FIRST_HEAD_WINDOW: &str = "head_midsagittal";

/// How far off the skin the contact of a link may be and still count as on it, mm: links round to 0.1 mm.
const ON_THE_SKIN_MM: f64 = 0.3;

/// A state without a body, as nothing was asked for.
pub(crate) fn blank() -> State {
    let mut state = State {
        texts: Texts::first(),
        body_id: BODIES[0].to_owned(),
        stage: BodyStage::Loading {
            received: 0,
            total: None,
        },
        awaited: Some(LinkState::default()),
        pose: blank_pose(),
        window: None,
        setup: blank_setup(),
        shown: Shown::nothing(BodyPosition::Supine),
        camera: Camera::new([0.0; 3], 0.0, 0.0, 1000.0),
        filter: StructureFilter::Everything,
        skin_shown: true,
        grey_percent: 0.0,
        chosen: None,
        predicting: false,
        prediction: None,
        volume: VolumeChoice::default(),
        why: None,
        cursor: None,
        undo: Vec::new(),
        redo: Vec::new(),
        open: None,
        drag: None,
        pose_motion: None,
        camera_motion: None,
        reduced_motion: false,
        body_view_works: true,
        message: None,
        practise: practise::Practise::default(),
        limits: Limits::none(),
        shown_plane: PlaneName::Named(BodyPlane::Sagittal),
        examination: Examination::default(),
        session: None,
    };
    state.camera = preset_camera(&state, CameraPreset::ExaminerSeat);
    state
}

/// A probe at the epigastrium of an adult, notch to the head: near the true first view, so that
/// little moves when the skin arrives.
#[expect(
    clippy::expect_used,
    reason = "finite constants in range; every test starts here"
)]
pub(crate) fn blank_pose() -> Pose {
    let contact = Point::new(FIRST_LEFT_MM, -116.0, 118.0);
    let zero = Angle::ZERO;
    Pose::new(contact, -Direction::y_axis(), zero, zero, zero, Mm::ZERO).expect("a plain pose")
}

fn blank_setup() -> Setup {
    Setup {
        transducer: first_transducer(),
        depth: FIRST_DEPTH,
        convention: Convention::GENERAL,
        tolerance: DEFAULT_TOLERANCE,
        position: BodyPosition::Supine,
        seat: Seat::Right,
        tuning: Tuning::default(),
    }
}

#[expect(
    clippy::expect_used,
    reason = "the table of transducers is a constant with entries"
)]
fn first_transducer() -> &'static Transducer {
    transducers().first().expect("a transducer")
}

/// Opens a fragment: takes over what it says, or falls back to the first view with a message.
pub(crate) fn open_link(state: &mut State, fragment: &str) {
    let fragment = fragment.trim().trim_start_matches('#');
    state.message = None;
    open_view(state, fragment);
    practise::follow_link(state, fragment);
}

fn open_view(state: &mut State, fragment: &str) {
    let wanted = if fragment.is_empty() {
        LinkState::default()
    } else {
        match link::read(fragment) {
            Ok(wanted) => wanted,
            Err(error) => {
                state.message = Some(Message::BrokenLink(error.to_string()));
                LinkState::default()
            }
        }
    };
    state.grey_percent = wanted.picture.grey_percent.unwrap_or(0.0);
    let body = match &wanted.body {
        Some(id) if BODIES.contains(&id.as_str()) => id.clone(),
        Some(unknown) => {
            state.message = Some(Message::LinkPartUnknown {
                key: "body",
                value: unknown.clone(),
            });
            open_body(state, BODIES[0], LinkState::default());
            return;
        }
        None => BODIES[0].to_owned(),
    };
    open_body(state, &body, wanted);
}

/// Turns to a body; what is already here of it is kept, and `wanted` is shown as soon as it can be.
pub(crate) fn open_body(state: &mut State, id: &str, wanted: LinkState) {
    if state.body_id != id || matches!(state.stage, BodyStage::Failed { .. }) {
        state.body_id = id.to_owned();
        state.stage = BodyStage::Loading {
            received: 0,
            total: None,
        };
        state.chosen = None;
        state.why = None;
        state.cursor = None;
    }
    state.session = None;
    state.undo.clear();
    state.redo.clear();
    state.open = None;
    state.drag = None;
    state.pose_motion = None;
    state.prediction = None;
    state.camera_motion = None;
    state.window = None;
    state.setup = blank_setup();
    state.pose = wanted
        .pose
        .as_ref()
        .and_then(address::pose_of_link)
        .unwrap_or_else(blank_pose);
    take_setup(state, &wanted);
    state.awaited = Some(wanted);
    settle(state);
    state.camera = preset_camera(state, CameraPreset::ExaminerSeat);
}

/// The setup a link asks for, apart from what only the body knows.
fn take_setup(state: &mut State, wanted: &LinkState) {
    state.setup = setup_of_link(state.setup, wanted);
    if let Some(id) = &wanted.transducer
        && transducer(id).is_none()
    {
        unknown_part(state, "probe", id);
    }
}

/// A setup with what a link says of it; what the link leaves out, or does not know, stays.
pub(crate) fn setup_of_link(before: Setup, wanted: &LinkState) -> Setup {
    let mut setup = Setup {
        convention: Convention {
            mark: wanted.mark,
            apex: wanted.apex,
        },
        position: wanted.position,
        seat: wanted.seat,
        tuning: address::tuning_of_link(&wanted.picture),
        ..before
    };
    if let Ok(tolerance) = geometry::check_tolerance(wanted.tolerance_deg) {
        setup.tolerance = tolerance;
    }
    if let Some(known) = wanted.transducer.as_deref().and_then(transducer) {
        setup.transducer = known;
        setup.depth = known.usual_depth;
    }
    let depth = wanted.depth_mm.map_or(setup.depth, Mm::new);
    setup.depth = setup.transducer.clamp_depth(depth);
    setup
}

fn unknown_part(state: &mut State, key: &'static str, value: &str) {
    state.message = Some(Message::LinkPartUnknown {
        key,
        value: value.to_owned(),
    });
}

/// Shows what was awaited, now that skin and facts are here.
pub(crate) fn meet_body(state: &mut State) {
    let Some(wanted) = state.awaited.take() else {
        return;
    };
    // Who has moved the probe while the body was on its way finds it where it was put.
    let was_moved = !state.undo.is_empty() || state.open.is_some();
    let Some(found) = state.parts().map(|(facts, skin)| {
        if was_moved {
            FirstView::Pose {
                pose: on_skin(*state.settled_pose(), skin),
                window: None,
            }
        } else {
            first_view(state, facts, skin, &wanted)
        }
    }) else {
        state.awaited = Some(wanted);
        return;
    };
    match found {
        FirstView::Pose { pose, window } => {
            state.pose = pose;
            state.window = window;
        }
        FirstView::Window {
            pose,
            window,
            setup,
        } => {
            state.pose = pose;
            state.window = window;
            state.setup = *setup;
            keep_link_words(state, &wanted);
        }
        FirstView::UnknownWindow(id) => {
            unknown_part(state, "window", &id);
            state.awaited = Some(LinkState {
                window: None,
                ..wanted
            });
            meet_body(state);
            return;
        }
    }
    // Steps from before stand on a skin that was not there yet.
    state.undo.clear();
    state.redo.clear();
    state.open = None;
    state.pose_motion = None;
    settle(state);
    state.camera = preset_camera(state, CameraPreset::ExaminerSeat);
    state.camera_motion = None;
    crate::session::take_up(state);
    practise::remember_scan(state);
}

enum FirstView {
    /// The link's own pose, put on the skin.
    Pose {
        pose: Pose,
        window: Option<String>,
    },
    /// A window, or a view made from one.
    Window {
        pose: Pose,
        window: Option<String>,
        setup: Box<Setup>,
    },
    UnknownWindow(String),
}

fn first_view(
    state: &State,
    facts: &BodyFacts,
    skin: &SkinSurface,
    wanted: &LinkState,
) -> FirstView {
    let named = wanted.window.as_ref();
    let found = named.and_then(|id| facts.windows.iter().find(|window| window.id == *id));
    if let (Some(id), None) = (named, found) {
        return FirstView::UnknownWindow(id.clone());
    }
    if let Some(pose) = wanted.pose.as_ref().and_then(address::pose_of_link) {
        return FirstView::Pose {
            pose: on_skin(pose, skin),
            window: found.map(|window| window.id.clone()),
        };
    }
    if let Some(window) = found {
        return FirstView::Window {
            pose: window.pose,
            window: Some(window.id.clone()),
            setup: Box::new(window_setup(&state.setup, window)),
        };
    }
    plain_first_view(state, facts, skin)
}

/// The view a body opens with.
fn plain_first_view(state: &State, facts: &BodyFacts, skin: &SkinSurface) -> FirstView {
    let by_id = |id: &str| facts.windows.iter().find(|window| window.id == id);
    if let Some(window) = by_id(FIRST_ADULT_WINDOW) {
        let pose = beside_midline(window, facts.offset_scale, skin);
        return FirstView::Window {
            pose,
            window: (pose == window.pose).then(|| window.id.clone()),
            setup: Box::new(state.setup),
        };
    }
    let Some(window) = by_id(FIRST_HEAD_WINDOW).or_else(|| facts.windows.first()) else {
        return FirstView::Pose {
            pose: on_skin(state.pose, skin),
            window: None,
        };
    };
    FirstView::Window {
        pose: window.pose,
        window: Some(window.id.clone()),
        setup: Box::new(window_setup(&state.setup, window)),
    }
}

/// The window moved to just left of the mid-line, the probe upright on the skin with its notch to the head; the
/// window itself where there is no skin in front.
///
/// Upright, because a learner's first turn of the notch should then be a turn and nothing else.
fn beside_midline(window: &Window, scale: f64, skin: &SkinSurface) -> Pose {
    let level = window.pose.contact().z();
    let in_front = Point::new(FIRST_LEFT_MM * scale, -2000.0, level);
    let zero = Angle::ZERO;
    skin.ray(in_front, Direction::y_axis())
        .and_then(|hit| {
            let normal = skin.smoothed_normal(&hit);
            Pose::new(hit.point, normal, zero, zero, zero, Mm::ZERO).ok()
        })
        .unwrap_or(window.pose)
}

/// The setup that belongs to a window: its transducer, depth and mark; the rest stays.
pub(crate) fn window_setup(setup: &Setup, window: &Window) -> Setup {
    let known = transducer(&window.transducer).unwrap_or(setup.transducer);
    Setup {
        transducer: known,
        depth: known.clamp_depth(window.depth),
        convention: window.convention(),
        tuning: setup.tuning.carried(setup.transducer, known),
        ..*setup
    }
}

/// What a link says itself goes before what a window suggests. Its mark and apex are the link's own only
/// when they are not the usual ones, for a hand-written link leaves them out.
fn keep_link_words(state: &mut State, wanted: &LinkState) {
    let window_convention = state.setup.convention;
    let spelt_out = LinkState {
        transducer: wanted
            .transducer
            .clone()
            .or_else(|| Some(state.setup.transducer.id.to_owned())),
        depth_mm: wanted.depth_mm.or_else(|| Some(state.setup.depth.get())),
        ..wanted.clone()
    };
    take_setup(state, &spelt_out);
    if state.setup.convention == Convention::GENERAL {
        state.setup.convention = window_convention;
    }
}

/// The pose on this body's skin: unchanged where it is on it already, else at the nearest point.
pub(crate) fn on_skin(pose: Pose, skin: &SkinSurface) -> Pose {
    let nearest = skin.nearest(pose.contact());
    if (nearest.point - pose.contact()).norm() <= ON_THE_SKIN_MM {
        pose
    } else {
        skin.place(&pose, &nearest)
    }
}

/// Brings the name on show up to date with the resting pose, and the shown body with its position.
pub(crate) fn settle(state: &mut State) {
    shown::refresh(state);
    state.shown_plane = shown_name(
        state.shown_plane,
        state.plane().normal(),
        state.setup.tolerance,
        state.is_unsettled(),
    );
}
