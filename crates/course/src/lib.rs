//! Outside formats, each versioned: what leaves the program or comes into it as text or as a file.
//!
//! - [`link`]: a view as the fragment of an address, `#v1.body=…`;
//! - [`package`]: a set as a package for a course system;
//! - [`qti`]: questions for other quiz programs;
//! - [`results`]: what learners did, and what many of them did;
//! - [`round`]: from a set to questions on a body;
//! - [`set`]: exercise sets;
//! - [`share`]: a set as a link, a set or a view in a page;
//! - [`vocabulary`]: the words that may stand on a picture;
//! - [`examination`]: acquired pictures and unfinished work, as they are kept between visits;
//! - [`dicom`]: an acquired picture as a DICOM file;
//! - [`listing`]: the list of a set of saved pictures;
//! - [`record`]: what a learner has done, as text;
//! - [`archive`]: several files as one;
//! - [`json`]: how the above are written, and read with the place of every fault;
//! - [`moment`]: date and time as those formats write them.

pub mod archive;
pub mod dicom;
pub mod examination;
pub mod json;
pub mod link;
pub mod listing;
pub mod moment;
pub mod package;
pub mod qti;
mod quote;
pub mod record;
pub mod results;
pub mod round;
pub mod set;
pub mod share;
pub mod vocabulary;
