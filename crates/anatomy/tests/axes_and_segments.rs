//! Long axes, centre lines and segments.

#![expect(
    clippy::expect_used,
    reason = "helpers of tests fail like the tests they serve"
)]

use anatomy::catalogue::SegmentPlace;
use anatomy::segment::segment_at;
use anatomy::{AxisView, CentreLine, LongAxis, Segment, axis_view};
use geometry::{Angle, Convention, Direction, ImagePlane, Patient, Point, Vector};
use proptest::prelude::*;

fn point(at: [f64; 3]) -> Point<Patient> {
    Point::from_array(at)
}

fn direction(v: [f64; 3]) -> Direction<Patient> {
    Direction::from_array(v).expect("a direction")
}

fn check_view(axis_to_plane_deg: f64, wanted: AxisView) {
    let angle = Angle::deg(axis_to_plane_deg);
    let axis = direction([angle.cos(), 0.0, angle.sin()]);
    for axis in [axis, -axis] {
        for normal in [Direction::z_axis(), -Direction::z_axis()] {
            let (view, got) = axis_view(axis, normal);
            assert_eq!(view, wanted, "{axis_to_plane_deg}°");
            assert!(
                (got.to_deg() - axis_to_plane_deg).abs() < 1e-9,
                "{got:?} for {axis_to_plane_deg}°"
            );
        }
    }
}

#[test]
fn long_short_and_oblique() {
    for (degrees, view) in [
        (0.0, AxisView::Long),
        (19.99, AxisView::Long),
        (20.01, AxisView::Oblique),
        (45.0, AxisView::Oblique),
        (69.99, AxisView::Oblique),
        (70.01, AxisView::Short),
        (90.0, AxisView::Short),
    ] {
        check_view(degrees, view);
    }
}

fn elbow() -> CentreLine {
    CentreLine::new(
        [
            [0.0, 0.0, 0.0],
            [30.0, 0.0, 0.0],
            [30.0, 0.0, 0.0],
            [30.0, 10.0, 0.0],
        ]
        .map(point),
    )
    .expect("a line")
}

#[test]
fn centre_lines_drop_repeats_and_refuse_points() {
    assert_eq!(elbow().points().len(), 3);
    assert!((elbow().length() - 40.0).abs() < 1e-12, "30 + 10");
    assert!(
        CentreLine::new([[1.0; 3], [1.0; 3]].map(point)).is_none(),
        "a point is no line"
    );
    assert!(CentreLine::new([]).is_none(), "nothing is no line");
}

#[test]
fn the_nearest_point_of_a_centre_line() {
    for (at, fraction, tangent, distance) in [
        ([-5.0, 0.0, 0.0], 0.0, [1.0, 0.0, 0.0], 5.0),
        ([0.0, 0.0, 2.0], 0.0, [1.0, 0.0, 0.0], 2.0),
        ([10.0, -3.0, 0.0], 0.25, [0.805_1, 0.163, 0.0], 3.0),
        ([30.0, 0.0, 4.0], 0.75, [1.0, 1.0, 0.0], 4.0),
        ([30.0, 99.0, 0.0], 1.0, [0.0, 1.0, 0.0], 89.0),
    ] {
        let foot = elbow().nearest(point(at));
        assert!((foot.fraction - fraction).abs() < 1e-12, "{at:?}: {foot:?}");
        assert!((foot.distance - distance).abs() < 1e-12, "{at:?}: {foot:?}");
        if (fraction - 0.25_f64).abs() > 1e-12 {
            assert!(
                foot.tangent.dot(direction(tangent)) > 1.0 - 1e-9,
                "{at:?}: {foot:?}"
            );
        } else {
            // A third of the way from the straight start to the corner's mean direction.
            assert!(
                foot.tangent.x() > foot.tangent.y() && foot.tangent.y() > 0.0,
                "{at:?}: {foot:?}"
            );
        }
    }
}

/// A hairpin vessel crosses the plane x = 20 twice, going and coming back; the asked-for side decides.
#[test]
fn the_axis_is_taken_where_the_plane_meets_it() {
    let line = CentreLine::new(
        [
            [0.0, 0.0, 0.0],
            [40.0, 0.0, 0.0],
            [50.0, 10.0, 0.0],
            [40.0, 20.0, 10.0],
            [0.0, 20.0, 50.0],
        ]
        .map(point),
    )
    .expect("a line");
    let plane = ImagePlane::from_notch_and_beam(
        point([20.0, 0.0, 0.0]),
        Vector::new(0.0, 0.0, 1.0),
        Vector::new(0.0, 1.0, 0.0),
        Convention::GENERAL,
    )
    .expect("a plane");
    let going = line
        .crossing(&plane, point([20.0, 0.0, 0.0]))
        .expect("a crossing");
    let coming = line
        .crossing(&plane, point([20.0, 20.0, 30.0]))
        .expect("a crossing");
    assert!(going.x() > 0.9 && coming.x() < -0.5, "{going:?} {coming:?}");
    let beside = plane.with_origin(point([-5.0, 0.0, 0.0]));
    assert!(
        line.crossing(&beside, point([0.0; 3])).is_none(),
        "no crossing beside the line"
    );
}

fn segment(id: &str, place: SegmentPlace) -> Segment {
    Segment {
        id: id.to_owned(),
        label: id.to_owned(),
        place,
    }
}

fn check_segment(
    segments: &[Segment],
    axis: Option<LongAxis>,
    line: Option<&CentreLine>,
    at: [f64; 3],
    wanted: Option<&str>,
) {
    let got =
        segment_at(segments, axis.as_ref(), line, point(at)).map(|segment| segment.id.as_str());
    assert_eq!(got, wanted, "at {at:?}");
}

/// Liver and aorta of the common trunk, where the description's segments overlap.
#[test]
fn the_more_particular_segment_wins() {
    let (at, n) = ([-28.0, -40.0, 150.0], [0.75, -0.66, 0.0]);
    let liver = [
        segment("right", SegmentPlace::Halfspace { at, n }),
        segment(
            "left",
            SegmentPlace::Halfspace {
                at,
                n: [-0.75, 0.66, 0.0],
            },
        ),
        segment(
            "caudate",
            SegmentPlace::Ellipsoid {
                c: [-8.0, -34.0, 164.0],
                r: [17.0, 16.0, 27.0],
            },
        ),
    ];
    check_segment(&liver, None, None, [-90.0, 0.0, 120.0], Some("right"));
    check_segment(&liver, None, None, [10.0, -60.0, 150.0], Some("left"));
    check_segment(&liver, None, None, [-8.0, -34.0, 164.0], Some("caudate"));
    check_segment(&liver, None, None, [-8.0, -34.0, 192.0], Some("left"));

    let arch = CentreLine::new(
        [
            [0.0, -20.0, 250.0],
            [0.0, -20.0, 300.0],
            [0.0, 20.0, 310.0],
            [0.0, 20.0, 0.0],
        ]
        .map(point),
    )
    .expect("a line");
    let aorta = [
        segment(
            "ascending",
            SegmentPlace::Arc {
                from: 0.0,
                to: 0.12,
            },
        ),
        segment(
            "arch",
            SegmentPlace::Arc {
                from: 0.12,
                to: 0.22,
            },
        ),
        segment(
            "descending",
            SegmentPlace::Z {
                from: 300.0,
                to: 133.0,
            },
        ),
        segment(
            "abdominal",
            SegmentPlace::Z {
                from: 133.0,
                to: -8.0,
            },
        ),
    ];
    check_segment(
        &aorta,
        None,
        Some(&arch),
        [0.0, -20.0, 280.0],
        Some("ascending"),
    );
    check_segment(&aorta, None, Some(&arch), [0.0, 0.0, 305.0], Some("arch"));
    check_segment(
        &aorta,
        None,
        Some(&arch),
        [0.0, 22.0, 200.0],
        Some("descending"),
    );
    check_segment(
        &aorta,
        None,
        Some(&arch),
        [0.0, 22.0, 50.0],
        Some("abdominal"),
    );
    check_segment(&aorta, None, Some(&arch), [0.0, 22.0, -20.0], None);
    check_segment(&aorta, None, None, [0.0, -20.0, 280.0], Some("descending"));
}

#[test]
fn poles_take_the_rounded_ends() {
    let kidney = [
        segment(
            "upper",
            SegmentPlace::Axis {
                from: 0.0,
                to: 0.33,
            },
        ),
        segment(
            "mid",
            SegmentPlace::Axis {
                from: 0.33,
                to: 0.67,
            },
        ),
        segment(
            "lower",
            SegmentPlace::Axis {
                from: 0.67,
                to: 1.0,
            },
        ),
    ];
    let axis = Some(LongAxis::Line {
        a: point([46.0, 39.0, 127.0]),
        b: point([68.0, 17.0, 24.0]),
    });
    check_segment(&kidney, axis, None, [40.0, 45.0, 140.0], Some("upper"));
    check_segment(&kidney, axis, None, [57.0, 28.0, 75.0], Some("mid"));
    check_segment(&kidney, axis, None, [68.0, 17.0, 24.0], Some("lower"));
    check_segment(&kidney, axis, None, [70.0, 15.0, 10.0], Some("lower"));
    check_segment(&kidney, None, None, [57.0, 28.0, 75.0], None);
}

fn any_place() -> impl Strategy<Value = SegmentPlace> {
    let triple = || prop::array::uniform3(-50.0..50.0_f64);
    prop_oneof![
        (triple(), triple()).prop_map(|(at, n)| SegmentPlace::Halfspace { at, n }),
        (triple(), prop::array::uniform3(1.0..60.0_f64))
            .prop_map(|(c, r)| SegmentPlace::Ellipsoid { c, r }),
        (triple(), prop::array::uniform3(1.0..60.0_f64)).prop_map(|(lo, size)| SegmentPlace::Box {
            lo,
            hi: [0, 1, 2].map(|k| lo[k] + size[k])
        }),
        (-50.0..50.0_f64, -50.0..50.0_f64).prop_map(|(from, to)| SegmentPlace::Z { from, to }),
        (0.0..0.5_f64, 0.5..1.0_f64).prop_map(|(from, to)| SegmentPlace::Arc { from, to }),
        (0.0..0.5_f64, 0.5..1.0_f64).prop_map(|(from, to)| SegmentPlace::Axis { from, to }),
    ]
}

proptest! {
    /// What a segment of the left organ says at p, its mirror image says at the mirrored p.
    #[test]
    fn mirrored_segments_mirror(place in any_place(), at in prop::array::uniform3(-50.0..50.0_f64)) {
        let flip = |p: [f64; 3]| [-p[0], p[1], p[2]];
        let ends = [[5.0, 3.0, 40.0], [20.0, -10.0, 0.0], [25.0, 0.0, -45.0]];
        let side = |ends: [[f64; 3]; 3], place: SegmentPlace, at: [f64; 3]| {
            let line = CentreLine::new(ends.map(point));
            let axis = LongAxis::Line { a: point(ends[0]), b: point(ends[2]) };
            segment_at(&[segment("it", place)], Some(&axis), line.as_ref(), point(at)).is_some()
        };
        prop_assert_eq!(side(ends, place.clone(), at), side(ends.map(flip), place.mirrored(), flip(at)));
        prop_assert_eq!(place.mirrored().mirrored(), place);
    }

    /// No sampled point of the line is nearer than the foot, and the foot lies on the line.
    #[test]
    fn the_foot_is_the_nearest_point(
        points in prop::collection::vec(prop::array::uniform3(-50.0..50.0_f64), 2..7),
        at in prop::array::uniform3(-80.0..80.0_f64),
    ) {
        let line = CentreLine::new(points.iter().copied().map(point)).expect("a line");
        let foot = line.nearest(point(at));
        prop_assert!((0.0..=1.0).contains(&foot.fraction), "{}", foot.fraction);
        let mut nearest = f64::MAX;
        for pair in points.windows(2) {
            for i in 0..=200 {
                let p = point(pair[0]) + (point(pair[1]) - point(pair[0])) * (f64::from(i) / 200.0);
                nearest = nearest.min((p - point(at)).norm());
            }
        }
        prop_assert!(foot.distance <= nearest + 1e-9, "{} against {}", foot.distance, nearest);
        prop_assert!(foot.distance >= nearest - 1.0, "{} against {}", foot.distance, nearest);
    }
}
