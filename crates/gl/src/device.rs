//! Thin helpers over the WebGL2 context: programs, buffers, textures, targets, state.

use crate::error::GlError;
use wasm_bindgen::JsValue;
use web_sys::{
    WebGl2RenderingContext as Gl, WebGlBuffer, WebGlFramebuffer, WebGlProgram, WebGlShader,
    WebGlTexture, WebGlUniformLocation,
};

const HEADER: &str = "#version 300 es\nprecision highp float;\nprecision highp int;\n";
const FRAME: &str = include_str!("shaders/frame.glsl");

/// Binding point of the frame block, the same for every program.
pub(crate) const FRAME_BINDING: u32 = 0;

/// A linked program and the places of the uniforms it was asked for, in that order.
#[derive(Debug)]
pub(crate) struct Program {
    pub(crate) handle: WebGlProgram,
    places: Vec<Option<WebGlUniformLocation>>,
}

impl Program {
    /// Compiles and links a program; `samplers` are bound to the texture units given.
    pub(crate) fn new(
        gl: &Gl,
        name: &'static str,
        vertex: &str,
        fragment: &str,
        uniforms: &[&str],
        samplers: &[(&str, u32)],
    ) -> Result<Self, GlError> {
        let vertex = compile(gl, name, Gl::VERTEX_SHADER, vertex)?;
        let fragment = compile(gl, name, Gl::FRAGMENT_SHADER, fragment)?;
        let handle = gl
            .create_program()
            .ok_or(GlError::NoObject { what: "program" })?;
        gl.attach_shader(&handle, &vertex);
        gl.attach_shader(&handle, &fragment);
        gl.link_program(&handle);
        // The program keeps what it needs of them.
        gl.delete_shader(Some(&vertex));
        gl.delete_shader(Some(&fragment));
        if !gl
            .get_program_parameter(&handle, Gl::LINK_STATUS)
            .as_bool()
            .unwrap_or(false)
        {
            let log = gl.get_program_info_log(&handle).unwrap_or_default();
            return Err(GlError::Program { name, log });
        }
        let block = gl.get_uniform_block_index(&handle, "FrameBlock");
        if block != Gl::INVALID_INDEX {
            gl.uniform_block_binding(&handle, block, FRAME_BINDING);
        }
        gl.use_program(Some(&handle));
        for (sampler, unit) in samplers {
            gl.uniform1i(
                gl.get_uniform_location(&handle, sampler).as_ref(),
                signed(*unit),
            );
        }
        let places = uniforms
            .iter()
            .map(|u| gl.get_uniform_location(&handle, u))
            .collect();
        Ok(Self { handle, places })
    }

    pub(crate) fn place(&self, index: usize) -> Option<&WebGlUniformLocation> {
        self.places.get(index).and_then(Option::as_ref)
    }
}

fn compile(gl: &Gl, name: &'static str, kind: u32, text: &str) -> Result<WebGlShader, GlError> {
    let shader = gl
        .create_shader(kind)
        .ok_or(GlError::NoObject { what: "shader" })?;
    gl.shader_source(&shader, &format!("{HEADER}{FRAME}{text}"));
    gl.compile_shader(&shader);
    if gl
        .get_shader_parameter(&shader, Gl::COMPILE_STATUS)
        .as_bool()
        .unwrap_or(false)
    {
        Ok(shader)
    } else {
        let log = gl.get_shader_info_log(&shader).unwrap_or_default();
        Err(GlError::Shader { name, log })
    }
}

/// A buffer filled with `bytes` and left bound to `target`.
pub(crate) fn buffer(gl: &Gl, target: u32, bytes: &[u8]) -> Result<WebGlBuffer, GlError> {
    let handle = gl
        .create_buffer()
        .ok_or(GlError::NoObject { what: "buffer" })?;
    gl.bind_buffer(target, Some(&handle));
    gl.buffer_data_with_u8_array(target, bytes, Gl::STATIC_DRAW);
    Ok(handle)
}

/// WebGL's enumerations are unsigned where web-sys sometimes wants them signed; all are small.
#[expect(
    clippy::cast_possible_wrap,
    reason = "WebGL enumeration values are below 2^16"
)]
pub(crate) fn signed(value: u32) -> i32 {
    value as i32
}

fn no_texture(_: JsValue) -> GlError {
    GlError::NoObject { what: "texture" }
}

/// Which kind of texture.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Texels {
    /// Premultiplied RGBA, 8 bits each, linear.
    Picture,
    /// One channel of 8 bits, linear.
    Heights,
    /// Two channels of 8 bits, linear.
    Rest,
    /// Depth for a shadow map.
    Depth,
}

/// A texture of one level without wrapping; `pixels` or undefined contents.
pub(crate) fn texture(
    gl: &Gl,
    kind: Texels,
    width: i32,
    height: i32,
    pixels: Option<&[u8]>,
) -> Result<WebGlTexture, GlError> {
    let handle = gl
        .create_texture()
        .ok_or(GlError::NoObject { what: "texture" })?;
    gl.bind_texture(Gl::TEXTURE_2D, Some(&handle));
    let (inner, outer, component, filter) = match kind {
        Texels::Picture => (Gl::RGBA8, Gl::RGBA, Gl::UNSIGNED_BYTE, Gl::LINEAR),
        Texels::Heights => (Gl::R8, Gl::RED, Gl::UNSIGNED_BYTE, Gl::LINEAR),
        Texels::Rest => (Gl::RG8, Gl::RG, Gl::UNSIGNED_BYTE, Gl::LINEAR),
        Texels::Depth => (
            Gl::DEPTH_COMPONENT24,
            Gl::DEPTH_COMPONENT,
            Gl::UNSIGNED_INT,
            Gl::NEAREST,
        ),
    };
    gl.pixel_storei(Gl::UNPACK_ALIGNMENT, 1);
    gl.tex_image_2d_with_i32_and_i32_and_i32_and_format_and_type_and_opt_u8_array(
        Gl::TEXTURE_2D,
        0,
        signed(inner),
        width,
        height,
        0,
        outer,
        component,
        pixels,
    )
    .map_err(no_texture)?;
    for (name, value) in [
        (Gl::TEXTURE_MIN_FILTER, filter),
        (Gl::TEXTURE_MAG_FILTER, filter),
        (Gl::TEXTURE_WRAP_S, Gl::CLAMP_TO_EDGE),
        (Gl::TEXTURE_WRAP_T, Gl::CLAMP_TO_EDGE),
    ] {
        gl.tex_parameteri(Gl::TEXTURE_2D, name, signed(value));
    }
    Ok(handle)
}

/// Checks the bound framebuffer and leaves the canvas bound.
pub(crate) fn finish_target(gl: &Gl, name: &'static str) -> Result<(), GlError> {
    let status = gl.check_framebuffer_status(Gl::FRAMEBUFFER);
    gl.bind_framebuffer(Gl::FRAMEBUFFER, None);
    if status == Gl::FRAMEBUFFER_COMPLETE {
        Ok(())
    } else {
        Err(GlError::Framebuffer { name, status })
    }
}

pub(crate) fn framebuffer(gl: &Gl) -> Result<WebGlFramebuffer, GlError> {
    let handle = gl.create_framebuffer().ok_or(GlError::NoObject {
        what: "framebuffer",
    })?;
    gl.bind_framebuffer(Gl::FRAMEBUFFER, Some(&handle));
    Ok(handle)
}

/// Everything that a phase relies on; set as a whole at its start, so that no phase inherits from another.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PhaseState {
    /// Depth comparison, or none for no depth test.
    pub(crate) depth: Option<u32>,
    pub(crate) depth_write: bool,
    pub(crate) colour_write: bool,
    /// Premultiplied blending over what is there.
    pub(crate) blend: bool,
    pub(crate) stencil: Stencil,
    /// Pushes depth away by this many of its smallest steps; negative is nearer.
    pub(crate) offset: f32,
    /// Which triangles are drawn.
    pub(crate) faces: Faces,
    /// Draws only in this rectangle: left, bottom, width, height in pixels.
    pub(crate) within: Option<[i32; 4]>,
}

/// Which triangles are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Faces {
    Both,
    /// Those that face the viewer.
    Toward,
    /// Those that face away.
    Away,
}

/// What the stencil buffer is used for: one bit knows where a mark is plainly seen, and lets it shine through once only;
/// another where a sheet is, which the far walls of an opened body leave alone; a third where the probe is, through which
/// nothing shines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stencil {
    Unused,
    /// Writes 1 where drawn.
    Mark,
    /// Draws only where nothing is marked, and marks.
    OnceWhereUnmarked,
    /// Marks, and notes where the probe is.
    MarkProbe,
    /// Draws only where the probe is not plainly seen.
    WhereNoProbe,
    /// Draws only where neither the probe nor another mark is plainly seen.
    WhereUnmarked,
    /// Notes where a sheet is drawn.
    Sheet,
    /// Draws only where no sheet is.
    WhereNoSheet,
}

const MARK_BIT: u32 = 1;
const SHEET_BIT: u32 = 2;
const PROBE_BIT: u32 = 4;

impl PhaseState {
    /// Solid drawing with depth.
    pub(crate) const SOLID: Self = Self {
        depth: Some(Gl::LEQUAL),
        depth_write: true,
        colour_write: true,
        blend: false,
        stencil: Stencil::Unused,
        offset: 0.0,
        faces: Faces::Both,
        within: None,
    };

    pub(crate) fn set(&self, gl: &Gl) {
        let switch = |what: u32, on: bool| {
            if on {
                gl.enable(what);
            } else {
                gl.disable(what);
            }
        };
        switch(Gl::DEPTH_TEST, self.depth.is_some());
        gl.depth_func(self.depth.unwrap_or(Gl::LEQUAL));
        gl.depth_mask(self.depth_write);
        let c = self.colour_write;
        gl.color_mask(c, c, c, c);
        switch(Gl::BLEND, self.blend);
        gl.blend_equation(Gl::FUNC_ADD);
        gl.blend_func(Gl::ONE, Gl::ONE_MINUS_SRC_ALPHA);
        switch(Gl::POLYGON_OFFSET_FILL, self.offset.abs() > 0.0);
        gl.polygon_offset(0.0, self.offset);
        switch(Gl::STENCIL_TEST, self.stencil != Stencil::Unused);
        let (test, bit, then) = match self.stencil {
            // Clearing needs every bit.
            Stencil::Unused => (Gl::ALWAYS, 0xFF, Gl::KEEP),
            Stencil::Mark => (Gl::ALWAYS, MARK_BIT, Gl::REPLACE),
            Stencil::OnceWhereUnmarked => (Gl::NOTEQUAL, MARK_BIT, Gl::REPLACE),
            Stencil::MarkProbe => (Gl::ALWAYS, MARK_BIT | PROBE_BIT, Gl::REPLACE),
            Stencil::WhereNoProbe => (Gl::NOTEQUAL, PROBE_BIT, Gl::KEEP),
            Stencil::WhereUnmarked => (Gl::NOTEQUAL, MARK_BIT, Gl::KEEP),
            Stencil::Sheet => (Gl::ALWAYS, SHEET_BIT, Gl::REPLACE),
            Stencil::WhereNoSheet => (Gl::NOTEQUAL, SHEET_BIT, Gl::KEEP),
        };
        gl.stencil_mask(bit);
        gl.stencil_func(test, signed(bit), bit);
        gl.stencil_op(Gl::KEEP, Gl::KEEP, then);
        switch(Gl::CULL_FACE, self.faces != Faces::Both);
        let away = self.faces == Faces::Away;
        gl.cull_face(if away { Gl::FRONT } else { Gl::BACK });
        switch(Gl::SCISSOR_TEST, self.within.is_some());
        if let Some([left, bottom, width, height]) = self.within {
            gl.scissor(left, bottom, width, height);
        }
        gl.front_face(Gl::CCW);
    }
}
