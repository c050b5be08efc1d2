//! The page's icon: one drawing in flat shapes, written as SVG and as PNG of any size.
//!
//! The drawing is a body as a plain upright solid, cut by a tilted sheet; the notch is a dot at the sheet's edge. Shapes
//! are polygons in the square from 0 to 1, x to the right, y down.

use anyhow::{Context as _, Result, ensure};
use flate2::{Compression, Crc, write::ZlibEncoder};
use std::fmt::Write as _;
use std::io::Write as _;

/// Sizes in pixels that browsers and home screens ask for.
pub(crate) const SIZES: [usize; 3] = [180, 192, 512];

/// Samples of a pixel in each direction.
const FINE: usize = 4;

/// A filled polygon.
struct Shape {
    points: Vec<[f64; 2]>,
    rgb: [u8; 3],
}

// From web/styles/tokens.css; a test sees that they stay equal.
const PAGE: (&str, [u8; 3]) = ("page", [0xfa, 0xf6, 0xee]);
const BODY: (&str, [u8; 3]) = ("control", [0x2f, 0x4a, 0x5c]);
const CUT: (&str, [u8; 3]) = ("line-strong", [0x85, 0x7b, 0x6b]);
const SHEET: (&str, [u8; 3]) = ("line", [0xd9, 0xd0, 0xc0]);
const NOTCH: (&str, [u8; 3]) = ("notch", [0x00, 0x7f, 0x59]);

/// Where the sheet meets the axis of the body, and how far the cut reaches to its sides.
const MIDDLE: [f64; 2] = [0.5, 0.56];
const REACH: [f64; 2] = [0.17, 0.06];
/// Fall of the sheet from left to right.
const FALL: f64 = 0.22;

/// A point of the sheet: `across` and `deep` from −1 to 1.
fn on_sheet(across: f64, deep: f64, size: [f64; 2]) -> [f64; 2] {
    let x = size[0] * across + 0.45 * size[1] * deep;
    [MIDDLE[0] + x, MIDDLE[1] + FALL * x - size[1] * deep]
}

/// Steps of a full turn.
const STEPS: u32 = 64;

/// Cosine and sine of a part of a turn, nearly; exactly on the circle.
///
/// The rational form of a quarter circle: with the same arithmetic on every machine, unlike the functions of its
/// mathematics library.
fn turned(step: u32) -> [f64; 2] {
    let quarter = STEPS / 4;
    let half_tangent = f64::from(step % quarter) / f64::from(quarter);
    let square = half_tangent * half_tangent;
    let [cos, sin] = [1.0 - square, 2.0 * half_tangent].map(|part| part / (1.0 + square));
    match step / quarter % 4 {
        0 => [cos, sin],
        1 => [-sin, cos],
        2 => [-cos, -sin],
        _ => [sin, -cos],
    }
}

/// Half a turn of the cut's outline, from the body's left edge to its right: behind or in front.
fn cut_edge(behind: bool) -> Vec<[f64; 2]> {
    let sign = if behind { 1.0 } else { -1.0 };
    (0..=STEPS / 2)
        .map(|step| {
            let [cos, sin] = turned(step);
            let x = -REACH[0] * cos;
            [MIDDLE[0] + x, MIDDLE[1] + FALL * x - sign * REACH[1] * sin]
        })
        .collect()
}

/// The body's outline above (`up`) or below the cut, without the cut itself, from its right edge to its left.
fn body_end(up: bool) -> Vec<[f64; 2]> {
    let (end, sign) = if up { (0.24, -1.0) } else { (0.78, 1.0) };
    (0..=STEPS / 2)
        .map(|step| {
            let [cos, sin] = turned(step);
            [MIDDLE[0] + REACH[0] * cos, end + sign * 0.12 * sin]
        })
        .collect()
}

fn drawing() -> Vec<Shape> {
    let ground = vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
    let sheet_size = [0.34, 0.17];
    let corners = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
    let sheet = corners.map(|[across, deep]| on_sheet(across, deep, sheet_size));
    let lower = [cut_edge(false), body_end(false)].concat();
    let upper = [cut_edge(false), body_end(true)].concat();
    let face: Vec<[f64; 2]> = cut_edge(true)
        .into_iter()
        .chain(cut_edge(false).into_iter().rev())
        .collect();
    let at = on_sheet(-1.0, 0.0, sheet_size);
    let dot = (0..STEPS)
        .map(|step| {
            let [cos, sin] = turned(step);
            [at[0] + 0.055 * cos, at[1] + 0.055 * sin]
        })
        .collect();
    [
        (ground, PAGE),
        (lower, BODY),
        (sheet.to_vec(), SHEET),
        (face, CUT),
        (upper, BODY),
        (dot, NOTCH),
    ]
    .into_iter()
    .map(|(points, (_, rgb))| Shape { points, rgb })
    .collect()
}

/// The icon as SVG.
pub(crate) fn svg() -> String {
    let mut text = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 512 512\" role=\"img\" aria-label=\"Planeward\">\n",
    );
    for Shape { points, rgb } in drawing() {
        let [red, green, blue] = rgb;
        let _ = write!(text, "<path fill=\"#{red:02x}{green:02x}{blue:02x}\" d=\"");
        for (number, [x, y]) in points.iter().enumerate() {
            let letter = if number == 0 { 'M' } else { 'L' };
            let _ = write!(text, "{letter}{:.1} {:.1}", x * 512.0, y * 512.0);
        }
        text.push_str("z\"/>\n");
    }
    text.push_str("</svg>\n");
    text
}

/// The icon as PNG (W3C Portable Network Graphics, 8-bit RGB), `size` pixels wide and high.
///
/// # Errors
///
/// When the size is not in 1 to 2000.
pub(crate) fn png(size: usize) -> Result<Vec<u8>> {
    ensure!((1..=2000).contains(&size), "an icon of {size} pixels");
    let shapes = drawing();
    let mut rows = Vec::with_capacity(size * (1 + 3 * size));
    for y in 0..size {
        // Filter type 0: bytes as they are.
        rows.push(0);
        rows.extend(row(&shapes, y, size).into_iter().flatten());
    }
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::best());
    packer.write_all(&rows)?;
    let data = packer.finish()?;
    let side = u32::try_from(size).context("size")?.to_be_bytes();
    let mut head = [side, side].concat();
    // Eight bits, RGB, and the only methods there are.
    head.extend([8, 2, 0, 0, 0]);
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    for (kind, data) in [(b"IHDR", &head), (b"IDAT", &data), (b"IEND", &Vec::new())] {
        file.extend(u32::try_from(data.len()).context("length")?.to_be_bytes());
        let mut sum = Crc::new();
        sum.update(kind);
        sum.update(data);
        file.extend(kind);
        file.extend(data);
        file.extend(sum.sum().to_be_bytes());
    }
    Ok(file)
}

/// A row of pixels, each the mean of its samples.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts of pixels and samples, a place within the row, and a mean of bytes, which is a byte"
)]
fn row(shapes: &[Shape], y: usize, size: usize) -> Vec<[u8; 3]> {
    let wide = (size * FINE) as f64;
    let mut sums = vec![[0_usize; 3]; size];
    for sample in 0..FINE {
        let at = ((y * FINE + sample) as f64 + 0.5) / wide;
        let mut line = vec![[0_u8; 3]; size * FINE];
        for shape in shapes {
            for [from, to] in inside(&shape.points, at) {
                // The samples whose middles lie between.
                let place = |x: f64| (x * wide - 0.5).ceil().clamp(0.0, wide) as usize;
                line[place(from)..place(to).max(place(from))].fill(shape.rgb);
            }
        }
        for (sum, samples) in sums.iter_mut().zip(line.chunks(FINE)) {
            for (place, part) in samples.iter().flat_map(|rgb| rgb.iter().enumerate()) {
                sum[place] += usize::from(*part);
            }
        }
    }
    let mean = |sum| ((sum + FINE * FINE / 2) / (FINE * FINE)) as u8;
    sums.into_iter().map(|sum| sum.map(mean)).collect()
}

/// The stretches of a level line inside a polygon, by the even-odd rule.
fn inside(points: &[[f64; 2]], y: f64) -> Vec<[f64; 2]> {
    let ends = points.iter().cycle().skip(1);
    let mut crossings: Vec<f64> = points
        .iter()
        .zip(ends)
        .filter(|([_, ay], [_, by])| (*ay > y) != (*by > y))
        .map(|([ax, ay], [bx, by])| (bx - ax) * (y - ay) / (by - ay) + ax)
        .collect();
    crossings.sort_by(f64::total_cmp);
    let pairs = crossings.chunks_exact(2);
    pairs.map(|pair| [pair[0], pair[1]]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workspace;

    #[test]
    fn the_colours_are_those_of_the_page() {
        let tokens =
            std::fs::read_to_string(workspace::root().join("web/styles/tokens.css")).unwrap();
        for (name, [red, green, blue]) in [PAGE, BODY, CUT, SHEET, NOTCH] {
            let line = format!("--{name}: #{red:02x}{green:02x}{blue:02x};");
            assert!(tokens.contains(&line), "{line} stands in tokens.css");
        }
    }

    #[test]
    fn a_png_has_its_size_and_its_sums() {
        for size in [1, 16, 180] {
            let file = png(size).unwrap();
            assert!(file.starts_with(b"\x89PNG\r\n\x1a\n"), "the signature");
            let wide = u32::from_be_bytes(file[16..20].try_into().unwrap());
            assert_eq!(usize::try_from(wide).unwrap(), size, "the width");
            // The empty last part and its published check sum.
            assert!(file.ends_with(b"\0\0\0\0IEND\xaeB`\x82"), "the end");
        }
        assert!(png(0).is_err() && png(4000).is_err(), "no size");
    }

    #[test]
    fn the_corners_are_ground_and_the_middle_is_cut() {
        let shapes = drawing();
        let at = |x: usize, y| row(&shapes, y, 100)[x];
        for (x, y, colour) in [
            (1, 1, PAGE.1),
            (98, 98, PAGE.1),
            (50, 25, BODY.1),
            (50, 80, BODY.1),
        ] {
            assert_eq!(at(x, y), colour, "at {x}, {y}");
        }
        assert!(
            svg().matches("<path").count() == shapes.len(),
            "one path a shape"
        );
    }
}
