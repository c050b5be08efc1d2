//! What is written on the picture: depth scale, notch mark, names with their leaders.

use super::ink::{Ink, css};
use app::colours::Tokens;
use app::drawing::{NotchMark, Overlay};
use app::geometry::MarkSide;

/// Height of the names of structures, CSS pixels.
pub(crate) const LABEL_PX: f64 = 12.0;

/// Height of the figures of the depth scale, CSS pixels.
const SCALE_PX: f64 = 11.0;

/// Draws the overlay.
pub(crate) fn draw(ink: &Ink<'_>, overlay: &Overlay, tokens: &Tokens) {
    scale(ink, overlay, tokens);
    if overlay.mark_shown {
        notch(ink, overlay.mark, &css(tokens.get("notch-on-black")));
    }
    if let Some(at) = overlay.chosen {
        chosen(ink, at, tokens);
    }
    names(ink, overlay, tokens);
}

fn scale(ink: &Ink<'_>, overlay: &Overlay, tokens: &Tokens) {
    let colour = css(tokens.get("picture-tick"));
    ink.font(SCALE_PX, 400);
    let mut last = None;
    for tick in &overlay.ticks {
        ink.line(tick.from, tick.to, 1.25, &colour);
        if let Some(text) = &tick.text {
            let inward = tick.to[0] - tick.from[0];
            let (align, gap) = if inward < 0.0 {
                ("right", -4.0)
            } else {
                ("left", 4.0)
            };
            let at = [tick.to[0] + gap * ink.ratio, tick.to[1] + 0.5];
            last = Some((at, align, text.clone()));
            ink.text(text, at, align, &colour);
        }
    }
    // The unit stands once, behind the deepest figure.
    if let Some((at, align, text)) = last {
        let unit = format!(" {}", overlay.unit);
        let below = [at[0], at[1] + SCALE_PX * 1.15 * ink.ratio];
        let _ = text;
        ink.text(unit.trim(), below, align, &colour);
    }
}

/// Our own sign for the notch: the probe's end seen from in front, a bar with a knob on its notch side.
fn notch(ink: &Ink<'_>, mark: NotchMark, colour: &str) {
    // A little larger than the space kept for it beside names, which have a plate of their own.
    let r = 1.25 * mark.radius;
    let [x, y] = mark.at;
    let outward = match mark.side {
        MarkSide::Left => -1.0,
        MarkSide::Right => 1.0,
    };
    let bar = [x - 0.28 * r - outward * 0.35 * r, y - r, 0.62 * r, 2.0 * r];
    ink.plate(bar, 2.0, colour);
    ink.disc([x + outward * 0.28 * r, y], 0.58 * r, colour);
}

/// A ring round the place of the structure pointed out, in two tones so that it is seen on any tissue.
fn chosen(ink: &Ink<'_>, at: [f64; 2], tokens: &Tokens) {
    for (token, px) in [("field", 4.5), ("picture-ink", 2.0)] {
        let context = ink.context;
        context.set_stroke_style_str(&css(tokens.get(token)));
        context.set_line_width(px * ink.ratio);
        context.begin_path();
        if context
            .arc(
                at[0] + 0.5,
                at[1] + 0.5,
                9.0 * ink.ratio,
                0.0,
                std::f64::consts::TAU,
            )
            .is_ok()
        {
            context.stroke();
        }
    }
}

fn names(ink: &Ink<'_>, overlay: &Overlay, tokens: &Tokens) {
    let plate = css(tokens.get("label-plate"));
    let text = css(tokens.get("label-ink"));
    let leader = css(tokens.get("label-leader"));
    let dark = css(tokens.get("label-ink"));
    for label in &overlay.labels {
        if let Some([from, to]) = label.leader {
            // Dark under light: the line is seen on pale fat and on black alike.
            ink.line(from, to, 2.6, &dark);
            ink.line(from, to, 1.2, &leader);
            ink.disc(to, 2.4 * ink.ratio, &dark);
            ink.disc(to, 1.6 * ink.ratio, &leader);
        }
    }
    ink.font(LABEL_PX, 500);
    for label in &overlay.labels {
        let pad = 3.0 * ink.ratio;
        let rect = label.rect;
        ink.plate(
            [rect.x - pad, rect.y, rect.w + 2.0 * pad, rect.h],
            3.0,
            &plate,
        );
        ink.text(
            &label.text,
            [rect.x, rect.y + rect.h / 2.0 + 0.5 * ink.ratio],
            "left",
            &text,
        );
    }
}
