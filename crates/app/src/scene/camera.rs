//! The viewer of the body view: an orbit around a target in the room.

use super::matrix::{self, Matrix};

/// Vertical field of view, degrees: narrow, so that a body far from the middle is not stretched.
const FIELD_OF_VIEW_DEG: f64 = 28.0;

/// Highest the viewer climbs, degrees; at 90 "up on the screen" would have no meaning.
const HIGHEST_DEG: f64 = 88.0;

/// Lowest the viewer sinks, degrees: the bed is opaque, so not far under its edge.
const LOWEST_DEG: f64 = -10.0;

/// Nearest and farthest the viewer goes, mm.
const NEAREST_MM: f64 = 150.0;
const FARTHEST_MM: f64 = 6000.0;

/// How far the target may be moved from the middle of the room, mm.
const REACH_MM: f64 = 1500.0;

/// Degrees of orbit for a drag over the height of the view.
const ORBIT_DEG_PER_HEIGHT: f64 = 180.0;

/// A point of the view in CSS pixels from its top left corner, y down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScreenPoint {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// Size of the view in CSS pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Viewport {
    /// Width in CSS pixels.
    pub width: f64,
    /// Height in CSS pixels.
    pub height: f64,
}

impl Viewport {
    /// Width over height, kept away from zero and infinity so that a collapsed view does no harm.
    #[must_use]
    pub fn aspect(&self) -> f64 {
        let (width, height) = (at_least_one(self.width), at_least_one(self.height));
        (width / height).clamp(0.05, 20.0)
    }
}

fn at_least_one(length: f64) -> f64 {
    if length.is_finite() && length > 1.0 {
        length
    } else {
        1.0
    }
}

/// Where the viewer is. Room frame, mm, z up; always valid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    target: [f64; 3],
    azimuth_deg: f64,
    elevation_deg: f64,
    distance_mm: f64,
}

impl Camera {
    /// A viewer looking at `target` (room frame, mm) from `azimuth_deg` (seen from above,
    /// anticlockwise from +x), `elevation_deg` above the horizon, at `distance_mm`.
    ///
    /// Values out of range are brought into it; a value that is not finite becomes the middle one.
    #[must_use]
    pub fn new(target: [f64; 3], azimuth_deg: f64, elevation_deg: f64, distance_mm: f64) -> Self {
        Self {
            target: target.map(|part| kept(part, -REACH_MM, REACH_MM, 0.0)),
            azimuth_deg: if azimuth_deg.is_finite() {
                azimuth_deg.rem_euclid(360.0)
            } else {
                0.0
            },
            elevation_deg: kept(elevation_deg, LOWEST_DEG, HIGHEST_DEG, 30.0),
            distance_mm: kept(distance_mm, NEAREST_MM, FARTHEST_MM, 1500.0),
        }
    }

    /// What is looked at, room frame, mm.
    #[must_use]
    pub fn target(&self) -> [f64; 3] {
        self.target
    }

    /// Direction of the viewer from the target seen from above, anticlockwise from +x, 0–360 degrees.
    #[must_use]
    pub fn azimuth_deg(&self) -> f64 {
        self.azimuth_deg
    }

    /// Height of the viewer above the horizon of the target, degrees.
    #[must_use]
    pub fn elevation_deg(&self) -> f64 {
        self.elevation_deg
    }

    /// Distance of the viewer from the target, mm.
    #[must_use]
    pub fn distance_mm(&self) -> f64 {
        self.distance_mm
    }

    /// Turned around the target. Positive azimuth moves the viewer anticlockwise seen from above,
    /// positive elevation upward.
    #[must_use]
    pub fn orbited(&self, azimuth_deg: f64, elevation_deg: f64) -> Self {
        Self::new(
            self.target,
            self.azimuth_deg + finite(azimuth_deg),
            self.elevation_deg + finite(elevation_deg),
            self.distance_mm,
        )
    }

    /// Turned by a drag of `dx`, `dy` CSS pixels: the body follows the pointer.
    #[must_use]
    pub fn dragged(&self, dx: f64, dy: f64, viewport: Viewport) -> Self {
        let degrees = ORBIT_DEG_PER_HEIGHT / at_least_one(viewport.height);
        self.orbited(-dx * degrees, dy * degrees)
    }

    /// Moved sideways by a drag of `dx`, `dy` CSS pixels, so that the target follows the pointer.
    #[must_use]
    pub fn panned(&self, dx: f64, dy: f64, viewport: Viewport) -> Self {
        let per_pixel = 2.0 * tan_half_height() * self.distance_mm / at_least_one(viewport.height);
        let (right, up) = self.right_and_up();
        let target = matrix::add_scaled(self.target, right, -finite(dx) * per_pixel);
        let target = matrix::add_scaled(target, up, finite(dy) * per_pixel);
        Self::new(
            target,
            self.azimuth_deg,
            self.elevation_deg,
            self.distance_mm,
        )
    }

    /// Nearer (`factor` below 1) or farther.
    #[must_use]
    pub fn zoomed(&self, factor: f64) -> Self {
        let factor = kept(factor, 0.1, 10.0, 1.0);
        Self::new(
            self.target,
            self.azimuth_deg,
            self.elevation_deg,
            self.distance_mm * factor,
        )
    }

    /// Between `self` (share 0) and `other` (share 1), turning the shorter way round.
    #[must_use]
    pub fn toward(&self, other: &Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + (b - a) * share;
        let turn = (other.azimuth_deg - self.azimuth_deg + 180.0).rem_euclid(360.0) - 180.0;
        let [x, y, z] = self.target;
        let [to_x, to_y, to_z] = other.target;
        Self::new(
            [mix(x, to_x), mix(y, to_y), mix(z, to_z)],
            self.azimuth_deg + turn * share,
            mix(self.elevation_deg, other.elevation_deg),
            mix(self.distance_mm, other.distance_mm),
        )
    }

    /// Unit direction from the target to the viewer, room frame.
    fn outward(&self) -> [f64; 3] {
        let (azimuth, elevation) = (
            self.azimuth_deg.to_radians(),
            self.elevation_deg.to_radians(),
        );
        let level = libm::cos(elevation);
        [
            level * libm::cos(azimuth),
            level * libm::sin(azimuth),
            libm::sin(elevation),
        ]
    }

    /// The viewer's right and up, unit directions in the room.
    fn right_and_up(&self) -> ([f64; 3], [f64; 3]) {
        let forward = self.outward().map(|part| -part);
        let right = matrix::unit(matrix::cross(forward, [0.0, 0.0, 1.0]));
        (right, matrix::cross(right, forward))
    }

    /// Where the viewer's eye is, room frame, mm.
    #[must_use]
    pub fn eye(&self) -> [f64; 3] {
        matrix::add_scaled(self.target, self.outward(), self.distance_mm)
    }

    fn view(&self) -> [f64; 16] {
        let forward = self.outward().map(|part| -part);
        matrix::look(self.eye(), forward, [0.0, 0.0, 1.0])
    }

    fn projection(&self, viewport: Viewport) -> [f64; 16] {
        // A view taller than wide widens its field of view, so that the body still fits across.
        let aspect = viewport.aspect();
        let tan = tan_half_height() / aspect.min(1.0);
        let far = self.distance_mm + 4000.0;
        matrix::perspective(tan, aspect, (self.distance_mm * 0.05).max(20.0), far)
    }

    /// Everything the renderer needs to know of the viewer.
    #[must_use]
    pub fn matrices(&self, viewport: Viewport) -> CameraMatrices {
        CameraMatrices {
            eye_from_room: matrix::single(&self.view()),
            clip_from_eye: matrix::single(&self.projection(viewport)),
            eye: matrix::single3(self.eye()),
        }
    }

    /// Where a room point appears, or `None` when it is behind the viewer.
    #[must_use]
    pub fn screen_point(&self, point: [f64; 3], viewport: Viewport) -> Option<ScreenPoint> {
        let clip_from_room = matrix::product(&self.projection(viewport), &self.view());
        let [x, y, _, w] = matrix::apply(&clip_from_room, point);
        (w > 1e-6).then(|| ScreenPoint {
            x: (x / w + 1.0) / 2.0 * at_least_one(viewport.width),
            y: (1.0 - y / w) / 2.0 * at_least_one(viewport.height),
        })
    }

    /// Direction from the eye through a point of the view: unit, room frame.
    #[must_use]
    pub fn ray(&self, point: ScreenPoint, viewport: Viewport) -> [f64; 3] {
        let aspect = viewport.aspect();
        let tan = tan_half_height() / aspect.min(1.0);
        let across = 2.0 * finite(point.x) / at_least_one(viewport.width) - 1.0;
        let upward = 1.0 - 2.0 * finite(point.y) / at_least_one(viewport.height);
        let (right, up) = self.right_and_up();
        let ahead = self.outward().map(|part| -part);
        let ray = matrix::add_scaled(ahead, right, across * tan * aspect);
        matrix::unit(matrix::add_scaled(ray, up, upward * tan))
    }
}

fn tan_half_height() -> f64 {
    libm::tan((FIELD_OF_VIEW_DEG / 2.0).to_radians())
}

fn finite(value: f64) -> f64 {
    if value.is_finite() { value } else { 0.0 }
}

fn kept(value: f64, low: f64, high: f64, instead: f64) -> f64 {
    if value.is_finite() {
        value.clamp(low, high)
    } else {
        instead
    }
}

/// The viewer for the renderer. Room frame, mm; matrices column-major; clip depth −1 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CameraMatrices {
    /// Room to eye space (right-handed, looking along −z).
    pub eye_from_room: Matrix,
    /// Eye space to clip space.
    pub clip_from_eye: Matrix,
    /// The eye in the room.
    pub eye: [f32; 3],
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const VIEW: Viewport = Viewport {
        width: 800.0,
        height: 600.0,
    };

    /// Pixels; matrices are double precision here, so only rounding is left.
    const SAME_PIXEL: f64 = 1e-6;

    #[test]
    fn the_target_is_in_the_middle_and_up_is_up() {
        let camera = Camera::new([100.0, 50.0, 20.0], 30.0, 25.0, 1200.0);
        let middle = camera
            .screen_point(camera.target(), VIEW)
            .expect("in front");
        assert!((middle.x - 400.0).abs() < SAME_PIXEL, "{middle:?}");
        assert!((middle.y - 300.0).abs() < SAME_PIXEL, "{middle:?}");
        let above = camera
            .screen_point([100.0, 50.0, 60.0], VIEW)
            .expect("in front");
        assert!(above.y < middle.y - 10.0, "{above:?}");
        let behind = matrix::add_scaled(camera.eye(), camera.outward(), 10.0);
        assert_eq!(camera.screen_point(behind, VIEW), None);
    }

    #[test]
    fn dragging_moves_the_body_with_the_pointer() {
        let camera = Camera::new([0.0; 3], 0.0, 20.0, 1000.0);
        let near_side = [100.0, 0.0, 34.0];
        let before = camera.screen_point(near_side, VIEW).expect("in front");
        let after = camera.dragged(20.0, 0.0, VIEW);
        let after = after.screen_point(near_side, VIEW).expect("in front");
        assert!(after.x > before.x, "to the right: {before:?} {after:?}");
        let panned = camera.panned(30.0, -12.0, VIEW);
        let moved = panned.screen_point([0.0; 3], VIEW).expect("in front");
        assert!(
            (moved.x - 430.0).abs() < 1.0 && (moved.y - 288.0).abs() < 1.0,
            "{moved:?}"
        );
    }

    #[test]
    fn halfway_goes_the_short_way_round() {
        let from = Camera::new([0.0; 3], 350.0, 10.0, 1000.0);
        let to = Camera::new([0.0; 3], 20.0, 30.0, 2000.0);
        let half = from.toward(&to, 0.5);
        assert!((half.azimuth_deg() - 5.0).abs() < 1e-9, "{half:?}");
        assert!((from.toward(&to, 1.0).azimuth_deg() - 20.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn a_ray_passes_through_its_own_pixel(
            azimuth in -400.0..400.0, elevation in -95.0..95.0, distance in 100.0..5000.0,
            x in 0.0..800.0, y in 0.0..600.0, width in 20.0..2000.0,
        ) {
            let view = Viewport { width, height: 600.0 };
            let camera = Camera::new([3.0, -4.0, 5.0], azimuth, elevation, distance);
            let ray = camera.ray(ScreenPoint { x, y }, view);
            let point = matrix::add_scaled(camera.eye(), ray, distance);
            let seen = camera.screen_point(point, view);
            prop_assert!(seen.is_some(), "in front");
            let seen = seen.unwrap();
            prop_assert!((seen.x - x).abs() < 1e-4 && (seen.y - y).abs() < 1e-4, "{seen:?}");
        }

        #[test]
        fn a_camera_is_valid_whatever_it_is_given(
            numbers in prop::array::uniform8(prop::num::f64::ANY),
        ) {
            let [a, b, c, d, e, f, g, h] = numbers;
            let view = Viewport { width: g, height: h };
            let camera = Camera::new([a, b, c], d, e, f)
                .orbited(g, h).dragged(a, b, view).panned(c, d, view).zoomed(e);
            let matrices = camera.matrices(view);
            prop_assert!(matrices.eye_from_room.iter().all(|v| v.is_finite()));
            prop_assert!(matrices.clip_from_eye.iter().all(|v| v.is_finite()));
            prop_assert!(matrices.eye.iter().all(|v| v.is_finite()));
        }
    }
}
