//! Reader for the baked meshes: the subset of glTF 2.0 binary (Khronos, glTF 2.0 specification, section 4 "GLB File
//! Format", with the extension `KHR_mesh_quantization`) that a baked body uses, read strictly.
//!
//! A general glTF library would cost more of the download than the whole reader; everything outside the subset is
//! refused by name, and no byte string makes the reader panic or ask for more memory than the file's own size.

use geometry::Mesh;
use serde::Deserialize;

const MAGIC: u32 = 0x4654_6C67;
const CHUNK_JSON: u32 = 0x4E4F_534A;
const CHUNK_BIN: u32 = 0x004E_4942;
const HEADER_BYTES: usize = 12;
const CHUNK_HEADER_BYTES: usize = 8;

const UNSIGNED_SHORT: u32 = 5123;
const UNSIGNED_INT: u32 = 5125;
const TRIANGLES: u32 = 4;
const QUANTIZATION: &str = "KHR_mesh_quantization";

/// Why the bytes are not a baked body's GLB.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GlbError {
    /// The file ends before something it promises.
    #[error("the file ends after {have} bytes, {what} needs {need}")]
    Truncated {
        /// What was being read.
        what: &'static str,
        /// Bytes needed from the start of the file.
        need: usize,
        /// Bytes there are.
        have: usize,
    },
    /// The first four bytes are not `glTF`.
    #[error("not a GLB file: the first word is {0:#010x}")]
    Magic(u32),
    /// Another container version.
    #[error("GLB container version {0}, expected 2")]
    Container(u32),
    /// A chunk of another type than the one due.
    #[error("chunk of type {found:#010x} where {expected} is due")]
    Chunk {
        /// Name of the chunk that is due.
        expected: &'static str,
        /// The type word found.
        found: u32,
    },
    /// A chunk that does not fit into the length in the file's header.
    #[error("chunk of {chunk} bytes does not fit into a file of {file} bytes")]
    ChunkLength {
        /// Bytes of the chunk.
        chunk: usize,
        /// Length in the file's header.
        file: usize,
    },
    /// The JSON chunk is not the expected JSON.
    #[error("JSON chunk: {0}")]
    Json(String),
    /// A required extension this reader does not know.
    #[error("required extension {0:?} is not supported")]
    Extension(String),
    /// Another glTF version.
    #[error("glTF version {0:?}, expected \"2.0\"")]
    Version(String),
    /// An index into a glTF array that is too short.
    #[error("{what} {index} of {of}: there are only {len}")]
    Missing {
        /// Which array.
        what: &'static str,
        /// The index.
        index: usize,
        /// Who asked.
        of: String,
        /// Length of the array.
        len: usize,
    },
    /// A node without a name, or a name twice.
    #[error("node name {0:?} is empty or used twice")]
    NodeName(String),
    /// A mesh outside the subset.
    #[error("mesh of node {node:?}: {reason}")]
    Unsupported {
        /// Name of the node.
        node: String,
        /// What is wrong, in words.
        reason: &'static str,
    },
    /// A range of bytes that leaves its container.
    #[error("mesh of node {node:?}: bytes {from}..{to} of {what} leave its {len} bytes")]
    Range {
        /// Name of the node.
        node: String,
        /// What is being read.
        what: &'static str,
        /// First byte.
        from: usize,
        /// One past the last byte.
        to: usize,
        /// Bytes there are.
        len: usize,
    },
    /// A triangle naming a vertex that does not exist.
    #[error("mesh of node {node:?}: vertex {vertex} of a triangle, there are only {len}")]
    Vertex {
        /// Name of the node.
        node: String,
        /// Index of the vertex.
        vertex: u32,
        /// Number of vertices.
        len: usize,
    },
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Document {
    asset: Asset,
    #[serde(default)]
    extensions_required: Vec<String>,
    #[serde(default)]
    nodes: Vec<NodeJson>,
    #[serde(default)]
    meshes: Vec<MeshJson>,
    #[serde(default)]
    accessors: Vec<Accessor>,
    #[serde(default)]
    buffer_views: Vec<BufferView>,
    #[serde(default)]
    buffers: Vec<Buffer>,
}

#[derive(Deserialize)]
struct Asset {
    version: String,
}

#[derive(Deserialize)]
struct NodeJson {
    #[serde(default)]
    name: String,
    mesh: Option<usize>,
    translation: Option<[f64; 3]>,
    scale: Option<[f64; 3]>,
    rotation: Option<[f64; 4]>,
    matrix: Option<[f64; 16]>,
}

#[derive(Deserialize)]
struct MeshJson {
    primitives: Vec<Primitive>,
}

#[derive(Deserialize)]
struct Primitive {
    attributes: Attributes,
    indices: Option<usize>,
    mode: Option<u32>,
}

#[derive(Deserialize)]
struct Attributes {
    #[serde(rename = "POSITION")]
    position: usize,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Accessor {
    buffer_view: Option<usize>,
    #[serde(default)]
    byte_offset: usize,
    component_type: u32,
    #[serde(default)]
    normalized: bool,
    count: usize,
    #[serde(rename = "type")]
    shape: String,
    sparse: Option<serde::de::IgnoredAny>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct BufferView {
    buffer: usize,
    #[serde(default)]
    byte_offset: usize,
    byte_length: usize,
    byte_stride: Option<usize>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Buffer {
    byte_length: usize,
    uri: Option<String>,
}

/// The table of contents of a GLB: which mesh lies where in the binary chunk. Holds no mesh data itself.
#[derive(Debug, Clone, PartialEq)]
pub struct GlbIndex {
    /// Length of the whole file in bytes, as its header says.
    file_length: usize,
    /// First byte of the binary chunk's data in the file.
    bin_start: usize,
    entries: Vec<MeshEntry>,
}

/// One mesh of the file: name, place of its bytes, and how to turn its integers into millimetres.
#[derive(Debug, Clone, PartialEq)]
struct MeshEntry {
    node: String,
    translation: [f64; 3],
    scale: f64,
    /// The node mirrors its mesh in x: the right one of a pair that shares the left one's data.
    mirrored: bool,
    /// First byte in the file, bytes from one vertex to the next, number of vertices.
    positions: (usize, usize, usize),
    /// First byte in the file, bytes per index (2 or 4), number of indices.
    indices: (usize, usize, usize),
    /// One past the last byte of this mesh in the file.
    end: usize,
}

/// What a prefix of a GLB allows.
#[derive(Debug, Clone, PartialEq)]
pub enum Prefix {
    /// At least this many bytes from the start of the file are needed for the next step.
    Needs(usize),
    /// The table of contents is complete.
    Index(GlbIndex),
}

impl GlbIndex {
    /// Reads the table of contents from the first bytes of a GLB, as soon as they are enough.
    ///
    /// # Errors
    /// [`GlbError`] for bytes that no continuation turns into a baked body's GLB.
    pub fn from_prefix(bytes: &[u8]) -> Result<Prefix, GlbError> {
        let Some(header) = bytes.get(..HEADER_BYTES + CHUNK_HEADER_BYTES) else {
            if let Some(magic) = word(bytes, 0).filter(|&magic| magic != MAGIC) {
                return Err(GlbError::Magic(magic));
            }
            return Ok(Prefix::Needs(HEADER_BYTES + CHUNK_HEADER_BYTES));
        };
        let at = |offset| word(header, offset).unwrap_or(0);
        if at(0) != MAGIC {
            return Err(GlbError::Magic(at(0)));
        }
        if at(4) != 2 {
            return Err(GlbError::Container(at(4)));
        }
        let (file_length, json_length) = (size(at(8)), size(at(12)));
        if at(16) != CHUNK_JSON {
            return Err(GlbError::Chunk {
                expected: "JSON",
                found: at(16),
            });
        }
        let json_start = HEADER_BYTES + CHUNK_HEADER_BYTES;
        let json_end = json_start.saturating_add(json_length);
        let bin_start = json_end.saturating_add(CHUNK_HEADER_BYTES);
        if bin_start > file_length {
            return Err(GlbError::ChunkLength {
                chunk: json_length,
                file: file_length,
            });
        }
        let (Some(json), Some(bin_length), Some(bin_type)) = (
            bytes.get(json_start..json_end),
            word(bytes, json_end),
            word(bytes, json_end + 4),
        ) else {
            return Ok(Prefix::Needs(bin_start));
        };
        if bin_type != CHUNK_BIN {
            return Err(GlbError::Chunk {
                expected: "BIN",
                found: bin_type,
            });
        }
        let bin_length = size(bin_length);
        if bin_start.saturating_add(bin_length) != file_length {
            return Err(GlbError::ChunkLength {
                chunk: bin_length,
                file: file_length,
            });
        }
        let document: Document =
            serde_json::from_slice(json).map_err(|error| GlbError::Json(error.to_string()))?;
        let entries = entries(&document, bin_start, bin_length)?;
        Ok(Prefix::Index(Self {
            file_length,
            bin_start,
            entries,
        }))
    }

    /// Reads the table of contents of a whole file.
    ///
    /// # Errors
    /// [`GlbError`], also [`GlbError::Truncated`] when the file is shorter than its header says.
    pub fn from_file(bytes: &[u8]) -> Result<Self, GlbError> {
        match Self::from_prefix(bytes)? {
            Prefix::Needs(need) => Err(GlbError::Truncated {
                what: "the table of contents",
                need,
                have: bytes.len(),
            }),
            Prefix::Index(index) if index.file_length != bytes.len() => Err(GlbError::Truncated {
                what: "the file",
                need: index.file_length,
                have: bytes.len(),
            }),
            Prefix::Index(index) => Ok(index),
        }
    }

    /// Length of the whole file in bytes, as its header says.
    #[must_use]
    pub fn file_length(&self) -> usize {
        self.file_length
    }

    /// Number of meshes.
    #[must_use]
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether the file has no mesh at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Name of the node of mesh `i`, in file order.
    #[must_use]
    pub fn node(&self, i: usize) -> Option<&str> {
        self.entries.get(i).map(|entry| entry.node.as_str())
    }

    /// Number of the mesh whose node has this name.
    #[must_use]
    pub fn find(&self, node: &str) -> Option<usize> {
        self.entries.iter().position(|entry| entry.node == node)
    }

    /// How many bytes from the start of the file mesh `i` needs.
    #[must_use]
    pub fn needs(&self, i: usize) -> Option<usize> {
        self.entries.get(i).map(|entry| entry.end)
    }

    /// Decodes mesh `i` into patient mm from the first bytes of the file (at least [`needs`](Self::needs) many).
    ///
    /// # Errors
    /// [`GlbError::Missing`] for an unknown mesh, [`GlbError::Truncated`] when its bytes are not all there,
    /// [`GlbError::Vertex`] for a triangle that names a missing vertex.
    pub fn mesh(&self, bytes: &[u8], i: usize) -> Result<Mesh, GlbError> {
        let entry = self.entries.get(i).ok_or_else(|| GlbError::Missing {
            what: "mesh",
            index: i,
            of: "the file".to_owned(),
            len: self.entries.len(),
        })?;
        if bytes.len() < entry.end {
            return Err(GlbError::Truncated {
                what: "a mesh",
                need: entry.end,
                have: bytes.len(),
            });
        }
        let (start, stride, count) = entry.positions;
        // The last vertex may end before its stride does, so the ranges were checked to 6 bytes only.
        let mut positions = Vec::with_capacity(count);
        for vertex in 0..count {
            let at = start + vertex * stride;
            let raw: [u8; 6] = bytes
                .get(at..at + 6)
                .and_then(|slice| slice.try_into().ok())
                .unwrap_or([0; 6]);
            let axis = |k: usize| {
                let q = f64::from(u16::from_le_bytes([raw[2 * k], raw[2 * k + 1]]));
                let scale = if entry.mirrored && k == 0 {
                    -entry.scale
                } else {
                    entry.scale
                };
                single(entry.translation[k] + scale * q)
            };
            positions.push([axis(0), axis(1), axis(2)]);
        }
        let (start, width, count) = entry.indices;
        let data = bytes.get(start..start + width * count).unwrap_or(&[]);
        let vertex_count = positions.len();
        let mut triangles = Vec::with_capacity(count / 3);
        let mut push = |triangle: [u32; 3]| {
            let largest = triangle[0].max(triangle[1]).max(triangle[2]);
            if size(largest) >= vertex_count {
                return Err(GlbError::Vertex {
                    node: entry.node.clone(),
                    vertex: largest,
                    len: vertex_count,
                });
            }
            let [a, b, c] = triangle;
            // glTF 2.0, section 3.7.2.1: a negative determinant reverses the winding.
            triangles.push(if entry.mirrored { [a, c, b] } else { triangle });
            Ok(())
        };
        if width == 2 {
            let (corners, _) = data.as_chunks::<6>();
            for c in corners {
                push([
                    u32::from(u16::from_le_bytes([c[0], c[1]])),
                    u32::from(u16::from_le_bytes([c[2], c[3]])),
                    u32::from(u16::from_le_bytes([c[4], c[5]])),
                ])?;
            }
        } else {
            let (corners, _) = data.as_chunks::<12>();
            for c in corners {
                push([
                    u32::from_le_bytes([c[0], c[1], c[2], c[3]]),
                    u32::from_le_bytes([c[4], c[5], c[6], c[7]]),
                    u32::from_le_bytes([c[8], c[9], c[10], c[11]]),
                ])?;
            }
        }
        Ok(Mesh {
            positions,
            triangles,
        })
    }
}

fn entries(
    document: &Document,
    bin_start: usize,
    bin_length: usize,
) -> Result<Vec<MeshEntry>, GlbError> {
    if document.asset.version != "2.0" {
        return Err(GlbError::Version(document.asset.version.clone()));
    }
    if let Some(extension) = document
        .extensions_required
        .iter()
        .find(|name| *name != QUANTIZATION)
    {
        return Err(GlbError::Extension(extension.clone()));
    }
    let mut entries = Vec::new();
    let mut names: Vec<&str> = Vec::new();
    for node in &document.nodes {
        let Some(mesh) = node.mesh else { continue };
        if node.name.is_empty() {
            return Err(GlbError::NodeName(node.name.clone()));
        }
        names.push(&node.name);
        entries.push(entry(document, node, mesh, bin_start, bin_length)?);
    }
    names.sort_unstable();
    match names.windows(2).find(|pair| pair[0] == pair[1]) {
        Some(pair) => Err(GlbError::NodeName(pair[0].to_owned())),
        None => Ok(entries),
    }
}

fn entry(
    document: &Document,
    node: &NodeJson,
    mesh: usize,
    bin_start: usize,
    bin_length: usize,
) -> Result<MeshEntry, GlbError> {
    let unsupported = |reason| GlbError::Unsupported {
        node: node.name.clone(),
        reason,
    };
    let missing = |what, index, len| GlbError::Missing {
        what,
        index,
        of: format!("node {:?}", node.name),
        len,
    };
    let mesh = document
        .meshes
        .get(mesh)
        .ok_or_else(|| missing("mesh", mesh, document.meshes.len()))?;
    let [primitive] = mesh.primitives.as_slice() else {
        return Err(unsupported("exactly one primitive is expected"));
    };
    if primitive.mode.unwrap_or(TRIANGLES) != TRIANGLES {
        return Err(unsupported("the primitive must be a triangle list"));
    }
    if node.rotation.is_some() || node.matrix.is_some() {
        return Err(unsupported(
            "a mesh node may only have a translation and a scale",
        ));
    }
    let translation = node.translation.unwrap_or([0.0; 3]);
    let [sx, scale, sz] = node.scale.unwrap_or([1.0; 3]);
    let mirrored = sx < 0.0;
    if sx.abs().to_bits() != scale.to_bits() || scale.to_bits() != sz.to_bits() {
        return Err(unsupported(
            "the scale must be the same along x, y and z, but for the sign along x",
        ));
    }
    let accessor_of = |index: usize| {
        document
            .accessors
            .get(index)
            .ok_or_else(|| missing("accessor", index, document.accessors.len()))
    };
    let positions = accessor_of(primitive.attributes.position)?;
    if positions.shape != "VEC3" || positions.component_type != UNSIGNED_SHORT {
        return Err(unsupported("positions must be VEC3 of unsigned shorts"));
    }
    let scale = if positions.normalized {
        scale / f64::from(u16::MAX)
    } else {
        scale
    };
    // A coordinate beyond this is no body; the limit keeps every later sum far inside the range of f32.
    let sane = |value: f64| value.is_finite() && value.abs() <= 1.0e5;
    if !(translation.iter().copied().all(sane) && sane(scale * f64::from(u16::MAX)) && scale > 0.0)
    {
        return Err(unsupported("translation or scale out of range"));
    }
    let indices = accessor_of(
        primitive
            .indices
            .ok_or_else(|| unsupported("indices are missing"))?,
    )?;
    let width = match indices.component_type {
        UNSIGNED_SHORT => 2,
        UNSIGNED_INT => 4,
        _ => {
            return Err(unsupported(
                "indices must be unsigned shorts or unsigned ints",
            ));
        }
    };
    if indices.shape != "SCALAR" || indices.normalized || indices.count % 3 != 0 {
        return Err(unsupported("indices must be scalars, three to a triangle"));
    }

    let view_of = |accessor: &Accessor| {
        if accessor.sparse.is_some() {
            return Err(unsupported("sparse accessors are not supported"));
        }
        let index = accessor
            .buffer_view
            .ok_or_else(|| unsupported("an accessor has no buffer view"))?;
        let view = document
            .buffer_views
            .get(index)
            .ok_or_else(|| missing("buffer view", index, document.buffer_views.len()))?;
        let buffer = document
            .buffers
            .get(view.buffer)
            .ok_or_else(|| missing("buffer", view.buffer, document.buffers.len()))?;
        if view.buffer != 0 || buffer.uri.is_some() {
            return Err(unsupported("all data must lie in the binary chunk"));
        }
        let len = buffer.byte_length.min(bin_length);
        let to = view.byte_offset.saturating_add(view.byte_length);
        if to > len {
            return Err(GlbError::Range {
                node: node.name.clone(),
                what: "buffer",
                from: view.byte_offset,
                to,
                len,
            });
        }
        Ok(view)
    };
    // First byte in the file of `count` elements of `element` bytes, `stride` apart.
    let place = |accessor: &Accessor, view: &BufferView, element: usize, stride: usize| {
        let span = match accessor.count.checked_sub(1) {
            Some(steps) => steps.saturating_mul(stride).saturating_add(element),
            None => 0,
        };
        let to = accessor.byte_offset.saturating_add(span);
        if to > view.byte_length {
            return Err(GlbError::Range {
                node: node.name.clone(),
                what: "buffer view",
                from: accessor.byte_offset,
                to,
                len: view.byte_length,
            });
        }
        let start = bin_start + view.byte_offset;
        Ok((start + accessor.byte_offset, start + to))
    };

    let view = view_of(positions)?;
    let stride = view.byte_stride.unwrap_or(6);
    if stride < 6 {
        return Err(unsupported("the stride of the positions is below 6 bytes"));
    }
    let (position_start, position_end) = place(positions, view, 6, stride)?;
    let view = view_of(indices)?;
    if view.byte_stride.is_some_and(|stride| stride != width) {
        return Err(unsupported("indices must be tightly packed"));
    }
    let (index_start, index_end) = place(indices, view, width, width)?;
    Ok(MeshEntry {
        node: node.name.clone(),
        translation,
        scale,
        mirrored,
        positions: (position_start, stride, positions.count),
        indices: (index_start, width, indices.count),
        end: position_end.max(index_end),
    })
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let raw: [u8; 4] = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
    Some(u32::from_le_bytes(raw))
}

/// A 32-bit count as a size; every supported target has at least 32-bit sizes.
fn size(count: u32) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}

/// A coordinate within the checked range of ±1e5 mm·2, rounded to the mesh's own precision.
#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to f32 is the mesh's stored precision (below 0.01 mm)"
)]
fn single(mm: f64) -> f32 {
    mm as f32
}
