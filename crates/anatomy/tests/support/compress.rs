//! A glTF document of the test writer with its views compressed, as a baked body's are.

use serde_json::{Value, json};

/// The same document over a compressed binary chunk.
pub(crate) fn compress((mut json, plain): (Value, Vec<u8>)) -> (Value, Vec<u8>) {
    let mut bin = Vec::new();
    let mut plain_length = 0;
    let accessors = json["accessors"].as_array().cloned().unwrap_or_default();
    let views = json["bufferViews"].as_array_mut().expect("views");
    // The writer makes one accessor a view, in the same order.
    for (view, accessor) in views.iter_mut().zip(&accessors) {
        let number = |key: &str| usize::try_from(view[key].as_u64().expect(key)).expect(key);
        let (start, length) = (number("byteOffset"), number("byteLength"));
        let data = &plain[start..start + length];
        let (stream, mode, stride) = if accessor["type"] == "VEC3" {
            let stride = number("byteStride");
            (
                sculpt::meshopt::attributes(data, stride),
                "ATTRIBUTES",
                stride,
            )
        } else {
            let width = if accessor["componentType"] == 5125 {
                4
            } else {
                2
            };
            let indices = data.chunks(width).map(|raw| {
                let bytes = raw.iter().rev();
                bytes.fold(0, |sum, &byte| sum << 8 | u32::from(byte))
            });
            let indices: Vec<u32> = indices.collect();
            let (triangles, _) = indices.as_chunks::<3>();
            (sculpt::meshopt::triangles(triangles), "TRIANGLES", width)
        };
        view["buffer"] = json!(1);
        view["byteOffset"] = json!(plain_length);
        view["extensions"] = json!({ "EXT_meshopt_compression": {
            "buffer": 0, "byteOffset": bin.len(), "byteLength": stream.len(),
            "byteStride": stride, "count": length / stride, "mode": mode
        } });
        plain_length += length;
        bin.extend(stream);
    }
    let extensions = json!(["KHR_mesh_quantization", "EXT_meshopt_compression"]);
    json["extensionsUsed"] = extensions.clone();
    json["extensionsRequired"] = extensions;
    let fallback = json!({ "EXT_meshopt_compression": { "fallback": true } });
    json["buffers"] = json!([
        { "byteLength": bin.len() },
        { "byteLength": plain_length, "extensions": fallback }
    ]);
    (json, bin)
}
