//! Rays, nearest points, smoothed normals and slides on skins whose shape is known.

#![expect(
    clippy::expect_used,
    reason = "helpers of tests fail like the tests they serve"
)]

mod support;

use anatomy::SkinSurface;
use geometry::{Angle, Direction, Mesh, Mm, Patient, Point, Pose, Vector};
use proptest::prelude::*;
use support::{boxed, ellipsoid};

fn skin(mesh: Mesh) -> SkinSurface {
    SkinSurface::new(mesh).expect("a skin")
}

/// A ball of 100 mm radius in facets of about 5 mm, like a baked skin.
fn ball() -> &'static SkinSurface {
    static BALL: std::sync::OnceLock<SkinSurface> = std::sync::OnceLock::new();
    BALL.get_or_init(|| skin(ellipsoid([0.0; 3], [100.0; 3], 30)))
}

/// Largest distance of the ball's facets from the true sphere: sagitta of a 7.4 mm diagonal on a 100 mm sphere, and
/// more in the stretched middle of the cube's faces.
const FACET_MM: f64 = 0.3;

/// Two upright slabs `gap` mm apart, like two thighs; the left one begins at x = 0.
fn slabs(gap: f32) -> SkinSurface {
    let mut mesh = boxed([0.0, -50.0, -50.0], [40.0, 50.0, 50.0], 10);
    let other = boxed([-40.0 - gap, -50.0, -50.0], [-gap, 50.0, 50.0], 10);
    let first = u32::try_from(mesh.positions.len()).expect("few");
    mesh.positions.extend(other.positions);
    mesh.triangles.extend(
        other
            .triangles
            .iter()
            .map(|corners| corners.map(|corner| corner + first)),
    );
    skin(mesh)
}

fn direction(v: [f64; 3]) -> Direction<Patient> {
    Direction::from_array(v).expect("a direction")
}

fn point(at: [f64; 3]) -> Point<Patient> {
    Point::from_array(at)
}

fn pose_at(skin: &SkinSurface, at: [f64; 3], rotation_deg: f64) -> Pose {
    let at = skin.nearest(point(at));
    let (rotation, tilt, rock) = (Angle::deg(rotation_deg), Angle::deg(7.0), Angle::deg(-4.0));
    Pose::new(
        at.point,
        skin.smoothed_normal(&at),
        rotation,
        tilt,
        rock,
        Mm::new(2.0),
    )
    .expect("a pose")
}

#[test]
fn rays_meet_the_right_side() {
    let slabs = slabs(1.0);
    for (from, along, hit) in [
        ([-200.0, 3.0, 5.0], [1.0, 0.0, 0.0], Some([-41.0, 3.0, 5.0])),
        ([200.0, 3.0, 5.0], [-1.0, 0.0, 0.0], Some([40.0, 3.0, 5.0])),
        ([20.0, 3.0, 5.0], [-1.0, 0.0, 0.0], Some([-1.0, 3.0, 5.0])),
        ([20.0, 3.0, 5.0], [1.0, 0.0, 0.0], None),
        ([-200.0, 3.0, 55.0], [1.0, 0.0, 0.0], None),
        (
            [20.0, -200.0, 0.0],
            [0.0, 1.0, 0.0],
            Some([20.0, -50.0, 0.0]),
        ),
    ] {
        let got = slabs
            .ray(point(from), direction(along))
            .map(|hit| hit.point.to_array());
        match (got, hit) {
            (Some(got), Some(hit)) => {
                assert!(
                    (0..3).all(|k| (got[k] - hit[k]).abs() < 1e-4),
                    "{from:?}: {got:?}, not {hit:?}"
                );
            }
            (got, hit) => assert_eq!(got, hit, "{from:?} along {along:?}"),
        }
    }
    for (from, along, exit) in [
        ([20.0, 3.0, 5.0], [1.0, 0.0, 0.0], 40.0),
        ([20.0, 3.0, 5.0], [-1.0, 0.0, 0.0], 0.0),
        ([-200.0, 3.0, 5.0], [1.0, 0.0, 0.0], -1.0),
    ] {
        let got = slabs
            .ray_from_inside(point(from), direction(along))
            .expect("an exit");
        assert!(
            (got.point.x() - exit).abs() < 1e-4,
            "{from:?}: {:?}",
            got.point
        );
    }
    for (at, inside) in [
        ([20.0, 0.0, 0.0], true),
        ([-0.5, 0.0, 0.0], false),
        ([-20.0, 9.0, 49.0], true),
        ([0.0, 0.0, 80.0], false),
    ] {
        assert_eq!(slabs.contains(point(at)), inside, "{at:?}");
    }
}

#[test]
fn odd_meshes_and_points() {
    assert!(
        SkinSurface::new(Mesh::default()).is_none(),
        "no triangle, no skin"
    );
    let flat = Mesh {
        positions: vec![[0.0; 3], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0]],
        triangles: vec![[0, 1, 2]],
    };
    assert!(SkinSurface::new(flat).is_none(), "no area, no skin");
    let wild = Mesh {
        positions: vec![[0.0; 3]],
        triangles: vec![[0, 7, 9]],
    };
    assert!(
        SkinSurface::new(wild).is_none(),
        "missing vertices, no skin"
    );
    let nowhere = Point::new(f64::NAN, 0.0, 0.0);
    let somewhere = ball().nearest(nowhere);
    assert!(
        somewhere.point.is_finite(),
        "even a point that is none has an answer"
    );
    let pose = pose_at(ball(), [0.0, -100.0, 0.0], 30.0);
    assert_eq!(ball().slide_to(&pose, nowhere).pose, pose);
    assert!(
        !ball().slide_to(&pose, nowhere).arrived,
        "nowhere is never reached"
    );
    assert_eq!(ball().slide(&pose, Vector::new(f64::NAN, 0.0, 0.0)), pose);
}

/// Across the 90° edge of a box the smoothed normal turns bit by bit instead of at once.
#[test]
fn the_smoothed_normal_is_continuous_over_an_edge() {
    let block = skin(boxed([-60.0; 3], [60.0; 3], 12));
    let (mut before, mut turned) = (None::<Direction<Patient>>, 0.0_f64);
    for i in -300..=300_i32 {
        let along = f64::from(i) / 10.0;
        // Around the edge where the front (y = −60) meets the left side (x = 60).
        let at = if along < 0.0 {
            [60.0 + along, -60.0, 3.0]
        } else {
            [60.0, -60.0 + along, 3.0]
        };
        let normal = block.smoothed_normal(&block.nearest(point(at)));
        if let Some(before) = before {
            let step = Angle::acos(normal.dot(before)).to_deg();
            assert!(step < 3.0, "turned {step}° within 0.1 mm at {at:?}");
            turned += step;
        }
        before = Some(normal);
    }
    assert!((turned - 90.0).abs() < 3.0, "turned {turned}° in all");
}

#[test]
fn a_gap_is_not_jumped_and_the_other_thigh_does_not_count() {
    let slabs = slabs(1.0);
    let inner = slabs.nearest(point([-0.9, 0.0, 0.0]));
    let normal = slabs.smoothed_normal(&inner);
    assert!(normal.x() > 0.999, "the far slab must not bend {normal:?}");
    // From the front of the right slab toward the left one: round the edge, never across the gap.
    let slabs = self::slabs(10.0);
    let start = pose_at(&slabs, [-20.0, -50.0, 0.0], 0.0);
    let mut pose = start;
    for _ in 0..200 {
        let next = slabs.slide(&pose, Vector::new(1.0, 0.3, 0.0));
        let moved = (next.contact() - pose.contact()).norm();
        assert!(moved < 2.0, "a jump from {:?}", pose.contact());
        pose = next;
        assert!(
            pose.contact().x() < -9.99,
            "crossed the gap at {:?}",
            pose.contact()
        );
    }
    let across = slabs.slide_to(&start, point([20.0, -50.0, 0.0]));
    assert!(
        !across.arrived && across.pose.contact().x() < -9.99,
        "{:?}",
        across.pose.contact()
    );
    let lifted = slabs.place(&start, &slabs.nearest(point([20.0, -50.0, 0.0])));
    assert!(
        (lifted.contact().x() - 20.0).abs() < 1e-6,
        "lifted over {:?}",
        lifted.contact()
    );
    assert!(
        lifted.notch_on_skin().dot(start.notch_on_skin()) > 0.99,
        "the notch is kept"
    );
}

/// Along a great circle nothing turns: the notch keeps its angle to the path, also where twelve o'clock jumps.
#[test]
fn parallel_transport_over_the_pole() {
    let start = pose_at(ball(), [0.0, -100.0, 0.0], 90.0);
    // Head-wards over the top of the ball and down its back: half a turn, π · 100 mm.
    let (mut pose, mut worst) = (start, 0.0_f64);
    for _ in 0..157 {
        let heading = Direction::x_axis().cross(pose.normal());
        let next = ball().slide(&pose, -heading * 2.0);
        worst = worst.max(Angle::acos(next.axes().lateral.dot(pose.axes().lateral)).to_deg());
        pose = next;
    }
    assert!(
        pose.contact().y() > 95.0,
        "over the top: {:?}",
        pose.contact()
    );
    assert!(worst < 2.5, "{worst}° in one step of 2 mm");
    let notch = pose.notch_on_skin();
    assert!(
        notch.dot(start.notch_on_skin()) > 0.999,
        "the notch stays with +x: {notch:?}"
    );
    // There it lies at nine o'clock, since left and right change places seen from behind.
    assert!(
        (pose.rotation().to_deg() - 270.0).abs() < 3.0,
        "{:?}",
        pose.rotation().to_deg()
    );
    for (kept, was) in [(pose.tilt(), start.tilt()), (pose.rock(), start.rock())] {
        assert!(
            (kept - was).abs() < Angle::deg(1e-9),
            "tilt and rock are kept"
        );
    }
    assert!(
        (pose.press() - start.press()).abs() < Mm::new(1e-9),
        "press is kept"
    );
}

/// Around a triangle with three right angles on the sphere the notch comes back turned by its excess, 90°
/// (Gauss–Bonnet): the transport is the surface's own, not an artefact of steps or facets.
#[test]
fn transport_round_an_octant_turns_a_quarter() {
    let corners = [
        [0.0, -100.0, 0.0],
        [100.0, 0.0, 0.0],
        [0.0, 0.0, 100.0],
        [0.0, -100.0, 0.0],
    ];
    let start = pose_at(ball(), corners[0], 20.0);
    let mut pose = start;
    for pair in corners.windows(2) {
        let middle = point([0, 1, 2].map(|k| pair[0][k] + pair[1][k]));
        for target in [ball().nearest(middle).point, point(pair[1])] {
            let slide = ball().slide_to(&pose, target);
            assert!(
                slide.arrived,
                "on the way to {target:?}: {:?}",
                slide.pose.contact()
            );
            pose = slide.pose;
        }
    }
    let turned = Angle::acos(pose.notch_on_skin().dot(start.notch_on_skin())).to_deg();
    assert!((turned - 90.0).abs() < 3.0, "turned {turned}°");
}

proptest! {
    #[test]
    fn nearest_is_nearest(at in prop::array::uniform3(-150.0..150.0_f64)) {
        let p = point(at);
        let got = ball().nearest(p);
        let distance = (got.point - p).norm();
        let mesh = ball().mesh();
        // No vertex is nearer, and the distance is that of the sphere.
        for v in &mesh.positions {
            prop_assert!((point(v.map(f64::from)) - p).norm() >= distance - 1e-6, "vertex {:?}", v);
        }
        let wanted = ((p - Point::ORIGIN).norm() - 100.0).abs();
        prop_assert!((distance - wanted).abs() < FACET_MM, "{} for {}", distance, wanted);
        let corners = mesh.triangles[got.triangle].map(|i| mesh.positions[i as usize].map(f64::from)).map(point);
        let normal = (corners[1] - corners[0]).cross(corners[2] - corners[0]).direction().expect("an area");
        prop_assert!(normal.dot(got.normal) > 1.0 - 1e-9, "the normal is the triangle's own");
        prop_assert!((got.point - corners[0]).dot(normal.to_vector()).abs() < 1e-6, "the point lies on its triangle");
    }

    #[test]
    fn rays_hit_the_sphere(from in prop::array::uniform3(-1.0..1.0_f64), to in prop::array::uniform3(-55.0..55.0_f64)) {
        prop_assume!(from.iter().map(|c| c * c).sum::<f64>() > 0.01);
        let start = Point::ORIGIN + direction(from) * 300.0;
        let along = (point(to) - start).direction().expect("a direction");
        let hit = ball().ray(start, along).expect("a ray through the inside hits");
        prop_assert!(((hit.point - Point::ORIGIN).norm() - 100.0).abs() < FACET_MM, "{:?}", hit);
        prop_assert!(hit.normal.dot(along) < 0.0, "entering");
        let exit = ball().ray_from_inside(point(to), along).expect("an exit");
        prop_assert!(exit.normal.dot(along) > 0.0, "leaving");
        prop_assert!((exit.point - hit.point).dot(along.to_vector()) > 0.0, "the exit lies behind the entry");
        prop_assert!(ball().contains(point(to)), "inside");
        prop_assert!(!ball().contains(start), "outside");
    }

    /// On a ball the mean over any disc is the radial direction.
    #[test]
    fn the_smoothed_normal_of_a_ball(at in prop::array::uniform3(-1.0..1.0_f64)) {
        prop_assume!(at.iter().map(|c| c * c).sum::<f64>() > 0.01);
        let there = ball().nearest(Point::ORIGIN + direction(at) * 100.0);
        let radial = (there.point - Point::ORIGIN).direction().expect("off the centre");
        for normal in [ball().smoothed_normal(&there), ball().shading_normal(&there)] {
            let off = Angle::acos(normal.dot(radial)).to_deg();
            prop_assert!(off < 1.0, "{}°", off);
        }
    }

    /// A slide goes as far as asked, there and back lands where it began, and its length does not depend on how it is
    /// cut into pieces.
    #[test]
    fn slides_there_and_back(
        at in prop::array::uniform3(-1.0..1.0_f64),
        along in prop::array::uniform3(-20.0..20.0_f64),
        rotation in 0.0..360.0_f64,
    ) {
        prop_assume!(at.iter().map(|c| c * c).sum::<f64>() > 0.01);
        let start = pose_at(ball(), (Point::ORIGIN + direction(at) * 100.0).to_array(), rotation);
        let normal = start.normal().to_vector();
        let tangent = Vector::from_array(along) - normal * Vector::from_array(along).dot(normal);
        let there = ball().slide(&start, Vector::from_array(along));
        let arc = Angle::acos(there.normal().dot(start.normal())).to_rad() * 100.0;
        prop_assert!((arc - tangent.norm()).abs() < 0.05 * tangent.norm() + 0.5, "{} for {}", arc, tangent.norm());
        let back = ball().slide_to(&there, start.contact());
        prop_assert!(back.arrived, "{:?}", back.pose.contact());
        prop_assert!((back.pose.contact() - start.contact()).norm() < 0.25);
        let off = Angle::acos(back.pose.notch_on_skin().dot(start.notch_on_skin())).to_deg();
        prop_assert!(off < 2.0, "the notch is off by {}°", off);
    }
}
