//! What the picture of a window shows, straight from the formulas: labels on a grid of the image plane, with the
//! shadows behind whatever lets nothing through.

#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts of grid points are small and positive"
)]

use anatomy::catalogue::{MarkEntry, WindowEntry};
use anatomy::{CentreLine, axis_view};
use geometry::{ApexSide, Convention, Direction, ImagePlane, MarkSide, Patient, Point, Vector};
use sculpt::exact::{Label, Labeller};
use sculpt::model::{Axis, Model};
use sculpt::tissue::load_tissues;
use std::collections::BTreeSet;

/// Fields of view, common practice: opening angle in degrees, radius of the face, width of a flat face, mm.
fn field(kind: &str) -> [f64; 3] {
    match kind {
        "convex" => [66.0, 55.0, 0.0],
        "micro_convex" => [96.0, 12.0, 0.0],
        "phased" => [84.0, 0.0, 0.0],
        "linear" => [0.0, 0.0, 44.0],
        other => panic!("unknown transducer {other}"),
    }
}

/// The labeller of a body with the tissues that cast a shadow.
pub(crate) struct Painter<'a> {
    model: &'a Model,
    labeller: Labeller<'a>,
    casts: BTreeSet<String>,
}

/// One point of the picture.
#[derive(Clone, Copy)]
struct Pixel {
    label: Label,
    lit: bool,
}

/// The picture of a window: `None` outside the field.
pub(crate) struct Picture {
    step: f64,
    across: usize,
    left: f64,
    pixels: Vec<Option<Pixel>>,
    plane: ImagePlane,
}

/// How much of a structure a picture shows, mm2.
#[derive(Clone, Copy, Default)]
pub(crate) struct Seen {
    pub(crate) area: f64,
    pub(crate) lit: f64,
}

impl<'a> Painter<'a> {
    pub(crate) fn new(model: &'a Model) -> Self {
        let tissues = load_tissues(&crate::support::models_dir()).unwrap();
        let casts = tissues.into_iter().filter(|t| t.shadow).map(|t| t.key);
        Self {
            model,
            labeller: Labeller::new(model),
            casts: casts.collect(),
        }
    }

    /// Whether nothing useful is seen behind a structure's inside.
    pub(crate) fn casts_shadow(&self, structure: usize) -> bool {
        self.casts
            .contains(&self.model.structures[structure].tissue)
    }

    fn stops(&self, label: Label) -> bool {
        match label {
            Label::Solid(i) => self.casts_shadow(i),
            Label::Wall(i) => {
                let wall = self.model.structures[i].wall.as_ref().unwrap();
                self.casts.contains(&wall.tissue)
            }
            // Air beyond the body; the gap between face and skin is gel.
            Label::Outside => true,
            Label::Skin | Label::Fat | Label::Muscle => false,
        }
    }

    /// The picture of a window on a grid of `step` mm.
    pub(crate) fn picture(&self, w: &WindowEntry, step: f64) -> Picture {
        let [degrees, radius, width] = field(&w.transducer);
        let half = degrees.to_radians() / 2.0;
        let plane = plane(w);
        let beams = if width > 0.0 {
            width / step
        } else {
            2.0 * half * (radius + w.depth_mm) / step
        }
        .ceil() as usize;
        // Share across the field and depth to image mm, and back.
        let place = |share: f64, depth: f64| {
            if width > 0.0 {
                return [width * (share - 0.5), depth];
            }
            let angle = half * (2.0 * share - 1.0);
            let r = radius + depth;
            [r * libm::sin(angle), r * libm::cos(angle) - radius]
        };
        let beam_point = |x: f64, y: f64| {
            if width > 0.0 {
                return [x / width + 0.5, y];
            }
            let angle = libm::atan2(x, y + radius);
            [
                0.5 + angle / (2.0 * half),
                libm::hypot(x, y + radius) - radius,
            ]
        };
        let label = |[x, y]: [f64; 2]| self.labeller.label(plane.to_patient([x, y]).to_array());
        let stop: Vec<f64> = (0..beams)
            .map(|i| {
                let share = (i as f64 + 0.5) / beams as f64;
                let mut inside = false;
                (0..)
                    .map(|k| f64::from(k) * step + 0.1)
                    .take_while(|depth| *depth <= w.depth_mm)
                    .find(|&depth| {
                        let label = label(place(share, depth));
                        inside |= label != Label::Outside;
                        inside && self.stops(label)
                    })
                    .unwrap_or(f64::INFINITY)
            })
            .collect();
        let side = if width > 0.0 {
            width / 2.0
        } else {
            (radius + w.depth_mm) * libm::sin(half)
        };
        let across = (2.0 * side / step).ceil() as usize;
        let down = (w.depth_mm / step).ceil() as usize;
        let pixels = (0..across * down).map(|n| {
            let x = (((n % across) as f64) + 0.5) * step - side;
            let y = (((n / across) as f64) + 0.5) * step;
            let [share, depth] = beam_point(x, y);
            let seen = (0.0..1.0).contains(&share) && (0.0..=w.depth_mm).contains(&depth);
            seen.then(|| Pixel {
                label: label([x, y]),
                // The face of what casts the shadow is itself seen.
                lit: depth <= stop[((share * beams as f64) as usize).min(beams - 1)] + 1.5 * step,
            })
        });
        Picture {
            step,
            across,
            left: -side,
            pixels: pixels.collect(),
            plane,
        }
    }
}

/// The image plane of a window.
fn plane(w: &WindowEntry) -> ImagePlane {
    let mark = match w.mark {
        MarkEntry::Left => MarkSide::Left,
        MarkEntry::Right => MarkSide::Right,
    };
    let convention = Convention {
        mark,
        apex: ApexSide::Top,
    };
    ImagePlane::from_notch_and_beam(
        Point::from_array(w.resolved.contact),
        Vector::from_array(w.resolved.notch),
        Vector::from_array(w.resolved.beam),
        convention,
    )
    .unwrap()
}

impl Picture {
    fn shows(&self, n: usize, structure: usize) -> bool {
        matches!(self.pixels[n], Some(Pixel { label: Label::Solid(i) | Label::Wall(i), .. }) if i == structure)
    }

    /// What is seen of a structure, walls included.
    pub(crate) fn seen(&self, structure: usize) -> Seen {
        let mut seen = Seen::default();
        for n in (0..self.pixels.len()).filter(|&n| self.shows(n, structure)) {
            seen.area += self.step * self.step;
            if self.pixels[n].is_some_and(|p| p.lit) {
                seen.lit += self.step * self.step;
            }
        }
        seen
    }

    /// Angle between a structure's axis and the plane in degrees, asked where the app asks: at the middle of what
    /// is seen when that is well inside, else at the roomiest place.
    pub(crate) fn axis_angle(&self, model: &Model, structure: usize) -> f64 {
        let [x, y] = self.middle(structure);
        let near = self.plane.to_patient([x, y]);
        let axis = axis_at(model, structure, &self.plane, near);
        axis_view(axis, self.plane.normal()).1.to_deg()
    }

    fn middle(&self, structure: usize) -> [f64; 2] {
        let at = |n: usize| [n % self.across, n / self.across].map(|v| v as f64 + 0.5);
        let shown: Vec<usize> = (0..self.pixels.len())
            .filter(|&n| self.shows(n, structure))
            .collect();
        let room = self.room(structure);
        let sum = shown.iter().fold([0.0, 0.0], |s, &n| {
            let [x, y] = at(n);
            [s[0] + x, s[1] + y]
        });
        let mean = sum.map(|v| v / shown.len() as f64);
        let cell = mean[1] as usize * self.across + mean[0] as usize;
        let roomiest = *shown.iter().max_by_key(|&&n| room[n]).unwrap();
        let [x, y] = if room[cell] * 10 >= room[roomiest] * 7 {
            mean
        } else {
            at(roomiest)
        };
        [x * self.step + self.left, y * self.step]
    }

    /// Steps to the nearest pixel that shows something else (3 straight, 4 diagonally: Borgefors 1986); what lies
    /// beyond the grid is something else, too.
    fn room(&self, structure: usize) -> Vec<u32> {
        let wide = self.across;
        let mut room: Vec<u32> = (0..self.pixels.len())
            .map(|n| u32::MAX / 2 * u32::from(self.shows(n, structure)))
            .collect();
        let last = room.len() - 1;
        for turn in [false, true] {
            for k in 0..=last {
                let n = if turn { last - k } else { k };
                let (column, row) = (k % wide, k / wide);
                let before = |back: usize, cost: u32| {
                    let m = if turn { n + back } else { n - back };
                    room[m] + cost
                };
                let mut least = room[n].min(if column == 0 || row == 0 { 3 } else { u32::MAX });
                if column > 0 && row > 0 {
                    least = least
                        .min(before(1, 3))
                        .min(before(wide, 3))
                        .min(before(wide + 1, 4));
                }
                if column + 1 < wide && row > 0 {
                    least = least.min(before(wide - 1, 4));
                }
                room[n] = least;
            }
        }
        room
    }
}

/// Direction of a structure's long axis where the plane meets it, as the body file will give it.
fn axis_at(
    model: &Model,
    i: usize,
    plane: &ImagePlane,
    near: Point<Patient>,
) -> Direction<Patient> {
    let s = &model.structures[i];
    match &s.axis {
        Axis::Line { a, b } => (Point::from_array(*b) - Point::from_array(*a))
            .direction()
            .unwrap(),
        Axis::Centreline => {
            let line = CentreLine::new(s.centreline.iter().map(|p| Point::from_array(*p))).unwrap();
            line.crossing(plane, near)
                .unwrap_or_else(|| line.nearest(near).tangent)
        }
        Axis::Principal => Vector::from_array(crate::support::principal(model, i))
            .direction()
            .unwrap(),
    }
}
