//! Surfaces of a body as files for other programs; positions are patient mm in every format.

mod glb;
mod ply;
mod stl;

use anatomy::Body;
use anyhow::{Context as _, Result, bail};
use geometry::Mesh;

use crate::answer::surface_name;
use crate::args::Format;

/// A surface with its name.
pub(crate) struct Named<'a> {
    name: String,
    mesh: &'a Mesh,
}

/// The surfaces a user chose: all, or one by name.
pub(crate) fn chosen<'a>(body: &'a Body, structure: Option<&str>) -> Result<Vec<Named<'a>>> {
    let mut all = (0..body.surfaces().len()).map(|place| Named {
        name: surface_name(body, place),
        mesh: body.cut_set().mesh(place),
    });
    let Some(wanted) = structure else {
        return Ok(all.collect());
    };
    match all.find(|named| named.name == wanted) {
        Some(named) => Ok(vec![named]),
        None => bail!(
            "body {:?} has no structure {wanted:?}; `planeward bodies` lists them",
            body.id()
        ),
    }
}

/// The file.
pub(crate) fn encode(format: Format, meshes: &[Named<'_>]) -> Result<Vec<u8>> {
    match format {
        Format::Glb => glb::encode(meshes),
        Format::Ply => ply::encode(meshes),
        Format::Stl => stl::encode(meshes),
    }
}

/// A count for a file's 32-bit field.
fn count(value: usize) -> Result<u32> {
    u32::try_from(value).with_context(|| format!("{value} is too many for this format"))
}
