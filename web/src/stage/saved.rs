//! An acquired picture as it is looked at again and as it is saved: always of one size, with its letters and its
//! annotation in it, and with its caption beneath where it is a file.

use super::ink::{Ink, css};
use super::marks;
use app::colours::{Theme, Tokens};
use app::drawing::{Drawing, Overlay};
use app::examine::files::{self, HEIGHT, RATIO, WIDTH};
use app::geometry::ImageSide;
use app::{State, Texts};
use wasm_bindgen::{Clamped, JsCast as _};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, ImageData};

/// Height of letters at the sides and of the words beneath them, CSS pixels.
const LETTER_PX: f64 = 20.0;
const WORDS_PX: f64 = 11.0;

/// Height of the annotation in the picture and of a line of the caption, CSS pixels.
const ANNOTATION_PX: f64 = 16.0;
const CAPTION_PX: f64 = 11.0;

/// Height of a line over the height of its letters.
const LINE: f64 = 1.45;

fn context(canvas: &HtmlCanvasElement) -> Option<CanvasRenderingContext2d> {
    canvas.get_context("2d").ok()??.dyn_into().ok()
}

/// Draws the picture that `again` shows into `canvas`, which takes the size of a saved picture.
pub(crate) fn picture(
    canvas: &HtmlCanvasElement,
    again: &State,
    drawing: &mut Drawing,
    annotation: &str,
    texts: &Texts,
) -> Option<()> {
    canvas.set_width(u32::from(WIDTH));
    canvas.set_height(u32::from(HEIGHT));
    let context = context(canvas)?;
    paint(&context, again, drawing, annotation, texts)
}

/// A canvas of its own with the picture that `again` shows, without a word on it.
pub(crate) fn alone(
    again: &State,
    drawing: &mut Drawing,
    texts: &Texts,
) -> Option<HtmlCanvasElement> {
    let page = web_sys::window()?.document()?;
    let canvas: HtmlCanvasElement = page.create_element("canvas").ok()?.dyn_into().ok()?;
    drawing.look_at(again);
    picture(&canvas, again, drawing, "", texts)?;
    Some(canvas)
}

fn paint(
    context: &CanvasRenderingContext2d,
    again: &State,
    drawing: &mut Drawing,
    annotation: &str,
    texts: &Texts,
) -> Option<()> {
    let tokens = Tokens::of(Theme::Light);
    let ink = Ink {
        context,
        ratio: RATIO,
    };
    let rgba = files::pixels(again, drawing);
    if rgba.is_empty() {
        return None;
    }
    let frame = files::frame(again);
    let image =
        ImageData::new_with_u8_clamped_array_and_sh(Clamped(&rgba), frame.width(), frame.height())
            .ok()?;
    context.put_image_data(&image, 0.0, 0.0).ok()?;
    ink.font(WORDS_PX, 400);
    let mut overlay = drawing.overlay(again, &frame, RATIO, texts, &|text| ink.width(text));
    // The learner's own words name what is shown.
    overlay.labels.clear();
    overlay.chosen = None;
    marks::draw(&ink, &overlay, &tokens);
    if again.veil().letters {
        sides(&ink, &overlay, &tokens);
    }
    ink.font(ANNOTATION_PX, 600);
    let colour = css(tokens.get("picture-ink"));
    let margin = 10.0 * RATIO;
    let foot = f64::from(HEIGHT) - margin - ANNOTATION_PX * RATIO / 2.0;
    ink.text(annotation, [margin, foot], "left", &colour);
    Some(())
}

/// The letters of the four sides; in the page these stand beside the canvas.
fn sides(ink: &Ink<'_>, overlay: &Overlay, tokens: &Tokens) {
    let colour = css(tokens.get("picture-ink"));
    for label in &overlay.sides {
        let [x, y] = label.at;
        match label.side {
            ImageSide::Left | ImageSide::Right => {
                ink.font(LETTER_PX, 600);
                ink.text(&label.letters, [x, y], "center", &colour);
            }
            ImageSide::Top | ImageSide::Bottom => {
                ink.font(LETTER_PX, 600);
                let half = ink.width(&label.letters) / 2.0;
                ink.text(&label.letters, [x, y], "center", &colour);
                ink.font(WORDS_PX, 400);
                let beside = x + half + 4.0 * RATIO;
                ink.text(&label.words, [beside, y], "left", &colour);
            }
        }
    }
}

/// A canvas with the picture and its caption beneath, for a file.
pub(crate) fn with_caption(
    again: &State,
    drawing: &mut Drawing,
    annotation: &str,
    lines: &[String],
    texts: &Texts,
) -> Option<HtmlCanvasElement> {
    let page = web_sys::window()?.document()?;
    let canvas: HtmlCanvasElement = page.create_element("canvas").ok()?.dyn_into().ok()?;
    canvas.set_width(u32::from(WIDTH));
    let measuring = context(&canvas)?;
    let ink = Ink {
        context: &measuring,
        ratio: RATIO,
    };
    let margin = 10.0 * RATIO;
    let room = f64::from(WIDTH) - 2.0 * margin;
    ink.font(CAPTION_PX, 400);
    let mut all = lines.to_vec();
    all.push(texts.footer.join(" "));
    let wrapped: Vec<String> = all
        .iter()
        .flat_map(|line| wrap(line, room, &|text| ink.width(text)))
        .collect();
    let step = CAPTION_PX * LINE * RATIO;
    let mut height = f64::from(HEIGHT) + 2.0 * margin;
    for _ in &wrapped {
        height += step;
    }
    // Setting the height clears the canvas and its font.
    canvas.set_height(pixels(height));
    let tokens = Tokens::of(Theme::Light);
    ink.plate(
        [0.0, 0.0, f64::from(WIDTH), height],
        0.0,
        &css(tokens.get("panel")),
    );
    paint(&measuring, again, drawing, annotation, texts)?;
    let colour = css(tokens.get("ink"));
    ink.font(CAPTION_PX, 400);
    let mut y = f64::from(HEIGHT) + margin + step / 2.0;
    for line in &wrapped {
        ink.text(line, [margin, y], "left", &colour);
        y += step;
    }
    Some(canvas)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a height of a thousand pixels or two"
)]
fn pixels(length: f64) -> u32 {
    length.ceil().clamp(1.0, 8192.0) as u32
}

/// Breaks a line where it would be wider than `room`.
fn wrap(line: &str, room: f64, width: &dyn Fn(&str) -> f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut now = String::new();
    for word in line.split_whitespace() {
        let longer = if now.is_empty() {
            word.to_owned()
        } else {
            format!("{now} {word}")
        };
        if now.is_empty() || width(&longer) <= room {
            now = longer;
        } else {
            lines.push(std::mem::replace(&mut now, word.to_owned()));
        }
    }
    lines.push(now);
    lines
}
