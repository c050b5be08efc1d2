//! Decoder of compressed vertices and triangles: the glTF extension `EXT_meshopt_compression` (Khronos, ratified),
//! appendix A, bitstreams "Mode 0: attributes" and "Mode 1: triangles".
//!
//! Written from that text. A general library for it is C++, or far larger than the two functions here.
//! No bytes make it panic, and what it returns is at most 64 times as long as what it was given.

/// Why a compressed stream cannot be decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StreamError {
    /// The first byte belongs to another mode or version.
    #[error("the stream begins with {found:#04x}, {expected:#04x} is due")]
    Header {
        /// Header byte of the mode.
        expected: u8,
        /// First byte of the stream.
        found: u8,
    },
    /// Vertices of a length the mode does not know.
    #[error("vertices of {0} bytes: a multiple of 4 up to 256 is due")]
    Stride(usize),
    /// A number of indices that makes no whole triangles.
    #[error("{0} indices make no whole triangles")]
    Count(usize),
    /// The stream ends too early.
    #[error("the stream of {0} bytes ends too early")]
    Short(usize),
    /// Bytes are left between the data and the tail.
    #[error("{0} bytes of the stream are left over")]
    Left(usize),
    /// The table at the end of a triangle stream has an entry that must not be.
    #[error("the table of the triangle stream holds {0:#04x}")]
    Table(u8),
    /// A triangle names a vertex that is not there, or one that was never mentioned.
    #[error("triangle {triangle} names vertex {vertex} of {vertices}")]
    Vertex {
        /// Index of the triangle.
        triangle: usize,
        /// Index of the vertex.
        vertex: u32,
        /// Number of vertices.
        vertices: usize,
    },
}

const ATTRIBUTES: u8 = 0xA0;
const TRIANGLES: u8 = 0xE1;
/// Elements are coded in groups of this many.
const GROUP: usize = 16;
/// Least length of the tail of an attribute stream.
const TAIL: usize = 32;
/// Length of the table that ends a triangle stream.
const TABLE: usize = 16;

/// The `count` elements of `stride` bytes each that an attribute stream (version 0) holds.
///
/// # Errors
/// [`StreamError`].
pub fn attributes(stream: &[u8], count: usize, stride: usize) -> Result<Vec<u8>, StreamError> {
    if stride == 0 || !stride.is_multiple_of(4) || stride > 256 {
        return Err(StreamError::Stride(stride));
    }
    let short = StreamError::Short(stream.len());
    let block_length = ((8192 / stride) & !(GROUP - 1)).min(256);
    // Before anything is allocated: every group takes a quarter of a byte in each lane at least.
    let blocks = count.div_ceil(block_length);
    let quarters = count.div_ceil(GROUP).div_ceil(4).max(blocks);
    let tail = stride.max(TAIL);
    if stream.len() < quarters.saturating_mul(stride).saturating_add(1 + tail) {
        return Err(short);
    }
    header(stream, ATTRIBUTES)?;
    let mut data = &stream[1..stream.len() - tail];
    let mut last = stream[stream.len() - stride..].to_vec();
    let mut out = vec![0; count * stride];
    for block in out.chunks_mut(block_length * stride) {
        let groups = (block.len() / stride).div_ceil(GROUP);
        for (lane, last) in last.iter_mut().enumerate() {
            let modes = take(&mut data, groups.div_ceil(4)).ok_or(short)?;
            for (group, elements) in block.chunks_mut(GROUP * stride).enumerate() {
                let mode = (modes[group / 4] >> (group % 4 * 2)) & 3;
                let deltas = deltas(&mut data, mode).ok_or(short)?;
                for (element, delta) in elements.chunks_mut(stride).zip(deltas) {
                    *last = last.wrapping_add(unfolded(delta));
                    element[lane] = *last;
                }
            }
        }
    }
    if data.is_empty() {
        Ok(out)
    } else {
        Err(StreamError::Left(data.len()))
    }
}

/// One group of zigzag deltas in the given mode.
fn deltas(data: &mut &[u8], mode: u8) -> Option<[u8; GROUP]> {
    let bits = match mode {
        0 => return Some([0; GROUP]),
        1 => 2,
        2 => 4,
        _ => return take(data, GROUP)?.try_into().ok(),
    };
    let packed = take(data, GROUP * bits / 8)?;
    let sentinel = (1 << bits) - 1;
    let per_byte = 8 / bits;
    let mut out = [0; GROUP];
    for (i, out) in out.iter_mut().enumerate() {
        let delta = (packed[i / per_byte] >> (8 - bits - i % per_byte * bits)) & sentinel;
        *out = if delta == sentinel {
            take(data, 1)?[0]
        } else {
            delta
        };
    }
    Some(out)
}

/// The signed difference, as a wrapping byte, behind a zigzag code.
const fn unfolded(code: u8) -> u8 {
    (code >> 1) ^ (code & 1).wrapping_neg()
}

/// The triangles of a stream of `count` indices over `vertices` vertices.
///
/// # Errors
/// [`StreamError`], also for an index that is not below `vertices`.
pub fn triangles(
    stream: &[u8],
    count: usize,
    vertices: usize,
) -> Result<Vec<[u32; 3]>, StreamError> {
    if !count.is_multiple_of(3) {
        return Err(StreamError::Count(count));
    }
    let count = count / 3;
    // A triangle takes a byte at least, so what follows allocates no more than 12 times the stream.
    if stream.len() < count.saturating_add(1 + TABLE) {
        return Err(StreamError::Short(stream.len()));
    }
    header(stream, TRIANGLES)?;
    let (rest, table) = stream.split_at(stream.len() - TABLE);
    for (i, &entry) in table.iter().enumerate() {
        if entry >> 4 == 15 || entry & 15 == 15 || (i >= 14 && entry != 0) {
            return Err(StreamError::Table(entry));
        }
    }
    let (codes, data) = rest[1..].split_at(count);
    let mut state = State {
        data,
        next: 0,
        last: 0,
        edges: Recent::new([u32::MAX; 2]),
        vertices: Recent::new(u32::MAX),
    };
    let mut out = Vec::with_capacity(count);
    for (triangle, &code) in codes.iter().enumerate() {
        let corners = state
            .triangle(code, table)
            .ok_or(StreamError::Short(stream.len()))?;
        if let Some(vertex) = corners
            .into_iter()
            .find(|&v| usize::try_from(v).is_ok_and(|v| v >= vertices))
        {
            return Err(StreamError::Vertex {
                triangle,
                vertex,
                vertices,
            });
        }
        out.push(corners);
    }
    if state.data.is_empty() {
        Ok(out)
    } else {
        Err(StreamError::Left(state.data.len()))
    }
}

/// The last 16 of something, newest first. An entry that was never written names a vertex no mesh has.
struct Recent<T> {
    entries: [T; 16],
    newest: usize,
}

impl<T: Copy> Recent<T> {
    const fn new(nothing: T) -> Self {
        Self {
            entries: [nothing; 16],
            newest: 0,
        }
    }

    fn push(&mut self, entry: T) {
        self.newest = (self.newest + 1) % 16;
        self.entries[self.newest] = entry;
    }

    fn get(&self, age: u8) -> T {
        self.entries[(self.newest + 16 - usize::from(age % 16)) % 16]
    }
}

/// What a triangle's code refers to.
struct State<'a> {
    data: &'a [u8],
    next: u32,
    last: u32,
    edges: Recent<[u32; 2]>,
    vertices: Recent<u32>,
}

impl State<'_> {
    fn triangle(&mut self, code: u8, table: &[u8]) -> Option<[u32; 3]> {
        let (edge, how) = (code >> 4, code & 15);
        if edge < 15 {
            let [a, b] = self.edges.get(edge);
            let c = match how {
                0 => self.fresh(),
                1..=12 => self.vertices.get(how),
                13 | 14 => {
                    self.last = self.last.wrapping_add(if how == 13 { u32::MAX } else { 1 });
                    self.last
                }
                _ => self.named()?,
            };
            self.edges.push([c, b]);
            self.edges.push([a, c]);
            if how == 0 || how > 12 {
                self.vertices.push(c);
            }
            return Some([a, b, c]);
        }
        let pair = match table.get(usize::from(how)) {
            Some(&pair) if how < 14 => pair,
            _ => take(&mut self.data, 1)?[0],
        };
        if how >= 14 && pair == 0 {
            self.next = 0;
        }
        let (for_b, for_c) = (pair >> 4, pair & 15);
        // Fresh vertices are numbered before named ones are read; neither depends on the other.
        let a = if how == 15 {
            self.named()?
        } else {
            self.fresh()
        };
        let b = self.corner(for_b)?;
        let c = self.corner(for_c)?;
        self.edges.push([b, a]);
        self.edges.push([c, b]);
        self.edges.push([a, c]);
        self.vertices.push(a);
        if for_b == 0 || for_b == 15 {
            self.vertices.push(b);
        }
        if for_c == 0 || for_c == 15 {
            self.vertices.push(c);
        }
        Some([a, b, c])
    }

    fn corner(&mut self, how: u8) -> Option<u32> {
        match how {
            0 => Some(self.fresh()),
            15 => self.named(),
            age => Some(self.vertices.get(age - 1)),
        }
    }

    fn fresh(&mut self) -> u32 {
        let vertex = self.next;
        self.next = vertex.wrapping_add(1);
        vertex
    }

    /// A vertex written as its distance from the one named last.
    fn named(&mut self) -> Option<u32> {
        let mut code = 0_u32;
        for shift in [0, 7, 14, 21, 28] {
            let byte = take(&mut self.data, 1)?[0];
            code |= u32::from(byte & 127) << shift;
            if byte < 128 {
                let delta = (code >> 1) ^ (code & 1).wrapping_neg();
                self.last = self.last.wrapping_add(delta);
                return Some(self.last);
            }
        }
        None
    }
}

fn header(stream: &[u8], expected: u8) -> Result<(), StreamError> {
    match stream.first() {
        Some(&found) if found == expected => Ok(()),
        Some(&found) => Err(StreamError::Header { expected, found }),
        None => Err(StreamError::Short(0)),
    }
}

fn take<'a>(data: &mut &'a [u8], count: usize) -> Option<&'a [u8]> {
    let (taken, rest) = data.split_at_checked(count)?;
    *data = rest;
    Some(taken)
}
