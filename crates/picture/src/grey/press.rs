//! The pressed probe: skin stays at the face, the tissue between is shortened, veins flatten, arteries do not.
//!
//! A pressed face stands inside the body of the section, which knows nothing of pressing. On each beam the skin that
//! lies behind the face is brought back to it by shortening what lies in front of the face. Every tissue has a share in
//! that by its softness and by how much of the pressure still reaches it. This is our simplification of an elastic
//! body: a displacement along the beams only, without bulging aside. Softness and reach are chosen by eye so that a
//! leg vein closes at 10 to 15 mm of pressing, as in a compression study; common practice, no source.

use anatomy::{Body, SurfaceKind, System};

use super::medium::single;
use crate::gel::GEL;
use crate::scan::{BEYOND, Label, OUTSIDE, Run, RunMap};

/// How far behind the face skin is looked for, mm; pressing farther hurts.
pub(crate) const BEHIND_MM: f64 = 30.0;

/// Depth under the skin over which the pressure falls to 1/e, mm.
const REACH_MM: f32 = 60.0;

/// How a tissue gives way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Softness {
    /// Shortening against that of muscle under the same pressure.
    give: f32,
    /// Greatest share of its length that it can lose.
    most: f32,
    /// Nothing behind it is pressed.
    stops: bool,
}

const MUSCLE: Softness = Softness {
    give: 1.0,
    most: 0.5,
    stops: false,
};
const FAT: Softness = Softness {
    give: 2.0,
    most: 0.6,
    stops: false,
};
const VEIN: Softness = Softness {
    give: 14.0,
    most: 0.96,
    stops: false,
};
/// Arterial pressure holds the lumen open.
const ARTERY: Softness = Softness {
    give: 0.03,
    most: 0.1,
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

/// The softness of every surface of a body.
#[derive(Debug, Clone, Default)]
pub(crate) struct Press {
    of: Vec<Softness>,
    line: Vec<Run>,
    shorter: Vec<f32>,
    weight: Vec<f32>,
}

impl Press {
    pub(crate) fn prepare(&mut self, body: &Body) {
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

    fn softness(&self, label: Label) -> Softness {
        self.of.get(usize::from(label)).copied().unwrap_or(MUSCLE)
    }

    /// Moves the runs of all lines of `from`, which must begin [`BEHIND_MM`] behind the face, so that no skin lies
    /// behind it; what still does is cut away.
    ///
    /// The slopes of the runs stay as they were: echoes of tissue that is pressed flat are those of its old shape.
    pub(crate) fn apply(&mut self, from: &RunMap, to: &mut RunMap) {
        to.clear(from.u_max());
        for k in 0..from.len() {
            self.line.clear();
            self.line.extend_from_slice(from.line(k));
            self.shorten(from.u_max());
            let shown = self
                .line
                .partition_point(|run| run.start <= 0.0)
                .saturating_sub(1);
            if let Some(first) = self.line.get_mut(shown) {
                first.start = 0.0;
            }
            to.push_line(self.line.get(shown..).unwrap_or(&[]));
        }
    }

    /// Shortens the runs in `line`.
    fn shorten(&mut self, end: f64) {
        let bare = |label: Label| matches!(label, OUTSIDE | BEYOND | GEL);
        // The last skin behind the face, if the face is in the body.
        let Some(at_face) = self
            .line
            .partition_point(|run| run.start <= 0.0)
            .checked_sub(1)
        else {
            return;
        };
        if bare(self.line[at_face].label) {
            return;
        }
        let Some(last_bare) = (0..at_face).rev().find(|&i| bare(self.line[i].label)) else {
            return;
        };
        let first = last_bare + 1;
        let skin = self.line[first].start;
        let wanted = single(-skin);
        let length = |line: &[Run], i: usize| {
            single(line.get(i + 1).map_or(end, |next| next.start) - line[i].start)
        };
        self.weight.clear();
        let pressure =
            |depth: f32| super::decibel::exp2(-std::f32::consts::LOG2_E * depth / REACH_MM);
        let mut stopped = false;
        for i in first..self.line.len() {
            let soft = self.softness(self.line[i].label);
            stopped |= soft.stops || bare(self.line[i].label);
            let depth = single(self.line[i].start - skin);
            let run = length(&self.line, i);
            // The pressure summed over the run.
            let sum = REACH_MM * (pressure(depth) - pressure(depth + run));
            self.weight
                .push(if stopped { 0.0 } else { soft.give * sum });
        }
        self.shorter.clear();
        self.shorter.resize(self.weight.len(), 0.0);
        // Whoever can give no more drops out, and the others share the rest; a few rounds settle it.
        let mut left = wanted;
        for _ in 0..6 {
            let total: f32 = self.weight.iter().sum();
            if total <= 0.0 || left < 1e-3 {
                break;
            }
            let share = left / total;
            for n in 0..self.weight.len() {
                let i = first + n;
                let most = self.softness(self.line[i].label).most * length(&self.line, i);
                let room = most - self.shorter[n];
                let more = share * self.weight[n];
                if more >= room {
                    self.weight[n] = 0.0;
                    self.shorter[n] = most;
                    left -= room;
                } else {
                    self.shorter[n] += more;
                    left -= more;
                }
            }
        }
        // What could not be taken up moves the body as a whole.
        let mut start = 0.0;
        for n in 0..self.shorter.len() {
            let i = first + n;
            let run = f64::from(length(&self.line, i) - self.shorter[n]);
            self.line[i].start = start;
            start += run;
        }
        self.line.drain(..first);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scan::Painter;

    /// Skin at -press, then muscle with a vessel of 8 mm at 20 mm under the skin, and bone at 60 mm.
    fn pressed(press: f64, vessel: Softness) -> Vec<(f64, f64, Label)> {
        let mut painter = Painter::default();
        painter.begin(1, -BEHIND_MM, 100.0);
        for (label, from, to) in [(0, 0.0, 200.0), (1, 20.0, 28.0), (2, 60.0, 80.0)] {
            painter.layer(label, []);
            let (from, to) = (from - press, to - press);
            painter.add_loop([[from, -1.0], [to, -1.0], [to, 1.0], [from, 1.0]]);
        }
        let (mut raw, mut out) = (RunMap::default(), RunMap::default());
        painter.paint(&mut raw);
        let mut all = Press {
            of: vec![MUSCLE, vessel, HARD],
            ..Press::default()
        };
        all.apply(&raw, &mut out);
        out.pieces(0).collect()
    }

    #[test]
    fn veins_close_and_arteries_stay_open() {
        let across = |press: f64, vessel: Softness| {
            let pieces = pressed(press, vessel);
            let (from, to, label) = pieces[1];
            assert_eq!(label, 1, "muscle first: {pieces:?}");
            to - from
        };
        assert!((across(0.0, VEIN) - 8.0).abs() < 1e-3, "not pressed");
        let mut last = 8.0;
        for press in [2.0, 5.0, 8.0, 12.0] {
            let now = across(press, VEIN);
            assert!(now < last, "{now} mm at {press} mm of pressing");
            last = now;
        }
        assert!(last < 1.0, "closed at 12 mm: {last}");
        assert!(across(12.0, ARTERY) > 7.5, "an artery stays open");
    }

    #[test]
    fn the_way_is_shorter_by_what_was_pressed_and_bone_stays() {
        for press in [0.0, 3.0, 10.0] {
            let pieces = pressed(press, VEIN);
            assert!((pieces[0].0).abs() < 1e-9, "skin at the face: {pieces:?}");
            let bone = pieces.iter().find(|p| p.2 == 2).unwrap();
            assert!(
                (bone.0 - (60.0 - press)).abs() < 1e-3,
                "bone stays where it is: {bone:?}"
            );
            let whole: f64 = pieces.iter().map(|p| p.1 - p.0).sum();
            assert!((whole - 100.0).abs() < 1e-6, "no gaps: {pieces:?}");
        }
    }
}
