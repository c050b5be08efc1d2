//! Time of a whole-body section beside parry3d's mesh by mesh, in one run.
//!
//! Absolute times differ between machines, so the ratio is what counts.
//! Prints one line of JSON per measure; `--quick` takes fewer planes.
#![expect(
    clippy::print_stdout,
    clippy::expect_used,
    reason = "a bench reports and may stop"
)]

#[path = "../tests/shapes/mod.rs"]
mod shapes;

use std::hint::black_box;
use std::time::Instant;

use geometry::{
    Convention, CutScratch, CutSet, Direction, ImagePlane, Loops, Patient, Point, loop_length,
};
use parry3d::math::Vector as ParryVector;
use parry3d::query::IntersectResult;
use parry3d::shape::TriMesh;

const MESHES: u32 = 40;
const TRIANGLES: u32 = 150_000;

/// parry3d panics on a plane through a vertex at tolerance zero.
const PARRY_TOLERANCE: f32 = 1e-5;

fn planes(count: usize) -> Vec<ImagePlane> {
    let mut seeded = shapes::Seeded(2026);
    let mut planes = Vec::with_capacity(count);
    while planes.len() < count {
        let origin = [130.0, 80.0, 250.0].map(|reach| seeded.between(-reach, reach));
        let [notch, beam] = [0, 1].map(|_| [0, 1, 2].map(|_| seeded.between(-1.0, 1.0)));
        let axes = (
            Direction::<Patient>::from_array(notch),
            Direction::from_array(beam),
        );
        let (Some(notch), Some(beam)) = axes else {
            continue;
        };
        let plane = ImagePlane::from_notch_and_beam(
            Point::from_array(origin),
            notch.to_vector(),
            beam.to_vector(),
            Convention::GENERAL,
        );
        planes.extend(plane);
    }
    planes
}

/// Median and 99th percentile, µs, of the best of three runs of `work` on each plane; a run does it `repeats` times,
/// because the clock of a browser ticks every 5 µs.
fn time(planes: &[ImagePlane], repeats: u32, mut work: impl FnMut(&ImagePlane)) -> (f64, f64) {
    let mut times: Vec<f64> = planes
        .iter()
        .map(|plane| {
            let once = |work: &mut dyn FnMut(&ImagePlane)| {
                let start = Instant::now();
                for _ in 0..repeats {
                    work(black_box(plane));
                }
                start.elapsed().as_secs_f64() * 1e6 / f64::from(repeats)
            };
            [once(&mut work), once(&mut work), once(&mut work)]
                .into_iter()
                .fold(f64::MAX, f64::min)
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], times[times.len() * 99 / 100])
}

#[expect(clippy::cast_possible_truncation, reason = "the peer works in f32")]
fn single(components: [f64; 3]) -> [f32; 3] {
    components.map(|c| c as f32)
}

/// The peer: each mesh whose box the plane reaches is cut by parry3d; total length of the outlines.
fn parry_section(meshes: &[TriMesh], plane: &ImagePlane) -> f64 {
    let [nx, ny, nz] = single(plane.normal().to_array());
    let normal = ParryVector::new(nx, ny, nz);
    let offset = single([
        plane.normal().to_vector().dot(plane.origin().to_vector()),
        0.0,
        0.0,
    ])[0];
    let mut length = 0.0;
    for mesh in meshes {
        let aabb = mesh.local_aabb();
        let (centre, half) = (aabb.center(), aabb.half_extents());
        let reach = half.x * nx.abs() + half.y * ny.abs() + half.z * nz.abs();
        if (centre.x * nx + centre.y * ny + centre.z * nz - offset).abs() > reach {
            continue;
        }
        let cut = mesh.intersection_with_local_plane(normal, offset, PARRY_TOLERANCE);
        if let IntersectResult::Intersect(line) = cut {
            for [a, b] in line.indices() {
                let (a, b) = (line.vertices()[*a as usize], line.vertices()[*b as usize]);
                length += f64::from((a - b).length());
            }
        }
    }
    length
}

fn main() {
    let quick = std::env::args().any(|argument| argument == "--quick");
    let planes = planes(if quick { 100 } else { 1000 });
    let meshes = shapes::organs(MESHES, TRIANGLES, 1);
    let triangles: usize = meshes.iter().map(|mesh| mesh.triangles.len()).sum();
    let peers: Vec<TriMesh> = meshes
        .iter()
        .map(|mesh| {
            let vertices = mesh
                .positions
                .iter()
                .map(|&[x, y, z]| ParryVector::new(x, y, z));
            TriMesh::new(vertices.collect(), mesh.triangles.clone()).expect("a good mesh")
        })
        .collect();
    let prepare = Instant::now();
    let set = CutSet::new(meshes).expect("closed meshes");
    let prepare_ms = prepare.elapsed().as_secs_f64() * 1e3;
    let (mut scratch, mut loops) = (CutScratch::default(), Loops::default());

    let (mut outlines, mut points, mut length, mut peer_length) = (0, 0, 0.0, 0.0);
    for plane in &planes {
        set.cut(plane, &mut scratch, &mut loops);
        outlines += loops.len();
        points += loops
            .loops()
            .map(|outline| outline.points.len())
            .sum::<usize>();
        length += loops
            .loops()
            .map(|outline| loop_length(outline.points))
            .sum::<f64>();
        peer_length += parry_section(&peers, plane);
    }
    let agreement = (length / peer_length - 1.0).abs();
    assert!(
        agreement < 1e-3,
        "outlines of {length} mm, the peer's {peer_length} mm"
    );

    let own = time(&planes, 10, |plane| {
        set.cut(plane, &mut scratch, &mut loops);
        black_box(&loops);
    });
    let peer = time(&planes, 1, |plane| {
        black_box(parry_section(&peers, plane));
    });
    println!(
        "{{\"about\":\"{triangles} triangles in {MESHES} meshes, {} planes, {outlines} outlines of {points} points, \
         prepared in {prepare_ms:.0} ms\"}}",
        planes.len()
    );
    for (name, (median, p99)) in [
        ("section of 40 made-up meshes", own),
        ("the same by parry3d", peer),
    ] {
        println!("{{\"name\":\"{name}\",\"median_us\":{median:.2},\"p99_us\":{p99:.2}}}");
    }
}
