//! Decompression by RFC 1951: stored, fixed and dynamic blocks. Total and bounded: any bytes give a text or an error.

use super::deflate::{DISTANCES, LENGTHS};

/// Why bytes cannot be unfolded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum InflateError {
    /// They are no DEFLATE data, or end early.
    Damaged,
    /// They unfold to more than is allowed.
    TooLarge,
}

use InflateError::{Damaged, TooLarge};

/// Longest code, bits.
const LONGEST_CODE: usize = 15;

/// The order in which lengths of code lengths are written (RFC 1951, 3.2.7).
const ORDER: [usize; 19] = [
    16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15,
];

/// What `packed` unfolds to, at most `most` bytes, knowing `dictionary`.
pub(super) fn inflate(
    packed: &[u8],
    dictionary: &[u8],
    most: usize,
) -> Result<Vec<u8>, InflateError> {
    let mut bits = Bits {
        bytes: packed,
        at: 0,
    };
    let mut out = Out {
        all: dictionary.to_vec(),
        most: dictionary.len() + most,
    };
    loop {
        let last = bits.take(1)? == 1;
        match bits.take(2)? {
            0 => stored(&mut bits, &mut out)?,
            1 => {
                let mut lengths = [8_u8; 288];
                lengths[144..256].fill(9);
                lengths[256..280].fill(7);
                block(
                    &mut bits,
                    &Code::new(&lengths)?,
                    &Code::new(&[5; 30])?,
                    &mut out,
                )?;
            }
            2 => {
                let (symbols, distances) = dynamic(&mut bits)?;
                block(&mut bits, &symbols, &distances, &mut out)?;
            }
            _ => return Err(Damaged),
        }
        if last {
            return Ok(out.all.split_off(dictionary.len()));
        }
    }
}

struct Out {
    all: Vec<u8>,
    most: usize,
}

impl Out {
    fn push(&mut self, byte: u8) -> Result<(), InflateError> {
        if self.all.len() >= self.most {
            return Err(TooLarge);
        }
        self.all.push(byte);
        Ok(())
    }
}

struct Bits<'a> {
    bytes: &'a [u8],
    /// Bits taken so far.
    at: usize,
}

impl Bits<'_> {
    fn take(&mut self, count: u8) -> Result<usize, InflateError> {
        let mut value = 0;
        for place in 0..count {
            let byte = self.bytes.get(self.at / 8).ok_or(Damaged)?;
            value |= usize::from((byte >> (self.at % 8)) & 1) << place;
            self.at += 1;
        }
        Ok(value)
    }
}

/// A prefix code: how many codes of each length there are, and the symbols in the order of their codes.
struct Code {
    counts: [usize; LONGEST_CODE + 1],
    symbols: Vec<usize>,
}

impl Code {
    fn new(lengths: &[u8]) -> Result<Self, InflateError> {
        let mut counts = [0; LONGEST_CODE + 1];
        for length in lengths {
            *counts.get_mut(usize::from(*length)).ok_or(Damaged)? += 1;
        }
        counts[0] = 0;
        // More codes than fit is damage; fewer is allowed for a code of one symbol, and harmless: the search ends.
        let mut free: usize = 1;
        for count in &counts[1..] {
            free = (free * 2).checked_sub(*count).ok_or(Damaged)?;
        }
        let mut symbols: Vec<usize> = (0..lengths.len()).filter(|at| lengths[*at] > 0).collect();
        symbols.sort_by_key(|at| lengths[*at]);
        Ok(Self { counts, symbols })
    }

    fn read(&self, bits: &mut Bits<'_>) -> Result<usize, InflateError> {
        let (mut code, mut first, mut index) = (0_usize, 0_usize, 0_usize);
        for count in &self.counts[1..] {
            code |= bits.take(1)?;
            if let Some(place) = code.checked_sub(first)
                && place < *count
            {
                return self.symbols.get(index + place).copied().ok_or(Damaged);
            }
            index += count;
            first = (first + count) << 1;
            code <<= 1;
        }
        Err(Damaged)
    }
}

fn stored(bits: &mut Bits<'_>, out: &mut Out) -> Result<(), InflateError> {
    bits.at = bits.at.next_multiple_of(8);
    let length = bits.take(16)?;
    let check = bits.take(16)?;
    if length ^ 0xFFFF != check {
        return Err(Damaged);
    }
    for _ in 0..length {
        let [byte, ..] = bits.take(8)?.to_le_bytes();
        out.push(byte)?;
    }
    Ok(())
}

fn dynamic(bits: &mut Bits<'_>) -> Result<(Code, Code), InflateError> {
    let symbols = bits.take(5)? + 257;
    let distances = bits.take(5)? + 1;
    let count = bits.take(4)? + 4;
    let mut lengths = [0_u8; 19];
    for place in ORDER.iter().take(count) {
        let [length, ..] = bits.take(3)?.to_le_bytes();
        lengths[*place] = length;
    }
    let code = Code::new(&lengths)?;
    let mut lengths: Vec<u8> = Vec::new();
    while lengths.len() < symbols + distances {
        let symbol = code.read(bits)?;
        let (value, times) = match symbol {
            16 => (*lengths.last().ok_or(Damaged)?, 3 + bits.take(2)?),
            17 => (0, 3 + bits.take(3)?),
            18 => (0, 11 + bits.take(7)?),
            length => (u8::try_from(length).unwrap_or(0), 1),
        };
        lengths.extend(std::iter::repeat_n(value, times));
    }
    if lengths.len() > symbols + distances {
        return Err(Damaged);
    }
    let (symbols, distances) = lengths.split_at(symbols);
    Ok((Code::new(symbols)?, Code::new(distances)?))
}

fn block(
    bits: &mut Bits<'_>,
    symbols: &Code,
    distances: &Code,
    out: &mut Out,
) -> Result<(), InflateError> {
    loop {
        let symbol = symbols.read(bits)?;
        if let Ok(byte) = u8::try_from(symbol) {
            out.push(byte)?;
            continue;
        }
        let Some(code) = symbol.checked_sub(257) else {
            return Ok(());
        };
        let (first, more) = *LENGTHS.get(code).ok_or(Damaged)?;
        let length = usize::from(first) + bits.take(more)?;
        let (first, more) = *DISTANCES.get(distances.read(bits)?).ok_or(Damaged)?;
        let distance = usize::from(first) + bits.take(more)?;
        for _ in 0..length {
            let from = out.all.len().checked_sub(distance).ok_or(Damaged)?;
            out.push(out.all[from])?;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::deflate::deflate;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn other_programs_are_read() {
        // Made by Python 3.11: zlib.compressobj(level, zlib.DEFLATED, -15, zdict=…).
        // A stored block: level 0 of b"abc".
        let stored = [1, 3, 0, 0xFC, 0xFF, b'a', b'b', b'c'];
        assert_eq!(inflate(&stored, b"", 10), Ok(b"abc".to_vec()));
        // Fixed codes: level 9 of b"abcabcabcabc".
        let fixed = [0x4B, 0x4C, 0x4A, 0x4E, 0x84, 0x21, 0x00];
        assert_eq!(inflate(&fixed, b"", 12), Ok(b"abcabcabcabc".to_vec()));
        assert_eq!(inflate(&fixed, b"", 11), Err(TooLarge), "one byte too many");
        assert_eq!(inflate(&fixed[..4], b"", 12), Err(Damaged), "cut off");
        assert_eq!(inflate(&[], b"", 12), Err(Damaged), "nothing");
        // Dynamic codes: level 9 of the letters number i² mod 26 of the alphabet, each i mod 7 + 1 times, i from 0 to 59.
        let dynamic = [
            0x3D, 0xCE, 0x41, 0x0E, 0xC0, 0x20, 0x08, 0x44, 0xD1, 0xB3, 0x6A, 0x60, 0x63, 0x43,
            0x0D, 0x6E, 0x34, 0x9E, 0xBE, 0x30, 0xD3, 0xF0, 0x96, 0x18, 0xF8, 0xB6, 0xDE, 0x55,
            0x75, 0x04, 0x4F, 0x17, 0x1E, 0x3A, 0x66, 0x22, 0xB2, 0xC3, 0x4A, 0x13, 0x5E, 0x9A,
            0x6B, 0xC5, 0x3C, 0x9E, 0xC5, 0xD2, 0x81, 0x7F, 0xEF, 0xBA, 0xC7, 0xBD, 0x38, 0xAB,
            0x3D, 0x35, 0xE8, 0xA4, 0x08, 0x55, 0x84, 0x7B, 0x46, 0x82, 0x50, 0x45, 0xD8, 0x5B,
            0xB4, 0x11, 0xAA, 0x08, 0xFF, 0xE9, 0x34, 0x10, 0xAA, 0x88, 0xC2, 0x20, 0x47, 0x28,
            0xF7, 0x3E,
        ];
        let letters: Vec<u8> = (0..60_u32)
            .flat_map(|i| {
                let [.., letter] = (97 + i * i % 26).to_be_bytes();
                std::iter::repeat_n(letter, (i % 7 + 1) as usize)
            })
            .collect();
        assert_eq!(inflate(&dynamic, b"", 234), Ok(letters));
        assert_eq!(inflate(&[7], b"", 12), Err(Damaged), "no such block");
    }

    proptest! {
        #[test]
        fn what_is_packed_is_unfolded(
            text in prop::collection::vec(prop_oneof![any::<u8>(), 97..100_u8], 0..600),
            dictionary in prop::collection::vec(97..101_u8, 0..60),
        ) {
            let packed = deflate(&text, &dictionary);
            prop_assert_eq!(inflate(&packed, &dictionary, text.len()), Ok(text));
        }

        #[test]
        fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            if let Ok(text) = inflate(&bytes, b"abc", 1000) {
                prop_assert!(text.len() <= 1000, "bounded");
            }
        }
    }
}
