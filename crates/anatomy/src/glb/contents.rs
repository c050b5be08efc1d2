//! The JSON chunk: which meshes a file names, and where their bytes lie.

use super::GlbError;
use super::entry::{Array, MeshEntry};
use crate::json::{Json, JsonError, kind};

const UNSIGNED_SHORT: u32 = 5123;
const UNSIGNED_INT: u32 = 5125;
const TRIANGLES: u32 = 4;
/// The extensions a file may require.
const EXTENSIONS: [&str; 2] = ["KHR_mesh_quantization", "EXT_meshopt_compression"];

/// Most bytes that all meshes of a file may take when decoded: about a hundred whole bodies. Without a limit a
/// short file could name one mesh thousands of times.
pub(super) const LARGEST_BODY: usize = 1 << 28;

pub(super) struct Document {
    version: String,
    extensions_required: Vec<String>,
    nodes: Vec<NodeJson>,
    meshes: Vec<MeshJson>,
    accessors: Vec<Accessor>,
    buffer_views: Vec<BufferView>,
    buffers: Vec<Buffer>,
}

struct NodeJson {
    name: String,
    mesh: Option<usize>,
    translation: Option<[f64; 3]>,
    scale: Option<[f64; 3]>,
    /// A rotation or a matrix.
    turned: bool,
}

struct MeshJson {
    primitives: Vec<Primitive>,
}

struct Primitive {
    position: usize,
    indices: Option<usize>,
    mode: Option<u32>,
}

struct Accessor {
    buffer_view: Option<usize>,
    byte_offset: usize,
    component_type: u32,
    normalized: bool,
    count: usize,
    shape: String,
    sparse: bool,
}

struct BufferView {
    buffer: usize,
    byte_offset: usize,
    byte_length: usize,
    byte_stride: Option<usize>,
    compression: Option<Compression>,
}

struct Compression {
    buffer: usize,
    byte_offset: usize,
    byte_length: usize,
    byte_stride: usize,
    count: usize,
    mode: String,
    filter: Option<String>,
}

struct Buffer {
    byte_length: usize,
    uri: Option<String>,
}

/// An index or a count that may be absent.
fn maybe(json: &Json, name: &'static str) -> Result<Option<usize>, JsonError> {
    json.get(name).map(|_| json.size(name)).transpose()
}

/// Three numbers that may be absent.
fn triple(json: &Json, name: &'static str) -> Result<Option<[f64; 3]>, JsonError> {
    json.get(name)
        .map(|value| value.as_numbers(name))
        .transpose()
}

/// A string that may be absent.
fn word(json: &Json, name: &'static str) -> Result<Option<String>, JsonError> {
    let text = json
        .get(name)
        .map(|value| value.as_text(name))
        .transpose()?;
    Ok(text.map(str::to_owned))
}

impl Document {
    /// Reads the chunk; fields that do not matter here are passed over, as glTF 2.0 wants it.
    ///
    /// # Errors
    /// [`JsonError`].
    pub(super) fn read(bytes: &[u8]) -> Result<Self, JsonError> {
        let json = Json::read(bytes)?;
        Ok(Self {
            version: json.need("asset")?.text("version")?.to_owned(),
            extensions_required: json.texts("extensionsRequired")?,
            nodes: json.each("nodes", node)?,
            meshes: json.each("meshes", |mesh| {
                mesh.need("primitives")?;
                Ok(MeshJson {
                    primitives: mesh.each("primitives", primitive)?,
                })
            })?,
            accessors: json.each("accessors", accessor)?,
            buffer_views: json.each("bufferViews", buffer_view)?,
            buffers: json.each("buffers", |buffer| {
                Ok(Buffer {
                    byte_length: buffer.size("byteLength")?,
                    uri: word(buffer, "uri")?,
                })
            })?,
        })
    }
}

fn node(json: &Json) -> Result<NodeJson, JsonError> {
    Ok(NodeJson {
        name: word(json, "name")?.unwrap_or_default(),
        mesh: maybe(json, "mesh")?,
        translation: triple(json, "translation")?,
        scale: triple(json, "scale")?,
        turned: json.get("rotation").is_some() || json.get("matrix").is_some(),
    })
}

fn primitive(json: &Json) -> Result<Primitive, JsonError> {
    Ok(Primitive {
        position: json.need("attributes")?.size("POSITION")?,
        indices: maybe(json, "indices")?,
        mode: json.get("mode").map(|_| json.count("mode")).transpose()?,
    })
}

fn accessor(json: &Json) -> Result<Accessor, JsonError> {
    Ok(Accessor {
        buffer_view: maybe(json, "bufferView")?,
        byte_offset: maybe(json, "byteOffset")?.unwrap_or(0),
        component_type: json.count("componentType")?,
        normalized: match json.get("normalized") {
            None => false,
            Some(Json::Bool(flag)) => *flag,
            Some(_) => return Err(kind("true or false", "normalized")),
        },
        count: json.size("count")?,
        shape: json.text("type")?.to_owned(),
        sparse: json.get("sparse").is_some(),
    })
}

fn buffer_view(json: &Json) -> Result<BufferView, JsonError> {
    let compression = json
        .get("extensions")
        .and_then(|extensions| extensions.get("EXT_meshopt_compression"));
    Ok(BufferView {
        buffer: json.size("buffer")?,
        byte_offset: maybe(json, "byteOffset")?.unwrap_or(0),
        byte_length: json.size("byteLength")?,
        byte_stride: maybe(json, "byteStride")?,
        compression: compression.map(packed).transpose()?,
    })
}

fn packed(json: &Json) -> Result<Compression, JsonError> {
    Ok(Compression {
        buffer: json.size("buffer")?,
        byte_offset: maybe(json, "byteOffset")?.unwrap_or(0),
        byte_length: json.size("byteLength")?,
        byte_stride: json.size("byteStride")?,
        count: json.size("count")?,
        mode: json.text("mode")?.to_owned(),
        filter: word(json, "filter")?,
    })
}

/// The meshes of a file whose binary chunk has `bin_length` bytes from byte `bin_start` on.
pub(super) fn entries(
    document: &Document,
    bin_start: usize,
    bin_length: usize,
) -> Result<Vec<MeshEntry>, GlbError> {
    if document.version != "2.0" {
        return Err(GlbError::Version(document.version.clone()));
    }
    if let Some(extension) = document
        .extensions_required
        .iter()
        .find(|name| !EXTENSIONS.contains(&name.as_str()))
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
    let decoded = entries.iter().fold(0_usize, |sum, entry| {
        [&entry.positions, &entry.indices]
            .into_iter()
            .fold(sum, |sum, array| {
                let (count, stride) = array.packed.unwrap_or((array.count, array.stride));
                sum.saturating_add(count.saturating_mul(stride))
            })
    });
    if decoded > LARGEST_BODY {
        return Err(GlbError::TooLarge(decoded));
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
    if node.turned {
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
    let positions = accessor_of(primitive.position)?;
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
        if accessor.sparse {
            return Err(unsupported("sparse accessors are not supported"));
        }
        let index = accessor
            .buffer_view
            .ok_or_else(|| unsupported("an accessor has no buffer view"))?;
        document
            .buffer_views
            .get(index)
            .ok_or_else(|| missing("buffer view", index, document.buffer_views.len()))
    };
    let range = |what, from: usize, length: usize, len: usize| {
        let to = from.saturating_add(length);
        if to > len {
            return Err(GlbError::Range {
                node: node.name.clone(),
                what,
                from,
                to,
                len,
            });
        }
        Ok(from..to)
    };
    // The bytes of a buffer that must be the binary chunk, as places in the file.
    let in_chunk = |buffer: usize, from: usize, length: usize| {
        let declared = document
            .buffers
            .get(buffer)
            .ok_or_else(|| missing("buffer", buffer, document.buffers.len()))?;
        if buffer != 0 || declared.uri.is_some() {
            return Err(unsupported("all data must lie in the binary chunk"));
        }
        let bytes = range("buffer", from, length, declared.byte_length.min(bin_length))?;
        Ok(bin_start + bytes.start..bin_start + bytes.end)
    };
    // `element` bytes are used of each element; `stride` is the distance between them.
    let array = |accessor: &Accessor, view: &BufferView, element: usize, stride: usize, mode| {
        let span = match accessor.count.checked_sub(1) {
            Some(steps) => steps.saturating_mul(stride).saturating_add(element),
            None => 0,
        };
        let part = range("buffer view", accessor.byte_offset, span, view.byte_length)?;
        let Some(packed) = &view.compression else {
            let bytes = in_chunk(view.buffer, view.byte_offset, view.byte_length)?;
            return Ok(Array {
                bytes: bytes.start + part.start..bytes.start + part.end,
                packed: None,
                offset: 0,
                stride,
                count: accessor.count,
            });
        };
        if packed.mode != mode || packed.filter.as_deref().is_some_and(|f| f != "NONE") {
            return Err(unsupported(
                "vertices are compressed as ATTRIBUTES, indices as TRIANGLES, both without a filter",
            ));
        }
        if packed.byte_stride != stride
            || packed.count.checked_mul(stride) != Some(view.byte_length)
        {
            return Err(unsupported(
                "a compressed view and what it holds differ in length",
            ));
        }
        Ok(Array {
            bytes: in_chunk(packed.buffer, packed.byte_offset, packed.byte_length)?,
            packed: Some((packed.count, stride)),
            offset: part.start,
            stride,
            count: accessor.count,
        })
    };

    let view = view_of(positions)?;
    let stride = view.byte_stride.unwrap_or(6);
    if stride < 6 {
        return Err(unsupported("the stride of the positions is below 6 bytes"));
    }
    let positions = array(positions, view, 6, stride, "ATTRIBUTES")?;
    let view = view_of(indices)?;
    if view.byte_stride.is_some_and(|stride| stride != width) {
        return Err(unsupported("indices must be tightly packed"));
    }
    let indices = array(indices, view, width, width, "TRIANGLES")?;
    if indices
        .packed
        .is_some_and(|(count, _)| count != indices.count)
    {
        return Err(unsupported("compressed indices must be used whole"));
    }
    Ok(MeshEntry {
        node: node.name.clone(),
        translation,
        scale,
        mirrored,
        positions,
        indices,
    })
}
