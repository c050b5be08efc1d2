//! A real Chromium for the browser tests: found, or installed where that needs no password.

use crate::{python, workspace};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use std::process::Command;

const NAMES: [&str; 5] = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
];

/// The browser's path.
///
/// # Errors
///
/// One sentence on what to install.
pub(crate) fn ensure() -> Result<PathBuf> {
    if let Some(named) = std::env::var_os("CHROMIUM").map(PathBuf::from) {
        return working(&named)
            .with_context(|| format!("CHROMIUM names {}, which does not start", named.display()));
    }
    if let Some(found) = find() {
        return Ok(found);
    }
    if python::apt_install("chromium")
        && let Some(found) = find()
    {
        return Ok(found);
    }
    bail!(
        "there is no Chromium for the browser tests: install it (Debian: `sudo apt install chromium`; \
         elsewhere: `{} -m playwright install chromium`) or name one in CHROMIUM, and start again",
        python::interpreter().display()
    )
}

fn find() -> Option<PathBuf> {
    NAMES
        .iter()
        .filter_map(|name| on_path(name))
        .chain(playwright_cache())
        .find_map(|path| working(&path))
}

/// A program of this name in a folder of `PATH`.
pub(crate) fn on_path(name: &str) -> Option<PathBuf> {
    std::env::split_paths(&std::env::var_os("PATH")?)
        .map(|dir| dir.join(name))
        .find(|path| path.is_file())
}

/// Browsers that Playwright downloaded, newest first.
fn playwright_cache() -> Vec<PathBuf> {
    let folders = [
        std::env::var_os("PLAYWRIGHT_BROWSERS_PATH").map(PathBuf::from),
        std::env::home_dir().map(|home| home.join(".cache/ms-playwright")),
        std::env::home_dir().map(|home| home.join("Library/Caches/ms-playwright")),
    ];
    let mut found = Vec::new();
    for folder in folders.into_iter().flatten() {
        let Ok(entries) = std::fs::read_dir(&folder) else {
            continue;
        };
        for entry in entries.flatten() {
            for inside in [
                "chrome-linux/chrome",
                "chrome-linux64/chrome",
                "chrome-headless-shell-linux64/chrome-headless-shell",
                "chrome-mac/Chromium.app/Contents/MacOS/Chromium",
            ] {
                found.push(entry.path().join(inside));
            }
        }
    }
    found.sort();
    found.reverse();
    found
}

/// The path itself when it starts and calls itself Chromium or Chrome: some distributions put a
/// script there that only tells how to install one.
fn working(path: &Path) -> Option<PathBuf> {
    if !path.is_file() {
        return None;
    }
    let text = workspace::output(Command::new(path).arg("--version"))?;
    text.contains("Chrom").then(|| path.to_path_buf())
}
