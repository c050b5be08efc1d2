//! Binary STL (3D Systems, Stereolithography Interface Specification, 1989; from memory).

use anyhow::Result;

use super::{Named, count};

pub(super) fn encode(meshes: &[Named<'_>]) -> Result<Vec<u8>> {
    let faces: usize = meshes.iter().map(|named| named.mesh.triangles.len()).sum();
    // 80 bytes of free text; it must not begin with "solid", which marks the text form.
    let mut bytes = b"planeward: patient frame, mm, +x patient left, +y back, +z head".to_vec();
    bytes.resize(80, b' ');
    bytes.extend(count(faces)?.to_le_bytes());
    for named in meshes {
        for triangle in &named.mesh.triangles {
            let [a, b, c] = triangle.map(|vertex| named.mesh.positions[vertex as usize]);
            for corner in [normal(a, b, c), a, b, c] {
                bytes.extend(corner.iter().flat_map(|value| value.to_le_bytes()));
            }
            bytes.extend([0, 0]);
        }
    }
    Ok(bytes)
}

/// The unit normal of a triangle; zero for one without area, as the format asks.
fn normal(a: [f32; 3], b: [f32; 3], c: [f32; 3]) -> [f32; 3] {
    let [p, q] = [b, c].map(|corner| [corner[0] - a[0], corner[1] - a[1], corner[2] - a[2]]);
    let cross = [
        p[1] * q[2] - p[2] * q[1],
        p[2] * q[0] - p[0] * q[2],
        p[0] * q[1] - p[1] * q[0],
    ];
    let length = (cross[0] * cross[0] + cross[1] * cross[1] + cross[2] * cross[2]).sqrt();
    if length > 0.0 {
        cross.map(|c| c / length)
    } else {
        [0.0; 3]
    }
}
