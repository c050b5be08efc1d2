//! Positions on a 16-bit grid per mesh.

use crate::crossing::{crossings, self_crossings};
use crate::marching::TriMesh;
use crate::triple::{self as t, Triple};
use std::collections::HashMap;

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

/// How often the step is halved for a rounded mesh that cuts itself. What then still does so did before rounding.
const FINER: usize = 3;

/// How often the faults of a rounding are gone through before a finer step is taken.
const ROUNDS: usize = 4;

/// Rounds to a step of `wanted` mm, or coarser where the mesh is too large for 16 bits, or finer where it must be.
///
/// No triangle turns over or loses its area and no two vertices fall together: where the nearest grid points would do
/// that, a vertex takes another one less than a step away along each axis; where that does not help, the step is halved,
/// and so it is where triangles would come to cut each other.
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
    let mut halvings = 0;
    loop {
        let exact: Vec<Triple> = mesh
            .positions
            .iter()
            .map(|&p| t::scale(t::sub(p, lo), 1.0 / step))
            .collect();
        let mut rounding = Rounding::new(&exact, &mesh.triangles);
        let sound = rounding.mend() && (rounding.mend_crossings() || halvings >= FINER);
        if sound || step <= finest {
            return Quantised {
                translation: lo,
                scale: step,
                positions: rounding.positions,
                triangles: mesh.triangles.clone(),
            };
        }
        halvings += 1;
        step = (step / 2.0).max(finest);
    }
}

/// Grid points chosen for the vertices of a mesh, so far.
struct Rounding<'a> {
    /// Where the vertices are, in steps.
    exact: &'a [Triple],
    triangles: &'a [[u32; 3]],
    /// Numbers of the triangles at each vertex.
    around: Vec<Vec<usize>>,
    positions: Vec<[u16; 3]>,
    /// How many vertices each grid point holds.
    held: HashMap<[u16; 3], u32>,
}

impl<'a> Rounding<'a> {
    fn new(exact: &'a [Triple], triangles: &'a [[u32; 3]]) -> Self {
        let mut around = vec![Vec::new(); exact.len()];
        for (i, triangle) in triangles.iter().enumerate() {
            for &v in triangle {
                around[v as usize].push(i);
            }
        }
        let positions: Vec<[u16; 3]> = exact.iter().map(|p| p.map(nearest)).collect();
        let mut held = HashMap::new();
        for &p in &positions {
            *held.entry(p).or_insert(0) += 1;
        }
        Self {
            exact,
            triangles,
            around,
            positions,
            held,
        }
    }

    /// Moves vertices until nothing is at fault; whether that came about.
    fn mend(&mut self) -> bool {
        for _ in 0..ROUNDS {
            let mut clean = true;
            for v in 0..self.positions.len() {
                if self.faults(v) > 0 {
                    self.move_vertex(v);
                    clean = false;
                }
            }
            if clean {
                return true;
            }
        }
        (0..self.positions.len()).all(|v| self.faults(v) == 0)
    }

    /// Moves vertices of triangles that cut each other until none does; whether that came about.
    fn mend_crossings(&mut self) -> bool {
        let mut rounded = TriMesh {
            positions: self.positions.iter().map(|p| p.map(f64::from)).collect(),
            triangles: self.triangles.to_vec(),
        };
        for _ in 0..ROUNDS {
            let pairs = self_crossings(&rounded);
            if pairs.is_empty() {
                return true;
            }
            let mut tangled: Vec<usize> = pairs
                .into_iter()
                .flat_map(|(i, j)| [i, j])
                .flat_map(|i| self.triangles[i].map(|v| v as usize))
                .collect();
            tangled.sort_unstable();
            tangled.dedup();
            for v in tangled {
                self.move_apart(v, &mut rounded.positions);
            }
        }
        self_crossings(&rounded).is_empty()
    }

    /// Puts a vertex where its triangles cut the fewest others, with no more faults than before. `places` are the grid
    /// points of all vertices.
    fn move_apart(&mut self, v: usize, places: &mut Vec<Triple>) {
        let near = self.near(v, places);
        let asked: Vec<bool> = near
            .iter()
            .map(|triangle| triangle.contains(&u32::try_from(v).unwrap_or(u32::MAX)))
            .collect();
        let mut local = TriMesh {
            positions: std::mem::take(places),
            triangles: near,
        };
        let (old, faults) = (self.positions[v], self.faults(v));
        let mut fewest = crossings(&local, &asked).len();
        let mut best = old;
        for (_, place) in self.candidates(v) {
            if fewest == 0 {
                break;
            }
            self.put(v, place);
            local.positions[v] = place.map(f64::from);
            let count = crossings(&local, &asked).len();
            if count < fewest && self.faults(v) <= faults {
                (fewest, best) = (count, place);
            }
        }
        self.put(v, best);
        local.positions[v] = best.map(f64::from);
        *places = local.positions;
    }

    /// Triangles that a vertex's own may meet wherever it goes.
    fn near(&self, v: usize, places: &[Triple]) -> Vec<[u32; 3]> {
        let own = self.around[v].iter().flat_map(|&i| self.triangles[i]);
        let (mut lo, mut hi) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
        for p in own.map(|w| places[w as usize]) {
            lo = std::array::from_fn(|k| lo[k].min(p[k] - 2.0));
            hi = std::array::from_fn(|k| hi[k].max(p[k] + 2.0));
        }
        let meets = |triangle: &&[u32; 3]| {
            let corners = triangle.map(|w| places[w as usize]);
            (0..3).all(|k| {
                corners.iter().any(|c| c[k] <= hi[k]) && corners.iter().any(|c| c[k] >= lo[k])
            })
        };
        self.triangles.iter().filter(meets).copied().collect()
    }

    /// Triangles at a vertex that are turned over or flat, and other vertices in its place.
    fn faults(&self, v: usize) -> usize {
        let shared = self.held.get(&self.positions[v]).map_or(0, |&n| n - 1);
        let turned = self.around[v].iter().filter(|&&i| !self.upright(i)).count();
        turned + shared as usize
    }

    /// Whether a triangle faces the way its exact corners do.
    fn upright(&self, i: usize) -> bool {
        let corners = self.triangles[i].map(|v| v as usize);
        let exact = corners.map(|v| self.exact[v]);
        let rounded = corners.map(|v| self.positions[v].map(f64::from));
        let normal = |[a, b, c]: [Triple; 3]| t::cross(t::sub(b, a), t::sub(c, a));
        t::dot(normal(exact), normal(rounded)) > 0.0
    }

    /// The grid points less than a step off a vertex on each axis with their squared distances, the nearest first.
    fn candidates(&self, v: usize) -> Vec<(f64, [u16; 3])> {
        let exact = self.exact[v];
        let mut candidates: Vec<(f64, [u16; 3])> = Vec::with_capacity(8);
        for corner in 0..8 {
            let near: Triple =
                std::array::from_fn(|k| exact[k].floor() + f64::from(corner >> k & 1));
            let off = t::sub(near, exact);
            candidates.push((t::dot(off, off), near.map(nearest)));
        }
        candidates.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        candidates
    }

    /// Puts a vertex on the grid point with the fewest faults, the nearest of those, less than a step off on each axis.
    fn move_vertex(&mut self, v: usize) {
        let (mut fewest, mut best) = (self.faults(v), self.positions[v]);
        for (_, place) in self.candidates(v) {
            self.put(v, place);
            let faults = self.faults(v);
            if faults < fewest {
                (fewest, best) = (faults, place);
            }
        }
        self.put(v, best);
    }

    fn put(&mut self, v: usize, place: [u16; 3]) {
        if let Some(n) = self.held.get_mut(&self.positions[v]) {
            *n -= 1;
        }
        *self.held.entry(place).or_insert(0) += 1;
        self.positions[v] = place;
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
