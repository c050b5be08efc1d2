//! Where a mesh passes through itself: pairs of triangles that cut each other elsewhere than in a common corner or side.

use crate::marching::TriMesh;
use crate::triple::{self as t, Triple};

/// The box of every triangle, and whether its crossings are asked for.
type Asked<'a> = (&'a [[Triple; 2]], &'a [bool]);

/// Pairs of triangles that cut each other elsewhere than in a common corner or side.
#[must_use]
pub fn self_crossings(mesh: &TriMesh) -> Vec<(usize, usize)> {
    crossings(mesh, &vec![true; mesh.triangles.len()])
}

/// The same, of pairs with at least one triangle that `asked` holds.
pub(crate) fn crossings(mesh: &TriMesh, asked: &[bool]) -> Vec<(usize, usize)> {
    let boxes: Vec<[Triple; 2]> = mesh
        .triangles
        .iter()
        .map(|tri| {
            let c = tri.map(|v| mesh.positions[v as usize]);
            [
                std::array::from_fn(|k| c[0][k].min(c[1][k]).min(c[2][k])),
                std::array::from_fn(|k| c[0][k].max(c[1][k]).max(c[2][k])),
            ]
        })
        .collect();
    let mut all: Vec<usize> = (0..boxes.len()).collect();
    let mut pairs = Vec::new();
    within(&mut all, (&boxes, asked), &mut pairs);
    pairs
        .into_iter()
        .filter(|&(i, j)| {
            let (a, b) = (mesh.triangles[i], mesh.triangles[j]);
            let (p, q) = (
                a.map(|v| mesh.positions[v as usize]),
                b.map(|v| mesh.positions[v as usize]),
            );
            // Of two triangles with a common corner only the sides opposite to it can cut; two with a common side meet
            // in it alone unless they are flat on each other.
            match a.iter().filter(|v| b.contains(v)).count() {
                0 => (0..3)
                    .any(|k| pierces(p[k], p[(k + 1) % 3], q) || pierces(q[k], q[(k + 1) % 3], p)),
                1 => (0..3).any(|k| {
                    let (k1, k2) = ((k + 1) % 3, (k + 2) % 3);
                    (b.contains(&a[k]) && pierces(p[k1], p[k2], q))
                        || (a.contains(&b[k]) && pierces(q[k1], q[k2], p))
                }),
                _ => false,
            }
        })
        .collect()
}

/// Pairs of touching boxes within a group: halved along its longest side, the straddling ones tested against both halves.
fn within(group: &mut [usize], of: Asked<'_>, pairs: &mut Vec<(usize, usize)>) {
    let (boxes, asked) = of;
    if !group.iter().any(|&i| asked[i]) {
        return;
    }
    if group.len() <= 24 {
        for (n, &i) in group.iter().enumerate() {
            for &j in &group[n + 1..] {
                if (asked[i] || asked[j]) && touch(&boxes[i], &boxes[j]) {
                    pairs.push((i, j));
                }
            }
        }
        return;
    }
    let hull = hull(group, boxes);
    let axis = (0..3)
        .max_by(|&a, &b| (hull[1][a] - hull[0][a]).total_cmp(&(hull[1][b] - hull[0][b])))
        .unwrap_or(0);
    let half = group.len() / 2;
    group.select_nth_unstable_by(half, |&a, &b| {
        (boxes[a][0][axis] + boxes[a][1][axis])
            .total_cmp(&(boxes[b][0][axis] + boxes[b][1][axis]))
            .then(a.cmp(&b))
    });
    let (low, high) = group.split_at_mut(half);
    across(low, high, of, pairs);
    within(low, of, pairs);
    within(high, of, pairs);
}

/// Pairs of touching boxes of two groups.
fn across(a: &[usize], b: &[usize], of: Asked<'_>, pairs: &mut Vec<(usize, usize)>) {
    let (boxes, asked) = of;
    if !a.iter().chain(b).any(|&i| asked[i]) {
        return;
    }
    let (in_a, in_b) = (hull(a, boxes), hull(b, boxes));
    let a: Vec<usize> = a
        .iter()
        .copied()
        .filter(|&i| touch(&boxes[i], &in_b))
        .collect();
    let b: Vec<usize> = b
        .iter()
        .copied()
        .filter(|&j| touch(&boxes[j], &in_a))
        .collect();
    if a.is_empty() || b.is_empty() {
        return;
    }
    if a.len() + b.len() <= 64 {
        for &i in &a {
            for &j in &b {
                if (asked[i] || asked[j]) && touch(&boxes[i], &boxes[j]) {
                    pairs.push((i.min(j), i.max(j)));
                }
            }
        }
        return;
    }
    let (long, short) = if a.len() >= b.len() { (a, b) } else { (b, a) };
    let hull = hull(&long, boxes);
    let axis = (0..3)
        .max_by(|&a, &b| (hull[1][a] - hull[0][a]).total_cmp(&(hull[1][b] - hull[0][b])))
        .unwrap_or(0);
    let mut long = long;
    let half = long.len() / 2;
    long.select_nth_unstable_by(half, |&a, &b| {
        boxes[a][0][axis]
            .total_cmp(&boxes[b][0][axis])
            .then(a.cmp(&b))
    });
    across(&long[..half], &short, of, pairs);
    across(&long[half..], &short, of, pairs);
}

fn hull(group: &[usize], boxes: &[[Triple; 2]]) -> [Triple; 2] {
    group
        .iter()
        .fold([[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]], |h, &i| {
            [
                std::array::from_fn(|k| h[0][k].min(boxes[i][0][k])),
                std::array::from_fn(|k| h[1][k].max(boxes[i][1][k])),
            ]
        })
}

fn touch(a: &[Triple; 2], b: &[Triple; 2]) -> bool {
    (0..3).all(|k| a[0][k] <= b[1][k] && b[0][k] <= a[1][k])
}

/// Whether the stretch from `a` to `b` passes through the inside of a triangle: by the signs of five tetrahedra.
fn pierces(a: Triple, b: Triple, tri: [Triple; 3]) -> bool {
    let volume = |p: Triple, q: Triple, r: Triple, s: Triple| {
        t::dot(t::cross(t::sub(q, p), t::sub(r, p)), t::sub(s, p))
    };
    let (from, to) = (
        volume(tri[0], tri[1], tri[2], a),
        volume(tri[0], tri[1], tri[2], b),
    );
    if from * to >= 0.0 {
        return false;
    }
    let sides: [f64; 3] = std::array::from_fn(|k| volume(a, b, tri[k], tri[(k + 1) % 3]));
    sides.iter().all(|&s| s > 0.0) || sides.iter().all(|&s| s < 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_balls_pushed_into_each_other_cross() {
        let ball = crate::marching::octahedron(1.0);
        let moved = |x: f64| {
            ball.positions
                .iter()
                .map(move |c| [c[0] + x, c[1] + 0.01 * x, c[2] + 0.02 * x])
        };
        let two = |apart: f64| TriMesh {
            positions: moved(0.0).chain(moved(apart)).collect(),
            triangles: ball
                .triangles
                .iter()
                .copied()
                .chain(ball.triangles.iter().map(|f| f.map(|v| v + 6)))
                .collect(),
        };
        assert_eq!(self_crossings(&two(2.5)), [], "apart");
        assert!(!self_crossings(&two(1.0)).is_empty(), "one in the other");
    }
}
