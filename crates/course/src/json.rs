//! JSON (RFC 8259) as this crate writes and reads it: a writer for [`anatomy::json`]'s tree, and a reader that collects
//! every fault with its path.
//!
//! Not `serde_json`, since the page links this crate and code derived for every struct costs it more than a tree does.

mod walk;
mod write;

pub(crate) use walk::{END, quoted, word};
pub use walk::{Fault, Faults, Object, Unknown, read_object};
pub use write::{Fields, compact, pretty};
