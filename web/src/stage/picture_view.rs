//! The picture on its 2-D canvas: the section's pixels, then what is written on them.

use super::ink::{Ink, css};
use super::marks;
use super::size::Size;
use app::colours::Tokens;
use app::drawing::Drawing;
use app::picture::Frame;
use app::{State, Texts};
use wasm_bindgen::{Clamped, JsCast as _};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, HtmlElement, ImageData};

/// In a smaller view, CSS pixels squared, only names that lie inside their structures are written; the table beside
/// the views has the others.
const ROOM_FOR_LEADERS_PX2: f64 = 100_000.0;

/// One canvas with its context.
pub(crate) struct PictureView {
    canvas: HtmlCanvasElement,
    context: CanvasRenderingContext2d,
    size: Size,
    /// Whether names of structures are written.
    names: bool,
}

impl PictureView {
    /// Takes the canvas's 2-D context; `None` where the browser gives none.
    pub(crate) fn new(canvas: HtmlCanvasElement) -> Option<Self> {
        let context = canvas.get_context("2d").ok()??.dyn_into().ok()?;
        Some(Self {
            canvas,
            context,
            size: Size::default(),
            names: true,
        })
    }

    /// The same without names of structures: they would stand at other places in a picture to compare.
    pub(crate) fn without_names(self) -> Self {
        Self {
            names: false,
            ..self
        }
    }

    /// Follows the canvas's size.
    pub(crate) fn set_size(&mut self, size: Size) {
        self.size = size;
        // Setting a canvas's size clears it, so only on a change; a frame that draws follows.
        if self.canvas.width() != size.width {
            self.canvas.set_width(size.width);
        }
        if self.canvas.height() != size.height {
            self.canvas.set_height(size.height);
        }
    }

    /// Device pixels per CSS pixel.
    pub(crate) fn ratio(&self) -> f64 {
        self.size.ratio()
    }

    /// Where the image plane lies on the canvas.
    pub(crate) fn frame(&self, state: &State) -> Frame {
        Drawing::frame(state, self.size.width, self.size.height, self.ratio())
    }

    /// Draws everything.
    pub(crate) fn draw(
        &self,
        state: &State,
        drawing: &mut Drawing,
        tokens: &Tokens,
        texts: &Texts,
    ) {
        if self.size.css_width < 1.0 || self.size.css_height < 1.0 {
            return;
        }
        let frame = self.frame(state);
        let ratio = self.ratio();
        self.tell_field(state, &frame);
        let ink = Ink {
            context: &self.context,
            ratio,
        };
        let rgba = drawing.picture(state, &frame, ratio);
        let drawn = !rgba.is_empty()
            && ImageData::new_with_u8_clamped_array_and_sh(
                Clamped(rgba),
                frame.width(),
                frame.height(),
            )
            .and_then(|image| self.context.put_image_data(&image, 0.0, 0.0))
            .is_ok();
        ink.font(marks::LABEL_PX, 500);
        let mut overlay = drawing.overlay(state, &frame, ratio, texts, &|text| ink.width(text));
        if !drawn {
            let (width, height) = (f64::from(self.size.width), f64::from(self.size.height));
            self.context.clear_rect(0.0, 0.0, width, height);
            ink.fill(&overlay.outline, &css(tokens.get("field")));
        }
        if self.size.css_width * self.size.css_height < ROOM_FOR_LEADERS_PX2 {
            overlay.labels.retain(|label| label.leader.is_none());
        }
        if !self.names {
            overlay.labels.clear();
        }
        marks::draw(&ink, &overlay, tokens);
    }

    /// Tells the style sheet where the place pointed at is, for its name beside it.
    pub(crate) fn show_cursor(&self, state: &State) {
        let Some(at) = state.cursor_at() else { return };
        let frame = self.frame(state);
        let [x, y] = frame.to_px(at).map(|px| px / self.ratio());
        self.set_places([("--cursor-x", x), ("--cursor-y", y)]);
    }

    fn set_places<const N: usize>(&self, places: [(&str, f64); N]) {
        let Some(host) = self
            .canvas
            .parent_element()
            .and_then(|host| host.dyn_into::<HtmlElement>().ok())
        else {
            return;
        };
        for (name, px) in places {
            let _ = host.style().set_property(name, &format!("{px:.0}px"));
        }
    }

    /// Tells the style sheet where the field ends, for the letters beside it.
    fn tell_field(&self, state: &State, frame: &Frame) {
        let bounds = state.field().bounds();
        let (low, high) = (frame.to_px(bounds.min), frame.to_px(bounds.max));
        let ratio = self.ratio();
        let right = self.size.css_width - high[0] / ratio;
        self.set_places([
            ("--field-left", low[0] / ratio),
            ("--field-top", low[1] / ratio),
            ("--field-right", right),
            ("--field-bottom", high[1] / ratio),
        ]);
    }
}
