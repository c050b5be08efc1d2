//! Faults in the text of files.

use crate::workspace;
use anyhow::{Context as _, Result};
use std::path::Path;

/// Past this a file has more than one subject.
const LONGEST_FILE: usize = 800;

/// Endings of files that people write and read.
const TEXT: [&str; 13] = [
    "css", "csv", "glsl", "html", "ini", "js", "json", "md", "py", "rs", "svg", "toml", "txt",
];

/// Of those, the ones that hold a program or a page and not a table of data.
const PROSE_AND_CODE: [&str; 7] = ["css", "glsl", "html", "js", "md", "py", "rs"];

/// What may be seen on the top level; dot-files are not counted.
const TOP_LEVEL: [&str; 11] = [
    "CHANGELOG.md",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "crates",
    "models",
    "tests",
    "web",
];

/// First folders of paths that exist on one person's machine only.
const PRIVATE_FOLDERS: [&str; 8] = [
    "Users",
    "home",
    "mnt",
    "private",
    "root",
    "tmp",
    "work",
    "workspace",
];

/// Marks of work that was put off, and the characters of explanation they need at least.
const PUT_OFF: [&str; 3] = [
    concat!("TO", "DO"),
    concat!("FIX", "ME"),
    concat!("XX", "X"),
];
const SHORTEST_REASON: usize = 12;

/// Reads every text file below `root`; returns how many and what is wrong with them.
///
/// # Errors
///
/// When a file or folder cannot be read.
pub(super) fn faults(root: &Path) -> Result<(usize, Vec<String>)> {
    let mut read = 0;
    let mut faults = top_level(root)?;
    for path in workspace::files_below(root)? {
        let name = path
            .strip_prefix(root)
            .unwrap_or(&path)
            .to_string_lossy()
            .replace('\\', "/");
        if !is_text(&name) {
            continue;
        }
        read += 1;
        let bytes = std::fs::read(&path).with_context(|| format!("cannot read {name}"))?;
        match String::from_utf8(bytes) {
            Ok(text) => faults.extend(of_file(&name, &text)),
            Err(_) => faults.push(format!("{name}: is no UTF-8 text")),
        }
    }
    Ok((read, faults))
}

fn is_text(name: &str) -> bool {
    let ending = ending(name);
    TEXT.contains(&ending) || name.starts_with(".ci/")
}

fn ending(name: &str) -> &str {
    name.rsplit('/')
        .next()
        .and_then(|file| file.rsplit_once('.'))
        .map_or("", |(_, ending)| ending)
}

fn top_level(root: &Path) -> Result<Vec<String>> {
    let mut faults = Vec::new();
    for entry in std::fs::read_dir(root)? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        let generated = name == "target" || name == "dist";
        if !name.starts_with('.') && !generated && !TOP_LEVEL.contains(&name.as_str()) {
            faults.push(format!("{name}: has no place on the top level"));
        }
    }
    faults.sort();
    Ok(faults)
}

/// The faults of one file, named by its path below the root with `/`.
fn of_file(name: &str, text: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let depth = name.matches('/').count();
    let csv = ending(name) == "csv";
    let mut at = |line: usize, what: &str| faults.push(format!("{name}:{line}: {what}"));
    for (i, line) in text.split('\n').enumerate() {
        let number = i + 1;
        // Lines of a CSV file end with both characters (RFC 4180, section 2).
        let line = if csv {
            line.strip_suffix('\r').unwrap_or(line)
        } else {
            line
        };
        if line.ends_with([' ', '\t', '\r']) {
            at(number, "white space or a carriage return at the end");
        }
        if let Some(mark) = put_off_without_reason(line) {
            at(number, &format!("{mark} needs a colon and a reason"));
        }
        if let Some(path) = private_path(line) {
            at(number, &format!("names {path}, a path of one machine"));
        }
        if let Some(words) = tracker_number(line) {
            at(
                number,
                &format!("names {words:?}: give the reason instead of the number"),
            );
        }
        if climbs(line) > depth {
            at(number, "a relative path leaves the repository");
        }
        if ["<<<<<<< ", ">>>>>>> "]
            .iter()
            .any(|mark| line.starts_with(mark))
        {
            at(number, "a merge was left unfinished");
        }
    }
    if !text.is_empty() && !text.ends_with('\n') {
        at(text.lines().count(), "the last line has no end");
    }
    let lines = text.lines().count();
    if PROSE_AND_CODE.contains(&ending(name)) && lines > LONGEST_FILE {
        at(
            lines,
            &format!("longer than {LONGEST_FILE} lines: split it by subject"),
        );
    }
    let crate_top = name.ends_with("/src/lib.rs") || name.ends_with("/src/main.rs");
    if crate_top && !text.trim_start().starts_with("//!") {
        at(1, "the crate does not say what it is for");
    }
    let test_mark = concat!("#[", "test]");
    if name.starts_with("web/") && text.contains(test_mark) {
        at(
            1,
            "web is wiring and its tests are never run: move the tested code to app",
        );
    }
    faults
}

/// The mark when it stands without `: reason` or `(who): reason`.
fn put_off_without_reason(line: &str) -> Option<&'static str> {
    PUT_OFF.into_iter().find(|mark| {
        line.match_indices(mark).any(|(start, _)| {
            let after = &line[start + mark.len()..];
            let inside_word = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
            if inside_word(line[..start].chars().next_back()) || inside_word(after.chars().next()) {
                return false;
            }
            let reason = after
                .split_once(':')
                .map_or("", |(_, reason)| reason.trim());
            reason.chars().count() < SHORTEST_REASON
        })
    })
}

/// An absolute path into a private folder. Addresses of the web are no such path.
fn private_path(line: &str) -> Option<&str> {
    line.match_indices('/').find_map(|(start, _)| {
        let before = line[..start].chars().next_back();
        if before.is_some_and(|c| c.is_alphanumeric() || "/._-~:*<)}]".contains(c)) {
            return None;
        }
        let path = &line[start..];
        let end = path
            .find(|c: char| !(c.is_alphanumeric() || "/._-".contains(c)))
            .unwrap_or(path.len());
        let path = &path[..end];
        let (first, rest) = path[1..].split_once('/')?;
        (PRIVATE_FOLDERS.contains(&first) && !rest.is_empty()).then_some(path)
    })
}

/// "issue" followed by a number.
fn tracker_number(line: &str) -> Option<String> {
    let lower = line.to_lowercase();
    let word = concat!("iss", "ue");
    lower.match_indices(word).find_map(|(start, _)| {
        let after = lower[start + word.len()..].trim_start_matches(['s', ' ', '#', '-', '/']);
        let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
        (!digits.is_empty()).then(|| format!("{word} {digits}"))
    })
}

/// The most `../` in a row.
fn climbs(line: &str) -> usize {
    let mut most = 0;
    let mut rest = line;
    while let Some(start) = rest.find("../") {
        rest = &rest[start..];
        let mut count = 0;
        while let Some(after) = rest.strip_prefix("../") {
            count += 1;
            rest = after;
        }
        most = most.max(count);
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_faults_of_a_file() {
        let todo = PUT_OFF[0];
        let word = concat!("iss", "ue");
        let test = concat!("#[", "test]");
        for (name, text, expected) in [
            ("crates/a/src/b.rs", "fn a() {}\n".to_owned(), 0),
            ("crates/a/src/b.rs", "fn a() {} \n".to_owned(), 1),
            ("crates/a/src/b.rs", "fn a() {}\r\n".to_owned(), 1),
            ("crates/a/src/b.rs", "fn a() {}".to_owned(), 1),
            ("crates/a/src/lib.rs", "fn a() {}\n".to_owned(), 1),
            ("crates/a/src/lib.rs", "//! Rooms.\n".to_owned(), 0),
            ("a.md", format!("// {todo} later\n"), 1),
            ("a.md", format!("// {todo}: later\n"), 1),
            (
                "a.md",
                format!("// {todo}: when the format has a second version\n"),
                0,
            ),
            ("a.md", format!("{todo}LIST is a word\n"), 0),
            ("a.md", format!("see {} /{}/me/a\n", "at", "home"), 1),
            ("a.md", "see https://example.org/home/page\n".to_owned(), 0),
            (
                "a.md",
                format!("run ./{}/it and a/{}/b\n", "home", "root"),
                0,
            ),
            ("a.md", format!("as in {word} #12\n"), 1),
            ("a.md", format!("the {word} of the year 12\n"), 0),
            ("crates/a/src/b.rs", "\"../../../models\"\n".to_owned(), 0),
            ("a/b.md", format!("../{}\n", "../c"), 1),
            ("a.md", "line\n".repeat(LONGEST_FILE), 0),
            ("a.md", "line\n".repeat(LONGEST_FILE + 1), 1),
            ("a.csv", "line\n".repeat(LONGEST_FILE + 1), 0),
            ("a.csv", "a,b\r\n".to_owned(), 0),
            ("a.csv", "a,b \r\n".to_owned(), 1),
            ("web/src/a.rs", format!("{test}\n"), 1),
            ("crates/a/src/a.rs", format!("{test}\n"), 0),
        ] {
            let faults = of_file(name, &text);
            assert_eq!(faults.len(), expected, "{name} {text:.60?}: {faults:?}");
        }
    }

    #[test]
    fn check_which_files() {
        for (name, text) in [
            ("README.md", true),
            (".ci/run", true),
            ("web/icon.png", false),
            ("LICENSE-MIT", false),
            ("Cargo.lock", false),
        ] {
            assert_eq!(is_text(name), text, "{name}");
        }
    }
}
