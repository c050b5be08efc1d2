//! What has been put, kept on this side of the bus so that a lost context can be rebuilt.

use crate::error::UploadError;
use crate::frame::{MeshId, TextureId};
use glam::Vec3;
use std::collections::BTreeMap;

/// Longest side of a texture that every WebGL2 device takes (the standard's least `MAX_TEXTURE_SIZE`).
const MAX_SIDE: u32 = 2048;

/// A mesh as it will be uploaded.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct MeshData {
    pub(crate) positions: Vec<f32>,
    /// Four signed bytes for each vertex: a unit normal and padding.
    pub(crate) normals: Vec<i8>,
    pub(crate) indices: Vec<u32>,
    /// Least and greatest corner.
    pub(crate) bounds: (Vec3, Vec3),
    /// Counts the times this id was put, so that whoever caches a picture of the mesh sees the change.
    pub(crate) generation: u64,
}

/// A picture as it will be uploaded.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PictureData {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) rgba: Vec<u8>,
}

/// Every mesh and texture that was put and not removed.
#[derive(Debug, Default)]
pub(crate) struct SceneData {
    meshes: BTreeMap<MeshId, MeshData>,
    pictures: BTreeMap<TextureId, PictureData>,
    generation: u64,
}

/// A unit component as a signed byte. A step is half a degree, below what soft light shows.
#[expect(
    clippy::cast_possible_truncation,
    reason = "clamped to ±1 and scaled to ±127"
)]
fn signed_byte(x: f32) -> i8 {
    (x.clamp(-1.0, 1.0) * 127.0).round() as i8
}

impl SceneData {
    pub(crate) fn put_mesh(
        &mut self,
        id: MeshId,
        positions: &[f32],
        normals: &[f32],
        indices: &[u32],
    ) -> Result<&MeshData, UploadError> {
        if positions.len() != normals.len() || !positions.len().is_multiple_of(3) {
            return Err(UploadError::Lengths {
                positions: positions.len(),
                normals: normals.len(),
            });
        }
        if !indices.len().is_multiple_of(3) {
            return Err(UploadError::Indices {
                indices: indices.len(),
            });
        }
        if i32::try_from(indices.len()).is_err() || i32::try_from(positions.len()).is_err() {
            return Err(UploadError::TooLarge {
                count: indices.len().max(positions.len()),
            });
        }
        let vertices = positions.len() / 3;
        if let Some(&index) = indices.iter().find(|i| **i as usize >= vertices) {
            return Err(UploadError::IndexRange { index, vertices });
        }
        let bounds =
            positions
                .chunks_exact(3)
                .fold((Vec3::INFINITY, Vec3::NEG_INFINITY), |(lo, hi), p| {
                    let p = Vec3::from_slice(p);
                    (lo.min(p), hi.max(p))
                });
        self.generation += 1;
        let data = MeshData {
            positions: positions.to_vec(),
            normals: normals
                .chunks_exact(3)
                .flat_map(|n| {
                    let n = Vec3::from_slice(n).normalize_or(Vec3::Z);
                    [signed_byte(n.x), signed_byte(n.y), signed_byte(n.z), 0]
                })
                .collect(),
            indices: indices.to_vec(),
            bounds,
            generation: self.generation,
        };
        Ok(self.meshes.entry(id).insert_entry(data).into_mut())
    }

    pub(crate) fn remove_mesh(&mut self, id: MeshId) {
        self.meshes.remove(&id);
    }

    /// Keeps a picture; says whether one of the same size was there before.
    pub(crate) fn put_picture(
        &mut self,
        id: TextureId,
        width: u32,
        height: u32,
        rgba: &[u8],
    ) -> Result<bool, UploadError> {
        let wanted = 4 * u64::from(width) * u64::from(height);
        let sides_fit = (1..=MAX_SIDE).contains(&width) && (1..=MAX_SIDE).contains(&height);
        if !sides_fit || u64::try_from(rgba.len()) != Ok(wanted) {
            return Err(UploadError::Pixels {
                width,
                height,
                bytes: rgba.len(),
            });
        }
        if let Some(old) = self
            .pictures
            .get_mut(&id)
            .filter(|p| p.width == width && p.height == height)
        {
            old.rgba.copy_from_slice(rgba);
            return Ok(true);
        }
        self.pictures.insert(
            id,
            PictureData {
                width,
                height,
                rgba: rgba.to_vec(),
            },
        );
        Ok(false)
    }

    pub(crate) fn remove_picture(&mut self, id: TextureId) {
        self.pictures.remove(&id);
    }

    pub(crate) fn mesh(&self, id: MeshId) -> Option<&MeshData> {
        self.meshes.get(&id)
    }

    pub(crate) fn meshes(&self) -> impl Iterator<Item = (MeshId, &MeshData)> {
        self.meshes.iter().map(|(id, mesh)| (*id, mesh))
    }

    pub(crate) fn pictures(&self) -> impl Iterator<Item = (TextureId, &PictureData)> {
        self.pictures.iter().map(|(id, picture)| (*id, picture))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRIANGLE: [f32; 9] = [0.0, 0.0, 0.0, 4.0, 0.0, 0.0, 0.0, 3.0, -2.0];
    const UP: [f32; 9] = [0.0, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 1.0];

    #[test]
    fn check_bad_meshes_are_refused_and_change_nothing() {
        type Case<'a> = (&'a [f32], &'a [f32], &'a [u32], UploadError);
        let mut scene = SceneData::default();
        let id = MeshId(1);
        scene
            .put_mesh(id, &TRIANGLE, &UP, &[0, 1, 2])
            .expect("a sound mesh");
        let before = scene.mesh(id).cloned();
        let cases: [Case<'_>; 4] = [
            (
                &TRIANGLE[..8],
                &UP[..8],
                &[0, 1, 2],
                UploadError::Lengths {
                    positions: 8,
                    normals: 8,
                },
            ),
            (
                &TRIANGLE,
                &UP[..6],
                &[0, 1, 2],
                UploadError::Lengths {
                    positions: 9,
                    normals: 6,
                },
            ),
            (&TRIANGLE, &UP, &[0, 1], UploadError::Indices { indices: 2 }),
            (
                &TRIANGLE,
                &UP,
                &[0, 1, 3],
                UploadError::IndexRange {
                    index: 3,
                    vertices: 3,
                },
            ),
        ];
        for (positions, normals, indices, want) in cases {
            assert_eq!(
                scene.put_mesh(id, positions, normals, indices).map(|_| ()),
                Err(want),
                "refused by name"
            );
        }
        assert_eq!(
            scene.mesh(id).cloned(),
            before,
            "the mesh that was there stays"
        );
    }

    #[test]
    fn check_meshes_know_their_bounds_and_changes() {
        let mut scene = SceneData::default();
        let first = scene
            .put_mesh(MeshId(7), &TRIANGLE, &UP, &[0, 1, 2])
            .expect("sound")
            .clone();
        assert_eq!(
            first.bounds,
            (Vec3::new(0.0, 0.0, -2.0), Vec3::new(4.0, 3.0, 0.0)),
            "bounds"
        );
        assert_eq!(
            first.normals[..4],
            [0, 0, 127, 0],
            "a unit normal in signed bytes"
        );
        let second = scene
            .put_mesh(MeshId(7), &TRIANGLE, &UP, &[0, 2, 1])
            .expect("sound")
            .generation;
        assert!(
            second > first.generation,
            "a mesh put again is a new generation"
        );
        scene.remove_mesh(MeshId(7));
        assert_eq!(scene.meshes().count(), 0, "removed");
    }

    #[test]
    fn check_pictures_are_reused_when_the_size_is_the_same() {
        let mut scene = SceneData::default();
        let id = TextureId(3);
        assert_eq!(scene.put_picture(id, 2, 1, &[1; 8]), Ok(false), "new");
        assert_eq!(scene.put_picture(id, 2, 1, &[2; 8]), Ok(true), "same size");
        assert_eq!(
            scene.put_picture(id, 1, 1, &[3; 4]),
            Ok(false),
            "another size"
        );
        for (width, height, bytes) in [(0, 1, 0), (2, 2, 12), (4000, 1, 16000)] {
            let refused = scene.put_picture(id, width, height, &vec![0; bytes]);
            assert_eq!(
                refused,
                Err(UploadError::Pixels {
                    width,
                    height,
                    bytes
                }),
                "{width} by {height}"
            );
        }
        assert_eq!(
            scene
                .pictures()
                .map(|(_, p)| p.rgba.clone())
                .collect::<Vec<_>>(),
            [vec![3; 4]],
            "last good one"
        );
    }
}
