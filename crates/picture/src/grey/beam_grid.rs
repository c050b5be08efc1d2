//! Beams and samples: where each stands in the image plane.

use geometry::Angle;

use crate::field::Field;
use crate::scan::Run;
use crate::transducer::FaceShape;

/// Beams of a picture in full; the first and the last are the edges of the field.
pub const BEAMS: usize = 256;

/// Samples along a beam; sample i stands at depth (i + 1/2) / [`SAMPLES`] of the depth shown.
pub const SAMPLES: usize = 512;

/// How finely a picture is worked out; the physics are the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Detail {
    /// All beams: for a picture that is looked at.
    #[default]
    Full,
    /// Every second beam, textures half as fine: for a picture that the next one replaces, while the probe moves.
    /// Depths, levels, shadows and the speckle's place in the body stay; fine structure across the beams gets softer.
    Moving,
}

impl Detail {
    /// Number of beams.
    #[must_use]
    pub const fn beams(self) -> usize {
        match self {
            Self::Full => BEAMS,
            Self::Moving => BEAMS / 2,
        }
    }

    /// Samples that share one look at what changes slowly, against the full picture.
    pub(crate) const fn stride(self) -> usize {
        match self {
            Self::Full => 1,
            Self::Moving => 2,
        }
    }
}

/// One beam in the image plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Beam {
    /// Where it leaves the face, image mm.
    pub(crate) start: [f64; 2],
    /// Unit direction, image axes.
    pub(crate) along: [f64; 2],
}

impl Beam {
    /// The place at a depth, image mm.
    pub(crate) fn at(&self, depth_mm: f64) -> [f64; 2] {
        [0, 1].map(|k| self.start[k] + depth_mm * self.along[k])
    }
}

/// All beams of a field.
#[derive(Debug, Clone)]
pub(crate) struct BeamGrid {
    pub(crate) beams: Vec<Beam>,
    pub(crate) depth_mm: f64,
    /// Distance between samples, mm.
    pub(crate) step_mm: f64,
    /// Point where the beams meet (image mm) and its distance from the face; `None` for parallel beams.
    pub(crate) apex: Option<([f64; 2], f64)>,
    /// Angle between neighbours (radians); for parallel beams their distance (mm).
    pub(crate) pitch: f64,
    /// Least and greatest x and y of the field, image mm.
    reach: [[f64; 2]; 2],
    key: GridKey,
}

/// All that a grid is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GridKey {
    shape: FaceShape,
    depth_mm: f64,
    sense: f64,
    detail: Detail,
}

impl GridKey {
    pub(crate) fn of(field: &Field, detail: Detail) -> Self {
        Self {
            detail,
            shape: field.transducer().shape,
            depth_mm: field.depth().get(),
            sense: field.sense(),
        }
    }
}

impl BeamGrid {
    pub(crate) fn new(field: &Field, detail: Detail) -> Self {
        let key = GridKey::of(field, detail);
        let sense = key.sense;
        let count_of_beams = detail.beams();
        let gaps = count(count_of_beams - 1);
        // -1 at image left to +1 at image right.
        let place = |k: usize| -1.0 + 2.0 * count(k) / gaps;
        let (beams, apex, pitch) = match (key.shape, field.apex_radius()) {
            (FaceShape::Flat { width, .. }, _) => {
                let half = width.get() / 2.0;
                let beams: Vec<Beam> = (0..count_of_beams)
                    .map(|k| Beam {
                        start: [place(k) * half, 0.0],
                        along: [0.0, sense],
                    })
                    .collect();
                (beams, None, width.get() / gaps)
            }
            (_, radius) => {
                let radius = radius.unwrap_or(0.0);
                let half = field.half_angle().to_rad();
                let beams = (0..count_of_beams)
                    .map(|k| {
                        let angle = Angle::rad(place(k) * half);
                        let along = [angle.sin(), angle.cos() * sense];
                        Beam {
                            start: [radius * along[0], radius * along[1] - radius * sense],
                            along,
                        }
                    })
                    .collect();
                let apex = ([0.0, -radius * sense], radius);
                (beams, Some(apex), 2.0 * half / gaps)
            }
        };
        let corners = [0, count_of_beams / 2, count_of_beams - 1]
            .map(|k| [0.0, key.depth_mm].map(|depth| beams[k].at(depth)));
        let (least, most) = box_of(corners.as_flattened());
        Self {
            reach: [least, most],
            beams,
            depth_mm: key.depth_mm,
            step_mm: key.depth_mm / count(SAMPLES),
            apex,
            pitch,
            key,
        }
    }

    pub(crate) fn key(&self) -> GridKey {
        self.key
    }

    pub(crate) fn detail(&self) -> Detail {
        self.key.detail
    }

    /// Number of beams.
    pub(crate) fn count(&self) -> usize {
        self.beams.len()
    }

    /// Depth of sample `i`, mm.
    pub(crate) fn depth_of(&self, i: usize) -> f64 {
        (count(i) + 0.5) * self.step_mm
    }

    /// Distance between neighbouring beams at a depth, mm.
    pub(crate) fn spacing_mm(&self, depth_mm: f64) -> f64 {
        self.apex
            .map_or(self.pitch, |(_, radius)| (radius + depth_mm) * self.pitch)
    }

    /// Tangent of the angle of incidence on the boundary at which a run begins.
    pub(crate) fn tangent_of(&self, run: &Run) -> f32 {
        let spacing = self.spacing_mm(run.start);
        super::medium::single(run.slope / if spacing > 1e-3 { spacing } else { 1e-3 })
    }

    /// Whether points (image mm) are so far away that none of what they bound is in the field: their box is clear of
    /// that of the beams.
    pub(crate) fn is_clear_of(&self, points: &[[f64; 2]]) -> bool {
        // The middle two beams are almost, not quite, on the axis.
        const SLACK_MM: f64 = 0.1;
        let (low, high) = box_of(points);
        let [least, most] = self.reach;
        (0..2).any(|a| low[a] > most[a] + SLACK_MM || high[a] < least[a] - SLACK_MM)
            || !(low[0] + low[1] + high[0] + high[1]).is_finite()
    }

    /// Image mm to beam number (fraction; below 0 or above the last outside) and depth, mm.
    ///
    /// Exact to a hundredth of a beam, which is all that mirrored echoes need.
    pub(crate) fn beam_and_depth(&self, at: [f64; 2]) -> (f64, f64) {
        let middle = count(self.count() - 1) / 2.0;
        let y = at[1] * self.key.sense;
        match self.apex {
            None => (middle + at[0] / self.pitch, y),
            Some((_, radius)) => {
                let (x, y) = (at[0], y + radius);
                let angle = quick_atan2(x, y);
                (middle + angle / self.pitch, (x * x + y * y).sqrt() - radius)
            }
        }
    }
}

/// Least and greatest x and y.
fn box_of(points: &[[f64; 2]]) -> ([f64; 2], [f64; 2]) {
    let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
    for p in points {
        for axis in 0..2 {
            if p[axis] < low[axis] {
                low[axis] = p[axis];
            }
            if p[axis] > high[axis] {
                high[axis] = p[axis];
            }
        }
    }
    (low, high)
}

/// Angle from the y axis toward x, radians, within 0.0003 (a polynomial for the arc tangent between -1 and 1:
/// Abramowitz and Stegun, "Handbook of Mathematical Functions", 4.4.49, from memory).
pub(crate) fn quick_atan2(x: f64, y: f64) -> f64 {
    const QUARTER: f64 = std::f64::consts::FRAC_PI_2;
    let series = |t: f64| {
        let q = t * t;
        t * (0.999_866_0
            + q * (-0.330_299_5 + q * (0.180_141_0 + q * (-0.085_133_0 + q * 0.020_835_1))))
    };
    if x == 0.0 && y == 0.0 {
        0.0
    } else if y.abs() >= x.abs() {
        let angle = series(x / y);
        if y > 0.0 {
            angle
        } else if x < 0.0 {
            angle - 2.0 * QUARTER
        } else {
            angle + 2.0 * QUARTER
        }
    } else if x > 0.0 {
        QUARTER - series(y / x)
    } else {
        -QUARTER - series(y / x)
    }
}

/// Small whole numbers as a float.
pub(crate) fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::BeamPoint;
    use crate::transducer::transducers;
    use geometry::{ApexSide, Mm};

    #[test]
    fn beams_stand_where_the_field_says() {
        for transducer in transducers() {
            for apex in [ApexSide::Top, ApexSide::Bottom] {
                let field = Field::new(transducer, Mm::new(90.0), apex);
                let grid = BeamGrid::new(&field, Detail::Full);
                for k in [0, 1, 60, 128, 254, 255] {
                    for depth_mm in [0.0, 3.0, 41.0] {
                        let beam = -1.0 + 2.0 * count(k) / 255.0;
                        let want = field.image_point(BeamPoint { beam, depth_mm });
                        let got = grid.beams[k].at(depth_mm);
                        let off = libm::hypot(want[0] - got[0], want[1] - got[1]);
                        assert!(off < 1e-9, "{}: beam {k} is {off} mm off", transducer.id);
                        if depth_mm > 0.0 {
                            let (number, depth) = grid.beam_and_depth(got);
                            assert!(
                                (number - count(k)).abs() < 0.1 && (depth - depth_mm).abs() < 1e-6,
                                "{}: back to {number} {depth}",
                                transducer.id
                            );
                        }
                    }
                }
                let apart = |depth: f64| {
                    let (a, b) = (grid.beams[100].at(depth), grid.beams[101].at(depth));
                    libm::hypot(a[0] - b[0], a[1] - b[1])
                };
                assert!(
                    (apart(50.0) / grid.spacing_mm(50.0) - 1.0).abs() < 1e-4,
                    "spacing"
                );
            }
        }
    }

    #[test]
    fn quick_angles_are_angles() {
        for i in -180..=180 {
            let angle = f64::from(i).to_radians();
            let got = quick_atan2(3.0 * libm::sin(angle), 3.0 * libm::cos(angle));
            let off = (got - angle).abs();
            assert!(
                off < 3e-4 || (off - std::f64::consts::TAU).abs() < 3e-4,
                "{i} degrees: {got}"
            );
        }
    }
}
