//! Which planes are taken for which.

/// A confusion matrix: how often each answer was given where each plane was right, over first tries.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Confusion {
    /// Names of rows (right) and columns (answered): the three planes, then oblique ones, then others.
    pub names: Vec<String>,
    /// `counts[right][answered]`.
    pub counts: Vec<Vec<usize>>,
}

/// The usual names, in their order.
const USUAL: [&str; 6] = [
    "sagittal",
    "coronal",
    "transverse",
    "oblique",
    "longitudinal_oblique",
    "transverse_oblique",
];

/// The kinds of questions whose answer is a plane.
pub(super) const KINDS: [&str; 2] = ["plane_from_probe", "plane_from_picture"];

impl Confusion {
    /// From pairs (right, answered).
    #[must_use]
    pub fn of(pairs: &[(&str, &str)]) -> Self {
        let mut names: Vec<String> = Vec::new();
        let both = || {
            pairs
                .iter()
                .flat_map(|(right, answered)| [*right, *answered])
        };
        for usual in USUAL {
            if both().any(|name| name == usual) {
                names.push(usual.to_owned());
            }
        }
        let mut others: Vec<&str> = both().filter(|name| !USUAL.contains(name)).collect();
        others.sort_unstable();
        others.dedup();
        names.extend(others.into_iter().map(str::to_owned));
        let place = |name: &str| names.iter().position(|other| other == name);
        let mut counts = vec![vec![0; names.len()]; names.len()];
        for (right, answered) in pairs {
            if let (Some(row), Some(column)) = (place(right), place(answered)) {
                counts[row][column] += 1;
            }
        }
        Self { names, counts }
    }

    /// The mistakes, most frequent first: right, answered, how often.
    #[must_use]
    pub fn mistakes(&self) -> Vec<(&str, &str, usize)> {
        let mut list = Vec::new();
        for (row, right) in self.names.iter().enumerate() {
            for (column, answered) in self.names.iter().enumerate() {
                let count = self.counts[row][column];
                if row != column && count > 0 {
                    list.push((&**right, &**answered, count));
                }
            }
        }
        list.sort_by_key(|(_, _, count)| std::cmp::Reverse(*count));
        list
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mistakes_are_counted_and_sorted() {
        let confusion = Confusion::of(&[
            ("sagittal", "sagittal"),
            ("sagittal", "coronal"),
            ("sagittal", "coronal"),
            ("transverse", "zebra"),
        ]);
        assert_eq!(
            confusion.names,
            ["sagittal", "coronal", "transverse", "zebra"]
        );
        assert_eq!(confusion.counts[0], [1, 2, 0, 0]);
        assert_eq!(
            confusion.mistakes(),
            [("sagittal", "coronal", 2), ("transverse", "zebra", 1)]
        );
        assert_eq!(Confusion::of(&[]), Confusion::default());
    }
}
