//! What the body lies or sits on: plain blocks with rounded edges, placed around the shown body.

use anatomy::{LimbPlaces, PosedSkin, Posture};
use geometry::{BodyPosition, Point, Posed, Room};

use super::matrix::{self, Matrix};
use crate::state::State;

/// Free bed around a lying body, mm.
const SIDE_MARGIN_MM: f64 = 110.0;
const END_MARGIN_MM: f64 = 90.0;

/// Thickness of the mattress, mm.
const THICKNESS_MM: f64 = 90.0;

/// How far the lower shoulder of a body on its side sinks into the mattress, mm at woman size: so far that the hip
/// comes down to it too.
const SHOULDER_SINKS_MM: f64 = 34.0;

/// Half width of the trunk, mm at woman size; what lies farther out is arms.
const TRUNK_MM: f64 = 150.0;

/// Skin box of an adult woman, patient mm, used until the skin is here.
const USUAL_BOUNDS: ([f64; 3], [f64; 3]) = ([-330.0, -125.0, -985.0], [330.0, 125.0, 652.0]);

/// A block with rounded edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Half of its sides, mm.
    pub half: [f32; 3],
    /// Radius of its edges, mm; at most the smallest half side.
    pub radius: f32,
    /// Places it, built about the origin along the axes, in the room.
    pub room_from_block: Matrix,
}

/// What the body lies or sits on. Room frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Furniture {
    /// Height of the upper face of the bed.
    pub rest_height: f32,
    /// The bed first, then what else is there.
    pub blocks: Vec<Block>,
}

impl Block {
    fn level(low: [f64; 3], high: [f64; 3], radius: f64) -> Self {
        let middle = [0, 1, 2].map(|axis| (low[axis] + high[axis]) / 2.0);
        let half = [0, 1, 2].map(|axis| ((high[axis] - low[axis]) / 2.0).max(1.0));
        Self::turned(middle, [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]], half, radius)
    }

    /// About `middle`, its first two sides along `axes` (unit, at right angles).
    fn turned(middle: [f64; 3], axes: [[f64; 3]; 2], half: [f64; 3], radius: f64) -> Self {
        let [x, y] = axes;
        let z = matrix::cross(x, y);
        let columns = [
            [x[0], x[1], x[2], 0.0],
            [y[0], y[1], y[2], 0.0],
            [z[0], z[1], z[2], 0.0],
            [middle[0], middle[1], middle[2], 1.0],
        ];
        let mut room_from_block = [0.0; 16];
        for (to, from) in room_from_block.iter_mut().zip(columns.as_flattened()) {
            *to = *from;
        }
        let smallest = half.iter().copied().fold(f64::INFINITY, f64::min);
        Self {
            half: matrix::single3(half),
            radius: matrix::narrow(radius.min(smallest)),
            room_from_block: matrix::single(&room_from_block),
        }
    }

    /// A bar from `from` to `to`.
    fn bar(from: [f64; 3], to: [f64; 3], thick: f64) -> Self {
        let along = [0, 1, 2].map(|axis| to[axis] - from[axis]);
        let length = matrix::dot(along, along).sqrt();
        let x = matrix::unit(along);
        let aside = if x[1].abs() < 0.9 {
            [0.0, 1.0, 0.0]
        } else {
            [1.0, 0.0, 0.0]
        };
        let z = matrix::unit(matrix::cross(x, aside));
        let y = matrix::cross(z, x);
        let middle = [0, 1, 2].map(|axis| (from[axis] + to[axis]) / 2.0);
        Self::turned(middle, [x, y], [length / 2.0, thick, thick], thick)
    }
}

/// The shown body in the room.
struct Lying<'a> {
    position: BodyPosition,
    skin: Option<&'a PosedSkin>,
    limbs: Option<[LimbPlaces; 2]>,
    low: [f64; 3],
    high: [f64; 3],
}

/// Smallest and largest corner of the shown body's box in the room, mm.
pub(crate) fn room_bounds(state: &State) -> ([f64; 3], [f64; 3]) {
    bounds(state.position(), state.shown_skin().map(AsRef::as_ref))
}

fn bounds(position: BodyPosition, skin: Option<&PosedSkin>) -> ([f64; 3], [f64; 3]) {
    let (low, high) = skin.map_or(USUAL_BOUNDS, PosedSkin::bounds);
    let (a, b) = (in_room(position, low), in_room(position, high));
    // Every position turns axes into axes, so two opposite corners of the box stay opposite corners.
    let pick = |choose: fn(f64, f64) -> f64| [0, 1, 2].map(|axis| choose(a[axis], b[axis]));
    (pick(f64::min), pick(f64::max))
}

fn in_room(position: BodyPosition, at: [f64; 3]) -> [f64; 3] {
    let point: Point<Room> = position
        .room_from_posed()
        .apply_point(Point::<Posed>::from_array(at));
    point.to_array()
}

/// What a body in this posture lies or sits on.
pub(crate) fn furniture(posture: &Posture, skin: Option<&PosedSkin>) -> Furniture {
    let position = posture.position();
    let (low, high) = bounds(position, skin);
    let body = Lying {
        position,
        skin,
        limbs: posture.limbs(),
        low,
        high,
    };
    match body.limbs {
        Some(limbs) => body.on_bed(limbs),
        None => body.on_pad(),
    }
}

impl Lying<'_> {
    /// A pad of its own size for a body without limbs, and for one that is not here yet.
    fn on_pad(&self) -> Furniture {
        // A newborn's head gets a pad of its own size, not a bed.
        let margin = |length: f64, least: f64| least.min(length * 0.35);
        let (low, high) = (self.low, self.high);
        let end = margin(high[0] - low[0], END_MARGIN_MM);
        let side = margin(high[1] - low[1], SIDE_MARGIN_MM);
        let thick = THICKNESS_MM.min((high[2] - low[2]).max(1.0) * 0.4);
        Furniture {
            rest_height: matrix::narrow(low[2]),
            blocks: vec![Block::level(
                [low[0] - end, low[1] - side, low[2] - thick],
                [high[0] + end, high[1] + side, low[2]],
                thick * 0.35,
            )],
        }
    }

    fn on_bed(&self, limbs: [LimbPlaces; 2]) -> Furniture {
        let (low, high) = (self.low, self.high);
        let scale = (limbs[0].hip - limbs[0].knee).norm() / 389.0;
        // The nearer of the two sides' joints along the bed.
        let least = |place: fn(&LimbPlaces) -> Point<Posed>| {
            let [left, right] = limbs.each_ref().map(|side| self.room(place(side))[0]);
            left.min(right)
        };
        let (start, end) = match self.position {
            BodyPosition::Seated => {
                let end = least(|side| side.knee) - 75.0 * scale;
                (end - 640.0, end)
            }
            BodyPosition::Lithotomy => (
                low[0] - END_MARGIN_MM,
                least(|side| side.hip) + 95.0 * scale,
            ),
            BodyPosition::Prone => (
                low[0] - END_MARGIN_MM,
                least(|side| side.ankle) - 10.0 * scale,
            ),
            _ => (low[0] - END_MARGIN_MM, high[0] + END_MARGIN_MM),
        };
        let rest = self.rest(least(|side| side.shoulder), end, scale);
        let (right, left) = match self.position {
            BodyPosition::Seated => (-520.0, 520.0),
            _ => (low[1] - SIDE_MARGIN_MM, high[1] + SIDE_MARGIN_MM),
        };
        let mut blocks = vec![Block::level(
            [start, right, rest - THICKNESS_MM],
            [end, left, rest],
            THICKNESS_MM * 0.35,
        )];
        match self.position {
            BodyPosition::Seated => blocks.push(self.step(&limbs)),
            BodyPosition::Lithotomy => {
                for side in &limbs {
                    blocks.extend(self.leg_support(side, end, rest, scale));
                }
                blocks.extend(self.pillow(rest, scale));
            }
            BodyPosition::Prone => {}
            _ => blocks.extend(self.pillow(rest, scale)),
        }
        Furniture {
            rest_height: matrix::narrow(rest),
            blocks,
        }
    }

    /// Height of the mattress: the trunk decides, hands and feet may lie a little deeper or higher.
    fn rest(&self, shoulders: f64, end: f64, scale: f64) -> f64 {
        let trunk = |at: [f64; 3]| at[1].abs() < TRUNK_MM * scale;
        let (lowest, sinks) = match self.position {
            BodyPosition::LeftSideDown | BodyPosition::RightSideDown => (
                self.lowest(|at| (at[0] - shoulders).abs() < 60.0 * scale && trunk(at)),
                SHOULDER_SINKS_MM * scale,
            ),
            // Hands on the thighs and everything else stay above what is sat on.
            BodyPosition::Seated => (self.lowest(|at| at[0] <= end), 0.0),
            _ => (self.lowest(|at| at[0] <= end && trunk(at)), 0.0),
        };
        lowest.unwrap_or(self.low[2]) + sinks
    }

    fn room(&self, at: Point<Posed>) -> [f64; 3] {
        in_room(self.position, at.to_array())
    }

    /// Height of the lowest skin among the places that `counts`.
    fn lowest(&self, counts: impl Fn([f64; 3]) -> bool) -> Option<f64> {
        let positions = &self.skin?.mesh().positions;
        let heights = positions.iter().filter_map(|at| {
            let at = in_room(self.position, at.map(f64::from));
            counts(at).then_some(at[2])
        });
        heights.fold(None, |low: Option<f64>, z| {
            Some(low.map_or(z, |low| low.min(z)))
        })
    }

    /// A pillow that fills the gap between bed and head, where there is one worth filling.
    fn pillow(&self, rest: f64, scale: f64) -> Option<Block> {
        const SMALLEST_GAP_MM: f64 = 12.0;
        /// How far the head sinks in.
        const SINKS_MM: f64 = 12.0;
        let crown = self.low_head();
        let under =
            self.lowest(|at| at[0] < crown + 190.0 * scale && at[1].abs() < 140.0 * scale)?;
        if under - rest < SMALLEST_GAP_MM {
            return None;
        }
        let top = under + SINKS_MM;
        Some(Block::level(
            [crown - 60.0, -210.0 * scale, rest - 6.0],
            [crown + 205.0 * scale, 210.0 * scale, top],
            (top - rest) * 0.5,
        ))
    }

    /// Where the crown of the head is along the bed.
    fn low_head(&self) -> f64 {
        // Hands may lie beyond the head, so only what is near the mid-line counts.
        let positions = self.skin.map_or(&[][..], |skin| &skin.mesh().positions);
        positions
            .iter()
            .filter(|at| at[0].abs() < 40.0 && at[2] > 0.0)
            .map(|at| in_room(self.position, at.map(f64::from))[0])
            .fold(f64::INFINITY, f64::min)
            .max(self.low[0])
    }

    /// A step under the feet of someone who sits.
    fn step(&self, limbs: &[LimbPlaces; 2]) -> Block {
        let [left, right] = limbs.each_ref().map(|side| self.room(side.ankle));
        let (x, floor) = ((left[0] + right[0]) / 2.0, self.low[2]);
        let reach = (left[1] - right[1]).abs() / 2.0 + 110.0;
        Block::level(
            [x - 130.0, -reach, floor - 60.0],
            [x + 270.0, reach, floor],
            24.0,
        )
    }

    /// A pad under the lower leg and the bar that holds it from the end of the bed.
    fn leg_support(&self, side: &LimbPlaces, end: f64, rest: f64, scale: f64) -> [Block; 2] {
        const HALF_THICK_MM: f64 = 13.0;
        let (knee, ankle) = (self.room(side.knee), self.room(side.ankle));
        let along = matrix::unit([0, 1, 2].map(|axis| ankle[axis] - knee[axis]));
        let across = matrix::unit(matrix::cross([0.0, 0.0, 1.0], along));
        let up = matrix::cross(along, across);
        // Under the calf, and a little into it.
        let calf = [0, 1, 2].map(|axis| knee[axis] + (ankle[axis] - knee[axis]) * 0.40);
        let middle = matrix::add_scaled(calf, up, -(66.0 * scale + HALF_THICK_MM - 6.0));
        let pad = Block::turned(
            middle,
            [along, across],
            [120.0 * scale, 62.0 * scale, HALF_THICK_MM],
            HALF_THICK_MM,
        );
        let foot = [end - 12.0, middle[1] * 0.9, rest - THICKNESS_MM / 2.0];
        [pad, Block::bar(foot, middle, 9.0)]
    }
}
