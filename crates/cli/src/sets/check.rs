//! `planeward check`: whether sets and result files are what they should be, and whether every question can be asked.

use std::io::Write;
use std::path::PathBuf;

use anyhow::Result;
use course::set::Set;
use course::{results, round, set};

use crate::bodies::Bodies;

/// Seeds that drawn questions are tried with where the set has none of its own.
const SEEDS: [u64; 3] = [1, 2, 3];

/// Checks every file; how many have faults. With bodies every question of a set is made, so that ambiguous and impossible
/// ones are found; `strict` counts fields that nobody knows as faults.
pub(crate) fn check(
    paths: &[PathBuf],
    strict: bool,
    on_bodies: bool,
    bodies: &mut Bodies,
    output: &mut impl Write,
) -> Result<usize> {
    let mut bad = 0;
    for path in super::files(paths)? {
        let bytes = super::content(&path)?;
        let name = path.display();
        let text = String::from_utf8_lossy(&bytes);
        let mut faults: Vec<String> = Vec::new();
        let mut notes: Vec<String> = Vec::new();
        if text.contains(results::FORMAT) && !text.contains(set::FORMAT) {
            if let Err(broken) = results::read(&bytes) {
                faults.push(broken.to_string());
            }
        } else {
            match set::read(&bytes) {
                Err(found) => faults.extend(found.iter().map(ToString::to_string)),
                Ok(reading) => {
                    notes.extend(reading.unknown.iter().map(|unknown| {
                        let like = unknown.like.map_or_else(String::new, |like| {
                            format!("; perhaps \"{like}\" is meant")
                        });
                        format!(
                            "{}: this field is kept and does nothing{like}",
                            unknown.path
                        )
                    }));
                    if on_bodies {
                        faults.extend(unasked(&reading.set, bodies)?);
                    }
                }
            }
        }
        if strict {
            faults.append(&mut notes);
        }
        for note in notes {
            writeln!(output, "{name}: note: {note}")?;
        }
        if faults.is_empty() {
            writeln!(output, "{name}: good")?;
        } else {
            bad += 1;
            for fault in faults {
                writeln!(output, "{name}: {fault}")?;
            }
        }
    }
    Ok(bad)
}

/// The questions that cannot be asked, and why.
fn unasked(set: &Set, bodies: &mut Bodies) -> Result<Vec<String>> {
    let vocabulary = super::quiz::vocabulary(set)?;
    let seeds: &[u64] = if set.seed.is_some() {
        &SEEDS[..1]
    } else {
        &SEEDS
    };
    let mut faults = Vec::new();
    for place in 0..set.count() {
        let Some(id) = round::body_at(set, place) else {
            continue;
        };
        let where_it_stands = round::entry(set, place).map_or_else(String::new, |(entry, nth)| {
            format!("question {}", entry.item_id(nth))
        });
        let body = match bodies.get(id) {
            Ok(body) => body,
            Err(error) => {
                faults.push(format!("{where_it_stands}: {error:#}"));
                continue;
            }
        };
        let refused = seeds
            .iter()
            .find_map(|seed| round::item(set, place, *seed, body, Some(&vocabulary)).err());
        if let Some(refused) = refused {
            faults.push(format!("{where_it_stands}: {refused}"));
        }
    }
    if set.acquire.is_some() {
        let refused = match bodies.get(&set.body) {
            Ok(body) => round::requested(set, body).err().map(|one| one.to_string()),
            Err(error) => Some(format!("{error:#}")),
        };
        faults.extend(refused.map(|refused| format!("acquire: {refused}")));
    }
    Ok(faults)
}
