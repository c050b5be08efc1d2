//! Reading with paths: every fault says where it is, what was found and what was expected, and reading goes on, so that
//! one look at a file tells all that is wrong with it.

use crate::quote::one_line;
use anatomy::json::{Json, JsonError};

/// How much of an offending value is quoted back, characters.
const QUOTED: usize = 40;

/// What is found where a text stops too early.
pub(crate) const END: &str = "the end of the file";

/// One thing wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{}: found {}, expected {}",
    one_line(path),
    one_line(found),
    one_line(expected)
)]
pub struct Fault {
    /// Where: `questions[2].view.depth_mm`; `line 3, column 7` where the text is no JSON.
    pub path: String,
    /// The value found, shortened, or "nothing".
    pub found: String,
    /// What belongs there, with its unit.
    pub expected: String,
}

impl Fault {
    /// Where, the value found and what belongs there, each as one short line.
    #[must_use]
    pub fn said(&self) -> [String; 3] {
        [&self.path, &self.found, &self.expected].map(one_line)
    }
}

/// A field that this version does not know. It is kept, and does nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unknown {
    /// Where.
    pub path: String,
    /// A field of this place whose name is nearly the same.
    pub like: Option<&'static str>,
}

/// What was wrong and what was unknown so far.
#[derive(Debug, Default)]
pub struct Faults {
    /// In the order of reading.
    pub faults: Vec<Fault>,
    /// In the order of reading.
    pub unknown: Vec<Unknown>,
}

impl Faults {
    /// Adds a fault.
    pub fn add(&mut self, path: String, found: String, expected: impl Into<String>) {
        let expected = expected.into();
        self.faults.push(Fault {
            path,
            found,
            expected,
        });
    }
}

/// An object that is being read. Fields that nobody took are the unknown ones.
#[derive(Debug)]
pub struct Object<'a> {
    path: String,
    fields: &'a [(String, Json)],
    taken: Vec<&'static str>,
}

/// Reads a text whose whole is one object.
///
/// # Errors
///
/// One [`Fault`] with line and column when it is no JSON, or no object.
pub fn read_object(text: &[u8]) -> Result<Json, Fault> {
    // Editors of one widespread system put a byte order mark in front.
    let text = text.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(text);
    match Json::read(text) {
        Ok(json @ Json::Object(_)) => Ok(json),
        Ok(other) => Err(Fault {
            path: "line 1, column 1".to_owned(),
            found: quoted(&other),
            expected: "an object: { … }".to_owned(),
        }),
        Err(JsonError::Syntax { expected, at }) => {
            let before = &text[..at.min(text.len())];
            let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
            let start = before
                .iter()
                .rposition(|byte| *byte == b'\n')
                .map_or(0, |n| n + 1);
            let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
            let rest = text.get(at..).unwrap_or_default();
            let there: String = String::from_utf8_lossy(&rest[..rest.len().min(80)])
                .chars()
                .take_while(|c| !c.is_control())
                .take(20)
                .collect();
            let found = if rest.is_empty() {
                END.to_owned()
            } else {
                format!("`{there}`")
            };
            Err(Fault {
                path: format!("line {line}, column {column}"),
                found,
                expected: expected.to_owned(),
            })
        }
        Err(other) => Err(Fault {
            path: "the whole file".to_owned(),
            found: other.to_string(),
            expected: "every field once".to_owned(),
        }),
    }
}

impl<'a> Object<'a> {
    /// The object `json` at `path` (empty for the whole file).
    pub fn new(json: &'a Json, path: String, faults: &mut Faults) -> Option<Self> {
        let Json::Object(fields) = json else {
            faults.add(path, quoted(json), "an object: { … }");
            return None;
        };
        Some(Self {
            path,
            fields,
            taken: Vec::new(),
        })
    }

    /// The path of a field of this object.
    #[must_use]
    pub fn at(&self, name: &str) -> String {
        if self.path.is_empty() {
            name.to_owned()
        } else {
            format!("{}.{name}", self.path)
        }
    }

    /// The value of a field, which thereby is known; `null` counts as absent.
    pub fn take(&mut self, name: &'static str) -> Option<&'a Json> {
        self.taken.push(name);
        let (_, value) = self.fields.iter().find(|(field, _)| field == name)?;
        (*value != Json::Null).then_some(value)
    }

    /// Whether a field is there and not `null`, without making it known.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.fields
            .iter()
            .any(|(field, value)| field == name && *value != Json::Null)
    }

    /// Adds the fault that a field is not there.
    pub fn missing(&self, name: &str, expected: &str, faults: &mut Faults) {
        faults.add(self.at(name), "nothing".to_owned(), expected);
    }

    /// A text of `least` to `most` characters, without control characters but for line ends and tabs.
    pub fn text(
        &mut self,
        name: &'static str,
        least: usize,
        most: usize,
        faults: &mut Faults,
    ) -> Option<String> {
        let value = self.take(name)?;
        let fits = |text: &&String| {
            let count = text.chars().count();
            (least..=most).contains(&count)
                && !text
                    .chars()
                    .any(|c| c.is_control() && c != '\n' && c != '\t')
        };
        match value {
            Json::Text(text) if fits(&text) => Some(text.clone()),
            other => {
                let expected = format!("a text of {least} to {most} characters");
                faults.add(self.at(name), quoted(other), expected);
                None
            }
        }
    }

    /// An identifier: 1 to 64 of a–z, 0–9, `_`, `-`, as bodies, windows and structures have it.
    pub fn identifier(&mut self, name: &'static str, faults: &mut Faults) -> Option<String> {
        let value = self.take(name)?;
        identifier(value, self.at(name), faults)
    }

    /// A number from `low` to `high`.
    pub fn number(
        &mut self,
        name: &'static str,
        low: f64,
        high: f64,
        unit: &str,
        faults: &mut Faults,
    ) -> Option<f64> {
        let value = self.take(name)?;
        number(value, self.at(name), low, high, unit, faults)
    }

    /// A whole number from `low` to `high`.
    pub fn count(
        &mut self,
        name: &'static str,
        low: u32,
        high: u32,
        faults: &mut Faults,
    ) -> Option<u32> {
        let value = self.take(name)?;
        let found = match value {
            Json::Number(number) => anatomy::json::whole_number(*number),
            _ => None,
        };
        let found = found.filter(|count| (low..=high).contains(count));
        if found.is_none() {
            let expected = format!("a whole number from {low} to {high}");
            faults.add(self.at(name), quoted(value), expected);
        }
        found
    }

    /// True or false.
    pub fn flag(&mut self, name: &'static str, faults: &mut Faults) -> Option<bool> {
        match self.take(name)? {
            Json::Bool(value) => Some(*value),
            other => {
                faults.add(self.at(name), quoted(other), "true or false");
                None
            }
        }
    }

    /// One of the words of a table.
    pub fn word<T: Copy>(
        &mut self,
        name: &'static str,
        table: &[(&str, T)],
        faults: &mut Faults,
    ) -> Option<T> {
        let value = self.take(name)?;
        word(value, self.at(name), table, faults)
    }

    /// Exactly `N` numbers from `low` to `high`.
    pub fn numbers<const N: usize>(
        &mut self,
        name: &'static str,
        low: f64,
        high: f64,
        unit: &str,
        faults: &mut Faults,
    ) -> Option<[f64; N]> {
        let value = self.take(name)?;
        match value {
            Json::List(list) if list.len() == N => {
                let mut numbers = [0.0; N];
                for (at, (slot, entry)) in numbers.iter_mut().zip(list).enumerate() {
                    *slot = number(
                        entry,
                        format!("{}[{at}]", self.at(name)),
                        low,
                        high,
                        unit,
                        faults,
                    )?;
                }
                Some(numbers)
            }
            other => {
                let expected = format!("{N} numbers in {unit}: [ … ]");
                faults.add(self.at(name), quoted(other), expected);
                None
            }
        }
    }

    /// An object in this one.
    pub fn child(&mut self, name: &'static str, faults: &mut Faults) -> Option<Self> {
        let value = self.take(name)?;
        Self::new(value, self.at(name), faults)
    }

    /// The entries of a list of at most `most`, each with its path; an absent list is empty.
    pub fn list(
        &mut self,
        name: &'static str,
        most: usize,
        faults: &mut Faults,
    ) -> Vec<(String, &'a Json)> {
        match self.take(name) {
            None => Vec::new(),
            Some(Json::List(list)) => {
                if list.len() > most {
                    let found = format!("{} entries", list.len());
                    faults.add(self.at(name), found, format!("at most {most}"));
                }
                let entries = list.iter().take(most).enumerate();
                entries
                    .map(|(at, entry)| (format!("{}[{at}]", self.at(name)), entry))
                    .collect()
            }
            Some(other) => {
                faults.add(self.at(name), quoted(other), "a list: [ … ]");
                Vec::new()
            }
        }
    }

    /// A list of different identifiers, at most `most`.
    pub fn identifiers(
        &mut self,
        name: &'static str,
        most: usize,
        faults: &mut Faults,
    ) -> Vec<String> {
        let mut list = Vec::new();
        for (path, entry) in self.list(name, most, faults) {
            let Some(id) = identifier(entry, path.clone(), faults) else {
                continue;
            };
            if list.contains(&id) {
                faults.add(path, quoted(entry), "every entry once");
            } else {
                list.push(id);
            }
        }
        list
    }

    /// Ends the reading of this object: the fields that nobody took.
    pub fn rest(self, faults: &mut Faults) -> Vec<(String, Json)> {
        let unknown = self
            .fields
            .iter()
            .filter(|(name, _)| !self.taken.iter().any(|taken| taken == name));
        let mut rest = Vec::new();
        for (name, value) in unknown {
            faults.unknown.push(Unknown {
                path: self.at(name),
                like: self.taken.iter().copied().find(|known| near(known, name)),
            });
            rest.push((name.clone(), value.clone()));
        }
        rest
    }
}

/// One of the words of a table.
pub(crate) fn word<T: Copy>(
    value: &Json,
    path: String,
    table: &[(&str, T)],
    faults: &mut Faults,
) -> Option<T> {
    let found = match value {
        Json::Text(text) => table.iter().find(|(word, _)| word == text),
        _ => None,
    };
    if found.is_none() {
        let words: Vec<&str> = table.iter().map(|(word, _)| *word).collect();
        faults.add(path, quoted(value), format!("one of {}", words.join(", ")));
    }
    found.map(|(_, meaning)| *meaning)
}

fn identifier(value: &Json, path: String, faults: &mut Faults) -> Option<String> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "_-".contains(c);
    match value {
        Json::Text(text) if !text.is_empty() && text.len() <= 64 && text.chars().all(plain) => {
            Some(text.clone())
        }
        other => {
            let expected = "a name of 1 to 64 characters out of a-z, 0-9, _ and -";
            faults.add(path, quoted(other), expected);
            None
        }
    }
}

fn number(
    value: &Json,
    path: String,
    low: f64,
    high: f64,
    unit: &str,
    faults: &mut Faults,
) -> Option<f64> {
    match value {
        Json::Number(number) if (low..=high).contains(number) => Some(*number),
        other => {
            let expected = format!("a number from {low} to {high} {unit}");
            faults.add(path, quoted(other), expected.trim_end());
            None
        }
    }
}

/// A value as a message quotes it.
pub(crate) fn quoted(value: &Json) -> String {
    crate::quote::shortened(&super::compact(value), QUOTED)
}

/// Whether two names differ in case, in separators, or in at most two letters.
fn near(known: &str, name: &str) -> bool {
    let plain = |text: &str| -> Vec<char> {
        text.chars()
            .filter(char::is_ascii_alphanumeric)
            .map(|c| c.to_ascii_lowercase())
            .collect()
    };
    let (a, b) = (plain(known), plain(name));
    if b.is_empty() || b.len() > 40 {
        return false;
    }
    let allowed = if a.len() < 5 { 1 } else { 2 };
    distance(&a, &b) <= allowed
}

/// Letters to put in, leave out or change to turn one word into the other (Levenshtein's distance).
fn distance(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let above = row[j + 1];
            row[j + 1] = (diagonal + usize::from(x != y))
                .min(above + 1)
                .min(row[j] + 1);
            diagonal = above;
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_of_grammar_name_line_and_column() {
        for (text, path, found) in [
            ("{\"a\": 1,\n  \"b\" 2}", "line 2, column 7", "`2}`"),
            ("{\"ä\": ?", "line 1, column 7", "`?`"),
            ("", "line 1, column 1", "the end of the file"),
            ("[1]", "line 1, column 1", "[1]"),
        ] {
            let fault = read_object(text.as_bytes()).expect_err("no object");
            assert_eq!((&*fault.path, &*fault.found), (path, found), "{text}");
        }
    }

    #[test]
    fn a_name_with_a_slip_is_recognised() {
        for (known, name, wanted) in [
            ("tolerance_deg", "tolerence_deg", true),
            ("tolerance_deg", "toleranceDeg", true),
            ("tolerance_deg", "tolerance", false),
            ("seed", "sead", true),
            ("seed", "need2", false),
            ("hint", "notes", false),
        ] {
            assert_eq!(near(known, name), wanted, "{known} {name}");
        }
    }
}
