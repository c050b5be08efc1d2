//! Labels painted from meshes, as the program paints: ascending order, later paint replaces earlier.

use crate::exact_raster::Raster;
use sculpt::exact::Label;
use sculpt::layers::SurfaceKind;
use sculpt::marching::TriMesh;
use sculpt::model::Model;
use sculpt::surface_mesh::SurfaceMesh;
use sculpt::triple::{self as t, Bounds};
use std::collections::BTreeMap;

/// Every surface of a body with its mesh, in paint order.
pub(crate) type Meshes = Vec<(SurfaceKind, SurfaceMesh)>;

pub(crate) fn labels(m: &Model, meshes: &Meshes, raster: &Raster) -> Vec<Label> {
    let count = raster.side * raster.side;
    let mut out = vec![Label::Outside; count];
    // What each structure's solid covers, for walls that are open into it.
    let mut covers: BTreeMap<usize, Vec<bool>> = BTreeMap::new();
    for (kind, s) in meshes {
        if let SurfaceKind::Solid(i) = kind
            && let Some(cover) = cover(&s.mesh, raster)
        {
            covers.insert(*i, cover);
        }
    }
    for (kind, s) in meshes {
        let (label, own, open_into): (Label, Option<Vec<bool>>, &[usize]) = match kind {
            SurfaceKind::Skin => (Label::Skin, cover(&s.mesh, raster), &[]),
            SurfaceKind::Dermis => (Label::Fat, cover(&s.mesh, raster), &[]),
            SurfaceKind::Muscle => (Label::Muscle, cover(&s.mesh, raster), &[]),
            SurfaceKind::Wall(i) => (
                Label::Wall(*i),
                cover(&s.mesh, raster),
                m.structures[*i]
                    .wall
                    .as_ref()
                    .map_or(&[][..], |w| &w.open_into),
            ),
            SurfaceKind::Solid(i) => (Label::Solid(*i), None, &[]),
        };
        let own = match kind {
            SurfaceKind::Solid(i) => covers.get(i),
            _ => own.as_ref(),
        };
        let Some(own) = own else { continue };
        for at in 0..count {
            let open = open_into
                .iter()
                .any(|o| covers.get(o).is_some_and(|c| c[at]));
            if own[at] && !open && (label == Label::Skin || out[at] != Label::Outside) {
                out[at] = label;
            }
        }
    }
    out
}

/// Pixels inside the mesh, by the crossings of each pixel row with the plane's cut; `None` where the raster is missed.
fn cover(mesh: &TriMesh, raster: &Raster) -> Option<Vec<bool>> {
    let normal = t::cross(raster.u, raster.v);
    let length = raster.side as f64;
    let bounds = Bounds::around(mesh.positions.iter().copied());
    let beside = |axis, lo, hi| {
        let along = bounds
            .corners()
            .map(|c| t::dot(t::sub(c, raster.origin), axis));
        along.iter().all(|&x| x < lo) || along.iter().all(|&x| x > hi)
    };
    let extent = length * raster.pitch;
    if beside(normal, 0.0, 0.0) || beside(raster.u, 0.0, extent) || beside(raster.v, 0.0, extent) {
        return None;
    }
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); raster.side];
    let local: Vec<[f64; 3]> = mesh
        .positions
        .iter()
        .map(|&p| {
            let d = t::sub(p, raster.origin);
            [
                t::dot(d, raster.u) / raster.pitch,
                t::dot(d, raster.v) / raster.pitch,
                t::dot(d, normal),
            ]
        })
        .collect();
    for tri in &mesh.triangles {
        let c = tri.map(|v| local[v as usize]);
        let above = c.map(|p| p[2] >= 0.0);
        if above[0] == above[1] && above[1] == above[2] {
            continue;
        }
        let mut ends = [[0.0; 2]; 2];
        let mut n = 0;
        for k in 0..3 {
            let (a, b) = (c[k], c[(k + 1) % 3]);
            if above[k] != above[(k + 1) % 3] {
                // The same arithmetic for both triangles of an edge, whichever way it runs.
                let (a, b) = if a[2] < b[2] { (a, b) } else { (b, a) };
                let s = a[2] / (a[2] - b[2]);
                ends[n] = [a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])];
                n += 1;
            }
        }
        let [a, b] = ends;
        let (lo, hi) = if a[1] < b[1] { (a, b) } else { (b, a) };
        let mut row = lo[1].ceil().max(0.0) as usize;
        while row < raster.side && (row as f64) < hi[1] {
            let s = (row as f64 - lo[1]) / (hi[1] - lo[1]);
            crossings[row].push(lo[0] + s * (hi[0] - lo[0]));
            row += 1;
        }
    }
    let mut inside = vec![false; raster.side * raster.side];
    for (row, xs) in crossings.iter_mut().enumerate() {
        xs.sort_by(f64::total_cmp);
        for pair in xs.chunks(2) {
            let [a, b] = pair else { continue };
            let first = (a.ceil().max(0.0) as usize).min(raster.side);
            let last = (b.ceil().max(0.0) as usize).clamp(first, raster.side);
            inside[row * raster.side + first..row * raster.side + last].fill(true);
        }
    }
    Some(inside)
}
