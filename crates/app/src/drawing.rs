//! The picture: pixels, and everything that is written or marked on it, from one section.
//!
//! One [`Drawing`] is kept by the shell and holds the working memory. A frame goes: [`Drawing::look_at`], then
//! [`Drawing::picture`], [`Drawing::field_texture`] and [`Drawing::cut_texture`] as far as they are shown.

use anatomy::{Body, Section, SectionScratch};
use geometry::{ApexSide, ImagePlane, ImageSide, MarkSide, Mm, Sides, screen_threshold};
use picture::labels::Rect;
use picture::{
    Contents, Detail, Field, Frame, GreyScratch, LabelMemory, LabelStyle, Look, Margins, Palette,
    PaletteError, PictureScratch, PlacedLabel, Press, TopShape, blend_pictures, contents, cut_face,
    grey_pixels, grey_scan_at, place_labels, press_section, schematic,
};

use crate::colours::{Theme, Tokens};
use crate::scene::Sheet;
use crate::state::State;
use crate::texts::Texts;

/// Space beside the field for letters and depth scale, CSS pixels.
const MARGIN_PX: f64 = 38.0;
/// Above and below the field a letter stands over its word, CSS pixels.
const MARGIN_LETTER_PX: f64 = 50.0;
/// Beside a field with upright edges, which leaves its letters and their words no room of its own, CSS pixels.
const MARGIN_BESIDE_PX: f64 = 70.0;
/// What the depth scale takes of it, CSS pixels.
const SCALE_PX: f64 = 28.0;

/// The palette of the section, from the token file.
///
/// # Errors
///
/// [`PaletteError`] names the tissues without a token.
pub fn palette() -> Result<Palette, PaletteError> {
    let tokens = Tokens::of(Theme::Light);
    let pairs: Vec<_> = tokens.with_prefix("tissue-").collect();
    Palette::from_pairs(pairs.iter().map(|(key, colour)| (*key, colour.rgb)))
}

/// A name of an image side, at its place on the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct SideLabel {
    /// Which side of the image.
    pub side: ImageSide,
    /// Letters, dominant first: "H".
    pub letters: String,
    /// Words: "head end".
    pub words: String,
    /// Middle of the letters, device pixels.
    pub at: [f64; 2],
}

/// A mark of the depth scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Its outer end, at the edge of the picture, device pixels.
    pub from: [f64; 2],
    /// Its inner end, device pixels.
    pub to: [f64; 2],
    /// Depth in cm, at every fifth centimetre.
    pub text: Option<String>,
}

/// The mark that shows at which side of the image the notch is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotchMark {
    /// Side of the image.
    pub side: MarkSide,
    /// Its middle, device pixels.
    pub at: [f64; 2],
    /// Half its height, device pixels.
    pub radius: f64,
}

/// What is written on the picture. All places in device pixels; (0, 0) is the centre of the top left pixel.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// The four sides, in the order of [`ImageSide::ALL`].
    pub sides: [SideLabel; 4],
    /// The notch's mark.
    pub mark: NotchMark,
    /// Whether it is shown.
    pub mark_shown: bool,
    /// The depth scale.
    pub ticks: Vec<Tick>,
    /// Unit of the depth scale, written at its end.
    pub unit: &'static str,
    /// Names of structures.
    pub labels: Vec<PlacedLabel>,
    /// The edge of the field, closed.
    pub outline: Vec<[f64; 2]>,
    /// The structure pointed out: a place inside it, where it is in the picture.
    pub chosen: Option<[f64; 2]>,
}

/// What a section was made of: a body by its identifier, a plane, a field of view.
type Looked = (String, ImagePlane, (&'static str, Mm, ApexSide));

/// Working memory and the latest section.
#[derive(Debug)]
pub struct Drawing {
    palette: Palette,
    look: Option<(String, Look)>,
    section_scratch: SectionScratch,
    press: Press,
    section: Option<Section>,
    contents: Option<Contents>,
    /// What the section was made of; drawn again only when this changes.
    seen: Option<Looked>,
    scratch: PictureScratch,
    grey: GreyScratch,
    /// What `grey` holds the echoes of, for the latest section: frequency, focus, number of the noise, detail. Gains are
    /// a matter of the pixels.
    scanned: Option<(f64, f64, u32, Detail)>,
    labels: LabelMemory,
    picture: Vec<u8>,
    field: Vec<u8>,
    cut: Vec<u8>,
    flat: Vec<u8>,
    echoes: Vec<u8>,
}

impl Drawing {
    /// A drawing that has seen nothing yet.
    #[must_use]
    pub fn new(palette: Palette) -> Self {
        Self {
            palette,
            look: None,
            section_scratch: SectionScratch::default(),
            press: Press::default(),
            section: None,
            contents: None,
            seen: None,
            scratch: PictureScratch::default(),
            grey: GreyScratch::default(),
            scanned: None,
            labels: LabelMemory::default(),
            picture: Vec::new(),
            field: Vec::new(),
            cut: Vec::new(),
            flat: Vec::new(),
            echoes: Vec::new(),
        }
    }

    /// Cuts the body of `state`, if it is here and anything has changed. Returns whether it did.
    pub fn look_at(&mut self, state: &State) -> bool {
        let Some(body) = state.body() else {
            let changed = self.seen.take().is_some();
            self.section = None;
            self.contents = None;
            return changed;
        };
        let (plane, field) = (state.plane(), state.field());
        let shape = (field.transducer().id, field.depth(), field.apex());
        let now = (body.id().to_owned(), plane, shape);
        if self.seen.as_ref() == Some(&now) {
            return false;
        }
        if self.look.as_ref().is_none_or(|(id, _)| id != body.id()) {
            self.look = Some((body.id().to_owned(), Look::new(body, &self.palette)));
            self.labels = LabelMemory::default();
        }
        let section = self.section.get_or_insert_with(|| Section::empty(&plane));
        body.section_into(&plane, &mut self.section_scratch, section);
        press_section(body, &field, section, &mut self.press);
        self.contents = Some(contents(body, section, &field).under(&self.press));
        self.seen = Some(now);
        self.scanned = None;
        true
    }

    /// What the field of view shows, once a body has been looked at.
    #[must_use]
    pub fn contents(&self) -> Option<&Contents> {
        self.contents.as_ref()
    }

    /// Where the image plane meets the skin around the probe: pieces of lines in the room, mm; none before a body is
    /// here.
    #[must_use]
    pub fn skin_trace(&self, state: &State) -> Vec<Vec<[f32; 3]>> {
        let section = self.section.as_ref();
        section.map_or_else(Vec::new, |section| crate::scene::skin_trace(state, section))
    }

    /// The frame in which a picture of this size shows the whole field; sizes in device pixels,
    /// `ratio` device pixels to a CSS pixel.
    #[must_use]
    pub fn frame(state: &State, width: u32, height: u32, ratio: f64) -> Frame {
        let least = f64::from(width.min(height));
        let margin = |px: f64, share: f64| (px * sane_ratio(ratio)).min(least * share);
        let field = state.field();
        let [left, right] = match field.transducer().top_shape() {
            TopShape::Flat => {
                [MARGIN_BESIDE_PX, MARGIN_BESIDE_PX + SCALE_PX].map(|px| margin(px, 0.2))
            }
            TopShape::Curved | TopShape::TightCurve | TopShape::Point => {
                [margin(MARGIN_PX, 0.16); 2]
            }
        };
        let margins = Margins {
            left,
            right,
            top: margin(MARGIN_LETTER_PX, 0.16),
            bottom: margin(MARGIN_LETTER_PX, 0.16),
        };
        Frame::fit(&field, width, height, margins)
    }

    /// The picture as RGBA bytes, rows from the top; transparent outside the field. Flat colours, grey-scale or both,
    /// as the state says. Empty before a body is here.
    pub fn picture(&mut self, state: &State, frame: &Frame, ratio: f64) -> &[u8] {
        let line_px = picture::look::LINE_PX * sane_ratio(ratio);
        let mut out = std::mem::take(&mut self.picture);
        self.paint(state, frame, Some(line_px), &mut out);
        self.picture = out;
        &self.picture
    }

    fn paint(&mut self, state: &State, frame: &Frame, line_px: Option<f64>, out: &mut Vec<u8>) {
        out.clear();
        let (Some(body), Some(section), Some((_, look))) =
            (state.body(), &self.section, &self.look)
        else {
            return;
        };
        let field = state.field();
        let share = state.grey().percent / 100.0;
        if share < 1.0 {
            let look = match line_px {
                Some(px) => &look.clone().with_line_px(px),
                None => look,
            };
            let flat = if share > 0.0 {
                &mut self.flat
            } else {
                &mut *out
            };
            schematic(body, section, &field, frame, look, &mut self.scratch, flat);
        }
        if share > 0.0 {
            let settings = state.grey_settings();
            let detail = detail(state);
            let wanted = (
                settings.frequency_mhz,
                settings.focus_mm,
                settings.noise,
                detail,
            );
            if self.scanned != Some(wanted) {
                grey_scan_at(detail, body, section, &field, &settings, &mut self.grey);
                self.scanned = Some(wanted);
            }
            let echoes = if share < 1.0 {
                &mut self.echoes
            } else {
                &mut *out
            };
            grey_pixels(&field, frame, &settings, &mut self.grey, echoes);
            if share < 1.0 {
                blend_pictures(&self.flat, &self.echoes, share, out);
            }
        }
    }

    /// The picture for the sheet in the body view, RGBA bytes; empty before a body is here.
    pub fn field_texture(&mut self, state: &State, sheet: &Sheet) -> &[u8] {
        let mut out = std::mem::take(&mut self.field);
        self.paint(state, &sheet.frame, None, &mut out);
        self.field = out;
        &self.field
    }

    /// The cut face around the field for the body view, RGBA bytes, transparent outside the skin; empty
    /// before a body is here.
    pub fn cut_texture(&mut self, state: &State, sheet: &Sheet) -> &[u8] {
        self.cut.clear();
        if let (Some(body), Some(section), Some((_, look))) =
            (state.body(), &self.section, &self.look)
        {
            cut_face(
                body,
                section,
                &sheet.frame,
                look,
                &mut self.scratch,
                &mut self.cut,
            );
            clear_bent_away(state, sheet, &mut self.cut);
        }
        &self.cut
    }

    /// What is written on the picture. `measure` gives the width of a text in device pixels.
    pub fn overlay(
        &mut self,
        state: &State,
        frame: &Frame,
        ratio: f64,
        texts: &Texts,
        measure: &dyn Fn(&str) -> f64,
    ) -> Overlay {
        let ratio = sane_ratio(ratio);
        let field = state.field();
        let sides = side_labels(state, &field, frame, texts);
        let veil = state.veil();
        let mark = notch_mark(state, &field, frame, ratio);
        let ticks = ticks(state, &field, frame, ratio);
        let labels = match (state.body(), &self.contents) {
            (Some(body), Some(seen)) if veil.names => {
                let clear = keep_clear(&sides, &mark, &ticks, ratio);
                let style = label_style(ratio);
                place_labels(body, seen, frame, &style, &clear, measure, &mut self.labels)
            }
            _ => Vec::new(),
        };
        Overlay {
            sides,
            mark,
            mark_shown: veil.mark,
            ticks,
            unit: texts.units.cm,
            labels,
            outline: field
                .outline()
                .into_iter()
                .map(|at| frame.to_px(at))
                .collect(),
            chosen: state
                .body()
                .zip(self.contents.as_ref())
                .and_then(|(body, seen)| chosen_place(state, body, seen))
                .map(|at| frame.to_px(at)),
        }
    }
}

/// A probe on its way is shown in less detail, so that the picture keeps up with the hand; at rest it is whole again.
fn detail(state: &State) -> Detail {
    if state.moves_probe() {
        Detail::Moving
    } else {
        Detail::Full
    }
}

fn sane_ratio(ratio: f64) -> f64 {
    if ratio.is_finite() {
        ratio.clamp(0.5, 4.0)
    } else {
        1.0
    }
}

fn label_style(ratio: f64) -> LabelStyle {
    let usual = LabelStyle::default();
    LabelStyle {
        line_px: usual.line_px * ratio,
        pad_px: usual.pad_px * ratio,
        least_area_px: usual.least_area_px * ratio * ratio,
        reach_px: usual.reach_px * ratio,
        ..usual
    }
}

fn chosen_place(state: &State, body: &Body, seen: &Contents) -> Option<[f64; 2]> {
    let index = body.find(state.chosen()?)?;
    Some(seen.find(index)?.centre)
}

/// Makes the cut face clear where the shown body is bent away from it: the sheet is carried as one piece with the skin
/// under the probe, and a limb that is held otherwise would leave its section hanging in the air.
fn clear_bent_away(state: &State, sheet: &Sheet, rgba: &mut [u8]) {
    /// Pixels between places where the bend is asked for.
    const STEP: u32 = 8;
    /// Distance between sheet and body from which the face begins to clear, and over which it does, mm.
    const BEGINS_MM: f64 = 12.0;
    const OVER_MM: f64 = 10.0;
    let posture = state.shown.posture();
    if !posture.bends() {
        return;
    }
    let pose = state.pose();
    let (plane, carried) = (state.plane(), posture.carry(pose.contact(), pose.normal()));
    let (width, height) = (sheet.frame.width(), sheet.frame.height());
    let columns = width / STEP + 2;
    let left_at = |column: u32, row: u32| {
        let at = [column * STEP, row * STEP].map(f64::from);
        let point = plane.to_patient(sheet.frame.to_mm(at));
        let off = (posture.point(point) - carried.apply_point(point)).norm();
        1.0 - ((off - BEGINS_MM) / OVER_MM).clamp(0.0, 1.0)
    };
    let line = |row: u32| -> Vec<f64> { (0..columns).map(|column| left_at(column, row)).collect() };
    let (mut above, mut below) = (line(0), line(1));
    let mut pixels = rgba.chunks_exact_mut(4);
    for y in 0..height {
        if y > 0 && y % STEP == 0 {
            above = std::mem::replace(&mut below, line(y / STEP + 1));
        }
        let down = f64::from(y % STEP) / f64::from(STEP);
        for x in 0..width {
            let Some([.., alpha]) = pixels.next() else {
                return;
            };
            let (column, across) = (x / STEP, f64::from(x % STEP) / f64::from(STEP));
            let value = |line: &[f64]| {
                let at = |column: u32| {
                    let known = usize::try_from(column).ok().and_then(|k| line.get(k));
                    known.copied().unwrap_or(1.0)
                };
                at(column) + (at(column + 1) - at(column)) * across
            };
            let (one, other) = (value(&above), value(&below));
            *alpha = dimmed(*alpha, one + (other - one) * down);
        }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a share of a byte is a byte"
)]
fn dimmed(alpha: u8, share: f64) -> u8 {
    if share >= 1.0 {
        alpha
    } else {
        (f64::from(alpha) * share.max(0.0)).round() as u8
    }
}

fn side_labels(state: &State, field: &Field, frame: &Frame, texts: &Texts) -> [SideLabel; 4] {
    let plane = state.plane();
    let names = Sides::of(&plane);
    let threshold = screen_threshold(state.tolerance());
    let bounds = field.bounds();
    let (low, high) = (frame.to_px(bounds.min), frame.to_px(bounds.max));
    let (width, height) = (f64::from(frame.width()), f64::from(frame.height()));
    let across = (low[0] + high[0]) / 2.0;
    // Where the page's style sheet puts the letters.
    let third = low[1] + (high[1] - low[1]) * 0.32;
    ImageSide::ALL.map(|side| {
        let name = names.get(side);
        let at = match side {
            ImageSide::Left => [low[0] / 2.0, third],
            ImageSide::Right => [(high[0] + width) / 2.0, third],
            ImageSide::Top => [across, low[1] / 2.0],
            ImageSide::Bottom => [across, (high[1] + height) / 2.0],
        };
        SideLabel {
            side,
            letters: name.letters(threshold),
            words: texts.sides.words(name, threshold),
            at,
        }
    })
}

/// The mark stands beside the face, at the notch's side of the image.
fn notch_mark(state: &State, field: &Field, frame: &Frame, ratio: f64) -> NotchMark {
    let side = state.veil().mark_at.unwrap_or(state.convention().mark);
    let radius = 7.0 * ratio;
    let sign = match side {
        MarkSide::Left => -1.0,
        MarkSide::Right => 1.0,
    };
    // Beams run from image left to image right, so the face's first point is its left end.
    let face = field.face();
    let end = match side {
        MarkSide::Left => face.first(),
        MarkSide::Right => face.last(),
    };
    let [x, y] = frame.to_px(end.copied().unwrap_or([0.0, 0.0]));
    let inset = radius + ratio;
    let width = f64::from(frame.width());
    NotchMark {
        side,
        at: [
            (x + sign * 2.4 * radius).clamp(inset, (width - inset).max(inset)),
            y,
        ],
        radius,
    }
}

/// The depth scale runs along the edge of the picture away from the mark.
fn ticks(state: &State, field: &Field, frame: &Frame, ratio: f64) -> Vec<Tick> {
    let width = f64::from(frame.width());
    let (edge, inward) = match state.convention().mark {
        MarkSide::Left => (width - 4.0 * ratio, -1.0),
        MarkSide::Right => (4.0 * ratio, 1.0),
    };
    field
        .depth_ticks()
        .into_iter()
        .map(|tick| {
            let [_, y] = frame.to_px(tick.at);
            let length = if tick.long { 9.0 } else { 5.0 };
            Tick {
                from: [edge, y],
                to: [edge + inward * length * ratio, y],
                text: tick.long.then(|| tick.cm.to_string()),
            }
        })
        .collect()
}

/// Rectangles that names of structures leave free.
fn keep_clear(sides: &[SideLabel; 4], mark: &NotchMark, ticks: &[Tick], ratio: f64) -> Vec<Rect> {
    let around = |at: [f64; 2], half: [f64; 2]| Rect {
        x: at[0] - half[0],
        y: at[1] - half[1],
        w: 2.0 * half[0],
        h: 2.0 * half[1],
    };
    let mut clear: Vec<Rect> = sides
        .iter()
        .map(|label| around(label.at, [18.0 * ratio, 11.0 * ratio]))
        .collect();
    clear.push(around(mark.at, [1.4 * mark.radius; 2]));
    if let (Some(first), Some(last)) = (ticks.first(), ticks.last()) {
        let (top, bottom) = (
            first.from[1].min(last.from[1]),
            first.from[1].max(last.from[1]),
        );
        let middle = [first.from[0], (top + bottom) / 2.0];
        clear.push(around(
            middle,
            [30.0 * ratio, (bottom - top) / 2.0 + 8.0 * ratio],
        ));
    }
    clear
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_token_file_has_a_colour_for_every_tissue() {
        assert_eq!(palette().map(|_| ()), Ok(()));
    }
}
