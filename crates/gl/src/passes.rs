//! The phases of a frame, in their order. Each sets all the state it relies on.

use crate::device::{FRAME_BINDING, PhaseState, Stencil};
use crate::frame::{
    Compass, Cut, CutMode, Draw, DrawReport, Frame, MeshId, Phase, Sheet, WindowShape,
};
use crate::frame_block::{self, linear};
use crate::light_maps::MapState;
use crate::maps;
use crate::programs::PICTURE_UNIT;
use crate::resources::{DeviceMesh, Resources};
use crate::scene::SceneData;
use glam::{Mat4, Vec3, Vec4};
use web_sys::{WebGl2RenderingContext as Gl, WebGlBuffer};

/// The passes of the lit program, as its shader numbers them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pass {
    Solid,
    FullPart,
    FadedDepth,
    FadedPart,
    Through,
    Wall,
}

impl Pass {
    fn number(self) -> f32 {
        match self {
            Self::Solid => 0.0,
            Self::FullPart => 1.0,
            Self::FadedDepth => 2.0,
            Self::FadedPart => 3.0,
            Self::Through => 4.0,
            Self::Wall => 5.0,
        }
    }
}

/// One frame being drawn.
pub(crate) struct Painter<'a> {
    pub(crate) gl: &'a Gl,
    pub(crate) resources: &'a Resources,
    pub(crate) scene: &'a SceneData,
    pub(crate) frame: &'a Frame,
    pub(crate) report: DrawReport,
}

impl Painter<'_> {
    /// Draws everything.
    pub(crate) fn paint(&mut self, maps: &mut MapState, lines: &mut Vec<f32>) {
        self.light_maps(maps);
        let [width, height] = self.frame.camera.viewport_px.map(whole);
        self.gl.bind_framebuffer(Gl::FRAMEBUFFER, None);
        self.gl.viewport(0, 0, width, height);
        self.background();
        self.opaque();
        self.probe();
        self.sheets(false);
        self.translucent();
        self.overlay(lines);
        self.compass();
        self.gl.bind_vertex_array(None);
    }

    fn draws(&self, phase: Phase) -> impl DoubleEndedIterator<Item = &Draw> + use<'_> {
        self.frame.draws.iter().filter(move |d| d.phase == phase)
    }

    pub(crate) fn upload_block(&self, buffer: &WebGlBuffer, values: &[f32]) {
        self.gl.bind_buffer(Gl::UNIFORM_BUFFER, Some(buffer));
        self.gl.buffer_data_with_u8_array(
            Gl::UNIFORM_BUFFER,
            bytemuck::cast_slice(values),
            Gl::DYNAMIC_DRAW,
        );
        self.gl
            .bind_buffer_base(Gl::UNIFORM_BUFFER, FRAME_BINDING, Some(buffer));
    }

    fn background(&mut self) {
        let gl = self.gl;
        PhaseState {
            depth: None,
            ..PhaseState::SOLID
        }
        .set(gl);
        gl.clear_depth(1.0);
        gl.clear_stencil(0);
        gl.clear(Gl::DEPTH_BUFFER_BIT | Gl::STENCIL_BUFFER_BIT);
        gl.depth_mask(false);
        gl.use_program(Some(&self.resources.programs.background.handle));
        gl.bind_vertex_array(Some(&self.resources.empty_array));
        gl.draw_arrays(Gl::TRIANGLES, 0, 3);
        self.count(1);
    }

    fn opaque(&mut self) {
        let solid = PhaseState::SOLID;
        let cut = self.frame.cut.is_some();
        let draws = self.frame.draws.iter();
        let of = |phase: Phase| draws.clone().filter(move |d| d.phase == phase);
        let whole = |d: &&Draw| !cut || d.cut == CutMode::None;
        solid.set(self.gl);
        // The skin first: most of what lies inside is then known to be hidden before it is shaded.
        self.lit(
            of(Phase::Translucent).filter(|d| may_be_full(d)),
            Pass::FullPart,
        );
        self.lit(of(Phase::Opaque).filter(whole), Pass::Solid);
        if cut {
            // Where the skin has gone, its far wall closes the view. It covers what is drawn so far and nothing that
            // follows, so it never hides the section, even where the line of sight leaves the body and enters it again.
            PhaseState {
                depth_write: false,
                ..solid
            }
            .set(self.gl);
            self.lit(
                of(Phase::Translucent).filter(|d| may_be_faded(d, cut)),
                Pass::Wall,
            );
            solid.set(self.gl);
            self.lit(of(Phase::Opaque).filter(|d| !whole(d)), Pass::Solid);
        }
    }

    fn probe(&mut self) {
        PhaseState {
            stencil: Stencil::Mark,
            ..PhaseState::SOLID
        }
        .set(self.gl);
        self.lit(
            self.frame.draws.iter().filter(|d| d.phase == Phase::Probe),
            Pass::Solid,
        );
    }

    fn sheets(&mut self, hidden: bool) {
        let gl = self.gl;
        let state = PhaseState {
            blend: true,
            depth: Some(if hidden { Gl::GREATER } else { Gl::LEQUAL }),
            depth_write: !hidden,
            ..PhaseState::SOLID
        };
        let count = u8::try_from(self.frame.sheets.len()).unwrap_or(u8::MAX);
        for (sheet, under) in self.frame.sheets.iter().zip((0..count).rev()) {
            let share = if hidden { sheet.hidden_alpha } else { 1.0 };
            if sheet.alpha * share <= 0.0 {
                continue;
            }
            let Some(picture) = self.resources.picture(sheet.texture) else {
                self.report.missing += u32::from(!hidden);
                continue;
            };
            // Of sheets in one plane the earlier lie a little deeper; one sheet must not count another as its cover.
            let offset = if hidden { -1.0 } else { f32::from(under) };
            PhaseState { offset, ..state }.set(gl);
            gl.use_program(Some(&self.resources.programs.sheet.handle));
            gl.active_texture(Gl::TEXTURE0 + PICTURE_UNIT);
            gl.bind_texture(Gl::TEXTURE_2D, Some(&picture.handle));
            gl.bind_sampler(PICTURE_UNIT, None);
            gl.uniform4fv_with_f32_array(
                self.resources.programs.sheet.place(0),
                &sheet_values(sheet, sheet.alpha * share),
            );
            gl.bind_vertex_array(Some(&self.resources.empty_array));
            gl.draw_arrays(Gl::TRIANGLE_STRIP, 0, 4);
            self.count(2);
        }
    }

    fn translucent(&mut self) {
        let cut = self.frame.cut.is_some();
        let faded = |d: &&Draw| d.phase == Phase::Translucent && may_be_faded(d, cut);
        // Depth first, so that of a faded body only its nearest layer is blended and its own inside never shows.
        PhaseState {
            colour_write: false,
            ..PhaseState::SOLID
        }
        .set(self.gl);
        self.lit(self.frame.draws.iter().filter(faded), Pass::FadedDepth);
        PhaseState {
            blend: true,
            depth_write: false,
            ..PhaseState::SOLID
        }
        .set(self.gl);
        self.lit(self.frame.draws.iter().filter(faded), Pass::FadedPart);
    }

    fn overlay(&mut self, lines: &mut Vec<f32>) {
        let gl = self.gl;
        PhaseState {
            stencil: Stencil::Mark,
            ..PhaseState::SOLID
        }
        .set(gl);
        self.lit(
            self.frame
                .draws
                .iter()
                .filter(|d| d.phase == Phase::Overlay),
            Pass::Solid,
        );
        let pieces = crate::ribbons::instances(&self.frame.ribbons, lines);
        if pieces > 0 {
            gl.bind_buffer(Gl::ARRAY_BUFFER, Some(&self.resources.ribbon_buffer));
            gl.buffer_data_with_u8_array(
                Gl::ARRAY_BUFFER,
                bytemuck::cast_slice(lines),
                Gl::DYNAMIC_DRAW,
            );
        }
        let visible = PhaseState {
            blend: true,
            depth_write: false,
            ..PhaseState::SOLID
        };
        self.lines(pieces, visible, 0.0);

        // What may shine through comes last: it lies over everything that hides it.
        self.sheets(true);
        let through = PhaseState {
            depth: Some(Gl::GREATER),
            ..visible
        };
        if self.frame.ribbons.iter().any(|r| r.hidden_alpha > 0.0) {
            self.lines(pieces, through, 1.0);
        }
        PhaseState {
            stencil: Stencil::OnceWhereUnmarked,
            ..through
        }
        .set(gl);
        gl.enable(Gl::CULL_FACE);
        for phase in [Phase::Overlay, Phase::Probe] {
            // The later of two marks wins where both shine through.
            let marks: Vec<Draw> = self
                .draws(phase)
                .rev()
                .filter(|d| d.hidden_alpha > 0.0)
                .copied()
                .collect();
            self.lit(marks.iter(), Pass::Through);
        }
    }

    fn lines(&mut self, pieces: usize, state: PhaseState, hidden: f32) {
        let gl = self.gl;
        let Some(count) = i32::try_from(pieces).ok().filter(|n| *n > 0) else {
            return;
        };
        state.set(gl);
        gl.use_program(Some(&self.resources.programs.ribbon.handle));
        gl.uniform1f(self.resources.programs.ribbon.place(0), hidden);
        gl.bind_vertex_array(Some(&self.resources.ribbon_array));
        gl.draw_arrays_instanced(Gl::TRIANGLE_STRIP, 0, 4, count);
        self.count(2 * u32::try_from(pieces).unwrap_or(0));
    }

    fn compass(&mut self) {
        let Some(compass) = &self.frame.compass else {
            return;
        };
        let gl = self.gl;
        let [left, top, width, height] = compass.rect_px;
        let canvas = self.frame.camera.viewport_px[1];
        let rect = [left, canvas - top - height, width, height].map(whole);
        gl.viewport(rect[0], rect[1], rect[2], rect[3]);
        gl.enable(Gl::SCISSOR_TEST);
        gl.scissor(rect[0], rect[1], rect[2], rect[3]);
        PhaseState::SOLID.set(gl);
        gl.clear_depth(1.0);
        gl.clear(Gl::DEPTH_BUFFER_BIT);
        self.upload_block(
            &self.resources.compass_block,
            &frame_block::compass(self.frame, compass_clip(&self.frame.camera.view)),
        );
        self.compass_meshes(compass);
        gl.disable(Gl::SCISSOR_TEST);
    }

    fn compass_meshes(&mut self, compass: &Compass) {
        let resources = self.resources;
        let material = crate::frame::Material {
            receive: 0.0,
            ..crate::frame::Material::MOULDED
        };
        let mut one = |mesh: &DeviceMesh, model: Mat4, [r, g, b]: [f32; 3]| {
            let draw = Draw {
                material,
                ..Draw::new(MeshId(0), model, [r, g, b, 1.0])
            };
            self.gl.use_program(Some(&resources.programs.lit.handle));
            self.gl.uniform4fv_with_f32_array(
                resources.programs.lit.place(0),
                &draw_values(&draw, Pass::Solid, false),
            );
            self.elements(mesh);
        };
        for arm in &compass.arms {
            let length = arm.direction.length();
            let Some(axis) = arm.direction.try_normalize() else {
                continue;
            };
            let side = axis.any_orthonormal_vector();
            let model = Mat4::from_cols(
                (side * length).extend(0.0),
                (axis.cross(side) * length).extend(0.0),
                arm.direction.extend(0.0),
                Vec4::W,
            );
            one(
                if arm.head {
                    &resources.arrow
                } else {
                    &resources.stub
                },
                model,
                arm.colour,
            );
        }
        one(&resources.hub, Mat4::IDENTITY, compass.hub);
    }

    fn lit<'d>(&mut self, draws: impl Iterator<Item = &'d Draw>, pass: Pass) {
        let (gl, programs) = (self.gl, &self.resources.programs);
        let clip_from_world = self.frame.camera.clip_from_world();
        for draw in draws {
            let (Some(mesh), Some(data)) =
                (self.resources.mesh(draw.mesh), self.scene.mesh(draw.mesh))
            else {
                self.report.missing += u32::from(matches!(pass, Pass::Solid | Pass::FullPart));
                continue;
            };
            let cut = self
                .frame
                .cut
                .as_ref()
                .filter(|_| draw.cut != CutMode::None);
            let corners: Vec<Vec3> = maps::corners(data.bounds, draw.model).collect();
            if out_of_view(&clip_from_world, &corners)
                || cut.is_some_and(|cut| cut_away(cut, draw, &corners))
            {
                continue;
            }
            let translucent = matches!(
                pass,
                Pass::FullPart | Pass::FadedDepth | Pass::FadedPart | Pass::Wall
            );
            let program = if translucent || cut.is_some() {
                &programs.lit_cuts
            } else {
                &programs.lit
            };
            gl.use_program(Some(&program.handle));
            gl.uniform4fv_with_f32_array(program.place(0), &draw_values(draw, pass, cut.is_some()));
            self.elements(mesh);
        }
    }

    pub(crate) fn elements(&mut self, mesh: &DeviceMesh) {
        self.gl.bind_vertex_array(Some(&mesh.array));
        self.gl
            .draw_elements_with_i32(Gl::TRIANGLES, mesh.count, Gl::UNSIGNED_INT, 0);
        self.count(u32::try_from(mesh.count / 3).unwrap_or(0));
    }

    pub(crate) fn count(&mut self, triangles: u32) {
        self.report.calls += 1;
        self.report.triangles += triangles;
    }
}

/// Whether some of a translucent mesh may be solid.
fn may_be_full(draw: &Draw) -> bool {
    draw.colour[3] >= 0.985 || draw.material.edge_alpha > 0.0
}

/// Whether some of a translucent mesh may be less than solid.
fn may_be_faded(draw: &Draw, cut: bool) -> bool {
    draw.colour[3] < 0.985 || (cut && draw.cut == CutMode::FadeNearSide)
}

/// Whether a box lies wholly outside one side of the view.
fn out_of_view(clip_from_world: &Mat4, corners: &[Vec3]) -> bool {
    let seen: Vec<Vec4> = corners
        .iter()
        .map(|p| *clip_from_world * p.extend(1.0))
        .collect();
    let sides = [
        Vec4::X,
        Vec4::NEG_X,
        Vec4::Y,
        Vec4::NEG_Y,
        Vec4::Z,
        Vec4::NEG_Z,
    ];
    sides
        .iter()
        .any(|side| seen.iter().all(|c| side.dot(*c) > c.w))
}

/// Length of the opening's tube over its radius, as in `shaders/lit.frag.glsl`.
const TUBE: f32 = 1.25;

/// Whether the cut removes all of a box: its corners are, and what is removed is convex.
fn cut_away(cut: &Cut, draw: &Draw, corners: &[Vec3]) -> bool {
    let normal = cut.plane.truncate();
    let removed = |p: &Vec3| {
        let from_centre = *p - cut.centre;
        let depth = normal.dot(*p) + cut.plane.w;
        let inside = match cut.shape {
            WindowShape::Sphere => from_centre.length() < cut.radius,
            WindowShape::Cylinder => {
                let across = (from_centre - normal * normal.dot(from_centre)).length_squared();
                let share = [
                    across / (cut.radius * cut.radius),
                    depth / (TUBE * cut.radius),
                ];
                let depth_squared = share[1] * share[1];
                share[0] * share[0] + depth_squared * depth_squared < 1.0
            }
        };
        depth > 0.0 && inside
    };
    draw.phase != Phase::Translucent && corners.iter().all(removed)
}

/// The vectors of a draw for programs that only ask where it is.
pub(crate) fn plain_values(draw: &Draw) -> [f32; 28] {
    draw_values(draw, Pass::Solid, false)
}

/// The seven vectors of `draw` in the lit program.
fn draw_values(draw: &Draw, pass: Pass, cut: bool) -> [f32; 28] {
    let m = &draw.material;
    let [r, g, b, alpha] = draw.colour;
    let [r, g, b] = linear([r, g, b]);
    let mode = match draw.cut {
        _ if !cut => 0.0,
        CutMode::None => 0.0,
        CutMode::FadeNearSide if draw.phase == Phase::Translucent => 2.0,
        CutMode::RemoveNearSide | CutMode::FadeNearSide => 1.0,
    };
    let mut out = [0.0; 28];
    for (row, place) in (0..3).zip(out.chunks_exact_mut(4)) {
        place.copy_from_slice(&draw.model.row(row).to_array());
    }
    out[12..16].copy_from_slice(&[r, g, b, alpha]);
    out[16..20].copy_from_slice(&[m.wrap, m.specular, libm::exp2f(2.0 + 6.5 * m.gloss), m.rim]);
    out[20..24].copy_from_slice(&[m.receive, m.inside, m.edge_alpha, mode]);
    out[24..28].copy_from_slice(&[
        pass.number(),
        draw.hidden_alpha,
        if m.receive > 0.9 { 1.0 } else { 0.0 },
        0.0,
    ]);
    out
}

fn sheet_values(sheet: &Sheet, alpha: f32) -> [f32; 24] {
    let mut out = [0.0; 24];
    for (corner, place) in sheet.corners.iter().zip(out.chunks_exact_mut(4)) {
        place.copy_from_slice(&corner.extend(1.0).to_array());
    }
    let (colour, width) = sheet
        .outline
        .map_or(([0.0; 4], 0.0), |line| (line.colour, line.width_px));
    out[16..18].copy_from_slice(&[alpha, width]);
    out[20..24].copy_from_slice(&colour);
    out
}

/// World → clip of the compass: parallel sight from the viewer's direction.
fn compass_clip(view: &Mat4) -> Mat4 {
    let turn = Mat4::from_mat3(glam::Mat3::from_mat4(*view));
    let s = 1.0 / Compass::HALF_SPAN;
    Mat4::from_scale(Vec3::new(s, s, -s)) * turn
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "canvas coordinates, some thousands at most; `as` saturates"
)]
fn whole(px: f32) -> i32 {
    px.round() as i32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::frame::Material;

    #[test]
    fn check_cut_modes_reach_the_shader() {
        // (phase, cut asked for, is there a cut, mode)
        for (phase, cut, any, mode) in [
            (Phase::Opaque, CutMode::None, true, 0.0),
            (Phase::Opaque, CutMode::RemoveNearSide, true, 1.0),
            (Phase::Opaque, CutMode::FadeNearSide, true, 1.0),
            (Phase::Translucent, CutMode::FadeNearSide, true, 2.0),
            (Phase::Translucent, CutMode::FadeNearSide, false, 0.0),
        ] {
            let draw = Draw {
                phase,
                cut,
                ..Draw::new(MeshId(1), Mat4::IDENTITY, [0.5, 0.5, 0.5, 1.0])
            };
            let got = draw_values(&draw, Pass::Solid, any)[23];
            assert_eq!(got.to_bits(), f32::to_bits(mode), "{phase:?} {cut:?} {any}");
        }
    }

    #[test]
    fn check_boxes_are_left_out_only_when_nothing_shows() {
        let camera = Camera::perspective(
            Vec3::new(0.0, -900.0, 0.0),
            Vec3::ZERO,
            Vec3::Z,
            0.6,
            10.0,
            3000.0,
            [640.0, 480.0],
        );
        let clip = camera.clip_from_world();
        let at = |p: Vec3| -> Vec<Vec3> {
            maps::corners(
                (Vec3::splat(-20.0), Vec3::splat(20.0)),
                Mat4::from_translation(p),
            )
            .collect()
        };
        // (middle of a box of 40, out of view)
        for (middle, out) in [
            (Vec3::ZERO, false),
            (Vec3::new(370.0, 0.0, 0.0), false),
            (Vec3::new(450.0, 0.0, 0.0), true),
            (Vec3::new(0.0, -1000.0, 0.0), true),
            (Vec3::new(0.0, 4000.0, 0.0), true),
            (Vec3::new(0.0, -900.0, 0.0), false),
        ] {
            assert_eq!(out_of_view(&clip, &at(middle)), out, "box at {middle}");
        }
        let mut cut = Cut {
            plane: Cut::plane_facing(Vec3::ZERO, Vec3::Y, camera.eye()),
            centre: Vec3::ZERO,
            shape: WindowShape::Sphere,
            radius: 100.0,
            feather: 20.0,
            ghost: 0.0,
        };
        let organ = Draw {
            cut: CutMode::RemoveNearSide,
            ..Draw::new(MeshId(1), Mat4::IDENTITY, [1.0; 4])
        };
        // (middle, removed by a ball, removed by a tube)
        for (middle, ball, tube) in [
            (Vec3::new(0.0, -40.0, 0.0), true, true),
            (Vec3::new(0.0, -10.0, 0.0), false, false),
            (Vec3::new(0.0, 40.0, 0.0), false, false),
            (Vec3::new(0.0, -300.0, 0.0), false, false),
            (Vec3::new(0.0, -85.0, 0.0), false, true),
            (Vec3::new(80.0, -40.0, 0.0), false, false),
        ] {
            cut.shape = WindowShape::Sphere;
            assert_eq!(
                cut_away(&cut, &organ, &at(middle)),
                ball,
                "ball, box at {middle}"
            );
            cut.shape = WindowShape::Cylinder;
            assert_eq!(
                cut_away(&cut, &organ, &at(middle)),
                tube,
                "tube, box at {middle}"
            );
        }
    }

    #[test]
    fn check_model_goes_over_by_rows() {
        let model = Mat4::from_translation(Vec3::new(7.0, 8.0, 9.0));
        let values = draw_values(&Draw::new(MeshId(1), model, [1.0; 4]), Pass::Solid, false);
        assert_eq!(
            [values[3], values[7], values[11]].map(f32::to_bits),
            [7.0_f32, 8.0, 9.0].map(f32::to_bits),
            "translation"
        );
    }

    #[test]
    fn check_passes_that_would_draw_nothing_are_left_out() {
        let solid = Draw {
            phase: Phase::Translucent,
            ..Draw::new(MeshId(1), Mat4::IDENTITY, [1.0; 4])
        };
        assert!(
            may_be_full(&solid) && !may_be_faded(&solid, true),
            "uncut skin is one solid pass"
        );
        let opened = Draw {
            cut: CutMode::FadeNearSide,
            ..solid
        };
        assert!(
            may_be_full(&opened) && may_be_faded(&opened, true),
            "opened skin needs both"
        );
        let glass = Draw {
            colour: [1.0, 1.0, 1.0, 0.3],
            ..solid
        };
        assert!(
            !may_be_full(&glass) && may_be_faded(&glass, false),
            "glass has no solid part"
        );
        let edged = Draw {
            material: Material {
                edge_alpha: 1.0,
                ..Material::MATTE
            },
            ..glass
        };
        assert!(may_be_full(&edged), "unless its edges thicken");
    }

    #[test]
    fn check_compass_looks_the_viewers_way() {
        let view =
            glam::camera::rh::view::look_at_mat4(Vec3::new(0.0, -800.0, 0.0), Vec3::ZERO, Vec3::Z);
        let clip = compass_clip(&view);
        let near = clip.transform_point3(Vec3::NEG_Y).z;
        let far = clip.transform_point3(Vec3::Y).z;
        assert!(
            near < far && near.abs() <= 1.0 && far.abs() <= 1.0,
            "what points at the viewer is nearer"
        );
    }
}
