//! `cargo xtask tidy`: what the compiler does not check.
//!
//! The layers of the workspace, the outside crates of each room, the texts of all files, and
//! whether `Cargo.lock` fits.

mod layers;
mod texts;

use crate::workspace;
use anyhow::{Result, bail};

pub(crate) fn command(args: &[String]) -> Result<()> {
    workspace::only(args, &[], &[])?;
    tidy()
}

/// Runs all checks and prints every fault before it fails.
///
/// # Errors
///
/// When there is a fault.
pub(crate) fn tidy() -> Result<()> {
    let mut faults = layers::faults()?;
    let (read, text_faults) = texts::faults(&workspace::root())?;
    faults.extend(text_faults);
    for fault in &faults {
        println!("  {fault}");
    }
    if !faults.is_empty() {
        bail!("{} faults", faults.len());
    }
    println!("{read} files and all dependency arrows are in order.");
    Ok(())
}
