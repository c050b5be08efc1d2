//! The primitive shapes of a body description and their signed distances.

use crate::gauge;
use crate::loft::Loft;
use crate::triple::{self as t, Bounds, Rows, Triple};
use crate::tube::Tube;

/// A primitive, in the coordinates of its frame. Lengths mm; every distance is negative inside.
#[derive(Debug, Clone)]
pub enum Shape {
    /// Half-axes `r` about `c`, turned by `rot`.
    Ellipsoid {
        /// Centre.
        c: Triple,
        /// Half-axes.
        r: Triple,
        /// Local axes as columns of the turn; `None` = upright.
        rot: Option<Rows>,
    },
    /// As the ellipsoid, with exponents `nxy` and `nz`.
    Superellipsoid {
        /// Centre.
        c: Triple,
        /// Half-axes.
        r: Triple,
        /// Turn, `None` = upright.
        rot: Option<Rows>,
        /// Exponent within the x-y section.
        nxy: f64,
        /// Exponent along z.
        nz: f64,
    },
    /// Tapered capsule from `a` (radius `ra`) to `b` (radius `rb`).
    Capsule {
        /// First end.
        a: Triple,
        /// Second end.
        b: Triple,
        /// Radius at the first end.
        ra: f64,
        /// Radius at the second end.
        rb: f64,
    },
    /// Tube along a smooth centre line.
    Tube(Tube),
    /// Sections along a straight axis.
    Loft(Loft),
    /// Box with half-sizes `h` (rounding included) and edge radius `r`.
    BoxRounded {
        /// Centre.
        c: Triple,
        /// Half-sizes.
        h: Triple,
        /// Rounding radius.
        r: f64,
        /// Turn, `None` = upright.
        rot: Option<Rows>,
    },
    /// Everything on the side the unit normal `n` points away from.
    HalfSpace {
        /// Unit normal, pointing out of the kept side.
        n: Triple,
        /// A point of the plane.
        at: Triple,
    },
    /// Another structure of the same body, by its index.
    Ref(usize),
}

impl Shape {
    /// Signed distance at `p`. `reference` gives the value of another structure at the same place.
    pub fn value(&self, p: Triple, reference: &dyn Fn(usize) -> f64) -> f64 {
        match self {
            Self::Ellipsoid { c, r, rot } => gauge::ellipsoid(local(p, *c, rot.as_ref()), *r),
            Self::Superellipsoid { c, r, rot, nxy, nz } => {
                gauge::superellipsoid(local(p, *c, rot.as_ref()), *r, *nxy, *nz)
            }
            Self::Capsule { a, b, ra, rb } => {
                let (ap, ab) = (t::sub(p, *a), t::sub(*b, *a));
                let len2 = t::dot(ab, ab);
                let s = if len2 > 0.0 {
                    (t::dot(ap, ab) / len2).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                t::length(t::sub(ap, t::scale(ab, s))) - (ra + s * (rb - ra))
            }
            Self::Tube(tube) => tube.value(p),
            Self::Loft(loft) => loft.value(p),
            Self::BoxRounded { c, h, r, rot } => {
                let q = local(p, *c, rot.as_ref());
                let q: Triple = std::array::from_fn(|i| q[i].abs() - (h[i] - r));
                let out = t::length(q.map(|v| v.max(0.0)));
                out + q[0].max(q[1]).max(q[2]).min(0.0) - r
            }
            Self::HalfSpace { n, at } => t::dot(*n, t::sub(p, *at)),
            Self::Ref(index) => reference(*index),
        }
    }

    /// A box holding the shape; `reference` gives the box of another structure.
    pub fn bounds(&self, reference: &dyn Fn(usize) -> Bounds) -> Bounds {
        match self {
            Self::Ellipsoid { c, r, rot } => {
                let half = match rot {
                    None => *r,
                    Some(rows) => std::array::from_fn(|i| {
                        t::length(std::array::from_fn(|k| rows[i][k] * r[k]))
                    }),
                };
                Bounds {
                    lo: t::sub(*c, half),
                    hi: t::add(*c, half),
                }
            }
            Self::Superellipsoid { c, r, rot, .. } | Self::BoxRounded { c, h: r, rot, .. } => {
                let half = match rot {
                    None => *r,
                    Some(rows) => {
                        std::array::from_fn(|i| (0..3).map(|k| (rows[i][k] * r[k]).abs()).sum())
                    }
                };
                Bounds {
                    lo: t::sub(*c, half),
                    hi: t::add(*c, half),
                }
            }
            Self::Capsule { a, b, ra, rb } => Bounds { lo: *a, hi: *a }
                .grown(*ra)
                .union(Bounds { lo: *b, hi: *b }.grown(*rb)),
            Self::Tube(tube) => tube.bounds(),
            Self::Loft(loft) => loft.bounds(),
            Self::HalfSpace { .. } => Bounds::ALL,
            Self::Ref(index) => reference(*index),
        }
    }

    /// Points inside the shape (or on its axis), from which a search for its surface may start.
    #[must_use]
    pub fn inner_points(&self) -> Vec<Triple> {
        match self {
            Self::Ellipsoid { c, .. }
            | Self::Superellipsoid { c, .. }
            | Self::BoxRounded { c, .. } => {
                vec![*c]
            }
            Self::Capsule { a, b, .. } => vec![*a, t::lerp(*a, *b, 0.5), *b],
            Self::Tube(tube) => {
                let line = tube.centreline();
                let step = (line.len() / 4).max(1);
                line.iter()
                    .copied()
                    .step_by(step)
                    .chain(line.last().copied())
                    .collect()
            }
            Self::Loft(loft) => {
                let centres = loft.centres();
                let mid = centres.len() / 2;
                vec![centres[mid]]
            }
            Self::HalfSpace { .. } | Self::Ref(_) => Vec::new(),
        }
    }

    /// A factor by which the value at least exceeds the distance from the shape's box, `None` where there is none.
    ///
    /// For a convex gauge with inscribed radius r and circumscribed radius R the first-order distance is nowhere below
    /// r/R times the true distance: |grad N| ≤ 1/r, and N - 1 ≥ distance/R.
    #[must_use]
    pub fn flatness(&self) -> Option<f64> {
        match self {
            Self::Ellipsoid { r, .. } => Some(r[0].min(r[1]).min(r[2]) / r[0].max(r[1]).max(r[2])),
            Self::Superellipsoid { r, .. } => Some(r[0].min(r[1]).min(r[2]) / t::length(*r)),
            Self::Capsule { a, b, ra, rb } => {
                // A taper only shortens the value against the distance by the slope of its side.
                let slope = (ra - rb).abs() / t::length(t::sub(*a, *b)).max(1e-9);
                Some((1.0 - slope).max(0.0))
            }
            Self::Tube(tube) => Some(tube.flatness()),
            Self::Loft(loft) => Some(loft.flatness()),
            Self::BoxRounded { .. } => Some(1.0),
            Self::HalfSpace { .. } | Self::Ref(_) => None,
        }
    }

    /// Thickness of the shell left when `inner` is taken out of this, mm; `None` unless both are round about one centre.
    #[must_use]
    #[expect(
        clippy::float_cmp,
        reason = "centres are compared as they are written in the descriptions"
    )]
    pub fn shell_thickness(&self, inner: &Self) -> Option<f64> {
        let round = |shape: &Self| match shape {
            Self::Ellipsoid { c, r, .. } | Self::Superellipsoid { c, r, .. } => Some((*c, *r)),
            _ => None,
        };
        let ((c, r), (c_in, r_in)) = (round(self)?, round(inner)?);
        let least = t::sub(r, r_in).into_iter().fold(f64::INFINITY, f64::min);
        (c == c_in && least > 0.0).then_some(least)
    }

    /// Half the thickness of the thinnest part, mm, for choosing a grid step; infinite where it says nothing.
    #[must_use]
    pub fn least_half_thickness(&self) -> f64 {
        match self {
            Self::Ellipsoid { r, .. }
            | Self::Superellipsoid { r, .. }
            | Self::BoxRounded { h: r, .. } => r[0].min(r[1]).min(r[2]),
            Self::Capsule { ra, rb, .. } => ra.min(*rb),
            Self::Tube(tube) => tube.least_radius(),
            Self::Loft(loft) => loft.typical_half_size(),
            Self::HalfSpace { .. } | Self::Ref(_) => f64::INFINITY,
        }
    }
}

/// `transpose(R) (p - c)`.
fn local(p: Triple, c: Triple, rot: Option<&Rows>) -> Triple {
    let d = t::sub(p, c);
    rot.map_or(d, |rows| t::apply_transposed(rows, d))
}
