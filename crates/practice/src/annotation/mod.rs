//! The words on a picture: `[side] plane structure [segment] [manoeuvre]`, in any order, case ignored.
//!
//! A [`Vocabulary`] says what words there are and what each claims. [`read()`] splits a line into [`Token`]s; [`check()`]
//! holds every token against a [`Shot`], the facts of one picture, and says which are right, which are wrong and why,
//! and what is missing. [`complete()`] offers words while somebody types.
//!
//! The grammar and the synonyms are common practice, no source; departments differ, so an exercise may bring its own
//! vocabulary.

mod check;
mod complete;
mod read;
mod vocabulary;

pub use check::{Checked, Finding, Part, Report, Shot, Why, check};
pub use complete::{Completion, complete};
pub use read::{Token, TokenKind, read};
pub use vocabulary::{
    Ambiguous, Choice, Meaning, PlaneWord, SideWord, Term, Vocabulary, VocabularyError,
};
