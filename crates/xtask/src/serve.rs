//! `cargo xtask serve`: build, serve on this machine only, open a browser where there is one.

use crate::build::Mode;
use crate::http::Site;
use crate::{build, workspace};
use anyhow::{Context as _, Result};
use std::io::{IsTerminal as _, Write as _};
use std::net::{Ipv4Addr, TcpListener};
use std::process::{Command, Stdio};

/// Where the page is looked for when no port was named; any free port where it is taken.
const USUAL_PORT: u16 = 8321;

pub(crate) fn command(args: &[String]) -> Result<()> {
    let flags = ["--dev", "--no-open", "--no-build"];
    workspace::only(args, &flags, &["--port", "--under", "--dist"])?;
    let port = match workspace::value(args, "--port")? {
        Some(text) => Some(
            text.parse::<u16>()
                .with_context(|| format!("{text:?} is no port"))?,
        ),
        None => None,
    };
    if !workspace::flag(args, "--no-build") {
        build::build(Mode::from_args(args))?;
    }
    let dist = workspace::value(args, "--dist")?.map_or_else(workspace::dist_dir, Into::into);
    let site = Site::new(&dist, workspace::value(args, "--under")?.unwrap_or("/"))?;
    let listener = listen(port)?;
    let address = format!("http://{}{}", listener.local_addr()?, site.start());
    println!("Planeward is at {address}");
    println!("Ctrl+C ends it.");
    std::io::stdout().flush()?;
    if !workspace::flag(args, "--no-open") && someone_is_there() {
        open(&address);
    }
    site.serve(&listener);
    Ok(())
}

fn listen(port: Option<u16>) -> Result<TcpListener> {
    let at = |port| TcpListener::bind((Ipv4Addr::LOCALHOST, port));
    match port {
        Some(port) => at(port).with_context(|| format!("port {port} cannot be used")),
        None => at(USUAL_PORT)
            .or_else(|_| at(0))
            .context("no port can be used"),
    }
}

/// No window is opened for a script, a build machine or a remote shell.
fn someone_is_there() -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    let screen =
        !cfg!(all(unix, not(target_os = "macos"))) || set("DISPLAY") || set("WAYLAND_DISPLAY");
    screen && !set("CI") && std::io::stdout().is_terminal()
}

/// Asks the desktop to show the page. The address is printed anyway, so a failure needs no word.
fn open(address: &str) {
    let (program, first): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    let started = Command::new(program)
        .args(first)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    drop(started);
}
