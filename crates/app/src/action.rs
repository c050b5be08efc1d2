//! Everything that can happen to the application.

use std::sync::Arc;

use anatomy::{Body, BodyFacts, SkinSurface};
use geometry::{ApexSide, BodyPosition, MarkSide};
use picture::{Knob, VolumePlane};

use crate::examine::Examine;
use crate::practise::PractiseAction;
use crate::predict::Whereabouts;
use crate::scene::{CameraPreset, ScreenPoint, StructureFilter, Viewport};
use crate::session::Session;
use crate::why::{Ask, Tryout};

pub use course::link::Seat;
pub use course::share::Open;

/// One of the movements of a probe that stays where it is.
///
/// Names: AIUM technical bulletin on transducer manipulation, J Ultrasound Med 1999; 18: 169–175.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Movement {
    /// Turn about the beam; positive is clockwise as seen from outside the skin. Degrees.
    Rotate,
    /// Fan across the plane, about the long side of the face; on the front of the body with the notch to
    /// the head, positive swings the beam toward the patient's left. Degrees.
    Tilt,
    /// Heel–toe in the plane; positive swings the beam toward the notch. Degrees.
    Rock,
    /// Push in along the skin normal. Millimetres.
    Compress,
}

impl Movement {
    /// All four, in the order panels list them.
    pub const ALL: [Self; 4] = [Self::Rotate, Self::Tilt, Self::Rock, Self::Compress];
}

/// A direction along the skin; a negative distance goes the opposite way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SlideAxis {
    /// Toward twelve o'clock of the clock on the skin: the head, on most of the body.
    TwelveOClock,
    /// Toward three o'clock, a quarter turn clockwise seen from outside: on the front, the patient's left.
    ThreeOClock,
    /// Toward the notch, along the long side of the face: the plane stays.
    Notch,
    /// Across the face, toward positive elevation: a sweep to the neighbouring parallel plane.
    Across,
}

/// How far a step goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Step {
    /// One usual step.
    #[default]
    Usual,
    /// A small one, for the last bit.
    Fine,
    /// A big one.
    Coarse,
}

/// Which way a step goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Increases the value, or goes along the axis.
    Forward,
    /// Decreases the value, or goes against the axis.
    Back,
}

/// Everything that can happen. Any action is allowed in any state; one that has no meaning there does
/// nothing. Numbers that are not finite do nothing either.
#[derive(Debug, Clone)]
pub enum Action {
    /// Bytes of the wanted body have arrived: `received` of `total`, if the total is known.
    BodyProgress {
        /// Identifier of the body.
        id: String,
        /// Bytes so far.
        received: u64,
        /// Bytes expected.
        total: Option<u64>,
    },
    /// The skin of a body is ready, its inside still on the way.
    SkinArrived {
        /// What is known of the body without its meshes.
        facts: Arc<BodyFacts>,
        /// The skin.
        skin: Arc<SkinSurface>,
    },
    /// A whole body is ready.
    BodyArrived(Arc<Body>),
    /// A body cannot be had.
    BodyFailed {
        /// Identifier of the body.
        id: String,
        /// Why, in a few words for the learner.
        reason: String,
    },
    /// Ask for the failed body once more.
    RetryBody,
    /// Work with another body.
    ChooseBody(String),
    /// An address was opened: the fragment with or without `#`; empty for none.
    OpenLink(String),
    /// What this tab took along when its page was loaded again is taken up.
    TakeUp(Box<Session>),
    /// The view stands in another page, whose author left only this open and wrote this fragment.
    Restrict {
        /// What the learner may change.
        open: Open,
        /// The fragment of the author's view; Reset goes back to it.
        fragment: String,
    },

    /// The probe is taken up with the pointer.
    GrabProbe {
        /// Where.
        at: ScreenPoint,
        /// Size of the body view.
        viewport: Viewport,
    },
    /// The pointer moved while the probe is held.
    DragProbe {
        /// Where to.
        at: ScreenPoint,
        /// Size of the body view.
        viewport: Viewport,
    },
    /// Put the probe where the skin was pointed at (the way to place it without dragging).
    PlaceProbe {
        /// Where.
        at: ScreenPoint,
        /// Size of the body view.
        viewport: Viewport,
    },
    /// Slide along the skin by millimetres.
    Slide {
        /// Which way.
        axis: SlideAxis,
        /// How far, mm; negative is against the axis.
        mm: f64,
    },
    /// Slide along the skin by one step.
    SlideStep(SlideAxis, Way, Step),
    /// Set a movement to a value: degrees, or millimetres for [`Movement::Compress`].
    SetMovement(Movement, f64),
    /// Change a movement by one step.
    MovementStep(Movement, Way, Step),
    /// Turn the notch by half a turn.
    ReverseNotch,
    /// Turn the notch by a quarter turn, clockwise as seen from outside for [`Way::Forward`].
    QuarterTurn(Way),
    /// Go to a named window.
    PickWindow(String),
    /// A drag, a key press or a typed number is complete: it becomes one step of undo, the address is
    /// written and the words are spoken.
    EndInteraction,

    /// Set the displayed depth, mm.
    SetDepth(f64),
    /// Change the displayed depth by one step.
    DepthStep(Way),
    /// Take another transducer.
    ChooseTransducer(String),
    /// Show the mark at this side of the image.
    SetMark(MarkSide),
    /// Show the footprint at this end of the image.
    SetApex(ApexSide),
    /// Set the tolerance of plane names, degrees.
    SetTolerance(f64),
    /// Lay the body down another way.
    SetPosition(BodyPosition),
    /// Move the examiner to another side.
    SetSeat(Seat),
    /// Show another choice of structures in the body view.
    SetFilter(StructureFilter),
    /// Show or hide the skin in the body view.
    ShowSkin(bool),
    /// Fade from the section in flat colours (0) to the grey-scale picture (100), percent.
    SetGrey(f64),
    /// Change between section and grey-scale picture.
    SwitchPicture,
    /// Set the gain of the grey-scale picture, dB.
    SetGain(f64),
    /// Turn a knob of the grey-scale picture to a value in its unit.
    TurnKnob(Knob, f64),
    /// Change a knob by one step.
    KnobStep(Knob, Way),
    /// Let every knob follow transducer and depth again.
    ResetKnobs,
    /// Point out a structure by its identifier, or none.
    ChooseStructure(Option<String>),

    /// Ask why something has its name.
    AskWhy(Ask),
    /// Put the answer away.
    CloseWhy,
    /// Try notch and mark out beside the picture; the probe stays.
    TryOut(Tryout),
    /// Point at a place of the picture, image mm, or at none.
    PointAt(Option<[f64; 2]>),
    /// Move the keyboard's cross in the picture by steps to image right and down.
    MoveCursor([f64; 2], Step),

    /// Ask for a prediction before the notch turns, or no longer.
    SetPredicting(bool),
    /// Say where the side asked about will be; then the notch turns.
    Predict(Whereabouts),
    /// Show or hide the three planes of a volume.
    ShowVolume(bool),
    /// The same the other way round, as the key does.
    SwitchVolume,
    /// Let the three planes cross here: probe frame, mm.
    SetVolumePoint([f64; 3]),
    /// Let them cross at a place in the picture of one of them, image mm.
    PointInVolume(VolumePlane, [f64; 2]),

    /// Turn the view by a drag of CSS pixels.
    OrbitCamera {
        /// To the right.
        dx: f64,
        /// Down.
        dy: f64,
        /// Size of the body view.
        viewport: Viewport,
    },
    /// Turn the view by degrees: azimuth anticlockwise seen from above, elevation upward.
    TurnCamera {
        /// Around the vertical.
        azimuth_deg: f64,
        /// Upward.
        elevation_deg: f64,
    },
    /// Move the view sideways by a drag of CSS pixels.
    PanCamera {
        /// To the right.
        dx: f64,
        /// Down.
        dy: f64,
        /// Size of the body view.
        viewport: Viewport,
    },
    /// Go nearer (below 1) or farther (above 1).
    ZoomCamera(f64),
    /// Go to a named viewpoint.
    Camera(CameraPreset),

    /// Take back the last step.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// Go back to the first view of this body.
    Reset,
    /// Time has passed, milliseconds; moves running animations on.
    Tick(f64),
    /// Whether the learner asked for less motion.
    SetReducedMotion(bool),
    /// Whether the body view can be drawn at all.
    SetBodyViewWorks(bool),
    /// The words of the chosen language did not arrive; its name.
    LanguageFailed(String),
    /// Put the current message away.
    DismissMessage,
    /// Freeze, annotate, acquire, review, delete, finish.
    Examine(Examine),
    /// Something on the Practise screen.
    Practise(PractiseAction),
}

/// What an action changed, so that only that is drawn again.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Changes {
    /// The probe moved: image plane, section, sheet and probe solid.
    pub pose: bool,
    /// The viewer moved: only the body view is drawn again.
    pub camera: bool,
    /// The picture changes although the pose does not (depth, convention, transducer, chosen structure).
    pub picture: bool,
    /// Other things in the body view change (position, filter, skin, body).
    pub scene: bool,
    /// Another body, or more of it: meshes have to be loaded into the renderer.
    pub body: bool,
    /// View values of the panels may differ.
    pub panels: bool,
    /// Another place of the picture is pointed at: only its name may differ.
    pub cursor: bool,
    /// The address should be written.
    pub address: bool,
    /// The examination should be kept.
    pub keep: bool,
    /// The action was refused: controls that moved by themselves go back to what is.
    pub refused: bool,
    /// Words to speak, through one polite live region.
    pub announcement: Option<String>,
}

impl Changes {
    /// Nothing changed.
    #[must_use]
    pub fn none() -> Self {
        Self::default()
    }

    /// The probe moved by hand or by program.
    pub(crate) fn pose() -> Self {
        Self {
            pose: true,
            panels: true,
            ..Self::default()
        }
    }

    pub(crate) fn camera() -> Self {
        Self {
            camera: true,
            ..Self::default()
        }
    }

    pub(crate) fn panels() -> Self {
        Self {
            panels: true,
            ..Self::default()
        }
    }

    pub(crate) fn everything() -> Self {
        Self {
            pose: true,
            camera: true,
            picture: true,
            scene: true,
            panels: true,
            ..Self::default()
        }
    }

    /// Both together; of two announcements the later is kept.
    #[must_use]
    pub fn and(self, later: Self) -> Self {
        Self {
            pose: self.pose || later.pose,
            camera: self.camera || later.camera,
            picture: self.picture || later.picture,
            scene: self.scene || later.scene,
            body: self.body || later.body,
            panels: self.panels || later.panels,
            cursor: self.cursor || later.cursor,
            address: self.address || later.address,
            keep: self.keep || later.keep,
            refused: self.refused || later.refused,
            announcement: later.announcement.or(self.announcement),
        }
    }

    /// Whether anything at all has to be drawn.
    #[must_use]
    pub fn draws(&self) -> bool {
        self.pose || self.camera || self.picture || self.scene || self.body
    }
}
