//! The baked bodies: closed meshes, and sections painted from them against the exact formulas.

#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test stops at the first thing that is wrong and says what it measured; its counts are small"
)]

mod support;

use sculpt::exact::{Label, Labeller};
use sculpt::layers::{SurfaceKind, surfaces};
use sculpt::manifold;
use sculpt::marching::TriMesh;
use sculpt::model::Model;
use sculpt::surface_mesh::SurfaceMesh;
use sculpt::triple::{self as t, Triple};
use std::collections::BTreeMap;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use support::{model, models_dir};

/// Parts of a structure that its description makes of several pieces; all others are one.
const PIECES: &[(&str, usize)] = &[
    // The lower jaw is a bone of its own.
    ("skull", 2),
    ("intervertebral_discs", 23),
    ("arch_branches", 2),
    ("left_renal_pyramids", 12),
    ("right_renal_pyramids", 12),
    ("left_ovarian_follicles", 3),
    ("right_ovarian_follicles", 3),
    ("left_forearm_bones", 2),
    ("right_forearm_bones", 2),
    ("left_costal_cartilages", 8),
    ("right_costal_cartilages", 8),
    ("pulmonary_veins", 4),
    ("papillary_muscles", 2),
    ("mitral_valve", 2),
    ("left_foot_bones", 4),
    ("right_foot_bones", 4),
];

/// How far 99 of 100 samples may lie from the surface, in tolerances.
const WITHIN: f64 = 2.0;
/// Thin sheets that end in a knife-edge, and loops that touch: their rims are lost, up to this many mm.
const KNIFE_EDGES: f64 = 2.5;
const KNIFE_EDGED: &[&str] = &[
    "skin/muscle",
    "skin/dermis",
    "breast_tissue",
    "small_bowel_loops",
    "larynx",
    "scapula",
    "hip_bone",
    "skull",
];

type Meshes = Vec<(SurfaceKind, SurfaceMesh)>;

/// All surfaces of the woman and of the infant's head, meshed once on both cores as a bake does it.
fn meshes(body: &str) -> &'static Meshes {
    static WOMAN: OnceLock<Meshes> = OnceLock::new();
    static INFANT: OnceLock<Meshes> = OnceLock::new();
    let slot = if body == "adult_female" {
        &WOMAN
    } else {
        &INFANT
    };
    slot.get_or_init(|| {
        let m = model(body);
        let kinds = surfaces(m);
        let jobs = sculpt::jobs(m, &kinds);
        let next = AtomicUsize::new(0);
        let mut done: Meshes = std::thread::scope(|scope| {
            let work = || {
                let mut own = Vec::new();
                while let Some(job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                    own.extend(sculpt::mesh_job(m, job).unwrap());
                }
                own
            };
            let workers = [scope.spawn(work), scope.spawn(work)];
            workers
                .into_iter()
                .flat_map(|w| w.join().unwrap())
                .collect()
        });
        done.sort_by_key(|(kind, _)| kinds.iter().position(|k| k == kind));
        assert_eq!(done.len(), kinds.len(), "every surface is in one job");
        done
    })
}

#[test]
fn every_surface_is_closed_outward_and_in_one_piece() {
    let mut problems = Vec::new();
    for body in ["adult_female", "infant_head"] {
        let m = model(body);
        for (kind, s) in meshes(body) {
            let node = kind.node(m);
            if let Err(flaw) = manifold::check(&s.mesh) {
                problems.push(format!("{body} {node}: {flaw}"));
            }
            let allowed = sculpt::surface_mesh::tolerance(m, *kind);
            let limit = if KNIFE_EDGED.iter().any(|id| node.contains(id)) {
                KNIFE_EDGES
            } else {
                WITHIN * allowed
            };
            if s.error_99 > limit {
                problems.push(format!(
                    "{body} {node}: 99 of 100 samples within {:.2} mm, {allowed} allowed",
                    s.error_99
                ));
            }
            if s.volume <= 0.0 {
                problems.push(format!(
                    "{body} {node}: volume {} mm³, so it faces inward",
                    s.volume
                ));
            }
            let pieces = PIECES
                .iter()
                .find(|(id, _)| node.starts_with(id))
                .map_or(1, |(_, n)| *n);
            let outward = manifold::components(&s.mesh)
                .into_iter()
                .filter(|part| {
                    let triangles = part.iter().map(|&i| s.mesh.triangles[i]).collect();
                    manifold::volume(&TriMesh {
                        positions: s.mesh.positions.clone(),
                        triangles,
                    }) > 0.0
                })
                .count();
            if body == "adult_female" && outward > pieces {
                problems.push(format!("{body} {node}: {outward} pieces"));
            }
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

/// A raster of labels painted from meshes, as the program paints: ascending order, later paint replaces earlier.
struct Painted {
    origin: Triple,
    u: Triple,
    v: Triple,
    side: usize,
    labels: Vec<Label>,
}

/// Pixel pitch of the comparison, mm.
const PITCH: f64 = 1.0;

impl Painted {
    fn point(&self, i: usize, k: usize) -> Triple {
        let (x, y) = (i as f64 * PITCH, k as f64 * PITCH);
        t::add(
            self.origin,
            t::add(t::scale(self.u, x), t::scale(self.v, y)),
        )
    }

    fn paint(
        m: &Model,
        meshes: &Meshes,
        origin: Triple,
        u: Triple,
        v: Triple,
        side: usize,
    ) -> Self {
        let mut out = Self {
            origin,
            u,
            v,
            side,
            labels: vec![Label::Outside; side * side],
        };
        let normal = t::cross(u, v);
        // What each structure's solid covers, for walls that are open into it.
        let mut covers: BTreeMap<usize, Vec<bool>> = BTreeMap::new();
        for (kind, s) in meshes {
            if let SurfaceKind::Solid(i) = kind {
                covers.insert(*i, out.cover(&s.mesh, normal));
            }
        }
        for (kind, s) in meshes {
            let (label, cover, open_into): (Label, Vec<bool>, &[usize]) = match kind {
                SurfaceKind::Skin => (Label::Skin, out.cover(&s.mesh, normal), &[]),
                SurfaceKind::Dermis => (Label::Fat, out.cover(&s.mesh, normal), &[]),
                SurfaceKind::Muscle => (Label::Muscle, out.cover(&s.mesh, normal), &[]),
                SurfaceKind::Wall(i) => {
                    let open = m.structures[*i]
                        .wall
                        .as_ref()
                        .map_or(&[][..], |w| &w.open_into);
                    (Label::Wall(*i), out.cover(&s.mesh, normal), open)
                }
                SurfaceKind::Solid(i) => (Label::Solid(*i), covers[i].clone(), &[]),
            };
            for at in 0..cover.len() {
                let open = open_into
                    .iter()
                    .any(|o| covers.get(o).is_some_and(|c| c[at]));
                if cover[at] && !open && (label == Label::Skin || out.labels[at] != Label::Outside)
                {
                    out.labels[at] = label;
                }
            }
        }
        out
    }

    /// Pixels inside the mesh, by the crossings of each pixel row with the plane's cut.
    fn cover(&self, mesh: &TriMesh, normal: Triple) -> Vec<bool> {
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); self.side];
        let local: Vec<[f64; 3]> = mesh
            .positions
            .iter()
            .map(|&p| {
                let d = t::sub(p, self.origin);
                [
                    t::dot(d, self.u) / PITCH,
                    t::dot(d, self.v) / PITCH,
                    t::dot(d, normal),
                ]
            })
            .collect();
        for tri in &mesh.triangles {
            let c = tri.map(|v| local[v as usize]);
            let mut ends: Vec<[f64; 2]> = Vec::with_capacity(2);
            for k in 0..3 {
                let (a, b) = (c[k], c[(k + 1) % 3]);
                if (a[2] >= 0.0) != (b[2] >= 0.0) {
                    // The same arithmetic for both triangles of an edge, whichever way it runs.
                    let (a, b) = if a[2] < b[2] { (a, b) } else { (b, a) };
                    let s = a[2] / (a[2] - b[2]);
                    ends.push([a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])]);
                }
            }
            let [a, b] = ends.as_slice() else { continue };
            let (lo, hi) = if a[1] < b[1] { (a, b) } else { (b, a) };
            let first = lo[1].ceil().max(0.0);
            let mut row = first as usize;
            while row < self.side && (row as f64) < hi[1] {
                let s = (row as f64 - lo[1]) / (hi[1] - lo[1]);
                crossings[row].push(lo[0] + s * (hi[0] - lo[0]));
                row += 1;
            }
        }
        let mut inside = vec![false; self.side * self.side];
        for (row, xs) in crossings.iter_mut().enumerate() {
            xs.sort_by(f64::total_cmp);
            for pair in xs.chunks(2) {
                let [a, b] = pair else { continue };
                let mut i = a.ceil().max(0.0) as usize;
                while i < self.side && (i as f64) < *b {
                    inside[row * self.side + i] = true;
                    i += 1;
                }
            }
        }
        inside
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

/// Share of pixels that must carry the exact label: a guard at what the meshes reach now (98.1 and 98.8 %), so that no
/// change makes them worse unseen. The goal is 0.99, and it is not reached yet: most of what is missing lies along the
/// skin and its layers, which are meshed more coarsely than the organs.
const SAME: f64 = 0.978;
/// Farthest a boundary may be off, mm, and the share of pixels that may still break it: a guard as well (0.08 % now).
/// The goal is none but where thin sheets end in a knife-edge and their very rim is lost.
const FARTHEST: f64 = 1.0;
const BEYOND: f64 = 0.001;

#[test]
fn painted_sections_match_the_formulas() {
    let mut problems = Vec::new();
    for (body, planes, side) in [("adult_female", 14, 300), ("infant_head", 8, 150)] {
        let m = model(body);
        let labeller = Labeller::new(m);
        let mut random = Seeded(2026);
        let (mut all, mut wrong, mut far) = (0_usize, 0_usize, 0_usize);
        let mut confused: BTreeMap<String, usize> = BTreeMap::new();
        for plane in 0..planes {
            let spread = if body == "adult_female" {
                [140.0, 60.0, 330.0]
            } else {
                [30.0, 40.0, 40.0]
            };
            let middle: Triple = if body == "adult_female" {
                [0.0, -10.0, 130.0]
            } else {
                [0.0, 0.0, 30.0]
            };
            let centre: Triple =
                std::array::from_fn(|k| middle[k] + spread[k] * (2.0 * random.next() - 1.0));
            // The first three planes are the body's own.
            let normal = match plane {
                0 => [1.0, 0.0, 0.0],
                1 => [0.0, 1.0, 0.0],
                2 => [0.0, 0.0, 1.0],
                _ => t::unit(std::array::from_fn(|_| 2.0 * random.next() - 1.0)).unwrap(),
            };
            let u = t::any_perpendicular(normal);
            let v = t::cross(normal, u);
            let half = side as f64 * PITCH / 2.0;
            let origin = t::sub(centre, t::add(t::scale(u, half), t::scale(v, half)));
            let painted = Painted::paint(m, meshes(body), origin, u, v, side);
            for k in 0..side {
                for i in 0..side {
                    let p = painted.point(i, k);
                    let (mesh, exact) = (painted.labels[k * side + i], labeller.label(p));
                    if mesh == Label::Outside && exact == Label::Outside {
                        continue;
                    }
                    all += 1;
                    if part(mesh) == part(exact) {
                        continue;
                    }
                    wrong += 1;
                    *confused
                        .entry(format!("{} as {}", name(m, exact), name(m, mesh)))
                        .or_default() += 1;
                    let near = (0..24).any(|a| {
                        let angle = f64::from(a) * std::f64::consts::TAU / 8.0;
                        let r = FARTHEST * f64::from(a / 8 + 1) / 3.0;
                        let d = t::add(
                            t::scale(u, r * libm::cos(angle)),
                            t::scale(v, r * libm::sin(angle)),
                        );
                        part(labeller.label(t::add(p, d))) == part(mesh)
                    });
                    far += usize::from(!near);
                }
            }
        }
        let (same, beyond) = (1.0 - wrong as f64 / all as f64, far as f64 / all as f64);
        let mut worst: Vec<(usize, String)> = confused.into_iter().map(|(k, n)| (n, k)).collect();
        worst.sort_by(|a, b| b.cmp(a));
        println!(
            "{body}: {all} pixels, {:.3} % the same ({:.3} % of the whole rasters), {:.4} % beyond {FARTHEST} mm; {:?}",
            100.0 * same,
            100.0 * (1.0 - wrong as f64 / (planes as usize * side * side) as f64),
            100.0 * beyond,
            &worst[..worst.len().min(8)]
        );
        if same < SAME || beyond > BEYOND {
            problems.push(format!(
                "{body}: {same:.5} of pixels the same, {beyond:.6} beyond {FARTHEST} mm"
            ));
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

/// A structure with its wall counts as one; the layers are told apart.
fn part(label: Label) -> Label {
    match label {
        Label::Wall(i) => Label::Solid(i),
        other => other,
    }
}

fn name(m: &Model, label: Label) -> String {
    match label {
        Label::Solid(i) => m.structures[i].id.clone(),
        Label::Wall(i) => format!("{}/wall", m.structures[i].id),
        other => format!("{other:?}"),
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let bake = || sculpt::bake(&models_dir(), "infant_head", &mut |_| ()).unwrap();
    let (a, b) = (bake(), bake());
    assert!(a.glb == b.glb, "the meshes differ between two runs");
    assert!(
        a.catalogue == b.catalogue,
        "the catalogue differs between two runs"
    );
}
