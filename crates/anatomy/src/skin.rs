//! The skin: where a ray meets it, the nearest point of it, which way it faces under a probe, and sliding along it.

use geometry::{Direction, Mesh, Patient, Point, Pose, Vector, transport};

use crate::tree::{Facet, TriangleTree};

/// Radius in mm of the disc of skin that decides which way a probe stands: about half the long side of a curved
/// footprint (common practice, no source). A probe bridges facets and small folds, so its normal is a mean over them.
pub const FOOTPRINT_RADIUS_MM: f64 = 15.0;

/// Longest single step of a slide, mm: short against the radius of every curve of a body a probe can follow.
const STEP_MM: f64 = 2.0;
/// Longest slide in one call, mm: more than once around any body.
const LONGEST_SLIDE_MM: f64 = 4000.0;
/// A step that gains less than this share of its length is a dead end (a fold's bottom).
const DEAD_END: f64 = 0.05;
/// A slide has arrived within this distance, mm.
const ARRIVED_MM: f64 = 0.01;

/// A point of the skin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkinPoint {
    /// The point, patient mm.
    pub point: Point<Patient>,
    /// Outward normal of the triangle it lies on. For a probe use [`SkinSurface::smoothed_normal`].
    pub normal: Direction<Patient>,
    /// Number of that triangle in the skin mesh.
    pub triangle: usize,
}

/// How a slide toward a point ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slide {
    /// The pose at the end.
    pub pose: Pose,
    /// Whether the target was reached; otherwise the slide stopped in a fold or at the opposite side of a gap.
    pub arrived: bool,
}

/// The outside of a body, prepared for queries.
#[derive(Debug, Clone)]
pub struct SkinSurface {
    mesh: Mesh,
    normals: Vec<[f32; 3]>,
    tree: TriangleTree,
}

impl SkinSurface {
    /// Prepares a skin mesh (patient mm, outward counter-clockwise); `None` when no triangle of it has an area.
    #[must_use]
    pub fn new(mesh: Mesh) -> Option<Self> {
        let tree = TriangleTree::new(&mesh);
        tree.bounds()?;
        Some(Self {
            normals: mesh.smooth_normals(),
            tree,
            mesh,
        })
    }

    /// The mesh.
    #[must_use]
    pub fn mesh(&self) -> &Mesh {
        &self.mesh
    }

    /// Unit normals per vertex of [`mesh`](Self::mesh), for drawing.
    #[must_use]
    pub fn normals(&self) -> &[[f32; 3]] {
        &self.normals
    }

    /// Smallest and largest corner of the skin's box, patient mm.
    #[must_use]
    pub fn bounds(&self) -> ([f64; 3], [f64; 3]) {
        self.tree.bounds().unwrap_or(([0.0; 3], [0.0; 3]))
    }

    /// First point where a ray from `origin` along `direction` enters the skin from outside.
    #[must_use]
    pub fn ray(&self, origin: Point<Patient>, direction: Direction<Patient>) -> Option<SkinPoint> {
        self.first_hit(origin, direction, |facing| facing < 0.0)
    }

    /// First point where a ray that starts inside the body leaves it. A ray that starts outside gives the point where
    /// it leaves the first part of the body that it meets.
    #[must_use]
    pub fn ray_from_inside(
        &self,
        origin: Point<Patient>,
        direction: Direction<Patient>,
    ) -> Option<SkinPoint> {
        self.first_hit(origin, direction, |facing| facing > 0.0)
    }

    /// Whether `point` lies inside the skin: the first surface met on the way to the head end is met from inside.
    #[must_use]
    pub fn contains(&self, point: Point<Patient>) -> bool {
        // Slightly off axis, so that the ray does not run within the mesh's own axis-parallel edges.
        let Some(direction) = Direction::from_array([0.013, 0.007, 1.0]) else {
            return false;
        };
        let hit = self.tree.ray(point, direction.to_vector(), |_| true);
        hit.is_some_and(|(_, facet)| facet.area_vector().dot(direction.to_vector()) > 0.0)
    }

    fn first_hit(
        &self,
        origin: Point<Patient>,
        direction: Direction<Patient>,
        side: impl Fn(f64) -> bool,
    ) -> Option<SkinPoint> {
        let along = direction.to_vector();
        let (t, facet) = self
            .tree
            .ray(origin, along, |facet| side(facet.area_vector().dot(along)))?;
        skin_point(origin + along * t, &facet)
    }

    /// The point of the skin nearest to `point`. For a point that is not finite, some point of the skin.
    #[must_use]
    pub fn nearest(&self, point: Point<Patient>) -> SkinPoint {
        let finite = if point.is_finite() {
            point
        } else {
            Point::ORIGIN
        };
        self.tree
            .nearest(finite, |_| true)
            .and_then(|(_, foot, facet)| skin_point(foot, &facet))
            // Not reached: a skin has at least one triangle with an area.
            .unwrap_or(SkinPoint {
                point: Point::ORIGIN,
                normal: -Direction::y_axis(),
                triangle: 0,
            })
    }

    /// The nearest point of the skin among the triangles that face within 90° of `normal`.
    fn nearest_facing(
        &self,
        point: Point<Patient>,
        normal: Direction<Patient>,
    ) -> Option<SkinPoint> {
        let outward = normal.to_vector();
        let (_, foot, facet) = self
            .tree
            .nearest(point, |facet| facet.area_vector().dot(outward) > 0.0)?;
        skin_point(foot, &facet)
    }

    /// Outward normal at a point of the skin, blended from the vertex normals: continuous along the surface.
    #[must_use]
    pub fn shading_normal(&self, at: &SkinPoint) -> Direction<Patient> {
        self.blended_normal(at).unwrap_or(at.normal)
    }

    fn blended_normal(&self, at: &SkinPoint) -> Option<Direction<Patient>> {
        let corners = *self.mesh.triangles.get(at.triangle)?;
        let mut positions = [[0.0_f32; 3]; 3];
        let mut normals = [Vector::new(0.0, 0.0, 0.0); 3];
        for k in 0..3 {
            let vertex = usize::try_from(corners[k]).ok()?;
            positions[k] = *self.mesh.positions.get(vertex)?;
            normals[k] = Vector::from_array(self.normals.get(vertex)?.map(f64::from));
        }
        let facet = Facet {
            corners: positions,
            triangle: at.triangle,
        };
        let whole = facet.area_vector();
        let weight = |k: usize| {
            let (b, c) = (
                facet.corner((k + 1) % 3) - at.point,
                facet.corner((k + 2) % 3) - at.point,
            );
            b.cross(c).dot(whole) / whole.dot(whole)
        };
        (normals[0] * weight(0) + normals[1] * weight(1) + normals[2] * weight(2)).direction()
    }

    /// The normal a probe takes at a point of the skin: the mean over a disc of [`FOOTPRINT_RADIUS_MM`].
    #[must_use]
    pub fn smoothed_normal(&self, at: &SkinPoint) -> Direction<Patient> {
        self.normal_over(at, FOOTPRINT_RADIUS_MM)
    }

    /// The mean outward normal over the skin within `radius` mm of a point of it, near skin weighing more.
    ///
    /// Continuous along the surface. Skin that faces away from the point's own normal (the other side of a finger,
    /// the other thigh) does not count.
    #[must_use]
    pub fn normal_over(&self, at: &SkinPoint, radius: f64) -> Direction<Patient> {
        let own = self.shading_normal(at);
        let mut sum = Vector::new(0.0, 0.0, 0.0);
        self.tree.within(at.point, radius, |facet| {
            sum = sum + facet_share(facet, at.point, own, radius);
        });
        sum.direction().unwrap_or(own)
    }

    /// Slides a probe over the skin by the tangent part of `along` (patient mm), in steps of at most 2 mm, each
    /// followed by the nearest point of the skin.
    ///
    /// The notch is carried along by parallel transport and the rotation is read back from it; tilt, rock and press
    /// stay as they are. The probe stays on the sheet of skin it is on: it stops at the bottom of a fold and never
    /// jumps across a gap wider than a step (from arm to trunk, from thigh to thigh).
    #[must_use]
    pub fn slide(&self, pose: &Pose, along: Vector<Patient>) -> Pose {
        let mut walker = Walker::at(self, pose);
        let normal = walker.pose.normal().to_vector();
        let tangent = along - normal * along.dot(normal);
        let Some(mut heading) = tangent.direction() else {
            return *pose;
        };
        let mut left = tangent.norm().min(LONGEST_SLIDE_MM);
        while left > 0.0 {
            let step = left.min(STEP_MM);
            let before = walker.pose.normal();
            if !walker.step(heading, step) {
                break;
            }
            heading = transport(heading, before, walker.pose.normal());
            left -= step;
        }
        walker.pose
    }

    /// Slides a probe over the skin toward `target` (a point on or near the skin, patient mm), like
    /// [`slide`](Self::slide) but steering to the target at every step.
    #[must_use]
    pub fn slide_to(&self, pose: &Pose, target: Point<Patient>) -> Slide {
        if !target.is_finite() {
            return Slide {
                pose: *pose,
                arrived: false,
            };
        }
        let goal = self.nearest(target).point;
        let mut walker = Walker::at(self, pose);
        let mut distance = (goal - walker.at.point).norm();
        // A path along the skin is longer than the straight line; no path worth following is four times as long.
        let mut steps = 4.0 * distance / STEP_MM + 8.0;
        while distance > ARRIVED_MM && steps > 0.0 {
            let to_goal = goal - walker.at.point;
            let normal = walker.pose.normal().to_vector();
            let Some(heading) = (to_goal - normal * to_goal.dot(normal)).direction() else {
                break;
            };
            if !walker.step(heading, distance.min(STEP_MM)) {
                break;
            }
            distance = (goal - walker.at.point).norm();
            steps -= 1.0;
        }
        Slide {
            pose: walker.pose,
            arrived: distance <= ARRIVED_MM.max(0.1 * STEP_MM),
        }
    }

    /// Lifts a probe off and puts it down at another point of the skin: one transport of the notch from the old normal
    /// to the new one; tilt, rock and press stay.
    #[must_use]
    pub fn place(&self, pose: &Pose, at: &SkinPoint) -> Pose {
        let mut walker = Walker::at(self, pose);
        walker.move_to(*at);
        walker.pose
    }
}

/// A probe on its way over the skin.
struct Walker<'a> {
    skin: &'a SkinSurface,
    at: SkinPoint,
    pose: Pose,
}

impl<'a> Walker<'a> {
    fn at(skin: &'a SkinSurface, pose: &Pose) -> Self {
        // Of the skin near the contact the side that faces as the pose says: on a thin part (an ear, a finger) the
        // nearest point alone may be on the other side.
        let at = skin
            .nearest_facing(pose.contact(), pose.normal())
            .unwrap_or_else(|| skin.nearest(pose.contact()));
        let mut walker = Self {
            skin,
            at,
            pose: *pose,
        };
        walker.move_to(at);
        walker
    }

    fn move_to(&mut self, at: SkinPoint) {
        self.pose = self.pose.slid_to(at.point, self.skin.smoothed_normal(&at));
        self.at = at;
    }

    /// One step of `length` mm along the tangent `heading`; false when there is no way on.
    fn step(&mut self, heading: Direction<Patient>, length: f64) -> bool {
        let aim = self.at.point + heading * length;
        let Some(next) = self.skin.nearest_facing(aim, self.pose.normal()) else {
            return false;
        };
        let gained = (next.point - self.at.point).norm();
        if gained > 2.0 * length || gained < DEAD_END * length {
            return false;
        }
        self.move_to(next);
        true
    }
}

fn skin_point(point: Point<Patient>, facet: &Facet) -> Option<SkinPoint> {
    Some(SkinPoint {
        point,
        normal: facet.area_vector().direction()?,
        triangle: facet.triangle,
    })
}

/// A facet's contribution to the mean normal at `at`: its area vector, weighed by nearness and by facing the same way.
fn facet_share(
    facet: &Facet,
    at: Point<Patient>,
    own: Direction<Patient>,
    radius: f64,
) -> Vector<Patient> {
    let whole = facet.area_vector();
    let Some(normal) = whole.direction() else {
        return whole;
    };
    let facing = normal.dot(own);
    if facing <= 0.0 {
        return Vector::new(0.0, 0.0, 0.0);
    }
    let (a, b, c) = (facet.corner(0), facet.corner(1), facet.corner(2));
    let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    // Cut into n² equal parts so that no part is large against the disc; else big facets would come and go at once.
    let parts = [1_u8, 2, 4, 8, 16]
        .into_iter()
        .find(|&n| longest <= f64::from(n) * radius / 3.0)
        .unwrap_or(32);
    let n = f64::from(parts);
    let mut weight = 0.0;
    for i in 0..parts {
        for j in 0..parts - i {
            for (shift, exists) in [(1.0 / 3.0, true), (2.0 / 3.0, i + j + 1 < parts)] {
                if exists {
                    let (s, t) = ((f64::from(i) + shift) / n, (f64::from(j) + shift) / n);
                    let distance = (a + (b - a) * s + (c - a) * t - at).norm() / radius;
                    let near = (1.0 - distance * distance).max(0.0);
                    weight += near * near;
                }
            }
        }
    }
    whole * (weight * facing / (n * n))
}
