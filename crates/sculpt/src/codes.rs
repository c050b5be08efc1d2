//! The table of published codes `codes.toml`.

use crate::error::ModelError;
use crate::keys::{Keys, Site};
use crate::model::{Side, Structure};
use anatomy::catalogue::CodeEntry;
use std::collections::BTreeMap;
use std::path::Path;
use toml::Table;

/// Laterality concepts of DICOM PS3.16, CID 244.
const RIGHT: &str = "24028007";
const LEFT: &str = "7771000";

/// Published codes by structure, or by the common name of a pair.
#[derive(Debug, Clone, Default)]
pub struct Codes(BTreeMap<String, String>);

/// The table of `models_dir`.
///
/// # Errors
/// [`ModelError`] naming structure and key.
pub fn load_codes(models_dir: &Path) -> Result<Codes, ModelError> {
    let file = "codes.toml";
    let path = models_dir.join(file);
    let text =
        std::fs::read_to_string(&path).map_err(|source| ModelError::Read { path, source })?;
    let table: Table = toml::from_str(&text).map_err(|source| ModelError::Syntax {
        file: file.to_owned(),
        source: Box::new(source),
    })?;
    let site = Site {
        file: file.to_owned(),
        structure: "codes".to_owned(),
    };
    let mut keys = Keys::new(&site, "", table);
    let mut codes = BTreeMap::new();
    for name in keys.names() {
        let Some(mut row) = keys.table(&name)? else {
            continue;
        };
        let value = row.need_text("value")?;
        if value.is_empty() || !value.bytes().all(|b| b.is_ascii_digit()) {
            return Err(site.wrong(&row.key("value"), "a SNOMED CT number as text"));
        }
        row.need_text("meaning")?;
        // For readers of the table alone.
        row.take("groups");
        row.finish()?;
        codes.insert(name, value);
    }
    keys.finish()?;
    Ok(Codes(codes))
}

impl Codes {
    /// Code of a structure: the published one, with its side where the concept serves both; else what the description says,
    /// which is from memory.
    #[must_use]
    pub fn of(&self, structure: &Structure) -> Option<CodeEntry> {
        let published = |text: String| CodeEntry {
            text,
            from_memory: false,
        };
        if let Some(value) = self.0.get(&structure.id) {
            return Some(published(format!("SCT {value}")));
        }
        let sided = [("left_", Side::Left, LEFT), ("right_", Side::Right, RIGHT)]
            .into_iter()
            .filter(|(_, side, _)| *side == structure.side)
            .find_map(|(prefix, _, side)| {
                let value = self.0.get(structure.id.strip_prefix(prefix)?)?;
                Some(published(format!("SCT {value}; side SCT {side}")))
            });
        sided.or_else(|| {
            structure.code.clone().map(|text| CodeEntry {
                text,
                from_memory: true,
            })
        })
    }
}
