//! A signed distance sampled on a grid, lazily: only the cells near the surface are ever evaluated.

use crate::triple::{Bounds, Triple};

/// Nodes of a regular grid with values computed on demand.
pub(crate) struct Grid<'f> {
    pub(crate) origin: Triple,
    pub(crate) step: f64,
    /// Number of nodes along x, y, z.
    pub(crate) nodes: [usize; 3],
    values: Vec<f64>,
    field: &'f dyn Fn(Triple) -> f64,
}

impl<'f> Grid<'f> {
    /// A grid of the given step over `bounds` and a margin of at least one step beyond it.
    pub(crate) fn new(bounds: Bounds, step: f64, field: &'f dyn Fn(Triple) -> f64) -> Self {
        // The odd fraction keeps nodes off the planes and axes along which bodies are drawn, where values would
        // be exactly zero and cells needlessly degenerate.
        let origin: Triple = std::array::from_fn(|i| bounds.lo[i] - 1.37 * step);
        let nodes: [usize; 3] =
            std::array::from_fn(|i| count((bounds.hi[i] - origin[i]) / step) + 3);
        Self {
            origin,
            step,
            nodes,
            values: vec![f64::NAN; nodes[0] * nodes[1] * nodes[2]],
            field,
        }
    }

    pub(crate) fn index(&self, n: [usize; 3]) -> usize {
        (n[2] * self.nodes[1] + n[1]) * self.nodes[0] + n[0]
    }

    pub(crate) fn position(&self, n: [usize; 3]) -> Triple {
        std::array::from_fn(|i| self.origin[i] + self.step * float(n[i]))
    }

    pub(crate) fn value(&mut self, n: [usize; 3]) -> f64 {
        let at = self.index(n);
        if self.values[at].is_nan() {
            let on_border = (0..3).any(|i| n[i] == 0 || n[i] + 1 == self.nodes[i]);
            let v = (self.field)(self.position(n));
            // The border is outside by construction of the box; a value that says otherwise would open the mesh.
            self.values[at] = if on_border { v.max(1e-9) } else { v };
        }
        self.values[at]
    }

    /// The eight corner values of a cell; corner i has bit k set where it is the far one along axis k.
    pub(crate) fn corners(&mut self, cell: [usize; 3]) -> [f64; 8] {
        std::array::from_fn(|i| self.value(corner(cell, i)))
    }

    /// All cells that the surface crosses and that hang together with one found from the coarse search or from
    /// `hints`, in ascending order of their index.
    pub(crate) fn crossed_cells(&mut self, hints: &[Triple]) -> Vec<[usize; 3]> {
        let mut seen = vec![false; self.values.len()];
        let mut stack = self.seeds(hints);
        let mut found = Vec::new();
        while let Some(cell) = stack.pop() {
            let at = self.index(cell);
            if seen[at] {
                continue;
            }
            seen[at] = true;
            let v = self.corners(cell);
            let inside = (0..8).filter(|&i| v[i] < 0.0).count();
            if inside == 0 || inside == 8 {
                continue;
            }
            found.push(cell);
            for axis in 0..3 {
                for far in [false, true] {
                    let face = (0..8).filter(|i| (i >> axis & 1 == 1) == far);
                    let (mut some, mut all) = (false, true);
                    for i in face {
                        some |= v[i] < 0.0;
                        all &= v[i] < 0.0;
                    }
                    if !some || all {
                        continue;
                    }
                    let mut next = cell;
                    if far {
                        next[axis] += 1;
                        if next[axis] + 1 >= self.nodes[axis] {
                            continue;
                        }
                    } else if next[axis] == 0 {
                        continue;
                    } else {
                        next[axis] -= 1;
                    }
                    stack.push(next);
                }
            }
        }
        found.sort_by_key(|&c| self.index(c));
        found
    }

    /// Cells from which to follow the surface: sign changes between neighbours on every fourth node, and the
    /// first sign change along the six axis directions from each hint.
    fn seeds(&mut self, hints: &[Triple]) -> Vec<[usize; 3]> {
        const COARSE: usize = 4;
        let mut seeds = Vec::new();
        let n = self.nodes;
        for z in (0..n[2]).step_by(COARSE) {
            for y in (0..n[1]).step_by(COARSE) {
                for x in (0..n[0]).step_by(COARSE) {
                    let here = self.value([x, y, z]) < 0.0;
                    for axis in 0..3 {
                        let mut there = [x, y, z];
                        there[axis] += COARSE;
                        if there[axis] < n[axis] && (self.value(there) < 0.0) != here {
                            self.walk([x, y, z], axis, true, &mut seeds);
                        }
                    }
                }
            }
        }
        for hint in hints {
            let cell: [usize; 3] = std::array::from_fn(|i| {
                count((hint[i] - self.origin[i]) / self.step).min(n[i] - 2)
            });
            for axis in 0..3 {
                self.walk(cell, axis, false, &mut seeds);
                self.walk(cell, axis, true, &mut seeds);
            }
        }
        seeds
    }

    /// Walks from a node along an axis to the first sign change and notes the cell there.
    fn walk(&mut self, from: [usize; 3], axis: usize, forward: bool, seeds: &mut Vec<[usize; 3]>) {
        let here = self.value(from) < 0.0;
        let mut at = from;
        loop {
            let low = if forward {
                if at[axis] + 1 >= self.nodes[axis] {
                    return;
                }
                let low = at;
                at[axis] += 1;
                low
            } else {
                if at[axis] == 0 {
                    return;
                }
                at[axis] -= 1;
                at
            };
            if (self.value(at) < 0.0) != here {
                seeds.push(std::array::from_fn(|i| low[i].min(self.nodes[i] - 2)));
                return;
            }
        }
    }
}

/// Node of corner `i` of a cell.
pub(crate) fn corner(cell: [usize; 3], i: usize) -> [usize; 3] {
    std::array::from_fn(|k| cell[k] + (i >> k & 1))
}

/// The whole part of a non-negative number as a count; 0 below zero.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to a range every usize holds"
)]
pub(crate) fn count(x: f64) -> usize {
    x.clamp(0.0, 1e9) as usize
}

/// A count as a float; exact below 2^32, which every grid and mesh here is.
pub(crate) fn float(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::from(u32::MAX), f64::from)
}
