//! The outlines a cut gives.

use std::ops::Range;

use crate::mesh::index;

/// Outlines of one cut, in flat storage that is reused from cut to cut.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Loops {
    points: Vec<[f64; 2]>,
    /// Mesh of each loop and the end of its points.
    ends: Vec<(u32, usize)>,
}

/// One outline: a closed polygon, whose last point joins the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopRef<'a> {
    /// Index of the mesh it belongs to.
    pub mesh: usize,
    /// Its corners in image mm: x along the row, y along the column.
    /// At least three; the solid is on the right hand as the picture is seen.
    pub points: &'a [[f64; 2]],
}

impl Loops {
    /// How many outlines there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether the plane missed every mesh.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// The outline at `position`; `None` past the last.
    #[must_use]
    pub fn get(&self, position: usize) -> Option<LoopRef<'_>> {
        let &(mesh, end) = self.ends.get(position)?;
        let start = position
            .checked_sub(1)
            .map_or(0, |before| self.ends[before].1);
        Some(LoopRef {
            mesh: index(mesh),
            points: &self.points[start..end],
        })
    }

    /// All outlines, meshes ascending.
    #[must_use]
    pub fn loops(&self) -> impl ExactSizeIterator<Item = LoopRef<'_>> + Clone {
        self.range(0..self.len())
    }

    /// The outlines at these positions; positions past the last are left out.
    #[must_use]
    pub fn range(
        &self,
        positions: Range<usize>,
    ) -> impl ExactSizeIterator<Item = LoopRef<'_>> + Clone {
        let end = if positions.end < self.len() {
            positions.end
        } else {
            self.len()
        };
        let first = if positions.start < end {
            positions.start
        } else {
            end
        };
        let start = first.checked_sub(1).map_or(0, |before| self.ends[before].1);
        Scan {
            ends: self.ends[first..end].iter(),
            start,
            points: &self.points,
        }
    }

    /// The positions of the outlines of one mesh.
    #[must_use]
    pub fn positions_of_mesh(&self, mesh: usize) -> Range<usize> {
        let first = self.ends.partition_point(|&(other, _)| index(other) < mesh);
        let count = self.ends[first..].partition_point(|&(other, _)| index(other) == mesh);
        first..first + count
    }

    /// The outlines of one mesh.
    #[must_use]
    pub fn of_mesh(&self, mesh: usize) -> impl ExactSizeIterator<Item = LoopRef<'_>> + Clone {
        self.range(self.positions_of_mesh(mesh))
    }

    /// Forgets all outlines and keeps the memory.
    pub fn clear(&mut self) {
        self.points.clear();
        self.ends.clear();
    }

    /// Replaces the points of every outline by those that `bend` adds for it (image mm), in their order.
    ///
    /// Outlines keep their positions and meshes, so one for which fewer than three points come stays as it was. `spare`
    /// is working memory; what it held is lost.
    pub fn bend(
        &mut self,
        spare: &mut Self,
        mut bend: impl FnMut(LoopRef<'_>, &mut Vec<[f64; 2]>),
    ) {
        spare.clear();
        for (outline, &(mesh, _)) in self.loops().zip(&self.ends) {
            let start = spare.points.len();
            bend(outline, &mut spare.points);
            if spare.points.len() < start + 3 {
                spare.points.truncate(start);
                spare.points.extend_from_slice(outline.points);
            }
            spare.ends.push((mesh, spare.points.len()));
        }
        std::mem::swap(self, spare);
    }

    pub(super) const fn points_mut(&mut self) -> &mut Vec<[f64; 2]> {
        &mut self.points
    }

    /// Makes the points added since the last outline one of `mesh`; fewer than three are dropped.
    pub(super) fn close(&mut self, mesh: u32) {
        let start = self.ends.last().map_or(0, |&(_, end)| end);
        if self.points.len() - start < 3 {
            self.points.truncate(start);
        } else {
            self.ends.push((mesh, self.points.len()));
        }
    }
}

/// Iterator over outlines from their ends.
#[derive(Debug, Clone)]
struct Scan<'a> {
    ends: std::slice::Iter<'a, (u32, usize)>,
    start: usize,
    points: &'a [[f64; 2]],
}

impl<'a> Iterator for Scan<'a> {
    type Item = LoopRef<'a>;

    fn next(&mut self) -> Option<LoopRef<'a>> {
        let &(mesh, end) = self.ends.next()?;
        let points = &self.points[self.start..end];
        self.start = end;
        Some(LoopRef {
            mesh: index(mesh),
            points,
        })
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        self.ends.size_hint()
    }
}

impl ExactSizeIterator for Scan<'_> {}

/// Signed area of a closed polygon, mm²: positive when it runs clockwise as the picture is seen
/// (x to the right, y down), which is around a solid.
#[must_use]
pub fn loop_area(points: &[[f64; 2]]) -> f64 {
    let Some(&[x0, y0]) = points.first() else {
        return 0.0;
    };
    // From the first corner, so that a polygon far from the origin keeps its digits.
    let doubled: f64 = points
        .windows(2)
        .map(|pair| {
            let ([ax, ay], [bx, by]) = (pair[0], pair[1]);
            (ax - x0) * (by - y0) - (bx - x0) * (ay - y0)
        })
        .sum();
    doubled / 2.0
}

/// Length of a closed polygon, mm, the side from the last point to the first included.
#[must_use]
pub fn loop_length(points: &[[f64; 2]]) -> f64 {
    let side = |a: [f64; 2], b: [f64; 2]| {
        let (x, y) = (b[0] - a[0], b[1] - a[1]);
        (x * x + y * y).sqrt()
    };
    let closing = match (points.first(), points.last()) {
        (Some(&first), Some(&last)) => side(last, first),
        _ => 0.0,
    };
    points
        .windows(2)
        .map(|pair| side(pair[0], pair[1]))
        .sum::<f64>()
        + closing
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_clockwise_on_screen_is_positive() {
        let square = [[1000.0, 0.0], [1010.0, 0.0], [1010.0, 10.0], [1000.0, 10.0]];
        assert!((loop_area(&square) - 100.0).abs() < 1e-9, "area");
        assert!((loop_length(&square) - 40.0).abs() < 1e-9, "length");
        let mut turned = square;
        turned.reverse();
        assert!(
            (loop_area(&turned) + 100.0).abs() < 1e-9,
            "the other way round"
        );
        assert!(
            loop_area(&[]) == 0.0 && loop_length(&[]) == 0.0,
            "nothing has no size"
        );
    }

    #[test]
    fn bent_outlines_keep_their_places() {
        let mut loops = Loops::default();
        for mesh in [1, 4] {
            loops
                .points_mut()
                .extend([[0.0, 0.0], [1.0, 0.0], [0.0, f64::from(mesh)]]);
            loops.close(mesh);
        }
        let mut spare = loops.clone();
        loops.bend(&mut spare, |outline, points| {
            if outline.mesh == 4 {
                points.extend(outline.points.iter().map(|[x, y]| [*x, y + 2.0]));
                points.push([0.0, 2.5]);
            }
        });
        let points = |place: usize| loops.get(place).map(|outline| outline.points.to_vec());
        assert_eq!(
            points(0),
            Some(vec![[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]),
            "no points came for it"
        );
        assert_eq!(
            points(1),
            Some(vec![[0.0, 2.0], [1.0, 2.0], [0.0, 6.0], [0.0, 2.5]])
        );
        assert_eq!(loops.positions_of_mesh(4), 1..2);
    }

    #[test]
    fn outlines_are_found_by_mesh() {
        let mut loops = Loops::default();
        for mesh in [0, 2, 2, 5] {
            loops
                .points_mut()
                .extend([[0.0, 0.0], [1.0, 0.0], [0.0, f64::from(mesh)]]);
            loops.close(mesh);
        }
        loops.points_mut().extend([[0.0, 0.0], [1.0, 0.0]]);
        loops.close(6);
        assert_eq!(loops.len(), 4, "two points are no outline");
        assert_eq!(loops.positions_of_mesh(2), 1..3);
        assert_eq!(loops.of_mesh(1).len(), 0);
        assert_eq!(loops.of_mesh(9).len(), 0);
        for outline in loops.of_mesh(2) {
            assert_eq!((outline.mesh, outline.points[2]), (2, [0.0, 2.0]));
        }
        assert_eq!(loops.get(3).map(|outline| outline.mesh), Some(5));
        assert_eq!(loops.get(4), None);
        assert_eq!(
            loops
                .loops()
                .map(|outline| outline.mesh)
                .collect::<Vec<_>>(),
            [0, 2, 2, 5]
        );
    }
}
