//! The folder of baked bodies.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use anatomy::Body;
use anyhow::{Context as _, Result, bail};

/// How bodies are made where there are none.
const BAKE: &str =
    "run `cargo xtask bake` to make it, or name a folder with --bodies or PLANEWARD_BODIES";

/// Bodies of one folder, each read when it is first asked for.
#[derive(Debug)]
pub(crate) struct Bodies {
    wanted: Option<PathBuf>,
    folder: Option<PathBuf>,
    read: BTreeMap<String, Body>,
}

impl Bodies {
    /// `wanted` is the folder the user named; without one it is looked for when it is needed.
    pub(crate) const fn new(wanted: Option<PathBuf>) -> Self {
        Self {
            wanted,
            folder: None,
            read: BTreeMap::new(),
        }
    }

    fn folder(&mut self) -> Result<&Path> {
        let found = match (self.folder.take(), &self.wanted) {
            (Some(found), _) => found,
            (None, Some(wanted)) => {
                if !wanted.is_dir() {
                    bail!("there is no folder {}; {BAKE}", wanted.display());
                }
                wanted.clone()
            }
            (None, None) => {
                let here = std::env::current_dir().context("the current folder is not readable")?;
                here.ancestors()
                    .map(|above| above.join(".bake"))
                    .find(|folder| folder.is_dir())
                    .with_context(|| {
                        format!("no folder .bake in {} or above it; {BAKE}", here.display())
                    })?
            }
        };
        Ok(self.folder.insert(found))
    }

    /// Names of the bodies in the folder, sorted.
    pub(crate) fn ids(&mut self) -> Result<Vec<String>> {
        let folder = self.folder()?;
        let unreadable = || format!("cannot read folder {}", folder.display());
        let mut ids = Vec::new();
        for entry in fs::read_dir(folder).with_context(unreadable)? {
            let path = entry.with_context(unreadable)?.path();
            let is_body = path.extension().is_some_and(|ending| ending == "glb");
            if is_body && let Some(id) = path.file_stem().and_then(|stem| stem.to_str()) {
                ids.push(id.to_owned());
            }
        }
        ids.sort();
        if ids.is_empty() {
            bail!("no body (<id>.glb) in {}; {BAKE}", folder.display());
        }
        Ok(ids)
    }

    /// The body with this name.
    pub(crate) fn get(&mut self, id: &str) -> Result<&Body> {
        // A name with a path in it would leave the folder; only listed names are opened.
        if !self.read.contains_key(id) {
            let ids = self.ids()?;
            if !ids.iter().any(|known| known == id) {
                bail!("body {id:?} is not known; there are {}", ids.join(", "));
            }
            let folder = self.folder()?;
            let file = |ending: &str| -> Result<Vec<u8>> {
                let path = folder.join(format!("{id}.{ending}"));
                fs::read(&path).with_context(|| format!("cannot read {}", path.display()))
            };
            let body = Body::read(&file("glb")?, &file("json")?)
                .with_context(|| format!("body {id:?} in {} is damaged", folder.display()))?;
            self.read.insert(id.to_owned(), body);
        }
        self.read.get(id).context("a body just read")
    }
}
