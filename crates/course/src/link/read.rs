//! From a text to a view. Total: any text gives a view or a sentence that says what is wrong.

use super::{LONGEST, LinkError, LinkPicture, LinkPose, LinkState, Seat, VERSION, number, write};
use geometry::{ApexSide, BodyPosition, MarkSide};

/// Farthest coordinate of a contact point, mm: twice the height of a tall person.
const FARTHEST_MM: f64 = 4000.0;

/// Greatest tilt or rock a link may hold, degrees.
const STEEPEST_DEG: f64 = 90.0;

/// How much of an offending value is quoted back.
const QUOTED: usize = 40;

const KNOWN: [&str; 22] = [
    "body", "window", "at", "out", "turn", "tilt", "rock", "press", "probe", "depth", "mark",
    "apex", "tol", "lie", "seat", "grey", "gain", "range", "freq", "focus", "comp", "tgc",
];

/// Reads a fragment, with or without its `#`.
///
/// # Errors
///
/// [`LinkError`] names the part that cannot be used. Unknown keys are no error.
pub fn read(text: &str) -> Result<LinkState, LinkError> {
    if text.chars().count() > LONGEST {
        return Err(LinkError::TooLong);
    }
    let text = percent_decoded(text.trim());
    let text = text.strip_prefix('#').unwrap_or(&text);
    let list = text.strip_prefix(VERSION).ok_or(LinkError::Version)?;
    let values = Values::split(list)?;

    let mut state = LinkState {
        body: values.identifier("body")?,
        window: values.identifier("window")?,
        pose: pose(&values)?,
        transducer: values.identifier("probe")?,
        depth_mm: values.number("depth", 10.0, 400.0, "mm")?,
        picture: picture(&values)?,
        ..LinkState::default()
    };
    if let Some(tolerance) = values.number("tol", 5.0, 40.0, "degrees")? {
        state.tolerance_deg = tolerance;
    }
    let marks = [MarkSide::Left, MarkSide::Right].map(|m| (m.word(), m));
    if let Some(mark) = values.word("mark", &marks, "left, right")? {
        state.mark = mark;
    }
    let ends = [ApexSide::Top, ApexSide::Bottom].map(|a| (a.word(), a));
    if let Some(apex) = values.word("apex", &ends, "top, bottom")? {
        state.apex = apex;
    }
    let positions = BodyPosition::ALL.map(|p| (p.key(), p));
    let words = "supine, prone, left_side_down, right_side_down, seated, lithotomy";
    if let Some(position) = values.word("lie", &positions, words)? {
        state.position = position;
    }
    let seats = [Seat::Right, Seat::Left].map(|s| (write::seat_word(s), s));
    if let Some(seat) = values.word("seat", &seats, "right, left")? {
        state.seat = seat;
    }
    Ok(state)
}

fn picture(values: &Values<'_>) -> Result<LinkPicture, LinkError> {
    Ok(LinkPicture {
        grey_percent: values.number("grey", 0.0, 100.0, "percent")?,
        gain_db: values.number("gain", -60.0, 60.0, "dB")?,
        range_db: values.number("range", 10.0, 200.0, "dB")?,
        frequency_mhz: values.number("freq", 0.5, 50.0, "MHz")?,
        focus_mm: values.number("focus", 1.0, 400.0, "mm")?,
        compensation_db: values.number("comp", 0.0, 5.0, "dB/(cm MHz)")?,
        time_gain_db: values.numbers("tgc", -60.0, 60.0, "dB")?,
    })
}

fn pose(values: &Values<'_>) -> Result<Option<LinkPose>, LinkError> {
    let contact = values.numbers::<3>("at", -FARTHEST_MM, FARTHEST_MM, "mm")?;
    let out = values.numbers::<2>("out", -180.0, 360.0, "degrees")?;
    let rotation_deg = values.number("turn", -360.0, 360.0, "degrees")?;
    let tilt_deg = values.number("tilt", -STEEPEST_DEG, STEEPEST_DEG, "degrees")?;
    let rock_deg = values.number("rock", -STEEPEST_DEG, STEEPEST_DEG, "degrees")?;
    let press_mm = values.number("press", 0.0, 100.0, "mm")?;
    let (contact_mm, out) = match (contact, out) {
        (Some(contact), Some(out)) => (contact, out),
        (None, None) => return Ok(None),
        (Some(_), None) => {
            return Err(LinkError::HalfPose {
                present: "at",
                missing: "out",
            });
        }
        (None, Some(_)) => {
            return Err(LinkError::HalfPose {
                present: "out",
                missing: "at",
            });
        }
    };
    if out[1].abs() > 90.0 {
        return Err(LinkError::Range {
            key: "out",
            value: out[1],
            low: -90.0,
            high: 90.0,
            unit: "degrees",
        });
    }
    let (azimuth, elevation) = write::tidy_normal(out[0], out[1]);
    let turn = number::thousandths(rotation_deg.unwrap_or(0.0)).unwrap_or(0);
    Ok(Some(LinkPose {
        contact_mm,
        out_azimuth_deg: number::from_thousandths(azimuth),
        out_elevation_deg: number::from_thousandths(elevation),
        rotation_deg: number::from_thousandths(turn.rem_euclid(360_000)),
        tilt_deg: tilt_deg.unwrap_or(0.0),
        rock_deg: rock_deg.unwrap_or(0.0),
        press_mm: press_mm.unwrap_or(0.0),
    }))
}

/// The known keys of one link with their values, in the order of [`KNOWN`].
struct Values<'a> {
    found: [Option<&'a str>; KNOWN.len()],
}

impl<'a> Values<'a> {
    fn split(list: &'a str) -> Result<Self, LinkError> {
        let mut found = [None; KNOWN.len()];
        for part in list.split('&').filter(|part| !part.is_empty()) {
            let (key, value) = part
                .split_once('=')
                .ok_or_else(|| LinkError::Shape { part: quoted(part) })?;
            let known = KNOWN.iter().zip(&mut found).find(|(name, _)| **name == key);
            if let Some((name, slot)) = known
                && slot.replace(value).is_some()
            {
                return Err(LinkError::Twice { key: name });
            }
        }
        Ok(Self { found })
    }

    fn get(&self, key: &'static str) -> Option<&'a str> {
        KNOWN
            .iter()
            .zip(&self.found)
            .find_map(|(name, value)| (*name == key).then_some(*value))
            .flatten()
    }

    fn identifier(&self, key: &'static str) -> Result<Option<String>, LinkError> {
        let Some(value) = self.get(key) else {
            return Ok(None);
        };
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "_-".contains(c);
        if value.is_empty() || value.len() > 64 || !value.chars().all(plain) {
            return Err(LinkError::Identifier {
                key,
                value: quoted(value),
            });
        }
        Ok(Some(value.to_owned()))
    }

    fn number(
        &self,
        key: &'static str,
        low: f64,
        high: f64,
        unit: &'static str,
    ) -> Result<Option<f64>, LinkError> {
        Ok(self.numbers::<1>(key, low, high, unit)?.map(|[only]| only))
    }

    /// Exactly `N` numbers between commas, each rounded to a thousandth.
    fn numbers<const N: usize>(
        &self,
        key: &'static str,
        low: f64,
        high: f64,
        unit: &'static str,
    ) -> Result<Option<[f64; N]>, LinkError> {
        let Some(value) = self.get(key) else {
            return Ok(None);
        };
        let found = value.split(',').count();
        if found != N {
            return Err(LinkError::Count {
                key,
                wanted: N,
                found,
            });
        }
        let mut numbers = [0.0; N];
        for (slot, word) in numbers.iter_mut().zip(value.split(',')) {
            let number = decimal(word).ok_or_else(|| LinkError::Number {
                key,
                value: quoted(word),
            })?;
            if !(low..=high).contains(&number) {
                return Err(LinkError::Range {
                    key,
                    value: number,
                    low,
                    high,
                    unit,
                });
            }
            *slot = number::from_thousandths(number::thousandths(number).unwrap_or(0));
        }
        Ok(Some(numbers))
    }

    fn word<T: Copy>(
        &self,
        key: &'static str,
        table: &[(&str, T)],
        words: &'static str,
    ) -> Result<Option<T>, LinkError> {
        let Some(value) = self.get(key) else {
            return Ok(None);
        };
        let found = table.iter().find(|(word, _)| *word == value);
        match found {
            Some((_, meaning)) => Ok(Some(*meaning)),
            None => Err(LinkError::Word {
                key,
                value: quoted(value),
                words,
            }),
        }
    }
}

/// A finite number written with digits only: no exponent, no `inf`, no `nan`, which nobody means here.
fn decimal(word: &str) -> Option<f64> {
    let digits = |c: char| c.is_ascii_digit() || "+-.".contains(c);
    if !word.chars().all(digits) {
        return None;
    }
    word.parse::<f64>().ok().filter(|number| number.is_finite())
}

fn quoted(text: &str) -> String {
    crate::quote::shortened(text, QUOTED)
}

/// Undoes `%2C` and the like, which mail programs write into addresses; other bytes stay as they are.
pub(crate) fn percent_decoded(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut plain = Vec::with_capacity(bytes.len());
    let mut rest = bytes;
    while let Some((&first, tail)) = rest.split_first() {
        match (first, tail) {
            (b'%', [high, low, after @ ..]) => match (hex(*high), hex(*low)) {
                (Some(high), Some(low)) => {
                    plain.push(high * 16 + low);
                    rest = after;
                }
                _ => {
                    plain.push(first);
                    rest = tail;
                }
            },
            _ => {
                plain.push(first);
                rest = tail;
            }
        }
    }
    String::from_utf8_lossy(&plain).into_owned()
}

fn hex(digit: u8) -> Option<u8> {
    match digit {
        b'0'..=b'9' => Some(digit - b'0'),
        b'a'..=b'f' => Some(digit - b'a' + 10),
        b'A'..=b'F' => Some(digit - b'A' + 10),
        _ => None,
    }
}
