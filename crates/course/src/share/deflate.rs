//! Compression by RFC 1951 with its fixed codes, and matches into a dictionary and the text itself.
//!
//! Own code, because the page links it: a general library brings dynamic codes, check sums and streams that a link of a
//! few kilobytes does not need. What it writes is plain DEFLATE that any library reads.

/// Shortest and longest match, bytes (RFC 1951, 3.2.5).
const SHORTEST: usize = 3;
const LONGEST: usize = 258;

/// Farthest match, bytes back.
const WINDOW: usize = 32_768;

/// First value and number of further bits of each length code from 257 on (RFC 1951, 3.2.5).
pub(super) const LENGTHS: [(u16, u8); 29] = [
    (3, 0),
    (4, 0),
    (5, 0),
    (6, 0),
    (7, 0),
    (8, 0),
    (9, 0),
    (10, 0),
    (11, 1),
    (13, 1),
    (15, 1),
    (17, 1),
    (19, 2),
    (23, 2),
    (27, 2),
    (31, 2),
    (35, 3),
    (43, 3),
    (51, 3),
    (59, 3),
    (67, 4),
    (83, 4),
    (99, 4),
    (115, 4),
    (131, 5),
    (163, 5),
    (195, 5),
    (227, 5),
    (258, 0),
];

/// First value and number of further bits of each distance code (RFC 1951, 3.2.5).
pub(super) const DISTANCES: [(u16, u8); 30] = [
    (1, 0),
    (2, 0),
    (3, 0),
    (4, 0),
    (5, 1),
    (7, 1),
    (9, 2),
    (13, 2),
    (17, 3),
    (25, 3),
    (33, 4),
    (49, 4),
    (65, 5),
    (97, 5),
    (129, 6),
    (193, 6),
    (257, 7),
    (385, 7),
    (513, 8),
    (769, 8),
    (1025, 9),
    (1537, 9),
    (2049, 10),
    (3073, 10),
    (4097, 11),
    (6145, 11),
    (8193, 12),
    (12289, 12),
    (16385, 13),
    (24577, 13),
];

/// `text` compressed into one block, knowing `dictionary`.
pub(super) fn deflate(text: &[u8], dictionary: &[u8]) -> Vec<u8> {
    let start = dictionary.len();
    let all: Vec<u8> = [dictionary, text].concat();
    let mut chains = Chains::new(all.len());
    for at in 0..start {
        chains.note(&all, at);
    }
    let mut out = Bits::default();
    // The last block, with fixed codes.
    out.put(0b011, 3);
    let mut at = start;
    while at < all.len() {
        let found = chains.longest(&all, at);
        // A match that starts one byte later and is longer wins: the usual "lazy" rule.
        let later = chains.longest(&all, at + 1);
        let wanted = found.filter(|(length, _)| later.is_none_or(|(next, _)| next <= *length));
        let taken = match wanted {
            Some((length, distance)) => {
                put_match(length, distance, &mut out);
                length
            }
            None => {
                put_symbol(u16::from(all[at]), &mut out);
                1
            }
        };
        for place in at..at + taken {
            chains.note(&all, place);
        }
        at += taken;
    }
    put_symbol(256, &mut out);
    out.finish()
}

/// For every three bytes, where they stood last, and for every place the one before with the same three.
struct Chains {
    last: Vec<u32>,
    before: Vec<u32>,
}

/// No place.
const NONE: u32 = u32::MAX;

impl Chains {
    fn new(size: usize) -> Self {
        Self {
            last: vec![NONE; 1 << 12],
            before: vec![NONE; size],
        }
    }

    fn slot(all: &[u8], at: usize) -> Option<usize> {
        let three = all.get(at..at + SHORTEST)?;
        let sum = three.iter().fold(0_usize, |sum, byte| {
            sum.wrapping_mul(31).wrapping_add(usize::from(*byte))
        });
        Some(sum & 0xFFF)
    }

    fn note(&mut self, all: &[u8], at: usize) {
        if let Some(slot) = Self::slot(all, at)
            && let Ok(place) = u32::try_from(at)
        {
            self.before[at] = self.last[slot];
            self.last[slot] = place;
        }
    }

    /// Length and distance of the longest match for what stands at `at`; the nearest of equal ones.
    fn longest(&self, all: &[u8], at: usize) -> Option<(usize, usize)> {
        let mut best: Option<(usize, usize)> = None;
        let mut place = self.last[Self::slot(all, at)?];
        // A bound on the search: links are short, and a text made to be slow must not be.
        for _ in 0..256 {
            let from = usize::try_from(place).ok().filter(|_| place != NONE)?;
            if at - from > WINDOW {
                break;
            }
            let same = all[from..]
                .iter()
                .zip(&all[at..])
                .take(LONGEST)
                .take_while(|(a, b)| a == b)
                .count();
            if same >= SHORTEST && best.is_none_or(|(length, _)| same > length) {
                best = Some((same, at - from));
            }
            place = self.before[from];
            if place == NONE {
                break;
            }
        }
        best
    }
}

fn put_match(length: usize, distance: usize, out: &mut Bits) {
    let (code, further, bits) = coded(&LENGTHS, length);
    put_symbol(257 + code, out);
    out.put(further, bits);
    let (code, further, bits) = coded(&DISTANCES, distance);
    out.put_code(u32::from(code), 5);
    out.put(further, bits);
}

/// The code of a value in a table, what is to be added to its first value, and in how many bits.
fn coded(table: &[(u16, u8)], value: usize) -> (u16, u32, u32) {
    let mut found = (0, 0, 0);
    for (code, (first, bits)) in (0_u16..).zip(table) {
        let first = usize::from(*first);
        if value >= first {
            let further = u32::try_from(value - first).unwrap_or(0);
            found = (code, further, u32::from(*bits));
        }
    }
    found
}

/// A literal or length code in the fixed code (RFC 1951, 3.2.6).
fn put_symbol(symbol: u16, out: &mut Bits) {
    let symbol = u32::from(symbol);
    match symbol {
        0..=143 => out.put_code(0b0011_0000 + symbol, 8),
        144..=255 => out.put_code(0b1_1001_0000 + (symbol - 144), 9),
        256..=279 => out.put_code(symbol - 256, 7),
        _ => out.put_code(0b1100_0000 + (symbol - 280), 8),
    }
}

/// Bits, the lowest of a byte first.
#[derive(Default)]
struct Bits {
    bytes: Vec<u8>,
    held: u32,
    count: u32,
}

impl Bits {
    fn put(&mut self, value: u32, count: u32) {
        self.held |= value << self.count;
        self.count += count;
        while self.count >= 8 {
            let [low, ..] = self.held.to_le_bytes();
            self.bytes.push(low);
            self.held >>= 8;
            self.count -= 8;
        }
    }

    /// Codes are written with their highest bit first.
    fn put_code(&mut self, code: u32, count: u32) {
        self.put(code.reverse_bits() >> (32 - count), count);
    }

    fn finish(mut self) -> Vec<u8> {
        if self.count > 0 {
            self.put(0, 8 - self.count);
        }
        self.bytes
    }
}
