//! glTF 2.0 binary (Khronos, glTF 2.0 specification, section 4): one named node for each surface.
//!
//! Positions are plain floats in patient mm, unlike the quantised ones of the baked body.
//! The root node turns them into what a glTF viewer expects, metres with y up: head up, and the
//! patient facing the viewer.

use anyhow::{Context as _, Result};
use geometry::Mesh;
use serde_json::{Value, json};

use super::{Named, count};

/// Patient mm to glTF metres, column after column: x stays, back becomes −z, head becomes +y.
const ROOT: [f64; 16] = [
    0.001, 0.0, 0.0, 0.0, //
    0.0, 0.0, -0.001, 0.0, //
    0.0, 0.001, 0.0, 0.0, //
    0.0, 0.0, 0.0, 1.0,
];

const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const ARRAY_BUFFER: u32 = 34962;
const ELEMENT_ARRAY_BUFFER: u32 = 34963;

pub(super) fn encode(meshes: &[Named<'_>]) -> Result<Vec<u8>> {
    let mut binary = Vec::new();
    let (mut views, mut accessors) = (Vec::new(), Vec::new());
    let mut nodes = vec![json!({
        "name": "patient",
        "matrix": ROOT,
        "children": (1..=meshes.len()).collect::<Vec<_>>(),
    })];
    let mut list = Vec::new();
    for (place, named) in meshes.iter().enumerate() {
        let mesh: &Mesh = named.mesh;
        let (low, high) = mesh.bounds().context("a surface without vertices")?;
        let positions = mesh
            .positions
            .iter()
            .flatten()
            .flat_map(|c| c.to_le_bytes());
        views.push(add(&mut binary, positions, ARRAY_BUFFER));
        let indices = mesh
            .triangles
            .iter()
            .flatten()
            .flat_map(|i| i.to_le_bytes());
        views.push(add(&mut binary, indices, ELEMENT_ARRAY_BUFFER));
        accessors.push(json!({
            "bufferView": 2 * place, "componentType": FLOAT, "count": mesh.positions.len(),
            "type": "VEC3", "min": low, "max": high,
        }));
        accessors.push(json!({
            "bufferView": 2 * place + 1, "componentType": UNSIGNED_INT,
            "count": 3 * mesh.triangles.len(), "type": "SCALAR",
        }));
        list.push(json!({
            "name": named.name,
            "primitives": [{
                "attributes": { "POSITION": 2 * place }, "indices": 2 * place + 1, "mode": 4,
            }],
        }));
        nodes.push(json!({ "name": named.name, "mesh": place }));
    }
    let document = json!({
        "asset": { "version": "2.0", "generator": "planeward" },
        "scene": 0,
        "scenes": [{ "nodes": [0] }],
        "nodes": nodes,
        "meshes": list,
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{ "byteLength": binary.len() }],
    });
    container(serde_json::to_vec(&document)?, binary)
}

/// Appends the bytes, and the view that names them; every array here is a whole number of words.
fn add(binary: &mut Vec<u8>, bytes: impl Iterator<Item = u8>, target: u32) -> Value {
    let start = binary.len();
    binary.extend(bytes);
    json!({
        "buffer": 0, "byteOffset": start, "byteLength": binary.len() - start, "target": target,
    })
}

fn container(mut text: Vec<u8>, binary: Vec<u8>) -> Result<Vec<u8>> {
    text.resize(text.len().next_multiple_of(4), b' ');
    let mut bytes = b"glTF".to_vec();
    let length = 12 + 8 + text.len() + 8 + binary.len();
    for word in [2, count(length)?, count(text.len())?] {
        bytes.extend(word.to_le_bytes());
    }
    bytes.extend(b"JSON");
    bytes.extend(text);
    bytes.extend(count(binary.len())?.to_le_bytes());
    bytes.extend(b"BIN\0");
    bytes.extend(binary);
    Ok(bytes)
}
