//! The view as the fragment of an address, and back.

use course::link::{self, LinkPose, LinkState};
use geometry::{Angle, Direction, Mm, Point, Pose};

use crate::state::State;

/// The fragment for the settled view, without `#`.
#[must_use]
pub fn fragment(state: &State) -> String {
    link::write(&link_of(state))
}

/// The settled view as a link's content.
#[must_use]
pub fn link_of(state: &State) -> LinkState {
    LinkState {
        body: Some(state.body_id.clone()),
        window: state.window.clone(),
        pose: Some(link_of_pose(state.settled_pose())),
        transducer: Some(state.setup.transducer.id.to_owned()),
        depth_mm: Some(state.setup.depth.get()),
        mark: state.setup.convention.mark,
        apex: state.setup.convention.apex,
        tolerance_deg: state.setup.tolerance.to_deg(),
        position: state.setup.position,
        seat: state.setup.seat,
    }
}

fn link_of_pose(pose: &Pose) -> LinkPose {
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
