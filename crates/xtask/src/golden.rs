//! The golden pictures in Chromium: the program that draws them, compiled as the page is, must give the recorded bytes.
//!
//! The same pictures drawn natively are compared by a test of `picture`; both read the same list of hashes.

use crate::{bench, chromium, python, workspace};
use anyhow::{Context as _, Result, bail};

/// The recorded hashes, a picture a line.
const RECORDED: &str = "crates/picture/tests/data/golden.txt";

/// Draws the pictures in Chromium and compares.
///
/// # Errors
///
/// When a picture is missing, new or different, and when nothing was drawn.
pub(crate) fn check() -> Result<()> {
    let path = workspace::root().join(RECORDED);
    let recorded = std::fs::read_to_string(&path).with_context(|| format!("{}", path.display()))?;
    let program = bench::for_browser(
        "golden",
        &["build", "--package", "picture", "--example", "golden"],
    )?;
    python::ensure_venv()?;
    let chromium = chromium::ensure()?;
    let drawn = bench::run_in_browser(&chromium, &[program.to_string_lossy().into_owned()])?;
    let count = compare(&recorded, &drawn)?;
    println!("{count} pictures are the recorded ones, byte for byte.");
    Ok(())
}

/// How many pictures there are, all of them alike.
fn compare(recorded: &str, drawn: &str) -> Result<usize> {
    let lines = |text: &str| -> Vec<String> {
        text.lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .map(str::to_owned)
            .collect()
    };
    let (recorded, drawn) = (lines(recorded), lines(drawn));
    if recorded.is_empty() {
        bail!("no picture is recorded");
    }
    if recorded.len() != drawn.len() {
        bail!("{} pictures instead of {}", drawn.len(), recorded.len());
    }
    for (want, got) in recorded.iter().zip(&drawn) {
        if want != got {
            bail!("drawn in Chromium: {got}; recorded: {want}");
        }
    }
    Ok(recorded.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_compare() {
        let both = "convex 0123\nlinear 4567\n";
        assert_eq!(compare(both, both).unwrap(), 2);
        for (recorded, drawn) in [
            ("", ""),
            (both, ""),
            (both, "convex 0123\n"),
            (both, "convex 0123\nlinear 4568\n"),
            (both, "linear 4567\nconvex 0123\n"),
        ] {
            assert!(compare(recorded, drawn).is_err(), "{recorded:?} {drawn:?}");
        }
    }
}
