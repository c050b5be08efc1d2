//! What the reader prefers: theme and motion.

use super::store;
use app::colours;

/// The colours of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Theme {
    /// As the system says.
    Auto,
    /// Ink on warm paper.
    Light,
    /// For a darkened room.
    Dark,
    /// Black on white.
    Contrast,
}

impl Theme {
    pub(crate) const ALL: [Self; 4] = [Self::Auto, Self::Light, Self::Dark, Self::Contrast];

    /// The value of the `data-theme` attribute and of the stored setting.
    pub(crate) const fn key(self) -> &'static str {
        match self {
            Self::Auto => "auto",
            Self::Light => "light",
            Self::Dark => "dark",
            Self::Contrast => "contrast",
        }
    }

    /// The theme kept from an earlier visit, else the system's.
    pub(crate) fn stored() -> Self {
        let kept = store::get("theme");
        Self::ALL
            .into_iter()
            .find(|theme| kept.as_deref() == Some(theme.key()))
            .unwrap_or(Self::Auto)
    }

    /// Sets the attribute that the style sheets read, and keeps the choice.
    pub(crate) fn apply(self) {
        self.show();
        store::set("theme", self.key());
    }

    /// Sets the attribute that the style sheets read.
    pub(crate) fn show(self) {
        let root = web_sys::window().and_then(|window| window.document()?.document_element());
        if let Some(root) = root {
            let _ = match self {
                Self::Auto => root.remove_attribute("data-theme"),
                Self::Light | Self::Dark | Self::Contrast => {
                    root.set_attribute("data-theme", self.key())
                }
            };
        }
    }
}

/// Whether a media query holds; `false` where it cannot be asked.
pub(crate) fn media(query: &str) -> bool {
    web_sys::window()
        .and_then(|window| window.match_media(query).ok().flatten())
        .is_some_and(|list| list.matches())
}

/// Whether motion should be left out.
pub(crate) fn reduced_motion() -> bool {
    media("(prefers-reduced-motion: reduce)")
}

/// The colours of the page now, by choice or by the system.
pub(crate) fn colours(theme: Theme) -> colours::Theme {
    match theme {
        Theme::Auto if media("(prefers-contrast: more)") => colours::Theme::Contrast,
        Theme::Auto if media("(prefers-color-scheme: dark)") => colours::Theme::Dark,
        Theme::Auto | Theme::Light => colours::Theme::Light,
        Theme::Dark => colours::Theme::Dark,
        Theme::Contrast => colours::Theme::Contrast,
    }
}
