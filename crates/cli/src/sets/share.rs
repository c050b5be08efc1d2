//! `planeward share`: a set as a link and as lines for a course page.

use std::io::Write;
use std::path::Path;

use anyhow::{Context as _, Result};
use course::share::{Embed, Frame, Shown, element_snippet, frame_snippet, set_link};

/// How to share.
#[derive(Debug)]
pub(crate) struct Sharing<'a> {
    pub(crate) base: &'a str,
    pub(crate) wishes: &'a str,
    pub(crate) height_px: u32,
}

/// Writes the link and both forms of lines; whether a file would be the better way.
pub(crate) fn share(path: &Path, sharing: &Sharing<'_>, output: &mut impl Write) -> Result<bool> {
    let set = super::read_set(path)?;
    let link = set_link(&set);
    let title = set.title.clone();
    let embed = Embed {
        shown: Shown::Set(Box::new(set)),
        ..Embed::read(sharing.wishes).context("wishes")?
    };
    let frame = Frame {
        base: sharing.base,
        embed: &embed,
        title: &title,
        height_px: sharing.height_px,
    };
    let line = frame_snippet(&frame);
    let element = element_snippet(&frame);
    writeln!(
        output,
        "Link ({} characters):\n#{}\n",
        link.text.len(),
        link.text
    )?;
    writeln!(output, "Frame:\n{line}\n")?;
    writeln!(output, "Element:\n{element}")?;
    if link.prefer_file {
        writeln!(
            output,
            "\nThe link is longer than {} characters, and some course systems cut such addresses: give the file away instead.",
            course::share::COMFORTABLE
        )?;
    }
    Ok(link.prefer_file)
}
