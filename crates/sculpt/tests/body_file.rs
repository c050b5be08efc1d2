//! From a mesh to the body file and back: what rounding may do, and what the file gives back.

#![expect(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    reason = "a test stops at the first thing that is wrong; its lengths are small"
)]

use anatomy::glb::GlbIndex;
use sculpt::glb::{NamedMesh, NodeShape, write};
use sculpt::manifold;
use sculpt::marching::TriMesh;
use sculpt::order::tuned;
use sculpt::quantise::{Quantised, quantise};
use sculpt::triple::{self as t, Triple};

/// An ellipsoid of `n` rings of `2 n` points, with the middle point of every ring pulled close to its neighbour, so
/// that there are slivers.
fn ellipsoid(radii: Triple, n: u32) -> TriMesh {
    let around = 2 * n;
    let mut positions = vec![[0.0, 0.0, radii[2]]];
    for ring in 1..n {
        let polar = std::f64::consts::PI * f64::from(ring) / f64::from(n);
        for k in 0..around {
            let k = if k == n {
                f64::from(n) - 0.97
            } else {
                f64::from(k)
            };
            let turn = std::f64::consts::TAU * k / f64::from(around);
            positions.push([
                radii[0] * libm::sin(polar) * libm::cos(turn),
                radii[1] * libm::sin(polar) * libm::sin(turn),
                radii[2] * libm::cos(polar),
            ]);
        }
    }
    positions.push([0.0, 0.0, -radii[2]]);
    let at = |ring: u32, k: u32| 1 + (ring - 1) * around + k % around;
    let last = 1 + (n - 1) * around;
    let mut triangles = Vec::new();
    for k in 0..around {
        triangles.push([0, at(1, k), at(1, k + 1)]);
        triangles.push([last, at(n - 1, k + 1), at(n - 1, k)]);
        for ring in 1..n - 1 {
            let [a, b] = [at(ring, k), at(ring, k + 1)];
            let [c, d] = [at(ring + 1, k), at(ring + 1, k + 1)];
            triangles.extend([[a, c, b], [b, c, d]]);
        }
    }
    TriMesh {
        positions,
        triangles,
    }
}

fn normal(corners: [Triple; 3]) -> Triple {
    let [a, b, c] = corners;
    t::cross(t::sub(b, a), t::sub(c, a))
}

/// Places of the grid points, mm.
fn places(q: &Quantised) -> Vec<Triple> {
    let place = |p: &[u16; 3]| t::add(q.translation, t::scale(p.map(f64::from), q.scale));
    q.positions.iter().map(place).collect()
}

/// `finest` is the finest step that may be needed.
fn check_rounding(mesh: &TriMesh, step: f64, finest: f64) {
    let q = quantise(mesh, step);
    assert!(
        q.scale <= step && q.scale >= finest,
        "step {} for {step}",
        q.scale
    );
    let places = places(&q);
    for (exact, rounded) in mesh.positions.iter().zip(&places) {
        let off = t::sub(*exact, *rounded);
        assert!(
            off.iter().all(|d| d.abs() < q.scale + 1e-9),
            "{exact:?} went to {rounded:?} at step {}",
            q.scale
        );
    }
    let turned = mesh.triangles.iter().filter(|tri| {
        let [exact, rounded] =
            [&mesh.positions, &places].map(|p| normal(tri.map(|v| p[v as usize])));
        t::dot(exact, rounded) <= 0.0
    });
    assert_eq!(
        turned.count(),
        0,
        "triangles turned over or flat at step {step}"
    );
    let mut distinct = q.positions.clone();
    distinct.sort_unstable();
    distinct.dedup();
    assert_eq!(distinct.len(), q.positions.len(), "vertices fell together");
    assert_eq!(
        manifold::check(&TriMesh {
            positions: places,
            triangles: q.triangles
        }),
        Ok(()),
        "closed"
    );
}

#[test]
fn rounding_turns_no_triangle_over() {
    let ball = ellipsoid([20.0, 20.0, 20.0], 24);
    let lens = ellipsoid([20.0, 20.0, 0.4], 16);
    // On their own grid points slivers of 0.08 mm would fall flat at these steps.
    for (mesh, step, finest) in [
        (&ball, 0.1, 0.1),
        (&ball, 0.5, 0.5),
        (&ball, 2.0, 0.25),
        (&lens, 0.1, 0.1),
        (&lens, 0.5, 0.1),
    ] {
        check_rounding(mesh, step, finest);
        let low = quantise(mesh, step).translation;
        let nearest = |p: &Triple| t::scale(t::sub(*p, low), 1.0 / step).map(f64::round);
        let rounded: Vec<Triple> = mesh.positions.iter().map(nearest).collect();
        let turned = mesh.triangles.iter().filter(|tri| {
            let [exact, rounded] =
                [&mesh.positions, &rounded].map(|p| normal(tri.map(|v| p[v as usize])));
            t::dot(exact, rounded) <= 0.0
        });
        if step >= 0.5 {
            assert!(turned.count() > 0, "an easy mesh tests nothing at {step}");
        }
    }
}

#[test]
fn a_mesh_too_large_for_the_grid_gets_a_coarser_one() {
    let large = ellipsoid([900.0, 900.0, 900.0], 8);
    let q = quantise(&large, 0.001);
    assert!(q.scale > 0.02 && q.scale < 0.03, "step {}", q.scale);
}

/// A triangle as the set of its corners' places with its sense, whatever corner it begins at and however vertices
/// are numbered.
fn senses(positions: &[Triple], triangles: &[[u32; 3]]) -> Vec<[[i64; 3]; 3]> {
    let micrometres = |p: Triple| p.map(|c| (c * 1000.0).round() as i64);
    let mut all: Vec<[[i64; 3]; 3]> = triangles
        .iter()
        .map(|tri| {
            let [a, b, c] = tri.map(|v| micrometres(positions[v as usize]));
            [[a, b, c], [b, c, a], [c, a, b]].into_iter().min().unwrap()
        })
        .collect();
    all.sort_unstable();
    all
}

#[test]
fn the_file_gives_back_the_rounded_meshes() {
    let ball = quantise(&ellipsoid([30.0, 20.0, 10.0], 40), 0.05);
    let egg = quantise(&ellipsoid([5.0, 8.0, 12.0], 9), 0.1);
    let entries = [
        ("ball", NodeShape::Own(tuned(&ball))),
        ("egg", NodeShape::Own(tuned(&egg))),
        ("other egg", NodeShape::MirrorOf(1)),
    ]
    .map(|(node, shape)| NamedMesh {
        node: node.to_owned(),
        shape,
    });
    let file = write(&entries);
    let index = GlbIndex::from_file(&file).unwrap();
    for (i, (q, mirrored)) in [(&ball, false), (&egg, false), (&egg, true)]
        .into_iter()
        .enumerate()
    {
        let mesh = index.mesh(&file, i).unwrap();
        mesh.check().unwrap();
        let got: Vec<Triple> = mesh.positions.iter().map(|p| p.map(f64::from)).collect();
        let mut wanted = places(q);
        let mut triangles = q.triangles.clone();
        if mirrored {
            wanted.iter_mut().for_each(|p| p[0] = -p[0]);
            triangles.iter_mut().for_each(|tri| tri.swap(1, 2));
        }
        assert_eq!(
            senses(&got, &mesh.triangles),
            senses(&wanted, &triangles),
            "mesh {i}"
        );
    }
    // The first mesh needs no byte of the later ones.
    let needs = index.needs(0).unwrap();
    assert!(needs < index.needs(1).unwrap(), "meshes lie in their order");
    assert_eq!(index.mesh(&file[..needs], 0), index.mesh(&file, 0));
    let plain = 8 * ball.positions.len() + 6 * ball.triangles.len();
    assert!(
        2 * file.len() < plain,
        "{} bytes instead of {plain} for the first mesh alone",
        file.len()
    );
}
