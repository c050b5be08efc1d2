//! Item statistics of classical test theory.
//!
//! A [`Table`] holds a score from 0 to 1, or a gap, for every learner (row) and item (column). A gap is no wrong answer:
//! what needs totals is computed *list-wise*, from the learners without a gap; alpha is given *pair-wise* as well.
//!
//! Figures that do not exist are `None`: the correlation of an item that all answered alike, the alpha of one item.

/// Share of learners in the upper and in the lower group of the discrimination index (Kelley 1939, from memory).
const GROUP: f64 = 0.27;

/// Scores: learners × items.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    items: usize,
    rows: Vec<Vec<Option<f64>>>,
}

impl Table {
    /// A table of `items` columns. Rows are cut or filled up with gaps to that length.
    #[must_use]
    pub fn new(items: usize, mut rows: Vec<Vec<Option<f64>>>) -> Self {
        for row in &mut rows {
            row.resize(items, None);
        }
        Self { items, rows }
    }

    /// How many items there are.
    #[must_use]
    pub fn items(&self) -> usize {
        self.items
    }

    /// How many learners have no gap.
    #[must_use]
    pub fn complete(&self) -> usize {
        self.whole().len()
    }

    /// The rows without a gap.
    fn whole(&self) -> Vec<Vec<f64>> {
        let full = |row: &Vec<Option<f64>>| row.iter().copied().collect::<Option<Vec<f64>>>();
        self.rows.iter().filter_map(full).collect()
    }

    /// Mean score of an item over all who answered it.
    #[must_use]
    pub fn difficulty(&self, item: usize) -> Option<f64> {
        let scores: Vec<f64> = self.rows.iter().filter_map(|row| row[item]).collect();
        mean(&scores)
    }

    /// How many answered an item.
    #[must_use]
    pub fn answered(&self, item: usize) -> usize {
        self.rows.iter().filter(|row| row[item].is_some()).count()
    }

    /// Correlation of an item with the total of the *other* items (the corrected one), list-wise.
    #[must_use]
    pub fn corrected(&self, item: usize) -> Option<f64> {
        self.with_total(item, |total, own| total - own)
    }

    /// Correlation of an item with the total that it is part of; for 0/1 scores the point-biserial one. List-wise.
    #[must_use]
    pub fn point_biserial(&self, item: usize) -> Option<f64> {
        self.with_total(item, |total, _| total)
    }

    fn with_total(&self, item: usize, other: impl Fn(f64, f64) -> f64) -> Option<f64> {
        let rows = self.whole();
        let own: Vec<f64> = rows.iter().map(|row| row[item]).collect();
        let others: Vec<f64> = rows
            .iter()
            .map(|row| other(row.iter().sum(), row[item]))
            .collect();
        correlation(&own, &others)
    }

    /// Discrimination index: mean score of the upper 27 % minus that of the lower 27 %, by total, list-wise. Learners of
    /// equal totals stay in the order of the rows.
    #[must_use]
    pub fn upper_lower(&self, item: usize) -> Option<f64> {
        let mut rows = self.whole();
        if rows.len() < 2 {
            return None;
        }
        let total = |row: &Vec<f64>| row.iter().sum::<f64>();
        rows.sort_by(|a, b| total(b).total_cmp(&total(a)));
        let size = group_size(rows.len());
        let part = |rows: &[Vec<f64>]| {
            let scores: Vec<f64> = rows.iter().map(|row| row[item]).collect();
            mean(&scores)
        };
        Some(part(&rows[..size])? - part(&rows[rows.len() - size..])?)
    }

    /// Cronbach's alpha from the learners without a gap; for 0/1 scores this is KR-20.
    #[must_use]
    pub fn alpha(&self) -> Option<f64> {
        alpha(&self.whole())
    }

    /// Alpha without one item, list-wise.
    #[must_use]
    pub fn alpha_without(&self, item: usize) -> Option<f64> {
        let mut rows = self.whole();
        for row in &mut rows {
            row.remove(item);
        }
        alpha(&rows)
    }

    /// Alpha from the covariance of every pair of items over those who answered both.
    #[must_use]
    pub fn alpha_pairwise(&self) -> Option<f64> {
        let k = self.items;
        if k < 2 {
            return None;
        }
        let (mut trace, mut sum) = (0.0, 0.0);
        for i in 0..k {
            for j in 0..k {
                let both: Vec<(f64, f64)> = self
                    .rows
                    .iter()
                    .filter_map(|row| row[i].zip(row[j]))
                    .collect();
                let (a, b): (Vec<f64>, Vec<f64>) = both.into_iter().unzip();
                let covariance = covariance(&a, &b)?;
                sum += covariance;
                if i == j {
                    trace += covariance;
                }
            }
        }
        (sum > 0.0).then(|| ratio(k) * (1.0 - trace / sum))
    }

    /// Whether every score is 0 or 1, so that alpha may be called KR-20.
    #[must_use]
    pub fn is_right_or_wrong(&self) -> bool {
        let plain = |score: &f64| score.total_cmp(&0.0).is_eq() || score.total_cmp(&1.0).is_eq();
        self.rows.iter().flatten().flatten().all(plain)
    }

    /// Mean and standard deviation (sample) of the totals, list-wise.
    #[must_use]
    pub fn totals(&self) -> Option<(f64, f64)> {
        let totals: Vec<f64> = self.whole().iter().map(|row| row.iter().sum()).collect();
        Some((mean(&totals)?, covariance(&totals, &totals)?.sqrt()))
    }

    /// Standard error of measurement: standard deviation (sample) of the totals times √(1 − alpha), in marks.
    #[must_use]
    pub fn standard_error(&self) -> Option<f64> {
        let (_, deviation) = self.totals()?;
        Some(deviation * (1.0 - self.alpha()?).max(0.0).sqrt())
    }
}

/// How many learners the upper and the lower group have: 27 %, rounded, at least one.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a positive number smaller than the number of learners"
)]
pub fn group_size(learners: usize) -> usize {
    ((learners as f64 * GROUP).round() as usize).max(1)
}

fn alpha(rows: &[Vec<f64>]) -> Option<f64> {
    let k = rows.first()?.len();
    if k < 2 {
        return None;
    }
    let mut of_items = 0.0;
    for item in 0..k {
        let scores: Vec<f64> = rows.iter().map(|row| row[item]).collect();
        of_items += covariance(&scores, &scores)?;
    }
    let totals: Vec<f64> = rows.iter().map(|row| row.iter().sum()).collect();
    let of_total = covariance(&totals, &totals)?;
    (of_total > 0.0).then(|| ratio(k) * (1.0 - of_items / of_total))
}

fn ratio(items: usize) -> f64 {
    let k = items as f64;
    k / (k - 1.0)
}

/// The mean of at least one number.
#[must_use]
pub fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Sample covariance of at least two pairs.
fn covariance(a: &[f64], b: &[f64]) -> Option<f64> {
    if a.len() < 2 {
        return None;
    }
    let (mean_a, mean_b) = (mean(a)?, mean(b)?);
    let sum: f64 = a
        .iter()
        .zip(b)
        .map(|(x, y)| (x - mean_a) * (y - mean_b))
        .sum();
    Some(sum / (a.len() - 1) as f64)
}

/// Standard deviation (sample) of at least two numbers.
#[must_use]
pub fn deviation(values: &[f64]) -> Option<f64> {
    covariance(values, values).map(f64::sqrt)
}

/// Pearson's correlation; `None` for fewer than two pairs and where one side does not vary.
#[must_use]
pub fn correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    // Sums of equal numbers differ in the last digits: below this the side does not vary.
    const FLAT: f64 = 1e-12;
    let (of_a, of_b) = (covariance(a, a)?, covariance(b, b)?);
    if of_a < FLAT || of_b < FLAT {
        return None;
    }
    Some(covariance(a, b)? / (of_a.sqrt() * of_b.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn table(rows: &[&str]) -> Table {
        let row = |text: &&str| {
            let score = |c| match c {
                '1' => Some(1.0),
                '0' => Some(0.0),
                _ => None,
            };
            text.chars().map(score).collect()
        };
        Table::new(
            rows.first().map_or(0, |row| row.len()),
            rows.iter().map(row).collect(),
        )
    }

    /// Ten students, ten items: K. Wuensch, StatHelp/KR20 (East Carolina University).
    fn published() -> Table {
        table(&[
            "1111110110",
            "1011011101",
            "1111011001",
            "0010001000",
            "0000010010",
            "1110111111",
            "1101110111",
            "1111111101",
            "0101111101",
            "1101101110",
        ])
    }

    /// Figures given with four digits may be off by half of the last.
    const FOUR_DIGITS: f64 = 0.000_05 + 1e-9;
    /// Figures given with ten digits.
    const TEN_DIGITS: f64 = 0.5e-10 + 1e-15;
    /// Figures printed with all digits of a double: another order of the sums may change the last two.
    const DOUBLE: f64 = 1e-14;

    fn check(what: &str, found: Option<f64>, wanted: f64, tolerance: f64) {
        assert!(
            found.is_some_and(|found| (found - wanted).abs() <= tolerance),
            "{what}: {found:?}, not {wanted}"
        );
    }

    #[test]
    fn a_published_table_of_ten_students() {
        let table = published();
        assert!(table.is_right_or_wrong(), "so alpha is KR-20");
        check("KR-20", table.alpha(), 0.696_347_032_0, TEN_DIGITS);
        check(
            "pair-wise",
            table.alpha_pairwise(),
            0.696_347_032_0,
            TEN_DIGITS,
        );
        check("SEM", table.standard_error(), 1.4037, FOUR_DIGITS);
        check("sd", table.totals().map(|(_, sd)| sd), 2.5473, FOUR_DIGITS);
        check(
            "mean",
            table.totals().map(|(mean, _)| mean),
            6.6,
            TEN_DIGITS,
        );
        // Printed there with the number of students in the denominator.
        let whole = table.totals().map(|(_, sd)| sd * sd * 9.0 / 10.0);
        check("variance of totals", whole, 5.84, TEN_DIGITS);
        let rows = [
            ("p", [0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6]),
            (
                "r_pb",
                [
                    0.7946, 0.7946, 0.2027, 0.6140, 0.7095, 0.4345, 0.1625, 0.7946, 0.0828, 0.6251,
                ],
            ),
            (
                "corrected",
                [
                    0.7059, 0.7059, 0.0000, 0.4736, 0.5839, 0.2861, -0.0274, 0.7059, -0.1236,
                    0.4759,
                ],
            ),
            (
                "alpha without",
                [
                    0.6084, 0.6084, 0.7353, 0.6525, 0.6290, 0.6846, 0.7355, 0.6084, 0.7564, 0.6505,
                ],
            ),
            (
                "D",
                [
                    0.6667, 0.6667, 0.6667, 0.3333, 0.6667, 0.6667, 0.0, 0.6667, 0.0, 0.6667,
                ],
            ),
        ];
        for (what, wanted) in rows {
            for (item, wanted) in wanted.into_iter().enumerate() {
                let found = match what {
                    "p" => table.difficulty(item),
                    "r_pb" => table.point_biserial(item),
                    "corrected" => table.corrected(item),
                    "alpha without" => table.alpha_without(item),
                    _ => table.upper_lower(item),
                };
                check(
                    &format!("{what} of item {}", item + 1),
                    found,
                    wanted,
                    FOUR_DIGITS,
                );
            }
        }
    }

    #[test]
    fn a_small_table_that_three_libraries_agree_on() {
        // Computed with scipy 1.17.1, pingouin 0.7.0 and girth 0.8.0.
        let table = table(&["11110", "11100", "11011", "10100", "01000", "11111"]);
        check("alpha", table.alpha(), 0.576_923_076_9, TEN_DIGITS);
        let deviation = table.totals().map(|(_, sd)| sd * sd);
        check("variance", deviation, 2.166_666_7, 0.5e-7 + 1e-15);
        let whole = deviation.map(|variance| variance * 5.0 / 6.0);
        check("population variance", whole, 1.805_555_6, 0.5e-7 + 1e-15);
        for (what, wanted) in [
            ("p", [0.8333, 0.8333, 0.6667, 0.5, 0.3333]),
            ("r_pb", [0.7211, 0.3883, 0.3508, 0.8682, 0.7016]),
            (
                "corrected",
                [
                    0.5394,
                    0.1195,
                    0.0000,
                    std::f64::consts::FRAC_1_SQRT_2,
                    0.4417,
                ],
            ),
            ("alpha without", [0.4242, 0.6190, 0.7018, 0.2500, 0.4553]),
        ] {
            for (item, wanted) in wanted.into_iter().enumerate() {
                let found = match what {
                    "p" => table.difficulty(item),
                    "r_pb" => table.point_biserial(item),
                    "corrected" => table.corrected(item),
                    _ => table.alpha_without(item),
                };
                check(
                    &format!("{what} of item {}", item + 1),
                    found,
                    wanted,
                    FOUR_DIGITS,
                );
            }
        }
    }

    /// Twelve learners, eleven questions, four gaps: the set `cronbach_wide_missing` of pingouin 0.7.0 (from
    /// real-statistics.com).
    fn with_gaps() -> Table {
        table(&[
            "11111111111",
            "11111111010",
            "-011-111100",
            "11101101100",
            "11111000100",
            "01-01111000",
            "11110010000",
            "11111000000",
            "01011000010",
            "10010100-00",
            "11100000000",
            "10010000000",
        ])
    }

    #[test]
    fn published_alphas_of_a_table_with_gaps() {
        // As the documentation of pingouin 0.7.0 prints them, which says that it was tested against the package psych
        // of R (`use = "pairwise"` and `use = "complete.obs"`).
        let table = with_gaps();
        assert_eq!(
            (table.items(), table.complete()),
            (11, 9),
            "three have a gap"
        );
        let pairwise = 0.732_660_835_214_447;
        let listwise = 0.801_694_915_254_237_3;
        check("pair-wise", table.alpha_pairwise(), pairwise, DOUBLE);
        check("list-wise", table.alpha(), listwise, DOUBLE);
        for (item, answered) in [11, 12, 11, 12, 11, 12, 12, 12, 11, 12, 12]
            .into_iter()
            .enumerate()
        {
            assert_eq!(table.answered(item), answered, "item {}", item + 1);
        }
    }

    #[test]
    fn a_published_alpha_of_ratings() {
        // The set `cronbach_alpha` of pingouin 0.7.0 (from real-statistics.com): fifteen people rate ten statements from
        // 1 to 7. Alpha does not depend on the scale, so that sevenths are as good.
        let rows = [
            "3241451432",
            "5463512555",
            "7355643365",
            "2433222663",
            "6565444675",
            "1234252352",
            "4353521243",
            "2443722465",
            "6555165232",
            "5464353172",
            "4352532341",
            "4232534234",
            "5562332445",
            "6554221465",
            "4355313234",
        ];
        let score = |digit: char| digit.to_digit(10).map(|digit| f64::from(digit) / 7.0);
        let rows = rows.iter().map(|row| row.chars().map(score).collect());
        let table = Table::new(10, rows.collect());
        assert!(!table.is_right_or_wrong(), "so alpha is not KR-20");
        let alpha = 0.591_718_848_599_582_6;
        check("list-wise", table.alpha(), alpha, DOUBLE);
        check("pair-wise", table.alpha_pairwise(), alpha, DOUBLE);
    }

    #[test]
    fn figures_that_do_not_exist_are_not_given() {
        let one = table(&["101"]);
        assert_eq!(
            (one.alpha(), one.corrected(0), one.upper_lower(0)),
            (None, None, None)
        );
        assert_eq!(one.difficulty(1), Some(0.0));
        let alike = table(&["110", "110", "110"]);
        assert_eq!(
            (alike.alpha(), alike.corrected(0)),
            (None, None),
            "nothing varies"
        );
        let single = table(&["1", "0"]);
        assert_eq!(
            (single.alpha(), single.alpha_without(0)),
            (None, None),
            "one item"
        );
        let none = Table::default();
        assert_eq!(
            (none.alpha(), none.alpha_pairwise(), none.totals()),
            (None, None, None)
        );
        let constant = table(&["11", "10", "10"]);
        assert_eq!(constant.corrected(0), None, "all answered alike");
    }

    #[test]
    fn gaps_are_not_wrong_answers() {
        let gaps = table(&["1-1", "011", "110", "100"]);
        assert_eq!(gaps.answered(1), 3);
        check("p", gaps.difficulty(1), 2.0 / 3.0, 1e-12);
        assert_eq!(gaps.complete(), 3);
        let whole = table(&["011", "110", "100"]);
        assert_eq!(gaps.alpha(), whole.alpha(), "list-wise");
        assert!(
            gaps.alpha_pairwise().is_some() && gaps.alpha_pairwise() != gaps.alpha(),
            "pair-wise is another figure"
        );
    }

    #[test]
    fn groups_are_27_percent() {
        for (learners, size) in [
            (1, 1),
            (2, 1),
            (5, 1),
            (6, 2),
            (10, 3),
            (100, 27),
            (101, 27),
            (102, 28),
        ] {
            assert_eq!(group_size(learners), size, "{learners}");
        }
    }

    proptest! {
        #[test]
        fn any_table_is_survived_and_figures_stay_in_range(
            rows in prop::collection::vec(prop::collection::vec(prop::option::of(0.0..=1.0), 0..6), 0..12),
        ) {
            let table = Table::new(4, rows);
            for item in 0..4 {
                for value in [table.corrected(item), table.point_biserial(item), table.upper_lower(item)].into_iter().flatten() {
                    prop_assert!((-1.000_001..=1.000_001).contains(&value), "{}", value);
                }
                if let Some(p) = table.difficulty(item) {
                    prop_assert!((0.0..=1.0).contains(&p), "{}", p);
                }
            }
            for value in [table.alpha(), table.alpha_pairwise()].into_iter().flatten() {
                prop_assert!(value.is_finite() && value <= 1.000_001, "{}", value);
            }
        }
    }
}
