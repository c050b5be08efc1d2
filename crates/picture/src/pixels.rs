//! Runs to RGBA pixels: exact coverage along the lines, several lines per pixel across, thin outlines on top.
//!
//! Colour and outline are summed as differences along a row and added up once, in whole numbers, so that the inside
//! of a region has exactly its own colour and the same bytes come out on every machine.
//!
//! An outline is drawn along the direction in which it advances most: steep contours from the rows, flat ones from
//! the columns. Either way its width across the contour is the same, and contours without any crossing of a row (the
//! level top of a bladder) are not lost.

use crate::look::Look;
use crate::scan::{Label, RunMap};

/// Scan lines per pixel row: colour edges are smoothed from these.
pub(crate) const ROW_LINES: u32 = 4;
/// Scan lines per pixel column: only flat outlines come from these, and they are exact along the column.
pub(crate) const COLUMN_LINES: u32 = 2;

/// Weight of one whole pixel on one scan line.
const UNIT: i32 = 1024;
const ROW_TOTAL_BITS: u32 = 12;
const COLUMN_TOTAL_BITS: u32 = 11;
const _: () = assert!(
    (UNIT as u32 * ROW_LINES) == 1 << ROW_TOTAL_BITS
        && (UNIT as u32 * COLUMN_LINES) == 1 << COLUMN_TOTAL_BITS,
    "a pixel's weights must add up to a power of two"
);

/// Working memory, kept between pictures.
#[derive(Debug, Clone, Default)]
pub(crate) struct PixelScratch {
    colour: Vec<[i32; 4]>,
    line: Vec<i32>,
    flat_lines: Vec<u8>,
}

/// Size of the picture and width of its outlines, pixels.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sheet {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) line_px: f64,
}

/// Draws `rows` ([`ROW_LINES`] per pixel row, u = x + 1/2) and the flat outlines of `columns` ([`COLUMN_LINES`] per
/// pixel column, u = y + 1/2) as RGBA bytes, not premultiplied, row after row.
pub(crate) fn draw(
    rows: &RunMap,
    columns: &RunMap,
    look: &Look,
    sheet: Sheet,
    scratch: &mut PixelScratch,
    rgba: &mut Vec<u8>,
) {
    flat_outlines(columns, look, sheet, scratch);
    let Sheet {
        width,
        height,
        line_px,
    } = sheet;
    rgba.clear();
    rgba.resize(width * height * 4, 0);
    scratch.colour.clear();
    scratch.colour.resize(width + 2, [0; 4]);
    scratch.line.clear();
    scratch.line.resize(width + 2, 0);
    let line_colour = look.line_colour().map(i32::from);
    let per_row = ROW_LINES as usize;
    let steep_limit = 1.0 / f64::from(ROW_LINES);
    for y in 0..height {
        let mut bare = true;
        for sub in 0..per_row {
            let runs = rows.line(y * per_row + sub);
            let mut before: Option<Label> = None;
            let mut colour_before = [0; 4];
            for run in runs {
                let colour = look.colour(run.label);
                let step = [0, 1, 2, 3].map(|c: usize| colour[c] - colour_before[c]);
                if step != [0; 4] {
                    bare = false;
                    add_step(&mut scratch.colour, run.start, step);
                }
                if let Some(before) = before
                    && run.slope.abs() <= steep_limit
                {
                    let weight = look.line_weight(before, run.label);
                    if weight > 0 {
                        let slope = run.slope * f64::from(ROW_LINES);
                        add_stroke(&mut scratch.line, width, run.start, slope, line_px, weight);
                    }
                }
                before = Some(run.label);
                colour_before = colour;
            }
        }
        if bare {
            continue;
        }
        let flat = &scratch.flat_lines[y * width..(y + 1) * width];
        let out = &mut rgba[y * width * 4..(y + 1) * width * 4];
        finish_row(
            scratch.colour.as_mut_slice(),
            &mut scratch.line,
            flat,
            line_colour,
            out,
        );
    }
}

/// Adds the row up, lays the outlines over it and clears the sums for the next row.
fn finish_row(
    colour: &mut [[i32; 4]],
    line: &mut [i32],
    flat: &[u8],
    line_colour: [i32; 3],
    out: &mut [u8],
) {
    let mut sum = [0; 4];
    let mut stroke = 0;
    let cells = colour.iter_mut().zip(line.iter_mut());
    for ((cell, ink), (flat, pixel)) in cells.zip(flat.iter().zip(out.chunks_exact_mut(4))) {
        for c in 0..4 {
            sum[c] += cell[c];
        }
        stroke += *ink;
        *cell = [0; 4];
        *ink = 0;
        let alpha = (sum[3] + (1 << (ROW_TOTAL_BITS - 1))) >> ROW_TOTAL_BITS;
        if alpha == 0 {
            continue;
        }
        let ink = ((stroke >> (ROW_TOTAL_BITS - 8)) + i32::from(*flat)).min(256);
        for c in 0..3 {
            // At the edge of the field the sum holds colour times coverage; the canvas wants the colour itself.
            let own = if alpha == 255 {
                (sum[c] + (1 << (ROW_TOTAL_BITS - 1))) >> ROW_TOTAL_BITS
            } else {
                ((sum[c] / alpha * 255) >> ROW_TOTAL_BITS).min(255)
            };
            let mixed = own + (((line_colour[c] - own) * ink) >> 8);
            pixel[c] = to_byte(mixed);
        }
        pixel[3] = to_byte(alpha);
    }
    for cell in colour.iter_mut().rev().take(2) {
        *cell = [0; 4];
    }
    for ink in line.iter_mut().rev().take(2) {
        *ink = 0;
    }
}

/// Outlines that run more across than down, as a coverage per pixel (0 to 255).
fn flat_outlines(columns: &RunMap, look: &Look, sheet: Sheet, scratch: &mut PixelScratch) {
    let Sheet {
        width,
        height,
        line_px,
    } = sheet;
    scratch.flat_lines.clear();
    scratch.flat_lines.resize(width * height, 0);
    scratch.line.clear();
    scratch.line.resize(height + 2, 0);
    let per_column = COLUMN_LINES as usize;
    let flat_limit = 1.0 / f64::from(COLUMN_LINES);
    for x in 0..width {
        let mut bare = true;
        for sub in 0..per_column {
            let mut before: Option<Label> = None;
            for run in columns.line(x * per_column + sub) {
                if let Some(before) = before
                    && run.slope.abs() < flat_limit
                {
                    let weight = look.line_weight(before, run.label);
                    if weight > 0 {
                        bare = false;
                        let slope = run.slope * f64::from(COLUMN_LINES);
                        add_stroke(&mut scratch.line, height, run.start, slope, line_px, weight);
                    }
                }
                before = Some(run.label);
            }
        }
        if bare {
            continue;
        }
        let mut stroke = 0;
        for (y, ink) in scratch.line.iter_mut().enumerate() {
            stroke += *ink;
            *ink = 0;
            if stroke != 0 && y < height {
                scratch.flat_lines[y * width + x] =
                    to_byte((stroke >> (COLUMN_TOTAL_BITS - 8)).min(255));
            }
        }
    }
}

/// A change of colour at `u`, split between the pixel it falls in and the next.
fn add_step(sums: &mut [[i32; 4]], u: f64, step: [i32; 4]) {
    let (pixel, part) = split(u);
    if let Some([here, next]) = sums
        .get_mut(pixel..pixel + 2)
        .and_then(|s| <&mut [_; 2]>::try_from(s).ok())
    {
        for c in 0..4 {
            here[c] += step[c] * (UNIT - part);
            next[c] += step[c] * part;
        }
    }
}

/// A stroke of width `line_px` across a contour that crosses the line at `u` with this slope.
fn add_stroke(sums: &mut [i32], end: usize, u: f64, slope: f64, line_px: f64, weight: i32) {
    let half = line_px / 2.0 * (1.0 + slope * slope).sqrt();
    let last = to_f64(end);
    for (at, sign) in [
        ((u - half).max(0.0), weight),
        ((u + half).min(last), -weight),
    ] {
        let (pixel, part) = split(at);
        if let Some([here, next]) = sums
            .get_mut(pixel..pixel + 2)
            .and_then(|s| <&mut [_; 2]>::try_from(s).ok())
        {
            *here += (sign * (UNIT - part)) >> 8;
            *next += ((sign * UNIT) >> 8) - ((sign * (UNIT - part)) >> 8);
        }
    }
}

/// Whole pixel and the rest in [`UNIT`]s; the place is never negative.
fn split(u: f64) -> (usize, i32) {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "places lie between 0 and the width of a picture"
    )]
    let fixed = (u * f64::from(UNIT) + 0.5) as u32;
    let whole = fixed / (UNIT as u32);
    let part = fixed % (UNIT as u32);
    (whole as usize, i32::try_from(part).unwrap_or(0))
}

fn to_f64(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

fn to_byte(n: i32) -> u8 {
    u8::try_from(n.clamp(0, 255)).unwrap_or(0)
}
