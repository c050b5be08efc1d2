//! Chords lie inside every round surface, so a mesh with its corners on the surface is too small everywhere. Moving the
//! corners so that the squared distances over all triangles become least makes the mean vanish and the rest a third.

use crate::marching::TriMesh;
use crate::triple::{self as t, Triple};
use crate::untangle::untangled;

/// Six points of a triangle in barycentric coordinates with their weights, exact for polynomials of degree 4
/// (Dunavant, Int. J. Numer. Methods Eng. 21, 1985; figures from memory, the weights add up to 1).
const POINTS: [([f64; 3], f64); 6] = {
    const A: f64 = 0.445_948_490_915_965;
    const B: f64 = 0.091_576_213_509_771;
    const WA: f64 = 0.223_381_589_678_011;
    const WB: f64 = 0.109_951_743_655_322;
    [
        ([1.0 - 2.0 * A, A, A], WA),
        ([A, 1.0 - 2.0 * A, A], WA),
        ([A, A, 1.0 - 2.0 * A], WA),
        ([1.0 - 2.0 * B, B, B], WB),
        ([B, 1.0 - 2.0 * B, B], WB),
        ([B, B, 1.0 - 2.0 * B], WB),
    ]
};

/// One equation: how far the surface is missed at a point, and how much each corner's move changes that.
struct Equation {
    corners: [u32; 3],
    factors: [f64; 3],
    missed: f64,
    weight: f64,
}

/// Moves each vertex along the mesh's normal, at most `reach` mm, so that the sum over the mesh of the squared distances
/// from the surface of `field` becomes least.
#[must_use]
pub fn balance(mesh: &TriMesh, field: &dyn Fn(Triple) -> f64, reach: f64) -> TriMesh {
    let normals = mesh.normals();
    let mut equations = Vec::with_capacity(POINTS.len() * mesh.triangles.len());
    for &corners in &mesh.triangles {
        let [a, b, c] = corners.map(|v| mesh.positions[v as usize]);
        let n = t::cross(t::sub(b, a), t::sub(c, a));
        let area = t::length(n);
        let Some(n) = t::unit(n) else { continue };
        let slope = corners.map(|v| t::dot(normals[v as usize], n));
        for (at, weight) in POINTS {
            let p = t::add(
                t::scale(a, at[0]),
                t::add(t::scale(b, at[1]), t::scale(c, at[2])),
            );
            let f = field(p);
            // Where the shape is thinner than the mesh the value says little.
            let trust = if f.abs() > 2.0 * reach { 0.1 } else { 1.0 };
            equations.push(Equation {
                corners,
                factors: std::array::from_fn(|k| at[k] * slope[k]),
                missed: f.clamp(-2.0 * reach, 2.0 * reach),
                weight: area * weight * trust,
            });
        }
    }
    let moves = least_squares(&equations, mesh.positions.len());
    let moved = TriMesh {
        positions: mesh
            .positions
            .iter()
            .zip(&normals)
            .zip(moves)
            .map(|((&p, &n), d)| t::add(p, t::scale(n, d.clamp(-reach, reach))))
            .collect(),
        triangles: mesh.triangles.clone(),
    };
    untangled(moved, &mesh.positions)
}

/// The moves that make the weighted sum of squares least, by conjugate gradients with the diagonal as preconditioner
/// (Hestenes and Stiefel, 1952).
fn least_squares(equations: &[Equation], count: usize) -> Vec<f64> {
    /// The mesh couples neighbours only, so a dozen steps bring the rest below a hundredth.
    const STEPS: usize = 12;
    /// Pull toward no move at all, as a share of the diagonal: at a tip a corner is where the shape is.
    const STAY: f64 = 0.05;
    let mut diagonal = vec![0.0; count];
    let mut residual = vec![0.0; count];
    for e in equations {
        for k in 0..3 {
            let i = e.corners[k] as usize;
            diagonal[i] += e.weight * e.factors[k] * e.factors[k];
            residual[i] -= e.weight * e.factors[k] * e.missed;
        }
    }
    for d in &mut diagonal {
        *d = d.max(1e-12);
    }
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let eased = |r: &[f64]| -> Vec<f64> { r.iter().zip(&diagonal).map(|(r, d)| r / d).collect() };
    let mut moves = vec![0.0; count];
    let mut toward = eased(&residual);
    let mut size = dot(&residual, &toward);
    for _ in 0..STEPS {
        let mut image: Vec<f64> = toward
            .iter()
            .zip(&diagonal)
            .map(|(x, d)| STAY * d * x)
            .collect();
        for e in equations {
            let along: f64 = (0..3)
                .map(|k| e.factors[k] * toward[e.corners[k] as usize])
                .sum();
            for k in 0..3 {
                image[e.corners[k] as usize] += e.weight * e.factors[k] * along;
            }
        }
        let bend = dot(&toward, &image);
        if bend <= 0.0 || size <= 0.0 {
            break;
        }
        let step = size / bend;
        for i in 0..count {
            moves[i] += step * toward[i];
            residual[i] -= step * image[i];
        }
        let next = eased(&residual);
        let new_size = dot(&residual, &next);
        for (x, r) in toward.iter_mut().zip(next) {
            *x = r + new_size / size * *x;
        }
        size = new_size;
    }
    moves
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ball_of_chords_grows_to_the_volume_it_stands_for() {
        // An octahedron divided three times, corners on the sphere of 10 mm.
        let r = 10.0;
        let TriMesh {
            mut positions,
            mut triangles,
        } = crate::marching::octahedron(r);
        for _ in 0..3 {
            let mut finer = Vec::new();
            let mut middle = std::collections::BTreeMap::new();
            for v in &triangles {
                let m: [u32; 3] = std::array::from_fn(|k| {
                    let (a, b) = (v[k], v[(k + 1) % 3]);
                    *middle.entry((a.min(b), a.max(b))).or_insert_with(|| {
                        let p = t::lerp(positions[a as usize], positions[b as usize], 0.5);
                        positions.push(t::scale(t::unit(p).unwrap(), r));
                        u32::try_from(positions.len() - 1).unwrap()
                    })
                });
                finer.extend([
                    [v[0], m[0], m[2]],
                    [m[0], v[1], m[1]],
                    [m[2], m[1], v[2]],
                    m,
                ]);
            }
            triangles = finer;
        }
        let mesh = TriMesh {
            positions,
            triangles,
        };
        let ball = 4.0 / 3.0 * std::f64::consts::PI * r * r * r;
        let before = crate::manifold::volume(&mesh) / ball - 1.0;
        let after =
            crate::manifold::volume(&balance(&mesh, &|p| t::length(p) - r, 1.0)) / ball - 1.0;
        assert!(
            before < -0.01 && after.abs() < 0.001,
            "{before} before, {after} after"
        );
    }
}
