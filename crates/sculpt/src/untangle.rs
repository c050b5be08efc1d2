//! Moves taken back where they make a mesh pass through itself.

use crate::crossing::crossings;
use crate::marching::TriMesh;
use crate::triple::{self as t, Triple};

/// Rounds of looking and taking back. From the fourth on a vertex goes home at once, with its neighbours.
const ROUNDS: usize = 8;
const PATIENT_ROUNDS: usize = 3;

/// The mesh with its vertices moved from `home` (mm, in the order of `mesh.positions`) to where they stand in `mesh`, less
/// far where a moved triangle cuts another. When the mesh is free of crossings at home, the result nearly always is.
#[must_use]
pub fn untangled(mut mesh: TriMesh, home: &[Triple]) -> TriMesh {
    let away = mesh.positions.clone();
    let mut shares: Vec<f64> = away
        .iter()
        .zip(home)
        .map(|(&a, &h)| f64::from(t::length(t::sub(a, h)) > 0.0))
        .collect();
    // Only triangles near the last change can have come into each other anew.
    let mut moved: Vec<bool> = mesh
        .triangles
        .iter()
        .map(|tri| tri.iter().any(|&v| shares[v as usize] > 0.0))
        .collect();
    for round in 0..ROUNDS {
        if !moved.contains(&true) {
            break;
        }
        let mut tangled = vec![false; away.len()];
        for (i, j) in crossings(&mesh, &moved) {
            for v in mesh.triangles[i].into_iter().chain(mesh.triangles[j]) {
                tangled[v as usize] = true;
            }
        }
        if round >= PATIENT_ROUNDS {
            let seeds = tangled.clone();
            for tri in &mesh.triangles {
                if tri.iter().any(|&v| seeds[v as usize]) {
                    for &v in tri {
                        tangled[v as usize] = true;
                    }
                }
            }
        }
        let mut changed = vec![false; away.len()];
        for i in 0..away.len() {
            if tangled[i] && shares[i] > 0.0 {
                shares[i] = if round < PATIENT_ROUNDS {
                    0.5 * shares[i]
                } else {
                    0.0
                };
                mesh.positions[i] = t::lerp(home[i], away[i], shares[i]);
                changed[i] = true;
            }
        }
        for (flag, tri) in moved.iter_mut().zip(&mesh.triangles) {
            *flag = tri.iter().any(|&v| changed[v as usize]);
        }
    }
    mesh
}

/// The mesh with the vertices of triangles that cut each other moved toward the mean of their neighbours, as far as is
/// needed: for the few places where joining or turning edges made a mesh cut itself.
#[must_use]
pub fn smoothed_out(mesh: TriMesh) -> TriMesh {
    let mut sums = vec![([0.0; 3], 0.0); mesh.positions.len()];
    for tri in &mesh.triangles {
        for k in 0..3 {
            let (sum, n) = &mut sums[tri[k] as usize];
            *sum = t::add(*sum, mesh.positions[tri[(k + 1) % 3] as usize]);
            *n += 1.0;
        }
    }
    let home: Vec<Triple> = sums
        .into_iter()
        .zip(&mesh.positions)
        .map(|((sum, n), &p)| if n > 0.0 { t::scale(sum, 1.0 / n) } else { p })
        .collect();
    untangled(mesh, &home)
}
