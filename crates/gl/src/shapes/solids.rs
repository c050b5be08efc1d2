//! Plain solids: rounded box, ball, disc, arrow, ring.

use super::{Shape, count};
use core::f32::consts::{FRAC_PI_2, FRAC_PI_4, TAU};
use glam::{Mat4, Vec3};

/// A box about the origin with half sides `half`, its edges and corners rounded by `radius` (at most the smallest
/// half side), each quarter turn of an edge drawn in 2 × `steps` facets.
#[must_use]
pub fn rounded_box(half: Vec3, radius: f32, steps: usize) -> Shape {
    let radius = radius.clamp(0.0, half.min_element());
    let core = half - Vec3::splat(radius);
    let steps = steps.max(1);
    // Each face carries its half of the rounding; lines are spread evenly in angle so that facets are equal.
    let line = |inner: f32| -> Vec<f32> {
        let arc = |k: usize| radius * libm::tanf(FRAC_PI_4 * count(k) / count(steps));
        let low = (0..=steps).rev().map(|k| -inner - arc(k));
        let high = (0..=steps).map(|k| inner + arc(k));
        low.chain(high).collect()
    };
    let mut shape = Shape::default();
    for axis in 0..3 {
        for sign in [-1.0, 1.0] {
            let (u_axis, v_axis) = ((axis + 1) % 3, (axis + 2) % 3);
            let (us, vs) = (line(core[u_axis]), line(core[v_axis]));
            let mut numbers = Vec::with_capacity(us.len() * vs.len());
            for &v in &vs {
                for &u in &us {
                    let mut q = Vec3::ZERO;
                    q[axis] = sign * half[axis];
                    q[u_axis] = u;
                    q[v_axis] = v;
                    let inner = q.clamp(-core, core);
                    let mut out = Vec3::ZERO;
                    out[axis] = sign;
                    let normal = (q - inner).normalize_or(out);
                    numbers.push(shape.push(inner + normal * radius, normal));
                }
            }
            for j in 0..vs.len() - 1 {
                for i in 0..us.len() - 1 {
                    let at = |di: usize, dj: usize| numbers[(j + dj) * us.len() + i + di];
                    if sign > 0.0 {
                        shape.quad(at(0, 0), at(1, 0), at(1, 1), at(0, 1));
                    } else {
                        shape.quad(at(0, 0), at(0, 1), at(1, 1), at(1, 0));
                    }
                }
            }
        }
    }
    shape
}

/// A ball about the origin.
#[must_use]
pub fn ball(radius: f32, steps: usize) -> Shape {
    rounded_box(Vec3::splat(radius), radius, steps)
}

/// A point of a turned profile: distance from the z axis, height, and the outward normal (radial, axial).
struct Turned {
    r: f32,
    z: f32,
    normal: [f32; 2],
}

/// Turns a profile, given from the bottom up along its outside, about the z axis. A crease is a point given twice.
fn revolve(profile: &[Turned], sides: usize) -> Shape {
    let sides = sides.max(3);
    let mut shape = Shape::default();
    let mut rows = Vec::with_capacity(profile.len());
    for point in profile {
        let row: Vec<u32> = (0..=sides)
            .map(|k| {
                let (s, c) = libm::sincosf(TAU * count(k % sides) / count(sides));
                let [nr, nz] = point.normal;
                let normal = Vec3::new(c * nr, s * nr, nz).normalize_or(Vec3::Z);
                shape.push(Vec3::new(c * point.r, s * point.r, point.z), normal)
            })
            .collect();
        rows.push(row);
    }
    for (i, pair) in rows.windows(2).enumerate() {
        for k in 0..sides {
            if profile[i].r > 0.0 {
                shape.triangle(pair[0][k], pair[0][k + 1], pair[1][k + 1]);
            }
            if profile[i + 1].r > 0.0 {
                shape.triangle(pair[0][k], pair[1][k + 1], pair[1][k]);
            }
        }
    }
    shape
}

/// A flat disc in the plane z = 0 about the origin, seen from +z.
#[must_use]
pub fn disc(radius: f32, sides: usize) -> Shape {
    let up = [0.0, 1.0];
    revolve(
        &[
            Turned {
                r: radius,
                z: 0.0,
                normal: up,
            },
            Turned {
                r: 0.0,
                z: 0.0,
                normal: up,
            },
        ],
        sides,
    )
}

fn arrow_profile(tail: f32, tip: f32, shaft: f32, head: f32, head_length: f32) -> Vec<Turned> {
    let neck = tip - head_length;
    let slope = [head_length, head];
    let (down, out) = ([0.0, -1.0], [1.0, 0.0]);
    let mut profile = Vec::new();
    if neck > tail {
        // A round tail reads softer than a sawn-off one.
        let quarter = 5;
        for k in 0..=quarter {
            let (s, c) = libm::sincosf(FRAC_PI_2 * count(k) / count(quarter));
            profile.push(Turned {
                r: shaft * s,
                z: tail + shaft * (1.0 - c),
                normal: [s, -c],
            });
        }
        profile.push(Turned {
            r: shaft,
            z: neck,
            normal: out,
        });
        profile.push(Turned {
            r: shaft,
            z: neck,
            normal: down,
        });
    } else {
        profile.push(Turned {
            r: 0.0,
            z: neck,
            normal: down,
        });
    }
    profile.push(Turned {
        r: head,
        z: neck,
        normal: down,
    });
    profile.push(Turned {
        r: head,
        z: neck,
        normal: slope,
    });
    profile.push(Turned {
        r: 0.0,
        z: tip,
        normal: slope,
    });
    profile
}

/// An arrow from the origin to (0, 0, `length`): a round shaft of radius `shaft`, a cone of radius `head` and length
/// `head_length`.
#[must_use]
pub fn arrow(length: f32, shaft: f32, head: f32, head_length: f32) -> Shape {
    revolve(
        &arrow_profile(0.0, length, shaft, head, head_length.min(length)),
        28,
    )
}

/// A round bar of radius `tube` bent to a circle of `radius` about the z axis in the plane z = 0.
///
/// It starts at angle `start_rad` from +x and runs `sweep_rad` towards +y (negative: the other way); a sweep of a
/// whole turn closes it, else its ends are round.
#[must_use]
pub fn ring(radius: f32, tube: f32, start_rad: f32, sweep_rad: f32) -> Shape {
    let whole = sweep_rad.abs() >= TAU - 1e-4;
    let sweep = if whole { TAU } else { sweep_rad };
    let around = 14;
    let mut shape = Shape::default();
    let mut rows: Vec<Vec<u32>> = Vec::new();
    // One row is a circle of the bar: at an angle along the bend, pushed on by `ahead`, shrunk to `share`.
    let mut row = |shape: &mut Shape, angle: f32, ahead: f32, share: f32, lean: f32| {
        let (s, c) = libm::sincosf(angle);
        let (outward, forward) = (Vec3::new(c, s, 0.0), Vec3::new(-s, c, 0.0));
        let middle = outward * radius + forward * ahead;
        let numbers = (0..=around)
            .map(|k| {
                let (ts, tc) = libm::sincosf(TAU * count(k % around) / count(around));
                let side = outward * tc + Vec3::Z * ts;
                let normal = (side * share + forward * lean).normalize_or(forward);
                shape.push(middle + side * (tube * share), normal)
            })
            .collect();
        rows.push(numbers);
    };
    let steps = 72;
    let sense = if sweep < 0.0 { -1.0 } else { 1.0 };
    let cap = 4;
    if !whole {
        for k in 0..cap {
            let (s, c) = libm::sincosf(FRAC_PI_2 * count(k) / count(cap));
            row(&mut shape, start_rad, -sense * tube * c, s, -sense * c);
        }
    }
    for k in 0..=steps {
        row(
            &mut shape,
            start_rad + sweep * count(k) / count(steps),
            0.0,
            1.0,
            0.0,
        );
    }
    if !whole {
        for k in (0..cap).rev() {
            let (s, c) = libm::sincosf(FRAC_PI_2 * count(k) / count(cap));
            row(
                &mut shape,
                start_rad + sweep,
                sense * tube * c,
                s,
                sense * c,
            );
        }
    }
    for pair in rows.windows(2) {
        for k in 0..around {
            let (a, b, c, d) = (pair[0][k], pair[0][k + 1], pair[1][k + 1], pair[1][k]);
            if sense > 0.0 {
                shape.quad(a, d, c, b);
            } else {
                shape.quad(a, b, c, d);
            }
        }
    }
    shape
}

/// A [`ring`] that ends in an arrow head, to show a turn about the z axis.
///
/// `sweep_rad` includes the head; positive turns from +x towards +y.
#[must_use]
pub fn turn_arrow(radius: f32, tube: f32, start_rad: f32, sweep_rad: f32) -> Shape {
    let sense = if sweep_rad < 0.0 { -1.0 } else { 1.0 };
    let (head, head_length) = (2.6 * tube, 6.0 * tube);
    let taken = (head_length / radius.max(1e-3)).min(0.8 * sweep_rad.abs());
    let neck = start_rad + sweep_rad - sense * taken;
    let mut shape = ring(radius, tube, start_rad, sweep_rad - sense * taken);
    let (s, c) = libm::sincosf(neck);
    let (outward, forward) = (Vec3::new(c, s, 0.0), Vec3::new(-s, c, 0.0) * sense);
    // The chord of the head leans inward by half its angle, so that tip and neck both sit on the circle.
    let (ls, lc) = libm::sincosf(0.5 * taken);
    let along = forward * lc - outward * ls;
    let side = outward * lc + forward * ls;
    let place = Mat4::from_cols(
        side.extend(0.0),
        along.cross(side).extend(0.0),
        along.extend(0.0),
        (outward * radius).extend(1.0),
    );
    shape.append(
        &revolve(
            &arrow_profile(0.0, head_length, tube, head, head_length),
            28,
        ),
        place,
    );
    shape
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shapes::checks::{bounds, check_sound, is_closed, volume};

    #[test]
    fn check_solids_are_closed_and_outward() {
        let half = Vec3::new(100.0, 40.0, 6.0);
        let quarter = FRAC_PI_2;
        // (name, shape, exact volume of the smooth solid or none)
        let pi = core::f32::consts::PI;
        let cases = [
            (
                "sharp box",
                rounded_box(half, 0.0, 3),
                Some(8.0 * 100.0 * 40.0 * 6.0),
            ),
            ("rounded box", rounded_box(half, 5.0, 8), None),
            ("ball", ball(10.0, 12), Some(4.0 / 3.0 * pi * 1000.0)),
            ("arrow", arrow(40.0, 2.0, 5.0, 12.0), None),
            (
                "arrow that is all head",
                arrow(10.0, 2.0, 5.0, 12.0),
                Some(pi * 25.0 * 10.0 / 3.0),
            ),
            (
                "whole ring",
                ring(30.0, 3.0, 0.4, TAU),
                Some(2.0 * pi * pi * 30.0 * 9.0),
            ),
            (
                "arc",
                ring(30.0, 3.0, 0.4, quarter),
                Some(0.5 * pi * pi * 30.0 * 9.0 + 4.0 / 3.0 * pi * 27.0),
            ),
            (
                "arc the other way",
                ring(30.0, 3.0, 0.4, -quarter),
                Some(0.5 * pi * pi * 30.0 * 9.0 + 4.0 / 3.0 * pi * 27.0),
            ),
            ("turn arrow", turn_arrow(30.0, 1.5, 0.0, 2.0), None),
            (
                "turn arrow the other way",
                turn_arrow(30.0, 1.5, 0.0, -2.0),
                None,
            ),
        ];
        for (name, shape, exact) in cases {
            check_sound(name, &shape);
            assert!(is_closed(&shape), "{name} is closed");
            let v = volume(&shape);
            assert!(v > 0.0, "{name} is the right way out");
            if let Some(exact) = exact {
                // Facets lie inside the round solid: a few per cent at 14 to 28 sides.
                assert!(
                    v > 0.95 * exact && v < 1.005 * exact,
                    "{name}: {v} against {exact}"
                );
            }
        }
    }

    #[test]
    fn check_rounded_box_fills_its_bounds() {
        let half = Vec3::new(100.0, 40.0, 6.0);
        let (lo, hi) = bounds(&rounded_box(half, 50.0, 4));
        assert!(
            (hi - half).length() < 1e-3 && (lo + half).length() < 1e-3,
            "from {lo} to {hi}"
        );
    }

    #[test]
    fn check_arrows_point_where_they_say() {
        let (lo, hi) = bounds(&arrow(40.0, 2.0, 5.0, 12.0));
        assert!(
            lo.z.abs() < 1e-5 && (hi.z - 40.0).abs() < 1e-5,
            "from the origin to the tip along +z"
        );
        for sweep in [1.0_f32, 2.5, -1.0, -2.5] {
            let shape = turn_arrow(30.0, 1.5, 0.3, sweep);
            let tip = Vec3::new(libm::cosf(0.3 + sweep), libm::sinf(0.3 + sweep), 0.0) * 30.0;
            let nearest = shape
                .positions
                .iter()
                .map(|p| Vec3::from_array(*p).distance(tip))
                .fold(f32::MAX, f32::min);
            assert!(
                nearest < 0.6,
                "sweep {sweep}: the tip is {nearest} away from the end of the arc"
            );
        }
    }
}
