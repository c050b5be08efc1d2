//! Sorting meshes into clusters and groups.

use super::{BoxBlock, ClusterVertices, CutMeshError, CutSet, GROUP, Group, LANES, Links};
use crate::mesh::{Mesh, MeshError, index};

/// [`super::CLUSTER`] as a count.
const CLUSTER: usize = super::CLUSTER as usize;

/// Growth of every box, as a part of the largest coordinate: rounding in a vertex's side must not
/// put a crossing outside its box (a dozen roundings of 2⁻²⁴ each).
const BOX_GROWTH: f32 = 2e-6;

/// A box no plane reaches, for the lanes of a block that no box uses.
const UNREACHABLE: f32 = -1e30;

pub(super) fn prepare(meshes: Vec<Mesh>) -> Result<CutSet, CutMeshError> {
    let mut set = CutSet {
        meshes: Vec::new(),
        group_boxes: Vec::new(),
        groups: Vec::new(),
        cluster_boxes: Vec::new(),
        starts: vec![0],
        vertices: ClusterVertices::default(),
        links: Vec::new(),
    };
    let mut group_bounds = Vec::new();
    for (mesh, surface) in meshes.iter().enumerate() {
        let at = |source: MeshError| CutMeshError { mesh, source };
        let twins = surface.checked_twins().map_err(at)?;
        let too_large = MeshError::TooLarge {
            what: "triangles in the set",
            count: set.links.len() + surface.triangles.len(),
            limit: LARGEST_SET,
        };
        // Clusters may be part empty, at worst all but half full.
        if set.links.len() + 2 * surface.triangles.len() > LARGEST_SET {
            return Err(at(too_large));
        }
        add_mesh(&mut set, &mut group_bounds, mesh, surface, &twins);
    }
    for eight in group_bounds.chunks(LANES) {
        set.group_boxes.push(box_block(eight));
    }
    set.meshes = meshes;
    Ok(set)
}

/// Triangles of a set stay below this, so that the numbers of their edges fit 32 bits.
const LARGEST_SET: usize = 1 << 29;

/// Lowest and highest coordinates, mm.
#[derive(Clone, Copy)]
struct Bounds {
    low: [f32; 3],
    high: [f32; 3],
}

impl Bounds {
    const EMPTY: Self = Self {
        low: [f32::MAX; 3],
        high: [f32::MIN; 3],
    };

    fn add(&mut self, point: [f32; 3]) {
        for (axis, &place) in point.iter().enumerate() {
            if place < self.low[axis] {
                self.low[axis] = place;
            }
            if place > self.high[axis] {
                self.high[axis] = place;
            }
        }
    }

    fn join(&mut self, other: &Self) {
        self.add(other.low);
        self.add(other.high);
    }
}

fn add_mesh(
    set: &mut CutSet,
    group_bounds: &mut Vec<Bounds>,
    mesh: usize,
    surface: &Mesh,
    twins: &[u32],
) {
    let clusters = clusters_of(surface);
    let first_cluster = set.starts.len() - 1;
    // Where each triangle went: 32 × cluster + place in it.
    let mut places = vec![0_u32; surface.triangles.len()];
    for (cluster, triangles) in clusters.iter().enumerate() {
        for (place, &triangle) in triangles.iter().enumerate() {
            places[index(triangle)] = number(CLUSTER * (first_cluster + cluster) + place);
        }
    }
    let edge_number = |edge: u32| places[index(edge / 3)] * 4 + edge % 3;
    for triangles in &clusters {
        let known = add_vertices(set, surface, triangles);
        let start = set.links.len();
        set.links.resize(start + CLUSTER, Links::default());
        for (links, &triangle) in set.links[start..].iter_mut().zip(triangles) {
            let corners = surface.triangles[index(triangle)];
            for corner in 0..3 {
                let apex = corners[(corner + 2) % 3];
                // Every corner is known, and there are fewer than 256: see `add_vertices`.
                let place = known.iter().position(|vertex| *vertex == apex);
                links.twins[corner] = edge_number(twins[3 * index(triangle) + corner]);
                links.apexes[corner] = place.and_then(|p| u8::try_from(p).ok()).unwrap_or(0);
            }
        }
    }
    for (place, group) in clusters.chunks(GROUP).enumerate() {
        let bounds: Vec<Bounds> = group
            .iter()
            .map(|cluster| bounds_of(surface, cluster))
            .collect();
        for half in 0..GROUP / LANES {
            let rest = bounds.get(half * LANES..).unwrap_or_default();
            set.cluster_boxes
                .push(box_block(&rest[..least(rest.len(), LANES)]));
        }
        let mut whole = Bounds::EMPTY;
        for part in &bounds {
            whole.join(part);
        }
        group_bounds.push(whole);
        set.groups.push(Group {
            mesh: number(mesh),
            first_cluster: number(first_cluster + place * GROUP),
        });
    }
}

/// Adds a cluster's vertices, each with the word of its triangles. Returns which they are, in their order: at most three
/// for each triangle, so that a byte holds a place among them.
fn add_vertices(set: &mut CutSet, surface: &Mesh, triangles: &[u32]) -> Vec<u32> {
    let mut vertices: Vec<(u32, u32)> = Vec::with_capacity(3 * CLUSTER);
    for (place, &triangle) in triangles.iter().enumerate() {
        for vertex in surface.triangles[index(triangle)] {
            match vertices.iter_mut().find(|(known, _)| *known == vertex) {
                Some((_, around)) => *around |= 1 << place,
                None => vertices.push((vertex, 1 << place)),
            }
        }
    }
    let all = &mut set.vertices;
    for &(vertex, around) in &vertices {
        let [x, y, z] = surface.positions[index(vertex)];
        all.x.push(x);
        all.y.push(y);
        all.z.push(z);
        all.around.push(around);
    }
    let end = all.x.len().next_multiple_of(LANES);
    for coordinate in [&mut all.x, &mut all.y, &mut all.z] {
        coordinate.resize(end, 0.0);
    }
    all.around.resize(end, 0);
    set.starts.push(number(end));
    vertices.into_iter().map(|(vertex, _)| vertex).collect()
}

/// The triangles of each cluster, neighbours in space together.
///
/// Triangles are halved across the longest side of their centres' box until 32 are left; each half
/// is a whole number of groups, or of clusters, so that all but the last are full.
/// The order is total (place along the axis, then number), so it does not depend on the platform.
fn clusters_of(surface: &Mesh) -> Vec<Vec<u32>> {
    let centres: Vec<[f32; 3]> = surface
        .triangles
        .iter()
        .map(|corners| {
            let [a, b, c] = corners.map(|vertex| surface.positions[index(vertex)]);
            [a[0] + b[0] + c[0], a[1] + b[1] + c[1], a[2] + b[2] + c[2]]
        })
        .collect();
    let mut order: Vec<u32> = (0..surface.triangles.len()).map(number).collect();
    let mut clusters = Vec::new();
    halve(&centres, &mut order, &mut clusters);
    clusters
}

fn halve(centres: &[[f32; 3]], order: &mut [u32], clusters: &mut Vec<Vec<u32>>) {
    if order.len() <= CLUSTER {
        order.sort_unstable();
        clusters.push(order.to_vec());
        return;
    }
    let mut bounds = Bounds::EMPTY;
    for &triangle in order.iter() {
        bounds.add(centres[index(triangle)]);
    }
    let extent = |axis: usize| bounds.high[axis] - bounds.low[axis];
    let mut longest = 0;
    for axis in 1..3 {
        if extent(axis) > extent(longest) {
            longest = axis;
        }
    }
    let unit = if order.len() > CLUSTER * GROUP {
        CLUSTER * GROUP
    } else {
        CLUSTER
    };
    let units = order.len().div_ceil(unit);
    let middle = unit * (units / 2);
    order.select_nth_unstable_by(middle, |&a, &b| {
        let along = |triangle: u32| centres[index(triangle)][longest];
        along(a).total_cmp(&along(b)).then(a.cmp(&b))
    });
    let (low, high) = order.split_at_mut(middle);
    halve(centres, low, clusters);
    halve(centres, high, clusters);
}

fn bounds_of(surface: &Mesh, triangles: &[u32]) -> Bounds {
    let mut bounds = Bounds::EMPTY;
    for &triangle in triangles {
        for vertex in surface.triangles[index(triangle)] {
            bounds.add(surface.positions[index(vertex)]);
        }
    }
    bounds
}

fn box_block(boxes: &[Bounds]) -> BoxBlock {
    let mut block = BoxBlock {
        centre: [[0.0; LANES]; 3],
        half: [[UNREACHABLE; LANES]; 3],
    };
    for (lane, bounds) in boxes.iter().enumerate().take(LANES) {
        let mut largest = 0.0_f32;
        for side in [bounds.low, bounds.high].concat() {
            if side.abs() > largest {
                largest = side.abs();
            }
        }
        for axis in 0..3 {
            block.centre[axis][lane] = bounds.low[axis] * 0.5 + bounds.high[axis] * 0.5;
            block.half[axis][lane] =
                bounds.high[axis] * 0.5 - bounds.low[axis] * 0.5 + BOX_GROWTH * largest;
        }
    }
    block
}

fn least(a: usize, b: usize) -> usize {
    if a < b { a } else { b }
}

/// A count as a 32-bit number; [`LARGEST_SET`] and the limit of a mesh keep every one below 2³².
#[expect(
    clippy::cast_possible_truncation,
    reason = "counts are limited before they get here"
)]
const fn number(count: usize) -> u32 {
    count as u32
}
