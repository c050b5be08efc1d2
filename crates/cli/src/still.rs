//! A picture of a view as PNG, with the letters of its sides and its mark.

use anatomy::Body;
use anyhow::{Context as _, Result};
use geometry::{ImageSide, MarkSide, screen_threshold};
use picture::{Frame, GreyScratch, GreySettings, Margins, Press, grey_scale, press_section};
use practice::View;
use practice::compose::mark_side;

/// Size of the picture, pixels.
const WIDTH: u32 = 640;
const HEIGHT: u32 = 480;

/// Room around the field for letters, pixels.
const MARGIN_PX: f64 = 44.0;

/// How large a point of a letter is drawn, pixels.
const DOT: usize = 4;

/// What stands around the picture.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Still {
    pub(crate) letters: bool,
    pub(crate) mark: bool,
}

/// Letters of directions, five by seven points, a row a number.
const LETTERS: [(char, [u8; 7]); 6] = [
    (
        'R',
        [
            0b11110, 0b10001, 0b10001, 0b11110, 0b10100, 0b10010, 0b10001,
        ],
    ),
    (
        'L',
        [
            0b10000, 0b10000, 0b10000, 0b10000, 0b10000, 0b10000, 0b11111,
        ],
    ),
    (
        'A',
        [
            0b01110, 0b10001, 0b10001, 0b11111, 0b10001, 0b10001, 0b10001,
        ],
    ),
    (
        'P',
        [
            0b11110, 0b10001, 0b10001, 0b11110, 0b10000, 0b10000, 0b10000,
        ],
    ),
    (
        'H',
        [
            0b10001, 0b10001, 0b10001, 0b11111, 0b10001, 0b10001, 0b10001,
        ],
    ),
    (
        'F',
        [
            0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b10000,
        ],
    ),
];

/// The grey-scale picture of a view as PNG.
pub(crate) fn still(view: &View, body: &Body, look: Still) -> Result<Vec<u8>> {
    let field = view.field();
    let frame = Frame::fit(&field, WIDTH, HEIGHT, Margins::all(MARGIN_PX));
    let (mut section, mut press) = (body.section(&view.plane()), Press::default());
    press_section(body, &field, &mut section, &mut press);
    let (mut scratch, mut rgba) = (GreyScratch::default(), Vec::new());
    let settings = GreySettings::for_field(&field);
    grey_scale(
        body,
        &section,
        &field,
        &frame,
        &settings,
        &mut scratch,
        &mut rgba,
    );
    // Black behind the field, so that the letters stand out in every program.
    for pixel in rgba.chunks_exact_mut(4) {
        let share = u16::from(pixel[3]);
        for channel in &mut pixel[..3] {
            *channel = u8::try_from(u16::from(*channel) * share / 255).unwrap_or(255);
        }
        pixel[3] = 255;
    }
    if look.letters {
        let sides = view.sides();
        let threshold = screen_threshold(view.tolerance);
        for side in ImageSide::ALL {
            write(&sides.get(side).letters(threshold), side, &mut rgba);
        }
    }
    if look.mark {
        mark(view.placement.convention.mark, &mut rgba);
    }
    png(&rgba)
}

fn write(letters: &str, side: ImageSide, rgba: &mut [u8]) {
    let (width, height) = (WIDTH as usize, HEIGHT as usize);
    let (step, tall) = (6 * DOT, 7 * DOT);
    let long = letters.chars().count() * step;
    let (x, y) = match side {
        ImageSide::Left => (6, (height - tall) / 2),
        ImageSide::Right => (width.saturating_sub(long + 2), (height - tall) / 2),
        ImageSide::Top => ((width - long) / 2, 6),
        ImageSide::Bottom => ((width - long) / 2, height - tall - 6),
    };
    for (place, letter) in letters.chars().enumerate() {
        let Some((_, rows)) = LETTERS.iter().find(|(known, _)| *known == letter) else {
            continue;
        };
        for (row, points) in rows.iter().enumerate() {
            for column in 0..5 {
                if points >> (4 - column) & 1 == 1 {
                    let (left, top) = (x + place * step + column * DOT, y + row * DOT);
                    block(left, top, DOT, [255, 255, 255], rgba);
                }
            }
        }
    }
}

/// The mark: a dot at the top of its side.
fn mark(side: MarkSide, rgba: &mut [u8]) {
    let left = match mark_side(side) {
        ImageSide::Right => WIDTH as usize - 30,
        _ => 12,
    };
    block(left, 12, 18, [255, 190, 60], rgba);
}

fn block(left: usize, top: usize, size: usize, colour: [u8; 3], rgba: &mut [u8]) {
    for y in top..top + size {
        for x in left..left + size {
            let at = (y * WIDTH as usize + x) * 4;
            if let Some(pixel) = rgba.get_mut(at..at + 3) {
                pixel.copy_from_slice(&colour);
            }
        }
    }
}

fn png(rgba: &[u8]) -> Result<Vec<u8>> {
    let grey: Vec<u8> = rgba
        .chunks_exact(4)
        .flat_map(|pixel| pixel[..3].to_vec())
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, WIDTH, HEIGHT);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder
        .write_header()
        .context("the picture cannot be written")?;
    writer
        .write_image_data(&grey)
        .context("the picture cannot be written")?;
    writer.finish().context("the picture cannot be written")?;
    Ok(bytes)
}
