//! Small bodies for the tests: meshes with known shapes, and a writer of the two files of a body.
//! The writer exists for tests only; it follows the glTF 2.0 specification and not the reader.

#![allow(
    clippy::allow_attributes,
    dead_code,
    unreachable_pub,
    reason = "a module shared by test files, each of which uses a part of it"
)]
#![allow(
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers of small hand-made meshes; a failure here is a failed test"
)]

use anatomy::catalogue::*;
use geometry::Mesh;
use serde_json::{Value, json};

/// A box of `n`³ cells per side, outward faces.
pub(crate) fn boxed(lo: [f32; 3], hi: [f32; 3], n: u32) -> Mesh {
    mapped(n, |c| {
        [0, 1, 2].map(|k| lo[k] + (hi[k] - lo[k]) * (c[k] + 1.0) / 2.0)
    })
}

/// An ellipsoid: the surface of a cube of `n`³ cells pushed out to it.
pub(crate) fn ellipsoid(centre: [f32; 3], radii: [f32; 3], n: u32) -> Mesh {
    mapped(n, |c| {
        let length = (c[0] * c[0] + c[1] * c[1] + c[2] * c[2]).sqrt();
        [0, 1, 2].map(|k| centre[k] + radii[k] * c[k] / length)
    })
}

/// The surface of the cube −1…1, `n` cells along each edge, mapped by `shape`. Vertices are shared, so it is closed.
pub(crate) fn mapped(n: u32, shape: impl Fn([f32; 3]) -> [f32; 3]) -> Mesh {
    let mut number = std::collections::BTreeMap::new();
    let (mut positions, mut triangles) = (Vec::new(), Vec::new());
    for axis in 0..3 {
        for end in [0, n] {
            for i in 0..n {
                for j in 0..n {
                    let quad = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(u, v)| {
                        let mut cell = [0; 3];
                        cell[axis] = end;
                        cell[(axis + 1) % 3] = u;
                        cell[(axis + 2) % 3] = v;
                        *number.entry(cell).or_insert_with(|| {
                            positions.push(shape(cell.map(|c| 2.0 * c as f32 / n as f32 - 1.0)));
                            positions.len() as u32 - 1
                        })
                    });
                    let [a, b, c, d] = quad;
                    triangles.extend(if end == n {
                        [[a, b, c], [a, c, d]]
                    } else {
                        [[a, c, b], [a, d, c]]
                    });
                }
            }
        }
    }
    Mesh {
        positions,
        triangles,
    }
}

/// How the writer may vary what the specification leaves open.
#[derive(Clone, Copy)]
pub(crate) struct Writing {
    pub(crate) stride: usize,
    pub(crate) wide_indices: bool,
    pub(crate) normalized: bool,
}

pub(crate) const PLAIN: Writing = Writing {
    stride: 8,
    wide_indices: false,
    normalized: false,
};

/// A GLB with one node per mesh, and its JSON for tampering.
pub(crate) fn glb(meshes: &[(&str, Mesh)], how: Writing) -> Vec<u8> {
    let (json, bin) = gltf(meshes, how);
    assemble(&json, &bin)
}

pub(crate) fn gltf(meshes: &[(&str, Mesh)], how: Writing) -> (Value, Vec<u8>) {
    let mut bin = Vec::new();
    let (mut nodes, mut entries, mut accessors, mut views) =
        (vec![json!({})], vec![], vec![], vec![]);
    for (i, (name, mesh)) in meshes.iter().enumerate() {
        let (lo, hi) = mesh.bounds().expect("a mesh");
        let extent = (0..3).map(|k| hi[k] - lo[k]).fold(1e-3_f32, f32::max);
        let start = bin.len();
        for p in &mesh.positions {
            let at = bin.len();
            for k in 0..3 {
                let q = ((p[k] - lo[k]) / extent * 65535.0).round() as u16;
                bin.extend(q.to_le_bytes());
            }
            bin.resize(at + how.stride, 0);
        }
        views.push(json!({ "buffer": 0, "byteOffset": start, "byteLength": bin.len() - start, "byteStride": how.stride, "target": 34962 }));
        accessors.push(json!({ "bufferView": 2 * i, "componentType": 5123, "count": mesh.positions.len(), "type": "VEC3", "normalized": how.normalized }));
        let start = bin.len();
        for corner in mesh.triangles.iter().flatten() {
            if how.wide_indices {
                bin.extend(corner.to_le_bytes());
            } else {
                bin.extend((*corner as u16).to_le_bytes());
            }
        }
        views.push(json!({ "buffer": 0, "byteOffset": start, "byteLength": bin.len() - start, "target": 34963 }));
        accessors.push(json!({ "bufferView": 2 * i + 1, "componentType": if how.wide_indices { 5125 } else { 5123 }, "count": 3 * mesh.triangles.len(), "type": "SCALAR" }));
        bin.resize(bin.len().next_multiple_of(4), 0);
        entries.push(json!({ "primitives": [{ "attributes": { "POSITION": 2 * i }, "indices": 2 * i + 1 }] }));
        let scale = f64::from(extent) / if how.normalized { 1.0 } else { 65535.0 };
        nodes.push(
            json!({ "name": name, "mesh": i, "translation": lo, "scale": [scale, scale, scale] }),
        );
    }
    nodes[0] = json!({
        "name": "patient", "children": (1..nodes.len()).collect::<Vec<_>>(),
        "matrix": [0.001, 0.0, 0.0, 0.0, 0.0, 0.0, -0.001, 0.0, 0.0, 0.001, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]
    });
    let json = json!({
        "asset": { "version": "2.0" }, "scene": 0, "scenes": [{ "nodes": [0] }],
        "extensionsUsed": ["KHR_mesh_quantization"], "extensionsRequired": ["KHR_mesh_quantization"],
        "nodes": nodes, "meshes": entries, "accessors": accessors, "bufferViews": views,
        "buffers": [{ "byteLength": bin.len() }]
    });
    (json, bin)
}

/// Puts the two chunks together.
pub(crate) fn assemble(json: &Value, bin: &[u8]) -> Vec<u8> {
    let mut text = serde_json::to_vec(json).expect("JSON");
    text.resize(text.len().next_multiple_of(4), b' ');
    let mut bin = bin.to_vec();
    bin.resize(bin.len().next_multiple_of(4), 0);
    let mut file = Vec::new();
    for word in [
        0x4654_6C67,
        2,
        (28 + text.len() + bin.len()) as u32,
        text.len() as u32,
        0x4E4F_534A,
    ] {
        file.extend(u32::to_le_bytes(word));
    }
    file.extend(&text);
    for word in [bin.len() as u32, 0x004E_4942] {
        file.extend(u32::to_le_bytes(word));
    }
    file.extend(&bin);
    file
}

pub(crate) fn tissue(key: &str) -> TissueEntry {
    TissueEntry {
        key: key.to_owned(),
        c: 1540.0,
        rho: 1000.0,
        z: 1.54,
        att: 0.5,
        n: 1.0,
        bs: 0.0,
        spec: 0.1,
        shadow: false,
        grain: 1.0,
        texture: "even".to_owned(),
    }
}

pub(crate) fn structure(id: &str, tissue: &str, priority: i32) -> StructureEntry {
    StructureEntry {
        id: id.to_owned(),
        label: id.replace('_', " "),
        short_label: id.to_owned(),
        side: SideEntry::Mid,
        system: "digestive".to_owned(),
        tissue: tissue.to_owned(),
        priority,
        code: None,
        wall: None,
        gas_fraction: None,
        axis: None,
        centre_line: vec![],
        segments: vec![],
        volume_ml: None,
    }
}

pub(crate) fn surface(node: &str, tissue: &str, paint_order: u32) -> SurfaceEntry {
    SurfaceEntry {
        node: node.to_owned(),
        tissue: tissue.to_owned(),
        paint_order,
        not_inside: vec![],
    }
}

/// A body like a large egg: skin, dermis, muscle, a ball ("liver"), a vessel with a wall through the ball's side and a
/// branch whose wall opens into the vessel.
///
/// In the plane z = 0, from −x to +x along y = 0: skin from −100, fat from −98, muscle from −90; ball from −60 to 0;
/// vessel wall from −12 and lumen from −10 to +10, wall to +12; branch lumen from 0 to +40, its wall to +42.
pub(crate) fn egg() -> (Catalogue, Vec<(&'static str, Mesh)>) {
    let meshes = vec![
        ("skin", ellipsoid([0.0; 3], [100.0, 100.0, 150.0], 24)),
        ("skin/dermis", ellipsoid([0.0; 3], [98.0, 98.0, 148.0], 24)),
        ("skin/muscle", ellipsoid([0.0; 3], [90.0, 90.0, 140.0], 24)),
        ("ball", ellipsoid([-30.0, 0.0, 0.0], [30.0, 30.0, 30.0], 16)),
        (
            "vessel/wall",
            boxed([-12.0, -12.0, -80.0], [12.0, 12.0, 80.0], 4),
        ),
        (
            "vessel",
            boxed([-10.0, -10.0, -80.0], [10.0, 10.0, 80.0], 4),
        ),
        (
            "branch/wall",
            boxed([-2.0, -7.0, -7.0], [42.0, 7.0, 7.0], 2),
        ),
        ("branch", boxed([0.0, -5.0, -5.0], [40.0, 5.0, 5.0], 2)),
    ];
    let mut vessel = structure("vessel", "blood", 815);
    vessel.wall = Some(WallEntry {
        tissue: "wall".to_owned(),
        mm: 2.0,
        open_into: vec![],
    });
    vessel.centre_line = vec![[0.0, 0.0, 80.0], [0.0, 0.0, 0.0], [0.0, 0.0, -80.0]];
    vessel.axis = Some(AxisEntry::CentreLine);
    vessel.segments = vec![
        SegmentEntry {
            id: "upper".to_owned(),
            label: "Upper".to_owned(),
            place: SegmentPlace::Arc { from: 0.0, to: 0.5 },
        },
        SegmentEntry {
            id: "lower".to_owned(),
            label: "Lower".to_owned(),
            place: SegmentPlace::Arc { from: 0.5, to: 1.0 },
        },
    ];
    let mut branch = structure("branch", "blood", 820);
    branch.wall = Some(WallEntry {
        tissue: "wall".to_owned(),
        mm: 2.0,
        open_into: vec!["vessel".to_owned()],
    });
    branch.axis = Some(AxisEntry::Line {
        a: [0.0, 0.0, 0.0],
        b: [40.0, 0.0, 0.0],
    });
    let mut branch_wall = surface("branch/wall", "wall", 60);
    branch_wall.not_inside = vec!["vessel".to_owned()];
    let catalogue = Catalogue {
        version: VERSION,
        body: BodyEntry {
            id: "egg".to_owned(),
            label: "Egg".to_owned(),
            sex: SexEntry::Either,
            stature_mm: None,
            offset_scale: 2.0,
            dermis_mm: 2.0,
        },
        landmarks: [("mid".to_owned(), [0.0, 0.0, 10.0])].into(),
        tissues: [
            "skin",
            "fat_subcutaneous",
            "muscle",
            "liver",
            "wall",
            "blood",
        ]
        .map(tissue)
        .into(),
        structures: vec![structure("ball", "liver", 500), vessel, branch],
        surfaces: vec![
            surface("skin", "skin", 0),
            surface("skin/dermis", "fat_subcutaneous", 10),
            surface("skin/muscle", "muscle", 20),
            surface("ball", "liver", 30),
            surface("vessel/wall", "wall", 40),
            surface("vessel", "blood", 50),
            branch_wall,
            surface("branch", "blood", 70),
        ],
        windows: vec![],
    };
    (catalogue, meshes)
}
