//! What is wrong with a language file, for tests.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::dictionary::lines;
use crate::key::Key;
use crate::plural::Plural;
use crate::table::Entry;

/// One thing that is wrong with a language file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// No line for this key; the words are English.
    Missing(String),
    /// A line for a key that no table has.
    Unknown(usize, String),
    /// A second line for a key.
    Twice(usize, String),
    /// Other places for values than in English, in one of the forms.
    Places(usize, String),
    /// More forms than the language counts, or a different kind of text.
    Forms(usize, String),
    /// Two keys with one hash: one of the fields has to be renamed.
    Hash(String, String),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(key) => write!(f, "missing: {key}"),
            Self::Unknown(line, key) => write!(f, "line {line}: no such key: {key}"),
            Self::Twice(line, key) => write!(f, "line {line}: stands twice: {key}"),
            Self::Places(line, key) => write!(
                f,
                "line {line}: other places for values than in English: {key}"
            ),
            Self::Forms(line, key) => write!(
                f,
                "line {line}: another number of forms than the language counts: {key}"
            ),
            Self::Hash(one, other) => write!(f, "{one} and {other} have one hash, rename a field"),
        }
    }
}

/// Compares a language file with the English words, and the keys with one another.
///
/// Forms for counting are parted by `|` in both; the file's own language may need another number of them.
#[must_use]
pub fn compare(english: &[Entry], file: &'static str, rule: Plural) -> Vec<Fault> {
    let mut faults = BTreeSet::new();
    let mut hashes: BTreeMap<Key, &str> = BTreeMap::new();
    let mut known: BTreeMap<&str, &str> = BTreeMap::new();
    for entry in english {
        if let Some(other) = hashes.insert(Key::of(&entry.key), &entry.key) {
            faults.insert(Fault::Hash(other.to_owned(), entry.key.clone()));
        }
        known.insert(&entry.key, entry.words);
    }
    let mut seen = BTreeSet::new();
    for line in lines(file) {
        let (number, key) = (line.number, line.key);
        let Some(words) = known.get(key.as_str()) else {
            faults.insert(Fault::Unknown(number, key));
            continue;
        };
        let counted = words.contains('|');
        let forms: Vec<&str> = line.words.split('|').collect();
        if forms.len() != if counted { rule.forms() } else { 1 } {
            faults.insert(Fault::Forms(number, key.clone()));
        }
        // "One spoon" may leave out the number, so a form of several only may not have more places.
        let wanted = words.split('|').map(places).max().unwrap_or_default();
        let fits = |form: &&str| places(form) == wanted || (counted && places(form) < wanted);
        if !forms.iter().all(fits) {
            faults.insert(Fault::Places(number, key.clone()));
        }
        if !seen.insert(key.clone()) {
            faults.insert(Fault::Twice(number, key));
        }
    }
    let missing = english.iter().filter(|entry| !seen.contains(&entry.key));
    faults.extend(missing.map(|entry| Fault::Missing(entry.key.clone())));
    faults.into_iter().collect()
}

/// How many values a text takes.
fn places(text: &str) -> usize {
    text.matches('{').count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn english() -> Vec<Entry> {
        [
            ("a.one", "{} of {}"),
            ("a.two", "Two"),
            ("n", "{} spoon|{} spoons"),
        ]
        .map(|(key, words)| Entry {
            key: key.to_owned(),
            words,
        })
        .to_vec()
    }

    #[test]
    fn every_kind_of_fault_is_found() {
        let good = "n = Löffel|{} Löffel\n[a]\none = {2} von {1}\ntwo = Zwei\n";
        assert_eq!(
            compare(&english(), good, Plural::One),
            [],
            "nothing is wrong"
        );
        for (file, rule, faults) in [
            (
                "n = a|b\n[a]\none = {} {}\n",
                Plural::One,
                vec![Fault::Missing("a.two".to_owned())],
            ),
            (
                "n = a|b\n[a]\none = {} {}\ntwo = x\ntwo = y\nsix = z\n",
                Plural::One,
                vec![
                    Fault::Unknown(6, "a.six".to_owned()),
                    Fault::Twice(5, "a.two".to_owned()),
                ],
            ),
            (
                "n = a|b\n[a]\none = {}\ntwo = {}\n",
                Plural::Polish,
                vec![
                    Fault::Places(3, "a.one".to_owned()),
                    Fault::Places(4, "a.two".to_owned()),
                    Fault::Forms(1, "n".to_owned()),
                ],
            ),
        ] {
            assert_eq!(compare(&english(), file, rule), faults, "{file:?}");
        }
        let twice = [english(), english()].concat();
        assert!(
            compare(&twice, good, Plural::One)
                .contains(&Fault::Hash("n".to_owned(), "n".to_owned())),
            "equal hashes are found"
        );
    }
}
