//! `cargo xtask test`: everything the build machine runs, in order, up to the first failure.
//!
//! The order puts what fails most and costs least first. Profiles, targets and feature sets are
//! chosen so that cargo compiles each dependency as few times as it can: the `planeward` command
//! for the outside checks is the one the Rust tests were linked with.
//!
//! Two steps need nothing of their neighbours and long leave a core idle: the virtual environment waits for
//! the network, the page for its link-time optimisation. They start once the bodies are baked, beside the
//! other steps, and are waited for at their place in the list.

use crate::build::Mode;
use crate::{
    bake, build, chromium, dist, golden, node, python, single, tidy, validator, workspace,
};
use anyhow::{Context as _, Result, bail};
use std::fs::File;
use std::path::PathBuf;
use std::process::{Child, Command, ExitCode, Stdio};
use std::time::Instant;

/// The property tests of a commit give one result: their cases come from this seed. Other cases are tried by
/// `PROPTEST_RNG_SEED=N cargo xtask test --only rust`, and by plain `cargo test`, which draws a fresh seed.
const PROPERTY_SEED: &str = "20261125";

struct Step {
    name: &'static str,
    heading: &'static str,
    run: fn() -> Result<()>,
}

/// The steps that run beside the others, and the step after which they start.
const BESIDE: [&str; 2] = ["python", "page"];
const BESIDE_FROM: &str = "bake";

const STEPS: [Step; 14] = [
    Step {
        name: "fmt",
        heading: "Formatting",
        run: fmt,
    },
    Step {
        name: "tidy",
        heading: "Layers and texts",
        run: tidy::tidy,
    },
    Step {
        name: "clippy",
        heading: "Lints",
        run: clippy,
    },
    Step {
        name: "clippy-wasm",
        heading: "Lints of the page",
        run: clippy_wasm,
    },
    Step {
        name: "doc",
        heading: "Documentation",
        run: doc,
    },
    Step {
        name: "bake",
        heading: "Bodies",
        run: bake::bake,
    },
    Step {
        name: "rust",
        heading: "Rust tests",
        run: rust,
    },
    Step {
        name: "doctest",
        heading: "Examples in the documentation",
        run: doctest,
    },
    Step {
        name: "python",
        heading: "Virtual environment",
        run: python::ensure_venv,
    },
    Step {
        name: "reference",
        heading: "Checks against outside references",
        run: reference,
    },
    Step {
        name: "packages",
        heading: "Course packages in course systems",
        run: packages,
    },
    Step {
        name: "golden",
        heading: "Golden pictures in Chromium",
        run: golden::check,
    },
    Step {
        name: "page",
        heading: "Page",
        run: page,
    },
    Step {
        name: "browser",
        heading: "Browser tests",
        run: browser,
    },
];

pub(crate) fn command(args: &[String]) -> Result<ExitCode> {
    workspace::only(args, &[], &["--only"])?;
    let only = workspace::value(args, "--only")?;
    let steps: Vec<&Step> = STEPS
        .iter()
        .filter(|step| only.is_none_or(|name| name == step.name))
        .collect();
    if steps.is_empty() {
        let names: Vec<&str> = STEPS.iter().map(|step| step.name).collect();
        bail!("there is no such step; the steps are {}", names.join(", "));
    }
    let begin = Instant::now();
    let mut times = Vec::new();
    let mut beside: Vec<Beside> = Vec::new();
    for step in &steps {
        println!("\n== {} ({})", step.heading, step.name);
        let start = Instant::now();
        let result = match beside.iter_mut().find(|other| other.name == step.name) {
            Some(other) => other.wait(),
            None => (step.run)(),
        };
        let seconds = start.elapsed().as_secs_f64();
        times.push((step.name, seconds));
        if let Err(error) = result {
            println!("\nerror: {error:#}");
            summary(&times);
            let left = steps.len() - times.len();
            println!(
                "Stopped at {}; {left} steps were not run. Again: cargo xtask test --only {}",
                step.name, step.name
            );
            println!("{} passed, 1 failed", times.len() - 1);
            return Ok(ExitCode::FAILURE);
        }
        println!("-- {} passed in {seconds:.1} s", step.name);
        if step.name == BESIDE_FROM && only.is_none() {
            for name in BESIDE {
                beside.push(Beside::start(name)?);
            }
        }
    }
    summary(&times);
    println!("All in {:.0} s.", begin.elapsed().as_secs_f64());
    println!("{} passed, 0 failed", steps.len());
    Ok(ExitCode::SUCCESS)
}

/// `cargo xtask step NAME`: one step without heading and summary, for the steps that run beside others.
pub(crate) fn step(args: &[String]) -> Result<()> {
    let [name] = args else {
        bail!("one step is needed");
    };
    let Some(step) = STEPS.iter().find(|step| step.name == name) else {
        bail!("there is no step {name:?}");
    };
    let start = Instant::now();
    (step.run)()?;
    println!(
        "The step took {:.1} s beside the others; below is how long they waited for it.",
        start.elapsed().as_secs_f64()
    );
    Ok(())
}

/// A step in a process of its own; what it says is kept in a file until its turn comes.
struct Beside {
    name: &'static str,
    child: Child,
    said: PathBuf,
}

impl Beside {
    fn start(name: &'static str) -> Result<Self> {
        let said = workspace::target_dir().join(format!("step-{name}.log"));
        let file =
            File::create(&said).with_context(|| format!("cannot write {}", said.display()))?;
        let child = Command::new(std::env::current_exe()?)
            .args(["step", name])
            .stdin(Stdio::null())
            .stdout(file.try_clone()?)
            .stderr(file)
            .spawn()
            .with_context(|| format!("cannot start the step {name}"))?;
        println!("The step {name} runs beside the next ones.");
        Ok(Self { name, child, said })
    }

    fn wait(&mut self) -> Result<()> {
        let status = self.child.wait()?;
        print!("{}", String::from_utf8_lossy(&std::fs::read(&self.said)?));
        if !status.success() {
            bail!("the step {} failed ({status})", self.name);
        }
        Ok(())
    }
}

impl Drop for Beside {
    /// After a failure elsewhere nobody waits any more. A step that has ended is not hurt by this.
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

fn summary(times: &[(&str, f64)]) {
    println!("\n== Summary");
    for (name, seconds) in times {
        println!("  {name:<14}{seconds:>8.1} s");
    }
}

fn fmt() -> Result<()> {
    // Names the files only: `cargo fmt --all` puts them right.
    workspace::run(workspace::cargo().args(["fmt", "--all", "--", "--check", "-l"]))
}

/// The page's own crate is compiled for its real target in the next step only: natively it would
/// cost a second compilation of its whole framework and show nothing more.
fn clippy() -> Result<()> {
    workspace::run(
        workspace::cargo()
            .args([
                "clippy",
                "--locked",
                "--workspace",
                "--exclude",
                "web",
                "--all-targets",
            ])
            .args(["--", "-D", "warnings"]),
    )
}

/// In the profile of the page, so that its many procedural macros, which run on this machine, are compiled once
/// for the lints and the page together.
fn clippy_wasm() -> Result<()> {
    build::ensure_target(build::TARGET)?;
    workspace::run(
        workspace::cargo()
            .args(["clippy", "--locked", "--package", "web", "--package", "gl"])
            .args(["--profile", Mode::Release.profile()])
            .args(["--target", build::TARGET, "--", "-D", "warnings"]),
    )
}

/// Broken links between items are found by rustdoc alone. Doc comments of the command's arguments
/// are its help text too, where `<id>` is no mark-up.
fn doc() -> Result<()> {
    workspace::run(
        workspace::cargo()
            .env("RUSTDOCFLAGS", "-D warnings -A rustdoc::invalid_html_tags")
            .args([
                "doc",
                "--quiet",
                "--locked",
                "--workspace",
                "--exclude",
                "web",
            ])
            .args(["--no-deps", "--document-private-items"]),
    )
}

/// The crates that are compiled together for tests, examples and the command, so that cargo settles
/// on one set of features for all three.
///
/// `web` holds no tests (`tidy` sees to it). This tool is already compiled, with its own features;
/// together with the rest its large libraries would be compiled a second time.
const TOGETHER: [&str; 6] = [
    "--locked",
    "--workspace",
    "--exclude",
    "web",
    "--exclude",
    "xtask",
];

fn rust() -> Result<()> {
    let nextest = workspace::output(workspace::cargo().args(["nextest", "--version"])).is_some();
    let runner: &[&str] = if nextest {
        &[
            "nextest",
            "run",
            "--lib",
            "--bins",
            "--tests",
            "--no-tests=fail",
            "--status-level=fail",
            "--final-status-level=slow",
        ]
    } else {
        &["test", "--quiet", "--lib", "--bins", "--tests"]
    };
    let seed = std::env::var("PROPTEST_RNG_SEED").unwrap_or_else(|_| PROPERTY_SEED.to_owned());
    println!("Property tests draw their cases from seed {seed}.");
    workspace::run(
        workspace::cargo()
            .env("PROPTEST_RNG_SEED", seed)
            .args(runner)
            .args(TOGETHER),
    )?;
    workspace::run(workspace::cargo().args(["test", "--quiet", "--locked", "--package", "xtask"]))
}

fn doctest() -> Result<()> {
    workspace::run(
        workspace::cargo()
            .args(["test", "--quiet", "--doc"])
            .args(TOGETHER),
    )
}

/// Builds the command with the features the tests were built with.
fn planeward() -> Result<PathBuf> {
    workspace::run(
        workspace::cargo()
            .args(["build", "--bin", "planeward"])
            .args(TOGETHER),
    )?;
    let name = format!("planeward{}", std::env::consts::EXE_SUFFIX);
    Ok(workspace::target_dir().join("debug").join(name))
}

fn reference() -> Result<()> {
    bake::bake()?;
    let planeward = planeward()?;
    python::ensure_venv()?;
    validator::ensure()?;
    python::pytest(
        "tests/reference",
        &[],
        &[
            ("PLANEWARD_BIN", &planeward),
            ("PLANEWARD_BODIES", &workspace::bake_dir()),
        ],
    )
}

fn packages() -> Result<()> {
    bake::bake()?;
    let planeward = planeward()?;
    python::ensure_venv()?;
    let chromium = chromium::ensure()?;
    let (node, modules) = node::ensure()?;
    python::pytest(
        "tests/packages",
        &[],
        &[
            ("PLANEWARD_BIN", &planeward),
            ("PLANEWARD_BODIES", &workspace::bake_dir()),
            ("PLANEWARD_CHROMIUM", &chromium),
            ("PLANEWARD_NODE", &node),
            ("PLANEWARD_NODE_MODULES", &modules),
        ],
    )
}

fn page() -> Result<()> {
    build::build(Mode::Release)?;
    single::write(Mode::Release)?;
    dist::within_budget(&dist::sizes()?)
}

fn browser() -> Result<()> {
    python::ensure_venv()?;
    // Saved pictures are checked here, too.
    validator::ensure()?;
    let chromium = chromium::ensure()?;
    let version = workspace::output(Command::new(&chromium).arg("--version")).unwrap_or_default();
    println!("{version} at {}", chromium.display());
    let planeward = planeward()?;
    // The browser draws without a graphics card and beside another one, so that a step can take longer than a test waits.
    // What fails is run once more, and the summary names it.
    python::pytest(
        "tests/browser",
        &["--reruns=1", "-rR"],
        &[
            ("PLANEWARD_BIN", &planeward),
            ("PLANEWARD_BODIES", &workspace::bake_dir()),
            ("PLANEWARD_CHROMIUM", &chromium),
            ("PLANEWARD_DIST", &workspace::dist_dir()),
        ],
    )
}
