//! The phases of a frame, in their order. Each sets all the state it relies on.

use crate::device::{FRAME_BINDING, Faces, PhaseState, Stencil};
use crate::frame::{Compass, Cut, CutMode, Draw, DrawReport, Frame, MeshId, Phase, Sheet};
use crate::frame_block::{self, linear};
use crate::light_maps::MapState;
use crate::maps;
use crate::opening::{
    self, Sight, behind_plane, beside, cut_away, may_be_faded, may_be_full, out_of_view, pixel,
    touches,
};
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
        let [width, height] = self.frame.camera.viewport_px.map(pixel);
        self.gl.bind_framebuffer(Gl::FRAMEBUFFER, None);
        self.gl.viewport(0, 0, width, height);
        self.report.missing = self.missing();
        self.background();
        self.opaque();
        self.probe();
        self.sheets();
        self.walls();
        self.translucent();
        self.panes();
        self.overlay(lines);
        self.compass();
        self.gl.bind_vertex_array(None);
    }

    /// World corners of the box round a draw; none for a mesh that was never put.
    fn corners(&self, draw: &Draw) -> Vec<Vec3> {
        let data = self.scene.mesh(draw.mesh);
        data.map(|mesh| maps::corners(mesh.bounds, draw.model).collect())
            .unwrap_or_default()
    }

    /// The cut, if it may change this draw.
    fn cut_of(&self, draw: &Draw) -> Option<&Cut> {
        let cut = opening::open_cut(self.frame).filter(|_| draw.cut != CutMode::None)?;
        touches(cut, &self.corners(draw)).then_some(cut)
    }

    fn missing(&self) -> u32 {
        let meshes = self
            .frame
            .draws
            .iter()
            .filter(|d| self.resources.mesh(d.mesh).is_none());
        let pictures = self
            .frame
            .sheets
            .iter()
            .chain(&self.frame.panes)
            .filter(|s| self.resources.picture(s.texture).is_none());
        u32::try_from(meshes.count() + pictures.count()).unwrap_or(u32::MAX)
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
        let draws = self.frame.draws.iter();
        let of = |phase: Phase| draws.clone().filter(move |d| d.phase == phase);
        let skin = || of(Phase::Translucent).filter(|d| may_be_full(d));
        PhaseState {
            faces: Faces::Toward,
            ..solid
        }
        .set(self.gl);
        // The skin first: most of what lies behind is then known to be hidden before it is shaded.
        self.lit(skin(), Pass::FullPart);
        self.lit(
            of(Phase::Opaque).filter(|d| d.cut == CutMode::None),
            Pass::Solid,
        );
        if let Some(cut) = opening::open_cut(self.frame) {
            let within = Some(opening::opening_px(self.frame, cut));
            PhaseState {
                faces: Faces::Away,
                within,
                ..solid
            }
            .set(self.gl);
            self.lit(skin(), Pass::FullPart);
        }
        let within = match opening::sight(self.frame) {
            Sight::Nowhere => return,
            Sight::Anywhere => None,
            Sight::Within(rectangle) => Some(rectangle),
        };
        let capped =
            opening::open_cut(self.frame).filter(|_| self.frame.capped && within.is_some());
        let seen = |d: &&Draw| {
            !capped.is_some_and(|cut| behind_plane(&self.frame.camera, cut, &self.corners(d)))
        };
        let inner = || {
            of(Phase::Opaque)
                .filter(|d| d.cut != CutMode::None)
                .filter(seen)
        };
        let opened = |d: &&Draw| self.cut_of(d).is_some();
        // Of what is opened the inside shows too.
        let state = PhaseState { within, ..solid };
        state.set(self.gl);
        let (some, rest): (Vec<&Draw>, Vec<&Draw>) = inner().partition(opened);
        self.lit_within(some.into_iter(), Pass::Solid, within);
        PhaseState {
            faces: Faces::Toward,
            ..state
        }
        .set(self.gl);
        self.lit_within(rest.into_iter(), Pass::Solid, within);
    }

    fn probe(&mut self) {
        PhaseState {
            stencil: Stencil::MarkProbe,
            faces: Faces::Toward,
            ..PhaseState::SOLID
        }
        .set(self.gl);
        self.lit(
            self.frame.draws.iter().filter(|d| d.phase == Phase::Probe),
            Pass::Solid,
        );
    }

    fn sheets(&mut self) {
        let over = PhaseState {
            blend: true,
            depth_write: false,
            ..PhaseState::SOLID
        };
        // Sheets in one plane fight for depth however they are set apart, so none takes depth before all are painted.
        self.each_sheet(&self.frame.sheets, over, |_| 1.0);
        let depth = PhaseState {
            colour_write: false,
            stencil: Stencil::Sheet,
            ..PhaseState::SOLID
        };
        self.each_sheet(&self.frame.sheets, depth, |_| 1.0);
    }

    fn panes(&mut self) {
        let over = PhaseState {
            blend: true,
            depth_write: false,
            ..PhaseState::SOLID
        };
        self.each_sheet(&self.frame.panes, over, |_| 1.0);
    }

    /// Where the skin has gone, its far wall closes the view; but a wall that stands before the section, where the line
    /// of sight leaves the body and enters it again, must not hide it.
    fn walls(&mut self) {
        let Some(cut) = opening::open_cut(self.frame) else {
            return;
        };
        PhaseState {
            stencil: Stencil::WhereNoSheet,
            faces: Faces::Away,
            within: Some(opening::opening_px(self.frame, cut)),
            ..PhaseState::SOLID
        }
        .set(self.gl);
        let draws = self.frame.draws.iter();
        self.lit(
            draws.filter(|d| d.phase == Phase::Translucent && may_be_faded(d, true)),
            Pass::Wall,
        );
    }

    fn hidden_sheets(&mut self) {
        let state = PhaseState {
            blend: true,
            depth: Some(Gl::GREATER),
            depth_write: false,
            // It shines through the body, not through the probe.
            stencil: Stencil::WhereNoProbe,
            // A sheet must not count as hidden by one in its own plane.
            offset: -16.0,
            ..PhaseState::SOLID
        };
        self.each_sheet(&self.frame.sheets, state, |sheet| sheet.hidden_alpha);
        // Marks stand over the panes, so what of a pane lies behind a mark stays behind it.
        let state = PhaseState {
            stencil: Stencil::WhereUnmarked,
            ..state
        };
        self.each_sheet(&self.frame.panes, state, |sheet| sheet.hidden_alpha);
    }

    fn each_sheet(&mut self, sheets: &[Sheet], state: PhaseState, share: impl Fn(&Sheet) -> f32) {
        let (gl, program) = (self.gl, &self.resources.programs.sheet);
        state.set(gl);
        gl.use_program(Some(&program.handle));
        gl.active_texture(Gl::TEXTURE0 + PICTURE_UNIT);
        gl.bind_sampler(PICTURE_UNIT, None);
        gl.bind_vertex_array(Some(&self.resources.empty_array));
        for sheet in sheets {
            let alpha = sheet.alpha * share(sheet);
            let picture = self.resources.picture(sheet.texture);
            let Some(picture) = picture.filter(|_| alpha > 0.0) else {
                continue;
            };
            gl.bind_texture(Gl::TEXTURE_2D, Some(&picture.handle));
            let covered = state.depth == Some(Gl::LEQUAL) && opening::covers(self.frame, sheet);
            // What shows more than it hides takes no depth.
            let least = if state.colour_write { 0.01 } else { 0.5 };
            let values = sheet_values(sheet, alpha, covered, least);
            gl.uniform4fv_with_f32_array(program.place(0), &values);
            gl.draw_arrays(Gl::TRIANGLE_STRIP, 0, 4);
            self.count(2);
        }
    }

    fn translucent(&mut self) {
        let cut = opening::open_cut(self.frame).is_some();
        let faded = |d: &&Draw| d.phase == Phase::Translucent && may_be_faded(d, cut);
        let within = match opening::sight(self.frame) {
            Sight::Nowhere => return,
            Sight::Anywhere => None,
            Sight::Within(rectangle) => Some(rectangle),
        };
        let state = PhaseState {
            faces: Faces::Toward,
            within,
            ..PhaseState::SOLID
        };
        // Depth first, so that of a faded body only its nearest layer is blended and its own inside never shows.
        PhaseState {
            colour_write: false,
            ..state
        }
        .set(self.gl);
        self.lit(self.frame.draws.iter().filter(faded), Pass::FadedDepth);
        PhaseState {
            blend: true,
            depth_write: false,
            ..state
        }
        .set(self.gl);
        self.lit(self.frame.draws.iter().filter(faded), Pass::FadedPart);
    }

    fn overlay(&mut self, lines: &mut Vec<f32>) {
        let gl = self.gl;
        PhaseState {
            stencil: Stencil::Mark,
            faces: Faces::Toward,
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
        self.hidden_sheets();
        let through = PhaseState {
            depth: Some(Gl::GREATER),
            ..visible
        };
        if self.frame.ribbons.iter().any(|r| r.hidden_alpha > 0.0) {
            let past_the_probe = PhaseState {
                stencil: Stencil::WhereNoProbe,
                ..through
            };
            self.lines(pieces, past_the_probe, 1.0);
        }
        PhaseState {
            stencil: Stencil::OnceWhereUnmarked,
            faces: Faces::Toward,
            ..through
        }
        .set(gl);
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
        let rect = [left, canvas - top - height, width, height].map(pixel);
        gl.viewport(rect[0], rect[1], rect[2], rect[3]);
        PhaseState {
            within: Some(rect),
            faces: Faces::Toward,
            ..PhaseState::SOLID
        }
        .set(gl);
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
        self.lit_within(draws, pass, None);
    }

    /// Draws meshes, leaving out those that cannot be seen in the rectangle.
    fn lit_within<'d>(
        &mut self,
        draws: impl Iterator<Item = &'d Draw>,
        pass: Pass,
        within: Option<[i32; 4]>,
    ) {
        let (gl, programs) = (self.gl, &self.resources.programs);
        let clip_from_world = self.frame.camera.clip_from_world();
        for draw in draws {
            let Some(mesh) = self.resources.mesh(draw.mesh) else {
                continue;
            };
            let corners = self.corners(draw);
            let cut = self.cut_of(draw);
            let gone = cut.is_some_and(|cut| {
                draw.phase != Phase::Translucent && cut_away(&self.frame.camera, cut, &corners)
            });
            let hidden = within.is_some_and(|w| beside(&self.frame.camera, &corners, w));
            if gone || hidden || out_of_view(&clip_from_world, &corners) {
                continue;
            }
            let program = match pass {
                Pass::FadedDepth => &programs.cuts_depth,
                Pass::FullPart | Pass::FadedPart | Pass::Wall => &programs.lit_cuts,
                Pass::Solid | Pass::Through if cut.is_some() => &programs.lit_cuts,
                Pass::Solid | Pass::Through => &programs.lit,
            };
            gl.use_program(Some(&program.handle));
            // A skin shows the plane's line even where nothing is opened.
            let traced = draw.phase == Phase::Translucent && self.frame.cut.is_some();
            let values = draw_values(draw, pass, cut.is_some() || traced);
            gl.uniform4fv_with_f32_array(program.place(0), &values);
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
    // Only what is shaded and takes occlusion in full looks it up.
    let blind = matches!(pass, Pass::FadedDepth | Pass::Wall | Pass::Through);
    let worth = if m.receive > 0.9 && !blind { 1.0 } else { 0.0 };
    let mut out = [0.0; 28];
    for (row, place) in (0..3).zip(out.chunks_exact_mut(4)) {
        place.copy_from_slice(&draw.model.row(row).to_array());
    }
    out[12..16].copy_from_slice(&[r, g, b, alpha]);
    out[16..20].copy_from_slice(&[m.wrap, m.specular, libm::exp2f(2.0 + 6.5 * m.gloss), m.rim]);
    out[20..24].copy_from_slice(&[m.receive, m.inside, m.edge_alpha, mode]);
    out[24..28].copy_from_slice(&[pass.number(), draw.hidden_alpha, worth, 0.0]);
    out
}

fn sheet_values(sheet: &Sheet, alpha: f32, covered: bool, least: f32) -> [f32; 24] {
    let mut out = [0.0; 24];
    let corners = sheet.corners.iter().zip(sheet.part);
    for ((corner, share), place) in corners.zip(out.chunks_exact_mut(4)) {
        place.copy_from_slice(&corner.extend(share).to_array());
    }
    let (colour, width) = sheet
        .outline
        .map_or(([0.0; 4], 0.0), |line| (line.colour, line.width_px));
    out[16..20].copy_from_slice(&[alpha, width, if covered { 1.0 } else { 0.0 }, least]);
    out[20..24].copy_from_slice(&colour);
    out
}

/// World → clip of the compass: parallel sight from the viewer's direction.
fn compass_clip(view: &Mat4) -> Mat4 {
    let turn = Mat4::from_mat3(glam::Mat3::from_mat4(*view));
    let s = 1.0 / Compass::HALF_SPAN;
    Mat4::from_scale(Vec3::new(s, s, -s)) * turn
}

#[cfg(test)]
mod tests {
    use super::*;

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
