//! The `planeward` command: what the page says about a probe pose, for scripts, checks and teachers.
//!
//! JSON lines in on standard input, JSON lines out; `planeward --help` and the help of each
//! sub-command say what the lines hold.

mod answer;
mod args;
mod bodies;
mod export;
mod lines;
mod listing;
mod number;
mod request;
mod resolve;

use std::io::{self, Write};
use std::process::ExitCode;

use anyhow::Context as _;
use clap::Parser as _;

use crate::args::{Args, Command};
use crate::bodies::Bodies;

/// Some input line was bad; the others were answered.
const BAD_LINE: u8 = 1;

/// The command could not do its work at all; the same status as for a bad argument.
const FAILED: u8 = 2;

fn main() -> ExitCode {
    let args = Args::parse();
    match run(&args) {
        Ok(status) => status,
        Err(error) if is_closed_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            // Nothing is left to tell when standard error is closed too.
            let _told = writeln!(io::stderr(), "planeward: {error:#}");
            ExitCode::from(FAILED)
        }
    }
}

/// Whether the reader of the output went away, as `head` does; that is no failure.
fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error
        .downcast_ref::<io::Error>()
        .is_some_and(|error| error.kind() == io::ErrorKind::BrokenPipe)
}

fn run(args: &Args) -> anyhow::Result<ExitCode> {
    let mut bodies = Bodies::new(args.bodies.clone());
    let mut output = io::BufWriter::new(io::stdout().lock());
    let mut status = ExitCode::SUCCESS;
    match &args.command {
        Command::Describe { tolerance_deg } => {
            let defaults = lines::Defaults {
                tolerance_deg: *tolerance_deg,
                body: None,
                loops: false,
            };
            if lines::answer_all(&defaults, &mut bodies, io::stdin().lock(), &mut output)? > 0 {
                status = ExitCode::from(BAD_LINE);
            }
        }
        Command::Section {
            body,
            tolerance_deg,
        } => {
            bodies.get(body)?;
            let defaults = lines::Defaults {
                tolerance_deg: *tolerance_deg,
                body: Some(body.clone()),
                loops: true,
            };
            if lines::answer_all(&defaults, &mut bodies, io::stdin().lock(), &mut output)? > 0 {
                status = ExitCode::from(BAD_LINE);
            }
        }
        Command::Bodies => listing::bodies(&mut bodies, &mut output)?,
        Command::Windows { body } => listing::windows(bodies.get(body)?, &mut output)?,
        Command::Export {
            body,
            structure,
            format,
            out,
        } => {
            let meshes = export::chosen(bodies.get(body)?, structure.as_deref())?;
            let bytes = export::encode(*format, &meshes)?;
            std::fs::write(out, bytes)
                .with_context(|| format!("cannot write {}", out.display()))?;
        }
    }
    output.flush()?;
    Ok(status)
}
