//! Many result files as one report.

use std::collections::BTreeMap;

use super::csv::{self, Separator};
use super::planes::{Confusion, KINDS};
use super::statistics::{Table, deviation, mean};
use super::{Broken, Item, Outcome, PoseError, ResultFile, read};
use crate::archive::crc32;

/// Fewer learners than this: the figures are hints at best (a rule of thumb that textbooks quote; stable from about 200).
pub const FEW: usize = 30;

/// How many errors of the same direction it takes to call them constant, and how large their mean must be.
const CONSTANT_FROM: usize = 5;
const CONSTANT_DEG: f64 = 10.0;
const CONSTANT_MM: f64 = 10.0;

/// Everything that many files say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Merged {
    /// One report for each set, in the order of titles.
    pub groups: Vec<Group>,
    /// Files that are not counted, and why.
    pub left: Vec<Left>,
}

/// A file that is not counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// Its name.
    pub file: String,
    /// Why.
    pub reason: Reason,
}

/// Why a file is not counted; as a text a clause that goes with "because": "it is damaged: …".
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// It cannot be read.
    #[error(transparent)]
    Broken(#[from] Broken),
    /// It says the same as another one, which is named.
    #[error("it is a copy of {0}")]
    Copy(String),
    /// Nothing was asked in it.
    #[error("it holds no item")]
    Empty,
    /// It is not the first round of a learner without a label; which round it is.
    #[error("it is round {0} and first rounds count")]
    LaterRound(u32),
    /// Another file, which is named, is an earlier round of its learner.
    #[error("it is a later round of the same learner than {0}")]
    SameLearner(String),
}

/// The report on one set.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Title of the set.
    pub title: String,
    /// Its identity.
    pub set: String,
    /// The files that count, in the order they were given.
    pub files: Vec<(String, ResultFile)>,
    /// The items, in the order of their first appearance.
    pub items: Vec<ItemReport>,
    /// How many learners answered every item; what needs totals is computed from these.
    pub complete: usize,
    /// Cronbach's alpha, list-wise and pair-wise.
    pub alpha: Option<f64>,
    /// See [`Table::alpha_pairwise`].
    pub alpha_pairwise: Option<f64>,
    /// Whether all scores are 0 or 1, so that alpha is KR-20.
    pub is_kr20: bool,
    /// Mean and standard deviation (sample) of the totals, in items.
    pub totals: Option<(f64, f64)>,
    /// Standard error of measurement, in items.
    pub standard_error: Option<f64>,
    /// How many passed, of how many whose set has a pass mark.
    pub passed: (usize, usize),
    /// Whether seeds differ: then drawn questions of one name are different questions.
    pub seeds_differ: bool,
    /// Which planes are taken for which.
    pub planes: Confusion,
    /// How many first answers fit each misconception, most frequent first.
    pub misconceptions: Vec<(String, usize)>,
    /// Errors in placing the probe, over all items.
    pub poses: Option<PoseReport>,
}

/// The figures of one item, over first tries.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemReport {
    /// Its name.
    pub id: String,
    /// Its kind.
    pub kind: String,
    /// How many answered it.
    pub answered: usize,
    /// Mean score, 0 to 1: the share who had it right at once.
    pub difficulty: Option<f64>,
    /// Correlation with the total of the other items. Negative: look at the key.
    pub corrected: Option<f64>,
    /// Correlation with the total.
    pub point_biserial: Option<f64>,
    /// Upper 27 % minus lower 27 %.
    pub upper_lower: Option<f64>,
    /// Alpha without it.
    pub alpha_without: Option<f64>,
    /// Median time to the first answer, s.
    pub median_s: Option<f64>,
    /// Mean number of hints.
    pub hints: Option<f64>,
    /// The answers, most frequent first.
    pub options: Vec<OptionRow>,
    /// Errors in placing the probe.
    pub poses: Option<PoseReport>,
}

/// One answer to an item.
#[derive(Debug, Clone, PartialEq)]
pub struct OptionRow {
    /// The answer.
    pub answer: String,
    /// Whether it is the right one.
    pub right: bool,
    /// How many gave it first.
    pub count: usize,
    /// Mean share of the marks of those who gave it, over the whole round, 0 to 1.
    pub mean_total: f64,
}

/// A signed error: how many, mean, spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean, in the unit of the value.
    pub mean: f64,
    /// Standard deviation (sample); 0 for one value.
    pub deviation: f64,
    /// Whether the mean stands out: at least five values, the mean at least 10 (degrees or mm) and twice its standard
    /// error (a rule of this project). A constant error of one direction is what a teacher wants to see.
    pub constant: bool,
}

/// Errors in placing the probe, after first tries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoseReport {
    /// How many.
    pub count: usize,
    /// Mean angle between the planes, degrees.
    pub plane_deg: f64,
    /// How many had the picture the wrong way round.
    pub reversed: usize,
    /// How many stood on the other side of the body.
    pub other_side: usize,
    /// Rotation, degrees clockwise as seen from outside the skin. Errors of a reversed picture are measured from the
    /// reversed target, so that half a turn does not hide the rest.
    pub rotation: Spread,
    /// Tilt, degrees.
    pub tilt: Spread,
    /// Rock, degrees; positive is toward the notch.
    pub rock: Spread,
    /// Toward the patient's left, mm.
    pub toward_left: Spread,
    /// Toward the head, mm.
    pub toward_head: Spread,
}

/// Reads and merges files (name, content). Foreign and damaged ones, copies of others and later rounds are named in
/// `left`; the rest counts. The result does not depend on the order, but for the order of what is equal.
#[must_use]
pub fn merge(files: &[(String, Vec<u8>)]) -> Merged {
    let mut left: Vec<Left> = Vec::new();
    let mut leave = |file: &str, reason: Reason| {
        left.push(Left {
            file: file.to_owned(),
            reason,
        });
    };
    let mut seen: BTreeMap<(usize, u32), &str> = BTreeMap::new();
    let mut sets: BTreeMap<(String, String), Vec<(String, ResultFile)>> = BTreeMap::new();
    for (name, bytes) in files {
        let result = match read(bytes) {
            Ok(result) => result,
            Err(reason) => {
                leave(name, reason.into());
                continue;
            }
        };
        // Written again, so that two copies with other line ends are one file.
        let text = super::write(&result);
        if let Some(other) = seen.insert((text.len(), crc32(text.as_bytes())), name) {
            leave(name, Reason::Copy(other.to_owned()));
            continue;
        }
        if result.items.is_empty() {
            leave(name, Reason::Empty);
            continue;
        }
        let key = (result.title.clone(), result.set.clone());
        sets.entry(key).or_default().push((name.clone(), result));
    }
    let groups = sets
        .into_iter()
        .map(|((title, set), files)| group(title, set, first_rounds(files, &mut leave)))
        .collect();
    Merged { groups, left }
}

/// The first round of every learner who can be told from the others by a label; without labels, first rounds only.
fn first_rounds(
    files: Vec<(String, ResultFile)>,
    leave: &mut impl FnMut(&str, Reason),
) -> Vec<(String, ResultFile)> {
    let order = |result: &ResultFile| (result.attempt, result.started.unix_ms);
    let mut kept: Vec<(String, ResultFile)> = Vec::new();
    for (name, result) in files {
        let label = result
            .label
            .clone()
            .filter(|label| !label.trim().is_empty());
        let Some(label) = label else {
            if result.attempt > 1 {
                leave(&name, Reason::LaterRound(result.attempt));
            } else {
                kept.push((name, result));
            }
            continue;
        };
        let same = kept.iter_mut().find(|(_, other)| {
            other
                .label
                .as_deref()
                .is_some_and(|other| same_label(other, &label))
        });
        match same {
            None => kept.push((name, result)),
            Some(other) => {
                let later = if order(&result) < order(&other.1) {
                    std::mem::replace(other, (name, result))
                } else {
                    (name, result)
                };
                leave(&later.0, Reason::SameLearner(other.0.clone()));
            }
        }
    }
    kept
}

/// Labels are typed by hand: case and blanks at the ends do not count.
fn same_label(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// Whether the item was answered, so that its score means something.
fn answered(item: &Item) -> bool {
    item.outcome != Outcome::Unanswered
}

fn group(title: String, set: String, files: Vec<(String, ResultFile)>) -> Group {
    let mut ids: Vec<&str> = Vec::new();
    for item in files.iter().flat_map(|(_, file)| &file.items) {
        if !ids.contains(&&*item.id) {
            ids.push(&item.id);
        }
    }
    // Rounds may be shuffled: names in their natural order make one report of one set.
    ids.sort_by_key(|id| natural(id));
    let find = |file: &'_ ResultFile, id: &str| -> Option<usize> {
        file.items.iter().position(|item| item.id == id)
    };
    let rows: Vec<Vec<Option<f64>>> = files
        .iter()
        .map(|(_, file)| {
            let score = |id: &&str| {
                find(file, id)
                    .map(|at| &file.items[at])
                    .filter(|item| answered(item))
                    .map(|item| item.first_score)
            };
            ids.iter().map(score).collect()
        })
        .collect();
    let table = Table::new(ids.len(), rows);
    let items = ids
        .iter()
        .enumerate()
        .map(|(at, id)| {
            let given: Vec<(&Item, f64)> = files
                .iter()
                .filter_map(|(_, file)| {
                    let item = &file.items[find(file, id)?];
                    answered(item).then(|| (item, file.percent() / 100.0))
                })
                .collect();
            item_report(&table, at, id, &given)
        })
        .collect();
    let all = || files.iter().flat_map(|(_, file)| &file.items);
    let planes: Vec<(&str, &str)> = all()
        .filter(|item| KINDS.contains(&&*item.kind))
        .filter_map(|item| Some((&*item.correct, &**item.answers.first()?)))
        .collect();
    let mut misconceptions: BTreeMap<&str, usize> = BTreeMap::new();
    for key in all().filter_map(|item| item.misconception.as_deref()) {
        *misconceptions.entry(key).or_default() += 1;
    }
    let mut misconceptions: Vec<(String, usize)> = misconceptions
        .into_iter()
        .map(|(key, count)| (key.to_owned(), count))
        .collect();
    misconceptions.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let poses: Vec<PoseError> = all().filter_map(|item| item.pose).collect();
    let marks = files.iter().filter_map(|(_, file)| file.passed());
    let passed = marks.fold((0, 0), |(passed, all), mark| {
        (passed + usize::from(mark), all + 1)
    });
    let seeds_differ = files
        .iter()
        .any(|(_, file)| file.seed != files.first().map_or(0, |(_, first)| first.seed));
    Group {
        title,
        set,
        items,
        complete: table.complete(),
        alpha: table.alpha(),
        alpha_pairwise: table.alpha_pairwise(),
        is_kr20: table.is_right_or_wrong(),
        totals: table.totals(),
        standard_error: table.standard_error(),
        passed,
        seeds_differ,
        planes: Confusion::of(&planes),
        misconceptions,
        poses: pose_report(&poses),
        files,
    }
}

/// A key that sorts `q2` before `q10`.
fn natural(id: &str) -> Vec<(String, u64)> {
    let mut parts = Vec::new();
    let mut rest = id;
    while !rest.is_empty() {
        let word = rest
            .find(|c: char| c.is_ascii_digit())
            .unwrap_or(rest.len());
        let (text, tail) = rest.split_at(word);
        let digits = tail
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(tail.len());
        let (number, tail) = tail.split_at(digits);
        parts.push((text.to_owned(), number.parse().unwrap_or(0)));
        rest = tail;
    }
    parts
}

fn item_report(table: &Table, at: usize, id: &str, given: &[(&Item, f64)]) -> ItemReport {
    let mut seconds: Vec<f64> = given
        .iter()
        .map(|(item, _)| f64::from(item.latency_ms) / 1000.0)
        .collect();
    seconds.sort_by(f64::total_cmp);
    let median = match seconds.len() {
        0 => None,
        n if n % 2 == 1 => Some(seconds[n / 2]),
        n => Some((seconds[n / 2 - 1] + seconds[n / 2]) / 2.0),
    };
    let hints: Vec<f64> = given
        .iter()
        .map(|(item, _)| f64::from(item.hints))
        .collect();
    let mut options: BTreeMap<&str, (bool, Vec<f64>)> = BTreeMap::new();
    for (item, total) in given {
        if let Some(answer) = item.answers.first() {
            let entry = options.entry(answer).or_default();
            entry.0 |= *answer == item.correct;
            entry.1.push(*total);
        }
    }
    let mut options: Vec<OptionRow> = options
        .into_iter()
        .map(|(answer, (right, totals))| OptionRow {
            answer: answer.to_owned(),
            right,
            count: totals.len(),
            mean_total: mean(&totals).unwrap_or(0.0),
        })
        .collect();
    options.sort_by_key(|option| std::cmp::Reverse(option.count));
    let poses: Vec<PoseError> = given.iter().filter_map(|(item, _)| item.pose).collect();
    ItemReport {
        id: id.to_owned(),
        kind: given
            .first()
            .map_or_else(String::new, |(item, _)| item.kind.clone()),
        answered: table.answered(at),
        difficulty: table.difficulty(at),
        corrected: table.corrected(at),
        point_biserial: table.point_biserial(at),
        upper_lower: table.upper_lower(at),
        alpha_without: table.alpha_without(at),
        median_s: median,
        hints: mean(&hints),
        options,
        poses: pose_report(&poses),
    }
}

fn pose_report(poses: &[PoseError]) -> Option<PoseReport> {
    let of = |pick: fn(&PoseError) -> f64, least: f64| {
        let values: Vec<f64> = poses.iter().map(pick).collect();
        let average = mean(&values)?;
        let deviation = deviation(&values).unwrap_or(0.0);
        let error = deviation / (values.len() as f64).sqrt();
        let constant =
            values.len() >= CONSTANT_FROM && average.abs() >= least && average.abs() >= 2.0 * error;
        Some(Spread {
            mean: average,
            deviation,
            constant,
        })
    };
    Some(PoseReport {
        count: poses.len(),
        plane_deg: of(|pose| pose.plane_deg, CONSTANT_DEG)?.mean,
        reversed: poses.iter().filter(|pose| pose.reversed).count(),
        other_side: poses.iter().filter(|pose| pose.other_side).count(),
        rotation: of(rotation, CONSTANT_DEG)?,
        tilt: of(|pose| pose.tilt_deg, CONSTANT_DEG)?,
        rock: of(|pose| pose.rock_deg, CONSTANT_DEG)?,
        toward_left: of(|pose| pose.toward_left_mm, CONSTANT_MM)?,
        toward_head: of(|pose| pose.toward_head_mm, CONSTANT_MM)?,
    })
}

/// The error of rotation; of a reversed picture from the reversed target.
fn rotation(pose: &PoseError) -> f64 {
    if !pose.reversed {
        return pose.rotation_deg;
    }
    if pose.rotation_deg > 0.0 {
        pose.rotation_deg - 180.0
    } else {
        pose.rotation_deg + 180.0
    }
}

/// The items of a report as a table for spreadsheets. A figure that does not exist is an empty cell.
#[must_use]
pub fn report_csv(group: &Group, separator: Separator) -> String {
    let head = [
        "item",
        "kind",
        "answered",
        "difficulty",
        "corrected_discrimination",
        "point_biserial",
        "upper_minus_lower_27",
        "alpha_if_deleted",
        "median_seconds",
        "mean_hints",
        "most_frequent_wrong_answer",
        "its_count",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    let figure = |value: Option<f64>| value.map_or_else(String::new, csv::number);
    for item in &group.items {
        let wrong = item.options.iter().find(|option| !option.right);
        rows.push(vec![
            item.id.clone(),
            item.kind.clone(),
            item.answered.to_string(),
            figure(item.difficulty),
            figure(item.corrected),
            figure(item.point_biserial),
            figure(item.upper_lower),
            figure(item.alpha_without),
            figure(item.median_s),
            figure(item.hints),
            wrong.map_or_else(String::new, |option| option.answer.clone()),
            wrong.map_or_else(String::new, |option| option.count.to_string()),
        ]);
    }
    csv::table(&rows, separator)
}
