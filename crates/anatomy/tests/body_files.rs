//! Reading bodies: what is accepted, what is refused and how, staged reading, and that no bytes make it panic.

#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

#[path = "support/compress.rs"]
mod compress;
mod support;

use anatomy::catalogue::*;
use anatomy::glb::{GlbError, GlbIndex, Prefix};
use anatomy::{Body, BodyFileError, BodyReader, CatalogueError, Stage, SurfaceKind, TissueId};
use compress::compress;
use geometry::Mesh;
use proptest::prelude::*;
use serde_json::json;
use support::{PLAIN, Writing, assemble, egg, glb, gltf};

fn read(catalogue: &Catalogue, glb: &[u8]) -> Result<Body, BodyFileError> {
    Body::read(glb, &catalogue.to_json().expect("JSON"))
}

/// Triangles as they begin at their lowest corner: compression keeps the sense but not the first corner.
fn from_lowest(triangles: &[[u32; 3]]) -> Vec<[u32; 3]> {
    let turned = triangles
        .iter()
        .map(|&[a, b, c]| [[a, b, c], [b, c, a], [c, a, b]].into_iter().min());
    turned.map(Option::unwrap_or_default).collect()
}

#[test]
fn a_body_comes_back_as_written() {
    let (catalogue, meshes) = egg();
    for how in [
        PLAIN,
        Writing {
            stride: 12,
            ..PLAIN
        },
        Writing {
            wide_indices: true,
            ..PLAIN
        },
        Writing {
            normalized: true,
            ..PLAIN
        },
        Writing {
            stride: 12,
            wide_indices: true,
            ..PLAIN
        },
    ] {
        let (json, bin) = compress(gltf(&meshes, how));
        check_written(
            &read(&catalogue, &assemble(&json, &bin)).expect("a compressed body"),
            &meshes,
        );
        let body = read(&catalogue, &glb(&meshes, how)).expect("a body");
        check_written(&body, &meshes);
    }
}

fn check_written(body: &Body, meshes: &[(&str, Mesh)]) {
    assert_eq!(body.surfaces().len(), meshes.len(), "one surface per mesh");
    for (i, (name, mesh)) in meshes.iter().enumerate() {
        let got = body.cut_set().mesh(i);
        assert_eq!(
            from_lowest(&got.triangles),
            from_lowest(&mesh.triangles),
            "{name}"
        );
        for (a, b) in got.positions.iter().zip(&mesh.positions) {
            for k in 0..3 {
                // Half a step of the quantisation: the largest mesh is 300 mm long.
                assert!(
                    (a[k] - b[k]).abs() <= 300.0 / 65535.0 / 2.0 + 1e-4,
                    "{name}: {a:?} {b:?}"
                );
            }
        }
        assert_eq!(
            body.surface_normals(i).len(),
            mesh.positions.len(),
            "{name}: a normal per vertex"
        );
    }
    assert!(
        body.surface_normals(999).is_empty(),
        "an unknown surface has no normals"
    );
}

#[test]
fn names_are_resolved() {
    let (catalogue, meshes) = egg();
    let body = read(&catalogue, &glb(&meshes, PLAIN)).expect("a body");
    let vessel = body.find("vessel").expect("a vessel");
    let branch = body.find("branch").expect("a branch");
    assert_eq!(
        body.structure(branch)
            .wall
            .as_ref()
            .expect("a wall")
            .open_into,
        [vessel]
    );
    assert_eq!(body.surfaces()[4].kind, SurfaceKind::Wall(vessel));
    assert_eq!(body.surfaces()[5].kind, SurfaceKind::Solid(vessel));
    assert_eq!(body.surfaces()[6].not_inside, [5]);
    assert_eq!(body.surfaces()[3].tissue, TissueId(3));
    assert_eq!(body.tissue(TissueId(3)).key, "liver");
    assert!(body.find("spleen").is_none(), "no such structure");
}

#[test]
fn the_skin_comes_first() {
    let (_, meshes) = egg();
    let (json, bin) = compress(gltf(&meshes, PLAIN));
    for file in [glb(&meshes, PLAIN), assemble(&json, &bin)] {
        check_skin_first(&file);
    }
}

fn check_skin_first(file: &[u8]) {
    let (catalogue, _) = egg();
    let mut reader = BodyReader::from_catalogue(&catalogue).expect("a catalogue");
    assert_eq!(reader.facts().id, "egg", "facts are there before any mesh");
    // Feed exactly what is asked for; every stage must ask for more than it got, and the skin long before the end.
    let (mut have, mut skin_at) = (0, None);
    loop {
        match reader.feed(&file[..have]).expect("a good prefix") {
            Stage::Waiting(need) => {
                assert!(reader.skin().is_none(), "no skin while waiting");
                assert!(need > have && need <= file.len(), "{need} after {have}");
                have = need;
            }
            Stage::Skin(need) => {
                skin_at.get_or_insert(have);
                assert!(reader.skin().is_some(), "the skin is usable");
                assert_eq!(need, file.len(), "all that is left");
                have = need;
            }
            Stage::Complete => break,
        }
    }
    let skin_at = skin_at.expect("a stage with only the skin");
    assert!(
        skin_at < file.len() / 2,
        "skin after {skin_at} of {} bytes",
        file.len()
    );
    let body = reader.finish(file).expect("a body");
    assert_eq!(body.skin().mesh(), body.cut_set().mesh(0), "one skin");
}

fn check_catalogue_refused(change: impl Fn(&mut Catalogue), wanted: &str) {
    let (mut catalogue, meshes) = egg();
    change(&mut catalogue);
    let error = read(&catalogue, &glb(&meshes, PLAIN))
        .expect_err(wanted)
        .to_string();
    assert!(
        error.contains(wanted),
        "{error:?} should contain {wanted:?}"
    );
}

#[test]
fn bad_catalogues_are_refused_by_name() {
    check_catalogue_refused(|c| c.version = 2, "catalogue version 2, expected 1");
    check_catalogue_refused(
        |c| c.structures[0].tissue = "jam".into(),
        "\"ball\" names the unknown tissue \"jam\"",
    );
    check_catalogue_refused(
        |c| c.structures[0].system = "postal".into(),
        "unknown body system \"postal\"",
    );
    check_catalogue_refused(
        |c| c.structures[1].id = "ball".into(),
        "structure \"ball\" occurs twice",
    );
    check_catalogue_refused(
        |c| c.surfaces[3].node = "vessel".into(),
        "surface \"vessel\" occurs twice",
    );
    check_catalogue_refused(
        |c| c.surfaces[3].node = "spleen".into(),
        "unknown structure \"spleen\"",
    );
    check_catalogue_refused(
        |c| c.surfaces[6].not_inside = vec!["x".into()],
        "unknown surface \"x\"",
    );
    check_catalogue_refused(
        |c| c.surfaces.swap(0, 1),
        "the first surface must be the skin",
    );
    check_catalogue_refused(|c| c.surfaces.clear(), "the first surface must be the skin");
    check_catalogue_refused(
        |c| c.surfaces[2].paint_order = 10,
        "paint orders must ascend strictly",
    );
    check_catalogue_refused(
        |c| c.structures[1].centre_line.clear(),
        "the axis is the centre line",
    );
    check_catalogue_refused(
        |c| c.structures[1].centre_line = vec![[1.0; 3]; 3],
        "the centre line has no length",
    );
    check_catalogue_refused(
        |c| c.structures[0].gas_fraction = Some(1.5),
        "gas_fraction of \"ball\" is 1.5",
    );
    check_catalogue_refused(
        |c| c.body.offset_scale = 0.0,
        "offset_scale of \"egg\" is 0",
    );
    check_catalogue_refused(
        |c| {
            c.landmarks.insert("far".into(), [0.0, 1e12, 0.0]);
        },
        "landmark",
    );
    check_catalogue_refused(
        |c| c.tissues = vec![support::tissue("a"); 300],
        "300 tissues",
    );
    check_catalogue_refused(
        |c| {
            c.structures[2].axis = Some(AxisEntry::Line {
                a: [1.0; 3],
                b: [1.0; 3],
            });
        },
        "the axis has no length",
    );
    check_catalogue_refused(
        |c| {
            let place = SegmentPlace::Axis { from: 0.0, to: 1.0 };
            c.structures[0].segments = vec![SegmentEntry {
                id: "a".into(),
                label: "A".into(),
                place,
            }];
        },
        "a segment by axis needs an axis",
    );
    check_catalogue_refused(
        |c| {
            let place = SegmentPlace::Arc { from: 0.0, to: 2.0 };
            c.structures[1].segments = vec![SegmentEntry {
                id: "a".into(),
                label: "A".into(),
                place,
            }];
        },
        "segment limit of \"vessel\" is 2",
    );
}

#[test]
fn catalogues_are_json_of_this_version_only() {
    for (bytes, wanted) in [
        (&b""[..], "not a body catalogue"),
        (b"{}", "missing field `version`"),
        (b"{\"version\":7}", "version 7"),
        (b"{\"version\":1}", "missing field"),
        (b"\xff\xfe", "not a body catalogue"),
    ] {
        let error = BodyReader::new(bytes).expect_err(wanted).to_string();
        assert!(
            error.contains(wanted),
            "{error:?} should contain {wanted:?}"
        );
    }
    let (catalogue, _) = egg();
    let mut value: serde_json::Value =
        serde_json::from_slice(&catalogue.to_json().expect("JSON")).expect("JSON");
    value["structures"][0]["colour"] = json!("red");
    let error = BodyReader::new(value.to_string().as_bytes()).expect_err("an unknown field");
    assert!(
        matches!(error, BodyFileError::Catalogue(CatalogueError::Json(_))),
        "{error}"
    );
}

fn check_gltf_refused(change: impl Fn(&mut serde_json::Value), wanted: &str) {
    check_refused(gltf(&egg().1, PLAIN), change, wanted);
}

fn check_compressed_refused(change: impl Fn(&mut serde_json::Value), wanted: &str) {
    check_refused(compress(gltf(&egg().1, PLAIN)), change, wanted);
}

fn check_refused(
    (mut json, bin): (serde_json::Value, Vec<u8>),
    change: impl Fn(&mut serde_json::Value),
    wanted: &str,
) {
    let (catalogue, _) = egg();
    change(&mut json);
    let error = read(&catalogue, &assemble(&json, &bin))
        .expect_err(wanted)
        .to_string();
    assert!(
        error.contains(wanted),
        "{error:?} should contain {wanted:?}"
    );
}

#[test]
fn meshes_outside_the_subset_are_refused_by_name() {
    check_gltf_refused(
        |j| j["asset"]["version"] = json!("1.0"),
        "glTF version \"1.0\"",
    );
    check_gltf_refused(
        |j| j["extensionsRequired"] = json!(["X_y"]),
        "required extension \"X_y\"",
    );
    check_gltf_refused(
        |j| j["nodes"][1]["name"] = json!("hide"),
        "surface \"skin\" of the catalogue has no mesh",
    );
    check_gltf_refused(
        |j| j["nodes"][2]["name"] = json!("skin"),
        "node name \"skin\" is empty or used twice",
    );
    check_gltf_refused(
        |j| j["nodes"][2]["name"] = json!(""),
        "node name \"\" is empty",
    );
    check_gltf_refused(
        |j| j["nodes"][1]["mesh"] = json!(99),
        "mesh 99 of node \"skin\": there are only 8",
    );
    check_gltf_refused(
        |j| j["nodes"][1]["rotation"] = json!([0, 0, 0, 1]),
        "only have a translation and a scale",
    );
    check_gltf_refused(
        |j| j["nodes"][1]["scale"] = json!([1, 1, 2]),
        "the same along x, y and z",
    );
    check_gltf_refused(
        |j| j["nodes"][1]["scale"] = json!([0, 0, 0]),
        "out of range",
    );
    check_gltf_refused(
        |j| j["nodes"][1]["translation"] = json!([1e300, 0, 0]),
        "out of range",
    );
    check_gltf_refused(
        |j| j["meshes"][0]["primitives"][0]["mode"] = json!(5),
        "triangle list",
    );
    check_gltf_refused(
        |j| j["meshes"][0]["primitives"] = json!([]),
        "exactly one primitive",
    );
    check_gltf_refused(
        |j| j["meshes"][0]["primitives"][0]["attributes"]["POSITION"] = json!(99),
        "accessor 99",
    );
    check_gltf_refused(
        |j| j["accessors"][0]["componentType"] = json!(5126),
        "VEC3 of unsigned shorts",
    );
    check_gltf_refused(
        |j| j["accessors"][1]["componentType"] = json!(5121),
        "unsigned shorts or unsigned ints",
    );
    check_gltf_refused(
        |j| j["accessors"][1]["count"] = json!(4),
        "three to a triangle",
    );
    check_gltf_refused(
        |j| j["accessors"][1]["count"] = json!(3_000_000),
        "leave its",
    );
    check_gltf_refused(
        |j| j["accessors"][0]["count"] = json!(u64::MAX),
        "leave its",
    );
    check_gltf_refused(
        |j| j["accessors"][0]["byteOffset"] = json!(u64::MAX),
        "leave its",
    );
    check_gltf_refused(
        |j| j["bufferViews"][0]["byteLength"] = json!(u64::MAX),
        "leave its",
    );
    check_gltf_refused(
        |j| j["bufferViews"][0]["byteStride"] = json!(2),
        "below 6 bytes",
    );
    check_gltf_refused(|j| j["bufferViews"][0]["buffer"] = json!(3), "buffer 3");
    check_gltf_refused(|j| j["buffers"][0]["uri"] = json!("a.bin"), "binary chunk");
    check_gltf_refused(|j| j["accessors"][0]["sparse"] = json!({}), "sparse");
    // Too few vertices for the triangles.
    check_gltf_refused(
        |j| j["accessors"][0]["count"] = json!(3),
        "of a triangle, there are only 3",
    );
    // One triangle short: no longer closed.
    check_gltf_refused(
        |j| {
            j["accessors"][1]["count"] =
                json!(j["accessors"][1]["count"].as_u64().expect("a count") - 3);
        },
        "mesh \"skin\"",
    );
}

#[test]
fn compressed_meshes_outside_the_subset_are_refused_by_name() {
    let check = |view: usize, key: &'static str, value: serde_json::Value, wanted: &str| {
        let change = |j: &mut serde_json::Value| {
            j["bufferViews"][view]["extensions"]["EXT_meshopt_compression"][key] = value.clone();
        };
        check_compressed_refused(change, wanted);
    };
    check(0, "mode", json!("TRIANGLES"), "compressed as ATTRIBUTES");
    check(1, "mode", json!("INDICES"), "indices as TRIANGLES");
    check(0, "filter", json!("OCTAHEDRAL"), "without a filter");
    check(
        0,
        "buffer",
        json!(1),
        "all data must lie in the binary chunk",
    );
    check(0, "buffer", json!(7), "buffer 7");
    check(0, "byteStride", json!(12), "differ in length");
    check(0, "count", json!(5), "differ in length");
    check(0, "count", json!(u64::MAX), "differ in length");
    check(0, "byteLength", json!(u64::MAX), "leave its");
    check(0, "byteOffset", json!(u64::MAX), "leave its");
    check(0, "byteLength", json!(20), "ends too early");
    check(0, "byteOffset", json!(1), "0xa0 is due");
    check(1, "byteLength", json!(20), "ends too early");
    check_compressed_refused(|j| j["accessors"][1]["count"] = json!(3), "used whole");
    check_compressed_refused(|j| j["accessors"][0]["count"] = json!(3), "names vertex");
    // A short stream that claims to be long, and a short file that uses one mesh over and over.
    check_compressed_refused(
        |j| {
            let view = &mut j["bufferViews"][0];
            view["byteLength"] = json!(80_000_000);
            view["extensions"]["EXT_meshopt_compression"]["count"] = json!(10_000_000);
        },
        "ends too early",
    );
    check_compressed_refused(
        |j| {
            let node = j["nodes"][1].clone();
            let nodes = j["nodes"].as_array_mut().expect("nodes");
            for copy in 0..20_000 {
                let mut node = node.clone();
                node["name"] = json!(format!("copy {copy}"));
                nodes.push(node);
            }
        },
        "when decoded",
    );
}

/// The right one of a pair is a node whose x scale is negative over the left one's data: it is the mirror image, and
/// still faces outward.
#[test]
fn a_node_mirrors_its_mesh() {
    let (mut json, bin) = gltf(
        &[(
            "left",
            support::boxed([10.0, -2.0, -3.0], [20.0, 2.0, 3.0], 3),
        )],
        PLAIN,
    );
    let mut right = json["nodes"][1].clone();
    right["name"] = json!("right");
    for (key, index) in [("translation", 0), ("scale", 0)] {
        right[key][index] = json!(-right[key][index].as_f64().expect("a number"));
    }
    json["nodes"].as_array_mut().expect("nodes").push(right);
    let file = assemble(&json, &bin);
    let index = GlbIndex::from_file(&file).expect("an index");
    let [left, right] = ["left", "right"].map(|name| {
        index
            .mesh(&file, index.find(name).expect("a node"))
            .expect("a mesh")
    });
    for (l, r) in left.positions.iter().zip(&right.positions) {
        assert!(
            (l[0] + r[0]).abs() < 1e-4 && l[1..] == r[1..],
            "{l:?} {r:?}"
        );
    }
    for mesh in [&left, &right] {
        mesh.check().expect("closed");
        assert!(
            (mesh.volume_mm3() - 240.0).abs() < 0.1,
            "{} mm³",
            mesh.volume_mm3()
        );
    }
}

#[test]
fn bad_containers_are_refused_by_name() {
    let (_, meshes) = egg();
    let file = glb(&meshes, PLAIN);
    let patched = |at: usize, word: u32| {
        let mut file = file.clone();
        file[at..at + 4].copy_from_slice(&word.to_le_bytes());
        GlbIndex::from_file(&file)
    };
    assert_eq!(patched(0, 1), Err(GlbError::Magic(1)));
    assert_eq!(patched(4, 1), Err(GlbError::Container(1)));
    assert_eq!(
        patched(16, 5),
        Err(GlbError::Chunk {
            expected: "JSON",
            found: 5
        })
    );
    assert!(
        matches!(patched(12, u32::MAX), Err(GlbError::ChunkLength { .. })),
        "a chunk beyond the file"
    );
    assert!(
        matches!(patched(8, 100), Err(GlbError::ChunkLength { .. })),
        "a file below its chunks"
    );
    assert!(
        matches!(
            GlbIndex::from_file(&file[..file.len() - 1]),
            Err(GlbError::Truncated { .. })
        ),
        "cut off"
    );
    assert_eq!(
        GlbIndex::from_prefix(b"PK\x03\x04"),
        Err(GlbError::Magic(0x0403_4B50))
    );
    assert_eq!(GlbIndex::from_prefix(b""), Ok(Prefix::Needs(20)));
}

/// The two files of a body of eight small boxes, so that a change hits something that matters.
fn small(compressed: bool) -> &'static (Vec<u8>, Vec<u8>) {
    static FILES: [std::sync::OnceLock<(Vec<u8>, Vec<u8>)>; 2] =
        [std::sync::OnceLock::new(), std::sync::OnceLock::new()];
    FILES[usize::from(compressed)].get_or_init(|| {
        let (catalogue, mut meshes) = egg();
        for (_, mesh) in &mut meshes {
            *mesh = support::boxed([0.0; 3], [10.0; 3], 1);
        }
        let (mut json, mut bin) = gltf(&meshes, PLAIN);
        if compressed {
            (json, bin) = compress((json, bin));
        }
        (assemble(&json, &bin), catalogue.to_json().expect("JSON"))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = GlbIndex::from_file(&bytes);
        let _ = Body::read(&bytes, &bytes);
    }

    #[test]
    fn no_change_of_a_good_file_makes_it_panic(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8),
        in_glb in any::<bool>(),
        compressed in any::<bool>(),
        cut in any::<prop::sample::Index>(),
    ) {
        let (mut glb, mut catalogue) = small(compressed).clone();
        let target = if in_glb { &mut glb } else { &mut catalogue };
        for (at, byte) in changes {
            let at = at.index(target.len());
            target[at] = byte;
        }
        let _ = Body::read(&glb, &catalogue);
        if let Ok(mut reader) = BodyReader::new(&catalogue) {
            let _ = reader.feed(&glb[..cut.index(glb.len())]);
            let _ = reader.feed(&glb);
        }
    }

    /// Digits of the JSON chunk replaced by others reach the range checks much more often than random bytes do.
    #[test]
    fn no_change_of_a_number_makes_it_panic(
        changes in prop::collection::vec((any::<prop::sample::Index>(), b'0'..=b'9'), 1..6),
        compressed in any::<bool>(),
    ) {
        let (mut glb, catalogue) = small(compressed).clone();
        let digits: Vec<usize> = (20..glb.len() - 400).filter(|&at| glb[at].is_ascii_digit()).collect();
        for (at, digit) in changes {
            glb[digits[at.index(digits.len())]] = digit;
        }
        let _ = Body::read(&glb, &catalogue);
    }
}
