//! Lofts: superelliptic sections along a straight axis, joined by cubic interpolation of their columns.

use crate::gauge::{smooth_max, superellipse};
use crate::triple::{self as t, Bounds, Triple};

/// Smallest half-size of a section, mm: keeps the gauge defined where a table runs to a point.
const LEAST_HALF_SIZE: f64 = 0.05;

/// One section of a loft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoftRow {
    /// Station along the axis, mm.
    pub s: f64,
    /// Centre along the lateral axis u, mm.
    pub cu: f64,
    /// Centre along v = axis × u, mm.
    pub cv: f64,
    /// Half-breadth along u, mm.
    pub b: f64,
    /// Depth toward -v, mm.
    pub f: f64,
    /// Depth toward +v, mm.
    pub k: f64,
    /// Exponent of the section (2 = ellipse).
    pub n: f64,
}

/// How the columns run between the sections.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Curve {
    /// Fritsch-Butland: never overshoots, but its curvature jumps at the rows.
    Monotone,
    /// Natural cubic spline: continuous curvature, for surfaces that are looked at; may overshoot a little.
    Spline,
}

/// Sections along the unit axis `w` with lateral `u` and `v = w × u`.
#[derive(Debug, Clone)]
pub struct Loft {
    w: Triple,
    u: Triple,
    v: Triple,
    origin: Triple,
    stations: Vec<f64>,
    /// Columns cu, cv, b, f, k, n with their slopes, per station.
    columns: Vec<[f64; 6]>,
    slopes: Vec<[f64; 6]>,
    cap: f64,
}

impl Loft {
    /// A loft of at least two rows (any order), `cap` mm being the rounding of its two ends. `axis` and
    /// `lateral` need not be unit nor perpendicular; `None` when they are parallel or zero.
    #[must_use]
    pub fn new(
        axis: Triple,
        lateral: Triple,
        origin: Triple,
        rows: &[LoftRow],
        cap: f64,
        curve: Curve,
    ) -> Option<Self> {
        let w = t::unit(axis)?;
        let u = t::unit(t::reject(lateral, w))?;
        let mut rows = rows.to_vec();
        rows.sort_by(|a, b| a.s.total_cmp(&b.s));
        let stations: Vec<f64> = rows.iter().map(|r| r.s).collect();
        let columns: Vec<[f64; 6]> = rows
            .iter()
            .map(|r| [r.cu, r.cv, r.b, r.f, r.k, r.n])
            .collect();
        let slopes = match curve {
            Curve::Monotone => fritsch_butland(&stations, &columns),
            Curve::Spline => natural_spline(&stations, &columns),
        };
        Some(Self {
            w,
            u,
            v: t::cross(w, u),
            origin,
            stations,
            columns,
            slopes,
            cap,
        })
    }

    /// The interpolated columns cu, cv, b, f, k, n at station `s` (clamped to the table).
    #[must_use]
    pub fn section_at(&self, s: f64) -> [f64; 6] {
        let last = self.stations.len() - 1;
        let s = s.clamp(self.stations[0], self.stations[last]);
        let i = self.stations.partition_point(|&x| x <= s).clamp(1, last) - 1;
        let h = self.stations[i + 1] - self.stations[i];
        let x = (s - self.stations[i]) / h;
        let (x2, x3) = (x * x, x * x * x);
        let (h00, h10) = (2.0 * x3 - 3.0 * x2 + 1.0, (x3 - 2.0 * x2 + x) * h);
        let (h01, h11) = (3.0 * x2 - 2.0 * x3, (x3 - x2) * h);
        std::array::from_fn(|c| {
            h00 * self.columns[i][c]
                + h10 * self.slopes[i][c]
                + h01 * self.columns[i + 1][c]
                + h11 * self.slopes[i + 1][c]
        })
    }

    /// First-order distance, mm, negative inside.
    #[must_use]
    pub fn value(&self, p: Triple) -> f64 {
        let d = t::sub(p, self.origin);
        let s = t::dot(d, self.w);
        let [cu, cv, b, f, k, n] = self.section_at(s);
        let (u, v) = (t::dot(d, self.u) - cu, t::dot(d, self.v) - cv);
        let depth = if v < 0.0 { f } else { k };
        let side = superellipse(u, v, b.max(LEAST_HALF_SIZE), depth.max(LEAST_HALF_SIZE), n);
        let ends = (self.stations[0] - s).max(s - self.stations[self.stations.len() - 1]);
        smooth_max(side, ends, self.cap)
    }

    /// A box holding the loft.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        // Eight sections per span: the columns are smooth, so what lies between exceeds them by next to nothing, and
        // the margin covers it.
        const PER_SPAN: u32 = 8;
        let fine = self.stations.windows(2).flat_map(|w| {
            let (a, b) = (w[0], w[1]);
            (0..=PER_SPAN).map(move |i| a + (b - a) * f64::from(i) / f64::from(PER_SPAN))
        });
        let corners = fine.flat_map(|s| {
            let [cu, cv, b, f, k, _] = self.section_at(s);
            let (b, f, k) = (
                b.max(LEAST_HALF_SIZE),
                f.max(LEAST_HALF_SIZE),
                k.max(LEAST_HALF_SIZE),
            );
            [
                (cu - b, cv - f),
                (cu - b, cv + k),
                (cu + b, cv - f),
                (cu + b, cv + k),
            ]
            .map(|(u, v)| {
                t::add(
                    self.origin,
                    t::add(
                        t::scale(self.w, s),
                        t::add(t::scale(self.u, u), t::scale(self.v, v)),
                    ),
                )
            })
        });
        Bounds::around(corners).grown(0.5)
    }

    /// The centres of the sections, mm, in ascending station.
    #[must_use]
    pub fn centres(&self) -> Vec<Triple> {
        self.stations
            .iter()
            .zip(&self.columns)
            .map(|(&s, c)| {
                let across = t::add(t::scale(self.u, c[0]), t::scale(self.v, c[1]));
                t::add(self.origin, t::add(t::scale(self.w, s), across))
            })
            .collect()
    }

    /// Least ratio of value to distance, see `Shape::flatness`: over the sections, narrowest half-size over the corner
    /// of the section's rectangle; a further factor √½ because a point may be off sideways and beyond an end at once.
    #[must_use]
    pub fn flatness(&self) -> f64 {
        let least = self.columns.iter().map(|c| {
            let (b, f, k) = (
                c[2].max(LEAST_HALF_SIZE),
                c[3].max(LEAST_HALF_SIZE),
                c[4].max(LEAST_HALF_SIZE),
            );
            b.min(f).min(k) / (b * b + f.max(k) * f.max(k)).sqrt()
        });
        least.fold(1.0, f64::min) * std::f64::consts::FRAC_1_SQRT_2
    }

    /// The median half-size over the sections, mm: a measure of how thick the loft is.
    #[must_use]
    pub fn typical_half_size(&self) -> f64 {
        let mut sizes: Vec<f64> = self
            .columns
            .iter()
            .map(|c| c[2].min((c[3] + c[4]) / 2.0))
            .collect();
        sizes.sort_by(f64::total_cmp);
        sizes[sizes.len() / 2]
    }
}

/// Slopes of the monotone cubic: Fritsch-Butland weights inside, the end secant at both ends.
fn fritsch_butland(s: &[f64], columns: &[[f64; 6]]) -> Vec<[f64; 6]> {
    let last = s.len() - 1;
    let secant = |i: usize, c: usize| (columns[i + 1][c] - columns[i][c]) / (s[i + 1] - s[i]);
    (0..=last)
        .map(|i| {
            std::array::from_fn(|c| {
                if i == 0 {
                    return secant(0, c);
                }
                if i == last {
                    return secant(last - 1, c);
                }
                let (d0, d1) = (secant(i - 1, c), secant(i, c));
                if d0 * d1 <= 0.0 {
                    return 0.0;
                }
                let (h0, h1) = (s[i] - s[i - 1], s[i + 1] - s[i]);
                let (w1, w2) = (2.0 * h1 + h0, h1 + 2.0 * h0);
                (w1 + w2) / (w1 / d0 + w2 / d1)
            })
        })
        .collect()
}

/// Slopes of the natural cubic spline: continuous second derivative, which is zero at both ends.
fn natural_spline(s: &[f64], columns: &[[f64; 6]]) -> Vec<[f64; 6]> {
    let count = s.len();
    let last = count - 1;
    let step = |i: usize| s[i + 1] - s[i];
    let mut slopes = vec![[0.0; 6]; count];
    for c in 0..6 {
        let secant = |i: usize| (columns[i + 1][c] - columns[i][c]) / step(i);
        // Tridiagonal system in the slopes, solved by elimination from the first row down and back.
        let (mut upper, mut right) = (vec![0.0; count], vec![0.0; count]);
        for i in 0..count {
            let (below, diagonal, above, value) = if i == 0 {
                (0.0, 2.0, 1.0, 3.0 * secant(0))
            } else if i == last {
                (1.0, 2.0, 0.0, 3.0 * secant(last - 1))
            } else {
                let (h0, h1) = (step(i - 1), step(i));
                (
                    h1,
                    2.0 * (h0 + h1),
                    h0,
                    3.0 * (h1 * secant(i - 1) + h0 * secant(i)),
                )
            };
            let (u, r) = if i == 0 {
                (0.0, 0.0)
            } else {
                (upper[i - 1], right[i - 1])
            };
            let pivot = diagonal - below * u;
            upper[i] = above / pivot;
            right[i] = (value - below * r) / pivot;
        }
        slopes[last][c] = right[last];
        for i in (0..last).rev() {
            slopes[i][c] = right[i] - upper[i] * slopes[i + 1][c];
        }
    }
    slopes
}
