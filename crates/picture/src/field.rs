//! The field of view: which part of the image plane the transducer shows.
//!
//! Image frame: millimetres, x to image right, y down the screen, origin at the centre of the footprint. With the
//! apex at the top the central beam runs along +y; with the apex at the bottom the whole field is turned over and
//! the central beam runs along -y. Depth is always measured from the face along the beam.
//!
//! Formulas for a curved face of radius R and opening angle F (elementary geometry): arc = R F,
//! chord = 2 R sin(F/2), edge drop = R (1 - cos(F/2)), width at depth D = 2 (R + D) sin(F/2).

use crate::transducer::{FaceShape, Transducer};
use geometry::{Angle, ApexSide, Mm};

/// Largest distance between a drawn arc and the true one; a tenth of a pixel of a 512-pixel picture of 24 cm.
const ARC_TOLERANCE_MM: f64 = 0.04;

/// A transducer at a depth setting, placed in the image plane.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    transducer: &'static Transducer,
    depth_mm: f64,
    apex: ApexSide,
}

/// A point in the transducer's own coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeamPoint {
    /// Which beam: -1 is the beam at image left, 0 the central one, +1 the one at image right; beyond 1 is outside.
    pub beam: f64,
    /// Depth from the face along that beam, mm; negative behind the face.
    pub depth_mm: f64,
}

/// A mark of the depth scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthTick {
    /// Whole centimetres from the face along the central beam.
    pub cm: u32,
    /// Every fifth centimetre is a long mark.
    pub long: bool,
    /// Its place on the central beam, image mm.
    pub at: [f64; 2],
}

/// A rectangle in image millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Least x and y.
    pub min: [f64; 2],
    /// Greatest x and y.
    pub max: [f64; 2],
}

impl Bounds {
    /// Width, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.max[0] - self.min[0]
    }

    /// Height, mm.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.max[1] - self.min[1]
    }

    /// The smallest rectangle around some points; `None` without points.
    #[must_use]
    pub fn around(points: &[[f64; 2]]) -> Option<Self> {
        let (first, rest) = points.split_first()?;
        let start = Self {
            min: *first,
            max: *first,
        };
        Some(rest.iter().fold(start, |b, p| Self {
            min: [b.min[0].min(p[0]), b.min[1].min(p[1])],
            max: [b.max[0].max(p[0]), b.max[1].max(p[1])],
        }))
    }
}

impl Field {
    /// The field of `transducer` at a depth setting; a depth the transducer does not offer becomes the nearest one.
    #[must_use]
    pub fn new(transducer: &'static Transducer, depth: Mm, apex: ApexSide) -> Self {
        Self {
            transducer,
            depth_mm: transducer.clamp_depth(depth).get(),
            apex,
        }
    }

    /// The transducer.
    #[must_use]
    pub const fn transducer(&self) -> &'static Transducer {
        self.transducer
    }

    /// Depth shown, from the face along the central beam.
    #[must_use]
    pub fn depth(&self) -> Mm {
        Mm::new(self.depth_mm)
    }

    /// Which side of the screen the face is on.
    #[must_use]
    pub const fn apex(&self) -> ApexSide {
        self.apex
    }

    /// +1 when the central beam runs down the screen, -1 when it runs up.
    pub(crate) fn sense(&self) -> f64 {
        match self.apex {
            ApexSide::Top => 1.0,
            ApexSide::Bottom => -1.0,
        }
    }

    /// Half the opening angle; zero for parallel beams.
    pub(crate) fn half_angle(&self) -> Angle {
        match self.transducer.shape {
            FaceShape::Curved { fov, .. } | FaceShape::Point { fov } => {
                Angle::rad(fov.to_rad() / 2.0)
            }
            FaceShape::Flat { .. } => Angle::rad(0.0),
        }
    }

    /// Distance from the point where the beams meet to the face; `None` for parallel beams.
    pub(crate) fn apex_radius(&self) -> Option<f64> {
        match self.transducer.shape {
            FaceShape::Curved { radius, .. } => Some(radius.get()),
            FaceShape::Point { .. } => Some(0.0),
            FaceShape::Flat { .. } => None,
        }
    }

    /// Image mm to beam and depth; exact for every point in front of the point where the beams meet.
    #[must_use]
    pub fn beam_point(&self, at: [f64; 2]) -> BeamPoint {
        let (x, y) = (at[0], at[1] * self.sense());
        match self.transducer.shape {
            FaceShape::Flat { width, .. } => BeamPoint {
                beam: x / (width.get() / 2.0),
                depth_mm: y,
            },
            FaceShape::Curved { .. } | FaceShape::Point { .. } => {
                let radius = self.apex_radius().unwrap_or(0.0);
                BeamPoint {
                    beam: libm::atan2(x, y + radius) / self.half_angle().to_rad(),
                    depth_mm: libm::hypot(x, y + radius) - radius,
                }
            }
        }
    }

    /// Beam and depth to image mm; the inverse of [`Field::beam_point`].
    #[must_use]
    pub fn image_point(&self, at: BeamPoint) -> [f64; 2] {
        let [x, y] = match self.transducer.shape {
            FaceShape::Flat { width, .. } => [at.beam * width.get() / 2.0, at.depth_mm],
            FaceShape::Curved { .. } | FaceShape::Point { .. } => {
                let radius = self.apex_radius().unwrap_or(0.0);
                let angle = Angle::rad(at.beam * self.half_angle().to_rad());
                let reach = radius + at.depth_mm;
                [reach * angle.sin(), reach * angle.cos() - radius]
            }
        };
        [x, y * self.sense()]
    }

    /// Depth of a point from the face along its own beam, mm; negative behind the face.
    #[must_use]
    pub fn depth_of(&self, at: [f64; 2]) -> f64 {
        self.beam_point(at).depth_mm
    }

    /// The shallowest point of the horizontal piece from `x0` to `x1` (x0 <= x1) at height `y`, all image mm.
    #[must_use]
    pub fn shallowest(&self, x0: f64, x1: f64, y: f64) -> [f64; 2] {
        match self.transducer.shape {
            FaceShape::Flat { .. } => [(x0 + x1) / 2.0, y],
            FaceShape::Curved { .. } | FaceShape::Point { .. } => {
                [0.0_f64.clamp(x0, x1.max(x0)), y]
            }
        }
    }

    /// Whether a point lies in the field, edges included.
    #[must_use]
    pub fn contains(&self, at: [f64; 2]) -> bool {
        let p = self.beam_point(at);
        p.beam.abs() <= 1.0 && (0.0..=self.depth_mm).contains(&p.depth_mm)
    }

    /// Width of the field at a depth (straight distance between the edge beams there), mm.
    #[must_use]
    pub fn width_at(&self, depth: Mm) -> Mm {
        match self.transducer.shape {
            FaceShape::Flat { width, .. } => width,
            FaceShape::Curved { .. } | FaceShape::Point { .. } => Mm::new(
                2.0 * (self.apex_radius().unwrap_or(0.0) + depth.get()) * self.half_angle().sin(),
            ),
        }
    }

    /// Length of the face measured along it, mm.
    #[must_use]
    pub fn face_arc(&self) -> Mm {
        match self.transducer.shape {
            FaceShape::Curved { radius, fov } => Mm::new(radius.get() * fov.to_rad()),
            FaceShape::Flat { width, .. } => width,
            FaceShape::Point { .. } => Mm::new(0.0),
        }
    }

    /// How far the ends of the face stand back from its centre, mm.
    #[must_use]
    pub fn edge_drop(&self) -> Mm {
        Mm::new(self.apex_radius().unwrap_or(0.0) * (1.0 - self.half_angle().cos()))
    }

    /// The line of the given depth from the beam at image left to the beam at image right, image mm.
    #[must_use]
    pub fn arc(&self, depth: Mm) -> Vec<[f64; 2]> {
        let steps = self.arc_steps(depth.get());
        (0..=steps)
            .map(|i| {
                self.image_point(BeamPoint {
                    beam: -1.0 + 2.0 * count(i) / count(steps),
                    depth_mm: depth.get(),
                })
            })
            .collect()
    }

    /// The face where it shows: a polyline, or a single point.
    #[must_use]
    pub fn face(&self) -> Vec<[f64; 2]> {
        match self.transducer.shape {
            FaceShape::Point { .. } => vec![[0.0, 0.0]],
            FaceShape::Curved { .. } | FaceShape::Flat { .. } => self.arc(Mm::new(0.0)),
        }
    }

    /// The edge of the field as a closed polygon (last joins first): along the face, then back along the far arc.
    #[must_use]
    pub fn outline(&self) -> Vec<[f64; 2]> {
        let mut points = self.face();
        let mut far = self.arc(self.depth());
        far.reverse();
        points.append(&mut far);
        points
    }

    /// The smallest rectangle around the field, image mm.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        let far = self.image_point(BeamPoint {
            beam: 0.0,
            depth_mm: self.depth_mm,
        });
        let mut points = self.outline();
        points.push(far);
        Bounds::around(&points).unwrap_or(Bounds { min: far, max: far })
    }

    /// Depth marks at every whole centimetre from 0 to the depth shown, on the central beam.
    #[must_use]
    pub fn depth_ticks(&self) -> Vec<DepthTick> {
        (0_u32..)
            .map(|cm| (cm, f64::from(cm) * 10.0))
            .take_while(|(_, depth_mm)| *depth_mm <= self.depth_mm)
            .map(|(cm, depth_mm)| DepthTick {
                cm,
                long: cm.is_multiple_of(5),
                at: [0.0, depth_mm * self.sense()],
            })
            .collect()
    }

    /// Whether a depth lies in the middle third of the depth shown.
    #[must_use]
    pub fn in_middle_third(&self, depth: Mm) -> bool {
        (self.depth_mm / 3.0..=self.depth_mm * 2.0 / 3.0).contains(&depth.get())
    }

    /// Straight pieces needed so that the chords of the arc at this depth stay within the tolerance.
    fn arc_steps(&self, depth_mm: f64) -> u32 {
        const MOST: u32 = 256;
        let Some(radius) = self.apex_radius() else {
            return 1;
        };
        let reach = (radius + depth_mm).max(ARC_TOLERANCE_MM);
        // Sagitta of a chord over angle a is r (1 - cos(a/2)), about r a^2 / 8.
        let step_rad = (8.0 * ARC_TOLERANCE_MM / reach).sqrt();
        let wanted = 2.0 * self.half_angle().to_rad() / step_rad;
        (2..MOST).find(|n| f64::from(*n) >= wanted).unwrap_or(MOST)
    }
}

fn count(n: u32) -> f64 {
    f64::from(n)
}
