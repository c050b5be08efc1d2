//! `cargo xtask bake`: the readable bodies of `models/` become the body files in `.bake/`.

use crate::workspace;
use anyhow::{Context as _, Result};
use sculpt::Progress;
use std::io::{IsTerminal as _, Write as _};
use std::time::Instant;

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
    let start = Instant::now();
    let mut lines = Lines {
        live: std::io::stdout().is_terminal(),
        last: None,
    };
    sculpt::bake_all(
        &workspace::root().join("models"),
        &workspace::bake_dir(),
        &mut |progress| lines.show(&progress),
    )
    .context("the bodies could not be baked")?;
    println!("Bodies are baked ({:.1} s).", start.elapsed().as_secs_f64());
    Ok(())
}

/// Progress for people: one line that moves on a terminal, one line per tenth in a log.
struct Lines {
    live: bool,
    /// Body and tenth of the last line in a log.
    last: Option<(String, usize)>,
}

impl Lines {
    fn show(&mut self, progress: &Progress) {
        let Progress {
            body,
            done,
            total,
            what,
        } = progress;
        let line = format!("  {body}: {done} of {total}, {what}");
        if self.live {
            // Clears the rest of the line, since the next text may be shorter.
            print!("\r{line}\x1b[K");
            if done == total {
                println!();
            }
            // A terminal that is gone is no reason to stop baking.
            drop(std::io::stdout().flush());
            return;
        }
        let here = Some((body.clone(), done * 10 / (*total).max(1)));
        if self.last != here {
            println!("{line}");
            self.last = here;
        }
    }
}
