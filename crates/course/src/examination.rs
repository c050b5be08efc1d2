//! Acquired pictures and unfinished work as text, so that a reload brings them back. Version 1.
//!
//! Pictures are computed, so what is kept of one is where the probe was, how the picture was shown, what was written on it
//! and when; it is drawn again from that. One line a picture, each with its own check sum:
//!
//! ```text
//! planeward examination 1
//! seed=4f1c…            16 hexadecimal digits, drawn once for an examination
//! next=4                number of the next picture
//! request=aorta         the requested list, if any
//! line=TRV AO           what stands in the annotation line
//! held=v1.body=…        the frozen view, if it is frozen
//! finished=1            no work is unfinished
//! picture=1a2b3c4d|3|1795596301999|60|v1.body=…|SAG AO PROX
//! ```
//!
//! A picture line holds: check sum (CRC-32 of the rest), number, moment (ms since 1970, UTC), local time minus UTC in
//! minutes, the view with its picture settings as a link, the annotation. Unknown keys are passed over, so
//! that a later version may add some. A line that cannot be read is left out and counted, and the others are kept.

use crate::archive::crc32;
use crate::link::{self, LinkState};
use crate::moment::Moment;

const HEAD: &str = "planeward examination 1";

/// Most pictures that are read or written; a list without end would fill the storage of the browser.
pub const MOST_PICTURES: usize = 200;

/// Longest annotation, characters.
pub const LONGEST_LINE: usize = 200;

/// One acquired picture.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptPicture {
    /// Its number in the examination, from 1.
    pub number: u32,
    /// When it was acquired.
    pub at: Moment,
    /// Body, pose, setup and picture settings.
    pub view: LinkState,
    /// What stands on it.
    pub annotation: String,
}

/// Everything that is kept.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Kept {
    /// Tells this examination from every other.
    pub seed: u64,
    /// Number of the next picture.
    pub next: u32,
    /// Key of the requested list.
    pub request: Option<String>,
    /// What stands in the annotation line.
    pub line: String,
    /// The view that is frozen, as a link.
    pub held: Option<String>,
    /// Whether the examination is finished.
    pub finished: bool,
    /// The pictures, in their order.
    pub pictures: Vec<KeptPicture>,
}

/// What was read, and how many lines could not be.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadBack {
    /// What could be read.
    pub kept: Kept,
    /// How many lines were left out.
    pub damaged: usize,
}

/// Not a text of this version.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the kept pictures do not start with \"{HEAD}\", so they are not of this version")]
pub struct NotThisVersion;

/// An annotation as it can be kept: one line without control characters, at most [`LONGEST_LINE`] characters.
#[must_use]
pub fn plain_line(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .take(LONGEST_LINE)
        .collect()
}

/// The text of an examination.
#[must_use]
pub fn write(kept: &Kept) -> String {
    let mut text = format!("{HEAD}\nseed={:016x}\nnext={}\n", kept.seed, kept.next);
    let mut line = |key: &str, value: &str| {
        text.push_str(key);
        text.push('=');
        text.push_str(value);
        text.push('\n');
    };
    if let Some(request) = &kept.request {
        line("request", request);
    }
    if !kept.line.is_empty() {
        line("line", &plain_line(&kept.line));
    }
    if let Some(held) = &kept.held {
        line("held", held);
    }
    if kept.finished {
        line("finished", "1");
    }
    for picture in kept.pictures.iter().take(MOST_PICTURES) {
        let content = format!(
            "{}|{}|{}|{}|{}",
            picture.number,
            picture.at.unix_ms,
            picture.at.offset_min,
            link::write(&picture.view),
            plain_line(&picture.annotation),
        );
        line(
            "picture",
            &format!("{:08x}|{content}", crc32(content.as_bytes())),
        );
    }
    text
}

/// Reads the text of an examination. Total: any text gives what can be read of it.
///
/// # Errors
///
/// [`NotThisVersion`] when the first line is another one.
pub fn read(text: &str) -> Result<ReadBack, NotThisVersion> {
    let mut lines = text.lines();
    if lines.next() != Some(HEAD) {
        return Err(NotThisVersion);
    }
    let mut kept = Kept::default();
    let mut damaged = 0;
    for line in lines {
        let Some((key, value)) = line.split_once('=') else {
            damaged += usize::from(!line.is_empty());
            continue;
        };
        match key {
            "seed" => match u64::from_str_radix(value, 16) {
                Ok(seed) => kept.seed = seed,
                Err(_) => damaged += 1,
            },
            "next" => match value.parse() {
                Ok(next) => kept.next = next,
                Err(_) => damaged += 1,
            },
            "request" => kept.request = Some(value.to_owned()),
            "line" => kept.line = plain_line(value),
            "held" => kept.held = Some(value.to_owned()),
            "finished" => kept.finished = value == "1",
            "picture" => match picture(value) {
                Some(picture) if kept.pictures.len() < MOST_PICTURES => {
                    kept.pictures.push(picture);
                }
                _ => damaged += 1,
            },
            _ => {}
        }
    }
    // Numbers name pictures, also in files: they are never given twice.
    let last = kept.pictures.iter().map(|picture| picture.number).max();
    kept.next = kept.next.max(last.unwrap_or(0).saturating_add(1));
    Ok(ReadBack { kept, damaged })
}

fn picture(value: &str) -> Option<KeptPicture> {
    let (sum, content) = value.split_once('|')?;
    if u32::from_str_radix(sum, 16).ok()? != crc32(content.as_bytes()) {
        return None;
    }
    let mut parts = content.splitn(5, '|');
    let mut next = || parts.next();
    let number = next()?.parse().ok()?;
    let unix_ms = next()?.parse().ok()?;
    let offset_min = next()?.parse().ok()?;
    let view = link::read(next()?).ok()?;
    Some(KeptPicture {
        number,
        at: Moment {
            unix_ms,
            offset_min,
        },
        view,
        annotation: plain_line(next()?),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sample() -> Kept {
        let picture = |number| KeptPicture {
            number,
            at: Moment {
                unix_ms: 1_795_596_301_999,
                offset_min: -60,
            },
            view: LinkState {
                body: Some("adult_female".to_owned()),
                ..LinkState::default()
            },
            annotation: "SAG AO | PROX = ok".to_owned(),
        };
        Kept {
            seed: 0xFEDC_0000_0000_0001,
            next: 9,
            request: Some("aorta".to_owned()),
            line: "TRV ".to_owned(),
            held: Some("v1.body=adult_female".to_owned()),
            finished: false,
            pictures: vec![picture(2), picture(7)],
        }
    }

    #[test]
    fn what_is_written_is_read_back() {
        for kept in [
            sample(),
            Kept {
                next: 1,
                finished: true,
                ..Kept::default()
            },
        ] {
            let back = read(&write(&kept));
            assert_eq!(back, Ok(ReadBack { kept, damaged: 0 }));
        }
    }

    #[test]
    fn a_damaged_picture_is_left_out_and_the_others_stay() {
        let text = write(&sample()).replacen("|2|1795", "|3|1795", 1);
        let back = read(&text).expect("this version");
        assert_eq!(back.damaged, 1);
        assert_eq!(back.kept.pictures, sample().pictures[1..]);
        let cut = &text[..text.len() - 10];
        assert_eq!(
            read(cut).expect("this version").damaged,
            2,
            "both are damaged"
        );
    }

    #[test]
    fn another_version_is_refused_and_unknown_keys_are_passed_over() {
        assert_eq!(read("planeward examination 2\n"), Err(NotThisVersion));
        assert_eq!(read(""), Err(NotThisVersion));
        let newer = write(&sample()) + "colour=blue\n";
        assert_eq!(read(&newer).expect("this version").kept, sample());
    }

    #[test]
    fn numbers_are_never_given_twice() {
        let text = write(&Kept {
            next: 0,
            ..sample()
        });
        assert_eq!(read(&text).expect("this version").kept.next, 8);
    }

    proptest! {
        #[test]
        fn any_text_is_read_and_what_is_read_is_stable(tail in "(\\PC|\n|=|\\|){0,200}") {
            let back = read(&format!("{HEAD}\n{tail}")).expect("this version");
            prop_assert_eq!(read(&write(&back.kept)).expect("this version").damaged, 0);
        }
    }
}
