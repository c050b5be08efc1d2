//! The order of triangles and vertices in the file: neighbours stay together, so that indices repeat and positions
//! change little from one to the next, which is what a general compressor can use.

use crate::quantise::Quantised;
use std::collections::HashMap;

/// Rewrites the mesh as runs of adjacent triangles with vertices numbered by first use.
#[must_use]
pub fn tuned(mesh: &Quantised) -> Quantised {
    let order = strip_order(&mesh.triangles);
    let mut place = vec![u32::MAX; mesh.positions.len()];
    let mut positions = Vec::with_capacity(mesh.positions.len());
    let triangles = order
        .into_iter()
        .map(|tri| {
            tri.map(|v| {
                let slot = &mut place[v as usize];
                if *slot == u32::MAX {
                    *slot = u32::try_from(positions.len()).unwrap_or(u32::MAX);
                    positions.push(mesh.positions[v as usize]);
                }
                *slot
            })
        })
        .collect();
    Quantised {
        translation: mesh.translation,
        scale: mesh.scale,
        positions,
        triangles,
    }
}

/// Triangles in the order of a walk that always crosses to an unvisited neighbour, taking the one with fewest
/// unvisited neighbours of its own, each rotated so that the edge shared with the one before comes first.
fn strip_order(triangles: &[[u32; 3]]) -> Vec<[u32; 3]> {
    let mut by_edge: HashMap<(u32, u32), usize> = HashMap::with_capacity(triangles.len() * 3);
    for (i, tri) in triangles.iter().enumerate() {
        for k in 0..3 {
            by_edge.insert((tri[k], tri[(k + 1) % 3]), i);
        }
    }
    let across = |i: usize, k: usize| {
        by_edge
            .get(&(triangles[i][(k + 1) % 3], triangles[i][k]))
            .copied()
    };
    let mut done = vec![false; triangles.len()];
    let mut out = Vec::with_capacity(triangles.len());
    let mut pending: Vec<usize> = Vec::new();
    let mut next_start = 0;
    loop {
        let start = loop {
            match pending.pop() {
                Some(i) if !done[i] => break i,
                Some(_) => {}
                None => {
                    while next_start < triangles.len() && done[next_start] {
                        next_start += 1;
                    }
                    if next_start == triangles.len() {
                        return out;
                    }
                    break next_start;
                }
            }
        };
        let mut at = start;
        let mut turn = 0;
        loop {
            done[at] = true;
            let tri = triangles[at];
            out.push([tri[turn], tri[(turn + 1) % 3], tri[(turn + 2) % 3]]);
            let mut best: Option<(usize, usize)> = None;
            for k in 0..3 {
                let Some(n) = across(at, k).filter(|&n| !done[n]) else {
                    continue;
                };
                let free = (0..3)
                    .filter(|&m| across(n, m).is_some_and(|x| !done[x]))
                    .count();
                if best.is_none_or(|(f, _)| free < f) {
                    if let Some((_, old)) = best {
                        pending.push(old);
                    }
                    best = Some((free, n));
                } else {
                    pending.push(n);
                }
            }
            let Some((_, n)) = best else { break };
            // The shared edge, as the neighbour sees it, comes first; its opposite corner last.
            turn = (0..3).find(|&m| across(n, m) == Some(at)).unwrap_or(0);
            at = n;
        }
    }
}
