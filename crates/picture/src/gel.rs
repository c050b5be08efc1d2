//! The gel between the face and the skin.
//!
//! A curved face touches a body at its middle; toward its ends there is a gap, which an examiner fills with gel. A
//! gap of more than [`REACH_MM`] is lost contact and stays dark. The limit is common practice, no source: the ends of
//! an abdominal face stand back 9 mm, and the body falls away from it by a few more.

use geometry::loop_area;

use crate::field::{BeamPoint, Field};
use crate::scan::Label;

/// The label of gel in a run map.
pub const GEL: Label = u16::MAX - 2;

/// The widest gap, along the beam, that gel fills.
pub const REACH_MM: f64 = 16.0;

/// Gel is painted under the skin, so it may reach into it; this closes the seam.
const OVERLAP_MM: f64 = 0.5;

/// Beams at which the gap is measured.
const BEAMS: u16 = 128;

/// Closed polygons of gel, image mm, in front of the skin loops; used again from picture to picture.
#[derive(Debug, Clone, Default)]
pub(crate) struct Gel {
    gap: Vec<Option<f64>>,
    polygons: Vec<Vec<[f64; 2]>>,
    used: usize,
}

impl Gel {
    pub(crate) fn polygons(&self) -> &[Vec<[f64; 2]>] {
        &self.polygons[..self.used]
    }

    /// No gel.
    pub(crate) fn clear(&mut self) {
        self.used = 0;
    }

    /// Measures the gap between the face of `field` and the skin.
    pub(crate) fn measure<'a>(
        &mut self,
        field: &Field,
        skin: impl Iterator<Item = &'a [[f64; 2]]> + Clone,
    ) {
        self.gap.clear();
        self.gap.resize(usize::from(BEAMS) + 1, None);
        // All outer contours of one mesh turn the same way, and the largest is an outer one.
        let turn = skin
            .clone()
            .map(loop_area)
            .fold(
                0.0_f64,
                |most, area| if area.abs() > most.abs() { area } else { most },
            )
            .signum();
        for outline in skin {
            let Some(mut from) = outline.last().copied() else {
                continue;
            };
            let mut from_point = None;
            for &to in outline {
                // A point is at least as deep as it lies below the middle of the face, whatever the face's shape.
                let near = |at: [f64; 2]| at[1] * field.sense() <= REACH_MM + OVERLAP_MM;
                if near(from) || near(to) {
                    let a = from_point.unwrap_or_else(|| field.beam_point(from));
                    let b = field.beam_point(to);
                    self.crossings(field, [from, to], [a, b], turn);
                    from_point = Some(b);
                } else {
                    from_point = None;
                }
                from = to;
            }
        }
        self.used = 0;
        let mut open = false;
        for number in 0..=BEAMS {
            let gap = self.gap[usize::from(number)].filter(|gap| *gap <= REACH_MM && *gap > 0.0);
            match (gap, open) {
                (Some(_), false) => {
                    open = true;
                    if self.used == self.polygons.len() {
                        self.polygons.push(Vec::new());
                    }
                    self.polygons[self.used].clear();
                }
                (None, true) => {
                    open = false;
                    self.close(field, number);
                }
                _ => {}
            }
        }
        if open {
            self.close(field, BEAMS + 1);
        }
    }

    /// Finishes the polygon of the beams before `end`: along the face, back along the skin.
    fn close(&mut self, field: &Field, end: u16) {
        // Behind the point where the beams meet they stand the other way about: gel that went there would cross itself.
        let behind_mm = match field.apex_radius() {
            Some(radius) if radius < OVERLAP_MM => radius,
            _ => OVERLAP_MM,
        };
        let first = (0..end)
            .rev()
            .take_while(|n| {
                self.gap[usize::from(*n)].is_some_and(|gap| gap > 0.0 && gap <= REACH_MM)
            })
            .last();
        let Some(first) = first else { return };
        let polygon = &mut self.polygons[self.used];
        let place = |number: u16, depth_mm: f64| {
            field.image_point(BeamPoint {
                beam: beam(number),
                depth_mm,
            })
        };
        polygon.extend((first..end).map(|n| place(n, -behind_mm)));
        polygon.extend(
            (first..end)
                .rev()
                .filter_map(|n| self.gap[usize::from(n)].map(|gap| place(n, gap + OVERLAP_MM))),
        );
        self.used += 1;
    }

    /// Notes where the piece of skin from `from` to `to` is met by beams, nearest crossing first; an exit is noted as
    /// a negative gap, so that a beam that starts inside the body gets no gel.
    fn crossings(
        &mut self,
        field: &Field,
        [from, to]: [[f64; 2]; 2],
        [a, b]: [BeamPoint; 2],
        turn: f64,
    ) {
        let far = REACH_MM + OVERLAP_MM;
        if (a.depth_mm > far && b.depth_mm > far)
            || (a.beam > 1.0 && b.beam > 1.0)
            || (a.beam < -1.0 && b.beam < -1.0)
        {
            return;
        }
        for number in 0..=BEAMS {
            let here = beam(number);
            if (a.beam < here) == (b.beam < here) {
                continue;
            }
            let start = field.image_point(BeamPoint {
                beam: here,
                depth_mm: 0.0,
            });
            let ahead = field.image_point(BeamPoint {
                beam: here,
                depth_mm: 1.0,
            });
            let d = [ahead[0] - start[0], ahead[1] - start[1]];
            let e = [to[0] - from[0], to[1] - from[1]];
            let cross = d[0] * e[1] - d[1] * e[0];
            if cross == 0.0 {
                continue;
            }
            let gap = ((from[0] - start[0]) * e[1] - (from[1] - start[1]) * e[0]) / cross;
            let known = self.gap[usize::from(number)].map_or(f64::MAX, f64::abs);
            if gap >= 0.0 && gap < known {
                // Seen along an edge of a loop of positive area (x to y) the inside lies toward (-e.y, e.x).
                let enters = cross * turn < 0.0;
                self.gap[usize::from(number)] = Some(if enters { gap } else { -gap });
            }
        }
    }
}

fn beam(number: u16) -> f64 {
    -1.0 + 2.0 * f64::from(number) / f64::from(BEAMS)
}
