//! The view as the fragment of an address, and back.

use course::link::{self, LinkPicture, LinkPose, LinkState};
use geometry::{Angle, Direction, Mm, Point, Pose};
use picture::Knob;

use crate::state::{Setup, Snapshot, State};
use crate::tuning::Tuning;

/// The fragment for the settled view, without `#`.
#[must_use]
pub fn fragment(state: &State) -> String {
    let scan = link::write(&link_of(state));
    match state.practise.link_words() {
        None => scan,
        Some(words) => format!("{scan}&{words}"),
    }
}

/// The settled view as a link's content.
#[must_use]
pub fn link_of(state: &State) -> LinkState {
    // While questions use the probe, the address holds the scan as it was left.
    let left = state.practise.before.as_deref();
    let tuning = state.setup.tuning;
    match left {
        // The picture is shown as it is now.
        Some(left) => link_of_snapshot(
            state,
            &Snapshot {
                setup: Setup {
                    tuning,
                    ..left.setup
                },
                ..left.clone()
            },
        ),
        None => link_of_snapshot(state, &state.snapshot()),
    }
}

/// A view of this body as a link's content.
pub(crate) fn link_of_snapshot(state: &State, view: &Snapshot) -> LinkState {
    let setup = &view.setup;
    LinkState {
        body: Some(state.body_id.clone()),
        window: view.window.clone(),
        pose: Some(link_of_pose(&view.pose)),
        transducer: Some(setup.transducer.id.to_owned()),
        depth_mm: Some(setup.depth.get()),
        mark: setup.convention.mark,
        apex: setup.convention.apex,
        tolerance_deg: setup.tolerance.to_deg(),
        position: setup.position,
        seat: setup.seat,
        picture: link_of_picture(state.grey_percent, &setup.tuning),
    }
}

fn link_of_picture(grey_percent: f64, tuning: &Tuning) -> LinkPicture {
    let sliders = [0, 1, 2, 3, 4, 5, 6, 7].map(|number| tuning.turned(Knob::Slider(number)));
    LinkPicture {
        grey_percent: (grey_percent > 0.0).then_some(grey_percent),
        gain_db: tuning.turned(Knob::Gain),
        range_db: tuning.turned(Knob::DynamicRange),
        frequency_mhz: tuning.turned(Knob::Frequency),
        focus_mm: tuning.turned(Knob::Focus),
        compensation_db: tuning.turned(Knob::Compensation),
        time_gain_db: sliders
            .iter()
            .any(Option::is_some)
            .then(|| sliders.map(|value| value.unwrap_or(0.0))),
    }
}

/// The knobs a link says; values are brought into range where they are used.
pub(crate) fn tuning_of_link(link: &LinkPicture) -> Tuning {
    let mut tuning = Tuning::default();
    for (knob, value) in [
        (Knob::Gain, link.gain_db),
        (Knob::DynamicRange, link.range_db),
        (Knob::Frequency, link.frequency_mhz),
        (Knob::Focus, link.focus_mm),
        (Knob::Compensation, link.compensation_db),
    ] {
        tuning.put(knob, value);
    }
    for (number, value) in link.time_gain_db.iter().flatten().enumerate() {
        // A slider at nought is one that was not turned.
        tuning.put(Knob::Slider(number), (value.abs() > 0.0).then_some(*value));
    }
    tuning
}

pub(crate) fn link_of_pose(pose: &Pose) -> LinkPose {
    let [x, y, z] = pose.normal().to_array();
    LinkPose {
        contact_mm: pose.contact().to_array(),
        out_azimuth_deg: Angle::atan2(y, x).to_deg(),
        out_elevation_deg: Angle::atan2(z, (x * x + y * y).sqrt()).to_deg(),
        rotation_deg: pose.rotation().to_deg(),
        tilt_deg: pose.tilt().to_deg(),
        rock_deg: pose.rock().to_deg(),
        press_mm: pose.press().get(),
    }
}

/// The pose a link carries, or `None` for one that cannot be (its ranges are checked when it is read).
pub(crate) fn pose_of_link(link: &LinkPose) -> Option<Pose> {
    let (azimuth, elevation) = (
        Angle::deg(link.out_azimuth_deg),
        Angle::deg(link.out_elevation_deg),
    );
    let level = elevation.cos();
    let normal = Direction::from_array([
        level * azimuth.cos(),
        level * azimuth.sin(),
        elevation.sin(),
    ])?;
    Pose::new(
        Point::from_array(link.contact_mm),
        normal,
        Angle::deg(link.rotation_deg),
        Angle::deg(link.tilt_deg),
        Angle::deg(link.rock_deg),
        Mm::new(link.press_mm),
    )
    .ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// What the address bar says is what a reload shows, to the last digit.
        #[test]
        fn a_reloaded_pose_has_the_same_address(
            contact in prop::array::uniform3(-900.0..900.0),
            normal in prop::array::uniform3(-1.0..1.0),
            angles in (0.0..360.0, -89.0..89.0, -89.0..89.0),
            press in 0.0..25.0,
        ) {
            let normal = Direction::from_array(normal);
            prop_assume!(normal.is_some());
            let pose = Pose::new(
                Point::from_array(contact), normal.unwrap(),
                Angle::deg(angles.0), Angle::deg(angles.1), Angle::deg(angles.2), Mm::new(press),
            ).unwrap();
            let text = |pose: &Pose| link::write(&LinkState {
                pose: Some(link_of_pose(pose)), ..LinkState::default()
            });
            let read = link::read(&text(&pose)).unwrap();
            let again = pose_of_link(&read.pose.unwrap());
            prop_assert!(again.is_some(), "{}", text(&pose));
            prop_assert_eq!(text(&again.unwrap()), text(&pose));
        }
    }
}
