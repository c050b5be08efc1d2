//! The command with a body: a small one of boxes and balls, so that every answer is known beforehand.
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

// The writer of small bodies is the body reader's own; a second one here could only drift from it.
#[path = "../../anatomy/tests/support/mod.rs"]
mod support;

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use anatomy::catalogue::*;
use serde_json::{Value, json};

/// Height of one of the 512 lines on which a picture 140 mm deep is measured, with room: an edge that
/// runs along the lines may be found one line off.
const LINE_MM: f64 = 0.31;
/// Areas of outlines are exact but for the grid on which the body is stored.
const OUTLINE_PART: f64 = 1e-3;
/// The stored grid of a body 300 mm tall, with room.
const GRID_MM: f64 = 0.02;

/// From the front at the middle of the egg: transverse, the beam straight to the vessel.
fn window() -> WindowEntry {
    WindowEntry {
        id: "front".to_owned(),
        label: "Front".to_owned(),
        plane_hint: "transverse".to_owned(),
        transducer: "convex".to_owned(),
        depth_mm: 140.0,
        mark: MarkEntry::Left,
        must_see: vec!["vessel".to_owned()],
        axis_of: vec![AxisOfEntry {
            structure: "vessel".to_owned(),
            axis: ViewEntry::Short,
        }],
        spec: WindowSpec {
            level: "mid".to_owned(),
            dx: 0.0,
            dy: 0.0,
            dz: 0.0,
            face: FaceEntry::Word(FaceWord::Anterior),
            aim: [0.0; 3],
            indicator: IndicatorEntry::Word(IndicatorWord::Right),
        },
        resolved: ResolvedEntry {
            contact: [0.0, -100.0, 0.0],
            normal: [0.0, -1.0, 0.0],
            notch: [-1.0, 0.0, 0.0],
            beam: [0.0, 1.0, 0.0],
        },
    }
}

/// A folder of its own with the egg in it.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::create_dir_all(&folder).expect("a folder");
    let (mut catalogue, meshes) = support::egg();
    catalogue.windows = vec![window()];
    let glb = support::glb(&meshes, support::PLAIN);
    fs::write(folder.join("egg.glb"), glb).expect("written");
    fs::write(
        folder.join("egg.json"),
        catalogue.to_json().expect("a catalogue"),
    )
    .expect("written");
    folder
}

fn run(bodies: &Path, arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_planeward"))
        .args(arguments)
        .env("PLANEWARD_BODIES", bodies)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    // A command that takes no lines closes its input unread.
    let _unread = child
        .stdin
        .take()
        .expect("piped")
        .write_all(input.as_bytes());
    child.wait_with_output().expect("the command ends")
}

/// All output lines of a command that must succeed.
fn lines(bodies: &Path, arguments: &[&str], input: &Value) -> Vec<Value> {
    let output = run(bodies, arguments, &format!("{input}\n"));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {told}");
    String::from_utf8(output.stdout)
        .expect("UTF-8")
        .lines()
        .map(|line| serde_json::from_str(line).expect("a JSON line"))
        .collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn find<'a>(list: &'a Value, key: &str, wanted: &str) -> &'a Value {
    list.as_array()
        .expect("a list")
        .iter()
        .find(|one| one[key] == wanted)
        .expect("in the list")
}

fn check_area(what: &str, found: f64, wanted: f64, error: f64) {
    assert!(
        (found - wanted).abs() <= error,
        "{what}: {found} mm², expected {wanted}"
    );
}

#[test]
fn structures_are_measured_after_painting() {
    let bodies = folder("structures");
    let answer = &lines(
        &bodies,
        &["describe"],
        &json!({ "body": "egg", "window": "front" }),
    )[0];
    assert_eq!(answer["plane"], "transverse");
    assert_eq!(answer["sides"]["left"], "R");
    let seen = &answer["structures"];
    let depths: Vec<f64> = seen
        .as_array()
        .expect("a list")
        .iter()
        .map(|one| number(&one["depth_mm"]))
        .collect();
    assert_eq!(depths.len(), 3, "ball, vessel and branch");
    assert!(depths.is_sorted(), "nearest first: {depths:?}");

    let (vessel, branch) = (find(seen, "id", "vessel"), find(seen, "id", "branch"));
    // Wall and lumen, 24 by 24, less the branch: lumen 10 by 10, and 2 by 14 through the wall.
    check_area(
        "vessel",
        number(&vessel["area_mm2"]),
        576.0 - 100.0 - 28.0,
        24.0 * LINE_MM,
    );
    // Lumen 40 by 10, and the wall around it from the vessel's lumen on.
    check_area(
        "branch",
        number(&branch["area_mm2"]),
        400.0 + (32.0 * 14.0 - 30.0 * 10.0),
        40.0 * LINE_MM,
    );
    let depth = number(&vessel["depth_mm"]);
    assert!(
        (depth - 88.0).abs() < 0.3,
        "from the skin at −100 to the wall at −12: {depth}"
    );
    assert_eq!(vessel["axis"], "short");
    assert_eq!(branch["axis"], "long");
    assert_eq!(find(seen, "id", "ball")["axis"], Value::Null);
    assert!(
        answer["text"]
            .as_str()
            .is_some_and(|text| text.starts_with("Probe on the ")),
        "{}",
        answer["text"]
    );
}

#[test]
fn a_contact_is_moved_to_the_skin() {
    let bodies = folder("contact");
    let asked = json!({
        "body": "egg", "contact_mm": [0, -160, 0], "notch": [-1, 0, 0], "beam": [0, 1, 0],
    });
    let window = json!({ "body": "egg", "window": "front" });
    let answers = [&asked, &window].map(|line| lines(&bodies, &["describe"], line).remove(0));
    let place = &answers[0]["pose"]["contact_mm"];
    for (axis, wanted) in [0.0, -100.0, 0.0].into_iter().enumerate() {
        let found = number(&place[axis]);
        assert!((found - wanted).abs() < GRID_MM, "{place}");
    }
    for key in ["row", "column", "plane", "sides", "patient_orientation"] {
        assert_eq!(answers[0][key], answers[1][key], "{key}");
    }
    // The same probe above and below the middle meets the two halves of the vessel.
    for (height, half) in [(3, "upper"), (-3, "lower")] {
        let line = json!({
            "body": "egg", "contact_mm": [0, -100, height], "notch": [-1, 0, 0], "beam": [0, 1, 0],
        });
        let answer = &lines(&bodies, &["describe"], &line)[0];
        let vessel = find(&answer["structures"], "id", "vessel");
        assert_eq!(vessel["segment"], half, "{height} mm");
    }
}

/// Signed area, positive where the inside is on the right hand of the way as the picture is seen.
fn area(outline: &Value) -> f64 {
    let points: Vec<[f64; 2]> = outline
        .as_array()
        .expect("a loop")
        .iter()
        .map(|point| [number(&point[0]), number(&point[1])])
        .collect();
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .map(|(a, b)| (a[0] * b[1] - b[0] * a[1]) / 2.0)
        .sum()
}

#[test]
fn a_section_gives_outlines_in_paint_order() {
    let bodies = folder("section");
    let answer = &lines(
        &bodies,
        &["section", "--body", "egg"],
        &json!({ "window": "front" }),
    )[0];
    let surfaces = &answer["surfaces"];
    let names: Vec<&str> = surfaces
        .as_array()
        .expect("a list")
        .iter()
        .map(|surface| surface["name"].as_str().expect("a name"))
        .collect();
    assert_eq!(
        names,
        [
            "skin",
            "skin/dermis",
            "skin/muscle",
            "ball",
            "vessel/wall",
            "vessel",
            "branch/wall",
            "branch",
        ]
    );
    for (name, wanted) in [
        ("vessel/wall", 576.0),
        ("vessel", 400.0),
        ("branch", 400.0),
        ("branch/wall", 44.0 * 14.0),
    ] {
        let outlines = find(surfaces, "name", name)["loops"]
            .as_array()
            .expect("loops");
        assert_eq!(outlines.len(), 1, "{name}");
        check_area(name, area(&outlines[0]), wanted, OUTLINE_PART * wanted);
    }
    assert_eq!(find(surfaces, "name", "skin")["structure"], Value::Null);
    assert_eq!(find(surfaces, "name", "vessel/wall")["structure"], "vessel");
    assert_eq!(find(surfaces, "name", "vessel/wall")["kind"], "wall");
}

#[test]
fn a_section_needs_a_place() {
    let bodies = folder("no_place");
    let input = "{\"normal\": [0,-1,0]}\n{\"window\": \"side\"}\n{\"window\": \"front\"}\n\
        {\"contact_mm\": [2e6,0,0]}\n{\"body\": \"eg\", \"window\": \"front\"}\n\
        {\"window\": \"front\", \"transducer\": \"round\"}\n{\"window\": \"front\", \"depth_mm\": 1}\n";
    let output = run(&bodies, &["section", "--body", "egg"], input);
    assert_eq!(output.status.code(), Some(1), "some line was bad");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let answers: Vec<Value> = text
        .lines()
        .map(|line| serde_json::from_str(line).expect("a JSON line"))
        .collect();
    for (place, words) in [
        (0, "a section needs contact_mm or window"),
        (1, "has no window \"side\""),
        (3, "contact_mm [2000000.0, 0.0, 0.0] is farther than"),
        (4, "body \"eg\" is not known; there are egg"),
        (5, "transducer \"round\" is not known; there are convex"),
        (6, "depth_mm 1 is outside"),
    ] {
        let error = answers[place]["error"].as_str().unwrap_or_default();
        assert!(error.contains(words), "line {}: {error:?}", place + 1);
        assert_eq!(answers[place]["line"], place + 1);
    }
    assert_eq!(answers[2]["plane"], "transverse");
    assert_eq!(answers.len(), 7, "one answer a line");
}

#[test]
fn bodies_and_windows_are_listed() {
    let bodies = folder("listing");
    let body = &lines(&bodies, &["bodies"], &Value::Null)[0];
    assert_eq!(body["id"], "egg");
    assert_eq!(body["windows"], 1);
    assert_eq!(body["sex"], Value::Null);
    assert_eq!(body["surfaces"].as_array().map(Vec::len), Some(8));
    let window = &lines(&bodies, &["windows", "--body", "egg"], &Value::Null)[0];
    for (key, wanted) in [
        ("id", json!("front")),
        ("transducer", json!("convex")),
        ("mark", json!("left")),
        ("rotation_deg", json!(270.0)),
        ("must_see", json!(["vessel"])),
        ("axis_of", json!([{ "id": "vessel", "axis": "short" }])),
    ] {
        assert_eq!(window[key], wanted, "{key}");
    }
}

fn export(bodies: &Path, structure: &[&str], format: &str, file: &str) -> Vec<u8> {
    let out = bodies.join(file);
    let name = out.to_str().expect("UTF-8");
    let arguments = [
        &["export", "--body", "egg", "--format", format],
        structure,
        &[name],
    ]
    .concat();
    let output = run(bodies, &arguments, "");
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {told}");
    assert!(output.stdout.is_empty(), "an export has nothing to say");
    fs::read(&out).expect("the file")
}

/// Volume inside the triangles of a binary STL, mm³.
fn stl_volume(bytes: &[u8]) -> f64 {
    let coordinate = |at: usize| {
        let four = bytes[at..at + 4].try_into().expect("four bytes");
        f64::from(f32::from_le_bytes(four))
    };
    (84..bytes.len())
        .step_by(50)
        .map(|start| {
            let [a, b, c] =
                [12, 24, 36].map(|corner| [0, 4, 8].map(|axis| coordinate(start + corner + axis)));
            let cross = [
                b[1] * c[2] - b[2] * c[1],
                b[2] * c[0] - b[0] * c[2],
                b[0] * c[1] - b[1] * c[0],
            ];
            (a[0] * cross[0] + a[1] * cross[1] + a[2] * cross[2]) / 6.0
        })
        .sum()
}

#[test]
fn exports_are_patient_millimetres_and_the_same_each_time() {
    let bodies = folder("export");
    for format in ["glb", "ply", "stl"] {
        let one = export(&bodies, &[], format, &format!("one.{format}"));
        let two = export(&bodies, &[], format, &format!("two.{format}"));
        assert!(one == two, "{format} differs from run to run");
    }
    let vessel = export(&bodies, &["--structure", "vessel"], "stl", "vessel.stl");
    // A box of 4 by 4 cells a side, 12 triangles a cell row: 6 sides of 32 triangles.
    assert_eq!(vessel.len(), 84 + 50 * 192, "header and triangles");
    let volume = stl_volume(&vessel);
    let wanted = 20.0 * 20.0 * 160.0;
    assert!((volume - wanted).abs() < 1e-3 * wanted, "{volume} mm³");

    let glb = export(&bodies, &["--structure", "vessel/wall"], "glb", "wall.glb");
    let word = |at: usize| u32::from_le_bytes(glb[at..at + 4].try_into().expect("four bytes"));
    assert_eq!(&glb[..4], b"glTF");
    assert_eq!(word(8) as usize, glb.len(), "length of the file");
    let document: Value =
        serde_json::from_slice(&glb[20..20 + word(12) as usize]).expect("a JSON chunk");
    assert_eq!(document["nodes"][1]["name"], "vessel/wall");
    assert!(
        (number(&document["accessors"][0]["min"][2]) + 80.0).abs() < GRID_MM,
        "positions are mm: {}",
        document["accessors"][0]["min"]
    );

    let ply = export(&bodies, &["--structure", "vessel"], "ply", "vessel.ply");
    let text = String::from_utf8_lossy(&ply);
    assert!(text.starts_with("ply\nformat binary_little_endian 1.0\n"));
    assert!(text.contains("element vertex 98\n") && text.contains("element face 192\n"));
}

fn check_fails(bodies: &Path, arguments: &[&str], words: &str) {
    let output = run(bodies, arguments, "");
    assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    let told = String::from_utf8(output.stderr).expect("UTF-8");
    assert!(told.contains(words), "{arguments:?}: {told:?}");
}

#[test]
fn what_cannot_be_done_is_said() {
    let bodies = folder("failures");
    let out = bodies.join("x.ply");
    let out = out.to_str().expect("UTF-8");
    let export = ["export", "--body", "egg", "--format", "ply"];
    check_fails(
        &bodies,
        &[&export[..], &["--structure", "heart", out]].concat(),
        "no structure \"heart\"",
    );
    let nowhere = bodies.join("missing").join("x.ply");
    let nowhere = nowhere.to_str().expect("UTF-8");
    check_fails(&bodies, &[&export[..], &[nowhere]].concat(), "cannot write");
    check_fails(&bodies, &["windows", "--body", "../egg"], "there are egg");
    check_fails(
        &bodies,
        &["describe", "--tolerance-deg", "41"],
        "tolerance of 41° is outside",
    );
    fs::write(bodies.join("egg.glb"), b"glTF").expect("written");
    check_fails(&bodies, &["windows", "--body", "egg"], "is damaged");
    fs::remove_file(bodies.join("egg.glb")).expect("removed");
    check_fails(&bodies, &["bodies"], "cargo xtask bake");
}
