//! Reader for the baked meshes: the subset of glTF 2.0 binary (Khronos, glTF 2.0 specification, section 4 "GLB File
//! Format", with the extensions `KHR_mesh_quantization` and `EXT_meshopt_compression`) that a baked body uses, read
//! strictly.
//!
//! A general glTF library would cost more of the download than the whole reader; everything outside the subset is
//! refused by name, and no byte string makes the reader panic or ask for more memory than a small multiple of the
//! file's own size.

mod contents;
mod entry;

use crate::json::JsonError;
use crate::meshopt::StreamError;
use contents::{Document, LARGEST_BODY};
use entry::MeshEntry;
use geometry::Mesh;

const MAGIC: u32 = 0x4654_6C67;
const CHUNK_JSON: u32 = 0x4E4F_534A;
const CHUNK_BIN: u32 = 0x004E_4942;
const HEADER_BYTES: usize = 12;
const CHUNK_HEADER_BYTES: usize = 8;

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
    Json(#[from] JsonError),
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
    /// A compressed stream that cannot be decoded.
    #[error("mesh of node {node:?}: {source}")]
    Stream {
        /// Name of the node.
        node: String,
        /// What is wrong with the stream.
        source: StreamError,
    },
    /// Meshes of more bytes than any body has.
    #[error("the meshes take {0} bytes when decoded, more than {LARGEST_BODY}")]
    TooLarge(usize),
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

/// The table of contents of a GLB: which mesh lies where in the binary chunk. Holds no mesh data itself.
#[derive(Debug, Clone, PartialEq)]
pub struct GlbIndex {
    /// Length of the whole file in bytes, as its header says.
    file_length: usize,
    /// First byte of the binary chunk's data in the file.
    bin_start: usize,
    entries: Vec<MeshEntry>,
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
        let document = Document::read(json)?;
        let entries = contents::entries(&document, bin_start, bin_length)?;
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
        self.entries.get(i).map(MeshEntry::end)
    }

    /// Decodes mesh `i` into patient mm from the first bytes of the file (at least [`needs`](Self::needs) many).
    ///
    /// # Errors
    /// [`GlbError::Missing`] for an unknown mesh, [`GlbError::Truncated`] when its bytes are not all there,
    /// [`GlbError::Vertex`] for a triangle that names a missing vertex, [`GlbError::Stream`] for damaged data.
    pub fn mesh(&self, bytes: &[u8], i: usize) -> Result<Mesh, GlbError> {
        let entry = self.entries.get(i).ok_or_else(|| GlbError::Missing {
            what: "mesh",
            index: i,
            of: "the file".to_owned(),
            len: self.entries.len(),
        })?;
        if bytes.len() < entry.end() {
            return Err(GlbError::Truncated {
                what: "a mesh",
                need: entry.end(),
                have: bytes.len(),
            });
        }
        entry.mesh(bytes)
    }
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let raw: [u8; 4] = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
    Some(u32::from_le_bytes(raw))
}

/// A 32-bit count as a size; every supported target has at least 32-bit sizes.
fn size(count: u32) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}
