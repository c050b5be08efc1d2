//! Chords lie inside every round surface, so a mesh with its corners on the surface is too small everywhere. Moving the
//! corners outward by the mean of what the triangles round them miss halves the largest error and makes the mean vanish.

use crate::marching::TriMesh;
use crate::triple::{self as t, Triple};

/// Moves each vertex along the mesh's normal so that the signed distances over its triangles average out, at most
/// `reach` mm in all.
#[must_use]
pub fn balance(mesh: &TriMesh, field: &dyn Fn(Triple) -> f64, reach: f64) -> TriMesh {
    const ROUNDS: usize = 2;
    let mut positions = mesh.positions.clone();
    for _ in 0..ROUNDS {
        let mut missed = vec![0.0; positions.len()];
        let mut weight = vec![0.0; positions.len()];
        let mut normals = vec![[0.0; 3]; positions.len()];
        for tri in &mesh.triangles {
            let [a, b, c] = tri.map(|v| positions[v as usize]);
            let n = t::cross(t::sub(b, a), t::sub(c, a));
            let area = t::length(n);
            let centre = t::scale(t::add(a, t::add(b, c)), 1.0 / 3.0);
            let f = field(centre).clamp(-reach, reach);
            for &v in tri {
                missed[v as usize] += area * f;
                weight[v as usize] += area;
                normals[v as usize] = t::add(normals[v as usize], n);
            }
            for k in 0..3 {
                let (v, w) = (tri[k] as usize, tri[(k + 1) % 3] as usize);
                if v < w {
                    let f = field(t::lerp(positions[v], positions[w], 0.5)).clamp(-reach, reach);
                    for i in [v, w] {
                        missed[i] += area * f;
                        weight[i] += area;
                    }
                }
            }
        }
        for (i, p) in positions.iter_mut().enumerate() {
            let own = field(*p).clamp(-reach, reach);
            let Some(n) = t::unit(normals[i]) else {
                continue;
            };
            if weight[i] <= 0.0 {
                continue;
            }
            // The corner itself counts a quarter: at a tip or ridge it alone is where the shape is.
            let mean = 0.75 * missed[i] / weight[i] + 0.25 * own;
            let moved = t::add(*p, t::scale(n, -mean));
            let whole = t::sub(moved, mesh.positions[i]);
            let far = t::length(whole);
            *p = if far > reach {
                t::add(mesh.positions[i], t::scale(whole, reach / far))
            } else {
                moved
            };
        }
    }
    TriMesh {
        positions,
        triangles: mesh.triangles.clone(),
    }
}
