//! The grey-scale picture: what an ultrasound system would show of a section.
//!
//! The way of a picture: `beam_runs` finds what each beam meets, exactly;
//! `press` shortens it under a pressed probe; `echoes` sends each beam through it
//! (attenuation, boundaries with their angle), `edges` takes away what refraction bends aside and `multipath` adds what took a longer way (ghosts, haze
//! behind gas, mirror images); `speckle` gives every little cell of the body its own random echo and `texture` its
//! septa and fibres; `point_spread` smears all of it; `compression` makes greys; `scan_conversion` puts them in place.
//!
//! Nothing is drawn for effect: shadows, enhancement, edge shadows and anisotropy follow from the tissue table and the
//! formulas of [`acoustics`]. What is simplified beyond that says so where it stands. What is left out: motion, flow,
//! compounding, harmonics, errors of speed, side lobes, the tilt of boundaries out of the plane.
//!
//! The same bytes come out natively and in WebAssembly: additions, multiplications, divisions and square roots in
//! single precision, in a fixed order, and `libm` where more is needed.

pub mod acoustics;
mod beam_grid;
mod beam_runs;
mod blend;
mod compression;
mod decibel;
mod echoes;
mod edges;
mod form;
mod medium;
mod multipath;
mod phantom;
mod point_spread;
mod press;
mod scan_conversion;
mod settings;
mod speckle;
mod texture;

use anatomy::{Body, Section};
use geometry::ImagePlane;

pub use beam_grid::{BEAMS, SAMPLES};
pub use blend::blend_pictures;
pub use compression::LIVER_GREY;
pub use phantom::{GOLDEN_PX, Phantom, golden_pictures, grey_scale_of_phantom};
pub use point_spread::resolution_mm;
pub use settings::{GreySettings, TGC_SLIDERS};

use crate::field::Field;
use crate::frame::Frame;
use crate::gel::Gel;
use crate::scan::{Painter, RunMap};
use beam_grid::{BeamGrid, GridKey};
use echoes::Scene;
use form::BeamImage;
use medium::{Media, single};
use point_spread::PointSpread;
use press::Press;
use scan_conversion::ScanTable;

/// Working memory of grey-scale pictures, to be kept from one picture to the next.
#[derive(Debug, Clone, Default)]
pub struct GreyScratch {
    painter: Painter,
    gel: Gel,
    grid: Option<BeamGrid>,
    spread: Option<PointSpread>,
    unpressed: RunMap,
    press: Press,
    runs: RunMap,
    media: Media,
    image: BeamImage,
    /// Two views of one scan are usual: the picture, and the sheet in the body.
    tables: [ScanTable; 2],
    last_table: usize,
}

/// Draws what an ultrasound system would show of a section, as RGBA bytes (not premultiplied, rows from the top).
///
/// Opaque inside the field, transparent outside, as [`schematic`](crate::schematic()) is, so that the two can be faded into
/// each other with [`blend_pictures`].
pub fn grey_scale(
    body: &Body,
    section: &Section,
    field: &Field,
    frame: &Frame,
    settings: &GreySettings,
    scratch: &mut GreyScratch,
    rgba: &mut Vec<u8>,
) {
    grey_scan(body, section, field, settings, scratch);
    grey_pixels(field, frame, settings, scratch, rgba);
}

/// The first half of [`grey_scale`]: echoes of all beams, kept in `scratch`.
///
/// Depends on everything but the frame and the gains, so one scan serves several [`grey_pixels`].
pub fn grey_scan(
    body: &Body,
    section: &Section,
    field: &Field,
    settings: &GreySettings,
    scratch: &mut GreyScratch,
) {
    scratch.meet(body, section, field, settings);
    scratch.insonify(section.plane(), field, settings);
}

/// The second half of [`grey_scale`]: the pixels of the scan last kept in `scratch`, which was made with this field.
/// Nothing is drawn before a scan.
pub fn grey_pixels(
    field: &Field,
    frame: &Frame,
    settings: &GreySettings,
    scratch: &mut GreyScratch,
    rgba: &mut Vec<u8>,
) {
    scratch.show(field, frame, settings, rgba);
}

impl GreyScratch {
    /// First step of [`grey_scale`], apart for measuring: what every beam meets.
    #[doc(hidden)]
    pub fn meet(&mut self, body: &Body, section: &Section, field: &Field, settings: &GreySettings) {
        self.prepare(field, settings);
        let Some(grid) = &self.grid else { return };
        beam_runs::paint_beams(
            body,
            section,
            field,
            grid,
            &mut self.painter,
            &mut self.gel,
            &mut self.unpressed,
        );
        self.press.prepare(body);
        self.press.apply(&self.unpressed, &mut self.runs);
        self.media.prepare(body, section, settings.mhz(field));
    }

    /// Second step of [`grey_scale`], apart for measuring: echoes of all beams.
    #[doc(hidden)]
    pub fn insonify(&mut self, plane: &ImagePlane, field: &Field, settings: &GreySettings) {
        let (Some(grid), Some(spread)) = (&self.grid, &self.spread) else {
            return;
        };
        let mhz = single(settings.mhz(field));
        let mut at_face = [0.0; SAMPLES];
        multipath::ring_at_face(single(grid.step_mm), mhz, &mut at_face);
        let scene = Scene {
            grid,
            runs: &self.runs,
            media: &self.media,
            mhz,
            at_face: &at_face,
            line_gain: &spread.line_gain,
        };
        self.image.insonify(&scene, plane, spread, settings.noise);
    }

    /// Third step of [`grey_scale`], apart for measuring: smearing across the beams, greys, pixels.
    #[doc(hidden)]
    pub fn show(
        &mut self,
        field: &Field,
        frame: &Frame,
        settings: &GreySettings,
        rgba: &mut Vec<u8>,
    ) {
        let (Some(grid), Some(spread)) = (&self.grid, &self.spread) else {
            return;
        };
        self.image.detect(field, grid, spread, settings);
        // Another frame takes the place of the one that has not been drawn for longer.
        let fitting = self.tables.iter().position(|t| t.fits(frame, grid));
        let number = fitting.unwrap_or(1 - self.last_table);
        self.last_table = number;
        let table = &mut self.tables[number];
        table.prepare(field, frame, grid);
        table.draw(&self.image.greys, frame, rgba);
    }

    /// Grid and point spread, made anew only when field or settings ask for it.
    fn prepare(&mut self, field: &Field, settings: &GreySettings) {
        if self
            .grid
            .as_ref()
            .is_none_or(|grid| grid.key() != GridKey::of(field))
        {
            self.grid = Some(BeamGrid::new(field));
        }
        if let Some(grid) = &self.grid
            && !self
                .spread
                .as_ref()
                .is_some_and(|spread| spread.fits(field, grid, settings))
        {
            self.spread = Some(PointSpread::new(field, grid, settings));
        }
    }
}
