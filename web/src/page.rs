//! The whole page.

use crate::desk::{Desk, Handle};
use crate::panels::controls::Controls;
use crate::panels::head::Head;
use crate::panels::help::Help;
use crate::panels::picture::PictureStage;
use crate::panels::reading::Reading;
use crate::platform::{address, prefer};
use crate::stage::body_canvas::BodyStage;
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
    let mounted = mount_to(host, Page);
    // The page lives as long as its document.
    mounted.forget();
}

#[component]
fn Page() -> impl IntoView {
    let desk = Desk::new();
    desk.shown().theme.get_untracked().apply();
    test_hooks::install(&desk);
    let handle = Handle::new(desk);
    follow_the_browser(handle);
    let shown = handle.shown();
    let texts = handle.texts();
    view! {
        <div
            class="page"
            data-body=move || shown.body.get()
            data-moving=move || shown.moving.get().to_string()
        >
            <Head handle />
            <main class="work">
                <div class="stages">
                    <BodyStage handle />
                    <PictureStage handle />
                </div>
                <Controls handle />
                <Reading handle />
            </main>
            <footer class="foot">
                {texts.footer.map(|sentence| view! { <span>{sentence}" "</span> }).into_iter().collect_view()}
            </footer>
            <p class="unseen" id="live" role="status" aria-live="polite" aria-atomic="true">
                {move || shown.live.get()}
            </p>
            <Help handle />
        </div>
    }
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
