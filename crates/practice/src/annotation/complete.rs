//! Words offered while somebody types.

use std::ops::Range;

use super::vocabulary::{Meaning, Vocabulary};

/// A word that may finish the line.
#[derive(Debug, Clone, PartialEq)]
pub struct Completion<'a> {
    /// The part of the line that it replaces, bytes.
    pub range: Range<usize>,
    /// The word to write: a mark.
    pub mark: &'a str,
    /// One of its names, which says what the mark stands for: "PORTAL VEIN".
    pub name: &'a str,
    /// What it claims.
    pub meaning: &'a Meaning,
}

/// Words whose mark or synonym begins with the last word of `line`, at most `most`, by mark. Nothing is offered
/// after a blank. Right and wrong words are offered alike: a completion must not give the answer away.
#[must_use]
pub fn complete<'a>(vocabulary: &'a Vocabulary, line: &str, most: usize) -> Vec<Completion<'a>> {
    let start = line
        .char_indices()
        .rev()
        .take_while(|(_, c)| c.is_alphanumeric())
        .last()
        .map_or(line.len(), |(at, _)| at);
    let typed: String = line[start..].chars().flat_map(char::to_uppercase).collect();
    if typed.is_empty() {
        return Vec::new();
    }
    let mut found: Vec<Completion<'a>> = vocabulary
        .terms()
        .iter()
        .filter(|term| term.names().any(|name| name.starts_with(&typed)))
        .map(|term| Completion {
            range: start..line.len(),
            mark: &term.mark,
            name: vocabulary.spelt_out(term),
            meaning: &term.meaning,
        })
        .collect();
    found.sort_by(|a, b| a.mark.cmp(b.mark));
    found.truncate(most);
    found
}
