//! The maps that light is looked up in, drawn again only when what they show has moved.
//!
//! Two groups: what a resting body does to its surroundings (heights, and the rest surface with its contact shadow),
//! which stays while only the probe moves; and the shadow map of everything, which does not.

use crate::device::PhaseState;
use crate::frame::{Draw, Frame, MeshId};
use crate::frame_block::{self, Maps};
use crate::maps::{self, MapBox};
use crate::passes::Painter;
use crate::programs::{HEIGHT_UNIT, REST_UNIT, SHADOW_DEPTH_UNIT, SHADOW_UNIT};
use crate::resources::{HEIGHT_SIZE, REST_SIZE, SHADOW_SIZE, Target};
use crate::scene::SceneData;
use glam::{Mat4, Vec3};
use web_sys::WebGl2RenderingContext as Gl;

/// What a group of maps was last drawn from.
#[derive(Debug, Clone, PartialEq)]
struct Key {
    meshes: Vec<(MeshId, u64, Mat4)>,
    toward: Vec3,
    up: Vec3,
    numbers: [f32; 3],
}

impl Key {
    fn new(frame: &Frame, scene: &SceneData, draws: &[Draw]) -> Self {
        let light = &frame.light;
        let mesh = |d: &Draw| {
            (
                d.mesh,
                scene.mesh(d.mesh).map_or(0, |m| m.generation),
                d.model,
            )
        };
        Self {
            meshes: draws.iter().map(mesh).collect(),
            toward: light.toward,
            up: light.up,
            numbers: [
                frame.rest_height,
                light.shadow_softness,
                light.occlusion_reach,
            ],
        }
    }
}

/// Where the maps lie and what they were drawn from.
#[derive(Debug, Default)]
pub(crate) struct MapState {
    resting: Option<Key>,
    all: Option<Key>,
    boxes: Maps,
}

/// World corners of the boxes round the draws' meshes.
fn points(scene: &SceneData, draws: &[Draw]) -> Vec<Vec3> {
    let known = draws
        .iter()
        .filter_map(|d| scene.mesh(d.mesh).map(|m| (m.bounds, d.model)));
    known
        .flat_map(|(bounds, model)| maps::corners(bounds, model))
        .collect()
}

/// The points and where their shadows fall at the height of rest.
fn with_shadows(points: &[Vec3], frame: &Frame) -> Vec<Vec3> {
    let up = frame.light.up;
    let toward = frame.light.toward.normalize_or(up);
    let steepness = toward.dot(up);
    let mut all = points.to_vec();
    // A light near the horizon throws shadows without end; they are not followed.
    if steepness > 0.25 {
        let drop = |p: &Vec3| *p - toward * ((p.dot(up) - frame.rest_height).max(0.0) / steepness);
        all.extend(points.iter().map(drop));
    }
    all
}

impl Painter<'_> {
    /// Brings the maps up to date and leaves them and the frame's block bound for the phases that follow.
    pub(crate) fn light_maps(&mut self, state: &mut MapState) {
        let (frame, scene) = (self.frame, self.scene);
        let known = |d: &&Draw| scene.mesh(d.mesh).is_some();
        let resting: Vec<Draw> = frame
            .draws
            .iter()
            .filter(|d| d.occludes)
            .filter(known)
            .copied()
            .collect();
        let all: Vec<Draw> = frame
            .draws
            .iter()
            .filter(|d| d.casts)
            .filter(known)
            .copied()
            .collect();
        let resting_key = Key::new(frame, scene, &resting);
        let all_key = Key::new(frame, scene, &all);
        let light = &frame.light;
        let sight = -light.toward.normalize_or(light.up);
        let shadow_margin = 2.0 * light.shadow_softness;
        self.unbind_maps();
        PhaseState::SOLID.set(self.gl);
        if state.resting.as_ref() != Some(&resting_key) {
            let body = points(scene, &resting);
            let margin = 1.2 * light.occlusion_reach;
            state.boxes = Maps {
                shadow: maps::fit(&body, sight, shadow_margin),
                height: maps::fit(&body, -light.up, margin),
                rest: maps::fit(&with_shadows(&body, frame), -light.up, margin),
            };
            self.upload_scene(&state.boxes);
            self.draw_resting(&state.boxes, &resting);
            state.resting = Some(resting_key);
            state.all = None;
            self.report.shadows_redrawn = true;
        }
        if state.all.as_ref() != Some(&all_key) {
            state.boxes.shadow = maps::fit(&points(scene, &all), sight, shadow_margin);
            self.upload_scene(&state.boxes);
            self.draw_shadow(&state.boxes, &all);
            state.all = Some(all_key);
            self.report.shadows_redrawn = true;
        }
        self.upload_scene(&state.boxes);
        self.bind_maps();
    }

    fn upload_scene(&self, boxes: &Maps) {
        self.upload_block(
            &self.resources.frame_block,
            &frame_block::scene(self.frame, boxes),
        );
    }

    fn draw_resting(&mut self, boxes: &Maps, draws: &[Draw]) {
        let (Some(height), Some(rest)) = (boxes.height, boxes.rest) else {
            return;
        };
        let clip = frame_block::height_clip(&height, self.frame.rest_height, self.frame.light.up);
        self.draw_map(&self.resources.height, HEIGHT_SIZE, clip, draws);
        self.draw_shadow(boxes, draws);
        self.draw_rest(&rest);
        self.unbind_maps();
    }

    fn draw_shadow(&mut self, boxes: &Maps, draws: &[Draw]) {
        if let Some(shadow) = &boxes.shadow {
            self.draw_map(
                &self.resources.shadow,
                SHADOW_SIZE,
                shadow.clip_from_world,
                draws,
            );
        }
    }

    fn draw_map(&mut self, target: &Target, size: [i32; 2], clip_from_world: Mat4, draws: &[Draw]) {
        let (gl, program) = (self.gl, &self.resources.programs.depth);
        gl.bind_framebuffer(Gl::FRAMEBUFFER, Some(&target.frame));
        gl.viewport(0, 0, size[0], size[1]);
        gl.clear_color(0.0, 0.0, 0.0, 1.0);
        gl.clear_depth(1.0);
        gl.clear(Gl::COLOR_BUFFER_BIT | Gl::DEPTH_BUFFER_BIT);
        gl.use_program(Some(&program.handle));
        let matrix = clip_from_world.to_cols_array();
        gl.uniform_matrix4fv_with_f32_array(program.place(1), false, &matrix);
        for draw in draws {
            gl.uniform4fv_with_f32_array(program.place(0), &crate::passes::plain_values(draw));
            if let Some(mesh) = self.resources.mesh(draw.mesh) {
                self.elements(mesh);
            }
        }
    }

    fn draw_rest(&mut self, rest: &MapBox) {
        let (gl, program) = (self.gl, &self.resources.programs.rest);
        self.bind_maps();
        // What is drawn to must not be bound for reading.
        gl.active_texture(Gl::TEXTURE0 + REST_UNIT);
        gl.bind_texture(Gl::TEXTURE_2D, None);
        gl.bind_framebuffer(Gl::FRAMEBUFFER, Some(&self.resources.rest.frame));
        gl.viewport(0, 0, REST_SIZE[0], REST_SIZE[1]);
        PhaseState {
            depth: None,
            depth_write: false,
            ..PhaseState::SOLID
        }
        .set(gl);
        gl.use_program(Some(&program.handle));
        let matrix = rest.unit_from_world().inverse().to_cols_array();
        gl.uniform_matrix4fv_with_f32_array(program.place(0), false, &matrix);
        gl.bind_vertex_array(Some(&self.resources.empty_array));
        gl.draw_arrays(Gl::TRIANGLES, 0, 3);
        self.count(1);
        PhaseState::SOLID.set(gl);
    }

    fn unbind_maps(&self) {
        for unit in [SHADOW_UNIT, SHADOW_DEPTH_UNIT, HEIGHT_UNIT, REST_UNIT] {
            self.gl.active_texture(Gl::TEXTURE0 + unit);
            self.gl.bind_texture(Gl::TEXTURE_2D, None);
        }
    }

    fn bind_maps(&self) {
        let (gl, own) = (self.gl, self.resources);
        for (unit, texture, sampler) in [
            (SHADOW_UNIT, &own.shadow.texture, Some(&own.compare)),
            (SHADOW_DEPTH_UNIT, &own.shadow.texture, None),
            (HEIGHT_UNIT, &own.height.texture, None),
            (REST_UNIT, &own.rest.texture, None),
        ] {
            gl.active_texture(Gl::TEXTURE0 + unit);
            gl.bind_texture(Gl::TEXTURE_2D, Some(texture));
            gl.bind_sampler(unit, sampler);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::frame::{Background, Light};

    fn frame(toward: Vec3) -> Frame {
        let camera = Camera::perspective(
            Vec3::new(0.0, -900.0, 700.0),
            Vec3::ZERO,
            Vec3::Z,
            0.6,
            10.0,
            3000.0,
            [64.0; 2],
        );
        let light = Light {
            toward,
            ..Light::day()
        };
        Frame {
            rest_height: -100.0,
            ..Frame::new(
                camera,
                light,
                Background {
                    top: [1.0; 3],
                    bottom: [0.5; 3],
                },
            )
        }
    }

    #[test]
    fn check_shadows_fall_on_the_rest_surface() {
        let points = [Vec3::new(0.0, 0.0, 100.0), Vec3::new(50.0, 10.0, -100.0)];
        let all = with_shadows(&points, &frame(Vec3::new(-1.0, 0.0, 1.0)));
        assert_eq!(all.len(), 4, "each point and its shadow");
        assert!(
            (all[2] - Vec3::new(200.0, 0.0, -100.0)).length() < 1e-3,
            "away from the light, got {}",
            all[2]
        );
        assert!(
            (all[3] - points[1]).length() < 1e-3,
            "a point at rest is its own shadow"
        );
        assert_eq!(
            with_shadows(&points, &frame(Vec3::new(-1.0, 0.0, 0.1))).len(),
            2,
            "no endless shadows"
        );
    }

    #[test]
    fn check_keys_see_movement_and_new_meshes() {
        let mut scene = SceneData::default();
        let up = [0.0, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 1.0];
        let flat = [0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0];
        scene
            .put_mesh(MeshId(1), &flat, &up, &[0, 1, 2])
            .expect("sound");
        let frame = frame(Vec3::Z);
        let draw = Draw::new(MeshId(1), Mat4::IDENTITY, [1.0; 4]);
        let key = Key::new(&frame, &scene, &[draw]);
        assert_eq!(key, Key::new(&frame, &scene, &[draw]), "nothing moved");
        let moved = Draw {
            model: Mat4::from_translation(Vec3::X),
            ..draw
        };
        assert_ne!(key, Key::new(&frame, &scene, &[moved]), "moved");
        let recoloured = Draw {
            colour: [0.5; 4],
            ..draw
        };
        assert_eq!(
            key,
            Key::new(&frame, &scene, &[recoloured]),
            "colour throws no shadow"
        );
        scene
            .put_mesh(MeshId(1), &flat, &up, &[0, 2, 1])
            .expect("sound");
        assert_ne!(key, Key::new(&frame, &scene, &[draw]), "put again");
    }
}
