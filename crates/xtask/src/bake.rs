//! `cargo xtask bake`: the readable bodies of `models/` become the body files in `.bake/`.

use crate::workspace;
use anyhow::Result;

pub(crate) fn command(args: &[String]) -> Result<()> {
    workspace::only(args, &[], &[])?;
    bake()
}

/// Bakes what is stale; bodies whose inputs have not changed are left alone.
///
/// # Errors
///
/// When a body description is wrong or the output folder cannot be written.
pub(crate) fn bake() -> Result<()> {
    anyhow::bail!("not wired yet")
}
