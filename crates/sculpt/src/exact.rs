//! The painted label of a point straight from the formulas: the reference that sections cut from meshes are
//! tested against.

use crate::layers::painted_structures;
use crate::model::Model;
use crate::triple::{Bounds, Triple};

/// What is painted at a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Label {
    /// Not in the body.
    Outside,
    /// The skin.
    Skin,
    /// Fat under the skin.
    Fat,
    /// Muscle that belongs to no named structure.
    Muscle,
    /// The wall of a structure.
    Wall(usize),
    /// The inside of a structure.
    Solid(usize),
}

/// Structures from the last painted to the first, with boxes (mm) that hold their solid and wall.
#[must_use]
pub fn last_painted_first(model: &Model) -> Vec<(usize, Bounds)> {
    painted_structures(model)
        .into_iter()
        .rev()
        .map(|i| {
            let s = &model.structures[i];
            let wall_mm = s.wall.as_ref().map_or(0.0, |w| w.mm);
            (i, s.solid.bounds.grown(wall_mm))
        })
        .collect()
}

/// Finds painted labels for one body.
#[derive(Debug)]
pub struct Labeller<'a> {
    model: &'a Model,
    order: Vec<(usize, Bounds)>,
}

impl<'a> Labeller<'a> {
    /// A labeller for `model`.
    #[must_use]
    pub fn new(model: &'a Model) -> Self {
        Self {
            model,
            order: last_painted_first(model),
        }
    }

    /// The label at `p` (mm): the last painted of all structures whose solid or wall holds the point, else the
    /// layer. A structure is painted wherever it lies inside the skin, also in the skin's own thickness.
    #[must_use]
    pub fn label(&self, p: Triple) -> Label {
        let model = self.model;
        let skin = model.value(model.skin, p);
        if skin >= 0.0 {
            return Label::Outside;
        }
        for &(i, bounds) in &self.order {
            if !bounds.contains(p) {
                continue;
            }
            let f = model.value(i, p);
            if f < 0.0 {
                return Label::Solid(i);
            }
            if let Some(wall) = &model.structures[i].wall
                && f < wall.mm
                && !wall.open_into.iter().any(|&o| model.value(o, p) < 0.0)
            {
                return Label::Wall(i);
            }
        }
        if skin > -model.dermis_mm {
            Label::Skin
        } else if model.muscle_value(p) > 0.0 {
            Label::Fat
        } else {
            Label::Muscle
        }
    }
}
