//! Where the shadow map and the height map lie: boxes fitted round what throws shadows. Pure.

use glam::{Mat4, Vec3};

/// Edges of fitted boxes are moved out to whole multiples of this, world units, so that a probe that moves does not
/// shift the map under a body that rests; a shifting map makes soft edges crawl.
const SNAP: f32 = 64.0;

/// An orthographic box in the world, looked into along one direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct MapBox {
    /// World → clip (−1…1) of the map; depth grows along the direction of sight.
    pub(crate) clip_from_world: Mat4,
    /// Unit world direction of the map's first axis; the longer side.
    pub(crate) along: Vec3,
    /// Sides in world units: along, across, depth.
    pub(crate) extent: Vec3,
}

impl MapBox {
    /// World → 0…1 in all three axes of the map.
    pub(crate) fn unit_from_world(&self) -> Mat4 {
        Mat4::from_translation(Vec3::splat(0.5))
            * Mat4::from_scale(Vec3::splat(0.5))
            * self.clip_from_world
    }
}

/// The eight corners of a box, moved.
pub(crate) fn corners((lo, hi): (Vec3, Vec3), world_from_mesh: Mat4) -> impl Iterator<Item = Vec3> {
    (0..8).map(move |k| {
        let pick = |bit: u32, a: f32, b: f32| if k & bit == 0 { a } else { b };
        let p = Vec3::new(
            pick(1, lo.x, hi.x),
            pick(2, lo.y, hi.y),
            pick(4, lo.z, hi.z),
        );
        world_from_mesh.transform_point3(p)
    })
}

/// Fits a box round `points` (world), looked into along `sight` (unit), with `margin` to spare at the sides.
///
/// Its first axis is the world axis along which the points spread furthest, turned square to `sight`, so that a long
/// body lies along the map. `None` without points.
pub(crate) fn fit(points: &[Vec3], sight: Vec3, margin: f32) -> Option<MapBox> {
    let (lo, hi) = points
        .iter()
        .fold((Vec3::INFINITY, Vec3::NEG_INFINITY), |(lo, hi), p| {
            (lo.min(*p), hi.max(*p))
        });
    if !(lo.is_finite() && hi.is_finite()) {
        return None;
    }
    let square = |axis: Vec3| axis - sight * axis.dot(sight);
    let spread = hi - lo;
    let long = [Vec3::X, Vec3::Y, Vec3::Z]
        .into_iter()
        .map(|axis| square(axis) * axis.dot(spread))
        .fold(Vec3::ZERO, |best, v| {
            if v.length_squared() > best.length_squared() {
                v
            } else {
                best
            }
        });
    let along = long.normalize_or(sight.any_orthonormal_vector());
    let across = (-sight).cross(along);
    let range = |axis: Vec3, margin: f32| {
        let (lo, hi) = points
            .iter()
            .map(|p| p.dot(axis))
            .fold((f32::MAX, f32::MIN), |(lo, hi), d| (lo.min(d), hi.max(d)));
        (
            ((lo - margin) / SNAP).floor() * SNAP,
            ((hi + margin) / SNAP).ceil() * SNAP,
        )
    };
    let ((x0, x1), (y0, y1), (z0, z1)) = (
        range(along, margin),
        range(across, margin),
        range(sight, 1.0),
    );
    let extent = Vec3::new(x1 - x0, y1 - y0, z1 - z0).max(Vec3::splat(1.0));
    let middle = Vec3::new(x0 + x1, y0 + y1, z0 + z1) * 0.5;
    let scale = 2.0 / extent;
    let row = |axis: Vec3, k: usize| (axis * scale[k]).extend(-middle[k] * scale[k]);
    let clip_from_world =
        Mat4::from_cols(row(along, 0), row(across, 1), row(sight, 2), glam::Vec4::W).transpose();
    Some(MapBox {
        clip_from_world,
        along,
        extent,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_fitted_box_holds_its_points_and_looks_along_the_sight() {
        let body: Vec<Vec3> = corners(
            (
                Vec3::new(-850.0, -240.0, 0.0),
                Vec3::new(830.0, 250.0, 230.0),
            ),
            Mat4::IDENTITY,
        )
        .collect();
        for sight in [
            Vec3::NEG_Z,
            Vec3::new(0.3, 0.4, -0.8),
            Vec3::new(-0.9, 0.1, -0.2),
        ] {
            let sight = sight.normalize();
            let fitted = fit(&body, sight, 30.0).expect("there are points");
            for p in &body {
                let c = fitted.clip_from_world.transform_point3(*p);
                assert!(c.abs().max_element() <= 1.0 + 1e-5, "{p} falls at {c}");
            }
            let near = fitted.clip_from_world.transform_point3(body[0]).z;
            let far = fitted
                .clip_from_world
                .transform_point3(body[0] + sight * 10.0)
                .z;
            assert!(far > near, "depth grows along the sight");
            assert!(
                fitted.extent.x >= fitted.extent.y,
                "the long side comes first"
            );
            assert!(
                fitted.along.dot(sight).abs() < 1e-5,
                "the first axis is square to the sight"
            );
            let unit = fitted.unit_from_world().transform_point3(body[3]);
            assert!(
                unit.min_element() >= 0.0 && unit.max_element() <= 1.0,
                "unit coordinates"
            );
        }
    }

    #[test]
    fn check_small_movements_do_not_shift_the_box() {
        let sight = Vec3::new(0.3, 0.4, -0.8).normalize();
        let mut points: Vec<Vec3> =
            corners((Vec3::splat(-200.0), Vec3::splat(220.0)), Mat4::IDENTITY).collect();
        let before = fit(&points, sight, 30.0);
        points.push(Vec3::new(10.0, 12.0, 60.0));
        assert_eq!(
            fit(&points, sight, 30.0),
            before,
            "a point inside changes nothing"
        );
    }

    #[test]
    fn check_nothing_to_fit() {
        assert_eq!(fit(&[], Vec3::NEG_Z, 30.0), None, "no points");
        assert_eq!(
            fit(&[Vec3::NAN], Vec3::NEG_Z, 30.0),
            None,
            "no finite points"
        );
    }
}
