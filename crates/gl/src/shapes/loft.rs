//! Smooth interpolation between cross-sections, and the superellipse the cross-sections are made of.

/// A curve through (x, y) points, x strictly rising, that never overshoots between them.
///
/// Fritsch and Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980) 238–246, with the
/// harmonic mean for the inner slopes (Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300–304).
#[derive(Debug)]
pub(super) struct Curve {
    points: Vec<[f32; 2]>,
    slopes: Vec<f32>,
}

impl Curve {
    pub(super) fn new(points: Vec<[f32; 2]>) -> Self {
        let chords: Vec<f32> = points
            .windows(2)
            .map(|w| (w[1][1] - w[0][1]) / (w[1][0] - w[0][0]))
            .collect();
        let slopes = (0..points.len())
            .map(
                |i| match (i.checked_sub(1).and_then(|j| chords.get(j)), chords.get(i)) {
                    (Some(a), Some(b)) if a * b > 0.0 => 2.0 * a * b / (a + b),
                    _ => 0.0,
                },
            )
            .collect();
        Self { points, slopes }
    }

    /// The value at `x`; beyond the ends, the end's value.
    pub(super) fn at(&self, x: f32) -> f32 {
        let Some(i) = self.points.windows(2).position(|w| x < w[1][0]) else {
            return self.points.last().map_or(0.0, |p| p[1]);
        };
        let ([x0, y0], [x1, y1]) = (self.points[i], self.points[i + 1]);
        let h = x1 - x0;
        let t = ((x - x0) / h).clamp(0.0, 1.0);
        let (t2, t3) = (t * t, t * t * t);
        y0 * (2.0 * t3 - 3.0 * t2 + 1.0)
            + y1 * (3.0 * t2 - 2.0 * t3)
            + h * (self.slopes[i] * (t3 - 2.0 * t2 + t) + self.slopes[i + 1] * (t3 - t2))
    }
}

/// The point at `angle_rad` on the superellipse |x/a|ⁿ + |y/b|ⁿ = 1 (n = 2: ellipse; larger: squarer).
pub(super) fn superellipse(angle_rad: f32, a: f32, b: f32, n: f32) -> [f32; 2] {
    let (s, c) = libm::sincosf(angle_rad);
    let k = libm::powf(libm::powf(c.abs(), n) + libm::powf(s.abs(), n), -1.0 / n);
    [a * c * k, b * s * k]
}

/// Smooth step from 0 at `from` to 1 at `to`.
pub(super) fn smooth_step(from: f32, to: f32, x: f32) -> f32 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_curve_passes_its_points_and_never_overshoots() {
        let points = vec![
            [0.0, 34.0],
            [14.0, 34.5],
            [34.0, 28.0],
            [55.0, 19.0],
            [80.0, 17.5],
            [105.0, 19.0],
            [150.0, 7.0],
        ];
        let curve = Curve::new(points.clone());
        for p in &points {
            assert!((curve.at(p[0]) - p[1]).abs() < 1e-4, "passes {p:?}");
        }
        for pair in points.windows(2) {
            let (lo, hi) = (pair[0][1].min(pair[1][1]), pair[0][1].max(pair[1][1]));
            for k in 0..=50 {
                let x = pair[0][0] + (pair[1][0] - pair[0][0]) * super::super::count(k) / 50.0;
                let y = curve.at(x);
                assert!(
                    y >= lo - 1e-3 && y <= hi + 1e-3,
                    "{y} at {x} leaves {lo}…{hi}"
                );
            }
        }
        assert!(
            (curve.at(-5.0) - 34.0).abs() < 1e-6 && (curve.at(900.0) - 7.0).abs() < 1e-6,
            "flat beyond the ends"
        );
    }

    #[test]
    fn check_superellipse_satisfies_its_equation() {
        for n in [2.0_f32, 2.6, 4.0] {
            for k in 0..24 {
                let [x, y] = superellipse(super::super::count(k) * 0.2618, 30.0, 12.0, n);
                let sum = libm::powf((x / 30.0).abs(), n) + libm::powf((y / 12.0).abs(), n);
                assert!((sum - 1.0).abs() < 1e-3, "n {n}: {sum}");
            }
        }
    }
}
