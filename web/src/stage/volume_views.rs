//! Three small canvases with the planes of a volume.

use super::ink::{Ink, css};
use super::size::Size;
use app::State;
use app::colours::Tokens;
use app::picture::{Palette, VolumePlane};
use app::volume::{VolumeDrawing, cut_lines, volume_frame};
use wasm_bindgen::{Clamped, JsCast as _};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, ImageData};

/// Height of the numbers beside the lines, CSS pixels.
const NUMBER_PX: f64 = 11.0;

/// How far along a line its number stands, as a share of the line.
const NUMBER_AT: f64 = 0.2;

/// One canvas.
struct Canvas {
    canvas: HtmlCanvasElement,
    context: CanvasRenderingContext2d,
    size: Size,
}

/// The planes with what they are drawn from.
#[derive(Default)]
pub(crate) struct VolumeViews {
    pub(crate) drawing: VolumeDrawing,
    palette: Option<Palette>,
    canvases: [Option<Canvas>; 3],
}

impl VolumeViews {
    /// Takes the canvas of a plane, or lets it go.
    pub(crate) fn attach(&mut self, which: VolumePlane, canvas: Option<HtmlCanvasElement>) {
        let made = canvas.and_then(|canvas| {
            let context = canvas.get_context("2d").ok()??.dyn_into().ok()?;
            Some(Canvas {
                canvas,
                context,
                size: Size::default(),
            })
        });
        if let Some(slot) = self.canvases.get_mut(which.index()) {
            *slot = made;
        }
    }

    /// A canvas has another size.
    pub(crate) fn resize(&mut self, which: VolumePlane, size: Size) {
        if let Some(Some(held)) = self.canvases.get_mut(which.index()) {
            held.size = size;
            held.canvas.set_width(size.width);
            held.canvas.set_height(size.height);
        }
    }

    /// Where a press on a plane's canvas lies, image mm; `share` is the place as a share of the canvas.
    pub(crate) fn place(
        &self,
        state: &State,
        which: VolumePlane,
        share: [f64; 2],
    ) -> Option<[f64; 2]> {
        let held = self.canvases.get(which.index())?.as_ref()?;
        let size = [held.size.width, held.size.height];
        let frame = volume_frame(state, which, size, held.size.ratio())?;
        Some(frame.to_mm([
            share[0] * f64::from(size[0]) - 0.5,
            share[1] * f64::from(size[1]) - 0.5,
        ]))
    }

    /// Cuts what changed and draws the planes. Returns whether there is more to acquire, so that a frame has to follow.
    pub(crate) fn draw(&mut self, state: &State, tokens: &Tokens) -> bool {
        if self.palette.is_none() {
            // Fails only when a colour is missing, which a test of the application rules out.
            self.palette = app::drawing::palette().ok();
        }
        let Some(palette) = &self.palette else {
            return false;
        };
        self.drawing.look_at(state, palette);
        let more = state.volume_in_grey() && !state.is_moving() && self.drawing.advance(state);
        for which in VolumePlane::ALL {
            if let Some(Some(held)) = self.canvases.get(which.index()) {
                held.draw(state, which, &mut self.drawing, tokens);
            }
        }
        more
    }
}

impl Canvas {
    fn draw(
        &self,
        state: &State,
        which: VolumePlane,
        drawing: &mut VolumeDrawing,
        tokens: &Tokens,
    ) {
        let ratio = self.size.ratio();
        let size = [self.size.width, self.size.height];
        let Some(frame) = volume_frame(state, which, size, ratio) else {
            return;
        };
        let rgba = drawing.picture(state, which, &frame);
        let image = ImageData::new_with_u8_clamped_array_and_sh(Clamped(rgba), size[0], size[1]);
        if let Ok(image) = image {
            let _ = self.context.put_image_data(&image, 0.0, 0.0);
        }
        let ink = Ink {
            context: &self.context,
            ratio,
        };
        ink.font(NUMBER_PX, 600);
        let (light, dark) = (css(tokens.get("picture-ink")), css(tokens.get("field")));
        for line in cut_lines(state, which, &frame) {
            let [from, to] = line.ends;
            ink.line(from, to, 2.5, &dark);
            ink.line(from, to, 1.0, &light);
            // A fifth of the way along: the ends belong to the letters of the sides.
            let at = [0, 1].map(|axis: usize| from[axis] + (to[axis] - from[axis]) * NUMBER_AT);
            ink.disc(at, 7.0 * ratio, &dark);
            ink.text(&line.which.number().to_string(), at, "center", &light);
        }
    }
}
