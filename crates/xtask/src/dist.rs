//! What stands in `dist/`: hashed files, the pages that name them, compressed copies.
//!
//! The page's sources are the files of `web/` beside its Rust sources. Every file gets a name with
//! a hash of its content, so that a host may keep it for ever and an old page never meets a new
//! program; only the HTML pages, the service worker and
//! what programs ask for by name keep their names. Text files name the others by
//! placeholders:
//!
//! - `{{planeward.js}}`, `{{planeward.wasm}}`: the program;
//! - `{{styles/page.css}}`: any other file of `web/`, by its path there;
//! - `{{vocabulary.json}}`: the annotation vocabulary;
//! - `{{icon.svg}}`, `{{icon-192.png}}` …: the icon, see [`crate::icon`];
//! - `{{version}}`, in pages and the service worker: the version of all files; `{{offline}}`: their
//!   list, see [`crate::offline`];
//! - `{{bodies}}`: the list of bodies as JSON, `{{bodies.json}}`: the file that holds it;
//! - `{{policy}}`: the Content-Security-Policy for a `<meta>` element, for hosts that send none; `{{policy-cmi5}}`: the
//!   one of the start page of cmi5 packages;
//! - `{{parts/head.html | …}}`: what pages share, see [`parts`].
//!
//! `schemas/` holds the JSON Schemas of the project's own formats, `files.json` the names of all files, from which the page
//! makes course packages.
//!
//! All addresses are relative to the top of `dist/`, so the folder works under any sub-path.

mod parts;

use crate::build::{Mode, Program};
use crate::{budget, compress, http, icon, offline, workspace};
use anyhow::{Context as _, Result, bail};
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Mutex;

/// Files that other pages and programs name, and so keep their names as the HTML pages do.
const KEPT_NAMES: [&str; 3] = ["robots.txt", "favicon.ico", "planeward-view.js"];
/// Folder of the schemas; formats are known by the names of theirs.
const SCHEMAS: &str = "schemas/";
/// Name of the vocabulary among the page's sources.
const VOCABULARY: &str = "vocabulary.json";

/// File name in `dist/` (with `/`) → content.
type Files = BTreeMap<String, Vec<u8>>;

/// Packs everything in memory, writes it in one go and prints the sizes.
///
/// # Errors
///
/// When a file cannot be read or written, or a placeholder names nothing.
pub(crate) fn write(program: &Program, mode: Mode) -> Result<()> {
    let mut web = parts::joined(&sources(&workspace::root().join("web"))?)?;
    web.insert(VOCABULARY.to_owned(), vocabulary()?);
    let bodies = sources(&workspace::bake_dir())?;
    for (name, bytes) in sources(&workspace::root().join("crates/course/schemas"))? {
        web.insert(format!("{SCHEMAS}{name}"), bytes);
    }
    let files = pack(program, &web, &bodies)?;

    let dir = workspace::dist_dir();
    if dir.exists() {
        std::fs::remove_dir_all(&dir).with_context(|| format!("cannot empty {}", dir.display()))?;
    }
    for (name, bytes) in &files {
        let path = dir.join(name);
        let parent = path.parent().unwrap_or(&dir);
        std::fs::create_dir_all(parent)
            .with_context(|| format!("cannot make {}", parent.display()))?;
        std::fs::write(&path, bytes).with_context(|| format!("cannot write {}", path.display()))?;
    }
    let sizes = match mode {
        Mode::Release => write_copies(&files, &dir)?,
        Mode::Dev => Vec::new(),
    };
    println!("Wrote {}.", dir.display());
    if mode == Mode::Release {
        print!("{}", table(&sizes));
    }
    Ok(())
}

/// The annotation vocabulary as the page reads it: kept as TOML for people, shipped as JSON.
///
/// # Errors
///
/// When the file is missing or is no TOML.
fn vocabulary() -> Result<Vec<u8>> {
    let path = workspace::root().join("models/vocabulary.toml");
    let text = std::fs::read_to_string(&path)
        .with_context(|| format!("cannot read {}", path.display()))?;
    let table: toml::Table = toml::from_str(&text).with_context(|| path.display().to_string())?;
    Ok(serde_json::to_vec(&table)?)
}

/// Writes the compressed copies beside the files and returns the sizes, in the order of the names.
///
/// # Errors
///
/// When a copy cannot be written.
fn write_copies(files: &Files, dir: &Path) -> Result<Vec<Size>> {
    let copies = |name: &str, bytes: &[u8]| -> Result<Size> {
        let (gzip, brotli) = (compress::gzip(bytes)?, compress::brotli(bytes)?);
        for (ending, copy) in [("gz", &gzip), ("br", &brotli)] {
            if copy.len() < bytes.len() {
                let path = dir.join(format!("{name}.{ending}"));
                std::fs::write(&path, copy)
                    .with_context(|| format!("cannot write {}", path.display()))?;
            }
        }
        Ok(Size {
            name: name.to_owned(),
            raw: bytes.len(),
            gzip: gzip.len(),
            brotli: brotli.len(),
        })
    };
    // Brotli at its best takes ten seconds for a body, so every core takes the next file that waits.
    let waiting = Mutex::new(files.iter());
    let next = || waiting.lock().ok().and_then(|mut files| files.next());
    let work = || -> Result<Vec<Size>> {
        let mut sizes = Vec::new();
        while let Some((name, bytes)) = next() {
            sizes.push(copies(name, bytes)?);
        }
        Ok(sizes)
    };
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let mut sizes = Vec::new();
    std::thread::scope(|scope| -> Result<()> {
        let workers: Vec<_> = (0..cores).map(|_| scope.spawn(work)).collect();
        for worker in workers {
            let Ok(done) = worker.join() else {
                bail!("a compressing thread stopped");
            };
            sizes.extend(done?);
        }
        Ok(())
    })?;
    sizes.sort_by(|a: &Size, b: &Size| a.name.cmp(&b.name));
    Ok(sizes)
}

/// The sizes of the files in a finished `dist/`, from the copies beside them.
///
/// # Errors
///
/// When there is no such folder.
pub(crate) fn sizes() -> Result<Vec<Size>> {
    let files = sources(&workspace::dist_dir())?;
    let mut sizes = Vec::new();
    for (name, bytes) in &files {
        if name.ends_with(".gz") || name.ends_with(".br") {
            continue;
        }
        let copy = |ending: &str| {
            files
                .get(&format!("{name}.{ending}"))
                .map_or(bytes.len(), Vec::len)
        };
        sizes.push(Size {
            name: name.clone(),
            raw: bytes.len(),
            gzip: copy("gz"),
            brotli: copy("br"),
        });
    }
    Ok(sizes)
}

/// One file of the download, in bytes.
pub(crate) struct Size {
    name: String,
    raw: usize,
    gzip: usize,
    brotli: usize,
}

/// A table with a line per file and the sum of the program.
fn table(sizes: &[Size]) -> String {
    let kb = |bytes: usize| format!("{}.{} kB", bytes / 1000, bytes % 1000 / 100);
    let mut text = String::new();
    let mut line = |name: &str, raw: usize, gzip: usize, brotli: usize| {
        let _ = writeln!(
            text,
            "  {name:<48}{:>12}{:>12}{:>12}",
            kb(raw),
            kb(gzip),
            kb(brotli)
        );
    };
    for size in sizes {
        line(&size.name, size.raw, size.gzip, size.brotli);
    }
    let of = |pick: fn(&Size) -> usize| {
        sizes
            .iter()
            .filter(|size| size.is_program())
            .map(pick)
            .sum()
    };
    line(
        "program (wasm + js)",
        of(|size| size.raw),
        of(|size| size.gzip),
        of(|size| size.brotli),
    );
    format!(
        "  {:<48}{:>12}{:>12}{:>12}\n{text}",
        "file", "raw", "gzip", "brotli"
    )
}

impl Size {
    /// The drivers for course systems are loaded from course packages only.
    fn is_program(&self) -> bool {
        !self.name.starts_with("course/")
            && [".wasm", ".js"]
                .iter()
                .any(|ending| self.name.ends_with(ending))
    }
}

/// Holds the program and every body to the download budget.
///
/// # Errors
///
/// Names the first size that is over it.
pub(crate) fn within_budget(sizes: &[Size]) -> Result<()> {
    let program: usize = sizes
        .iter()
        .filter(|size| size.is_program())
        .map(|size| size.gzip)
        .sum();
    if program > budget::PROGRAM_GZIP_GOAL {
        println!(
            "The program takes {program} bytes after gzip; the goal is {}.",
            budget::PROGRAM_GZIP_GOAL
        );
    }
    if program > budget::PROGRAM_GZIP {
        bail!(
            "the program takes {program} bytes after gzip; the budget is {}",
            budget::PROGRAM_GZIP
        );
    }
    let mut bodies: BTreeMap<&str, usize> = BTreeMap::new();
    for size in sizes {
        if let Some((id, _)) = size
            .name
            .strip_prefix("bodies/")
            .and_then(|name| name.rsplit_once('-'))
        {
            *bodies.entry(id).or_default() += size.brotli;
        }
    }
    for (id, bytes) in bodies {
        if bytes > budget::BODY_BROTLI_GOAL {
            println!(
                "The body {id} takes {bytes} bytes after brotli; the goal is {}.",
                budget::BODY_BROTLI_GOAL
            );
        }
        if bytes > budget::BODY_BROTLI {
            bail!(
                "the body {id} takes {bytes} bytes after brotli; the budget is {}",
                budget::BODY_BROTLI
            );
        }
    }
    Ok(())
}

/// Reads a folder. The Rust sources of a crate are no part of the page.
fn sources(dir: &Path) -> Result<Files> {
    let mut files = Files::new();
    for path in workspace::files_below(dir)? {
        let below = path.strip_prefix(dir).unwrap_or(&path);
        let name = below.to_string_lossy().replace('\\', "/");
        if name == "Cargo.toml" || name.starts_with("src/") || name.starts_with("tests/") {
            continue;
        }
        let bytes =
            std::fs::read(&path).with_context(|| format!("cannot read {}", path.display()))?;
        files.insert(name, bytes);
    }
    Ok(files)
}

/// The content of `dist/` without the compressed copies.
fn pack(program: &Program, web: &Files, baked: &Files) -> Result<Files> {
    let mut out = Files::new();
    let mut names: BTreeMap<String, String> = BTreeMap::new();

    for (name, bytes) in [
        ("planeward.js", &program.js),
        ("planeward.wasm", &program.wasm),
    ] {
        let hashed = hashed(name, bytes);
        names.insert(name.to_owned(), hashed.clone());
        out.insert(hashed, bytes.clone());
    }

    let bodies = pack_bodies(baked, &mut out)?;
    out.insert("bodies.json".to_owned(), bodies.clone().into_bytes());
    names.insert("bodies.json".to_owned(), "bodies.json".to_owned());
    names.insert("bodies".to_owned(), bodies);
    names.insert("policy".to_owned(), http::page_policy());
    names.insert("policy-cmi5".to_owned(), http::record_store_policy());

    let mut icons = vec![("icon.svg".to_owned(), icon::svg().into_bytes())];
    for size in icon::SIZES {
        icons.push((format!("icon-{size}.png"), icon::png(size)?));
    }
    for (name, bytes) in icons {
        let target = hashed(&name, &bytes);
        names.insert(name, target.clone());
        out.insert(target, bytes);
    }

    // Pictures and styles name nothing; scripts name those and the program; pages name all; the service worker names
    // the pages, too.
    let rank = |name: &str| match name.rsplit('.').next() {
        _ if name == offline::WORKER => 3,
        Some("html") => 2,
        Some("js" | "json" | "webmanifest") => 1,
        _ => 0,
    };
    for pass in 0..=3 {
        if pass == 2 {
            let sources = web.iter().filter(|(name, _)| rank(name) >= pass);
            let files = out.iter().chain(sources);
            let version =
                offline::version(files.map(|(name, bytes)| (name.as_str(), bytes.as_slice())));
            names.insert("version".to_owned(), version);
        }
        if pass == 3 {
            let mut list: Vec<&str> = out.keys().map(String::as_str).collect();
            if web.contains_key(offline::WORKER) {
                list.push(offline::WORKER);
            }
            let list = serde_json::to_vec(&list)?;
            out.insert("files.json".to_owned(), list);
            names.insert("offline".to_owned(), offline::list(&out, &names["version"]));
        }
        for (name, bytes) in web.iter().filter(|(name, _)| rank(name) == pass) {
            let bytes = if pass == 0 {
                bytes.clone()
            } else {
                fill(name, bytes, &names)?
            };
            let keeps_name =
                pass >= 2 || name.starts_with(SCHEMAS) || KEPT_NAMES.contains(&name.as_str());
            let target = if keeps_name {
                name.clone()
            } else {
                hashed(name, &bytes)
            };
            names.insert(name.clone(), target.clone());
            out.insert(target, bytes);
        }
    }
    if !out.contains_key("index.html") {
        bail!("web/index.html is missing");
    }
    Ok(out)
}

/// Adds the bodies and returns their list, sorted by id:
/// `[{"id": …, "model": address, "catalogue": address, "bytes": size of the model}, …]`.
fn pack_bodies(baked: &Files, out: &mut Files) -> Result<String> {
    let mut list = Vec::new();
    for (name, model) in baked {
        let Some(id) = name.strip_suffix(".glb") else {
            continue;
        };
        let catalogue = baked
            .get(&format!("{id}.json"))
            .with_context(|| format!("the body {id} has no catalogue"))?;
        let model_name = hashed(&format!("bodies/{name}"), model);
        let catalogue_name = hashed(&format!("bodies/{id}.json"), catalogue);
        list.push(serde_json::json!({
            "id": id,
            "model": model_name,
            "catalogue": catalogue_name,
            "bytes": model.len(),
        }));
        out.insert(model_name, model.clone());
        out.insert(catalogue_name, catalogue.clone());
    }
    if list.is_empty() {
        bail!("there is no baked body");
    }
    Ok(serde_json::to_string(&list)?)
}

/// Replaces every `{{name}}` of a text file.
fn fill(file: &str, bytes: &[u8], names: &BTreeMap<String, String>) -> Result<Vec<u8>> {
    let mut rest =
        std::str::from_utf8(bytes).with_context(|| format!("web/{file} is no UTF-8 text"))?;
    let mut text = String::new();
    while let Some((before, after)) = rest.split_once("{{") {
        let (name, tail) = after
            .split_once("}}")
            .with_context(|| format!("web/{file} opens a placeholder and does not close it"))?;
        let value = names.get(name.trim()).with_context(|| {
            format!("web/{file} names {:?}, which is nothing here", name.trim())
        })?;
        text.push_str(before);
        text.push_str(value);
        rest = tail;
    }
    text.push_str(rest);
    Ok(text.into_bytes())
}

/// `styles/page.css` → `styles/page-0123456789.css`.
fn hashed(name: &str, bytes: &[u8]) -> String {
    let hash = hex(bytes);
    let hash = &hash[..10];
    match name.rsplit_once('.') {
        Some((stem, ending)) => format!("{stem}-{hash}.{ending}"),
        None => format!("{name}-{hash}"),
    }
}

/// SHA-256 in hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .fold(String::new(), |mut text, byte| {
            let _ = write!(text, "{byte:02x}");
            text
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn files(list: &[(&str, &str)]) -> Files {
        list.iter()
            .map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()))
            .collect()
    }

    fn program() -> Program {
        Program {
            js: b"js".to_vec(),
            wasm: b"wasm".to_vec(),
        }
    }

    #[test]
    fn check_pack() {
        let web = files(&[
            (
                "index.html",
                "<link href={{styles/page.css}}><script src={{start.js}}></script>{{bodies}}",
            ),
            (
                "start.js",
                "import init from './{{planeward.js}}'; init('{{planeward.wasm}}')",
            ),
            ("styles/page.css", "a { color: red }"),
        ]);
        let baked = files(&[("a.glb", "glb"), ("a.json", "{}")]);
        let out = pack(&program(), &web, &baked).unwrap();
        let page = String::from_utf8(out["index.html"].clone()).unwrap();
        assert!(!page.contains("{{"), "every placeholder is filled: {page}");
        for (name, bytes) in &out {
            let named_elsewhere = out.values().any(|other| {
                String::from_utf8_lossy(other).contains(name.as_str()) && other != bytes
            });
            assert!(
                named_elsewhere
                    || ["index.html", "bodies.json", "files.json"].contains(&name.as_str())
                    || name.starts_with("icon"),
                "{name} is reachable from another file"
            );
        }
        assert!(
            !page.contains("=/") && !page.contains("\"/"),
            "addresses are relative: {page}"
        );
    }

    #[test]
    fn check_names_follow_content() {
        let at = |text: &str| hashed("styles/page.css", text.as_bytes());
        assert_eq!(at("a"), at("a"), "equal content has an equal name");
        assert_ne!(at("a"), at("b"), "other content has another name");
        assert_eq!(
            hashed("a.js", b""),
            "a-e3b0c44298.js",
            "SHA-256 of nothing, FIPS 180-4 example files"
        );
    }

    #[test]
    fn check_refusals() {
        let baked = files(&[("a.glb", "glb"), ("a.json", "{}")]);
        let typo = files(&[("index.html", "{{planewrad.js}}")]);
        assert!(
            pack(&program(), &typo, &baked).is_err(),
            "an unknown placeholder"
        );
        let open = files(&[("index.html", "{{planeward.js")]);
        assert!(
            pack(&program(), &open, &baked).is_err(),
            "an unclosed placeholder"
        );
        let page = files(&[("index.html", "")]);
        assert!(pack(&program(), &files(&[]), &baked).is_err(), "no page");
        assert!(pack(&program(), &page, &files(&[])).is_err(), "no body");
        assert!(
            pack(&program(), &page, &files(&[("a.glb", "")])).is_err(),
            "no catalogue"
        );
    }

    #[test]
    fn check_budget() {
        let size = |name: &str, gzip, brotli| Size {
            name: name.to_owned(),
            raw: gzip,
            gzip,
            brotli,
        };
        let half = budget::PROGRAM_GZIP / 2;
        assert!(
            within_budget(&[size("a.js", half, 0), size("a.wasm", half, 0)]).is_ok(),
            "just fits"
        );
        assert!(
            within_budget(&[size("a.js", half + 1, 0), size("a.wasm", half, 0)]).is_err(),
            "both files count"
        );
        let whole = budget::BODY_BROTLI;
        assert!(
            within_budget(&[
                size("bodies/a-0.glb", 0, whole),
                size("bodies/b-0.glb", 0, whole)
            ])
            .is_ok(),
            "every body has its own budget"
        );
        assert!(
            within_budget(&[
                size("bodies/a-0.glb", 0, whole),
                size("bodies/a-1.json", 0, 1)
            ])
            .is_err(),
            "a catalogue belongs to its body"
        );
    }
}
