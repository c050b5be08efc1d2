//! Lines as instances: one row of numbers for each piece between two points. Pure.

use crate::frame::Ribbon;
use glam::Vec3;

/// Floats in one instance: six vectors, see `shaders/ribbon.vert.glsl`.
pub(crate) const INSTANCE_FLOATS: usize = 24;

/// Appends the pieces of every ribbon to `out` and says how many there are.
pub(crate) fn instances(ribbons: &[Ribbon], out: &mut Vec<f32>) -> usize {
    out.clear();
    for ribbon in ribbons {
        let points = &ribbon.points;
        let n = points.len();
        if n < 2 {
            continue;
        }
        let pieces = if ribbon.closed && n > 2 { n } else { n - 1 };
        let round = pieces == n;
        for i in 0..pieces {
            let (a, b) = (points[i], points[(i + 1) % n]);
            let before = if i > 0 {
                Some(points[i - 1])
            } else {
                round.then(|| points[n - 1])
            };
            let after = if i + 1 < pieces {
                Some(points[(i + 2) % n])
            } else {
                round.then(|| points[1])
            };
            let joined = |p: Option<Vec3>, own: Vec3| p.map_or(own.extend(0.0), |p| p.extend(1.0));
            out.extend(a.extend(ribbon.lift).to_array());
            out.extend(b.extend(0.5 * ribbon.width_px).to_array());
            out.extend(joined(before, a).to_array());
            out.extend(joined(after, b).to_array());
            out.extend(ribbon.colour);
            out.extend([ribbon.hidden_alpha, 0.0, 0.0, 0.0]);
        }
    }
    out.len() / INSTANCE_FLOATS
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ribbon(n: usize, closed: bool) -> Ribbon {
        let points = [Vec3::ZERO, Vec3::X, Vec3::new(1.0, 1.0, 0.0), Vec3::Y][..n].to_vec();
        Ribbon {
            points,
            closed,
            width_px: 3.0,
            colour: [0.1, 0.2, 0.3, 1.0],
            hidden_alpha: 0.2,
            lift: 1.0,
        }
    }

    #[test]
    fn check_pieces_and_joints() {
        // (points, closed, pieces, joints at starts and ends together)
        for (n, closed, pieces, joints) in [
            (0, false, 0, 0),
            (1, true, 0, 0),
            (2, false, 1, 0),
            (2, true, 1, 0),
            (3, false, 2, 2),
            (4, true, 4, 8),
        ] {
            let mut out = vec![9.0; 5];
            let found = instances(&[ribbon(n, closed)], &mut out);
            assert_eq!(found, pieces, "{n} points, closed {closed}");
            let ends = out
                .chunks_exact(INSTANCE_FLOATS)
                .flat_map(|row| [row[11], row[15]])
                .filter(|w| *w > 0.5)
                .count();
            assert_eq!(ends, joints, "joints of {n} points, closed {closed}");
        }
    }

    #[test]
    fn check_neighbours_are_the_right_points() {
        let mut out = Vec::new();
        instances(&[ribbon(4, true)], &mut out);
        let last = &out[3 * INSTANCE_FLOATS..];
        assert_eq!(
            Vec3::from_slice(&last[0..3]),
            Vec3::Y,
            "the last piece starts at the last point"
        );
        assert_eq!(
            Vec3::from_slice(&last[4..7]),
            Vec3::ZERO,
            "and joins the first"
        );
        assert_eq!(
            Vec3::from_slice(&last[12..15]),
            Vec3::X,
            "whose piece goes on to the second"
        );
    }
}
