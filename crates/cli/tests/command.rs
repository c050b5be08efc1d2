//! The command on the wire: lines in, lines out, exit status.
//!
//! Here the folder of bodies is missing; `body.rs` has a small body.
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

use std::io::Write as _;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};

fn run(arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_planeward"))
        .args(arguments)
        .env_remove("PLANEWARD_BODIES")
        .current_dir(env!("CARGO_TARGET_TMPDIR"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    // A command that refuses its arguments closes its input unread.
    let _unread = child
        .stdin
        .take()
        .expect("piped")
        .write_all(input.as_bytes());
    child.wait_with_output().expect("the command ends")
}

fn answers(output: &Output) -> Vec<Value> {
    String::from_utf8(output.stdout.clone())
        .expect("UTF-8")
        .lines()
        .map(|line| serde_json::from_str(line).expect("a JSON line"))
        .collect()
}

fn check_describe(line: &Value, expected: &[(&str, Value)]) {
    let output = run(&["describe"], &format!("{line}\n"));
    assert_eq!(output.status.code(), Some(0), "{line}");
    let answer = &answers(&output)[0];
    for (pointer, value) in expected {
        assert_eq!(answer.pointer(pointer), Some(value), "{pointer} of {line}");
    }
}

#[test]
fn a_pose_is_described() {
    check_describe(
        &json!({ "notch": [0, 0, 2], "beam": [0, 3, 0] }),
        &[
            ("/plane", json!("sagittal")),
            ("/row", json!([0.0, 0.0, -1.0])),
            ("/column", json!([0.0, 1.0, 0.0])),
            ("/normal", json!([1.0, 0.0, 0.0])),
            ("/oblique", Value::Null),
            (
                "/sides",
                json!({ "left": "H", "right": "F", "top": "A", "bottom": "P" }),
            ),
            ("/sides_words/left", json!("head end")),
            ("/sides_words/bottom", json!("back")),
            ("/patient_orientation", json!("F\\P")),
        ],
    );
    check_describe(
        &json!({ "normal": [0, -1, 0], "rotation_deg": 330, "mark": "right", "apex": "bottom" }),
        &[
            ("/plane", json!("oblique")),
            ("/oblique/kind", json!("longitudinal")),
            ("/oblique/double", json!(false)),
            ("/oblique/between", json!(["sagittal", "transverse"])),
            ("/sides/top", json!("P")),
            ("/sides/right", json!("HR")),
            ("/pose/rotation_deg", json!(330.0)),
        ],
    );
    // Read back on skin that faces the given way: on the back the clock runs the other way round.
    check_describe(
        &json!({ "normal": [0, 1, 0], "notch": [-1, 0, 0], "beam": [0, -1, 0] }),
        &[
            ("/pose/rotation_deg", json!(90.0)),
            ("/pose/tilt_deg", json!(0.0)),
        ],
    );
}

#[test]
fn a_bad_line_does_not_stop_the_rest() {
    let good = r#"{"normal": [0, 0, 1]}"#;
    let input = format!("{good}\n\nnonsense\n{good}\n{{\"beam\": [0,1,0]}}\n{good}");
    let output = run(&["describe"], &input);
    assert_eq!(output.status.code(), Some(1), "some line was bad");
    let answers = answers(&output);
    assert_eq!(answers.len(), 5, "one answer a line, the blank one apart");
    let lines: Vec<Option<u64>> = answers
        .iter()
        .map(|answer| answer["line"].as_u64())
        .collect();
    assert_eq!(lines, [None, Some(3), None, Some(5), None]);
}

fn check_refused(line: &str, words: &str) {
    let output = run(&["describe"], line);
    assert_eq!(output.status.code(), Some(1), "{line}");
    let answer = &answers(&output)[0];
    let error = answer["error"].as_str().unwrap_or_default();
    assert!(
        error.contains(words),
        "{line}: {error:?} should contain {words:?}"
    );
    assert_eq!(answer["line"], 1, "{line}");
}

#[test]
fn refusals_name_the_field_and_the_value() {
    check_refused("{}", "no pose");
    check_refused("[1]", "not a valid line");
    check_refused("{\"normal\": [0,1]}", "not a valid line");
    check_refused(
        "{\"normal\": [0,0,0]}",
        "normal [0.0, 0.0, 0.0] has no direction",
    );
    check_refused(
        "{\"normal\": [0,0,1], \"tilt_deg\": 95}",
        "tilt of 95° is outside",
    );
    check_refused(
        "{\"normal\": [0,0,1], \"tolerance_deg\": 41}",
        "tolerance of 41° is outside",
    );
    check_refused("{\"normal\": [0,0,1], \"press_mm\": -1}", "press_mm -1");
    check_refused(
        "{\"normal\": [0,0,1], \"mark\": \"top\"}",
        "unknown variant `top`",
    );
    check_refused(
        "{\"normal\": [0,0,1], \"tild_deg\": 3}",
        "unknown field `tild_deg`",
    );
    check_refused(
        "{\"normal\": [0,0,1], \"window\": \"x\"}",
        "a window needs a body",
    );
    check_refused("{\"notch\": [0,1,0], \"beam\": [0,-2,0]}", "180° apart");
    check_refused("{\"notch\": [0,1,0]}", "notch is given without beam");
    check_refused(
        "{\"notch\": [0,0,1], \"beam\": [0,1,0], \"rock_deg\": 3}",
        "rock_deg cannot be given together with notch and beam",
    );
    check_refused(
        "{\"normal\": [0,0,1], \"tilt_deg\": 1e999}",
        "not a valid line",
    );
}

#[test]
fn missing_bodies_are_explained() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("no_bodies");
    let folder = folder.to_str().expect("UTF-8");
    for arguments in [
        &["bodies"][..],
        &["windows", "--body", "adult_female"],
        &["section", "--body", "adult_female"],
        &[
            "export",
            "--body",
            "adult_female",
            "--format",
            "ply",
            "out.ply",
        ],
    ] {
        let output = run(&[arguments, &["--bodies", folder]].concat(), "");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let told = String::from_utf8(output.stderr).expect("UTF-8");
        assert!(told.contains("cargo xtask bake"), "{arguments:?}: {told:?}");
    }
}

#[test]
fn each_command_shows_an_example() {
    for command in ["describe", "section", "bodies", "windows", "export"] {
        let output = run(&[command, "--help"], "");
        let help = String::from_utf8(output.stdout).expect("UTF-8");
        let example = help.find("EXAMPLE").map(|start| &help[start..]);
        assert!(
            example.is_some_and(|text| text.contains(&format!("planeward {command}"))),
            "{command}"
        );
    }
}

/// The example in the help of `describe` is what the command answers.
#[test]
fn the_example_of_describe_is_true() {
    let output = run(&["describe", "--help"], "");
    let help = String::from_utf8(output.stdout).expect("UTF-8");
    let (_, example) = help.split_once("answers (shortened)").expect("the answer");
    let (shown, _) = example
        .split_once("With \"tolerance_deg\": 35")
        .expect("the end");
    let shown: Value = serde_json::from_str(shown).expect("JSON");
    let line = json!({ "normal": [0, -1, 0], "rotation_deg": 330 });
    assert!(help.contains("'{\"normal\": [0,-1,0], \"rotation_deg\": 330}'"));
    for (key, value) in shown.as_object().expect("an object") {
        check_describe(&line, &[(&format!("/{key}"), value.clone())]);
    }
    check_describe(
        &json!({ "normal": [0, -1, 0], "rotation_deg": 330, "tolerance_deg": 35 }),
        &[("/plane", json!("sagittal"))],
    );
}

#[test]
fn help_tells_all_fields() {
    let output = run(&["describe", "--help"], "");
    let help = String::from_utf8(output.stdout).expect("UTF-8");
    for field in [
        "normal",
        "rotation_deg",
        "tilt_deg",
        "rock_deg",
        "press_mm",
        "notch",
        "beam",
        "mark",
        "apex",
        "tolerance_deg",
        "contact_mm",
        "body",
        "window",
        "transducer",
        "depth_mm",
        "patient_orientation",
        "sides_words",
        "structures",
        "oblique",
    ] {
        assert!(help.contains(field), "the help does not tell {field}");
    }
}
