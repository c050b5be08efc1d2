//! Everything that lives on the device and dies with its context; always rebuilt whole from [`SceneData`].

use crate::device::{self, Texels, signed};
use crate::error::GlError;
use crate::frame::{MeshId, TextureId};
use crate::programs::{PICTURE_UNIT, Programs};
use crate::ribbons;
use crate::scene::{MeshData, SceneData};
use crate::shapes::{self, Shape};
use std::collections::BTreeMap;
use web_sys::{
    WebGl2RenderingContext as Gl, WebGlBuffer, WebGlFramebuffer, WebGlSampler, WebGlTexture,
    WebGlVertexArrayObject,
};

/// Size of the shadow map. Small on purpose: its texels are part of the softness.
pub(crate) const SHADOW_SIZE: [i32; 2] = [1024, 512];
/// Size of the height map.
pub(crate) const HEIGHT_SIZE: [i32; 2] = [512, 256];

/// Size of the map of the rest surface.
pub(crate) const REST_SIZE: [i32; 2] = [512, 256];

/// A mesh on the device.
#[derive(Debug)]
pub(crate) struct DeviceMesh {
    pub(crate) array: WebGlVertexArrayObject,
    pub(crate) count: i32,
    buffers: [WebGlBuffer; 3],
}

/// A texture on the device.
#[derive(Debug)]
pub(crate) struct DevicePicture {
    pub(crate) handle: WebGlTexture,
    width: i32,
    height: i32,
}

/// An off-screen map.
#[derive(Debug)]
pub(crate) struct Target {
    pub(crate) frame: WebGlFramebuffer,
    pub(crate) texture: WebGlTexture,
}

/// The device's side of the renderer.
#[derive(Debug)]
pub(crate) struct Resources {
    pub(crate) programs: Programs,
    pub(crate) frame_block: WebGlBuffer,
    pub(crate) compass_block: WebGlBuffer,
    pub(crate) ribbon_buffer: WebGlBuffer,
    pub(crate) ribbon_array: WebGlVertexArrayObject,
    /// For what is drawn from vertex numbers alone.
    pub(crate) empty_array: WebGlVertexArrayObject,
    pub(crate) shadow: Target,
    pub(crate) height: Target,
    pub(crate) rest: Target,
    /// Reads the shadow map by comparison, filtered; without it the same texture gives plain depths.
    pub(crate) compare: WebGlSampler,
    pub(crate) arrow: DeviceMesh,
    pub(crate) stub: DeviceMesh,
    pub(crate) hub: DeviceMesh,
    meshes: BTreeMap<MeshId, DeviceMesh>,
    pictures: BTreeMap<TextureId, DevicePicture>,
}

impl Resources {
    pub(crate) fn build(gl: &Gl, scene: &SceneData) -> Result<Self, GlError> {
        let (ribbon_array, ribbon_buffer) = ribbon_array(gl)?;
        let compare = gl
            .create_sampler()
            .ok_or(GlError::NoObject { what: "sampler" })?;
        for (name, value) in [
            (Gl::TEXTURE_COMPARE_MODE, Gl::COMPARE_REF_TO_TEXTURE),
            (Gl::TEXTURE_COMPARE_FUNC, Gl::LEQUAL),
            (Gl::TEXTURE_MIN_FILTER, Gl::LINEAR),
            (Gl::TEXTURE_MAG_FILTER, Gl::LINEAR),
            (Gl::TEXTURE_WRAP_S, Gl::CLAMP_TO_EDGE),
            (Gl::TEXTURE_WRAP_T, Gl::CLAMP_TO_EDGE),
        ] {
            gl.sampler_parameteri(&compare, name, signed(value));
        }
        let mut all = Self {
            programs: Programs::build(gl)?,
            frame_block: device::buffer(gl, Gl::UNIFORM_BUFFER, &[])?,
            compass_block: device::buffer(gl, Gl::UNIFORM_BUFFER, &[])?,
            ribbon_buffer,
            ribbon_array,
            empty_array: vertex_array(gl)?,
            shadow: shadow_target(gl)?,
            height: height_target(gl)?,
            rest: rest_target(gl)?,
            compare,
            arrow: shape(gl, &shapes::arrow(1.0, 0.05, 0.135, 0.34))?,
            stub: shape(gl, &{
                let mut stub = shapes::arrow(0.9, 0.035, 0.035, 0.01);
                stub.append(
                    &shapes::ball(0.07, 6),
                    glam::Mat4::from_translation(glam::Vec3::Z * 0.93),
                );
                stub
            })?,
            hub: shape(gl, &shapes::ball(0.13, 8))?,
            meshes: BTreeMap::new(),
            pictures: BTreeMap::new(),
        };
        for (id, mesh) in scene.meshes() {
            all.put_mesh(gl, id, mesh)?;
        }
        for (id, picture) in scene.pictures() {
            all.put_picture(gl, id, picture.width, picture.height, &picture.rgba)?;
        }
        Ok(all)
    }

    pub(crate) fn put_mesh(&mut self, gl: &Gl, id: MeshId, data: &MeshData) -> Result<(), GlError> {
        self.remove_mesh(gl, id);
        self.meshes
            .insert(id, mesh(gl, &data.positions, &data.normals, &data.indices)?);
        Ok(())
    }

    pub(crate) fn remove_mesh(&mut self, gl: &Gl, id: MeshId) {
        if let Some(old) = self.meshes.remove(&id) {
            gl.delete_vertex_array(Some(&old.array));
            for buffer in &old.buffers {
                gl.delete_buffer(Some(buffer));
            }
        }
    }

    pub(crate) fn put_picture(
        &mut self,
        gl: &Gl,
        id: TextureId,
        width: u32,
        height: u32,
        rgba: &[u8],
    ) -> Result<(), GlError> {
        let (width, height) = (signed(width), signed(height));
        if let Some(old) = self
            .pictures
            .get(&id)
            .filter(|p| p.width == width && p.height == height)
        {
            gl.active_texture(Gl::TEXTURE0 + PICTURE_UNIT);
            gl.bind_texture(Gl::TEXTURE_2D, Some(&old.handle));
            gl.pixel_storei(Gl::UNPACK_ALIGNMENT, 1);
            return gl
                .tex_sub_image_2d_with_i32_and_i32_and_u32_and_type_and_opt_u8_array(
                    Gl::TEXTURE_2D,
                    0,
                    0,
                    0,
                    width,
                    height,
                    Gl::RGBA,
                    Gl::UNSIGNED_BYTE,
                    Some(rgba),
                )
                .map_err(|_lost| GlError::NoObject { what: "texture" });
        }
        self.remove_picture(gl, id);
        let handle = device::texture(gl, Texels::Picture, width, height, Some(rgba))?;
        self.pictures.insert(
            id,
            DevicePicture {
                handle,
                width,
                height,
            },
        );
        Ok(())
    }

    pub(crate) fn remove_picture(&mut self, gl: &Gl, id: TextureId) {
        if let Some(old) = self.pictures.remove(&id) {
            gl.delete_texture(Some(&old.handle));
        }
    }

    pub(crate) fn mesh(&self, id: MeshId) -> Option<&DeviceMesh> {
        self.meshes.get(&id)
    }

    pub(crate) fn picture(&self, id: TextureId) -> Option<&DevicePicture> {
        self.pictures.get(&id)
    }
}

fn vertex_array(gl: &Gl) -> Result<WebGlVertexArrayObject, GlError> {
    gl.create_vertex_array().ok_or(GlError::NoObject {
        what: "vertex array",
    })
}

fn mesh(
    gl: &Gl,
    positions: &[f32],
    normals: &[i8],
    indices: &[u32],
) -> Result<DeviceMesh, GlError> {
    let array = vertex_array(gl)?;
    gl.bind_vertex_array(Some(&array));
    let position = device::buffer(gl, Gl::ARRAY_BUFFER, bytemuck::cast_slice(positions))?;
    gl.enable_vertex_attrib_array(0);
    gl.vertex_attrib_pointer_with_i32(0, 3, Gl::FLOAT, false, 12, 0);
    let normal = device::buffer(gl, Gl::ARRAY_BUFFER, bytemuck::cast_slice(normals))?;
    gl.enable_vertex_attrib_array(1);
    gl.vertex_attrib_pointer_with_i32(1, 3, Gl::BYTE, true, 4, 0);
    let index = device::buffer(gl, Gl::ELEMENT_ARRAY_BUFFER, bytemuck::cast_slice(indices))?;
    gl.bind_vertex_array(None);
    let count = i32::try_from(indices.len()).unwrap_or(0);
    Ok(DeviceMesh {
        array,
        count,
        buffers: [position, normal, index],
    })
}

fn shape(gl: &Gl, shape: &Shape) -> Result<DeviceMesh, GlError> {
    let mut scene = SceneData::default();
    let flat = (
        bytemuck::cast_slice(&shape.positions),
        bytemuck::cast_slice(&shape.normals),
    );
    match scene.put_mesh(MeshId(0), flat.0, flat.1, &shape.indices) {
        Ok(data) => mesh(gl, &data.positions, &data.normals, &data.indices),
        Err(_) => Err(GlError::NoObject {
            what: "compass mesh",
        }),
    }
}

fn ribbon_array(gl: &Gl) -> Result<(WebGlVertexArrayObject, WebGlBuffer), GlError> {
    let array = vertex_array(gl)?;
    gl.bind_vertex_array(Some(&array));
    let buffer = device::buffer(gl, Gl::ARRAY_BUFFER, &[])?;
    let stride = 4 * i32::try_from(ribbons::INSTANCE_FLOATS).unwrap_or(0);
    for (place, offset) in (0..6).zip((0..).step_by(16)) {
        gl.enable_vertex_attrib_array(place);
        gl.vertex_attrib_pointer_with_i32(place, 4, Gl::FLOAT, false, stride, offset);
        gl.vertex_attrib_divisor(place, 1);
    }
    gl.bind_vertex_array(None);
    Ok((array, buffer))
}

fn shadow_target(gl: &Gl) -> Result<Target, GlError> {
    let texture = device::texture(gl, Texels::Depth, SHADOW_SIZE[0], SHADOW_SIZE[1], None)?;
    let frame = device::framebuffer(gl)?;
    gl.framebuffer_texture_2d(
        Gl::FRAMEBUFFER,
        Gl::DEPTH_ATTACHMENT,
        Gl::TEXTURE_2D,
        Some(&texture),
        0,
    );
    device::finish_target(gl, "shadow map")?;
    Ok(Target { frame, texture })
}

fn height_target(gl: &Gl) -> Result<Target, GlError> {
    let texture = device::texture(gl, Texels::Heights, HEIGHT_SIZE[0], HEIGHT_SIZE[1], None)?;
    let frame = device::framebuffer(gl)?;
    gl.framebuffer_texture_2d(
        Gl::FRAMEBUFFER,
        Gl::COLOR_ATTACHMENT0,
        Gl::TEXTURE_2D,
        Some(&texture),
        0,
    );
    let depth = gl.create_renderbuffer().ok_or(GlError::NoObject {
        what: "renderbuffer",
    })?;
    gl.bind_renderbuffer(Gl::RENDERBUFFER, Some(&depth));
    gl.renderbuffer_storage(
        Gl::RENDERBUFFER,
        Gl::DEPTH_COMPONENT16,
        HEIGHT_SIZE[0],
        HEIGHT_SIZE[1],
    );
    gl.framebuffer_renderbuffer(
        Gl::FRAMEBUFFER,
        Gl::DEPTH_ATTACHMENT,
        Gl::RENDERBUFFER,
        Some(&depth),
    );
    device::finish_target(gl, "height map")?;
    Ok(Target { frame, texture })
}

fn rest_target(gl: &Gl) -> Result<Target, GlError> {
    let texture = device::texture(gl, Texels::Rest, REST_SIZE[0], REST_SIZE[1], None)?;
    let frame = device::framebuffer(gl)?;
    gl.framebuffer_texture_2d(
        Gl::FRAMEBUFFER,
        Gl::COLOR_ATTACHMENT0,
        Gl::TEXTURE_2D,
        Some(&texture),
        0,
    );
    device::finish_target(gl, "rest surface map")?;
    Ok(Target { frame, texture })
}
