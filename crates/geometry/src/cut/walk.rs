//! Following one outline from triangle to triangle.

use super::{CLUSTER, ClusterVertices, CutSet, EDGES, FlatPlane, Links};
use crate::mesh::index;
use crate::plane::ImagePlane;

/// What the walk needs of the set and the plane.
pub(super) struct Walk<'a> {
    links: &'a [Links],
    starts: &'a [u32],
    vertices: &'a ClusterVertices,
    flat: FlatPlane,
    /// Row, column and normal of the image, and their products with its origin.
    axes: [[f64; 3]; 3],
    offsets: [f64; 3],
}

/// A vertex in the image frame: in-plane place and height above the plane, mm.
#[derive(Clone, Copy)]
struct Corner {
    x: f64,
    y: f64,
    height: f64,
}

impl<'a> Walk<'a> {
    pub(super) fn new(set: &'a CutSet, plane: &ImagePlane, flat: FlatPlane) -> Self {
        let axes = [plane.row(), plane.column(), plane.normal()];
        let origin = plane.origin().to_vector();
        Self {
            links: &set.links,
            starts: &set.starts,
            vertices: &set.vertices,
            flat,
            axes: axes.map(|axis| axis.to_array()),
            offsets: axes.map(|axis| axis.to_vector().dot(origin)),
        }
    }

    /// Walks the outline through triangle `seed`, appends its points and clears the triangles'
    /// bits.
    pub(super) fn outline(&self, seed: u32, words: &mut [u32], points: &mut Vec<[f64; 2]>) {
        let start = points.len();
        let (mut edge, mut high, mut low) = self.upward_edge(seed);
        clear(words, seed);
        loop {
            let point = crossing(high, low);
            if points.len() == start || !same(points[points.len() - 1], point) {
                points.push(point);
            }
            // Over the edge: the neighbour's own copy of it runs from above to below.
            // No edge has the fourth number; saying so spares the look at the bounds.
            let entry = self.links[index(edge / EDGES)].twins[index(edge % EDGES).min(2)];
            let triangle = entry / EDGES;
            if triangle == seed {
                break;
            }
            clear(words, triangle);
            let (above, corner) = self.apex_of(entry);
            // With the apex above, the edge from the lower end to it runs up; with the apex below,
            // the edge from it back to the upper end does.
            edge = if above {
                high = corner;
                turn_on(entry)
            } else {
                low = corner;
                turn_back(entry)
            };
        }
        if points.len() - start > 1 && same(points[points.len() - 1], points[start]) {
            points.pop();
        }
    }

    /// The edge of a crossing triangle that runs from below to above, and its ends.
    fn upward_edge(&self, triangle: u32) -> (u32, Corner, Corner) {
        let first = triangle * EDGES;
        // The apex of edge k is corner k + 2.
        let corners = [1, 2, 0].map(|k| self.apex_of(first + k));
        for k in 0..3 {
            let ((above, low), (next_above, high)) = (corners[k], corners[(k + 1) % 3]);
            if !above && next_above {
                return (first + [0, 1, 2][k], high, low);
            }
        }
        // Not reached for a crossing triangle; any edge keeps the walk a permutation.
        (first, corners[0].1, corners[1].1)
    }

    /// The corner of a triangle that is not on its edge `edge`, and whether it is above.
    #[inline(always)]
    fn apex_of(&self, edge: u32) -> (bool, Corner) {
        let triangle = edge / EDGES;
        let place = self.links[index(triangle)].apexes[index(edge % EDGES)];
        let vertex = index(self.starts[index(triangle / CLUSTER)]) + usize::from(place);
        let all = self.vertices;
        let (x, y, z) = (all.x[vertex], all.y[vertex], all.z[vertex]);
        let above = self.flat.is_above(x, y, z);
        let (x, y, z) = (f64::from(x), f64::from(y), f64::from(z));
        let along = |k: usize| {
            let axis = self.axes[k];
            x * axis[0] + y * axis[1] + z * axis[2] - self.offsets[k]
        };
        (
            above,
            Corner {
                x: along(0),
                y: along(1),
                height: along(2),
            },
        )
    }
}

/// Where the edge from `high` to `low` meets the plane.
///
/// Sides are decided in `f32`, heights are `f64`; where rounding makes them disagree the nearer end
/// of the edge is taken, so a point never leaves its edge.
#[inline(always)]
fn crossing(high: Corner, low: Corner) -> [f64; 2] {
    let part = if high.height <= 0.0 {
        0.0
    } else if low.height >= 0.0 {
        1.0
    } else {
        high.height / (high.height - low.height)
    };
    [
        high.x + part * (low.x - high.x),
        high.y + part * (low.y - high.y),
    ]
}

/// Whether two points are equal to the last bit, as they are at a vertex on the plane.
#[inline(always)]
#[expect(clippy::float_cmp, reason = "only exact repetition is dropped")]
fn same(a: [f64; 2], b: [f64; 2]) -> bool {
    a == b
}

#[inline(always)]
fn clear(words: &mut [u32], triangle: u32) {
    words[index(triangle / CLUSTER)] &= !(1 << (triangle % CLUSTER));
}

/// The next edge round the triangle.
#[inline(always)]
const fn turn_on(edge: u32) -> u32 {
    if edge % EDGES == 2 {
        edge - 2
    } else {
        edge + 1
    }
}

/// The edge before round the triangle.
#[inline(always)]
const fn turn_back(edge: u32) -> u32 {
    if edge.is_multiple_of(EDGES) {
        edge + 2
    } else {
        edge - 1
    }
}
