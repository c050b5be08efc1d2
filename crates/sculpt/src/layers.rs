//! The surfaces of a body and their signed distances: skin, layers under it, solids and walls.

use crate::model::Model;
use crate::triple::{Bounds, Triple};

/// One closed surface of a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceKind {
    /// The outside of the body.
    Skin,
    /// The skin moved inward by its thickness.
    Dermis,
    /// Under the subcutaneous fat.
    Muscle,
    /// A structure moved outward by its wall's thickness.
    Wall(usize),
    /// A structure itself.
    Solid(usize),
}

impl SurfaceKind {
    /// Signed distance at `p` (mm), negative inside.
    #[must_use]
    pub fn value(self, model: &Model, p: Triple) -> f64 {
        match self {
            Self::Skin => model.value(model.skin, p),
            Self::Dermis => model.value(model.skin, p) + model.dermis_mm,
            // Thin fat must not let the muscle reach into the skin.
            Self::Muscle => model
                .muscle_value(p)
                .max(model.value(model.skin, p) + model.dermis_mm),
            Self::Wall(i) => model.value(i, p) - wall_mm(model, i),
            Self::Solid(i) => model.value(i, p),
        }
    }

    /// A box holding the inside.
    #[must_use]
    pub fn bounds(self, model: &Model) -> Bounds {
        match self {
            Self::Skin | Self::Dermis | Self::Muscle => model.structures[model.skin].solid.bounds,
            Self::Wall(i) => model.structures[i].solid.bounds.grown(wall_mm(model, i)),
            Self::Solid(i) => model.structures[i].solid.bounds,
        }
    }

    /// Name of the surface's node in the body file.
    #[must_use]
    pub fn node(self, model: &Model) -> String {
        match self {
            Self::Skin => "skin".to_owned(),
            Self::Dermis => "skin/dermis".to_owned(),
            Self::Muscle => "skin/muscle".to_owned(),
            Self::Wall(i) => format!("{}/wall", model.structures[i].id),
            Self::Solid(i) => model.structures[i].id.clone(),
        }
    }

    /// Key of the tissue that fills the surface when painted.
    #[must_use]
    pub fn tissue(self, model: &Model) -> &str {
        match self {
            Self::Skin => &model.structures[model.skin].tissue,
            Self::Dermis => "fat_subcutaneous",
            Self::Muscle => "muscle",
            Self::Wall(i) => model.structures[i]
                .wall
                .as_ref()
                .map_or(model.structures[i].tissue.as_str(), |w| &w.tissue),
            Self::Solid(i) => &model.structures[i].tissue,
        }
    }
}

fn wall_mm(model: &Model, i: usize) -> f64 {
    model.structures[i].wall.as_ref().map_or(0.0, |w| w.mm)
}

/// Structures that are painted, in paint order: ascending priority, ties in load order. Reference surfaces
/// (tissue `none`) and the skin are left out.
#[must_use]
pub fn painted_structures(model: &Model) -> Vec<usize> {
    let mut order: Vec<usize> = (0..model.structures.len())
        .filter(|&i| i != model.skin && model.structures[i].tissue != "none")
        .collect();
    order.sort_by_key(|&i| model.structures[i].priority);
    order
}

/// Every surface of the body in paint order: the three layers, then for each structure its wall and its solid.
#[must_use]
pub fn surfaces(model: &Model) -> Vec<SurfaceKind> {
    let mut out = vec![SurfaceKind::Skin, SurfaceKind::Dermis, SurfaceKind::Muscle];
    for i in painted_structures(model) {
        if model.structures[i].wall.is_some() {
            out.push(SurfaceKind::Wall(i));
        }
        out.push(SurfaceKind::Solid(i));
    }
    out
}
