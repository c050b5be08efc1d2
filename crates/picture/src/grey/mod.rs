//! The grey-scale picture: what an ultrasound system would show of a section.
//!
//! The way of a picture: `beam_runs` finds what each beam meets, exactly;
//! `transmission` tells what is left of every beam at every depth (attenuation, boundaries, edges), `echoes` what comes
//! back from there (boundaries with their angle, tissue), and `multipath` adds what took a longer way (ghosts, haze
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
mod bubbles;
mod compression;
mod decibel;
mod echoes;
mod form;
mod knobs;
mod medium;
mod multipath;
mod phantom;
mod point_spread;
mod scan_conversion;
mod settings;
mod speckle;
mod spelled;
mod sweep;
mod texture;
mod transmission;
mod weave;

use anatomy::{Body, Section};
use geometry::ImagePlane;

pub use beam_grid::{BEAMS, Detail, SAMPLES};
pub use blend::blend_pictures;
pub use compression::LIVER_GREY;
pub use knobs::{Knob, KnobError, KnobRange, KnobUnit};
pub use phantom::{GOLDEN_PX, Phantom, golden_lines, golden_pictures, grey_scale_of_phantom};
pub use point_spread::resolution_mm;
pub use settings::{GreySettings, TGC_SLIDERS};
#[doc(hidden)]
pub use spelled::{spelled_fibres, spelled_scan};
pub use sweep::{SWEEP_PLANES, Sweep};

use crate::field::Field;
use crate::frame::Frame;
use crate::scan::{Painter, RunMap};
use beam_grid::{BeamGrid, GridKey};
use echoes::Scene;
use form::BeamImage;
use medium::{Media, single};
use point_spread::PointSpread;
use scan_conversion::ScanTable;

/// Working memory of grey-scale pictures, to be kept from one picture to the next.
#[derive(Debug, Clone, Default)]
pub struct GreyScratch {
    painter: Painter,
    shapes: beam_runs::Shapes,
    /// One for each [`Detail`], so that a hand that stops and goes on makes nothing anew.
    levels: [Level; 2],
    /// That of the scan at hand.
    detail: Detail,
    runs: RunMap,
    media: Media,
    image: BeamImage,
}

/// What lasts as long as field, settings and frame do.
#[derive(Debug, Clone, Default)]
struct Level {
    grid: Option<BeamGrid>,
    spread: Option<PointSpread>,
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

/// The image in patches of uneven boundaries: place of its origin, and change per mm along its axes.
fn patches(plane: &ImagePlane) -> [[f32; 3]; 3] {
    let zero = geometry::Point::new(0.0, 0.0, 0.0);
    [
        plane.origin() - zero,
        plane.row().to_vector(),
        plane.column().to_vector(),
    ]
    .map(|v| v.to_array().map(|x| single(x / echoes::PATCH_MM)))
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
    grey_scan_at(Detail::Full, body, section, field, settings, scratch);
}

/// [`grey_scan`] with the detail that the caller chooses: [`Detail::Moving`] while the probe moves costs about half.
///
/// [`grey_pixels`] draws either. Going from one detail to the other keeps the tables of both.
pub fn grey_scan_at(
    detail: Detail,
    body: &Body,
    section: &Section,
    field: &Field,
    settings: &GreySettings,
    scratch: &mut GreyScratch,
) {
    scratch.detail = detail;
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
    scratch.detect(field, settings);
    scratch.draw(field, frame, rgba);
}

impl GreyScratch {
    /// Detail of the next steps, for measuring.
    #[doc(hidden)]
    pub fn set_detail(&mut self, detail: Detail) {
        self.detail = detail;
    }

    fn level(&self) -> &Level {
        &self.levels[self.detail as usize]
    }

    /// First step of [`grey_scale`], apart for measuring: what every beam meets.
    #[doc(hidden)]
    pub fn meet(&mut self, body: &Body, section: &Section, field: &Field, settings: &GreySettings) {
        self.prepare(field, settings);
        let Some(grid) = &self.levels[self.detail as usize].grid else {
            return;
        };
        beam_runs::paint_beams(
            body,
            section,
            field,
            grid,
            &mut self.painter,
            &mut self.shapes,
            &mut self.runs,
        );
        self.media.prepare(body, section, settings.mhz(field));
        bubbles::float(section.plane(), grid, &self.media, &mut self.runs);
    }

    /// Second step of [`grey_scale`], apart for measuring: echoes of all beams.
    #[doc(hidden)]
    pub fn insonify(&mut self, plane: &ImagePlane, field: &Field, settings: &GreySettings) {
        let Level {
            grid: Some(grid),
            spread: Some(spread),
            ..
        } = &self.levels[self.detail as usize]
        else {
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
            patches: patches(plane),
            at_face: &at_face,
            line_gain: &spread.line_gain,
        };
        self.image.insonify(&scene, plane, spread, settings.noise);
    }

    /// Third step of [`grey_scale`], apart for measuring: greys.
    #[doc(hidden)]
    pub fn detect(&mut self, field: &Field, settings: &GreySettings) {
        if let Some(grid) = &self.levels[self.detail as usize].grid {
            self.image.detect(field, grid, settings);
        }
    }

    /// Fourth step of [`grey_scale`], apart for measuring: pixels.
    #[doc(hidden)]
    pub fn draw(&mut self, field: &Field, frame: &Frame, rgba: &mut Vec<u8>) {
        let level = &mut self.levels[self.detail as usize];
        let Some(grid) = &level.grid else { return };
        if self.image.greys.is_empty() {
            return;
        }
        // Another frame takes the place of the one that has not been drawn for longer.
        let fitting = level.tables.iter().position(|t| t.fits(frame, grid));
        let number = fitting.unwrap_or(1 - level.last_table);
        level.last_table = number;
        let table = &mut level.tables[number];
        table.prepare(field, frame, grid);
        table.draw(&self.image.greys, frame, rgba);
    }

    /// The greys of the scan last kept, beam after beam; `None` before a scan.
    pub(crate) fn greys(&mut self, field: &Field, settings: &GreySettings) -> Option<&[u8]> {
        self.level().grid.as_ref()?;
        self.detect(field, settings);
        Some(&self.image.greys)
    }

    /// Grid and point spread, made anew only when field or settings ask for it.
    fn prepare(&mut self, field: &Field, settings: &GreySettings) {
        let detail = self.detail;
        let level = &mut self.levels[detail as usize];
        if level
            .grid
            .as_ref()
            .is_none_or(|grid| grid.key() != GridKey::of(field, detail))
        {
            level.grid = Some(BeamGrid::new(field, detail));
        }
        if let Some(grid) = &level.grid
            && !level
                .spread
                .as_ref()
                .is_some_and(|spread| spread.fits(field, grid, settings))
        {
            level.spread = Some(PointSpread::new(field, grid, settings));
        }
    }
}
