//! An annotation, token by token, in sentences.

use anatomy::{AxisView, BodySide};
use geometry::{PlaneName, SagittalOffset};
use picture::Contents;
use practice::annotation::{Ambiguous, Checked, Finding, Part, PlaneWord, Report, Vocabulary, Why};

use crate::action::Action;
use crate::examine::Examine;
use crate::examine::acquired::report;
use crate::state::State;
use crate::texts::{Texts, fill, uncapitalised};

/// How one part of an annotation came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VerdictKind {
    /// True of the picture.
    Right,
    /// Not true of it.
    Wrong,
    /// Not said.
    Missing,
    /// Means two things.
    Question,
    /// Not checked.
    Kept,
    /// Not in the vocabulary.
    Unknown,
}

impl VerdictKind {
    /// A word for style sheets: "right".
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Wrong => "wrong",
            Self::Missing => "missing",
            Self::Question => "question",
            Self::Kept => "kept",
            Self::Unknown => "unknown",
        }
    }
}

/// One part of an annotation.
#[derive(Debug, Clone)]
pub struct VerdictRow {
    /// How it came out.
    pub kind: VerdictKind,
    /// The same in words.
    pub kind_words: &'static str,
    /// The word as it was written; none for what is missing.
    pub word: Option<String>,
    /// Why, in a sentence.
    pub sentence: String,
    /// Meanings to choose from, where the word has two.
    pub choices: Vec<(String, Action)>,
}

// What choosing does follows from the word.
impl PartialEq for VerdictRow {
    fn eq(&self, other: &Self) -> bool {
        (self.kind, &self.word, &self.sentence) == (other.kind, &other.word, &other.sentence)
    }
}

/// A checked annotation.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictView {
    /// Whether there is nothing to mend.
    pub all_right: bool,
    /// How it came out as a whole.
    pub summary: String,
    /// Token by token, then what is missing.
    pub rows: Vec<VerdictRow>,
}

/// The verdict about the line, while the picture is frozen.
pub(super) fn live(state: &State, seen: Option<&Contents>, texts: &Texts) -> Option<VerdictView> {
    let examination = state.examination();
    let line = examination.checked_line()?;
    if !examination.is_frozen() {
        return None;
    }
    let vocabulary = examination.vocabulary.as_deref()?;
    let report = report(state, state.body()?, seen?, vocabulary, line);
    let name = super::super::exact_naming(state).name;
    Some(verdict(&report, vocabulary, line, name, true, texts))
}

/// A report in sentences; with `ask`, ambiguous words can be replaced.
pub(super) fn verdict(
    report: &Report,
    vocabulary: &Vocabulary,
    line: &str,
    name: PlaneName,
    ask: bool,
    texts: &Texts,
) -> VerdictView {
    let words = &texts.examine;
    let mut rows: Vec<VerdictRow> = report
        .tokens
        .iter()
        .enumerate()
        .map(|(place, token)| {
            let (kind, sentence) = sentence(token, vocabulary, name, texts);
            let choices = match &token.finding {
                Finding::Asked(word) if ask => choices(word, place, texts),
                _ => Vec::new(),
            };
            VerdictRow {
                kind,
                kind_words: kind_words(kind, texts),
                word: line.get(token.range.clone()).map(str::to_uppercase),
                sentence,
                choices,
            }
        })
        .collect();
    rows.extend(report.missing.iter().map(|part| {
        VerdictRow {
            kind: VerdictKind::Missing,
            kind_words: words.kind_missing,
            word: None,
            sentence: match part {
                Part::Plane => words.missing_plane,
                Part::Side => words.missing_side,
                Part::Structure => words.missing_structure,
                Part::Segment => words.missing_segment,
            }
            .to_owned(),
            choices: Vec::new(),
        }
    }));
    let count = |kinds: &[VerdictKind]| {
        let number = rows.iter().filter(|row| kinds.contains(&row.kind)).count();
        number.to_string()
    };
    let summary = if report.all_right() {
        words.all_right.to_owned()
    } else {
        fill(
            words.counts,
            &[
                &count(&[VerdictKind::Right]),
                &count(&[VerdictKind::Wrong, VerdictKind::Unknown]),
                &count(&[VerdictKind::Missing]),
                &count(&[VerdictKind::Question]),
            ],
        )
    };
    VerdictView {
        all_right: report.all_right(),
        summary,
        rows,
    }
}

fn kind_words(kind: VerdictKind, texts: &Texts) -> &'static str {
    let words = &texts.examine;
    match kind {
        VerdictKind::Right => words.kind_right,
        VerdictKind::Wrong => words.kind_wrong,
        VerdictKind::Missing => words.kind_missing,
        VerdictKind::Question => words.kind_question,
        VerdictKind::Kept => words.kind_kept,
        VerdictKind::Unknown => words.kind_unknown,
    }
}

/// Meanings of an ambiguous word, as buttons.
fn choices(word: &Ambiguous, token: usize, texts: &Texts) -> Vec<(String, Action)> {
    word.choices
        .iter()
        .enumerate()
        .map(|(choice, meaning)| {
            let label = if meaning.mark.is_empty() {
                format!("{}: {}", meaning.words, texts.examine.take_out)
            } else {
                format!("{}: {}", meaning.mark, meaning.words)
            };
            (label, Action::Examine(Examine::Choose { token, choice }))
        })
        .collect()
}

fn sentence(
    token: &Checked,
    vocabulary: &Vocabulary,
    name: PlaneName,
    texts: &Texts,
) -> (VerdictKind, String) {
    let words = &texts.examine;
    match &token.finding {
        Finding::Right => (VerdictKind::Right, right(token, vocabulary, name, texts)),
        Finding::RightForTheStructure(angle) => (
            VerdictKind::Right,
            fill(
                words.right_of_structure,
                &[&degrees(angle.to_deg()), plane_words(name, texts)],
            ),
        ),
        Finding::Wrong(why) => (VerdictKind::Wrong, wrong(why, texts)),
        Finding::Asked(word) => {
            let meanings: Vec<&str> = word
                .choices
                .iter()
                .map(|choice| choice.words.as_str())
                .collect();
            let sentence = fill(words.asked, &[&word.word, &meanings.join(words.or)]);
            (VerdictKind::Question, sentence)
        }
        Finding::Kept => (VerdictKind::Kept, words.kept.to_owned()),
        Finding::Unknown => (VerdictKind::Unknown, words.unknown.to_owned()),
    }
}

fn right(token: &Checked, vocabulary: &Vocabulary, name: PlaneName, texts: &Texts) -> String {
    use practice::annotation::Meaning;
    let words = &texts.examine;
    let meaning = token
        .mark
        .as_deref()
        .and_then(|mark| vocabulary.term(mark))
        .map(|term| &term.meaning);
    match (token.part, meaning) {
        (_, Some(Meaning::Plane(PlaneWord::LongAxis | PlaneWord::ShortAxis))) => {
            words.right_axis.to_owned()
        }
        (Some(Part::Plane), _) => fill(words.right_plane, &[plane_words(name, texts)]),
        (Some(Part::Side), _) => words.right_side.to_owned(),
        (Some(Part::Segment), _) => words.right_segment.to_owned(),
        _ => words.right_structure.to_owned(),
    }
}

fn wrong(why: &Why, texts: &Texts) -> String {
    let words = &texts.examine;
    let side = |side: BodySide| match side {
        BodySide::Right => words.side_right,
        BodySide::Left => words.side_left,
        BodySide::Mid => words.side_mid,
    };
    match why {
        Why::PlaneIs(name) => fill(words.plane_is, &[plane_words(*name, texts)]),
        Why::OffMidline(offset) => fill(words.off_midline, &[&offset_words(*offset, texts)]),
        Why::AxisIs(view, angle) => fill(
            words.axis_is,
            &[axis_words(*view, texts), &degrees(angle.to_deg())],
        ),
        Why::NoAxis => words.no_axis.to_owned(),
        Why::NotInBody => words.not_in_body.to_owned(),
        Why::NotShown => words.not_shown.to_owned(),
        Why::TooLittle(mm2) => fill(words.too_little, &[&format!("{mm2:.1}")]),
        Why::SideIs(own) => fill(words.side_is, &[side(*own)]),
        Why::OnlyOneSide(own) => fill(words.only_one_side, &[side(*own)]),
        Why::SegmentIs(part) => fill(words.segment_is, &[&uncapitalised(part)]),
        Why::NoSegment => words.no_segment.to_owned(),
        Why::NoStructure => words.no_structure.to_owned(),
        Why::Twice => words.twice.to_owned(),
    }
}

fn degrees(value: f64) -> String {
    format!("{value:.0}")
}

/// The plane inside a sentence.
pub(super) fn plane_words(name: PlaneName, texts: &Texts) -> &'static str {
    match name {
        PlaneName::Named(plane) => texts.plane_word(plane),
        PlaneName::Oblique(_) => texts.planes.oblique,
    }
}

/// The axis inside a sentence.
pub(super) fn axis_words(view: AxisView, texts: &Texts) -> &'static str {
    match view {
        AxisView::Long => texts.choices.long_axis,
        AxisView::Short => texts.choices.short_axis,
        AxisView::Oblique => texts.choices.oblique_axis,
    }
}

fn offset_words(offset: SagittalOffset, texts: &Texts) -> String {
    let words = &texts.planes;
    match offset {
        SagittalOffset::MidSagittal => words.mid_sagittal.to_lowercase(),
        SagittalOffset::Right(mm) => fill(words.right_of_midline, &[&format!("{:.0}", mm.get())]),
        SagittalOffset::Left(mm) => fill(words.left_of_midline, &[&format!("{:.0}", mm.get())]),
    }
}
