//! `planeward pack`: sets as packages for course systems.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use clap::ValueEnum;
use course::moment::Moment;
use course::package::{Standard, package};

use crate::bodies::Bodies;

/// What to make.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Packing {
    /// SCORM 1.2.
    Scorm12,
    /// SCORM 2004, 4th Edition.
    Scorm2004,
    /// cmi5.
    Cmi5,
    /// QTI 3.0: still pictures and choices, for the quiz program of a course system.
    Qti,
}

impl Packing {
    const fn key(self) -> &'static str {
        match self {
            Self::Scorm12 => Standard::Scorm12.key(),
            Self::Scorm2004 => Standard::Scorm2004.key(),
            Self::Cmi5 => Standard::Cmi5.key(),
            Self::Qti => "qti",
        }
    }

    const fn standard(self) -> Option<Standard> {
        match self {
            Self::Scorm12 => Some(Standard::Scorm12),
            Self::Scorm2004 => Some(Standard::Scorm2004),
            Self::Cmi5 => Some(Standard::Cmi5),
            Self::Qti => None,
        }
    }
}

/// Packs every set, each into `NAME-STANDARD.zip` in `out`; how many could not be packed.
pub(crate) fn pack(
    paths: &[PathBuf],
    packing: Packing,
    page: Option<&Path>,
    at: Moment,
    out: &Path,
    bodies: &mut Bodies,
    output: &mut impl Write,
) -> Result<usize> {
    let page = match (packing.standard(), page) {
        (None, _) => Vec::new(),
        (Some(_), Some(page)) => read_page(page)?,
        (Some(standard), None) => bail!(
            "{} packages hold the page: name the folder that `cargo xtask build` leaves with --page",
            standard.name()
        ),
    };
    fs::create_dir_all(out).with_context(|| format!("cannot make {}", out.display()))?;
    let mut bad = 0;
    let mut names: BTreeMap<PathBuf, PathBuf> = BTreeMap::new();
    for path in super::files(paths)? {
        let stem = path.file_stem().map_or_else(
            || "set".to_owned(),
            |stem| stem.to_string_lossy().into_owned(),
        );
        let target = out.join(format!("{stem}-{}.zip", packing.key()));
        if let Some(other) = names.insert(target.clone(), path.clone()) {
            bail!(
                "{} and {} would both become {}",
                other.display(),
                path.display(),
                target.display()
            );
        }
        let made = super::read_set(&path).and_then(|set| match packing.standard() {
            Some(standard) => Ok((package(&set, standard, &page, at)?, Vec::new())),
            None => super::quiz::package(&set, at, bodies),
        });
        match made {
            Ok((bytes, left)) => {
                for reason in left {
                    writeln!(output, "{}: left out: {reason}", path.display())?;
                }
                fs::write(&target, &bytes)
                    .with_context(|| format!("cannot write {}", target.display()))?;
                writeln!(output, "{}: {} bytes", target.display(), bytes.len())?;
            }
            Err(error) => {
                bad += 1;
                writeln!(output, "{}: {error:#}", path.display())?;
            }
        }
    }
    Ok(bad)
}

/// The built page: names below the folder, with `/`, and contents.
fn read_page(folder: &Path) -> Result<Vec<(String, Vec<u8>)>> {
    let mut paths = Vec::new();
    all_below(folder, &mut paths)?;
    paths
        .into_iter()
        .map(|path| {
            let name = path
                .strip_prefix(folder)
                .unwrap_or(&path)
                .to_string_lossy()
                .replace('\\', "/");
            Ok((name, super::content(&path)?))
        })
        .collect()
}

fn all_below(folder: &Path, found: &mut Vec<PathBuf>) -> Result<()> {
    let unreadable = || format!("cannot read folder {}", folder.display());
    for entry in fs::read_dir(folder).with_context(unreadable)? {
        let path = entry.with_context(unreadable)?.path();
        if path.is_dir() {
            all_below(&path, found)?;
        } else {
            found.push(path);
        }
    }
    found.sort();
    Ok(())
}
