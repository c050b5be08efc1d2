//! One surface of a body as a mesh: grid step by thickness and tolerance, marching, checking, simplifying.

use crate::balance::balance;
use crate::flip::flip;
use crate::grid::{Grid, float};
use crate::layers::SurfaceKind;
use crate::manifold::{self, Flaw};
use crate::marching::{TriMesh, polygonise};
use crate::model::{Model, Term};
use crate::nearness::distance;
use crate::refine::refine;
use crate::shape::Shape;
use crate::simplify::{Limits, simplify};
use crate::triple::{self as t, Triple};
use crate::twin;
use crate::untangle::smoothed_out;

/// How far a mesh may lie from the true surface, mm.
pub const VESSEL_TOLERANCE: f64 = 0.3;
/// The same for organs, muscles, bones.
pub const ORGAN_TOLERANCE: f64 = 0.7;
/// The same for the small and large bowel with its wall: where its loops lie is a modelling choice anyway.
pub const BOWEL_TOLERANCE: f64 = 0.45;
/// The same for sheets of muscle between fasciae: their neighbours on both sides are as near as they are thin.
pub const SHEET_TOLERANCE: f64 = 0.5;
/// Thickest sheet, mm: the flat muscles of the belly have 4 to 6.
const SHEET: f64 = 6.5;
/// The same for the skin and the layers under it. Far inside the 1.5 mm asked for: the skin is also looked at, and
/// its shading shows every facet; and a layer of 2 mm must keep its thickness.
pub const SKIN_TOLERANCE: f64 = 0.5;
/// The finest of the above for everything in a body part as small as a neonate's head.
pub const SMALL_BODY_TOLERANCE: f64 = 0.25;

/// What one triangle may miss before balancing, mm³: its area times its distance from the true surface. The same for
/// every surface, because the fewest triangles show a given volume wrongly when each shows as much of it; chosen so that
/// an adult's triangles stay below 300 000 and 99 of 100 pixels of a section are right. For the woman's size; it grows with
/// the body's volume.
pub const MISSED_VOLUME: f64 = 38.0;
/// The same in a body part as small as a neonate's head.
pub const SMALL_BODY_MISSED_VOLUME: f64 = 1.2;

/// Largest angle between a triangle of a vessel and the true normals at its corners, degrees: a round one has eight sides at least,
/// because a linear transducer shows it enlarged.
const VESSEL_DEGREES: f64 = 24.0;

/// A raw mesh of fewer triangles is not worth sparing.
const FEW_TRIANGLES: usize = 6000;

/// Parts smaller than this are crumbs left where two cutting surfaces meet or a blade runs out, mm³.
const CRUMB_MM3: f64 = 120.0;
/// And no more than this share of the largest part.
const CRUMB_SHARE: f64 = 0.005;

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
    /// The distance that 99 of 100 of these samples stay within, mm.
    pub error_99: f64,
    /// Connected parts.
    pub parts: usize,
    /// Enclosed volume, mm³.
    pub volume: f64,
    /// The left surface whose mirror image this is.
    pub mirror_of: Option<SurfaceKind>,
}

/// Tolerance of a surface, mm.
#[must_use]
pub fn tolerance(model: &Model, kind: SurfaceKind) -> f64 {
    if model.stature_mm.is_none() {
        return SMALL_BODY_TOLERANCE;
    }
    match kind {
        SurfaceKind::Skin | SurfaceKind::Dermis | SurfaceKind::Muscle => SKIN_TOLERANCE,
        SurfaceKind::Wall(i) if model.structures[i].system != "muscular" => VESSEL_TOLERANCE,
        SurfaceKind::Solid(i) | SurfaceKind::Wall(i) => {
            let s = &model.structures[i];
            // The shells of muscles are fascia; the muscles themselves count as organs.
            let fine = s.system != "muscular" && s.wall.is_some()
                || matches!(s.system.as_str(), "arterial" | "venous" | "nervous");
            if matches!(s.tissue.as_str(), "bowel_content" | "bowel_submucosa") {
                BOWEL_TOLERANCE
            } else if fine {
                VESSEL_TOLERANCE
            } else if s.system == "muscular"
                && s.wall.is_some()
                && growths_apart(&s.solid.terms) < SHEET
            {
                SHEET_TOLERANCE
            } else {
                ORGAN_TOLERANCE
            }
        }
    }
}

/// About how long a surface takes to mesh, in no unit: the grid cells along its box times the shapes it is made of.
pub(crate) fn effort(model: &Model, kind: SurfaceKind) -> f64 {
    let terms = match kind {
        SurfaceKind::Skin | SurfaceKind::Dermis | SurfaceKind::Muscle => model.skin,
        SurfaceKind::Wall(i) | SurfaceKind::Solid(i) => i,
    };
    let [x, y, z] = kind.bounds(model).size();
    let step = first_step(model, kind, tolerance(model, kind));
    (x * y + y * z + z * x) / (step * step) * float(model.structures[terms].solid.terms.len())
}

/// Meshes one surface from its own signed distance.
///
/// # Errors
/// [`SurfaceError`] when nothing is inside or the mesh is not a closed manifold.
pub fn mesh_surface(model: &Model, kind: SurfaceKind) -> Result<SurfaceMesh, SurfaceError> {
    let field = |p: Triple| kind.value(model, p);
    let tolerance = tolerance(model, kind);
    let hints = hints(model, kind);
    let mut step = first_step(model, kind, tolerance);
    let mut raw;
    loop {
        let mut grid = Grid::new(kind.bounds(model), step, &field);
        raw = polygonise(&mut grid, &hints, &field);
        // A grid that is too coarse for the shape shows at once in the middles of its triangles; the few at edges of
        // the shape are for `refine`. Where there are few triangles, a finer grid costs little.
        let (quantile, nth) = if raw.triangles.len() < FEW_TRIANGLES {
            (0.98, 1)
        } else {
            (0.93, 5)
        };
        let error = sampled_error(&raw, &field, tolerance, quantile, nth);
        if (error <= tolerance && !raw.triangles.is_empty()) || step < 0.25 {
            break;
        }
        step *= 0.7;
    }
    // The layers of the skin are smooth unions nearly without edges; face, hands and ears are finer than their grid.
    let rounds = match kind {
        SurfaceKind::Solid(_) | SurfaceKind::Wall(_) => 3,
        SurfaceKind::Skin | SurfaceKind::Dermis | SurfaceKind::Muscle => 2,
    };
    let raw = refine(
        without_crumbs(raw, crumb_mm3(kind)),
        &field,
        0.6 * tolerance,
        rounds,
    );
    if raw.triangles.is_empty() {
        return Err(SurfaceError::Nothing {
            node: kind.node(model),
        });
    }
    let simple = simplify(&raw, &field, limits(model, kind, tolerance));
    let mesh = smoothed_out(balance(&flip(&simple, &field), &field, 0.6 * tolerance));
    measured(model, kind, mesh, step, raw.triangles.len())
}

/// Meshes the wall of a structure on the triangles of its lumen, or by itself where that would fold or miss.
///
/// # Errors
/// As [`mesh_surface`].
pub fn mesh_wall(
    model: &Model,
    i: usize,
    lumen: &SurfaceMesh,
) -> Result<SurfaceMesh, SurfaceError> {
    let kind = SurfaceKind::Wall(i);
    let field = |p: Triple| kind.value(model, p);
    let tolerance = tolerance(model, kind);
    // Fascia is a thin line along its muscle: an even line counts for more than the last tenth of a millimetre at the
    // muscle's sharp rims.
    let (quantile, allowed) = if model.structures[i].system == "muscular" {
        (0.98, 1.5 * tolerance)
    } else {
        (0.98, tolerance)
    };
    if let Some(mesh) = twin::moved_out(&lumen.mesh, wall_mm(model, kind), &field)
        && sampled_error(&mesh, &field, tolerance, quantile, 1) <= allowed
    {
        let mesh = smoothed_out(balance(&mesh, &field, 0.6 * tolerance));
        return measured(model, kind, mesh, lumen.step, lumen.raw_triangles);
    }
    mesh_surface(model, kind)
}

/// Meshes the inner side of the skin on the skin's triangles, or by itself where that would fold or miss.
///
/// # Errors
/// As [`mesh_surface`].
pub fn mesh_dermis(model: &Model, skin: &SurfaceMesh) -> Result<SurfaceMesh, SurfaceError> {
    let kind = SurfaceKind::Dermis;
    let field = |p: Triple| kind.value(model, p);
    let tolerance = tolerance(model, kind);
    if let Some(mesh) = twin::moved_out(&skin.mesh, -model.dermis_mm, &field)
        && sampled_error(&mesh, &field, tolerance, 0.98, 1) <= tolerance
    {
        let mesh = smoothed_out(balance(&mesh, &field, 0.6 * tolerance));
        return measured(model, kind, mesh, skin.step, skin.raw_triangles);
    }
    mesh_surface(model, kind)
}

/// The mirror image of a left surface's mesh as the mesh of the right one, if it is one.
#[must_use]
pub fn mesh_mirrored(
    model: &Model,
    left: SurfaceKind,
    right: SurfaceKind,
    mesh: &SurfaceMesh,
) -> Option<SurfaceMesh> {
    let image = twin::mirrored(model, left, right, &mesh.mesh)?;
    // What was measured on the left one holds for its image, whose formula is the image too.
    Some(SurfaceMesh {
        mesh: image,
        mirror_of: Some(left),
        ..mesh.clone()
    })
}

fn measured(
    model: &Model,
    kind: SurfaceKind,
    mesh: TriMesh,
    step: f64,
    raw_triangles: usize,
) -> Result<SurfaceMesh, SurfaceError> {
    manifold::check(&mesh).map_err(|flaw| SurfaceError::Flawed {
        node: kind.node(model),
        flaw,
    })?;
    let errors = sampled_errors(&mesh, &|p| kind.value(model, p), tolerance(model, kind), 1);
    Ok(SurfaceMesh {
        step,
        raw_triangles,
        largest_error: errors.last().copied().unwrap_or(0.0),
        error_99: quantile_of(&errors, 0.99),
        parts: manifold::components(&mesh).len(),
        volume: manifold::volume(&mesh),
        mirror_of: None,
        mesh,
    })
}

fn wall_mm(model: &Model, kind: SurfaceKind) -> f64 {
    match kind {
        SurfaceKind::Wall(i) => model.structures[i].wall.as_ref().map_or(0.0, |w| w.mm),
        _ => 0.0,
    }
}

fn limits(model: &Model, kind: SurfaceKind, tolerance: f64) -> Limits {
    let (degrees, longest_edge): (f64, f64) = match kind {
        SurfaceKind::Skin => (11.0, 60.0),
        SurfaceKind::Dermis | SurfaceKind::Muscle => (35.0, 80.0),
        // On a vessel of 6 mm the tolerance alone would allow a hexagon, which is looked at enlarged.
        SurfaceKind::Solid(i) | SurfaceKind::Wall(i)
            if matches!(model.structures[i].system.as_str(), "arterial" | "venous") =>
        {
            (VESSEL_DEGREES, 90.0)
        }
        SurfaceKind::Solid(_) | SurfaceKind::Wall(_) => (46.0, 90.0),
    };
    // Balancing halves what a triangle misses, so more than the tolerance may be missed before it; less where a wall is
    // to use the same triangles on a wider round.
    let walled = matches!(kind, SurfaceKind::Solid(i) if model.structures[i].wall.is_some());
    let share = if walled { 0.9 } else { 1.1 };
    Limits {
        distance: share * tolerance,
        volume: if model.stature_mm.is_some() {
            let size = model.offset_scale;
            MISSED_VOLUME * size * size * size
        } else {
            SMALL_BODY_MISSED_VOLUME
        },
        least_cosine: libm::cos(degrees.to_radians()),
        longest_edge,
    }
}

/// Thickness of a shell between two growths of one reference, mm: their difference; infinite for what is no such shell.
fn growths_apart(terms: &[Term]) -> f64 {
    let mut apart = f64::INFINITY;
    let mut references: Vec<(usize, f64)> = Vec::new();
    for term in terms {
        if let Shape::Ref(other) = term.shape {
            for &(same, offset) in &references {
                if same == other {
                    apart = apart.min((offset - term.offset).abs());
                }
            }
            references.push((other, term.offset));
        }
    }
    apart
}

/// A grid step fine enough for the thinnest shape and for the tolerance on its curvature.
fn first_step(model: &Model, kind: SurfaceKind, tolerance: f64) -> f64 {
    let coarsest = if tolerance > BOWEL_TOLERANCE {
        4.5
    } else {
        3.2
    };
    let (index, grow, coarsest) = match kind {
        SurfaceKind::Skin => return if model.stature_mm.is_some() { 5.0 } else { 2.5 },
        // The ears are thin under the skin.
        SurfaceKind::Dermis => return if model.stature_mm.is_some() { 4.0 } else { 2.5 },
        SurfaceKind::Muscle => {
            return if model.stature_mm.is_some() { 6.0 } else { 3.0 };
        }
        SurfaceKind::Wall(i) => (i, wall_mm(model, kind), coarsest),
        SurfaceKind::Solid(i) => (i, 0.0, coarsest),
    };
    let terms = &model.structures[index].solid.terms;
    let mut half = terms
        .iter()
        .filter(|term| term.op != crate::model::Op::Sub)
        .map(|term| term.shape.least_half_thickness() + term.offset)
        .fold(f64::INFINITY, f64::min);
    half = half.min(growths_apart(terms) / 2.0);
    // A grid whose cells are longer across than a shell is thick finds pinholes in it.
    let through = terms
        .iter()
        .filter(|cut| cut.op == crate::model::Op::Sub)
        .flat_map(|cut| {
            terms
                .iter()
                .map(|term| term.shape.shell_thickness(&cut.shape))
        })
        .flatten()
        .fold(f64::INFINITY, f64::min)
        / 3.0_f64.sqrt();
    let half = half + grow;
    let by_curvature = 0.9 * (8.0 * tolerance * half).sqrt();
    (0.65 * half)
        .min(by_curvature)
        .min(through)
        .clamp(0.3, coarsest)
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
                if term.mirrored != solid.mirrored {
                    t::mirror(p)
                } else {
                    p
                }
            })
        })
        .collect()
}

/// The given quantile of [`sampled_errors`], mm.
fn sampled_error(
    mesh: &TriMesh,
    field: &dyn Fn(Triple) -> f64,
    enough: f64,
    quantile: f64,
    nth: usize,
) -> f64 {
    quantile_of(&sampled_errors(mesh, field, enough, nth), quantile)
}

/// Distances from the surface over centres and edge middles of every `nth` triangle, ascending, mm.
fn sampled_errors(
    mesh: &TriMesh,
    field: &dyn Fn(Triple) -> f64,
    enough: f64,
    nth: usize,
) -> Vec<f64> {
    let mut errors: Vec<f64> = Vec::with_capacity(mesh.triangles.len() * 5 / 2);
    for tri in mesh.triangles.iter().step_by(nth) {
        let corners = tri.map(|v| mesh.positions[v as usize]);
        let [a, b, c] = corners;
        let Some(n) = t::unit(t::cross(t::sub(b, a), t::sub(c, a))) else {
            continue;
        };
        let centre = t::scale(t::add(a, t::add(b, c)), 1.0 / 3.0);
        errors.push(distance(field, centre, n, enough));
        for k in 0..3 {
            if tri[k] < tri[(k + 1) % 3] {
                let middle = t::lerp(corners[k], corners[(k + 1) % 3], 0.5);
                errors.push(distance(field, middle, n, enough));
            }
        }
    }
    errors.sort_by(f64::total_cmp);
    errors
}

/// A quantile of an ascending list; 0 of an empty one.
fn quantile_of(ascending: &[f64], quantile: f64) -> f64 {
    let last = ascending.len().saturating_sub(1);
    let at = crate::grid::count(quantile * float(last));
    ascending.get(at).copied().unwrap_or(0.0)
}

/// Parts smaller than this are dropped unless they are a fair share of the largest, mm³. Skin and muscle are one piece; the
/// inside of an ear may hang on a neck too thin for fat.
fn crumb_mm3(kind: SurfaceKind) -> f64 {
    match kind {
        SurfaceKind::Skin | SurfaceKind::Muscle => f64::INFINITY,
        SurfaceKind::Dermis | SurfaceKind::Wall(_) | SurfaceKind::Solid(_) => CRUMB_MM3,
    }
}

/// Drops parts and hollows too small to be meant: less than `least` mm³.
fn without_crumbs(mesh: TriMesh, least: f64) -> TriMesh {
    let parts = manifold::components(&mesh);
    if parts.len() == 1 {
        return mesh;
    }
    let volumes: Vec<f64> = parts
        .iter()
        .map(|part| {
            let p = |v: u32| mesh.positions[v as usize];
            let six: f64 = part
                .iter()
                .map(|&i| {
                    let [a, b, c] = mesh.triangles[i];
                    t::dot(p(a), t::cross(p(b), p(c)))
                })
                .sum();
            (six / 6.0).abs()
        })
        .collect();
    let largest = volumes.iter().copied().fold(0.0, f64::max);
    let mut kept: Vec<usize> = parts
        .into_iter()
        .zip(volumes)
        .filter(|(_, v)| *v >= least || *v >= CRUMB_SHARE * largest)
        .flat_map(|(part, _)| part)
        .collect();
    kept.sort_unstable();
    TriMesh {
        triangles: kept.into_iter().map(|i| mesh.triangles[i]).collect(),
        positions: mesh.positions,
    }
}
