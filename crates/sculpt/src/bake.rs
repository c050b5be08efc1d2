//! Whole bodies: every surface meshed on two threads, written as GLB and catalogue.

use crate::catalogue::catalogue;
use crate::error::ModelError;
use crate::glb::{self, NamedMesh};
use crate::layers::{SurfaceKind, surfaces};
use crate::model::Model;
use crate::order::tuned;
use crate::quantise::quantise;
use crate::surface_mesh::{SurfaceError, SurfaceMesh, mesh_surface, tolerance};
use crate::tissue::load_tissues;
use crate::window::load_windows;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// Every body there is, by the name of its file.
pub const BODIES: [&str; 3] = ["adult_female", "adult_male", "infant_head"];

/// Threads that mesh side by side. The bytes written do not depend on it.
const THREADS: usize = 2;

/// Share of a surface's tolerance that rounding its vertices may use up.
const ROUNDING_SHARE: f64 = 0.12;

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
pub fn bake(models_dir: &Path, body: &str, progress: &mut dyn FnMut(Progress)) -> Result<Baked, BakeError> {
    let model = Model::load(models_dir, body)?;
    let tissues = load_tissues(models_dir)?;
    let windows = load_windows(models_dir, &model)?;
    let kinds = surfaces(&model);
    let meshes = mesh_all(&model, &kinds, progress)
        .map_err(|source| BakeError::Surface { body: body.to_owned(), source })?;
    let named: Vec<NamedMesh> = kinds
        .iter()
        .zip(&meshes)
        .map(|(&kind, m)| NamedMesh {
            node: kind.node(&model),
            mesh: tuned(&quantise(&m.mesh, 2.0 * ROUNDING_SHARE * tolerance(&model, kind))),
        })
        .collect();
    let report = kinds
        .iter()
        .zip(&meshes)
        .map(|(&kind, m)| SurfaceReport {
            node: kind.node(&model),
            triangles: m.mesh.triangles.len(),
            raw_triangles: m.raw_triangles,
            step: m.step,
            largest_error: m.largest_error,
            tolerance: tolerance(&model, kind),
            parts: m.parts,
            volume_ml: m.volume / 1000.0,
        })
        .collect();
    let catalogue = catalogue(&model, &kinds, &meshes, tissues, windows)
        .and_then(|c| c.to_json())
        .map_err(|source| BakeError::Catalogue { body: body.to_owned(), source })?;
    Ok(Baked { id: model.id.clone(), glb: glb::write(&named), catalogue, report })
}

fn mesh_all(
    model: &Model,
    kinds: &[SurfaceKind],
    progress: &mut dyn FnMut(Progress),
) -> Result<Vec<SurfaceMesh>, SurfaceError> {
    let next = AtomicUsize::new(0);
    let (send, receive) = mpsc::channel();
    let mut slots: Vec<Option<Result<SurfaceMesh, SurfaceError>>> = kinds.iter().map(|_| None).collect();
    std::thread::scope(|scope| {
        for _ in 0..THREADS {
            let (send, next) = (send.clone(), &next);
            scope.spawn(move || {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let Some(&kind) = kinds.get(i) else { return };
                    if send.send((i, mesh_surface(model, kind))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(send);
        for (done, (i, mesh)) in receive.iter().enumerate() {
            slots[i] = Some(mesh);
            progress(Progress {
                body: model.id.clone(),
                done: done + 1,
                total: kinds.len(),
                what: kinds[i].node(model),
            });
        }
    });
    slots.into_iter().flatten().collect()
}
