//! The page of results: many learners' files, and what they say together.

use course::results::csv::Separator;
use course::results::{
    Broken, FEW, Group, ItemReport, LARGEST, Merged, PoseReport, Reason, Spread, VERSION, csv,
    merge, report_csv,
};
use practice::Choice;
use practice::misconception::Misconception;

use crate::practise::sentences;
use crate::texts::{ResultsTexts, Texts, capitalised, fill};

/// Columns of the table, in their order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// As the set has them.
    Item,
    /// How many answered.
    Answered,
    /// Share that was right at the first try.
    Difficulty,
    /// Corrected discrimination.
    Discrimination,
    /// Alpha without the item.
    AlphaWithout,
    /// Median time.
    Time,
}

impl Column {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Item,
        Self::Answered,
        Self::Difficulty,
        Self::Discrimination,
        Self::AlphaWithout,
        Self::Time,
    ];
}

/// The files and how their table is sorted.
#[derive(Debug, Clone)]
pub struct Results {
    files: Vec<(String, Vec<u8>)>,
    merged: Merged,
    sort: Column,
    falling: bool,
}

impl Default for Results {
    fn default() -> Self {
        Self {
            files: Vec::new(),
            merged: Merged::default(),
            sort: Column::Item,
            falling: false,
        }
    }
}

/// One row: cells in the order of [`Column::ALL`].
#[derive(Debug, Clone, PartialEq)]
pub struct RowView {
    /// The cells as text.
    pub cells: Vec<String>,
    /// Share right, 0 to 1, for the chart.
    pub share: Option<f64>,
    /// What is worth a look: a sentence, or empty.
    pub remark: String,
}

/// The report on one set.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupView {
    /// Its title.
    pub title: String,
    /// Sentences about the whole.
    pub facts: Vec<String>,
    /// The items.
    pub rows: Vec<RowView>,
    /// The chart in one sentence.
    pub chart: String,
    /// Names of the planes in the matrix; empty where no plane was asked for.
    pub planes: Vec<String>,
    /// Counts: right, answered.
    pub counts: Vec<Vec<usize>>,
    /// Sentences about planes that are taken for others, about misconceptions, and about the placing of the probe.
    pub findings: Vec<String>,
}

/// Everything.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ResultsView {
    /// One report for each set.
    pub groups: Vec<GroupView>,
    /// Files that are not counted, and why.
    pub left: Vec<String>,
    /// How many files were given.
    pub files: usize,
    /// The column that sorts, and whether it falls.
    pub sorted: Option<(usize, bool)>,
}

impl Results {
    /// More files.
    pub fn add(&mut self, files: Vec<(String, Vec<u8>)>) {
        self.files.extend(files);
        self.merged = merge(&self.files);
    }

    /// No files.
    pub fn clear(&mut self) {
        *self = Self::default();
    }

    /// Sorts by a column; a second time the other way round.
    pub fn sort(&mut self, column: Column) {
        self.falling = self.sort == column && !self.falling;
        self.sort = column;
    }

    /// The table of a set's items for spreadsheets.
    #[must_use]
    pub fn items_csv(&self, group: usize) -> Option<String> {
        let group = self.merged.groups.get(group)?;
        Some(report_csv(group, Separator::Comma))
    }

    /// All answers of a set, a row for each.
    #[must_use]
    pub fn answers_csv(&self, group: usize) -> Option<String> {
        let group = self.merged.groups.get(group)?;
        let files: Vec<_> = group
            .files
            .iter()
            .map(|(name, file)| (&**name, file))
            .collect();
        Some(csv::of_files(&files, Separator::Comma))
    }

    /// What is shown.
    #[must_use]
    pub fn view(&self, texts: &Texts) -> ResultsView {
        let words = &texts.results;
        let place = Column::ALL.iter().position(|column| *column == self.sort);
        ResultsView {
            groups: self
                .merged
                .groups
                .iter()
                .map(|group| self.group(group, texts))
                .collect(),
            left: self
                .merged
                .left
                .iter()
                .map(|left| fill(words.left, &[&left.file, &reason(&left.reason, words)]))
                .collect(),
            files: self.files.len(),
            sorted: place.map(|place| (place, self.falling)),
        }
    }

    fn group(&self, group: &Group, texts: &Texts) -> GroupView {
        let words = &texts.results;
        let mut items: Vec<&ItemReport> = group.items.iter().collect();
        let key = |item: &ItemReport| match self.sort {
            Column::Item => None,
            Column::Answered => Some(count(item.answered)),
            Column::Difficulty => item.difficulty,
            Column::Discrimination => item.corrected,
            Column::AlphaWithout => item.alpha_without,
            Column::Time => item.median_s,
        };
        if self.sort != Column::Item {
            // What has no value stands last, whichever way the rest is sorted.
            items.sort_by(|a, b| match (key(a), key(b)) {
                (Some(a), Some(b)) if self.falling => b.total_cmp(&a),
                (Some(a), Some(b)) => a.total_cmp(&b),
                (a, b) => a.is_none().cmp(&b.is_none()),
            });
        } else if self.falling {
            items.reverse();
        }
        let rows: Vec<RowView> = items.into_iter().map(|item| row(item, texts)).collect();
        let chart = rows
            .iter()
            .filter_map(|row| Some(format!("{} {}", row.cells.first()?, row.cells.get(2)?)))
            .collect::<Vec<_>>()
            .join("; ");
        GroupView {
            title: group.title.clone(),
            facts: facts(group, texts),
            chart: fill(words.chart, &[&chart]),
            rows,
            planes: group
                .planes
                .names
                .iter()
                .map(|name| plane(name, texts))
                .collect(),
            counts: group.planes.counts.clone(),
            findings: findings(group, texts),
        }
    }
}

fn row(item: &ItemReport, texts: &Texts) -> RowView {
    let words = &texts.results;
    let kind = practice::Kind::from_key(&item.kind).map_or_else(
        || item.kind.clone(),
        |kind| texts.teach.kind(kind).to_owned(),
    );
    let remark = match (item.corrected, item.difficulty) {
        (Some(corrected), _) if corrected < 0.0 => words.check_key,
        (_, Some(difficulty)) if difficulty >= 1.0 => words.all_right,
        (_, Some(difficulty)) if difficulty <= 0.0 => words.none_right,
        _ => "",
    };
    let figure = |value| texts.number(value, 2);
    RowView {
        cells: vec![
            format!("{}: {kind}", item.id),
            item.answered.to_string(),
            item.difficulty.map_or_else(dash, percent),
            item.corrected.map_or_else(dash, figure),
            item.alpha_without.map_or_else(dash, figure),
            item.median_s
                .map_or_else(dash, |seconds| format!("{seconds:.0} s")),
        ],
        share: item.difficulty,
        remark: remark.to_owned(),
    }
}

fn facts(group: &Group, texts: &Texts) -> Vec<String> {
    let words = &texts.results;
    let figure = |value| texts.number(value, 2);
    let learners = group.files.len();
    let mut facts = vec![fill(
        words.learners,
        &[&learners.to_string(), &group.complete.to_string()],
    )];
    if let Some((mean, deviation)) = group.totals {
        let items = group.items.len().to_string();
        facts.push(fill(
            words.totals,
            &[&figure(mean), &items, &figure(deviation)],
        ));
    }
    if let Some(alpha) = group.alpha {
        let name = if group.is_kr20 {
            words.kr20
        } else {
            words.alpha
        };
        facts.push(format!("{name} {}.", figure(alpha)));
    }
    if let Some(error) = group.standard_error {
        facts.push(fill(words.standard_error, &[&figure(error)]));
    }
    if group.passed.1 > 0 {
        let (passed, all) = group.passed;
        facts.push(fill(words.passed, &[&passed.to_string(), &all.to_string()]));
    }
    if learners < FEW {
        facts.push(words.few.to_owned());
    }
    if group.seeds_differ {
        facts.push(words.seeds_differ.to_owned());
    }
    facts
}

/// Why a file is not counted, a clause.
fn reason(reason: &Reason, words: &ResultsTexts) -> String {
    match reason {
        Reason::Broken(Broken::Foreign) => words.foreign.to_owned(),
        Reason::Broken(Broken::Version(found)) => {
            fill(words.version, &[found, &VERSION.to_string()])
        }
        Reason::Broken(Broken::Damaged) => words.damaged.to_owned(),
        Reason::Broken(Broken::CutOff) => words.cut_off.to_owned(),
        Reason::Broken(Broken::TooLarge) => fill(words.too_large, &[&LARGEST.to_string()]),
        Reason::Broken(Broken::Fault(fault)) => {
            let [path, found, expected] = fault.said();
            fill(words.fault, &[&path, &found, &expected])
        }
        Reason::Copy(other) => fill(words.copy, &[other]),
        Reason::Empty => words.empty.to_owned(),
        Reason::LaterRound(round) => fill(words.later_round, &[&round.to_string()]),
        Reason::SameLearner(other) => fill(words.same_learner, &[other]),
    }
}

fn findings(group: &Group, texts: &Texts) -> Vec<String> {
    let words = &texts.results;
    let mistakes = group.planes.mistakes();
    let mut findings: Vec<String> = mistakes
        .iter()
        .take(5)
        .map(|(right, answered, count)| {
            capitalised(&fill(
                words.taken_for,
                &[
                    &plane(right, texts),
                    &plane(answered, texts),
                    &count.to_string(),
                ],
            ))
        })
        .collect();
    findings.extend(group.misconceptions.iter().take(5).map(|(key, count)| {
        let sentence = Misconception::from_key(key).map_or_else(
            || plain(key),
            |known| sentences::misconception(known, &texts.practise).to_owned(),
        );
        fill(words.misconception, &[&count.to_string(), &sentence])
    }));
    if let Some(poses) = &group.poses {
        findings.extend(pose_sentences(poses, words));
    }
    findings
}

fn pose_sentences(poses: &PoseReport, words: &ResultsTexts) -> Vec<String> {
    let mut list = vec![fill(
        words.placed,
        &[&poses.count.to_string(), &format!("{:.0}", poses.plane_deg)],
    )];
    if poses.reversed > 0 {
        list.push(fill(words.reversed, &[&poses.reversed.to_string()]));
    }
    if poses.other_side > 0 {
        list.push(fill(words.other_side, &[&poses.other_side.to_string()]));
    }
    let constant: [(&Spread, &str, [&str; 2], &str); 5] = [
        (&poses.rotation, words.rotation, words.clockwise, "°"),
        (&poses.tilt, words.tilt, words.positive, "°"),
        (&poses.rock, words.rock, words.toward_notch, "°"),
        (&poses.toward_left, words.contact, words.left_right, " mm"),
        (&poses.toward_head, words.contact, words.head_feet, " mm"),
    ];
    for (spread, what, [plus, minus], unit) in constant {
        if spread.constant {
            let way = if spread.mean >= 0.0 { plus } else { minus };
            let size = format!("{:.0}{unit}", spread.mean.abs());
            list.push(fill(words.constant, &[what, &size, way]));
        }
    }
    list
}

/// What an answer of a learner says, by its key in the file.
fn plane(key: &str, texts: &Texts) -> String {
    Choice::from_key(key).map_or_else(
        || plain(key),
        |known| sentences::choice(known, &texts.practise),
    )
}

/// A key as words: what another version of the program has put in.
fn plain(key: &str) -> String {
    key.replace('_', " ")
}

fn dash() -> String {
    "–".to_owned()
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

#[expect(clippy::cast_precision_loss, reason = "a number of people")]
fn count(people: usize) -> f64 {
    people as f64
}
