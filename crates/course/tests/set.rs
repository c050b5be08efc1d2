//! Exercise sets: what is written is read back, faults are told with their place, any bytes are survived.

use anatomy::json::Json;
use course::json::compact;
use course::set::{self, Asked, Feedback, Kind, Order, Question, Set, View};
use geometry::{ApexSide, BodyPosition, ImageSide, MarkSide};
use proptest::prelude::*;

const FULL: &str = include_str!("data/full-set.json");

fn full() -> Set {
    match set::read(FULL.as_bytes()) {
        Ok(reading) => reading.set,
        Err(faults) => panic!("the example is a set: {faults:?}"),
    }
}

#[test]
fn every_field_is_read() {
    let set = full();
    assert_eq!(set.title, "Orientation week");
    assert_eq!(set.position, BodyPosition::LeftSideDown);
    assert_eq!((set.mark, set.apex), (MarkSide::Right, ApexSide::Bottom));
    assert!(
        (set.tolerance_deg - 15.0).abs() < 1e-12,
        "{}",
        set.tolerance_deg
    );
    assert_eq!((set.pass_percent, set.attempts), (Some(80), 2));
    assert_eq!(
        (set.order, set.feedback),
        (Order::Shuffled, Feedback::AtEnd)
    );
    assert!(!set.hints && set.report_failed, "both are not the usual");
    assert_eq!(set.label.as_deref(), Some("Bench number"));
    assert_eq!(set.seed, Some(set::LARGEST_SEED));
    assert!(set.vocabulary.is_some(), "the set brings its words");
    assert_eq!(set.count(), 16, "ten fixed ones and six drawn");
    assert_eq!(set.bodies(), ["adult_female", "adult_male"]);
    let kinds: Vec<Kind> = set
        .questions
        .iter()
        .filter_map(|question| match &question.asked {
            Asked::Fixed(fixed) => Some(fixed.kind),
            Asked::Drawn(_) => None,
        })
        .collect();
    assert_eq!(kinds.len(), Kind::ALL.len());
    assert!(
        Kind::ALL.iter().all(|kind| kinds.contains(kind)),
        "one of each kind"
    );
    let Asked::Fixed(side) = &set.questions[2].asked else {
        panic!("a fixed question");
    };
    assert_eq!(side.side, Some(ImageSide::Left));
    let state = set.link_state(&side.view);
    assert_eq!(
        course::link::write(&state),
        "v1.body=adult_female&at=9.5,-114.25,118&out=-90,2.5&turn=270&tilt=-3&rock=4&press=5&mark=right&apex=bottom&tol=15&lie=left_side_down&seat=right"
    );
    assert_eq!(set.questions[10].item_id(1), "drawn_2");
    assert_eq!(set.acquire.map(|acquire| acquire.views.len()), Some(3));
}

#[test]
fn what_is_written_is_read_back_with_what_is_unknown() {
    let reading = set::read(FULL.as_bytes()).expect("a set");
    let unknown: Vec<&str> = reading.unknown.iter().map(|field| &*field.path).collect();
    assert_eq!(
        unknown,
        [
            "convention.from_later",
            "questions[9].from_later",
            "from_later"
        ]
    );
    for text in [set::pretty(&reading.set), set::short(&reading.set)] {
        let back = set::read(text.as_bytes()).expect("what was written");
        assert_eq!(back.set, reading.set);
        assert!(
            text.contains("colour") && text.contains("{\"a\":null}")
                || text.contains("\"a\": null"),
            "{text}"
        );
    }
    assert_eq!(set::identity(&reading.set).len(), 16);
    let mut other = reading.set.clone();
    other.tolerance_deg = 16.0;
    assert_ne!(set::identity(&other), set::identity(&reading.set));
}

#[test]
fn a_slip_of_the_pen_is_pointed_out() {
    let text = FULL.replace("\"tolerance_deg\"", "\"tolerence_deg\"");
    let unknown = set::read(text.as_bytes()).expect("still a set").unknown;
    assert!(
        unknown
            .iter()
            .any(|field| field.path == "tolerence_deg" && field.like == Some("tolerance_deg")),
        "{unknown:?}"
    );
}

/// Replaces `from` in the full example by `to`, and expects exactly these faults.
fn check_faults(from: &str, to: &str, wanted: &[&str]) {
    assert!(FULL.contains(from), "the example has {from}");
    let text = FULL.replacen(from, to, 1);
    let faults = match set::read(text.as_bytes()) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(ToString::to_string).collect(),
    };
    assert_eq!(faults, wanted, "{from} -> {to}");
}

#[test]
fn faults_say_place_finding_and_expectation() {
    for (from, to, wanted) in [
        (
            "\"planeward-set\"",
            "\"planeward-result\"",
            "format: found \"planeward-result\", expected one of planeward-set",
        ),
        (
            "\"version\": 1",
            "\"version\": 2",
            "version: found 2, expected 1, the version that this program reads",
        ),
        (
            "\"title\": \"Orientation week\",",
            "",
            "title: found nothing, expected a text of 1 to 200 characters",
        ),
        (
            "\"Orientation week\"",
            "7",
            "title: found 7, expected a text of 1 to 200 characters",
        ),
        (
            "\"language\": \"en\"",
            "\"language\": \"english language\"",
            "language: found \"english language\", expected a language tag such as \"en\" or \"pt-BR\" (BCP 47)",
        ),
        (
            "\"left_side_down\"",
            "\"sideways\"",
            "position: found \"sideways\", expected one of supine, prone, left_side_down, right_side_down, seated, lithotomy",
        ),
        (
            "\"apex\": \"bottom\"",
            "\"apex\": \"left\"",
            "convention.apex: found \"left\", expected one of top, bottom",
        ),
        (
            "\"tolerance_deg\": 15",
            "\"tolerance_deg\": 45",
            "tolerance_deg: found 45, expected a number from 5 to 40 degrees",
        ),
        (
            "\"pass_percent\": 80",
            "\"pass_percent\": 80.5",
            "pass_percent: found 80.5, expected a whole number from 1 to 100",
        ),
        (
            "\"attempts\": 2",
            "\"attempts\": 0",
            "attempts: found 0, expected a whole number from 1 to 20",
        ),
        (
            "\"hints\": false",
            "\"hints\": \"no\"",
            "hints: found \"no\", expected true or false",
        ),
        (
            "9007199254740991",
            "9007199254740992",
            "seed: found 9007199254740992, expected a whole number from 0 to 9007199254740991",
        ),
        (
            "\"plane\": \"sagittal\" }]",
            "\"plane\": \"slanted\" }]",
            "vocabulary: found a list with a fault, expected a vocabulary (\"SAG\" of [[plane]] needs \"plane\", and has \"slanted\")",
        ),
        (
            "\"id\": \"probe\"",
            "\"id\": \"1st\"",
            "questions[0].id: found \"1st\", expected a letter, then at most 39 letters, digits and _",
        ),
        (
            "\"id\": \"probe\"",
            "\"id\": \"picture\"",
            "questions[1].id: found \"picture\", expected a name that no other question has",
        ),
        (
            "\"plane_from_probe\"",
            "\"riddle\"",
            "questions[0].kind: found \"riddle\", expected one of plane_from_probe, plane_from_picture, side, notch_from_picture, transducer_from_picture, next_move, axis, place_probe, annotate, find_the_fault",
        ),
        (
            "\"depth_mm\": 120",
            "\"depth_mm\": 12000",
            "questions[1].view.depth_mm: found 12000, expected a number from 10 to 400 mm",
        ),
        (
            "[9.5, -114.25, 118]",
            "[9.5, -114.25]",
            "questions[2].view.contact_mm: found [9.5,-114.25], expected 3 numbers in mm: [ … ]",
        ),
        (
            "\"out_deg\": [-90, 2.5], ",
            "",
            "questions[2].view.out_deg: found nothing, expected the skin's outward normal there: [azimuth, elevation] in degrees",
        ),
        (
            "[-90, 2.5]",
            "[-90, 92.5]",
            "questions[2].view.out_deg[1]: found more, expected an elevation from -90 to 90 degrees",
        ),
        (
            "\"contact_mm\": [9.5, -114.25, 118], \"out_deg\": [-90, 2.5],",
            "",
            "questions[2].view.contact_mm: found nothing, beside rotation_deg, expected the contact point on the skin: [x, y, z] in mm",
        ),
        (
            "{ \"window\": \"sagittal_right_ivc\" }",
            "{}",
            "questions[0].view.window: found nothing, expected a named window, or contact_mm with out_deg",
        ),
        (
            "\"view\": { \"window\": \"sagittal_right_ivc\" }, ",
            "",
            "questions[0].view: found nothing, expected where the probe stands: { … }",
        ),
        (
            "\"points\": 3",
            "\"structure\": \"aorta\"",
            "questions[0].structure: found the field in a question of kind plane_from_probe, expected it in questions of kind axis, annotate, place_probe, find_the_fault only",
        ),
        (
            "\"kind\": \"axis\", \"structure\": \"aorta\"",
            "\"kind\": \"axis\"",
            "questions[9].structure: found nothing, expected the structure that the question is about",
        ),
        (
            "\"move\": { \"tilt_deg\": -10.5 }",
            "\"move\": { \"tilt_deg\": 10, \"rock_deg\": 5 }",
            "questions[5].move.tilt_deg: found several, expected one of slide_mm, tilt_deg, rock_deg, rotate_deg, press_mm",
        ),
        (
            ", \"move\": { \"tilt_deg\": -10.5 }",
            "",
            "questions[5].move: found nothing, expected the movement, such as { \"tilt_deg\": 10 }",
        ),
        (
            "\"approach\": \"front\"",
            "\"approach\": \"above\"",
            "questions[10].draw.approach: found \"above\", expected one of right, left, front, back, head, feet",
        ),
        (
            "\"count\": 6",
            "\"count\": 201",
            "questions[10].draw.count: found 201, expected a whole number from 1 to 200",
        ),
        (
            "\"count\": 6",
            "\"count\": 200",
            "questions: found 210 questions, expected at most 200 in the whole set",
        ),
        (
            "[\"side\", \"axis\"]",
            "[\"side\", \"side\"]",
            "questions[10].draw.kinds[1]: found \"side\", expected every kind once",
        ),
        (
            "[\"side\", \"axis\"]",
            "[]",
            "questions[10].draw.kinds: found [], expected at least one kind",
        ),
        (
            "\"draw\": {",
            "\"kind\": \"side\", \"draw\": {",
            "questions[10].draw: found \"kind\" and \"draw\", expected one of the two",
        ),
        (
            "\"subject\": \"left_kidney\", ",
            "",
            "acquire.views[1].subject: found nothing, expected the structure that the picture is of",
        ),
        (
            "\"acquire\": {",
            "\"acquire\": { \"list\": \"aorta\",",
            "acquire.views: found \"list\" and \"views\", expected one of the two",
        ),
    ] {
        check_faults(from, to, &[wanted]);
    }
}

#[test]
fn all_faults_are_told_at_once() {
    let text = r#"{"format": "planeward-set", "version": 1, "title": "", "attempts": 99, "questions": [{"id": "a"}]}"#;
    let faults = set::read(text.as_bytes()).expect_err("three faults");
    let paths: Vec<&str> = faults.iter().map(|fault| &*fault.path).collect();
    assert_eq!(paths, ["title", "attempts", "questions[0].kind"]);
}

#[test]
fn a_set_without_anything_to_do_is_refused() {
    let text = r#"{"format": "planeward-set", "version": 1, "title": "Empty"}"#;
    let faults = set::read(text.as_bytes()).expect_err("nothing to do");
    assert_eq!(faults[0].path, "questions");
    assert!(
        set::read(&vec![b' '; set::LARGEST + 1]).is_err(),
        "too large"
    );
    assert!(
        set::read(b"\xEF\xBB\xBF{").is_err(),
        "a mark in front of an unfinished text"
    );
}

#[test]
fn the_shortest_set_has_the_usual_settings() {
    let mut set = Set {
        title: "One".to_owned(),
        ..Set::default()
    };
    let view = View {
        window: Some("spleen_coronal".to_owned()),
        ..View::default()
    };
    set.questions = vec![Question::fixed("a", Kind::PlaneFromPicture, view)];
    let text = set::short(&set);
    assert_eq!(
        text,
        r#"{"format":"planeward-set","version":1,"title":"One","questions":[{"id":"a","kind":"plane_from_picture","view":{"window":"spleen_coronal"}}]}"#
    );
    assert_eq!(set::read(text.as_bytes()).expect("a set").set, set);
    assert_eq!(
        set::read(set::pretty(&set).as_bytes()).expect("a set").set,
        set
    );
}

/// Every value in the tree replaced by `with`, one at a time.
fn damaged(json: &Json, with: &Json, out: &mut Vec<Json>) {
    out.push(with.clone());
    match json {
        Json::List(list) => {
            for at in 0..list.len() {
                let mut inner = Vec::new();
                damaged(&list[at], with, &mut inner);
                for value in inner {
                    let mut copy = list.clone();
                    copy[at] = value;
                    out.push(Json::List(copy));
                }
            }
        }
        Json::Object(fields) => {
            for at in 0..fields.len() {
                let mut inner = Vec::new();
                damaged(&fields[at].1, with, &mut inner);
                for value in inner {
                    let mut copy = fields.clone();
                    copy[at].1 = value;
                    out.push(Json::Object(copy));
                }
            }
        }
        _ => {}
    }
}

#[test]
fn any_value_in_any_place_is_read_or_told() {
    let json = Json::read(FULL.as_bytes()).expect("grammatical");
    let mut refused = 0;
    for with in [
        Json::Null,
        Json::Bool(true),
        Json::Number(-1e300),
        Json::Text("\u{0}".to_owned()),
        Json::List(vec![Json::Null]),
        Json::Object(Vec::new()),
    ] {
        let mut all = Vec::new();
        damaged(&json, &with, &mut all);
        for value in all {
            match set::read(compact(&value).as_bytes()) {
                Ok(reading) => {
                    let back = set::read(set::pretty(&reading.set).as_bytes());
                    assert_eq!(back.map(|back| back.set), Ok(reading.set));
                }
                Err(faults) => {
                    refused += 1;
                    assert!(!faults.is_empty(), "a refusal has a reason");
                }
            }
        }
    }
    assert!(refused > 500, "most damage is noticed: {refused}");
}

proptest! {
    #[test]
    fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        prop_assert!(set::read(&bytes).is_err(), "noise is no set");
    }

    #[test]
    fn a_damaged_file_is_a_set_or_has_faults(at in 0..FULL.len(), byte in any::<u8>()) {
        let mut bytes = FULL.as_bytes().to_vec();
        bytes[at] = byte;
        if let Err(faults) = set::read(&bytes) {
            prop_assert!(!faults.is_empty(), "a refusal has a reason");
        }
    }
}
