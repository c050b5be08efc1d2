//! The three planes of a swept volume.

use super::measure::Measure;
use super::parts::{self, Button};
use crate::desk::Handle;
use crate::stage::size::Watch;
use app::Action;
use app::picture::VolumePlane;
use app::views::{VolumePlaneView, VolumeView};
use leptos::html;
use leptos::prelude::*;
use web_sys::PointerEvent;

/// The group.
pub(crate) fn volume(handle: Handle) -> AnyView {
    let texts = handle.texts().volume;
    let view = handle.shown().volume;
    let sweeps = move || view.with(|view| view.sweeps);
    let shown = Signal::derive(move || view.with(|view| view.shown));
    let take = Button::new(texts.take, move || {
        if let Some(action) = view.with_untracked(|view| view.take.clone()) {
            handle.act(action);
            handle.act(Action::ShowVolume(true));
        }
    });
    let show = parts::tick(
        "checkbox",
        "volume",
        texts.show.to_owned(),
        shown,
        Callback::new(move |shown| handle.act(Action::ShowVolume(shown))),
    );
    let on_show = Memo::new(move |_| shown.get());
    let planes = move || on_show.get().then(|| planes_view(handle));
    let host = NodeRef::<html::Details>::new();
    // A key may have called for them from where they are out of sight.
    Effect::new(move |before: Option<bool>| {
        let now = on_show.get();
        if now
            && before == Some(false)
            && let Some(host) = host.get_untracked()
        {
            host.scroll_into_view();
        }
        now
    });
    view! {
        <details class="group" id="volume" open=shown node_ref=host>
            <summary>{texts.title}</summary>
            <div class="note" hidden=sweeps>
                <p>{texts.no_sweep}</p>
                {take.view()}
            </div>
            <div class="choices" hidden=move || !sweeps()>
                {show}
            </div>
            {planes}
        </details>
    }
    .into_any()
}

fn planes_view(handle: Handle) -> AnyView {
    let texts = handle.texts().volume;
    let view = handle.shown().volume;
    let pictures = VolumePlane::ALL
        .into_iter()
        .map(|which| figure(handle, which))
        .collect();
    let point = (0..3).map(|axis| coordinate(handle, axis)).collect();
    let progress =
        Signal::derive(move || view.with(|view| view.progress.clone().unwrap_or_default()));
    parts::div(
        "volume",
        vec![
            parts::paragraph("note", texts.note),
            parts::div("planes", pictures),
            parts::paragraph("note progress", progress),
            parts::div("point", point),
        ],
    )
}

fn plane(view: &VolumeView, which: VolumePlane) -> Option<&VolumePlaneView> {
    view.planes.iter().find(|plane| plane.which == which)
}

fn figure(handle: Handle, which: VolumePlane) -> AnyView {
    let view = handle.shown().volume;
    let read = move |part: fn(&VolumePlaneView) -> String| {
        Signal::derive(move || view.with(|view| plane(view, which).map(part).unwrap_or_default()))
    };
    let letter = |place: usize, class: &'static str| {
        let letters = Signal::derive(move || {
            view.with(|view| {
                let plane = plane(view, which);
                plane
                    .and_then(|plane| plane.letters.get(place).cloned())
                    .unwrap_or_default()
            })
        });
        view! {
            <b class=class aria-hidden="true">
                {letters}
            </b>
        }
        .into_any()
    };
    let letters = vec![
        letter(0, "at-left"),
        letter(1, "at-right"),
        letter(2, "at-top"),
        letter(3, "at-bottom"),
    ];
    view! {
        <figure class="plane-picture">
            <div class="small-picture">{canvas(handle, which, read(|plane| plane.sentence.clone()))} {letters}</div>
            <figcaption>
                <b>{read(|plane| plane.caption.clone())}</b>
                <span>{read(|plane| plane.kind.to_owned())}</span>
            </figcaption>
            <p class="note">{read(|plane| plane.sentence.clone())}</p>
        </figure>
    }
    .into_any()
}

fn canvas(handle: Handle, which: VolumePlane, said: Signal<String>) -> AnyView {
    let canvas = NodeRef::<html::Canvas>::new();
    let watch = StoredValue::new_local(None::<Watch>);
    let held = StoredValue::new(false);
    Effect::new(move |_| {
        let Some(canvas) = canvas.get() else { return };
        handle.with(|desk| desk.attach_volume(which, Some(canvas.clone())));
        watch.set_value(Watch::new(&canvas, move |size| {
            handle.with(|desk| desk.volume_resized(which, size));
        }));
    });
    on_cleanup(move || {
        handle.with(|desk| desk.attach_volume(which, None));
    });
    let point = move |event: &PointerEvent| {
        let Some(canvas) = canvas.get_untracked() else {
            return;
        };
        let rect = canvas.get_bounding_client_rect();
        if rect.width() > 1.0 && rect.height() > 1.0 {
            let share = [
                (f64::from(event.client_x()) - rect.left()) / rect.width(),
                (f64::from(event.client_y()) - rect.top()) / rect.height(),
            ];
            handle.with(|desk| desk.point_in_volume(which, share));
        }
    };
    let down = move |event: PointerEvent| {
        if event.is_primary() && event.button() == 0 {
            held.set_value(true);
            if let Some(canvas) = canvas.get_untracked() {
                let _ = canvas.set_pointer_capture(event.pointer_id());
            }
            point(&event);
        }
    };
    let moved = move |event: PointerEvent| {
        if held.get_value() {
            point(&event);
        }
    };
    view! {
        <canvas
            node_ref=canvas
            role="img"
            aria-label=said
            on:pointerdown=down
            on:pointermove=moved
            on:pointerup=move |_| held.set_value(false)
            on:pointercancel=move |_| held.set_value(false)
        ></canvas>
    }
    .into_any()
}

/// One coordinate of the point, by slider and number.
fn coordinate(handle: Handle, axis: usize) -> AnyView {
    const IDS: [&str; 3] = ["volume-along", "volume-across", "volume-deep"];
    let view = handle.shown().volume;
    let units = handle.texts().units;
    let read = move |part: fn(&app::views::CoordinateView) -> f64| {
        view.with(|view| view.point.get(axis).map(part).unwrap_or_default())
    };
    let label = view.with_untracked(|view| view.point.get(axis).map(|part| part.label));
    let label = label.unwrap_or_default();
    let set = Callback::new(move |value: f64| {
        let mut at = [0, 1, 2].map(|place: usize| {
            view.with_untracked(|view| {
                view.point
                    .get(place)
                    .map(|part| part.value)
                    .unwrap_or_default()
            })
        });
        if let Some(slot) = at.get_mut(axis) {
            *slot = value;
        }
        handle.act(Action::SetVolumePoint(at));
    });
    Measure {
        id: IDS.get(axis).copied().unwrap_or_default(),
        name: label,
        label,
        unit: units.mm,
        unit_words: handle.texts().page.millimetres,
        range: Signal::derive(move || (read(|part| part.least), read(|part| part.most))),
        value: Signal::derive(move || read(|part| part.value)),
        words: Signal::stored(String::new()),
        set,
        end: Callback::new(move |()| handle.end()),
    }
    .view()
}
