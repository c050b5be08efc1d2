//! The head of the page: the plane's name, its angles, colours and keys.

use super::parts::{Button, Group, Menu};
use super::practise::screens;
use super::{help, why};
use crate::desk::Handle;
use crate::platform::prefer::Theme;
use crate::platform::{language, page_data};
use app::texts::{LANGUAGES, form};
use app::views::{Notice, NoticeKind, Panels};
use app::why::Ask;
use leptos::prelude::*;

/// Head and message line.
pub(crate) fn head(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let panels = handle.shown().panels;
    let name =
        Signal::derive(move || panels.with(|panels| form(texts.page.plane, &[&panels.plane.name])));
    let offset = Signal::derive(move || {
        panels.with(|panels| panels.plane.offset.clone().unwrap_or_default())
    });
    let ask = Button {
        class: "why-plane",
        ..Button::new(texts.why.ask, move || why::ask(handle, Ask::Plane))
    }
    .named(move || texts.why.ask_plane.to_owned());
    let angles = (0..3)
        .map(|place| angle_view(handle, place))
        .collect::<Vec<AnyView>>();
    view! {
        <header class="head">
            <h1 class="brand">{texts.panels.title}</h1>
            <p class="plane" id="plane-name">
                {name}
            </p>
            {ask.view()}
            <p class="angles" id="angles">
                {angles}
                <span>{offset}</span>
            </p>
            <div class="tools">
                {ways(handle)} {language_menu(handle)}
                {theme_menu(handle)} {Button::new(texts.panels.keyboard, help::open).view()}
            </div>
        </header>
        {messages(handle)}
    }
    .into_any()
}

/// The ways to the other screens and pages.
fn ways(handle: Handle) -> AnyView {
    if page_data("page") == "teach" {
        // Its stages are the workshop's own, so scan and practice are pages to go to.
        return crate::teach::ways(handle.texts());
    }
    vec![screens(handle), crate::teach::ways(handle.texts())].into_any()
}

/// The angle between the image plane and one of the three body planes.
fn angle_view(handle: Handle, place: usize) -> AnyView {
    let panels = handle.shown().panels;
    let read = move |part: fn(&app::views::AngleView) -> String| {
        Signal::derive(move || {
            panels.with(|panels| panels.plane.angles.get(place).map(part).unwrap_or_default())
        })
    };
    let angle = read(|angle| angle.text.clone());
    let from = handle.texts().page.from;
    let rest = Signal::derive(move || {
        panels.with(|panels| {
            let name = panels.plane.angles.get(place).map(|angle| angle.name);
            format!(" {from} {}", name.unwrap_or_default())
        })
    });
    let class = read(|angle| {
        if angle.nearest {
            "nearest".to_owned()
        } else {
            String::new()
        }
    });
    view! {
        <span class=class>
            <b>{angle}</b>
            {rest}
        </span>
    }
    .into_any()
}

fn theme_menu(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let theme = handle.shown().theme;
    let label = move |theme: Theme| match theme {
        Theme::Auto => texts.page.theme_auto,
        Theme::Light => texts.panels.theme_light,
        Theme::Dark => texts.panels.theme_dark,
        Theme::Contrast => texts.panels.theme_contrast,
    };
    let options: Vec<_> = Theme::ALL
        .iter()
        .map(|theme| (theme.key().to_owned(), label(*theme).to_owned()))
        .collect();
    let choose = Callback::new(move |key: String| {
        if let Some(theme) = Theme::ALL.into_iter().find(|theme| theme.key() == key) {
            handle.with(|desk| desk.set_theme(theme));
        }
    });
    Menu {
        id: "theme",
        class: "",
        name: Some(texts.panels.theme),
        groups: Group::fixed(options),
        chosen: Signal::derive(move || theme.get().key().to_owned()),
        choose,
    }
    .view()
}

/// The language; choosing one loads the page again.
fn language_menu(handle: Handle) -> AnyView {
    let texts = handle.texts();
    let options: Vec<_> = LANGUAGES
        .iter()
        .map(|(tag, name)| ((*tag).to_owned(), (*name).to_owned()))
        .collect();
    Menu {
        id: "language",
        class: "",
        name: Some(texts.page.language),
        groups: Group::fixed(options),
        chosen: Signal::stored(texts.language.to_owned()),
        choose: Callback::new(|tag: String| language::choose(&tag)),
    }
    .view()
}

/// Notices of one kind.
pub(crate) fn notices(panels: &Panels, kind: NoticeKind) -> Vec<Notice> {
    panels
        .status
        .notices
        .iter()
        .filter(|notice| notice.kind == kind)
        .cloned()
        .collect()
}

/// Messages about the link, until they are put away.
fn messages(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let notes = Memo::new(move |_| panels.with(|panels| notices(panels, NoticeKind::Note)));
    let list = move || {
        let one = |notice| {
            view! { <div class="notice" id="notice">{notice_view(handle, notice)}</div> }.into_any()
        };
        notes.get().into_iter().map(one).collect::<Vec<AnyView>>()
    };
    view! {
        <div role="status" class="messages">
            {list}
        </div>
    }
    .into_any()
}

/// A sentence with its button.
pub(crate) fn notice_view(handle: Handle, notice: Notice) -> AnyView {
    let button = notice.offer.map(|offer| {
        let action = offer.action;
        Button::new(offer.label, move || handle.act(action.clone())).view()
    });
    view! {
        <p>{notice.text}</p>
        {button}
    }
    .into_any()
}
