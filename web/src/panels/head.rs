//! The head of the page: the plane's name, its angles, colours and keys.

use super::{help, words};
use crate::desk::Handle;
use crate::platform::prefer::Theme;
use crate::stage::body_canvas::Notice;
use app::views::NoticeKind;
use leptos::prelude::*;

/// Head and message line.
#[component]
pub(crate) fn Head(handle: Handle) -> impl IntoView {
    let texts = handle.texts();
    let plane = handle.panel(|panels| &panels.plane);
    let name = Memo::new(move |_| plane.with(|plane| format!("{} {}", plane.name, words::PLANE)));
    let offset = Memo::new(move |_| plane.with(|plane| plane.offset.clone()));
    let angles = Memo::new(move |_| plane.with(|plane| plane.angles.clone()));
    view! {
        <header class="head">
            <h1 class="brand">{texts.panels.title}</h1>
            <p class="plane" id="plane-name">
                {move || name.get()}
            </p>
            <p class="angles" id="angles">
                {move || {
                    angles
                        .get()
                        .map(|angle| {
                            view! {
                                <span class:nearest=angle.nearest>
                                    <b>{angle.text}</b>
                                    {format!(" {} {}", words::FROM, angle.name)}
                                </span>
                            }
                        })
                        .into_iter()
                        .collect_view()
                }} {move || offset.get().map(|offset| view! { <span>{offset}</span> })}
            </p>
            <div class="tools">
                <ThemeMenu handle />
                <button type="button" on:click=move |_| help::open()>
                    {texts.panels.keyboard}
                </button>
            </div>
        </header>
        <Messages handle />
    }
}

#[component]
fn ThemeMenu(handle: Handle) -> impl IntoView {
    let panels = handle.texts().panels;
    let theme = handle.shown().theme;
    let label = move |theme: Theme| match theme {
        Theme::Auto => words::THEME_AUTO,
        Theme::Light => panels.theme_light,
        Theme::Dark => panels.theme_dark,
    };
    let choose = move |key: String| {
        if let Some(theme) = Theme::ALL.into_iter().find(|theme| theme.key() == key) {
            handle.with(|desk| desk.set_theme(theme));
        }
    };
    let options = Theme::ALL.map(|item| {
        view! {
            <option value=item.key() prop:selected=move || theme.get() == item>
                {label(item)}
            </option>
        }
    });
    view! {
        <select aria-label=panels.theme on:change=move |event| choose(event_target_value(&event))>
            {options.into_iter().collect_view()}
        </select>
    }
}

/// Messages about the link, until they are put away.
#[component]
fn Messages(handle: Handle) -> impl IntoView {
    let status = handle.panel(|panels| &panels.status);
    let notes = Memo::new(move |_| {
        status.with(|status| {
            let plain = |notice: &&app::views::Notice| notice.kind == NoticeKind::Note;
            status
                .notices
                .iter()
                .filter(plain)
                .cloned()
                .collect::<Vec<_>>()
        })
    });
    view! {
        <div role="status" class="messages">
            {move || {
                notes
                    .get()
                    .into_iter()
                    .map(|notice| {
                        view! {
                            <div class="notice" id="notice">
                                <Notice handle notice />
                            </div>
                        }
                    })
                    .collect_view()
            }}
        </div>
    }
}
