//! The annotation vocabulary as a file, version 1.
//!
//! `models/vocabulary.toml` says what stands in it; the page gets the same content as JSON. Keys that this version
//! does not know are passed over, so that a later version may add some.

use anatomy::json::{Json, JsonError, kind};
use practice::annotation::{
    Ambiguous, Choice, Meaning, PlaneWord, SideWord, Term, Vocabulary, VocabularyError,
};
use serde::Deserialize;
use thiserror::Error;

/// The version that this program reads.
pub const VERSION: u32 = 1;

/// The file as it is written.
#[derive(Debug, Clone, Deserialize)]
pub struct VocabularyFile {
    /// Format version.
    pub version: u32,
    /// Language of the words, BCP 47: "en".
    pub language: String,
    /// Visible area from which a structure counts as shown, mm2.
    pub least_area_mm2: f64,
    /// Visible extent from which a structure counts as shown, mm.
    pub least_length_mm: f64,
    /// Claims about the plane.
    #[serde(default)]
    pub plane: Vec<Entry>,
    /// Claims about the side.
    #[serde(default)]
    pub side: Vec<Entry>,
    /// Claims about the part of a structure.
    #[serde(default)]
    pub segment: Vec<Entry>,
    /// Structures.
    #[serde(default)]
    pub structure: Vec<Entry>,
    /// What the examiner or the patient did.
    #[serde(default)]
    pub manoeuvre: Vec<Entry>,
    /// Words that mean two things.
    #[serde(default)]
    pub ambiguous: Vec<AmbiguousEntry>,
}

/// A word; which of the optional keys it needs depends on the table it stands in.
#[derive(Debug, Clone, Deserialize)]
pub struct Entry {
    /// What the program writes.
    pub mark: String,
    /// What it also accepts.
    #[serde(default)]
    pub also: Vec<String>,
    /// A word of [`PlaneWord::ALL`].
    pub plane: Option<String>,
    /// A word of [`SideWord::ALL`].
    pub side: Option<String>,
    /// Identifiers of structures.
    #[serde(default)]
    pub structures: Vec<String>,
    /// Identifiers of segments.
    #[serde(default)]
    pub segments: Vec<String>,
    /// The structure that a word for a segment says by itself.
    pub structure: Option<String>,
}

/// A word that means two things.
#[derive(Debug, Clone, Deserialize)]
pub struct AmbiguousEntry {
    /// The word.
    pub word: String,
    /// Pairs of mark (empty when there is none) and meaning in words.
    pub choices: Vec<(String, String)>,
}

/// Why a file is no vocabulary.
#[derive(Debug, Error)]
pub enum VocabularyFileError {
    /// Not JSON of this shape.
    #[error("the vocabulary is not written as expected: {}", crate::quote::one_line(.0))]
    Shape(#[from] JsonError),
    /// Another version.
    #[error("the vocabulary has version {found}; this program reads version {VERSION}")]
    Version {
        /// The version found.
        found: u32,
    },
    /// A word lacks a key, or the key has a value that means nothing.
    #[error(
        "\"{}\" of [[{table}]] needs \"{key}\", and has {}",
        crate::quote::one_line(mark),
        crate::quote::one_line(found)
    )]
    Key {
        /// The table.
        table: &'static str,
        /// The word.
        mark: String,
        /// The key.
        key: &'static str,
        /// The value found, or "none".
        found: String,
    },
    /// The words do not fit together.
    #[error("{}", crate::quote::one_line(.0))]
    Words(#[from] VocabularyError),
}

/// Reads a vocabulary from JSON.
///
/// # Errors
///
/// [`VocabularyFileError`] names the table, the word and what is wrong with it.
pub fn read(json: &[u8]) -> Result<Vocabulary, VocabularyFileError> {
    from_json(&Json::read(json)?)
}

/// Reads a vocabulary that stands inside another file.
///
/// # Errors
///
/// As [`read`].
pub fn from_json(json: &Json) -> Result<Vocabulary, VocabularyFileError> {
    from_file(file(json)?)
}

fn file(json: &Json) -> Result<VocabularyFile, JsonError> {
    Ok(VocabularyFile {
        version: json.count("version")?,
        language: json.text("language")?.to_owned(),
        least_area_mm2: json.number("least_area_mm2")?,
        least_length_mm: json.number("least_length_mm")?,
        plane: json.each("plane", entry)?,
        side: json.each("side", entry)?,
        segment: json.each("segment", entry)?,
        structure: json.each("structure", entry)?,
        manoeuvre: json.each("manoeuvre", entry)?,
        ambiguous: json.each("ambiguous", |entry| {
            entry.need("choices")?;
            Ok(AmbiguousEntry {
                word: entry.text("word")?.to_owned(),
                choices: entry.each("choices", choice)?,
            })
        })?,
    })
}

fn entry(json: &Json) -> Result<Entry, JsonError> {
    let maybe = |name| {
        let word = json
            .get(name)
            .map(|value| value.as_text(name))
            .transpose()?;
        Ok(word.map(str::to_owned))
    };
    Ok(Entry {
        mark: json.text("mark")?.to_owned(),
        also: json.texts("also")?,
        plane: maybe("plane")?,
        side: maybe("side")?,
        structures: json.texts("structures")?,
        segments: json.texts("segments")?,
        structure: maybe("structure")?,
    })
}

fn choice(json: &Json) -> Result<(String, String), JsonError> {
    match json.as_list("choices")? {
        [mark, words] => Ok((
            mark.as_text("choices")?.to_owned(),
            words.as_text("choices")?.to_owned(),
        )),
        _ => Err(kind("pairs", "choices")),
    }
}

/// The vocabulary that a file describes.
///
/// # Errors
///
/// As [`read`], but for the shape.
pub fn from_file(file: VocabularyFile) -> Result<Vocabulary, VocabularyFileError> {
    if file.version != VERSION {
        return Err(VocabularyFileError::Version {
            found: file.version,
        });
    }
    let mut terms = Vec::new();
    for (table, entries) in [
        ("plane", file.plane),
        ("side", file.side),
        ("segment", file.segment),
        ("structure", file.structure),
        ("manoeuvre", file.manoeuvre),
    ] {
        for entry in entries {
            let meaning = meaning(table, &entry)?;
            terms.push(Term {
                mark: entry.mark,
                also: entry.also,
                meaning,
            });
        }
    }
    let ambiguous = file
        .ambiguous
        .into_iter()
        .map(|entry| Ambiguous {
            word: entry.word,
            choices: entry
                .choices
                .into_iter()
                .map(|(mark, words)| Choice { mark, words })
                .collect(),
        })
        .collect();
    Ok(Vocabulary::new(
        terms,
        ambiguous,
        file.least_area_mm2,
        file.least_length_mm,
    )?)
}

fn meaning(table: &'static str, entry: &Entry) -> Result<Meaning, VocabularyFileError> {
    let wrong = |key: &'static str, found: Option<&str>| VocabularyFileError::Key {
        table,
        mark: entry.mark.clone(),
        key,
        found: found.map_or_else(|| "none".to_owned(), |value| format!("\"{value}\"")),
    };
    let side = || {
        entry
            .side
            .as_deref()
            .map(|word| SideWord::from_word(word).ok_or_else(|| wrong("side", Some(word))))
            .transpose()
    };
    Ok(match table {
        "plane" => {
            let word = entry.plane.as_deref();
            Meaning::Plane(
                word.and_then(PlaneWord::from_word)
                    .ok_or_else(|| wrong("plane", word))?,
            )
        }
        "side" => Meaning::Side(side()?.ok_or_else(|| wrong("side", None))?),
        "segment" if entry.segments.is_empty() => return Err(wrong("segments", None)),
        "segment" => Meaning::Segment {
            segments: entry.segments.clone(),
            structure: entry.structure.clone(),
        },
        "structure" if entry.structures.is_empty() => return Err(wrong("structures", None)),
        "structure" => Meaning::Structure {
            structures: entry.structures.clone(),
            segments: entry.segments.clone(),
            side: side()?,
        },
        _ => Meaning::Manoeuvre,
    })
}
