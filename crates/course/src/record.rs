//! A learner's record as text, version 2: for the browser's storage and for a file.
//!
//! ```text
//! {"planeward_record":2,"events":[
//! {"at":1795000000000,"n":7,"skill":"side.transverse.front.general","level":"easy","seed":"42",
//!  "body":"adult_female","first":true,"score":1,"hints":0,"ways":4},
//! {"at":1795000300000,"n":9,"check":"readiness","seed":"7","score":0.8,"questions":5},
//! {"at":1795000400000,"n":11,"exam":"2026-12-24"}
//! ]}
//! ```
//!
//! One event a line, so that a text that was cut off or written over in places still gives up every whole line: what
//! cannot be read is set aside by number and reason, and the rest is kept. Seeds are strings, because a number of 64 bits
//! does not survive every reader of JSON. Keys that this version does not know are passed over. Nothing in the text says
//! who the learner is.
//!
//! Version 1 had no day of an examination (`exam`; empty where it was taken back) and is otherwise the same, so it is
//! read as it is and written as version 2.

use std::fmt::Write as _;

use anatomy::json::{Json, JsonError, kind};
use practice::misconception::Misconception;
use practice::record::{Answered, Event, EventId, Record};
use practice::{Level, Skill};
use thiserror::Error;

use crate::moment::Moment;

/// The version that this program writes; it reads every one from 1 on.
pub const VERSION: u32 = 2;

/// The key that tells a record from any other JSON.
const MARK: &str = "planeward_record";

/// A line that was set aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    /// Its number in the text, counted from 1.
    pub line: usize,
    /// Why.
    pub reason: String,
}

/// What a text gave.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// The events that could be read.
    pub record: Record,
    /// The lines that could not.
    pub set_aside: Vec<SetAside>,
}

/// Why a text is no record at all.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RecordError {
    /// It does not begin as a record does.
    #[error("this is not a record of practice")]
    NotARecord,
    /// It was written by a later program.
    #[error("the record has version {found}; this program reads versions 1 to {VERSION}")]
    Version {
        /// The version found.
        found: u32,
    },
}

/// The record as text.
#[must_use]
pub fn write(record: &Record) -> String {
    let mut text = format!("{{\"{MARK}\":{VERSION},\"events\":[");
    for (number, (id, event)) in record.events().enumerate() {
        text.push_str(if number == 0 { "\n" } else { ",\n" });
        let EventId { at_ms, nonce } = id;
        let _ = write!(text, "{{\"at\":{at_ms},\"n\":{nonce}");
        match event {
            Event::Answered(answered) => write_answer(&mut text, answered),
            Event::Checked {
                seed,
                set,
                score,
                questions,
            } => {
                let set = quoted(set);
                let _ = write!(
                    text,
                    ",\"check\":{set},\"seed\":\"{seed}\",\"score\":{score},\"questions\":{questions}"
                );
            }
            Event::Exam { day_ms } => {
                let day = day_ms.map(date).unwrap_or_default();
                let _ = write!(text, ",\"exam\":\"{day}\"");
            }
        }
        text.push('}');
    }
    text.push_str("\n]}\n");
    text
}

/// "2026-12-24": the day of a moment (milliseconds since 1970, UTC), as ISO 8601 writes it.
#[must_use]
pub fn date(at_ms: u64) -> String {
    let unix_ms = i64::try_from(at_ms).unwrap_or(i64::MAX);
    let moment = Moment {
        unix_ms,
        offset_min: 0,
    };
    moment.words().chars().take(10).collect()
}

/// The start of a day (UTC), milliseconds since 1970, from what [`date`] writes; `None` for anything else and for days
/// before 1970.
#[must_use]
pub fn day_ms(date: &str) -> Option<u64> {
    let moment = Moment::from_iso(&format!("{date}T00:00:00Z"))?;
    u64::try_from(moment.unix_ms).ok()
}

fn write_answer(text: &mut String, answered: &Answered) {
    let _ = write!(
        text,
        ",\"skill\":\"{}\",\"level\":\"{}\",\"seed\":\"{}\",\"body\":{},\"first\":{},\"score\":{},\"hints\":{},\"ways\":{}",
        answered.skill.key(),
        answered.level.key(),
        answered.seed,
        quoted(&answered.body),
        answered.first_try,
        answered.score,
        answered.hints,
        answered.ways
    );
    if let Some(one) = answered.misconception {
        let _ = write!(text, ",\"misconception\":\"{}\"", one.key());
    }
}

/// A string of JSON (RFC 8259, section 7).
fn quoted(words: &str) -> String {
    let mut text = String::from("\"");
    for letter in words.chars() {
        match letter {
            '"' => text.push_str("\\\""),
            '\\' => text.push_str("\\\\"),
            control if u32::from(control) < 0x20 => {
                let _ = write!(text, "\\u{:04x}", u32::from(control));
            }
            plain => text.push(plain),
        }
    }
    text.push('"');
    text
}

/// Reads a record; damaged lines are set aside.
///
/// # Errors
///
/// [`RecordError`] for a text that is no record, or one of a later program.
pub fn read(text: &str) -> Result<Reading, RecordError> {
    let start = text.trim_start();
    let mark = format!("{{\"{MARK}\":");
    let after = start.strip_prefix(&mark).ok_or(RecordError::NotARecord)?;
    let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
    let found: u32 = digits.parse().map_err(|_parse| RecordError::NotARecord)?;
    if !(1..=VERSION).contains(&found) {
        return Err(RecordError::Version { found });
    }
    let mut reading = Reading::default();
    let mut ended = false;
    for (number, line) in text.lines().enumerate() {
        let line_number = number + 1;
        let body = line.trim();
        if body.is_empty() || body.starts_with(&mark) {
            continue;
        }
        if body == "]}" {
            ended = true;
            continue;
        }
        match event(body.trim_end_matches(',')) {
            Ok((id, event)) => {
                reading.record.add(id, event);
            }
            Err(error) => reading.set_aside.push(SetAside {
                line: line_number,
                reason: error.to_string(),
            }),
        }
    }
    if !ended {
        reading.set_aside.push(SetAside {
            line: text.lines().count(),
            reason: "the text ends before the record does".to_owned(),
        });
    }
    Ok(reading)
}

fn event(line: &str) -> Result<(EventId, Event), JsonError> {
    let json = Json::read(line.as_bytes())?;
    let id = EventId {
        at_ms: whole(&json, "at")?,
        nonce: json.count("n")?,
    };
    if let Some(exam) = json.get("exam") {
        let day_ms = match exam.as_text("exam")? {
            "" => None,
            date => Some(day_ms(date).ok_or_else(|| kind("a day as 2026-12-24", "exam"))?),
        };
        return Ok((id, Event::Exam { day_ms }));
    }
    let seed = json
        .text("seed")?
        .parse()
        .map_err(|_parse| kind("a whole number as a string", "seed"))?;
    let score = json.number("score")?;
    if !(0.0..=1.0).contains(&score) {
        return Err(kind("a number from 0 to 1", "score"));
    }
    if let Some(set) = json.get("check") {
        return Ok((
            id,
            Event::Checked {
                seed,
                set: set.as_text("check")?.to_owned(),
                score,
                questions: json.count("questions")?,
            },
        ));
    }
    let skill = Skill::from_key(json.text("skill")?).ok_or_else(|| kind("a skill", "skill"))?;
    let level = Level::from_key(json.text("level")?).ok_or_else(|| kind("a level", "level"))?;
    // A misconception of a later program is no reason to lose the answer.
    let misconception = match json.get("misconception") {
        Some(key) => Misconception::from_key(key.as_text("misconception")?),
        None => None,
    };
    Ok((
        id,
        Event::Answered(Answered {
            skill,
            level,
            seed,
            body: json.text("body")?.to_owned(),
            first_try: json.flag("first")?,
            score,
            hints: json.count("hints")?,
            ways: json.count("ways")?,
            misconception,
        }),
    ))
}

/// A whole number that a double holds exactly; milliseconds since 1970 do so for longer than anybody needs.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "checked to be whole and in range"
)]
fn whole(json: &Json, name: &'static str) -> Result<u64, JsonError> {
    let number = json.number(name)?;
    let fits = (0.0..9_007_199_254_740_992.0).contains(&number) && number.fract() == 0.0;
    if fits {
        Ok(number as u64)
    } else {
        Err(kind("a whole number from 0 on", name))
    }
}
