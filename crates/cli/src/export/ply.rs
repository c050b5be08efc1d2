//! Binary PLY (Turk, The PLY Polygon File Format, 1994; from memory), vertices shared.

use anyhow::Result;

use super::{Named, count};

pub(super) fn encode(meshes: &[Named<'_>]) -> Result<Vec<u8>> {
    let vertices: usize = meshes.iter().map(|named| named.mesh.positions.len()).sum();
    let faces: usize = meshes.iter().map(|named| named.mesh.triangles.len()).sum();
    let mut bytes = format!(
        "ply\nformat binary_little_endian 1.0\n\
         comment patient frame, mm: +x patient left, +y back, +z head\n\
         element vertex {vertices}\n\
         property float x\nproperty float y\nproperty float z\n\
         element face {faces}\nproperty list uchar uint vertex_indices\nend_header\n"
    )
    .into_bytes();
    for named in meshes {
        for position in &named.mesh.positions {
            bytes.extend(position.iter().flat_map(|c| c.to_le_bytes()));
        }
    }
    let mut first = 0;
    for named in meshes {
        for triangle in &named.mesh.triangles {
            bytes.push(3);
            bytes.extend(
                triangle
                    .iter()
                    .flat_map(|vertex| (vertex + first).to_le_bytes()),
            );
        }
        first += count(named.mesh.positions.len())?;
    }
    Ok(bytes)
}
