//! What the service worker keeps: one version of every file, named by one hash.
//!
//! The list stands in `web/sw.js` in place of `{{offline}}`: name → integrity (W3C Subresource Integrity, SHA-256).
//! A page that carries `{{version}}` is known by that instead, so that a host may add to its pages; its integrity is
//! empty.

use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;

/// The name of the service worker. It keeps its name, for browsers ask for it by name to see whether it changed.
pub(crate) const WORKER: &str = "sw.js";

/// Hex digits of the version.
const VERSION_DIGITS: usize = 16;

/// One version of all files: a hash over their names and contents.
pub(crate) fn version<'a>(files: impl Iterator<Item = (&'a str, &'a [u8])>) -> String {
    let mut all = Sha256::new();
    for (name, bytes) in files {
        all.update(name.as_bytes());
        all.update([0]);
        all.update(Sha256::digest(bytes));
    }
    let digits = format!("{:x}", all.finalize());
    digits.chars().take(VERSION_DIGITS).collect()
}

/// The list for the worker, as JSON.
pub(crate) fn list(files: &BTreeMap<String, Vec<u8>>, version: &str) -> String {
    let marked = format!("\"{version}\"");
    let kept: serde_json::Map<String, serde_json::Value> = files
        .iter()
        .filter(|(name, _)| name.as_str() != WORKER && name.as_str() != "robots.txt")
        .map(|(name, bytes)| {
            let is_marked =
                name.ends_with(".html") && String::from_utf8_lossy(bytes).contains(&marked);
            let integrity = if is_marked {
                String::new()
            } else {
                format!("sha256-{}", base64(&Sha256::digest(bytes)))
            };
            (name.clone(), integrity.into())
        })
        .collect();
    serde_json::Value::from(kept).to_string()
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let part = |at: usize| u32::from(three.get(at).copied().unwrap_or_default());
        let bits = part(0) << 16 | part(1) << 8 | part(2);
        for place in 0..4_usize {
            let digit = usize::try_from(bits >> (18 - 6 * place) & 63).unwrap_or_default();
            text.push(if place <= three.len() {
                char::from(DIGITS[digit])
            } else {
                '='
            });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_the_published_one() {
        // RFC 4648, section 10.
        for (text, wanted) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(text.as_bytes()), wanted, "{text:?}");
        }
    }

    #[test]
    fn any_change_gives_another_version() {
        let of = |files: &[(&'static str, &'static [u8])]| version(files.iter().copied());
        let first = of(&[("a", b"1"), ("b", b"2")]);
        assert_eq!(first.len(), VERSION_DIGITS, "{first}");
        for other in [
            of(&[("a", b"1"), ("b", b"3")]),
            of(&[("a", b"1"), ("c", b"2")]),
            of(&[("a", b"1")]),
            of(&[("a", b""), ("1b", b"2")]),
        ] {
            assert_ne!(first, other, "names and contents count");
        }
    }

    #[test]
    fn pages_with_the_version_are_known_by_it() {
        let files: BTreeMap<String, Vec<u8>> = [
            ("index.html", "<body data-version=\"abc\">"),
            ("plain.html", "<body>"),
            ("a-1.css", ""),
            ("sw.js", "the worker"),
            ("robots.txt", "for others"),
        ]
        .map(|(name, text)| (name.to_owned(), text.as_bytes().to_vec()))
        .into();
        // The SHA-256 of nothing in base 64, as browsers' documentation of integrity shows it.
        assert_eq!(
            list(&files, "abc").replace(&base64(&Sha256::digest("<body>")), "P"),
            "{\"a-1.css\":\"sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=\",\
             \"index.html\":\"\",\"plain.html\":\"sha256-P\"}"
        );
    }
}
