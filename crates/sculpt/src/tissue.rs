//! The acoustic table `tissues.toml`.

use crate::error::ModelError;
use crate::keys::{Keys, Site};
use anatomy::catalogue::TissueEntry;
use std::path::Path;
use toml::Table;

/// Every tissue in the order of the parsed table (alphabetical by key, the same on every run).
///
/// # Errors
/// [`ModelError`] naming tissue and key.
pub fn load_tissues(models_dir: &Path) -> Result<Vec<TissueEntry>, ModelError> {
    let file = "tissues.toml";
    let path = models_dir.join(file);
    let text =
        std::fs::read_to_string(&path).map_err(|source| ModelError::Read { path, source })?;
    let table: Table = toml::from_str(&text).map_err(|source| ModelError::Syntax {
        file: file.to_owned(),
        source: Box::new(source),
    })?;
    let site = Site {
        file: file.to_owned(),
        structure: "tissue".to_owned(),
    };
    let mut keys = Keys::new(&site, "", table);
    let mut tissues = keys
        .table("tissue")?
        .ok_or_else(|| keys.missing("tissue"))?;
    let mut out = Vec::new();
    for key in tissues.names() {
        let Some(mut k) = tissues.table(&key)? else {
            continue;
        };
        out.push(TissueEntry {
            key,
            c: k.need_number("c")?,
            rho: k.need_number("rho")?,
            z: k.need_number("z")?,
            att: k.need_number("att")?,
            n: k.need_number("n")?,
            bs: k.need_number("bs")?,
            spec: k.need_number("spec")?,
            shadow: k.flag("shadow")?,
            grain: k.need_number("grain")?,
            texture: k.need_text("texture")?,
        });
        k.finish()?;
    }
    keys.finish()?;
    Ok(out)
}
