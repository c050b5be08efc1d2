//! All bodies into a folder, leaving alone what is already there and still true.

use crate::bake::{BODIES, BakeError, Progress, bake};
use crate::error::ModelError;
use std::path::{Path, PathBuf};

/// The sources that decide what a bake yields; their text is part of the key, so no version number has to be kept.
const SOURCES: &[&str] = &[
    include_str!("bake.rs"),
    include_str!("balance.rs"),
    include_str!("catalogue.rs"),
    include_str!("codes.rs"),
    include_str!("crossing.rs"),
    include_str!("flip.rs"),
    include_str!("gauge.rs"),
    include_str!("glb.rs"),
    include_str!("grid.rs"),
    include_str!("keys.rs"),
    include_str!("layers.rs"),
    include_str!("load.rs"),
    include_str!("loft.rs"),
    include_str!("marching.rs"),
    include_str!("manifold.rs"),
    include_str!("meshopt.rs"),
    include_str!("model.rs"),
    include_str!("nearness.rs"),
    include_str!("order.rs"),
    include_str!("quantise.rs"),
    include_str!("read_shape.rs"),
    include_str!("refine.rs"),
    include_str!("shape.rs"),
    include_str!("simplify.rs"),
    include_str!("surface_mesh.rs"),
    include_str!("tissue.rs"),
    include_str!("triple.rs"),
    include_str!("tube.rs"),
    include_str!("twin.rs"),
    include_str!("untangle.rs"),
    include_str!("window.rs"),
    include_str!("../../anatomy/src/catalogue.rs"),
];

/// Words for pictures, which no body is made of.
const NOT_OF_THE_BODIES: &str = "vocabulary.toml";

/// Bakes every body of [`BODIES`] from `models_dir` into `out_dir` as `<id>.glb` and `<id>.json`. A body whose inputs
/// have not changed since its last bake is left alone; `<id>.key` holds the hash that tells.
///
/// # Errors
/// [`BakeError`]: a wrong description, a surface that cannot be meshed, a file that cannot be read or written.
pub fn bake_all(
    models_dir: &Path,
    out_dir: &Path,
    progress: &mut dyn FnMut(Progress),
) -> Result<(), BakeError> {
    for body in BODIES {
        bake_cached(models_dir, out_dir, body, progress)?;
    }
    Ok(())
}

/// The same for one body.
///
/// # Errors
/// As [`bake_all`].
pub fn bake_cached(
    models_dir: &Path,
    out_dir: &Path,
    body: &str,
    progress: &mut dyn FnMut(Progress),
) -> Result<(), BakeError> {
    let key = content_key(models_dir, body)?;
    let file = |extension: &str| out_dir.join(format!("{body}.{extension}"));
    let known = std::fs::read_to_string(file("key")).is_ok_and(|old| old.trim() == key);
    if known && file("glb").is_file() && file("json").is_file() {
        progress(Progress {
            body: body.to_owned(),
            done: 1,
            total: 1,
            what: "up to date".to_owned(),
        });
        return Ok(());
    }
    let baked = bake(models_dir, body, progress)?;
    std::fs::create_dir_all(out_dir).map_err(|source| BakeError::Write {
        path: out_dir.to_owned(),
        source,
    })?;
    // The key goes last: a bake cut short must not look finished.
    write(file("glb"), &baked.glb)?;
    write(file("json"), &baked.catalogue)?;
    write(file("key"), key.as_bytes())
}

fn write(path: PathBuf, bytes: &[u8]) -> Result<(), BakeError> {
    std::fs::write(&path, bytes).map_err(|source| BakeError::Write { path, source })
}

/// Hash over the body's name, every TOML file of the folder that a body is made of, and this crate's own sources.
fn content_key(models_dir: &Path, body: &str) -> Result<String, BakeError> {
    let read_error = |source| ModelError::Read {
        path: models_dir.to_owned(),
        source,
    };
    let mut files: Vec<PathBuf> = std::fs::read_dir(models_dir)
        .map_err(read_error)?
        .map(|entry| entry.map(|e| e.path()))
        .collect::<Result<_, _>>()
        .map_err(read_error)?;
    files.retain(|path| {
        path.extension().is_some_and(|e| e == "toml")
            && path
                .file_name()
                .is_none_or(|name| name != NOT_OF_THE_BODIES)
    });
    files.sort();
    let mut hash = Fnv::new();
    hash.add(body.as_bytes());
    for path in files {
        hash.add(path.file_name().unwrap_or_default().as_encoded_bytes());
        let bytes = std::fs::read(&path).map_err(|source| ModelError::Read { path, source })?;
        hash.add(&bytes);
    }
    for source in SOURCES {
        hash.add(source.as_bytes());
    }
    Ok(format!("{:032x}", hash.0))
}

/// FNV-1a, 128 bit (RFC 9923): plenty against chance, and nobody attacks a local build cache.
struct Fnv(u128);

impl Fnv {
    const fn new() -> Self {
        Self(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }

    fn add(&mut self, bytes: &[u8]) {
        // The length keeps "ab" + "c" apart from "a" + "bc".
        for &b in bytes.len().to_le_bytes().iter().chain(bytes) {
            self.0 =
                (self.0 ^ u128::from(b)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
        }
    }
}
