//! Cutting many closed meshes with one plane.
//!
//! # How it works
//!
//! At preparation each mesh's triangles are sorted in space into *clusters* of at most 32, and 16
//! neighbouring clusters make a *group*; groups and clusters have bounding boxes.
//! A cut tests all group boxes, then the cluster boxes of the groups that are reached.
//! In a reached cluster every vertex is put on one side of the plane.
//! Each vertex carries a 32-bit word of the triangles around it, so two ORs over the vertices, one
//! for each side, and one AND give the word of crossing triangles.
//! The first crossing triangle starts a walk from triangle to neighbour that follows the outline
//! and clears the bits it passes, until it is back where it began; what bits remain belong to other
//! outlines.
//!
//! # Why every cut is closed
//!
//! A vertex is *above* when its signed distance, in one fixed order of `f32` operations on its
//! coordinates, is not negative; "on the plane" therefore counts as above, and a vertex is on the
//! same side wherever it is met.
//! A triangle with corners on both sides has exactly one edge that runs from above to below and one
//! that runs from below to above, and each such edge has exactly one triangle on its other side,
//! where it runs the other way.
//! "Leave over the edge that runs up" is thus a permutation of the crossing triangles, and its
//! cycles are the outlines: the walk always returns, whatever the numbers.

mod build;
mod loops;
mod walk;

use thiserror::Error;

pub use loops::{LoopRef, Loops, loop_area, loop_length};

use crate::mesh::{Mesh, MeshError, index};
use crate::plane::ImagePlane;

/// Triangles of a cluster: one bit each of a word.
const CLUSTER: u32 = 32;

/// Clusters of a group.
const GROUP: usize = 16;

/// Lanes of one block of numbers; the compiler turns loops over a block into vector instructions.
const LANES: usize = 8;

/// A mesh of a set is not a closed surface.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("mesh {mesh} of the set is not a closed surface")]
pub struct CutMeshError {
    /// Index of the mesh in the set.
    pub mesh: usize,
    /// What is wrong with it.
    pub source: MeshError,
}

/// Boxes of eight groups or clusters: centre and half size, patient frame, mm.
#[derive(Debug, Clone, Copy)]
struct BoxBlock {
    centre: [[f32; LANES]; 3],
    half: [[f32; LANES]; 3],
}

/// Vertices of the clusters, one cluster after the other, each filled up to whole [`LANES`] with
/// vertices of no triangle: coordinates (patient frame, mm) and the triangles of the cluster around
/// each.
///
/// Four flat arrays, not an array of blocks: over nested loops the compiler gathers single numbers
/// from different blocks into a vector, which took twice the time.
#[derive(Debug, Clone, Default)]
struct ClusterVertices {
    x: Vec<f32>,
    y: Vec<f32>,
    z: Vec<f32>,
    around: Vec<u32>,
}

/// Sixteen clusters of one mesh.
#[derive(Debug, Clone, Copy)]
struct Group {
    mesh: u32,
    first_cluster: u32,
}

/// A triangle as the walk sees it: edge k runs from corner k to corner k + 1.
///
/// Sixteen bytes, and corners are found among those of the cluster, which were just looked at: a walk waits for memory
/// more than for anything else.
#[derive(Debug, Clone, Copy, Default)]
struct Links {
    /// Each edge in the triangle on its other side.
    twins: [u32; 3],
    /// The corner that is not on edge k: place among the vertices of the cluster.
    apexes: [u8; 4],
}

/// Numbers of edges given to one triangle; the fourth is unused and makes the numbers shifts.
const EDGES: u32 = 4;

/// Closed meshes prepared for being cut together.
#[derive(Debug, Clone)]
pub struct CutSet {
    meshes: Vec<Mesh>,
    /// One block for eight groups.
    group_boxes: Vec<BoxBlock>,
    groups: Vec<Group>,
    /// Two blocks for each group.
    cluster_boxes: Vec<BoxBlock>,
    /// Where each cluster's vertices begin; one more entry than clusters.
    starts: Vec<u32>,
    vertices: ClusterVertices,
    /// Number of a triangle: 32 × cluster + place in it; of an edge: 4 × triangle + corner.
    links: Vec<Links>,
}

/// Working memory of a cut, kept between cuts so that none allocates.
/// One scratch serves any set.
#[derive(Debug, Clone, Default)]
pub struct CutScratch {
    /// Crossing triangles not walked yet, one word a cluster; all zero between cuts.
    words: Vec<u32>,
    /// Clusters with crossing triangles, ascending, with their mesh.
    crossed: Vec<(u32, u32)>,
}

/// The plane in the precision of the vertices: signed distance `x·p − offset`, above when ≥ 0.
#[derive(Debug, Clone, Copy)]
struct FlatPlane {
    normal: [f32; 3],
    offset: f32,
}

impl FlatPlane {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "rounding to the nearest f32 is meant"
    )]
    fn of(plane: &ImagePlane) -> Self {
        let normal = plane.normal().to_array();
        let offset = plane.normal().to_vector().dot(plane.origin().to_vector());
        Self {
            normal: normal.map(|c| c as f32),
            offset: offset as f32,
        }
    }

    /// The one rule for a vertex's side, in one fixed order of operations.
    #[inline(always)]
    fn is_above(&self, x: f32, y: f32, z: f32) -> bool {
        x * self.normal[0] + y * self.normal[1] + z * self.normal[2] - self.offset >= 0.0
    }
}

impl BoxBlock {
    /// Bit i tells whether the plane reaches box i.
    #[inline]
    fn reached(&self, plane: &FlatPlane) -> u32 {
        let [nx, ny, nz] = plane.normal;
        let [ax, ay, az] = [nx.abs(), ny.abs(), nz.abs()];
        let mut bits = [0_u32; LANES];
        for (i, bit) in bits.iter_mut().enumerate() {
            let distance = self.centre[0][i] * nx + self.centre[1][i] * ny + self.centre[2][i] * nz
                - plane.offset;
            let reach = self.half[0][i] * ax + self.half[1][i] * ay + self.half[2][i] * az;
            *bit = if distance.abs() <= reach { 1 << i } else { 0 };
        }
        bits.iter().fold(0, |word, bit| word | bit)
    }
}

impl CutSet {
    /// Prepares `meshes`, patient frame, mm, for cutting.
    ///
    /// # Errors
    ///
    /// [`CutMeshError`] for the first mesh that is not a closed, outward surface
    /// ([`Mesh::check`]).
    pub fn new(meshes: Vec<Mesh>) -> Result<Self, CutMeshError> {
        build::prepare(meshes)
    }

    /// How many meshes there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.meshes.len()
    }

    /// Whether there is no mesh.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.meshes.is_empty()
    }

    /// The mesh at `position` of the set, as it was given.
    ///
    /// # Panics
    ///
    /// When `position` is not below [`CutSet::len`].
    #[must_use]
    pub fn mesh(&self, position: usize) -> &Mesh {
        &self.meshes[position]
    }

    /// All meshes, in the order they were given.
    #[must_use]
    pub fn meshes(&self) -> &[Mesh] {
        &self.meshes
    }

    /// Cuts every mesh with `plane` and puts the outlines into `loops`, which is emptied first.
    ///
    /// Outlines are closed polygons in image millimetres (x along the row, y along the column from
    /// the plane's origin), meshes ascending.
    /// Along an outline the solid is on the right hand as the picture is seen (x to the right,
    /// y down), so that [`loop_area`] is positive around a solid and negative around a hole in it.
    /// A vertex exactly on the plane counts as above, that is on the side the normal points to.
    /// Consecutive equal points are joined, and outlines that then have fewer than three points
    /// enclose nothing and are left out.
    pub fn cut(&self, plane: &ImagePlane, scratch: &mut CutScratch, loops: &mut Loops) {
        loops.clear();
        let flat = FlatPlane::of(plane);
        self.find_crossings(&flat, scratch);
        let walk = walk::Walk::new(self, plane, flat);
        for place in 0..scratch.crossed.len() {
            let (cluster, mesh) = scratch.crossed[place];
            while scratch.words[index(cluster)] != 0 {
                let triangle = scratch.words[index(cluster)].trailing_zeros();
                walk.outline(
                    cluster * CLUSTER + triangle,
                    &mut scratch.words,
                    loops.points_mut(),
                );
                loops.close(mesh);
            }
        }
    }

    /// Fills the scratch with the crossing triangles.
    fn find_crossings(&self, plane: &FlatPlane, scratch: &mut CutScratch) {
        let CutScratch { words, crossed } = scratch;
        // Every word is zero again after a cut; only the length can be another set's.
        words.resize(self.starts.len(), 0);
        crossed.clear();
        for (eight, boxes) in self.group_boxes.iter().enumerate() {
            let mut groups = boxes.reached(plane);
            while groups != 0 {
                let number = eight * LANES + index(groups.trailing_zeros());
                groups &= groups - 1;
                let group = self.groups[number];
                let low = self.cluster_boxes[2 * number].reached(plane);
                let high = self.cluster_boxes[2 * number + 1].reached(plane);
                let mut clusters = low | (high << LANES);
                while clusters != 0 {
                    let cluster = group.first_cluster + clusters.trailing_zeros();
                    clusters &= clusters - 1;
                    let word = self.crossing_word(cluster, plane);
                    if word != 0 {
                        words[index(cluster)] = word;
                        crossed.push((cluster, group.mesh));
                    }
                }
            }
        }
    }

    /// The triangles of a cluster with corners on both sides.
    #[inline]
    fn crossing_word(&self, cluster: u32, plane: &FlatPlane) -> u32 {
        let start = index(self.starts[index(cluster)]);
        let end = index(self.starts[index(cluster) + 1]);
        let all = &self.vertices;
        let places = all.x[start..end]
            .iter()
            .zip(&all.y[start..end])
            .zip(&all.z[start..end]);
        let (mut above, mut below) = (0, 0);
        for (((&x, &y), &z), &around) in places.zip(&all.around[start..end]) {
            let mask = if plane.is_above(x, y, z) { u32::MAX } else { 0 };
            above |= around & mask;
            below |= around & !mask;
        }
        above & below
    }
}
