//! Fewer triangles within a stated distance of the true surface: edge collapses ordered by quadric error (Garland and
//! Heckbert, SIGGRAPH 1997), every new vertex put back on the surface and every new triangle measured against it.

use crate::grid::float;
use crate::marching::TriMesh;
use crate::model::Model;
use crate::nearness::{met_within, within};
use crate::triple::{self as t, Triple};

/// What a simplified mesh must still hold to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Largest distance from the true surface at the samples of a triangle, mm.
    pub distance: f64,
    /// Largest product of a triangle's area and that distance, mm³: a large triangle must lie closer than a small one,
    /// because what a section shows wrongly is area times distance.
    pub volume: f64,
    /// Cosine of the largest angle between a triangle and the true normals at its corners.
    pub least_cosine: f64,
    /// Longest edge, mm.
    pub longest_edge: f64,
}

impl Limits {
    /// The distance allowed to a triangle of `area` mm², mm.
    fn distance_over(&self, area: f64) -> f64 {
        self.distance.min(self.volume / area.max(1e-9))
    }
}

type Quadric = [f64; 10];

/// Collapses that stay within this share of the allowed distance from the planes of the fine mesh are not measured
/// against the surface: nearly all early ones, and measuring is what costs.
const EASY_SHARE: f64 = 0.12;

/// Largest cosine between two triangles for their common edge to count as the rim of something, 72 degrees.
const RIM: f64 = 0.3;

/// An edge that may collapse, with how often each end had moved when it was put in.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    edge: (u32, u32),
    stamp: (u32, u32),
}

/// Edges by cost, cheapest first to within a thirtieth, the newest of equals first: a queue of buckets, because keeping
/// millions of edges in full order took longer than everything that is done with them.
#[derive(Debug)]
struct Queue {
    buckets: Vec<Vec<Candidate>>,
    /// No bucket below this one holds anything.
    lowest: usize,
}

impl Queue {
    /// Bits of a cost that are passed over: of the fraction five are kept.
    const COARSE: u32 = 47;

    fn new() -> Self {
        let count = usize::try_from(f64::INFINITY.to_bits() >> Self::COARSE).unwrap_or(0);
        Self {
            buckets: vec![Vec::new(); count + 1],
            lowest: count,
        }
    }

    /// Puts in an edge of a cost of at least 0.
    fn push(&mut self, cost: f64, candidate: Candidate) {
        // The bits of non-negative numbers are in the order of the numbers.
        let at = usize::try_from(cost.to_bits() >> Self::COARSE).unwrap_or(usize::MAX);
        let at = at.min(self.buckets.len() - 1);
        self.buckets[at].push(candidate);
        self.lowest = self.lowest.min(at);
    }

    fn pop(&mut self) -> Option<Candidate> {
        while let Some(bucket) = self.buckets.get_mut(self.lowest) {
            if let Some(candidate) = bucket.pop() {
                return Some(candidate);
            }
            if self.lowest + 1 == self.buckets.len() {
                return None;
            }
            self.lowest += 1;
        }
        None
    }
}

struct Work<'f> {
    positions: Vec<Triple>,
    normals: Vec<Triple>,
    quadrics: Vec<Quadric>,
    /// Area behind each quadric: divides it to a mean squared distance.
    weights: Vec<f64>,
    triangles: Vec<[u32; 3]>,
    alive: Vec<bool>,
    around: Vec<Vec<u32>>,
    stamps: Vec<u32>,
    field: &'f dyn Fn(Triple) -> f64,
    limits: Limits,
}

/// Collapses edges of a closed manifold while `limits` hold; the result is a closed manifold of the same topology.
#[must_use]
pub fn simplify(mesh: &TriMesh, field: &dyn Fn(Triple) -> f64, limits: Limits) -> TriMesh {
    let mut work = Work::new(mesh, field, limits);
    let mut queue = Queue::new();
    for tri in 0..work.triangles.len() {
        let v = work.triangles[tri];
        for k in 0..3 {
            if v[k] < v[(k + 1) % 3] {
                work.put(&mut queue, v[k], v[(k + 1) % 3]);
            }
        }
    }
    let (mut near_u, mut near_v) = (Vec::new(), Vec::new());
    while let Some(c) = queue.pop() {
        let (u, v) = c.edge;
        if c.stamp != (work.stamps[u as usize], work.stamps[v as usize])
            || work.around[u as usize].is_empty()
            || work.around[v as usize].is_empty()
        {
            continue;
        }
        work.neighbours(u, &mut near_u);
        work.neighbours(v, &mut near_v);
        if let Some(place) = work.accepted_place(u, v, &near_u, &near_v) {
            work.collapse(u, v, place);
            work.neighbours(u, &mut near_u);
            for &w in &near_u {
                work.put(&mut queue, u.min(w), u.max(w));
            }
        }
    }
    work.finish()
}

impl<'f> Work<'f> {
    fn new(mesh: &TriMesh, field: &'f dyn Fn(Triple) -> f64, limits: Limits) -> Self {
        let count = mesh.positions.len();
        let mut quadrics = vec![[0.0; 10]; count];
        let mut weights = vec![0.0; count];
        let mut normals = vec![[0.0; 3]; count];
        let mut around = vec![Vec::new(); count];
        for (i, tri) in mesh.triangles.iter().enumerate() {
            let [a, b, c] = tri.map(|v| mesh.positions[v as usize]);
            let n = t::cross(t::sub(b, a), t::sub(c, a));
            let area = t::length(n) / 2.0;
            if let Some(n) = t::unit(n) {
                let q = plane_quadric(n, a, area);
                for &v in tri {
                    for (sum, x) in quadrics[v as usize].iter_mut().zip(q) {
                        *sum += x;
                    }
                    weights[v as usize] += area;
                    normals[v as usize] = t::add(normals[v as usize], t::scale(n, area));
                }
            }
            for &v in tri {
                around[v as usize].push(u32::try_from(i).unwrap_or(u32::MAX));
            }
        }
        for n in &mut normals {
            *n = t::unit(*n).unwrap_or([0.0, 0.0, 1.0]);
        }
        Self {
            positions: mesh.positions.clone(),
            normals,
            quadrics,
            weights,
            triangles: mesh.triangles.clone(),
            alive: vec![true; mesh.triangles.len()],
            around,
            stamps: vec![0; count],
            field,
            limits,
        }
    }

    fn put(&self, queue: &mut Queue, u: u32, v: u32) {
        let (i, j) = (u as usize, v as usize);
        let q: Quadric = std::array::from_fn(|k| self.quadrics[i][k] + self.quadrics[j][k]);
        let (p, r) = (self.positions[i], self.positions[j]);
        let middle = t::lerp(p, r, 0.5);
        let best = [p, r, middle]
            .map(|x| evaluate(&q, x))
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        let d = t::sub(p, r);
        // The length term orders flat regions from short edges to long ones, which keeps triangles even.
        let cost =
            best.max(0.0) + 1e-3 * t::dot(d, d) * self.limits.distance * self.limits.distance;
        let stamp = (self.stamps[i], self.stamps[j]);
        queue.push(
            cost,
            Candidate {
                edge: (u, v),
                stamp,
            },
        );
    }

    /// The neighbours of a vertex, ascending, in place of what `out` held.
    fn neighbours(&self, v: u32, out: &mut Vec<u32>) {
        out.clear();
        let corners = self.around[v as usize]
            .iter()
            .flat_map(|&tri| self.triangles[tri as usize]);
        out.extend(corners.filter(|&w| w != v));
        out.sort_unstable();
        out.dedup();
    }

    /// Where the merged vertex of `u` and `v`, with the neighbours given, may go, if anywhere.
    fn accepted_place(&self, u: u32, v: u32, nu: &[u32], nv: &[u32]) -> Option<(Triple, Triple)> {
        let (i, j) = (u as usize, v as usize);
        // Link condition: the collapse keeps the topology exactly when the two ends share two neighbours only.
        let shared = nu.iter().filter(|w| nv.binary_search(w).is_ok()).count();
        if shared != 2 || nu.len() + nv.len() < 8 {
            return None;
        }
        let q: Quadric = std::array::from_fn(|k| self.quadrics[i][k] + self.quadrics[j][k]);
        let (p, r) = (self.positions[i], self.positions[j]);
        let length = t::length(t::sub(p, r));
        let middle = t::lerp(p, r, 0.5);
        let optimum = minimum(&q)
            .filter(|x| t::length(t::sub(*x, middle)) < length)
            .unwrap_or(middle);
        let mean_square = evaluate(&q, optimum) / (self.weights[i] + self.weights[j]).max(1e-12);
        // Every triangle counts at three corners, and six meet at a corner of an even mesh.
        let area = (self.weights[i] + self.weights[j]) / 6.0;
        let easy = EASY_SHARE * self.limits.distance_over(area);
        if mean_square < easy * easy
            && let Some(normal) = t::unit(t::add(self.normals[i], self.normals[j]))
        {
            return self
                .fits(u, v, optimum, normal, false)
                .then_some((optimum, normal));
        }
        let (place, normal) = self.on_surface(optimum, length)?;
        self.fits(u, v, place, normal, true)
            .then_some((place, normal))
    }

    /// The point moved onto the surface, with the true outward normal there.
    fn on_surface(&self, p: Triple, reach: f64) -> Option<(Triple, Triple)> {
        let f = (self.field)(p);
        let g = Model::gradient(self.field, p);
        let g2 = t::dot(g, g);
        if g2 < 1e-4 {
            return None;
        }
        let q = t::sub(p, t::scale(g, f / g2));
        if t::length(t::sub(q, p)) > 0.5 * reach {
            return None;
        }
        // One more step with the same gradient: the surface is smooth at this scale.
        let f = (self.field)(q);
        let q = t::sub(q, t::scale(g, f / g2));
        ((self.field)(q).abs() < 0.25 * self.limits.distance)
            .then(|| (q, t::scale(g, 1.0 / g2.sqrt())))
    }

    fn fits(&self, u: u32, v: u32, place: Triple, normal: Triple, measure: bool) -> bool {
        let limits = self.limits;
        let room = if measure { 32 } else { 0 };
        let mut samples: Vec<(Triple, Triple, f64)> = Vec::with_capacity(room);
        // The new triangles by the far corners of the edges they have in common.
        let mut spokes: Vec<(u32, Triple)> = Vec::with_capacity(room);
        for (end, other) in [(u, v), (v, u)] {
            for &tri in &self.around[end as usize] {
                let corners = self.triangles[tri as usize];
                if corners.contains(&other) {
                    continue;
                }
                let old = corners.map(|w| self.positions[w as usize]);
                let new = corners.map(|w| {
                    if w == end {
                        place
                    } else {
                        self.positions[w as usize]
                    }
                });
                let old_n = t::cross(t::sub(old[1], old[0]), t::sub(old[2], old[0]));
                let new_n = t::cross(t::sub(new[1], new[0]), t::sub(new[2], new[0]));
                let edges = [
                    t::sub(new[1], new[0]),
                    t::sub(new[2], new[1]),
                    t::sub(new[0], new[2]),
                ];
                let longest2 = edges.iter().map(|e| t::dot(*e, *e)).fold(0.0, f64::max);
                let double_area = t::length(new_n);
                // Slivers (altitude under 4 % of the longest edge) shade badly and quantise to flat triangles.
                if double_area < 0.04 * longest2
                    || longest2 > limits.longest_edge * limits.longest_edge
                {
                    return false;
                }
                let Some(unit) = t::unit(new_n) else {
                    return false;
                };
                if let Some(old_unit) = t::unit(old_n)
                    && t::dot(unit, old_unit) < 0.3
                    && t::length(old_n) > 0.05 * longest2
                {
                    return false;
                }
                let least = corners
                    .iter()
                    .map(|&w| {
                        t::dot(
                            unit,
                            if w == end {
                                normal
                            } else {
                                self.normals[w as usize]
                            },
                        )
                    })
                    .fold(f64::INFINITY, f64::min);
                if least < limits.least_cosine {
                    // At a crease no triangle meets the limit; then it must not get worse.
                    let was = t::unit(old_n).map_or(-1.0, |n| {
                        corners
                            .iter()
                            .map(|&w| t::dot(n, self.normals[w as usize]))
                            .fold(f64::INFINITY, f64::min)
                    });
                    if least < was - 0.02 || least < 0.2 {
                        return false;
                    }
                }
                if !measure {
                    continue;
                }
                let allowed = limits.distance_over(double_area / 2.0);
                samples.push((
                    t::scale(t::add(new[0], t::add(new[1], new[2])), 1.0 / 3.0),
                    unit,
                    allowed,
                ));
                for k in 0..3 {
                    let (a, b) = (corners[k], corners[(k + 1) % 3]);
                    if a == end || b == end {
                        spokes.push((if a == end { b } else { a }, unit));
                    }
                    // Each new inner edge belongs to two of the triangles: measure it once.
                    if a == end || (b != end && b != a) {
                        samples.push((t::lerp(new[k], new[(k + 1) % 3], 0.5), unit, allowed));
                    }
                }
            }
        }
        samples
            .iter()
            .all(|&(p, n, allowed)| within(self.field, p, n, allowed))
            && self.keeps_rims(place, spokes)
    }

    /// Whether the rims among the new edges, from `place` to the corners given with the triangles beside them, are near the
    /// true rims: seen along the bisector of their triangles, because the sides of a thin rim are near each other everywhere.
    fn keeps_rims(&self, place: Triple, mut spokes: Vec<(u32, Triple)>) -> bool {
        spokes.sort_unstable_by_key(|&(w, _)| w);
        spokes.windows(2).all(|pair| {
            let [(w, a), (same, b)] = [pair[0], pair[1]];
            if w != same || t::dot(a, b) > RIM {
                return true;
            }
            let middle = t::lerp(place, self.positions[w as usize], 0.5);
            t::unit(t::add(a, b))
                .is_none_or(|n| met_within(self.field, middle, n, self.limits.distance))
        })
    }

    fn collapse(&mut self, u: u32, v: u32, (place, normal): (Triple, Triple)) {
        let (i, j) = (u as usize, v as usize);
        self.positions[i] = place;
        self.normals[i] = normal;
        self.weights[i] += self.weights[j];
        for k in 0..10 {
            let add = self.quadrics[j][k];
            self.quadrics[i][k] += add;
        }
        let moved = std::mem::take(&mut self.around[j]);
        for tri in moved {
            let corners = &mut self.triangles[tri as usize];
            if corners.contains(&u) {
                self.alive[tri as usize] = false;
                let gone = *corners;
                for w in gone {
                    if w != v {
                        self.around[w as usize].retain(|&x| x != tri);
                    }
                }
            } else {
                for w in corners.iter_mut() {
                    if *w == v {
                        *w = u;
                    }
                }
                self.around[i].push(tri);
            }
        }
        self.stamps[i] += 1;
    }

    fn finish(self) -> TriMesh {
        let mut place = vec![u32::MAX; self.positions.len()];
        let mut out = TriMesh::default();
        for (tri, _) in self
            .triangles
            .iter()
            .zip(&self.alive)
            .filter(|(_, alive)| **alive)
        {
            out.triangles.push(tri.map(|v| {
                let slot = &mut place[v as usize];
                if *slot == u32::MAX {
                    *slot = u32::try_from(out.positions.len()).unwrap_or(u32::MAX);
                    out.positions.push(self.positions[v as usize]);
                }
                *slot
            }));
        }
        out
    }
}

/// Squared distance to the plane through `at` with unit normal `n`, weighted.
fn plane_quadric(n: Triple, at: Triple, weight: f64) -> Quadric {
    let d = -t::dot(n, at);
    [
        n[0] * n[0],
        n[0] * n[1],
        n[0] * n[2],
        n[0] * d,
        n[1] * n[1],
        n[1] * n[2],
        n[1] * d,
        n[2] * n[2],
        n[2] * d,
        d * d,
    ]
    .map(|x| x * weight)
}

fn evaluate(q: &Quadric, [x, y, z]: Triple) -> f64 {
    q[0] * x * x
        + 2.0 * (q[1] * x * y + q[2] * x * z + q[3] * x)
        + q[4] * y * y
        + 2.0 * (q[5] * y * z + q[6] * y)
        + q[7] * z * z
        + 2.0 * q[8] * z
        + q[9]
}

/// The point of least quadric error, `None` where it is not well defined (flat or cylindrical surroundings).
fn minimum(q: &Quadric) -> Option<Triple> {
    let m = [[q[0], q[1], q[2]], [q[1], q[4], q[5]], [q[2], q[5], q[7]]];
    let b = [-q[3], -q[6], -q[8]];
    let det = t::dot(m[0], t::cross(m[1], m[2]));
    let trace = q[0] + q[4] + q[7];
    if det.abs() < 1e-4 * trace * trace * trace / float(27) {
        return None;
    }
    Some([
        t::dot(b, t::cross(m[1], m[2])) / det,
        t::dot(m[0], t::cross(b, m[2])) / det,
        t::dot(m[0], t::cross(m[1], b)) / det,
    ])
}
