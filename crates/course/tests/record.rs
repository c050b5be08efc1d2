//! Records as text: what is written is read back, and damage costs no more than what is damaged.

use course::record::{RecordError, date, day_ms, read, write};
use practice::misconception::Misconception;
use practice::record::{Answered, Event, EventId, Record};
use practice::{Kind, Layout, Level, PlaneClass, Skill};
use proptest::prelude::*;

fn events() -> impl Strategy<Value = Record> {
    let one = (
        (0_u64..9_007_199_254_740_992, any::<u32>(), any::<u64>()),
        (0_usize..10, 0_usize..4, 0_usize..3, 0_usize..17),
        (any::<bool>(), 0.0..=1.0_f64, 0_u32..9),
        ".{0,12}",
    );
    prop::collection::vec(one, 0..20).prop_map(|list| {
        let mut record = Record::new();
        for ((at_ms, nonce, seed), (kind, plane, level, misconception), rest, body) in list {
            let (first_try, score, hints) = rest;
            let event = if misconception == 15 {
                Event::Checked {
                    seed,
                    set: body,
                    score,
                    questions: hints,
                }
            } else if misconception == 16 {
                // Whole days, which is all that is written; one in three was taken back.
                let days = u64::from(nonce) % 2_900_000;
                Event::Exam {
                    day_ms: (level != 0).then_some(days * 86_400_000),
                }
            } else {
                Event::Answered(Answered {
                    skill: Skill {
                        kind: Kind::ALL[kind],
                        plane: PlaneClass::ALL[plane],
                        approach: geometry::PatientSide::Head,
                        layout: Layout::ApexBottom,
                    },
                    level: Level::ALL[level],
                    seed,
                    body,
                    first_try,
                    score,
                    hints,
                    ways: hints + 1,
                    misconception: Misconception::ALL.get(misconception).copied(),
                })
            };
            record.add(EventId { at_ms, nonce }, event);
        }
        record
    })
}

proptest! {
    #[test]
    fn what_is_written_is_read_back(record in events()) {
        let text = write(&record);
        let reading = read(&text).expect("a record");
        prop_assert_eq!(&reading.record, &record);
        prop_assert!(reading.set_aside.is_empty(), "{:?}", reading.set_aside);
        prop_assert!(serde_json::from_str::<serde_json::Value>(&text).is_ok(), "{text}");
    }

    /// Any cut keeps every line before it.
    #[test]
    fn a_text_that_was_cut_keeps_its_whole_lines(record in events(), share in 0.0..1.0_f64) {
        let text = write(&record);
        let whole = text.chars().count();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss, reason = "a share of a length")]
        let kept = (whole as f64 * share) as usize;
        let cut: String = text.chars().take(kept).collect();
        match read(&cut) {
            Ok(reading) => {
                let lines = cut.matches("},\n").count();
                prop_assert!(reading.record.len() >= lines, "{} of {lines}", reading.record.len());
                let known = reading.record.events().all(|(id, event)| {
                    record.events().any(|(other, same)| id == other && event == same)
                });
                prop_assert!(known, "nothing is made up");
            }
            Err(error) => prop_assert_eq!(error, RecordError::NotARecord),
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".{0,400}") {
        let _ = read(&text);
        let _ = read(&format!("{{\"planeward_record\":1,\"events\":[\n{text}\n]}}"));
    }
}

#[test]
fn damage_is_named_and_the_rest_kept() {
    let good = r#"{"at":2,"n":1,"skill":"side.transverse.front.general","level":"easy","seed":"42","body":"b","first":true,"score":1,"hints":0,"ways":4}"#;
    let bad = [
        (good.replace("easy", "soft"), "expected a level in `level`"),
        (
            good.replace("\"score\":1", "\"score\":2"),
            "expected a number from 0 to 1 in `score`",
        ),
        (
            good.replace("side.", "sides."),
            "expected a skill in `skill`",
        ),
        (
            good.replace("\"42\"", "\"x\""),
            "expected a whole number as a string in `seed`",
        ),
        ("rubbish".to_owned(), "expected"),
        (
            r#"{"at":2,"n":1,"exam":"2026-02-30"}"#.to_owned(),
            "expected a day as 2026-12-24 in `exam`",
        ),
    ];
    for (line, reason) in bad {
        let text = format!("{{\"planeward_record\":1,\"events\":[\n{line},\n{good}\n]}}\n");
        let reading = read(&text).expect("a record");
        assert_eq!(reading.record.len(), 1, "{line}");
        assert_eq!(reading.set_aside.len(), 1, "{line}");
        assert_eq!(reading.set_aside[0].line, 2);
        assert!(
            reading.set_aside[0].reason.contains(reason),
            "{:?}",
            reading.set_aside
        );
    }
    let unknown = good.replace("\"n\":1", "\"n\":1,\"later\":[1,2]");
    let text = format!("{{\"planeward_record\":1,\"events\":[\n{unknown}\n]}}\n");
    assert!(
        read(&text).expect("a record").set_aside.is_empty(),
        "a key of a later program"
    );
}

/// Version 1 had the same events less the day of an examination.
#[test]
fn the_first_version_is_read_and_written_as_the_second() {
    let lines = concat!(
        r#"{"at":2,"n":1,"skill":"side.transverse.front.general","level":"easy","seed":"42","body":"b","first":true,"score":1,"hints":0,"ways":4},"#,
        "\n",
        r#"{"at":3,"n":9,"check":"readiness","seed":"7","score":0.8,"questions":5}"#,
    );
    let text =
        |version: u32| format!("{{\"planeward_record\":{version},\"events\":[\n{lines}\n]}}\n");
    let reading = read(&text(1)).expect("a record of version 1");
    assert!(reading.set_aside.is_empty(), "{:?}", reading.set_aside);
    assert_eq!(reading.record.len(), 2);
    assert_eq!(write(&reading.record), text(2));
}

#[test]
fn days_are_written_as_people_read_them() {
    // date -u -d 2026-12-24 +%s
    let christmas_eve = 1_798_070_400_000;
    assert_eq!(date(christmas_eve), "2026-12-24");
    assert_eq!(
        date(christmas_eve + 86_399_999),
        "2026-12-24",
        "until midnight"
    );
    assert_eq!(day_ms("2026-12-24"), Some(christmas_eve));
    assert_eq!(day_ms("1970-01-01"), Some(0));
    for bad in [
        "",
        "2026-12",
        "24.12.2026",
        "2026-13-01",
        "2025-02-29",
        "1969-12-31",
        "2026-12-24T",
    ] {
        assert_eq!(day_ms(bad), None, "{bad}");
    }
}

#[test]
fn what_is_no_record_is_refused_whole() {
    for (text, error) in [
        ("", RecordError::NotARecord),
        ("[]", RecordError::NotARecord),
        ("{\"other\":1}", RecordError::NotARecord),
        ("{\"planeward_record\":x", RecordError::NotARecord),
        (
            "{\"planeward_record\":3,\"events\":[]}",
            RecordError::Version { found: 3 },
        ),
        (
            "{\"planeward_record\":0,\"events\":[]}",
            RecordError::Version { found: 0 },
        ),
    ] {
        assert_eq!(read(text), Err(error), "{text:?}");
    }
}
