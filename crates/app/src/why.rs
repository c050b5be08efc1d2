//! Names that can be asked "why?", and the try-out of mark and notch.

use geometry::{ImagePlane, ImageSide, Pose};

use crate::state::State;

/// A name that can be asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ask {
    /// The name of the plane.
    Plane,
    /// The name of a side of the picture.
    Side(ImageSide),
    /// How the plane shows a structure, by its identifier.
    Axis(String),
    /// What the mark and the notch have to do with each other.
    Mark,
}

impl Ask {
    /// As one word, with the structure's identifier behind it: "plane", "left", "axis aorta".
    pub(crate) fn key(&self) -> String {
        match self {
            Self::Plane => "plane".to_owned(),
            Self::Mark => "mark".to_owned(),
            Self::Side(side) => side.word().to_owned(),
            Self::Axis(id) => format!("axis {id}"),
        }
    }

    /// Back from [`Self::key`].
    pub(crate) fn from_key(key: &str) -> Option<Self> {
        match key {
            "plane" => Some(Self::Plane),
            "mark" => Some(Self::Mark),
            _ => match key.strip_prefix("axis ") {
                Some(id) => Some(Self::Axis(id.to_owned())),
                None => ImageSide::ALL
                    .into_iter()
                    .find(|side| side.word() == key)
                    .map(Self::Side),
            },
        }
    }
}

/// A question on show.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Asked {
    pub(crate) ask: Ask,
    pub(crate) tryout: Tryout,
    /// How long its animation has run, ms.
    pub(crate) elapsed_ms: f64,
}

/// What is tried out beside the picture, without touching the probe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tryout {
    /// The notch is turned half way round.
    pub notch: bool,
    /// The mark is shown at the other side of the image.
    pub mark: bool,
}

/// How two pictures of one probe compare.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The same picture.
    Same,
    /// The same plane seen from its other side.
    Mirrored,
}

/// Directions closer than this count as equal: rounding of a turn by half a circle.
const SAME_DIRECTION: f64 = 1e-9;

impl Tryout {
    /// `state` with the notch turned and the mark swapped as wanted.
    #[must_use]
    pub fn applied(self, state: &State) -> State {
        let mut tried = state.clone();
        tried.pose_motion = None;
        tried.pose = *state.settled_pose();
        if self.notch {
            tried.pose = reversed(&tried.pose);
        }
        if self.mark {
            tried.setup.convention.mark = tried.setup.convention.mark.opposite();
        }
        tried
    }

    /// Whether the picture is the same or its mirror image, from the image planes.
    #[must_use]
    pub fn verdict(self, state: &State) -> Verdict {
        let before = Self::default().applied(state).plane();
        compare(&before, &self.applied(state).plane())
    }
}

fn compare(before: &ImagePlane, after: &ImagePlane) -> Verdict {
    if before.row().dot(after.row()) > 1.0 - SAME_DIRECTION {
        Verdict::Same
    } else {
        Verdict::Mirrored
    }
}

/// The pose with its notch turned half way round about the beam: the plane stays exactly where it is.
pub(crate) fn reversed(pose: &Pose) -> Pose {
    let axes = pose.axes();
    let (notch, beam) = ((-axes.lateral).to_vector(), axes.depth.to_vector());
    Pose::from_notch_and_beam(pose.contact(), pose.normal(), notch, beam)
        .map_or(*pose, |turned| turned.with_press(pose.press()))
}
