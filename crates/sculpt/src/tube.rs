//! Tubes along Catmull-Rom centre lines: vessels, ducts, bowel, muscles.

use crate::triple::{self as t, Bounds, Triple};

/// Straight pieces per Catmull-Rom span.
pub const PIECES_PER_SPAN: usize = 6;

/// One column set of a tube: centre, half-width along `wide`, half-width across it (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeRow {
    /// Centre, mm.
    pub at: Triple,
    /// Half-width along `wide`, mm.
    pub ra: f64,
    /// Half-width across `wide`, mm; equal to `ra` on a round tube.
    pub rb: f64,
}

/// Room for rounding when a piece is passed over, mm.
const SAFE: f64 = 1e-6;

/// A straight tapered piece.
#[derive(Debug, Clone, Copy)]
struct Piece {
    a: Triple,
    axis: Triple,
    inv_len2: f64,
    ra: f64,
    dra: f64,
    rb: f64,
    drb: f64,
    /// Unit vector along `wide`, perpendicular to the piece.
    u: Triple,
    /// Middle of the piece, and half its length, mm.
    middle: Triple,
    half: f64,
    /// Largest half-width, mm, and how fast the least distance of a value grows with it: 1 where the piece is round, else
    /// the largest half-width over the smallest.
    widest: f64,
    spread: f64,
}

/// Pieces that follow one another, in a ball: most of a long tube is passed over a span at a time.
#[derive(Debug, Clone, Copy)]
struct Span {
    /// Numbers of its pieces.
    from: usize,
    to: usize,
    /// Centre of the ball round the axes of the pieces, mm.
    centre: Triple,
    /// Radius of that ball and the largest half-width, together, mm.
    reach: f64,
    /// The largest of its pieces.
    spread: f64,
}

impl Span {
    fn of(pieces: &[Piece], from: usize) -> Self {
        let to = pieces.len().min(from + PIECES_PER_SPAN);
        let own = &pieces[from..to];
        let bounds = Bounds::around(own.iter().flat_map(|s| [s.a, t::add(s.a, s.axis)]));
        let centre = t::lerp(bounds.lo, bounds.hi, 0.5);
        let most = |of: &dyn Fn(&Piece) -> f64| own.iter().map(of).fold(0.0, f64::max);
        let radius = most(&|s| t::length(t::sub(s.middle, centre)) + s.half);
        Self {
            from,
            to,
            centre,
            reach: radius + most(&|s| s.widest),
            spread: most(&|s| s.spread),
        }
    }
}

/// A union of tapered capsules along a smooth centre line.
#[derive(Debug, Clone)]
pub struct Tube {
    pieces: Vec<Piece>,
    spans: Vec<Span>,
    centreline: Vec<Triple>,
    round: bool,
    bounds: Bounds,
    least_radius: f64,
}

impl Tube {
    /// A tube through at least two rows. `wide` is the direction of the first half-width (mm irrelevant);
    /// `round` says that `ra` equals `rb` everywhere, so pieces are tapered capsules.
    #[must_use]
    pub fn new(rows: &[TubeRow], wide: Triple, round: bool) -> Self {
        let samples = catmull_rom(rows);
        let mut pieces = Vec::with_capacity(samples.len());
        let mut bounds = Bounds::EMPTY;
        for pair in samples.windows(2) {
            let (p, q) = (pair[0], pair[1]);
            let axis = t::sub(q.at, p.at);
            let len2 = t::dot(axis, axis);
            let dir = t::unit(axis).unwrap_or([0.0, 0.0, 1.0]);
            let u = t::unit(t::reject(wide, dir)).unwrap_or_else(|| t::any_perpendicular(dir));
            pieces.push(Piece {
                a: p.at,
                axis,
                inv_len2: if len2 > 1e-18 { 1.0 / len2 } else { 0.0 },
                ra: p.ra,
                dra: q.ra - p.ra,
                rb: p.rb,
                drb: q.rb - p.rb,
                u,
                middle: t::lerp(p.at, q.at, 0.5),
                half: len2.sqrt() / 2.0,
                widest: p.ra.max(q.ra).max(p.rb).max(q.rb),
                spread: if round {
                    1.0
                } else {
                    p.ra.max(q.ra).max(p.rb).max(q.rb) / p.ra.min(q.ra).min(p.rb).min(q.rb)
                },
            });
            for s in [p, q] {
                bounds = bounds.union(Bounds { lo: s.at, hi: s.at }.grown(s.ra.max(s.rb)));
            }
        }
        let least_radius = samples
            .iter()
            .map(|s| s.ra.min(s.rb))
            .fold(f64::INFINITY, f64::min);
        let centreline = samples.iter().map(|s| s.at).collect();
        let spans = (0..pieces.len())
            .step_by(PIECES_PER_SPAN)
            .map(|from| Span::of(&pieces, from))
            .collect();
        Self {
            pieces,
            spans,
            centreline,
            round,
            bounds,
            least_radius,
        }
    }

    /// First-order distance, mm, negative inside.
    #[must_use]
    pub fn value(&self, p: Triple) -> f64 {
        // The span that may be nearest gives a bound with which nearly all others are passed over.
        let (mut first, mut least) = (0, f64::INFINITY);
        let mut distances = [0.0; 32];
        let distance = |span: &Span| t::length(t::sub(p, span.centre));
        for (i, span) in self.spans.iter().enumerate() {
            let d = distance(span);
            if let Some(slot) = distances.get_mut(i) {
                *slot = d;
            }
            if d - span.reach < least {
                (least, first) = (d - span.reach, i);
            }
        }
        let mut best = f64::INFINITY;
        if let Some(span) = self.spans.get(first) {
            best = self.nearest(p, span, best);
        }
        for (i, span) in self.spans.iter().enumerate() {
            let d = distances.get(i).copied().unwrap_or_else(|| distance(span));
            if i != first && d <= span.reach + span.spread * best.max(0.0) + SAFE {
                best = self.nearest(p, span, best);
            }
        }
        best
    }

    /// The least value of a span's pieces and `best`.
    fn nearest(&self, p: Triple, span: &Span, mut best: f64) -> f64 {
        for s in &self.pieces[span.from..span.to] {
            // At a distance d from its axis a round piece is at least d - widest away and a flat one at least
            // (d - widest) / spread; so beyond this distance it cannot be the nearest.
            let far = s.widest + s.half + s.spread * best.max(0.0) + SAFE;
            let from_middle = t::sub(p, s.middle);
            if t::dot(from_middle, from_middle) > far * far {
                continue;
            }
            let ap = t::sub(p, s.a);
            let along = (t::dot(ap, s.axis) * s.inv_len2).clamp(0.0, 1.0);
            let d = t::sub(ap, t::scale(s.axis, along));
            let d2 = t::dot(d, d);
            let f = if self.round {
                d2.sqrt() - (s.ra + along * s.dra)
            } else {
                let (ra, rb) = (s.ra + along * s.dra, s.rb + along * s.drb);
                let du = t::dot(d, s.u);
                let du2 = du * du;
                let dv2 = (d2 - du2).max(0.0);
                let (ia2, ib2) = (1.0 / (ra * ra), 1.0 / (rb * rb));
                let k0 = (du2 * ia2 + dv2 * ib2).sqrt();
                let k1 = (du2 * ia2 * ia2 + dv2 * ib2 * ib2).sqrt();
                if k1 < 1e-12 {
                    -ra.min(rb)
                } else {
                    k0 * (k0 - 1.0) / k1
                }
            };
            best = best.min(f);
        }
        best
    }

    /// The sampled centre line, mm, from the first row to the last.
    #[must_use]
    pub fn centreline(&self) -> &[Triple] {
        &self.centreline
    }

    /// A box holding the tube.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// Least ratio of value to distance, see `Shape::flatness`: narrow over wide half-width, less the taper's slope.
    #[must_use]
    pub fn flatness(&self) -> f64 {
        self.pieces
            .iter()
            .map(|s| {
                let (ra, rb) = (s.ra.min(s.ra + s.dra), s.rb.min(s.rb + s.drb));
                let (wa, wb) = (s.ra.max(s.ra + s.dra), s.rb.max(s.rb + s.drb));
                let slope = s.dra.abs().max(s.drb.abs()) / t::length(s.axis).max(1e-9);
                (ra.min(rb) / wa.max(wb) * (1.0 - slope)).max(0.0)
            })
            .fold(1.0, f64::min)
    }

    /// The smallest half-width along the tube, mm.
    #[must_use]
    pub fn least_radius(&self) -> f64 {
        self.least_radius
    }
}

/// Uniform Catmull-Rom through all columns alike: inner tangents half the difference of the neighbours,
/// end tangents the one-sided difference. Two rows stay one straight piece.
fn catmull_rom(rows: &[TubeRow]) -> Vec<TubeRow> {
    if rows.len() <= 2 {
        return rows.to_vec();
    }
    let columns: Vec<[f64; 5]> = rows
        .iter()
        .map(|r| [r.at[0], r.at[1], r.at[2], r.ra, r.rb])
        .collect();
    let last = columns.len() - 1;
    let tangent = |i: usize| -> [f64; 5] {
        std::array::from_fn(|c| {
            if i == 0 {
                columns[1][c] - columns[0][c]
            } else if i == last {
                columns[last][c] - columns[last - 1][c]
            } else {
                (columns[i + 1][c] - columns[i - 1][c]) / 2.0
            }
        })
    };
    let mut out = vec![rows[0]];
    for i in 0..last {
        let (m0, m1) = (tangent(i), tangent(i + 1));
        for step in 1..=PIECES_PER_SPAN {
            let s = small(step) / small(PIECES_PER_SPAN);
            let (s2, s3) = (s * s, s * s * s);
            let v: [f64; 5] = std::array::from_fn(|c| {
                (2.0 * s3 - 3.0 * s2 + 1.0) * columns[i][c]
                    + (s3 - 2.0 * s2 + s) * m0[c]
                    + (3.0 * s2 - 2.0 * s3) * columns[i + 1][c]
                    + (s3 - s2) * m1[c]
            });
            out.push(TubeRow {
                at: [v[0], v[1], v[2]],
                ra: v[3],
                rb: v[4],
            });
        }
    }
    out
}

/// A small count as a float, exactly.
fn small(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::from(u32::MAX), f64::from)
}
