//! The words for poses, planes, sides and sections. Expected sentences follow the project's own rules for wording.

#![expect(
    clippy::expect_used,
    clippy::missing_assert_message,
    reason = "a test stops at the first thing that is wrong, and its numbers are small"
)]

#[path = "../../anatomy/tests/support/mod.rs"]
mod support;

use anatomy::Body;
use anatomy::catalogue::{SegmentEntry, SegmentPlace};
use geometry::{
    Angle, ApexSide, Convention, DEFAULT_TOLERANCE, Direction, ImagePlane, MarkSide, Mm, Point,
    Pose, SagittalOffset, Sides, name_plane,
};
use picture::words::{
    Across, Scene, beam_sentence, notch_sentence, plane_sentence, press_sentence, sides_sentence,
};
use picture::{Description, Field, contents, describe, transducer};
use support::{PLAIN, egg, glb};

fn pose(normal: [f64; 3], rotation: f64, tilt: f64, rock: f64) -> Pose {
    Pose::new(
        // A little off the mid-line, so that the branch (from x = 0 on) is cut lengthwise too.
        Point::new(2.0, -100.0, 0.0),
        Direction::from_array(normal).expect("a direction"),
        Angle::deg(rotation),
        Angle::deg(tilt),
        Angle::deg(rock),
        Mm::new(0.0),
    )
    .expect("a pose")
}

const FRONT: [f64; 3] = [0.0, -1.0, 0.0];
const BACK: [f64; 3] = [0.0, 1.0, 0.0];
const LEFT: [f64; 3] = [1.0, 0.0, 0.0];
const TOP: [f64; 3] = [0.0, 0.0, 1.0];

fn check_notch(normal: [f64; 3], rotation: f64, words: &str) {
    assert_eq!(
        notch_sentence(&pose(normal, rotation, 0.0, 0.0), DEFAULT_TOLERANCE),
        words
    );
}

#[test]
fn the_notch_is_named_by_body_and_clock() {
    check_notch(FRONT, 0.0, "Notch toward the head (12 o'clock).");
    check_notch(
        FRONT,
        270.0,
        "Notch toward the patient's right (9 o'clock).",
    );
    check_notch(FRONT, 90.0, "Notch toward the patient's left (3 o'clock).");
    check_notch(FRONT, 180.0, "Notch toward the feet (6 o'clock).");
    check_notch(
        FRONT,
        315.0,
        "Notch toward the patient's right and head (half past 10).",
    );
    check_notch(FRONT, 358.0, "Notch toward the head (12 o'clock).");
    check_notch(FRONT, 16.0, "Notch toward the head (half past 12).");
    check_notch(BACK, 90.0, "Notch toward the patient's right (3 o'clock).");
    check_notch(LEFT, 90.0, "Notch toward the back (3 o'clock).");
    check_notch(TOP, 0.0, "Notch toward the front (12 o'clock).");
}

fn check_beam(normal: [f64; 3], rotation: f64, tilt: f64, rock: f64, words: &str) {
    assert_eq!(
        beam_sentence(pose(normal, rotation, tilt, rock).axes().depth),
        words
    );
}

#[test]
fn the_beam_is_told_with_its_lean() {
    check_beam(FRONT, 0.0, 0.0, 0.0, "Beam straight back.");
    check_beam(BACK, 0.0, 0.0, 0.0, "Beam straight forward.");
    check_beam(
        LEFT,
        0.0,
        0.0,
        0.0,
        "Beam straight toward the patient's right.",
    );
    check_beam(TOP, 0.0, 0.0, 0.0, "Beam straight toward the feet.");
    // Notch to the patient's right: positive tilt swings the beam toward the head.
    check_beam(FRONT, 270.0, 31.0, 0.0, "Beam back, 30° toward the head.");
    // Notch to the head: positive tilt swings it to the patient's left, positive rock toward the notch.
    check_beam(
        FRONT,
        0.0,
        20.0,
        0.0,
        "Beam back, 20° toward the patient's left.",
    );
    check_beam(FRONT, 0.0, 0.0, -10.0, "Beam back, 10° toward the feet.");
    check_beam(
        FRONT,
        0.0,
        20.0,
        20.0,
        "Beam back, 30° toward the head and the patient's left.",
    );
    check_beam(FRONT, 0.0, 2.0, 0.0, "Beam straight back.");
}

fn check_plane(normal: [f64; 3], offset: SagittalOffset, words: &str) {
    let normal = Direction::from_array(normal).expect("a direction");
    assert_eq!(
        plane_sentence(&name_plane(normal, DEFAULT_TOLERANCE), offset),
        words
    );
}

#[test]
fn planes_are_named_with_offset_and_lean() {
    let mid = SagittalOffset::MidSagittal;
    check_plane([1.0, 0.0, 0.0], mid, "Mid-sagittal plane.");
    check_plane(
        [-1.0, 0.0, 0.0],
        SagittalOffset::Right(Mm::new(35.2)),
        "Right parasagittal plane, 35 mm right of the mid-line.",
    );
    check_plane(
        [1.0, 0.0, 0.0],
        SagittalOffset::Left(Mm::new(12.0)),
        "Left parasagittal plane, 12 mm left of the mid-line.",
    );
    check_plane([0.0, 1.0, 0.0], mid, "Coronal plane.");
    check_plane([0.0, 0.0, 1.0], mid, "Transverse plane.");
    check_plane(
        [0.0, 0.1763, 1.0],
        mid,
        "Transverse plane, 10° toward coronal.",
    );
    check_plane(
        [1.0, 0.0, 1.0],
        mid,
        "Longitudinal oblique plane: 45° from sagittal, 45° from transverse.",
    );
    check_plane(
        [1.0, 0.0, 1.3],
        mid,
        "Transverse oblique plane: 40° from transverse, 50° from sagittal.",
    );
    check_plane(
        [1.0, 1.0, 1.0],
        mid,
        "Double oblique plane, longitudinal: 55° from sagittal, 55° from coronal.",
    );
}

#[test]
fn the_sides_of_the_image_say_whose_left() {
    let sides = |rotation: f64, convention: Convention| {
        let plane = ImagePlane::from_pose(&pose(FRONT, rotation, 0.0, 0.0), convention);
        sides_sentence(&Sides::of(&plane), DEFAULT_TOLERANCE)
    };
    assert_eq!(
        sides(0.0, Convention::GENERAL),
        "Image left: head end. Image right: foot end. Image top: front. Image bottom: back."
    );
    assert_eq!(
        sides(270.0, Convention::GENERAL),
        "Image left: patient's right. Image right: patient's left. Image top: front. Image bottom: back."
    );
    let cardiac = Convention {
        mark: MarkSide::Right,
        apex: ApexSide::Bottom,
    };
    assert_eq!(
        sides(0.0, cardiac),
        "Image left: foot end. Image right: head end. Image top: back. Image bottom: front."
    );
    assert!(
        sides(300.0, Convention::GENERAL).starts_with("Image left: patient's right and head end.")
    );
}

#[test]
fn pressing_is_told_from_half_a_millimetre() {
    assert_eq!(press_sentence(Mm::new(0.4)), None);
    assert_eq!(
        press_sentence(Mm::new(4.6)).as_deref(),
        Some("Pressed in 5 mm.")
    );
}

fn described(rotation: f64, apex: ApexSide, press: f64) -> Description {
    let (mut catalogue, meshes) = egg();
    for (id, label) in [
        ("ball", "Liver"),
        ("vessel", "Aorta"),
        ("branch", "Left renal vein"),
    ] {
        let found = catalogue
            .structures
            .iter_mut()
            .find(|s| s.id == id)
            .expect("a structure");
        found.label = label.to_owned();
        if id != "ball" {
            found.system = "arterial".to_owned();
            found.segments = vec![];
        } else {
            found.segments = vec![SegmentEntry {
                id: "left_lobe".to_owned(),
                label: "Left lobe".to_owned(),
                place: SegmentPlace::Z {
                    from: -200.0,
                    to: 200.0,
                },
            }];
        }
    }
    let body =
        Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON")).expect("a body");
    let pose = pose(FRONT, rotation, 0.0, 0.0).with_press(Mm::new(press));
    let convention = Convention {
        mark: MarkSide::Left,
        apex,
    };
    let plane = ImagePlane::from_pose(&pose, convention);
    let field = Field::new(transducer("convex").expect("convex"), Mm::new(180.0), apex);
    let seen = contents(&body, &body.section(&plane), &field);
    describe(&Scene {
        body: &body,
        pose: &pose,
        plane: &plane,
        field: &field,
        contents: &seen,
        tolerance: DEFAULT_TOLERANCE,
    })
}

#[test]
fn a_scene_is_described_near_to_far() {
    let said = described(270.0, ApexSide::Top, 3.0);
    assert_eq!(
        said.text(),
        "Probe on the front of the body. Notch toward the patient's right (9 o'clock). Beam straight back. \
         Pressed in 3 mm. Transverse plane. Image left: patient's right. Image right: patient's left. \
         Image top: front. Image bottom: back. In the picture from the top: skin, fat, muscle, liver left lobe, \
         aorta in short axis, left renal vein in long axis."
    );
    let places: Vec<Across> = said.rows.iter().map(|row| row.across).collect();
    assert_eq!(places, [Across::ImageLeft, Across::Centre, Across::Centre]);
    assert!(
        (said.rows[1].size_mm[0] - 24.0).abs() < 0.5,
        "{:?}",
        said.rows[1]
    );
}

#[test]
fn the_same_scene_lengthwise_and_upside_down() {
    let said = described(0.0, ApexSide::Top, 0.0);
    assert!(
        said.picture.contains("aorta in long axis"),
        "{}",
        said.picture
    );
    assert!(
        said.picture.contains("left renal vein in short axis"),
        "{}",
        said.picture
    );
    assert_eq!(said.press, None);
    assert_eq!(said.plane, "Mid-sagittal plane.");
    let turned = described(0.0, ApexSide::Bottom, 0.0);
    assert!(
        turned
            .picture
            .starts_with("In the picture from the bottom: skin, fat, muscle"),
        "{}",
        turned.picture
    );
    assert_eq!(turned.rows.len(), said.rows.len());
}

/// How a structure and its part are said: (name, abbreviation, part, spoken).
#[test]
fn structures_and_their_parts_are_spoken() {
    let rows = [
        ("Liver", "L", "Left lobe", "liver left lobe"),
        (
            "Aorta",
            "Ao",
            "Proximal abdominal aorta",
            "proximal abdominal aorta",
        ),
        ("Aorta", "Ao", "Aortic arch", "aortic arch"),
        (
            "Inferior vena cava",
            "IVC",
            "Retrohepatic IVC",
            "retrohepatic inferior vena cava",
        ),
        (
            "Inferior vena cava",
            "IVC",
            "IVC-right atrial junction",
            "IVC-right atrial junction",
        ),
        (
            "Common hepatic and common bile duct",
            "CBD",
            "Common bile duct",
            "common bile duct",
        ),
        ("Left kidney", "LK", "Upper pole", "left kidney upper pole"),
        ("C1 vertebra (atlas)", "C1", "Body", "C1 vertebra body"),
    ];
    for (label, short, part, spoken) in rows {
        let (mut catalogue, meshes) = egg();
        let ball = catalogue
            .structures
            .iter_mut()
            .find(|s| s.id == "ball")
            .expect("the ball");
        ball.label = label.to_owned();
        ball.short_label = short.to_owned();
        ball.segments = vec![SegmentEntry {
            id: "part".to_owned(),
            label: part.to_owned(),
            place: SegmentPlace::Z {
                from: -200.0,
                to: 200.0,
            },
        }];
        let body =
            Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON")).expect("a body");
        let plane = ImagePlane::from_pose(&pose(FRONT, 270.0, 0.0, 0.0), Convention::GENERAL);
        let field = Field::new(
            transducer("convex").expect("convex"),
            Mm::new(180.0),
            ApexSide::Top,
        );
        let seen = contents(&body, &body.section(&plane), &field);
        let said = picture::words::rows(&body, &field, &seen);
        assert!(
            said.iter().any(|row| row.name == spoken),
            "{spoken:?} in {said:?}"
        );
    }
}
