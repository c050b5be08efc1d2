//! Meshes derived from meshes: the right one of a pair as a mirror image, a wall with the triangles of its lumen.
//!
//! Both save time; a wall with the lumen's triangles also keeps its thickness even and costs the file no new indices.

use crate::layers::SurfaceKind;
use crate::marching::TriMesh;
use crate::model::Model;
use crate::triple::{self as t, Triple};
use crate::untangle::untangled;

/// Largest difference of two values that are meant to be mirror images, mm.
const SYMMETRY: f64 = 1e-6;

/// The left structure whose mirror image structure `i` is, when it is one of a pair.
#[must_use]
pub fn left_twin(model: &Model, i: usize) -> Option<usize> {
    let s = &model.structures[i];
    if !s.solid.mirrored {
        return None;
    }
    model.find(&format!("left_{}", s.id.strip_prefix("right_")?))
}

/// The mirror image of the left surface's mesh, if the right surface really lies there: references to organs of one side
/// make a pair uneven.
#[must_use]
pub fn mirrored(
    model: &Model,
    left: SurfaceKind,
    right: SurfaceKind,
    mesh: &TriMesh,
) -> Option<TriMesh> {
    let even = mesh
        .positions
        .iter()
        .all(|&p| (left.value(model, p) - right.value(model, t::mirror(p))).abs() < SYMMETRY);
    even.then(|| TriMesh {
        positions: mesh.positions.iter().map(|&p| t::mirror(p)).collect(),
        triangles: mesh.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect(),
    })
}

/// The lumen's mesh moved out by `mm` (inward when negative) to the surface of `field`. Where moving folds (in a sharp hollow two sides meet), the vertices
/// concerned take the mean shift of their neighbours; `None` where that does not help either.
#[must_use]
pub fn moved_out(lumen: &TriMesh, mm: f64, field: &dyn Fn(Triple) -> f64) -> Option<TriMesh> {
    const ROUNDS: usize = 4;
    let mut shifts: Vec<Option<Triple>> = lumen
        .positions
        .iter()
        .map(|&p| shift(p, mm, field))
        .collect();
    for round in 0..ROUNDS {
        let positions: Vec<Triple> = lumen
            .positions
            .iter()
            .zip(&shifts)
            .map(|(&p, s)| t::add(p, s.unwrap_or_default()))
            .collect();
        for tri in lumen
            .triangles
            .iter()
            .filter(|tri| folded(lumen, &positions, tri))
        {
            for &v in tri {
                shifts[v as usize] = None;
            }
        }
        // The tips of a few folds left in the narrowest grooves are smaller than anything drawn; the triangles still close.
        let left = shifts.iter().filter(|s| s.is_none()).count();
        if left == 0 || (round + 1 == ROUNDS && 500 * left <= shifts.len()) {
            let moved = TriMesh {
                positions,
                triangles: lumen.triangles.clone(),
            };
            return Some(untangled(moved, &lumen.positions));
        }
        fill_from_neighbours(lumen, &mut shifts);
    }
    None
}

/// From the lumen's vertex `p` to the wall's surface, at most twice the wall's thickness away.
fn shift(p: Triple, mm: f64, field: &dyn Fn(Triple) -> f64) -> Option<Triple> {
    let n = t::unit(Model::gradient(field, p))?;
    let mut q = t::add(p, t::scale(n, mm));
    for _ in 0..3 {
        let f = field(q);
        // A hundredth of the finest tolerance.
        if f.abs() < 0.003 {
            break;
        }
        let g = Model::gradient(field, q);
        let g2 = t::dot(g, g);
        if g2 < 1e-4 {
            return None;
        }
        q = t::sub(q, t::scale(g, f / g2));
    }
    let moved = t::sub(q, p);
    (field(q).abs() < 0.05 * mm.abs().max(0.5) && t::length(moved) < 2.0 * mm.abs())
        .then_some(moved)
}

/// Whether a triangle turned away from where it faced, or shrank to nearly nothing.
fn folded(lumen: &TriMesh, positions: &[Triple], tri: &[u32; 3]) -> bool {
    let normal = |positions: &[Triple]| {
        let [a, b, c] = tri.map(|v| positions[v as usize]);
        t::cross(t::sub(b, a), t::sub(c, a))
    };
    let (n, n0) = (normal(positions), normal(&lumen.positions));
    t::dot(n, n0) <= 0.25 * t::length(n) * t::length(n0) || t::length(n) <= 0.2 * t::length(n0)
}

/// Gives every vertex without a shift the mean of its neighbours' shifts, ring by ring.
fn fill_from_neighbours(lumen: &TriMesh, shifts: &mut [Option<Triple>]) {
    while shifts.iter().any(Option::is_none) {
        let mut sums: Vec<(Triple, f64)> = vec![([0.0; 3], 0.0); shifts.len()];
        for tri in &lumen.triangles {
            for k in 0..3 {
                let (v, w) = (tri[k] as usize, tri[(k + 1) % 3] as usize);
                if let (None, Some(s)) = (shifts[v], shifts[w]) {
                    sums[v] = (t::add(sums[v].0, s), sums[v].1 + 1.0);
                }
            }
        }
        let mut changed = false;
        for (shift, (sum, n)) in shifts.iter_mut().zip(sums) {
            if shift.is_none() && n > 0.0 {
                *shift = Some(t::scale(sum, 1.0 / n));
                changed = true;
            }
        }
        if !changed {
            return;
        }
    }
}
