//! The workshop of exercise sets: the scan page's stages and controls beside the list of questions.

use crate::desk::{Desk, Handle, Place};
use crate::page;
use crate::panels::controls::controls;
use crate::panels::head::head;
use crate::panels::help::help;
use crate::panels::parts::Refused;
use crate::panels::picture::picture_stage;
use crate::panels::teach::{self, Workshop};
use crate::platform::{fetch, language, page_data, store};
use crate::stage::body_canvas::body_stage;
use crate::test_hooks;
use app::examine::shipped_vocabulary;
use app::teach::TeachAction;
use app::{Action, Examine, Texts};
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

/// Under which the set is kept between visits.
pub(crate) const KEPT: &str = "teach";

/// Puts the workshop into its element, in place of the loading words.
pub(crate) fn mount() {
    page::mount_view(workshop);
}

/// The links between the pages for learners and for teachers; the one that is open is marked.
pub(crate) fn ways(texts: &Texts) -> AnyView {
    let words = texts.teach;
    let here = page_data("page");
    let link = |words: &'static str, address: &'static str, page: &str| {
        let current = (here == page).then_some("page");
        view! {
            <a class="way" href=address aria-current=current>
                {words}
            </a>
        }
        .into_any()
    };
    if here != "teach" && here != "results" {
        return link(words.title, "teach.html", "teach");
    }
    let links = vec![
        link(words.to_scan, "./", ""),
        link(words.to_practise, "./#v1.screen=practise", ""),
        link(words.title, "teach.html", "teach"),
        link(words.to_results, "results.html", "results"),
    ];
    view! {
        <nav class="ways" aria-label=words.ways>
            {links}
        </nav>
    }
    .into_any()
}

fn workshop() -> AnyView {
    let desk = Desk::new("", Place::Frame);
    desk.shown()
        .theme
        .set(crate::platform::prefer::Theme::stored());
    desk.set_theme(desk.shown().theme.get_untracked());
    test_hooks::install(&desk);
    let handle = Handle::new(desk);
    page::follow_the_system(handle);
    let shown = handle.shown();
    provide_context(Refused(shown.refused));
    let work = Workshop::new(handle);
    if let Some(kept) = store::get(KEPT) {
        work.act(TeachAction::OpenKept(kept));
    }
    spawn_local(async move {
        let words = match fetch::whole(&page_data("vocabulary")).await {
            Ok(json) => shipped_vocabulary(&json, language::texts()),
            Err(_missing) => Examine::VocabularyFailed,
        };
        handle.act(Action::Examine(words));
        work.refresh();
    });
    // Questions are tried on the body, so its arrival changes what is said of them.
    Effect::new(move |_| {
        shown.body.track();
        work.refresh();
    });
    let texts = handle.texts();
    let footer = texts.footer.join(" ");
    let moving = Signal::derive(move || shown.moving.get().to_string());
    view! {
        <div class="page teach" data-body=shown.body data-moving=moving>
            {head(handle)}
            <main class="work">
                <div class="stages">{body_stage(handle)} {picture_stage(handle)}</div>
                {teach::panel(work)}
                <details class="probe-controls" open>
                    <summary>{texts.panels.probe}</summary>
                    {controls(handle)}
                </details>
            </main>
            <footer class="foot">{footer}</footer>
            <p class="unseen" id="live" role="status" aria-live="polite" aria-atomic="true">
                {shown.live}
            </p>
            {help(handle)}
            {teach::preview(work)}
        </div>
    }
    .into_any()
}
