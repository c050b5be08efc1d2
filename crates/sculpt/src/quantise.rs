//! Positions on a 16-bit grid per mesh.

use crate::marching::TriMesh;
use crate::triple::Triple;
use std::collections::HashSet;

/// A mesh with whole-number positions: millimetres = `translation + scale × q`.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantised {
    /// Low corner, mm.
    pub translation: Triple,
    /// Step, mm.
    pub scale: f64,
    /// Grid positions.
    pub positions: Vec<[u16; 3]>,
    /// Triangles.
    pub triangles: Vec<[u32; 3]>,
}

/// Rounds to a step of `wanted` mm, or finer where two vertices would fall together, or coarser where the mesh is too
/// large for 16 bits.
#[must_use]
pub fn quantise(mesh: &TriMesh, wanted: f64) -> Quantised {
    let lo: Triple = std::array::from_fn(|i| {
        mesh.positions
            .iter()
            .map(|p| p[i])
            .fold(f64::INFINITY, f64::min)
    });
    // A short decimal fraction: the file writes it as text.
    let lo = lo.map(|v| (v * 10.0).floor() / 10.0);
    let hi: Triple = std::array::from_fn(|i| {
        mesh.positions
            .iter()
            .map(|p| p[i])
            .fold(f64::NEG_INFINITY, f64::max)
    });
    let extent = (0..3).map(|i| hi[i] - lo[i]).fold(0.0, f64::max);
    let finest = extent / f64::from(u16::MAX);
    let mut step = wanted.max(finest);
    loop {
        let positions: Vec<[u16; 3]> = mesh
            .positions
            .iter()
            .map(|p| std::array::from_fn(|i| nearest((p[i] - lo[i]) / step)))
            .collect();
        let distinct: HashSet<[u16; 3]> = positions.iter().copied().collect();
        if distinct.len() == positions.len() || step <= finest {
            return Quantised {
                translation: lo,
                scale: step,
                positions,
                triangles: mesh.triangles.clone(),
            };
        }
        step = (step / 2.0).max(finest);
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the range of u16 before the cast"
)]
fn nearest(x: f64) -> u16 {
    (x + 0.5).floor().clamp(0.0, f64::from(u16::MAX)) as u16
}
