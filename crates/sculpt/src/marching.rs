//! Marching cubes without tables: polygons traced round the faces of each cell.
//!
//! Each face joins its edge crossings by a rule that looks at the face's own four signs only (inside corners are kept
//! apart), so neighbouring cells always agree and the mesh is a closed manifold, ambiguous cells included.

use crate::grid::{Grid, corner, float};
use crate::triple::{self as t, Triple};
use std::collections::HashMap;

/// A triangle mesh in patient mm, outward counter-clockwise.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TriMesh {
    /// Vertices, mm.
    pub positions: Vec<Triple>,
    /// Triangles.
    pub triangles: Vec<[u32; 3]>,
}

impl TriMesh {
    /// Unit vertex normals, weighted by area; zero where the triangles round a vertex cancel out.
    #[must_use]
    pub fn normals(&self) -> Vec<Triple> {
        let mut sums = vec![[0.0; 3]; self.positions.len()];
        for tri in &self.triangles {
            let [a, b, c] = tri.map(|v| self.positions[v as usize]);
            let n = t::cross(t::sub(b, a), t::sub(c, a));
            for &v in tri {
                sums[v as usize] = t::add(sums[v as usize], n);
            }
        }
        sums.into_iter()
            .map(|n| t::unit(n).unwrap_or_default())
            .collect()
    }
}

/// Corners of the six faces, counter-clockwise seen from outside the cell.
const FACES: [[usize; 4]; 6] = [
    [0, 4, 6, 2], // x low
    [1, 3, 7, 5], // x high
    [0, 1, 5, 4], // y low
    [2, 6, 7, 3], // y high
    [0, 2, 3, 1], // z low
    [4, 5, 7, 6], // z high
];

/// The cell's edge between two neighbouring corners: 4 × axis + position of the low corner among the four of that axis.
fn edge_of(a: usize, b: usize) -> usize {
    let axis = (a ^ b).trailing_zeros() as usize;
    let low = a.min(b);
    let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
    4 * axis + (low >> u & 1) + 2 * (low >> v & 1)
}

/// Low corner and axis of a cell edge.
fn edge_start(edge: usize) -> (usize, usize) {
    let axis = edge / 4;
    let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
    (((edge & 1) << u) | ((edge >> 1 & 1) << v), axis)
}

/// Whether two cell edges lie on a common face.
fn share_face(a: usize, b: usize) -> bool {
    FACES.iter().any(|face| {
        let on = |e: usize| (0..4).any(|i| edge_of(face[i], face[(i + 1) % 4]) == e);
        on(a) && on(b)
    })
}

/// The surface of the grid's field as a closed manifold mesh with its vertices on the surface.
pub(crate) fn polygonise(
    grid: &mut Grid<'_>,
    hints: &[Triple],
    field: &dyn Fn(Triple) -> f64,
) -> TriMesh {
    let cells = grid.crossed_cells(hints);
    let mut mesh = TriMesh::default();
    let mut on_edge: HashMap<usize, u32> = HashMap::new();
    for cell in cells {
        let v = grid.corners(cell);
        let inside: [bool; 8] = std::array::from_fn(|i| v[i] < 0.0);
        let mut next = [usize::MAX; 12];
        for face in FACES {
            for i in 0..4 {
                // A run of inside corners starts where the walk round the face enters; it ends at its exit.
                if inside[face[i]] || !inside[face[(i + 1) % 4]] {
                    continue;
                }
                let enter = edge_of(face[i], face[(i + 1) % 4]);
                let mut j = (i + 1) % 4;
                // In an ambiguous face the corner after the run is outside at once, so corners stay apart.
                while inside[face[(j + 1) % 4]] {
                    j = (j + 1) % 4;
                }
                let exit = edge_of(face[j], face[(j + 1) % 4]);
                next[enter] = exit;
            }
        }
        let mut used = [false; 12];
        for start in 0..12 {
            if next[start] == usize::MAX || used[start] {
                continue;
            }
            let mut cycle = Vec::with_capacity(8);
            let mut e = start;
            while !used[e] {
                used[e] = true;
                cycle.push(e);
                e = next[e];
            }
            let ids: Vec<u32> = cycle
                .iter()
                .map(|&e| {
                    let (low, axis) = edge_start(e);
                    let node = corner(cell, low);
                    let key = grid.index(node) * 3 + axis;
                    *on_edge.entry(key).or_insert_with(|| {
                        let mut far = node;
                        far[axis] += 1;
                        let (a, b) = (grid.position(node), grid.position(far));
                        mesh.positions.push(crossing(
                            a,
                            grid.value(node),
                            b,
                            grid.value(far),
                            field,
                        ));
                        u32::try_from(mesh.positions.len() - 1).unwrap_or(u32::MAX)
                    })
                })
                .collect();
            fill(&mut mesh, &cycle, &ids, field, grid.step);
        }
    }
    mesh
}

/// Triangles of one polygon. A diagonal within a cell face could be chosen by the neighbour too, which would put four
/// triangles on one edge; such polygons, and large ones, get a vertex in their middle instead.
fn fill(
    mesh: &mut TriMesh,
    cycle: &[usize],
    ids: &[u32],
    field: &dyn Fn(Triple) -> f64,
    step: f64,
) {
    match ids.len() {
        3 => mesh.triangles.push([ids[0], ids[1], ids[2]]),
        4 if !share_face(cycle[0], cycle[2]) => {
            mesh.triangles.push([ids[0], ids[1], ids[2]]);
            mesh.triangles.push([ids[0], ids[2], ids[3]]);
        }
        4 if !share_face(cycle[1], cycle[3]) => {
            mesh.triangles.push([ids[1], ids[2], ids[3]]);
            mesh.triangles.push([ids[1], ids[3], ids[0]]);
        }
        n => {
            let sum = ids
                .iter()
                .fold([0.0; 3], |s, &i| t::add(s, mesh.positions[i as usize]));
            let middle = t::scale(sum, 1.0 / float(n));
            let across = (0..n).fold([0.0; 3], |across, i| {
                let [a, b] =
                    [i, (i + 1) % n].map(|i| t::sub(mesh.positions[ids[i] as usize], middle));
                t::add(across, t::cross(a, b))
            });
            let placed =
                t::unit(across).map_or(middle, |normal| along(middle, normal, field, 0.4 * step));
            let id = u32::try_from(mesh.positions.len()).unwrap_or(u32::MAX);
            mesh.positions.push(placed);
            for i in 0..n {
                mesh.triangles.push([ids[i], ids[(i + 1) % n], id]);
            }
        }
    }
}

/// Where the field vanishes between `a` (value `fa`) and `b` (value `fb`), by the Illinois variant of regula falsi.
fn crossing(
    mut a: Triple,
    mut fa: f64,
    mut b: Triple,
    mut fb: f64,
    field: &dyn Fn(Triple) -> f64,
) -> Triple {
    // Kept off the very ends: two vertices in one grid node would make triangles without area.
    const MARGIN: f64 = 0.03;
    // A thirtieth of the finest tolerance, mm.
    const CLOSE: f64 = 0.008;
    let (start, end) = (a, b);
    for _ in 0..6 {
        let s = (fa / (fa - fb)).clamp(0.0, 1.0);
        let m = t::lerp(a, b, s);
        let fm = field(m);
        if fm.abs() < CLOSE {
            a = m;
            fa = 0.0;
            break;
        }
        if (fm < 0.0) == (fb < 0.0) {
            (b, fb) = (m, fm);
            fa *= 0.5;
        } else {
            (a, fa) = (m, fm);
            fb *= 0.5;
        }
    }
    let m = if fa == 0.0 {
        a
    } else {
        t::lerp(a, b, (fa / (fa - fb)).clamp(0.0, 1.0))
    };
    let whole = t::sub(end, start);
    let along = t::dot(t::sub(m, start), whole) / t::dot(whole, whole);
    t::lerp(start, end, along.clamp(MARGIN, 1.0 - MARGIN))
}

/// Secant steps along the unit outward normal `n` toward the surface, no farther than `reach` mm.
fn along(p: Triple, n: Triple, field: &dyn Fn(Triple) -> f64, reach: f64) -> Triple {
    /// Less than the value's own slope ever is along the normal of a polygon, 1/mm.
    const FLAT: f64 = 0.2;
    let f = field(p);
    let mut far = -f;
    for _ in 0..2 {
        far = far.clamp(-reach, reach);
        let slope = (field(t::add(p, t::scale(n, far))) - f) / far;
        if slope.is_nan() || slope <= FLAT {
            break;
        }
        far = -f / slope;
    }
    t::add(p, t::scale(n, far.clamp(-reach, reach)))
}

/// Newton steps toward the surface, in all no farther than `reach` mm.
pub(crate) fn project(
    p: Triple,
    field: &dyn Fn(Triple) -> f64,
    steps: usize,
    reach: f64,
) -> Triple {
    let mut q = p;
    for _ in 0..steps {
        let f = field(q);
        let g = crate::model::Model::gradient(field, q);
        let g2 = t::dot(g, g);
        if g2 < 1e-6 {
            break;
        }
        q = t::sub(q, t::scale(g, f / g2));
    }
    let moved = t::sub(q, p);
    let far = t::length(moved);
    if far > reach {
        t::add(p, t::scale(moved, reach / far))
    } else {
        q
    }
}

/// The octahedron with its six corners `r` mm from the origin, for tests of what works on meshes.
#[cfg(test)]
pub(crate) fn octahedron(r: f64) -> TriMesh {
    TriMesh {
        positions: vec![
            [r, 0.0, 0.0],
            [-r, 0.0, 0.0],
            [0.0, r, 0.0],
            [0.0, -r, 0.0],
            [0.0, 0.0, r],
            [0.0, 0.0, -r],
        ],
        triangles: vec![
            [0, 2, 4],
            [2, 1, 4],
            [1, 3, 4],
            [3, 0, 4],
            [2, 0, 5],
            [1, 2, 5],
            [3, 1, 5],
            [0, 3, 5],
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::triple::Bounds;

    fn volume(mesh: &TriMesh) -> f64 {
        let p = |i: u32| mesh.positions[i as usize];
        mesh.triangles
            .iter()
            .map(|&[a, b, c]| t::dot(p(a), t::cross(p(b), p(c))) / 6.0)
            .sum()
    }

    #[test]
    fn a_ball_comes_out_closed_and_outward() {
        let field = |p: Triple| t::length(p) - 10.0;
        let mut grid = Grid::new(
            Bounds {
                lo: [-10.0; 3],
                hi: [10.0; 3],
            },
            1.0,
            &field,
        );
        let mesh = polygonise(&mut grid, &[], &field);
        let ball = 4.0 / 3.0 * std::f64::consts::PI * 1000.0;
        assert!(
            (volume(&mesh) / ball - 1.0).abs() < 0.01,
            "volume {} of {ball}",
            volume(&mesh)
        );
    }

    #[test]
    fn noise_of_cell_size_stays_a_manifold() {
        // Values change sign from node to node at random, so every ambiguous cell occurs.
        let field = |p: Triple| {
            if p.iter().any(|v| v.abs() > 9.5) {
                return 1.0;
            }
            let h =
                libm::sin(p[0].round() * 12.9898 + p[1].round() * 78.233 + p[2].round() * 37.719)
                    * 43758.5453;
            h - h.floor() - 0.5
        };
        let mut grid = Grid::new(
            Bounds {
                lo: [-10.0; 3],
                hi: [10.0; 3],
            },
            1.0,
            &field,
        );
        let mesh = polygonise(&mut grid, &[], &field);
        assert!(
            mesh.triangles.len() > 5000,
            "only {} triangles",
            mesh.triangles.len()
        );
        crate::manifold::check(&mesh).unwrap();
    }
}
