//! Every cut of a closed mesh is closed outlines, and they are the right ones.
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

mod shapes;

use geometry::{
    Convention, CutScratch, CutSet, Direction, ImagePlane, Loops, MarkSide, Mesh, Patient, Point,
    Vector, loop_area, loop_length,
};
use proptest::prelude::*;

/// Sides are decided in single precision; on meshes of this size (≤ 300 mm) that moves a point by
/// less than this, mm.
const ROUNDING: f64 = 2e-3;

/// Slices every triangle in double precision, with no clusters and no neighbours: the ends of each
/// segment in image mm, the solid on the right hand.
fn slice_each_triangle(mesh: &Mesh, plane: &ImagePlane) -> Vec<[[f64; 2]; 2]> {
    let mut segments = Vec::new();
    for triangle in &mesh.triangles {
        let corners = triangle.map(|vertex| {
            plane.to_image(Point::from_array(
                mesh.positions[vertex as usize].map(f64::from),
            ))
        });
        let mut down = None;
        let mut up = None;
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            if (a[2] >= 0.0) == (b[2] >= 0.0) {
                continue;
            }
            let part = a[2] / (a[2] - b[2]);
            let point = [a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])];
            if a[2] >= 0.0 {
                down = Some(point);
            } else {
                up = Some(point);
            }
        }
        if let (Some(up), Some(down)) = (up, down) {
            segments.push([down, up]);
        }
    }
    segments
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (x, y) = (a[0] - b[0], a[1] - b[1]);
    (x * x + y * y).sqrt()
}

fn cut(set: &CutSet, plane: &ImagePlane) -> Loops {
    let mut loops = Loops::default();
    set.cut(plane, &mut CutScratch::default(), &mut loops);
    loops
}

fn areas(loops: &Loops) -> f64 {
    loops.loops().map(|outline| loop_area(outline.points)).sum()
}

fn lengths(loops: &Loops) -> f64 {
    loops
        .loops()
        .map(|outline| loop_length(outline.points))
        .sum()
}

/// A general cut: same segments, length and area as slicing triangle by triangle.
fn check_against_slices(mesh: &Mesh, plane: &ImagePlane) {
    let set = CutSet::new(vec![mesh.clone()]).expect("a closed mesh");
    let loops = cut(&set, plane);
    let segments = slice_each_triangle(mesh, plane);
    let length: f64 = segments.iter().map(|[a, b]| distance(*a, *b)).sum();
    let area: f64 = segments
        .iter()
        .map(|[a, b]| (a[0] * b[1] - b[0] * a[1]) / 2.0)
        .sum();
    let points: usize = loops.loops().map(|outline| outline.points.len()).sum();
    // A triangle that only rounding puts across the plane adds a segment of no length.
    let slack = ROUNDING * 8.0;
    assert!(
        (lengths(&loops) - length).abs() <= slack,
        "length {} not {length}",
        lengths(&loops)
    );
    assert!(
        (areas(&loops) - area).abs() <= slack * (1.0 + length),
        "area"
    );
    assert!(
        points.abs_diff(segments.len()) <= 8,
        "{points} points, {} segments",
        segments.len()
    );
    for outline in loops.loops() {
        let ends = outline
            .points
            .iter()
            .zip(outline.points.iter().cycle().skip(1));
        for (&a, &b) in ends {
            let known = segments.iter().any(|[from, to]| {
                distance(*from, a) <= ROUNDING * 10.0 && distance(*to, b) <= ROUNDING * 10.0
            });
            assert!(
                known || distance(a, b) <= ROUNDING * 10.0,
                "side {a:?} {b:?} is no segment"
            );
        }
    }
}

fn plane(origin: [f64; 3], notch: [f64; 3], beam: [f64; 3]) -> Option<ImagePlane> {
    ImagePlane::from_notch_and_beam(
        Point::from_array(origin),
        Vector::from_array(notch),
        Vector::from_array(beam),
        Convention::GENERAL,
    )
    .ok()
}

fn plane_with_normal(point: [f64; 3], normal: [f64; 3]) -> ImagePlane {
    let normal = Direction::<Patient>::from_array(normal).expect("a normal");
    let notch = [
        Direction::x_axis(),
        Direction::y_axis(),
        Direction::z_axis(),
    ]
    .into_iter()
    .find_map(|axis| axis.perpendicular_to(normal))
    .expect("some axis is not the normal");
    // Row × column is the normal when the row is column × normal.
    let beam = notch.cross(normal);
    let plane =
        plane(point, notch.to_array(), beam.to_array()).expect("notch and beam are perpendicular");
    assert!(
        plane.normal().dot(normal).abs() > 1.0 - 1e-12,
        "the plane asked for"
    );
    plane
}

fn direction() -> impl Strategy<Value = [f64; 3]> {
    [-1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64].prop_filter("long enough", |v| {
        v.iter().map(|c| c * c).sum::<f64>() > 0.01
    })
}

fn place(size: f64) -> impl Strategy<Value = [f64; 3]> {
    [-size..size, -size..size, -size..size]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn outlines_of_balls_are_the_slices(
        rings in 3_u32..14, radius in 5.0..150.0_f64, bumps in 0.0..0.4_f64,
        centre in place(120.0), origin in place(200.0), notch in direction(), beam in direction(),
    ) {
        if let Some(plane) = plane(origin, notch, beam) {
            check_against_slices(&shapes::ball(centre, radius, rings, bumps), &plane);
        }
    }

    #[test]
    fn outlines_of_rings_are_the_slices(
        around in 3_u32..30, across in 3_u32..12, small in 1.0..30.0_f64,
        origin in place(60.0), notch in direction(), beam in direction(),
    ) {
        if let Some(plane) = plane(origin, notch, beam) {
            check_against_slices(&shapes::ring([5.0, -7.0, 3.0], 50.0, small, around, across), &plane);
        }
    }

    #[test]
    fn planes_through_vertices_edges_and_faces_are_closed(
        side in 1_u32..7, corner in [0_u32..7, 0_u32..7, 0_u32..7],
        normal in [-2_i32..3, -2_i32..3, -2_i32..3], sign in any::<bool>(),
    ) {
        prop_assume!(normal != [0, 0, 0]);
        let at = corner.map(|c| f64::from(c.min(side)));
        let normal = normal.map(|c| f64::from(if sign { c } else { -c }));
        let cube = shapes::grid_cube(side);
        let set = CutSet::new(vec![cube.clone()]).expect("a closed mesh");
        let plane = plane_with_normal(at, normal);
        let loops = cut(&set, &plane);
        // Slicing a hair to the side of the plane's own solid half gives the same area, up to the
        // strip the hair cuts off; "on" is above, so that half is the one below the plane.
        let hair = 1e-4;
        let aside = plane.with_origin(plane.origin() + plane.normal() * -hair);
        let near: f64 = slice_each_triangle(&cube, &aside)
            .iter()
            .map(|[a, b]| (a[0] * b[1] - b[0] * a[1]) / 2.0)
            .sum();
        let room = f64::from(side) * 20.0 * hair + ROUNDING * 20.0 * f64::from(side);
        prop_assert!((areas(&loops) - near).abs() <= room, "{} is not {near}", areas(&loops));
    }

    #[test]
    fn the_mirror_swaps_left_and_right_of_outlines(
        rings in 3_u32..12, origin in place(40.0), notch in direction(), beam in direction(),
    ) {
        let Some(plane) = plane(origin, notch, beam) else { return Ok(()) };
        let mirrored = ImagePlane::from_notch_and_beam(
            Point::from_array(origin),
            Vector::from_array(notch),
            Vector::from_array(beam),
            Convention { mark: MarkSide::Right, ..Convention::GENERAL },
        ).expect("as good as the first");
        let set = CutSet::new(vec![shapes::ball([3.0, 4.0, 5.0], 60.0, rings, 0.2)]).expect("closed");
        let (one, other) = (cut(&set, &plane), cut(&set, &mirrored));
        prop_assert_eq!(one.len(), other.len());
        prop_assert!((lengths(&one) - lengths(&other)).abs() < ROUNDING * 20.0, "length");
        prop_assert!((areas(&one) - areas(&other)).abs() < ROUNDING * 1000.0, "area");
        let side = |loops: &Loops, sign: f64| {
            loops.loops().flat_map(|l| l.points.to_vec()).map(|p| sign * p[0]).fold(f64::MIN, f64::max)
        };
        for sign in [1.0, -1.0] {
            if !one.is_empty() {
                prop_assert!((side(&one, sign) - side(&other, -sign)).abs() < ROUNDING * 10.0, "edge");
            }
        }
    }
}

#[test]
fn a_face_on_the_plane_belongs_to_the_half_below() {
    let set = CutSet::new(vec![shapes::grid_cube(4)]).expect("a closed mesh");
    let area_at = |z: f64, up: f64| {
        areas(&cut(
            &set,
            &plane_with_normal([0.0, 0.0, z], [0.0, 0.0, up]),
        ))
    };
    for (z, expected) in [(0.0, 16.0), (2.0, 16.0), (4.0, 16.0)] {
        // One of the two normals finds the face, the other misses the touching cube; inside the
        // cube both find the square.
        let mut found = [area_at(z, 1.0), area_at(z, -1.0)];
        found.sort_by(f64::total_cmp);
        assert!((found[1] - expected).abs() < 1e-9, "z = {z}: {found:?}");
        let other = if (0.5..3.5).contains(&z) {
            expected
        } else {
            0.0
        };
        assert!((found[0] - other).abs() < 1e-9, "z = {z}: {found:?}");
    }
}

#[test]
fn a_ring_cut_lengthwise_is_an_outline_and_a_hole() {
    let set = CutSet::new(vec![shapes::ring([0.0; 3], 50.0, 10.0, 96, 24)]).expect("closed");
    let loops = cut(&set, &plane_with_normal([0.0, 0.0, 0.5], [0.0, 0.0, 1.0]));
    let mut sizes: Vec<f64> = loops
        .loops()
        .map(|outline| loop_area(outline.points))
        .collect();
    sizes.sort_by(f64::total_cmp);
    assert_eq!(sizes.len(), 2, "outside and inside");
    assert!(sizes[0] < -4500.0, "the hole runs the other way: {sizes:?}");
    assert!(sizes[1] > 10_000.0, "the outside is positive: {sizes:?}");
}

#[test]
fn section_areas_integrate_to_the_volume() {
    let slices = 400_u32;
    for (name, mesh) in [
        ("ball", shapes::ball([10.0, -20.0, 30.0], 60.0, 24, 0.3)),
        ("ring", shapes::ring([0.0, 5.0, 0.0], 50.0, 14.0, 48, 16)),
        ("cube", shapes::grid_cube(6)),
    ] {
        let volume = mesh.volume_mm3();
        let set = CutSet::new(vec![mesh]).expect("a closed mesh");
        for normal in [[0.0, 0.0, 1.0], [0.3, -0.8, 0.5], [1.0, 1.0, 0.0]] {
            let (reach, middle) = (130.0, [10.0, -20.0, 30.0]);
            let step = 2.0 * reach / f64::from(slices);
            let total: f64 = (0..slices)
                .map(|slice| {
                    let along = -reach + step * (f64::from(slice) + 0.5);
                    let plane = plane_with_normal(middle, normal);
                    let origin = plane.origin() + plane.normal() * along;
                    areas(&cut(&set, &plane.with_origin(origin))) * step
                })
                .sum();
            let off = (total / volume - 1.0).abs();
            // A cube of 6 mm is only ten slices thick.
            let limit = if name == "cube" { 0.06 } else { 0.01 };
            assert!(
                off < limit,
                "{name} along {normal:?}: {total} mm³ of {volume} mm³"
            );
        }
    }
}

#[test]
fn outlines_come_by_mesh_and_do_not_depend_on_the_scratch() {
    let meshes = shapes::organs(24, 20_000, 7);
    let set = CutSet::new(meshes.clone()).expect("closed meshes");
    let other = CutSet::new(vec![shapes::grid_cube(3)]).expect("a closed mesh");
    let mut scratch = CutScratch::default();
    let (mut loops, mut again) = (Loops::default(), Loops::default());
    let mut seeded = shapes::Seeded(3);
    for _ in 0..60 {
        let origin = [0, 1, 2].map(|_| seeded.between(-60.0, 60.0));
        let normal = [0, 1, 2].map(|_| seeded.between(-1.0, 1.0));
        let plane = plane_with_normal(origin, normal);
        set.cut(&plane, &mut scratch, &mut loops);
        other.cut(&plane, &mut scratch, &mut again);
        set.cut(&plane, &mut CutScratch::default(), &mut again);
        assert_eq!(loops, again, "same cut, other scratch");
        let owners: Vec<usize> = loops.loops().map(|outline| outline.mesh).collect();
        assert!(owners.is_sorted(), "meshes ascending");
        for (mesh, surface) in meshes.iter().enumerate() {
            let alone = CutSet::new(vec![surface.clone()]).expect("a closed mesh");
            let alone = cut(&alone, &plane);
            let area: f64 = loops
                .of_mesh(mesh)
                .map(|outline| loop_area(outline.points))
                .sum();
            assert!(
                (area - areas(&alone)).abs() < 1e-6,
                "mesh {mesh} in company"
            );
        }
    }
}

#[test]
fn far_planes_and_empty_sets_give_nothing() {
    let empty = CutSet::new(Vec::new()).expect("no mesh is no fault");
    let anywhere = plane_with_normal([0.0; 3], [0.0, 1.0, 0.0]);
    assert!(
        empty.is_empty() && cut(&empty, &anywhere).is_empty(),
        "no mesh, no outline"
    );
    let set = CutSet::new(vec![shapes::grid_cube(2)]).expect("a closed mesh");
    for far in [1e3, 1e12, 1e300, -1e300] {
        let plane = plane_with_normal([0.0, far, 0.0], [0.0, 1.0, 0.0]);
        assert!(cut(&set, &plane).is_empty(), "{far} mm away");
    }
}

#[test]
fn open_meshes_are_refused_by_number() {
    let mut open = shapes::grid_cube(2);
    open.triangles.pop();
    let error = CutSet::new(vec![shapes::grid_cube(1), open]).expect_err("a hole");
    assert_eq!(error.mesh, 1);
    assert_eq!(
        error.to_string(),
        "mesh 1 of the set is not a closed surface"
    );
}
