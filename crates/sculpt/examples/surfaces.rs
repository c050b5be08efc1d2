//! Meshes the named structures of a body and prints what became of each surface:
//! `surfaces <models> <body> <structure>...`, for working on a few shapes without baking the whole body. With the
//! environment variable `OUT` it also writes each surface as OBJ into that folder.

#![expect(
    clippy::print_stdout,
    reason = "a command speaks to the person who started it"
)]

use sculpt::crossing::self_crossings;
use sculpt::layers::{SurfaceKind, surfaces};
use sculpt::marching::TriMesh;
use sculpt::model::Model;
use sculpt::nearness::distance;
use sculpt::quantise::quantise;
use sculpt::surface_mesh::tolerance;
use sculpt::triple::{self as t, Triple};
use std::path::Path;

/// The mesh as Wavefront OBJ, mm.
fn obj(mesh: &TriMesh) -> String {
    let vertices = mesh
        .positions
        .iter()
        .map(|[x, y, z]| format!("v {x:.3} {y:.3} {z:.3}\n"));
    let faces = mesh
        .triangles
        .iter()
        .map(|t| t.map(|v| v + 1))
        .map(|[a, b, c]| format!("f {a} {b} {c}\n"));
    vertices.chain(faces).collect()
}

/// The five middles of edges that are farthest from the surface of `field`, 5 mm apart at least, mm.
fn farthest(mesh: &TriMesh, field: &dyn Fn(Triple) -> f64, enough: f64) -> Vec<(f64, Triple)> {
    let mut all: Vec<(f64, Triple)> = Vec::new();
    for tri in &mesh.triangles {
        let [a, b, c] = tri.map(|v| mesh.positions[v as usize]);
        let Some(n) = t::unit(t::cross(t::sub(b, a), t::sub(c, a))) else {
            continue;
        };
        let middle = t::lerp(a, b, 0.5);
        all.push((distance(field, middle, n, enough), middle));
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut found: Vec<(f64, Triple)> = Vec::new();
    for (mm, at) in all {
        let apart = |other: &(f64, Triple)| t::length(t::sub(other.1, at)) > 5.0;
        if found.len() < 5 && mm > enough && found.iter().all(apart) {
            found.push((mm, at));
        }
    }
    found
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().collect();
    let [_, models, body, wanted @ ..] = args.as_slice() else {
        return Err("usage: surfaces <models> <body> <structure>...".into());
    };
    let model = Model::load(Path::new(models), body)?;
    let kinds = surfaces(&model);
    let named = |kind: &SurfaceKind| wanted.iter().any(|w| kind.node(&model).contains(w));
    for job in sculpt::jobs(&model, &kinds) {
        if !job.iter().any(named) {
            continue;
        }
        let started = std::time::Instant::now();
        for (kind, s) in sculpt::mesh_job(&model, &job)? {
            if s.mirror_of.is_some() {
                continue;
            }
            let allowed = tolerance(&model, kind);
            let q = quantise(&s.mesh, 0.25 * allowed);
            let rounded = TriMesh {
                positions: q.positions.iter().map(|p| p.map(f64::from)).collect(),
                triangles: q.triangles,
            };
            println!(
                "{}: {} triangles, grid {:.2} mm, 99 % within {:.2} of {allowed} mm, worst {:.2}, {} parts, {:.2} mL, \
                 {} crossings, {} when rounded to {:.3} mm",
                kind.node(&model),
                s.mesh.triangles.len(),
                s.step,
                s.error_99,
                s.largest_error,
                s.parts,
                s.volume / 1000.0,
                self_crossings(&s.mesh).len(),
                self_crossings(&rounded).len(),
                q.scale,
            );
            if let Ok(out) = std::env::var("OUT") {
                let path = Path::new(&out).join(kind.node(&model).replace('/', "_") + ".obj");
                std::fs::write(path, obj(&s.mesh))?;
            }
            for (mm, at) in farthest(&s.mesh, &|p| kind.value(&model, p), allowed) {
                println!("    {mm:.2} mm off at {at:.0?}");
            }
        }
        println!("  {:.1} s", started.elapsed().as_secs_f64());
    }
    Ok(())
}
