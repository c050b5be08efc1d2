//! Arithmetic on plain coordinate triples.
//!
//! The distance formulas run hundreds of millions of times while a body is baked and never leave
//! the patient frame, so they work on bare `[f64; 3]` (millimetres, LPS) instead of the typed points of
//! `geometry`.

/// A point or vector: x toward the patient's left, y to the back, z to the head, in mm.
pub type Triple = [f64; 3];

/// `a + b`, componentwise.
#[must_use]
pub fn add(a: Triple, b: Triple) -> Triple {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// `a - b`, componentwise.
#[must_use]
pub fn sub(a: Triple, b: Triple) -> Triple {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// `a * s`.
#[must_use]
pub fn scale(a: Triple, s: f64) -> Triple {
    [a[0] * s, a[1] * s, a[2] * s]
}

/// Scalar product.
#[must_use]
pub fn dot(a: Triple, b: Triple) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Vector product, right-handed.
#[must_use]
pub fn cross(a: Triple, b: Triple) -> Triple {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// Euclidean length.
#[must_use]
pub fn length(a: Triple) -> f64 {
    dot(a, a).sqrt()
}

/// The unit vector along `a`, or `None` when `a` is shorter than 1e-12.
#[must_use]
pub fn unit(a: Triple) -> Option<Triple> {
    let n = length(a);
    (n > 1e-12).then(|| scale(a, 1.0 / n))
}

/// `a + t (b - a)`.
#[must_use]
pub fn lerp(a: Triple, b: Triple, t: f64) -> Triple {
    [
        a[0] + t * (b[0] - a[0]),
        a[1] + t * (b[1] - a[1]),
        a[2] + t * (b[2] - a[2]),
    ]
}

/// The mirror image in the mid-sagittal plane: x changes sign.
#[must_use]
pub fn mirror(a: Triple) -> Triple {
    [-a[0], a[1], a[2]]
}

/// `a` with its part along the unit vector `n` taken out.
#[must_use]
pub fn reject(a: Triple, n: Triple) -> Triple {
    sub(a, scale(n, dot(a, n)))
}

/// Some unit vector perpendicular to the unit vector `n`.
#[must_use]
pub fn any_perpendicular(n: Triple) -> Triple {
    let pick = if n[0].abs() < 0.7 {
        [1.0, 0.0, 0.0]
    } else {
        [0.0, 1.0, 0.0]
    };
    unit(reject(pick, n)).unwrap_or([0.0, 0.0, 1.0])
}

/// An axis-parallel box; empty when a low corner exceeds the high one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Low corner, mm.
    pub lo: Triple,
    /// High corner, mm.
    pub hi: Triple,
}

impl Bounds {
    /// The box that holds nothing.
    pub const EMPTY: Self = Self {
        lo: [f64::INFINITY; 3],
        hi: [f64::NEG_INFINITY; 3],
    };

    /// The box that holds everything.
    pub const ALL: Self = Self {
        lo: [f64::NEG_INFINITY; 3],
        hi: [f64::INFINITY; 3],
    };

    /// The smallest box round the given points.
    #[must_use]
    pub fn around<I: IntoIterator<Item = Triple>>(points: I) -> Self {
        points
            .into_iter()
            .fold(Self::EMPTY, |b, p| b.union(Self { lo: p, hi: p }))
    }

    /// The smallest box holding both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self {
            lo: std::array::from_fn(|i| self.lo[i].min(other.lo[i])),
            hi: std::array::from_fn(|i| self.hi[i].max(other.hi[i])),
        }
    }

    /// What both boxes hold.
    #[must_use]
    pub fn intersection(self, other: Self) -> Self {
        Self {
            lo: std::array::from_fn(|i| self.lo[i].max(other.lo[i])),
            hi: std::array::from_fn(|i| self.hi[i].min(other.hi[i])),
        }
    }

    /// The box moved outward by `mm` on every side; an empty box stays empty.
    #[must_use]
    pub fn grown(self, mm: f64) -> Self {
        Self {
            lo: self.lo.map(|v| v - mm),
            hi: self.hi.map(|v| v + mm),
        }
    }

    /// Whether the box holds `p` (closed).
    #[must_use]
    pub fn contains(&self, p: Triple) -> bool {
        (0..3).all(|i| p[i] >= self.lo[i] && p[i] <= self.hi[i])
    }

    /// Distance of `p` from the box, 0 inside.
    #[must_use]
    pub fn distance(&self, p: Triple) -> f64 {
        self.square_distance(p).sqrt()
    }

    /// The square of the distance of `p` from the box, 0 inside.
    #[must_use]
    pub fn square_distance(&self, p: Triple) -> f64 {
        let off: Triple =
            std::array::from_fn(|i| (self.lo[i] - p[i]).max(p[i] - self.hi[i]).max(0.0));
        dot(off, off)
    }

    /// The mirror image in the mid-sagittal plane.
    #[must_use]
    pub fn mirrored(self) -> Self {
        Self {
            lo: [-self.hi[0], self.lo[1], self.lo[2]],
            hi: [-self.lo[0], self.hi[1], self.hi[2]],
        }
    }

    /// Edge lengths, mm; negative on an empty box.
    #[must_use]
    pub fn size(&self) -> Triple {
        sub(self.hi, self.lo)
    }

    /// The eight corners.
    #[must_use]
    pub fn corners(&self) -> [Triple; 8] {
        std::array::from_fn(|i| {
            std::array::from_fn(|k| {
                if i >> k & 1 == 0 {
                    self.lo[k]
                } else {
                    self.hi[k]
                }
            })
        })
    }
}

/// A rotation matrix as three rows.
pub type Rows = [Triple; 3];

/// Rows times column.
#[must_use]
pub fn apply(rows: &Rows, p: Triple) -> Triple {
    [dot(rows[0], p), dot(rows[1], p), dot(rows[2], p)]
}

/// Transposed rows times column: the inverse turn.
#[must_use]
pub fn apply_transposed(rows: &Rows, p: Triple) -> Triple {
    std::array::from_fn(|i| rows[0][i] * p[0] + rows[1][i] * p[1] + rows[2][i] * p[2])
}

/// `R = Rz(az) Ry(ay) Rx(ax)` with angles in degrees: turn about x first, then the fixed y axis, then the
/// fixed z axis, each counter-clockwise seen from the axis' tip.
#[must_use]
pub fn turn_xyz(degrees: Triple) -> Rows {
    let rad = degrees.map(f64::to_radians);
    let (sx, cx) = (libm::sin(rad[0]), libm::cos(rad[0]));
    let (sy, cy) = (libm::sin(rad[1]), libm::cos(rad[1]));
    let (sz, cz) = (libm::sin(rad[2]), libm::cos(rad[2]));
    [
        [cz * cy, cz * sy * sx - sz * cx, cz * sy * cx + sz * sx],
        [sz * cy, sz * sy * sx + cz * cx, sz * sy * cx - cz * sx],
        [-sy, cy * sx, cy * cx],
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_turn_about_z_takes_x_to_y() {
        let turned = apply(&turn_xyz([0.0, 0.0, 90.0]), [1.0, 0.0, 0.0]);
        assert!(length(sub(turned, [0.0, 1.0, 0.0])) < 1e-12, "{turned:?}");
    }

    #[test]
    fn x_turns_before_z() {
        // y goes to z under the turn about x, and z stays put under the turn about z.
        let turned = apply(&turn_xyz([90.0, 0.0, 90.0]), [0.0, 1.0, 0.0]);
        assert!(length(sub(turned, [0.0, 0.0, 1.0])) < 1e-12, "{turned:?}");
    }

    #[test]
    fn transposed_rows_undo_the_turn() {
        let rows = turn_xyz([20.0, -35.0, 70.0]);
        let p = [3.0, -4.0, 5.0];
        assert!(
            length(sub(apply_transposed(&rows, apply(&rows, p)), p)) < 1e-12,
            "not undone"
        );
    }
}
