//! The whole page.

use crate::desk::{Desk, Handle};
use crate::panels::controls::controls;
use crate::panels::head::head;
use crate::panels::help::help;
use crate::panels::picture::picture_stage;
use crate::panels::reading::reading;
use crate::platform::{address, prefer};
use crate::stage::body_canvas::body_stage;
use crate::test_hooks;
use app::Action;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;

/// Puts the page into its element, in place of the loading words.
pub(crate) fn mount() {
    let host = web_sys::window()
        .and_then(|window| window.document()?.get_element_by_id("planeward"))
        .and_then(|element| element.dyn_into::<web_sys::HtmlElement>().ok());
    let Some(host) = host else { return };
    host.set_text_content(None);
    let mounted = mount_to(host, page);
    // The page lives as long as its document.
    mounted.forget();
}

fn page() -> AnyView {
    let desk = Desk::new();
    desk.shown().theme.get_untracked().apply();
    test_hooks::install(&desk);
    let handle = Handle::new(desk);
    follow_the_browser(handle);
    let shown = handle.shown();
    let texts = handle.texts();
    let footer = texts.footer.join(" ");
    let moving = Signal::derive(move || shown.moving.get().to_string());
    view! {
        <div class="page" data-body=shown.body data-moving=moving>
            {head(handle)}
            <main class="work">
                <div class="stages">{body_stage(handle)} {picture_stage(handle)}</div>
                {controls(handle)}
                {reading(handle)}
            </main>
            <footer class="foot">{footer}</footer>
            <p class="unseen" id="live" role="status" aria-live="polite" aria-atomic="true">
                {shown.live}
            </p>
            {help(handle)}
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
