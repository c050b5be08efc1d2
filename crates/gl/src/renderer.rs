//! The renderer as its caller sees it.

use crate::device::signed;
use crate::error::{GlError, UploadError};
use crate::frame::{DrawReport, Frame, MeshId, TextureId};
use crate::light_maps::MapState;
use crate::passes::Painter;
use crate::resources::Resources;
use crate::scene::SceneData;
use crate::shapes::Shape;
use wasm_bindgen::JsCast;
use web_sys::{
    HtmlCanvasElement, WebGl2RenderingContext as Gl, WebGlContextAttributes, WebglLoseContext,
};

/// Draws [`Frame`]s on one canvas. See the crate's page for an example.
///
/// It owns the canvas's WebGL2 context. Browsers keep some sixteen contexts alive and drop the oldest without asking,
/// so make one for each visible canvas and [`release`](Self::release) it when the canvas goes.
#[derive(Debug)]
pub struct Renderer {
    canvas: HtmlCanvasElement,
    gl: Gl,
    /// Held from the start: a lost context no longer hands it out.
    loss: Option<WebglLoseContext>,
    scene: SceneData,
    resources: Option<Resources>,
    maps: MapState,
    lines: Vec<f32>,
}

impl Renderer {
    /// Takes the canvas's WebGL2 context, anti-aliased where the device can.
    ///
    /// The canvas must not have given out a context of another kind.
    ///
    /// # Errors
    ///
    /// [`GlError::NoWebGl2`] where there is no such context; the others when a shader or an off-screen target is
    /// refused, which the standard does not foresee but drivers do.
    pub fn new(canvas: HtmlCanvasElement) -> Result<Self, GlError> {
        let wanted = WebGlContextAttributes::new();
        wanted.set_alpha(false);
        wanted.set_antialias(true);
        wanted.set_depth(true);
        wanted.set_stencil(true);
        wanted.set_preserve_drawing_buffer(false);
        let none = |reason: String| GlError::NoWebGl2 { reason };
        let gl = canvas
            .get_context_with_context_options("webgl2", &wanted)
            .map_err(|error| none(format!("{error:?}")))?
            .ok_or_else(|| none("none is offered".to_owned()))?
            .dyn_into::<Gl>()
            .map_err(|_other| {
                none("the canvas already has a context of another kind".to_owned())
            })?;
        let loss = gl
            .get_extension("WEBGL_lose_context")
            .ok()
            .flatten()
            .map(JsCast::unchecked_into::<WebglLoseContext>);
        let scene = SceneData::default();
        let resources = Some(Resources::build(&gl, &scene)?);
        Ok(Self {
            canvas,
            gl,
            loss,
            scene,
            resources,
            maps: MapState::default(),
            lines: Vec::new(),
        })
    }

    /// Sets the size of the drawing buffer in device pixels (at least 1 × 1).
    ///
    /// A change of size clears the canvas, so the next thing to do is [`draw`](Self::draw); the same size again costs
    /// nothing.
    pub fn resize(&mut self, width_px: u32, height_px: u32) {
        let (width, height) = (width_px.max(1), height_px.max(1));
        if self.canvas.width() != width {
            self.canvas.set_width(width);
        }
        if self.canvas.height() != height {
            self.canvas.set_height(height);
        }
    }

    /// Keeps a mesh under `id`, in place of what was there: flat arrays of x y z, unit outward normals, and vertex
    /// numbers, three to a triangle, counter-clockwise seen from outside.
    ///
    /// While the context is lost the mesh is kept all the same and appears with [`restore`](Self::restore).
    ///
    /// # Errors
    ///
    /// When the arrays do not fit each other; nothing is changed then.
    pub fn put_mesh(
        &mut self,
        id: MeshId,
        positions: &[f32],
        normals: &[f32],
        indices: &[u32],
    ) -> Result<(), UploadError> {
        let data = self.scene.put_mesh(id, positions, normals, indices)?;
        if let Some(resources) = &mut self.resources {
            // The only failure is a context lost a moment ago; the mesh is kept and comes back with it.
            if resources.put_mesh(&self.gl, id, data).is_err() {
                self.resources = None;
            }
        }
        Ok(())
    }

    /// [`put_mesh`](Self::put_mesh) for a [`Shape`].
    ///
    /// # Errors
    ///
    /// As there.
    pub fn put_shape(&mut self, id: MeshId, shape: &Shape) -> Result<(), UploadError> {
        self.put_mesh(
            id,
            bytemuck::cast_slice(&shape.positions),
            bytemuck::cast_slice(&shape.normals),
            &shape.indices,
        )
    }

    /// Forgets a mesh.
    pub fn remove_mesh(&mut self, id: MeshId) {
        self.scene.remove_mesh(id);
        if let Some(resources) = &mut self.resources {
            resources.remove_mesh(&self.gl, id);
        }
    }

    /// Keeps a picture under `id`: premultiplied RGBA, 8 bits each, rows from the top, at most 2048 pixels a side.
    ///
    /// The same size as before is a plain re-upload and cheap enough for every frame.
    ///
    /// # Errors
    ///
    /// When the bytes do not make a picture of that size; nothing is changed then.
    pub fn put_texture(
        &mut self,
        id: TextureId,
        width: u32,
        height: u32,
        rgba: &[u8],
    ) -> Result<(), UploadError> {
        self.scene.put_picture(id, width, height, rgba)?;
        if let Some(resources) = &mut self.resources
            && resources
                .put_picture(&self.gl, id, width, height, rgba)
                .is_err()
        {
            self.resources = None;
        }
        Ok(())
    }

    /// Forgets a picture.
    pub fn remove_texture(&mut self, id: TextureId) {
        self.scene.remove_picture(id);
        if let Some(resources) = &mut self.resources {
            resources.remove_picture(&self.gl, id);
        }
    }

    /// Draws a frame over the whole canvas. While the context is lost this does nothing.
    ///
    /// The camera's viewport should be the canvas's size in device pixels.
    pub fn draw(&mut self, frame: &Frame) -> DrawReport {
        if self.is_lost() {
            return DrawReport::default();
        }
        let Some(resources) = &self.resources else {
            return DrawReport::default();
        };
        let mut painter = Painter {
            gl: &self.gl,
            resources,
            scene: &self.scene,
            frame,
            report: DrawReport::default(),
        };
        painter.paint(&mut self.maps, &mut self.lines);
        painter.report
    }

    /// Whether there is nothing to draw with: the context is lost, or was and has not been restored yet.
    #[must_use]
    pub fn is_lost(&self) -> bool {
        self.resources.is_none() || self.gl.is_context_lost()
    }

    /// Rebuilds everything on the device from what was put; for the canvas's `webglcontextrestored`.
    ///
    /// (The context comes back only if `webglcontextlost` was answered with `preventDefault`.)
    ///
    /// # Errors
    ///
    /// When the context is still, or again, lost, or refuses what it took before.
    pub fn restore(&mut self) -> Result<(), GlError> {
        self.resources = None;
        self.maps = MapState::default();
        if self.gl.is_context_lost() {
            return Err(GlError::NoObject {
                what: "rebuilt scene",
            });
        }
        self.resources = Some(Resources::build(&self.gl, &self.scene)?);
        Ok(())
    }

    /// Loses the context as a driver would, where the browser can; `webglcontextlost` follows. For tests.
    pub fn lose_for_test(&self) {
        if let Some(loss) = &self.loss {
            loss.lose_context();
        }
    }

    /// Brings a context back that [`lose_for_test`](Self::lose_for_test) lost; `webglcontextrestored` follows.
    pub fn bring_back_for_test(&self) {
        if let Some(loss) = &self.loss {
            loss.restore_context();
        }
    }

    /// Gives the context back to the browser for good; call it when the canvas goes away.
    pub fn release(self) {
        if let Some(loss) = &self.loss {
            loss.lose_context();
        }
    }

    /// The width and height of the drawing buffer, device pixels.
    #[must_use]
    pub fn size_px(&self) -> [i32; 2] {
        [signed(self.canvas.width()), signed(self.canvas.height())]
    }
}
