//! `cargo xtask single`: the page as one HTML file that opens from a disk, for classrooms without a server.
//!
//! A page from a disk may load no module and fetch no file, so everything is inside: the styles, the program as a classic
//! script, its WebAssembly, the bodies and the other files as base64. What the program fetches is answered from there. The
//! policy allows the scripts and styles of this file by their hashes (W3C Content Security Policy Level 3, 2.3.1) and
//! nothing from elsewhere.

use crate::build::{self, Mode, Program};
use crate::workspace;
use anyhow::{Context as _, Result, bail};
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::path::Path;

/// Name of the file in `dist/`.
pub(crate) const NAME: &str = "planeward-single.html";

/// What stands before the page's own start script: files from this file, and the program from its text.
const FILES: &str = "\
(() => {
  const held = document.getElementById('files');
  const files = new Map(JSON.parse(held.textContent));
  held.remove();
  const bytes = (name) => Uint8Array.from(atob(files.get(name)), (letter) => letter.charCodeAt(0));
  const beyond = window.fetch;
  window.fetch = (address, ...more) =>
    files.has(String(address))
      ? Promise.resolve(new Response(bytes(String(address)), { status: 200 }))
      : beyond(address, ...more);
  window.planewardLoad = () => wasm_bindgen({ module_or_path: bytes('planeward.wasm') });
})();
";

pub(crate) fn command(args: &[String]) -> Result<()> {
    workspace::only(args, &["--dev"], &[])?;
    let mode = Mode::from_args(args);
    build::build(mode)?;
    write(mode)
}

/// Makes the file from a finished `dist/`.
///
/// # Errors
///
/// When a file of the page is missing, or the page names one in a way that this does not know.
pub(crate) fn write(mode: Mode) -> Result<()> {
    let dir = workspace::dist_dir();
    let program = build::classic(mode)?;
    let page = single(&dir, &program)?;
    let path = dir.join(NAME);
    std::fs::write(&path, &page).with_context(|| format!("cannot write {}", path.display()))?;
    println!("Wrote {} ({} kB).", path.display(), page.len() / 1000);
    Ok(())
}

fn single(dir: &Path, program: &Program) -> Result<String> {
    let read = |name: &str| {
        std::fs::read(dir.join(name)).with_context(|| format!("dist/ has no file {name}"))
    };
    let text = |name: &str| -> Result<String> {
        String::from_utf8(read(name)?).with_context(|| format!("{name} is no text"))
    };
    let page = text("index.html")?;
    let mut styles = String::new();
    let mut start = String::new();
    let mut lines: Vec<&str> = Vec::new();
    for line in page.lines() {
        match tag(line) {
            Tag::Style(name) => styles.push_str(&text(name)?),
            // The first starts the program; what keeps it for use without a network has no use in one file.
            Tag::Start(name) if start.is_empty() => start = text(name)?,
            Tag::Start(_) => {}
            Tag::Policy | Tag::Other => {}
            Tag::Keep => lines.push(line),
        }
    }
    if start.is_empty() || styles.is_empty() {
        bail!("dist/index.html names no start script or no style");
    }
    let mut held: Vec<(String, Vec<u8>)> = Vec::new();
    let names: Vec<String> = serde_json::from_slice(&read("files.json")?)?;
    for name in &names {
        let wanted = name.starts_with("bodies")
            || name.starts_with("vocabulary")
            || name.starts_with("languages");
        if wanted {
            held.push((name.clone(), read(name)?));
        }
    }
    held.push(("planeward.wasm".to_owned(), program.wasm.clone()));
    let files: Vec<(&str, String)> = held
        .iter()
        .map(|(name, bytes)| (&**name, base64(bytes)))
        .collect();
    // `<` never stands in base64 or in a file name, so nothing can end the element.
    let files = serde_json::to_string(&files)?;
    let loader = std::str::from_utf8(&program.js).context("the loader is no text")?;
    // A module may await on its top level, a classic script may not.
    let script = format!("{loader}\n{FILES}\n(async () => {{\n{start}\n}})();\n");
    if script.contains("</script") || styles.contains("</style") {
        bail!("a script or a style would end its own element");
    }
    let policy = format!(
        "default-src 'none'; script-src '{}' 'wasm-unsafe-eval'; style-src '{}'; img-src blob: data:; base-uri 'none'; form-action 'none'",
        hash(&script),
        hash(&styles)
    );
    let mut out = String::new();
    for line in lines {
        match line {
            "</head>" => {
                // A browser asks its host for an icon unless there is one.
                let _ = writeln!(
                    out,
                    "<link rel=\"icon\" href=\"data:,\">\n<style>{styles}</style>\n</head>"
                );
            }
            "</body>" => {
                let _ = writeln!(
                    out,
                    "<script type=\"application/json\" id=\"files\">{files}</script>\n<script>{script}</script>\n</body>"
                );
            }
            "<meta charset=\"utf-8\">" => {
                let _ = writeln!(
                    out,
                    "{line}\n<meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">"
                );
            }
            line => {
                // The switch tells the program that there are no other pages beside this one.
                let _ = writeln!(out, "{}", line.replacen("<body ", "<body data-single ", 1));
            }
        }
    }
    Ok(out)
}

/// What a line of the page's head is.
enum Tag<'a> {
    Style(&'a str),
    Start(&'a str),
    Policy,
    Other,
    Keep,
}

fn tag(line: &str) -> Tag<'_> {
    let named = |key: &str| {
        let (_, rest) = line.split_once(key)?;
        Some(rest.split_once('"')?.0)
    };
    if line.starts_with("<link rel=\"stylesheet\"") {
        named("href=\"").map_or(Tag::Other, Tag::Style)
    } else if line.starts_with("<script type=\"module\"") {
        named("src=\"").map_or(Tag::Other, Tag::Start)
    } else if line.starts_with("<meta http-equiv=\"Content-Security-Policy\"") {
        Tag::Policy
    } else if line.starts_with("<link ") || line.starts_with("<!-- For hosts") {
        Tag::Other
    } else {
        Tag::Keep
    }
}

fn hash(text: &str) -> String {
    format!("sha256-{}", base64(&Sha256::digest(text.as_bytes())))
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let part = |at: usize| u32::from(chunk.get(at).copied().unwrap_or(0));
        let bits = (part(0) << 16) | (part(1) << 8) | part(2);
        for place in 0..4 {
            if place > chunk.len() {
                text.push('=');
            } else {
                text.push(char::from(
                    LETTERS[(bits >> (18 - 6 * place)) as usize & 63],
                ));
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_base64() {
        // RFC 4648, section 10.
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded, "{plain}");
        }
    }

    #[test]
    fn check_hashes() {
        assert_eq!(
            hash("alert('Hello, world.');"),
            "sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng=",
            "the example of W3C Content Security Policy Level 3, 8.3 (from memory)"
        );
    }

    #[test]
    fn check_lines() {
        let style = "<link rel=\"stylesheet\" href=\"styles/a-1.css\" crossorigin>";
        assert!(
            matches!(tag(style), Tag::Style("styles/a-1.css")),
            "a style"
        );
        let start = "<script type=\"module\" src=\"boot-1.js\"></script>";
        assert!(
            matches!(tag(start), Tag::Start("boot-1.js")),
            "the start script"
        );
        for line in [
            "<link rel=\"modulepreload\" href=\"a.js\">",
            "<link rel=\"manifest\" href=\"a\">",
        ] {
            assert!(matches!(tag(line), Tag::Other), "{line}");
        }
        assert!(
            matches!(tag("<title>A</title>"), Tag::Keep),
            "the rest stays"
        );
    }
}
