//! Pose, plane and names agree with each other everywhere.
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

use geometry::{
    Angle, ApexSide, Convention, DEFAULT_TOLERANCE, Direction, FILE_THRESHOLD, ImagePlane,
    MarkSide, Mm, Patient, Point, Pose, Sides, Vector, clock_face, name_plane,
};
use proptest::prelude::*;

/// Rounding of directions after a handful of products of unit numbers.
const UNIT_ROUNDING: f64 = 1e-12;

/// Rounding of an angle read back, degrees; near a tilt of ±90° rotation and rock lose digits as
/// 1 / cos τ, and the strategy below stays 0.1° away.
const READ_BACK: f64 = 1e-9;

fn unit() -> impl Strategy<Value = Direction<Patient>> {
    [-1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64]
        .prop_filter("long enough", |v| {
            v.iter().map(|c| c * c).sum::<f64>() > 0.01
        })
        .prop_filter_map("a direction", Direction::from_array)
}

/// Normals anywhere, with the poles and the clock's limit made likely.
fn normal() -> impl Strategy<Value = Direction<Patient>> {
    let limit = (0.0..360.0_f64, any::<bool>()).prop_filter_map("a direction", |(turn, up)| {
        let (polar, turn) = (Angle::deg(30.0), Angle::deg(turn));
        let z = if up { polar.cos() } else { -polar.cos() };
        Direction::from_array([polar.sin() * turn.cos(), polar.sin() * turn.sin(), z])
    });
    prop_oneof![
        6 => unit(),
        1 => Just(Direction::z_axis()),
        1 => Just(-Direction::z_axis()),
        1 => Just(-Direction::y_axis()),
        1 => limit,
    ]
}

fn convention() -> impl Strategy<Value = Convention> {
    (any::<bool>(), any::<bool>()).prop_map(|(mark, apex)| Convention {
        mark: if mark {
            MarkSide::Left
        } else {
            MarkSide::Right
        },
        apex: if apex {
            ApexSide::Top
        } else {
            ApexSide::Bottom
        },
    })
}

fn pose() -> impl Strategy<Value = Pose> {
    let place = [-300.0..300.0_f64, -300.0..300.0_f64, -900.0..900.0_f64];
    (
        place,
        normal(),
        0.0..360.0_f64,
        -89.9..89.9_f64,
        -179.9..179.9_f64,
        0.0..20.0_f64,
    )
        .prop_map(|(place, normal, rotation, tilt, rock, press)| {
            Pose::new(
                Point::from_array(place),
                normal,
                Angle::deg(rotation),
                Angle::deg(tilt),
                Angle::deg(rock),
                Mm::new(press),
            )
            .expect("all in range")
        })
}

fn apart(a: Direction<Patient>, b: Direction<Patient>) -> f64 {
    (a.to_vector() - b.to_vector()).norm()
}

fn angle_apart(a: Angle, b: Angle) -> f64 {
    (a - b).wrapped_180().to_deg().abs()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn pose_to_plane_to_pose(pose in pose(), convention in convention()) {
        let plane = ImagePlane::from_pose(&pose, convention);
        let (notch, beam) = plane.notch_and_beam(convention);
        let back = Pose::from_notch_and_beam(
            pose.contact(), pose.normal(), notch.to_vector(), beam.to_vector(),
        ).expect("a pose's own notch and beam");
        prop_assert!(angle_apart(back.rotation(), pose.rotation()) < READ_BACK, "rotation {back:?}");
        prop_assert!(angle_apart(back.tilt(), pose.tilt()) < READ_BACK, "tilt {back:?}");
        prop_assert!(angle_apart(back.rock(), pose.rock()) < READ_BACK, "rock {back:?}");
        let again = ImagePlane::from_pose(&back.with_press(pose.press()), convention);
        prop_assert!(apart(again.row(), plane.row()) < UNIT_ROUNDING, "row");
        prop_assert!(apart(again.column(), plane.column()) < UNIT_ROUNDING, "column");
        prop_assert!((again.origin() - plane.origin()).norm() < 1e-9, "origin");
    }

    #[test]
    fn every_rotation_can_be_stated_as_a_pose(normal in normal(), notch in unit(), beam in unit()) {
        prop_assume!(notch.cross(beam).norm() > 1e-3);
        let pose = Pose::from_notch_and_beam(
            Point::ORIGIN, normal, notch.to_vector(), beam.to_vector() * 70.0,
        ).expect("not along the beam");
        let axes = pose.axes();
        prop_assert!(apart(axes.depth, beam) < UNIT_ROUNDING, "the beam wins");
        let wanted = notch.perpendicular_to(beam).expect("not along the beam");
        // The part of a notch nearly along the beam loses digits as 1 / sine of the angle between.
        prop_assert!(apart(axes.lateral, wanted) < UNIT_ROUNDING * 1e3, "the notch across the beam");
    }

    #[test]
    fn axes_are_orthonormal_and_right_handed(pose in pose(), convention in convention()) {
        let axes = pose.axes();
        let elevation = axes.depth.cross(axes.lateral);
        prop_assert!((elevation - axes.elevation.to_vector()).norm() < UNIT_ROUNDING, "e = d × l");
        prop_assert!(axes.depth.dot(axes.lateral).abs() < UNIT_ROUNDING, "perpendicular");
        let plane = ImagePlane::from_pose(&pose, convention);
        let normal = plane.row().cross(plane.column());
        prop_assert!((normal - plane.normal().to_vector()).norm() < UNIT_ROUNDING, "n = r × c");
    }

    #[test]
    fn rock_never_changes_the_plane(pose in pose(), rock in -180.0..180.0_f64) {
        let rocked = pose.with_rock(Angle::deg(rock));
        let (one, other) = (
            ImagePlane::from_pose(&pose, Convention::GENERAL),
            ImagePlane::from_pose(&rocked, Convention::GENERAL),
        );
        prop_assert_eq!(one.normal(), other.normal());
        prop_assert_eq!(one.origin(), other.origin());
        prop_assert_eq!(
            name_plane(one.normal(), DEFAULT_TOLERANCE),
            name_plane(other.normal(), DEFAULT_TOLERANCE)
        );
    }

    #[test]
    fn tilt_keeps_the_footprint_line_and_rotation_the_beam(
        pose in pose(), other in -89.0..89.0_f64,
    ) {
        let level = pose.with_rock(Angle::ZERO);
        let tilted = level.with_tilt(Angle::deg(other));
        prop_assert!(apart(level.axes().lateral, tilted.axes().lateral) < UNIT_ROUNDING, "tilt");
        let upright = level.with_tilt(Angle::ZERO);
        let turned = upright.with_rotation(Angle::deg(other * 4.0));
        prop_assert!(apart(upright.axes().depth, turned.axes().depth) < UNIT_ROUNDING, "rotate");
        prop_assert!(apart(upright.axes().depth, -pose.normal()) < UNIT_ROUNDING, "beam along −n");
    }

    #[test]
    fn moving_the_mark_swaps_exactly_left_and_right(pose in pose(), convention in convention()) {
        let other = Convention { mark: convention.mark.opposite(), ..convention };
        let one = Sides::of(&ImagePlane::from_pose(&pose, convention));
        let two = Sides::of(&ImagePlane::from_pose(&pose, other));
        prop_assert_eq!(one.left, two.right);
        prop_assert_eq!(one.right, two.left);
        prop_assert_eq!(one.top, two.top);
        prop_assert_eq!(one.bottom, two.bottom);
    }

    #[test]
    fn mark_and_notch_turned_together_change_nothing(
        notch in unit(), beam in unit(), convention in convention(),
    ) {
        prop_assume!(notch.cross(beam).norm() > 1e-3);
        let other = Convention { mark: convention.mark.opposite(), ..convention };
        let plane = |notch: Vector<Patient>, convention| {
            ImagePlane::from_notch_and_beam(Point::ORIGIN, notch, beam.to_vector(), convention)
                .expect("not along the beam")
        };
        let one = plane(notch.to_vector(), convention);
        let two = plane(-notch.to_vector(), other);
        prop_assert_eq!(one, two);
    }

    #[test]
    fn opposite_sides_have_opposite_names(pose in pose(), convention in convention()) {
        let sides = Sides::of(&ImagePlane::from_pose(&pose, convention));
        for (one, other) in [(sides.left, sides.right), (sides.top, sides.bottom)] {
            let opposite: String =
                one.parts(FILE_THRESHOLD).map(|(side, _)| side.opposite().letter()).collect();
            prop_assert_eq!(opposite, other.letters(FILE_THRESHOLD));
        }
    }

    #[test]
    fn sliding_carries_the_notch(pose in pose(), to in normal()) {
        prop_assume!(pose.normal().dot(to) > -0.99);
        let slid = pose.slid_to(Point::ORIGIN, to);
        // Parallel transport keeps the notch's angle to the line of travel.
        let axis = pose.normal().cross(to);
        let before = pose.notch_on_skin().to_vector().dot(axis);
        let after = slid.notch_on_skin().to_vector().dot(axis);
        prop_assert!((before - after).abs() < 1e-9, "{before} became {after}");
        prop_assert!(slid.notch_on_skin().dot(to).abs() < UNIT_ROUNDING * 10.0, "tangent");
        prop_assert_eq!((slid.tilt(), slid.rock(), slid.press()), (pose.tilt(), pose.rock(), pose.press()));
    }

    #[test]
    fn a_short_slide_never_jumps(pose in pose(), step in unit()) {
        // Across the limit where twelve o'clock changes its meaning too.
        let near = pose.normal().to_vector() + step.to_vector() * 1e-6;
        let near = near.direction().expect("almost the normal");
        let slid = pose.slid_to(pose.contact(), near);
        prop_assert!(apart(slid.axes().lateral, pose.axes().lateral) < 1e-5, "notch");
        prop_assert!(apart(slid.axes().depth, pose.axes().depth) < 1e-5, "beam");
    }

    #[test]
    fn the_clock_face_is_a_right_angle_on_the_skin(normal in normal()) {
        let (twelve, three) = clock_face(normal);
        prop_assert!(twelve.dot(normal).abs() < UNIT_ROUNDING, "twelve is tangent");
        prop_assert!(three.dot(normal).abs() < UNIT_ROUNDING, "three is tangent");
        // Seen from outside, twelve to three is clockwise: right-handed about the inward normal.
        let inward = twelve.cross(three);
        prop_assert!((inward + normal.to_vector()).norm() < UNIT_ROUNDING, "clockwise");
    }

    #[test]
    fn two_angles_from_the_planes_fix_the_third(normal in unit()) {
        // The squares of the three cosines sum to one.
        let angles = name_plane(normal, DEFAULT_TOLERANCE).angles;
        let sum: f64 = [angles.sagittal, angles.coronal, angles.transverse]
            .iter()
            .map(|angle| angle.cos() * angle.cos())
            .sum();
        prop_assert!((sum - 1.0).abs() < UNIT_ROUNDING, "{sum}");
    }
}
