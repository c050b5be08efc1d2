//! First-order distances of degree-1 gauges: `f = (N - 1) / |grad N|`, negative inside.
//!
//! The zero set is exact; the value is a distance near the surface (good for walls and offsets up to about
//! 15 mm). Formulas as given with the body descriptions.

#![expect(
    clippy::float_cmp,
    reason = "exponents are compared with the round numbers that the descriptions give, only to take a faster way"
)]

use crate::triple::Triple;

/// `x^n` for x ≥ 0, with the common exponent 2 kept off the slow general path.
pub(crate) fn power(x: f64, n: f64) -> f64 {
    if n == 2.0 {
        x * x
    } else if n == 1.0 {
        x
    } else if n == 0.0 {
        1.0
    } else {
        libm::pow(x, n)
    }
}

/// `x^(1/n)` for x ≥ 0.
fn root(x: f64, n: f64) -> f64 {
    if n == 2.0 {
        x.sqrt()
    } else {
        libm::pow(x, 1.0 / n)
    }
}

/// Ellipsoid with half-axes `r` (mm) about the origin, at `q` (mm).
#[must_use]
pub fn ellipsoid(q: Triple, r: Triple) -> f64 {
    let u = [q[0] / r[0], q[1] / r[1], q[2] / r[2]];
    let w = [u[0] / r[0], u[1] / r[1], u[2] / r[2]];
    let k0 = (u[0] * u[0] + u[1] * u[1] + u[2] * u[2]).sqrt();
    let k1 = (w[0] * w[0] + w[1] * w[1] + w[2] * w[2]).sqrt();
    if k1 < 1e-12 {
        -r[0].min(r[1]).min(r[2])
    } else {
        k0 * (k0 - 1.0) / k1
    }
}

/// Superellipsoid with half-axes `r` (mm): exponent `nxy` within the x-y section, `nz` along z.
#[must_use]
pub fn superellipsoid(q: Triple, r: Triple, nxy: f64, nz: f64) -> f64 {
    let u = [
        (q[0] / r[0]).abs(),
        (q[1] / r[1]).abs(),
        (q[2] / r[2]).abs(),
    ];
    let a = power(u[0], nxy) + power(u[1], nxy);
    let n = root(power(a, nz / nxy) + power(u[2], nz), nz);
    if n < 1e-9 {
        return -r[0].min(r[1]).min(r[2]);
    }
    // d N / d x = N^(1-nz) A^(nz/nxy - 1) |x/rx|^(nxy-1) / rx, and likewise for y and z.
    let outer = libm::pow(n, 1.0 - nz);
    let across = if a > 0.0 {
        power(a, nz / nxy - 1.0)
    } else {
        0.0
    };
    let g = [
        outer * across * power(u[0], nxy - 1.0) / r[0],
        outer * across * power(u[1], nxy - 1.0) / r[1],
        outer * power(u[2], nz - 1.0) / r[2],
    ];
    (n - 1.0) / (g[0] * g[0] + g[1] * g[1] + g[2] * g[2]).sqrt().max(1e-12)
}

/// Plane superellipse with half-axes `bu`, `bv` (mm) and exponent `n`, at `(u, v)` (mm).
#[must_use]
pub fn superellipse(u: f64, v: f64, bu: f64, bv: f64, n: f64) -> f64 {
    let (x, y) = ((u / bu).abs(), (v / bv).abs());
    if n == 2.0 {
        let k0 = (x * x + y * y).sqrt();
        let k1 = (x * x / (bu * bu) + y * y / (bv * bv)).sqrt();
        return if k1 < 1e-12 {
            -bu.min(bv)
        } else {
            k0 * (k0 - 1.0) / k1
        };
    }
    // x^(n-1) serves both the gauge and its gradient, which halves the costly powers.
    let (xm, ym) = (power(x, n - 1.0), power(y, n - 1.0));
    let sum = xm * x + ym * y;
    if sum < 1e-18 {
        return -bu.min(bv);
    }
    let gauge = root(sum, n);
    let outer = gauge / sum; // N^(1-n) = N / N^n
    let (gu, gv) = (outer * xm / bu, outer * ym / bv);
    (gauge - 1.0) / (gu * gu + gv * gv).sqrt().max(1e-12)
}

/// Smooth minimum with blend width `k` mm (0: plain minimum).
#[must_use]
pub fn smooth_min(a: f64, b: f64, k: f64) -> f64 {
    let plain = a.min(b);
    if k <= 0.0 {
        return plain;
    }
    let h = (k - (a - b).abs()).max(0.0) / k;
    plain - h * h * k / 4.0
}

/// Smooth maximum with blend width `k` mm (0: plain maximum).
#[must_use]
pub fn smooth_max(a: f64, b: f64, k: f64) -> f64 {
    -smooth_min(-a, -b, k)
}
