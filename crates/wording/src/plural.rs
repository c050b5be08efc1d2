//! How a language counts, and places for values in a text.
//!
//! The rules are those of the Unicode Common Locale Data Repository (CLDR, "Language Plural Rules", cardinal), for
//! whole numbers; from memory, checked against its published example numbers in the tests.

use crate::key::Key;
use crate::table::{Entry, Words};

/// How a language counts whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plural {
    /// No forms: Japanese, Chinese.
    None,
    /// One and more: English, German, Spanish.
    One,
    /// Zero counts as one: French, Portuguese of Brazil.
    ZeroOne,
    /// One, few, many: Polish.
    Polish,
    /// One, few, many: Russian, Ukrainian.
    Russian,
    /// Zero, one, two, few, many, more: Arabic.
    Arabic,
}

impl Plural {
    /// Every rule with the word by which a language file names it.
    pub const ALL: [(Self, &'static str); 6] = [
        (Self::None, "none"),
        (Self::One, "one"),
        (Self::ZeroOne, "zero-one"),
        (Self::Polish, "polish"),
        (Self::Russian, "russian"),
        (Self::Arabic, "arabic"),
    ];

    /// The rule of that name; an unknown name counts like English.
    #[must_use]
    pub fn from_word(word: &str) -> Self {
        Self::ALL
            .iter()
            .find(|(_, name)| *name == word)
            .map_or(Self::One, |(rule, _)| *rule)
    }

    /// How many forms a text has.
    #[must_use]
    pub const fn forms(self) -> usize {
        match self {
            Self::None => 1,
            Self::One | Self::ZeroOne => 2,
            Self::Polish | Self::Russian => 3,
            Self::Arabic => 6,
        }
    }

    /// Which of the forms goes with `n`, from 0.
    #[must_use]
    pub const fn index(self, n: usize) -> usize {
        let (tens, ones) = (n % 100, n % 10);
        let few = ones >= 2 && ones <= 4 && !(tens >= 12 && tens <= 14);
        match self {
            Self::None => 0,
            Self::One => (n != 1) as usize,
            Self::ZeroOne => (n > 1) as usize,
            Self::Polish if n == 1 => 0,
            Self::Russian if ones == 1 && tens != 11 => 0,
            Self::Polish | Self::Russian => {
                if few {
                    1
                } else {
                    2
                }
            }
            Self::Arabic => match (n, tens) {
                (0..=2, _) => n,
                (_, 3..=10) => 3,
                (_, 11..=99) => 4,
                _ => 5,
            },
        }
    }

    /// The form of `text` that goes with `n`: forms are parted by `|`, the last serves for those that are not there.
    #[must_use]
    pub fn pick(self, text: &str, n: usize) -> &str {
        text.split('|')
            .take(self.index(n) + 1)
            .last()
            .unwrap_or_default()
    }
}

/// A rule is no word; it is set with the language.
impl Words for Plural {
    fn each(&mut self, _at: Key, _slot: &mut dyn FnMut(Key, &mut &'static str)) {}

    fn list(&self, _at: &str, _into: &mut Vec<Entry>) {}
}

/// `pattern` with each `{}` replaced by the next of `values`, and each `{1}`, `{2}` … by the one of that number.
#[must_use]
pub fn form(pattern: &str, values: &[&str]) -> String {
    let mut next = values.iter();
    let mut text = String::new();
    let mut rest = pattern;
    while let Some((before, (name, after))) = rest
        .split_once('{')
        .and_then(|(before, tail)| Some((before, tail.split_once('}')?)))
    {
        text.push_str(before);
        let value = match name.parse::<usize>() {
            Ok(number) => number.checked_sub(1).and_then(|at| values.get(at)),
            Err(_) => next.next(),
        };
        text.push_str(value.unwrap_or(&""));
        rest = after;
    }
    text.push_str(rest);
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forms_follow_the_published_rules() {
        // Example numbers of the CLDR chart "Language Plural Rules", cardinal, whole numbers.
        let rows: [(Plural, &[&[usize]]); 6] = [
            (Plural::None, &[&[0, 1, 2, 15, 100]]),
            (Plural::One, &[&[1], &[0, 2, 16, 100, 1001]]),
            (Plural::ZeroOne, &[&[0, 1], &[2, 17, 100]]),
            (
                Plural::Polish,
                &[
                    &[1],
                    &[2, 3, 4, 22, 24, 102],
                    &[0, 5, 12, 13, 14, 19, 21, 101, 112],
                ],
            ),
            (
                Plural::Russian,
                &[
                    &[1, 21, 31, 101, 1001],
                    &[2, 3, 4, 22, 104],
                    &[0, 5, 11, 14, 19, 111, 112],
                ],
            ),
            (
                Plural::Arabic,
                &[
                    &[0],
                    &[1],
                    &[2],
                    &[3, 10, 103, 110, 1003],
                    &[11, 26, 99, 111, 1011],
                    &[100, 102, 200, 402, 1000],
                ],
            ),
        ];
        for (rule, forms) in rows {
            assert_eq!(forms.len(), rule.forms(), "{rule:?}");
            for (index, numbers) in forms.iter().enumerate() {
                for n in *numbers {
                    assert_eq!(rule.index(*n), index, "{n} by {rule:?}");
                }
            }
        }
    }

    #[test]
    fn the_fitting_form_is_picked() {
        for (rule, text, n, picked) in [
            (Plural::One, "{} spoon|{} spoons", 1, "{} spoon"),
            (Plural::One, "{} spoon|{} spoons", 0, "{} spoons"),
            (Plural::None, "{} spoon|{} spoons", 7, "{} spoon"),
            (Plural::Arabic, "a|b", 100, "b"),
            (Plural::One, "same", 2, "same"),
        ] {
            assert_eq!(rule.pick(text, n), picked, "{n} of {text:?} by {rule:?}");
        }
        for (rule, word) in Plural::ALL {
            assert_eq!(Plural::from_word(word), rule, "{word}");
        }
    }

    #[test]
    fn values_go_in_in_order_or_by_number() {
        for (pattern, values, text) in [
            ("{} of {}.", &["one", "two"][..], "one of two."),
            ("none", &["one"], "none"),
            ("{}{}", &["one"], "one"),
            ("{2}, {1}", &["one", "two"], "two, one"),
            ("{0}{9}", &["one"], ""),
            ("open { brace", &["one"], "open { brace"),
        ] {
            assert_eq!(form(pattern, values), text, "{pattern:?}");
        }
    }
}
