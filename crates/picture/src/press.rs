//! The pressed probe: skin stays at the face, the tissue between is shortened, veins flatten, arteries do not.
//!
//! A pressed face stands inside the body of a section, which knows nothing of pressing. [`press_section`] bends the
//! section's outlines, once, before anything is painted from them, so that pixels, grey-scale, labels, areas and words
//! all show the same pressed body.
//!
//! The image plane is walked in columns along the central beam. In each the skin that lies behind the face is brought
//! back to it by shortening what lies in front of it; every tissue has a share in that by its softness and by how much
//! of the pressure still reaches it, and bone stays where it is. Beside the face the dent runs out. This is our
//! simplification of an elastic body: shifts along the central beam only, without bulging aside. Softness and reach
//! are chosen by eye so that a leg vein closes at about 10 mm of pressing; common practice, no source. That a healthy
//! leg vein closes under the probe while the artery beside it stays round is the criterion of compression
//! ultrasonography (Lensing and others, N Engl J Med 1989; 320: 342-345, from memory).
//!
//! Speckle and texture stay where the body was: they are not shortened with the tissue.

use anatomy::{Body, Section, StructureIndex, SurfaceKind, System};
use geometry::Loops;

use crate::field::Field;
use crate::scan::{BEYOND, Label, OUTSIDE, Painter, RunMap};
use crate::schematic::paint_section;
use crate::transducer::FaceShape;

/// How far behind the face skin is looked for, mm: the deepest press and the edge drop of the most curved face.
const BEHIND_MM: f64 = 45.0;

/// Where the walk along a column ends, mm; deeper nothing of the pressure arrives.
const DEEPEST_MM: f64 = 200.0;

/// Depth under the skin over which the pressure falls to 1/e, mm.
const REACH_MM: f64 = 60.0;

/// Distance between columns, mm.
const COLUMN_MM: f64 = 0.5;

/// Distance beside the face over which the dent falls to 1/e, and how far it is followed, mm.
const DENT_MM: f64 = 10.0;
const BESIDE_MM: f64 = 24.0;

/// Dents shallower than this are the unevenness of the skin's mesh, mm.
const LEAST_MM: f64 = 0.05;

/// Longest piece of an outline that is bent as one along a column, mm.
const PIECE_MM: f64 = 1.0;

/// How a tissue gives way.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Softness {
    /// Shortening against that of muscle under the same pressure.
    give: f64,
    /// Greatest share of its length that it can lose.
    most: f64,
    /// Nothing behind it is pressed.
    stops: bool,
}

const MUSCLE: Softness = Softness {
    give: 1.0,
    most: 0.65,
    stops: false,
};
const FAT: Softness = Softness {
    give: 2.0,
    most: 0.75,
    stops: false,
};
const VEIN: Softness = Softness {
    give: 30.0,
    most: 0.97,
    stops: false,
};
/// Arterial pressure holds the lumen open.
const ARTERY: Softness = Softness {
    give: 0.0,
    most: 0.0,
    stops: false,
};
/// Fluid gives way aside, not in volume: little along the beam.
const FLUID: Softness = Softness {
    give: 0.4,
    most: 0.3,
    stops: false,
};
const HARD: Softness = Softness {
    give: 0.0,
    most: 0.0,
    stops: true,
};

/// What pressing did to one vein.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Squeezed {
    /// Which.
    pub structure: StructureIndex,
    /// Share (0 to 1) of its lumen's area under the face that is still open.
    pub open: f64,
}

/// No tissue is moved further than this, mm.
const MOST_SHIFT_MM: f64 = 100.0;

/// Working memory of [`press_section`], and what it found in the latest section.
#[derive(Debug, Clone, Default)]
pub struct Press {
    of: Vec<Softness>,
    painter: Painter,
    runs: RunMap,
    spare: Loops,
    /// How far the skin is to be moved in each column, mm.
    wanted: Vec<f64>,
    dent: Dent,
    /// Whether the latest section was dented.
    dented: bool,
    /// Area of every vein's lumen under the face, before and after, by structure.
    lumens: Vec<[f64; 2]>,
    squeezed: Vec<Squeezed>,
    // Of one column.
    line: Vec<Piece>,
}

/// A visible run of one column under the skin.
#[derive(Debug, Clone, Copy)]
struct Piece {
    from: f64,
    length: f64,
    soft: Softness,
    label: Label,
    /// What it is still asked to give.
    weight: f64,
    shorter: f64,
}

/// Shifts along the columns, toward larger depths.
#[derive(Debug, Clone, Default)]
struct Dent {
    left_mm: f64,
    /// Shift of everything beyond the columns and below the knots, mm.
    all_mm: f64,
    /// Knots (depth, shift) of every column in order of depth.
    knots: Vec<[f64; 2]>,
    /// First knot of every column, and the end of the last.
    first: Vec<usize>,
    /// Depth below which only the common shift is left, mm.
    ends_mm: f64,
}

impl Press {
    /// Veins that the latest section shows squeezed, in the order of the body's structures.
    #[must_use]
    pub fn squeezed(&self) -> &[Squeezed] {
        &self.squeezed
    }

    /// Depth at which the tissue lay that the latest pressed section shows at image x and `depth`, mm along the beam.
    pub(crate) fn depth_before(&self, x: f64, depth: f64) -> f64 {
        if !self.dented {
            return depth;
        }
        // Tissue only gets shorter, so shown depths rise with those before.
        let (mut low, mut high) = (depth - MOST_SHIFT_MM, depth + MOST_SHIFT_MM);
        for _ in 0..40 {
            let middle = (low + high) / 2.0;
            if middle + self.dent.shift(x, middle) < depth {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low + high) / 2.0
    }

    fn prepare(&mut self, body: &Body) {
        self.of.clear();
        self.of.extend(body.surfaces().iter().map(|surface| {
            let tissue = body.tissue(surface.tissue);
            let system = match surface.kind {
                SurfaceKind::Solid(index) | SurfaceKind::Wall(index) => {
                    Some(body.structure(index).system)
                }
                _ => None,
            };
            match (tissue.key.as_str(), system) {
                ("blood", Some(System::Venous)) => VEIN,
                ("blood" | "vessel_wall", Some(System::Arterial | System::Cardiac)) => ARTERY,
                ("bone" | "bone_neonate" | "cartilage" | "disc" | "lung" | "fontanelle", _) => HARD,
                ("urine" | "bile" | "csf" | "serous_fluid", _) => FLUID,
                (key, _) if key.starts_with("fat") => FAT,
                _ => MUSCLE,
            }
        }));
    }

    /// Walks all columns; whether anything is dented.
    fn measure(&mut self, face: &Face) -> bool {
        let columns = self.runs.len();
        let x_of = |column: usize| face.left_mm + count(column) * COLUMN_MM;
        self.wanted.clear();
        let mut edges = [0.0; 2];
        for column in 0..columns {
            let x = x_of(column);
            let wanted = match (face.depth_at(x), skin_of(&self.runs, column, face, x)) {
                (Some(depth), Some(skin)) => (depth - skin).max(0.0) * face.ease,
                _ => 0.0,
            };
            self.wanted.push(wanted);
            if face.depth_at(x).is_some() {
                edges[1] = wanted;
                if face.depth_at(x - COLUMN_MM).is_none() {
                    edges[0] = wanted;
                }
            }
        }
        for column in 0..columns {
            let x = x_of(column);
            if face.depth_at(x).is_none() {
                let beside = (x.abs() - face.half_mm) / DENT_MM;
                let edge = edges[usize::from(x > 0.0)];
                self.wanted[column] = edge * libm::exp(-beside * beside);
            }
        }
        if self.wanted.iter().all(|wanted| *wanted < LEAST_MM) {
            return false;
        }
        // What a column cannot take up pushes the whole body away.
        let mut over = 0.0;
        for column in 0..columns {
            if self.wanted[column] > over && face.depth_at(x_of(column)).is_some() {
                self.take(column, face, x_of(column));
                let room: f64 = self.line.iter().map(|p| p.soft.most * p.length).sum();
                over = f64::max(over, self.wanted[column] - room);
            }
        }
        self.dent.left_mm = face.left_mm;
        self.dent.all_mm = over;
        self.dent.knots.clear();
        self.dent.first.clear();
        self.dent.ends_mm = 0.0;
        for column in 0..columns {
            let x = x_of(column);
            let wanted = self.wanted[column] - over;
            self.dent.first.push(self.dent.knots.len());
            self.take(column, face, x);
            shorten(&mut self.line, wanted);
            self.note_knots(over);
            if face.depth_at(x).is_some() {
                self.note_lumens();
            }
        }
        self.dent.first.push(self.dent.knots.len());
        true
    }

    /// Fills `line` with the tissue of one column from the skin to what stops the pressure.
    fn take(&mut self, column: usize, face: &Face, x: f64) {
        self.line.clear();
        let Some(skin) = skin_of(&self.runs, column, face, x) else {
            return;
        };
        for (from, to, label) in self.runs.pieces(column) {
            if from < skin {
                continue;
            }
            let soft = self.of.get(usize::from(label)).copied().unwrap_or(MUSCLE);
            if soft.stops || is_bare(label) {
                break;
            }
            let pressure = |depth: f64| libm::exp(-depth / REACH_MM);
            // The pressure summed over the run.
            let sum = REACH_MM * (pressure(from - skin) - pressure(to - skin));
            self.line.push(Piece {
                from,
                length: to - from,
                soft,
                label,
                weight: soft.give * sum,
                shorter: 0.0,
            });
        }
    }

    fn note_knots(&mut self, over: f64) {
        let mut shift = over + self.line.iter().map(|piece| piece.shorter).sum::<f64>();
        let mut end = 0.0;
        for piece in &self.line {
            self.dent.knots.push([piece.from, shift]);
            shift -= piece.shorter;
            end = piece.from + piece.length;
            if piece.shorter > 1e-3 {
                self.dent.ends_mm = f64::max(self.dent.ends_mm, end);
            }
        }
        self.dent.knots.push([end, over]);
    }

    fn note_lumens(&mut self) {
        for piece in &self.line {
            if piece.soft == VEIN
                && let Some(sums) = self.lumens.get_mut(usize::from(piece.label))
            {
                sums[0] += piece.length;
                sums[1] += piece.length - piece.shorter;
            }
        }
    }
}

/// Bends the outlines of `section` as a body gives way to the face of `field`, and notes in `press` which veins are
/// squeezed. A section that nothing presses on stays as it is, to the bit.
pub fn press_section(body: &Body, field: &Field, section: &mut Section, press: &mut Press) {
    press_face(body, Face::of(field), section, press);
}

/// The same for any face in the plane of the section.
pub(crate) fn press_face(body: &Body, face: Face, section: &mut Section, press: &mut Press) {
    press.squeezed.clear();
    press.dented = false;
    let skin = crate::schematic::skin_loops(section);
    if !skin.flatten().any(|at| face.dents(*at)) {
        return;
    }
    press.prepare(body);
    let lines = columns(&face);
    press.painter.begin(lines, -BEHIND_MM, DEEPEST_MM);
    paint_section(&mut press.painter, body, section, &[], &|at| {
        [at[1] * face.sense, (at[0] - face.left_mm) / COLUMN_MM]
    });
    press.painter.paint(&mut press.runs);
    press.lumens.clear();
    press.lumens.resize(body.surfaces().len(), [0.0; 2]);
    if !press.measure(&face) {
        return;
    }
    press.dented = true;
    let (dent, sense) = (&press.dent, face.sense);
    section.bend(&mut press.spare, |outline, points| {
        dent.bend(outline.points, sense, points);
    });
    let squeezed =
        body.surfaces()
            .iter()
            .zip(&press.lumens)
            .filter_map(|(surface, [before, after])| match surface.kind {
                SurfaceKind::Solid(structure) if *before > 0.0 => Some(Squeezed {
                    structure,
                    open: after / before,
                }),
                _ => None,
            });
    press.squeezed.extend(squeezed);
    press.squeezed.sort_by_key(|one| one.structure);
}

/// The face as it stands in the image plane; depths run along the central beam, whichever way that is on the screen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Face {
    half_mm: f64,
    /// How deep its middle stands, mm; negative for a place on a curved face away from its middle.
    base_mm: f64,
    /// Share of its dent that this plane has, 1 under the face, less beside it.
    ease: f64,
    /// Radius of a curved face.
    radius_mm: Option<f64>,
    sense: f64,
    left_mm: f64,
}

impl Face {
    pub(crate) fn of(field: &Field) -> Self {
        let transducer = field.transducer();
        let half_mm = transducer.face_width.get() / 2.0;
        let radius_mm = match transducer.shape {
            FaceShape::Curved { radius, .. } => Some(radius.get()),
            FaceShape::Flat { .. } | FaceShape::Point { .. } => None,
        };
        Self {
            half_mm,
            base_mm: 0.0,
            ease: 1.0,
            radius_mm,
            sense: field.sense(),
            left_mm: -half_mm - BESIDE_MM,
        }
    }

    /// Depth of the face at image x; `None` beside it.
    fn depth_at(&self, x: f64) -> Option<f64> {
        (x.abs() <= self.half_mm)
            .then(|| self.base_mm + self.radius_mm.map_or(0.0, |r| drop_of(r, x)))
    }

    /// The same, beside the face that of its edge.
    fn nearest_depth(&self, x: f64) -> f64 {
        let x = x.clamp(-self.half_mm, self.half_mm);
        self.base_mm + self.radius_mm.map_or(0.0, |r| drop_of(r, x))
    }

    /// The same face in a plane parallel to the image plane, `beside` mm in elevation; its thickness is curved as
    /// `radius_mm` (common practice for a swept array: the path of its elements).
    pub(crate) fn beside(self, field: &Field, beside: f64, radius_mm: f64) -> Self {
        let half = field.transducer().face_thickness.get() / 2.0;
        Self {
            base_mm: drop_of(radius_mm, beside.clamp(-half, half)),
            ease: ease(beside, half),
            ..self
        }
    }

    /// The face in the plane that crosses the image plane along the beam, `beside` mm from the middle.
    pub(crate) fn crossing(field: &Field, beside: f64, radius_mm: f64) -> Self {
        let whole = Self::of(field);
        let half_mm = field.transducer().face_thickness.get() / 2.0;
        Self {
            half_mm,
            base_mm: whole.nearest_depth(beside),
            ease: ease(beside, whole.half_mm),
            radius_mm: Some(radius_mm),
            sense: whole.sense,
            left_mm: -half_mm - BESIDE_MM,
        }
    }

    /// Whether a point of the skin (image mm) lies behind the face.
    fn dents(&self, at: [f64; 2]) -> bool {
        let depth = at[1] * self.sense;
        // An edge may pass the face with both its ends outside; this much beside it counts.
        const MARGIN_MM: f64 = 6.0;
        at[0].abs() < self.half_mm + MARGIN_MM
            && depth > -BEHIND_MM
            && depth < self.nearest_depth(at[0]) - LEAST_MM
    }
}

/// Share of a dent `beside` mm from the middle of a face that is `half` mm wide to either side.
fn ease(beside: f64, half: f64) -> f64 {
    let out = (beside.abs() - half).max(0.0) / DENT_MM;
    libm::exp(-out * out)
}

/// How far a curved face stands back `x` beside its middle, as a negative depth.
fn drop_of(radius: f64, x: f64) -> f64 {
    let inside = radius * radius - x * x;
    if inside > 0.0 {
        inside.sqrt() - radius
    } else {
        -radius
    }
}

fn columns(face: &Face) -> u32 {
    let wanted = 2.0 * (face.half_mm + BESIDE_MM) / COLUMN_MM;
    (1..4096).find(|n| f64::from(*n) >= wanted).unwrap_or(4096) + 1
}

fn is_bare(label: Label) -> bool {
    matches!(label, OUTSIDE | BEYOND)
}

/// Depth of the skin in one column: the last before the face, else the first behind it.
fn skin_of(runs: &RunMap, column: usize, face: &Face, x: f64) -> Option<f64> {
    let line = face.nearest_depth(x);
    let mut found = None;
    let mut bare = true;
    for (from, _, label) in runs.pieces(column) {
        let enters = bare && !is_bare(label);
        bare = is_bare(label);
        if from > line {
            // Bare at the face: what lies behind it is another part of the body.
            if enters && found.is_none() {
                return Some(from);
            }
            return found;
        }
        if enters {
            found = Some(from);
        } else if bare {
            found = None;
        }
    }
    found
}

/// Shares `wanted` mm of shortening among the pieces of a column.
fn shorten(line: &mut [Piece], wanted: f64) {
    // Whoever can give no more drops out, and the others share the rest; a few rounds settle it.
    let mut left = wanted;
    for _ in 0..6 {
        let total: f64 = line.iter().map(|piece| piece.weight).sum();
        if total <= 0.0 || left < 1e-3 {
            break;
        }
        let share = left / total;
        for piece in &mut *line {
            let room = piece.soft.most * piece.length - piece.shorter;
            let more = share * piece.weight;
            if more >= room {
                piece.weight = 0.0;
                piece.shorter += room;
                left -= room;
            } else {
                piece.shorter += more;
                left -= more;
            }
        }
    }
}

impl Dent {
    /// Shift of a point at image x and depth, mm.
    fn shift(&self, x: f64, depth: f64) -> f64 {
        let columns = self.first.len().saturating_sub(1);
        let place = (x - self.left_mm) / COLUMN_MM;
        if depth >= self.ends_mm || place < 0.0 || place >= count(columns.saturating_sub(1)) {
            return self.all_mm;
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and the number of columns"
        )]
        let column = place as usize;
        let part = place - count(column);
        let (left, right) = (self.at(column, depth), self.at(column + 1, depth));
        left + (right - left) * part
    }

    fn at(&self, column: usize, depth: f64) -> f64 {
        let knots = match (self.first.get(column), self.first.get(column + 1)) {
            (Some(&from), Some(&to)) => self.knots.get(from..to).unwrap_or(&[]),
            _ => &[],
        };
        let after = knots.partition_point(|knot| knot[0] <= depth);
        match (
            after.checked_sub(1).and_then(|i| knots.get(i)),
            knots.get(after),
        ) {
            (Some(&[from, one]), Some(&[to, other])) => {
                one + (other - one) * (depth - from) / (to - from)
            }
            (Some(&[_, shift]), None) | (None, Some(&[_, shift])) => shift,
            (None, None) => self.all_mm,
        }
    }

    /// Adds the bent points of an outline (image mm).
    fn bend(&self, outline: &[[f64; 2]], sense: f64, points: &mut Vec<[f64; 2]>) {
        let Some(&(mut from)) = outline.last() else {
            return;
        };
        let right_mm = self.left_mm + count(self.first.len()) * COLUMN_MM;
        for &to in outline {
            let across = to[0] - from[0];
            let along = to[1] - from[1];
            let shallow = f64::min(from[1] * sense, to[1] * sense) < self.ends_mm;
            let near = (from[0] > self.left_mm || to[0] > self.left_mm)
                && (from[0] < right_mm || to[0] < right_mm);
            let mut pieces = 1.0;
            if shallow && near {
                const MOST: f64 = 400.0;
                let wanted = f64::max(across.abs() / COLUMN_MM, along.abs() / PIECE_MM);
                pieces = wanted.ceil().clamp(1.0, MOST);
            }
            let mut n = 1.0;
            while n <= pieces {
                let part = n / pieces;
                let (x, y) = if n < pieces {
                    (from[0] + across * part, from[1] + along * part)
                } else {
                    (to[0], to[1])
                };
                points.push([x, y + sense * self.shift(x, y * sense)]);
                n += 1.0;
            }
            from = to;
        }
    }
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two columns: muscle, a vessel of 8 mm at 20 mm under the skin, muscle down to bone at 60 mm.
    fn column(depth: f64, vessel: Softness) -> Press {
        let mut painter = Painter::default();
        let mut press = Press {
            of: vec![MUSCLE, vessel, HARD],
            lumens: vec![[0.0; 2]; 3],
            ..Press::default()
        };
        painter.begin(2, -BEHIND_MM, DEEPEST_MM);
        for (label, from, to) in [(0, 0.0, 180.0), (1, 20.0, 28.0), (2, 60.0, 80.0)] {
            painter.layer(label, []);
            let (from, to) = (from - depth, to - depth);
            painter.add_loop([[from, -1.0], [to, -1.0], [to, 2.0], [from, 2.0]]);
        }
        painter.paint(&mut press.runs);
        press
    }

    /// The same with a flat face `depth` mm under the skin; depths count from the skin.
    fn pressed(depth: f64, vessel: Softness) -> Press {
        let mut press = column(depth, vessel);
        let face = Face {
            base_mm: 0.0,
            ease: 1.0,
            half_mm: 5.0,
            radius_mm: None,
            sense: 1.0,
            left_mm: 0.0,
        };
        assert!(press.measure(&face), "dented by {depth} mm");
        press
    }

    #[test]
    fn veins_close_and_arteries_stay_open() {
        let across = |depth: f64, vessel: Softness| {
            let press = pressed(depth, vessel);
            8.0 + press.dent.shift(0.1, 28.0 - depth) - press.dent.shift(0.1, 20.0 - depth)
        };
        let mut last = 8.0;
        for depth in [2.0, 5.0, 8.0, 12.0] {
            let now = across(depth, VEIN);
            assert!(now < last, "{now} mm at {depth} mm of pressing");
            last = now;
        }
        assert!(last < 1.0, "closed at 12 mm: {last}");
        assert!((across(12.0, ARTERY) - 8.0).abs() < 1e-9, "an artery");
        let [before, after] = pressed(12.0, VEIN).lumens[1];
        assert!((before - 16.0).abs() < 1e-9, "two columns of 8 mm");
        assert!(after < 2.0, "{after} is left");
    }

    #[test]
    fn skin_comes_to_the_face_and_bone_stays() {
        for depth in [3.0, 10.0] {
            let press = pressed(depth, VEIN);
            let shift = |at: f64| press.dent.shift(0.1, at - depth);
            assert!((shift(0.0) - depth).abs() < 1e-6, "skin at the face");
            assert!(shift(60.0).abs() < 1e-6, "bone stays: {}", shift(60.0));
            let mut last = 0.0;
            for tenth in 1..600 {
                let at = f64::from(tenth) * 0.1;
                let now = at + shift(at);
                assert!(now > last, "nothing folds: {now} at {at} mm");
                last = now;
            }
        }
    }

    #[test]
    fn what_cannot_be_taken_up_moves_the_body() {
        let press = pressed(44.0, MUSCLE);
        // 60 mm of muscle give way by 39.
        let moved = press.dent.shift(0.1, 110.0);
        assert!((moved - 5.0).abs() < 1e-6, "moved by {moved}");
        let skin = press.dent.shift(0.1, -44.0);
        assert!((skin - 44.0).abs() < 0.01, "skin moved by {skin}");
    }
}
