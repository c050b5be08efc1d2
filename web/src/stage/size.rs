//! The size of a canvas in device pixels, followed without a draw in between.
//!
//! The observer reports device pixels exactly where the browser knows them; elsewhere the content box
//! times the pixel ratio is taken. Moving a window to another screen changes the ratio without a change
//! of size, so a media query on the ratio is armed anew after each change.

use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{
    Element, MediaQueryList, ResizeObserver, ResizeObserverBoxOptions, ResizeObserverEntry,
    ResizeObserverOptions, ResizeObserverSize,
};

/// More pixels per CSS pixel than this are not drawn: they cost a phone its frame rate and show nothing.
const MOST_PIXEL_RATIO: f64 = 2.0;

/// Size of a canvas.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Size {
    /// Width in CSS pixels.
    pub(crate) css_width: f64,
    /// Height in CSS pixels.
    pub(crate) css_height: f64,
    /// Width of the drawing buffer, at least 1.
    pub(crate) width: u32,
    /// Height of the drawing buffer, at least 1.
    pub(crate) height: u32,
}

impl Size {
    /// Device pixels of the drawing buffer per CSS pixel.
    pub(crate) fn ratio(self) -> f64 {
        if self.css_width > 0.0 {
            f64::from(self.width) / self.css_width
        } else {
            1.0
        }
    }

    fn new(css: [f64; 2], device: [f64; 2]) -> Self {
        let ratio = if css[0] > 0.0 {
            device[0] / css[0]
        } else {
            1.0
        };
        let shrink = if ratio > MOST_PIXEL_RATIO {
            MOST_PIXEL_RATIO / ratio
        } else {
            1.0
        };
        Self {
            css_width: css[0],
            css_height: css[1],
            width: pixels(device[0] * shrink),
            height: pixels(device[1] * shrink),
        }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "brought into 1 to 16384 first"
)]
fn pixels(length: f64) -> u32 {
    length.round().clamp(1.0, 16_384.0) as u32
}

/// Watches one element until dropped.
pub(crate) struct Watch {
    observer: ResizeObserver,
    ratio: Rc<RefCell<Option<RatioQuery>>>,
    _on_size: Closure<dyn FnMut(js_sys::Array)>,
}

struct RatioQuery {
    list: MediaQueryList,
    on_change: Closure<dyn FnMut()>,
}

impl Drop for RatioQuery {
    fn drop(&mut self) {
        let _ = self
            .list
            .remove_event_listener_with_callback("change", self.on_change.as_ref().unchecked_ref());
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.observer.disconnect();
        self.ratio.borrow_mut().take();
    }
}

impl Watch {
    /// Calls `changed` with the size of `element`, now and after every change.
    ///
    /// `None` where the browser has no `ResizeObserver`.
    pub(crate) fn new(element: &Element, changed: impl Fn(Size) + 'static) -> Option<Self> {
        let on_size = Closure::new(move |entries: js_sys::Array| {
            if let Ok(entry) = entries.get(0).dyn_into::<ResizeObserverEntry>() {
                changed(measured(&entry));
            }
        });
        let observer = ResizeObserver::new(on_size.as_ref().unchecked_ref()).ok()?;
        observe(&observer, element);
        let ratio = Rc::new(RefCell::new(None));
        arm(&ratio, observer.clone(), element.clone());
        Some(Self {
            observer,
            ratio,
            _on_size: on_size,
        })
    }
}

/// Observing again makes the observer report again.
fn observe(observer: &ResizeObserver, element: &Element) {
    let options = ResizeObserverOptions::new();
    options.set_box(ResizeObserverBoxOptions::DevicePixelContentBox);
    let refused = js_sys::Function::from(
        js_sys::Reflect::get(observer, &JsValue::from_str("observe")).unwrap_or(JsValue::UNDEFINED),
    )
    .call2(observer, element, &options)
    .is_err();
    if refused {
        // This browser knows only the content box.
        observer.observe(element);
    }
}

fn arm(slot: &Rc<RefCell<Option<RatioQuery>>>, observer: ResizeObserver, element: Element) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let query = format!("(resolution: {}dppx)", window.device_pixel_ratio());
    let Ok(Some(list)) = window.match_media(&query) else {
        return;
    };
    let again = Rc::downgrade(slot);
    let on_change = Closure::once(move || {
        observer.unobserve(&element);
        observe(&observer, &element);
        if let Some(slot) = again.upgrade() {
            arm(&slot, observer, element);
        }
    });
    let _ = list.add_event_listener_with_callback("change", on_change.as_ref().unchecked_ref());
    *slot.borrow_mut() = Some(RatioQuery { list, on_change });
}

fn measured(entry: &ResizeObserverEntry) -> Size {
    let rect = entry.content_rect();
    let css = [rect.width(), rect.height()];
    let exact = js_sys::Reflect::get(entry, &JsValue::from_str("devicePixelContentBoxSize"))
        .ok()
        .and_then(|boxes| boxes.dyn_into::<js_sys::Array>().ok())
        .and_then(|boxes| boxes.get(0).dyn_into::<ResizeObserverSize>().ok());
    let ratio = web_sys::window().map_or(1.0, |window| window.device_pixel_ratio());
    let device = exact.map_or(css.map(|length| length * ratio), |size| {
        [size.inline_size(), size.block_size()]
    });
    Size::new(css, device)
}
