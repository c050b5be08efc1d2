//! The clock dial of the notch.
//!
//! It shows the skin as seen from outside, twelve o'clock toward the head, and the face of the probe with its notch.

use super::measure::turn;
use leptos::prelude::*;
use leptos::svg;
use web_sys::{KeyboardEvent, PointerEvent};

/// Radius of the rim in the drawing's own units.
const RIM: f64 = 66.0;

/// What the dial shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct DialView {
    /// Rotation, 0 to 360 degrees, clockwise from twelve.
    pub(crate) degrees: f64,
    /// "9 o'clock, notch toward the patient's right".
    pub(crate) words: String,
    /// What lies at 12, 3, 6 and 9 o'clock: side letters.
    pub(crate) around: [String; 4],
}

/// The dial. `set` gets the wanted rotation in degrees; `end` is called when it comes to rest.
pub(crate) fn dial(
    dial: Signal<DialView>,
    label: &'static str,
    set: Callback<f64>,
    end: Callback<()>,
) -> AnyView {
    let node = NodeRef::<svg::Svg>::new();
    let held = StoredValue::new(false);
    let degrees = Signal::derive(move || dial.with(|dial| dial.degrees));
    let words = Signal::derive(move || dial.with(|dial| dial.words.clone()));
    let rounded = Signal::derive(move || turn(degrees.get()));
    let turned = Signal::derive(move || format!("rotate({})", rounded.get()));
    let letter = |place: usize, x: &'static str, y: &'static str| {
        let letters = Signal::derive(move || {
            dial.with(|dial| dial.around.get(place).cloned().unwrap_or_default())
        });
        view! {
            <text class="small" x=x y=y>
                {letters}
            </text>
        }
        .into_any()
    };
    let letters = vec![
        letter(0, "0", "-77"),
        letter(1, "77", "0"),
        letter(2, "0", "77"),
        letter(3, "-77", "0"),
    ];

    let toward = move |event: &PointerEvent| {
        if let Some(element) = node.get_untracked() {
            let rect = element.get_bounding_client_rect();
            let x = f64::from(event.client_x()) - rect.left() - rect.width() / 2.0;
            let y = f64::from(event.client_y()) - rect.top() - rect.height() / 2.0;
            // Close to the middle a direction means nothing.
            if x.abs() + y.abs() > 6.0 {
                let angle = js_sys::Math::atan2(x, -y).to_degrees();
                set.run(angle.round().rem_euclid(360.0));
            }
        }
    };
    let down = move |event: PointerEvent| {
        if !event.is_primary() || event.button() != 0 {
            return;
        }
        if let Some(element) = node.get_untracked() {
            let _ = element.set_pointer_capture(event.pointer_id());
        }
        held.set_value(true);
        toward(&event);
    };
    let moved = move |event: PointerEvent| {
        if held.get_value() {
            toward(&event);
        }
    };
    let release = move |_: PointerEvent| {
        if held.get_value() {
            held.set_value(false);
            end.run(());
        }
    };
    let key = move |event: KeyboardEvent| {
        if event.ctrl_key() || event.meta_key() || event.alt_key() {
            return;
        }
        let small = if event.shift_key() { 1.0 } else { 5.0 };
        let step = match event.key().as_str() {
            "ArrowRight" | "ArrowUp" => small,
            "ArrowLeft" | "ArrowDown" => -small,
            "PageUp" => 30.0,
            "PageDown" => -30.0,
            "Home" => -degrees.get_untracked(),
            "End" => 359.0 - degrees.get_untracked(),
            _ => return,
        };
        event.prevent_default();
        set.run((degrees.get_untracked() + step).rem_euclid(360.0));
        end.run(());
    };

    view! {
        <svg
            node_ref=node
            class="dial"
            id="dial"
            viewBox="-86 -86 172 172"
            role="slider"
            tabindex="0"
            aria-label=label
            aria-valuemin="0"
            aria-valuemax="359"
            aria-valuenow=rounded
            aria-valuetext=words
            on:pointerdown=down
            on:pointermove=moved
            on:pointerup=release
            on:pointercancel=release
            on:lostpointercapture=release
            on:keydown=key
        >
            <circle class="rim" r=RIM.to_string() />
            {ticks()}
            <text y="-53" aria-hidden="true">"12"</text>
            <text x="50" aria-hidden="true">"3"</text>
            <text y="53" aria-hidden="true">"6"</text>
            <text x="-50" aria-hidden="true">"9"</text>
            <g aria-hidden="true">
                {letters}
            </g>
            <g transform=turned>
                <rect class="foot-print" x="-8" y="-29" width="16" height="58" rx="8" />
                <circle class="knob" cy="-33" r="9" />
            </g>
        </svg>
    }
    .into_any()
}

/// Twelve strokes, the main ones stronger.
fn ticks() -> Vec<AnyView> {
    (0..12_u32)
        .map(|hour| {
            let main = hour % 3 == 0;
            let class = if main { "hour main" } else { "hour" };
            let inner = if main { "-59" } else { "-61" };
            view! { <line class=class y1=inner y2="-66" transform=format!("rotate({})", hour * 30) /> }.into_any()
        })
        .collect()
}
