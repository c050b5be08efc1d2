//! The colours of `web/styles/tokens.css`, the only place where a colour is written down.
//!
//! The page's style sheets use the same file through `var(--name)`; this module reads it for the body
//! view and the section, so that a liver has one colour everywhere. It is read as text, one declaration a
//! line, which is all that file holds.

use std::collections::BTreeMap;

/// The token file, as shipped with the page.
pub const TOKENS_CSS: &str = include_str!("../../../web/styles/tokens.css");

/// Light or dark page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theme {
    /// Warm off-white page, ink text.
    #[default]
    Light,
    /// For a darkened room.
    Dark,
    /// Black on white, for readers who asked for more contrast.
    Contrast,
}

/// An opaque colour, sRGB bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour {
    /// Red, green, blue, 0–255 in sRGB.
    pub rgb: [u8; 3],
}

impl Colour {
    /// Shown where a token is missing, so that the gap is seen: a test keeps it from ever being needed.
    pub const MISSING: Self = Self { rgb: [255, 0, 255] };

    /// Components 0–1 in sRGB, as a style sheet would mix them.
    #[must_use]
    pub fn srgb(self) -> [f32; 3] {
        self.rgb.map(|byte| f32::from(byte) / 255.0)
    }

    /// Components 0–1 in linear light, for shading (IEC 61966-2-1).
    #[must_use]
    pub fn linear(self) -> [f32; 3] {
        self.srgb().map(|value| {
            if value <= 0.040_45 {
                value / 12.92
            } else {
                libm::powf((value + 0.055) / 1.055, 2.4)
            }
        })
    }

    /// Relative luminance, 0–1 (WCAG 2.2, "relative luminance").
    #[must_use]
    pub fn luminance(self) -> f32 {
        let [red, green, blue] = self.linear();
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    }

    /// Contrast ratio of two colours, 1–21 (WCAG 2.2, "contrast ratio").
    #[must_use]
    pub fn contrast(self, other: Self) -> f32 {
        let (a, b) = (self.luminance(), other.luminance());
        let (light, dark) = if a > b { (a, b) } else { (b, a) };
        (light + 0.05) / (dark + 0.05)
    }
}

/// Named colours of one theme.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tokens {
    colours: BTreeMap<String, Colour>,
}

impl Tokens {
    /// The shipped tokens of `theme`.
    #[must_use]
    pub fn of(theme: Theme) -> Self {
        Self::read(TOKENS_CSS, theme)
    }

    /// Reads `css`: the `:root` block, and for the dark theme the `[data-theme="dark"]` block over it.
    ///
    /// Lines that hold no colour are passed over; the file also is a style sheet.
    #[must_use]
    pub fn read(css: &str, theme: Theme) -> Self {
        let mut tokens = Self {
            colours: BTreeMap::new(),
        };
        tokens.take_block(css, ":root {");
        match theme {
            Theme::Light => {}
            Theme::Dark => tokens.take_block(css, ":root[data-theme=\"dark\"] {"),
            Theme::Contrast => tokens.take_block(css, ":root[data-theme=\"contrast\"] {"),
        }
        tokens
    }

    fn take_block(&mut self, css: &str, opening: &str) {
        let lines = css
            .lines()
            .skip_while(|line| line.trim() != opening)
            .skip(1)
            .take_while(|line| line.trim() != "}");
        for line in lines {
            if let Some((name, colour)) = declaration(line) {
                self.colours.insert(name.to_owned(), colour);
            }
        }
    }

    /// The colour of token `--name`.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<Colour> {
        self.colours.get(name).copied()
    }

    /// The colour of token `--name`, or [`Colour::MISSING`].
    #[must_use]
    pub fn get(&self, name: &str) -> Colour {
        self.find(name).unwrap_or(Colour::MISSING)
    }

    /// All tokens whose name starts with `prefix`, without it, in alphabetical order.
    pub fn with_prefix<'a>(
        &'a self,
        prefix: &'a str,
    ) -> impl Iterator<Item = (&'a str, Colour)> + 'a {
        self.colours
            .iter()
            .filter_map(move |(name, colour)| Some((name.strip_prefix(prefix)?, *colour)))
    }
}

/// `--name: #rrggbb;` and nothing else.
fn declaration(line: &str) -> Option<(&str, Colour)> {
    let (name, value) = line.trim().strip_prefix("--")?.split_once(':')?;
    let digits = value.trim().strip_suffix(';')?.strip_prefix('#')?;
    if digits.len() != 6 || !digits.is_ascii() {
        return None;
    }
    let byte = |from: usize| u8::from_str_radix(digits.get(from..from + 2)?, 16).ok();
    Some((
        name.trim(),
        Colour {
            rgb: [byte(0)?, byte(2)?, byte(4)?],
        },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn declarations_are_read_and_other_lines_are_not() {
        let css = ":root {\n  color-scheme: light;\n  --a: #102030;\n  --b: red;\n  --c: #12;\n}\n\
                   :root[data-theme=\"dark\"] {\n  --a: #ffffff;\n}\n";
        let light = Tokens::read(css, Theme::Light);
        assert_eq!(light.find("a").map(|c| c.rgb), Some([16, 32, 48]));
        assert_eq!((light.find("b"), light.find("c")), (None, None));
        let dark = Tokens::read(css, Theme::Dark);
        assert_eq!(dark.get("a").rgb, [255; 3]);
        assert_eq!(dark.get("b"), Colour::MISSING);
    }

    /// The dark block stands twice in the style sheet (chosen, and asked for by the system).
    #[test]
    fn both_dark_blocks_say_the_same() {
        let chosen = Tokens::of(Theme::Dark);
        let opening = ":root:not([data-theme=\"light\"]) {";
        let mut asked = Tokens::of(Theme::Light);
        asked.take_block(TOKENS_CSS, opening);
        assert!(TOKENS_CSS.contains(opening), "the block is there");
        assert_eq!(chosen, asked);
        assert_ne!(chosen, Tokens::of(Theme::Light));
    }

    #[test]
    fn both_blocks_of_high_contrast_say_the_same() {
        let chosen = Tokens::of(Theme::Contrast);
        let opening = ":root:not([data-theme=\"light\"]):not([data-theme=\"dark\"]) {";
        let mut asked = Tokens::of(Theme::Light);
        asked.take_block(TOKENS_CSS, opening);
        assert!(TOKENS_CSS.contains(opening), "the block is there");
        assert_eq!(chosen, asked);
    }

    /// WCAG 2.2, 1.4.6: text 7:1 for those who ask for more contrast; lines of controls keep what text needs elsewhere.
    #[test]
    fn high_contrast_is_enhanced() {
        let paper: &[&str] = &["page", "panel", "panel-sunk"];
        for text in ["ink", "ink-soft", "link", "notch-ink", "notch"] {
            check_contrast(Theme::Contrast, text, paper, 7.0);
        }
        for (text, on) in [
            ("control-ink", "control"),
            ("chosen-ink", "chosen"),
            ("scene-ink", "scene-plate"),
            ("label-ink", "label-plate"),
            ("lit-ink", "lit"),
        ] {
            check_contrast(Theme::Contrast, text, &[on], 7.0);
        }
        check_contrast(
            Theme::Contrast,
            "picture-ink",
            &["field", "picture-surround"],
            7.0,
        );
        check_contrast(Theme::Contrast, "line", paper, 4.5);
        check_contrast(Theme::Contrast, "line-strong", paper, 4.5);
    }

    fn check_contrast(theme: Theme, front: &str, backs: &[&str], least: f32) {
        let tokens = Tokens::of(theme);
        for back in backs {
            let (a, b) = (tokens.find(front), tokens.find(back));
            assert!(a.is_some() && b.is_some(), "{front} and {back} exist");
            let ratio = tokens.get(front).contrast(tokens.get(back));
            assert!(ratio >= least, "{theme:?}: {front} on {back}: {ratio}");
        }
    }

    /// WCAG 2.2, 1.4.3 (text 4.5:1) and 1.4.11 (parts of controls and graphics 3:1).
    #[test]
    fn text_and_controls_keep_their_contrast() {
        let paper: &[&str] = &["page", "panel", "panel-sunk"];
        for theme in [Theme::Light, Theme::Dark, Theme::Contrast] {
            for text in ["ink", "ink-soft", "link", "notch-ink"] {
                check_contrast(theme, text, paper, 4.5);
            }
            check_contrast(theme, "control-ink", &["control", "control-hover"], 4.5);
            check_contrast(theme, "chosen-ink", &["chosen"], 4.5);
            check_contrast(theme, "notice-ink", &["notice"], 4.5);
            check_contrast(theme, "error-ink", &["error"], 4.5);
            check_contrast(
                theme,
                "scene-ink",
                &["scene-plate", "scene-top", "scene-bottom"],
                4.5,
            );
            check_contrast(theme, "picture-ink", &["field", "picture-surround"], 4.5);
            check_contrast(theme, "label-ink", &["label-plate"], 4.5);
            check_contrast(theme, "line-strong", paper, 3.0);
            check_contrast(theme, "focus", paper, 3.0);
            check_contrast(theme, "notch", paper, 3.0);
            check_contrast(theme, "notch-on-black", &["field"], 3.0);
            check_contrast(theme, "picture-tick", &["field"], 3.0);
            check_contrast(theme, "lit", &["scene-top", "scene-bottom"], 3.0);
            check_contrast(theme, "lit-ink", &["lit"], 4.5);
            check_contrast(theme, "trace", &["trace-rim"], 4.5);
        }
        check_contrast(Theme::Light, "notch-on-probe", &["probe"], 3.0);
    }

    /// "One accent for the notch and nothing else in that colour."
    #[test]
    fn nothing_else_has_the_colour_of_the_notch() {
        /// Far enough apart in sRGB bytes (Euclidean) to be told apart as names of colours.
        const APART: i32 = 60;
        for theme in [Theme::Light, Theme::Dark, Theme::Contrast] {
            let tokens = Tokens::of(theme);
            let notch: Vec<_> = tokens.with_prefix("notch").collect();
            assert_eq!(notch.len(), 4, "notch tokens: {notch:?}");
            for (name, colour) in tokens.with_prefix("") {
                if name.starts_with("notch") {
                    continue;
                }
                for shade in ["notch", "notch-on-black", "notch-on-probe"] {
                    let other = tokens.get(shade);
                    let squares = colour.rgb.iter().zip(other.rgb).map(|(a, b)| {
                        let apart = i32::from(*a) - i32::from(b);
                        apart * apart
                    });
                    let distance: i32 = squares.sum();
                    assert!(
                        distance > APART * APART,
                        "{theme:?}: --{name} is close to --{shade}"
                    );
                }
            }
        }
    }
}
