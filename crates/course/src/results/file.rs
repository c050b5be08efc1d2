//! The result file of one round of one learner, version 1.

use anatomy::json::Json;

use crate::archive::crc32;
use crate::json::{Fault, Faults, Fields, Object, compact, pretty, read_object};
use crate::moment::Moment;

/// What stands in the field `format`.
pub const FORMAT: &str = "planeward-result";

/// The version that this program reads and writes.
pub const VERSION: u32 = 1;

/// Largest file that is looked at, bytes.
pub const LARGEST: usize = 2 << 20;

/// Most items of a round.
pub const MOST_ITEMS: usize = 400;

/// How an answer was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// All of it right.
    Right,
    /// Part of it right.
    Partly,
    /// Nothing right.
    Wrong,
    /// Not answered: passed over, or the round ended before.
    Unanswered,
}

impl Outcome {
    /// Words of the file.
    pub const WORDS: [(&'static str, Self); 4] = [
        ("right", Self::Right),
        ("partly", Self::Partly),
        ("wrong", Self::Wrong),
        ("unanswered", Self::Unanswered),
    ];

    /// The word of the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Partly => "partly",
            Self::Wrong => "wrong",
            Self::Unanswered => "unanswered",
        }
    }
}

/// How far the probe was from where it should have been, after the first try. Differences are "found minus wanted".
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PoseError {
    /// Angle between the two planes, 0 to 90 degrees.
    pub plane_deg: f64,
    /// Whether the picture was the mirror image of the wanted one: the notch pointed the other way.
    pub reversed: bool,
    /// Whether the probe stood on the other side of the body.
    pub other_side: bool,
    /// Rotation, clockwise as seen from outside the skin, −180 to 180 degrees.
    pub rotation_deg: f64,
    /// Tilt, degrees.
    pub tilt_deg: f64,
    /// Rock, degrees; positive is toward the notch.
    pub rock_deg: f64,
    /// Along the skin toward the patient's left, mm.
    pub toward_left_mm: f64,
    /// Along the skin toward the head, mm.
    pub toward_head_mm: f64,
}

/// One question as it was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its name, as [`crate::set::Question::item_id`] gives it.
    pub id: String,
    /// Its kind, as [`practice::Kind::key`] gives it; another text for kinds of other versions.
    pub kind: String,
    /// Key of the skill that it trains; may be empty.
    pub skill: String,
    /// Marks for a right answer.
    pub points: u32,
    /// How the answer that counts was.
    pub outcome: Outcome,
    /// Share of the marks that count, 0 to 1.
    pub score: f64,
    /// Share of the marks after the first try without hint, 0 to 1: what statistics are made of.
    pub first_score: f64,
    /// All answers in their order, as keys or words. For questions about planes the words of [`geometry::BodyPlane`] and
    /// "oblique", `longitudinal_oblique`, `transverse_oblique`.
    pub answers: Vec<String>,
    /// The right answer, in the same words.
    pub correct: String,
    /// How many hints were asked for.
    pub hints: u32,
    /// From showing the question to the first answer, ms.
    pub latency_ms: u32,
    /// Key of the misconception that the first answer fits.
    pub misconception: Option<String>,
    /// The view, as a link.
    pub view: Option<String>,
    /// How far the probe was off, for questions that place it.
    pub pose: Option<PoseError>,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

/// A result file.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultFile {
    /// Version of the program that wrote it.
    pub program: String,
    /// Title of the set.
    pub title: String,
    /// [`crate::set::identity`] of the set.
    pub set: String,
    /// Seed of the round.
    pub seed: u64,
    /// Which round of this learner with this set it is, from 1, as far as their browser knows.
    pub attempt: u32,
    /// What the learner typed, if the set asked for it.
    pub label: Option<String>,
    /// When the round began and ended.
    pub started: Moment,
    /// When it ended; `None` where it was broken off.
    pub ended: Option<Moment>,
    /// From which share of the marks the set is passed, percent.
    pub pass_percent: Option<u32>,
    /// The questions in the order they were asked.
    pub items: Vec<Item>,
    /// Fields that this version does not know.
    pub more: Vec<(String, Json)>,
}

impl ResultFile {
    /// Share of the marks, percent, 0 to 100; questions that were not answered count as 0.
    #[must_use]
    pub fn percent(&self) -> f64 {
        let whole: f64 = self.items.iter().map(|item| f64::from(item.points)).sum();
        let got: f64 = self
            .items
            .iter()
            .map(|item| f64::from(item.points) * item.score)
            .sum();
        if whole > 0.0 {
            100.0 * got / whole
        } else {
            0.0
        }
    }

    /// Whether the set is passed; `None` where it sets no mark.
    #[must_use]
    pub fn passed(&self) -> Option<bool> {
        // Shares of marks are sums of fractions: a thousand-millionth below the mark is the mark.
        self.pass_percent
            .map(|mark| self.percent() >= f64::from(mark) - 1e-9)
    }
}

/// Why a file is left out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Broken {
    /// It is something else.
    #[error("it is no result file of Planeward")]
    Foreign,
    /// It is of another version.
    #[error("it is a result file of version {0}; this program reads version {VERSION}")]
    Version(String),
    /// Its check sum does not fit.
    #[error("it is damaged: its content does not fit its check sum")]
    Damaged,
    /// It stops in the middle.
    #[error(
        "it stops in the middle: part of it was lost while it was saved or sent; ask for it again"
    )]
    CutOff,
    /// It is too large.
    #[error("it is larger than {LARGEST} bytes")]
    TooLarge,
    /// A value is wrong.
    #[error("it has a fault at {0}")]
    Fault(Fault),
}

/// The file as text, with its check sum.
#[must_use]
pub fn write(result: &ResultFile) -> String {
    let tree = tree(result);
    let sum = checksum(&tree);
    let Json::Object(mut fields) = tree else {
        return String::new();
    };
    fields.push(("checksum".to_owned(), Json::Text(sum)));
    pretty(&Json::Object(fields))
}

/// CRC-32 of the compact text of everything but the check sum itself: other line ends, blanks or number spellings change
/// nothing, every value does.
fn checksum(tree: &Json) -> String {
    format!("crc32:{:08x}", crc32(compact(tree).as_bytes()))
}

fn tree(result: &ResultFile) -> Json {
    let mut out = Fields::default();
    out.text("format", FORMAT);
    out.number("version", f64::from(VERSION));
    out.text("program", &result.program);
    out.text("title", &result.title);
    out.text("set", &result.set);
    out.number("seed", result.seed.min(crate::set::LARGEST_SEED) as f64);
    out.number("attempt", f64::from(result.attempt));
    out.maybe_text("label", result.label.as_deref());
    out.text("started", &result.started.iso());
    out.maybe_text("ended", result.ended.map(Moment::iso).as_deref());
    if let Some(percent) = result.pass_percent {
        out.number("pass_percent", f64::from(percent));
    }
    out.number("percent", rounded(result.percent()));
    if let Some(passed) = result.passed() {
        out.put("passed", Json::Bool(passed));
    }
    out.put("items", Json::List(result.items.iter().map(item).collect()));
    out.extend(&result.more);
    out.object()
}

/// To a ten-thousandth: enough for every figure, and short.
fn rounded(value: f64) -> f64 {
    (value * 10_000.0).round() / 10_000.0
}

fn item(item: &Item) -> Json {
    let mut out = Fields::default();
    out.text("id", &item.id);
    out.text("kind", &item.kind);
    if !item.skill.is_empty() {
        out.text("skill", &item.skill);
    }
    out.number("points", f64::from(item.points));
    out.text("outcome", item.outcome.word());
    out.number("score", rounded(item.score));
    out.number("first_score", rounded(item.first_score));
    out.texts("answers", &item.answers);
    out.text("correct", &item.correct);
    out.number("hints", f64::from(item.hints));
    out.number("latency_ms", f64::from(item.latency_ms));
    out.maybe_text("misconception", item.misconception.as_deref());
    out.maybe_text("view", item.view.as_deref());
    if let Some(pose) = &item.pose {
        out.put("pose_error", pose_error(pose));
    }
    out.extend(&item.more);
    out.object()
}

fn pose_error(pose: &PoseError) -> Json {
    let mut out = Fields::default();
    out.number("plane_deg", rounded(pose.plane_deg));
    out.put("reversed", Json::Bool(pose.reversed));
    out.put("other_side", Json::Bool(pose.other_side));
    for (name, value) in [
        ("rotation_deg", pose.rotation_deg),
        ("tilt_deg", pose.tilt_deg),
        ("rock_deg", pose.rock_deg),
        ("toward_left_mm", pose.toward_left_mm),
        ("toward_head_mm", pose.toward_head_mm),
    ] {
        out.number(name, rounded(value));
    }
    out.object()
}

/// Reads a result file. Total: any bytes give a file or the reason why not.
///
/// # Errors
///
/// [`Broken`], fit to stand behind the name of the file.
pub fn read(bytes: &[u8]) -> Result<ResultFile, Broken> {
    if bytes.len() > LARGEST {
        return Err(Broken::TooLarge);
    }
    let mut json = read_object(bytes).map_err(|fault| {
        // A text that starts like one of ours and stops is cut off, not foreign.
        let start = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]).contains(FORMAT);
        if start && fault.found == crate::json::END {
            Broken::CutOff
        } else if start {
            Broken::Fault(fault)
        } else {
            Broken::Foreign
        }
    })?;
    if json.get("format") != Some(&Json::Text(FORMAT.to_owned())) {
        return Err(Broken::Foreign);
    }
    match json.get("version") {
        Some(Json::Number(version)) if anatomy::json::whole_number(*version) == Some(VERSION) => {}
        other => {
            let found = other.map_or_else(|| "none".to_owned(), crate::json::quoted);
            return Err(Broken::Version(found));
        }
    }
    let mut sum = None;
    if let Json::Object(fields) = &mut json
        && let Some(place) = fields.iter().position(|(name, _)| name == "checksum")
    {
        sum = Some(fields.remove(place).1);
    }
    if sum != Some(Json::Text(checksum(&json))) {
        return Err(Broken::Damaged);
    }
    let mut faults = Faults::default();
    let result = Object::new(&json, String::new(), &mut faults)
        .and_then(|object| whole(object, &mut faults));
    match (result, faults.faults.into_iter().next()) {
        (Some(result), None) => Ok(result),
        (_, Some(fault)) => Err(Broken::Fault(fault)),
        (None, None) => Err(Broken::Damaged),
    }
}

fn whole(mut object: Object<'_>, faults: &mut Faults) -> Option<ResultFile> {
    for known in ["format", "version", "percent", "passed"] {
        let _ = object.take(known);
    }
    for needed in ["title", "set", "started", "items"] {
        if !object.has(needed) {
            object.missing(needed, "a value", faults);
        }
    }
    let program = object.text("program", 0, 40, faults);
    let title = object.text("title", 0, 200, faults);
    let set = object.text("set", 1, 64, faults);
    let seed = object.number("seed", 0.0, crate::set::LARGEST_SEED as f64, "", faults);
    let attempt = object.count("attempt", 1, 10_000, faults);
    let label = object.text("label", 0, 200, faults);
    let started = moment(&mut object, "started", faults);
    let ended = moment(&mut object, "ended", faults);
    let pass_percent = object.count("pass_percent", 1, 100, faults);
    let mut items: Vec<Item> = Vec::new();
    for (path, entry) in object.list("items", MOST_ITEMS, faults) {
        let read =
            Object::new(entry, path.clone(), faults).and_then(|entry| read_item(entry, faults));
        let Some(item) = read else { continue };
        if items.iter().any(|other| other.id == item.id) {
            faults.add(path, format!("\"{}\" again", item.id), "every item once");
        }
        items.push(item);
    }
    Some(ResultFile {
        program: program.unwrap_or_default(),
        title: title?,
        set: set?,
        seed: whole_seed(seed.unwrap_or(0.0)),
        attempt: attempt.unwrap_or(1),
        label,
        started: started?,
        ended,
        pass_percent,
        items,
        more: object.rest(faults),
    })
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the range was checked by the reader"
)]
fn whole_seed(seed: f64) -> u64 {
    seed as u64
}

fn moment(object: &mut Object<'_>, name: &'static str, faults: &mut Faults) -> Option<Moment> {
    let text = object.text(name, 1, 40, faults)?;
    let moment = Moment::from_iso(&text);
    if moment.is_none() {
        let expected = "date and time such as 2026-11-25T09:45:01+01:00 (RFC 3339)";
        faults.add(object.at(name), format!("\"{text}\""), expected);
    }
    moment
}

fn read_item(mut object: Object<'_>, faults: &mut Faults) -> Option<Item> {
    for needed in ["id", "kind", "outcome", "score"] {
        if !object.has(needed) {
            object.missing(needed, "a value", faults);
        }
    }
    let id = object.text("id", 1, 80, faults);
    let kind = object.text("kind", 1, 80, faults);
    let skill = object.text("skill", 0, 120, faults);
    let points = object.count("points", 1, 100, faults);
    let outcome = object.word("outcome", &Outcome::WORDS, faults);
    let score = object.number("score", 0.0, 1.0, "", faults);
    let first_score = object.number("first_score", 0.0, 1.0, "", faults);
    let mut answers = Vec::new();
    for (path, entry) in object.list("answers", 50, faults) {
        match entry {
            Json::Text(text) if text.chars().count() <= 1000 => answers.push(text.clone()),
            other => faults.add(path, crate::json::quoted(other), "a text"),
        }
    }
    let correct = object.text("correct", 0, 1000, faults);
    let hints = object.count("hints", 0, 1000, faults);
    let latency_ms = object.count("latency_ms", 0, u32::MAX, faults);
    let misconception = object.text("misconception", 1, 120, faults);
    let view = object.text("view", 1, 2000, faults);
    let pose = object
        .child("pose_error", faults)
        .map(|child| read_pose(child, faults));
    Some(Item {
        id: id?,
        kind: kind?,
        skill: skill.unwrap_or_default(),
        points: points.unwrap_or(1),
        outcome: outcome?,
        score: score?,
        first_score: first_score.or(score)?,
        answers,
        correct: correct.unwrap_or_default(),
        hints: hints.unwrap_or(0),
        latency_ms: latency_ms.unwrap_or(0),
        misconception,
        view,
        pose,
        more: object.rest(faults),
    })
}

fn read_pose(mut object: Object<'_>, faults: &mut Faults) -> PoseError {
    let mut number = |name: &'static str, most: f64, unit: &str| {
        object
            .number(name, -most, most, unit, faults)
            .unwrap_or(0.0)
    };
    let plane_deg = number("plane_deg", 90.0, "degrees");
    let rotation_deg = number("rotation_deg", 180.0, "degrees");
    let tilt_deg = number("tilt_deg", 180.0, "degrees");
    let rock_deg = number("rock_deg", 180.0, "degrees");
    let toward_left_mm = number("toward_left_mm", 4000.0, "mm");
    let toward_head_mm = number("toward_head_mm", 4000.0, "mm");
    PoseError {
        plane_deg,
        reversed: object.flag("reversed", faults).unwrap_or(false),
        other_side: object.flag("other_side", faults).unwrap_or(false),
        rotation_deg,
        tilt_deg,
        rock_deg,
        toward_left_mm,
        toward_head_mm,
    }
}
