//! Closed triangle meshes in the patient frame.

use nalgebra::Vector3;
use thiserror::Error;

/// A closed surface of triangles: positions in patient millimetres, corners counter-clockwise as
/// seen from outside.
///
/// The fields are open for building one; [`Mesh::check`] says whether the result is a closed
/// surface.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mesh {
    /// Vertex positions, patient frame, mm.
    pub positions: Vec<[f32; 3]>,
    /// Vertex indices of each triangle's corners.
    pub triangles: Vec<[u32; 3]>,
}

/// Why triangles are not a closed surface.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum MeshError {
    /// There is no triangle.
    #[error("mesh has no triangle")]
    Empty,
    /// There are more vertices or triangles than the cutter numbers.
    #[error("mesh has {count} {what}, more than {limit}")]
    TooLarge {
        /// Vertices or triangles.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many are allowed.
        limit: usize,
    },
    /// A position is infinite or not a number.
    #[error("vertex {vertex} at ({}, {}, {}) mm is not finite", .position[0], .position[1], .position[2])]
    PositionNotFinite {
        /// Index of the vertex.
        vertex: usize,
        /// Its position, mm.
        position: [f32; 3],
    },
    /// A triangle names a vertex that is not there.
    #[error("triangle {triangle} names vertex {vertex} of {vertices}")]
    NoSuchVertex {
        /// Index of the triangle.
        triangle: usize,
        /// The vertex it names.
        vertex: u32,
        /// How many vertices there are.
        vertices: usize,
    },
    /// A triangle has the same vertex twice.
    #[error("triangle {triangle} has vertex {vertex} twice")]
    RepeatedVertex {
        /// Index of the triangle.
        triangle: usize,
        /// The vertex it repeats.
        vertex: u32,
    },
    /// An edge does not have exactly one triangle on each side, running opposite ways: the surface
    /// has a hole, a fin or a flipped triangle there.
    #[error(
        "edge from vertex {from} to {to} is used {forward} times this way and {backward} times the other; each should be 1"
    )]
    OpenEdge {
        /// Start of the edge.
        from: u32,
        /// End of the edge.
        to: u32,
        /// Triangles that run along it.
        forward: usize,
        /// Triangles that run against it.
        backward: usize,
    },
    /// The surface encloses no volume, or is inside out.
    #[error(
        "mesh encloses {volume_mm3} mm³; corners must run counter-clockwise as seen from outside"
    )]
    InsideOut {
        /// Enclosed volume, mm³.
        volume_mm3: f64,
    },
}

/// Vertices and triangles of one mesh stay below this, so that edge numbers fit 32 bits.
const LARGEST_COUNT: usize = 1 << 28;

impl Mesh {
    /// Whether this is a closed, consistently outward surface; the first fault found.
    ///
    /// # Errors
    ///
    /// A [`MeshError`] naming the vertex, triangle or edge at fault.
    pub fn check(&self) -> Result<(), MeshError> {
        self.checked_twins().map(drop)
    }

    /// The edges' twins of a mesh that passes [`Mesh::check`].
    pub(crate) fn checked_twins(&self) -> Result<Vec<u32>, MeshError> {
        let twins = self.twins()?;
        let volume_mm3 = self.volume_mm3();
        if volume_mm3 > 0.0 {
            Ok(twins)
        } else {
            Err(MeshError::InsideOut { volume_mm3 })
        }
    }

    /// For each edge (three a triangle, from corner k to corner k + 1) the number 3 × triangle +
    /// corner of the same edge in the triangle on its other side.
    fn twins(&self) -> Result<Vec<u32>, MeshError> {
        self.check_indices()?;
        // Both triangles at an edge must come to lie next to each other. Edges are dealt out by their lower
        // vertex first, because sorting a handful of edges at each vertex is several times faster than sorting
        // all of them, and gives the same order: lower vertex, higher vertex, edge number.
        let mut starts = vec![0_u32; self.positions.len() + 1];
        let ends_of = |triangle: &[u32; 3], corner: usize| {
            let (from, to) = (triangle[corner], triangle[(corner + 1) % 3]);
            if from < to { (from, to) } else { (to, from) }
        };
        for triangle in &self.triangles {
            for corner in 0..3 {
                starts[index(ends_of(triangle, corner).0) + 1] += 1;
            }
        }
        let mut total = 0;
        for start in &mut starts {
            total += *start;
            *start = total;
        }
        let mut next = starts.clone();
        let mut edges = vec![(0_u32, 0_u32); 3 * self.triangles.len()];
        let mut number = 0_u32;
        for triangle in &self.triangles {
            for corner in 0..3 {
                let (low, high) = ends_of(triangle, corner);
                let slot = &mut next[index(low)];
                edges[index(*slot)] = (high, number);
                *slot += 1;
                number += 1;
            }
        }
        let from_of = |edge: u32| self.triangles[index(edge / 3)][index(edge % 3)];
        let mut twins = vec![0; edges.len()];
        for (low, ends) in (0_u32..).zip(starts.windows(2)) {
            let around = &mut edges[index(ends[0])..index(ends[1])];
            around.sort_unstable();
            for group in around.chunk_by(|a, b| a.0 == b.0) {
                let forward = group.iter().filter(|edge| from_of(edge.1) == low).count();
                match *group {
                    [(_, one), (_, other)] if forward == 1 => {
                        twins[index(one)] = other;
                        twins[index(other)] = one;
                    }
                    _ => {
                        return Err(MeshError::OpenEdge {
                            from: low,
                            to: group[0].0,
                            forward,
                            backward: group.len() - forward,
                        });
                    }
                }
            }
        }
        Ok(twins)
    }

    fn check_indices(&self) -> Result<(), MeshError> {
        if self.triangles.is_empty() {
            return Err(MeshError::Empty);
        }
        for (what, count) in [
            ("vertices", self.positions.len()),
            ("triangles", self.triangles.len()),
        ] {
            if count > LARGEST_COUNT {
                return Err(MeshError::TooLarge {
                    what,
                    count,
                    limit: LARGEST_COUNT,
                });
            }
        }
        for (vertex, &position) in self.positions.iter().enumerate() {
            if !position.iter().all(|c| c.is_finite()) {
                return Err(MeshError::PositionNotFinite { vertex, position });
            }
        }
        let vertices = self.positions.len();
        for (triangle, corners) in self.triangles.iter().enumerate() {
            for &vertex in corners {
                if index(vertex) >= vertices {
                    return Err(MeshError::NoSuchVertex {
                        triangle,
                        vertex,
                        vertices,
                    });
                }
            }
            let [a, b, c] = *corners;
            if a == b || b == c || c == a {
                let vertex = if a == b || c == a { a } else { b };
                return Err(MeshError::RepeatedVertex { triangle, vertex });
            }
        }
        Ok(())
    }

    fn corners(&self, triangle: [u32; 3]) -> [Vector3<f64>; 3] {
        triangle.map(|vertex| {
            let [x, y, z] = self
                .positions
                .get(index(vertex))
                .copied()
                .unwrap_or_default();
            Vector3::new(f64::from(x), f64::from(y), f64::from(z))
        })
    }

    /// Enclosed volume, mm³; negative for an inside-out surface.
    #[must_use]
    pub fn volume_mm3(&self) -> f64 {
        // Tetrahedra from a vertex of the mesh, not from the far origin, to keep the digits.
        let [x, y, z] = self.positions.first().copied().unwrap_or_default();
        let origin = Vector3::new(f64::from(x), f64::from(y), f64::from(z));
        self.triangles
            .iter()
            .map(|&triangle| {
                let [a, b, c] = self.corners(triangle).map(|corner| corner - origin);
                a.dot(&b.cross(&c)) / 6.0
            })
            .sum()
    }

    /// Surface area, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.triangles
            .iter()
            .map(|&triangle| {
                let [a, b, c] = self.corners(triangle);
                (b - a).cross(&(c - a)).norm() / 2.0
            })
            .sum()
    }

    /// Lowest and highest coordinates of the vertices, mm; `None` without vertices.
    #[must_use]
    pub fn bounds(&self) -> Option<([f32; 3], [f32; 3])> {
        let mut positions = self.positions.iter();
        let first = *positions.next()?;
        let (mut low, mut high) = (first, first);
        for position in positions {
            for axis in 0..3 {
                if position[axis] < low[axis] {
                    low[axis] = position[axis];
                }
                if position[axis] > high[axis] {
                    high[axis] = position[axis];
                }
            }
        }
        Some((low, high))
    }

    /// Outward unit normals at the vertices: the mean of the triangles around each, weighted by the
    /// angle at the vertex (Thürmer and Wüthrich, J Graphics Tools 1998; 3: 43; from memory).
    /// A vertex without triangles, or whose triangles cancel, gets +z.
    #[must_use]
    pub fn smooth_normals(&self) -> Vec<[f32; 3]> {
        let mut sums = vec![Vector3::<f64>::zeros(); self.positions.len()];
        for &triangle in &self.triangles {
            let corners = self.corners(triangle);
            let cross = (corners[1] - corners[0]).cross(&(corners[2] - corners[0]));
            let length = cross.norm();
            if length <= 0.0 {
                continue;
            }
            let normal = cross / length;
            for corner in 0..3 {
                let here = corners[corner];
                let one = corners[(corner + 1) % 3] - here;
                let other = corners[(corner + 2) % 3] - here;
                let angle = libm::atan2(one.cross(&other).norm(), one.dot(&other));
                if let Some(sum) = sums.get_mut(index(triangle[corner])) {
                    *sum += normal * angle;
                }
            }
        }
        sums.into_iter()
            .map(|sum| {
                let length = sum.norm();
                if length > 0.0 {
                    to_f32(sum / length)
                } else {
                    [0.0, 0.0, 1.0]
                }
            })
            .collect()
    }
}

/// A vertex or edge number as an index.
pub(crate) const fn index(number: u32) -> usize {
    number as usize
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to the nearest f32 is meant"
)]
fn to_f32(vector: Vector3<f64>) -> [f32; 3] {
    [vector.x as f32, vector.y as f32, vector.z as f32]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron() -> Mesh {
        Mesh {
            positions: vec![
                [0.0, 0.0, 0.0],
                [1.0, 0.0, 0.0],
                [0.0, 1.0, 0.0],
                [0.0, 0.0, 1.0],
            ],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        }
    }

    #[test]
    fn measures_of_a_corner_tetrahedron() {
        let mesh = tetrahedron();
        assert_eq!(mesh.check(), Ok(()));
        assert!((mesh.volume_mm3() - 1.0 / 6.0).abs() < 1e-12, "volume");
        let area = 1.5 + 3.0_f64.sqrt() / 2.0;
        assert!((mesh.area_mm2() - area).abs() < 1e-12, "area");
        assert_eq!(mesh.bounds(), Some(([0.0; 3], [1.0; 3])));
        let normal = mesh.smooth_normals()[0];
        for component in normal {
            assert!(
                (f64::from(component) + 1.0 / 3.0_f64.sqrt()).abs() < 1e-6,
                "{normal:?}"
            );
        }
    }

    #[test]
    fn the_twin_of_an_edge_is_the_same_edge_from_the_other_side() {
        let mesh = tetrahedron();
        let twins = mesh.twins().expect("closed");
        let ends = |edge: u32| {
            let triangle = mesh.triangles[index(edge / 3)];
            let corner = index(edge % 3);
            (triangle[corner], triangle[(corner + 1) % 3])
        };
        assert_eq!(twins.len(), 12, "three edges a triangle");
        for (edge, &twin) in (0..).zip(&twins) {
            let (from, to) = ends(edge);
            assert_eq!(ends(twin), (to, from), "edge {edge}");
            assert_eq!(twins[index(twin)], edge, "the twin of its twin");
        }
    }

    fn check_fault(change: impl Fn(&mut Mesh), words: &str) {
        let mut mesh = tetrahedron();
        change(&mut mesh);
        let message = mesh.check().expect_err("a fault").to_string();
        assert!(
            message.contains(words),
            "{message:?} should contain {words:?}"
        );
    }

    #[test]
    fn faults_are_named() {
        check_fault(|m| m.triangles.clear(), "no triangle");
        check_fault(|m| m.positions[2][1] = f32::NAN, "vertex 2");
        check_fault(|m| m.triangles[1][0] = 9, "triangle 1 names vertex 9 of 4");
        check_fault(
            |m| m.triangles[3] = [1, 1, 3],
            "triangle 3 has vertex 1 twice",
        );
        check_fault(
            |m| m.triangles.truncate(3),
            "used 0 times this way and 1 times the other",
        );
        check_fault(|m| m.triangles[3] = [1, 3, 2], "each should be 1");
        check_fault(
            |m| m.triangles.iter_mut().for_each(|t| t.swap(0, 1)),
            "counter-clockwise",
        );
        check_fault(|m| m.triangles.push([0, 2, 1]), "each should be 1");
    }
}
