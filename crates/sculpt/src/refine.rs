//! Finer triangles where a mesh misses the surface: at edges of the shape and in narrow places that the grid cut across.

use crate::marching::TriMesh;
use crate::nearness::{found_along, met_within, within};
use crate::triple::{self as t, Triple};
use crate::untangle::untangled;
use std::collections::HashMap;

/// Least cosine between a triangle and the mesh at its corners for the corners to count as smooth, 37 degrees.
const SMOOTH: f64 = 0.8;

/// Splits edges whose middle is farther than `tolerance` mm from the surface, at most `rounds` times over: along the
/// triangle's own normal, and at a rim also along the rim's. All triangles round a split edge are divided alike, so a closed
/// manifold stays one.
#[must_use]
pub fn refine(
    mut mesh: TriMesh,
    field: &dyn Fn(Triple) -> f64,
    tolerance: f64,
    rounds: usize,
) -> TriMesh {
    // An edge found good stays good: only edges of the round before and their halves are looked at again.
    let mut fresh: Option<Vec<bool>> = None;
    for _ in 0..rounds {
        let mut home = mesh.positions.clone();
        let normals = mesh.normals();
        let mut middle: HashMap<(u32, u32), u32> = HashMap::new();
        let old_count = mesh.triangles.len();
        for tri in 0..old_count {
            if fresh.as_ref().is_some_and(|f| !f[tri]) {
                continue;
            }
            let v = mesh.triangles[tri];
            let [p, q, r] = v.map(|i| mesh.positions[i as usize]);
            let Some(normal) = t::unit(t::cross(t::sub(q, p), t::sub(r, p))) else {
                continue;
            };
            for k in 0..3 {
                let (a, b) = (v[k], v[(k + 1) % 3]);
                let (p, q) = (mesh.positions[a as usize], mesh.positions[b as usize]);
                let length = t::length(t::sub(p, q));
                let key = (a.min(b), a.max(b));
                if length < 2.0 * tolerance || middle.contains_key(&key) {
                    continue;
                }
                let m = t::lerp(p, q, 0.5);
                let (na, nb) = (normals[a as usize], normals[b as usize]);
                let rim = if t::dot(normal, na).min(t::dot(normal, nb)) < SMOOTH {
                    t::unit(t::add(na, nb)).filter(|&n| !met_within(field, m, n, tolerance))
                } else {
                    None
                };
                let off = if within(field, m, normal, tolerance) {
                    rim
                } else {
                    Some(normal)
                };
                if let Some(off) = off
                    && let Some(placed) = found_along(field, m, off, 0.6 * length)
                {
                    middle.insert(key, u32::try_from(mesh.positions.len()).unwrap_or(u32::MAX));
                    mesh.positions.push(placed);
                    home.push(m);
                }
            }
        }
        if middle.is_empty() {
            return mesh;
        }
        let mut triangles = Vec::with_capacity(old_count + 2 * middle.len());
        let mut touched = Vec::with_capacity(triangles.capacity());
        for v in &mesh.triangles {
            let m: [Option<u32>; 3] = std::array::from_fn(|k| {
                let (a, b) = (v[k], v[(k + 1) % 3]);
                middle.get(&(a.min(b), a.max(b))).copied()
            });
            let before = triangles.len();
            divide(v, m, &mut triangles);
            let changed = m.iter().any(Option::is_some);
            touched.extend(std::iter::repeat_n(changed, triangles.len() - before));
        }
        mesh.triangles = triangles;
        mesh = untangled(mesh, &home);
        fresh = Some(touched);
    }
    mesh
}

/// A triangle cut at the middles that exist; `m[k]` is the middle of the edge from corner k to the next.
fn divide(v: &[u32; 3], m: [Option<u32>; 3], out: &mut Vec<[u32; 3]>) {
    match m {
        [None, None, None] => out.push(*v),
        [Some(x), Some(y), Some(z)] => {
            out.extend([[v[0], x, z], [x, v[1], y], [z, y, v[2]], [x, y, z]]);
        }
        _ => {
            // Turn the triangle so that its pattern starts with a cut edge followed by an uncut one (one cut), or with
            // two cut edges (two cuts).
            let two = m.iter().flatten().count() == 2;
            let k = (0..3)
                .find(|&k| m[k].is_some() && (!two || m[(k + 1) % 3].is_some()))
                .unwrap_or(0);
            let (a, b, c) = (v[k], v[(k + 1) % 3], v[(k + 2) % 3]);
            match (m[k], m[(k + 1) % 3]) {
                (Some(x), Some(y)) => out.extend([[a, x, c], [x, y, c], [x, b, y]]),
                (Some(x), None) => out.extend([[a, x, c], [x, b, c]]),
                _ => out.push(*v),
            }
        }
    }
}
