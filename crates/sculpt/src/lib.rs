//! Native only: body descriptions in TOML to signed distances, to meshes, to baked bodies.
//!
//! Frame everywhere: patient, LPS, mm. Distances are negative inside.
//!
//! - [`model::Model::load`] reads a body, [`model::Model::value`] is its signed distance;
//! - [`exact::Labeller`] says what is painted at a point, straight from the formulas;
//! - [`surface_mesh::mesh_surface`] turns one surface into a closed mesh within its tolerance;
//! - [`bake_all`] writes every body as GLB and catalogue.

mod bake;
pub mod balance;
mod cache;
mod catalogue;
pub mod codes;
pub mod crossing;
pub mod error;
pub mod exact;
pub mod flip;
pub mod gauge;
pub mod glb;
mod grid;
mod keys;
pub mod layers;
mod load;
pub mod loft;
pub mod manifold;
pub mod marching;
pub mod meshopt;
pub mod model;
pub mod nearness;
pub mod order;
pub mod quantise;
mod read_shape;
pub mod refine;
pub mod shape;
pub mod simplify;
pub mod surface_mesh;
pub mod tissue;
pub mod triple;
pub mod tube;
pub mod twin;
pub mod untangle;
pub mod window;

pub use bake::{
    BODIES, BakeError, Baked, Progress, SurfaceReport, bake, jobs, mesh_body, mesh_job, pack,
};
pub use cache::{bake_all, bake_cached};
