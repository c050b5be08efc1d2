//! The Practise screen: what to choose from, questions, the review. Its views are the two stages beside it.

mod compare;
mod home;
mod pictures;
mod question;
mod review;
mod sheet;

pub(crate) use compare::{given_stages, which};

use super::parts::Button;
use crate::desk::Handle;
use crate::record::now_ms;
use app::Action;
use app::practise::{PractiseAction, PractiseView, Screen, time_words};
use app::texts::form;
use leptos::html;
use leptos::prelude::*;
use std::time::Duration;

/// How often the time is written anew.
const SECOND: Duration = Duration::from_secs(1);

fn act(handle: Handle, action: PractiseAction) {
    handle.act(Action::Practise(action));
}

/// A part of the view as a signal.
fn read<T: Clone + Send + Sync + 'static>(
    handle: Handle,
    part: impl Fn(&PractiseView) -> T + Send + Sync + 'static,
) -> Signal<T> {
    let panels = handle.shown().panels;
    Signal::derive(move || panels.with(|panels| part(&panels.practise)))
}

/// The switch between the screens, for the head of the page.
pub(crate) fn screens(handle: Handle) -> AnyView {
    let texts = handle.texts().practise;
    let link = |label: &'static str, screen: Screen| {
        let open = read(handle, move |view| {
            view.open == (screen == Screen::Practise)
        });
        let current = Signal::derive(move || Some(open.get().to_string()));
        Button {
            pressed: current,
            ..Button::new(label, move || {
                act(
                    handle,
                    match screen {
                        Screen::Scan => PractiseAction::Close,
                        Screen::Practise => PractiseAction::Open,
                    },
                );
            })
        }
        .view()
    };
    view! {
        <nav class="screens" aria-label=handle.texts().page.screens>
            {link(texts.scan, Screen::Scan)}
            {link(texts.practise, Screen::Practise)}
        </nav>
    }
    .into_any()
}

/// What of the two stages is shown, for the style sheet.
pub(crate) fn veil_words(handle: Handle) -> Signal<String> {
    let panels = handle.shown().panels;
    Signal::derive(move || {
        panels.with(|panels| {
            let veil = panels.veil;
            let mut words = Vec::new();
            for (shown, word) in [
                (panels.practise.open, "practise"),
                (!veil.body, "no-body"),
                (!veil.picture, "no-picture"),
                (!veil.letters, "no-letters"),
                (!veil.names, "no-names"),
                (panels.practise.sheet.is_some(), "sheet"),
                (panels.practise.compare.is_some(), "compare"),
                (panels.practise.open && veil.moves && !veil.names, "moves"),
                (
                    panels.practise.open && panels.practise.question.is_none(),
                    "between",
                ),
            ] {
                if shown {
                    words.push(word);
                }
            }
            words.join(" ")
        })
    })
}

/// The time that a round takes, where it is wanted. It is not read aloud by itself.
fn clock(handle: Handle) -> AnyView {
    let pattern = handle.texts().practise.time;
    let began = read(handle, |view| view.clock_ms);
    let began = Memo::new(move |_| began.get());
    let line = move || {
        let began = began.get()?;
        let words = move || form(pattern, &[&time_words(now_ms().saturating_sub(began))]);
        let shown = RwSignal::new(words());
        let every = set_interval_with_handle(move || shown.set(words()), SECOND).ok();
        on_cleanup(move || {
            if let Some(every) = every {
                every.clear();
            }
        });
        Some(view! { <p class="clock-line soft" role="timer">{shown}</p> }.into_any())
    };
    view! { <>{line}</> }.into_any()
}

/// The panel.
pub(crate) fn practise(handle: Handle) -> AnyView {
    let texts = handle.texts().practise;
    let panels = handle.shown().panels;
    let page = Memo::new(move |_| {
        panels.with(|panels| {
            let view = &panels.practise;
            view.open.then_some(view.page)
        })
    });
    let note = read(handle, |view| view.note.clone().unwrap_or_default());
    let quiet = Signal::derive(move || note.with(String::is_empty));
    let dismiss = Button::new(handle.texts().panels.dismiss, move || {
        act(handle, PractiseAction::Dismiss);
    });
    let heading = NodeRef::<html::H2>::new();
    // A new page of the screen begins at its heading, for the eye and for the screen reader.
    Effect::new(move |before: Option<Option<(usize, u8)>>| {
        let now = page.get();
        if matches!(now, Some((_, 0))) {
            // What is due depends on the time.
            act(handle, PractiseAction::Now(now_ms()));
        }
        if before.is_some_and(|before| before != now)
            && now.is_some()
            && let Some(heading) = heading.get_untracked()
        {
            let _ = heading.focus();
        }
        now
    });
    let heading_of_pictures = handle.texts().set.pictures_heading;
    let title = read(handle, move |view| {
        let question = view.question.as_ref().map(|one| one.heading.clone());
        let review = view.review.as_ref().map(|one| one.heading.to_owned());
        let pictures = view
            .pictures
            .as_ref()
            .map(|_| heading_of_pictures.to_owned());
        let sheet = view.sheet.as_ref().map(|one| one.heading.to_owned());
        question
            .or(sheet)
            .or(review)
            .or(pictures)
            .unwrap_or_else(|| texts.title.to_owned())
    });
    let content = move || {
        let (_, stage) = page.get()?;
        Some(match stage {
            0 if panels.with_untracked(|panels| panels.practise.home.is_none()) => return None,
            0 => home::home(handle),
            4 => review::review(handle),
            5 => pictures::pictures(handle),
            6 => sheet::sheet(handle),
            _ => question::question(handle),
        })
    };
    view! {
        <section class="practise" aria-labelledby="practise-title">
            <h2 id="practise-title" tabindex="-1" node_ref=heading>
                {title}
            </h2>
            <div role="status" class="practise-note" data-quiet=move || quiet.get().to_string()>
                <p>{note}</p>
                <span hidden=quiet>{dismiss.view()}</span>
            </div>
            {clock(handle)}
            {content}
        </section>
    }
    .into_any()
}
