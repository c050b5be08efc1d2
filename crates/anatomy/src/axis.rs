//! Long axes of structures, and whether a plane shows a structure in long or in short axis.

use geometry::{Angle, Direction, ImagePlane, Patient, Point};

/// Up to this angle between axis and plane the view is a long-axis view (conventions, section 5; no published
/// standard fixes it: common practice, no source).
pub const LONG_AXIS_LIMIT: Angle = Angle::deg(20.0);
/// From this angle between axis and plane on the view is a short-axis view (same source).
pub const SHORT_AXIS_LIMIT: Angle = Angle::deg(70.0);

/// A crossing of centre line and plane farther than this from the part asked about (mm) says nothing about that part:
/// a tube that runs along the plane may leave it a hand's breadth away. Wider than any vessel of the bodies is.
pub const CROSSING_REACH_MM: f64 = 18.0;

/// How a plane shows an elongated structure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AxisView {
    /// The plane runs along the axis.
    Long,
    /// The plane runs across the axis: a cross-section.
    Short,
    /// Between the two.
    Oblique,
}

/// View and angle between a structure's axis and a plane given by its normal: 0° = the axis lies in the plane,
/// 90° = the plane cuts straight across. Neither sign matters.
#[must_use]
pub fn axis_view(axis: Direction<Patient>, plane_normal: Direction<Patient>) -> (AxisView, Angle) {
    let (along, across) = (
        axis.dot(plane_normal).abs(),
        axis.cross(plane_normal).norm(),
    );
    // atan2 of sine and cosine keeps full precision at both ends, where asin and acos lose half the digits.
    let angle = Angle::atan2(along, across);
    let view = if angle <= LONG_AXIS_LIMIT {
        AxisView::Long
    } else if angle >= SHORT_AXIS_LIMIT {
        AxisView::Short
    } else {
        AxisView::Oblique
    };
    (view, angle)
}

/// Where a structure's long axis comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LongAxis {
    /// A stated straight axis, patient mm.
    Line {
        /// Start.
        a: Point<Patient>,
        /// End.
        b: Point<Patient>,
    },
    /// The tangent of the structure's centre line.
    CentreLine,
    /// The direction in which its mesh is longest, patient mm.
    Principal {
        /// One end.
        a: Point<Patient>,
        /// The other end.
        b: Point<Patient>,
    },
}

/// The middle of a tube: a polyline of at least one step of positive length, patient mm.
#[derive(Debug, Clone, PartialEq)]
pub struct CentreLine {
    points: Vec<Point<Patient>>,
    /// Arc length from the start to each point.
    arc: Vec<f64>,
    /// Unit tangents at the points.
    tangents: Vec<Direction<Patient>>,
}

/// A point of a centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    /// The point, patient mm.
    pub point: Point<Patient>,
    /// Direction of the line there, toward its end.
    pub tangent: Direction<Patient>,
    /// Share of the line's length before it, 0–1.
    pub fraction: f64,
    /// Distance in mm from the point asked for.
    pub distance: f64,
}

impl CentreLine {
    /// A centre line through `points`; repeated points are dropped. `None` when nothing of positive length is left.
    #[must_use]
    pub fn new(points: impl IntoIterator<Item = Point<Patient>>) -> Option<Self> {
        let mut kept: Vec<Point<Patient>> = Vec::new();
        let mut arc = Vec::new();
        let mut steps = Vec::new();
        let mut length = 0.0;
        for point in points {
            if let Some(&last) = kept.last() {
                let step = point - last;
                let Some(direction) = step.direction() else {
                    continue;
                };
                length += step.norm();
                steps.push(direction);
            }
            kept.push(point);
            arc.push(length);
        }
        let (first, last) = (*steps.first()?, *steps.last()?);
        let mut tangents = vec![first];
        tangents.extend(steps.windows(2).map(|pair| {
            // A hairpin of exactly 180° has no mean direction; either side will do.
            (pair[0].to_vector() + pair[1].to_vector())
                .direction()
                .unwrap_or(pair[1])
        }));
        tangents.push(last);
        Some(Self {
            points: kept,
            arc,
            tangents,
        })
    }

    /// The points, start to end.
    #[must_use]
    pub fn points(&self) -> &[Point<Patient>] {
        &self.points
    }

    /// Length in mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.arc.last().copied().unwrap_or(0.0)
    }

    /// The point of the line nearest to `point`; the first of several equally near ones.
    #[must_use]
    pub fn nearest(&self, point: Point<Patient>) -> Foot {
        let mut best = self.foot(0, 0.0, point);
        for i in 0..self.points.len() - 1 {
            let step = self.points[i + 1] - self.points[i];
            let t = ((point - self.points[i]).dot(step) / step.dot(step)).clamp(0.0, 1.0);
            let foot = self.foot(i, t, point);
            if foot.distance < best.distance {
                best = foot;
            }
        }
        best
    }

    /// Tangent where the line crosses `plane`, at the crossing nearest to `near`; `None` where it does not cross within
    /// [`CROSSING_REACH_MM`] of `near`.
    #[must_use]
    pub fn crossing(&self, plane: &ImagePlane, near: Point<Patient>) -> Option<Direction<Patient>> {
        let normal = plane.normal().to_vector();
        let height = |p: Point<Patient>| (p - plane.origin()).dot(normal);
        let mut best: Option<Foot> = None;
        for i in 0..self.points.len() - 1 {
            let (h0, h1) = (height(self.points[i]), height(self.points[i + 1]));
            if (h0 >= 0.0) == (h1 >= 0.0) {
                continue;
            }
            let foot = self.foot(i, h0 / (h0 - h1), near);
            if best.is_none_or(|known| foot.distance < known.distance) {
                best = Some(foot);
            }
        }
        best.filter(|foot| foot.distance <= CROSSING_REACH_MM)
            .map(|foot| foot.tangent)
    }

    /// The foot at share `t` (0–1) of piece `i`.
    fn foot(&self, i: usize, t: f64, asked: Point<Patient>) -> Foot {
        let step = self.points[i + 1] - self.points[i];
        let point = self.points[i] + step * t;
        let arc = self.arc[i] + (self.arc[i + 1] - self.arc[i]) * t;
        let blended =
            self.tangents[i].to_vector() * (1.0 - t) + self.tangents[i + 1].to_vector() * t;
        Foot {
            point,
            tangent: blended.direction().unwrap_or(self.tangents[i]),
            fraction: arc / self.length(),
            distance: (asked - point).norm(),
        }
    }
}
