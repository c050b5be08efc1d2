//! Comparing a probe pose with a wanted one, part by part.

use crate::convention::{ApexSide, Convention};
use crate::frames::{Patient, Point};
use crate::plane::ImagePlane;
use crate::pose::Pose;
use crate::units::{Angle, Mm};

/// A contact point this close to the mid-line is on neither half of the body.
pub const MIDLINE_HALF_WIDTH: Mm = Mm::new(5.0);

/// A half of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BodyHalf {
    /// The patient's right.
    Right,
    /// Within [`MIDLINE_HALF_WIDTH`] of the mid-line.
    MidLine,
    /// The patient's left.
    Left,
}

impl BodyHalf {
    /// The half that `point` (patient frame, mm) lies in.
    #[must_use]
    pub fn of(point: Point<Patient>) -> Self {
        if point.x().abs() <= MIDLINE_HALF_WIDTH.get() {
            Self::MidLine
        } else if point.x() < 0.0 {
            Self::Right
        } else {
            Self::Left
        }
    }

    /// Whether one of the two is right and the other left.
    #[must_use]
    pub const fn opposes(self, other: Self) -> bool {
        matches!(
            (self, other),
            (Self::Right, Self::Left) | (Self::Left, Self::Right)
        )
    }
}

/// A pose as it is shown: with its picture's layout and depth setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// The probe's pose.
    pub pose: Pose,
    /// The picture's layout.
    pub convention: Convention,
    /// The displayed depth, mm from the footprint.
    pub depth: Mm,
}

impl Placement {
    /// The image plane.
    #[must_use]
    pub fn plane(&self) -> ImagePlane {
        ImagePlane::from_pose(&self.pose, self.convention)
    }
}

/// How a placement differs from the wanted one; each part is judged by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoseComparison {
    /// Angle between the two planes, 0° to 90°, whichever way they are seen.
    pub plane_angle: Angle,
    /// The planes agree (to the tolerance given) but image left and right are exchanged:
    /// `row · wanted row < 0`. Reported apart, never as a plain miss.
    pub reversed: bool,
    /// Distance of the wanted structure's aim point from the plane, mm.
    pub aim_distance: Mm,
    /// Whether the foot of the perpendicular from the aim point lies in the field of view.
    pub aim_in_field: bool,
    /// The half of the body the probe stands on.
    pub half: BodyHalf,
    /// The half it should stand on.
    pub wanted_half: BodyHalf,
    /// Depth of the aim point along the central beam, mm from the footprint.
    pub aim_depth: Mm,
    /// Whether that depth lies in the middle third of the displayed depth (ends included).
    pub aim_in_middle_third: bool,
}

impl PoseComparison {
    /// Compares `given` with `wanted`.
    ///
    /// `aim` is the wanted structure's aim point (patient frame, mm); `planes_agree` the largest
    /// plane angle at which the planes count as the same one; `in_field` tells whether an image
    /// point (x, y; mm, in the given plane) lies in the field of view.
    #[must_use]
    pub fn new(
        given: &Placement,
        wanted: &Placement,
        aim: Point<Patient>,
        planes_agree: Angle,
        in_field: impl Fn([f64; 2]) -> bool,
    ) -> Self {
        let (plane, wanted_plane) = (given.plane(), wanted.plane());
        let (normal, wanted_normal) = (plane.normal(), wanted_plane.normal());
        let plane_angle = Angle::atan2(
            normal.cross(wanted_normal).norm(),
            normal.dot(wanted_normal).abs(),
        );
        let [x, y, z] = plane.to_image(aim);
        let aim_depth = match given.convention.apex {
            ApexSide::Top => y,
            ApexSide::Bottom => -y,
        };
        let third = given.depth.get() / 3.0;
        Self {
            plane_angle,
            reversed: plane_angle <= planes_agree && plane.row().dot(wanted_plane.row()) < 0.0,
            aim_distance: Mm::new(z.abs()),
            aim_in_field: in_field([x, y]),
            half: BodyHalf::of(given.pose.contact()),
            wanted_half: BodyHalf::of(wanted.pose.contact()),
            aim_depth: Mm::new(aim_depth),
            aim_in_middle_third: (third..=2.0 * third).contains(&aim_depth),
        }
    }

    /// Whether the probe stands on the wrong half of the body: right for left or left for right.
    /// The mid-line agrees with both.
    #[must_use]
    pub const fn wrong_half(&self) -> bool {
        self.half.opposes(self.wanted_half)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::convention::MarkSide;
    use crate::frames::Direction;

    fn placement(x: f64, rotation: f64, tilt: f64, depth: f64) -> Placement {
        let pose = Pose::new(
            Point::new(x, -100.0, 0.0),
            -Direction::y_axis(),
            Angle::deg(rotation),
            Angle::deg(tilt),
            Angle::ZERO,
            Mm::ZERO,
        )
        .expect("a pose");
        Placement {
            pose,
            convention: Convention::GENERAL,
            depth: Mm::new(depth),
        }
    }

    fn compare(given: &Placement, wanted: &Placement) -> PoseComparison {
        // Aim point 60 mm straight behind the wanted contact; a field 40 mm to either side.
        let aim = wanted.pose.contact() + Direction::y_axis() * 60.0;
        PoseComparison::new(given, wanted, aim, Angle::deg(20.0), |[x, y]| {
            x.abs() <= 40.0 && (0.0..=150.0).contains(&y)
        })
    }

    #[test]
    fn the_wanted_pose_is_right_in_every_part() {
        let wanted = placement(20.0, 0.0, 0.0, 120.0);
        let result = compare(&wanted, &wanted);
        assert!(result.plane_angle.to_deg() < 1e-9, "same plane");
        assert!(
            !result.reversed && !result.wrong_half(),
            "same way round, same half"
        );
        assert!(result.aim_distance.get() < 1e-9, "on the plane");
        assert!(
            result.aim_in_field && result.aim_in_middle_third,
            "in view at half depth"
        );
    }

    #[test]
    fn each_part_is_judged_by_itself() {
        let wanted = placement(20.0, 0.0, 0.0, 120.0);
        let turned = compare(&placement(20.0, 180.0, 0.0, 120.0), &wanted);
        assert!(
            turned.reversed && turned.plane_angle.to_deg() < 1e-9,
            "reversed, not missed"
        );
        let across = compare(&placement(20.0, 90.0, 0.0, 120.0), &wanted);
        assert!((across.plane_angle.to_deg() - 90.0).abs() < 1e-9, "across");
        assert!(!across.reversed, "a different plane is not a reversed one");
        let other = compare(&placement(-20.0, 0.0, 0.0, 120.0), &wanted);
        assert!(other.wrong_half(), "right for left");
        assert!(
            (other.aim_distance.get() - 40.0).abs() < 1e-9,
            "40 mm beside the aim"
        );
        let midline = compare(&placement(0.0, 0.0, 0.0, 120.0), &wanted);
        assert!(
            !midline.wrong_half(),
            "the mid-line agrees with both halves"
        );
        let tilted = compare(&placement(20.0, 0.0, 30.0, 120.0), &wanted);
        assert!(
            (tilted.plane_angle.to_deg() - 30.0).abs() < 1e-9,
            "tilted by 30°"
        );
        assert!(
            (tilted.aim_distance.get() - 30.0).abs() < 1e-9,
            "60 mm × sin 30°"
        );
        for (depth, inside) in [(85.0, false), (95.0, true), (175.0, true), (185.0, false)] {
            let set = compare(&placement(20.0, 0.0, 0.0, depth), &wanted);
            assert_eq!(set.aim_in_middle_third, inside, "60 mm of {depth} mm");
        }
    }

    #[test]
    fn depth_is_measured_along_the_beam_with_the_apex_at_the_bottom() {
        let mut given = placement(20.0, 0.0, 0.0, 120.0);
        given.convention = Convention {
            mark: MarkSide::Left,
            apex: ApexSide::Bottom,
        };
        let result = compare(&given, &placement(20.0, 0.0, 0.0, 120.0));
        assert!((result.aim_depth.get() - 60.0).abs() < 1e-9, "60 mm deep");
    }
}
