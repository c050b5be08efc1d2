//! How the body lies in the room.

use crate::frames::{Direction, Frame, Patient, Point, Posed, Room};
use crate::transform::Transform;

/// A body position: one rotation from the patient frame to the room frame.
///
/// # The room frame
///
/// Right-handed, millimetres, +z up against gravity.
/// A lying body has its head toward room −x, so +x runs toward the foot of the bed.
/// +y is then the patient's left for a supine body, and the examiner of common practice, seated at
/// the patient's right, is on the −y side.
/// A seated body faces the foot of the bed, +x.
/// The origin is the patient frame's own; furniture is placed around it.
///
/// Only drawing uses this: plane and side names live in the patient frame and never change with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BodyPosition {
    /// Lying on the back.
    Supine,
    /// Lying on the front.
    Prone,
    /// Lying on the patient's left side (left lateral decubitus), facing room +y.
    LeftSideDown,
    /// Lying on the patient's right side (right lateral decubitus), facing room −y.
    RightSideDown,
    /// Sitting upright.
    Seated,
    /// Lying on the back with hips and knees bent; the trunk lies as in [`BodyPosition::Supine`].
    Lithotomy,
}

impl BodyPosition {
    /// All positions, in the order screens list them.
    pub const ALL: [Self; 6] = [
        Self::Supine,
        Self::Prone,
        Self::LeftSideDown,
        Self::RightSideDown,
        Self::Seated,
        Self::Lithotomy,
    ];

    /// DICOM Patient Position (0018,5100) for a body that lies head first (PS3.3 C.7.3.1.1.2);
    /// `None` for the seated body, which that attribute has no code for.
    #[must_use]
    pub const fn dicom_code(self) -> Option<&'static str> {
        match self {
            Self::Supine | Self::Lithotomy => Some("HFS"),
            Self::Prone => Some("HFP"),
            Self::LeftSideDown => Some("HFDL"),
            Self::RightSideDown => Some("HFDR"),
            Self::Seated => None,
        }
    }

    /// A stable lower-case key for files and links.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Supine => "supine",
            Self::Prone => "prone",
            Self::LeftSideDown => "left_side_down",
            Self::RightSideDown => "right_side_down",
            Self::Seated => "seated",
            Self::Lithotomy => "lithotomy",
        }
    }

    /// The position with this [`BodyPosition::key`].
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|position| position.key() == key)
    }

    /// The rotation that lays the body down (or seats it).
    ///
    /// ```
    /// use geometry::{BodyPosition, Direction};
    /// let room_from_patient = BodyPosition::Supine.room_from_patient();
    /// // Lying on the back, the front looks up.
    /// assert_eq!(room_from_patient.apply_direction(-Direction::y_axis()), Direction::z_axis());
    /// ```
    #[must_use]
    pub fn room_from_patient(self) -> Transform<Patient, Room> {
        self.room_from()
    }

    /// The same rotation for the body as it is shown, its arms and legs bent.
    #[must_use]
    pub fn room_from_posed(self) -> Transform<Posed, Room> {
        self.room_from()
    }

    fn room_from<From: Frame>(self) -> Transform<From, Room> {
        let (x, y, z) = (
            Direction::x_axis(),
            Direction::y_axis(),
            Direction::z_axis(),
        );
        // Where the patient's left, back and head point in the room.
        let (left, back, head) = match self {
            Self::Supine | Self::Lithotomy => (y, -z, -x),
            Self::Prone => (-y, z, -x),
            Self::LeftSideDown => (-z, -y, -x),
            Self::RightSideDown => (z, y, -x),
            Self::Seated => (y, -x, z),
        };
        Transform::from_axes(Point::ORIGIN, left, back, head)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sides::PatientSide;

    /// Gravity's direction per position: PS3.3 C.7.3.1.1.2 by definition of the codes.
    #[test]
    fn gravity_points_to_the_lower_side() {
        for (position, lowest) in [
            (BodyPosition::Supine, PatientSide::Posterior),
            (BodyPosition::Prone, PatientSide::Anterior),
            (BodyPosition::LeftSideDown, PatientSide::Left),
            (BodyPosition::RightSideDown, PatientSide::Right),
            (BodyPosition::Seated, PatientSide::Foot),
            (BodyPosition::Lithotomy, PatientSide::Posterior),
        ] {
            let room_from_patient = position.room_from_patient();
            let down = room_from_patient
                .inverse()
                .apply_direction(-Direction::z_axis());
            assert_eq!(down, lowest.direction(), "{position:?}");
        }
    }

    #[test]
    fn no_position_mirrors_the_body() {
        for position in BodyPosition::ALL {
            let room_from_patient = position.room_from_patient();
            let [left, back, head] = [
                Direction::x_axis(),
                Direction::y_axis(),
                Direction::z_axis(),
            ]
            .map(|axis| room_from_patient.apply_direction(axis));
            assert_eq!(left.cross(back), head.to_vector(), "{position:?}");
            assert_eq!(BodyPosition::from_key(position.key()), Some(position));
        }
    }
}
