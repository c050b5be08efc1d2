//! The camera as two matrices and a canvas size; rays and projection as pure functions.

use glam::{Mat4, Vec2, Vec3, Vec4};

/// A ray in world space: `origin + t · direction`, t ≥ 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ray {
    /// Where the ray starts, world units: on the near clipping plane.
    pub origin: Vec3,
    /// Unit direction, away from the viewer.
    pub direction: Vec3,
}

/// The viewer: world → view → clip space, and the canvas it fills.
///
/// View space is right-handed with the viewer at the origin looking along −z; clip depth runs −1…1 (OpenGL's).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// World → view. Rigid.
    pub view: Mat4,
    /// View → clip.
    pub projection: Mat4,
    /// Size of the canvas in device pixels: width, height.
    pub viewport_px: [f32; 2],
}

impl Camera {
    /// A perspective camera at `eye` looking at `target`.
    ///
    /// `up` is the world direction that should point up on the canvas (not parallel to the line of sight);
    /// `fov_y_rad` is the whole vertical angle of view in radians; `near` and `far` are distances along the line
    /// of sight in world units.
    ///
    /// ```
    /// use gl::Camera;
    /// use glam::Vec3;
    /// let camera = Camera::perspective(Vec3::new(0.0, -500.0, 0.0), Vec3::ZERO, Vec3::Z, 0.6, 10.0, 2000.0, [800.0, 600.0]);
    /// // What is looked at is in the middle; what is above it is higher on the canvas, where y runs down.
    /// assert_eq!(camera.project(Vec3::ZERO), Some([400.0, 300.0]));
    /// assert!(camera.project(Vec3::new(0.0, 0.0, 50.0)).is_some_and(|[_, y]| y < 300.0));
    /// ```
    #[must_use]
    pub fn perspective(
        eye: Vec3,
        target: Vec3,
        up: Vec3,
        fov_y_rad: f32,
        near: f32,
        far: f32,
        viewport_px: [f32; 2],
    ) -> Self {
        let aspect = viewport_px[0].max(1.0) / viewport_px[1].max(1.0);
        Self {
            view: glam::camera::rh::view::look_at_mat4(eye, target, up),
            projection: glam::camera::rh::proj::opengl::perspective(fov_y_rad, aspect, near, far),
            viewport_px,
        }
    }

    /// Where the viewer is, world units. For an orthographic camera: the origin of view space.
    #[must_use]
    pub fn eye(&self) -> Vec3 {
        self.view.inverse().w_axis.truncate()
    }

    /// Unit world direction from `point` to the viewer: to the eye, or for parallel sight against the line of sight.
    #[must_use]
    pub fn toward_viewer(&self, point: Vec3) -> Vec3 {
        let back = self.view.row(2).truncate();
        if self.is_parallel() {
            back
        } else {
            (self.eye() - point).normalize_or(back)
        }
    }

    /// Whether lines of sight are parallel (orthographic).
    #[must_use]
    pub fn is_parallel(&self) -> bool {
        self.projection.z_axis.w.abs() < 1e-6
    }

    /// World → clip.
    #[must_use]
    pub fn clip_from_world(&self) -> Mat4 {
        self.projection * self.view
    }

    /// The ray under a canvas point, in device pixels from the top left corner (x right, y down; (0, 0) is the
    /// corner itself, not the centre of a pixel).
    ///
    /// A camera whose matrices cannot be inverted gives a ray of zero direction.
    #[must_use]
    pub fn ray(&self, x_px: f32, y_px: f32) -> Ray {
        let world_from_clip = self.clip_from_world().inverse();
        let x = 2.0 * x_px / self.viewport_px[0].max(1.0) - 1.0;
        let y = 1.0 - 2.0 * y_px / self.viewport_px[1].max(1.0);
        let lift = |z: f32| {
            let p = world_from_clip * Vec4::new(x, y, z, 1.0);
            p.truncate() / p.w
        };
        let origin = lift(-1.0);
        let direction = (lift(1.0) - origin).normalize_or_zero();
        Ray { origin, direction }
    }

    /// Where a world point falls on the canvas, in device pixels from the top left corner (x right, y down).
    ///
    /// `None` when the point is level with the viewer or behind. A point outside the canvas still has a position.
    #[must_use]
    pub fn project(&self, point: Vec3) -> Option<[f32; 2]> {
        let clip = self.clip_from_world() * point.extend(1.0);
        if clip.w <= 1e-6 {
            return None;
        }
        let ndc = Vec2::new(clip.x, clip.y) / clip.w;
        Some([
            (ndc.x * 0.5 + 0.5) * self.viewport_px[0],
            (0.5 - ndc.y * 0.5) * self.viewport_px[1],
        ])
    }

    /// How many device pixels one world unit spans at `point`, across the line of sight. Zero behind the viewer.
    #[must_use]
    pub fn px_per_unit(&self, point: Vec3) -> f32 {
        let w = (self.clip_from_world() * point.extend(1.0)).w;
        if w <= 1e-6 {
            return 0.0;
        }
        self.projection.y_axis.y * 0.5 * self.viewport_px[1] / w
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half a thousandth of a pixel: single-precision matrices over a 2000-unit scene.
    const PIXEL_TOLERANCE: f32 = 0.05;

    fn cameras() -> Vec<Camera> {
        let mut all = vec![
            Camera::perspective(
                Vec3::new(0.0, -900.0, 400.0),
                Vec3::ZERO,
                Vec3::Z,
                0.6,
                10.0,
                4000.0,
                [1280.0, 720.0],
            ),
            Camera::perspective(
                Vec3::new(700.0, 30.0, 900.0),
                Vec3::new(0.0, 20.0, 0.0),
                Vec3::Z,
                0.9,
                5.0,
                3000.0,
                [360.0, 640.0],
            ),
            Camera::perspective(
                Vec3::new(0.0, 0.0, 1500.0),
                Vec3::ZERO,
                Vec3::Y,
                0.4,
                50.0,
                4000.0,
                [640.0, 480.0],
            ),
        ];
        let mut flat = all[0];
        flat.projection =
            glam::camera::rh::proj::opengl::orthographic(-400.0, 400.0, -225.0, 225.0, 1.0, 4000.0);
        all.push(flat);
        all
    }

    #[test]
    fn check_ray_and_projection_undo_each_other() {
        for camera in cameras() {
            for (fx, fy) in [(0.5, 0.5), (0.1, 0.2), (0.93, 0.4), (0.3, 0.99)] {
                let (x, y) = (fx * camera.viewport_px[0], fy * camera.viewport_px[1]);
                let ray = camera.ray(x, y);
                assert!(
                    (ray.direction.length() - 1.0).abs() < 1e-4,
                    "unit direction"
                );
                for t in [100.0, 700.0, 1500.0] {
                    let back = camera
                        .project(ray.origin + ray.direction * t)
                        .expect("in front of the viewer");
                    assert!(
                        (back[0] - x).abs() < PIXEL_TOLERANCE,
                        "x {x} came back as {}",
                        back[0]
                    );
                    assert!(
                        (back[1] - y).abs() < PIXEL_TOLERANCE,
                        "y {y} came back as {}",
                        back[1]
                    );
                }
            }
        }
    }

    #[test]
    fn check_points_behind_have_no_place() {
        let camera = cameras()[0];
        let behind = camera.eye() + Vec3::new(0.0, -200.0, 80.0);
        assert_eq!(camera.project(behind), None, "behind the viewer");
        assert_eq!(
            camera.px_per_unit(behind).to_bits(),
            0.0_f32.to_bits(),
            "no scale behind the viewer"
        );
    }

    #[test]
    fn check_eye_is_where_it_was_put() {
        let eye = Vec3::new(12.0, -340.0, 560.0);
        let camera =
            Camera::perspective(eye, Vec3::ZERO, Vec3::Z, 0.7, 1.0, 2000.0, [300.0, 200.0]);
        assert!(
            (camera.eye() - eye).length() < 1e-2,
            "eye came back as {}",
            camera.eye()
        );
    }

    #[test]
    fn check_direction_to_the_viewer() {
        for camera in cameras() {
            let ray = camera.ray(0.3 * camera.viewport_px[0], 0.6 * camera.viewport_px[1]);
            let back = camera.toward_viewer(ray.origin + ray.direction * 400.0);
            assert!(
                (back + ray.direction).length() < 1e-3,
                "against the ray: {back} and {}",
                ray.direction
            );
        }
        assert_eq!(
            cameras().iter().filter(|c| c.is_parallel()).count(),
            1,
            "one of them is orthographic"
        );
    }

    #[test]
    fn check_scale_agrees_with_projection() {
        let camera = cameras()[0];
        let right = camera.view.row(0).truncate();
        let [ax, ay] = camera.project(Vec3::ZERO).expect("in front");
        let [bx, by] = camera.project(right * 10.0).expect("in front");
        let px = Vec2::new(bx - ax, by - ay).length();
        assert!(
            (px - 10.0 * camera.px_per_unit(Vec3::ZERO)).abs() < 0.05,
            "10 units spanned {px} px"
        );
    }
}
