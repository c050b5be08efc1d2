//! Sections painted from the meshes against the exact formulas, on seeded planes.

use crate::exact_raster::{ExactRaster, Raster};
use crate::painted::{self, Meshes};
use sculpt::exact::Label;
use sculpt::model::Model;
use sculpt::triple::{self as t, Triple};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Pixel pitch, mm, and pixels to a side: a field of 160 mm, as wide as the pictures are.
const PITCH: f64 = 0.5;
const SIDE: usize = 320;

/// Distances at which the painted label is looked for round a wrong pixel, mm.
const RINGS: [f64; 9] = [0.15, 0.3, 0.5, 0.7, 0.85, 1.0, 1.5, 2.0, 3.0];
/// Farthest a boundary may be off, mm.
pub(crate) const FARTHEST: f64 = 1.0;

/// One in so many pixels is labelled by the plain labeller too.
const CHECKED: usize = 997;

/// What was found on some planes.
#[derive(Debug, Default)]
pub(crate) struct Found {
    /// Pixels of the body.
    pub(crate) pixels: usize,
    /// Of these, with another label than the exact one.
    pub(crate) wrong: usize,
    /// Of the wrong ones, farther than [`FARTHEST`] in space from where the painted label is right.
    pub(crate) beyond: usize,
    /// Pixels whose exact label is painted nowhere within [`FARTHEST`] in space: thin rims that are lost.
    pub(crate) lost: usize,
    /// Wrong pixels with nothing but their exact label within [`FARTHEST`] in space: there a painted boundary is farther than
    /// that from every true one.
    pub(crate) deep: usize,
    /// Pixels where labelling by squares and plain labelling disagree.
    pub(crate) by_squares: usize,
    /// Wrong pixels by the ring they are off.
    pub(crate) rings: [usize; RINGS.len() + 1],
    /// Wrong, beyond and lost pixels by exact and painted label.
    pub(crate) pairs: BTreeMap<(Label, Label), [usize; 3]>,
    /// A place of each pair that is beyond or lost, mm: the first along x.
    pub(crate) places: BTreeMap<(Label, Label), Triple>,
}

impl Found {
    fn add(&mut self, other: &Self) {
        self.pixels += other.pixels;
        self.wrong += other.wrong;
        self.beyond += other.beyond;
        self.lost += other.lost;
        self.deep += other.deep;
        self.by_squares += other.by_squares;
        for (a, b) in self.rings.iter_mut().zip(other.rings) {
            *a += b;
        }
        for (pair, counts) in &other.pairs {
            let own = self.pairs.entry(*pair).or_default();
            for (a, b) in own.iter_mut().zip(counts) {
                *a += b;
            }
        }
        for (pair, place) in &other.places {
            self.note(*pair, *place);
        }
    }

    fn note(&mut self, pair: (Label, Label), place: Triple) {
        let known = self.places.entry(pair).or_insert(place);
        if place[0] < known[0] {
            *known = place;
        }
    }

    /// Share of pixels with the exact label.
    pub(crate) fn same(&self) -> f64 {
        1.0 - self.wrong as f64 / self.pixels as f64
    }

    /// What was measured, in words, with the pairs of labels that count most.
    pub(crate) fn words(&self, m: &Model) -> String {
        let name = |label: Label| match label {
            Label::Solid(i) | Label::Wall(i) => m.structures[i].id.clone(),
            other => format!("{other:?}"),
        };
        let mut pairs: Vec<_> = self.pairs.iter().collect();
        let mut top = |by: usize| {
            pairs.sort_by_key(|(pair, n)| (std::cmp::Reverse(n[by]), **pair));
            pairs
                .iter()
                .filter(|(_, n)| n[by] > 0)
                .take(12)
                .map(|(pair, n)| {
                    let (exact, painted) = (name(pair.0), name(pair.1));
                    match self.places.get(pair).filter(|_| by > 0) {
                        Some(at) => format!("{exact} as {painted} {} at {at:.0?}", n[by]),
                        None => format!("{exact} as {painted} {}", n[by]),
                    }
                })
                .collect::<Vec<_>>()
                .join(", ")
        };
        let within: Vec<String> = RINGS
            .iter()
            .scan(0, |sum, _| {
                *sum += 1;
                Some(*sum)
            })
            .map(|n| {
                let inside: usize = self.rings[..n].iter().sum();
                format!(
                    "{} mm {:.2} %",
                    RINGS[n - 1],
                    100.0 * inside as f64 / self.wrong as f64
                )
            })
            .collect();
        format!(
            "{}: {} pixels, {:.3} % the same, {} pixels beyond {FARTHEST} mm, {} lost, {} deep\n  wrong ones within {}\n  most wrong: {}\n  beyond: {}\n  lost: {}",
            m.id,
            self.pixels,
            100.0 * self.same(),
            self.beyond,
            self.lost,
            self.deep,
            within.join(", "),
            top(0),
            top(1),
            top(2),
        )
    }
}

/// Deterministic numbers in 0..1 (Knuth's MMIX constants).
struct Seeded(u64);

impl Seeded {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Planes through points spread evenly over the inside of the body: in turn sagittal, coronal, transverse and oblique.
fn planes(m: &Model, count: usize) -> Vec<Raster> {
    let mut random = Seeded(2026);
    let box_ = m.structures[m.skin].solid.bounds;
    (0..count)
        .map(|plane| {
            let centre: Triple = loop {
                let p =
                    std::array::from_fn(|k| box_.lo[k] + random.next() * (box_.hi[k] - box_.lo[k]));
                if m.value(m.skin, p) < 0.0 {
                    break p;
                }
            };
            let normal = match plane % 4 {
                0 => [1.0, 0.0, 0.0],
                1 => [0.0, 1.0, 0.0],
                2 => [0.0, 0.0, 1.0],
                _ => loop {
                    let n: Triple = std::array::from_fn(|_| 2.0 * random.next() - 1.0);
                    // From the ball, so that every direction is as likely.
                    if t::dot(n, n) <= 1.0
                        && let Some(n) = t::unit(n)
                    {
                        break n;
                    }
                },
            };
            let u = t::any_perpendicular(normal);
            let v = t::cross(normal, u);
            let half = SIDE as f64 * PITCH / 2.0;
            let origin = t::sub(centre, t::add(t::scale(u, half), t::scale(v, half)));
            Raster {
                origin,
                u,
                v,
                side: SIDE,
                pitch: PITCH,
            }
        })
        .collect()
}

/// Compares `count` planes of a body, on two threads.
pub(crate) fn compare(m: &Model, meshes: &Meshes, count: usize) -> Found {
    let planes = planes(m, count);
    let exact = ExactRaster::new(m);
    let next = AtomicUsize::new(0);
    let mut all = Found::default();
    std::thread::scope(|scope| {
        let work = || {
            let mut own = Found::default();
            while let Some(raster) = planes.get(next.fetch_add(1, Ordering::Relaxed)) {
                own.add(&compare_plane(&exact, raster, &|raster| {
                    painted::labels(m, meshes, raster)
                }));
            }
            own
        };
        let workers = [scope.spawn(work), scope.spawn(work)];
        for worker in workers {
            all.add(&worker.join().unwrap());
        }
    });
    all
}

fn compare_plane(
    exact: &ExactRaster<'_>,
    raster: &Raster,
    paint: &dyn Fn(&Raster) -> Vec<Label>,
) -> Found {
    let mut found = Found::default();
    let (painted, truth) = (paint(raster), exact.labels(raster));
    // Wrong pixels whose label is not painted near in the plane.
    let mut missing = Vec::new();
    for at in 0..truth.len() {
        let (column, row) = (at % SIDE, at / SIDE);
        let p = raster.point(column as f64, row as f64);
        if at % CHECKED == 0 {
            found.by_squares += usize::from(exact.label(p) != truth[at]);
        }
        if painted[at] == Label::Outside && truth[at] == Label::Outside {
            continue;
        }
        found.pixels += 1;
        let (is, should) = (part(painted[at]), part(truth[at]));
        if is == should {
            continue;
        }
        found.wrong += 1;
        let off = RINGS
            .iter()
            .position(|&r| near(exact, p, r, is))
            .unwrap_or(RINGS.len());
        found.rings[off] += 1;
        let beyond = RINGS.get(off).is_none_or(|&r| r > FARTHEST)
            && !around(exact, p).any(|label| part(label) == is);
        let deep = beyond && around(exact, p).all(|label| label == truth[at]);
        found.deep += usize::from(deep);
        found.beyond += usize::from(beyond);
        let counts = found.pairs.entry((should, is)).or_default();
        counts[0] += 1;
        counts[1] += usize::from(beyond);
        if beyond {
            found.note((should, is), p);
        }
        if !shown(&painted, at, should, FARTHEST) {
            missing.push((at, should, is, p));
        }
    }
    // A plane that grazes a surface shows nothing of it when the surface is off by a hair, so planes beside count too.
    for beside in [-0.9, 0.9, -0.5, 0.5, -0.2, 0.2, -0.7, 0.7] {
        if missing.is_empty() {
            break;
        }
        let off = beside * FARTHEST;
        let painted = paint(&Raster {
            origin: t::add(raster.origin, t::scale(t::cross(raster.u, raster.v), off)),
            ..*raster
        });
        let reach = (FARTHEST * FARTHEST - off * off).sqrt();
        missing.retain(|&(at, should, ..)| !shown(&painted, at, should, reach));
    }
    for (_, should, is, p) in missing {
        found.lost += 1;
        found.pairs.entry((should, is)).or_default()[2] += 1;
        found.note((should, is), p);
    }
    found
}

/// Whether a label is painted within `mm` of the place `at` of a raster.
fn shown(painted: &[Label], at: usize, label: Label, mm: f64) -> bool {
    let (column, row) = (at % SIDE, at / SIDE);
    let reach = (mm / PITCH).ceil() as usize;
    let rows = row.saturating_sub(reach)..(row + reach + 1).min(SIDE);
    rows.into_iter().any(|y| {
        (column.saturating_sub(reach)..(column + reach + 1).min(SIDE)).any(|x| {
            let (dx, dy) = (x.abs_diff(column) as f64, y.abs_diff(row) as f64);
            libm::hypot(dx, dy) * PITCH <= mm && part(painted[y * SIDE + x]) == label
        })
    })
}

/// Whether the exact label `label` occurs at `mm` from `p`, in space: where a plane grazes a surface, how far the boundary
/// moves in the picture is bounded by no mesh.
fn near(exact: &ExactRaster<'_>, p: Triple, mm: f64, label: Label) -> bool {
    (0..27).filter(|&i| i != 13).any(|i| {
        let d = [i % 3, i / 3 % 3, i / 9].map(|k| f64::from(k) - 1.0);
        let d = t::scale(d, mm / t::length(d));
        part(exact.label(t::add(p, d))) == label
    })
}

/// The exact labels at points spread evenly through the ball of [`FARTHEST`] mm round `p`: what [`near`] may have missed.
fn around<'a>(exact: &'a ExactRaster<'_>, p: Triple) -> impl Iterator<Item = Label> + 'a {
    /// Directions, on the spiral of the golden angle: 9 degrees apart.
    const DIRECTIONS: usize = 500;
    const SHELLS: usize = 10;
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    (0..SHELLS * DIRECTIONS).map(move |i| {
        let (shell, k) = ((i / DIRECTIONS) as f64 + 1.0, (i % DIRECTIONS) as f64);
        let z = 1.0 - (2.0 * k + 1.0) / DIRECTIONS as f64;
        let (r, turn) = ((1.0 - z * z).sqrt(), golden * k);
        let d = [r * libm::cos(turn), r * libm::sin(turn), z];
        let mm = FARTHEST * shell / SHELLS as f64;
        exact.label(t::add(p, t::scale(d, mm)))
    })
}

/// A structure with its wall counts as one; the layers are told apart.
fn part(label: Label) -> Label {
    match label {
        Label::Wall(i) => Label::Solid(i),
        other => other,
    }
}
