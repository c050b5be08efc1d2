//! What the learner gave, above the stages that show what is right; of a movement the picture before it.

use crate::desk::Handle;
use crate::panels::figure::{self, Said};
use app::practise::{CompareView, Still};
use leptos::prelude::*;

/// Two stages for what was given, while there is something to compare.
pub(crate) fn given_stages(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    // Another question has another comparison, also where both are called the same.
    let shown = Memo::new(move |_| {
        panels.with(|panels| {
            let view = &panels.practise;
            view.compare.clone().map(|compare| (view.page, compare))
        })
    });
    let stages = move || shown.get().map(|(_, compare)| pair(handle, &compare));
    view! { <>{stages}</> }.into_any()
}

fn pair(handle: Handle, compare: &CompareView) -> AnyView {
    let texts = handle.texts().panels;
    let said = Said {
        body: format!("{}: {}", texts.body, compare.given),
        picture: format!("{}: {}", texts.picture, compare.given),
        words: "practise-title".to_owned(),
    };
    let stage = |name: &'static str, said: String, view: Option<AnyView>| {
        let view = view?;
        let stage = view! {
            <section class="stage given" aria-label=said>
                <div class="caption">
                    <h2>{name}</h2>
                    <p class="which">{compare.given}</p>
                </div>
                {view}
            </section>
        };
        Some(stage.into_any())
    };
    let body = figure::body(handle, Still::Given, &compare.figure, &said);
    let picture = figure::picture(handle, Still::Given, &compare.figure, &said);
    [
        stage(texts.body, said.body.clone(), body),
        stage(texts.picture, said.picture.clone(), picture),
    ]
    .into_iter()
    .flatten()
    .collect::<Vec<AnyView>>()
    .into_any()
}

/// What the stages beneath show: "The right pose"; empty where nothing is compared.
pub(crate) fn which(handle: Handle) -> AnyView {
    let panels = handle.shown().panels;
    let name = Signal::derive(move || {
        panels.with(|panels| {
            let compare = panels.practise.compare.as_ref();
            compare.map(|compare| compare.right).unwrap_or_default()
        })
    });
    view! { <p class="which">{name}</p> }.into_any()
}
