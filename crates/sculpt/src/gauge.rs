//! First-order distances of degree-1 gauges: `f = (N - 1) / |grad N|`, negative inside.
//!
//! The zero set is exact; the value is a distance near the surface (good for walls and offsets up to about
//! 15 mm). Formulas as given with the body descriptions.

#![expect(
    clippy::float_cmp,
    reason = "exponents are compared with the round numbers that the descriptions give, only to take a faster way"
)]

use crate::triple::Triple;

/// `x^n` for x ≥ 0, with the common exponents kept off the slow general path.
pub(crate) fn power(x: f64, n: f64) -> f64 {
    if n == 2.0 {
        x * x
    } else if n == 1.0 {
        x
    } else if n == 0.0 {
        1.0
    } else {
        raised(x, n)
    }
}

/// `x^(1/n)` for x ≥ 0.
fn root(x: f64, n: f64) -> f64 {
    if n == 2.0 {
        x.sqrt()
    } else {
        raised(x, 1.0 / n)
    }
}

/// `x^n` for x ≥ 0 and n > 0, to about 13 digits: shapes ask for it more often than for anything else, and the last bits of
/// a general power cost most of its time. Sums and products only, so the bits are the same on every machine.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the exponent is clamped to the range of f64 before the cast"
)]
fn raised(x: f64, n: f64) -> f64 {
    // log2(e), and the odd coefficients of 2 artanh(s) in units of log2.
    const LOG2_E: f64 = std::f64::consts::LOG2_E;
    if x < 1e-300 {
        return 0.0;
    }
    // x = m 2^e with m between √½ and √2; then log2 m = 2 log2(e) artanh((m - 1)/(m + 1)).
    let bits = x.to_bits();
    let shifted = bits.wrapping_sub(0x3fe6_a09e_667f_3bcd);
    let e = (shifted.cast_signed() >> 52) as f64;
    let m = f64::from_bits((shifted & 0x000f_ffff_ffff_ffff).wrapping_add(0x3fe6_a09e_667f_3bcd));
    let s = (m - 1.0) / (m + 1.0);
    let s2 = s * s;
    let series = 1.0
        + s2 * (1.0 / 3.0
            + s2 * (1.0 / 5.0
                + s2 * (1.0 / 7.0
                    + s2 * (1.0 / 9.0
                        + s2 * (1.0 / 11.0 + s2 * (1.0 / 13.0 + s2 * (1.0 / 15.0 + s2 / 17.0)))))));
    let y = n * (e + 2.0 * LOG2_E * s * series);
    // 2^y = 2^k exp(r ln 2) with |r| ≤ ½.
    let y = y.clamp(-1000.0, 1000.0);
    let k = (y + 0.5).floor();
    let r = (y - k) * std::f64::consts::LN_2;
    let mut exp = 1.0;
    for i in (1..=12_u32).rev() {
        exp = 1.0 + exp * r * INVERSE[i as usize];
    }
    exp * f64::from_bits(((k + 1023.0) as u64) << 52)
}

/// 1/i.
const INVERSE: [f64; 13] = {
    let mut inverse = [0.0; 13];
    let (mut i, mut x) = (1, 1.0);
    while i < 13 {
        inverse[i] = 1.0 / x;
        i += 1;
        x += 1.0;
    }
    inverse
};

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
    // u^(n-1) serves both the gauge and its gradient, which halves the costly powers.
    let [xm, ym] = [u[0], u[1]].map(|c| power(c, nxy - 1.0));
    let zm = power(u[2], nz - 1.0);
    let a = xm * u[0] + ym * u[1];
    let across = if a > 0.0 {
        power(a, nz / nxy - 1.0)
    } else {
        0.0
    };
    let sum = across * a + zm * u[2];
    let n = root(sum, nz);
    if n < 1e-9 {
        return -r[0].min(r[1]).min(r[2]);
    }
    // d N / d x = N^(1-nz) A^(nz/nxy - 1) |x/rx|^(nxy-1) / rx, and likewise for y and z; N^(1-nz) = N / N^nz.
    let outer = n / sum;
    let g = [
        outer * across * xm / r[0],
        outer * across * ym / r[1],
        outer * zm / r[2],
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_agree_with_the_library_to_twelve_digits() {
        for i in 0..2000_u32 {
            let x = 1e-6 * libm::pow(1.02, f64::from(i));
            for n in [0.05, 0.15, 0.4, 0.5, 1.1, 1.5, 2.3, 4.0, 7.0] {
                let (own, wanted) = (raised(x, n), libm::pow(x, n));
                assert!(
                    (own / wanted - 1.0).abs() < 1e-12,
                    "{x} to the power {n}: {own} instead of {wanted}"
                );
            }
        }
        assert_eq!(raised(0.0, 0.4).to_bits(), 0.0_f64.to_bits());
    }
}
