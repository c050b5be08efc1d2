//! `cargo xtask bench`: how long section and picture take, natively and in Chromium, and how much a
//! learner downloads.
//!
//! It reports and asserts nothing: times depend on the machine. The download has its budget in
//! `build`.

use crate::build::Mode;
use crate::{build, chromium, dist, python, workspace};
use anyhow::Result;
use std::process::Command;

/// Crates whose `benches` folder holds measurements of the kernels.
const MEASURED: [&str; 2] = ["geometry", "picture"];

pub(crate) fn command(args: &[String]) -> Result<()> {
    workspace::only(args, &[], &[])?;
    println!("== Native, release");
    for name in MEASURED {
        if !workspace::root()
            .join("crates")
            .join(name)
            .join("benches")
            .is_dir()
        {
            println!("  {name}: there is no benches folder");
            continue;
        }
        workspace::run(workspace::cargo().args([
            "bench",
            "--quiet",
            "--locked",
            "--package",
            name,
            "--bench",
            "*",
        ]))?;
    }
    build::build(Mode::Release)?;
    println!("\n== Chromium");
    python::ensure_venv()?;
    workspace::run(
        Command::new(python::interpreter())
            .current_dir(workspace::root())
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .env("PLANEWARD_CHROMIUM", chromium::ensure()?)
            .env("PLANEWARD_XTASK", std::env::current_exe()?)
            .arg("tests/browser/measure.py"),
    )?;
    println!("\n== Download");
    print!("{}", dist::table(&dist::sizes()?));
    Ok(())
}
