//! A body and a picture beside the stages, to look at.

use crate::desk::{Desk, Handle};
use crate::stage::size::Watch;
use app::practise::{FigureView, Still};
use app::views::SideView;
use leptos::html;
use leptos::prelude::*;

/// What a figure is called and where its words are, for who does not see it.
#[derive(Clone)]
pub(crate) struct Said {
    /// "Body, question 1".
    pub(crate) body: String,
    /// "Picture, question 1".
    pub(crate) picture: String,
    /// The element with the words.
    pub(crate) words: String,
}

/// The body, where the figure shows it.
pub(crate) fn body(
    handle: Handle,
    which: Still,
    figure: &FigureView,
    said: &Said,
) -> Option<AnyView> {
    if !figure.body {
        return None;
    }
    let tags = NodeRef::<html::Div>::new();
    let canvas = canvas(handle, which, Some(tags), said.body.clone(), &said.words);
    let view = view! {
        <div class="view body-view still">
            {canvas} <div node_ref=tags class="tags" aria-hidden="true"></div>
        </div>
    };
    Some(view.into_any())
}

/// The picture with its letters, where the figure shows it.
pub(crate) fn picture(
    handle: Handle,
    which: Still,
    figure: &FigureView,
    said: &Said,
) -> Option<AnyView> {
    if !figure.picture {
        return None;
    }
    let sides: Vec<AnyView> = if figure.letters {
        figure.sides.sides.iter().map(side).collect()
    } else {
        Vec::new()
    };
    let canvas = canvas(handle, which, None, said.picture.clone(), &said.words);
    Some(view! { <div class="view picture-view still">{canvas} {sides}</div> }.into_any())
}

fn side(side: &SideView) -> AnyView {
    let class = format!("side fixed {}", side.side.word());
    view! {
        <p class=class>
            <span class="unseen">{format!("{}: ", side.label)}</span>
            <b>{side.letters.clone()}</b>
            <span>{side.words.clone()}</span>
        </p>
    }
    .into_any()
}

fn canvas(
    handle: Handle,
    which: Still,
    tags: Option<NodeRef<html::Div>>,
    name: String,
    words: &str,
) -> AnyView {
    let canvas = NodeRef::<html::Canvas>::new();
    let watch = StoredValue::new_local(None::<Watch>);
    let number = StoredValue::new_local(None::<u32>);
    Effect::new(move |_| {
        let Some(canvas) = canvas.get() else { return };
        let host = tags.map(|tags| tags.get());
        // The words' place comes into the page together with the canvas.
        let host = match host {
            Some(None) => return,
            Some(Some(host)) => Some(host.into()),
            None => None,
        };
        let taken = handle
            .with(|desk| desk.attach_still(which, canvas.clone(), host))
            .flatten();
        let Some(taken) = taken else { return };
        number.set_value(Some(taken));
        watch.set_value(Watch::new(&canvas, move |size| {
            handle.with(|desk| desk.still_resized(taken, size));
        }));
    });
    on_cleanup(move || {
        if let Some(Some(taken)) = number.try_get_value() {
            handle.with(|desk: &Desk| desk.detach_still(taken));
        }
    });
    view! {
        <canvas
            node_ref=canvas
            role="img"
            aria-label=name
            aria-describedby=words.to_owned()
        ></canvas>
    }
    .into_any()
}
