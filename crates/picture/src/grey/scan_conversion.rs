//! Beam space to pixels, by a table that lasts as long as field and frame do.

use super::beam_grid::{BEAMS, BeamGrid, GridKey, SAMPLES};
use crate::field::Field;
use crate::frame::Frame;

/// Where one pixel takes its grey from.
#[derive(Debug, Clone, Copy)]
struct Source {
    /// Beam · [`SAMPLES`] + sample of the corner nearest the first beam and the face.
    corner: u32,
    /// Weight of the next sample and of the next beam, of 256.
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
    sources: Vec<Source>,
    spans: Vec<Span>,
    /// The four greys around every place between samples and beams.
    quads: Vec<u32>,
}

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
        let width = usize::try_from(frame.width()).unwrap_or(0);
        for y in 0..frame.height() {
            let mut open = false;
            for x in 0..frame.width() {
                let at = frame.to_mm([f64::from(x), f64::from(y)]);
                let source = source(field, frame, grid, at);
                if source.is_some() && !open {
                    self.spans.push(Span {
                        first: usize::try_from(y).unwrap_or(0) * width
                            + usize::try_from(x).unwrap_or(0),
                        from: self.sources.len(),
                        to: self.sources.len(),
                    });
                }
                open = source.is_some();
                self.sources.extend(source);
                if let Some(span) = self.spans.last_mut() {
                    span.to = self.sources.len();
                }
            }
        }
    }

    /// Draws the greys (beam after beam) as RGBA: opaque inside the field, transparent outside.
    pub(crate) fn draw(&mut self, greys: &[u8], frame: &Frame, rgba: &mut Vec<u8>) {
        self.pack(greys);
        let pixels = u64::from(frame.width()) * u64::from(frame.height());
        rgba.clear();
        rgba.resize(usize::try_from(pixels).unwrap_or(0) * 4, 0);
        for span in &self.spans {
            let sources = &self.sources[span.from..span.to];
            let row = rgba
                .get_mut(span.first * 4..(span.first + sources.len()) * 4)
                .unwrap_or(&mut []);
            for (pixel, source) in row.chunks_exact_mut(4).zip(sources) {
                let quad = self
                    .quads
                    .get(usize::try_from(source.corner).unwrap_or(0))
                    .copied()
                    .unwrap_or(0);
                let grey = u32::from(blend(quad, source.along, source.across));
                let word = (grey * 0x0001_0101) | (u32::from(source.alpha) << 24);
                pixel.copy_from_slice(&word.to_le_bytes());
            }
        }
    }

    /// One word per corner: this sample and the next, of this beam and of the next.
    fn pack(&mut self, greys: &[u8]) {
        self.quads.resize(BEAMS * SAMPLES, 0);
        for (k, quads) in self.quads.chunks_exact_mut(SAMPLES).enumerate() {
            let here = &greys[k * SAMPLES..(k + 1) * SAMPLES];
            let next = (k + 1).min(BEAMS - 1);
            let next = &greys[next * SAMPLES..(next + 1) * SAMPLES];
            let pairs = here.windows(2).zip(next.windows(2));
            for (quad, (a, b)) in quads.iter_mut().zip(pairs) {
                *quad = u32::from_le_bytes([a[0], a[1], b[0], b[1]]);
            }
        }
    }
}

/// Straight between four greys; both weights of 256.
fn blend(quad: u32, along: u8, across: u8) -> u8 {
    const LANES: u32 = 0x00ff_00ff;
    let (along, across) = (u32::from(along), u32::from(across));
    // This sample and the next, of both beams at once: two numbers of 16 bits in a word. Their weighted sum is at most
    // 255 · 256 and stays in its half.
    let low = quad & LANES;
    let high = (quad >> 8) & LANES;
    let both = low * (256 - along) + high * along;
    let sum = (both & 0xffff) * (256 - across) + (both >> 16) * across;
    let [_, _, grey, _] = (sum + 0x8000).to_le_bytes();
    grey
}

fn source(field: &Field, frame: &Frame, grid: &BeamGrid, at: [f64; 2]) -> Option<Source> {
    let p = field.beam_point(at);
    let half = f64::from(u32::try_from(BEAMS - 1).unwrap_or(1)) / 2.0;
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
    let corner = whole(beam.floor(), BEAMS) * SAMPLES + whole(sample.floor(), SAMPLES);
    let byte = |share: f64| u8::try_from(whole(share * 256.0, 255)).unwrap_or(u8::MAX);
    Some(Source {
        corner: u32::try_from(corner).unwrap_or(0),
        along: byte(sample - sample.floor()),
        across: byte(beam - beam.floor()),
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
    use crate::transducer::transducers;
    use geometry::{ApexSide, Mm};

    #[test]
    fn corners_blend_to_themselves() {
        let quad = u32::from_le_bytes([10, 200, 90, 255]);
        assert_eq!(blend(quad, 0, 0), 10, "this sample, this beam");
        assert_eq!(blend(quad, 255, 0), 199, "almost the next sample");
        assert_eq!(blend(quad, 0, 128), 50, "half way to the next beam");
        assert_eq!(blend(u32::MAX, 77, 200), 255, "white stays white");
    }

    /// Greys that are the depth: every pixel must then show its own depth, to half a grey.
    #[test]
    fn every_pixel_shows_its_own_depth_and_beam() {
        for transducer in transducers() {
            for apex in [ApexSide::Top, ApexSide::Bottom] {
                let field = Field::new(transducer, Mm::new(80.0), apex);
                let frame = Frame::fit(&field, 160, 160, Margins::all(4.0));
                let grid = BeamGrid::new(&field);
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
