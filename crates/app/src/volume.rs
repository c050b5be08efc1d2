//! The three planes of the volume that a sweeping transducer acquires: their point, their pictures, what they show.

use anatomy::{Body, Section};
use geometry::{Point, Probe};
use picture::{
    CutScratch, Frame, Look, Margins, Palette, PictureScratch, Sweep, Volume, VolumeCut,
    VolumePlane, VolumeSeen, outlined, volume_contents,
};

use crate::state::State;

/// Acquired planes of the grey-scale volume in one frame: few enough that a hand's next move is not held up.
const PLANES_A_FRAME: usize = 2;

/// Share of grey-scale from which the planes are shown in grey; they are not faded.
const GREY_FROM: f64 = 50.0;

/// Space around the outline, CSS pixels.
const MARGIN_PX: f64 = 10.0;

/// Whether the planes are on show, and where they cross.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct VolumeChoice {
    pub(crate) shown: bool,
    /// Probe frame, mm; the middle of the volume while none was chosen.
    pub(crate) at: Option<[f64; 3]>,
}

impl State {
    /// The volume of the transducer in use; none for one that does not sweep.
    #[must_use]
    pub fn volume(&self) -> Option<Volume> {
        Volume::new(self.field())
    }

    /// Whether the three planes are on show.
    #[must_use]
    pub fn volume_shown(&self) -> bool {
        self.volume.shown && self.volume().is_some()
    }

    /// Where the planes cross, probe frame, mm, inside the volume.
    #[must_use]
    pub fn volume_point(&self) -> Option<Point<Probe>> {
        let volume = self.volume()?;
        Some(match self.volume.at {
            Some(at) => volume.clamp(Point::from_array(at)),
            None => volume.middle(),
        })
    }

    /// One of the planes.
    #[must_use]
    pub fn volume_cut(&self, which: VolumePlane) -> Option<VolumeCut> {
        let volume = self.volume()?;
        Some(volume.cut(which, self.volume_point()?, self.convention()))
    }

    /// Whether the planes are shown in grey.
    #[must_use]
    pub fn volume_in_grey(&self) -> bool {
        self.grey().percent >= GREY_FROM
    }
}

/// The frame in which a picture of this size shows a whole plane wherever the point is; sizes in device pixels.
#[must_use]
pub fn volume_frame(
    state: &State,
    which: VolumePlane,
    [width, height]: [u32; 2],
    ratio: f64,
) -> Option<Frame> {
    let bounds = state.volume()?.bounds(which);
    let margins = Margins::all(MARGIN_PX * ratio.clamp(0.5, 4.0));
    Some(Frame::fit_bounds(bounds, width, height, margins))
}

/// A line of another plane in a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutLine {
    /// Which plane crosses here.
    pub which: VolumePlane,
    /// Its two ends at the edges of the picture, device pixels.
    pub ends: [[f64; 2]; 2],
}

/// The lines in which the other two planes cross this one.
#[must_use]
pub fn cut_lines(state: &State, which: VolumePlane, frame: &Frame) -> Vec<CutLine> {
    let Some(cut) = state.volume_cut(which) else {
        return Vec::new();
    };
    let size = [frame.width(), frame.height()].map(f64::from);
    VolumePlane::ALL
        .into_iter()
        .filter_map(|other| {
            let (through, along) = cut.line_of(other)?;
            let [x, y] = frame.to_px(through);
            // The lines run along the picture's edges, since the planes are laid out square to each other.
            let ends = if along[0].abs() > along[1].abs() {
                [[0.0, y], [size[0], y]]
            } else {
                [[x, 0.0], [x, size[1]]]
            };
            Some(CutLine { which: other, ends })
        })
        .collect()
}

/// Working memory of the three planes.
#[derive(Debug, Default)]
pub struct VolumeDrawing {
    look: Option<(String, Look)>,
    sections: [Option<Section>; 3],
    seen: [Vec<VolumeSeen>; 3],
    cuts: Vec<(String, VolumeCut, geometry::ImagePlane)>,
    sweep: Sweep,
    section_scratch: CutScratch,
    scratch: PictureScratch,
    pixels: Vec<u8>,
}

impl VolumeDrawing {
    /// Cuts the body along the three planes, where anything has changed. Returns whether it did.
    pub fn look_at(&mut self, state: &State, palette: &Palette) -> bool {
        let (Some(body), Some(volume)) = (state.body(), state.volume()) else {
            let had = !self.cuts.is_empty();
            self.cuts.clear();
            return had;
        };
        if self.look.as_ref().is_none_or(|(id, _)| id != body.id()) {
            self.look = Some((body.id().to_owned(), Look::new(body, palette)));
        }
        let now: Vec<_> = VolumePlane::ALL
            .into_iter()
            .filter_map(|which| state.volume_cut(which))
            .map(|cut| (body.id().to_owned(), cut, cut.plane(state.pose())))
            .collect();
        if now == self.cuts {
            return false;
        }
        for (_, cut, plane) in &now {
            let place = cut.which.index();
            let (Some(slot), Some(seen)) = (self.sections.get_mut(place), self.seen.get_mut(place))
            else {
                continue;
            };
            let section = slot.get_or_insert_with(|| Section::empty(plane));
            volume.section_into(body, cut, state.pose(), &mut self.section_scratch, section);
            *seen = volume_contents(body, section, &volume.outline(cut));
        }
        self.cuts = now;
        true
    }

    /// What a plane shows, largest first.
    #[must_use]
    pub fn seen(&self, which: VolumePlane) -> &[VolumeSeen] {
        self.seen.get(which.index()).map_or(&[], Vec::as_slice)
    }

    /// Acquires a little more of the grey-scale volume, while the hand rests. Returns whether there is more to come.
    pub fn advance(&mut self, state: &State) -> bool {
        let (Some(body), Some(volume)) = (state.body(), state.volume()) else {
            return false;
        };
        let (pose, settings) = (state.pose(), state.grey_settings());
        if !self
            .sweep
            .begin(body, &volume, pose, state.convention(), &settings)
        {
            return false;
        }
        !self.sweep.advance(body, &volume, pose, PLANES_A_FRAME)
    }

    /// How much of the grey-scale volume is acquired, 0 to 1.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.sweep.share()
    }

    /// A plane as RGBA bytes, transparent outside the volume: in grey once a whole volume is acquired for this view, in
    /// flat colours before and otherwise.
    pub fn picture(&mut self, state: &State, which: VolumePlane, frame: &Frame) -> &[u8] {
        self.pixels.clear();
        let (Some(body), Some(volume), Some(cut)) =
            (state.body(), state.volume(), state.volume_cut(which))
        else {
            return &self.pixels;
        };
        if state.volume_in_grey() && self.is_acquired(state, body, &volume) {
            self.sweep.pixels(&volume, &cut, frame, &mut self.pixels);
        } else if let (Some(Some(section)), Some((_, look))) =
            (self.sections.get(which.index()), &self.look)
        {
            outlined(
                body,
                section,
                &volume.outline(&cut),
                frame,
                look,
                &mut self.scratch,
                &mut self.pixels,
            );
        }
        &self.pixels
    }

    fn is_acquired(&mut self, state: &State, body: &Body, volume: &Volume) -> bool {
        let settings = state.grey_settings();
        !self
            .sweep
            .begin(body, volume, state.pose(), state.convention(), &settings)
            && self.sweep.is_complete()
    }
}
