//! The binary file of a body: glTF 2.0 (Khronos) as GLB with `KHR_mesh_quantization`, one mesh and node per surface.

use crate::quantise::Quantised;
use serde_json::{Value, json};

/// A named mesh for the file, in file order.
#[derive(Debug, Clone)]
pub struct NamedMesh {
    /// Node name.
    pub node: String,
    /// Geometry.
    pub mesh: Quantised,
}

/// Bytes from one vertex to the next: glTF wants attribute strides in multiples of four, three `u16` take six.
const VERTEX_STRIDE: usize = 8;

/// glTF is Y-up in metres; patient mm (x left, y back, z head) turn into it by (x, y, z) → (x, z, -y) / 1000.
const ROOT_MATRIX: [f64; 16] =
    [0.001, 0.0, 0.0, 0.0, 0.0, 0.0, -0.001, 0.0, 0.0, 0.001, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0];

/// The whole file. The binary chunk holds each mesh's vertices then its indices, in the order given, so that a
/// prefix of the file is enough for the first meshes.
#[must_use]
pub fn write(meshes: &[NamedMesh]) -> Vec<u8> {
    let mut bin: Vec<u8> = Vec::new();
    let mut views: Vec<Value> = Vec::new();
    let mut accessors: Vec<Value> = Vec::new();
    let mut gltf_meshes: Vec<Value> = Vec::new();
    let mut nodes: Vec<Value> = Vec::new();
    let children: Vec<usize> = (1..=meshes.len()).collect();
    nodes.push(json!({ "name": "patient", "matrix": ROOT_MATRIX, "children": children }));
    for (i, named) in meshes.iter().enumerate() {
        let m = &named.mesh;
        let start = bin.len();
        for p in &m.positions {
            for v in p {
                bin.extend_from_slice(&v.to_le_bytes());
            }
            bin.extend_from_slice(&[0; VERTEX_STRIDE - 6]);
        }
        views.push(json!({
            "buffer": 0, "byteOffset": start, "byteLength": bin.len() - start,
            "byteStride": VERTEX_STRIDE, "target": 34962
        }));
        let (mut lo, mut hi) = ([u16::MAX; 3], [0; 3]);
        for p in &m.positions {
            for k in 0..3 {
                lo[k] = lo[k].min(p[k]);
                hi[k] = hi[k].max(p[k]);
            }
        }
        accessors.push(json!({
            "bufferView": 2 * i, "componentType": 5123, "count": m.positions.len(), "type": "VEC3",
            "min": lo, "max": hi
        }));
        let start = bin.len();
        let short = m.positions.len() <= usize::from(u16::MAX);
        for v in m.triangles.iter().flatten() {
            if short {
                bin.extend_from_slice(&u16::try_from(*v).unwrap_or(u16::MAX).to_le_bytes());
            } else {
                bin.extend_from_slice(&v.to_le_bytes());
            }
        }
        let length = bin.len() - start;
        bin.resize(bin.len().next_multiple_of(4), 0);
        views.push(json!({ "buffer": 0, "byteOffset": start, "byteLength": length, "target": 34963 }));
        accessors.push(json!({
            "bufferView": 2 * i + 1, "componentType": if short { 5123 } else { 5125 },
            "count": 3 * m.triangles.len(), "type": "SCALAR"
        }));
        gltf_meshes.push(json!({
            "primitives": [{ "attributes": { "POSITION": 2 * i }, "indices": 2 * i + 1, "mode": 4 }]
        }));
        nodes.push(json!({
            "name": named.node, "mesh": i,
            "translation": m.translation, "scale": [m.scale, m.scale, m.scale]
        }));
    }
    let document = json!({
        "asset": { "version": "2.0", "generator": "sculpt" },
        "extensionsUsed": ["KHR_mesh_quantization"],
        "extensionsRequired": ["KHR_mesh_quantization"],
        "scene": 0,
        "scenes": [{ "nodes": [0] }],
        "nodes": nodes,
        "meshes": gltf_meshes,
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{ "byteLength": bin.len() }]
    });
    let mut text = document.to_string().into_bytes();
    text.resize(text.len().next_multiple_of(4), b' ');
    let total = 12 + 8 + text.len() + 8 + bin.len();
    let mut out = Vec::with_capacity(total);
    let word = |n: usize| u32::try_from(n).unwrap_or(u32::MAX).to_le_bytes();
    out.extend_from_slice(b"glTF");
    out.extend_from_slice(&2_u32.to_le_bytes());
    out.extend_from_slice(&word(total));
    out.extend_from_slice(&word(text.len()));
    out.extend_from_slice(b"JSON");
    out.extend_from_slice(&text);
    out.extend_from_slice(&word(bin.len()));
    out.extend_from_slice(b"BIN\0");
    out.extend_from_slice(&bin);
    out
}
