//! A tree of boxes over the triangles of one mesh, for rays, nearest points and neighbourhoods.
//!
//! Built by median splits along the longest side of the centroids' box, stored flat, walked with a fixed stack.
//! Same mesh, same tree: nothing in it depends on time, threads or hashing.

use geometry::{Mesh, Patient, Point, Vector};

/// Triangles per leaf: below about eight, more boxes cost more than the triangles they spare.
const LEAF: usize = 6;
/// Depth the walk can hold. Median splits halve, so 2^48 triangles would be needed to overflow it.
const STACK: usize = 64;

#[derive(Debug, Clone)]
struct Node {
    lo: [f32; 3],
    hi: [f32; 3],
    /// A leaf's first triangle, or an inner node's second child (the first child follows its parent).
    start: u32,
    /// Triangles of a leaf; zero for an inner node.
    count: u32,
}

/// One triangle of the tree: corners in patient mm and its number in the mesh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facet {
    /// Corners, counter-clockwise seen from outside.
    pub corners: [[f32; 3]; 3],
    /// Number of the triangle in the mesh.
    pub triangle: usize,
}

impl Facet {
    /// Corner `i` (0–2) as a point.
    #[must_use]
    pub fn corner(&self, i: usize) -> Point<Patient> {
        let [x, y, z] = self.corners[i];
        Point::new(f64::from(x), f64::from(y), f64::from(z))
    }

    /// Outward vector whose length is twice the triangle's area in mm².
    #[must_use]
    pub fn area_vector(&self) -> Vector<Patient> {
        (self.corner(1) - self.corner(0)).cross(self.corner(2) - self.corner(0))
    }

    /// Nearest point of the triangle to `p` (Ericson, Real-Time Collision Detection, 2005, section 5.1.5).
    #[must_use]
    pub fn nearest(&self, p: Point<Patient>) -> Point<Patient> {
        let (a, b, c) = (self.corner(0), self.corner(1), self.corner(2));
        let (ab, ac, ap) = (b - a, c - a, p - a);
        let (d1, d2) = (ab.dot(ap), ac.dot(ap));
        if d1 <= 0.0 && d2 <= 0.0 {
            return a;
        }
        let bp = p - b;
        let (d3, d4) = (ab.dot(bp), ac.dot(bp));
        if d3 >= 0.0 && d4 <= d3 {
            return b;
        }
        let vc = d1 * d4 - d3 * d2;
        if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
            return a + ab * (d1 / (d1 - d3));
        }
        let cp = p - c;
        let (d5, d6) = (ab.dot(cp), ac.dot(cp));
        if d6 >= 0.0 && d5 <= d6 {
            return c;
        }
        let vb = d5 * d2 - d1 * d6;
        if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
            return a + ac * (d2 / (d2 - d6));
        }
        let va = d3 * d6 - d5 * d4;
        if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
            return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
        }
        let sum = va + vb + vc;
        a + ab * (vb / sum) + ac * (vc / sum)
    }

    /// Distance along a ray (in lengths of `along`) to the triangle, if it is hit at or after the start
    /// (Möller and Trumbore, J Graphics Tools 1997; 2(1): 21–28). Edges count as hit, on both sides of an edge.
    fn ray(&self, from: Point<Patient>, along: Vector<Patient>) -> Option<f64> {
        let a = self.corner(0);
        let (ab, ac) = (self.corner(1) - a, self.corner(2) - a);
        let across = along.cross(ac);
        let determinant = ab.dot(across);
        if determinant.abs() < f64::MIN_POSITIVE {
            return None;
        }
        let offset = from - a;
        let u = offset.dot(across) / determinant;
        let turned = offset.cross(ab);
        let v = along.dot(turned) / determinant;
        let t = ac.dot(turned) / determinant;
        // A hair of slack, so that rounding cannot let a ray slip between two neighbours.
        let slack = -1.0e-9;
        (u >= slack && v >= slack && u + v <= 1.0 - slack && t >= 0.0).then_some(t)
    }
}

/// See the module page.
#[derive(Debug, Clone)]
pub struct TriangleTree {
    nodes: Vec<Node>,
    facets: Vec<Facet>,
}

impl TriangleTree {
    /// A tree over the triangles of `mesh`. Triangles without area are left out (they have no side), and so are
    /// triangles that name a missing vertex.
    #[must_use]
    pub fn new(mesh: &Mesh) -> Self {
        let mut facets: Vec<Facet> = mesh
            .triangles
            .iter()
            .enumerate()
            .filter_map(|(triangle, corners)| {
                let vertex = |k: usize| {
                    mesh.positions
                        .get(usize::try_from(corners[k]).ok()?)
                        .copied()
                };
                let facet = Facet {
                    corners: [vertex(0)?, vertex(1)?, vertex(2)?],
                    triangle,
                };
                (facet.area_vector().norm() > 0.0).then_some(facet)
            })
            .collect();
        let mut nodes: Vec<Node> = Vec::with_capacity(2 * facets.len() / LEAF + 1);
        // Ranges still to be made into nodes, with the parent that waits to learn its second child.
        let mut waiting = vec![(0, facets.len(), None::<usize>)];
        while let Some((start, end, parent)) = waiting.pop() {
            if let Some(parent) = parent {
                nodes[parent] = Node {
                    start: index(nodes.len()),
                    ..nodes[parent].clone()
                };
            }
            let range = &mut facets[start..end];
            let (lo, hi) = bounds(range.iter().flat_map(|facet| facet.corners));
            if range.len() <= LEAF {
                nodes.push(Node {
                    lo,
                    hi,
                    start: index(start),
                    count: index(range.len()),
                });
                continue;
            }
            let (centre_lo, centre_hi) = bounds(
                range
                    .iter()
                    .map(|facet| [0, 1, 2].map(|k| centre(facet, k))),
            );
            let mut axis = 0;
            for k in 1..3 {
                if centre_hi[k] - centre_lo[k] > centre_hi[axis] - centre_lo[axis] {
                    axis = k;
                }
            }
            let middle = range.len() / 2;
            range.select_nth_unstable_by(middle, |a, b| {
                centre(a, axis)
                    .total_cmp(&centre(b, axis))
                    .then(a.triangle.cmp(&b.triangle))
            });
            let this = nodes.len();
            nodes.push(Node {
                lo,
                hi,
                start: 0,
                count: 0,
            });
            waiting.push((start + middle, end, Some(this)));
            waiting.push((start, start + middle, None));
        }
        Self { nodes, facets }
    }

    /// Smallest and largest corner of the mesh's box in patient mm; `None` for a tree without triangles.
    #[must_use]
    pub fn bounds(&self) -> Option<([f64; 3], [f64; 3])> {
        let root = self.nodes.first().filter(|_| !self.facets.is_empty())?;
        Some((root.lo.map(f64::from), root.hi.map(f64::from)))
    }

    /// First triangle hit by the ray from `from` along `along` that `wanted` accepts, with the distance in lengths
    /// of `along`.
    pub fn ray(
        &self,
        from: Point<Patient>,
        along: Vector<Patient>,
        mut wanted: impl FnMut(&Facet) -> bool,
    ) -> Option<(f64, Facet)> {
        let (origin, step) = (from.to_array(), along.to_array());
        let mut best: Option<(f64, Facet)> = None;
        self.walk(
            |node, best: &Option<(f64, Facet)>| {
                let enter = ray_enters(node, origin, step)?;
                best.is_none_or(|(t, _)| enter <= t).then_some(enter)
            },
            |facet, best| {
                if let Some(t) = facet.ray(from, along)
                    && best.is_none_or(|(known, _)| t < known)
                    && wanted(facet)
                {
                    *best = Some((t, *facet));
                }
            },
            &mut best,
        );
        best
    }

    /// Triangle nearest to `p` among those that `wanted` accepts, with its nearest point and the distance in mm.
    pub fn nearest(
        &self,
        p: Point<Patient>,
        mut wanted: impl FnMut(&Facet) -> bool,
    ) -> Option<(f64, Point<Patient>, Facet)> {
        let at = p.to_array();
        let mut best: Option<(f64, Point<Patient>, Facet)> = None;
        self.walk(
            |node, best: &Option<(f64, Point<Patient>, Facet)>| {
                let squared = box_distance_squared(node, at);
                best.is_none_or(|(distance, ..)| squared < distance * distance)
                    .then_some(squared)
            },
            |facet, best| {
                let foot = facet.nearest(p);
                let distance = (p - foot).norm();
                if best.is_none_or(|(known, ..)| distance < known) && wanted(facet) {
                    *best = Some((distance, foot, *facet));
                }
            },
            &mut best,
        );
        best
    }

    /// Calls `visit` for every triangle whose leaf's box comes within `radius` mm of `p` (a superset of the triangles
    /// within that distance), in tree order.
    pub fn within(&self, p: Point<Patient>, radius: f64, mut visit: impl FnMut(&Facet)) {
        let at = p.to_array();
        self.walk(
            |node, &()| (box_distance_squared(node, at) <= radius * radius).then_some(0.0),
            |facet, &mut ()| visit(facet),
            &mut (),
        );
    }

    /// Walks the tree: `enter` gives a node's order (smaller first) or prunes it, `leaf` sees each triangle.
    fn walk<S>(
        &self,
        enter: impl Fn(&Node, &S) -> Option<f64>,
        mut leaf: impl FnMut(&Facet, &mut S),
        state: &mut S,
    ) {
        let mut stack = [0_usize; STACK];
        let mut depth = 1_usize.min(self.nodes.len());
        while depth > 0 {
            depth -= 1;
            let at = stack[depth];
            let node = &self.nodes[at];
            // Asked again here because the state may have improved since the node was put on the stack.
            if enter(node, state).is_none() {
                continue;
            }
            if node.count > 0 {
                let start = wide(node.start);
                for facet in &self.facets[start..start + wide(node.count)] {
                    leaf(facet, state);
                }
                continue;
            }
            let (first, second) = (at + 1, wide(node.start));
            if second == 0 {
                continue; // the empty tree's only node
            }
            let order = (
                enter(&self.nodes[first], state),
                enter(&self.nodes[second], state),
            );
            let (near, far) = match order {
                (Some(a), Some(b)) if b < a => (Some(second), Some(first)),
                (a, b) => (a.map(|_| first), b.map(|_| second)),
            };
            for child in [far, near].into_iter().flatten() {
                stack[depth] = child;
                depth += 1;
            }
        }
    }
}

fn centre(facet: &Facet, axis: usize) -> f32 {
    facet.corners[0][axis] + facet.corners[1][axis] + facet.corners[2][axis]
}

fn bounds(points: impl Iterator<Item = [f32; 3]>) -> ([f32; 3], [f32; 3]) {
    let (mut lo, mut hi) = ([f32::INFINITY; 3], [f32::NEG_INFINITY; 3]);
    for point in points {
        for k in 0..3 {
            // Comparisons, because f32::min and max become library calls in WebAssembly.
            if point[k] < lo[k] {
                lo[k] = point[k];
            }
            if point[k] > hi[k] {
                hi[k] = point[k];
            }
        }
    }
    (lo, hi)
}

fn box_distance_squared(node: &Node, p: [f64; 3]) -> f64 {
    let mut sum = 0.0;
    for (k, &at) in p.iter().enumerate() {
        let (lo, hi) = (f64::from(node.lo[k]), f64::from(node.hi[k]));
        let outside = if at < lo {
            lo - at
        } else if at > hi {
            at - hi
        } else {
            0.0
        };
        sum += outside * outside;
    }
    sum
}

/// Where the ray enters the node's box, in lengths of `step`; `None` when it misses.
fn ray_enters(node: &Node, origin: [f64; 3], step: [f64; 3]) -> Option<f64> {
    let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
    for k in 0..3 {
        // Widened a little: the triangle test has slack too.
        let (lo, hi) = (
            f64::from(node.lo[k]) - 1.0e-6,
            f64::from(node.hi[k]) + 1.0e-6,
        );
        if step[k].abs() < f64::MIN_POSITIVE {
            if origin[k] < lo || origin[k] > hi {
                return None;
            }
            continue;
        }
        let (a, b) = ((lo - origin[k]) / step[k], (hi - origin[k]) / step[k]);
        let (first, last) = if a < b { (a, b) } else { (b, a) };
        if first > enter {
            enter = first;
        }
        if last < leave {
            leave = last;
        }
    }
    (enter <= leave).then_some(enter)
}

/// Triangle counts come from 32-bit indices and node counts are below them.
fn index(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}

fn wide(i: u32) -> usize {
    usize::try_from(i).unwrap_or(usize::MAX)
}
