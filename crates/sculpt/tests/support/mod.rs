//! Measuring on the exact distances: what the acceptance tables ask for.

#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "each test file uses its own share; counts of grid points are small and positive"
)]

use sculpt::model::Model;
use sculpt::triple::{self as t, Bounds, Triple};
use std::path::PathBuf;
use std::sync::OnceLock;

/// The project's own body descriptions.
pub(crate) fn models_dir() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../models")
}

/// The model of a body, loaded once.
pub(crate) fn model(body: &str) -> &'static Model {
    static WOMAN: OnceLock<Model> = OnceLock::new();
    static MAN: OnceLock<Model> = OnceLock::new();
    static INFANT: OnceLock<Model> = OnceLock::new();
    let slot = match body {
        "adult_female" => &WOMAN,
        "adult_male" => &MAN,
        _ => &INFANT,
    };
    slot.get_or_init(|| Model::load(&models_dir(), body).unwrap())
}

/// Index of a structure that must be there.
pub(crate) fn index(model: &Model, id: &str) -> usize {
    model
        .find(id)
        .unwrap_or_else(|| panic!("{} has no {id}", model.id))
}

/// Points of a grid of the given step (mm) over a box.
pub(crate) fn grid(b: Bounds, step: f64) -> impl Iterator<Item = Triple> {
    let n = b.size().map(|s| (s / step).ceil().max(1.0) as usize);
    (0..n[0] * n[1] * n[2]).map(move |i| {
        let at = [i % n[0], i / n[0] % n[1], i / n[0] / n[1]];
        std::array::from_fn(|k| b.lo[k] + (at[k] as f64 + 0.5) * step)
    })
}

/// Volume (mL) of the points of a box for which `inside` holds, on a grid.
pub(crate) fn volume_ml(b: Bounds, step: f64, inside: impl Fn(Triple) -> bool) -> f64 {
    grid(b, step).filter(|&p| inside(p)).count() as f64 * (step * step * step) / 1000.0
}

/// What a structure shows in a transverse plane: centre, extent and area.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Section {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) x_range: [f64; 2],
    pub(crate) y_range: [f64; 2],
    pub(crate) area: f64,
}

impl Section {
    /// Diameter of the circle of the same area, mm.
    pub(crate) fn calibre(&self) -> f64 {
        2.0 * (self.area / std::f64::consts::PI).sqrt()
    }
    pub(crate) fn width(&self) -> f64 {
        self.x_range[1] - self.x_range[0]
    }
    pub(crate) fn depth(&self) -> f64 {
        self.y_range[1] - self.y_range[0]
    }
}

/// Section of a structure's solid with the plane z, `None` where it does not reach.
pub(crate) fn section(model: &Model, id: &str, z: f64) -> Option<Section> {
    const STEP: f64 = 0.5;
    let i = index(model, id);
    let b = model.structures[i].solid.bounds;
    let flat = Bounds {
        lo: [b.lo[0], b.lo[1], z],
        hi: [b.hi[0], b.hi[1], z + STEP],
    };
    let mut s = Section {
        x: 0.0,
        y: 0.0,
        x_range: [f64::INFINITY, f64::NEG_INFINITY],
        y_range: [f64::INFINITY, f64::NEG_INFINITY],
        area: 0.0,
    };
    let mut n = 0.0;
    for p in grid(flat, STEP) {
        if model.value(i, [p[0], p[1], z]) < 0.0 {
            n += 1.0;
            s.x += p[0];
            s.y += p[1];
            s.x_range = [s.x_range[0].min(p[0]), s.x_range[1].max(p[0])];
            s.y_range = [s.y_range[0].min(p[1]), s.y_range[1].max(p[1])];
        }
    }
    (n > 0.0).then(|| Section {
        x: s.x / n,
        y: s.y / n,
        area: n * STEP * STEP,
        ..s
    })
}

/// Least distance between two structures over the surface of the first, mm: value of the second on near-surface points
/// of the first.
pub(crate) fn gap(model: &Model, a: &str, b: &str) -> f64 {
    let (i, k) = (index(model, a), index(model, b));
    let near = model.structures[k].solid.bounds.grown(30.0);
    let over = model.structures[i].solid.bounds.intersection(near);
    grid(over, 1.0)
        .filter(|&p| model.value(i, p) < 0.0)
        .map(|p| model.value(k, p))
        .fold(f64::INFINITY, f64::min)
}

/// Girth of the skin in the plane z: length of the convex outline of the part that holds the point nearest `at` (a tape
/// bridges hollows), and its breadth and depth, mm. `value` is the skin or one of its parts.
pub(crate) fn girth(value: impl Fn(Triple) -> f64, z: f64, at: [f64; 2], reach: f64) -> [f64; 3] {
    const STEP: f64 = 1.5;
    let n = (2.0 * reach / STEP) as usize;
    let place = |i: usize, k: usize| {
        [
            at[0] - reach + i as f64 * STEP,
            at[1] - reach + k as f64 * STEP,
        ]
    };
    let inside = |i: usize, k: usize| {
        let [x, y] = place(i, k);
        value([x, y, z]) < 0.0
    };
    let mut seen = vec![false; n * n];
    let mut stack = vec![(n / 2, n / 2)];
    let mut points: Vec<[f64; 2]> = Vec::new();
    while let Some((i, k)) = stack.pop() {
        if i >= n || k >= n || seen[i * n + k] {
            continue;
        }
        seen[i * n + k] = true;
        if !inside(i, k) {
            continue;
        }
        points.push(place(i, k));
        stack.extend([
            (i + 1, k),
            (i.wrapping_sub(1), k),
            (i, k + 1),
            (i, k.wrapping_sub(1)),
        ]);
    }
    assert!(!points.is_empty(), "no skin at {at:?}, z {z}");
    let hull = convex_hull(points.clone());
    let length = (0..hull.len())
        .map(|i| {
            let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
            libm::hypot(a[0] - b[0], a[1] - b[1])
        })
        .sum::<f64>();
    let extent = |k: usize| {
        let lo = points.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min);
        let hi = points
            .iter()
            .map(|p| p[k])
            .fold(f64::NEG_INFINITY, f64::max);
        hi - lo + STEP
    };
    // Inside points lie half a step within the outline on average.
    [length + std::f64::consts::PI * STEP, extent(0), extent(1)]
}

fn convex_hull(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let half = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice() {
                if (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut points.iter().copied());
    hull.extend(half(&mut points.iter().rev().copied()));
    hull
}

/// Calibre of a tube across its centre line at a share of its length (0-1): diameter of the circle of the same area in the
/// plane across the line there, out to `wall` mm beyond the inside, mm.
pub(crate) fn calibre_across(model: &Model, id: &str, share: f64, wall: f64) -> f64 {
    const RAYS: i32 = 48;
    const REACH: f64 = 25.0;
    let i = index(model, id);
    let line = &model.structures[i].centreline;
    let length: f64 = line.windows(2).map(|w| t::length(t::sub(w[1], w[0]))).sum();
    let mut left = share * length;
    let mut piece = [line[0], line[1]];
    for w in line.windows(2) {
        piece = [w[0], w[1]];
        let step = t::length(t::sub(w[1], w[0]));
        if left <= step {
            break;
        }
        left -= step;
    }
    let along = t::unit(t::sub(piece[1], piece[0])).unwrap();
    let middle = t::add(piece[0], t::scale(along, left));
    let u = t::any_perpendicular(along);
    let v = t::cross(along, u);
    let area: f64 = (0..RAYS)
        .map(|k| {
            let angle = std::f64::consts::TAU * f64::from(k) / f64::from(RAYS);
            let ray = t::add(t::scale(u, libm::cos(angle)), t::scale(v, libm::sin(angle)));
            let (mut lo, mut hi) = (0.0, REACH);
            for _ in 0..30 {
                let mid = (lo + hi) / 2.0;
                if model.value(i, t::add(middle, t::scale(ray, mid))) < wall {
                    lo = mid;
                } else {
                    hi = mid;
                }
            }
            std::f64::consts::PI * lo * lo / f64::from(RAYS)
        })
        .sum();
    2.0 * (area / std::f64::consts::PI).sqrt()
}

/// Direction in which a structure is longest: first principal direction of its inside.
pub(crate) fn principal(model: &Model, i: usize) -> Triple {
    let bounds = model.structures[i].solid.bounds;
    let size = bounds.size();
    let step = libm::cbrt(size[0] * size[1] * size[2] / 40_000.0);
    let inside: Vec<Triple> = grid(bounds, step)
        .filter(|&p| model.value(i, p) < 0.0)
        .collect();
    let sum = inside.iter().fold([0.0; 3], |a, p| t::add(a, *p));
    let centre = t::scale(sum, 1.0 / inside.len() as f64);
    let mut spread = [[0.0; 3]; 3];
    for p in &inside {
        let d = t::sub(*p, centre);
        for a in 0..3 {
            for b in 0..3 {
                spread[a][b] += d[a] * d[b];
            }
        }
    }
    // Power iteration from a start that no organ is exactly perpendicular to.
    let mut axis = [0.267, 0.535, 0.802];
    for _ in 0..200 {
        axis = t::unit(t::apply(&spread, axis)).unwrap();
    }
    axis
}
