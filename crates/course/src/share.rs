//! Giving a set or a view away: as a link, as a frame in somebody's page.
//!
//! Everything travels behind the `#` of an address, which browsers never send to a server.
//!
//! - [`set_link()`] and [`read_set_link`]: a whole set as text, `s1.` and base64url (RFC 4648) of the set's shortest JSON,
//!   compressed (raw DEFLATE, RFC 1951, with the dictionary in `dictionary.txt`) and followed by its CRC-32, so that a
//!   link that a mail program cut off is told from a damaged set. No other program is needed to read one: Python's
//!   `zlib.decompressobj(-15, zdict=dictionary)` does, and the tests of this project hold it to that.
//! - [`Embed`]: what stands behind the `#` of the page for frames, `embed.html#set=s1.…&lang=en&theme=dark`.
//! - [`frame_snippet`] and [`element_snippet`]: the lines that go into a course page.

mod base64;
mod deflate;
mod embed;
mod inflate;
mod snippet;

pub use embed::{Embed, EmbedError, Height, Open, Shown, Text, Theme, Views, view_of};
pub(crate) use snippet::escaped;
pub use snippet::{Frame, element_snippet, frame_snippet};

use crate::archive::crc32;
use crate::json::Fault;
use crate::set::{self, Reading, Set};

/// Version mark of a set in a link.
pub const VERSION: &str = "s1.";

/// From this length on, characters, a link is better replaced by a file: some course systems and mail programs cut
/// addresses of about 2,000 characters (common practice, no source), and the address of the page comes on top.
pub const COMFORTABLE: usize = 1500;

/// Longest text that is looked at, characters.
pub const LONGEST: usize = 40_000;

/// Largest set that a link may unfold to, bytes.
const LARGEST: usize = 256 * 1024;

/// What both sides of the compression know beforehand. It belongs to the version: another text needs another version.
const DICTIONARY: &[u8] = include_bytes!("share/dictionary.txt");

/// A set as text for a link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetLink {
    /// The text, to be put behind a `#`, or behind `#set=` of the page for frames.
    pub text: String,
    /// Whether a file is the better way: the text is longer than [`COMFORTABLE`].
    pub prefer_file: bool,
}

/// Why a text is no link to a set.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SetLinkError {
    /// It does not start with the version mark.
    #[error("the link does not start with \"{VERSION}\", so it is no exercise set of this version")]
    Version,
    /// It is longer than any link of ours.
    #[error("the link is longer than {LONGEST} characters")]
    TooLong,
    /// It has characters that no link of ours has.
    #[error("the link has a character that does not belong there: {0:?}")]
    Character(char),
    /// The check sum does not fit.
    #[error("the link is damaged: part of it was lost or changed while it was copied")]
    Damaged,
    /// It unfolds to more than a set may hold.
    #[error("the link unfolds to more than an exercise set may hold")]
    TooLarge,
    /// What it holds is no set.
    #[error("the link holds no exercise set: {0}")]
    NoSet(Fault),
}

/// The set as text for a link.
#[must_use]
pub fn set_link(set: &Set) -> SetLink {
    let json = set::short(set);
    let mut bytes = deflate::deflate(json.as_bytes(), DICTIONARY);
    bytes.extend(crc32(json.as_bytes()).to_le_bytes());
    let text = format!("{VERSION}{}", base64::encode(&bytes));
    let prefer_file = text.len() > COMFORTABLE;
    SetLink { text, prefer_file }
}

/// Reads the text of a link, with or without its `#`. Total: any text gives a set or a sentence.
///
/// # Errors
///
/// [`SetLinkError`] says what is wrong.
pub fn read_set_link(text: &str) -> Result<Reading, SetLinkError> {
    if text.len() > LONGEST {
        return Err(SetLinkError::TooLong);
    }
    let text = text.trim();
    let text = text.strip_prefix('#').unwrap_or(text);
    let code = text.strip_prefix(VERSION).ok_or(SetLinkError::Version)?;
    let bytes = base64::decode(code).map_err(SetLinkError::Character)?;
    let (packed, sum) = bytes.split_last_chunk::<4>().ok_or(SetLinkError::Damaged)?;
    let json = inflate::inflate(packed, DICTIONARY, LARGEST).map_err(|error| match error {
        inflate::InflateError::TooLarge => SetLinkError::TooLarge,
        inflate::InflateError::Damaged => SetLinkError::Damaged,
    })?;
    if crc32(&json) != u32::from_le_bytes(*sum) {
        return Err(SetLinkError::Damaged);
    }
    set::read(&json).map_err(|faults| {
        let first = faults.into_iter().next();
        SetLinkError::NoSet(first.unwrap_or_else(|| Fault {
            path: "the whole set".to_owned(),
            found: "a fault".to_owned(),
            expected: "none".to_owned(),
        }))
    })
}
