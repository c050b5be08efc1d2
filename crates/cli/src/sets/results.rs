//! `planeward results`: many result files as one report.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use course::results::csv::{Separator, number, of_files};
use course::results::{FEW, Group, Merged, PoseReport, Spread, merge, report_csv};
use serde_json::{Value, json};

/// What to write beside the report.
#[derive(Debug)]
pub(crate) struct Merging<'a> {
    pub(crate) json: bool,
    pub(crate) items_csv: Option<&'a Path>,
    pub(crate) rows_csv: Option<&'a Path>,
    pub(crate) semicolon: bool,
}

/// Reports on all files; how many were left out, and whether any counted.
pub(crate) fn results(
    paths: &[PathBuf],
    merging: &Merging<'_>,
    output: &mut impl Write,
) -> Result<(usize, bool)> {
    let mut files = Vec::new();
    for path in super::files(paths)? {
        files.push((path.display().to_string(), super::content(&path)?));
    }
    let merged = merge(&files);
    if merging.json {
        serde_json::to_writer(&mut *output, &as_json(&merged))?;
        output.write_all(b"\n")?;
    } else {
        report(&merged, output)?;
    }
    let separator = if merging.semicolon {
        Separator::Semicolon
    } else {
        Separator::Comma
    };
    if let Some(path) = merging.items_csv {
        let tables: String = merged
            .groups
            .iter()
            .enumerate()
            .map(|(at, group)| {
                let table = report_csv(group, separator);
                // One byte order mark a file.
                if at == 0 {
                    table
                } else {
                    format!("\r\n{}", table.trim_start_matches('\u{feff}'))
                }
            })
            .collect();
        write(path, &tables)?;
    }
    if let Some(path) = merging.rows_csv {
        let all = merged.groups.iter().flat_map(|group| &group.files);
        let named: Vec<_> = all.map(|(name, file)| (&**name, file)).collect();
        write(path, &of_files(&named, separator))?;
    }
    Ok((merged.left.len(), !merged.groups.is_empty()))
}

fn write(path: &Path, text: &str) -> Result<()> {
    fs::write(path, text).with_context(|| format!("cannot write {}", path.display()))
}

fn report(merged: &Merged, output: &mut impl Write) -> Result<()> {
    for group in &merged.groups {
        report_group(group, output)?;
    }
    if !merged.left.is_empty() {
        writeln!(output, "Not counted:")?;
        for left in &merged.left {
            writeln!(output, "  {}: {}", left.file, left.reason)?;
        }
    }
    Ok(())
}

fn report_group(group: &Group, output: &mut impl Write) -> Result<()> {
    let learners = group.files.len();
    writeln!(output, "{} ({} files)", group.title, learners)?;
    if learners < FEW {
        writeln!(
            output,
            "  Fewer than {FEW} learners: read the figures as hints."
        )?;
    }
    if group.seeds_differ {
        writeln!(
            output,
            "  The files have different seeds: drawn questions of one name differ between learners."
        )?;
    }
    let kind = if group.is_kr20 { "KR-20" } else { "alpha" };
    writeln!(
        output,
        "  {kind} {} from {} learners who answered everything; alpha over pairs of items {}; standard error {} items",
        figure(group.alpha),
        group.complete,
        figure(group.alpha_pairwise),
        figure(group.standard_error)
    )?;
    if let (passed, of @ 1..) = group.passed {
        writeln!(output, "  Passed: {passed} of {of}")?;
    }
    writeln!(
        output,
        "  {:<24} {:>5} {:>8} {:>8} {:>8} {:>8} {:>8}",
        "item", "n", "right", "corr. r", "D 27 %", "alpha -", "median s"
    )?;
    for item in &group.items {
        writeln!(
            output,
            "  {:<24} {:>5} {:>8} {:>8} {:>8} {:>8} {:>8}{}",
            item.id,
            item.answered,
            figure(item.difficulty),
            figure(item.corrected),
            figure(item.upper_lower),
            figure(item.alpha_without),
            figure(item.median_s),
            if item.corrected.is_some_and(|r| r < 0.0) {
                "  look at the key"
            } else {
                ""
            }
        )?;
        for option in &item.options {
            writeln!(
                output,
                "      {} {:<28} {:>4}  mean of the round {} %",
                if option.right { "right" } else { "wrong" },
                option.answer,
                option.count,
                number((option.mean_total * 1000.0).round() / 10.0)
            )?;
        }
    }
    for (right, answered, count) in group.planes.mistakes() {
        writeln!(output, "  {right} taken for {answered}: {count}")?;
    }
    for (key, count) in &group.misconceptions {
        writeln!(output, "  misconception {key}: {count}")?;
    }
    if let Some(poses) = &group.poses {
        report_poses(poses, output)?;
    }
    writeln!(output)?;
    Ok(())
}

/// The signed errors with their names, and the unit.
fn spreads(poses: &PoseReport) -> [(&'static str, &'static str, Spread); 5] {
    [
        ("rotation, clockwise", "degrees", poses.rotation),
        ("tilt", "degrees", poses.tilt),
        ("rock, toward the notch", "degrees", poses.rock),
        ("toward the patient's left", "mm", poses.toward_left),
        ("toward the head", "mm", poses.toward_head),
    ]
}

fn report_poses(poses: &PoseReport, output: &mut impl Write) -> Result<()> {
    writeln!(
        output,
        "  Placing the probe: {} tries, plane off by {} degrees on average, {} reversed, {} on the other side of the body",
        poses.count,
        number(poses.plane_deg),
        poses.reversed,
        poses.other_side
    )?;
    for (what, unit, spread) in spreads(poses) {
        writeln!(
            output,
            "    {what:<28} mean {} {unit}, spread {}{}",
            number(spread.mean),
            number(spread.deviation),
            if spread.constant { "  constant" } else { "" }
        )?;
    }
    Ok(())
}

fn figure(value: Option<f64>) -> String {
    value.map_or_else(|| "–".to_owned(), |value| format!("{value:.4}"))
}

fn as_json(merged: &Merged) -> Value {
    let left: Vec<Value> = merged
        .left
        .iter()
        .map(|left| json!({ "file": left.file, "reason": left.reason.to_string() }))
        .collect();
    let groups: Vec<Value> = merged.groups.iter().map(group_json).collect();
    json!({ "sets": groups, "left": left })
}

fn group_json(group: &Group) -> Value {
    let items: Vec<Value> = group
        .items
        .iter()
        .map(|item| {
            let options: Vec<Value> = item
                .options
                .iter()
                .map(|option| {
                    json!({ "answer": option.answer, "right": option.right, "count": option.count, "mean_total": option.mean_total })
                })
                .collect();
            json!({
                "id": item.id,
                "kind": item.kind,
                "answered": item.answered,
                "difficulty": item.difficulty,
                "corrected": item.corrected,
                "point_biserial": item.point_biserial,
                "upper_lower": item.upper_lower,
                "alpha_without": item.alpha_without,
                "median_s": item.median_s,
                "hints": item.hints,
                "options": options,
                "poses": item.poses.as_ref().map(poses_json),
            })
        })
        .collect();
    let files: Vec<&str> = group.files.iter().map(|(name, _)| &**name).collect();
    json!({
        "title": group.title,
        "set": group.set,
        "files": files,
        "complete": group.complete,
        "few": group.files.len() < FEW,
        "seeds_differ": group.seeds_differ,
        "alpha": group.alpha,
        "alpha_pairwise": group.alpha_pairwise,
        "kr20": group.is_kr20,
        "mean_total": group.totals.map(|(mean, _)| mean),
        "deviation_total": group.totals.map(|(_, deviation)| deviation),
        "standard_error": group.standard_error,
        "passed": group.passed.0,
        "judged": group.passed.1,
        "items": items,
        "planes": { "names": group.planes.names, "counts": group.planes.counts },
        "misconceptions": group.misconceptions.iter().map(|(key, count)| json!({ "key": key, "count": count })).collect::<Vec<Value>>(),
        "poses": group.poses.as_ref().map(poses_json),
    })
}

fn poses_json(poses: &PoseReport) -> Value {
    let spread = |spread: Spread| json!({ "mean": spread.mean, "deviation": spread.deviation, "constant": spread.constant });
    json!({
        "count": poses.count,
        "plane_deg": poses.plane_deg,
        "reversed": poses.reversed,
        "other_side": poses.other_side,
        "rotation_deg": spread(poses.rotation),
        "tilt_deg": spread(poses.tilt),
        "rock_deg": spread(poses.rock),
        "toward_left_mm": spread(poses.toward_left),
        "toward_head_mm": spread(poses.toward_head),
    })
}
