//! After a round: every question with its answer, and the card of a check.

use course::record::date;
use practice::mark::Marked;

use super::check::CHECK_SET;
use super::round::{Item, Purpose, Round, fraction};
use super::told::{answers, percent, reasons, verdict};
use super::view::{time_words, weak_and_next};
use super::{pictures, sentences};
use crate::state::State;
use crate::texts::{PractiseTexts, Texts, fill};

/// After a round.
#[derive(Debug, Clone, PartialEq)]
pub struct ReviewView {
    /// The heading.
    pub heading: &'static str,
    /// "7 of 10 right, 78 % of all marks."
    pub total: String,
    /// The card of a readiness check.
    pub card: Option<CardView>,
    /// The questions.
    pub rows: Vec<ReviewRow>,
    /// What is weak.
    pub weak: String,
    /// What comes next.
    pub next: Option<String>,
    /// Everything as plain text, to be saved.
    pub text: String,
    /// The name under which the text is saved.
    pub file: String,
    /// Name and text of the result file of a set.
    pub result: Option<(String, String)>,
    /// The words with which the learner is asked for a label that goes into the result file.
    pub label: Option<String>,
}

/// The result card of a readiness check.
#[derive(Debug, Clone, PartialEq)]
pub struct CardView {
    /// What is said and what it is: date, set, seed, marks.
    pub facts: Vec<(&'static str, String)>,
    /// Each question with what came out and its marks.
    pub questions: Vec<[String; 3]>,
    /// That it is no licence.
    pub note: &'static str,
}

/// A question in the review.
#[derive(Debug, Clone, PartialEq)]
pub struct ReviewRow {
    /// "1. sides of the picture".
    pub title: String,
    /// What was asked, answered, right, and why, line by line.
    pub lines: Vec<String>,
    /// "Right." …
    pub verdict: &'static str,
    /// A key for the style.
    pub key: &'static str,
    /// Marks in words.
    pub marks: String,
}

pub(super) fn review(state: &State, round: &Round, texts: &Texts) -> ReviewView {
    let words = &texts.practise;
    let mut rows: Vec<ReviewRow> = round
        .items
        .iter()
        .enumerate()
        .filter_map(|(number, item)| row(number, item, texts))
        .collect();
    let pictures = pictures::rows(state, round.items.len() + 1, texts);
    let right = round
        .items
        .iter()
        .filter(|item| item.marked.as_ref().is_some_and(Marked::is_right))
        .count()
        + pictures.iter().filter(|row| row.key == "right").count();
    let all = (round.items.len() + pictures.len()).to_string();
    rows.extend(pictures);
    // The marks of a set are weighed by its points.
    let share = percent(super::set::percent(round) / 100.0);
    let mut total = fill(words.total, &[&right.to_string(), &all, &share]);
    let left = round.set().map_or(0, |set| set.left().len());
    if left > 0 {
        let pattern = texts.counted(texts.set.left, left);
        total = format!("{total} {}", fill(pattern, &[&left.to_string()]));
    }
    if let (Some(begun), Some(ended)) = (round.clock_ms, round.ended_ms) {
        let time = time_words(ended.saturating_sub(begun));
        total = format!("{total} {}", fill(words.time, &[&time]));
    }
    let check = round.purpose == Purpose::Check;
    let card = check.then(|| card(round, &rows, right, words));
    let (weak, next) = weak_and_next(state, texts);
    let heading = if check { words.card } else { words.review };
    let mut text = format!("{heading}\n\n");
    if let Some(card) = &card {
        for (name, value) in &card.facts {
            text.push_str(&format!("{name}: {value}\n"));
        }
        text.push_str(&format!("\n{}\n", card.note));
    } else {
        text.push_str(&format!("{total}\n"));
    }
    for row in &rows {
        text.push_str(&format!("\n{}: {} {}\n", row.title, row.verdict, row.marks));
        for line in &row.lines {
            text.push_str(&format!("  {line}\n"));
        }
    }
    // What is weak comes from the learner's own record, which a set does not touch; a card says what was asked today.
    let own = !round.is_of_a_set() && !check;
    let weak = if own { weak } else { String::new() };
    text.push_str(&format!("\n{weak}\n"));
    text.push_str(&format!("{}\n", texts.footer.join(" ")));
    let day = date(round.ended_ms.unwrap_or_default());
    ReviewView {
        heading,
        total,
        card,
        rows,
        weak,
        next: next.filter(|_| own),
        text,
        file: if check {
            format!("planeward-check-{}-{day}.txt", round.seed)
        } else {
            format!("planeward-review-{day}.txt")
        },
        result: super::set::result_file(round),
        label: round
            .set()
            .and_then(|set| set.label_words())
            .map(str::to_owned),
    }
}

fn card(round: &Round, rows: &[ReviewRow], right: usize, words: &PractiseTexts) -> CardView {
    let all = round.items.len().to_string();
    let share = percent(fraction(round));
    let [on, set, seed, marks] = words.card_facts;
    CardView {
        facts: vec![
            (on, date(round.ended_ms.unwrap_or_default())),
            (set, CHECK_SET.to_owned()),
            (seed, round.seed.to_string()),
            (
                marks,
                fill(words.total, &[&right.to_string(), &all, &share]),
            ),
        ],
        questions: rows
            .iter()
            .map(|row| [row.title.clone(), row.verdict.to_owned(), row.marks.clone()])
            .collect(),
        note: words.card_note,
    }
}

fn row(number: usize, item: &Item, texts: &Texts) -> Option<ReviewRow> {
    let words = &texts.practise;
    let (marked, answer) = (item.marked.as_ref()?, item.answer.as_ref()?);
    let (verdict, key) = verdict(marked, answer, words);
    let mut lines = vec![sentences::prompt(&item.question, words)];
    lines.extend(answers(&item.question, answer, marked.is_right(), words));
    lines.extend(reasons(&item.question, answer, texts));
    lines.extend(
        item.held
            .first()
            .map(|one| sentences::misconception(*one, words).to_owned()),
    );
    Some(ReviewRow {
        title: format!(
            "{}. {}",
            number + 1,
            sentences::kind_words(item.question.kind, words)
        ),
        lines,
        verdict,
        key,
        marks: fill(words.marks, &[&percent(marked.fraction)]),
    })
}
