//! Result files and what is made of many of them.

use course::moment::Moment;
use course::results::csv::{Separator, of_files};
use course::results::{
    Broken, Item, Merged, Outcome, PoseError, ResultFile, merge, read, report_csv, write,
};
use proptest::prelude::*;

fn item(id: &str, kind: &str, answer: &str, correct: &str) -> Item {
    let right = answer == correct;
    Item {
        id: id.to_owned(),
        kind: kind.to_owned(),
        skill: "plane/sagittal".to_owned(),
        points: 1,
        outcome: if right {
            Outcome::Right
        } else {
            Outcome::Wrong
        },
        score: f64::from(u8::from(right)),
        first_score: f64::from(u8::from(right)),
        answers: vec![answer.to_owned()],
        correct: correct.to_owned(),
        hints: 0,
        latency_ms: 12_000,
        misconception: None,
        view: None,
        pose: None,
        more: Vec::new(),
    }
}

fn file(items: Vec<Item>) -> ResultFile {
    ResultFile {
        program: "0.1.0".to_owned(),
        title: "Orientation week".to_owned(),
        set: "0123456789abcdef".to_owned(),
        seed: 7,
        attempt: 1,
        label: None,
        started: Moment {
            unix_ms: 1_795_596_301_000,
            offset_min: 60,
        },
        ended: None,
        pass_percent: Some(50),
        items,
        more: Vec::new(),
    }
}

fn sample() -> ResultFile {
    let mut placed = item("place", "place_probe", "off", "there");
    placed.outcome = Outcome::Partly;
    placed.score = 0.5;
    placed.hints = 1;
    placed.points = 3;
    placed.misconception = Some("notch_far_side".to_owned());
    placed.view = Some("v1.window=spleen_coronal".to_owned());
    placed.pose = Some(PoseError {
        plane_deg: 12.5,
        reversed: true,
        rotation_deg: -170.0,
        toward_left_mm: -25.25,
        ..PoseError::default()
    });
    ResultFile {
        label: Some("=Bench 4".to_owned()),
        ended: Some(Moment {
            unix_ms: 1_795_596_901_000,
            offset_min: 60,
        }),
        ..file(vec![
            item("q1", "plane_from_probe", "coronal", "sagittal"),
            placed,
        ])
    }
}

/// Files of one table of scores: a learner a row, all answers "a" (right) or "b".
fn files(rows: &[&str]) -> Vec<(String, Vec<u8>)> {
    let one = |(at, row): (usize, &&str)| {
        let items = row.chars().enumerate().map(|(column, c)| {
            let answer = if c == '1' { "a" } else { "b" };
            item(&format!("q{}", column + 1), "side", answer, "a")
        });
        let mut file = file(items.collect());
        file.started.unix_ms += i64::try_from(at).unwrap_or(0) * 1000;
        (format!("{at}.json"), write(&file).into_bytes())
    };
    rows.iter().enumerate().map(one).collect()
}

#[test]
fn what_is_written_is_read_back() {
    for result in [sample(), file(vec![item("a", "side", "x", "x")])] {
        let text = write(&result);
        assert_eq!(read(text.as_bytes()), Ok(result.clone()), "{text}");
        // A mail program or an editor changed blanks and line ends.
        let windows = text.replace('\n', "\r\n");
        assert_eq!(read(windows.as_bytes()), Ok(result));
    }
    assert!((sample().percent() - 37.5).abs() < 1e-9, "1.5 of 4 marks");
    assert_eq!(sample().passed(), Some(false));
    assert!(
        !write(&file(Vec::new())).contains("label"),
        "nothing personal unless asked for"
    );
}

#[test]
fn fields_of_later_versions_are_kept() {
    let text = write(&ResultFile {
        more: vec![("later".to_owned(), anatomy::json::Json::Bool(true))],
        ..sample()
    });
    let back = read(text.as_bytes()).expect("known version");
    assert_eq!(write(&back), text);
}

#[test]
fn damage_is_noticed() {
    let text = write(&sample());
    let broken = |text: &str| read(text.as_bytes()).expect_err("broken");
    assert_eq!(
        broken(&text.replace("\"score\": 0.5", "\"score\": 1")),
        Broken::Damaged
    );
    assert_eq!(broken(&text.replace("crc32:", "crc32:0")), Broken::Damaged);
    assert_eq!(broken(&text[..text.len() / 2]), Broken::CutOff);
    assert!(
        matches!(broken(&text.replacen(':', "=", 4)), Broken::Fault(_)),
        "another slip is told with its place"
    );
    assert_eq!(broken("{\"a\": 1}"), Broken::Foreign);
    assert_eq!(broken("\u{7f}ELF"), Broken::Foreign);
    assert_eq!(broken(""), Broken::Foreign);
    let newer = text.replace("\"version\": 1", "\"version\": 2");
    assert_eq!(broken(&newer), Broken::Version("2".to_owned()));
    assert_eq!(
        read(&vec![b' '; course::results::LARGEST + 1]),
        Err(Broken::TooLarge)
    );
}

#[test]
fn tables_for_spreadsheets() {
    let result = sample();
    let text = of_files(&[("a.json", &result)], Separator::Comma);
    let lines: Vec<&str> = text.split("\r\n").collect();
    assert_eq!(lines.len(), 4, "head, two items, the end");
    assert!(
        lines[0].starts_with("\u{feff}file,title,set,label,"),
        "{}",
        lines[0]
    );
    assert_eq!(
        lines[2],
        "a.json,Orientation week,0123456789abcdef,'=Bench 4,7,1,2026-11-25T09:45:01+01:00,2026-11-25T09:55:01+01:00,place,place_probe,plane/sagittal,partly,0.5,0,3,1,1,12,off,there,notch_far_side,12.5,yes,no,-170,0,0,-25.25,0"
    );
}

fn reasons(merged: &Merged) -> Vec<(&str, String)> {
    let left = merged.left.iter();
    left.map(|left| (&*left.file, left.reason.to_string()))
        .collect()
}

#[test]
fn what_does_not_belong_is_named_and_the_rest_counts() {
    let mut all = files(&["11", "10", "01"]);
    all.push(("notes.txt".to_owned(), b"hello".to_vec()));
    all.push(("copy.json".to_owned(), all[1].1.clone()));
    let cut = all[2].1[..200].to_vec();
    all.push(("cut.json".to_owned(), cut));
    let later = ResultFile {
        attempt: 2,
        ..file(vec![item("q1", "side", "a", "a")])
    };
    all.push(("later.json".to_owned(), write(&later).into_bytes()));
    let other = ResultFile {
        title: "Another set".to_owned(),
        set: "f".repeat(16),
        ..file(vec![item("q1", "side", "a", "a")])
    };
    all.push(("other.json".to_owned(), write(&other).into_bytes()));
    let merged = merge(&all);
    let reasons = reasons(&merged);
    assert_eq!(
        reasons[0],
        ("notes.txt", "it is no result file of Planeward".to_owned())
    );
    assert_eq!(
        reasons[1],
        ("copy.json", "it is a copy of 1.json".to_owned())
    );
    assert_eq!(reasons[2].0, "cut.json");
    assert_eq!(
        reasons[3],
        (
            "later.json",
            "it is round 2 and first rounds count".to_owned()
        )
    );
    assert_eq!(reasons.len(), 4, "{reasons:?}");
    let titles: Vec<(&str, usize)> = merged
        .groups
        .iter()
        .map(|group| (&*group.title, group.files.len()))
        .collect();
    assert_eq!(titles, [("Another set", 1), ("Orientation week", 3)]);
}

#[test]
fn of_one_label_the_first_round_counts() {
    let round = |label: &str, second: i64, answer: &str| {
        let mut result = file(vec![item("q1", "side", answer, "a")]);
        result.label = Some(label.to_owned());
        result.started.unix_ms += second * 1000;
        write(&result).into_bytes()
    };
    let merged = merge(&[
        ("second.json".to_owned(), round("Bench 4", 60, "a")),
        ("first.json".to_owned(), round(" bench 4", 0, "b")),
        ("other.json".to_owned(), round("Bench 5", 0, "a")),
    ]);
    assert_eq!(merged.groups[0].files.len(), 2);
    assert_eq!(merged.groups[0].items[0].difficulty, Some(0.5));
    assert_eq!(
        reasons(&merged),
        [(
            "second.json",
            "it is a later round of the same learner than first.json".to_owned()
        )]
    );
}

#[test]
fn a_published_table_goes_through_files() {
    // K. Wuensch, StatHelp/KR20 (East Carolina University): ten students, ten items.
    let all = files(&[
        "1111110110",
        "1011011101",
        "1111011001",
        "0010001000",
        "0000010010",
        "1110111111",
        "1101110111",
        "1111111101",
        "0101111101",
        "1101101110",
    ]);
    let merged = merge(&all);
    let group = &merged.groups[0];
    assert_eq!(
        (group.files.len(), group.complete, group.is_kr20),
        (10, 10, true)
    );
    assert!(
        group
            .alpha
            .is_some_and(|alpha| (alpha - 0.696_347_032_0).abs() < 1e-10),
        "{:?}",
        group.alpha
    );
    let ids: Vec<&str> = group.items.iter().map(|item| &*item.id).collect();
    assert_eq!(
        ids,
        ["q1", "q2", "q3", "q4", "q5", "q6", "q7", "q8", "q9", "q10"]
    );
    assert_eq!(group.items[9].difficulty, Some(0.6));
    let wrong = &group.items[9].options[1];
    assert_eq!((&*wrong.answer, wrong.count, wrong.right), ("b", 4, false));
    let csv = report_csv(group, Separator::Comma);
    let line = csv.split("\r\n").nth(7).expect("the seventh item");
    assert_eq!(line, "q7,side,10,0.7,-0.0274,0.1625,0,0.7355,12,0,b,3");
    assert_eq!(group.passed, (8, 10), "two are below 50 %");
}

#[test]
fn planes_and_directions_of_errors() {
    let placed = |at: usize, left: f64| {
        let mut placed = item("p", "place_probe", "off", "there");
        placed.pose = Some(PoseError {
            plane_deg: 10.0,
            reversed: at == 0,
            rotation_deg: if at == 0 { 175.0 } else { -5.0 },
            toward_left_mm: left,
            ..PoseError::default()
        });
        placed.misconception = (at < 2).then(|| "viewer_side".to_owned());
        let plane = item(
            "n",
            "plane_from_picture",
            if at == 1 { "sagittal" } else { "coronal" },
            "sagittal",
        );
        let mut result = file(vec![plane, placed]);
        result.started.unix_ms += i64::try_from(at).unwrap_or(0);
        (format!("{at}.json"), write(&result).into_bytes())
    };
    let all: Vec<_> = [30.0, 22.0, 18.0, 25.0, 27.0]
        .into_iter()
        .enumerate()
        .map(|(at, left)| placed(at, left))
        .collect();
    // The times differ by less than a second, so files are told apart by their content.
    let merged = merge(&all);
    let group = &merged.groups[0];
    let poses = group.poses.expect("five placed probes");
    assert_eq!((poses.count, poses.reversed), (5, 1));
    assert!(poses.toward_left.constant, "{poses:?}");
    assert!((poses.toward_left.mean - 24.4).abs() < 1e-9, "{poses:?}");
    assert!(
        (poses.rotation.mean + 5.0).abs() < 1e-9,
        "half a turn is taken off: {poses:?}"
    );
    assert!(
        !poses.rotation.constant && !poses.toward_head.constant,
        "{poses:?}"
    );
    assert_eq!(group.planes.names, ["sagittal", "coronal"]);
    assert_eq!(group.planes.counts, [[1, 4], [0, 0]]);
    assert_eq!(group.misconceptions, [("viewer_side".to_owned(), 2)]);
}

#[test]
fn unanswered_questions_are_gaps() {
    let mut blank = item("q2", "side", "", "a");
    blank.outcome = Outcome::Unanswered;
    blank.answers.clear();
    let first = file(vec![item("q1", "side", "a", "a"), blank]);
    let mut second = file(vec![
        item("q1", "side", "b", "a"),
        item("q2", "side", "a", "a"),
    ]);
    second.started.unix_ms += 5000;
    let merged = merge(&[
        ("1".to_owned(), write(&first).into_bytes()),
        ("2".to_owned(), write(&second).into_bytes()),
    ]);
    let group = &merged.groups[0];
    assert_eq!((group.items[1].answered, group.complete), (1, 1));
    assert_eq!(group.items[1].difficulty, Some(1.0));
    assert!(
        (group.files[0].1.percent() - 50.0).abs() < 1e-9,
        "but it earns no marks"
    );
}

proptest! {
    #[test]
    fn any_bytes_are_survived(files in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..60), 0..4)) {
        let named: Vec<(String, Vec<u8>)> = files.into_iter().enumerate().map(|(at, bytes)| (at.to_string(), bytes)).collect();
        let merged = merge(&named);
        prop_assert_eq!(merged.left.len(), named.len());
        prop_assert!(merged.groups.is_empty(), "noise is no result");
    }

    #[test]
    fn a_changed_byte_is_noticed_or_harmless(at in 0_usize..1000, byte in 32_u8..127) {
        let mut bytes = write(&sample()).into_bytes();
        let at = at % bytes.len();
        let old = bytes[at];
        bytes[at] = byte;
        if let Ok(result) = read(&bytes) {
            prop_assert!(result == sample() || old == byte, "{}", String::from_utf8_lossy(&bytes));
        }
    }
}
