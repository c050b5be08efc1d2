//! Probe solids: a face, a housing lofted to a grip, a raised notch, a stub of cable.
//!
//! Probe frame: x lateral towards the notch, y elevation, z depth into the body; the origin is the centre of the
//! footprint, the face passes through it, and the probe lies at z < 0. Millimetres by intention, though any unit works.
//! The outlines are our own drawing; sizes of faces are the caller's, the rest is chosen for the eye (no source).

use super::loft::{Curve, smooth_step, superellipse};
use super::{Shape, count};
use core::f32::consts::{FRAC_PI_2, TAU};
use glam::Vec3;

/// One cross-section of the housing, a superellipse across the probe's axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Distance behind the face, along −z.
    pub behind: f32,
    /// Half width, along x.
    pub half_width: f32,
    /// Half thickness, along y.
    pub half_thickness: f32,
    /// Squareness: 2 is an ellipse, 4 nearly a rounded rectangle.
    pub exponent: f32,
}

/// The raised ridge that tells the sides of a probe apart; it lies on the +x side, along the probe's axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotchShape {
    /// Where it begins, distance behind the face.
    pub from: f32,
    /// Where it ends, distance behind the face.
    pub to: f32,
    /// Half width, along y.
    pub half_width: f32,
    /// How far it stands out of the housing.
    pub height: f32,
}

/// A probe by numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct ProbeShape {
    /// Radius of the face's curve in the image plane; infinite for a flat face.
    pub face_radius: f32,
    /// Radius of the face's curve across the image plane; infinite for a flat face.
    pub face_radius_across: f32,
    /// Radius of the rounding between face and sides.
    pub edge_radius: f32,
    /// Distance behind the face at which the lens ends and the housing begins.
    pub lens_depth: f32,
    /// Cross-sections from the face backwards, `behind` strictly rising from 0.
    pub stations: Vec<Station>,
    /// The notch.
    pub notch: NotchShape,
    /// Radius of the cable.
    pub cable_radius: f32,
    /// Length of the drawn stub of cable, with its sleeve.
    pub cable_length: f32,
}

/// The parts of a probe, one mesh for each colour.
#[derive(Debug, Clone, PartialEq)]
pub struct ProbeMeshes {
    /// The acoustic face.
    pub face: Shape,
    /// The body of the probe.
    pub housing: Shape,
    /// The notch.
    pub notch: Shape,
    /// Sleeve and cable.
    pub cable: Shape,
}

const SIDES: usize = 80;

fn stations(rows: &[[f32; 4]]) -> Vec<Station> {
    rows.iter()
        .map(|&[behind, half_width, half_thickness, exponent]| Station {
            behind,
            half_width,
            half_thickness,
            exponent,
        })
        .collect()
}

impl ProbeShape {
    /// A curved-face probe for the abdomen: `width` × `thickness` of the footprint, `radius` of the face.
    #[must_use]
    pub fn curved(width: f32, thickness: f32, radius: f32) -> Self {
        let (a, b) = (0.5 * width + 3.0, 0.5 * thickness + 3.0);
        Self {
            face_radius: radius,
            face_radius_across: 60.0,
            edge_radius: 3.2,
            lens_depth: 5.5,
            stations: stations(&[
                [0.0, a - 0.8, b - 0.8, 3.4],
                [10.0, a, b, 3.2],
                [24.0, 0.93 * a, b + 0.6, 2.9],
                [44.0, 0.66 * a, b + 1.2, 2.6],
                [66.0, 0.53 * a, b + 1.4, 2.4],
                [92.0, 0.56 * a, b + 2.4, 2.3],
                [116.0, 0.53 * a, b + 1.8, 2.2],
                [134.0, 0.43 * a, b - 0.6, 2.1],
                [145.0, 0.31 * a, 0.31 * a, 2.0],
                [149.0, 6.6, 6.6, 2.0],
            ]),
            notch: NotchShape {
                from: 12.0,
                to: 40.0,
                half_width: 4.8,
                height: 5.4,
            },
            cable_radius: 3.1,
            cable_length: 110.0,
        }
    }

    /// A flat-face probe for small parts and vessels: `width` × `thickness` of the footprint.
    #[must_use]
    pub fn linear(width: f32, thickness: f32) -> Self {
        let (a, b) = (0.5 * width + 3.0, 0.5 * thickness + 3.0);
        Self {
            face_radius: f32::INFINITY,
            face_radius_across: 45.0,
            edge_radius: 2.4,
            lens_depth: 4.0,
            stations: stations(&[
                [0.0, a - 0.6, b - 0.6, 4.2],
                [8.0, a, b, 4.0],
                [24.0, 0.97 * a, b + 0.8, 3.4],
                [44.0, 0.74 * a, b + 2.4, 2.8],
                [64.0, 0.62 * a, b + 3.6, 2.5],
                [92.0, 0.64 * a, b + 4.4, 2.3],
                [114.0, 0.58 * a, b + 3.0, 2.2],
                [130.0, 0.42 * a, b + 0.5, 2.1],
                [140.0, 8.2, 8.0, 2.0],
                [144.0, 6.2, 6.2, 2.0],
            ]),
            notch: NotchShape {
                from: 11.0,
                to: 37.0,
                half_width: 4.2,
                height: 5.0,
            },
            cable_radius: 2.8,
            cable_length: 105.0,
        }
    }

    /// A small flat-face probe for the heart, between ribs: `width` × `thickness` of the footprint.
    #[must_use]
    pub fn phased(width: f32, thickness: f32) -> Self {
        let (a, b) = (0.5 * width + 2.5, 0.5 * thickness + 2.5);
        Self {
            face_radius: 90.0,
            face_radius_across: 60.0,
            edge_radius: 3.0,
            lens_depth: 4.5,
            stations: stations(&[
                [0.0, a - 0.6, b - 0.6, 3.2],
                [8.0, a, b, 3.0],
                [24.0, a + 0.6, b + 0.8, 2.8],
                [46.0, a + 1.6, b + 2.6, 2.5],
                [78.0, a + 3.0, b + 4.0, 2.3],
                [100.0, a + 2.2, b + 3.2, 2.2],
                [116.0, 0.86 * a, 0.9 * b, 2.1],
                [126.0, 8.0, 7.8, 2.0],
                [130.0, 6.0, 6.0, 2.0],
            ]),
            notch: NotchShape {
                from: 12.0,
                to: 38.0,
                half_width: 4.4,
                height: 5.2,
            },
            cable_radius: 2.8,
            cable_length: 105.0,
        }
    }

    /// An endocavity probe: a shaft of `diameter` and `shaft` length with a domed tip, and a handle that carries the
    /// notch.
    #[must_use]
    pub fn endocavity(diameter: f32, shaft: f32) -> Self {
        let a = 0.5 * diameter;
        Self {
            face_radius: 1.02 * a,
            face_radius_across: 1.02 * a,
            edge_radius: 0.5,
            lens_depth: 3.0,
            stations: stations(&[
                [0.0, a, a, 2.0],
                [20.0, a, a, 2.0],
                [0.55 * shaft, 0.92 * a, 0.92 * a, 2.0],
                [shaft, a, a, 2.0],
                [shaft + 26.0, a + 5.5, a + 3.5, 2.3],
                [shaft + 60.0, a + 6.5, a + 5.0, 2.4],
                [shaft + 92.0, a + 5.0, a + 3.5, 2.3],
                [shaft + 112.0, a + 0.5, a - 0.5, 2.1],
                [shaft + 122.0, 7.8, 7.6, 2.0],
                [shaft + 126.0, 6.0, 6.0, 2.0],
            ]),
            notch: NotchShape {
                from: shaft + 30.0,
                to: shaft + 60.0,
                half_width: 4.6,
                height: 5.4,
            },
            cable_radius: 2.8,
            cable_length: 100.0,
        }
    }

    /// Builds the meshes.
    ///
    /// ```
    /// use gl::shapes::ProbeShape;
    /// let probe = ProbeShape::curved(60.0, 20.0, 60.0).build();
    /// // The face touches the origin and nothing lies in front of it; the notch stands out on the +x side.
    /// let front = probe.face.positions.iter().map(|p| p[2]).fold(f32::MIN, f32::max);
    /// assert!(front.abs() < 1e-4);
    /// assert!(probe.notch.positions.iter().all(|p| p[0] > 20.0 && p[2] < 0.0));
    /// ```
    #[must_use]
    pub fn build(&self) -> ProbeMeshes {
        let body = Body::new(self);
        let (face, housing) = body.face_and_housing(self);
        ProbeMeshes {
            face,
            housing,
            notch: body.notch(&self.notch),
            cable: body.cable(self),
        }
    }
}

/// The housing as functions of the distance behind the face.
struct Body {
    width: Curve,
    thickness: Curve,
    exponent: Curve,
    radius: f32,
    radius_across: f32,
    end: f32,
}

/// How far behind its tip a face of this radius has fallen back, `x` beside the axis.
fn sag(x: f32, radius: f32) -> f32 {
    if !radius.is_finite() {
        return 0.0;
    }
    let x = x.abs().min(0.999 * radius);
    radius - (radius * radius - x * x).sqrt()
}

impl Body {
    fn new(shape: &ProbeShape) -> Self {
        let curve = |value: fn(&Station) -> f32| {
            Curve::new(
                shape
                    .stations
                    .iter()
                    .map(|s| [s.behind, value(s)])
                    .collect(),
            )
        };
        Self {
            width: curve(|s| s.half_width),
            thickness: curve(|s| s.half_thickness),
            exponent: curve(|s| s.exponent),
            radius: shape.face_radius,
            radius_across: shape.face_radius_across,
            end: shape.stations.last().map_or(1.0, |s| s.behind),
        }
    }

    /// Depth of the face's surface, a torus piece: equal radii give a sphere.
    fn face_z(&self, x: f32, y: f32) -> f32 {
        let across = sag(y, self.radius_across);
        -across - sag(x, self.radius - across)
    }

    /// A point `behind` the face: cross-sections follow the face's curve at first and flatten on the way back.
    fn place(&self, x: f32, y: f32, behind: f32) -> Vec3 {
        let follow = 1.0 - smooth_step(0.0, 46.0, behind);
        Vec3::new(x, y, self.face_z(x, y) * follow - behind)
    }

    fn outline(&self, angle: f32, behind: f32, inset: f32) -> [f32; 2] {
        let a = (self.width.at(behind) - inset).max(0.05);
        let b = (self.thickness.at(behind) - inset).max(0.05);
        superellipse(angle, a, b, self.exponent.at(behind))
    }

    fn face_and_housing(&self, shape: &ProbeShape) -> (Shape, Shape) {
        let edge = shape.edge_radius.max(0.1);
        // Rows from the centre of the face outward and back: (share of the outline, inset, behind).
        let mut rows: Vec<[f32; 3]> = Vec::new();
        let across = 14;
        for k in 1..=across {
            // Denser towards the rim, where a domed face turns fastest.
            let share = libm::sinf(FRAC_PI_2 * count(k) / count(across));
            rows.push([share, edge, 0.0]);
        }
        for k in 1..=6 {
            let (s, c) = libm::sincosf(FRAC_PI_2 * count(k) / 6.0);
            rows.push([1.0, edge * (1.0 - s), edge * (1.0 - c)]);
        }
        // The joint between lens and housing: a fine groove.
        let joint = shape.lens_depth.max(edge + 0.9);
        for (offset, inset) in [(-0.7, 0.0), (-0.3, 0.12), (-0.12, 0.5), (0.0, 0.55)] {
            rows.push([1.0, inset, joint + offset]);
        }
        let split = rows.len();
        for (offset, inset) in [(0.12, 0.5), (0.3, 0.12), (0.7, 0.0)] {
            rows.push([1.0, inset, joint + offset]);
        }
        let back = 64;
        for k in 1..=back {
            let t = count(k) / count(back);
            rows.push([1.0, 0.0, joint + 0.7 + (self.end - joint - 0.7) * t]);
        }

        let mut whole = Shape::default();
        let middle = whole.push(Vec3::ZERO, Vec3::Z);
        let mut rings: Vec<Vec<u32>> = Vec::with_capacity(rows.len());
        for [share, inset, behind] in &rows {
            let ring = (0..SIDES).map(|k| {
                let angle = TAU * count(k) / count(SIDES);
                let [x, y] = self.outline(angle, *behind, *inset);
                let mut point = self.place(x * share, y * share, *behind);
                if *behind > edge {
                    // A groove goes straight in: with the height of its own, smaller outline a domed face would
                    // push its floor forward.
                    let [x, y] = self.outline(angle, *behind, 0.0);
                    point.z = self.place(x, y, *behind).z;
                }
                whole.push(point, Vec3::Z)
            });
            rings.push(ring.collect());
        }
        let tail = whole.push(Vec3::new(0.0, 0.0, -self.end), Vec3::NEG_Z);
        for k in 0..SIDES {
            let next = (k + 1) % SIDES;
            whole.triangle(middle, rings[0][k], rings[0][next]);
            for pair in rings.windows(2) {
                whole.quad(pair[0][k], pair[1][k], pair[1][next], pair[0][next]);
            }
            if let Some(last) = rings.last() {
                whole.triangle(last[k], tail, last[next]);
            }
        }
        whole.smooth_normals();

        // Normals were made on the whole so that the two colours meet without a shading seam.
        let limit = rings
            .get(split - 1)
            .and_then(|ring| ring.last())
            .copied()
            .unwrap_or(0);
        let (mut face, mut housing) = (Shape::default(), Shape::default());
        face.positions.clone_from(&whole.positions);
        face.normals.clone_from(&whole.normals);
        for t in whole.indices.chunks_exact(3) {
            let part = if t.iter().all(|i| *i <= limit) {
                &mut face
            } else {
                &mut housing
            };
            part.indices.extend_from_slice(t);
        }
        housing.positions = whole.positions;
        housing.normals = whole.normals;
        (used_only(&face), used_only(&housing))
    }

    /// Half width of the housing at height `y` on the +x side.
    fn side_x(&self, y: f32, behind: f32) -> f32 {
        let (a, b, n) = (
            self.width.at(behind),
            self.thickness.at(behind),
            self.exponent.at(behind),
        );
        let share = 1.0 - libm::powf((y / b).abs().min(1.0), n);
        a * libm::powf(share, 1.0 / n)
    }

    fn notch(&self, notch: &NotchShape) -> Shape {
        let (middle, half_length) = (0.5 * (notch.from + notch.to), 0.5 * (notch.to - notch.from));
        let sunk = 1.2;
        let mut shape = Shape::default();
        let (rings, sides) = (14, 56);
        let point = |share: f32, angle: f32| {
            let [along, y] =
                superellipse(angle, half_length * share, notch.half_width * share, 2.6);
            let behind = middle - along;
            // A steep shoulder and a nearly flat top; the rim is sunk so that no gap shows.
            let rise = libm::powf((1.0 - libm::powf(share, 3.0)).max(0.0), 0.5)
                * (notch.height + sunk)
                - sunk;
            let x = self.side_x(y, behind);
            self.place(x, y, behind) + Vec3::new(rise, 0.0, 0.0)
        };
        let top = shape.push(point(0.0, 0.0), Vec3::X);
        let rows: Vec<Vec<u32>> = (1..=rings)
            .map(|r| {
                let share = libm::sinf(FRAC_PI_2 * count(r) / count(rings));
                (0..sides)
                    .map(|k| shape.push(point(share, TAU * count(k) / count(sides)), Vec3::X))
                    .collect()
            })
            .collect();
        for k in 0..sides {
            let next = (k + 1) % sides;
            // Angle runs from +z to +y, which is clockwise seen from +x.
            shape.triangle(top, rows[0][next], rows[0][k]);
            for pair in rows.windows(2) {
                shape.quad(pair[0][k], pair[0][next], pair[1][next], pair[1][k]);
            }
        }
        shape.smooth_normals();
        shape
    }

    /// A ribbed sleeve, then a round cable that bends gently away from the notch.
    fn cable(&self, shape: &ProbeShape) -> Shape {
        let sides = 24;
        let steps = 96;
        let sleeve = (0.34 * shape.cable_length).min(36.0);
        let bend_radius = 1.5 * shape.cable_length;
        let start = self.end - 2.0;
        let mut mesh = Shape::default();
        let rows: Vec<Vec<u32>> = (0..=steps)
            .map(|i| {
                let s = shape.cable_length * count(i) / count(steps);
                let turn = (s - 0.5 * sleeve).max(0.0) / bend_radius;
                let (sin, cos) = libm::sincosf(turn);
                let straight = s.min(0.5 * sleeve);
                let middle = Vec3::new(
                    -bend_radius * (1.0 - cos),
                    0.0,
                    -(start + straight + bend_radius * sin),
                );
                let side = Vec3::new(cos, 0.0, -sin);
                let taper = smooth_step(0.0, sleeve, s);
                let ribs = if s < sleeve {
                    0.28 * (1.0 - taper) * libm::cosf(TAU * s / 4.0)
                } else {
                    0.0
                };
                let radius = 6.0 * (1.0 - taper) + shape.cable_radius * taper + ribs;
                (0..sides)
                    .map(|k| {
                        let (ts, tc) = libm::sincosf(TAU * count(k) / count(sides));
                        mesh.push(middle + (side * tc + Vec3::Y * ts) * radius, Vec3::Z)
                    })
                    .collect()
            })
            .collect();
        for k in 0..sides {
            let next = (k + 1) % sides;
            for pair in rows.windows(2) {
                mesh.quad(pair[0][k], pair[1][k], pair[1][next], pair[0][next]);
            }
        }
        if let Some(last) = rows.last() {
            let sum = last.iter().fold(Vec3::ZERO, |sum, i| {
                sum + Vec3::from_array(mesh.positions[*i as usize])
            });
            let end = mesh.push(sum / count(sides), Vec3::NEG_Z);
            for k in 0..sides {
                mesh.triangle(last[k], end, last[(k + 1) % sides]);
            }
        }
        mesh.smooth_normals();
        mesh
    }
}

/// The same triangles without the vertices that none of them uses.
fn used_only(shape: &Shape) -> Shape {
    let mut number = vec![None; shape.positions.len()];
    let mut out = Shape::default();
    for i in &shape.indices {
        let at = *i as usize;
        let new = *number[at].get_or_insert_with(|| {
            out.push(
                Vec3::from_array(shape.positions[at]),
                Vec3::from_array(shape.normals[at]),
            )
        });
        out.indices.push(new);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shapes::checks::{bounds, check_sound, is_closed, volume};
    use glam::Mat4;

    fn probes() -> [(&'static str, ProbeShape, f32); 4] {
        // (name, shape, half width of the footprint asked for)
        [
            ("curved", ProbeShape::curved(60.0, 20.0, 60.0), 30.0),
            ("linear", ProbeShape::linear(50.0, 9.0), 25.0),
            ("phased", ProbeShape::phased(22.0, 16.0), 11.0),
            ("endocavity", ProbeShape::endocavity(23.0, 140.0), 11.5),
        ]
    }

    #[test]
    fn check_probes_are_sound_solids() {
        for (name, shape, half_width) in probes() {
            let meshes = shape.build();
            for (part, mesh) in [
                ("face", &meshes.face),
                ("housing", &meshes.housing),
                ("notch", &meshes.notch),
                ("cable", &meshes.cable),
            ] {
                check_sound(&format!("{name} {part}"), mesh);
                assert!(
                    bounds(mesh).1.z < 1e-4,
                    "{name} {part} lies behind the footprint"
                );
            }
            let mut whole = meshes.face.clone();
            whole.append(&meshes.housing, Mat4::IDENTITY);
            assert!(
                is_closed(&whole),
                "{name}: face and housing close one solid"
            );
            assert!(volume(&whole) > 10_000.0, "{name}: holds more than 10 ml");
            let (lo, hi) = bounds(&meshes.face);
            assert!(hi.z.abs() < 1e-4, "{name}: the face touches the origin");
            assert!(
                hi.x >= half_width - 0.1 && lo.x <= 0.1 - half_width,
                "{name}: the face is as wide as asked"
            );
        }
    }

    #[test]
    fn check_face_has_the_radius_asked_for() {
        let face = ProbeShape::curved(60.0, 20.0, 60.0).build().face;
        let mut found = 0;
        for p in face
            .positions
            .iter()
            .filter(|p| p[1].abs() < 1e-3 && p[0].abs() < 27.0)
        {
            let r = Vec3::new(p[0], 0.0, p[2] + 60.0).length();
            assert!(
                (r - 60.0).abs() < 1e-2,
                "a point of the mid-line is {r} from the centre of the curve"
            );
            found += 1;
        }
        assert!(found > 10, "the mid-line was sampled");
    }

    #[test]
    fn check_notch_stands_out_on_the_notch_side_only() {
        for (name, shape, _) in probes() {
            let meshes = shape.build();
            let body = Body::new(&shape);
            let mut highest = 0.0_f32;
            for p in &meshes.notch.positions {
                assert!(p[0] > 0.0, "{name}: the notch is on the +x side");
                if p[1].abs() < 0.3 {
                    // The face's curve has moved points of the near housing back; compare in the same place.
                    let beside = body.side_x(
                        p[1],
                        -p[2] + body.face_z(p[0], p[1]) * (1.0 - smooth_step(0.0, 46.0, -p[2])),
                    );
                    highest = highest.max(p[0] - beside);
                }
            }
            assert!(
                highest > 0.8 * shape.notch.height,
                "{name}: the notch stands out by {highest}"
            );
        }
    }
}
