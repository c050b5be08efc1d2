//! What the field of view shows: structures with visible area, depth, place, axis and segment.
//!
//! Everything is measured after painting, so a structure counts only where nothing of higher priority covers it and
//! only inside the field. Areas come from exact runs on [`LINES`] lines across the field.

use anatomy::{AxisView, Body, Section, StructureIndex, SurfaceKind, axis_view};
use geometry::{Angle, Direction, Patient};

use crate::field::{Bounds, Field};
use crate::press::Press;
use crate::scan::{Label, Painter, RunMap};
use crate::schematic::paint_section;

/// A smaller area than this, mm2, is the rounding of a plane that only touches a structure.
const LEAST_MM2: f64 = 1e-6;

/// Scan lines across the height of the field.
pub const LINES: u32 = 512;
/// Every so many lines there is a row of the grid that finds the roomiest place of each structure.
const GRID_STEP: usize = 4;
/// Grid cells of the same height and width as a grid row, at most; fields are never wider than this many heights.
const MOST_CELLS_ACROSS: usize = 512;
/// Steps of the distance along and across, and diagonally: the usual integer weights 3 and 4 for 1 and root 2
/// (Borgefors, Computer Vision, Graphics, and Image Processing 1986; 34: 344-371).
const STRAIGHT: u16 = 3;
const DIAGONAL: u16 = 4;

/// One structure in the picture.
#[derive(Debug, Clone)]
pub struct Seen {
    /// Which.
    pub structure: StructureIndex,
    /// Visible area with the wall, mm2.
    pub area_mm2: f64,
    /// The part of that area that is wall, mm2.
    pub wall_mm2: f64,
    /// Depth of its nearest visible point from the face along the beam, mm.
    pub depth_mm: f64,
    /// A point inside the visible part, image mm: the centre of area when that is well inside, else the place with
    /// the most room around it.
    pub centre: [f64; 2],
    /// Distance from `centre` to the edge of the visible part, mm (about 2 % of the field's height).
    pub room_mm: f64,
    /// The smallest rectangle around the visible part, image mm.
    pub bounds: Bounds,
    /// How the plane shows its long axis at `centre`, with the angle between axis and plane; `None` without an axis.
    pub axis: Option<(AxisView, Angle)>,
    /// Direction of that axis in the patient frame.
    pub axis_direction: Option<Direction<Patient>>,
    /// Number in the structure's `segments` of the segment at `centre`.
    pub segment: Option<usize>,
    /// Share (0 to 1) of a vein's lumen that a pressed probe leaves open; 1 for all else and without pressing, see
    /// [`Contents::under`].
    pub open: f64,
}

/// The layers between the outside and the organs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SkinLayer {
    /// Skin.
    Skin,
    /// Fat under the skin.
    Fat,
    /// Muscle that no structure claims.
    Muscle,
}

impl SkinLayer {
    /// "skin", "fat", "muscle".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Skin => "skin",
            Self::Fat => "fat",
            Self::Muscle => "muscle",
        }
    }
}

/// One of those layers in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerSeen {
    /// Which.
    pub layer: SkinLayer,
    /// Visible area, mm2.
    pub area_mm2: f64,
    /// Depth of its nearest visible point, mm.
    pub depth_mm: f64,
}

/// All that the field of view shows of a section.
#[derive(Debug, Clone, Default)]
pub struct Contents {
    /// Structures, nearest first.
    pub structures: Vec<Seen>,
    /// Layers under the skin, nearest first.
    pub layers: Vec<LayerSeen>,
    /// Area of the field that lies outside the skin, gel not counted as tissue, mm2.
    pub outside_mm2: f64,
    /// Area of the field, mm2.
    pub field_mm2: f64,
    map: Map,
}

/// The run map behind the contents, for questions about single points.
#[derive(Debug, Clone, Default)]
struct Map {
    runs: RunMap,
    top_mm: f64,
    step_mm: f64,
    owner: Vec<Owner>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Owner {
    Wall(StructureIndex),
    Solid(StructureIndex),
    Layer(SkinLayer),
}

impl Owner {
    fn structure(self) -> Option<StructureIndex> {
        match self {
            Self::Wall(index) | Self::Solid(index) => Some(index),
            Self::Layer(_) => None,
        }
    }
}

impl Contents {
    /// The structure visible at a point (image mm); `None` outside the field, outside the skin and in plain layers.
    ///
    /// Exact across the picture, to half a line ([`LINES`]) down it.
    #[must_use]
    pub fn structure_at(&self, at: [f64; 2]) -> Option<StructureIndex> {
        let line = ((at[1] - self.map.top_mm) / self.map.step_mm).floor();
        if !(0.0..f64::from(LINES)).contains(&line) {
            return None;
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and LINES"
        )]
        let label = self.map.runs.at(line as usize, at[0]);
        self.map
            .owner
            .get(usize::from(label))
            .and_then(|owner| owner.structure())
    }

    /// The same contents with what pressing did to the veins; `press` is that of the section they were read from.
    #[must_use]
    pub fn under(mut self, press: &Press) -> Self {
        for squeezed in press.squeezed() {
            let found = self
                .structures
                .iter_mut()
                .find(|seen| seen.structure == squeezed.structure);
            if let Some(seen) = found {
                seen.open = squeezed.open;
            }
        }
        self
    }

    /// What is seen of one structure.
    #[must_use]
    pub fn find(&self, structure: StructureIndex) -> Option<&Seen> {
        self.structures
            .iter()
            .find(|seen| seen.structure == structure)
    }
}

/// Sums of one structure while its runs pass by.
#[derive(Debug, Clone)]
struct Sum {
    area: f64,
    wall: f64,
    moment: [f64; 2],
    depth: f64,
    bounds: Bounds,
    longest: (f64, [f64; 2]),
    roomiest: (u16, [f64; 2]),
}

impl Default for Sum {
    fn default() -> Self {
        Self {
            area: 0.0,
            wall: 0.0,
            moment: [0.0; 2],
            depth: f64::MAX,
            bounds: Bounds {
                min: [f64::MAX; 2],
                max: [f64::MIN; 2],
            },
            longest: (0.0, [0.0; 2]),
            roomiest: (0, [0.0; 2]),
        }
    }
}

impl Sum {
    fn add(&mut self, from: f64, to: f64, y: f64, step: f64, depth: f64) {
        let length = to - from;
        let area = length * step;
        self.area += area;
        self.moment[0] += area * (from + to) / 2.0;
        self.moment[1] += area * y;
        self.depth = self.depth.min(depth);
        self.bounds.min = [
            self.bounds.min[0].min(from),
            self.bounds.min[1].min(y - step / 2.0),
        ];
        self.bounds.max = [
            self.bounds.max[0].max(to),
            self.bounds.max[1].max(y + step / 2.0),
        ];
        if length > self.longest.0 {
            self.longest = (length, [(from + to) / 2.0, y]);
        }
    }
}

/// Looks at what `field` shows of `section`.
#[must_use]
pub fn contents(body: &Body, section: &Section, field: &Field) -> Contents {
    let bounds = field.bounds();
    let step_mm = bounds.height() / f64::from(LINES);
    let mut painter = Painter::default();
    painter.begin(LINES, bounds.min[0], bounds.max[0]);
    let place = |at: [f64; 2]| [at[0], (at[1] - bounds.min[1]) / step_mm - 0.5];
    paint_section(&mut painter, body, section, &[], &place);
    painter.mask();
    painter.add_loop(field.outline().iter().map(|p| place(*p)));
    let mut map = Map {
        runs: RunMap::default(),
        top_mm: bounds.min[1],
        step_mm,
        owner: owners(body),
    };
    painter.paint(&mut map.runs);
    let mut sums: Vec<Sum> = vec![Sum::default(); body.structures().len()];
    let mut layers: [Sum; 3] = Default::default();
    let (mut field_mm2, mut tissue_mm2) = (0.0, 0.0);
    for line in 0..map.runs.len() {
        let y = map.y_of(line);
        for (from, to, label) in map.runs.pieces(line) {
            if label == crate::scan::BEYOND {
                continue;
            }
            field_mm2 += (to - from) * step_mm;
            let Some(owner) = map.owner.get(usize::from(label)) else {
                continue;
            };
            tissue_mm2 += (to - from) * step_mm;
            // A scan line just outside the arc of the face would otherwise give a depth below zero.
            let depth = field.depth_of(field.shallowest(from, to, y)).max(0.0);
            match *owner {
                Owner::Layer(layer) => layers[layer as usize].add(from, to, y, step_mm, depth),
                Owner::Solid(index) => sums[index.0].add(from, to, y, step_mm, depth),
                Owner::Wall(index) => {
                    sums[index.0].add(from, to, y, step_mm, depth);
                    sums[index.0].wall += (to - from) * step_mm;
                }
            }
        }
    }
    let grid = Grid::new(&map, bounds);
    grid.find_room(&mut sums);
    let mut structures: Vec<Seen> = sums
        .iter()
        .enumerate()
        .filter(|(_, sum)| sum.area > LEAST_MM2)
        .map(|(number, sum)| seen(body, section, &grid, StructureIndex(number), sum))
        .collect();
    structures.sort_by(|a, b| {
        a.depth_mm
            .total_cmp(&b.depth_mm)
            .then(a.structure.cmp(&b.structure))
    });
    let mut layers: Vec<LayerSeen> = [SkinLayer::Skin, SkinLayer::Fat, SkinLayer::Muscle]
        .into_iter()
        .zip(&layers)
        .filter(|(_, sum)| sum.area > LEAST_MM2)
        .map(|(layer, sum)| LayerSeen {
            layer,
            area_mm2: sum.area,
            depth_mm: sum.depth,
        })
        .collect();
    layers.sort_by(|a, b| {
        a.depth_mm
            .total_cmp(&b.depth_mm)
            .then(a.layer.cmp(&b.layer))
    });
    Contents {
        structures,
        layers,
        outside_mm2: (field_mm2 - tissue_mm2).max(0.0),
        field_mm2,
        map,
    }
}

fn owners(body: &Body) -> Vec<Owner> {
    body.surfaces()
        .iter()
        .map(|surface| match surface.kind {
            SurfaceKind::Skin => Owner::Layer(SkinLayer::Skin),
            SurfaceKind::Dermis => Owner::Layer(SkinLayer::Fat),
            SurfaceKind::Muscle => Owner::Layer(SkinLayer::Muscle),
            SurfaceKind::Wall(index) => Owner::Wall(index),
            SurfaceKind::Solid(index) => Owner::Solid(index),
        })
        .collect()
}

fn seen(body: &Body, section: &Section, grid: &Grid<'_>, index: StructureIndex, sum: &Sum) -> Seen {
    let middle = [sum.moment[0] / sum.area, sum.moment[1] / sum.area];
    let (most, roomiest) = sum.roomiest;
    let at_middle = grid.room(index, middle);
    // The centre of area moves smoothly with the plane; the roomiest place may jump.
    let (centre, room) = if most > 0 && u32::from(at_middle) * 10 >= u32::from(most) * 7 {
        (middle, at_middle)
    } else if most > 0 {
        (roomiest, most)
    } else {
        (sum.longest.1, 0)
    };
    let structure = body.structure(index);
    let place = section.plane().to_patient(centre);
    let direction = structure.axis_on(section.plane(), place);
    Seen {
        structure: index,
        area_mm2: sum.area,
        wall_mm2: sum.wall,
        depth_mm: sum.depth,
        centre,
        room_mm: if room > 0 {
            grid.room_mm(room)
        } else {
            sum.longest.0.min(sum.bounds.height()) / 2.0
        },
        bounds: sum.bounds,
        axis: direction.map(|axis| axis_view(axis, section.plane().normal())),
        axis_direction: direction,
        segment: structure
            .segment_at(place)
            .and_then(|segment| structure.segments.iter().position(|s| s.id == segment.id)),
        open: 1.0,
    }
}

impl Map {
    fn y_of(&self, line: usize) -> f64 {
        self.top_mm + (to_f64(line) + 0.5) * self.step_mm
    }

    fn structure(&self, label: Label) -> Option<StructureIndex> {
        self.owner
            .get(usize::from(label))
            .and_then(|owner| owner.structure())
    }
}

/// Square cells over the field: which structure each shows and how far its edge is.
#[derive(Debug)]
struct Grid<'a> {
    map: &'a Map,
    left_mm: f64,
    cell_mm: f64,
    across: usize,
    down: usize,
    shows: Vec<Option<StructureIndex>>,
    room: Vec<u16>,
}

impl<'a> Grid<'a> {
    fn new(map: &'a Map, bounds: Bounds) -> Self {
        let cell_mm = map.step_mm * to_f64(GRID_STEP);
        let wanted = bounds.width() / cell_mm;
        let across = (1..MOST_CELLS_ACROSS)
            .find(|n| to_f64(*n) >= wanted)
            .unwrap_or(MOST_CELLS_ACROSS);
        let down = map.runs.len() / GRID_STEP;
        let mut grid = Self {
            map,
            left_mm: bounds.min[0],
            cell_mm,
            across,
            down,
            shows: vec![None; across * down],
            room: vec![0; across * down],
        };
        for row in 0..down {
            for (from, to, label) in map.runs.pieces(row * GRID_STEP + GRID_STEP / 2) {
                let Some(structure) = map.structure(label) else {
                    continue;
                };
                let (from, to) = (
                    grid.column(from + cell_mm / 2.0),
                    grid.column(to + cell_mm / 2.0),
                );
                grid.shows[row * across + from..row * across + to].fill(Some(structure));
            }
        }
        grid.measure();
        grid
    }

    /// Distance to the nearest cell that shows something else, in thirds of a cell, in two passes.
    fn measure(&mut self) {
        let (across, down) = (self.across, self.down);
        for pass in 0..2 {
            for step in 0..across * down {
                let cell = if pass == 0 {
                    step
                } else {
                    across * down - 1 - step
                };
                let Some(own) = self.shows[cell] else {
                    continue;
                };
                let (x, y) = (cell % across, cell / across);
                let mut least = if pass == 0 { u16::MAX } else { self.room[cell] };
                let steps = [
                    (1, 0, STRAIGHT),
                    (1, 1, DIAGONAL),
                    (0, 1, STRAIGHT),
                    (-1_i8, 1, DIAGONAL),
                ];
                for (dx, dy, weight) in steps {
                    let (nx, ny) = if pass == 0 {
                        (back(x, dx), y.checked_sub(dy))
                    } else {
                        (back(x, -dx), Some(y + dy))
                    };
                    let neighbour = nx
                        .zip(ny)
                        .filter(|(nx, ny)| *nx < across && *ny < down)
                        .map(|(nx, ny)| ny * across + nx);
                    let there = match neighbour {
                        Some(n) if self.shows[n] == Some(own) => self.room[n],
                        _ => 0,
                    };
                    least = least.min(there.saturating_add(weight));
                }
                self.room[cell] = least;
            }
        }
    }

    /// Notes for every structure its cell with the most room.
    fn find_room(&self, sums: &mut [Sum]) {
        for (cell, structure) in self.shows.iter().enumerate() {
            if let Some(sum) = structure.and_then(|index| sums.get_mut(index.0))
                && self.room[cell] > sum.roomiest.0
            {
                sum.roomiest = (self.room[cell], self.centre(cell));
            }
        }
    }

    fn centre(&self, cell: usize) -> [f64; 2] {
        let (x, y) = (cell % self.across, cell / self.across);
        [
            self.left_mm + (to_f64(x) + 0.5) * self.cell_mm,
            self.map.y_of(y * GRID_STEP + GRID_STEP / 2),
        ]
    }

    /// Room at a point if that structure shows there, else 0.
    fn room(&self, structure: StructureIndex, at: [f64; 2]) -> u16 {
        let row = ((at[1] - self.map.top_mm) / self.cell_mm).floor();
        if !(0.0..to_f64(self.down)).contains(&row) {
            return 0;
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and the number of rows"
        )]
        let cell = row as usize * self.across + self.column(at[0]).min(self.across - 1);
        if self.shows[cell] == Some(structure) {
            self.room[cell]
        } else {
            0
        }
    }

    fn room_mm(&self, room: u16) -> f64 {
        // A cell next to another structure is on average half a cell from the border.
        (f64::from(room) / f64::from(STRAIGHT) - 0.5) * self.cell_mm
    }

    /// Number of whole cells from the left edge to x, at most all of them.
    fn column(&self, x: f64) -> usize {
        let n = ((x - self.left_mm) / self.cell_mm)
            .floor()
            .clamp(0.0, to_f64(self.across));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the number of columns"
        )]
        let n = n as usize;
        n
    }
}

fn back(x: usize, by: i8) -> Option<usize> {
    match by {
        0 => Some(x),
        1 => x.checked_sub(1),
        _ => x.checked_add(1),
    }
}

fn to_f64(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
