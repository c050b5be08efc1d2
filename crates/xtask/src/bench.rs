//! `cargo xtask bench`: how long section and picture take, natively and in Chromium, and how much a
//! learner downloads.
//!
//! It reports and asserts nothing: times depend on the machine. The download has its budget in
//! `build`. The same measuring programs run natively and, compiled as the page is, in Chromium, so that
//! their ratio is the price of WebAssembly and nothing else.

use crate::build::{self, Mode};
use crate::{bake, chromium, node, python, workspace};
use anyhow::{Context as _, Result, bail};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

#[path = "bench_goals.rs"]
mod goals;

/// A measuring program of a crate: a file of its `benches` folder.
struct Program {
    package: &'static str,
    name: &'static str,
    /// What cargo is told beside the name.
    cargo: &'static [&'static str],
    /// What the program is told in the browser.
    in_browser: &'static [&'static str],
}

const PROGRAMS: [Program; 3] = [
    Program {
        package: "geometry",
        name: "section",
        cargo: &["--features", "peers"],
        in_browser: &["--quick"],
    },
    Program {
        package: "picture",
        name: "picture",
        cargo: &[],
        in_browser: &[],
    },
    Program {
        package: "picture",
        name: "grey",
        cargo: &[],
        in_browser: &[],
    },
];

/// The target of the programs that run in the browser: unlike the page they need a clock, files and
/// somewhere to print, which this target has and `tests/browser/wasi.js` gives them.
const TARGET: &str = "wasm32-wasip1";

/// The program that draws on demand.
const FRAME: Program = Program {
    package: "picture",
    name: "frame",
    cargo: &[],
    in_browser: &[],
};

pub(crate) fn command(args: &[String]) -> Result<()> {
    workspace::only(args, &["--frames"], &[])?;
    if workspace::flag(args, "--frames") {
        return frames_alone();
    }
    bake::bake()?;
    lint()?;
    let native = natively()?;
    python::ensure_venv()?;
    let chromium = chromium::ensure()?;
    let browser = in_browser(&chromium)?;
    println!("\n== Kernels, one thread");
    print!("{}", table(&native, &browser)?);
    println!("\n== Pictures in animation frames of Chromium, beside plain JavaScript");
    let frames = in_frames(&chromium, 1)?;
    print!("{}", listed(&frames));
    println!("\n== Against floor and goal");
    print!("{}", goals::table(&native, &browser, &frames)?);

    println!("\n== Download");
    build::build(Mode::Release)?;
    println!("\n== Page in Chromium");
    workspace::run(
        Command::new(python::interpreter())
            .current_dir(workspace::root())
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .env("PLANEWARD_CHROMIUM", chromium)
            .env("PLANEWARD_XTASK", std::env::current_exe()?)
            .arg("tests/browser/measure.py"),
    )
}

/// Pictures in frames alone, every third window: minutes less than all of it.
fn frames_alone() -> Result<()> {
    const EVERY: usize = 3;
    bake::bake()?;
    python::ensure_venv()?;
    let chromium = chromium::ensure()?;
    print!("{}", listed(&in_frames(&chromium, EVERY)?));
    Ok(())
}

/// Draws the pictures of every so-manieth window in frames of Chromium, and the same in plain JavaScript.
fn in_frames(chromium: &Path, every: usize) -> Result<Vec<Line>> {
    let program = compiled(&FRAME)?;
    let said = said(
        Command::new(python::interpreter())
            .current_dir(workspace::root())
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .env("PLANEWARD_CHROMIUM", chromium)
            .arg("tests/browser/measure_frames.py")
            .arg(program)
            .arg(node::ensure_peers()?)
            .arg(every.to_string()),
    )?;
    lines(&said)
}

/// What a program prints for us; what it says to people stays on the screen.
fn said(command: &mut Command) -> Result<String> {
    let output = command
        .stderr(Stdio::inherit())
        .output()
        .context("a measuring program did not start")?;
    if !output.status.success() {
        bail!("a measuring program failed ({})", output.status);
    }
    Ok(String::from_utf8_lossy(&output.stdout).into_owned())
}

/// `test` leaves out programs that ask for a feature, so they are linted here.
fn lint() -> Result<()> {
    for program in PROGRAMS.iter().filter(|program| !program.cargo.is_empty()) {
        workspace::run(
            workspace::cargo()
                .args(["clippy", "--quiet", "--locked", "--package"])
                .args([program.package, "--bench", program.name])
                .args(program.cargo)
                .args(["--", "-D", "warnings"]),
        )?;
    }
    Ok(())
}

fn natively() -> Result<Vec<Line>> {
    let mut all = String::new();
    for program in &PROGRAMS {
        println!("Measuring {} natively …", program.name);
        all += &said(
            workspace::cargo()
                .args(["bench", "--quiet", "--locked", "--package"])
                .args([program.package, "--bench", program.name])
                .args(program.cargo),
        )?;
    }
    lines(&all)
}

fn in_browser(chromium: &Path) -> Result<Vec<Line>> {
    let mut arguments = Vec::new();
    for program in &PROGRAMS {
        println!("Measuring {} in Chromium …", program.name);
        let mut argument = compiled(program)?.to_string_lossy().into_owned();
        for word in program.in_browser {
            argument.push(',');
            argument.push_str(word);
        }
        arguments.push(argument);
    }
    let printed = run_in_browser(chromium, &arguments)?;
    lines(&printed)
}

/// Compiles a program in the profile and with the instructions of the page; returns its file.
fn compiled(program: &Program) -> Result<PathBuf> {
    let mut arguments = vec!["bench", "--no-run", "--package", program.package];
    arguments.extend(["--bench", program.name]);
    arguments.extend(program.cargo);
    for_browser(program.name, &arguments)
}

/// Compiles the bench or example `name` for a page, as `cargo` is told by `arguments`; returns its file.
pub(crate) fn for_browser(name: &str, arguments: &[&str]) -> Result<PathBuf> {
    build::ensure_target(TARGET)?;
    let messages = said(
        workspace::cargo()
            .args(arguments)
            .args(["--quiet", "--locked", "--target", TARGET])
            .args(["--profile", Mode::Release.profile()])
            .args(["--config", &build::flags(TARGET, &[])])
            .arg("--message-format=json"),
    )
    .with_context(|| format!("{name} does not compile for {TARGET}"))?;
    messages
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter(|message| message["target"]["name"] == name)
        .find_map(|message| message["executable"].as_str().map(PathBuf::from))
        .context("cargo names no compiled program")
}

/// Runs compiled programs in Chromium, each with its arguments after a comma; returns what they printed.
pub(crate) fn run_in_browser(chromium: &Path, programs: &[String]) -> Result<String> {
    said(
        Command::new(python::interpreter())
            .current_dir(workspace::root())
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .env("PLANEWARD_CHROMIUM", chromium)
            .arg("tests/browser/measure_kernels.py")
            .args(programs),
    )
}

/// One line of a program: a measure, or a remark on what was measured.
#[derive(Debug, PartialEq)]
enum Line {
    About(String),
    Measure {
        name: String,
        median_us: f64,
        p99_us: f64,
        /// Median over what is measured of the best of several times, where a program tells it: what the machine does
        /// when nothing else is going on.
        best_us: Option<f64>,
    },
}

fn lines(said: &str) -> Result<Vec<Line>> {
    said.lines()
        .filter(|line| line.starts_with('{'))
        .map(|line| {
            let value: Value = serde_json::from_str(line)?;
            if let Some(about) = value["about"].as_str() {
                return Ok(Line::About(about.to_owned()));
            }
            let number = |key: &str| {
                value[key]
                    .as_f64()
                    .with_context(|| format!("a measure without {key}: {line}"))
            };
            Ok(Line::Measure {
                name: value["name"]
                    .as_str()
                    .context("a measure without a name")?
                    .to_owned(),
                median_us: number("median_us")?,
                p99_us: number("p99_us")?,
                best_us: value["best_us"].as_f64(),
            })
        })
        .collect()
}

/// One run, times in µs.
fn listed(lines: &[Line]) -> String {
    let mut text = format!("  {:<32}{:>12}{:>10}{:>10}\n", "µs", "p50", "p99", "best");
    let mut remarks = String::new();
    for line in lines {
        match line {
            Line::About(about) => remarks += &format!("  {about}\n"),
            Line::Measure {
                name,
                median_us,
                p99_us,
                best_us,
            } => {
                let best = best_us.map_or("–".to_owned(), |us| format!("{us:.1}"));
                text += &format!("  {name:<32}{median_us:>12.1}{p99_us:>10.1}{best:>10}\n");
            }
        }
    }
    text + &remarks
}

/// Both runs side by side, times in µs, with the ratio of the best times or, where there are none, of the medians.
fn table(native: &[Line], browser: &[Line]) -> Result<String> {
    let mut text = format!(
        "  {:<32}{:>12}{:>10}{:>10}{:>14}{:>10}{:>10}{:>8}\n",
        "µs", "native p50", "p99", "best", "Chromium p50", "p99", "best", "ratio"
    );
    let mut remarks = String::new();
    for line in native {
        let Line::Measure {
            name,
            median_us,
            p99_us,
            best_us,
        } = line
        else {
            if let Line::About(about) = line {
                remarks += &format!("  {about}\n");
            }
            continue;
        };
        let other = browser.iter().find_map(|line| match line {
            Line::Measure {
                name: other,
                median_us,
                p99_us,
                best_us,
            } if other == name => Some((median_us, p99_us, best_us)),
            _ => None,
        });
        let Some((there, p99_there, best_there)) = other else {
            bail!("Chromium did not measure {name:?}");
        };
        let best = |us: &Option<f64>| us.map_or("–".to_owned(), |us| format!("{us:.1}"));
        let ratio = match (best_there, best_us) {
            (Some(there), Some(here)) => there / here,
            _ => there / median_us,
        };
        text += &format!(
            "  {name:<32}{median_us:>12.1}{p99_us:>10.1}{:>10}{there:>14.1}{p99_there:>10.1}{:>10}{ratio:>8.2}\n",
            best(best_us),
            best(best_there),
        );
    }
    Ok(text + &remarks)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SAID: &str =
        "warm\n{\"about\":\"9 planes\"}\n{\"name\":\"cut\",\"median_us\":20.0,\"p99_us\":31.5}\n";

    #[test]
    fn check_lines() {
        let read = lines(SAID).unwrap();
        let cut = Line::Measure {
            name: "cut".to_owned(),
            median_us: 20.0,
            p99_us: 31.5,
            best_us: None,
        };
        assert_eq!(read, [Line::About("9 planes".to_owned()), cut]);
        assert!(
            lines("{\"name\":\"cut\"}").is_err(),
            "a measure needs its numbers"
        );
    }

    #[test]
    fn check_table() {
        let native = lines(SAID).unwrap();
        let browser = lines(&SAID.replace("20.0", "25.0")).unwrap();
        let text = table(&native, &browser).unwrap();
        assert!(text.contains("1.25"), "{text}");
        let best = |us: &str| lines(&SAID.replace("31.5", us)).unwrap();
        let text = table(&best("31.5,\"best_us\":10"), &best("31.5,\"best_us\":11")).unwrap();
        assert!(text.contains("1.10"), "the best times count: {text}");
        assert!(text.contains("9 planes"), "{text}");
        assert!(table(&native, &[]).is_err(), "a missing measure is seen");
    }
}
