//! Cutting and painting a body whose sections are known.

#![expect(
    clippy::expect_used,
    reason = "helpers of tests fail like the tests they serve"
)]

mod support;

use anatomy::{Body, Section, SectionScratch};
use geometry::{Convention, ImagePlane, Patient, Point, Vector, loop_area};
use proptest::prelude::*;
use support::{PLAIN, egg, glb};

fn body() -> &'static Body {
    static BODY: std::sync::OnceLock<Body> = std::sync::OnceLock::new();
    BODY.get_or_init(|| {
        let (catalogue, meshes) = egg();
        Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON")).expect("a body")
    })
}

/// A plane through `origin` with the notch along `notch` and the beam along `beam`, mark at image left.
fn plane(origin: [f64; 3], notch: [f64; 3], beam: [f64; 3]) -> ImagePlane {
    ImagePlane::from_notch_and_beam(
        Point::from_array(origin),
        Vector::from_array(notch),
        Vector::from_array(beam),
        Convention::GENERAL,
    )
    .expect("a plane")
}

/// Transverse at height z seen from the foot end: image x is patient x, image y is patient y.
fn transverse(z: f64) -> ImagePlane {
    plane([0.0, 0.0, z], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0])
}

fn painted(section: &Section, at: [f64; 2]) -> &'static str {
    let body = body();
    section.structure_at(body, at).map_or("outside", |painted| {
        body.tissue(painted.tissue).key.as_str()
    })
}

#[test]
fn layers_come_in_paint_order() {
    let section = body().section(&transverse(0.0));
    let order: Vec<usize> = section.layers().iter().map(|layer| layer.surface).collect();
    assert_eq!(order, [0, 1, 2, 3, 4, 5, 6, 7]);
    let above = body().section(&transverse(60.0));
    let order: Vec<usize> = above.layers().iter().map(|layer| layer.surface).collect();
    assert_eq!(
        order,
        [0, 1, 2, 4, 5],
        "ball and branch do not reach up there"
    );
    for layer in above.layers() {
        let (a, b) = (
            above.loops(*layer).count(),
            above.all_loops().of_mesh(layer.surface).count(),
        );
        assert_eq!(a, b, "loops of surface {}", layer.surface);
        assert!(
            above
                .loops(*layer)
                .all(|outline| outline.mesh == layer.surface),
            "only its own loops"
        );
    }
    assert!(
        body().section(&transverse(500.0)).is_empty(),
        "above the head there is nothing"
    );
}

#[test]
fn the_paint_rule() {
    let section = body().section(&transverse(0.0));
    for (x, y, wanted) in [
        (-101.0, 0.0, "outside"),
        (-99.0, 0.0, "skin"),
        (-94.0, 0.0, "fat_subcutaneous"),
        (-80.0, 0.0, "muscle"),
        (-40.0, 0.0, "liver"),
        (-11.0, 0.0, "wall"),
        (-5.0, 0.0, "blood"),
        (5.0, 9.0, "blood"),
        (11.0, 9.0, "wall"),
        // Where the branch leaves the vessel its lumen is open: neither wall is painted across it.
        (9.0, 0.0, "blood"),
        (11.0, 0.0, "blood"),
        (15.0, 0.0, "blood"),
        // The branch's own wall is not painted inside the vessel, but beside it.
        (5.0, 6.0, "blood"),
        (20.0, 6.0, "wall"),
        (41.0, 0.0, "wall"),
        (43.0, 0.0, "muscle"),
        (99.0, 0.0, "skin"),
    ] {
        assert_eq!(painted(&section, [x, y]), wanted, "at x = {x}, y = {y}");
    }
    let seen = section
        .structure_at(body(), [15.0, 0.0])
        .expect("a structure");
    assert_eq!(seen.structure, body().find("branch"));
    let seen = section.structure_at(body(), [-99.0, 0.0]).expect("skin");
    assert_eq!(seen.structure, None);
}

#[test]
fn a_section_is_used_again() {
    let (mut scratch, mut again) = (SectionScratch::default(), Section::empty(&transverse(0.0)));
    for z in [0.0, 60.0, 500.0, -30.0] {
        body().section_into(&transverse(z), &mut scratch, &mut again);
        let fresh = body().section(&transverse(z));
        assert_eq!(again.layers(), fresh.layers(), "z = {z}");
        assert_eq!(again.all_loops(), fresh.all_loops(), "z = {z}");
        assert_eq!(again.plane(), fresh.plane(), "z = {z}");
    }
}

proptest! {
    /// Every point of any section has the label of the body at the patient point behind it, found from the shapes.
    #[test]
    fn painting_agrees_with_the_shapes(
        origin in prop::array::uniform3(-60.0..60.0_f64),
        notch in prop::array::uniform3(-1.0..1.0_f64),
        beam in prop::array::uniform3(-1.0..1.0_f64),
        at in prop::array::uniform2(-60.0..60.0_f64),
    ) {
        let (n, b): (Vector<Patient>, Vector<Patient>) = (Vector::from_array(notch), Vector::from_array(beam));
        prop_assume!(n.cross(b).norm() > 0.05);
        let plane = plane(origin, notch, beam);
        let section = body().section(&plane);
        let p = plane.to_patient(at).to_array();
        let in_box = |lo: [f64; 3], hi: [f64; 3]| (0..3).map(|k| (p[k] - lo[k]).min(hi[k] - p[k])).fold(f64::MAX, f64::min);
        let vessel = in_box([-10.0, -10.0, -80.0], [10.0, 10.0, 80.0]);
        let vessel_wall = in_box([-12.0, -12.0, -80.0], [12.0, 12.0, 80.0]);
        let branch = in_box([0.0, -5.0, -5.0], [40.0, 5.0, 5.0]);
        let branch_wall = in_box([-2.0, -7.0, -7.0], [42.0, 7.0, 7.0]);
        // The facets of the round shapes lie within 1 mm of them; stay off every border by that much.
        let round = |c: [f64; 3], r: [f64; 3]| {
            let gauge = (0..3).map(|k| (p[k] - c[k]) / r[k]).map(|q: f64| q * q).sum::<f64>().sqrt();
            (1.0 - gauge) * r.into_iter().fold(f64::MAX, f64::min)
        };
        let ball = round([-30.0, 0.0, 0.0], [30.0; 3]);
        let muscle = round([0.0; 3], [90.0, 90.0, 140.0]);
        for border in [vessel, vessel_wall, branch, branch_wall, ball, muscle] {
            prop_assume!(border.abs() > 1.0);
        }
        prop_assume!(muscle > 0.0);
        let wanted = if branch > 0.0 {
            "blood"
        } else if branch_wall > 0.0 && vessel < 0.0 {
            "wall"
        } else if vessel > 0.0 {
            "blood"
        } else if vessel_wall > 0.0 {
            "wall"
        } else if ball > 0.0 {
            "liver"
        } else {
            "muscle"
        };
        prop_assert_eq!(painted(&section, at), wanted, "at {:?}", p);
    }

    /// The even-odd inside of a surface has the area of its loops (Monte Carlo over the ball's own box).
    #[test]
    fn insides_have_the_area_of_their_loops(z in -25.0..25.0_f64) {
        let section = body().section(&transverse(z));
        let area: f64 = section.all_loops().of_mesh(3).map(|outline| loop_area(outline.points)).sum();
        let mut inside = 0.0;
        for i in 0..120 {
            for j in 0..120 {
                let at = [-60.0 + 0.5 * (f64::from(i) + 0.5), -30.0 + 0.5 * (f64::from(j) + 0.5)];
                inside += if section.inside(3, at) { 0.25 } else { 0.0 };
            }
        }
        prop_assert!((inside - area).abs() < 0.03 * area, "{} by points, {} by loops", inside, area);
    }
}
