//! What a learner did, as a file; and many such files as one report for the teacher.
//!
//! - [`ResultFile`]: one round of one learner, version 1, JSON with a check sum; `schemas/result-1.json` describes it.
//!   It holds nothing personal unless the set asked for a label. [`csv`] gives one row an item for spreadsheets.
//! - [`merge()`]: many files to item statistics, option tables, a confusion matrix of planes and the directions of errors
//!   in placing the probe.
//! - [`statistics`]: the figures by themselves.
//!
//! The check sum finds accidents, not cheating: whoever wants to can write a file. Such files are evidence of practice,
//! and no supervised grade.

pub mod csv;
mod file;
mod merge;
mod planes;
pub mod resume;
pub mod statistics;

pub use file::{
    Broken, FORMAT, Item, LARGEST, MOST_ITEMS, Outcome, PoseError, ResultFile, VERSION, read, write,
};
pub use merge::{
    FEW, Group, ItemReport, Left, Merged, OptionRow, PoseReport, Reason, Spread, merge, report_csv,
};
pub use planes::Confusion;
