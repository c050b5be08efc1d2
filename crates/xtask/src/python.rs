//! The Python side: a virtual environment of its own with pinned packages, and pytest in it.

use crate::{dist, workspace};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The oldest Python the checks are written for.
const OLDEST: (u32, u32) = (3, 11);

fn requirements() -> PathBuf {
    workspace::root().join("tests/requirements.txt")
}

fn venv_dir() -> PathBuf {
    workspace::root().join(".venv")
}

/// The interpreter of the virtual environment.
pub(crate) fn interpreter() -> PathBuf {
    if cfg!(windows) {
        venv_dir().join("Scripts").join("python.exe")
    } else {
        venv_dir().join("bin").join("python")
    }
}

/// Makes `.venv` from `tests/requirements.txt`, or leaves it alone when it already is that.
///
/// # Errors
///
/// One sentence on what to install when there is no fitting Python or it cannot make environments.
pub(crate) fn ensure_venv() -> Result<()> {
    let (python, version) = base_python()?;
    let pinned = std::fs::read(requirements())
        .with_context(|| format!("cannot read {}", requirements().display()))?;
    let stamp_file = venv_dir().join("planeward-stamp");
    let stamp = format!("{version} {}\n", dist::hex(&pinned));
    let current = std::fs::read_to_string(&stamp_file).is_ok_and(|old| old == stamp);
    if current && workspace::output(Command::new(interpreter()).arg("--version")).is_some() {
        println!("The virtual environment is current ({version}).");
        return Ok(());
    }
    println!("Making a virtual environment with {version} …");
    make(&python)?;
    workspace::run(
        Command::new(interpreter())
            .current_dir(workspace::root())
            .args([
                "-m",
                "pip",
                "install",
                "--quiet",
                "--disable-pip-version-check",
            ])
            .args(["--no-input", "--requirement"])
            .arg(requirements()),
    )?;
    std::fs::write(&stamp_file, stamp)?;
    Ok(())
}

/// The first Python that is new enough, and its version in words.
fn base_python() -> Result<(String, String)> {
    let mut older = None;
    for name in [
        "python3",
        "python",
        "python3.14",
        "python3.13",
        "python3.12",
        "python3.11",
    ] {
        let Some(text) = workspace::output(Command::new(name).arg("--version")) else {
            continue;
        };
        match version_of(&text) {
            Some(version) if version >= OLDEST => return Ok((name.to_owned(), text)),
            _ => older = Some(text),
        }
    }
    let (major, minor) = OLDEST;
    match older {
        Some(text) => {
            bail!("{text} is too old for the checks: install Python {major}.{minor} or newer")
        }
        None => bail!("there is no Python: install Python {major}.{minor} or newer"),
    }
}

/// `Python 3.11.7` → (3, 11).
fn version_of(text: &str) -> Option<(u32, u32)> {
    let mut numbers = text.strip_prefix("Python ")?.split('.');
    Some((numbers.next()?.parse().ok()?, numbers.next()?.parse().ok()?))
}

/// Makes the empty environment. Debian and its kin pack `ensurepip` apart from Python.
fn make(python: &str) -> Result<()> {
    let attempt = || {
        workspace::output(
            Command::new(python)
                .current_dir(workspace::root())
                .args(["-m", "venv", "--clear"])
                .arg(venv_dir()),
        )
    };
    if attempt().is_some() {
        return Ok(());
    }
    if apt_install("python3-venv") && attempt().is_some() {
        return Ok(());
    }
    bail!(
        "{python} cannot make virtual environments: run `sudo apt install python3-venv` and start again"
    )
}

/// Installs one package where that needs no password: as root on a machine with apt.
pub(crate) fn apt_install(package: &str) -> bool {
    let is_root =
        cfg!(unix) && workspace::output(Command::new("id").arg("-u")).is_some_and(|uid| uid == "0");
    if !is_root || workspace::output(Command::new("apt-get").arg("--version")).is_none() {
        return false;
    }
    println!("Installing {package} …");
    let apt = |args: &[&str]| {
        Command::new("apt-get")
            .env("DEBIAN_FRONTEND", "noninteractive")
            .args(args)
            .status()
            .is_ok_and(|status| status.success())
    };
    let install = [
        "install",
        "--yes",
        "--quiet",
        "--no-install-recommends",
        package,
    ];
    apt(&install) || (apt(&["update", "--quiet"]) && apt(&install))
}

/// What pytest counted.
#[derive(Debug, PartialEq, Eq)]
struct Counts {
    tests: u32,
    failed: u32,
    skipped: u32,
}

/// Runs the tests of one folder, with `more` arguments for pytest. Nothing run and anything skipped are failures: a missing
/// reference must be seen.
///
/// # Errors
///
/// When a test fails, is skipped, or there is none.
pub(crate) fn pytest(folder: &str, more: &[&str], environment: &[(&str, &Path)]) -> Result<()> {
    let report = workspace::target_dir().join(format!("pytest-{}.xml", folder.replace('/', "-")));
    std::fs::remove_file(&report).ok();
    let mut command = Command::new(interpreter());
    command
        .current_dir(workspace::root())
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .env("PLANEWARD_XTASK", std::env::current_exe()?)
        .args([
            "-m",
            "pytest",
            "-q",
            "--maxfail=20",
            // A test waits for another process most of the time; whole files in one go would leave one worker idle.
            "--numprocesses=2",
            "--dist=worksteal",
            "--durations=5",
            "-p",
            "no:cacheprovider",
        ])
        .arg(format!("--junitxml={}", report.display()))
        .args(more)
        .arg(folder);
    for (name, value) in environment {
        command.env(name, value);
    }
    workspace::run(&mut command)?;
    let text = std::fs::read_to_string(&report).context("pytest left no report")?;
    let counts = counts(&text).context("the report of pytest cannot be read")?;
    if counts.tests == 0 {
        bail!("pytest ran nothing in {folder}");
    }
    if counts.skipped > 0 {
        bail!(
            "{} tests in {folder} were skipped; a missing reference is a failure",
            counts.skipped
        );
    }
    println!("{} tests passed in {folder}.", counts.tests);
    Ok(())
}

/// The counts of the first `<testsuite …>` element of pytest's XML report.
fn counts(report: &str) -> Option<Counts> {
    let element = report.split_once("<testsuite ")?.1.split_once('>')?.0;
    let number = |name: &str| -> Option<u32> {
        let value = element
            .split_once(&format!("{name}=\""))?
            .1
            .split_once('"')?
            .0;
        value.parse().ok()
    };
    Some(Counts {
        tests: number("tests")?,
        failed: number("failures")? + number("errors")?,
        skipped: number("skipped")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_versions() {
        for (text, version) in [
            ("Python 3.11.7", Some((3, 11))),
            ("Python 3.9.2", Some((3, 9))),
            ("Python 2.7.18", Some((2, 7))),
            ("pypy", None),
        ] {
            assert_eq!(version_of(text), version, "{text}");
        }
        assert!((3, 9) < OLDEST, "numbers are compared, not texts");
    }

    #[test]
    fn check_reports() {
        let report = r#"<?xml version="1.0"?><testsuites name="pytest tests"><testsuite name="pytest" errors="1" failures="2" skipped="3" tests="40" time="0.1">"#;
        assert_eq!(
            counts(report),
            Some(Counts {
                tests: 40,
                failed: 3,
                skipped: 3
            })
        );
        assert_eq!(counts("<testsuites/>"), None);
    }
}
