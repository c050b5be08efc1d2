//! A volume in grey: one picture in beam space for every place of the sweep, and planes cut out of the stack.
//!
//! This is how a mechanical volume transducer does it: plane after plane is acquired while the array swings, and any
//! other plane is put together from what lies in the acquired ones. So a reformatted plane is coarser than an acquired
//! one, and it shows the shadows of the beams that went through it, not of beams of its own. Between neighbouring
//! planes, beams and samples the greys go over straight. A sweep takes as long as its pictures, so it is done in
//! pieces while the hand rests.

use anatomy::{Body, Section, SectionScratch};
use geometry::{Angle, Convention, ImagePlane, Point, Pose, Probe};

use super::beam_grid::{BEAMS, BeamGrid, Detail, SAMPLES};
use super::{GreyScratch, GreySettings};
use crate::frame::Frame;
use crate::press::{Press, press_section};
use crate::volume::{Volume, VolumeCut};

/// Acquired planes of a sweep: over 70 degrees a step of 1.2 degrees, about as coarse in the middle of a usual depth as
/// the planes are thick (our choice).
pub const SWEEP_PLANES: usize = 61;

/// Greys of one acquired plane.
const PLANE: usize = BEAMS * SAMPLES;

/// What a sweep was made of.
#[derive(Debug, Clone, PartialEq)]
struct Made {
    body: String,
    plane: ImagePlane,
    transducer: &'static str,
    depth_mm: f64,
    sense: f64,
    settings: GreySettings,
}

/// A volume in grey, complete or on its way.
#[derive(Debug, Default)]
pub struct Sweep {
    made: Option<Made>,
    grid: Option<BeamGrid>,
    /// Plane after plane; each as beams of samples.
    greys: Vec<u8>,
    done: usize,
    scratch: GreyScratch,
    section_scratch: SectionScratch,
    press: Press,
    section: Option<Section>,
}

impl Sweep {
    /// Starts over unless the sweep at hand is the wanted one. Returns whether it has to be gone on with.
    pub fn begin(
        &mut self,
        body: &Body,
        volume: &Volume,
        pose: &Pose,
        convention: Convention,
        settings: &GreySettings,
    ) -> bool {
        let field = volume.field();
        let made = Made {
            body: body.id().to_owned(),
            plane: ImagePlane::from_pose(pose, convention),
            transducer: field.transducer().id,
            depth_mm: field.depth().get(),
            sense: field.sense(),
            settings: *settings,
        };
        if self.made.as_ref() != Some(&made) {
            self.made = Some(made);
            self.grid = Some(BeamGrid::new(field, Detail::Full));
            self.done = 0;
        }
        self.done < SWEEP_PLANES
    }

    /// Whether there is a whole volume to cut planes from.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.made.is_some() && self.done == SWEEP_PLANES
    }

    /// How much of it is there, 0 to 1.
    #[must_use]
    pub fn share(&self) -> f64 {
        count(self.done) / count(SWEEP_PLANES)
    }

    /// Acquires up to `most` more planes of what [`Sweep::begin`] was asked for last, with the same body, volume and
    /// pose. Returns whether the volume is complete.
    pub fn advance(&mut self, body: &Body, volume: &Volume, pose: &Pose, most: usize) -> bool {
        let Some(made) = &self.made else { return false };
        self.greys.resize(SWEEP_PLANES * PLANE, 0);
        for _ in 0..most.min(SWEEP_PLANES - self.done) {
            let plane = swept_plane(volume, pose, &made.plane, angle_of(volume, self.done));
            let section = self.section.get_or_insert_with(|| Section::empty(&plane));
            body.section_into(&plane, &mut self.section_scratch, section);
            // Every acquired plane has the face above it.
            press_section(body, volume.field(), section, &mut self.press);
            let scratch = &mut self.scratch;
            super::grey_scan(body, section, volume.field(), &made.settings, scratch);
            let room = self.greys.chunks_exact_mut(PLANE).nth(self.done);
            if let (Some(room), Some(greys)) = (room, scratch.greys(volume.field(), &made.settings))
            {
                room.copy_from_slice(greys);
            }
            self.done += 1;
        }
        self.is_complete()
    }

    /// Draws a plane of the volume as RGBA bytes: opaque inside what was acquired, transparent outside. Nothing before
    /// the sweep is complete.
    pub fn pixels(&self, volume: &Volume, cut: &VolumeCut, frame: &Frame, rgba: &mut Vec<u8>) {
        rgba.clear();
        let Some(grid) = self.grid.as_ref().filter(|_| self.is_complete()) else {
            return;
        };
        for y in 0..frame.height() {
            for x in 0..frame.width() {
                let at = cut.to_probe(frame.to_mm([f64::from(x), f64::from(y)]));
                let (grey, alpha) = self.grey_at(volume, cut, grid, frame.mm_per_px(), at);
                rgba.extend([grey, grey, grey, alpha]);
            }
        }
    }

    fn grey_at(
        &self,
        volume: &Volume,
        cut: &VolumeCut,
        grid: &BeamGrid,
        mm_per_px: f64,
        at: Point<Probe>,
    ) -> (u8, u8) {
        let at = at.to_array();
        let behind = at[2] + volume.pivot_mm();
        let reach = (at[1] * at[1] + behind * behind).sqrt();
        let angle = super::beam_grid::quick_atan2(at[1], behind);
        let sweep = volume.sweep().to_rad();
        // Image right is the beams' right in every acquired plane.
        let x = at[0] * cut.beam_sign();
        let height = reach - volume.pivot_mm();
        let (beam, depth) = grid.beam_and_depth([x, height * volume.field().sense()]);
        let last = count(BEAMS - 1);
        let spacing = grid.spacing_mm(depth.max(0.0));
        let inside = ((sweep - angle.abs()) * reach)
            .min(beam.min(last - beam) * spacing)
            .min(depth)
            .min(grid.depth_mm - depth);
        let cover = (inside / mm_per_px + 0.5).clamp(0.0, 1.0);
        if cover <= 0.0 {
            return (0, 0);
        }
        let plane = (angle / sweep + 1.0) / 2.0 * count(SWEEP_PLANES - 1);
        let (plane, next_plane) = split(plane, SWEEP_PLANES);
        let (beam, next_beam) = split(beam, BEAMS);
        let (sample, next_sample) = split(depth / grid.step_mm - 0.5, SAMPLES);
        let corner = plane * PLANE + beam * SAMPLES + sample;
        let read = |i: usize| f64::from(self.greys.get(i).copied().unwrap_or(0));
        let line = |i: usize| mix(read(i), read(i + 1), next_sample);
        let sheet = |i: usize| mix(line(i), line(i + SAMPLES), next_beam);
        let grey = mix(sheet(corner), sheet(corner + PLANE), next_plane);
        (byte(grey), byte(cover * 255.0))
    }
}

/// Sweep angle of an acquired plane.
fn angle_of(volume: &Volume, number: usize) -> Angle {
    let place = 2.0 * count(number) / count(SWEEP_PLANES - 1) - 1.0;
    volume.sweep() * place
}

/// The acquired plane turned about the axis of the sweep.
fn swept_plane(volume: &Volume, pose: &Pose, middle: &ImagePlane, angle: Angle) -> ImagePlane {
    let axes = pose.axes();
    let beam = axes.depth * angle.cos() + axes.elevation * angle.sin();
    let axis = middle.origin() + axes.depth * -volume.pivot_mm();
    let sense = volume.field().sense();
    let (row, column) = (middle.row().to_vector(), beam * sense);
    // The row is perpendicular to every beam of the sweep, so there is always a plane.
    ImagePlane::from_notch_and_beam(
        axis + beam * volume.pivot_mm(),
        -row,
        column,
        Convention::GENERAL,
    )
    .unwrap_or(*middle)
}

/// Whole part, at most the last but one of `of`, and the rest, 0 to 1.
fn split(at: f64, of: usize) -> (usize, f64) {
    let at = at.clamp(0.0, count(of - 1));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 0 and the number of planes, beams or samples"
    )]
    let whole = (at as usize).min(of - 2);
    (whole, at - count(whole))
}

fn mix(a: f64, b: f64, share: f64) -> f64 {
    a + (b - a) * share
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a cast from float stops at 0 and 255"
)]
fn byte(value: f64) -> u8 {
    (value + 0.5) as u8
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
