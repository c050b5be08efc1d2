//! Beam space to pixels, by a table that lasts as long as field and frame do.

use super::beam_grid::{BEAMS, BeamGrid, GridKey, SAMPLES};
use crate::field::Field;
use crate::frame::Frame;

/// Where one pixel takes its grey from.
#[derive(Debug, Clone, Copy)]
struct Source {
    /// Beam · [`SAMPLES`] + sample of the corner nearest the first beam and the face.
    corner: u32,
    /// Weight of the next sample, of 128, and of the next beam, of 256.
    along: u8,
    across: u8,
    /// Opacity: less than 255 where the edge of the field cuts the pixel.
    alpha: u8,
}

/// Neighbouring pixels of one row that the field covers.
#[derive(Debug, Clone, Copy)]
struct Span {
    /// First pixel, counted from the top left.
    first: usize,
    /// Its sources.
    from: usize,
    to: usize,
}

/// The table.
#[derive(Debug, Clone, Default)]
pub(crate) struct ScanTable {
    made_for: Option<(GridKey, Frame)>,
    /// Corner, along and across of each pixel, from the highest bit down: 17, 7 and 8 bits. One word a pixel, because
    /// the table is read from far memory for every picture.
    sources: Vec<u32>,
    spans: Vec<Span>,
    /// Pixels that are not opaque: number, opacity.
    edges: Vec<(usize, u8)>,
    /// The four greys around every place between samples and beams.
    quads: Vec<u32>,
}

/// Pixels that are worked out together, in vector instructions.
const TOGETHER: usize = 16;

/// Corners that a source can name: exactly as many as a picture has, so that no look into a full table can fail.
const CORNERS: usize = 1 << 17;
const _: () = assert!(BEAMS * SAMPLES == CORNERS, "17 bits name a corner");

impl ScanTable {
    /// Whether the table at hand is for this field and frame.
    pub(crate) fn fits(&self, frame: &Frame, grid: &BeamGrid) -> bool {
        self.made_for == Some((grid.key(), *frame))
    }

    /// Makes the table for a field and a frame unless it is the one at hand.
    pub(crate) fn prepare(&mut self, field: &Field, frame: &Frame, grid: &BeamGrid) {
        if self.fits(frame, grid) {
            return;
        }
        self.made_for = Some((grid.key(), *frame));
        self.sources.clear();
        self.spans.clear();
        self.edges.clear();
        let width = usize::try_from(frame.width()).unwrap_or(0);
        for (y, row) in (0..frame.height()).zip((0..).step_by(width.max(1))) {
            let mut open = false;
            for (x, pixel) in (0..frame.width()).zip(row..) {
                let at = frame.to_mm([f64::from(x), f64::from(y)]);
                let source = source(field, frame, grid, at);
                if source.is_some() && !open {
                    self.spans.push(Span {
                        first: pixel,
                        from: self.sources.len(),
                        to: self.sources.len(),
                    });
                }
                open = source.is_some();
                if let Some(source) = source {
                    let [along, across] = [source.along, source.across].map(u32::from);
                    self.sources.push(source.corner << 15 | along << 8 | across);
                    if source.alpha < u8::MAX {
                        self.edges.push((pixel, source.alpha));
                    }
                }
                if let Some(span) = self.spans.last_mut() {
                    span.to = self.sources.len();
                }
            }
        }
    }

    /// Draws the greys (beam after beam) as RGBA: opaque inside the field, transparent outside.
    pub(crate) fn draw(&mut self, greys: &[u8], frame: &Frame, rgba: &mut Vec<u8>) {
        self.pack(greys);
        let Ok(quads) = <&[u32; CORNERS]>::try_from(self.quads.as_slice()) else {
            return;
        };
        let pixels = u64::from(frame.width()) * u64::from(frame.height());
        rgba.resize(usize::try_from(pixels).unwrap_or(0) * 4, 0);
        let mut end = 0;
        for span in &self.spans {
            let (first, last) = (span.first * 4, (span.first + span.to - span.from) * 4);
            let Some(sources) = self.sources.get(span.from..span.to) else {
                return;
            };
            let Some(gap) = rgba.get_mut(end..first) else {
                return;
            };
            gap.fill(0);
            let Some(row) = rgba.get_mut(first..last) else {
                return;
            };
            end = last;
            let mut together = row.chunks_exact_mut(TOGETHER * 4);
            let mut from = sources.chunks_exact(TOGETHER);
            for (pixels, sources) in (&mut together).zip(&mut from) {
                let mut found = [0_u32; TOGETHER];
                for (quad, source) in found.iter_mut().zip(sources) {
                    *quad = quads[(source >> 15) as usize];
                }
                for ((pixel, quad), source) in pixels.chunks_exact_mut(4).zip(found).zip(sources) {
                    pixel.copy_from_slice(&blend(quad, *source).to_le_bytes());
                }
            }
            let rest = together.into_remainder().chunks_exact_mut(4);
            for (pixel, source) in rest.zip(from.remainder()) {
                let quad = quads[(source >> 15) as usize];
                pixel.copy_from_slice(&blend(quad, *source).to_le_bytes());
            }
        }
        if let Some(rest) = rgba.get_mut(end..) {
            rest.fill(0);
        }
        for (pixel, opacity) in &self.edges {
            if let Some(alpha) = rgba.get_mut(pixel * 4 + 3) {
                *alpha = *opacity;
            }
        }
    }

    /// One word per corner: this sample and the next, of this beam and of the next.
    fn pack(&mut self, greys: &[u8]) {
        let beams = greys.len() / SAMPLES;
        self.quads.resize(CORNERS, 0);
        let lines = self.quads.chunks_exact_mut(SAMPLES).take(beams);
        for (k, quads) in lines.enumerate() {
            let here = &greys[k * SAMPLES..(k + 1) * SAMPLES];
            let next = (k + 1).min(beams - 1);
            let next = &greys[next * SAMPLES..(next + 1) * SAMPLES];
            let pairs = here.windows(2).zip(next.windows(2));
            for (quad, (a, b)) in quads.iter_mut().zip(pairs) {
                *quad = u32::from_le_bytes([a[0], a[1], b[0], b[1]]);
            }
        }
    }
}

/// Straight between four greys, as an opaque pixel.
#[inline(always)]
fn blend(quad: u32, source: u32) -> u32 {
    const LANES: u32 = 0x00ff_00ff;
    let (along, across) = (source >> 8 & 0x7f, source & 0xff);
    // This sample and the next, of both beams at once: two numbers of 16 bits in a word. Their weighted sum is at most
    // 255 · 128 and stays in its half.
    let low = quad & LANES;
    let high = (quad >> 8) & LANES;
    let both = low * (128 - along) + high * along;
    let sum = (both & 0xffff) * (256 - across) + (both >> 16) * across;
    let grey = (sum + 0x4000) >> 15;
    (grey * 0x0001_0101) | 0xff00_0000
}

fn source(field: &Field, frame: &Frame, grid: &BeamGrid, at: [f64; 2]) -> Option<Source> {
    let p = field.beam_point(at);
    let half = f64::from(u32::try_from(grid.count() - 1).unwrap_or(1)) / 2.0;
    // Distance to the nearest edge of the field, mm; positive inside.
    let to_side = (1.0 - p.beam.abs()) * half * grid.spacing_mm(p.depth_mm.max(0.0));
    let inside = to_side.min(p.depth_mm).min(grid.depth_mm - p.depth_mm);
    let cover = (inside / frame.mm_per_px() + 0.5).min(1.0);
    let alpha = whole(cover * 255.0, 255);
    if cover <= 0.0 || alpha == 0 {
        return None;
    }
    let place = (p.beam + 1.0) * half;
    let beam = place.clamp(0.0, 2.0 * half - 1e-9);
    let last = f64::from(u32::try_from(SAMPLES).unwrap_or(1)) - 1.0;
    let sample = (p.depth_mm / grid.step_mm - 0.5).clamp(0.0, last - 1e-9);
    let corner = whole(beam.floor(), grid.count()) * SAMPLES + whole(sample.floor(), SAMPLES);
    let weight = |share: f64, parts: u8| {
        let most = usize::from(parts);
        u8::try_from(whole(share * (f64::from(parts) + 1.0), most)).unwrap_or(parts)
    };
    Some(Source {
        corner: u32::try_from(corner).unwrap_or(0),
        along: weight(sample - sample.floor(), 127),
        across: weight(beam - beam.floor(), 255),
        alpha: u8::try_from(alpha).unwrap_or(u8::MAX),
    })
}

/// The nearest whole number, between 0 and `most`.
fn whole(x: f64, most: usize) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a cast from float stops at 0"
    )]
    let n = (x + 0.5) as usize;
    n.min(most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Margins;
    use crate::grey::beam_grid::Detail;
    use crate::transducer::transducers;
    use geometry::{ApexSide, Mm};

    #[test]
    fn corners_blend_to_themselves() {
        let quad = u32::from_le_bytes([10, 200, 90, 255]);
        for (quad, along, across, grey, what) in [
            (quad, 0, 0, 10, "this sample, this beam"),
            (quad, 127, 0, 199, "almost the next sample"),
            (quad, 0, 128, 50, "half way to the next beam"),
            (u32::MAX, 77, 200, 255, "white stays white"),
        ] {
            let pixel = blend(quad, 0x1_2345 << 15 | along << 8 | across).to_le_bytes();
            assert_eq!(pixel, [grey, grey, grey, 255], "{what}");
        }
    }

    /// Greys that are the depth: every pixel must then show its own depth, to half a grey.
    #[test]
    fn every_pixel_shows_its_own_depth_and_beam() {
        for transducer in transducers() {
            for apex in [ApexSide::Top, ApexSide::Bottom] {
                let field = Field::new(transducer, Mm::new(80.0), apex);
                let frame = Frame::fit(&field, 160, 160, Margins::all(4.0));
                let grid = BeamGrid::new(&field, Detail::Full);
                let mut table = ScanTable::default();
                table.prepare(&field, &frame, &grid);
                let by_depth: Vec<u8> = (0..BEAMS * SAMPLES)
                    .map(|i| u8::try_from(i % SAMPLES / 2).unwrap())
                    .collect();
                let by_beam: Vec<u8> = (0..BEAMS * SAMPLES)
                    .map(|i| u8::try_from(i / SAMPLES).unwrap())
                    .collect();
                let (mut depths, mut beams) = (Vec::new(), Vec::new());
                table.draw(&by_depth, &frame, &mut depths);
                table.draw(&by_beam, &frame, &mut beams);
                let mut inside = 0;
                for y in 0..160_u32 {
                    for x in 0..160_u32 {
                        let at = frame.to_mm([f64::from(x), f64::from(y)]);
                        let p = field.beam_point(at);
                        let i = (y * 160 + x) as usize * 4;
                        let margin = frame.mm_per_px();
                        if depths[i + 3] == 0 {
                            assert!(
                                !field.contains(at) || p.depth_mm < margin,
                                "{}: hole at {at:?}",
                                transducer.id
                            );
                        }
                        let whole = field.depth().get();
                        let deep = p.depth_mm > 0.5 && p.depth_mm < whole - 0.5;
                        if p.beam.abs() < 0.98 && deep {
                            inside += 1;
                            let want = (p.depth_mm / whole * 512.0 - 0.5) / 2.0;
                            assert!(
                                (f64::from(depths[i]) - want).abs() < 1.1,
                                "{}: depth {} at {p:?}",
                                transducer.id,
                                depths[i]
                            );
                            let want = (p.beam + 1.0) * 127.5;
                            assert!(
                                (f64::from(beams[i]) - want).abs() < 0.6,
                                "{}: beam {} at {p:?}",
                                transducer.id,
                                beams[i]
                            );
                            let side = (1.0 - p.beam.abs()) * 127.5 * grid.spacing_mm(p.depth_mm);
                            let ends = p.depth_mm.min(whole - p.depth_mm);
                            if side > margin && ends > margin {
                                assert_eq!(depths[i + 3], 255, "opaque inside at {p:?}");
                            }
                        }
                    }
                }
                assert!(inside > 3000, "{}: only {inside} pixels", transducer.id);
            }
        }
    }
}
