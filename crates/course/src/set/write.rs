//! From a set to text.

use anatomy::json::Json;

use super::question::{AXIS_WORDS, FAULT_WORDS, plane_words, side_words, word_of};
use super::{
    Acquire, Asked, Difficulty, Drawn, FORMAT, Feedback, Fixed, Order, Question, Set, Step,
    VERSION, View, WantedView,
};
use crate::json::{Fields, compact};

/// The file as people read it: every setting of the set stands there, also where it is the usual one.
#[must_use]
pub fn pretty(set: &Set) -> String {
    crate::json::pretty(&tree(set, true))
}

/// The same set on one line without what is usual: for links. Equal sets give equal texts.
#[must_use]
pub fn short(set: &Set) -> String {
    compact(&tree(set, false))
}

/// What tells this set from every other in results: 16 hexadecimal digits, FNV-1a of 64 bits over [`short`].
///
/// It finds files that do not belong together; it is no protection against somebody who wants to deceive.
#[must_use]
pub fn identity(set: &Set) -> String {
    format!("{:016x}", fnv(short(set).as_bytes()))
}

fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// Collects fields, leaving out usual ones where the text should be short.
struct Writer {
    fields: Fields,
    all: bool,
}

impl Writer {
    const fn new(all: bool, fields: Fields) -> Self {
        Self { fields, all }
    }

    fn text(&mut self, name: &str, value: &str, usual: &str) {
        if self.all || value != usual {
            self.fields.text(name, value);
        }
    }

    fn number(&mut self, name: &str, value: f64, usual: f64) {
        if self.all || value.total_cmp(&usual).is_ne() {
            self.fields.number(name, value);
        }
    }

    fn flag(&mut self, name: &str, value: bool, usual: bool) {
        if self.all || value != usual {
            self.fields.put(name, Json::Bool(value));
        }
    }
}

fn tree(set: &Set, all: bool) -> Json {
    let usual = Set::default();
    let mut out = Writer::new(all, Fields::default());
    out.fields.text("format", FORMAT);
    out.fields.number("version", f64::from(VERSION));
    out.fields.text("title", &set.title);
    out.text("language", &set.language, &usual.language);
    out.text("description", &set.description, "");
    out.text("body", &set.body, &usual.body);
    out.text("position", set.position.key(), usual.position.key());
    let (inner, outer): (Vec<_>, Vec<_>) = set
        .more
        .iter()
        .cloned()
        .partition(|(name, _)| name.starts_with("convention."));
    let mut convention = Writer::new(all, Fields::default());
    convention.text("mark", set.mark.word(), usual.mark.word());
    convention.text("apex", set.apex.word(), usual.apex.word());
    for (name, value) in inner {
        let name = name.strip_prefix("convention.").unwrap_or_default();
        convention.fields.put(name, value);
    }
    if let convention @ Json::Object(_) = convention.fields.object()
        && convention != Json::Object(Vec::new())
    {
        out.fields.put("convention", convention);
    }
    out.number("tolerance_deg", set.tolerance_deg, usual.tolerance_deg);
    if let Some(percent) = set.pass_percent {
        out.fields.number("pass_percent", f64::from(percent));
    }
    out.number(
        "attempts",
        f64::from(set.attempts),
        f64::from(usual.attempts),
    );
    out.text("order", word_of(set.order, &Order::WORDS), "as_written");
    out.text(
        "feedback",
        word_of(set.feedback, &Feedback::WORDS),
        "at_once",
    );
    out.flag("hints", set.hints, usual.hints);
    out.fields.maybe_text("label", set.label.as_deref());
    out.flag("report_failed", set.report_failed, usual.report_failed);
    put_seed(set.seed, &mut out.fields);
    if let Some(vocabulary) = &set.vocabulary {
        out.fields.put("vocabulary", vocabulary.clone());
    }
    if !set.questions.is_empty() {
        let list = set.questions.iter().map(|entry| question(entry, all));
        out.fields.put("questions", Json::List(list.collect()));
    }
    if let Some(wanted) = &set.acquire {
        out.fields.put("acquire", acquire(wanted));
    }
    out.fields.extend(&outer);
    out.fields.object()
}

#[expect(
    clippy::cast_precision_loss,
    reason = "seeds are at most 2^53 - 1, exact in f64; a larger one, which no reader makes, is written as near as can be"
)]
fn put_seed(seed: Option<u64>, out: &mut Fields) {
    if let Some(seed) = seed {
        out.number("seed", seed.min(super::LARGEST_SEED) as f64);
    }
}

fn question(question: &Question, all: bool) -> Json {
    let mut out = Writer::new(all, Fields::default());
    out.fields.text("id", &question.id);
    match &question.asked {
        Asked::Fixed(fixed) => put_fixed(fixed, &mut out.fields),
        Asked::Drawn(entry) => out.fields.put("draw", drawn(entry, all)),
    }
    out.number("points", f64::from(question.points), 1.0);
    out.fields.maybe_text("prompt", question.prompt.as_deref());
    out.fields.maybe_text("hint", question.hint.as_deref());
    out.fields.extend(&question.more);
    out.fields.object()
}

fn put_fixed(fixed: &Fixed, out: &mut Fields) {
    out.text("kind", fixed.kind.key());
    out.put("view", view(&fixed.view));
    out.maybe_text("side", fixed.side.map(geometry::ImageSide::word));
    out.maybe_text("structure", fixed.structure.as_deref());
    if let Some(start) = &fixed.start {
        out.put("start", view(start));
    }
    if let Some(step) = fixed.movement {
        out.put("move", movement(step));
    }
    let fault = fixed.fault.map(|fault| word_of(fault, &FAULT_WORDS));
    out.maybe_text("fault", fault);
}

/// Angles come back from radians, so they are rounded to the thousandth that they were read with.
fn movement(step: Step) -> Json {
    let near = |value: f64| Json::Number((value * 1000.0).round() / 1000.0);
    let mut out = Fields::default();
    match step {
        Step::Slide(by) => out.put("slide_mm", Json::List(by.map(near).to_vec())),
        Step::Tilt(by) => out.put("tilt_deg", near(by.to_deg())),
        Step::Rock(by) => out.put("rock_deg", near(by.to_deg())),
        Step::Rotate(by) => out.put("rotate_deg", near(by.to_deg())),
        Step::Press(by) => out.put("press_mm", near(by.get())),
    }
    out.object()
}

fn drawn(drawn: &Drawn, all: bool) -> Json {
    let mut out = Writer::new(all, Fields::default());
    let kinds: Vec<String> = drawn
        .kinds
        .iter()
        .map(|kind| kind.key().to_owned())
        .collect();
    out.fields.texts("kinds", &kinds);
    out.fields.number("count", f64::from(drawn.count));
    out.text(
        "difficulty",
        word_of(drawn.difficulty, &Difficulty::WORDS),
        "easy",
    );
    out.fields
        .maybe_text("plane", drawn.plane.map(practice::PlaneClass::key));
    let approach = drawn.approach.map(|side| word_of(side, &side_words()));
    out.fields.maybe_text("approach", approach);
    put_seed(drawn.seed, &mut out.fields);
    out.fields.extend(&drawn.more);
    out.fields.object()
}

fn view(view: &View) -> Json {
    let mut out = Fields::default();
    out.maybe_text("body", view.body.as_deref());
    out.maybe_text("window", view.window.as_deref());
    if let Some(pose) = view.pose.map(crate::link::tidy) {
        let numbers = |list: &[f64]| Json::List(list.iter().copied().map(Json::Number).collect());
        out.put("contact_mm", numbers(&pose.contact_mm));
        out.put(
            "out_deg",
            numbers(&[pose.out_azimuth_deg, pose.out_elevation_deg]),
        );
        for (name, value) in [
            ("rotation_deg", pose.rotation_deg),
            ("tilt_deg", pose.tilt_deg),
            ("rock_deg", pose.rock_deg),
            ("press_mm", pose.press_mm),
        ] {
            if value != 0.0 {
                out.number(name, value);
            }
        }
    }
    out.maybe_text("transducer", view.transducer.as_deref());
    if let Some(depth) = view.depth_mm {
        out.number("depth_mm", depth);
    }
    out.extend(&view.more);
    out.object()
}

fn acquire(acquire: &Acquire) -> Json {
    let mut out = Fields::default();
    out.maybe_text("list", acquire.list.as_deref());
    if !acquire.views.is_empty() {
        out.put(
            "views",
            Json::List(acquire.views.iter().map(wanted).collect()),
        );
    }
    out.extend(&acquire.more);
    out.object()
}

fn wanted(view: &WantedView) -> Json {
    let mut out = Fields::default();
    out.text("subject", &view.subject);
    out.maybe_text(
        "plane",
        view.plane.map(|plane| word_of(plane, &plane_words())),
    );
    out.maybe_text("axis", view.axis.map(|axis| word_of(axis, &AXIS_WORDS)));
    out.maybe_text("segment", view.segment.as_deref());
    if !view.divides_into.is_empty() {
        out.texts("divides_into", &view.divides_into);
    }
    out.extend(&view.more);
    out.object()
}

#[cfg(test)]
mod tests {
    use super::fnv;

    #[test]
    fn the_published_values_of_fnv_1a() {
        // Test vectors of the Internet draft draft-eastlake-fnv, 64 bits.
        assert_eq!(fnv(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fnv(b"foobar"), 0x8594_4171_f739_67e8);
    }
}
