//! The catalogue that stands beside the meshes.

use crate::codes::Codes;
use crate::layers::{SurfaceKind, painted_structures};
use crate::model::{Axis, Model, Region, Side, Structure};
use crate::surface_mesh::SurfaceMesh;
use crate::triple::{self as t, Triple};
use anatomy::catalogue::{
    AxisEntry, BodyEntry, Catalogue, SegmentEntry, SegmentPlace, SexEntry, SideEntry,
    StructureEntry, SurfaceEntry, TissueEntry, VERSION, WallEntry, WindowEntry,
};

/// What stands in tables of its own beside the descriptions of bodies.
pub(crate) struct Tables {
    pub(crate) tissues: Vec<TissueEntry>,
    pub(crate) windows: Vec<WindowEntry>,
    pub(crate) codes: Codes,
}

/// Everything about a body but its meshes.
pub(crate) fn catalogue(
    model: &Model,
    kinds: &[SurfaceKind],
    meshes: &[&SurfaceMesh],
    tables: Tables,
) -> Result<Catalogue, serde_json::Error> {
    let sex = serde_json::from_value(serde_json::Value::String(model.sex.clone()))
        .unwrap_or(SexEntry::Either);
    let own_mesh = |i: usize| {
        kinds
            .iter()
            .zip(meshes)
            .find(|(k, _)| **k == SurfaceKind::Solid(i))
            .map(|(_, m)| *m)
    };
    let structures = model
        .structures
        .iter()
        .enumerate()
        .filter(|(_, s)| s.tissue != "none")
        .map(|(i, s)| {
            let skin = (i == model.skin).then(|| meshes[0]);
            structure(model, i, s, own_mesh(i).or(skin), &tables.codes)
        })
        .collect();
    let surfaces = kinds
        .iter()
        .zip(0..)
        .map(|(&kind, paint_order)| SurfaceEntry {
            node: kind.node(model),
            tissue: kind.tissue(model).to_owned(),
            paint_order,
            not_inside: match kind {
                SurfaceKind::Wall(i) => open_into(model, i),
                _ => Vec::new(),
            },
        })
        .collect();
    Ok(Catalogue {
        version: VERSION,
        body: BodyEntry {
            id: model.id.clone(),
            label: model.label.clone(),
            sex,
            stature_mm: model.stature_mm,
            offset_scale: model.offset_scale,
            dermis_mm: model.dermis_mm,
        },
        landmarks: model
            .landmarks
            .iter()
            .map(|(k, v)| (k.clone(), v.map(tidy)))
            .collect(),
        tissues: tables.tissues,
        structures,
        surfaces,
        windows: tables.windows,
    })
}

/// Ids of the painted structures that a wall is open into.
fn open_into(model: &Model, i: usize) -> Vec<String> {
    let painted = painted_structures(model);
    model.structures[i]
        .wall
        .iter()
        .flat_map(|w| &w.open_into)
        .filter(|o| painted.contains(o))
        .map(|&o| model.structures[o].id.clone())
        .collect()
}

fn structure(
    model: &Model,
    i: usize,
    s: &Structure,
    mesh: Option<&SurfaceMesh>,
    codes: &Codes,
) -> StructureEntry {
    // A covering or a filling has no axis anybody would name.
    let nameless = i == model.skin || s.id == "cavity_fat";
    let axis = match &s.axis {
        _ if nameless => None,
        Axis::Line { a, b } => Some(AxisEntry::Line {
            a: a.map(tidy),
            b: b.map(tidy),
        }),
        Axis::Centreline => Some(AxisEntry::CentreLine),
        Axis::Principal => mesh.map(|m| {
            let (a, b) = principal(m);
            AxisEntry::Principal {
                a: a.map(tidy),
                b: b.map(tidy),
            }
        }),
    };
    StructureEntry {
        id: s.id.clone(),
        label: s.label.clone(),
        short_label: s.short_label.clone(),
        side: match s.side {
            Side::Left => SideEntry::Left,
            Side::Right => SideEntry::Right,
            Side::Mid => SideEntry::Mid,
        },
        system: s.system.clone(),
        tissue: s.tissue.clone(),
        priority: i32::try_from(s.priority).unwrap_or(i32::MAX),
        code: codes.of(s),
        wall: s.wall.as_ref().map(|w| WallEntry {
            tissue: w.tissue.clone(),
            mm: tidy(w.mm),
            open_into: open_into(model, i),
        }),
        gas_fraction: s.gas_fraction,
        axis,
        centre_line: s.centreline.iter().map(|p| p.map(tenth)).collect(),
        segments: s
            .segments
            .iter()
            .map(|g| SegmentEntry {
                id: g.id.clone(),
                label: g.label.clone(),
                place: place(&g.region),
            })
            .collect(),
        volume_ml: mesh.map(|m| tidy(m.volume / 1000.0)),
    }
}

fn place(region: &Region) -> SegmentPlace {
    match *region {
        Region::Arc { from, to } => SegmentPlace::Arc { from, to },
        Region::Z { from, to } => SegmentPlace::Z {
            from: tidy(from),
            to: tidy(to),
        },
        Region::AxisFraction { from, to } => SegmentPlace::Axis { from, to },
        Region::HalfSpace { at, n } => SegmentPlace::Halfspace {
            at: at.map(tidy),
            n,
        },
        Region::Ellipsoid { c, r } => SegmentPlace::Ellipsoid {
            c: c.map(tidy),
            r: r.map(tidy),
        },
        Region::Box { lo, hi } => SegmentPlace::Box {
            lo: lo.map(tidy),
            hi: hi.map(tidy),
        },
    }
}

/// Rounded to a micrometre: nothing here is known better, and the file is smaller.
fn tidy(x: f64) -> f64 {
    let y = (x * 1000.0).round() / 1000.0;
    if y == 0.0 { 0.0 } else { y }
}

/// Rounded to a tenth of a millimetre: centre lines are long lists, and only their direction is asked for.
fn tenth(x: f64) -> f64 {
    let y = (x * 10.0).round() / 10.0;
    if y == 0.0 { 0.0 } else { y }
}

/// Ends of the extent along the principal direction of the surface, through its centre, mm.
fn principal(mesh: &SurfaceMesh) -> (Triple, Triple) {
    let m = &mesh.mesh;
    let mut weight = 0.0;
    let mut centre = [0.0; 3];
    let parts: Vec<(Triple, f64)> = m
        .triangles
        .iter()
        .map(|tri| {
            let [a, b, c] = tri.map(|v| m.positions[v as usize]);
            let area = t::length(t::cross(t::sub(b, a), t::sub(c, a)));
            (t::scale(t::add(a, t::add(b, c)), 1.0 / 3.0), area)
        })
        .collect();
    for (p, w) in &parts {
        weight += w;
        centre = t::add(centre, t::scale(*p, *w));
    }
    let centre = t::scale(centre, 1.0 / f64::max(weight, 1e-12));
    let mut cov = [[0.0; 3]; 3];
    for (p, w) in &parts {
        let d = t::sub(*p, centre);
        for i in 0..3 {
            for k in 0..3 {
                cov[i][k] += w * d[i] * d[k];
            }
        }
    }
    // Power iteration from a start that no body part is exactly perpendicular to.
    let mut axis = [0.267, 0.535, 0.802];
    for _ in 0..200 {
        axis = t::unit(t::apply(&cov, axis)).unwrap_or([0.0, 0.0, 1.0]);
    }
    let along = |p: &Triple| t::dot(t::sub(*p, centre), axis);
    let lo = m.positions.iter().map(along).fold(f64::INFINITY, f64::min);
    let hi = m
        .positions
        .iter()
        .map(along)
        .fold(f64::NEG_INFINITY, f64::max);
    (
        t::add(centre, t::scale(axis, lo)),
        t::add(centre, t::scale(axis, hi)),
    )
}
