//! A small WebGL2 renderer: vertex arrays and matrices in, pixels out.
//!
//! It draws one kind of picture: a matte body resting on a bed in soft light, opened in front of a plane, with flat
//! textured sheets hanging in it, a solid probe, marks, and a small compass in a corner. It knows no anatomy, no
//! frames of reference and no user interface; world units, axes and meanings are the caller's (millimetres and z up
//! fit the presets).
//!
//! # Order of a frame
//!
//! 1. shadow and occlusion maps (only when something that throws a shadow has moved),
//! 2. background,
//! 3. solid meshes, and the skin where it is solid,
//! 4. the probe,
//! 5. sheets, depth-tested, and round them the far wall of an opened body,
//! 6. the skin where it fades: nearest layer only, then panes,
//! 7. solid overlay marks and lines, then what of sheets, panes, marks and probe may shine through,
//! 8. compass.
//!
//! # Use
//!
//! ```no_run
//! use gl::{Background, Camera, Cut, CutMode, Draw, Frame, Light, Material, MeshId, Phase, Renderer, Sheet, TextureId, WindowShape};
//! use gl::shapes::{self, ProbeShape};
//! use glam::{Mat4, Vec3};
//!
//! const SKIN: MeshId = MeshId(1);
//! const BED: MeshId = MeshId(2);
//! const HOUSING: MeshId = MeshId(3);
//! const NOTCH: MeshId = MeshId(4);
//! const SECTION: TextureId = TextureId(1);
//!
//! # fn demo(canvas: web_sys::HtmlCanvasElement, skin: (&[f32], &[f32], &[u32]), pixels: &[u8], world_from_probe: Mat4) -> Result<(), Box<dyn std::error::Error>> {
//! // Once. Everything put is kept on this side too, so that `restore` after a lost context needs no help.
//! let mut renderer = Renderer::new(canvas)?;
//! renderer.resize(1280, 720);
//! renderer.put_mesh(SKIN, skin.0, skin.1, skin.2)?;
//! renderer.put_shape(BED, &shapes::rounded_box(Vec3::new(1000.0, 380.0, 60.0), 45.0, 6))?;
//! let probe = ProbeShape::curved(60.0, 20.0, 60.0).build();
//! renderer.put_shape(HOUSING, &probe.housing)?;
//! renderer.put_shape(NOTCH, &probe.notch)?;
//!
//! // Whenever the section changes: the same size again is a fast re-upload. Premultiplied RGBA, top row first.
//! renderer.put_texture(SECTION, 512, 512, pixels)?;
//!
//! // Whenever anything changes, from one animation frame.
//! let camera = Camera::perspective(Vec3::new(-300.0, -1100.0, 900.0), Vec3::new(0.0, 0.0, 100.0), Vec3::Z, 0.5, 50.0, 5000.0, [1280.0, 720.0]);
//! let mut frame = Frame::new(camera, Light::day(), Background { top: gl::rgb(0xFBF8F2), bottom: gl::rgb(0xEDE7DB) });
//! frame.cut = Some(Cut {
//!     plane: Cut::plane_facing(Vec3::new(0.0, 0.0, 100.0), Vec3::Y, camera.eye()),
//!     centre: Vec3::new(0.0, 0.0, 100.0),
//!     shape: WindowShape::Sphere,
//!     radius: 190.0,
//!     feather: 60.0,
//!     ghost: 0.0,
//! });
//! frame.draws.push(Draw { casts: true, occludes: true, phase: Phase::Translucent, cut: CutMode::FadeNearSide, ..Draw::new(SKIN, Mat4::IDENTITY, gl::rgba(0xD9C8B8, 1.0)) });
//! frame.draws.push(Draw { material: Material::CLOTH, ..Draw::new(BED, Mat4::from_translation(Vec3::new(0.0, 0.0, -60.0)), gl::rgba(0xE9EEF0, 1.0)) });
//! for (mesh, colour, material) in [(HOUSING, 0xF4F4F2, Material::MOULDED), (NOTCH, 0xE0007A, Material::MARK)] {
//!     frame.draws.push(Draw { casts: true, phase: Phase::Probe, hidden_alpha: 0.25, material, ..Draw::new(mesh, world_from_probe, gl::rgba(colour, 1.0)) });
//! }
//! frame.sheets.push(Sheet {
//!     texture: SECTION,
//!     corners: [Vec3::new(-90.0, 0.0, 200.0), Vec3::new(90.0, 0.0, 200.0), Vec3::new(90.0, 0.0, 20.0), Vec3::new(-90.0, 0.0, 20.0)],
//!     part: Sheet::WHOLE,
//!     alpha: 1.0,
//!     hidden_alpha: 0.15,
//!     outline: None,
//! });
//! renderer.draw(&frame);
//!
//! // `webglcontextlost` (after preventDefault): nothing to do, `draw` does nothing while lost.
//! // `webglcontextrestored`:
//! renderer.restore()?;
//! renderer.draw(&frame);
//! # Ok(()) }
//! ```

mod camera;
mod device;
mod error;
mod frame;
mod frame_block;
mod light_maps;
mod maps;
mod opening;
mod passes;
mod programs;
mod renderer;
mod resources;
mod ribbons;
mod scene;
pub mod shapes;

pub use camera::{Camera, Ray};
pub use error::{GlError, UploadError};
pub use frame::{
    Background, Compass, CompassArm, Cut, CutMode, Draw, DrawReport, Frame, Light, Material,
    MeshId, Outline, Phase, Ribbon, Sheet, TextureId, WindowShape, rgb, rgba,
};
pub use renderer::Renderer;
