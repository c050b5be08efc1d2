//! The painter against the plain paint rule of the section, and areas against formulas.

#![expect(
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test stops at the first thing that is wrong, and its numbers are small"
)]

#[path = "../../anatomy/tests/support/mod.rs"]
mod support;

use anatomy::{AxisView, Body, SurfaceKind};
use geometry::{Angle, ApexSide, Convention, Direction, ImagePlane, Mm, Point, Pose, Vector};
use picture::scan::{OUTSIDE, Painter, RunMap};
use picture::{
    Field, Frame, Look, Palette, PictureScratch, contents, cut_face, paint_section, schematic,
    transducer,
};
use proptest::prelude::*;
use support::{PLAIN, egg, ellipsoid, glb, structure, surface};

fn egg_body() -> Body {
    let (catalogue, meshes) = egg();
    Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON")).expect("a body")
}

/// A body of water with one fine ellipsoid in the middle.
fn water_with(centre: [f32; 3], radii: [f32; 3]) -> Body {
    let (mut catalogue, _) = egg();
    catalogue.structures = vec![structure("ball", "liver", 500)];
    catalogue.surfaces = vec![surface("skin", "skin", 0), surface("ball", "liver", 30)];
    let meshes = vec![
        ("skin", ellipsoid([0.0; 3], [150.0, 150.0, 150.0], 24)),
        ("ball", ellipsoid(centre, radii, 64)),
    ];
    Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON")).expect("a body")
}

fn plane(origin: [f64; 3], notch: [f64; 3], beam: [f64; 3]) -> ImagePlane {
    let vector = |v: [f64; 3]| Vector::from_array(v);
    ImagePlane::from_notch_and_beam(
        Point::from_array(origin),
        vector(notch),
        vector(beam),
        Convention::GENERAL,
    )
    .expect("a plane")
}

/// Lines 1 mm apart over 300 mm, u in mm from -150 to 150.
fn runs_of(body: &Body, plane: &ImagePlane) -> RunMap {
    let mut painter = Painter::default();
    painter.begin(300, -150.0, 150.0);
    let section = body.section(plane);
    paint_section(&mut painter, body, &section, &[], &|p| [p[0], p[1] + 150.0]);
    let mut runs = RunMap::default();
    painter.paint(&mut runs);
    runs
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// Whatever the plane, the painter shows what the plain rule shows.
    #[test]
    fn painter_agrees_with_the_plain_rule(
        x in -60.0..60.0_f64, y in -60.0..60.0_f64, z in -90.0..90.0_f64,
        beam in prop::array::uniform3(-1.0..1.0_f64),
        notch in prop::array::uniform3(-1.0..1.0_f64),
        shift in 0.0..1.0_f64,
    ) {
        let v = |a: [f64; 3]| Vector::from_array(a);
        let Ok(plane) = ImagePlane::from_notch_and_beam(
            Point::new(x, y, z), v(notch), v(beam), Convention::GENERAL) else { return Ok(()) };
        let body = egg_body();
        let section = body.section(&plane);
        let runs = runs_of(&body, &plane);
        let mut compared = 0;
        for line in (0..300).step_by(7) {
            for step in 0..60 {
                let at = [-149.0 + 5.0 * f64::from(step) + shift, f64::from(line) - 150.0];
                let label = runs.at(line as usize, at[0]);
                let want = section.structure_at(&body, at).map(|painted| painted.surface);
                let got = (label != OUTSIDE).then_some(usize::from(label));
                prop_assert_eq!(got, want, "at {:?}", at);
                compared += usize::from(want.is_some());
            }
        }
        prop_assert!(compared > 20, "the plane goes through the body: {} points", compared);
    }
}

#[test]
fn a_branch_opens_into_its_parent() {
    let body = egg_body();
    let plane = plane([0.0, -100.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]);
    // The sagittal plane through the middle: vessel from 88 to 112 mm deep; the branch's wall would cross its lumen.
    let runs = runs_of(&body, &plane);
    let kinds: Vec<SurfaceKind> = runs
        .pieces(250)
        .filter(|(_, _, label)| *label != OUTSIDE)
        .map(|(_, _, label)| body.surfaces()[usize::from(label)].kind)
        .collect();
    let vessel = body.find("vessel").expect("vessel");
    let branch = body.find("branch").expect("branch");
    assert!(kinds.contains(&SurfaceKind::Solid(vessel)), "{kinds:?}");
    assert!(
        !kinds.contains(&SurfaceKind::Wall(branch)),
        "no wall inside the parent: {kinds:?}"
    );
}

/// Sections of ellipsoids are ellipses: area = pi a b. The mesh itself is within 0.1 % of the ellipsoid.
fn check_area(centre: [f32; 3], radii: [f32; 3], notch: [f64; 3], area: f64) {
    let body = water_with(centre, radii);
    let plane = plane([0.0, -150.0, 0.0], notch, [0.0, 1.0, 0.0]);
    let field = Field::new(
        transducer("convex").expect("convex"),
        Mm::new(240.0),
        ApexSide::Top,
    );
    let seen = contents(&body, &body.section(&plane), &field);
    let got = seen.structures.first().expect("the ball is seen").area_mm2;
    assert!(
        (got / area - 1.0).abs() < 0.005,
        "{got} instead of {area} mm2"
    );
}

#[test]
fn areas_match_the_formulas() {
    let (head, left) = ([0.0, 0.0, 1.0], [1.0, 0.0, 0.0]);
    let pi = std::f64::consts::PI;
    check_area([0.0, 0.0, 0.0], [30.0, 30.0, 30.0], head, pi * 900.0);
    check_area([0.0, 0.0, 0.0], [30.0, 20.0, 60.0], head, pi * 20.0 * 60.0);
    check_area([0.0, 0.0, 0.0], [30.0, 20.0, 60.0], left, pi * 20.0 * 30.0);
    check_area([5.0, -20.0, 0.0], [9.0, 9.0, 9.0], left, pi * 81.0);
    // 12 mm off the centre of a ball of 30 mm.
    check_area(
        [12.0, 0.0, 0.0],
        [30.0, 30.0, 30.0],
        head,
        pi * (900.0 - 144.0),
    );
}

#[test]
fn contents_know_depth_place_axis_and_segment() {
    let body = egg_body();
    let field = Field::new(
        transducer("convex").expect("convex"),
        Mm::new(200.0),
        ApexSide::Top,
    );
    let across = plane([0.0, -100.0, 20.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
    let seen = contents(&body, &body.section(&across), &field);
    let vessel = seen
        .find(body.find("vessel").expect("vessel"))
        .expect("seen");
    assert!(
        (vessel.area_mm2 - 576.0).abs() < 3.0,
        "24 x 24 mm with wall: {}",
        vessel.area_mm2
    );
    assert!(
        (vessel.wall_mm2 - 176.0).abs() < 3.0,
        "wall: {}",
        vessel.wall_mm2
    );
    assert!((vessel.depth_mm - 88.0).abs() < 0.5, "{}", vessel.depth_mm);
    assert!(
        vessel.centre[0].abs() < 0.5 && (vessel.centre[1] - 100.0).abs() < 0.5,
        "{:?}",
        vessel.centre
    );
    assert_eq!(vessel.axis.map(|(view, _)| view), Some(AxisView::Short));
    assert_eq!(
        vessel.segment,
        Some(0),
        "20 mm toward the head is the upper half"
    );
    let along = plane([0.0, -100.0, -20.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]);
    let seen = contents(&body, &body.section(&along), &field);
    let vessel = seen
        .find(body.find("vessel").expect("vessel"))
        .expect("seen");
    assert_eq!(vessel.axis.map(|(view, _)| view), Some(AxisView::Long));
    assert_eq!(seen.structure_at(vessel.centre), Some(vessel.structure));
    let order: Vec<f64> = seen.structures.iter().map(|s| s.depth_mm).collect();
    assert!(order.is_sorted(), "nearest first: {order:?}");
    assert_eq!(seen.structure_at([0.0, -20.0]), None, "behind the face");
    assert_eq!(seen.structure_at([f64::NAN, f64::NAN]), None);
}

/// The picture of a pose on the front of the egg.
fn picture_of(body: &Body, press: f64, depth: f64, size: u32) -> (Vec<u8>, Frame, Field) {
    let pose = Pose::new(
        Point::new(0.0, -100.0, 0.0),
        -Direction::y_axis(),
        Angle::deg(270.0),
        Angle::deg(0.0),
        Angle::deg(0.0),
        Mm::new(press),
    )
    .expect("a pose");
    let plane = ImagePlane::from_pose(&pose, Convention::GENERAL);
    let field = Field::new(
        transducer("convex").expect("convex"),
        Mm::new(depth),
        ApexSide::Top,
    );
    let frame = Frame::fit(&field, size, size, picture::Margins::all(4.0));
    let look = Look::new(body, &Palette::fallback());
    let mut rgba = Vec::new();
    let section = body.section(&plane);
    schematic(
        body,
        &section,
        &field,
        &frame,
        &look,
        &mut PictureScratch::default(),
        &mut rgba,
    );
    (rgba, frame, field)
}

fn pixel(rgba: &[u8], frame: &Frame, at_mm: [f64; 2]) -> [u8; 4] {
    let [x, y] = frame.to_px(at_mm).map(|c| c.round() as usize);
    let i = (y * frame.width() as usize + x) * 4;
    [rgba[i], rgba[i + 1], rgba[i + 2], rgba[i + 3]]
}

#[test]
fn the_picture_shows_gel_tissue_and_darkness_where_they_are() {
    let body = egg_body();
    let palette = Palette::fallback();
    let opaque = |key: &str| {
        let [r, g, b] = palette.colour(key);
        [r, g, b, 255]
    };
    let (rgba, frame, _) = picture_of(&body, 0.0, 240.0, 512);
    assert_eq!(rgba.len(), 512 * 512 * 4);
    // The skin falls away from the middle of the curved face, which stands back itself: gel between them.
    assert_eq!(pixel(&rgba, &frame, [26.0, -1.0]), opaque("gel"));
    assert_eq!(pixel(&rgba, &frame, [0.0, 5.0]), opaque("fat_subcutaneous"));
    // Vessels of the body view: notch to the patient's right, so the ball (at -30) lies at image left.
    assert_eq!(pixel(&rgba, &frame, [-40.0, 100.0]), opaque("liver"));
    assert_eq!(pixel(&rgba, &frame, [0.0, 95.0]), opaque("blood_arterial"));
    assert_eq!(
        pixel(&rgba, &frame, [0.0, 225.0]),
        opaque("outside"),
        "beyond the far skin"
    );
    assert_eq!(pixel(&rgba, &frame, [60.0, 5.0])[3], 0, "outside the field");
}

#[test]
fn a_pressed_face_needs_no_gel_at_its_middle_and_a_lifted_one_is_dark() {
    let body = egg_body();
    let look = Look::new(&body, &Palette::fallback());
    let field = Field::new(
        transducer("linear").expect("linear"),
        Mm::new(60.0),
        ApexSide::Top,
    );
    let frame = Frame::fit(&field, 300, 300, picture::Margins::all(0.0));
    let draw = |lift: f64| {
        let plane = plane([0.0, -100.0 - lift, 0.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
        let mut rgba = Vec::new();
        let section = body.section(&plane);
        schematic(
            &body,
            &section,
            &field,
            &frame,
            &look,
            &mut PictureScratch::default(),
            &mut rgba,
        );
        pixel(&rgba, &frame, [0.0, 0.6])
    };
    let [gel, outside, skin] = ["gel", "outside", "skin"].map(|key| {
        let [r, g, b] = Palette::fallback().colour(key);
        [r, g, b, 255]
    });
    assert_eq!(draw(-0.0), skin, "in touch");
    assert_eq!(draw(5.0), gel, "5 mm of gel");
    assert_eq!(draw(30.0), outside, "30 mm off the skin nothing couples");
}

#[test]
fn the_cut_face_is_transparent_outside_the_skin_and_has_no_field() {
    let body = egg_body();
    let plane = plane([0.0, 0.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
    let frame = Frame::new(240, 240, 1.0, [120.0, 120.0]);
    let look = Look::new(&body, &Palette::fallback());
    let mut rgba = Vec::new();
    let section = body.section(&plane);
    cut_face(
        &body,
        &section,
        &frame,
        &look,
        &mut PictureScratch::default(),
        &mut rgba,
    );
    assert_eq!(pixel(&rgba, &frame, [110.0, 0.0])[3], 0);
    assert_eq!(pixel(&rgba, &frame, [0.0, 0.0])[3], 255);
    assert_eq!(
        pixel(&rgba, &frame, [85.0, 0.0])[3],
        255,
        "all of the body, not a field of view"
    );
}

/// Opaque pixels cover the field's area: pi-free check of the mask against the contents' own measure.
#[test]
fn the_mask_has_the_area_of_the_field() {
    let body = egg_body();
    let (rgba, frame, field) = picture_of(&body, 5.0, 120.0, 256);
    let alpha: f64 = rgba.chunks_exact(4).map(|p| f64::from(p[3]) / 255.0).sum();
    let area = alpha * frame.mm_per_px() * frame.mm_per_px();
    // Sector of an annulus: F/2 ((R + D)^2 - R^2).
    let want = Angle::deg(66.0).to_rad() / 2.0 * (175.0 * 175.0 - 55.0 * 55.0);
    assert!((area / want - 1.0).abs() < 0.002, "{area} {want}");
    assert!(field.contains([0.0, 60.0]));
}

/// Reusing the memory must not show.
#[test]
fn a_used_scratch_gives_the_same_bytes() {
    let body = egg_body();
    let look = Look::new(&body, &Palette::fallback());
    let field = Field::new(
        transducer("convex").expect("convex"),
        Mm::new(150.0),
        ApexSide::Top,
    );
    let frame = Frame::fit(&field, 96, 96, picture::Margins::all(2.0));
    let mut used = PictureScratch::default();
    let (mut a, mut b) = (Vec::new(), Vec::new());
    for z in [-60.0, 0.0, 35.0] {
        let section = body.section(&plane([3.0, -97.0, z], [-1.0, 0.1, 0.0], [0.1, 1.0, 0.0]));
        schematic(&body, &section, &field, &frame, &look, &mut used, &mut a);
        schematic(
            &body,
            &section,
            &field,
            &frame,
            &look,
            &mut PictureScratch::default(),
            &mut b,
        );
        assert_eq!(a, b, "at z {z}");
    }
}

/// FNV-1a, 64 bits (Fowler, Noll and Vo).
fn hash(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xCBF2_9CE4_8422_2325, |h, b| {
        (h ^ u64::from(*b)).wrapping_mul(0x100_0000_01B3)
    })
}

/// Small pictures of the egg, reviewed by eye; the same bytes are wanted on every machine and in WebAssembly.
#[test]
fn golden_pictures() {
    let body = egg_body();
    let hashes = [(0.0, 200.0), (4.0, 120.0)]
        .map(|(press, depth)| hash(&picture_of(&body, press, depth, 64).0));
    assert_eq!(
        hashes,
        [0x93BE_C991_E461_DFB8, 0x9343_00B1_B73E_FEC3],
        "look at the pictures before changing these: {hashes:#x?}"
    );
}
