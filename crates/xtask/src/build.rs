//! `cargo xtask build`: the page, ready for any static host, in `dist/`.

use crate::{bake, dist, workspace};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;
use wasm_bindgen_cli_support::Bindgen;

pub(crate) const TARGET: &str = "wasm32-unknown-unknown";

/// The name is part of the program's bytes (it names the module it imports from), so it stays
/// fixed; only the files in `dist/` carry a hash.
const NAME: &str = "planeward";

/// What the compiler is told for WebAssembly: which instructions beyond its default the page may use, and that views are
/// built from values of one type. Leptos otherwise makes code of its own for every tree of views, a twentieth of the
/// download.
const FLAGS: [&str; 2] = ["-Ctarget-feature=+simd128", "--cfg=erase_components"];

/// The two files `wasm-bindgen` makes of the compiled crate.
pub(crate) struct Program {
    pub(crate) js: Vec<u8>,
    pub(crate) wasm: Vec<u8>,
}

/// How the program is loaded.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Loader {
    /// As a module of its own, as on a host.
    Module,
    /// As a script in a page.
    Classic,
}

/// How the page is compiled.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mode {
    /// Small and fast to run, as it is shipped.
    Release,
    /// Fast to compile; nobody looks at its size.
    Dev,
}

impl Mode {
    pub(crate) fn from_args(args: &[String]) -> Self {
        if workspace::flag(args, "--dev") {
            Self::Dev
        } else {
            Self::Release
        }
    }

    pub(crate) const fn profile(self) -> &'static str {
        match self {
            Self::Release => "wasm-release",
            Self::Dev => "wasm-dev",
        }
    }
}

pub(crate) fn command(args: &[String]) -> Result<()> {
    workspace::only(args, &["--dev"], &[])?;
    let mode = Mode::from_args(args);
    build(mode)?;
    match mode {
        Mode::Release => dist::within_budget(&dist::sizes()?),
        Mode::Dev => Ok(()),
    }
}

/// Everything from the sources to `dist/`.
///
/// # Errors
///
/// When a tool is missing or the crate does not compile. The budget is the caller's to hold: a page
/// that grew too large may still be looked at.
pub(crate) fn build(mode: Mode) -> Result<()> {
    bake::bake()?;
    println!("Compiling the page ({}) …", mode.profile());
    let start = Instant::now();
    let compiled = compile(mode)?;
    let program = bind(&compiled, Loader::Module)?;
    no_private_path(&program)?;
    println!("Compiled in {:.0} s.", start.elapsed().as_secs_f64());
    dist::write(&program, mode)
}

/// The program as a classic script that leaves `wasm_bindgen` behind, for pages that may load no module. The crate is
/// compiled already.
///
/// # Errors
///
/// When the crate does not compile.
pub(crate) fn classic(mode: Mode) -> Result<Program> {
    let program = bind(&compile(mode)?, Loader::Classic)?;
    no_private_path(&program)?;
    Ok(program)
}

/// Adds a target to the compiler in use, where it is missing.
///
/// # Errors
///
/// Says what to install when there is no `rustup`.
pub(crate) fn ensure_target(target: &str) -> Result<()> {
    // The library folder of the target is the compiler's own answer; `rustup` may be absent on a
    // machine whose distribution brought the target.
    let libdir = workspace::output(Command::new("rustc").current_dir(workspace::root()).args([
        "--print",
        "target-libdir",
        "--target",
        target,
    ]));
    if libdir.is_some_and(|dir| Path::new(&dir).is_dir()) {
        return Ok(());
    }
    println!("Adding the compiler target {target} …");
    let added = Command::new("rustup")
        .current_dir(workspace::root())
        .args(["target", "add", target])
        .status();
    match added {
        Ok(status) if status.success() => Ok(()),
        Ok(_) => bail!(
            "`rustup target add {target}` failed; the program cannot be compiled without this target"
        ),
        Err(_) => bail!(
            "the compiler has no target {target} and there is no rustup to add it: \
             install Rust from https://rustup.rs and start again"
        ),
    }
}

/// Runs cargo and returns the compiled module.
fn compile(mode: Mode) -> Result<PathBuf> {
    ensure_target(TARGET)?;
    let remapped: Vec<String> = remapped_prefixes()?
        .into_iter()
        .map(|(from, to)| format!("--remap-path-prefix={}={to}", from.display()))
        .collect();
    workspace::run(
        workspace::cargo()
            .args(["build", "--locked", "--package", "web", "--target", TARGET])
            .args(["--profile", mode.profile()])
            .args(["--config", &flags(TARGET, &remapped)]),
    )?;
    Ok(workspace::target_dir()
        .join(TARGET)
        .join(mode.profile())
        .join("web.wasm"))
}

/// The setting that gives cargo the compiler flags of the page and `more` for a target.
pub(crate) fn flags(target: &str, more: &[String]) -> String {
    let flags: Vec<String> = FLAGS
        .iter()
        .map(|flag| (*flag).to_owned())
        .chain(more.iter().cloned())
        .map(|flag| format!("\"{flag}\""))
        .collect();
    format!("target.{target}.rustflags=[{}]", flags.join(","))
}

/// Folders of this machine whose names must not be in the program, and what stands for them.
fn remapped_prefixes() -> Result<[(PathBuf, &'static str); 2]> {
    let cargo_home = match std::env::var_os("CARGO_HOME") {
        Some(dir) => PathBuf::from(dir),
        None => std::env::home_dir()
            .context("there is neither CARGO_HOME nor a home folder")?
            .join(".cargo"),
    };
    Ok([(cargo_home, "/cargo"), (workspace::root(), "/planeward")])
}

/// Makes the JavaScript beside the module.
///
/// The library's defaults differ from the command line tool's: the default module path is left
/// out, so `init` must be given `{ module_or_path }`, which hashed names need anyway.
fn bind(compiled: &Path, loader: Loader) -> Result<Program> {
    let mut bindgen = Bindgen::new();
    bindgen
        .input_path(compiled)
        .out_name(NAME)
        .typescript(false)
        .remove_name_section(true)
        .remove_producers_section(true)
        // A panic must stop the page: without this the instance goes on with broken state.
        .force_enable_abort_handler(true);
    match loader {
        Loader::Module => bindgen.web(true)?,
        Loader::Classic => bindgen.no_modules(true)?,
    };
    let mut output = bindgen.generate_output().context("wasm-bindgen failed")?;
    let inline = output.snippets().values().any(|list| !list.is_empty());
    if inline || !output.local_modules().is_empty() {
        bail!("a crate brings JavaScript of its own; the page is packed without such files");
    }
    Ok(Program {
        js: output.js().as_bytes().to_vec(),
        wasm: output.wasm_mut().emit_wasm(),
    })
}

/// Nothing of the builder's machine ships.
fn no_private_path(program: &Program) -> Result<()> {
    let mut private: Vec<PathBuf> = remapped_prefixes()?
        .into_iter()
        .map(|(path, _)| path)
        .collect();
    private.extend(std::env::home_dir());
    for path in private {
        let text = path.to_string_lossy().into_owned();
        // A home folder such as `/` says nothing.
        if text.len() < 4 {
            continue;
        }
        for (file, bytes) in [("wasm", &program.wasm), ("js", &program.js)] {
            if contains(bytes, text.as_bytes()) {
                bail!("the {file} file holds the path {text}: it would ship a private path");
            }
        }
    }
    Ok(())
}

fn contains(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_private_paths_are_found() {
        let clean = Program {
            js: b"let a;".to_vec(),
            wasm: b"\0asm/cargo/registry".to_vec(),
        };
        assert!(
            no_private_path(&clean).is_ok(),
            "the stand-ins are no private path"
        );
        let root = workspace::root().join("web/src/lib.rs");
        let leaky = Program {
            js: Vec::new(),
            wasm: root.to_string_lossy().as_bytes().to_vec(),
        };
        assert!(
            no_private_path(&leaky).is_err(),
            "a source path of this machine is found"
        );
    }
}
