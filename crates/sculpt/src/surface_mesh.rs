//! One surface of a body as a mesh: grid step by thickness and tolerance, marching, checking, simplifying.

use crate::grid::{Grid, float};
use crate::layers::SurfaceKind;
use crate::manifold::{self, Flaw};
use crate::marching::{TriMesh, polygonise};
use crate::model::Model;
use crate::shape::Shape;
use crate::simplify::{Limits, simplify};
use crate::triple::{self as t, Triple};

/// How far a mesh may lie from the true surface, mm.
pub const VESSEL_TOLERANCE: f64 = 0.3;
/// The same for organs, muscles, bones.
pub const ORGAN_TOLERANCE: f64 = 0.7;
/// The same for the skin and the layers under it. Far inside the 1.5 mm asked for: the skin is also looked at, and
/// its shading shows every facet.
pub const SKIN_TOLERANCE: f64 = 0.7;

/// Parts smaller than this are crumbs left where two cutting surfaces meet, mm³.
const CRUMB_MM3: f64 = 4.0;

/// Why a surface could not be meshed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SurfaceError {
    /// The mesh failed its own check: a fault of the mesher.
    #[error("surface {node}: {flaw}")]
    Flawed {
        /// Node name of the surface.
        node: String,
        /// What is wrong.
        #[source]
        flaw: Flaw,
    },
    /// No inside was found: the shapes cancel out or the box is wrong.
    #[error("surface {node} encloses nothing")]
    Nothing {
        /// Node name of the surface.
        node: String,
    },
}

/// A mesh with what was measured on it.
#[derive(Debug, Clone)]
pub struct SurfaceMesh {
    /// The mesh, patient mm.
    pub mesh: TriMesh,
    /// Grid step used, mm.
    pub step: f64,
    /// Triangles before simplifying.
    pub raw_triangles: usize,
    /// Largest |distance| from the true surface over triangle centres and edge middles, mm.
    pub largest_error: f64,
    /// Connected parts.
    pub parts: usize,
    /// Enclosed volume, mm³.
    pub volume: f64,
}

/// Tolerance of a surface, mm.
#[must_use]
pub fn tolerance(model: &Model, kind: SurfaceKind) -> f64 {
    match kind {
        SurfaceKind::Skin | SurfaceKind::Dermis | SurfaceKind::Muscle => SKIN_TOLERANCE * model.offset_scale.min(1.0),
        SurfaceKind::Wall(_) => VESSEL_TOLERANCE,
        SurfaceKind::Solid(i) => {
            let s = &model.structures[i];
            let fine = s.wall.is_some() || matches!(s.system.as_str(), "arterial" | "venous" | "nervous");
            if fine { VESSEL_TOLERANCE } else { ORGAN_TOLERANCE }
        }
    }
}

/// Meshes one surface.
///
/// # Errors
/// [`SurfaceError`] when nothing is inside or the mesh is not a closed manifold.
pub fn mesh_surface(model: &Model, kind: SurfaceKind) -> Result<SurfaceMesh, SurfaceError> {
    let node = kind.node(model);
    let field = |p: Triple| kind.value(model, p);
    let tolerance = tolerance(model, kind);
    let hints = hints(model, kind);
    let mut step = first_step(model, kind, tolerance);
    let mut raw;
    loop {
        let mut grid = Grid::new(kind.bounds(model), step, &field);
        raw = polygonise(&mut grid, &hints, &field);
        let error = sampled_error(&raw, &field, 0.98);
        // A grid that is too coarse for the shape shows at once in the middles of its triangles.
        if (error <= tolerance && !raw.triangles.is_empty()) || step < 0.25 {
            break;
        }
        step *= 0.7;
    }
    let raw = without_crumbs(raw);
    if raw.triangles.is_empty() {
        return Err(SurfaceError::Nothing { node });
    }
    let limits = limits(kind, tolerance);
    let mesh = simplify(&raw, &field, limits);
    manifold::check(&mesh).map_err(|flaw| SurfaceError::Flawed { node, flaw })?;
    Ok(SurfaceMesh {
        step,
        raw_triangles: raw.triangles.len(),
        largest_error: sampled_error(&mesh, &field, 1.0),
        parts: manifold::components(&mesh).len(),
        volume: manifold::volume(&mesh),
        mesh,
    })
}

fn limits(kind: SurfaceKind, tolerance: f64) -> Limits {
    let (degrees, longest_edge): (f64, f64) = match kind {
        SurfaceKind::Skin => (11.0, 60.0),
        SurfaceKind::Dermis | SurfaceKind::Muscle => (25.0, 80.0),
        SurfaceKind::Solid(_) | SurfaceKind::Wall(_) => (33.0, 60.0),
    };
    // A margin for rounding positions in the file and for what lies between the samples.
    Limits { distance: 0.75 * tolerance, least_cosine: libm::cos(degrees.to_radians()), longest_edge }
}

/// A grid step fine enough for the thinnest shape and for the tolerance on its curvature.
fn first_step(model: &Model, kind: SurfaceKind, tolerance: f64) -> f64 {
    let (index, grow, coarsest) = match kind {
        SurfaceKind::Skin => return if model.stature_mm.is_some() { 5.0 } else { 2.5 },
        SurfaceKind::Dermis | SurfaceKind::Muscle => return if model.stature_mm.is_some() { 6.0 } else { 3.0 },
        SurfaceKind::Wall(i) => (i, model.structures[i].wall.as_ref().map_or(0.0, |w| w.mm), 2.5),
        SurfaceKind::Solid(i) => (i, 0.0, 3.0),
    };
    let terms = &model.structures[index].solid.terms;
    let mut half = terms
        .iter()
        .filter(|term| term.op != crate::model::Op::Sub)
        .map(|term| term.shape.least_half_thickness() + term.offset)
        .fold(f64::INFINITY, f64::min);
    // A shell between two growths of one reference is as thick as the difference.
    let mut references: Vec<(usize, f64)> = Vec::new();
    for term in terms {
        if let Shape::Ref(other) = term.shape {
            for &(same, offset) in &references {
                if same == other {
                    half = half.min((offset - term.offset).abs() / 2.0);
                }
            }
            references.push((other, term.offset));
        }
    }
    let half = half + grow;
    let by_curvature = 0.9 * (8.0 * tolerance * half).sqrt();
    (0.8 * half).min(by_curvature).clamp(0.3, coarsest)
}

fn hints(model: &Model, kind: SurfaceKind) -> Vec<Triple> {
    let index = match kind {
        SurfaceKind::Skin | SurfaceKind::Dermis | SurfaceKind::Muscle => model.skin,
        SurfaceKind::Wall(i) | SurfaceKind::Solid(i) => i,
    };
    let solid = &model.structures[index].solid;
    solid
        .terms
        .iter()
        .flat_map(|term| {
            term.shape.inner_points().into_iter().map(|p| {
                let p = term.frame.as_ref().map_or(p, |f| f.patient(p));
                if term.mirrored != solid.mirrored { t::mirror(p) } else { p }
            })
        })
        .collect()
}

/// The given quantile of |distance| over triangle centres and edge middles, mm.
fn sampled_error(mesh: &TriMesh, field: &dyn Fn(Triple) -> f64, quantile: f64) -> f64 {
    let mut errors: Vec<f64> = Vec::with_capacity(mesh.triangles.len() * 2);
    for tri in &mesh.triangles {
        let [a, b, c] = tri.map(|v| mesh.positions[v as usize]);
        errors.push(field(t::scale(t::add(a, t::add(b, c)), 1.0 / 3.0)).abs());
        for k in 0..3 {
            if tri[k] < tri[(k + 1) % 3] {
                errors.push(field(t::lerp([a, b, c][k], [a, b, c][(k + 1) % 3], 0.5)).abs());
            }
        }
    }
    if errors.is_empty() {
        return 0.0;
    }
    let at = crate::grid::count(quantile * float(errors.len() - 1));
    *errors.select_nth_unstable_by(at, f64::total_cmp).1
}

/// Drops parts too small to be meant. Inward parts (closed hollows) are kept whatever their size is.
fn without_crumbs(mesh: TriMesh) -> TriMesh {
    let parts = manifold::components(&mesh);
    if parts.len() == 1 {
        return mesh;
    }
    let mut kept: Vec<usize> = parts
        .into_iter()
        .filter(|part| {
            let triangles = part.iter().map(|&i| mesh.triangles[i]).collect();
            manifold::volume(&TriMesh { positions: mesh.positions.clone(), triangles }).abs() >= CRUMB_MM3
        })
        .flatten()
        .collect();
    kept.sort_unstable();
    TriMesh { triangles: kept.into_iter().map(|i| mesh.triangles[i]).collect(), positions: mesh.positions }
}
