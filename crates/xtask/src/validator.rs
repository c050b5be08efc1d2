//! The validator of DICOM files for the reference tests: found, or installed where that needs no password.

use crate::{chromium, python};
use anyhow::{Result, bail};

/// Holds a file against the definitions of the standard; part of the package `dicom3tools`.
const DCIODVFY: &str = "dciodvfy";

/// Makes sure that the validator can be called.
///
/// # Errors
///
/// One sentence on what to install.
pub(crate) fn ensure() -> Result<()> {
    let found = || chromium::on_path(DCIODVFY).is_some();
    if found() || (python::apt_install("dicom3tools") && found()) {
        return Ok(());
    }
    bail!(
        "there is no {DCIODVFY} for the checks of DICOM files: install it (Debian: `sudo apt install dicom3tools`; \
         elsewhere from https://www.dclunie.com/dicom3tools.html) and start again"
    )
}
