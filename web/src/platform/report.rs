//! What the program tells the script that speaks with the page around its frame, and what it is asked.
//!
//! The script decides what goes out; here everything is an event of the document.

use super::language;
use app::texts::form;
use js_sys::{Array, Object, Reflect};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{CustomEvent, CustomEventInit};

/// Name of the event with which the program is asked for something.
const ASK: &str = "planeward:ask";

/// Tells that something of this kind happened, with named values.
pub(crate) fn report(kind: &str, values: &[(&str, JsValue)]) {
    let body = Object::new();
    for (name, value) in values {
        let _ = Reflect::set(&body, &JsValue::from_str(name), value);
    }
    let detail = Object::new();
    let _ = Reflect::set(&detail, &"type".into(), &kind.into());
    let _ = Reflect::set(&detail, &"body".into(), &body);
    dispatch("planeward:report", &detail);
}

/// The view is another one now.
pub(crate) fn view(fragment: &str) {
    report("view", &[("view", fragment.into())]);
}

/// Something that was asked cannot be done.
pub(crate) fn trouble(reason: &str) {
    report("error", &[("reason", reason.into())]);
}

/// From now on the program hears what it is asked.
pub(crate) fn listening() {
    dispatch("planeward:listening", &JsValue::NULL);
}

/// The results so far: the name and the text of a result file, and whether the round is over.
pub(crate) fn results(name: &str, file: &str, finished: bool) {
    if let Ok(result) = js_sys::JSON::parse(file) {
        let body = [
            ("finished", finished.into()),
            ("name", name.into()),
            ("result", result),
        ];
        report("results", &body);
    }
}

/// The body view was drawn and is at rest.
pub(crate) fn drawn() {
    dispatch("planeward:drawn", &JsValue::NULL);
}

/// The canvas of the body view stands in the page and has its context.
pub(crate) fn body_view() {
    dispatch("planeward:body-view", &JsValue::NULL);
}

/// Hands an event of a set's round, a JSON text, to the driver of a course system.
pub(crate) fn course(event: &str) {
    if let Ok(detail) = js_sys::JSON::parse(event) {
        dispatch("planewardResults", &detail);
    }
}

/// A file was given to the reader: its name and the file. The script `web/saved.js` says so in frames, in these words.
pub(crate) fn saved(name: &str, file: &JsValue) {
    let texts = language::texts();
    let said = form(texts.embed.saved, &[name]);
    let detail = Array::of2(&said.into(), file);
    for word in [
        texts.embed.own_tab,
        texts.embed.copy_file,
        texts.teach.copied,
        texts.teach.marked,
        texts.panels.close,
    ] {
        detail.push(&word.into());
    }
    dispatch("planeward:saved", &detail);
}

fn course_driver() -> Option<JsValue> {
    let window = web_sys::window()?;
    let driver = Reflect::get(&window, &"planewardCourse".into()).ok()?;
    driver.is_object().then_some(driver)
}

/// Whether the page has the driver for course systems.
pub(crate) fn has_course_driver() -> bool {
    course_driver().is_some()
}

/// What the driver says of the course system.
pub(crate) fn course_info() -> Option<JsValue> {
    let driver = course_driver()?;
    let info: js_sys::Function = Reflect::get(&driver, &"info".into())
        .ok()?
        .dyn_into()
        .ok()?;
    info.call0(&driver).ok()
}

/// Closes the window, where a script opened it; else nothing happens.
pub(crate) fn close_window() {
    if let Some(window) = web_sys::window()
        && window.opener().is_ok_and(|opener| opener.is_object())
    {
        let _ = window.close();
    }
}

/// What a course system has kept of an earlier visit; empty without one.
pub(crate) async fn course_state() -> String {
    let promise = web_sys::window().and_then(|window| {
        let course = Reflect::get(&window, &"planewardCourse".into()).ok()?;
        let resume: js_sys::Function = Reflect::get(&course, &"resume".into())
            .ok()?
            .dyn_into()
            .ok()?;
        resume
            .call0(&course)
            .ok()?
            .dyn_into::<js_sys::Promise>()
            .ok()
    });
    let Some(promise) = promise else {
        return String::new();
    };
    let kept = wasm_bindgen_futures::JsFuture::from(promise).await.ok();
    kept.and_then(|kept| kept.as_string()).unwrap_or_default()
}

fn dispatch(name: &str, detail: &JsValue) {
    let init = CustomEventInit::new();
    init.set_detail(detail);
    let page = web_sys::window().and_then(|window| window.document());
    if let (Some(page), Ok(event)) = (page, CustomEvent::new_with_event_init_dict(name, &init)) {
        // Nobody has to listen.
        let _ = page.dispatch_event(&event);
    }
}

/// Listens to what the program is asked: the kind, and its text.
pub(crate) fn asked(answer: impl Fn(&str, &str) + 'static) {
    listen(ASK, move |event| {
        let read = |name: &str| {
            Reflect::get(&event.detail(), &JsValue::from_str(name))
                .ok()
                .and_then(|value| value.as_string())
                .unwrap_or_default()
        };
        answer(&read("type"), &read("text"));
    });
}

/// Listens to an event of the document for as long as the page lives.
pub(crate) fn listen(name: &str, act: impl Fn(CustomEvent) + 'static) {
    let Some(page) = web_sys::window().and_then(|window| window.document()) else {
        return;
    };
    let heard = Closure::<dyn Fn(CustomEvent)>::new(act);
    let _ = page.add_event_listener_with_callback(name, heard.as_ref().unchecked_ref());
    heard.forget();
}
