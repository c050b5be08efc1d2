//! A body as loaded: structures with their solids, landmarks, layers.

use crate::gauge::{smooth_max, smooth_min};
use crate::shape::Shape;
use crate::triple::{self as t, Bounds, Rows, Triple};
use std::collections::BTreeMap;

/// Which side of the body a structure belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The patient's left.
    Left,
    /// The patient's right.
    Right,
    /// Neither.
    Mid,
}

/// How a shape joins the running value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Op {
    /// Smooth union.
    Add,
    /// Smooth difference.
    Sub,
    /// Smooth intersection.
    And,
}

/// Local orthonormal axes in the patient frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Origin, mm.
    pub origin: Triple,
    /// Unit axes x, y, z as rows.
    pub rows: Rows,
}

impl Frame {
    /// Patient coordinates to local ones, mm.
    #[must_use]
    pub fn local(&self, p: Triple) -> Triple {
        t::apply(&self.rows, t::sub(p, self.origin))
    }

    /// Local coordinates to patient ones, mm.
    #[must_use]
    pub fn patient(&self, q: Triple) -> Triple {
        t::add(self.origin, t::apply_transposed(&self.rows, q))
    }
}

/// Thickness of the subcutaneous fat over one part of the skin: (z, mm) ascending, linear between, clamped.
#[derive(Debug, Clone, PartialEq)]
pub struct FatTable(pub Vec<(f64, f64)>);

impl FatTable {
    /// Thickness in mm at height `z` mm; 0 on an empty table.
    #[must_use]
    pub fn at(&self, z: f64) -> f64 {
        let rows = &self.0;
        let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
            return 0.0;
        };
        if z <= first.0 {
            return first.1;
        }
        if z >= last.0 {
            return last.1;
        }
        let i = rows.partition_point(|r| r.0 <= z);
        let (a, b) = (rows[i - 1], rows[i]);
        a.1 + (b.1 - a.1) * (z - a.0) / (b.0 - a.0)
    }
}

/// One shape with the way it joins in.
#[derive(Debug, Clone)]
pub struct Term {
    /// The shape, in the coordinates of `frame`.
    pub shape: Shape,
    /// How it joins.
    pub op: Op,
    /// Blend width, mm.
    pub blend: f64,
    /// Growth, mm.
    pub offset: f64,
    /// Local axes; `None` = patient frame.
    pub frame: Option<Frame>,
    /// Evaluate at (-x, y, z): the second half of `both`.
    pub mirrored: bool,
    /// Fat over this part (skin only).
    pub fat: Option<FatTable>,
    /// Name of the part (skin only).
    pub part: Option<String>,
    /// A box in the coordinates the shape is evaluated in, and a factor: the shape's value is nowhere below the factor
    /// times the distance from the box. `None` where no such bound is known.
    pub reach: Option<(Bounds, f64)>,
}

/// An ordered list of terms: the signed distance of one structure.
#[derive(Debug, Clone)]
pub struct Solid {
    /// Evaluate at (-x, y, z): the right one of a pair.
    pub mirrored: bool,
    /// The terms, in order.
    pub terms: Vec<Term>,
    /// A box holding the inside.
    pub bounds: Bounds,
    /// Number of terms before the first that is not a union.
    pub leading_adds: usize,
    /// Three times the largest blend of those terms, mm, and at least 1: beyond this no term reaches another.
    pub blend_reach: f64,
}

impl Solid {
    /// A solid of these terms; its box is found when its references are.
    #[must_use]
    pub fn new(terms: Vec<Term>) -> Self {
        let leading_adds = terms
            .iter()
            .enumerate()
            .take_while(|(i, t)| *i == 0 || t.op == Op::Add)
            .count();
        let blend_reach = terms[..leading_adds]
            .iter()
            .map(|t| t.blend)
            .fold(0.0, f64::max)
            * 3.0;
        Self {
            mirrored: false,
            terms,
            bounds: Bounds::EMPTY,
            leading_adds,
            blend_reach: blend_reach.max(1.0),
        }
    }
}

/// A shell around a lumen.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// Tissue key.
    pub tissue: String,
    /// Thickness, mm.
    pub mm: f64,
    /// Structures inside which the shell is not painted.
    pub open_into: Vec<usize>,
}

/// Long axis of a structure.
#[derive(Debug, Clone, PartialEq)]
pub enum Axis {
    /// A straight line from `a` to `b`, mm.
    Line {
        /// First end.
        a: Triple,
        /// Second end.
        b: Triple,
    },
    /// Along the centre line of the first tube.
    Centreline,
    /// None stated: the principal axis of the solid serves.
    Principal,
}

/// The region of a named part of a structure.
#[derive(Debug, Clone, PartialEq)]
pub enum Region {
    /// Fractions of the arc length of the first tube.
    Arc {
        /// From this fraction.
        from: f64,
        /// To this fraction.
        to: f64,
    },
    /// Heights, mm.
    Z {
        /// From this z.
        from: f64,
        /// To this z.
        to: f64,
    },
    /// Fractions along the axis line.
    AxisFraction {
        /// From this fraction.
        from: f64,
        /// To this fraction.
        to: f64,
    },
    /// Where dot(n, p - at) < 0.
    HalfSpace {
        /// A point of the plane, mm.
        at: Triple,
        /// Normal, pointing out.
        n: Triple,
    },
    /// Inside an upright ellipsoid.
    Ellipsoid {
        /// Centre, mm.
        c: Triple,
        /// Half-axes, mm.
        r: Triple,
    },
    /// Inside an upright box.
    Box {
        /// Low corner, mm.
        lo: Triple,
        /// High corner, mm.
        hi: Triple,
    },
}

/// A named part of a structure.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// Identifier.
    pub id: String,
    /// Words.
    pub label: String,
    /// Where it is.
    pub region: Region,
}

/// One anatomical structure.
#[derive(Debug, Clone)]
pub struct Structure {
    /// Standard term in `snake_case`, with side where paired.
    pub id: String,
    /// Words.
    pub label: String,
    /// Sonographic abbreviation.
    pub short_label: String,
    /// Side.
    pub side: Side,
    /// Body system key.
    pub system: String,
    /// Tissue key; `none` marks a reference surface.
    pub tissue: String,
    /// Who wins an overlap: higher.
    pub priority: i64,
    /// Codes, from memory and unverified.
    pub code: Option<String>,
    /// Shell outside the solid.
    pub wall: Option<Wall>,
    /// Share of the lumen that is gas.
    pub gas_fraction: Option<f64>,
    /// Long axis.
    pub axis: Axis,
    /// Named parts.
    pub segments: Vec<Segment>,
    /// Geometry.
    pub solid: Solid,
    /// Centre line of the first tube, mm; empty without one.
    pub centreline: Vec<Triple>,
}

/// A whole body.
#[derive(Debug, Clone)]
pub struct Model {
    /// Identifier.
    pub id: String,
    /// Words.
    pub label: String,
    /// female, male or either.
    pub sex: String,
    /// Standing height, mm; absent on a partial body.
    pub stature_mm: Option<f64>,
    /// Skin thickness, mm.
    pub dermis_mm: f64,
    /// Factor for window offsets.
    pub offset_scale: f64,
    /// Named points, mm.
    pub landmarks: BTreeMap<String, Triple>,
    /// All structures, in load order.
    pub structures: Vec<Structure>,
    /// Index of the skin.
    pub skin: usize,
}

impl Model {
    /// Index of a structure.
    #[must_use]
    pub fn find(&self, id: &str) -> Option<usize> {
        self.structures.iter().position(|s| s.id == id)
    }

    /// Signed distance (mm, negative inside) of structure `index` at `p`.
    #[must_use]
    pub fn value(&self, index: usize, p: Triple) -> f64 {
        self.fold(index, p, |_| 0.0)
    }

    /// The skin's list of parts with each part's value increased by its fat: negative inside the muscle layer.
    #[must_use]
    pub fn muscle_value(&self, p: Triple) -> f64 {
        self.fold(self.skin, p, |term| {
            term.fat.as_ref().map_or(0.0, |fat| fat.at(p[2]))
        })
    }

    fn fold(&self, index: usize, p: Triple, extra: impl Fn(&Term) -> f64) -> f64 {
        let solid = &self.structures[index].solid;
        let q = if solid.mirrored { t::mirror(p) } else { p };
        // A shell names one reference twice, for its outer and its inner side.
        let last = std::cell::Cell::new((usize::MAX, 0.0));
        let reference = |other: usize| {
            let (same, known) = last.get();
            if same == other {
                return known;
            }
            let f = self.value(other, p);
            last.set((other, f));
            f
        };
        let value = |term: &Term| {
            let at = if term.mirrored { t::mirror(q) } else { q };
            let at = term.frame.as_ref().map_or(at, |frame| frame.local(at));
            term.shape.value(at, &reference) - term.offset + extra(term)
        };
        let least = |term: &Term| {
            let Some((bounds, factor)) = &term.reach else {
                return f64::NEG_INFINITY;
            };
            let at = if term.mirrored { t::mirror(q) } else { q };
            factor * bounds.distance(at)
        };
        // The square of the same, which needs no root; below 0 where nothing is known.
        let least_square = |term: &Term| {
            let Some((bounds, factor)) = &term.reach else {
                return -1.0;
            };
            let at = if term.mirrored { t::mirror(q) } else { q };
            factor * factor * bounds.square_distance(at)
        };
        let mut d = f64::INFINITY;
        let (union, rest) = solid.terms.split_at(solid.leading_adds);
        if union.len() >= MANY {
            d = long_union(union, solid.blend_reach, &value, &least_square);
        } else {
            for (i, term) in union.iter().enumerate() {
                let f = value(term);
                d = if i == 0 {
                    f
                } else {
                    smooth_min(d, f, term.blend)
                };
            }
        }
        for term in rest {
            // Out of its box a shape that is cut out, or joined in late, changes nothing once it is a blend farther than needed.
            let l = match term.op {
                Op::And => 0.0,
                Op::Add | Op::Sub => least(term),
            };
            let idle = l > 0.0
                && if term.op == Op::Sub {
                    d + l >= term.blend
                } else {
                    l - d >= term.blend
                };
            if idle {
                continue;
            }
            let f = value(term);
            d = match term.op {
                Op::Add => smooth_min(d, f, term.blend),
                Op::Sub => smooth_max(d, -f, term.blend),
                Op::And => smooth_max(d, f, term.blend),
            };
        }
        d
    }

    /// The gradient of `value` from its values at the corners of a tetrahedron, 0.01 mm off along each axis: as exact as
    /// six central differences where the surface is smooth, with four values.
    #[must_use]
    pub fn gradient(field: &dyn Fn(Triple) -> f64, p: Triple) -> Triple {
        const STEP: f64 = 0.01;
        const CORNERS: [Triple; 4] = [
            [1.0, -1.0, -1.0],
            [-1.0, 1.0, -1.0],
            [-1.0, -1.0, 1.0],
            [1.0, 1.0, 1.0],
        ];
        let sum = CORNERS.iter().fold([0.0; 3], |sum, &c| {
            t::add(sum, t::scale(c, field(t::add(p, t::scale(c, STEP)))))
        });
        t::scale(sum, 1.0 / (4.0 * STEP))
    }
}

/// Terms from which on a union looks for the near ones first.
const MANY: usize = 4;

/// The smooth union of many terms, of which most are far away. The nearest box gives a first upper bound of the union; a term
/// whose value must exceed it by more than `blend_reach` mm cannot change the result. `least_square` is the square of a lower
/// bound of a term's value, or negative where there is none.
fn long_union(
    terms: &[Term],
    blend_reach: f64,
    value: &dyn Fn(&Term) -> f64,
    least_square: &dyn Fn(&Term) -> f64,
) -> f64 {
    // The skin has the most parts, about fifty; what does not fit is looked at again.
    let mut squares = [-1.0; 64];
    let (mut nearest, mut least) = (0, f64::INFINITY);
    for (i, term) in terms.iter().enumerate() {
        let square = least_square(term);
        if let Some(slot) = squares.get_mut(i) {
            *slot = square;
        }
        if square < least {
            (least, nearest) = (square, i);
        }
    }
    let known = terms.get(nearest).map_or(f64::INFINITY, value);
    let limit = known + blend_reach;
    let mut d = f64::INFINITY;
    for (i, term) in terms.iter().enumerate() {
        let f = if i == nearest {
            known
        } else {
            let square = squares
                .get(i)
                .copied()
                .unwrap_or_else(|| least_square(term));
            if square >= 0.0 && (limit < 0.0 || square > limit * limit) {
                continue;
            }
            value(term)
        };
        // Nothing to blend with yet: the first term, or all before it were too far away.
        d = if d == f64::INFINITY {
            f
        } else {
            smooth_min(d, f, term.blend)
        };
    }
    d
}

/// The box of a solid: union of the added shapes, cut by the `and` shapes.
pub(crate) fn solid_bounds(solid: &Solid, reference: &dyn Fn(usize) -> Bounds) -> Bounds {
    let mut out = Bounds::EMPTY;
    for (i, term) in solid.terms.iter().enumerate() {
        // A reference is evaluated at the point itself, so its box must be seen through the same mirrors.
        let seen = |index: usize| {
            let b = reference(index);
            if solid.mirrored { b.mirrored() } else { b }
        };
        let mut b = term.shape.bounds(&seen);
        if let (Some(frame), true) = (&term.frame, b.lo[0].is_finite()) {
            b = Bounds::around(b.corners().map(|c| frame.patient(c)));
        }
        b = b.grown(term.offset);
        if term.mirrored {
            b = b.mirrored();
        }
        out = match (i, term.op) {
            (0, _) => b,
            (_, Op::Add) => out.union(b).grown(term.blend / 4.0),
            (_, Op::Sub) => out,
            (_, Op::And) => out.intersection(b),
        };
    }
    if solid.mirrored { out.mirrored() } else { out }
}
