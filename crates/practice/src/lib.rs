//! What learners are asked and how their answers are marked. Pure: no clock, no file, no hidden randomness.
//!
//! - [`annotation`]: the words on a picture, read against a vocabulary and checked against what the picture shows.

pub mod annotation;
