//! Buttons, menus and groups, each built by one plain function.
//!
//! Every element that the view macro sees has a type of its own, and a type of its own is compiled anew. A page of
//! some hundred controls would cost half of the download, so what is shown comes in as [`Signal`]s of a few types,
//! what is done goes out through [`Callback`]s, and the views leave as [`AnyView`].

use leptos::prelude::*;

/// Counts refused actions. A control that the browser moves by itself goes back to what is when the count changes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Refused(pub(crate) RwSignal<u32>);

/// Puts `back` to work whenever an action was refused.
pub(crate) fn when_refused(back: impl Fn() + 'static) {
    if let Some(Refused(count)) = use_context::<Refused>() {
        Effect::new(move |_| {
            if count.get() > 0 {
                back();
            }
        });
    }
}

/// A button with words on it.
pub(crate) struct Button {
    /// What is on it.
    pub(crate) label: Signal<String>,
    /// What is read aloud, where that is not what is on it.
    pub(crate) name: Signal<Option<String>>,
    /// Its class, or nothing.
    pub(crate) class: &'static str,
    /// Whether it has no use now.
    pub(crate) disabled: Signal<bool>,
    /// "true" or "false" for a button that stays down.
    pub(crate) pressed: Signal<Option<String>>,
    /// What it does.
    pub(crate) act: Callback<()>,
}

impl Button {
    /// A plain button.
    pub(crate) fn new(
        label: impl Into<Signal<String>>,
        act: impl Fn() + Send + Sync + 'static,
    ) -> Self {
        Self {
            label: label.into(),
            name: Signal::stored(None),
            class: "",
            disabled: Signal::stored(false),
            pressed: Signal::stored(None),
            act: Callback::new(move |()| act()),
        }
    }

    /// Read aloud as `name`.
    pub(crate) fn named(self, name: impl Fn() -> String + Send + Sync + 'static) -> Self {
        Self {
            name: Signal::derive(move || Some(name())),
            ..self
        }
    }

    /// The element.
    pub(crate) fn view(self) -> AnyView {
        let Self {
            label,
            name,
            class,
            disabled,
            pressed,
            act,
        } = self;
        view! {
            <button
                type="button"
                class=class
                aria-label=name
                aria-pressed=pressed
                prop:disabled=disabled
                on:click=move |_| act.run(())
            >
                {label}
            </button>
        }
        .into_any()
    }
}

/// Options of a menu under one heading, or under none.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Group {
    /// The heading.
    pub(crate) heading: Option<String>,
    /// Key and words of each option.
    pub(crate) options: Vec<(String, String)>,
}

impl Group {
    /// Options without a heading.
    pub(crate) const fn plain(options: Vec<(String, String)>) -> Self {
        Self {
            heading: None,
            options,
        }
    }

    /// The groups of a menu that stays as it is: options without a heading.
    pub(crate) fn fixed(options: Vec<(String, String)>) -> Memo<Vec<Self>> {
        Memo::new(move |_| vec![Self::plain(options.clone())])
    }
}

/// A drop-down menu.
pub(crate) struct Menu {
    /// Unique in the page.
    pub(crate) id: &'static str,
    /// Its class, or nothing.
    pub(crate) class: &'static str,
    /// What is read aloud, for a menu without a label beside it.
    pub(crate) name: Option<&'static str>,
    /// What can be chosen.
    pub(crate) groups: Memo<Vec<Group>>,
    /// Key of what is chosen.
    pub(crate) chosen: Signal<String>,
    /// What choosing does, by key.
    pub(crate) choose: Callback<String>,
}

impl Menu {
    /// The element.
    pub(crate) fn view(self) -> AnyView {
        let Self {
            id,
            class,
            name,
            groups,
            chosen,
            choose,
        } = self;
        let list = move || {
            groups
                .get()
                .into_iter()
                .map(|group| group_view(group, chosen))
                .collect::<Vec<AnyView>>()
        };
        view! {
            <select
                id=id
                class=class
                aria-label=name
                on:change=move |event| {
                    choose.run(event_target_value(&event));
                    // What the program makes of it is shown, also when it stays as it was.
                    let now = chosen.get_untracked();
                    event_target::<web_sys::HtmlSelectElement>(&event).set_value(&now);
                }
            >
                {list}
            </select>
        }
        .into_any()
    }
}

fn group_view(group: Group, chosen: Signal<String>) -> AnyView {
    let options = group
        .options
        .into_iter()
        .map(|(key, words)| option_view(key, words, chosen))
        .collect::<Vec<_>>();
    match group.heading {
        Some(heading) => view! { <optgroup label=heading>{options}</optgroup> }.into_any(),
        None => options.into_any(),
    }
}

fn option_view(key: String, words: String, chosen: Signal<String>) -> AnyView {
    let own = key.clone();
    let selected = Signal::derive(move || chosen.with(|chosen| *chosen == own));
    view! {
        <option value=key prop:selected=selected>
            {words}
        </option>
    }
    .into_any()
}

/// A label beside a control.
pub(crate) fn field(id: &'static str, label: &'static str, control: AnyView) -> AnyView {
    view! {
        <div class="field">
            <label for=id>{label}</label>
            {control}
        </div>
    }
    .into_any()
}

/// Controls that belong together, under a heading.
pub(crate) fn group(id: &'static str, heading: &'static str, controls: Vec<AnyView>) -> AnyView {
    view! {
        <section class="group" aria-labelledby=id>
            <h2 id=id>{heading}</h2>
            {controls}
        </section>
    }
    .into_any()
}

/// A box of this class.
pub(crate) fn div(class: &'static str, parts: Vec<AnyView>) -> AnyView {
    view! { <div class=class>{parts}</div> }.into_any()
}

/// A paragraph of this class.
pub(crate) fn paragraph(class: &'static str, words: impl Into<Signal<String>>) -> AnyView {
    let words: Signal<String> = words.into();
    view! { <p class=class>{words}</p> }.into_any()
}

/// A radio button or a check box with its words.
pub(crate) fn tick(
    kind: &'static str,
    name: &'static str,
    words: String,
    checked: Signal<bool>,
    changed: Callback<bool>,
) -> AnyView {
    let input = NodeRef::<leptos::html::Input>::new();
    when_refused(move || {
        if let Some(input) = input.get_untracked() {
            input.set_checked(checked.get_untracked());
        }
    });
    view! {
        <label>
            <input
                node_ref=input
                type=kind
                name=name
                prop:checked=checked
                on:change=move |event| changed.run(event_target_checked(&event))
            />
            {words}
        </label>
    }
    .into_any()
}

/// Radio buttons under a heading.
pub(crate) fn radios(legend: &'static str, buttons: Vec<AnyView>) -> AnyView {
    view! {
        <fieldset class="radios">
            <legend>{legend}</legend>
            <div class="choices">{buttons}</div>
        </fieldset>
    }
    .into_any()
}
