//! Solids made from numbers: bed, probe, arrows, rings. Pure; no graphics context is needed.

mod loft;
mod probe;
mod solids;

pub use probe::{NotchShape, ProbeMeshes, ProbeShape, Station};
pub use solids::{arrow, ball, disc, ring, rounded_box, turn_arrow};

use glam::{Mat3, Mat4, Vec3};

/// A triangle mesh with one unit normal per vertex; triangles run counter-clockwise seen from outside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shape {
    /// Vertex positions, in the units the shape was asked for.
    pub positions: Vec<[f32; 3]>,
    /// Unit outward normals, one for each position.
    pub normals: Vec<[f32; 3]>,
    /// Three vertex numbers for each triangle.
    pub indices: Vec<u32>,
}

impl Shape {
    /// Adds a copy of `other`, moved by a transform without mirroring (`self` from `other`).
    pub fn append(&mut self, other: &Self, self_from_other: Mat4) {
        let base = vertex_number(self.positions.len());
        let turn = Mat3::from_mat4(self_from_other).inverse().transpose();
        for p in &other.positions {
            self.positions.push(
                self_from_other
                    .transform_point3(Vec3::from_array(*p))
                    .to_array(),
            );
        }
        for n in &other.normals {
            self.normals.push(
                (turn * Vec3::from_array(*n))
                    .normalize_or(Vec3::Z)
                    .to_array(),
            );
        }
        self.indices.extend(other.indices.iter().map(|i| base + i));
    }

    fn push(&mut self, position: Vec3, normal: Vec3) -> u32 {
        let number = vertex_number(self.positions.len());
        self.positions.push(position.to_array());
        self.normals.push(normal.to_array());
        number
    }

    fn triangle(&mut self, a: u32, b: u32, c: u32) {
        self.indices.extend([a, b, c]);
    }

    /// Two triangles of a quadrilateral given counter-clockwise.
    fn quad(&mut self, a: u32, b: u32, c: u32, d: u32) {
        self.triangle(a, b, c);
        self.triangle(a, c, d);
    }

    /// Replaces every normal by the area-weighted mean of the faces round its vertex.
    fn smooth_normals(&mut self) {
        let mut sums = vec![Vec3::ZERO; self.positions.len()];
        for corner in self.indices.chunks_exact(3) {
            let [a, b, c] = [corner[0], corner[1], corner[2]].map(|i| i as usize);
            let [pa, pb, pc] = [a, b, c].map(|i| Vec3::from_array(self.positions[i]));
            let face = (pb - pa).cross(pc - pa);
            for i in [a, b, c] {
                sums[i] += face;
            }
        }
        for (normal, sum) in self.normals.iter_mut().zip(sums) {
            *normal = sum.normalize_or(Vec3::Z).to_array();
        }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "the shapes here have some tens of thousands of vertices at most"
)]
fn vertex_number(count: usize) -> u32 {
    count as u32
}

/// A small count as a number to calculate with; exact below 2²⁴.
#[expect(
    clippy::cast_precision_loss,
    reason = "counts of segments and rings, all far below 2^24"
)]
fn count(n: usize) -> f32 {
    n as f32
}

#[cfg(test)]
pub(crate) mod checks {
    use super::*;
    use std::collections::BTreeMap;

    /// Positions nearer than this are one corner when seams are closed, shape units.
    const WELD: f32 = 1e-3;

    fn welded(shape: &Shape) -> Vec<usize> {
        let mut seen = BTreeMap::new();
        shape
            .positions
            .iter()
            .map(|p| {
                #[expect(
                    clippy::cast_possible_truncation,
                    reason = "test shapes are below a thousand units"
                )]
                let key = p.map(|v| (v / WELD).round() as i64);
                let next = seen.len();
                *seen.entry(key).or_insert(next)
            })
            .collect()
    }

    /// Whether every edge is shared by two triangles that run along it in opposite senses.
    pub(crate) fn is_closed(shape: &Shape) -> bool {
        let corner = welded(shape);
        let mut edges: BTreeMap<(usize, usize), i32> = BTreeMap::new();
        for t in shape.indices.chunks_exact(3) {
            let ids = [t[0], t[1], t[2]].map(|i| corner[i as usize]);
            for (a, b) in [(ids[0], ids[1]), (ids[1], ids[2]), (ids[2], ids[0])] {
                if a != b {
                    *edges.entry((a.min(b), a.max(b))).or_insert(0) += if a < b { 1 } else { -1 };
                }
            }
        }
        !edges.is_empty() && edges.values().all(|sum| *sum == 0)
    }

    /// Signed volume; positive when triangles run counter-clockwise seen from outside.
    pub(crate) fn volume(shape: &Shape) -> f32 {
        shape
            .indices
            .chunks_exact(3)
            .map(|t| {
                let [a, b, c] =
                    [t[0], t[1], t[2]].map(|i| Vec3::from_array(shape.positions[i as usize]));
                a.dot(b.cross(c)) / 6.0
            })
            .sum()
    }

    /// Unit normals, whole triangles, indices in range, and every normal on the outer side of its faces.
    pub(crate) fn check_sound(name: &str, shape: &Shape) {
        assert_eq!(
            shape.positions.len(),
            shape.normals.len(),
            "{name}: one normal for each vertex"
        );
        assert_eq!(shape.indices.len() % 3, 0, "{name}: whole triangles");
        assert!(!shape.indices.is_empty(), "{name}: has triangles");
        for n in &shape.normals {
            assert!(
                (Vec3::from_array(*n).length() - 1.0).abs() < 1e-3,
                "{name}: unit normal {n:?}"
            );
        }
        for t in shape.indices.chunks_exact(3) {
            let [a, b, c] =
                [t[0], t[1], t[2]].map(|i| Vec3::from_array(shape.positions[i as usize]));
            let face = (b - a).cross(c - a);
            if face.length() < 1e-4 {
                continue;
            }
            for i in t {
                let n = Vec3::from_array(shape.normals[*i as usize]);
                assert!(
                    n.dot(face.normalize()) > 0.0,
                    "{name}: a normal at {a} turns inward"
                );
            }
        }
    }

    /// Smallest and largest corner.
    pub(crate) fn bounds(shape: &Shape) -> (Vec3, Vec3) {
        shape
            .positions
            .iter()
            .fold((Vec3::INFINITY, Vec3::NEG_INFINITY), |(lo, hi), p| {
                let p = Vec3::from_array(*p);
                (lo.min(p), hi.max(p))
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_append_moves_positions_and_turns_normals() {
        let mut shape = disc(2.0, 12);
        let before = shape.indices.len();
        let tilt = Mat4::from_rotation_x(core::f32::consts::FRAC_PI_2)
            * Mat4::from_scale(Vec3::new(3.0, 1.0, 1.0));
        shape.append(&disc(1.0, 12), Mat4::from_translation(Vec3::X * 9.0) * tilt);
        assert_eq!(shape.indices.len(), 2 * before, "both discs are there");
        checks::check_sound("two discs", &shape);
        let last = Vec3::from_array(*shape.normals.last().expect("has vertices"));
        assert!(
            (last - Vec3::NEG_Y).length() < 1e-5,
            "z turned about x by a quarter is -y, got {last}"
        );
    }
}
