//! Whole bodies: every surface meshed on two threads, written as GLB and catalogue.

use crate::catalogue::{Tables, catalogue};
use crate::codes::load_codes;
use crate::error::ModelError;
use crate::glb::{self, NamedMesh, NodeShape};
use crate::layers::{SurfaceKind, surfaces};
use crate::model::Model;
use crate::order::tuned;
use crate::quantise::quantise;
use crate::surface_mesh::{
    SurfaceError, SurfaceMesh, effort, mesh_dermis, mesh_mirrored, mesh_surface, mesh_wall,
    tolerance,
};
use crate::tissue::load_tissues;
use crate::twin::left_twin;
use crate::window::load_windows;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// Every body there is, by the name of its file.
pub const BODIES: [&str; 3] = ["adult_female", "adult_male", "infant_head"];

/// Threads that mesh side by side. The bytes written do not depend on it.
const THREADS: usize = 2;

/// Grid step of a surface's vertices, as a share of its tolerance: rounding moves a vertex by an eighth of the tolerance
/// along each axis at most, but for the few that would turn a triangle over. Every halving costs a tenth of the file.
const STEP_SHARE: f64 = 0.25;

/// How far a bake has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Progress {
    /// Body being baked.
    pub body: String,
    /// Surfaces done.
    pub done: usize,
    /// Surfaces in all.
    pub total: usize,
    /// Node name of the surface just finished; `up to date` when the body was taken from an earlier bake.
    pub what: String,
}

/// Why a bake failed.
#[derive(Debug, thiserror::Error)]
pub enum BakeError {
    /// The description is wrong.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// A surface could not be meshed.
    #[error("body {body}")]
    Surface {
        /// Body.
        body: String,
        /// Surface and reason.
        #[source]
        source: SurfaceError,
    },
    /// The catalogue could not be written as JSON.
    #[error("catalogue of {body}")]
    Catalogue {
        /// Body.
        body: String,
        /// Reason.
        #[source]
        source: serde_json::Error,
    },
    /// A file could not be written.
    #[error("cannot write {}", path.display())]
    Write {
        /// File.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
}

/// One line of the report: what became of a surface.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceReport {
    /// Node name.
    pub node: String,
    /// Triangles kept.
    pub triangles: usize,
    /// Triangles before simplifying.
    pub raw_triangles: usize,
    /// Grid step, mm.
    pub step: f64,
    /// Largest sampled distance from the true surface, mm.
    pub largest_error: f64,
    /// The distance that 99 of 100 samples stay within, mm.
    pub error_99: f64,
    /// Distance that was allowed, mm.
    pub tolerance: f64,
    /// Connected parts.
    pub parts: usize,
    /// Volume, mL.
    pub volume_ml: f64,
}

/// A finished body.
#[derive(Debug, Clone)]
pub struct Baked {
    /// Identifier, also the file stem.
    pub id: String,
    /// Bytes of `<id>.glb`.
    pub glb: Vec<u8>,
    /// Bytes of `<id>.json`.
    pub catalogue: Vec<u8>,
    /// Per surface, in paint order.
    pub report: Vec<SurfaceReport>,
}

/// Bakes one body from `models_dir`.
///
/// # Errors
/// [`BakeError`] when a description is wrong or a surface cannot be meshed.
pub fn bake(
    models_dir: &Path,
    body: &str,
    progress: &mut dyn FnMut(Progress),
) -> Result<Baked, BakeError> {
    let model = Model::load(models_dir, body)?;
    let meshes = mesh_body(&model, progress)?;
    pack(models_dir, &model, &meshes)
}

/// Meshes every surface of a body, in paint order.
///
/// # Errors
/// [`BakeError::Surface`] for the first surface that cannot be meshed.
pub fn mesh_body(
    model: &Model,
    progress: &mut dyn FnMut(Progress),
) -> Result<Vec<(SurfaceKind, SurfaceMesh)>, BakeError> {
    let kinds = surfaces(model);
    let meshes = mesh_all(model, &kinds, progress).map_err(|source| BakeError::Surface {
        body: model.id.clone(),
        source,
    })?;
    Ok(kinds.into_iter().zip(meshes).collect())
}

/// The files of a body from its meshes as [`mesh_body`] gives them.
///
/// # Errors
/// [`BakeError`] when tissues or windows are described wrongly.
pub fn pack(
    models_dir: &Path,
    model: &Model,
    meshes: &[(SurfaceKind, SurfaceMesh)],
) -> Result<Baked, BakeError> {
    let tables = Tables {
        tissues: load_tissues(models_dir)?,
        windows: load_windows(models_dir, model)?,
        codes: load_codes(models_dir)?,
    };
    let (kinds, meshes): (Vec<SurfaceKind>, Vec<&SurfaceMesh>) =
        meshes.iter().map(|(kind, mesh)| (*kind, mesh)).unzip();
    let shapes = side_by_side(kinds.len(), |i| {
        let (kind, m) = (kinds[i], meshes[i]);
        match m
            .mirror_of
            .and_then(|left| kinds.iter().position(|&k| k == left))
        {
            Some(twin) => NodeShape::MirrorOf(twin),
            None => NodeShape::Own(tuned(&quantise(
                &m.mesh,
                STEP_SHARE * tolerance(model, kind),
            ))),
        }
    });
    let named: Vec<NamedMesh> = kinds
        .iter()
        .zip(shapes)
        .map(|(&kind, shape)| NamedMesh {
            node: kind.node(model),
            shape,
        })
        .collect();
    let report = kinds
        .iter()
        .zip(&meshes)
        .map(|(&kind, m)| SurfaceReport {
            node: kind.node(model),
            triangles: m.mesh.triangles.len(),
            raw_triangles: m.raw_triangles,
            step: m.step,
            largest_error: m.largest_error,
            error_99: m.error_99,
            tolerance: tolerance(model, kind),
            parts: m.parts,
            volume_ml: m.volume / 1000.0,
        })
        .collect();
    let catalogue = catalogue(model, &kinds, &meshes, tables)
        .and_then(|c| c.to_json())
        .map_err(|source| BakeError::Catalogue {
            body: model.id.clone(),
            source,
        })?;
    Ok(Baked {
        id: model.id.clone(),
        glb: glb::write(&named),
        catalogue,
        report,
    })
}

/// What `work` makes of 0 to `count`, in order, made on all threads.
fn side_by_side<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let mut slots: Vec<Option<T>> = (0..count).map(|_| None).collect();
    let (send, receive) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..THREADS {
            let (send, next, work) = (send.clone(), &next, &work);
            scope.spawn(move || {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count || send.send((i, work(i))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(send);
        for (i, made) in &receive {
            slots[i] = Some(made);
        }
    });
    slots.into_iter().flatten().collect()
}

/// Surfaces that are meshed one after the other because the later ones build on the first: the left one of a pair,
/// its mirror image, and the walls of both.
#[must_use]
pub fn jobs(model: &Model, kinds: &[SurfaceKind]) -> Vec<Vec<SurfaceKind>> {
    let mut jobs: Vec<Vec<SurfaceKind>> = Vec::new();
    let has = |kind: SurfaceKind| kinds.contains(&kind);
    for &kind in kinds {
        let SurfaceKind::Solid(i) = kind else {
            match kind {
                SurfaceKind::Skin => jobs.push(vec![kind, SurfaceKind::Dermis]),
                SurfaceKind::Muscle => jobs.push(vec![kind]),
                _ => {}
            }
            continue;
        };
        let twin = left_twin(model, i).filter(|&left| has(SurfaceKind::Solid(left)));
        let own = [SurfaceKind::Solid(i), SurfaceKind::Wall(i)]
            .into_iter()
            .filter(|&k| has(k));
        match twin.and_then(|left| {
            jobs.iter_mut()
                .find(|job| job.contains(&SurfaceKind::Solid(left)))
        }) {
            Some(job) => job.extend(own),
            None => jobs.push(own.collect()),
        }
    }
    jobs
}

/// Meshes the surfaces of one job in order.
///
/// # Errors
/// The first [`SurfaceError`].
pub fn mesh_job(
    model: &Model,
    job: &[SurfaceKind],
) -> Result<Vec<(SurfaceKind, SurfaceMesh)>, SurfaceError> {
    let mut done: Vec<(SurfaceKind, SurfaceMesh)> = Vec::with_capacity(job.len());
    for &kind in job {
        let find = |kind: SurfaceKind| done.iter().find(|(k, _)| *k == kind).map(|(_, m)| m);
        let left = match kind {
            SurfaceKind::Solid(i) => left_twin(model, i).map(SurfaceKind::Solid),
            SurfaceKind::Wall(i) => left_twin(model, i).map(SurfaceKind::Wall),
            _ => None,
        };
        let image = left.and_then(|left| mesh_mirrored(model, left, kind, find(left)?));
        let mesh = match (image, kind) {
            (Some(mesh), _) => mesh,
            (None, SurfaceKind::Wall(i)) => match find(SurfaceKind::Solid(i)) {
                Some(lumen) => mesh_wall(model, i, lumen)?,
                None => mesh_surface(model, kind)?,
            },
            (None, SurfaceKind::Dermis) => match find(SurfaceKind::Skin) {
                Some(skin) => mesh_dermis(model, skin)?,
                None => mesh_surface(model, kind)?,
            },
            (None, _) => mesh_surface(model, kind)?,
        };
        done.push((kind, mesh));
    }
    Ok(done)
}

fn mesh_all(
    model: &Model,
    kinds: &[SurfaceKind],
    progress: &mut dyn FnMut(Progress),
) -> Result<Vec<SurfaceMesh>, SurfaceError> {
    let jobs = jobs(model, kinds);
    // The longest first, so that no thread is left alone with a long one at the end.
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    let effort = |&job: &usize| {
        jobs[job]
            .iter()
            .map(|&kind| effort(model, kind))
            .sum::<f64>()
    };
    order.sort_by(|a, b| effort(b).total_cmp(&effort(a)));
    let next = AtomicUsize::new(0);
    let (send, receive) = mpsc::channel();
    let mut slots: Vec<Option<SurfaceMesh>> = kinds.iter().map(|_| None).collect();
    let mut failed: Option<(usize, SurfaceError)> = None;
    std::thread::scope(|scope| {
        for _ in 0..THREADS {
            let (send, next, jobs, order) = (send.clone(), &next, &jobs, &order);
            scope.spawn(move || {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let Some(&i) = order.get(i) else { return };
                    if send.send((i, mesh_job(model, &jobs[i]))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(send);
        let mut done = 0;
        for (i, result) in &receive {
            match result {
                // The first failure in job order is reported, whichever thread came first.
                Err(error) => {
                    if failed.as_ref().is_none_or(|(first, _)| i < *first) {
                        failed = Some((i, error));
                    }
                }
                Ok(meshes) => {
                    done += meshes.len();
                    let what = meshes
                        .first()
                        .map(|(kind, _)| kind.node(model))
                        .unwrap_or_default();
                    for (kind, mesh) in meshes {
                        if let Some(at) = kinds.iter().position(|&k| k == kind) {
                            slots[at] = Some(mesh);
                        }
                    }
                    progress(Progress {
                        body: model.id.clone(),
                        done,
                        total: kinds.len(),
                        what,
                    });
                }
            }
        }
    });
    match failed {
        Some((_, error)) => Err(error),
        None => Ok(slots.into_iter().flatten().collect()),
    }
}
