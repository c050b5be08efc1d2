//! The words that may stand on a picture and what each of them claims.

use thiserror::Error;

/// A claim about the plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaneWord {
    /// A sagittal plane of the body.
    Sagittal,
    /// A transverse plane of the body.
    Transverse,
    /// A coronal plane of the body.
    Coronal,
    /// Any oblique plane.
    Oblique,
    /// An oblique plane that runs along the body.
    LongitudinalOblique,
    /// An oblique plane that runs across the body.
    TransverseOblique,
    /// A sagittal plane at the mid-line.
    MidSagittal,
    /// Along the body (sagittal), or along the structure: right when either holds.
    Longitudinal,
    /// Along the structure.
    LongAxis,
    /// Across the structure.
    ShortAxis,
}

impl PlaneWord {
    /// Every claim with the word that a vocabulary file uses for it.
    pub const ALL: [(Self, &'static str); 10] = [
        (Self::Sagittal, "sagittal"),
        (Self::Transverse, "transverse"),
        (Self::Coronal, "coronal"),
        (Self::Oblique, "oblique"),
        (Self::LongitudinalOblique, "longitudinal_oblique"),
        (Self::TransverseOblique, "transverse_oblique"),
        (Self::MidSagittal, "mid_sagittal"),
        (Self::Longitudinal, "longitudinal"),
        (Self::LongAxis, "long_axis"),
        (Self::ShortAxis, "short_axis"),
    ];

    /// The claim named by a word of a vocabulary file.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .find(|(_, name)| *name == word)
            .map(|(claim, _)| *claim)
    }
}

/// A claim about the side of the patient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SideWord {
    /// The patient's right.
    Right,
    /// The patient's left.
    Left,
    /// Both sides in one picture.
    Both,
}

impl SideWord {
    /// Every side with the word that a vocabulary file uses for it.
    pub const ALL: [(Self, &'static str); 3] = [
        (Self::Right, "right"),
        (Self::Left, "left"),
        (Self::Both, "both"),
    ];

    /// The side named by a word of a vocabulary file.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .find(|(_, name)| *name == word)
            .map(|(side, _)| *side)
    }
}

/// What a word claims.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meaning {
    /// The plane, or how it shows the structure.
    Plane(PlaneWord),
    /// The side of the patient.
    Side(SideWord),
    /// A structure is shown.
    Structure {
        /// Identifiers in the bodies; any of them will do.
        structures: Vec<String>,
        /// The part of it that the word stands for (CBD is a part of the bile duct).
        segments: Vec<String>,
        /// The side that the word itself says (RK).
        side: Option<SideWord>,
    },
    /// The part of the structure under the centre of the picture.
    Segment {
        /// Identifiers of segments; any of them will do.
        segments: Vec<String>,
        /// The structure that the word itself says (CERVIX).
        structure: Option<String>,
    },
    /// What the examiner or the patient did; kept, not checked.
    Manoeuvre,
}

/// A word and its synonyms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Term {
    /// What the program writes, in capitals: "SAG".
    pub mark: String,
    /// What it also accepts, in capitals.
    pub also: Vec<String>,
    /// What it claims.
    pub meaning: Meaning,
}

impl Term {
    /// The mark and its synonyms.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.mark.as_str()).chain(self.also.iter().map(String::as_str))
    }
}

/// One thing that an ambiguous word can mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The mark to write instead; empty when the vocabulary has none for it.
    pub mark: String,
    /// The meaning in words.
    pub words: String,
}

/// A word that means two things. It is refused with a question, never guessed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ambiguous {
    /// The word, in capitals.
    pub word: String,
    /// Two or more meanings.
    pub choices: Vec<Choice>,
}

/// Why a list of words is no vocabulary.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum VocabularyError {
    /// A name is empty, not in capitals, or has characters other than letters, digits and single spaces.
    #[error("\"{name}\" is not written in capitals, digits and single spaces")]
    Name {
        /// The offending name.
        name: String,
    },
    /// A name stands for two things; then it belongs among the ambiguous words.
    #[error("\"{name}\" stands twice in the vocabulary")]
    Twice {
        /// The offending name.
        name: String,
    },
    /// An ambiguous word offers a mark that the vocabulary does not have.
    #[error("the ambiguous word \"{word}\" offers \"{mark}\", which is not in the vocabulary")]
    Choice {
        /// The ambiguous word.
        word: String,
        /// The unknown mark.
        mark: String,
    },
    /// An ambiguous word has fewer than two meanings.
    #[error("the ambiguous word \"{word}\" has fewer than two meanings")]
    OneMeaning {
        /// The ambiguous word.
        word: String,
    },
    /// A threshold is not a number of at least zero.
    #[error("{name} of {value} is not at least 0")]
    Threshold {
        /// Which one.
        name: &'static str,
        /// The offending value, in mm or mm2.
        value: f64,
    },
}

/// All words of one language and department.
#[derive(Debug, Clone, PartialEq)]
pub struct Vocabulary {
    terms: Vec<Term>,
    ambiguous: Vec<Ambiguous>,
    least_area_mm2: f64,
    least_length_mm: f64,
    /// Whether the first synonym of a word is of the reader's language.
    translated: bool,
}

impl Vocabulary {
    /// A vocabulary of `terms` and `ambiguous` words. A structure counts as shown when at least `least_area_mm2` of it
    /// is visible in the field, or it reaches at least `least_length_mm` across it.
    ///
    /// # Errors
    ///
    /// [`VocabularyError`] names the first word or number that does not fit.
    pub fn new(
        terms: Vec<Term>,
        ambiguous: Vec<Ambiguous>,
        least_area_mm2: f64,
        least_length_mm: f64,
    ) -> Result<Self, VocabularyError> {
        for (name, value) in [
            ("least_area_mm2", least_area_mm2),
            ("least_length_mm", least_length_mm),
        ] {
            // Written so that a NaN is refused too.
            if !(value.is_finite() && value >= 0.0) {
                return Err(VocabularyError::Threshold { name, value });
            }
        }
        let mut names: Vec<&str> = Vec::new();
        let all = terms
            .iter()
            .flat_map(Term::names)
            .chain(ambiguous.iter().map(|entry| entry.word.as_str()));
        for name in all {
            if !well_written(name) {
                return Err(VocabularyError::Name {
                    name: name.to_owned(),
                });
            }
            names.push(name);
        }
        names.sort_unstable();
        if let Some(twice) = names.windows(2).find(|pair| pair[0] == pair[1]) {
            return Err(VocabularyError::Twice {
                name: twice[0].to_owned(),
            });
        }
        for entry in &ambiguous {
            if entry.choices.len() < 2 {
                return Err(VocabularyError::OneMeaning {
                    word: entry.word.clone(),
                });
            }
            let unknown = entry.choices.iter().find(|choice| {
                !choice.mark.is_empty() && terms.iter().all(|term| term.mark != choice.mark)
            });
            if let Some(choice) = unknown {
                return Err(VocabularyError::Choice {
                    word: entry.word.clone(),
                    mark: choice.mark.clone(),
                });
            }
        }
        Ok(Self {
            terms,
            ambiguous,
            least_area_mm2,
            least_length_mm,
            translated: false,
        })
    }

    /// Takes in the words of another language.
    ///
    /// `more` gives for a mark further synonyms, parted by commas; the first stands beside the mark where words are offered.
    /// `meaning` gives for an ambiguous word and the number of one of its meanings, from 1, that meaning in words.
    /// A synonym that stands for something else in the vocabulary, or is not written as names are, is passed over.
    pub fn translate<'a>(
        &mut self,
        more: impl Fn(&str) -> Option<&'a str>,
        meaning: impl Fn(&str, usize) -> Option<&'a str>,
    ) {
        for at in 0..self.terms.len() {
            let mark = &self.terms[at].mark;
            let names = more(mark).unwrap_or_default();
            let new: Vec<String> = names
                .split(',')
                .map(str::trim)
                .filter(|name| {
                    *name != mark.as_str()
                        && well_written(name)
                        && self.term(name).is_none_or(|known| known.mark == *mark)
                        && self.ambiguous_word(name).is_none()
                })
                .map(str::to_owned)
                .collect();
            self.translated |= !new.is_empty();
            let also = &mut self.terms[at].also;
            also.retain(|name| !new.contains(name));
            also.splice(0..0, new);
        }
        for entry in &mut self.ambiguous {
            for (number, choice) in (1..).zip(&mut entry.choices) {
                if let Some(words) = meaning(&entry.word, number) {
                    words.clone_into(&mut choice.words);
                }
            }
        }
    }

    /// What stands beside a mark where words are offered: in the vocabulary's own language the longest of its names.
    pub(super) fn spelt_out<'a>(&self, term: &'a Term) -> &'a str {
        let first = term.also.first().filter(|_| self.translated);
        first
            .map(String::as_str)
            .or_else(|| term.names().max_by_key(|name| name.len()))
            .unwrap_or(&term.mark)
    }

    /// The words, in the order of the file.
    #[must_use]
    pub fn terms(&self) -> &[Term] {
        &self.terms
    }

    /// The words that mean two things.
    #[must_use]
    pub fn ambiguous(&self) -> &[Ambiguous] {
        &self.ambiguous
    }

    /// Visible area from which a structure counts as shown, mm2.
    #[must_use]
    pub fn least_area_mm2(&self) -> f64 {
        self.least_area_mm2
    }

    /// Visible extent from which a structure counts as shown however thin it is, mm.
    #[must_use]
    pub fn least_length_mm(&self) -> f64 {
        self.least_length_mm
    }

    /// The term called `name` (capitals), by mark or synonym.
    #[must_use]
    pub fn term(&self, name: &str) -> Option<&Term> {
        self.terms
            .iter()
            .find(|term| term.names().any(|n| n == name))
    }

    /// The ambiguous word `name` (capitals).
    #[must_use]
    pub fn ambiguous_word(&self, name: &str) -> Option<&Ambiguous> {
        self.ambiguous.iter().find(|entry| entry.word == name)
    }

    /// The number of words of the longest name.
    #[must_use]
    pub fn longest_name(&self) -> usize {
        self.terms
            .iter()
            .flat_map(Term::names)
            .map(|name| name.split(' ').count())
            .max()
            .unwrap_or(1)
    }
}

fn well_written(name: &str) -> bool {
    !name.is_empty()
        && name.split(' ').all(|word| {
            !word.is_empty()
                && word
                    .chars()
                    .all(|c| c.is_alphanumeric() && c.to_uppercase().eq([c]))
        })
}
