//! Edges turned to lie along the surface. Of the two diagonals of a pair of triangles one runs along the ridge and the
//! other across it; collapsing edges leaves either, and the wrong one costs as much as half the triangles.

use crate::crossing::crossings;
use crate::marching::TriMesh;
use crate::triple::{self as t, Triple};
use std::collections::HashMap;

/// Passes over all edges.
const PASSES: usize = 2;
/// A flip must bring the middle of the edge nearer to the surface by this share.
const GAIN: f64 = 0.8;
/// Least altitude of a triangle over its longest edge.
const LEAST_ALTITUDE: f64 = 0.05;
/// Least cosine between the new triangles and the old pair.
const LEAST_COSINE: f64 = 0.5;

/// Times that flips are done again without those that made the mesh cut itself.
const TRIES: usize = 4;

/// Flips edges whose other diagonal has its middle nearer to the surface of `field`. A closed manifold stays one, and
/// one that does not cut itself stays so.
#[must_use]
pub fn flip(mesh: &TriMesh, field: &dyn Fn(Triple) -> f64) -> TriMesh {
    let mut barred = vec![false; mesh.positions.len()];
    for _ in 0..TRIES {
        let flipped = flipped(mesh.clone(), field, &barred);
        let changed: Vec<bool> = flipped
            .triangles
            .iter()
            .zip(&mesh.triangles)
            .map(|(new, old)| new != old)
            .collect();
        let mut free = true;
        for (i, j) in crossings(&flipped, &changed) {
            for v in flipped.triangles[i].into_iter().chain(flipped.triangles[j]) {
                free &= barred[v as usize];
                barred[v as usize] = true;
            }
        }
        if free {
            return flipped;
        }
    }
    mesh.clone()
}

fn flipped(mut mesh: TriMesh, field: &dyn Fn(Triple) -> f64, barred: &[bool]) -> TriMesh {
    let mut owner: HashMap<(u32, u32), u32> = HashMap::with_capacity(3 * mesh.triangles.len());
    let mut degree = vec![0_u32; mesh.positions.len()];
    for (i, tri) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            owner.insert(
                (tri[k], tri[(k + 1) % 3]),
                u32::try_from(i).unwrap_or(u32::MAX),
            );
            degree[tri[k] as usize] += 1;
        }
    }
    let mut missed: HashMap<(u32, u32), f64> = HashMap::with_capacity(3 * mesh.triangles.len());
    for _ in 0..PASSES {
        let mut flips = 0;
        for i in 0..mesh.triangles.len() {
            for k in 0..3 {
                let tri = mesh.triangles[i];
                let (a, b, c) = (tri[k], tri[(k + 1) % 3], tri[(k + 2) % 3]);
                let Some(&other) = owner.get(&(b, a)) else {
                    continue;
                };
                let Some(&d) = mesh.triangles[other as usize]
                    .iter()
                    .find(|&&v| v != a && v != b)
                else {
                    continue;
                };
                if a > b
                    || [a, b, c, d].iter().any(|&v| barred[v as usize])
                    || c == d
                    || degree[a as usize] < 5
                    || degree[b as usize] < 5
                    || owner.contains_key(&(c, d))
                    || owner.contains_key(&(d, c))
                    || !fair(&mesh.positions, [a, b, c, d])
                {
                    continue;
                }
                let mut middle = |v: u32, w: u32| {
                    *missed.entry((v.min(w), v.max(w))).or_insert_with(|| {
                        let m =
                            t::lerp(mesh.positions[v as usize], mesh.positions[w as usize], 0.5);
                        field(m).abs()
                    })
                };
                let now = middle(a, b);
                if now < 1e-4 || middle(c, d) > GAIN * now {
                    continue;
                }
                mesh.triangles[i] = [a, d, c];
                mesh.triangles[other as usize] = [d, b, c];
                owner.remove(&(a, b));
                owner.remove(&(b, a));
                let here = u32::try_from(i).unwrap_or(u32::MAX);
                owner.extend([
                    ((a, d), here),
                    ((d, c), here),
                    ((c, d), other),
                    ((b, c), other),
                ]);
                degree[a as usize] -= 1;
                degree[b as usize] -= 1;
                degree[c as usize] += 1;
                degree[d as usize] += 1;
                flips += 1;
                break;
            }
        }
        if flips == 0 {
            break;
        }
    }
    mesh
}

/// Whether the pair of triangles `a b c` and `b a d` may become `a d c` and `d b c`: both well shaped and facing the same way.
fn fair(positions: &[Triple], corners: [u32; 4]) -> bool {
    let [a, b, c, d] = corners.map(|v| positions[v as usize]);
    let cross = |p: Triple, q: Triple, r: Triple| t::cross(t::sub(q, p), t::sub(r, p));
    let Some(was) = t::unit(t::add(cross(a, b, c), cross(b, a, d))) else {
        return false;
    };
    [[a, d, c], [d, b, c]].iter().all(|&[p, q, r]| {
        let n = cross(p, q, r);
        let longest2 = [t::sub(q, p), t::sub(r, q), t::sub(p, r)]
            .iter()
            .map(|e| t::dot(*e, *e))
            .fold(0.0, f64::max);
        let twice = t::length(n);
        twice > LEAST_ALTITUDE * longest2 && t::dot(n, was) > LEAST_COSINE * twice
    })
}
