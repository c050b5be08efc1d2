//! What the application knows: a body, a probe on it, how the picture is shown, and where the viewer is.
//!
//! Fields are private to the crate: only [`update`](crate::update::update) changes them, and it keeps them valid.

use std::sync::Arc;

use anatomy::{Body, BodyFacts, SkinSurface};
use course::link::LinkState;
use geometry::{Angle, BodyPosition, Convention, ImagePlane, Mm, PlaneName, Pose};
use picture::{Field, GreySettings, Knob, Transducer};

use crate::action::Seat;
use crate::cursor::Cursor;
use crate::drag::Drag;
use crate::examine::Examination;
use crate::motion::{CameraMotion, PoseMotion};
use crate::practise::Practise;
use crate::predict::Prediction;
use crate::scene::{Camera, StructureFilter};
use crate::session::Session;
use crate::shown::Shown;
use crate::start;
use crate::texts::Texts;
use crate::tuning::Tuning;
use crate::update::Limits;
use crate::volume::VolumeChoice;
use crate::why::{Ask, Asked, Tryout};

/// The bodies that come with the program, first the one shown first.
pub const BODIES: [&str; 3] = ["adult_female", "adult_male", "infant_head"];

/// How much of a body is here.
#[derive(Debug, Clone)]
pub enum BodyStage {
    /// On its way.
    Loading {
        /// Bytes so far.
        received: u64,
        /// Bytes expected, where known.
        total: Option<u64>,
    },
    /// The probe can be moved over the skin; the inside is on its way.
    SkinOnly {
        /// What is known of the body without its meshes.
        facts: Arc<BodyFacts>,
        /// Its skin.
        skin: Arc<SkinSurface>,
    },
    /// All of it.
    Loaded(Arc<Body>),
    /// It cannot be had.
    Failed {
        /// Why, in a few words.
        reason: String,
    },
}

/// What is told to the learner until it is put away or no longer true.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Message {
    /// The opened link cannot be used; the reason is a sentence without capital and full stop.
    BrokenLink(String),
    /// The words of the chosen language did not arrive; its name.
    NoLanguage(String),
    /// The opened link asks for something this body does not have.
    LinkPartUnknown {
        /// What kind of thing, as the link's key names it.
        key: &'static str,
        /// Its identifier.
        value: String,
    },
}

/// How a view is set up, apart from where the probe is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setup {
    pub(crate) transducer: &'static Transducer,
    pub(crate) depth: Mm,
    pub(crate) convention: Convention,
    pub(crate) tolerance: Angle,
    pub(crate) position: BodyPosition,
    pub(crate) seat: Seat,
    pub(crate) tuning: Tuning,
}

/// How the grey-scale picture is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GreyChoice {
    /// 0 is the section in flat colours, 100 the grey-scale picture; between, one shines through the other. Percent.
    pub percent: f64,
    /// Overall gain, dB: 0 shows liver at its usual grey.
    pub gain_db: f64,
}

/// What undo brings back.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Snapshot {
    pub(crate) pose: Pose,
    pub(crate) window: Option<String>,
    pub(crate) setup: Setup,
}

/// Interactions that go on for many actions and count as one step of undo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Interaction {
    Drag,
    Slide,
    Movement(crate::action::Movement),
    Depth,
    Tolerance,
    Tuning(Knob),
}

/// The application without a screen.
#[derive(Debug, Clone)]
pub struct State {
    /// The language of what is announced.
    pub(crate) texts: &'static Texts,
    pub(crate) body_id: String,
    pub(crate) stage: BodyStage,
    /// A link, or none, whose wishes wait for the body.
    pub(crate) awaited: Option<LinkState>,
    pub(crate) pose: Pose,
    pub(crate) window: Option<String>,
    pub(crate) setup: Setup,
    /// Follows body and position; see [`crate::shown::refresh`].
    pub(crate) shown: Shown,
    pub(crate) camera: Camera,
    pub(crate) filter: StructureFilter,
    pub(crate) skin_shown: bool,
    pub(crate) grey_percent: f64,
    pub(crate) chosen: Option<String>,
    /// Whether a turn of the notch is asked about first.
    pub(crate) predicting: bool,
    /// The question on show, or its answer.
    pub(crate) prediction: Option<Prediction>,
    /// The three planes of a volume.
    pub(crate) volume: VolumeChoice,
    /// The question on show.
    pub(crate) why: Option<Asked>,
    /// The place pointed at in the picture.
    pub(crate) cursor: Option<Cursor>,
    pub(crate) undo: Vec<Snapshot>,
    pub(crate) redo: Vec<Snapshot>,
    /// The running interaction, and how things were before it.
    pub(crate) open: Option<(Interaction, Snapshot)>,
    pub(crate) drag: Option<Drag>,
    pub(crate) pose_motion: Option<PoseMotion>,
    pub(crate) camera_motion: Option<CameraMotion>,
    pub(crate) reduced_motion: bool,
    pub(crate) body_view_works: bool,
    pub(crate) message: Option<Message>,
    pub(crate) practise: Practise,
    pub(crate) limits: Limits,
    /// The plane name on show; see [`crate::naming`].
    pub(crate) shown_plane: PlaneName,
    pub(crate) examination: Examination,
    /// What this tab took along and could not be taken up yet.
    pub(crate) session: Option<Box<Session>>,
}

impl State {
    /// The state in which the page opens: `fragment` is what stands behind the `#` of the address, or empty.
    ///
    /// A broken link gives the first view and a message.
    #[must_use]
    pub fn new(fragment: &str) -> Self {
        let mut state = start::blank();
        start::open_link(&mut state, fragment);
        state
    }

    /// The language of what is announced.
    pub fn speak(&mut self, texts: &'static Texts) {
        self.texts = texts;
    }

    /// Identifier of the body in use; the shell fetches it while [`State::stage`] says `Loading`.
    #[must_use]
    pub fn body_id(&self) -> &str {
        &self.body_id
    }

    /// How much of the body is here.
    #[must_use]
    pub fn stage(&self) -> &BodyStage {
        &self.stage
    }

    /// The body, once all of it is here.
    #[must_use]
    pub fn body(&self) -> Option<&Arc<Body>> {
        match &self.stage {
            BodyStage::Loaded(body) => Some(body),
            _ => None,
        }
    }

    /// Facts and skin, as soon as they are here.
    #[must_use]
    pub fn parts(&self) -> Option<(&BodyFacts, &SkinSurface)> {
        match &self.stage {
            BodyStage::Loaded(body) => Some((body.facts(), body.skin())),
            BodyStage::SkinOnly { facts, skin } => Some((facts, skin)),
            BodyStage::Loading { .. } | BodyStage::Failed { .. } => None,
        }
    }

    /// The skin, as soon as it is here.
    #[must_use]
    pub fn skin(&self) -> Option<&SkinSurface> {
        self.parts().map(|(_, skin)| skin)
    }

    /// What is known of the body without its meshes, as soon as it is here.
    #[must_use]
    pub fn facts(&self) -> Option<&BodyFacts> {
        self.parts().map(|(facts, _)| facts)
    }

    /// Where the probe is.
    #[must_use]
    pub fn pose(&self) -> &Pose {
        &self.pose
    }

    /// The image plane of the probe under the display convention.
    #[must_use]
    pub fn plane(&self) -> ImagePlane {
        ImagePlane::from_pose(&self.pose, self.setup.convention)
    }

    /// The field of view in the plane.
    #[must_use]
    pub fn field(&self) -> Field {
        let apex = self.setup.convention.apex;
        Field::new(self.setup.transducer, self.setup.depth, apex)
    }

    /// Identifier of the named window the probe is at; none once the probe has been moved.
    #[must_use]
    pub fn window(&self) -> Option<&str> {
        self.window.as_deref()
    }

    /// The transducer in use.
    #[must_use]
    pub fn transducer(&self) -> &'static Transducer {
        self.setup.transducer
    }

    /// The displayed depth.
    #[must_use]
    pub fn depth(&self) -> Mm {
        self.setup.depth
    }

    /// The display convention.
    #[must_use]
    pub fn convention(&self) -> Convention {
        self.setup.convention
    }

    /// The tolerance of plane names.
    #[must_use]
    pub fn tolerance(&self) -> Angle {
        self.setup.tolerance
    }

    /// How the body lies.
    #[must_use]
    pub fn position(&self) -> BodyPosition {
        self.setup.position
    }

    /// Where the examiner sits.
    #[must_use]
    pub fn seat(&self) -> Seat {
        self.setup.seat
    }

    /// Where the viewer of the body view is.
    #[must_use]
    pub fn camera(&self) -> &Camera {
        &self.camera
    }

    /// Which structures the body view shows.
    #[must_use]
    pub fn filter(&self) -> StructureFilter {
        self.filter
    }

    /// Whether the body view shows the skin.
    #[must_use]
    pub fn skin_shown(&self) -> bool {
        self.skin_shown
    }

    /// How much of the grey-scale picture is shown, and how bright it is.
    #[must_use]
    pub fn grey(&self) -> GreyChoice {
        GreyChoice {
            percent: self.grey_percent,
            gain_db: self.grey_settings().gain_db,
        }
    }

    /// What the examiner has turned on the grey-scale picture.
    #[must_use]
    pub fn tuning(&self) -> &Tuning {
        &self.setup.tuning
    }

    /// The knobs of the grey-scale picture as they stand.
    #[must_use]
    pub fn grey_settings(&self) -> GreySettings {
        self.setup.tuning.settings(&self.field())
    }

    /// Identifier of the structure pointed out.
    #[must_use]
    pub fn chosen(&self) -> Option<&str> {
        self.chosen.as_deref()
    }

    /// The place pointed at in the picture, image mm.
    #[must_use]
    pub fn cursor_at(&self) -> Option<[f64; 2]> {
        self.cursor.map(|cursor| cursor.at)
    }

    /// What is asked about, while its answer is on show.
    #[must_use]
    pub fn asked(&self) -> Option<&Ask> {
        self.why.as_ref().map(|asked| &asked.ask)
    }

    /// What is tried out with mark and notch, while an answer is on show.
    #[must_use]
    pub fn tryout(&self) -> Option<Tryout> {
        self.why.as_ref().map(|asked| asked.tryout)
    }

    /// Whether the animation of a question runs.
    pub(crate) fn why_moves(&self) -> bool {
        let runs = |asked: &Asked| !crate::lit::is_over(asked.elapsed_ms);
        !self.reduced_motion && self.why.as_ref().is_some_and(runs)
    }

    /// Whether there is a step to take back.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
            || self
                .open
                .as_ref()
                .is_some_and(|(_, before)| *before != self.snapshot())
    }

    /// Whether there is a step to do again.
    #[must_use]
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// Whether an animation runs, so that frames and [`Action::Tick`](crate::Action::Tick) must go on.
    #[must_use]
    pub fn is_moving(&self) -> bool {
        self.pose_motion.is_some() || self.camera_motion.is_some() || self.why_moves()
    }

    /// Whether the body view can be drawn.
    #[must_use]
    pub fn body_view_works(&self) -> bool {
        self.body_view_works
    }

    /// What is known on the Practise screen.
    #[must_use]
    pub fn practise(&self) -> &Practise {
        &self.practise
    }

    /// Where the probe is going: the end of a running animation, else where it is.
    #[must_use]
    pub fn settled_pose(&self) -> &Pose {
        self.pose_motion
            .as_ref()
            .map_or(&self.pose, PoseMotion::end)
    }

    pub(crate) fn snapshot(&self) -> Snapshot {
        Snapshot {
            pose: *self.settled_pose(),
            window: self.window.clone(),
            setup: self.setup,
        }
    }

    /// Whether hand or program moves the probe now.
    pub(crate) fn moves_probe(&self) -> bool {
        let by_hand = self.open.as_ref().is_some_and(|(interaction, _)| {
            matches!(
                interaction,
                Interaction::Drag | Interaction::Slide | Interaction::Movement(_)
            )
        });
        by_hand || self.pose_motion.is_some()
    }

    /// Whether the pose is on its way between two settled ones.
    pub(crate) fn is_unsettled(&self) -> bool {
        self.pose_motion.is_some() || self.open.is_some()
    }
}
