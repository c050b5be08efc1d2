//! The examination's ties to the browser: clock, chance, storage, the vocabulary's file, the question before leaving,
//! small pictures, downloads.

use crate::desk::{Desk, Place};
use crate::platform::store::BrowserShelf;
use crate::platform::{fetch, language, save};
use crate::stage::saved;
use app::examine::acquired::replay;
use app::examine::files;
use app::examine::keeping::{self, Keeper, Shelf as _};
use app::examine::{Examine, Moment, Note, shipped_vocabulary};
use app::{Action, State, views};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{Clamped, JsCast as _};
use web_sys::{BeforeUnloadEvent, HtmlCanvasElement, ImageData};

/// Size of a small picture of the strip, device pixels.
const SMALL: (u32, u32) = (168, 126);

/// What marks a canvas of the strip that has not been drawn yet; its value is the picture's number.
pub(crate) const UNDRAWN: &str = "data-undrawn";

/// The shelf and who keeps this tab's work on it. In a frame of another page nothing is kept.
pub(crate) struct Keeping {
    keeper: Option<Keeper>,
    /// What is to happen first.
    first: Vec<Examine>,
}

impl Keeping {
    pub(crate) fn open(place: Place) -> Self {
        if place == Place::Frame {
            return Self {
                keeper: None,
                first: Vec::new(),
            };
        }
        let (keeper, first) = Keeper::open(&BrowserShelf, chance(), now());
        Self {
            keeper: Some(keeper),
            first,
        }
    }

    pub(crate) fn keep(&mut self, state: &State) -> Vec<Examine> {
        let kept = state.examination().kept();
        let keeper = self.keeper.as_mut();
        keeper.map_or_else(Vec::new, |keeper| keeper.keep(&BrowserShelf, kept))
    }

    fn take_up(&mut self, slot: &str) -> Vec<Examine> {
        let keeper = self.keeper.as_mut();
        keeper.map_or_else(Vec::new, |keeper| {
            keeper.take_up(&BrowserShelf, slot, now())
        })
    }
}

/// The time on this computer.
#[expect(
    clippy::cast_possible_truncation,
    reason = "milliseconds since 1970 and minutes of a day are whole and small"
)]
pub(crate) fn now() -> Moment {
    let date = js_sys::Date::new_0();
    Moment {
        unix_ms: date.get_time() as i64,
        offset_min: -date.get_timezone_offset() as i32,
    }
}

/// A number that nobody can guess and nobody else gets.
pub(crate) fn chance() -> u64 {
    let mut bytes = [0; 8];
    let filled = web_sys::window()
        .and_then(|window| window.crypto().ok())
        .is_some_and(|crypto| crypto.get_random_values_with_u8_array(&mut bytes).is_ok());
    if filled {
        u64::from_le_bytes(bytes)
    } else {
        js_sys::Math::random().to_bits()
    }
}

/// Takes up kept work, fetches the vocabulary, and asks before unfinished work is left.
pub(crate) fn begin(desk: &Desk) {
    let first = desk.keeping(|keeping| std::mem::take(&mut keeping.first));
    for what in first.into_iter().flatten() {
        desk.act(Action::Examine(what));
    }
    wasm_bindgen_futures::spawn_local(fetch_vocabulary(desk.clone()));
    let desk = desk.clone();
    let ask = Closure::<dyn FnMut(BeforeUnloadEvent)>::new(move |event: BeforeUnloadEvent| {
        let unfinished = desk.read(|state| state.examination().is_unfinished());
        if unfinished == Some(true) {
            event.prevent_default();
            // Older browsers ask only when a text is set; none shows it.
            event.set_return_value("unfinished");
        }
    });
    if let Some(window) = web_sys::window() {
        let _ =
            window.add_event_listener_with_callback("beforeunload", ask.as_ref().unchecked_ref());
    }
    // Asks as long as the page lives.
    ask.forget();
}

async fn fetch_vocabulary(desk: Desk) {
    let address = web_sys::window()
        .and_then(|window| window.document()?.body()?.get_attribute("data-vocabulary"))
        .unwrap_or_else(|| "vocabulary.json".to_owned());
    let what = match fetch::whole(&address).await {
        Ok(json) => shipped_vocabulary(&json, language::texts()),
        Err(_missing) => Examine::VocabularyFailed,
    };
    desk.act(Action::Examine(what));
}

/// Does one thing that can wait, after a frame: takes up work that is wanted, judges a picture, draws a small one. The
/// frame that follows does the next.
pub(crate) fn next_job(desk: &Desk) {
    let wanted = desk.read(|state| {
        let slot = state.examination().wanted().map(str::to_owned);
        let aside = state.examination().aside_wanted().map(str::to_owned);
        (slot, aside, state.unjudged().is_some())
    });
    match wanted {
        Some((Some(slot), _, _)) => take_up(desk, &slot),
        Some((None, Some(aside), _)) => save_aside(desk, aside),
        Some((None, None, true)) => desk.act(Action::Examine(Examine::Judge)),
        _ => draw_small(desk),
    }
}

fn take_up(desk: &Desk, slot: &str) {
    let todo = desk
        .keeping(|keeping| keeping.take_up(slot))
        .unwrap_or_default();
    if todo.is_empty() {
        // It has gone in the meantime.
        let kept = desk.read(|state| state.examination().kept().clone());
        if let Some(kept) = kept {
            desk.act(Action::Examine(Examine::BringBack(Box::new(kept))));
        }
    }
    for what in todo {
        desk.act(Action::Examine(what));
    }
    let asides = keeping::asides(&BrowserShelf, now());
    if !asides.is_empty() {
        desk.act(Action::Examine(Examine::PutAside(asides)));
    }
}

/// Gives the text kept under a name to the reader, as it is.
fn save_aside(desk: &Desk, name: String) {
    let text = BrowserShelf.get(&name).ok().flatten();
    let given =
        text.is_some_and(|text| save::give(&format!("{name}.txt"), "text/plain", text.as_bytes()));
    desk.act(Action::Examine(if given {
        Examine::AsideSaved(name)
    } else {
        Examine::AsideNotSaved
    }));
}

/// Throws away a text that was put aside.
pub(crate) fn throw_away(desk: &Desk, name: &str) {
    keeping::throw_away(&BrowserShelf, name);
    let left = keeping::asides(&BrowserShelf, now());
    desk.act(Action::Examine(Examine::PutAside(left)));
}

/// Draws one small picture of the strip, if one is waiting.
fn draw_small(desk: &Desk) {
    let canvas = web_sys::window()
        .and_then(|window| window.document())
        .and_then(|page| {
            page.query_selector(&format!("canvas[{UNDRAWN}]"))
                .ok()
                .flatten()
        })
        .and_then(|found| found.dyn_into::<HtmlCanvasElement>().ok());
    let Some(canvas) = canvas else { return };
    let number = canvas
        .get_attribute(UNDRAWN)
        .and_then(|number| number.parse().ok());
    let _ = canvas.remove_attribute(UNDRAWN);
    let _ = number.and_then(|number| {
        desk.aside(|state, drawing, _| {
            let again = replay(state, state.examination().picture(number)?);
            let (width, height) = SMALL;
            let frame = files::small_frame(&again, width, height);
            drawing.look_at(&again);
            let rgba = drawing.picture(&again, &frame, 1.0);
            if rgba.is_empty() {
                return None;
            }
            canvas.set_width(width);
            canvas.set_height(height);
            let context: web_sys::CanvasRenderingContext2d =
                canvas.get_context("2d").ok()??.dyn_into().ok()?;
            let image =
                ImageData::new_with_u8_clamped_array_and_sh(Clamped(rgba), width, height).ok()?;
            context.put_image_data(&image, 0.0, 0.0).ok()
        })
    });
    desk.wake();
}

/// Draws the picture that is looked at again.
pub(crate) fn draw_review(desk: &Desk, canvas: &HtmlCanvasElement) {
    let _ = desk.aside(|state, drawing, texts| {
        let kept = state.examination().reviewed()?;
        let again = replay(state, kept);
        saved::picture(canvas, &again, drawing, &kept.annotation, texts)
    });
}

/// A picture with its caption on a canvas of its own.
fn captioned(desk: &Desk, number: u32) -> Option<(String, HtmlCanvasElement)> {
    desk.aside(|state, drawing, texts| {
        let kept = state.examination().picture(number)?;
        let again = replay(state, kept);
        let lines = views::picture_lines(state, kept, texts);
        let canvas = saved::with_caption(&again, drawing, &kept.annotation, &lines, texts)?;
        Some((files::png_name(kept), canvas))
    })
}

fn told(desk: &Desk, given: bool) {
    let note = Note::NotSaved;
    desk.act(Action::Examine(if given {
        Examine::TakeBack(note)
    } else {
        Examine::Tell(note)
    }));
}

/// Gives the picture of this number with its caption to the reader.
pub(crate) async fn save_png(desk: Desk, number: u32) {
    let mut given = false;
    if let Some((name, canvas)) = captioned(&desk, number)
        && let Some(bytes) = save::png(&canvas).await
    {
        given = save::give(&name, "image/png", &bytes);
    }
    told(&desk, given);
}

/// Gives the DICOM file of the picture of this number to the reader.
pub(crate) fn save_dicom(desk: &Desk, number: u32) {
    let file = desk.aside(|state, drawing, _| {
        let name = files::dicom_name(state.examination().picture(number)?);
        Some((name, files::dicom(state, number, drawing)?))
    });
    let given = file.is_some_and(|(name, bytes)| save::give(&name, "application/dicom", &bytes));
    told(desk, given);
}

/// Gives the whole set to the reader.
pub(crate) async fn save_set(desk: Desk) {
    let numbers: Vec<u32> = desk
        .read(|state| {
            let pictures = state.examination().pictures();
            pictures.iter().map(|kept| kept.number).collect()
        })
        .unwrap_or_default();
    let mut pngs: Vec<(u32, Vec<u8>)> = Vec::new();
    for number in numbers {
        if let Some((_, canvas)) = captioned(&desk, number)
            && let Some(bytes) = save::png(&canvas).await
        {
            pngs.push((number, bytes));
        }
    }
    let archive = desk.aside(|state, drawing, texts| {
        Some(files::set(state, texts, now(), drawing, |number| {
            let place = pngs.iter().position(|(known, _)| *known == number)?;
            Some(pngs.swap_remove(place).1)
        }))
    });
    let given = archive.is_some_and(|bytes| save::give(files::SET_NAME, "application/zip", &bytes));
    told(&desk, given);
}
