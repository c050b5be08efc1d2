//! Bodies and pictures beside the two stages, drawn once: those of a check's questions, and one side of a comparison.
//!
//! A browser keeps few WebGL contexts, so the body view's own one draws these bodies too: each is drawn at its size and
//! copied into a plain canvas, and the body view is drawn anew after it.

use super::body_view::BodyView;
use super::picture_view::PictureView;
use super::size::Size;
use super::tags::Tags;
use app::colours::Tokens;
use app::drawing::Drawing;
use app::practise::Still;
use app::{State, Texts};
use wasm_bindgen::JsCast as _;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, HtmlElement};

/// All canvases of this kind that are in the page.
#[derive(Default)]
pub(crate) struct Stills {
    slots: Vec<Slot>,
    /// The number of the next slot.
    next: u32,
    /// Made when it is needed: most pages have no such canvas.
    drawing: Option<Drawing>,
}

struct Slot {
    number: u32,
    which: Still,
    shows: Shows,
    stale: bool,
}

enum Shows {
    Body {
        canvas: HtmlCanvasElement,
        context: CanvasRenderingContext2d,
        tags: Tags,
        size: Size,
    },
    Picture(PictureView),
}

impl Stills {
    /// Takes a canvas for a picture, or for a body where there is a place for the words over it; the number that its
    /// size and its end are told by.
    pub(crate) fn attach(
        &mut self,
        which: Still,
        canvas: HtmlCanvasElement,
        tags: Option<HtmlElement>,
    ) -> Option<u32> {
        let shows = match tags {
            Some(tags) => Shows::Body {
                context: canvas.get_context("2d").ok()??.dyn_into().ok()?,
                canvas,
                tags: Tags::new(tags),
                size: Size::default(),
            },
            None => Shows::Picture(PictureView::new(canvas)?.without_names()),
        };
        let number = self.next;
        self.next = self.next.wrapping_add(1);
        self.slots.push(Slot {
            number,
            which,
            shows,
            stale: false,
        });
        Some(number)
    }

    /// Lets a canvas go.
    pub(crate) fn detach(&mut self, number: u32) {
        self.slots.retain(|slot| slot.number != number);
    }

    /// A canvas has another size.
    pub(crate) fn resize(&mut self, number: u32, now: Size) {
        let slot = self.slots.iter_mut().find(|slot| slot.number == number);
        let Some(slot) = slot else { return };
        match &mut slot.shows {
            Shows::Body { canvas, size, .. } => {
                canvas.set_width(now.width);
                canvas.set_height(now.height);
                *size = now;
            }
            Shows::Picture(view) => view.set_size(now),
        }
        slot.stale = now.css_width >= 1.0 && now.css_height >= 1.0;
    }

    /// All have to be drawn anew.
    pub(crate) fn forget(&mut self) {
        for slot in &mut self.slots {
            slot.stale = true;
        }
    }

    /// Draws the next one that has to be drawn; whether a body was drawn, after which the body view has to be, and
    /// whether there are more.
    pub(crate) fn draw_next(
        &mut self,
        state: &State,
        body_view: Option<&mut BodyView>,
        tokens: &Tokens,
        dark: bool,
        texts: &Texts,
    ) -> [bool; 2] {
        if state.body().is_none() {
            return [false; 2];
        }
        let Some(slot) = self.slots.iter_mut().find(|slot| slot.stale) else {
            return [false; 2];
        };
        slot.stale = false;
        if self.drawing.is_none() {
            self.drawing = app::drawing::palette().ok().map(Drawing::new);
        }
        let mut drew_body = false;
        if let (Some(still), Some(drawing)) = (state.still(slot.which), &mut self.drawing) {
            drawing.look_at(&still);
            match &mut slot.shows {
                Shows::Picture(view) => view.draw(&still, drawing, tokens, texts),
                Shows::Body {
                    canvas,
                    context,
                    tags,
                    size,
                } => {
                    if let Some(view) = body_view {
                        let words = view.draw_still(&still, drawing, tokens, dark, texts, *size);
                        let (width, height) =
                            (f64::from(canvas.width()), f64::from(canvas.height()));
                        context.clear_rect(0.0, 0.0, width, height);
                        let _ =
                            context.draw_image_with_html_canvas_element(view.canvas(), 0.0, 0.0);
                        tags.show(&words, [size.css_width, size.css_height]);
                        view.take_size_back();
                        drew_body = true;
                    }
                }
            }
        }
        [drew_body, self.slots.iter().any(|slot| slot.stale)]
    }
}
