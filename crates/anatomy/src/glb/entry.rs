//! One mesh of the file, from its bytes to millimetres.

use super::{GlbError, size};
use crate::meshopt::{self, StreamError};
use geometry::Mesh;
use std::borrow::Cow;
use std::ops::Range;

/// One mesh of the file: name, place of its bytes, and how to turn its integers into millimetres.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MeshEntry {
    pub(super) node: String,
    pub(super) translation: [f64; 3],
    pub(super) scale: f64,
    /// The node mirrors its mesh in x: the right one of a pair that shares the left one's data.
    pub(super) mirrored: bool,
    pub(super) positions: Array,
    pub(super) indices: Array,
}

/// An accessor's elements.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Array {
    /// The bytes of the file that it is made from.
    pub(super) bytes: Range<usize>,
    /// If these bytes are a compressed stream: how many elements of how many bytes it holds.
    pub(super) packed: Option<(usize, usize)>,
    /// First byte of the first element, after decoding.
    pub(super) offset: usize,
    /// Bytes from one element to the next.
    pub(super) stride: usize,
    /// Number of elements.
    pub(super) count: usize,
}

impl MeshEntry {
    /// One past the last byte of this mesh in the file.
    pub(super) fn end(&self) -> usize {
        self.positions.bytes.end.max(self.indices.bytes.end)
    }

    /// The mesh, patient mm.
    ///
    /// # Errors
    /// [`GlbError::Vertex`] and [`GlbError::Stream`].
    pub(super) fn mesh(&self, file: &[u8]) -> Result<Mesh, GlbError> {
        let positions = self.positions(file)?;
        let mut triangles = self.triangles(file, positions.len())?;
        if self.mirrored {
            // glTF 2.0, section 3.7.2.1: a negative determinant reverses the winding.
            for [_, b, c] in &mut triangles {
                std::mem::swap(b, c);
            }
        }
        Ok(Mesh {
            positions,
            triangles,
        })
    }

    fn damaged(&self, source: StreamError) -> GlbError {
        GlbError::Stream {
            node: self.node.clone(),
            source,
        }
    }

    /// Vertices, patient mm.
    fn positions(&self, file: &[u8]) -> Result<Vec<[f32; 3]>, GlbError> {
        let array = &self.positions;
        let bytes = file.get(array.bytes.clone()).unwrap_or(&[]);
        let data = match array.packed {
            None => Cow::Borrowed(bytes),
            Some((count, stride)) => Cow::Owned(
                meshopt::attributes(bytes, count, stride).map_err(|error| self.damaged(error))?,
            ),
        };
        let axis = |raw: &[u8; 6], k: usize| {
            let q = f64::from(u16::from_le_bytes([raw[2 * k], raw[2 * k + 1]]));
            let scale = if self.mirrored && k == 0 {
                -self.scale
            } else {
                self.scale
            };
            single(self.translation[k] + scale * q)
        };
        // The last vertex may end before its stride does, so the ranges were checked to 6 bytes only.
        let elements = data.get(array.offset..).unwrap_or(&[]);
        let vertices = elements.chunks(array.stride).take(array.count);
        Ok(vertices
            .filter_map(|element| element.first_chunk::<6>())
            .map(|raw| [axis(raw, 0), axis(raw, 1), axis(raw, 2)])
            .collect())
    }

    /// Triangles as they stand in the file, all of whose corners are below `vertices`.
    fn triangles(&self, file: &[u8], vertices: usize) -> Result<Vec<[u32; 3]>, GlbError> {
        let array = &self.indices;
        let bytes = file.get(array.bytes.clone()).unwrap_or(&[]);
        let triangles: Vec<[u32; 3]> = match (array.packed, array.stride) {
            (Some((count, width)), _) => {
                let vertices = if width == 2 {
                    vertices.min(1 << 16)
                } else {
                    vertices
                };
                return meshopt::triangles(bytes, count, vertices)
                    .map_err(|error| self.damaged(error));
            }
            (None, 2) => bytes
                .as_chunks::<6>()
                .0
                .iter()
                .map(|&[a, b, c, d, e, f]| {
                    [[a, b], [c, d], [e, f]].map(|raw| u32::from(u16::from_le_bytes(raw)))
                })
                .collect(),
            (None, _) => bytes
                .as_chunks::<12>()
                .0
                .iter()
                .map(|corners| {
                    let (words, _) = corners.as_chunks::<4>();
                    [0, 1, 2].map(|k| words.get(k).map_or(0, |&raw| u32::from_le_bytes(raw)))
                })
                .collect(),
        };
        match triangles.iter().flatten().find(|&&v| size(v) >= vertices) {
            None => Ok(triangles),
            Some(&vertex) => Err(GlbError::Vertex {
                node: self.node.clone(),
                vertex,
                len: vertices,
            }),
        }
    }
}

/// A coordinate within the checked range of ±1e5 mm·2, rounded to the mesh's own precision.
#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to f32 is the mesh's stored precision (below 0.01 mm)"
)]
fn single(mm: f64) -> f32 {
    mm as f32
}
