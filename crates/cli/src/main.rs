//! The `planeward` command: what the page says about a probe pose, for scripts, checks and teachers.
//!
//! JSON lines in on standard input, JSON lines out; `planeward --help` and the help of each
//! sub-command say what the lines hold.

mod answer;
mod args;
mod bodies;
mod dicom;
mod export;
mod lines;
mod listing;
mod number;
mod questions;
mod request;
mod resolve;
mod sets;
mod still;

use std::io::{self, Write};
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use clap::Parser as _;

use crate::args::{Args, Command};
use crate::bodies::Bodies;

/// Some input line or file was bad; the others were answered.
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
        Command::Questions {
            seed,
            count,
            kind,
            level,
            body,
            tolerance_deg,
        } => {
            let wanted = questions::Wanted {
                seed: *seed,
                count: *count,
                kind: *kind,
                level: *level,
                body: body.as_deref(),
                tolerance_deg: *tolerance_deg,
            };
            questions::print(&wanted, &mut bodies, &mut output)?;
        }
        Command::Dicom {
            time,
            annotation,
            structure,
            examination,
            number,
            picture,
            out,
        } => {
            let wanted = dicom::Wanted {
                at: *time,
                annotation,
                structure: structure.as_deref(),
                seed: *examination,
                number: *number,
                shading: *picture,
            };
            let line = io::read_to_string(io::stdin())?;
            dicom::save(&line, &wanted, &mut bodies, out, &mut output)?;
        }
        Command::Check {
            paths,
            strict,
            form_only,
        } => {
            if sets::check(paths, *strict, !form_only, &mut bodies, &mut output)? > 0 {
                status = ExitCode::from(BAD_LINE);
            }
        }
        Command::Share {
            set,
            base,
            wishes,
            height,
        } => {
            let sharing = sets::Sharing {
                base,
                wishes,
                height_px: *height,
            };
            if sets::share(set, &sharing, &mut output)? {
                status = ExitCode::from(BAD_LINE);
            }
        }
        Command::Pack {
            paths,
            standard,
            page,
            time,
            out,
        } => {
            let page = page.as_deref();
            if sets::pack(paths, *standard, page, *time, out, &mut bodies, &mut output)? > 0 {
                status = ExitCode::from(BAD_LINE);
            }
        }
        Command::Results {
            paths,
            json,
            items_csv,
            rows_csv,
            semicolon,
        } => {
            let merging = sets::Merging {
                json: *json,
                items_csv: items_csv.as_deref(),
                rows_csv: rows_csv.as_deref(),
                semicolon: *semicolon,
            };
            let (left, any) = sets::results(paths, &merging, &mut output)?;
            if !any {
                output.flush()?;
                bail!("none of the files counts");
            }
            if left > 0 {
                status = ExitCode::from(BAD_LINE);
            }
        }
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
