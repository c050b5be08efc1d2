//! Where things are, and how other programs are started.

use anyhow::{Context as _, Result, bail};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The repository root: two folders above this crate.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_path_buf()
}

/// The folder of baked bodies, ignored by git.
pub(crate) fn bake_dir() -> PathBuf {
    root().join(".bake")
}

/// The folder a static host is given.
pub(crate) fn dist_dir() -> PathBuf {
    root().join("dist")
}

/// Cargo's output folder, with `CARGO_TARGET_DIR` respected.
pub(crate) fn target_dir() -> PathBuf {
    match std::env::var_os("CARGO_TARGET_DIR") {
        Some(dir) => root().join(dir),
        None => root().join("target"),
    }
}

/// The cargo that started this program, run from the repository root.
///
/// Flags from the surroundings are removed: they would rebuild everything and could leak into the
/// shipped page.
pub(crate) fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command
        .current_dir(root())
        .env_remove("RUSTFLAGS")
        .env_remove("CARGO_ENCODED_RUSTFLAGS");
    command
}

/// Runs a program to its end and fails when it fails.
///
/// # Errors
///
/// When the program cannot be started, or ends with a code other than 0.
pub(crate) fn run(command: &mut Command) -> Result<()> {
    let shown = show(command);
    let status = command
        .status()
        .with_context(|| format!("could not start {shown}"))?;
    if !status.success() {
        bail!("{shown} failed ({status})");
    }
    Ok(())
}

/// Runs a program silently and returns what it printed, or nothing when it is absent or fails.
pub(crate) fn output(command: &mut Command) -> Option<String> {
    let output = command
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .output()
        .ok()?;
    output
        .status
        .success()
        .then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

/// The program's name and its arguments, for a message.
fn show(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let name = program.file_name().unwrap_or(OsStr::new("program"));
    let mut text = name.to_string_lossy().into_owned();
    for arg in command.get_args().take(8) {
        text.push(' ');
        text.push_str(&arg.to_string_lossy());
    }
    text
}

/// Whether an option without a value was given.
pub(crate) fn flag(args: &[String], name: &str) -> bool {
    args.iter().any(|arg| arg == name)
}

/// The value of `--name VALUE` or `--name=VALUE`.
///
/// # Errors
///
/// When the option stands last, without its value.
pub(crate) fn value<'a>(args: &'a [String], name: &str) -> Result<Option<&'a str>> {
    for (i, arg) in args.iter().enumerate() {
        if arg == name {
            let value = args
                .get(i + 1)
                .with_context(|| format!("{name} needs a value"))?;
            return Ok(Some(value));
        }
        if let Some(value) = arg
            .strip_prefix(name)
            .and_then(|rest| rest.strip_prefix('='))
        {
            return Ok(Some(value));
        }
    }
    Ok(None)
}

/// Refuses every argument that is neither a known flag nor a known option with its value.
///
/// # Errors
///
/// Names the first unknown argument.
pub(crate) fn only(args: &[String], flags: &[&str], values: &[&str]) -> Result<()> {
    let mut args = args.iter();
    while let Some(arg) = args.next() {
        let name = arg.split('=').next().unwrap_or(arg);
        if flags.contains(&arg.as_str()) {
            continue;
        }
        if !values.contains(&name) {
            bail!("unknown argument {arg:?}; `cargo xtask --help` lists them");
        }
        if arg == name {
            args.next();
        }
    }
    Ok(())
}

/// All files below `dir`, sorted, without the folders that hold only generated files.
///
/// # Errors
///
/// When a folder cannot be read.
pub(crate) fn files_below(dir: &Path) -> Result<Vec<PathBuf>> {
    const GENERATED: [&str; 9] = [
        ".bake",
        ".git",
        ".pytest_cache",
        ".venv",
        "__pycache__",
        "dist",
        "node_modules",
        "shots",
        "target",
    ];
    let mut found = Vec::new();
    let mut open = vec![dir.to_path_buf()];
    while let Some(dir) = open.pop() {
        let entries =
            std::fs::read_dir(&dir).with_context(|| format!("cannot read {}", dir.display()))?;
        for entry in entries {
            let path = entry?.path();
            let name = path
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned();
            if path.is_dir() {
                if !GENERATED.contains(&name.as_str()) {
                    open.push(path);
                }
            } else {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<String> {
        text.split_whitespace().map(str::to_owned).collect()
    }

    #[test]
    fn check_arguments() {
        let args = words("--dev --port 81 --under=/a/b");
        assert!(flag(&args, "--dev"), "a flag that was given is seen");
        assert!(
            !flag(&args, "--no-open"),
            "a flag that was not given is not"
        );
        assert_eq!(value(&args, "--port").unwrap(), Some("81"));
        assert_eq!(value(&args, "--under").unwrap(), Some("/a/b"));
        assert_eq!(value(&args, "--only").unwrap(), None);
        assert!(
            value(&words("--port"), "--port").is_err(),
            "a missing value is an error"
        );
        assert!(
            only(&args, &["--dev"], &["--port", "--under"]).is_ok(),
            "all known"
        );
        assert!(
            only(&args, &["--dev"], &["--port"]).is_err(),
            "--under is unknown here"
        );
    }
}
