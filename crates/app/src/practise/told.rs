//! What came out of an answer, part by part, and why.

use geometry::Placement;
use practice::explain::{Reason, explain};
use practice::mark::{AIM_MET_MM, Aspect, Finding, Marked, PartMark, compare};
use practice::{Answer, Question};

use super::round::Item;
use super::{figure, sentences};
use crate::texts::{PractiseTexts, Texts, fill};

/// What came out.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldView {
    /// "Right.", "Right in part.", "Not right.", …
    pub verdict: &'static str,
    /// A key for the style: "right", "partly", "wrong".
    pub key: &'static str,
    /// "50 % of the marks"; none in a worked example.
    pub marks: Option<String>,
    /// The parts with their marks, where the question is not answered by choosing.
    pub parts: Vec<PartMarkView>,
    /// What was answered, and what is right.
    pub answers: Vec<String>,
    /// Why.
    pub reasons: Vec<String>,
    /// The misconception, where the answer follows one.
    pub misconception: Option<&'static str>,
    /// Whether the learner's pose and the right one can be shown in turn.
    pub compare: bool,
}

/// The mark of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartMarkView {
    /// "Plane".
    pub name: &'static str,
    /// A key for the style: "right", "partly", "wrong".
    pub key: &'static str,
    /// "21 of 35": of a hundred for the whole question.
    pub marks: String,
    /// What was found, in a sentence.
    pub words: String,
}

pub(super) fn worked_told(question: &Question, texts: &Texts) -> ToldView {
    let words = &texts.practise;
    ToldView {
        verdict: words.worked_intro,
        key: "worked",
        marks: None,
        parts: Vec::new(),
        answers: sentences::right_answer(question, words)
            .map(|right| fill(words.right_answer, &[&right]))
            .into_iter()
            .collect(),
        reasons: reasons(question, &Answer::Skipped, texts),
        misconception: None,
        compare: false,
    }
}

pub(super) fn reasons(question: &Question, answer: &Answer, texts: &Texts) -> Vec<String> {
    explain(question, answer)
        .iter()
        .map(|reason| sentences::reason(reason, texts))
        .collect()
}

pub(super) fn verdict(
    marked: &Marked,
    answer: &Answer,
    words: &PractiseTexts,
) -> (&'static str, &'static str) {
    if *answer == Answer::Skipped {
        (words.skipped, "wrong")
    } else if marked.is_right() {
        (words.right, "right")
    } else if marked.is_reversed() {
        (words.reversed, "partly")
    } else if marked.parts.iter().any(|part| part.score > 0.0) {
        (words.partly, "partly")
    } else {
        (words.wrong, "wrong")
    }
}

pub(super) fn percent(share: f64) -> String {
    format!("{:.0}", share * 100.0)
}

pub(super) fn answers(
    question: &Question,
    answer: &Answer,
    right: bool,
    words: &PractiseTexts,
) -> Vec<String> {
    let mut lines = Vec::new();
    if !matches!(answer, Answer::Placed(_)) {
        let mine = sentences::answer(question, answer, words);
        lines.push(fill(words.your_answer, &[&mine]));
    }
    if !right && let Some(best) = sentences::right_answer(question, words) {
        lines.push(fill(words.right_answer, &[&best]));
    }
    lines
}

pub(super) fn told_view(item: &Item, marked: &Marked, answer: &Answer, texts: &Texts) -> ToldView {
    let words = &texts.practise;
    let (verdict, key) = verdict(marked, answer, words);
    let parts = part_marks(item, marked, answer, texts);
    let explained = explain(&item.question, answer);
    // How far a placement is off stands in its parts already.
    let told_in_parts = |one: &Reason| !parts.is_empty() && matches!(one, Reason::PlacedOff { .. });
    ToldView {
        verdict,
        key,
        marks: Some(fill(words.marks, &[&percent(marked.fraction)])),
        answers: answers(&item.question, answer, marked.is_right(), words),
        reasons: explained
            .iter()
            .filter(|one| !told_in_parts(one))
            .map(|one| sentences::reason(one, texts))
            .collect(),
        parts,
        misconception: item
            .held
            .first()
            .map(|one| sentences::misconception(*one, words)),
        compare: figure::given(item).is_some(),
    }
}

/// The parts of an answer that was placed or written, each with its mark and its sentence. Chosen parts say it beside
/// their options.
fn part_marks(item: &Item, marked: &Marked, answer: &Answer, texts: &Texts) -> Vec<PartMarkView> {
    let placed = match answer {
        Answer::Placed(placed) => Some(placed),
        Answer::Written(_) => None,
        Answer::Chosen(_) | Answer::Skipped => return Vec::new(),
    };
    let words = &texts.practise;
    let parts = marked.parts.iter();
    parts
        .map(|part| PartMarkView {
            name: aspect_name(part.aspect, words),
            key: match part.finding {
                Finding::Right => "right",
                Finding::Partly | Finding::Reversed => "partly",
                Finding::Wrong | Finding::Missing => "wrong",
            },
            marks: fill(
                words.part_marks,
                &[&percent(part.worth * part.score), &percent(part.worth)],
            ),
            words: match placed {
                Some(placed) => placed_words(&item.question, placed, part, words),
                None => written_words(part, words).to_owned(),
            },
        })
        .collect()
}

fn aspect_name(aspect: Aspect, words: &PractiseTexts) -> &'static str {
    let names = &words.aspects;
    match aspect {
        Aspect::PlaneAngle | Aspect::WrittenPlane => names[0],
        Aspect::WayRound => names[1],
        Aspect::Aim => names[2],
        Aspect::InField => names[3],
        Aspect::BodyHalf => names[4],
        Aspect::Depth => names[5],
        Aspect::WrittenSide => names[6],
        Aspect::WrittenStructure => names[7],
        Aspect::Chosen(asked) => sentences::part(asked, words),
    }
}

fn written_words(part: &PartMark, words: &PractiseTexts) -> &'static str {
    match part.finding {
        Finding::Right => words.written[0],
        Finding::Missing => words.written[2],
        _ => words.written[1],
    }
}

/// What was found about a part of a placement, by section and with the figures that were marked.
fn placed_words(
    question: &Question,
    placed: &Placement,
    part: &PartMark,
    words: &PractiseTexts,
) -> String {
    let found = compare(question, placed);
    let right = part.finding == Finding::Right;
    let either = |[yes, no]: [&'static str; 2]| if right { yes } else { no }.to_owned();
    match part.aspect {
        Aspect::PlaneAngle => {
            let degrees = |angle: geometry::Angle| format!("{:.0}", angle.to_deg());
            let tolerance = degrees(question.view.tolerance);
            fill(
                words.placed_plane,
                &[&degrees(found.plane_angle), &tolerance],
            )
        }
        Aspect::WayRound => match part.finding {
            Finding::Right => words.placed_notch[0].to_owned(),
            Finding::Reversed => words.placed_notch[1].to_owned(),
            _ => words.placed_notch[2].to_owned(),
        },
        Aspect::Aim => fill(
            words.placed_aim,
            &[
                &format!("{:.0}", found.aim_distance.get()),
                &format!("{AIM_MET_MM:.0}"),
            ],
        ),
        Aspect::InField => either(words.placed_field),
        Aspect::BodyHalf => either(words.placed_half),
        Aspect::Depth => either(words.placed_depth),
        _ => String::new(),
    }
}
