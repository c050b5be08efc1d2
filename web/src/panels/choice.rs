//! A choice of the application as a menu or as radio buttons.

use super::parts::{self, Group, Menu};
use crate::desk::Handle;
use app::views::{Choice, Panels};
use leptos::prelude::*;

/// Which choice of the panels is meant.
pub(crate) type Pick = fn(&Panels) -> &Choice;

fn take(handle: Handle, pick: Pick, key: &str) {
    let action = handle.shown().panels.with_untracked(|panels| {
        let items = &pick(panels).items;
        items
            .iter()
            .find(|item| item.key == key)
            .map(|item| item.action.clone())
    });
    if let Some(action) = action {
        handle.act(action);
    }
}

/// A choice as a drop-down menu beside its name.
pub(crate) fn menu(handle: Handle, id: &'static str, pick: Pick) -> AnyView {
    let panels = handle.shown().panels;
    let groups = Memo::new(move |_| {
        panels.with(|panels| {
            let options = pick(panels)
                .items
                .iter()
                .map(|item| (item.key.clone(), item.label.clone()));
            vec![Group::plain(options.collect())]
        })
    });
    let chosen = Signal::derive(move || {
        panels.with(|panels| {
            let chosen = pick(panels).items.iter().find(|item| item.chosen);
            chosen.map(|item| item.key.clone()).unwrap_or_default()
        })
    });
    let label = panels.with_untracked(|panels| pick(panels).label);
    let choose = Callback::new(move |key: String| take(handle, pick, &key));
    parts::field(
        id,
        label,
        Menu {
            id,
            class: "",
            name: None,
            groups,
            chosen,
            choose,
        }
        .view(),
    )
}

/// A choice of few as radio buttons.
pub(crate) fn radios(handle: Handle, name: &'static str, pick: Pick) -> AnyView {
    let panels = handle.shown().panels;
    // The items themselves never change, only which is chosen.
    let choice = panels.with_untracked(|panels| pick(panels).clone());
    let button = |item: app::views::MenuItem| {
        let (key, wanted) = (item.key.clone(), item.key);
        let checked = Signal::derive(move || {
            panels.with(|panels| {
                pick(panels)
                    .items
                    .iter()
                    .any(|item| item.key == key && item.chosen)
            })
        });
        let changed = Callback::new(move |_| take(handle, pick, &wanted));
        parts::tick("radio", name, item.label, checked, changed)
    };
    parts::radios(choice.label, choice.items.into_iter().map(button).collect())
}
