//! A whole body in memory.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use geometry::{CutSet, Mm, Patient, Point};

use crate::region::{RegionMap, SkinPlace};
use crate::skin::{SkinPoint, SkinSurface};
use crate::structure::{Structure, StructureIndex};
use crate::tissue::{Tissue, TissueId};
use crate::window::Window;

/// Sex of a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sex {
    /// Female organs.
    Female,
    /// Male organs.
    Male,
    /// No organ of this body depends on the sex.
    Either,
}

/// What one surface is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SurfaceKind {
    /// Outside of the body; fills skin.
    Skin,
    /// Skin moved inward by its thickness; fills subcutaneous fat.
    Dermis,
    /// Surface under the subcutaneous fat; fills muscle.
    Muscle,
    /// A structure moved outward by its wall's thickness; fills the wall's tissue, then its solid is painted over.
    Wall(StructureIndex),
    /// The structure itself.
    Solid(StructureIndex),
}

/// One closed mesh of a body and how it is painted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Surface {
    /// What it is.
    pub kind: SurfaceKind,
    /// Tissue that fills it.
    pub tissue: TissueId,
    /// Later paint replaces earlier. Surfaces are kept in ascending paint order.
    pub paint_order: u32,
    /// Surfaces inside which it is not painted.
    pub not_inside: Vec<usize>,
}

/// Everything about a body but its inner meshes: known as soon as the catalogue is read.
#[derive(Debug, Clone, PartialEq)]
pub struct BodyFacts {
    /// Stable name.
    pub id: String,
    /// English words.
    pub label: String,
    /// Sex.
    pub sex: Sex,
    /// Stature; `None` for a head alone.
    pub stature: Option<Mm>,
    /// Factor for lengths written at woman size.
    pub offset_scale: f64,
    /// Thickness of the skin.
    pub dermis: Mm,
    /// Named points, patient mm.
    pub landmarks: BTreeMap<String, [f64; 3]>,
    /// Tissue table.
    pub tissues: Vec<Tissue>,
    /// Structures in load order.
    pub structures: Vec<Structure>,
    /// Surfaces in paint order; the first is the skin.
    pub surfaces: Vec<Surface>,
    /// Probe windows.
    pub windows: Vec<Window>,
    /// How places on the skin are named.
    pub regions: RegionMap,
}

/// A body: its facts, its skin, and all its meshes ready to be cut. Read with [`Body::read`](crate::read).
#[derive(Debug)]
pub struct Body {
    facts: BodyFacts,
    skin: SkinSurface,
    cut_set: CutSet,
    normals: Vec<OnceLock<Vec<[f32; 3]>>>,
}

impl Body {
    pub(crate) fn new(facts: BodyFacts, skin: SkinSurface, cut_set: CutSet) -> Self {
        let normals = facts.surfaces.iter().map(|_| OnceLock::new()).collect();
        Self {
            facts,
            skin,
            cut_set,
            normals,
        }
    }

    /// Everything but the meshes.
    #[must_use]
    pub fn facts(&self) -> &BodyFacts {
        &self.facts
    }

    /// Stable name: `adult_female`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.facts.id
    }

    /// English words.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.facts.label
    }

    /// Factor for lengths written at woman size.
    #[must_use]
    pub fn offset_scale(&self) -> f64 {
        self.facts.offset_scale
    }

    /// Structures in load order.
    #[must_use]
    pub fn structures(&self) -> &[Structure] {
        &self.facts.structures
    }

    /// The structure with this name.
    #[must_use]
    pub fn find(&self, id: &str) -> Option<StructureIndex> {
        self.facts.find(id)
    }

    /// One structure.
    ///
    /// # Panics
    /// With an index of another body that is out of range here.
    #[must_use]
    pub fn structure(&self, index: StructureIndex) -> &Structure {
        &self.facts.structures[index.0]
    }

    /// The tissue table; [`TissueId::index`] counts in it.
    #[must_use]
    pub fn tissues(&self) -> &[Tissue] {
        &self.facts.tissues
    }

    /// One tissue.
    ///
    /// # Panics
    /// With an id of another body that is out of range here.
    #[must_use]
    pub fn tissue(&self, id: TissueId) -> &Tissue {
        &self.facts.tissues[id.index()]
    }

    /// A named point, patient mm.
    #[must_use]
    pub fn landmark(&self, name: &str) -> Option<Point<Patient>> {
        self.facts
            .landmarks
            .get(name)
            .map(|&at| Point::from_array(at))
    }

    /// All named points, patient mm, by name.
    #[must_use]
    pub fn landmarks(&self) -> &BTreeMap<String, [f64; 3]> {
        &self.facts.landmarks
    }

    /// Probe windows.
    #[must_use]
    pub fn windows(&self) -> &[Window] {
        &self.facts.windows
    }

    /// The window with this name.
    #[must_use]
    pub fn window(&self, id: &str) -> Option<&Window> {
        self.facts.windows.iter().find(|window| window.id == id)
    }

    /// The skin.
    #[must_use]
    pub fn skin(&self) -> &SkinSurface {
        &self.skin
    }

    /// Surfaces in paint order; surface i is mesh i of [`cut_set`](Self::cut_set), surface 0 is the skin.
    #[must_use]
    pub fn surfaces(&self) -> &[Surface] {
        &self.facts.surfaces
    }

    /// All meshes, ready to be cut.
    #[must_use]
    pub fn cut_set(&self) -> &CutSet {
        &self.cut_set
    }

    /// Unit normals per vertex of surface `i`, for drawing; computed when first asked for. Empty for an unknown
    /// surface.
    #[must_use]
    pub fn surface_normals(&self, i: usize) -> &[[f32; 3]] {
        self.normals.get(i).map_or(&[], |cell| {
            cell.get_or_init(|| self.cut_set.mesh(i).smooth_normals())
        })
    }

    /// Where on the body a point of the skin is, in data and words.
    #[must_use]
    pub fn place(&self, at: &SkinPoint) -> SkinPlace {
        self.facts
            .regions
            .place(at.point, self.skin.smoothed_normal(at))
    }
}

impl BodyFacts {
    /// The structure with this name.
    #[must_use]
    pub fn find(&self, id: &str) -> Option<StructureIndex> {
        self.structures
            .iter()
            .position(|structure| structure.id.as_str() == id)
            .map(StructureIndex)
    }
}
