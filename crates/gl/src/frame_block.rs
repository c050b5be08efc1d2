//! The values every shader shares in one frame, laid out as `FrameBlock` in `shaders/frame.glsl` (std140).

use crate::frame::{Frame, WindowShape};
use crate::maps::MapBox;
use crate::opening;
use glam::{Mat4, Vec3, Vec4};

/// Floats in the block: four matrices and seventeen vectors.
pub(crate) const FLOATS: usize = 4 * 16 + 17 * 4;

/// Where the viewer is in the block: after the matrices.
const EYE: usize = 4 * 16;

/// Distance to what blocks, in soft-edge radii, at which a shadow's edge is fully soft.
const FULL_SOFTNESS_AT: f32 = 6.0;

/// The boxes of the maps that exist in this frame.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Maps {
    pub(crate) shadow: Option<MapBox>,
    pub(crate) height: Option<MapBox>,
    pub(crate) rest: Option<MapBox>,
}

/// sRGB-coded to linear light (IEC 61966-2-1).
pub(crate) fn linear(colour: [f32; 3]) -> [f32; 3] {
    colour.map(|v| {
        if v <= 0.04045 {
            v / 12.92
        } else {
            libm::powf((v + 0.055) / 1.055, 2.4)
        }
    })
}

struct Block(Vec<f32>);

impl Block {
    fn matrix(&mut self, m: Mat4) {
        self.0.extend(m.to_cols_array());
    }

    fn vector(&mut self, v: Vec4) {
        self.0.extend(v.to_array());
    }

    fn with(&mut self, v: Vec3, w: f32) {
        self.vector(v.extend(w));
    }

    fn colour(&mut self, c: [f32; 3], w: f32) {
        self.with(Vec3::from_array(c), w);
    }
}

fn flag(on: bool) -> f32 {
    if on { 1.0 } else { 0.0 }
}

/// The block for the scene itself.
pub(crate) fn scene(frame: &Frame, maps: &Maps) -> Vec<f32> {
    let (camera, light) = (&frame.camera, &frame.light);
    let mut block = Block(Vec::with_capacity(FLOATS));
    block.matrix(camera.clip_from_world());
    block.matrix(maps.shadow.map_or(Mat4::IDENTITY, |m| m.unit_from_world()));
    block.matrix(maps.height.map_or(Mat4::IDENTITY, |m| {
        height_from_world(&m, frame.rest_height, light.up)
    }));
    block.matrix(maps.rest.map_or(Mat4::IDENTITY, |m| m.unit_from_world()));
    block.vector(if camera.is_parallel() {
        camera.toward_viewer(Vec3::ZERO).extend(0.0)
    } else {
        camera.eye().extend(1.0)
    });
    let [width, height] = camera.viewport_px.map(|v| v.max(1.0));
    block.vector(Vec4::new(width, height, 1.0 / width, 1.0 / height));
    block.with(light.toward.normalize_or(light.up), light.shadow);
    block.colour(light.key, flag(maps.shadow.is_some()));
    block.colour(light.sky, frame.rest_height);
    block.colour(
        light.bounce,
        flag(maps.height.is_some() && maps.rest.is_some()),
    );
    let trace = frame.trace.filter(|_| frame.cut.is_some());
    block.colour(light.fill, trace.map_or(0.0, |line| 0.5 * line.width_px));
    block.with(light.up, light.occlusion);
    block.vector(maps.shadow.map_or(Vec4::ONE, |m| {
        let soft = light.shadow_softness.max(1e-3);
        Vec4::new(
            soft / m.extent.x,
            soft / m.extent.y,
            0.14 * soft,
            m.extent.z / (FULL_SOFTNESS_AT * soft),
        )
    }));
    block.vector(maps.height.map_or(Vec4::ONE, |m| {
        Vec4::new(
            1.0 / m.extent.x,
            1.0 / m.extent.y,
            height_span(&m, frame.rest_height, light.up),
            light.occlusion_reach,
        )
    }));
    block.with(maps.height.map_or(Vec3::X, |m| m.along), 0.0);
    match &frame.cut {
        Some(cut) => {
            block.vector(cut.plane);
            block.with(cut.centre, cut.radius);
            block.vector(Vec4::new(
                cut.feather.clamp(1e-3, cut.radius.max(1e-3)),
                cut.ghost,
                flag(cut.shape == WindowShape::Cylinder),
                opening::strength(&frame.camera, cut),
            ));
        }
        None => (0..3).for_each(|_| block.vector(Vec4::ZERO)),
    }
    block.vector(trace.map_or(Vec4::ZERO, |line| Vec4::from_array(line.colour)));
    block.colour(frame.background.top, 1.0);
    block.colour(frame.background.bottom, 1.0);
    block.0
}

/// The block for the compass: the scene's lights and sense of direction, parallel sight, no maps and no cut.
pub(crate) fn compass(frame: &Frame, clip_from_world: Mat4) -> Vec<f32> {
    let mut own = frame.clone_lights();
    own.camera.view = Mat4::IDENTITY;
    own.camera.projection = clip_from_world;
    let mut values = scene(&own, &Maps::default());
    // Parallel sight along the camera's own axis.
    let toward = frame.camera.view.row(2).truncate();
    values[EYE..EYE + 4].copy_from_slice(&toward.extend(0.0).to_array());
    values
}

impl Frame {
    /// The same camera, lights and backdrop, and nothing to draw.
    fn clone_lights(&self) -> Self {
        Self {
            rest_height: -1e9,
            ..Self::new(self.camera, self.light, self.background)
        }
    }
}

/// Heights above the rest surface that the map holds: from it to the near end of the box.
fn height_span(map: &MapBox, rest: f32, up: Vec3) -> f32 {
    (top(map, up) - rest).max(1.0)
}

/// Height of the near end of a box that is looked into from above.
fn top(map: &MapBox, up: Vec3) -> f32 {
    map.clip_from_world
        .inverse()
        .transform_point3(Vec3::NEG_Z)
        .dot(up)
}

/// World → the height map: 0…1 across it, and height above rest as a share of the span.
fn height_from_world(map: &MapBox, rest: f32, up: Vec3) -> Mat4 {
    let mut m = map.unit_from_world().transpose();
    let span = height_span(map, rest, up);
    m.z_axis = (up / span).extend(-rest / span);
    m.transpose()
}

/// World → clip for drawing the height map, so that its stored height is 0 at rest and 1 at the top of the span.
pub(crate) fn height_clip(map: &MapBox, rest: f32, up: Vec3) -> Mat4 {
    let unit = height_from_world(map, rest, up);
    let down = Mat4::from_scale(Vec3::new(2.0, 2.0, -2.0));
    Mat4::from_translation(Vec3::new(-1.0, -1.0, 1.0)) * down * unit
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::frame::{Background, Light};
    use crate::maps::fit;

    fn frame() -> Frame {
        let camera = Camera::perspective(
            Vec3::new(0.0, -900.0, 700.0),
            Vec3::ZERO,
            Vec3::Z,
            0.6,
            10.0,
            3000.0,
            [640.0, 480.0],
        );
        Frame::new(
            camera,
            Light::day(),
            Background {
                top: [1.0; 3],
                bottom: [0.5; 3],
            },
        )
    }

    #[test]
    fn check_block_length_is_the_shaders() {
        let glsl = include_str!("shaders/frame.glsl");
        let declared = glsl
            .lines()
            .map(str::trim)
            .filter(|l| l.contains(';'))
            .map(|l| {
                if l.starts_with("mat4 ") {
                    16
                } else if l.starts_with("vec4 ") {
                    4
                } else {
                    0
                }
            })
            .sum::<usize>();
        assert_eq!(
            declared, FLOATS,
            "the GLSL block and the Rust one have the same length"
        );
        assert_eq!(
            scene(&frame(), &Maps::default()).len(),
            FLOATS,
            "scene block"
        );
        assert_eq!(
            compass(&frame(), Mat4::IDENTITY).len(),
            FLOATS,
            "compass block"
        );
    }

    #[test]
    fn check_eye_has_its_place_in_the_block() {
        let values = scene(&frame(), &Maps::default());
        let eye = Vec3::from_slice(&values[EYE..EYE + 3]);
        assert!(
            (eye - Vec3::new(0.0, -900.0, 700.0)).length() < 1e-2,
            "eye at {eye}"
        );
        assert_eq!(values[EYE + 3].to_bits(), 1.0_f32.to_bits(), "perspective");
        let parallel = compass(&frame(), Mat4::IDENTITY);
        assert_eq!(parallel[EYE + 3].to_bits(), 0.0_f32.to_bits(), "parallel");
        assert!(
            Vec3::from_slice(&parallel[EYE..EYE + 3]).dot(eye.normalize()) > 0.99,
            "towards the viewer"
        );
    }

    #[test]
    fn check_heights_run_from_rest_to_top() {
        let points = [
            Vec3::new(-800.0, -200.0, 0.0),
            Vec3::new(800.0, 200.0, 230.0),
        ];
        let map = fit(&points, Vec3::NEG_Z, 120.0).expect("there are points");
        let clip = height_clip(&map, 0.0, Vec3::Z);
        let unit = height_from_world(&map, 0.0, Vec3::Z);
        let span = height_span(&map, 0.0, Vec3::Z);
        assert!((230.0..=231.0 + 64.0).contains(&span), "span {span}");
        for z in [0.0, 40.0, 230.0] {
            let p = Vec3::new(300.0, -50.0, z);
            let share = z / span;
            assert!(
                (unit.transform_point3(p).z - share).abs() < 1e-4,
                "height {z}"
            );
            // depth.vert stores 0.5 − 0.5 · clip z.
            assert!(
                (0.5 - 0.5 * clip.transform_point3(p).z - share).abs() < 1e-4,
                "stored height {z}"
            );
            let (a, b) = (unit.transform_point3(p), clip.transform_point3(p));
            assert!(
                (a.x - (b.x * 0.5 + 0.5)).abs() < 1e-5 && (a.y - (b.y * 0.5 + 0.5)).abs() < 1e-5,
                "same place"
            );
        }
    }

    #[test]
    fn check_linear_light() {
        // Black, white, and the middle of the curve (IEC 61966-2-1: 0.5 is 0.2140 in linear light).
        for (coded, want) in [(0.0, 0.0), (1.0, 1.0), (0.5, 0.214_041)] {
            assert!((linear([coded; 3])[0] - want).abs() < 1e-5, "{coded}");
        }
    }
}
