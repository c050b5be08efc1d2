//! Names of places on the skin.
//!
//! Points, normals and landmarks are those of the woman's description; which words a place gets is common practice
//! (regional anatomy), no source.

#![expect(
    clippy::expect_used,
    reason = "helpers of tests fail like the tests they serve"
)]

use std::collections::BTreeMap;

use anatomy::region::{Area, Midline, RegionMap};
use anatomy::{BodySide, CentreLine, Structure, StructureId, System, TissueId};
use geometry::{Direction, Point};
use proptest::prelude::*;

fn landmarks() -> BTreeMap<String, [f64; 3]> {
    [
        ("L5", [0.0, 2.0, -36.0]),
        ("L4", [0.0, 0.0, 0.0]),
        ("L3", [0.0, 1.0, 35.0]),
        ("L1", [0.0, 8.0, 103.0]),
        ("T12", [0.0, 13.0, 133.0]),
        ("C7", [0.0, 14.0, 403.0]),
        ("C4", [0.0, -2.0, 456.0]),
        ("jugular_notch", [0.0, -48.0, 340.0]),
        ("sternal_angle", [0.0, -80.0, 298.0]),
        ("xiphisternal_joint", [0.0, -104.0, 206.0]),
        ("xiphoid_tip", [0.0, -104.0, 180.0]),
        ("iliac_crest_top", [122.0, 0.0, 2.0]),
        ("asis", [112.0, -66.0, -58.0]),
        ("pubic_symphysis_top", [0.0, -74.0, -132.0]),
        ("hip_centre", [88.0, -10.0, -140.0]),
        ("knee_joint", [79.0, 4.0, -545.0]),
    ]
    .map(|(name, at)| (name.to_owned(), at))
    .into()
}

fn bone(id: &str, points: &[[f64; 3]]) -> Structure {
    Structure {
        id: StructureId::new(id),
        label: id.to_owned(),
        short_label: id.to_owned(),
        side: BodySide::Mid,
        system: System::Skeletal,
        tissue: TissueId(0),
        priority: 890,
        code: None,
        wall: None,
        gas_fraction: None,
        axis: None,
        centre_line: CentreLine::new(points.iter().copied().map(Point::from_array)),
        segments: vec![],
        volume_ml: None,
    }
}

fn woman() -> RegionMap {
    let upper = [
        [160.0, 27.0, 308.0],
        [178.0, 29.0, 250.0],
        [203.0, 31.0, 140.0],
        [226.0, 33.0, 44.0],
    ];
    let lower = [
        [227.0, 44.0, 46.0],
        [236.0, 44.0, 0.0],
        [260.0, 44.0, -110.0],
        [275.0, 44.0, -176.0],
    ];
    let flip = |points: [[f64; 3]; 4]| points.map(|[x, y, z]| [-x, y, z]);
    let bones = [
        bone("left_humerus", &upper),
        bone("right_humerus", &flip(upper)),
        bone("left_forearm_bones", &lower),
        bone("right_forearm_bones", &flip(lower)),
    ];
    RegionMap::new(&landmarks(), &bones)
}

fn check_words(map: &RegionMap, at: [f64; 3], normal: [f64; 3], wanted: &str) {
    let normal = Direction::from_array(normal).expect("a normal");
    let got = map.place(Point::from_array(at), normal).words();
    assert_eq!(got, wanted, "at {at:?}");
}

#[test]
fn places_on_a_woman() {
    let woman = woman();
    let (front, back, left, right) = (
        [0.0, -1.0, 0.0],
        [0.0, 1.0, 0.0],
        [1.0, 0.1, 0.0],
        [-1.0, 0.1, 0.0],
    );
    for (at, normal, wanted) in [
        (
            [20.0, -115.0, 100.0],
            front,
            "front of the upper abdomen, 20 mm left of the mid-line",
        ),
        (
            [0.0, -118.0, 178.0],
            [0.0, -1.0, -0.2],
            "front of the upper abdomen, on the mid-line",
        ),
        (
            [-16.0, -118.0, 170.0],
            [0.1, -1.0, -0.2],
            "front of the upper abdomen, 16 mm right of the mid-line",
        ),
        (
            [-76.0, -100.0, 86.0],
            [-0.5, -0.9, 0.0],
            "front of the upper abdomen, 76 mm right of the mid-line",
        ),
        (
            [-67.0, -112.0, 160.0],
            front,
            "front of the lower chest, 67 mm right of the mid-line",
        ),
        (
            [88.0, -98.0, 200.0],
            [0.5, -0.8, -0.3],
            "front of the chest, 88 mm left of the mid-line",
        ),
        (
            [62.0, -77.0, 309.0],
            [0.1, -0.7, 0.7],
            "front of the chest, 62 mm left of the mid-line",
        ),
        (
            [0.0, -117.0, -14.0],
            front,
            "front of the abdomen at the navel, on the mid-line",
        ),
        (
            [0.0, -110.0, -90.0],
            front,
            "front of the lower abdomen, on the mid-line",
        ),
        (
            [-62.0, -109.0, -60.0],
            [-0.2, -1.0, -0.1],
            "front of the lower abdomen, 62 mm right of the mid-line",
        ),
        (
            [2.0, -111.0, -126.0],
            front,
            "pubic region, on the mid-line",
        ),
        ([-125.0, 6.0, 95.0], right, "right flank"),
        (
            [-130.0, -28.0, 155.0],
            right,
            "right side of the lower chest",
        ),
        ([134.0, 20.0, 230.0], left, "left side of the chest"),
        ([150.0, 10.0, -80.0], left, "left hip"),
        ([57.0, -90.0, -125.0], front, "left groin"),
        ([-57.0, -90.0, -134.0], front, "right groin"),
        ([60.0, -88.0, -185.0], front, "left upper thigh, front"),
        ([-150.0, 0.0, -330.0], right, "right mid-thigh, outer side"),
        ([40.0, 0.0, -450.0], right, "left lower thigh, inner side"),
        ([79.0, 60.0, -548.0], back, "left knee, back"),
        ([-70.0, -40.0, -700.0], front, "right lower leg, front"),
        ([80.0, -120.0, -960.0], [0.0, -0.3, 1.0], "left foot, top"),
        ([5.0, 10.0, -200.0], [0.0, 0.0, -1.0], "perineum"),
        ([60.0, 105.0, -110.0], back, "left buttock"),
        (
            [-30.0, 75.0, 60.0],
            back,
            "lower back, 30 mm right of the mid-line",
        ),
        (
            [40.0, 90.0, 230.0],
            back,
            "upper back, 40 mm left of the mid-line",
        ),
        (
            [0.0, -40.0, 400.0],
            front,
            "front of the neck, on the mid-line",
        ),
        ([-48.0, -10.0, 430.0], right, "right side of the neck"),
        (
            [0.0, 62.0, 440.0],
            back,
            "back of the neck, on the mid-line",
        ),
        (
            [0.0, -8.0, 653.0],
            [0.0, 0.0, 1.0],
            "top of the head, on the mid-line",
        ),
        ([73.0, -10.0, 570.0], left, "left side of the head"),
        ([100.0, 30.0, 375.0], [0.3, 0.0, 1.0], "left shoulder"),
        ([200.0, 30.0, 310.0], left, "left shoulder"),
        ([190.0, -12.0, 180.0], front, "left upper arm, front"),
        ([150.0, 30.0, 210.0], right, "left upper arm, inner side"),
        // The trunk's skin beside that arm is not the arm.
        ([136.0, 30.0, 210.0], left, "left side of the chest"),
        ([-245.0, 0.0, -60.0], front, "right forearm, front"),
        ([300.0, 20.0, -260.0], left, "left hand, outer side"),
        ([268.0, 20.0, -240.0], right, "left hand, inner side"),
    ] {
        check_words(&woman, at, normal, wanted);
    }
}

#[test]
fn places_on_a_newborns_head() {
    let head = RegionMap::new(
        &[
            ("bregma", [0.0, -16.0, 91.0]),
            ("lambda", [0.0, 49.0, 63.0]),
            ("vertex", [0.0, 4.0, 93.0]),
        ]
        .map(|(name, at)| (name.to_owned(), at))
        .into(),
        &[],
    );
    for (at, normal, wanted) in [
        ([3.0, -16.0, 93.0], [0.0, -0.2, 1.0], "anterior fontanelle"),
        ([0.0, 51.0, 64.0], [0.0, 0.7, 0.7], "posterior fontanelle"),
        ([44.0, 42.0, 13.0], [0.9, 0.42, 0.1], "behind the left ear"),
        ([48.0, -5.0, 40.0], [1.0, 0.0, 0.2], "left side of the head"),
        (
            [0.0, -58.0, 40.0],
            [0.0, -1.0, 0.2],
            "front of the head, on the mid-line",
        ),
        (
            [0.0, 20.0, 92.0],
            [0.0, 0.2, 1.0],
            "top of the head, on the mid-line",
        ),
    ] {
        check_words(&head, at, normal, wanted);
    }
}

#[test]
fn a_body_without_landmarks_still_has_sides() {
    let map = RegionMap::new(&BTreeMap::new(), &[]);
    check_words(&map, [1.0, 2.0, 3.0], [0.0, -1.0, 0.0], "front of the body");
}

#[test]
fn distances_from_the_midline() {
    for (x, wanted) in [
        (0.0, "on the mid-line"),
        (2.4, "on the mid-line"),
        (-2.4, "on the mid-line"),
        (2.6, "3 mm left of the mid-line"),
        (-19.6, "20 mm right of the mid-line"),
    ] {
        assert_eq!(Midline::of(x).words(), wanted, "x = {x}");
    }
}

proptest! {
    /// Every point has a place, and the mirrored point has the mirrored place.
    #[test]
    fn places_mirror(
        x in 3.0..400.0_f64, y in -200.0..200.0_f64, z in -1000.0..700.0_f64,
        n in prop::array::uniform3(-1.0..1.0_f64),
    ) {
        let normal = Direction::from_array(n);
        prop_assume!(normal.is_some());
        let (map, normal) = (woman(), normal.expect("a normal"));
        let mirrored = Direction::from_array([-normal.x(), normal.y(), normal.z()]).expect("a normal");
        let here = map.place(Point::new(x, y, z), normal);
        let there = map.place(Point::new(-x, y, z), mirrored);
        prop_assert_eq!(here.area, there.area);
        prop_assert_eq!((here.half, there.half), (BodySide::Left, BodySide::Right));
        prop_assert!(here.area != Area::Unknown, "the woman has all landmarks");
        // Left and right trade places word for word.
        let swapped = here.words().replace("left", "L").replace("right", "left").replace('L', "right");
        prop_assert_eq!(swapped, there.words());
    }
}
