//! The whole page.

use crate::desk::{Desk, Handle, Place};
use crate::panels::acquire;
use crate::panels::controls::controls;
use crate::panels::head::head;
use crate::panels::help::help;
use crate::panels::parts::Refused;
use crate::panels::picture::picture_stage;
use crate::panels::practise::{given_stages, practise, veil_words};
use crate::panels::reading::reading;
use crate::panels::review;
use crate::platform::{address, language, prefer, session};
use crate::stage::body_canvas::body_stage;
use crate::test_hooks;
use app::Action;
use leptos::prelude::*;
use std::any::Any;
use std::cell::RefCell;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;

/// Puts the page into its element, in place of the loading words.
pub(crate) fn mount() {
    mount_view(page);
}

/// Puts a view into the page's element, in the wanted language and in place of the loading words.
pub(crate) fn mount_view(view: fn() -> AnyView) {
    wasm_bindgen_futures::spawn_local(async move {
        language::take_up().await;
        put(view);
    });
}

thread_local! {
    /// What takes the present view out of the page again.
    static MOUNTED: RefCell<Option<Box<dyn Any>>> = const { RefCell::new(None) };
}

fn host() -> Option<web_sys::HtmlElement> {
    web_sys::window()
        .and_then(|window| window.document()?.get_element_by_id("planeward"))
        .and_then(|element| element.dyn_into().ok())
}

/// Puts a view into the page, in place of what is there: it lives as long as its document, or until the next one.
fn put(view: fn() -> AnyView) {
    let Some(host) = host() else { return };
    let before = MOUNTED.with(|mounted| mounted.borrow_mut().take());
    drop(before);
    host.set_text_content(None);
    let mounted = mount_to(host, view);
    MOUNTED.with(|place| *place.borrow_mut() = Some(Box::new(mounted)));
}

/// Says in place of the page why there is none.
pub(crate) fn say(reason: &str) {
    let words = web_sys::window()
        .and_then(|window| window.document()?.get_element_by_id("loading"))
        .and_then(|element| element.dyn_into::<web_sys::HtmlElement>().ok());
    if let Some(words) = words {
        words.set_text_content(Some(reason));
    }
}

fn page() -> AnyView {
    let address = address::read();
    let left = session::left();
    let view = left.as_ref().and_then(|left| left.view_at(&address));
    let desk = Desk::new(view.unwrap_or(&address), Place::Page);
    session::keep_on_leaving(&desk);
    desk.shown().theme.get_untracked().apply();
    test_hooks::install(&desk);
    let handle = Handle::new(desk);
    if let Some(left) = left {
        handle.act(Action::TakeUp(Box::new(left)));
    }
    follow_the_browser(handle);
    let shown = handle.shown();
    provide_context(Refused(shown.refused));
    let texts = handle.texts();
    let footer = texts.footer.join(" ");
    let moving = Signal::derive(move || shown.moving.get().to_string());
    view! {
        <div class="page" data-body=shown.body data-moving=moving data-veil=veil_words(handle)>
            {head(handle)}
            {acquire::notes(handle)}
            <main class="work">
                <div class="stages">{given_stages(handle)} {body_stage(handle)} {picture_stage(handle)}</div>
                {acquire::examine_bar(handle)}
                {controls(handle)}
                {reading(handle)}
                {practise(handle)}
            </main>
            <footer class="foot">{footer}</footer>
            <p class="unseen" id="live" role="status" aria-live="polite" aria-atomic="true">
                {shown.live}
            </p>
            {help(handle)}
            {review::review(handle)}
            {review::finish(handle)}
        </div>
    }
    .into_any()
}

/// The address, the theme and the wish for less motion may change from outside.
fn follow_the_browser(handle: Handle) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let heard = Closure::<dyn FnMut()>::new(move || handle.act(Action::OpenLink(address::read())));
    let _ = window.add_event_listener_with_callback("hashchange", heard.as_ref().unchecked_ref());
    heard.forget();
    follow_the_system(handle);
}

/// The system's colours and its wish for less motion.
pub(crate) fn follow_the_system(handle: Handle) {
    follow("(prefers-contrast: more)", move || {
        handle.with(Desk::follow_colours);
    });
    follow("(prefers-color-scheme: dark)", move || {
        handle.with(Desk::follow_colours);
    });
    follow("(prefers-reduced-motion: reduce)", move || {
        handle.act(Action::SetReducedMotion(prefer::reduced_motion()));
    });
}

fn follow(query: &str, change: impl Fn() + 'static) {
    let Some(Ok(Some(list))) = web_sys::window().map(|window| window.match_media(query)) else {
        return;
    };
    let heard = Closure::<dyn FnMut()>::new(change);
    let _ = list.add_event_listener_with_callback("change", heard.as_ref().unchecked_ref());
    // Both the list and the listener have to live as long as the page.
    heard.forget();
    std::mem::forget(list);
}
