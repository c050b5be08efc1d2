//! The lines of HTML that a teacher pastes into a course page.

use super::{Embed, Height};

/// How a frame is put into a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame<'a> {
    /// Address of the folder that holds the program, with or without its last slash: `https://host/planeward/`.
    pub base: &'a str,
    /// What is shown.
    pub embed: &'a Embed,
    /// What the frame is called, for those who do not see it.
    pub title: &'a str,
    /// Height, px.
    pub height_px: u32,
}

/// The frame as a line of HTML. It needs nothing from the page around it, so this is the form for course systems, most of
/// which take out scripts.
///
/// `allow` grants the full screen and nothing else; a page that insists on `sandbox` has to grant at least
/// `allow-scripts allow-same-origin allow-downloads allow-modals allow-popups`.
#[must_use]
pub fn frame_snippet(frame: &Frame<'_>) -> String {
    format!(
        "<iframe src=\"{}\" title=\"{}\" width=\"100%\" height=\"{}\" loading=\"lazy\" style=\"border:0;max-width:100%\" allow=\"fullscreen\" referrerpolicy=\"strict-origin\"></iframe>",
        address(frame),
        escaped(frame.title),
        frame.height_px
    )
}

/// The custom element as lines of HTML, for pages that may hold a script. The link inside is for readers without scripts.
#[must_use]
pub fn element_snippet(frame: &Frame<'_>) -> String {
    let base = escaped(&folder(frame.base));
    let fragment = escaped(&frame.embed.write());
    let height = match frame.embed.height {
        Height::Auto => String::new(),
        Height::Fixed => format!(" height=\"{}\"", frame.height_px),
    };
    format!(
        "<script type=\"module\" src=\"{base}planeward-view.js\"></script>\n<planeward-view src=\"{base}embed.html#{fragment}\" title=\"{title}\"{height}><a href=\"{base}embed.html#{fragment}\">{title}</a></planeward-view>",
        title = escaped(frame.title)
    )
}

fn address(frame: &Frame<'_>) -> String {
    let address = format!("{}embed.html#{}", folder(frame.base), frame.embed.write());
    escaped(&address)
}

fn folder(base: &str) -> String {
    let base = base.trim().split(['#', '?']).next().unwrap_or_default();
    let base = base.strip_suffix("index.html").unwrap_or(base);
    format!("{}/", base.trim_end_matches('/'))
}

/// Text as it may stand in HTML and XML, in an attribute too.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // XML 1.0 has no place for these at all.
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
