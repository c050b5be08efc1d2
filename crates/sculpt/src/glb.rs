//! The binary file of a body: glTF 2.0 (Khronos) as GLB with `KHR_mesh_quantization` and `EXT_meshopt_compression`, one
//! node per surface.
//!
//! Data are written once: the right one of a pair is a node with the left one's mesh and a negative scale along x (glTF
//! reverses the winding then, section 3.7.2.1 of its specification), and a wall on its lumen's triangles shares their
//! indices.

use crate::meshopt;
use crate::quantise::Quantised;
use serde_json::{Value, json};

/// A named mesh for the file, in file order.
#[derive(Debug, Clone)]
pub struct NamedMesh {
    /// Node name.
    pub node: String,
    /// Geometry.
    pub shape: NodeShape,
}

/// Where a node's geometry comes from.
#[derive(Debug, Clone)]
pub enum NodeShape {
    /// Its own.
    Own(Quantised),
    /// The mirror image in x = 0 of an earlier entry of the list.
    MirrorOf(usize),
}

/// Bytes from one vertex to the next: glTF wants attribute strides in multiples of four, three `u16` take six.
const VERTEX_STRIDE: usize = 8;

const COMPRESSION: &str = "EXT_meshopt_compression";

/// glTF is Y-up in metres; patient mm (x left, y back, z head) turn into it by (x, y, z) → (x, z, -y) / 1000.
const ROOT_MATRIX: [f64; 16] = [
    0.001, 0.0, 0.0, 0.0, 0.0, 0.0, -0.001, 0.0, 0.0, 0.001, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0,
];

/// The compressed vertices and triangles of a mesh.
#[must_use]
pub fn streams(m: &Quantised) -> [Vec<u8>; 2] {
    let mut elements = Vec::with_capacity(m.positions.len() * VERTEX_STRIDE);
    for [x, y, z] in &m.positions {
        elements.extend([x, y, z].into_iter().flat_map(|c| c.to_le_bytes()));
        elements.extend_from_slice(&[0; VERTEX_STRIDE - 6]);
    }
    [
        meshopt::attributes(&elements, VERTEX_STRIDE),
        meshopt::triangles(&m.triangles),
    ]
}

#[derive(Default)]
struct Document {
    bin: Vec<u8>,
    /// Length of the decompressed data, which the extension wants laid out in a buffer that holds nothing.
    plain_length: usize,
    views: Vec<Value>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    nodes: Vec<Value>,
}

/// The whole file. The binary chunk holds each mesh's vertices then its indices, in the order given, so that a
/// prefix of the file is enough for the first meshes.
#[must_use]
pub fn write(entries: &[NamedMesh]) -> Vec<u8> {
    let mut doc = Document::default();
    let children: Vec<usize> = (1..=entries.len()).collect();
    doc.nodes
        .push(json!({ "name": "patient", "matrix": ROOT_MATRIX, "children": children }));
    let mut mesh_of: Vec<usize> = Vec::with_capacity(entries.len());
    // Triangles of the mesh written last and their accessor: what a lumen may share with its wall.
    let mut last: Option<(&[[u32; 3]], usize)> = None;
    for entry in entries {
        let (mesh, [x, y, z], scale) = match &entry.shape {
            NodeShape::Own(m) => {
                let [vertices, triangles] = streams(m);
                let position = doc.add_positions(m, &vertices);
                let indices = match last {
                    Some((same, accessor)) if same == m.triangles.as_slice() => accessor,
                    _ => doc.add_indices(m, &triangles),
                };
                last = Some((&m.triangles, indices));
                doc.meshes.push(json!({
                    "primitives": [{ "attributes": { "POSITION": position }, "indices": indices, "mode": 4 }]
                }));
                (doc.meshes.len() - 1, m.translation, [m.scale; 3])
            }
            NodeShape::MirrorOf(twin) => match entries.get(*twin).map(|e| &e.shape) {
                Some(NodeShape::Own(m)) => {
                    let [x, y, z] = m.translation;
                    (mesh_of[*twin], [-x, y, z], [-m.scale, m.scale, m.scale])
                }
                _ => continue,
            },
        };
        mesh_of.push(mesh);
        doc.nodes.push(
            json!({ "name": entry.node, "mesh": mesh, "translation": [x, y, z], "scale": scale }),
        );
    }
    doc.into_bytes()
}

impl Document {
    /// Adds a view of compressed data: `count` elements of `stride` bytes.
    fn add_view(&mut self, stream: &[u8], mode: &str, count: usize, stride: usize) -> usize {
        let vertices = mode == "ATTRIBUTES";
        let mut view = json!({
            "buffer": 1, "byteOffset": self.plain_length, "byteLength": count * stride,
            "target": if vertices { 34962 } else { 34963 },
            "extensions": { COMPRESSION: {
                "buffer": 0, "byteOffset": self.bin.len(), "byteLength": stream.len(),
                "byteStride": stride, "count": count, "mode": mode
            } }
        });
        if vertices {
            view["byteStride"] = json!(stride);
        }
        self.views.push(view);
        self.bin.extend_from_slice(stream);
        self.plain_length = (self.plain_length + count * stride).next_multiple_of(4);
        self.views.len() - 1
    }

    fn add_positions(&mut self, m: &Quantised, stream: &[u8]) -> usize {
        let (mut lo, mut hi) = ([u16::MAX; 3], [0; 3]);
        for p in &m.positions {
            for k in 0..3 {
                lo[k] = lo[k].min(p[k]);
                hi[k] = hi[k].max(p[k]);
            }
        }
        let view = self.add_view(stream, "ATTRIBUTES", m.positions.len(), VERTEX_STRIDE);
        self.accessors.push(json!({
            "bufferView": view, "componentType": 5123, "count": m.positions.len(), "type": "VEC3",
            "min": lo, "max": hi
        }));
        self.accessors.len() - 1
    }

    fn add_indices(&mut self, m: &Quantised, stream: &[u8]) -> usize {
        let short = m.positions.len() <= usize::from(u16::MAX);
        let count = 3 * m.triangles.len();
        let view = self.add_view(stream, "TRIANGLES", count, if short { 2 } else { 4 });
        self.accessors.push(json!({
            "bufferView": view, "componentType": if short { 5123 } else { 5125 },
            "count": count, "type": "SCALAR"
        }));
        self.accessors.len() - 1
    }

    fn into_bytes(mut self) -> Vec<u8> {
        self.bin.resize(self.bin.len().next_multiple_of(4), 0);
        let document = json!({
            "asset": { "version": "2.0", "generator": "sculpt" },
            "extensionsUsed": ["KHR_mesh_quantization", COMPRESSION],
            "extensionsRequired": ["KHR_mesh_quantization", COMPRESSION],
            "scene": 0,
            "scenes": [{ "nodes": [0] }],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [
                { "byteLength": self.bin.len() },
                { "byteLength": self.plain_length, "extensions": { COMPRESSION: { "fallback": true } } }
            ]
        });
        let mut text = document.to_string().into_bytes();
        text.resize(text.len().next_multiple_of(4), b' ');
        let total = 12 + 8 + text.len() + 8 + self.bin.len();
        let mut out = Vec::with_capacity(total);
        let word = |n: usize| u32::try_from(n).unwrap_or(u32::MAX).to_le_bytes();
        out.extend_from_slice(b"glTF");
        out.extend_from_slice(&2_u32.to_le_bytes());
        out.extend_from_slice(&word(total));
        out.extend_from_slice(&word(text.len()));
        out.extend_from_slice(b"JSON");
        out.extend_from_slice(&text);
        out.extend_from_slice(&word(self.bin.len()));
        out.extend_from_slice(b"BIN\0");
        out.extend_from_slice(&self.bin);
        out
    }
}
