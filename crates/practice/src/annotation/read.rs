//! From a typed line to tokens.

use std::ops::Range;

use super::vocabulary::{Ambiguous, Term, Vocabulary};

/// What a stretch of the line turned out to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TokenKind<'a> {
    /// A word of the vocabulary.
    Term(&'a Term),
    /// A word that means two things.
    Ambiguous(&'a Ambiguous),
    /// No word of the vocabulary.
    Unknown,
}

/// One word, or several that belong together, of a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Token<'a> {
    /// Where it stands in the line, bytes.
    pub range: Range<usize>,
    /// What it is.
    pub kind: TokenKind<'a>,
}

/// Splits `line` into tokens. The longest name that fits wins: "SAG OBL" is one token, not two.
///
/// Total on any text: what the vocabulary does not hold comes back as [`TokenKind::Unknown`].
#[must_use]
pub fn read<'a>(vocabulary: &'a Vocabulary, line: &str) -> Vec<Token<'a>> {
    let words = words(line);
    let longest = vocabulary.longest_name();
    let mut tokens = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let most = longest.min(words.len() - at);
        let found = (1..=most).rev().find_map(|count| {
            let name = joined(line, &words[at..at + count]);
            let kind = match (vocabulary.ambiguous_word(&name), vocabulary.term(&name)) {
                (Some(entry), _) => TokenKind::Ambiguous(entry),
                (None, Some(term)) => TokenKind::Term(term),
                (None, None) => return None,
            };
            Some((count, kind))
        });
        let (count, kind) = found.unwrap_or((1, TokenKind::Unknown));
        tokens.push(Token {
            range: words[at].start..words[at + count - 1].end,
            kind,
        });
        at += count;
    }
    tokens
}

/// Stretches of letters and digits; everything else parts them.
fn words(line: &str) -> Vec<Range<usize>> {
    let mut words: Vec<Range<usize>> = Vec::new();
    for (at, c) in line.char_indices().filter(|(_, c)| c.is_alphanumeric()) {
        let end = at + c.len_utf8();
        match words.last_mut() {
            Some(word) if word.end == at => word.end = end,
            _ => words.push(at..end),
        }
    }
    words
}

fn joined(line: &str, words: &[Range<usize>]) -> String {
    let mut name = String::new();
    for word in words {
        if !name.is_empty() {
            name.push(' ');
        }
        name.extend(line[word.clone()].chars().flat_map(char::to_uppercase));
    }
    name
}
