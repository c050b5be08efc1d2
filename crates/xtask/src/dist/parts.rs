//! What the pages share: `web/parts/`.
//!
//! A page says `{{parts/stop.html | A sentence. | Reload}}` where the text of that file is to stand, with what follows the
//! bars in place of its `{1}`, `{2}` … The parts themselves are no files of `dist/`.
//! `tests/packages/conftest.py` puts start pages together by the same rule.

use super::Files;
use anyhow::{Context as _, Result, bail};

/// Folder of the parts among the page's sources.
const FOLDER: &str = "parts/";

/// The page's sources with the parts in their places.
///
/// # Errors
///
/// When a page names no part that is there, or gives it more or fewer values than it has places.
pub(super) fn joined(web: &Files) -> Result<Files> {
    let is_part = |name: &String| name.starts_with(FOLDER);
    let mut out = Files::new();
    for (name, bytes) in web.iter().filter(|(name, _)| !is_part(name)) {
        let bytes = if name.ends_with(".html") {
            page(name, bytes, web)?
        } else {
            bytes.clone()
        };
        out.insert(name.clone(), bytes);
    }
    Ok(out)
}

fn page(file: &str, bytes: &[u8], web: &Files) -> Result<Vec<u8>> {
    let mut rest =
        std::str::from_utf8(bytes).with_context(|| format!("web/{file} is no UTF-8 text"))?;
    let mut text = String::new();
    while let Some((before, after)) = rest.split_once("{{parts/") {
        let (named, tail) = after
            .split_once("}}")
            .with_context(|| format!("web/{file} opens a part and does not close it"))?;
        let mut values = named.split('|').map(str::trim);
        let name = format!("{FOLDER}{}", values.next().unwrap_or_default());
        let part = web
            .get(&name)
            .with_context(|| format!("web/{file} names {name}, which is no part"))?;
        let part =
            std::str::from_utf8(part).with_context(|| format!("web/{name} is no UTF-8 text"))?;
        text.push_str(before);
        text.push_str(
            &filled(part.trim_end(), values)
                .with_context(|| format!("web/{file} gives {name} other values than it wants"))?,
        );
        rest = tail;
    }
    text.push_str(rest);
    Ok(text.into_bytes())
}

/// A part with its values; each has to have a place, and each place a value.
fn filled<'a>(part: &str, values: impl Iterator<Item = &'a str>) -> Result<String> {
    let mut text = part.to_owned();
    let mut next = 1;
    for value in values {
        let place = format!("{{{next}}}");
        if !text.contains(&place) {
            bail!("there is no place {place}");
        }
        text = text.replace(&place, value);
        next += 1;
    }
    if text.contains(&format!("{{{next}}}")) {
        bail!("there is no value for {{{next}}}");
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::super::tests::files;
    use super::*;

    #[test]
    fn check_pages_are_put_together() {
        let parts = [
            ("parts/head.html", "<meta content=\"{{{1}}}\">\n"),
            ("parts/stop.html", "<p>{1}</p>\n<b>{2}</b> {1}\n"),
            ("a.js", "'{{parts/head.html}}'"),
        ];
        let with = |page: &str| {
            let web = [&parts[..], &[("index.html", page)]].concat();
            let out = joined(&files(&web))?;
            assert_eq!(out.len(), 2, "parts are no files of their own");
            assert_eq!(
                out["a.js"], b"'{{parts/head.html}}'",
                "pages alone have them"
            );
            Ok::<_, anyhow::Error>(String::from_utf8_lossy(&out["index.html"]).into_owned())
        };
        for (page, whole) in [
            ("<head>\n</head>\n", "<head>\n</head>\n"),
            (
                "{{parts/head.html | policy}}\n{{boot.js}}",
                "<meta content=\"{{policy}}\">\n{{boot.js}}",
            ),
            (
                "{{parts/stop.html | It goes on. | Reload}}\n",
                "<p>It goes on.</p>\n<b>Reload</b> It goes on.\n",
            ),
        ] {
            assert_eq!(with(page).expect(page), whole);
        }
        for page in [
            "{{parts/foot.html}}",
            "{{parts/head.html}}",
            "{{parts/head.html | policy | more}}",
            "{{parts/stop.html | It goes on.}}",
            "{{parts/head.html | policy",
        ] {
            assert!(with(page).is_err(), "{page}");
        }
    }
}
