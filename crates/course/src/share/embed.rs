//! What stands behind the `#` of the page for frames.
//!
//! The first part says what is shown, the others how:
//!
//! | part | meaning | when absent |
//! | --- | --- | --- |
//! | `v1.body=…&at=…` | one view, as [`crate::link`] has it | |
//! | `s1.…` | a set, as [`super::set_link`] has it | |
//! | `src=sets/week1.json` | the set in a file beside the page, by its relative address | the usual view |
//! | `question=q3` | of the set only this question | all |
//! | `lang=de` | language of the page | the reader's |
//! | `theme=dark` | `light`, `dark` or `auto` | `auto` |
//! | `host=https://course.example` | the only origin whose messages are listened to | any page that shows the frame |
//! | `nonce=…` | a word that the page around has to say before it is listened to, 8 to 64 letters, digits, `-`, `_` | none |
//! | `height=auto` | as high as its content, which is told to the page around | `fixed`: fills its frame |
//! | `show=body` | which views: `both`, `body` or `picture` | `both` |
//! | `open=look` | what the learner may change of a view: `none`, `look`, `notch` or `all` | `notch` |
//! | `text=hidden` | whether the view in words can be unfolded or is for screen readers alone | `folded` |
//! | `grey=100` | share of the grey-scale picture, percent | 0 |
//!
//! Parts that this version does not know are passed over.

use crate::json::Unknown;
use crate::link::{self, LinkError, LinkState};
use crate::set::Set;

use super::{LONGEST, SetLinkError, VERSION, read_set_link};

/// What is shown.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Shown {
    /// The usual view.
    #[default]
    Usual,
    /// One view.
    View(Box<LinkState>),
    /// A set.
    Set(Box<Set>),
    /// The set in the file with this relative address.
    File(String),
}

/// Colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theme {
    /// As the reader's device has them.
    #[default]
    Auto,
    /// Light.
    Light,
    /// Dark.
    Dark,
}

impl Theme {
    /// Words of the fragment.
    pub const WORDS: [(&'static str, Self); 3] = [
        ("auto", Self::Auto),
        ("light", Self::Light),
        ("dark", Self::Dark),
    ];
}

/// Whether the page tells its height.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Height {
    /// It does not.
    #[default]
    Fixed,
    /// It does.
    Auto,
}

impl Height {
    /// Words of the fragment.
    pub const WORDS: [(&'static str, Self); 2] = [("fixed", Self::Fixed), ("auto", Self::Auto)];
}

/// Which of the two views stand in the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Views {
    /// The body with the probe, and the picture.
    #[default]
    Both,
    /// The body with the probe.
    Body,
    /// The picture.
    Picture,
}

impl Views {
    /// Words of the fragment.
    pub const WORDS: [(&'static str, Self); 3] = [
        ("both", Self::Both),
        ("body", Self::Body),
        ("picture", Self::Picture),
    ];
}

/// What the learner may change of a view, from least to most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Open {
    /// Nothing: a still.
    Nothing,
    /// Where the viewer is, and which structure is pointed out.
    Look,
    /// Also the rotation of the probe.
    #[default]
    Notch,
    /// Everything.
    All,
}

impl Open {
    /// Words of the fragment.
    pub const WORDS: [(&'static str, Self); 4] = [
        ("none", Self::Nothing),
        ("look", Self::Look),
        ("notch", Self::Notch),
        ("all", Self::All),
    ];
}

/// The view in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Text {
    /// Can be unfolded.
    #[default]
    Folded,
    /// Is there for screen readers alone.
    Hidden,
}

impl Text {
    /// Words of the fragment.
    pub const WORDS: [(&'static str, Self); 2] =
        [("folded", Self::Folded), ("hidden", Self::Hidden)];
}

/// The whole fragment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Embed {
    /// What is shown.
    pub shown: Shown,
    /// Of the set only this question.
    pub question: Option<String>,
    /// Language of the page, BCP 47.
    pub language: Option<String>,
    /// Colours.
    pub theme: Theme,
    /// The only origin whose messages are listened to.
    pub host: Option<String>,
    /// A word that the page around has to say before it is listened to.
    pub nonce: Option<String>,
    /// Whether the page tells its height.
    pub height: Height,
    /// Which views.
    pub views: Views,
    /// What the learner may change.
    pub open: Open,
    /// The view in words.
    pub text: Text,
    /// Share of the grey-scale picture, 0 to 100 percent. Where a view is shown whose link says its own share, that one
    /// counts, in whole percent.
    pub grey_percent: u8,
    /// Fields of the set that this version does not know.
    pub unknown: Vec<Unknown>,
}

/// Why a fragment cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EmbedError {
    /// It is longer than any of ours.
    #[error("the address is longer than {LONGEST} characters")]
    TooLong,
    /// The view cannot be read.
    #[error(transparent)]
    View(#[from] LinkError),
    /// The set cannot be read.
    #[error(transparent)]
    Set(#[from] SetLinkError),
    /// A part has a value that means nothing.
    #[error("\"{value}\" cannot be used for \"{key}\": {expected}")]
    Value {
        /// The part.
        key: &'static str,
        /// Its value, shortened.
        value: String,
        /// What would do.
        expected: &'static str,
    },
    /// A part stands twice.
    #[error("the address says \"{0}\" twice")]
    Twice(&'static str),
}

/// The parts beside the first, and what would do for each.
const PARTS: [(&str, &str); 11] = [
    ("src", "a relative address such as sets/week1.json"),
    ("question", "the name of a question"),
    ("lang", "a language such as en"),
    ("theme", "auto, light or dark"),
    ("host", "an origin such as https://course.example"),
    ("height", "fixed or auto"),
    ("nonce", "8 to 64 letters, digits, - or _"),
    ("show", "both, body or picture"),
    ("open", "none, look, notch or all"),
    ("text", "folded or hidden"),
    ("grey", "a whole number of percent from 0 to 100"),
];

impl Embed {
    /// Reads a fragment, with or without its `#`. Total: any text gives a value or an error.
    ///
    /// # Errors
    ///
    /// [`EmbedError`] says what is wrong.
    pub fn read(text: &str) -> Result<Self, EmbedError> {
        if text.len() > LONGEST {
            return Err(EmbedError::TooLong);
        }
        let text = text.trim();
        let text = text.strip_prefix('#').unwrap_or(text);
        let mut embed = Self::default();
        // Mail programs write `v1%2Ebody%3D…` into addresses; the reader of links undoes that.
        if text.starts_with(link::VERSION) {
            embed.shown = Shown::View(Box::new(link::read(text)?));
        } else if text.starts_with(VERSION) {
            let first = text.split('&').next().unwrap_or_default();
            let reading = read_set_link(first)?;
            embed.shown = Shown::Set(Box::new(reading.set));
            embed.unknown = reading.unknown;
        }
        let mut found: [Option<String>; PARTS.len()] = Default::default();
        for part in text.split('&') {
            let Some((key, value)) = part.split_once('=') else {
                continue;
            };
            let place = PARTS.iter().position(|(name, _)| *name == key);
            if let Some(place) = place
                && found[place].replace(link::percent_decoded(value)).is_some()
            {
                return Err(EmbedError::Twice(PARTS[place].0));
            }
        }
        let [
            src,
            question,
            lang,
            theme,
            host,
            height,
            nonce,
            views,
            open,
            text,
            grey,
        ] = found;
        if let Some(src) = checked(0, src, relative)?
            && embed.shown == Shown::Usual
        {
            embed.shown = Shown::File(src);
        }
        embed.question = checked(1, question, |text| {
            text.len() <= 64 && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_')
        })?;
        embed.language = checked(2, lang, |text| {
            text.len() <= 35 && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
        })?;
        if let Some(theme) = theme {
            embed.theme = word(3, &theme, &Theme::WORDS)?;
        }
        embed.host = checked(4, host, origin)?;
        if let Some(height) = height {
            embed.height = word(5, &height, &Height::WORDS)?;
        }
        embed.nonce = checked(6, nonce, |text| {
            let plain = |b: u8| b.is_ascii_alphanumeric() || b"-_".contains(&b);
            (8..=64).contains(&text.len()) && text.bytes().all(plain)
        })?;
        if let Some(views) = views {
            embed.views = word(7, &views, &Views::WORDS)?;
        }
        if let Some(open) = open {
            embed.open = word(8, &open, &Open::WORDS)?;
        }
        if let Some(text) = text {
            embed.text = word(9, &text, &Text::WORDS)?;
        }
        if let Shown::View(view) = &embed.shown {
            embed.grey_percent = nearest_percent(view.picture.grey_percent.unwrap_or(0.0));
        } else if let Some(grey) = grey {
            embed.grey_percent = percent(&grey).ok_or_else(|| wrong(10, &grey))?;
        }
        Ok(embed)
    }

    /// The fragment, without its `#`.
    #[must_use]
    pub fn write(&self) -> String {
        let mut parts: Vec<String> = Vec::new();
        match &self.shown {
            Shown::Usual => {}
            Shown::View(state) => parts.push(link::write(state)),
            Shown::Set(set) => parts.push(super::set_link(set).text),
            Shown::File(address) => parts.push(format!("src={}", escaped(address))),
        }
        let mut part = |key: &str, value: Option<&str>| {
            if let Some(value) = value {
                parts.push(format!("{key}={}", escaped(value)));
            }
        };
        part("question", self.question.as_deref());
        part("lang", self.language.as_deref());
        let theme = Theme::WORDS.iter().find(|(_, theme)| *theme == self.theme);
        part(
            "theme",
            theme.map(|(word, _)| *word).filter(|word| *word != "auto"),
        );
        part("host", self.host.as_deref());
        part("nonce", self.nonce.as_deref());
        part("height", unusual(self.height, &Height::WORDS));
        part("show", unusual(self.views, &Views::WORDS));
        part("open", unusual(self.open, &Open::WORDS));
        part("text", unusual(self.text, &Text::WORDS));
        let grey = self.grey_percent.min(100);
        // A link to a view has a share of its own, and no key may stand twice.
        let said = matches!(&self.shown, Shown::View(view) if view.picture.grey_percent.is_some());
        let grey = (grey > 0 && !said).then(|| grey.to_string());
        part("grey", grey.as_deref());
        parts.join("&")
    }
}

/// The view of a fragment, as [`link::read`] takes it; empty where it shows something else.
#[must_use]
pub fn view_of(fragment: &str) -> &str {
    let text = fragment.trim().trim_start_matches('#');
    if text.starts_with(link::VERSION) {
        text
    } else {
        ""
    }
}

/// The word of a value that is not the usual one.
fn unusual<T: Copy + Default + PartialEq>(
    value: T,
    table: &[(&'static str, T)],
) -> Option<&'static str> {
    let word = table.iter().find(|(_, meaning)| *meaning == value);
    word.map(|(word, _)| *word)
        .filter(|_| value != T::default())
}

fn percent(text: &str) -> Option<u8> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let number = text.parse::<u8>().ok()?;
    (digits && number <= 100).then_some(number)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between 0 and 100"
)]
fn nearest_percent(share: f64) -> u8 {
    share.clamp(0.0, 100.0).round() as u8
}

fn wrong(place: usize, value: &str) -> EmbedError {
    let (key, expected) = PARTS[place];
    EmbedError::Value {
        key,
        value: crate::quote::shortened(value, 60),
        expected,
    }
}

fn checked(
    place: usize,
    value: Option<String>,
    fits: impl Fn(&str) -> bool,
) -> Result<Option<String>, EmbedError> {
    match value {
        Some(value) if value.is_empty() || !fits(&value) => Err(wrong(place, &value)),
        other => Ok(other),
    }
}

fn word<T: Copy>(place: usize, value: &str, table: &[(&str, T)]) -> Result<T, EmbedError> {
    let found = table.iter().find(|(word, _)| *word == value);
    found
        .map(|(_, meaning)| *meaning)
        .ok_or_else(|| wrong(place, value))
}

/// An address below the page's own folder: no scheme, no other host, no way up.
fn relative(text: &str) -> bool {
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"._-~/".contains(&b);
    text.len() <= 300
        && text.bytes().all(plain)
        && text
            .split('/')
            .all(|part| !part.is_empty() && part != "." && part != "..")
}

/// Scheme, host and port, and nothing else.
fn origin(text: &str) -> bool {
    let rest = text
        .strip_prefix("https://")
        .or_else(|| text.strip_prefix("http://"));
    rest.is_some_and(|rest| {
        let (host, port) = rest.split_once(':').unwrap_or((rest, "443"));
        let plain = |b: u8| b.is_ascii_alphanumeric() || b".-".contains(&b);
        !host.is_empty()
            && host.len() <= 253
            && host.bytes().all(plain)
            && !port.is_empty()
            && port.len() <= 5
            && port.bytes().all(|b| b.is_ascii_digit())
    })
}

/// A value as it may stand between `&`s: everything but letters, digits and `-._~/:,` in percent form.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/:,".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}
