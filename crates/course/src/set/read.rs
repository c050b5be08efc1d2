//! From a file to a set. Total: any bytes give a set or the list of what is wrong.

use anatomy::json::Json;
use geometry::{Angle, ApexSide, BodyPosition, ImageSide, MarkSide, Mm};

use super::question::{AXIS_WORDS, FAULT_WORDS, class_words, kind_words, plane_words, side_words};
use super::{
    Acquire, Asked, Difficulty, Drawn, FORMAT, Feedback, Fixed, Kind, LARGEST, LARGEST_SEED,
    MOST_ENTRIES, MOST_QUESTIONS, Order, Question, Set, Step, VERSION, View, WantedView,
};
use crate::json::{Fault, Faults, Object, Unknown, read_object};
use crate::link::{self, LinkPose};
use crate::vocabulary;

/// A set that could be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The set.
    pub set: Set,
    /// Fields that this version does not know. They are kept and do nothing, which a slip of the pen may not want.
    pub unknown: Vec<Unknown>,
}

/// Reads a set.
///
/// # Errors
///
/// Everything that is wrong, in the order of the file: at least one fault.
///
/// ```
/// let faults = course::set::read(br#"{"format": "planeward-set", "version": 1, "title": "A", "attempts": 0}"#)
///     .expect_err("no attempts");
/// assert_eq!(faults[0].to_string(), "attempts: found 0, expected a whole number from 1 to 20");
/// ```
pub fn read(bytes: &[u8]) -> Result<Reading, Vec<Fault>> {
    read_as(bytes, false)
}

/// Reads a set in the making, which may still lack its title and its questions.
///
/// # Errors
///
/// As [`read()`].
pub fn read_unfinished(bytes: &[u8]) -> Result<Reading, Vec<Fault>> {
    read_as(bytes, true)
}

fn read_as(bytes: &[u8], unfinished: bool) -> Result<Reading, Vec<Fault>> {
    if bytes.len() > LARGEST {
        return Err(vec![Fault {
            path: "the whole file".to_owned(),
            found: format!("{} bytes", bytes.len()),
            expected: format!("at most {LARGEST} bytes"),
        }]);
    }
    let json = read_object(bytes).map_err(|fault| vec![fault])?;
    let mut faults = Faults::default();
    let set = Object::new(&json, String::new(), &mut faults)
        .and_then(|object| whole(object, unfinished, &mut faults));
    match set {
        Some(set) if faults.faults.is_empty() => Ok(Reading {
            set,
            unknown: faults.unknown,
        }),
        _ => Err(faults.faults),
    }
}

fn whole(mut object: Object<'_>, unfinished: bool, faults: &mut Faults) -> Option<Set> {
    // A file of another kind or version gets one message and not one for each field.
    let format = object.word("format", &[(FORMAT, ())], faults);
    if format.is_none() {
        if faults.faults.is_empty() {
            object.missing("format", &format!("\"{FORMAT}\""), faults);
        }
        return None;
    }
    match object.take("version") {
        Some(Json::Number(found)) if anatomy::json::whole_number(*found) == Some(VERSION) => {}
        found => {
            let found = found.map_or_else(|| "nothing".to_owned(), crate::json::quoted);
            let expected = format!("{VERSION}, the version that this program reads");
            faults.add(object.at("version"), found, expected);
            return None;
        }
    }
    let usual = Set::default();
    let title = object.text("title", usize::from(!unfinished), 200, faults);
    if !unfinished && !object.has("title") {
        object.missing("title", "a text of 1 to 200 characters", faults);
    }
    let language = language(&mut object, faults);
    let description = object.text("description", 0, 4000, faults);
    let body = object.identifier("body", faults);
    let positions = BodyPosition::ALL.map(|position| (position.key(), position));
    let position = object.word("position", &positions, faults);
    let (mut mark, mut apex, mut convention_more) = (None, None, Vec::new());
    if let Some(mut convention) = object.child("convention", faults) {
        let marks = [MarkSide::Left, MarkSide::Right].map(|side| (side.word(), side));
        mark = convention.word("mark", &marks, faults);
        let ends = [ApexSide::Top, ApexSide::Bottom].map(|end| (end.word(), end));
        apex = convention.word("apex", &ends, faults);
        convention_more = convention.rest(faults);
    }
    let tolerance_deg = object.number("tolerance_deg", 5.0, 40.0, "degrees", faults);
    let pass_percent = object.count("pass_percent", 1, 100, faults);
    let attempts = object.count("attempts", 1, 20, faults);
    let order = object.word("order", &Order::WORDS, faults);
    let feedback = object.word("feedback", &Feedback::WORDS, faults);
    let hints = object.flag("hints", faults);
    let label = object.text("label", 1, 100, faults);
    let report_failed = object.flag("report_failed", faults);
    let seed = seed(&mut object, faults);
    let vocabulary = vocabulary(&mut object, faults);
    let questions = questions(&mut object, faults);
    let acquire = object
        .child("acquire", faults)
        .and_then(|child| acquire(child, faults));
    let nothing = questions.is_empty() && !unfinished;
    if nothing && !object.has("acquire") && faults.faults.is_empty() {
        object.missing("questions", "at least one question, or \"acquire\"", faults);
    }
    let mut more = object.rest(faults);
    if !convention_more.is_empty() {
        // Written back inside `convention`; the name says which object they belong to.
        more.extend(
            convention_more
                .into_iter()
                .map(|(name, value)| (format!("convention.{name}"), value)),
        );
    }
    Some(Set {
        title: title.unwrap_or_default(),
        language: language.unwrap_or(usual.language),
        description: description.unwrap_or_default(),
        body: body.unwrap_or(usual.body),
        position: position.unwrap_or(usual.position),
        mark: mark.unwrap_or(usual.mark),
        apex: apex.unwrap_or(usual.apex),
        tolerance_deg: tolerance_deg.unwrap_or(usual.tolerance_deg),
        pass_percent,
        attempts: attempts.unwrap_or(usual.attempts),
        order: order.unwrap_or_default(),
        feedback: feedback.unwrap_or_default(),
        hints: hints.unwrap_or(usual.hints),
        label,
        report_failed: report_failed.unwrap_or(usual.report_failed),
        seed,
        vocabulary,
        questions,
        acquire,
        more,
    })
}

/// A language tag: letters and digits in parts of 1 to 8 between hyphens, the first of 2 or 3 letters (BCP 47).
fn language(object: &mut Object<'_>, faults: &mut Faults) -> Option<String> {
    let text = object.text("language", 2, 35, faults)?;
    let mut parts = text.split('-');
    let first = parts.next().is_some_and(|part| {
        (2..=3).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_alphabetic())
    });
    let others = parts.all(|part| {
        (1..=8).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_alphanumeric())
    });
    if first && others {
        return Some(text);
    }
    let expected = "a language tag such as \"en\" or \"pt-BR\" (BCP 47)";
    faults.add(object.at("language"), format!("\"{text}\""), expected);
    None
}

fn seed(object: &mut Object<'_>, faults: &mut Faults) -> Option<u64> {
    let value = object.take("seed")?;
    if let Json::Number(number) = value
        && let Some(seed) = exact(*number)
    {
        return Some(seed);
    }
    let expected = format!("a whole number from 0 to {LARGEST_SEED}");
    faults.add(object.at("seed"), crate::json::quoted(value), expected);
    None
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "range and wholeness are checked first; the largest seed is exact in f64"
)]
fn exact(number: f64) -> Option<u64> {
    let fits = (0.0..=LARGEST_SEED as f64).contains(&number) && number.fract() == 0.0;
    fits.then_some(number as u64)
}

fn vocabulary(object: &mut Object<'_>, faults: &mut Faults) -> Option<Json> {
    let value = object.take("vocabulary")?;
    match vocabulary::from_json(value) {
        Ok(_) => Some(value.clone()),
        Err(error) => {
            let found = "a list with a fault".to_owned();
            faults.add(
                object.at("vocabulary"),
                found,
                format!("a vocabulary ({error})"),
            );
            None
        }
    }
}

fn questions(object: &mut Object<'_>, faults: &mut Faults) -> Vec<Question> {
    let mut questions: Vec<Question> = Vec::new();
    for (path, entry) in object.list("questions", MOST_ENTRIES, faults) {
        let Some(entry) = Object::new(entry, path, faults) else {
            continue;
        };
        let place = entry.at("id");
        let Some(question) = question(entry, faults) else {
            continue;
        };
        if questions.iter().any(|other| other.id == question.id) {
            let found = format!("\"{}\"", question.id);
            faults.add(place, found, "a name that no other question has");
        }
        questions.push(question);
    }
    let total: u32 = questions.iter().map(Question::count).sum();
    if total > MOST_QUESTIONS {
        let found = format!("{total} questions");
        let expected = format!("at most {MOST_QUESTIONS} in the whole set");
        faults.add("questions".to_owned(), found, expected);
    }
    questions
}

fn question(mut object: Object<'_>, faults: &mut Faults) -> Option<Question> {
    let id = question_id(&mut object, faults);
    let points = object.count("points", 1, 100, faults).unwrap_or(1);
    let hint = object.text("hint", 1, 1000, faults);
    let prompt = object.text("prompt", 1, 1000, faults);
    let asked = match (object.has("kind"), object.has("draw")) {
        (true, false) => fixed(&mut object, faults).map(|fixed| Asked::Fixed(Box::new(fixed))),
        (false, true) => object
            .child("draw", faults)
            .and_then(|child| drawn(child, faults))
            .map(Asked::Drawn),
        (true, true) => {
            let found = "\"kind\" and \"draw\"".to_owned();
            faults.add(object.at("draw"), found, "one of the two");
            return None;
        }
        (false, false) => {
            object.missing("kind", "\"kind\" with \"view\", or \"draw\"", faults);
            return None;
        }
    };
    let more = object.rest(faults);
    Some(Question {
        id: id?,
        points,
        hint,
        prompt,
        asked: asked?,
        more,
    })
}

fn question_id(object: &mut Object<'_>, faults: &mut Faults) -> Option<String> {
    let expected = "a letter, then at most 39 letters, digits and _";
    let Some(value) = object.take("id") else {
        object.missing("id", expected, faults);
        return None;
    };
    if let Json::Text(text) = value
        && text.len() <= 40
        && text.starts_with(|c: char| c.is_ascii_alphabetic())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
    {
        return Some(text.clone());
    }
    faults.add(object.at("id"), crate::json::quoted(value), expected);
    None
}

/// The fields that belong to some kinds only, and the kinds that cannot do without.
const BELONGS: [(&str, &[Kind], &[Kind], &str); 5] = [
    ("side", &[Kind::Side], &[], ""),
    (
        "structure",
        &[
            Kind::Axis,
            Kind::Annotate,
            Kind::PlaceProbe,
            Kind::FindTheFault,
        ],
        &[Kind::Axis, Kind::Annotate],
        "the structure that the question is about",
    ),
    ("start", &[Kind::PlaceProbe], &[], ""),
    (
        "move",
        &[Kind::NextMove],
        &[Kind::NextMove],
        "the movement, such as { \"tilt_deg\": 10 }",
    ),
    (
        "fault",
        &[Kind::FindTheFault],
        &[Kind::FindTheFault],
        "what is wrong",
    ),
];

fn fixed(object: &mut Object<'_>, faults: &mut Faults) -> Option<Fixed> {
    let kind = object.word("kind", &kind_words(), faults);
    if !object.has("view") {
        object.missing("view", "where the probe stands: { … }", faults);
    }
    let view = inner_view(object, "view", faults);
    let fixed = Fixed {
        kind: kind?,
        view: view.unwrap_or_default(),
        side: object.word(
            "side",
            &ImageSide::ALL.map(|side| (side.word(), side)),
            faults,
        ),
        structure: object.identifier("structure", faults),
        start: inner_view(object, "start", faults),
        movement: object
            .child("move", faults)
            .and_then(|child| movement(child, faults)),
        fault: object.word("fault", &FAULT_WORDS, faults),
    };
    for (name, kinds, needing, what) in BELONGS {
        if object.has(name) && !kinds.contains(&fixed.kind) {
            let words: Vec<&str> = kinds.iter().map(|kind| kind.key()).collect();
            let found = format!("the field in a question of kind {}", fixed.kind.key());
            let expected = format!("it in questions of kind {} only", words.join(", "));
            faults.add(object.at(name), found, expected);
        } else if !object.has(name) && needing.contains(&fixed.kind) {
            object.missing(name, what, faults);
        }
    }
    Some(fixed)
}

/// Exactly one of the five movements.
fn movement(mut object: Object<'_>, faults: &mut Faults) -> Option<Step> {
    let slide = object.numbers::<2>("slide_mm", -200.0, 200.0, "mm", faults);
    let tilt = object.number("tilt_deg", -90.0, 90.0, "degrees", faults);
    let rock = object.number("rock_deg", -90.0, 90.0, "degrees", faults);
    let rotate = object.number("rotate_deg", -180.0, 180.0, "degrees", faults);
    let press = object.number("press_mm", -100.0, 100.0, "mm", faults);
    let given = [
        slide.map(|by| Step::Slide(by.map(thousandth))),
        tilt.map(|by| Step::Tilt(Angle::deg(thousandth(by)))),
        rock.map(|by| Step::Rock(Angle::deg(thousandth(by)))),
        rotate.map(|by| Step::Rotate(Angle::deg(thousandth(by)))),
        press.map(|by| Step::Press(Mm::new(thousandth(by)))),
    ];
    let mut steps = given.into_iter().flatten();
    let step = steps.next();
    let more = steps.next().is_some();
    if more || (step.is_none() && faults.faults.is_empty()) {
        let expected = "one of slide_mm, tilt_deg, rock_deg, rotate_deg, press_mm";
        let found = if more { "several" } else { "nothing" };
        faults.add(object.at("tilt_deg"), found.to_owned(), expected);
    }
    let _ = object.rest(faults);
    step
}

fn inner_view(object: &mut Object<'_>, name: &'static str, faults: &mut Faults) -> Option<View> {
    object.child(name, faults).map(|child| view(child, faults))
}

fn view(mut object: Object<'_>, faults: &mut Faults) -> View {
    let body = object.identifier("body", faults);
    let window = object.identifier("window", faults);
    let contact = object.numbers::<3>("contact_mm", -4000.0, 4000.0, "mm", faults);
    let out = object.numbers::<2>("out_deg", -180.0, 180.0, "degrees", faults);
    let rotation = object.number("rotation_deg", -360.0, 360.0, "degrees", faults);
    let tilt = object.number("tilt_deg", -90.0, 90.0, "degrees", faults);
    let rock = object.number("rock_deg", -90.0, 90.0, "degrees", faults);
    let press = object.number("press_mm", 0.0, 100.0, "mm", faults);
    let needs_contact = [
        "out_deg",
        "rotation_deg",
        "tilt_deg",
        "rock_deg",
        "press_mm",
    ];
    if object.has("contact_mm") {
        if !object.has("out_deg") {
            let expected = "the skin's outward normal there: [azimuth, elevation] in degrees";
            object.missing("out_deg", expected, faults);
        }
    } else if let Some(name) = needs_contact.iter().find(|name| object.has(name)) {
        let found = format!("nothing, beside {name}");
        faults.add(
            object.at("contact_mm"),
            found,
            "the contact point on the skin: [x, y, z] in mm",
        );
    } else if !object.has("window") {
        object.missing(
            "window",
            "a named window, or contact_mm with out_deg",
            faults,
        );
    }
    if out.is_some_and(|[_, elevation]| elevation.abs() > 90.0) {
        let expected = "an elevation from -90 to 90 degrees";
        faults.add(
            format!("{}[1]", object.at("out_deg")),
            "more".to_owned(),
            expected,
        );
    }
    let transducer = object.identifier("transducer", faults);
    let depth_mm = object
        .number("depth_mm", 10.0, 400.0, "mm", faults)
        .map(thousandth);
    let pose = contact.zip(out).map(|(contact, [azimuth, elevation])| {
        link::tidy(LinkPose {
            contact_mm: contact,
            out_azimuth_deg: azimuth,
            out_elevation_deg: elevation,
            rotation_deg: rotation.unwrap_or(0.0),
            tilt_deg: tilt.unwrap_or(0.0),
            rock_deg: rock.unwrap_or(0.0),
            press_mm: press.unwrap_or(0.0),
        })
    });
    View {
        body,
        window,
        pose,
        transducer,
        depth_mm,
        more: object.rest(faults),
    }
}

fn thousandth(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

fn drawn(mut object: Object<'_>, faults: &mut Faults) -> Option<Drawn> {
    let mut kinds = Vec::new();
    if !object.has("kinds") {
        object.missing("kinds", "a list of kinds of questions", faults);
    }
    for (path, entry) in object.list("kinds", Kind::ALL.len(), faults) {
        if let Some(kind) = crate::json::word(entry, path.clone(), &kind_words(), faults) {
            if kinds.contains(&kind) {
                faults.add(path, crate::json::quoted(entry), "every kind once");
            } else {
                kinds.push(kind);
            }
        }
    }
    if object.has("kinds") && kinds.is_empty() && faults.faults.is_empty() {
        faults.add(object.at("kinds"), "[]".to_owned(), "at least one kind");
    }
    let count = object.count("count", 1, MOST_QUESTIONS, faults);
    if !object.has("count") {
        let expected = format!("a whole number from 1 to {MOST_QUESTIONS}");
        object.missing("count", &expected, faults);
    }
    Some(Drawn {
        kinds,
        count: count?,
        difficulty: object
            .word("difficulty", &Difficulty::WORDS, faults)
            .unwrap_or_default(),
        plane: object.word("plane", &class_words(), faults),
        approach: object.word("approach", &side_words(), faults),
        seed: seed(&mut object, faults),
        more: object.rest(faults),
    })
}

fn acquire(mut object: Object<'_>, faults: &mut Faults) -> Option<Acquire> {
    let list = object.identifier("list", faults);
    let mut views = Vec::new();
    for (path, entry) in object.list("views", 60, faults) {
        if let Some(entry) = Object::new(entry, path, faults)
            && let Some(view) = wanted(entry, faults)
        {
            views.push(view);
        }
    }
    match (object.has("list"), object.has("views")) {
        (true, true) => {
            let found = "\"list\" and \"views\"".to_owned();
            faults.add(object.at("views"), found, "one of the two");
        }
        (false, false) => object.missing("list", "\"list\" or \"views\"", faults),
        (false, true) if views.is_empty() && faults.faults.is_empty() => {
            faults.add(object.at("views"), "[]".to_owned(), "at least one view");
        }
        _ => {}
    }
    Some(Acquire {
        list,
        views,
        more: object.rest(faults),
    })
}

fn wanted(mut object: Object<'_>, faults: &mut Faults) -> Option<WantedView> {
    if !object.has("subject") {
        object.missing("subject", "the structure that the picture is of", faults);
    }
    let subject = object.identifier("subject", faults);
    let view = WantedView {
        subject: subject.unwrap_or_default(),
        plane: object.word("plane", &plane_words(), faults),
        axis: object.word("axis", &AXIS_WORDS, faults),
        segment: object.identifier("segment", faults),
        divides_into: object.identifiers("divides_into", 8, faults),
        more: object.rest(faults),
    };
    Some(view)
}
