//! Reading a body from its two files, at once or as the bytes arrive.
//!
//! The skin is the first mesh of the GLB, so a page can show the body and let the probe stand on it long before the
//! organs are there:
//!
//! ```text
//! let mut reader = BodyReader::new(&catalogue)?;
//! for each arriving piece { bytes.extend(piece); if reader.feed(&bytes)? == Stage::Skin { show(reader.skin()); } }
//! let body = reader.finish(&bytes)?;
//! ```

use geometry::{CutSet, Mesh};
use wording::Dictionary;

use crate::body::{Body, BodyFacts};
use crate::catalogue::Catalogue;
use crate::facts::{self, CatalogueError};
use crate::glb::{GlbError, GlbIndex, Prefix};
use crate::skin::SkinSurface;

/// Why two files are not a body.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BodyFileError {
    /// The catalogue cannot be used.
    #[error("body catalogue: {0}")]
    Catalogue(#[from] CatalogueError),
    /// The mesh file cannot be used.
    #[error("body meshes: {0}")]
    Glb(#[from] GlbError),
    /// A surface of the catalogue has no mesh.
    #[error("surface {0:?} of the catalogue has no mesh in the GLB")]
    NoMesh(String),
    /// A mesh is not a closed surface.
    #[error("mesh {node:?}: {reason}")]
    Mesh {
        /// Name of its node.
        node: String,
        /// What is wrong, in words.
        reason: String,
    },
}

/// How far a [`BodyReader`] has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Nothing to show; at least so many bytes from the start of the file are needed for the next stage.
    Waiting(usize),
    /// The skin is ready; so many bytes from the start of the file are needed for the rest.
    Skin(usize),
    /// All bytes are there: [`BodyReader::finish`] makes the body.
    Complete,
}

/// Reads a body from a growing prefix of its GLB.
#[derive(Debug)]
pub struct BodyReader {
    facts: BodyFacts,
    /// Node names by surface.
    nodes: Vec<String>,
    index: Option<GlbIndex>,
    skin: Option<SkinSurface>,
}

impl BodyReader {
    /// Starts with the catalogue.
    ///
    /// # Errors
    /// [`BodyFileError::Catalogue`].
    pub fn new(catalogue: &[u8]) -> Result<Self, BodyFileError> {
        Self::from_catalogue(&facts::parse(catalogue)?)
    }

    /// Gives the body's parts the names of another language, see [`BodyFacts::rename`].
    pub fn rename(&mut self, names: &Dictionary) {
        self.facts.rename(names);
    }

    /// Starts with a catalogue in memory.
    ///
    /// # Errors
    /// [`BodyFileError::Catalogue`].
    pub fn from_catalogue(catalogue: &Catalogue) -> Result<Self, BodyFileError> {
        Ok(Self {
            facts: facts::facts(catalogue)?,
            nodes: catalogue
                .surfaces
                .iter()
                .map(|surface| surface.node.clone())
                .collect(),
            index: None,
            skin: None,
        })
    }

    /// Everything the catalogue alone tells: structures, landmarks, windows with their poses.
    #[must_use]
    pub fn facts(&self) -> &BodyFacts {
        &self.facts
    }

    /// The skin, once enough bytes have been fed.
    #[must_use]
    pub fn skin(&self) -> Option<&SkinSurface> {
        self.skin.as_ref()
    }

    /// Looks at all bytes of the GLB received so far (from its start). Cheap when nothing new can be done.
    ///
    /// # Errors
    /// [`BodyFileError`], as soon as no continuation can make the bytes a body of this catalogue.
    pub fn feed(&mut self, bytes: &[u8]) -> Result<Stage, BodyFileError> {
        if self.index.is_none() {
            match GlbIndex::from_prefix(bytes)? {
                Prefix::Needs(bytes) => return Ok(Stage::Waiting(bytes)),
                Prefix::Index(index) => {
                    if let Some(missing) = self.nodes.iter().find(|node| index.find(node).is_none())
                    {
                        return Err(BodyFileError::NoMesh(missing.clone()));
                    }
                    self.index = Some(index);
                }
            }
        }
        let Some(index) = &self.index else {
            return Ok(Stage::Waiting(0));
        };
        if self.skin.is_none() {
            let skin = index.find("skin").unwrap_or(0);
            let need = index.needs(skin).unwrap_or(usize::MAX);
            if bytes.len() < need {
                return Ok(Stage::Waiting(need));
            }
            self.skin = Some(skin_surface(index.mesh(bytes, skin)?)?);
        }
        Ok(if bytes.len() < index.file_length() {
            Stage::Skin(index.file_length())
        } else {
            Stage::Complete
        })
    }

    /// Makes the body from the whole GLB.
    ///
    /// # Errors
    /// [`BodyFileError`].
    pub fn finish(mut self, glb: &[u8]) -> Result<Body, BodyFileError> {
        self.feed(glb)?;
        let index = GlbIndex::from_file(glb)?;
        let meshes = self.nodes.iter().map(|node| match index.find(node) {
            Some(mesh) => Ok(index.mesh(glb, mesh)?),
            None => Err(BodyFileError::NoMesh(node.clone())),
        });
        let meshes = meshes.collect::<Result<Vec<Mesh>, BodyFileError>>()?;
        let skin = match self.skin {
            Some(skin) => skin,
            None => skin_surface(meshes.first().cloned().unwrap_or_default())?,
        };
        let nodes = self.nodes;
        let cut_set = CutSet::new(meshes).map_err(|error| BodyFileError::Mesh {
            node: nodes.get(error.mesh).cloned().unwrap_or_default(),
            reason: error.source.to_string(),
        })?;
        Ok(Body::new(self.facts, skin, cut_set))
    }
}

impl Body {
    /// Reads a whole body: the bytes of `<body>.glb` and of `<body>.json`.
    ///
    /// # Errors
    /// [`BodyFileError`]; no bytes make it panic.
    pub fn read(glb: &[u8], catalogue: &[u8]) -> Result<Self, BodyFileError> {
        BodyReader::new(catalogue)?.finish(glb)
    }
}

fn skin_surface(mesh: Mesh) -> Result<SkinSurface, BodyFileError> {
    // Whether it is closed is checked with all other meshes when they are made ready to be cut.
    SkinSurface::new(mesh).ok_or_else(|| BodyFileError::Mesh {
        node: "skin".to_owned(),
        reason: "no triangle has an area".to_owned(),
    })
}
