//! Finding a described window on a skin, and windows in a catalogue.

#![expect(
    clippy::expect_used,
    reason = "helpers of tests fail like the tests they serve"
)]

mod support;

use std::collections::BTreeMap;

use anatomy::catalogue::*;
use anatomy::{AxisView, Body, SkinSurface, WindowError, window};
use geometry::{ImagePlane, Vector};
use support::{PLAIN, boxed, egg, glb};

/// A trunk 100 mm wide and deep with an arm beside it: both are boxes, so every contact is known exactly.
fn trunk_and_arm() -> SkinSurface {
    let mut mesh = boxed([-50.0, -50.0, -200.0], [50.0, 50.0, 200.0], 20);
    let arm = boxed([60.0, -20.0, -100.0], [90.0, 20.0, 100.0], 8);
    let first = u32::try_from(mesh.positions.len()).expect("few");
    mesh.positions.extend(arm.positions);
    mesh.triangles.extend(
        arm.triangles
            .iter()
            .map(|corners| corners.map(|corner| corner + first)),
    );
    SkinSurface::new(mesh).expect("a skin")
}

fn landmarks() -> BTreeMap<String, [f64; 3]> {
    [("level".to_owned(), [7.0, 12.0, 20.0])].into()
}

fn spec(face: FaceEntry, offset: [f64; 3], aim: [f64; 3], indicator: IndicatorEntry) -> WindowSpec {
    let [dx, dy, dz] = offset;
    WindowSpec {
        level: "level".to_owned(),
        dx,
        dy,
        dz,
        face,
        aim,
        indicator,
    }
}

const HEAD: IndicatorEntry = IndicatorEntry::Word(IndicatorWord::Head);

fn check_contact(face: FaceEntry, offset: [f64; 3], scale: f64, wanted: [f64; 3]) {
    let indicator = IndicatorEntry::Vector([0.3, 0.2, 0.9]);
    let found = window::resolve(
        &spec(face, offset, [1.0, 2.0, 3.0], indicator),
        &landmarks(),
        scale,
        &trunk_and_arm(),
    )
    .expect("a place");
    for k in 0..3 {
        assert!(
            (found.contact[k] - wanted[k]).abs() < 1e-3,
            "{face:?}: {:?}, not {wanted:?}",
            found.contact
        );
    }
}

#[test]
fn contacts_by_face() {
    let word = FaceEntry::Word;
    // x and z from the level and the offsets; y found by the ray.
    check_contact(
        word(FaceWord::Anterior),
        [10.0, 99.0, 5.0],
        1.0,
        [10.0, -50.0, 25.0],
    );
    check_contact(
        word(FaceWord::Posterior),
        [10.0, 99.0, 5.0],
        1.0,
        [10.0, 50.0, 25.0],
    );
    // y counts from the level here.
    check_contact(
        word(FaceWord::Superior),
        [10.0, 3.0, 5.0],
        1.0,
        [10.0, 15.0, 200.0],
    );
    // Outward from the inside of the trunk: the arm at the left is not met.
    check_contact(
        word(FaceWord::Left),
        [99.0, 8.0, 5.0],
        1.0,
        [50.0, 8.0, 25.0],
    );
    check_contact(
        word(FaceWord::Right),
        [99.0, 8.0, 5.0],
        1.0,
        [-50.0, 8.0, 25.0],
    );
    // A ray through [dx, dy, level z + dz]; from this side the arm comes first.
    check_contact(
        FaceEntry::Ray([-2.0, 0.0, 0.0]),
        [0.0, 8.0, 5.0],
        1.0,
        [90.0, 8.0, 25.0],
    );
    check_contact(
        FaceEntry::Ray([0.0, 1.0, -1.0]),
        [0.0, -30.0, 0.0],
        1.0,
        [0.0, -50.0, 40.0],
    );
    // Offsets and aim are scaled, the landmark is the body's own.
    check_contact(
        word(FaceWord::Anterior),
        [10.0, 0.0, 5.0],
        2.0,
        [20.0, -50.0, 30.0],
    );
}

#[test]
fn the_beam_wins_over_the_indicator() {
    let face = FaceEntry::Word(FaceWord::Anterior);
    let spec = spec(face, [0.0; 3], [0.0, -10.0, 30.0], HEAD);
    let found = window::resolve(&spec, &landmarks(), 2.0, &trunk_and_arm()).expect("a place");
    // From (0, −50, 20) to twice the aim, (0, −20, 60).
    let (beam, notch) = (found.beam, found.notch);
    assert!(
        (beam[1] - 0.6).abs() < 1e-6 && (beam[2] - 0.8).abs() < 1e-6,
        "{beam:?}"
    );
    assert!(
        (notch[1] + 0.8).abs() < 1e-6 && (notch[2] - 0.6).abs() < 1e-6,
        "{notch:?}"
    );
    assert!(found.normal[1] < -0.999, "{:?}", found.normal);
    let pose = window::pose(&found).expect("a pose");
    let axes = pose.axes();
    for (got, wanted) in [(axes.depth, beam), (axes.lateral, notch)] {
        assert!(
            (got.to_vector() - Vector::from_array(wanted)).norm() < 1e-9,
            "{got:?} {wanted:?}"
        );
    }
}

#[test]
fn words_for_the_indicator() {
    for (word, wanted) in [
        (IndicatorWord::Head, [0.0, 0.0, 1.0]),
        (IndicatorWord::Feet, [0.0, 0.0, -1.0]),
        (IndicatorWord::Left, [1.0, 0.0, 0.0]),
        (IndicatorWord::Right, [-1.0, 0.0, 0.0]),
    ] {
        let face = FaceEntry::Word(FaceWord::Anterior);
        let spec = spec(
            face,
            [0.0; 3],
            [0.0, 30.0, 20.0],
            IndicatorEntry::Word(word),
        );
        let found = window::resolve(&spec, &landmarks(), 1.0, &trunk_and_arm()).expect("a place");
        assert!(
            (0..3).all(|k| (found.notch[k] - wanted[k]).abs() < 1e-6),
            "{word:?}: {:?}",
            found.notch
        );
    }
}

#[test]
fn impossible_windows_say_why() {
    let anterior = FaceEntry::Word(FaceWord::Anterior);
    let aim = [0.0, 30.0, 20.0];
    let beam = IndicatorEntry::Vector([0.0, 3.0, 0.0]);
    let mut elsewhere = spec(anterior, [0.0; 3], aim, HEAD);
    elsewhere.level = "knee".to_owned();
    for (spec, wanted) in [
        (elsewhere, "landmark \"knee\" is not known"),
        (
            spec(anterior, [500.0, 0.0, 0.0], aim, HEAD),
            "no skin on the ray",
        ),
        (
            spec(FaceEntry::Word(FaceWord::Left), [0.0, 80.0, 0.0], aim, HEAD),
            "not inside the body",
        ),
        (
            spec(FaceEntry::Ray([0.0; 3]), [0.0; 3], aim, HEAD),
            "face [0.0, 0.0, 0.0] has no direction",
        ),
        (
            spec(anterior, [0.0; 3], [0.0, -50.0, 20.0], HEAD),
            "contact to aim",
        ),
        (
            spec(anterior, [0.0; 3], aim, beam),
            "indicator across the beam",
        ),
    ] {
        let error: WindowError =
            window::resolve(&spec, &landmarks(), 1.0, &trunk_and_arm()).expect_err(wanted);
        assert!(
            error.to_string().contains(wanted),
            "{error} should contain {wanted}"
        );
    }
}

/// A window written into a catalogue comes back as a pose, and its plane shows what it says.
#[test]
fn a_window_of_a_body() {
    let (mut catalogue, meshes) = egg();
    let skin = SkinSurface::new(meshes[0].1.clone()).expect("a skin");
    let described = WindowSpec {
        level: "mid".to_owned(),
        dx: 0.0,
        dy: 0.0,
        dz: 0.0,
        face: FaceEntry::Word(FaceWord::Anterior),
        aim: [0.0, 0.0, 5.0],
        indicator: IndicatorEntry::Word(IndicatorWord::Right),
    };
    let resolved = window::resolve(
        &described,
        &catalogue.landmarks,
        catalogue.body.offset_scale,
        &skin,
    )
    .expect("a place");
    catalogue.windows = vec![WindowEntry {
        id: "front".to_owned(),
        label: "Front".to_owned(),
        plane_hint: "transverse".to_owned(),
        transducer: "convex".to_owned(),
        depth_mm: 120.0,
        mark: MarkEntry::Left,
        must_see: vec!["vessel".to_owned()],
        axis_of: vec![AxisOfEntry {
            structure: "vessel".to_owned(),
            axis: ViewEntry::Short,
        }],
        spec: described,
        resolved,
    }];
    let body =
        Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON")).expect("a body");
    let window = body.window("front").expect("the window");
    assert_eq!(window.axis_of[0].1, AxisView::Short);
    assert!(
        (window.aim.z() - 10.0).abs() < 1e-12,
        "the aim is scaled to the body: {:?}",
        window.aim
    );
    let plane = ImagePlane::from_pose(&window.pose, window.convention());
    assert!(
        plane.normal().z().abs() > 0.999,
        "transverse: {:?}",
        plane.normal()
    );
    assert!(
        plane.row().x() > 0.999,
        "image right is the patient's left: {:?}",
        plane.row()
    );
    // The aim lies straight below the footprint.
    let at = plane.to_image(window.aim);
    assert!(
        at[0].abs() < 1e-6 && at[2].abs() < 1e-6 && at[1] > 90.0,
        "{at:?}"
    );
    let vessel = body.structure(body.find("vessel").expect("a vessel"));
    let axis = vessel.axis_on(&plane, window.aim).expect("an axis");
    assert_eq!(anatomy::axis_view(axis, plane.normal()).0, AxisView::Short);

    for (spoil, wanted) in [
        (0, "unknown structure \"ghost\""),
        (1, "unknown structure \"ghost\""),
        (2, "depth_mm of \"front\" is 0"),
        (
            3,
            "window \"front\": normal [0.0, 0.0, 0.0] has no direction",
        ),
        (4, "window \"front\": the probe cannot stand there"),
    ] {
        let mut catalogue = catalogue.clone();
        let window = &mut catalogue.windows[0];
        match spoil {
            0 => window.must_see[0] = "ghost".to_owned(),
            1 => window.axis_of[0].structure = "ghost".to_owned(),
            2 => window.depth_mm = 0.0,
            3 => window.resolved.normal = [0.0; 3],
            _ => window.resolved.notch = window.resolved.beam,
        }
        let error = Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON"))
            .expect_err(wanted);
        assert!(
            error.to_string().contains(wanted),
            "{error} should contain {wanted}"
        );
    }
}
