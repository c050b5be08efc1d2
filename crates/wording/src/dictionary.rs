//! Language files: lines `key = words` under headings.

use crate::key::Key;
use crate::table::{Entry, Words};

/// A line of a language file that holds words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Number of the line in the file, from 1.
    pub number: usize,
    /// Dotted key, the heading's part included.
    pub key: String,
    /// The words.
    pub words: &'static str,
}

/// Reads a language file line by line.
///
/// A heading `[panels]` stands before the keys under it; `[]` goes back to none. Empty lines and lines that begin with
/// `#` are passed over. Quotes keep spaces at the ends: `and = " and "`. A line without ` = ` is passed over, too; the
/// test that compares a file with the tables finds what it should have been.
pub fn lines(text: &'static str) -> impl Iterator<Item = Line> {
    let mut heading = "";
    text.lines().enumerate().filter_map(move |(at, line)| {
        let line = line.trim();
        if let Some(inner) = line
            .strip_prefix('[')
            .and_then(|rest| rest.strip_suffix(']'))
        {
            heading = inner.trim();
            return None;
        }
        let (key, words) = (!line.starts_with('#'))
            .then(|| line.split_once('='))
            .flatten()?;
        let (key, words) = (key.trim(), words.trim());
        let quoted = words
            .strip_prefix('"')
            .and_then(|rest| rest.strip_suffix('"'));
        let dot = if heading.is_empty() { "" } else { "." };
        Some(Line {
            number: at + 1,
            key: format!("{heading}{dot}{key}"),
            words: quoted.unwrap_or(words),
        })
    })
}

/// The words of a language file by their keys.
///
/// A language is read once and lasts as long as the program, so a dictionary is a reference that can be copied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dictionary {
    words: &'static [(Key, &'static str)],
}

impl Dictionary {
    /// No words: everything stays English.
    pub const EMPTY: Self = Self { words: &[] };

    /// Reads a language file. Total: see [`lines`] for what is passed over; of two lines with one key the last counts.
    ///
    /// The list of words is kept for as long as the program runs.
    #[must_use]
    pub fn read(text: &'static str) -> Self {
        let mut words: Vec<(Key, &'static str)> = lines(text)
            .map(|line| (Key::of(&line.key), line.words))
            .collect();
        // Stable, so that the last line with a key comes last among its equals.
        words.sort_by_key(|(key, _)| *key);
        words.reverse();
        words.dedup_by_key(|(key, _)| *key);
        words.reverse();
        Self {
            words: words.leak(),
        }
    }

    /// The words under a key.
    #[must_use]
    pub fn get(&self, key: Key) -> Option<&'static str> {
        let at = self
            .words
            .binary_search_by_key(&key, |(known, _)| *known)
            .ok()?;
        self.words.get(at).map(|(_, words)| *words)
    }

    /// Whether there are no words.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }
}

/// Words that no table declares, such as names of structures, belong to no field.
impl Words for Dictionary {
    fn each(&mut self, _at: Key, _slot: &mut dyn FnMut(Key, &mut &'static str)) {}

    fn list(&self, _at: &str, _into: &mut Vec<Entry>) {}
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "\
# A comment.
language = de
[panels]
title = Titel = Name
and = \" und \"
empty = \"\"
no words here
[ names.structures ]
liver = Leber
liver = die Leber
[]
footer.1 = Zum Lehren.
";

    #[test]
    fn lines_have_their_heading() {
        let told: Vec<(usize, String, &str)> = lines(FILE)
            .map(|line| (line.number, line.key, line.words))
            .collect();
        let wanted = [
            (2, "language", "de"),
            (4, "panels.title", "Titel = Name"),
            (5, "panels.and", " und "),
            (6, "panels.empty", ""),
            (9, "names.structures.liver", "Leber"),
            (10, "names.structures.liver", "die Leber"),
            (12, "footer.1", "Zum Lehren."),
        ];
        assert_eq!(
            told,
            wanted.map(|(line, key, words)| (line, key.to_owned(), words))
        );
    }

    #[test]
    fn words_are_found_by_key() {
        let found = Dictionary::read(FILE);
        for (key, words) in [
            ("language", Some("de")),
            ("panels.and", Some(" und ")),
            ("names.structures.liver", Some("die Leber")),
            ("panels.other", None),
            ("title", None),
        ] {
            assert_eq!(found.get(Key::of(key)), words, "{key}");
        }
        assert!(Dictionary::read("").is_empty(), "an empty file is no error");
    }
}
