//! A 2-D canvas context with the few strokes the picture needs. All places in device pixels.

use app::colours::Colour;
use web_sys::CanvasRenderingContext2d;

/// Draws on a canvas.
pub(crate) struct Ink<'a> {
    pub(crate) context: &'a CanvasRenderingContext2d,
    /// Device pixels per CSS pixel.
    pub(crate) ratio: f64,
}

/// `#rrggbb` for a canvas.
pub(crate) fn css(colour: Colour) -> String {
    let [r, g, b] = colour.rgb;
    format!("#{r:02x}{g:02x}{b:02x}")
}

impl Ink<'_> {
    /// Sets the font, `px` CSS pixels high.
    pub(crate) fn font(&self, px: f64, weight: u32) {
        let size = px * self.ratio;
        let family = "system-ui, -apple-system, \"Segoe UI\", Roboto, \"Noto Sans\", sans-serif";
        self.context
            .set_font(&format!("{weight} {size:.1}px {family}"));
    }

    /// Width of a text in the present font.
    pub(crate) fn width(&self, text: &str) -> f64 {
        self.context
            .measure_text(text)
            .map_or(0.0, |metrics| metrics.width())
    }

    /// A line of `px` CSS pixels.
    pub(crate) fn line(&self, from: [f64; 2], to: [f64; 2], px: f64, colour: &str) {
        self.context.set_stroke_style_str(colour);
        self.context.set_line_width(px * self.ratio);
        self.context.begin_path();
        self.context.move_to(from[0] + 0.5, from[1] + 0.5);
        self.context.line_to(to[0] + 0.5, to[1] + 0.5);
        self.context.stroke();
    }

    /// A closed outline, filled.
    pub(crate) fn fill(&self, points: &[[f64; 2]], colour: &str) {
        let Some(first) = points.first() else { return };
        self.context.set_fill_style_str(colour);
        self.context.begin_path();
        self.context.move_to(first[0] + 0.5, first[1] + 0.5);
        for point in points.iter().skip(1) {
            self.context.line_to(point[0] + 0.5, point[1] + 0.5);
        }
        self.context.close_path();
        self.context.fill();
    }

    /// A rectangle with round corners of `radius` CSS pixels, filled.
    pub(crate) fn plate(&self, [x, y, width, height]: [f64; 4], radius: f64, colour: &str) {
        self.context.set_fill_style_str(colour);
        self.context.begin_path();
        let rounded = self
            .context
            .round_rect_with_f64(x, y, width, height, radius * self.ratio);
        if rounded.is_err() {
            self.context.rect(x, y, width, height);
        }
        self.context.fill();
    }

    /// A disc, filled; `radius` in device pixels.
    pub(crate) fn disc(&self, at: [f64; 2], radius: f64, colour: &str) {
        self.context.set_fill_style_str(colour);
        self.context.begin_path();
        if self
            .context
            .arc(at[0] + 0.5, at[1] + 0.5, radius, 0.0, std::f64::consts::TAU)
            .is_ok()
        {
            self.context.fill();
        }
    }

    /// A text whose middle line is at `at`, aligned as the canvas says ("left", "center", "right").
    pub(crate) fn text(&self, text: &str, at: [f64; 2], align: &str, colour: &str) {
        self.context.set_text_align(align);
        self.context.set_text_baseline("middle");
        self.context.set_fill_style_str(colour);
        // Only text too long for a canvas fails.
        let _ = self.context.fill_text(text, at[0], at[1]);
    }
}
