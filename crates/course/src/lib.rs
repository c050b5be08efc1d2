//! Outside formats, each versioned: what leaves the program or comes into it as text or as a file.
//!
//! - [`link`]: a view as the fragment of an address, `#v1.body=…`.
//! - [`vocabulary`]: the words that may stand on a picture.

pub mod link;
pub mod vocabulary;
