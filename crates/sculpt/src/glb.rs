//! The binary file of a body: glTF 2.0 (Khronos) as GLB with `KHR_mesh_quantization`, one node per surface.
//!
//! Data are written once: the right one of a pair is a node with the left one's mesh and a negative scale along x (glTF
//! reverses the winding then, section 3.7.2.1 of its specification), and a wall on its lumen's triangles shares their
//! indices.

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

/// glTF is Y-up in metres; patient mm (x left, y back, z head) turn into it by (x, y, z) → (x, z, -y) / 1000.
const ROOT_MATRIX: [f64; 16] = [
    0.001, 0.0, 0.0, 0.0, 0.0, 0.0, -0.001, 0.0, 0.0, 0.001, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0,
];

#[derive(Default)]
struct Document {
    bin: Vec<u8>,
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
                let position = doc.add_positions(m);
                let indices = match last {
                    Some((triangles, accessor)) if triangles == m.triangles.as_slice() => accessor,
                    _ => doc.add_indices(m),
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
    fn add_view(&mut self, start: usize, target: u32, stride: Option<usize>) -> usize {
        let length = self.bin.len() - start;
        let mut view =
            json!({ "buffer": 0, "byteOffset": start, "byteLength": length, "target": target });
        if let Some(stride) = stride {
            view["byteStride"] = json!(stride);
        }
        self.views.push(view);
        self.bin.resize(self.bin.len().next_multiple_of(4), 0);
        self.views.len() - 1
    }

    fn add_positions(&mut self, m: &Quantised) -> usize {
        let start = self.bin.len();
        let (mut lo, mut hi) = ([u16::MAX; 3], [0; 3]);
        for p in &m.positions {
            for k in 0..3 {
                self.bin.extend_from_slice(&p[k].to_le_bytes());
                lo[k] = lo[k].min(p[k]);
                hi[k] = hi[k].max(p[k]);
            }
            self.bin.extend_from_slice(&[0; VERTEX_STRIDE - 6]);
        }
        let view = self.add_view(start, 34962, Some(VERTEX_STRIDE));
        self.accessors.push(json!({
            "bufferView": view, "componentType": 5123, "count": m.positions.len(), "type": "VEC3",
            "min": lo, "max": hi
        }));
        self.accessors.len() - 1
    }

    fn add_indices(&mut self, m: &Quantised) -> usize {
        let start = self.bin.len();
        let short = m.positions.len() <= usize::from(u16::MAX);
        for v in m.triangles.iter().flatten() {
            if short {
                self.bin
                    .extend_from_slice(&u16::try_from(*v).unwrap_or(u16::MAX).to_le_bytes());
            } else {
                self.bin.extend_from_slice(&v.to_le_bytes());
            }
        }
        let view = self.add_view(start, 34963, None);
        self.accessors.push(json!({
            "bufferView": view, "componentType": if short { 5123 } else { 5125 },
            "count": 3 * m.triangles.len(), "type": "SCALAR"
        }));
        self.accessors.len() - 1
    }

    fn into_bytes(self) -> Vec<u8> {
        let document = json!({
            "asset": { "version": "2.0", "generator": "sculpt" },
            "extensionsUsed": ["KHR_mesh_quantization"],
            "extensionsRequired": ["KHR_mesh_quantization"],
            "scene": 0,
            "scenes": [{ "nodes": [0] }],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{ "byteLength": self.bin.len() }]
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
