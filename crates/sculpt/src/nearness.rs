//! How far a point of a mesh lies from the true surface.
//!
//! A first-order distance is far too large deep inside a thin flat shape (there |f| follows the long axis), so where it
//! says "too far" the surface is looked for along the mesh's own normal.

use crate::triple::{self as t, Triple};

/// Whether the surface of `field` lies within `mm` of `p`, seen along the unit outward normal `n` of the mesh.
#[must_use]
pub fn within(field: &dyn Fn(Triple) -> f64, p: Triple, n: Triple, mm: f64) -> bool {
    let f = field(p);
    f.abs() <= mm || crosses(field, p, n, f, mm)
}

/// Whether the surface met from `p` along `n` (unit, outward) or against it is within `mm`, however small the value at `p`:
/// between the two sides of a thin rim the value is small, and the rim itself may be far.
#[must_use]
pub fn met_within(field: &dyn Fn(Triple) -> f64, p: Triple, n: Triple, mm: f64) -> bool {
    /// Nobody sees a rim thinner than twice this, mm.
    const THIN: f64 = 0.02;
    let f = field(p);
    f.abs() <= THIN || crosses(field, p, n, f, mm)
}

/// Distance of the surface from `p` along `n` (unit, outward), mm: |f| where that is at most `enough`, else to a sixth
/// of `enough`, never more than |f|.
#[must_use]
pub fn distance(field: &dyn Fn(Triple) -> f64, p: Triple, n: Triple, enough: f64) -> f64 {
    let f = field(p);
    let mut reach = enough;
    if f.abs() <= reach {
        return f.abs();
    }
    while reach < f.abs() {
        if crosses(field, p, n, f, reach) {
            return reach;
        }
        reach += enough / 6.0;
    }
    f.abs()
}

/// The point of the surface met from `p` along `n` or against it within `reach` mm, whichever side `p` is on.
#[must_use]
pub fn found_along(
    field: &dyn Fn(Triple) -> f64,
    p: Triple,
    n: Triple,
    reach: f64,
) -> Option<Triple> {
    const STEPS: u32 = 6;
    let f = field(p);
    let toward = t::scale(n, if f < 0.0 { reach } else { -reach });
    let differs = |s: f64| (field(t::add(p, t::scale(toward, s))) < 0.0) != (f < 0.0);
    let hit = (1..=STEPS).find(|&i| differs(f64::from(i) / f64::from(STEPS)))?;
    let (mut lo, mut hi) = (
        f64::from(hit - 1) / f64::from(STEPS),
        f64::from(hit) / f64::from(STEPS),
    );
    for _ in 0..12 {
        let mid = (lo + hi) / 2.0;
        if differs(mid) {
            hi = mid;
        } else {
            lo = mid;
        }
    }
    Some(t::add(p, t::scale(toward, (lo + hi) / 2.0)))
}

fn crosses(field: &dyn Fn(Triple) -> f64, p: Triple, n: Triple, f: f64, mm: f64) -> bool {
    let toward = if f < 0.0 { mm } else { -mm };
    (field(t::add(p, t::scale(n, toward))) < 0.0) != (f < 0.0)
}
