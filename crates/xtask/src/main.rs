//! The build system of Planeward: `cargo xtask <command>`.
//!
//! Every command is one file of this crate and the dispatcher below is the whole argument parser.
//! The crate carries no rule of anatomy or naming; it starts `cargo`, Python and a browser, packs the
//! page into `dist/` and serves it as a static host would.

#![expect(
    clippy::print_stdout,
    reason = "a build command speaks to the person who started it"
)]

mod bake;
mod bench;
mod budget;
mod build;
mod chromium;
mod compress;
mod dist;
mod golden;
mod http;
mod icon;
mod node;
mod offline;
mod python;
mod serve;
mod single;
mod test;
mod tidy;
mod validator;
mod workspace;

use anyhow::{Result, bail};
use std::process::ExitCode;

const HELP: &str = "\
cargo xtask <command>

  serve [--port N] [--dev] [--no-open] [--no-build] [--under PATH]
          build the page, serve it on this machine only and open a browser
          --port 0 takes any free port; --under serves it from a sub-path
  test [--only STEP]
          everything CI runs; --only takes one of the steps it names
  build [--dev]
          leave the page in dist/, ready for any static host
  single [--dev]
          build the page, and beside it one HTML file that opens from a disk
  bake    turn models/*.toml into the body files in .bake/
  bench [--frames]
          measure section and picture times and the size of the download
          --frames measures pictures in animation frames alone, beside plain JavaScript
  tidy    check the layers, the texts and Cargo.lock
";

fn main() -> ExitCode {
    match run(std::env::args().skip(1).collect()) {
        Ok(code) => code,
        Err(error) => {
            println!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run(mut args: Vec<String>) -> Result<ExitCode> {
    if args.is_empty() || args.iter().any(|arg| arg == "--help" || arg == "-h") {
        println!("{HELP}");
        return Ok(ExitCode::SUCCESS);
    }
    let command = args.remove(0);
    match command.as_str() {
        "bake" => bake::command(&args),
        "bench" => bench::command(&args),
        "build" => build::command(&args),
        "single" => single::command(&args),
        "serve" => serve::command(&args),
        "step" => test::step(&args),
        // Its last line is the count of steps, so it tells of a failure itself.
        "test" => return test::command(&args),
        "tidy" => tidy::command(&args),
        other => bail!("there is no command {other:?}; `cargo xtask --help` lists them"),
    }?;
    Ok(ExitCode::SUCCESS)
}
