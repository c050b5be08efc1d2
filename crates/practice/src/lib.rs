//! What learners are asked and how their answers are marked. Pure: no clock, no file, no hidden randomness; times and
//! seeds are arguments, and equal ones give equal questions on every machine.
//!
//! # Questions
//!
//! | kind ([`Kind::key`]) | shown | answered by | a set fixes |
//! | --- | --- | --- | --- |
//! | `plane_from_probe` | body | one choice: plane | the view |
//! | `plane_from_picture` | picture, letters, mark | one choice: plane | the view |
//! | `side` | body, bare picture | one choice: direction | the view and the side of the image |
//! | `notch_from_picture` | picture, letters, mark | one choice: direction | the view |
//! | `place_probe` | wanted view in words and as a picture | a placement | the wanted view, the start, the structure |
//! | `next_move` | two pictures | one choice: movement and way | the view before, the view after |
//! | `annotate` | frozen picture, body, one structure lit | a line of text | the view and the structure |
//! | `find_the_fault` | body and picture that disagree | two choices: fault, repair | the view and the fault |
//! | `transducer_from_picture` | bare picture | one choice: shape | the view |
//! | `axis` | picture, one structure lit | two choices: axis, plane | the view and the structure |
//!
//! A **fixed** question is a [`View`] (body, window, pose, layout, depth, transducer, position, eye, tolerance) and what
//! the last column adds ([`compose::Wanted`]): [`compose::compose`] makes a [`Question`] of it, or says why it would be
//! ambiguous ([`compose::Unfit`]). A **drawn** question is a seed, a kind and a [`Level`], narrowed where wanted to a
//! plane, a side of approach and a layout ([`generate::Draw`]): [`generate::draw`] makes it, or says that there is none
//! ("a coronal plane cannot be had from the front"). Both need the [`Body`](anatomy::Body), and `annotate` the
//! [`Vocabulary`](annotation::Vocabulary): [`compose::Context`].
//!
//! An [`Answer`] is held against its question by [`mark::mark`], which gives marks part by part, 0 to 1 in all, and by
//! [`misconception::named`], which says whose geometry the wrong answer follows. Choices have stable names for files
//! ([`Choice::key`], [`Choice::from_key`]). What to say is data ([`explain::explain`]); the words are the
//! application's.
//!
//! # Modules
//!
//! - [`skill`], [`question`]: what there is to ask;
//! - [`compose`], [`generate`]: questions from a view, and from a seed;
//! - [`mark`], [`misconception`], [`explain`]: what comes out;
//! - [`schedule`], [`record`]: what is due, and what has been done;
//! - [`acquisition`]: requested sets of pictures, and which of them a picture covers;
//! - [`annotation`]: the words on a picture, read against a vocabulary and checked against what the picture shows;
//! - [`random`]: the generator that draws.

pub mod acquisition;
pub mod annotation;
pub mod compose;
pub mod explain;
pub mod generate;
pub mod mark;
pub mod misconception;
pub mod question;
pub mod random;
pub mod record;
pub mod schedule;
pub mod skill;

pub use question::{
    Answer, Asked, Choice, Disagreement, Display, Eye, Fault, Move, Part, PlaneWord, Question,
    Subject, Task, View,
};
pub use skill::{Kind, Layout, Level, PlaneClass, Skill};
