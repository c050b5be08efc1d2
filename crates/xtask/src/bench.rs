//! `cargo xtask bench`: how long section and picture take, natively and in Chromium, and how much a
//! learner downloads.
//!
//! It reports and asserts nothing: times depend on the machine. The download has its budget in
//! `build`. The same measuring programs run natively and, compiled as the page is, in Chromium, so that
//! their ratio is the price of WebAssembly and nothing else.

use crate::build::{self, Mode};
use crate::{bake, chromium, python, workspace};
use anyhow::{Context as _, Result, bail};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A measuring program of a crate: a file of its `benches` folder.
struct Program {
    package: &'static str,
    name: &'static str,
    /// What cargo is told beside the name.
    cargo: &'static [&'static str],
    /// What the program is told in the browser.
    in_browser: &'static [&'static str],
}

const PROGRAMS: [Program; 2] = [
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
];

/// The target of the programs that run in the browser: unlike the page they need a clock, files and
/// somewhere to print, which this target has and `tests/browser/wasi.js` gives them.
const TARGET: &str = "wasm32-wasip1";

pub(crate) fn command(args: &[String]) -> Result<()> {
    workspace::only(args, &[], &[])?;
    bake::bake()?;
    lint()?;
    let native = natively()?;
    python::ensure_venv()?;
    let chromium = chromium::ensure()?;
    let browser = in_browser(&chromium)?;
    println!("\n== Kernels, one thread");
    print!("{}", table(&native, &browser)?);

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
    build::ensure_target(TARGET)?;
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
    let printed = said(
        Command::new(python::interpreter())
            .current_dir(workspace::root())
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .env("PLANEWARD_CHROMIUM", chromium)
            .arg("tests/browser/measure_kernels.py")
            .args(arguments),
    )?;
    lines(&printed)
}

/// Compiles a program in the profile and with the instructions of the page; returns its file.
fn compiled(program: &Program) -> Result<PathBuf> {
    let messages = said(
        workspace::cargo()
            .args(["bench", "--no-run", "--quiet", "--locked", "--package"])
            .args([program.package, "--bench", program.name])
            .args(program.cargo)
            .args(["--target", TARGET, "--profile", Mode::Release.profile()])
            .args(["--config", &build::flags(TARGET, &[])])
            .arg("--message-format=json"),
    )
    .with_context(|| format!("the bench {} does not compile for {TARGET}", program.name))?;
    messages
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter(|message| message["target"]["name"] == program.name)
        .find_map(|message| message["executable"].as_str().map(PathBuf::from))
        .context("cargo names no compiled bench")
}

/// One line of a program: a measure, or a remark on what was measured.
#[derive(Debug, PartialEq)]
enum Line {
    About(String),
    Measure {
        name: String,
        median_us: f64,
        p99_us: f64,
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
            })
        })
        .collect()
}

/// Both runs side by side, times in µs, with the ratio of the medians.
fn table(native: &[Line], browser: &[Line]) -> Result<String> {
    let mut text = format!(
        "  {:<30}{:>12}{:>10}{:>14}{:>10}{:>8}\n",
        "µs", "native p50", "p99", "Chromium p50", "p99", "ratio"
    );
    let mut remarks = String::new();
    for line in native {
        let (name, median, p99) = match line {
            Line::About(about) => {
                remarks += &format!("  {about}\n");
                continue;
            }
            Line::Measure {
                name,
                median_us,
                p99_us,
            } => (name, median_us, p99_us),
        };
        let other = browser.iter().find_map(|line| match line {
            Line::Measure {
                name: other,
                median_us,
                p99_us,
            } if other == name => Some((median_us, p99_us)),
            _ => None,
        });
        let Some((there, p99_there)) = other else {
            bail!("Chromium did not measure {name:?}");
        };
        text += &format!(
            "  {name:<30}{median:>12.1}{p99:>10.1}{there:>14.1}{p99_there:>10.1}{:>8.2}\n",
            there / median
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
        assert!(text.contains("9 planes"), "{text}");
        assert!(table(&native, &[]).is_err(), "a missing measure is seen");
    }
}
