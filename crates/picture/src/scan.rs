//! The painter: closed loops in layers, later layers over earlier ones, to exact visible runs along scan lines.
//!
//! Scan space has the coordinate `u` along a line and `v` across the lines; the lines lie at v = 0, 1, 2 and so on.
//! Whoever fills the painter maps loops into scan space: a raster maps pixels, a beam picture maps depth and beam.
//! Nothing is sampled along u, so a run ends exactly where the contour crosses the line.
//!
//! A layer contains a point when its loops wind around it a non-zero number of times; overlapping parts of one mesh
//! are therefore one solid. What shows is the last layer that contains the point and is not kept out by another one
//! (the wall of a branch is not painted inside the parent that it opens into).

/// What a run shows: the caller's number of a layer, or one of the two constants below.
pub type Label = u16;

/// No layer at all: outside the skin.
pub const OUTSIDE: Label = u16::MAX;

/// Outside the mask: beyond the edge of the field of view.
pub const BEYOND: Label = u16::MAX - 1;

/// One visible piece of a scan line; it ends where the next run of the line starts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Where it starts, u.
    pub start: f64,
    /// How far that start moves along u from one line to the next (the slope du/dv of the contour there).
    pub slope: f64,
    /// What is seen.
    pub label: Label,
}

/// The visible runs of all scan lines.
#[derive(Debug, Clone, Default)]
pub struct RunMap {
    first: Vec<usize>,
    runs: Vec<Run>,
    u_max: f64,
}

impl RunMap {
    /// Number of scan lines.
    #[must_use]
    pub fn len(&self) -> usize {
        self.first.len().saturating_sub(1)
    }

    /// Whether there are no lines.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Where every line ends, u.
    #[must_use]
    pub fn u_max(&self) -> f64 {
        self.u_max
    }

    /// The runs of one line in order of u; empty for a line that is not there.
    #[must_use]
    pub fn line(&self, line: usize) -> &[Run] {
        match (self.first.get(line), self.first.get(line + 1)) {
            (Some(&from), Some(&to)) => self.runs.get(from..to).unwrap_or(&[]),
            _ => &[],
        }
    }

    /// Gives the runs of one line other labels: `change` gets the label of the run before, and the run.
    pub(crate) fn relabel(&mut self, line: usize, mut change: impl FnMut(Label, &Run) -> Label) {
        let (Some(&from), Some(&to)) = (self.first.get(line), self.first.get(line + 1)) else {
            return;
        };
        let mut before = OUTSIDE;
        for run in self.runs.get_mut(from..to).unwrap_or(&mut []) {
            let label = change(before, run);
            before = run.label;
            run.label = label;
        }
    }

    /// The pieces of one line as (from, to, label).
    pub fn pieces(&self, line: usize) -> impl Iterator<Item = (f64, f64, Label)> + '_ {
        let runs = self.line(line);
        runs.iter().enumerate().map(move |(i, run)| {
            let end = runs.get(i + 1).map_or(self.u_max, |next| next.start);
            (run.start, end, run.label)
        })
    }

    /// What is seen at u on one line; [`OUTSIDE`] beyond the ends of the line and on a line that is not there.
    #[must_use]
    pub fn at(&self, line: usize, u: f64) -> Label {
        let runs = self.line(line);
        let after = runs.partition_point(|run| run.start <= u);
        match after.checked_sub(1).and_then(|place| runs.get(place)) {
            Some(run) if u <= self.u_max => run.label,
            _ => OUTSIDE,
        }
    }
}

#[derive(Debug, Clone, Copy)]
struct Edge {
    first: u32,
    end: u32,
    u: f64,
    slope: f64,
    rank: u16,
    turn: i16,
}

#[derive(Debug, Clone, Default)]
struct Layer {
    label: Label,
    /// Range of `Painter::kept_out`.
    out_of: std::ops::Range<usize>,
}

/// Reusable state of the painter: fill with [`Painter::begin`], [`Painter::layer`], [`Painter::add_loop`], then
/// [`Painter::paint`].
#[derive(Debug, Clone, Default)]
pub struct Painter {
    lines: u32,
    u_min: f64,
    u_max: f64,
    layers: Vec<Layer>,
    kept_out: Vec<Label>,
    edges: Vec<Edge>,
    masked: bool,
    current: u16,
    corner: Vec<[f64; 2]>,
    // Working memory of `paint`.
    order: Vec<u32>,
    bucket: Vec<u32>,
    active: Vec<Edge>,
    winding: Vec<i16>,
    inside: Vec<u64>,
    rank_of: Vec<(Label, u16)>,
    rules: Vec<Vec<u16>>,
    is_keeper: Vec<bool>,
}

/// Rank that marks the edges of the mask.
const MASK: u16 = u16::MAX;

impl Painter {
    /// Starts anew: `lines` scan lines from `u_min` to `u_max`.
    pub fn begin(&mut self, lines: u32, u_min: f64, u_max: f64) {
        self.lines = lines;
        self.u_min = u_min;
        self.u_max = u_max.max(u_min);
        self.layers.clear();
        self.kept_out.clear();
        self.edges.clear();
        self.masked = false;
        self.current = MASK;
    }

    /// Starts the next layer, over all earlier ones; it does not show inside any layer labelled as in `kept_out_of`.
    pub fn layer(&mut self, label: Label, kept_out_of: impl IntoIterator<Item = Label>) {
        let from = self.kept_out.len();
        self.kept_out.extend(kept_out_of);
        self.current = u16::try_from(self.layers.len()).unwrap_or(MASK - 1);
        self.layers.push(Layer {
            label,
            out_of: from..self.kept_out.len(),
        });
    }

    /// The loops that follow bound what may be seen at all; elsewhere runs are [`BEYOND`].
    pub fn mask(&mut self) {
        self.masked = true;
        self.current = MASK;
    }

    /// Adds a closed loop (last point joins first) of (u, v) points to the current layer or to the mask.
    pub fn add_loop(&mut self, points: impl IntoIterator<Item = [f64; 2]>) {
        self.corner.clear();
        self.corner.extend(points);
        let height = f64::from(self.lines);
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        for p in &self.corner {
            if !(p[0].is_finite() && p[1].is_finite()) {
                return;
            }
            for axis in 0..2 {
                if p[axis] < low[axis] {
                    low[axis] = p[axis];
                }
                if p[axis] > high[axis] {
                    high[axis] = p[axis];
                }
            }
        }
        let outside =
            high[0] < self.u_min || low[0] > self.u_max || high[1] < 0.0 || low[1] > height;
        let Some(mut from) = self.corner.last().copied().filter(|_| !outside) else {
            return;
        };
        for i in 0..self.corner.len() {
            let to = self.corner[i];
            self.add_edge(from, to);
            from = to;
        }
    }

    /// Adds one crossing of the current layer (or mask) with one line, at `u`; `turn` is +1 on the way in and -1 on
    /// the way out, or the other way about, and `slope` is that of [`Run::slope`].
    ///
    /// For callers whose scan lines are no parallel straight lines: they find the crossings themselves. Every closed
    /// loop must add as many crossings of one turn as of the other to a line, also those before its start; those
    /// behind its end may be left out.
    pub(crate) fn add_crossing(&mut self, line: u32, u: f64, slope: f64, turn: i16) {
        if line < self.lines && u <= self.u_max {
            self.edges.push(Edge {
                first: line,
                end: line + 1,
                u,
                slope,
                rank: self.current,
                turn,
            });
        }
    }

    /// A vertex exactly on a line counts as below it, so every line crosses a closed loop an even number of times.
    fn add_edge(&mut self, from: [f64; 2], to: [f64; 2]) {
        let (top, bottom, turn) = if from[1] < to[1] {
            (from, to, 1)
        } else {
            (to, from, -1)
        };
        let first = line_at_or_after(top[1], self.lines);
        let end = line_at_or_after(bottom[1], self.lines);
        let beyond = top[0] > self.u_max && bottom[0] > self.u_max;
        if first >= end || beyond {
            return;
        }
        let slope = (bottom[0] - top[0]) / (bottom[1] - top[1]);
        self.edges.push(Edge {
            first,
            end,
            u: top[0] + (f64::from(first) - top[1]) * slope,
            slope,
            rank: self.current,
            turn,
        });
    }

    /// Works out the visible runs of every line.
    pub fn paint(&mut self, out: &mut RunMap) {
        out.first.clear();
        out.runs.clear();
        out.u_max = self.u_max;
        self.prepare_rules();
        self.sort_edges_by_first_line();
        self.active.clear();
        self.winding.clear();
        self.winding.resize(self.layers.len(), 0);
        self.inside.clear();
        self.inside.resize(self.layers.len().div_ceil(64), 0);
        for line in 0..self.lines {
            self.step_to(line);
            out.first.push(out.runs.len());
            self.sweep(&mut out.runs);
        }
        out.first.push(out.runs.len());
    }

    fn prepare_rules(&mut self) {
        self.rank_of.clear();
        self.rank_of.extend(
            (0..MASK)
                .zip(&self.layers)
                .map(|(rank, layer)| (layer.label, rank)),
        );
        self.rank_of.sort_unstable();
        self.is_keeper.clear();
        self.is_keeper.resize(self.layers.len(), false);
        self.rules
            .resize_with(self.layers.len().max(self.rules.len()), Vec::new);
        for (layer, rule) in self.layers.iter().zip(&mut self.rules) {
            rule.clear();
            for wanted in self.kept_out.get(layer.out_of.clone()).unwrap_or(&[]) {
                let from = self.rank_of.partition_point(|(label, _)| label < wanted);
                for (_, rank) in self.rank_of[from..]
                    .iter()
                    .take_while(|(label, _)| label == wanted)
                {
                    rule.push(*rank);
                    self.is_keeper[usize::from(*rank)] = true;
                }
            }
        }
    }

    /// Counting sort: `bucket[line]` is the place in `order` of the first edge that starts at that line.
    fn sort_edges_by_first_line(&mut self) {
        let lines = usize::try_from(self.lines).unwrap_or(0);
        self.bucket.clear();
        self.bucket.resize(lines + 2, 0);
        for edge in &self.edges {
            self.bucket[to_index(edge.first) + 2] += 1;
        }
        for line in 1..self.bucket.len() {
            self.bucket[line] += self.bucket[line - 1];
        }
        self.order.clear();
        self.order.resize(self.edges.len(), 0);
        for (number, edge) in (0_u32..).zip(&self.edges) {
            let place = &mut self.bucket[to_index(edge.first) + 1];
            self.order[to_index(*place)] = number;
            *place += 1;
        }
    }

    fn step_to(&mut self, line: u32) {
        self.active.retain_mut(|edge| {
            edge.u += edge.slope;
            edge.end > line
        });
        let (from, to) = (self.bucket[to_index(line)], self.bucket[to_index(line) + 1]);
        for number in &self.order[to_index(from)..to_index(to)] {
            self.active.push(self.edges[to_index(*number)]);
        }
        // Nearly in order already: contours rarely swap from one line to the next.
        for i in 1..self.active.len() {
            let edge = self.active[i];
            let mut place = i;
            while place > 0 && self.active[place - 1].u > edge.u {
                self.active[place] = self.active[place - 1];
                place -= 1;
            }
            self.active[place] = edge;
        }
    }

    fn sweep(&mut self, runs: &mut Vec<Run>) {
        let line_start = runs.len();
        let mut mask_winding = i16::from(!self.masked);
        let mut top: Option<u16> = None;
        let mut shown = if self.masked { BEYOND } else { OUTSIDE };
        runs.push(Run {
            start: self.u_min,
            slope: 0.0,
            label: shown,
        });
        let mut i = 0;
        while let Some(first) = self.active.get(i) {
            let u = first.u;
            if u >= self.u_max {
                break;
            }
            let mut slope = first.slope;
            let mut stale = false;
            #[expect(
                clippy::float_cmp,
                reason = "only crossings at the very same place belong together; near ones give a thin run"
            )]
            while let Some(edge) = self.active.get(i).filter(|edge| edge.u == u) {
                let (rank, turn) = (edge.rank, edge.turn);
                if rank == MASK {
                    mask_winding += turn;
                    slope = edge.slope;
                } else {
                    let at = usize::from(rank);
                    let before = self.winding[at];
                    let after = before + turn;
                    self.winding[at] = after;
                    if (before == 0) != (after == 0) {
                        self.inside[at / 64] ^= 1 << (at % 64);
                        if top.is_none_or(|t| rank >= t) || self.is_keeper[at] {
                            stale = true;
                            slope = edge.slope;
                        }
                    }
                }
                i += 1;
            }
            if stale {
                top = self.top();
            }
            let label = if mask_winding == 0 {
                BEYOND
            } else {
                top.and_then(|rank| self.layers.get(usize::from(rank)))
                    .map_or(OUTSIDE, |layer| layer.label)
            };
            if label == shown {
                continue;
            }
            shown = label;
            if u <= self.u_min {
                runs[line_start].label = label;
            } else {
                runs.push(Run {
                    start: u,
                    slope,
                    label,
                });
            }
        }
        self.inside.fill(0);
        for edge in &self.active {
            if edge.rank != MASK {
                self.winding[usize::from(edge.rank)] = 0;
            }
        }
    }

    /// The highest layer that contains the current place and is not kept out.
    fn top(&self) -> Option<u16> {
        for (number, word) in self.inside.iter().enumerate().rev() {
            let mut left = *word;
            while left != 0 {
                let bit = 63 - left.leading_zeros();
                let rank = number * 64 + to_index(bit);
                let kept_out = self.rules[rank].iter().any(|keeper| {
                    let at = usize::from(*keeper);
                    self.inside[at / 64] >> (at % 64) & 1 == 1
                });
                if !kept_out {
                    return u16::try_from(rank).ok();
                }
                left &= !(1 << bit);
            }
        }
        None
    }
}

/// The first scan line at or after `v`, between 0 and `lines`.
fn line_at_or_after(v: f64, lines: u32) -> u32 {
    let line = v.ceil().clamp(0.0, f64::from(lines));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to 0..=lines, which is a u32"
    )]
    let line = line as u32;
    line
}

fn to_index(n: u32) -> usize {
    usize::try_from(n).unwrap_or(usize::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn painted(lines: u32, end: f64, fill: impl FnOnce(&mut Painter)) -> RunMap {
        let mut painter = Painter::default();
        painter.begin(lines, 0.0, end);
        fill(&mut painter);
        let mut out = RunMap::default();
        painter.paint(&mut out);
        out
    }

    fn square(from: [f64; 2], to: [f64; 2]) -> [[f64; 2]; 4] {
        [from, [to[0], from[1]], to, [from[0], to[1]]]
    }

    #[test]
    fn runs_end_exactly_where_the_contour_is() {
        let map = painted(3, 10.0, |p| {
            p.layer(7, []);
            p.add_loop([[2.25, -1.0], [6.5, -1.0], [8.5, 3.0], [2.25, 3.0]]);
        });
        let pieces: Vec<_> = map.pieces(1).collect();
        assert_eq!(
            pieces,
            [(0.0, 2.25, OUTSIDE), (2.25, 7.5, 7), (7.5, 10.0, OUTSIDE)]
        );
        assert!(
            (map.line(1)[2].slope - 0.5).abs() < 1e-12,
            "2 along over 4 down"
        );
        assert_eq!(
            (map.at(1, 2.25), map.at(1, 7.5), map.at(9, 1.0)),
            (7, OUTSIDE, OUTSIDE)
        );
    }

    #[test]
    fn overlapping_loops_of_one_layer_are_one_solid_and_holes_are_holes() {
        let map = painted(1, 20.0, |p| {
            p.layer(1, []);
            p.add_loop(square([1.0, -1.0], [6.0, 1.0]));
            p.add_loop(square([4.0, -1.0], [9.0, 1.0]));
            let mut hole = square([2.0, -1.0], [3.0, 1.0]);
            hole.reverse();
            p.add_loop(hole);
        });
        let labels: Vec<_> = map
            .pieces(0)
            .filter(|p| p.2 == 1)
            .map(|p| (p.0, p.1))
            .collect();
        assert_eq!(labels, [(1.0, 2.0), (3.0, 9.0)]);
    }

    #[test]
    fn a_layer_is_kept_out_of_a_later_or_earlier_one() {
        let map = painted(1, 20.0, |p| {
            p.layer(1, []);
            p.add_loop(square([0.0, -1.0], [10.0, 1.0]));
            p.layer(2, [1, 3]);
            p.add_loop(square([5.0, -1.0], [18.0, 1.0]));
            p.layer(3, []);
            p.add_loop(square([15.0, -1.0], [16.0, 1.0]));
        });
        let pieces: Vec<_> = map.pieces(0).map(|p| (p.0, p.2)).collect();
        assert_eq!(
            pieces,
            [(0.0, 1), (10.0, 2), (15.0, 3), (16.0, 2), (18.0, OUTSIDE)]
        );
    }

    #[test]
    fn contours_beyond_the_ends_of_the_line_still_count() {
        let map = painted(1, 10.0, |p| {
            p.layer(1, []);
            p.add_loop(square([-50.0, -5.0], [50.0, 5.0]));
            p.mask();
            p.add_loop(square([3.0, -1.0], [30.0, 1.0]));
        });
        let pieces: Vec<_> = map.pieces(0).collect();
        assert_eq!(pieces, [(0.0, 3.0, BEYOND), (3.0, 10.0, 1)]);
    }

    #[test]
    fn points_that_are_no_numbers_drop_their_loop_alone() {
        let map = painted(1, 10.0, |p| {
            p.layer(1, []);
            p.add_loop([[f64::NAN, 0.0], [3.0, 1.0], [3.0, -1.0]]);
            p.add_loop(square([4.0, -1.0], [5.0, 1.0]));
        });
        assert_eq!((map.at(0, 3.0), map.at(0, 4.5)), (OUTSIDE, 1));
    }

    fn winding(points: &[[f64; 2]], at: [f64; 2]) -> i32 {
        let mut from = points[points.len() - 1];
        let mut sum = 0;
        for &to in points {
            if (from[1] <= at[1]) != (to[1] <= at[1]) {
                let u = from[0] + (at[1] - from[1]) / (to[1] - from[1]) * (to[0] - from[0]);
                if u <= at[0] {
                    sum += if from[1] < to[1] { 1 } else { -1 };
                }
            }
            from = to;
        }
        sum
    }

    proptest! {
        /// Arbitrary crossing loops in arbitrary layers, against the winding number of each point.
        #[test]
        fn random_loops_agree_with_winding_numbers(
            loops in prop::collection::vec((0_u16..4, prop::collection::vec(prop::array::uniform2(-4.0..24.0_f64), 3..9)), 1..9),
            keeper in 0_u16..4,
        ) {
            let map = painted(20, 20.0, |p| {
                for layer in 0..4 {
                    p.layer(layer, (layer == 2 && keeper != 2).then_some(keeper));
                    for (_, points) in loops.iter().filter(|(l, _)| *l == layer) {
                        p.add_loop(points.iter().copied());
                    }
                }
            });
            let inside = |layer: u16, at: [f64; 2]| {
                loops.iter().filter(|(l, _)| *l == layer).map(|(_, points)| winding(points, at)).sum::<i32>() != 0
            };
            for line in 0..20_u8 {
                for step in 0..40 {
                    let at = [f64::from(step) * 0.5 + 0.171, f64::from(line)];
                    let want = (0..4).rev().find(|layer| {
                        inside(*layer, at) && !(*layer == 2 && keeper != 2 && inside(keeper, at))
                    });
                    prop_assert_eq!(map.at(usize::from(line), at[0]), want.unwrap_or(OUTSIDE), "{:?}", at);
                }
                let starts: Vec<f64> = map.line(usize::from(line)).iter().map(|r| r.start).collect();
                prop_assert!(starts.is_sorted(), "{:?}", starts);
            }
        }
    }
}
