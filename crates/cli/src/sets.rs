//! Exercise sets and results from the command line: check, share, pack, merge.

mod check;
mod pack;
mod quiz;
mod results;
mod share;

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};

pub(crate) use check::check;
pub(crate) use pack::{Packing, pack};
pub(crate) use results::{Merging, results};
pub(crate) use share::{Sharing, share};

/// The files that paths name: a file as it is, of a folder every `.json` below it, sorted.
fn files(paths: &[PathBuf]) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for path in paths {
        if path.is_dir() {
            below(path, &mut found)?;
        } else if path.exists() {
            found.push(path.clone());
        } else {
            bail!("there is no {}", path.display());
        }
    }
    if found.is_empty() {
        bail!("there is no .json file in what was named");
    }
    Ok(found)
}

fn below(folder: &Path, found: &mut Vec<PathBuf>) -> Result<()> {
    let unreadable = || format!("cannot read folder {}", folder.display());
    let mut entries = Vec::new();
    for entry in fs::read_dir(folder).with_context(unreadable)? {
        entries.push(entry.with_context(unreadable)?.path());
    }
    entries.sort();
    for path in entries {
        if path.is_dir() {
            below(&path, found)?;
        } else if path.extension().is_some_and(|ending| ending == "json") {
            found.push(path);
        }
    }
    Ok(())
}

fn content(path: &Path) -> Result<Vec<u8>> {
    fs::read(path).with_context(|| format!("cannot read {}", path.display()))
}

/// Reads a set, all its faults in one message.
fn read_set(path: &Path) -> Result<course::set::Set> {
    match course::set::read(&content(path)?) {
        Ok(reading) => Ok(reading.set),
        Err(faults) => {
            let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            bail!("{}: {}", path.display(), lines.join("\n  "))
        }
    }
}
