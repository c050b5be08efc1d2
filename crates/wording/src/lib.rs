//! Tables of words: declared once with their English text, filled from a file for any other language.
//!
//! A table is declared with [`wording!`]: each field's name and its English words stand together, in one place. The
//! fields are plain `&'static str`, so reading a word costs nothing and needs no key.
//!
//! Another language is a text file of lines `key = words` under headings `[table]`, read by [`Dictionary`]. The file
//! fills the tables by hashes of the keys: the program holds no key names. What the file leaves out stays English;
//! [`compare()`] tells a test which keys are missing, unknown or have lost a place for a value.

mod compare;
mod dictionary;
mod key;
mod plural;
mod table;

pub use compare::{Fault, compare};
pub use dictionary::{Dictionary, Line, lines};
pub use key::{Key, hash};
pub use plural::{Plural, form};
pub use table::{Entry, Words, entries, fill};
