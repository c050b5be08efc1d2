//! Triangles made small where a surface bends, so that a bend looks round and not folded from large facets.

use std::collections::BTreeMap;

use geometry::{Direction, Mesh, Patient, Point, Posed};

use super::{Posture, single};

/// An edge is halved when its middle would leave the bent surface by more than this, mm.
const OFF_MM: f64 = 0.5;
/// Edges shorter than this are left alone, mm: a sharp fold would ask for ever smaller ones.
const SHORTEST_MM: f64 = 5.0;
/// How often edges are halved at most.
const ROUNDS: usize = 3;

/// A surface with more vertices and the same shape.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Refined {
    pub(crate) mesh: Mesh,
    pub(crate) normals: Vec<[f32; 3]>,
    /// For each triangle the one of the given mesh that it is part of.
    pub(crate) part_of: Vec<usize>,
}

/// Halves the edges of `mesh` that `posture` bends. Whether an edge is halved depends on the edge alone, so a closed
/// mesh stays closed.
pub(crate) fn refine(mesh: &Mesh, normals: &[[f32; 3]], posture: &Posture) -> Refined {
    let mut refined = Refined {
        mesh: mesh.clone(),
        normals: normals.to_vec(),
        part_of: (0..mesh.triangles.len()).collect(),
    };
    let mut shown = Vec::new();
    let mut known = 0;
    for _ in 0..ROUNDS {
        let more = refined.mesh.positions.iter().skip(shown.len());
        shown.extend(more.map(|at| posture.point(Point::from_array(at.map(f64::from)))));
        halve(&mut refined, posture, &shown, known);
        known = shown.len();
        if refined.mesh.positions.len() == known {
            break;
        }
    }
    refined
}

/// One round. Edges between the first `known` vertices were looked at before and are fine.
fn halve(refined: &mut Refined, posture: &Posture, shown: &[Point<Posed>], known: usize) {
    let (mut middles, mut triangles, mut part_of) = (BTreeMap::new(), Vec::new(), Vec::new());
    let old = std::mem::take(&mut refined.mesh.triangles);
    let parents = std::mem::take(&mut refined.part_of);
    for (triangle, parent) in old.into_iter().zip(parents) {
        let [a, b, c] = triangle;
        let mut middle = |from: u32, to: u32| {
            let key = (from.min(to), from.max(to));
            if usize::try_from(key.1).is_ok_and(|later| later < known) {
                return None;
            }
            if let Some(known) = middles.get(&key) {
                return *known;
            }
            let made = split(refined, shown, posture, key);
            middles.insert(key, made);
            made
        };
        let halves = [middle(a, b), middle(b, c), middle(c, a)];
        let parts = parts(triangle, halves);
        part_of.extend(parts.iter().map(|_| parent));
        triangles.extend(parts);
    }
    refined.mesh.triangles = triangles;
    refined.part_of = part_of;
}

/// The number of a new vertex at the middle of an edge, if it is to be halved.
fn split(
    refined: &mut Refined,
    shown: &[Point<Posed>],
    posture: &Posture,
    (from, to): (u32, u32),
) -> Option<u32> {
    let (from, to) = (usize::try_from(from).ok()?, usize::try_from(to).ok()?);
    let (mesh, normals) = (&mut refined.mesh, &mut refined.normals);
    let [a, b] = [from, to].map(|k| mesh.positions.get(k).map(|at| at.map(f64::from)));
    let (a, b) = (a?, b?);
    let middle = [0, 1, 2].map(|k| (a[k] + b[k]) / 2.0);
    let (shown_a, shown_b) = (*shown.get(from)?, *shown.get(to)?);
    if (shown_b - shown_a).norm() < SHORTEST_MM {
        return None;
    }
    let chord = shown_a + (shown_b - shown_a) * 0.5;
    let off = posture.point(Point::from_array(middle)) - chord;
    if off.norm() <= OFF_MM {
        return None;
    }
    let number = u32::try_from(mesh.positions.len()).ok()?;
    let (one, other) = (*normals.get(from)?, *normals.get(to)?);
    let sum = [0, 1, 2].map(|k| f64::from(one[k]) + f64::from(other[k]));
    let normal = Direction::<Patient>::from_array(sum);
    mesh.positions.push(single(middle));
    normals.push(normal.map_or(one, |normal| single(normal.to_array())));
    Some(number)
}

/// The parts of a triangle whose edges ab, bc, ca are halved at the given vertices.
fn parts([a, b, c]: [u32; 3], halves: [Option<u32>; 3]) -> Vec<[u32; 3]> {
    match halves {
        [None, None, None] => vec![[a, b, c]],
        [Some(ab), None, None] => vec![[a, ab, c], [ab, b, c]],
        [None, Some(bc), None] => vec![[b, bc, a], [bc, c, a]],
        [None, None, Some(ca)] => vec![[c, ca, b], [ca, a, b]],
        [Some(ab), Some(bc), None] => vec![[ab, b, bc], [a, ab, bc], [a, bc, c]],
        [None, Some(bc), Some(ca)] => vec![[bc, c, ca], [b, bc, ca], [b, ca, a]],
        [Some(ab), None, Some(ca)] => vec![[ca, a, ab], [c, ca, ab], [c, ab, b]],
        [Some(ab), Some(bc), Some(ca)] => {
            vec![[a, ab, ca], [ab, b, bc], [bc, c, ca], [ab, bc, ca]]
        }
    }
}
