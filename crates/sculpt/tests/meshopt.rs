//! The mesh codec: what is encoded comes back, and damaged streams are refused without a panic.
//!
//! An independent decoder reads the same streams in `tests/reference`.

use anatomy::meshopt::{self as decode, StreamError};
use proptest::prelude::*;
use sculpt::meshopt as encode;

/// Triangles that begin at their lowest corner: the codec keeps the sense of a triangle but may turn it.
fn turned(triangles: &[[u32; 3]]) -> Vec<[u32; 3]> {
    triangles
        .iter()
        .map(|&[a, b, c]| [[a, b, c], [b, c, a], [c, a, b]].into_iter().min())
        .map(Option::unwrap_or_default)
        .collect()
}

/// Rows of a grid of `width` × `height` cells, each cell halved: what a mesh in a good order looks like.
fn grid(width: u32, height: u32) -> Vec<[u32; 3]> {
    let at = |x: u32, y: u32| y * (width + 1) + x;
    let cells = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
    cells
        .flat_map(|(x, y)| {
            let (a, b, c, d) = (at(x, y), at(x + 1, y), at(x, y + 1), at(x + 1, y + 1));
            [[a, b, c], [c, b, d]]
        })
        .collect()
}

/// A slowly changing sequence, as positions are, with a few jumps.
fn walk() -> impl Strategy<Value = Vec<[u16; 4]>> {
    let step = prop_oneof![8 => -12_i16..12, 3 => -300_i16..300, 1 => any::<i16>()];
    prop::collection::vec([step.clone(), step.clone(), step], 0..700).prop_map(|steps| {
        let mut at = [0_u16; 4];
        steps
            .into_iter()
            .map(|step| {
                for (at, step) in at.iter_mut().zip(step) {
                    *at = at.wrapping_add_signed(step);
                }
                at
            })
            .collect()
    })
}

fn check_triangles(triangles: &[[u32; 3]], vertices: usize) -> Result<(), TestCaseError> {
    let stream = encode::triangles(triangles);
    let back = decode::triangles(&stream, 3 * triangles.len(), vertices);
    let back = back.map_err(|error| TestCaseError::fail(error.to_string()))?;
    prop_assert_eq!(turned(&back), turned(triangles));
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn elements_come_back(quarter in 1_usize..=64, bytes in prop::collection::vec(any::<u8>(), 0..6000)) {
        let stride = 4 * quarter;
        let elements = &bytes[..bytes.len() / stride * stride];
        let stream = encode::attributes(elements, stride);
        let back = decode::attributes(&stream, elements.len() / stride, stride);
        prop_assert_eq!(back.as_deref(), Ok(elements));
    }

    #[test]
    fn positions_come_back(positions in walk()) {
        let bytes: Vec<u8> = positions.iter().flatten().flat_map(|c| c.to_le_bytes()).collect();
        let stream = encode::attributes(&bytes, 8);
        // At worst whole bytes in groups of 16, a quarter of a byte for each group in each of eight lanes, head and tail.
        let longest = 8 * positions.len().next_multiple_of(16) + 8 * positions.len().div_ceil(64) + 33;
        prop_assert!(stream.len() <= longest, "{} for {} bytes", stream.len(), bytes.len());
        prop_assert_eq!(decode::attributes(&stream, positions.len(), 8), Ok(bytes));
    }

    #[test]
    fn any_triangles_come_back(triangles in prop::collection::vec([0_u32..40, 0..40, 0..40], 0..300)) {
        check_triangles(&triangles, 40)?;
    }

    #[test]
    fn triangles_with_large_numbers_come_back(
        triangles in prop::collection::vec([0..u32::MAX, 0..u32::MAX, 0..u32::MAX], 0..50),
    ) {
        check_triangles(&triangles, usize::MAX)?;
    }

    #[test]
    fn a_grid_takes_little_more_than_a_byte_a_triangle(width in 1_u32..30, height in 1_u32..30) {
        let triangles = grid(width, height);
        check_triangles(&triangles, triangles.len() * 3)?;
        // Rows wider than the 16 remembered vertices name one vertex a cell in a second byte.
        let stream = encode::triangles(&triangles);
        prop_assert!(stream.len() <= 40 + 2 * triangles.len(), "{} for {}", stream.len(), triangles.len());
    }

    /// Cut off, flipped or replaced bytes, and counts that do not fit: an error or other numbers, never a panic, and
    /// never more than the promised multiple of what was given.
    #[test]
    fn damaged_streams_do_not_panic(
        positions in walk(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6),
        cut in any::<prop::sample::Index>(),
        count in prop_oneof![0_usize..2000, any::<usize>()],
        stride in prop_oneof![Just(8_usize), 0_usize..300, any::<usize>()],
    ) {
        let bytes: Vec<u8> = positions.iter().flatten().flat_map(|c| c.to_le_bytes()).collect();
        let streams = [encode::attributes(&bytes, 8), encode::triangles(&grid(9, 9))];
        for mut stream in streams {
            for (at, byte) in &changes {
                let at = at.index(stream.len());
                stream[at] ^= byte;
            }
            let cut = &stream[..cut.index(stream.len() + 1)];
            for stream in [&stream[..], cut] {
                for count in [count, positions.len(), 486] {
                    if let Ok(back) = decode::attributes(stream, count, stride) {
                        prop_assert!(back.len() <= 64 * stream.len(), "{} from {}", back.len(), stream.len());
                    }
                    if let Ok(back) = decode::triangles(stream, count, 100) {
                        prop_assert!(back.len() <= stream.len(), "{} from {}", back.len(), stream.len());
                        prop_assert!(back.iter().flatten().all(|&v| v < 100), "only vertices that are there");
                    }
                }
            }
        }
    }

    #[test]
    fn no_bytes_make_it_panic(mut bytes in prop::collection::vec(any::<u8>(), 0..300), count in 0_usize..400) {
        for header in [0xA0, 0xE1] {
            if let Some(first) = bytes.first_mut() {
                *first = header;
            }
            let _ = decode::attributes(&bytes, count, 8);
            let _ = decode::triangles(&bytes, count, count);
            // With a table that holds nothing forbidden, random codes get further.
            let table = bytes.len().saturating_sub(16);
            bytes[table..].fill(0);
            let _ = decode::triangles(&bytes, count / 3 * 3, count);
        }
    }
}

#[test]
fn wrong_streams_are_refused_by_name() {
    let triangles = encode::triangles(&[[0, 1, 2], [2, 1, 3]]);
    let vertices = encode::attributes(&[7; 16], 8);
    let changed = |stream: &[u8], at: usize, byte: u8| {
        let mut stream = stream.to_vec();
        stream[at] = byte;
        stream
    };
    let longer = |stream: &[u8], at: usize| {
        let mut stream = stream.to_vec();
        stream.insert(at, 0);
        stream
    };
    assert_eq!(
        decode::triangles(&vertices, 6, 4),
        Err(StreamError::Header {
            expected: 0xE1,
            found: 0xA0
        })
    );
    assert_eq!(
        decode::attributes(&changed(&vertices, 0, 0xA1), 2, 8),
        Err(StreamError::Header {
            expected: 0xA0,
            found: 0xA1
        })
    );
    for stride in [0, 6, 260] {
        let found = decode::attributes(&vertices, 2, stride);
        assert_eq!(found, Err(StreamError::Stride(stride)));
    }
    assert_eq!(
        decode::triangles(&triangles, 5, 4),
        Err(StreamError::Count(5))
    );
    assert_eq!(
        decode::triangles(&triangles, 6, 3),
        Err(StreamError::Vertex {
            triangle: 1,
            vertex: 3,
            vertices: 3
        })
    );
    assert_eq!(
        decode::triangles(&triangles, 9, 4),
        Err(StreamError::Short(triangles.len()))
    );
    assert_eq!(
        decode::attributes(&vertices, usize::MAX, 8),
        Err(StreamError::Short(vertices.len()))
    );
    assert_eq!(
        decode::triangles(&longer(&triangles, 3), 6, 4),
        Err(StreamError::Left(1))
    );
    assert_eq!(
        decode::attributes(&longer(&vertices, 9), 2, 8),
        Err(StreamError::Left(1))
    );
    let table = triangles.len() - 16;
    for (at, entry) in [(0, 0xF0), (5, 0x1F), (14, 0x01)] {
        let found = decode::triangles(&changed(&triangles, table + at, entry), 6, 4);
        assert_eq!(found, Err(StreamError::Table(entry)), "place {at}");
    }
    // The first triangle refers to an edge before there is one.
    let found = decode::triangles(&changed(&triangles, 1, 0x00), 6, 4);
    assert!(
        matches!(found, Err(StreamError::Vertex { triangle: 0, .. })),
        "{found:?}"
    );
}

/// The worked example of the specification's section "Mode 0: attributes".
#[test]
fn the_published_example_decodes() {
    let example = [0x17, 0x5F, 0xF0, 0xBC, 0x77, 0xA9, 0x21, 0x00, 0x34, 0xB5];
    let deltas = [-1, -4, -3, 26, -91, 0, -6, 6, -4, -4, 5, -5, 1, -1, 0, 0];
    let mut stream = vec![0xA0, 2];
    stream.extend(example);
    // Three more lanes without a change, and the tail with the element before the first.
    stream.extend([0; 3]);
    stream.extend([0; 28]);
    stream.extend([100, 1, 2, 3]);
    let mut at = 100_u8;
    let wanted: Vec<u8> = deltas
        .into_iter()
        .flat_map(|delta| {
            at = at.wrapping_add_signed(delta);
            [at, 1, 2, 3]
        })
        .collect();
    assert_eq!(decode::attributes(&stream, 16, 4), Ok(wanted));
}
