//! "Predict, then see": before the notch is turned, the learner says where a side of the patient will be.

use geometry::{Convention, ImageSide, PatientSide, Pose, Sides};

use crate::action::Way;
use crate::state::State;
use crate::why::reversed;

/// A turn of the notch that waits for a prediction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// Half way round.
    Reverse,
    /// A quarter.
    Quarter(Way),
}

/// Where in the picture a side of the patient is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whereabouts {
    /// At a side of the picture.
    At(ImageSide),
    /// At none: the picture is looked through from there, or looked at from there.
    Nowhere,
}

impl Whereabouts {
    /// All answers.
    pub const ALL: [Self; 5] = [
        Self::At(ImageSide::Left),
        Self::At(ImageSide::Right),
        Self::At(ImageSide::Top),
        Self::At(ImageSide::Bottom),
        Self::Nowhere,
    ];
}

/// The question on show, or its answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Prediction {
    pub(crate) turn: Turn,
    /// The side that is asked about: what image left shows before the turn.
    pub(crate) about: PatientSide,
    /// Where it will be.
    pub(crate) right: Whereabouts,
    /// What was said, once something was.
    pub(crate) said: Option<Whereabouts>,
    /// The view that question or answer is about: it goes when another is on show.
    pub(crate) about_view: (Pose, Convention),
}

/// The view as a prediction knows it.
pub(crate) fn view_of(state: &State) -> (Pose, Convention) {
    (*state.settled_pose(), state.convention())
}

/// The question about a turn of this state's notch.
pub(crate) fn question(state: &State, turn: Turn) -> Prediction {
    let about = Sides::of(&state.plane()).get(ImageSide::Left).dominant();
    let mut turned = state.clone();
    turned.pose_motion = None;
    turned.pose = turned_pose(state, turn);
    Prediction {
        turn,
        about,
        right: whereabouts(&turned, about),
        said: None,
        about_view: view_of(state),
    }
}

/// Where a side of the patient is: at the side of the picture that has it as its first name.
pub(crate) fn whereabouts(state: &State, about: PatientSide) -> Whereabouts {
    let names = Sides::of(&state.plane());
    ImageSide::ALL
        .into_iter()
        .find(|side| names.get(*side).dominant() == about)
        .map_or(Whereabouts::Nowhere, Whereabouts::At)
}

fn turned_pose(state: &State, turn: Turn) -> Pose {
    let pose = state.settled_pose();
    let axes = pose.axes();
    let notch = match turn {
        Turn::Reverse => return reversed(pose),
        Turn::Quarter(Way::Forward) => axes.elevation,
        Turn::Quarter(Way::Back) => -axes.elevation,
    };
    let beam = axes.depth.to_vector();
    Pose::from_notch_and_beam(pose.contact(), pose.normal(), notch.to_vector(), beam)
        .map_or(*pose, |turned| turned.with_press(pose.press()))
}
