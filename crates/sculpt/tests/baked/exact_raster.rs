//! The exact labels of a raster, by squares: where a formula's value is far from zero over a whole square, its sign is
//! found once. Squares that stay open are quartered, the last ones labelled pixel by pixel.

use sculpt::exact::{Label, Labeller, last_painted_first};
use sculpt::model::Model;
use sculpt::triple::{self as t, Bounds, Triple};

/// How a square raster lies in the body.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Raster {
    /// Centre of the first pixel, mm.
    pub(crate) origin: Triple,
    /// Unit direction of a row and of a column.
    pub(crate) u: Triple,
    pub(crate) v: Triple,
    /// Pixels in a row and in a column.
    pub(crate) side: usize,
    /// Distance of neighbouring pixels, mm.
    pub(crate) pitch: f64,
}

impl Raster {
    /// The point of a pixel, whole or between two, mm.
    pub(crate) fn point(&self, column: f64, row: f64) -> Triple {
        t::add(
            self.origin,
            t::add(
                t::scale(self.u, column * self.pitch),
                t::scale(self.v, row * self.pitch),
            ),
        )
    }
}

/// Outside a shape its value is at most its distance but for sharp blends; inside, a blunt plate's value may be many
/// times its distance. These factors keep the squares true: the test compares some pixels with the plain labeller.
const OUTSIDE: f64 = 1.5;
const INSIDE: f64 = 10.0;
/// Squares of this side are labelled pixel by pixel.
const LEAF: usize = 2;

/// Structures and layers that may still show in a square.
#[derive(Debug, Clone)]
struct Open {
    /// From the last painted to the first.
    structures: Vec<usize>,
    /// The structure that fills the whole square unless one of the above covers it.
    filled: Option<usize>,
    /// The square may reach out of the skin.
    skin: bool,
    /// The square is inside the dermis throughout.
    deep: bool,
    /// Muscle throughout or nowhere, where known.
    muscle: Option<bool>,
}

#[derive(Debug)]
pub(crate) struct ExactRaster<'a> {
    model: &'a Model,
    plain: Labeller<'a>,
    bounds: Vec<(usize, Bounds)>,
}

impl<'a> ExactRaster<'a> {
    pub(crate) fn new(model: &'a Model) -> Self {
        Self {
            model,
            plain: Labeller::new(model),
            bounds: last_painted_first(model),
        }
    }

    /// The label at one point, without squares.
    pub(crate) fn label(&self, p: Triple) -> Label {
        self.plain.label(p)
    }

    pub(crate) fn labels(&self, raster: &Raster) -> Vec<Label> {
        let mut out = vec![Label::Outside; raster.side * raster.side];
        let middle = raster.point(raster.side as f64 / 2.0, raster.side as f64 / 2.0);
        let reach = raster.side as f64 * raster.pitch * 0.75;
        let open = Open {
            structures: self
                .bounds
                .iter()
                .filter(|(_, b)| b.distance(middle) <= reach)
                .map(|&(i, _)| i)
                .collect(),
            filled: None,
            skin: true,
            deep: false,
            muscle: None,
        };
        let whole = raster.side.next_power_of_two();
        self.square(raster, [0, 0], whole, &open, &mut out);
        out
    }

    fn square(&self, raster: &Raster, at: [usize; 2], side: usize, open: &Open, out: &mut [Label]) {
        if at[0] >= raster.side || at[1] >= raster.side {
            return;
        }
        let half = (side - 1) as f64 / 2.0;
        let centre = raster.point(at[0] as f64 + half, at[1] as f64 + half);
        let radius = half * raster.pitch * std::f64::consts::SQRT_2;
        let mut open = open.clone();
        // A square far larger than the body's parts decides nothing.
        if radius < 30.0 {
            if !self.narrow(centre, radius, &mut open) {
                return;
            }
            let only = open.structures.is_empty() && !open.skin;
            let label = match (open.filled, open.deep, open.muscle) {
                (Some(i), ..) => Some(Label::Solid(i)),
                (None, true, Some(true)) => Some(Label::Muscle),
                (None, true, Some(false)) => Some(Label::Fat),
                _ => None,
            };
            if let (true, Some(label)) = (only, label) {
                for row in at[1]..(at[1] + side).min(raster.side) {
                    for column in at[0]..(at[0] + side).min(raster.side) {
                        out[row * raster.side + column] = label;
                    }
                }
                return;
            }
        }
        if side <= LEAF {
            for row in at[1]..(at[1] + side).min(raster.side) {
                for column in at[0]..(at[0] + side).min(raster.side) {
                    out[row * raster.side + column] =
                        self.pixel(raster.point(column as f64, row as f64), &open);
                }
            }
            return;
        }
        let next = side / 2;
        for corner in [[0, 0], [next, 0], [0, next], [next, next]] {
            self.square(
                raster,
                [at[0] + corner[0], at[1] + corner[1]],
                next,
                &open,
                out,
            );
        }
    }

    /// Strikes out what a ball of `radius` mm round `centre` decides; `false` when it lies outside the skin.
    fn narrow(&self, centre: Triple, radius: f64, open: &mut Open) -> bool {
        let (out, inside) = (OUTSIDE * radius, INSIDE * radius);
        let model = self.model;
        if !open.deep {
            let skin = model.value(model.skin, centre);
            if skin > out {
                return false;
            }
            open.skin &= skin > -inside;
            open.deep = skin < -model.dermis_mm - inside;
        }
        let mut kept = Vec::with_capacity(open.structures.len());
        for &i in &open.structures {
            let s = &model.structures[i];
            let wall = s.wall.as_ref().map_or(0.0, |w| w.mm);
            if s.solid.bounds.distance(centre) > wall + radius {
                continue;
            }
            let f = model.value(i, centre);
            if f > wall + out {
                continue;
            }
            if f < -inside {
                open.filled = Some(i);
                break;
            }
            kept.push(i);
        }
        open.structures = kept;
        if open.muscle.is_none() && open.filled.is_none() && open.deep {
            let f = model.muscle_value(centre);
            if f > out || f < -inside {
                open.muscle = Some(f < 0.0);
            }
        }
        true
    }

    fn pixel(&self, p: Triple, open: &Open) -> Label {
        let model = self.model;
        let skin = if open.skin || (!open.deep && open.filled.is_none()) {
            model.value(model.skin, p)
        } else {
            f64::NEG_INFINITY
        };
        if skin >= 0.0 {
            return Label::Outside;
        }
        for &i in &open.structures {
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
        if let Some(i) = open.filled {
            return Label::Solid(i);
        }
        if skin > -model.dermis_mm {
            return Label::Skin;
        }
        if open.muscle.unwrap_or_else(|| model.muscle_value(p) <= 0.0) {
            Label::Muscle
        } else {
            Label::Fat
        }
    }
}
