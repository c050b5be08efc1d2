//! Encoder of compressed vertices and triangles: the glTF extension `EXT_meshopt_compression` (Khronos, ratified),
//! appendix A, bitstreams "Mode 0: attributes" and "Mode 1: triangles". [`anatomy::meshopt`] decodes them.

/// Elements are coded in groups of this many.
const GROUP: usize = 16;
/// Least length of the tail of an attribute stream.
const TAIL: usize = 32;

/// Encodes elements of `stride` bytes: a multiple of 4, at most 256, that divides the length of `elements`.
#[must_use]
pub fn attributes(elements: &[u8], stride: usize) -> Vec<u8> {
    let first = elements.get(..stride).unwrap_or(&[]);
    let block_length = ((8192 / stride) & !(GROUP - 1)).min(256);
    let mut last = first.to_vec();
    let mut out = vec![0xA0];
    for block in elements.chunks(block_length * stride) {
        for (lane, last) in last.iter_mut().enumerate() {
            let modes_at = out.len();
            let groups = (block.len() / stride).div_ceil(GROUP);
            out.resize(modes_at + groups.div_ceil(4), 0);
            for (group, elements) in block.chunks(GROUP * stride).enumerate() {
                let mut deltas = [0; GROUP];
                for (delta, element) in deltas.iter_mut().zip(elements.chunks(stride)) {
                    *delta = folded(element[lane].wrapping_sub(*last));
                    *last = element[lane];
                }
                let mode = add_group(&mut out, &deltas);
                out[modes_at + group / 4] |= mode << (group % 4 * 2);
            }
        }
    }
    out.resize(out.len() + TAIL.max(stride) - first.len(), 0);
    out.extend_from_slice(first);
    out
}

/// Bytes that four-bit deltas must save in a group to be taken instead of whole bytes: a general compressor, which the
/// file goes through when it is served, gets more out of the latter. Measured with Brotli 11 on the adult bodies: half a
/// per cent of the file.
const WORTHWHILE: usize = 4;

/// Appends 16 zigzag deltas in the shortest of the four modes, or nearly, and says which.
fn add_group(out: &mut Vec<u8>, deltas: &[u8; GROUP]) -> u8 {
    if deltas.iter().all(|&d| d == 0) {
        return 0;
    }
    let length = |bits: usize| {
        let sentinel = (1 << bits) - 1;
        GROUP * bits / 8 + deltas.iter().filter(|&&d| d >= sentinel).count()
    };
    let (mode, bits) = match (length(2), length(4)) {
        (two, four) if two <= four && two < GROUP => (1, 2),
        (_, four) if four + WORTHWHILE <= GROUP => (2, 4),
        _ => {
            out.extend_from_slice(deltas);
            return 3;
        }
    };
    let sentinel = (1_u8 << bits) - 1;
    for packed in deltas.chunks(8 / bits) {
        out.push(
            packed
                .iter()
                .fold(0, |byte, &d| (byte << bits) | d.min(sentinel)),
        );
    }
    out.extend(deltas.iter().filter(|&&d| d >= sentinel));
    mode
}

/// The zigzag code of a signed difference in a wrapping byte.
const fn folded(difference: u8) -> u8 {
    (difference << 1) ^ (difference >> 7).wrapping_neg()
}

/// Pairs of a triangle that begins with a fresh vertex and has no edge among the recent ones, which then take one byte:
/// how its second and third corners are given (0: fresh; 1 to 14: so many vertices ago).
const TABLE: [u8; 16] = [
    0x00, 0x10, 0x01, 0x12, 0x21, 0x20, 0x02, 0x23, 0x32, 0x13, 0x31, 0x30, 0x03, 0x34, 0, 0,
];

/// Encodes triangles in their order. Each comes back with the same sense, but may begin at another corner.
#[must_use]
pub fn triangles(triangles: &[[u32; 3]]) -> Vec<u8> {
    let mut encoder = Encoder::default();
    for &triangle in triangles {
        encoder.add(triangle);
    }
    let mut out = vec![0xE1];
    out.append(&mut encoder.codes);
    out.append(&mut encoder.data);
    out.extend_from_slice(&TABLE);
    out
}

#[derive(Default)]
struct Encoder {
    codes: Vec<u8>,
    data: Vec<u8>,
    next: u32,
    last: u32,
    /// Newest last.
    edges: Vec<[u32; 2]>,
    /// Newest last.
    vertices: Vec<u32>,
}

/// Edges a code can name, and vertices a code with an edge can name.
const EDGES: usize = 15;
const VERTICES: usize = 14;

impl Encoder {
    fn add(&mut self, triangle: [u32; 3]) {
        let [a, b, c] = triangle;
        let turned = [[a, b, c], [b, c, a], [c, a, b]];
        let recent = self.edges.iter().rev().take(EDGES);
        let known = (0_u8..).zip(recent).filter_map(|(age, edge)| {
            let [_, _, c] = *turned.iter().find(|t| t[..2] == edge[..])?;
            Some((self.how_third(c), age, [edge[0], edge[1], c]))
        });
        // The cheapest third corner, then the newest edge.
        match known.min_by_key(|&(how, age, _)| (how == 15, age)) {
            Some((how, age, corners)) => self.add_at_edge(how, age, corners),
            None => self.add_free(turned),
        }
    }

    /// How the third corner of a triangle at a known edge is written: the low half of its code.
    fn how_third(&self, c: u32) -> u8 {
        if c == self.next {
            return 0;
        }
        if c == self.last.wrapping_sub(1) {
            return 13;
        }
        if c == self.last.wrapping_add(1) {
            return 14;
        }
        self.age(c)
            .filter(|age| (1..=12).contains(age))
            .unwrap_or(15)
    }

    fn add_at_edge(&mut self, how: u8, age: u8, [a, b, c]: [u32; 3]) {
        self.codes.push(age << 4 | how);
        match how {
            0 => self.next += 1,
            1..=12 => {}
            13 | 14 => self.last = c,
            _ => self.name(c),
        }
        self.edges.extend([[c, b], [a, c]]);
        if how == 0 || how > 12 {
            self.vertices.push(c);
        }
    }

    fn add_free(&mut self, turned: [[u32; 3]; 3]) {
        let starts_fresh = turned.into_iter().find(|t| t[0] == self.next);
        let fresh = starts_fresh.is_some();
        let corners @ [a, b, c] = starts_fresh.unwrap_or(turned[0]);
        let mut next = self.next + u32::from(fresh);
        let mut how = |vertex: u32| {
            if vertex == next {
                next += 1;
                return 0;
            }
            match self.age(vertex) {
                Some(age @ 0..14) => age + 1,
                _ => 15,
            }
        };
        let (for_b, for_c) = (how(b), how(c));
        // Two zeros after an explicit first corner would start the numbering anew; they cannot come up, since a
        // triangle with a fresh vertex begins with it.
        let pair = for_b << 4 | for_c;
        match TABLE[..14].iter().position(|&entry| entry == pair) {
            Some(place) if fresh => self.codes.push(0xF0 | u8::try_from(place).unwrap_or(0)),
            _ => {
                self.codes.push(if fresh { 0xFE } else { 0xFF });
                self.data.push(pair);
            }
        }
        for (vertex, how) in corners
            .into_iter()
            .zip([if fresh { 0 } else { 15 }, for_b, for_c])
        {
            match how {
                0 => self.next += 1,
                15 => self.name(vertex),
                _ => continue,
            }
            self.vertices.push(vertex);
        }
        self.edges.extend([[b, a], [c, b], [a, c]]);
    }

    /// How many vertices ago this one was mentioned.
    fn age(&self, vertex: u32) -> Option<u8> {
        let mut recent = (0_u8..).zip(self.vertices.iter().rev().take(VERTICES));
        recent.find(|&(_, &v)| v == vertex).map(|(age, _)| age)
    }

    /// Writes a vertex as its distance from the one written last.
    fn name(&mut self, vertex: u32) {
        let delta = vertex.wrapping_sub(self.last);
        self.last = vertex;
        let mut code = (delta << 1) ^ (delta >> 31).wrapping_neg();
        loop {
            let [low, ..] = code.to_le_bytes();
            code >>= 7;
            if code == 0 {
                self.data.push(low & 127);
                return;
            }
            self.data.push(low | 128);
        }
    }
}
