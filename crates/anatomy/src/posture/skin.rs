//! The skin as shown: for drawing, and for rays of sight.

use geometry::{Direction, Mesh, Patient, Point, Posed, Vector};

use super::refine::{Refined, refine};
use super::{Posture, single};
use crate::skin::{SkinPoint, SkinSurface};
use crate::tree::TriangleTree;

/// The bent skin. Its triangles are parts of those of the unposed skin, so that a place on one is a place on the other.
#[derive(Debug, Clone)]
pub struct PosedSkin {
    /// Axes of [`Posed`], mm.
    mesh: Mesh,
    normals: Vec<[f32; 3]>,
    /// Where its vertices are on the unposed skin, patient mm, and of which triangles its triangles are parts.
    unposed: Vec<[f32; 3]>,
    part_of: Vec<usize>,
    /// The tree knows patient coordinates only; these are [`Posed`] ones.
    tree: TriangleTree,
    bounds: ([f64; 3], [f64; 3]),
}

impl PosedSkin {
    /// Bends a skin.
    #[must_use]
    pub fn new(skin: &SkinSurface, posture: &Posture) -> Self {
        let Refined {
            mut mesh,
            mut normals,
            part_of,
        } = refine(skin.mesh(), skin.normals(), posture);
        let unposed = mesh.positions.clone();
        for (at, normal) in mesh.positions.iter_mut().zip(&mut normals) {
            (*at, *normal) = posture.vertex(*at, *normal);
        }
        let tree = TriangleTree::new(&mesh);
        Self {
            bounds: tree.bounds().unwrap_or_else(|| skin.bounds()),
            tree,
            mesh,
            normals,
            unposed,
            part_of,
        }
    }

    /// The mesh, axes of [`Posed`], mm.
    #[must_use]
    pub fn mesh(&self) -> &Mesh {
        &self.mesh
    }

    /// Unit outward normals per vertex of [`mesh`](Self::mesh), for drawing.
    #[must_use]
    pub fn normals(&self) -> &[[f32; 3]] {
        &self.normals
    }

    /// Smallest and largest corner of the box around it, axes of [`Posed`], mm.
    #[must_use]
    pub fn bounds(&self) -> ([f64; 3], [f64; 3]) {
        self.bounds
    }

    /// The place of `skin` (the unposed skin this was made from) that a ray of sight from `origin` along `direction`
    /// meets first on the shown skin, from outside.
    #[must_use]
    pub fn ray(
        &self,
        skin: &SkinSurface,
        origin: Point<Posed>,
        direction: Direction<Posed>,
    ) -> Option<SkinPoint> {
        let origin = Point::<Patient>::from_array(origin.to_array());
        let along = Vector::<Patient>::from_array(direction.to_array());
        let (distance, facet) = self
            .tree
            .ray(origin, along, |facet| facet.area_vector().dot(along) < 0.0)?;
        let shown = origin + along * distance;
        let [_, second, third] = weights(&[0, 1, 2].map(|k| facet.corner(k)), shown);
        let [a, b, c] = self.unposed_corners(facet.triangle)?;
        let triangle = *self.part_of.get(facet.triangle)?;
        Some(SkinPoint {
            point: a + (b - a) * second + (c - a) * third,
            normal: triangle_normal(skin.mesh(), triangle)?,
            triangle,
        })
    }

    fn unposed_corners(&self, triangle: usize) -> Option<[Point<Patient>; 3]> {
        corners(&self.unposed, self.mesh.triangles.get(triangle)?)
    }
}

impl Posture {
    /// A vertex and its normal as shown.
    pub(crate) fn vertex(&self, at: [f32; 3], normal: [f32; 3]) -> ([f32; 3], [f32; 3]) {
        let point = Point::from_array(at.map(f64::from));
        if self.local(point).is_none() {
            return (at, normal);
        }
        let facing = Direction::from_array(normal.map(f64::from));
        let facing = facing.map(|facing| self.normal(point, facing).to_array());
        (
            single(self.point(point).to_array()),
            facing.map_or(normal, single),
        )
    }
}

fn corners(positions: &[[f32; 3]], triangle: &[u32; 3]) -> Option<[Point<Patient>; 3]> {
    let mut corners = [Point::ORIGIN; 3];
    for (corner, vertex) in corners.iter_mut().zip(triangle) {
        let at = positions.get(usize::try_from(*vertex).ok()?)?;
        *corner = Point::from_array(at.map(f64::from));
    }
    Some(corners)
}

fn triangle_normal(mesh: &Mesh, triangle: usize) -> Option<Direction<Patient>> {
    let [a, b, c] = corners(&mesh.positions, mesh.triangles.get(triangle)?)?;
    (b - a).cross(c - a).direction()
}

/// Weights of the corners of a triangle with an area at a point of its plane; they sum to one.
fn weights(corners: &[Point<Patient>; 3], at: Point<Patient>) -> [f64; 3] {
    let [a, b, c] = *corners;
    let whole = (b - a).cross(c - a);
    let share = |p: Point<Patient>, q: Point<Patient>| {
        (p - at).cross(q - at).dot(whole) / whole.dot(whole).max(f64::MIN_POSITIVE)
    };
    let (second, third) = (share(c, a), share(a, b));
    [1.0 - second - third, second, third]
}
