//! One picture as plain values: everything the renderer is told for one frame, and nothing it keeps.
//!
//! Colours are sRGB-coded 0…1 as in a style sheet ([`rgb`]), alpha is straight. Light colours are the exception:
//! they are factors on the surface colour in linear light (1 = unchanged). No colour, light or strength is fixed
//! in a shader, so a theme is a set of values here.

use crate::camera::Camera;
use glam::{Mat4, Vec3, Vec4};

/// A mesh, named by the caller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MeshId(pub u32);

/// A texture, named by the caller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TextureId(pub u32);

/// sRGB-coded colour from a style-sheet number: `rgb(0xFF8000)` is orange.
#[must_use]
pub fn rgb(hex: u32) -> [f32; 3] {
    let [_, r, g, b] = hex.to_be_bytes();
    [r, g, b].map(|v| f32::from(v) / 255.0)
}

/// [`rgb`] with an alpha of 0…1.
#[must_use]
pub fn rgba(hex: u32, alpha: f32) -> [f32; 4] {
    let [r, g, b] = rgb(hex);
    [r, g, b, alpha]
}

/// The lights, the same for every surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Light {
    /// World direction towards the key light; any length but zero.
    pub toward: Vec3,
    /// Colour factor of the key light.
    pub key: [f32; 3],
    /// Colour factor of the light from above, on surfaces facing up.
    pub sky: [f32; 3],
    /// Colour factor of the light from below, on surfaces facing down.
    pub bounce: [f32; 3],
    /// Colour factor of a soft light carried by the viewer, so that no side of the scene is ever black.
    pub fill: [f32; 3],
    /// World direction against gravity, unit.
    pub up: Vec3,
    /// How dark the key light's shadow is, 0 (none) … 1 (full).
    pub shadow: f32,
    /// Radius of the shadow's soft edge, world units.
    pub shadow_softness: f32,
    /// How dark crevices and contacts are, 0…1.
    pub occlusion: f32,
    /// How far a surface darkens its neighbours, world units.
    pub occlusion_reach: f32,
}

impl Light {
    /// Soft, even daylight from above for a light page, millimetre scenes with z up.
    #[must_use]
    pub fn day() -> Self {
        Self {
            toward: Vec3::new(-0.45, -0.35, 0.82),
            key: [0.62, 0.60, 0.56],
            sky: [0.53, 0.52, 0.51],
            bounce: [0.30, 0.28, 0.26],
            fill: [0.10, 0.10, 0.10],
            up: Vec3::Z,
            shadow: 0.75,
            shadow_softness: 26.0,
            occlusion: 0.75,
            occlusion_reach: 110.0,
        }
    }

    /// The same room with the lamps turned down, for a dark page.
    #[must_use]
    pub fn lab() -> Self {
        Self {
            key: [0.56, 0.55, 0.54],
            sky: [0.26, 0.28, 0.32],
            bounce: [0.13, 0.13, 0.15],
            fill: [0.10, 0.10, 0.11],
            shadow: 0.8,
            ..Self::day()
        }
    }
}

/// The backdrop: a vertical gradient, sRGB-coded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Background {
    /// Colour at the top edge of the canvas.
    pub top: [f32; 3],
    /// Colour at the bottom edge of the canvas.
    pub bottom: [f32; 3],
}

/// How a surface answers light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// How far the key light reaches round the terminator, 0 (hard) … 1 (chalk).
    pub wrap: f32,
    /// Strength of the highlight, 0…1.
    pub specular: f32,
    /// Sharpness of the highlight, 0 (broad) … 1 (polished).
    pub gloss: f32,
    /// Strength of the light edge at grazing sight, 0…1.
    pub rim: f32,
    /// Share of the shadow and of the occlusion that the surface takes, 0…1. Zero for what lies inside a body.
    pub receive: f32,
    /// How flat and unlit its back faces are, 0 (as the front) … 1 (flat): 1 makes an opened solid look full.
    pub inside: f32,
    /// Least alpha at grazing sight, for translucent shells: keeps the outline of a faded body, 0…1.
    pub edge_alpha: f32,
}

impl Material {
    /// The mannequin: chalky, with the faintest sheen.
    pub const MATTE: Self = Self {
        wrap: 0.35,
        specular: 0.05,
        gloss: 0.25,
        rim: 0.10,
        receive: 1.0,
        inside: 0.35,
        edge_alpha: 0.0,
    };
    /// Something moist inside the body.
    pub const ORGAN: Self = Self {
        wrap: 0.45,
        specular: 0.16,
        gloss: 0.45,
        rim: 0.12,
        receive: 0.0,
        inside: 1.0,
        edge_alpha: 0.0,
    };
    /// Moulded plastic.
    pub const MOULDED: Self = Self {
        wrap: 0.25,
        specular: 0.30,
        gloss: 0.55,
        rim: 0.10,
        receive: 0.35,
        inside: 0.0,
        edge_alpha: 0.0,
    };
    /// Cloth: no highlight at all.
    pub const CLOTH: Self = Self {
        wrap: 0.5,
        specular: 0.0,
        gloss: 0.0,
        rim: 0.0,
        receive: 1.0,
        inside: 0.0,
        edge_alpha: 0.0,
    };
    /// A mark that must keep its colour: almost unlit.
    pub const MARK: Self = Self {
        wrap: 1.0,
        specular: 0.08,
        gloss: 0.4,
        rim: 0.0,
        receive: 0.0,
        inside: 0.0,
        edge_alpha: 0.0,
    };
}

/// When a mesh is drawn. See the order in the crate documentation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Solid things: bed, organs.
    Opaque,
    /// The skin: solid where its alpha is full, else only its nearest layer, blended over what lies behind.
    Translucent,
    /// Solid marks, such as arrows, over everything that is translucent; may shine through by `hidden_alpha`.
    Overlay,
    /// The probe: solid, before the sheets; may shine through what covers it by `hidden_alpha`.
    Probe,
}

/// What the cut does to a mesh.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutMode {
    /// Nothing.
    None,
    /// For what lies inside the skin: its part on the viewer's side of the plane, inside the window, is not drawn, and
    /// while every skin ([`Phase::Translucent`]) is solid none of it is drawn beyond the opening.
    RemoveNearSide,
    /// That part fades to [`Cut::ghost`] across the window's feather (only in [`Phase::Translucent`]), except that the
    /// far wall of a solid body stays as the backdrop of the opening.
    FadeNearSide,
}

/// One mesh in one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// What to draw. A mesh that was never put is skipped and counted in the report.
    pub mesh: MeshId,
    /// Mesh → world. No mirroring.
    pub model: Mat4,
    /// Surface colour, sRGB-coded, straight alpha (alpha counts only in [`Phase::Translucent`]).
    pub colour: [f32; 4],
    /// How it answers light.
    pub material: Material,
    /// When it is drawn.
    pub phase: Phase,
    /// What the cut does to it.
    pub cut: CutMode,
    /// Whether it throws a shadow.
    pub casts: bool,
    /// Whether it darkens the crevices near it: large resting bodies only, never a thing held in the air.
    pub occludes: bool,
    /// Alpha of the part hidden behind something solid, 0…1 ([`Phase::Overlay`] and [`Phase::Probe`] only).
    pub hidden_alpha: f32,
}

impl Draw {
    /// A matte, solid, uncut mesh that throws no shadow.
    #[must_use]
    pub fn new(mesh: MeshId, model: Mat4, colour: [f32; 4]) -> Self {
        Self {
            mesh,
            model,
            colour,
            material: Material::MATTE,
            phase: Phase::Opaque,
            cut: CutMode::None,
            casts: false,
            occludes: false,
            hidden_alpha: 0.0,
        }
    }
}

/// Shape of the window in which the near side is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WindowShape {
    /// A ball round the centre: opens only what is close.
    Sphere,
    /// A tube along the plane's normal, closed by a rounded end 2 radii away from the plane; of what it holds, that
    /// is opened which the viewer has before its mouth, so that nothing beside the section is taken away.
    Cylinder,
}

/// The opening in the body that shows the section in place.
///
/// Seen edge-on, where there is no section to show, and from behind, it closes by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// World plane (n, d) with unit n: points with n·p + d > 0 are on the near (viewer's, opened) side.
    pub plane: Vec4,
    /// Middle of the window, world.
    pub centre: Vec3,
    /// Shape of the window.
    pub shape: WindowShape,
    /// Where the window ends, world units.
    pub radius: f32,
    /// Width of its soft edge, world units, inward from the radius.
    pub feather: f32,
    /// Alpha left to what has faded fully, 0 (gone) … 1.
    pub ghost: f32,
}

impl Cut {
    /// The plane through `point` with normal ±`normal` (any length but zero), opened on the side where `eye` is.
    ///
    /// An eye exactly on the plane opens the side that `normal` points to.
    #[must_use]
    pub fn plane_facing(point: Vec3, normal: Vec3, eye: Vec3) -> Vec4 {
        let unit = normal.normalize_or(Vec3::Z);
        let n = if unit.dot(eye - point) < 0.0 {
            -unit
        } else {
            unit
        };
        n.extend(-n.dot(point))
    }
}

/// A line round a sheet, or where the plane meets the skin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outline {
    /// Colour, sRGB-coded, straight alpha.
    pub colour: [f32; 4],
    /// Width in device pixels.
    pub width_px: f32,
}

/// A flat, unlit, textured quadrilateral (a parallelogram) hanging in the scene; seen from both sides.
///
/// Sheets are painted in list order, each over those before it wherever both are seen: they are meant to hang in one
/// plane. Those in the plane of the cut end where a solid skin closes over them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Its picture: premultiplied RGBA. A texture that was never put is skipped and counted in the report.
    pub texture: TextureId,
    /// World corners: top left, top right, bottom right, bottom left of the part of the picture that it shows.
    pub corners: [Vec3; 4],
    /// That part: left, top, right, bottom, as shares of the picture's width and height. See [`Sheet::WHOLE`].
    pub part: [f32; 4],
    /// Opacity of the whole, 0…1.
    pub alpha: f32,
    /// Opacity of the part hidden behind something solid, 0…1, as a share of `alpha`. It never shows through the probe.
    pub hidden_alpha: f32,
    /// A line along the four sides.
    pub outline: Option<Outline>,
}

impl Sheet {
    /// All of the picture.
    pub const WHOLE: [f32; 4] = [0.0, 0.0, 1.0, 1.0];
}

/// A line through the scene of constant width on the canvas, with round ends and joins, anti-aliased.
#[derive(Debug, Clone, PartialEq)]
pub struct Ribbon {
    /// World points, at least two.
    pub points: Vec<Vec3>,
    /// Whether the last point joins the first.
    pub closed: bool,
    /// Width in device pixels.
    pub width_px: f32,
    /// Colour, sRGB-coded, straight alpha.
    pub colour: [f32; 4],
    /// Opacity of the part hidden behind something solid, 0…1, as a share of the colour's alpha. It never shows through
    /// the probe.
    pub hidden_alpha: f32,
    /// Drawn this much nearer to the viewer, world units, so that a line on a surface is not swallowed by it.
    pub lift: f32,
}

/// One arm of the compass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CompassArm {
    /// World direction; its length (0…1) is the arm's length.
    pub direction: Vec3,
    /// Colour, sRGB-coded.
    pub colour: [f32; 3],
    /// Whether it ends in an arrow head (else in a small ball).
    pub head: bool,
}

/// A small picture of the world's directions in a corner of the canvas.
#[derive(Debug, Clone, PartialEq)]
pub struct Compass {
    /// Left, top, width, height in device pixels from the canvas's top left corner.
    pub rect_px: [f32; 4],
    /// The arms.
    pub arms: Vec<CompassArm>,
    /// Colour of the hub, sRGB-coded.
    pub hub: [f32; 3],
}

impl Compass {
    /// Half the side of the cube that the compass's orthographic view spans; arms of length 1 and their letters fit.
    pub(crate) const HALF_SPAN: f32 = 1.45;

    /// Where a letter for `direction` belongs, in device pixels from the canvas's top left corner.
    ///
    /// A unit direction lands a little beyond the tip of its arm.
    #[must_use]
    pub fn letter_px(&self, camera: &Camera, direction: Vec3) -> [f32; 2] {
        let seen = camera.view.transform_vector3(direction * 1.24) / Self::HALF_SPAN;
        let [left, top, width, height] = self.rect_px;
        [
            left + width * (0.5 + 0.5 * seen.x),
            top + height * (0.5 - 0.5 * seen.y),
        ]
    }
}

/// Everything in one picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// The viewer.
    pub camera: Camera,
    /// The lights.
    pub light: Light,
    /// The backdrop.
    pub background: Background,
    /// Height along [`Light::up`] of the surface that things rest on, world units: undersides near it are darker.
    pub rest_height: f32,
    /// The opening, if the body is opened.
    pub cut: Option<Cut>,
    /// Whether the sheets close the opening, wall to wall and opaque: then what lies inside the body behind the plane is
    /// left out, which spares the greater part of it.
    pub capped: bool,
    /// A line where the plane of the cut meets surfaces that fade.
    pub trace: Option<Outline>,
    /// Meshes, in any order; the order within a phase is kept.
    pub draws: Vec<Draw>,
    /// Sheets, bottom to top.
    pub sheets: Vec<Sheet>,
    /// Sheets that may stand across each other and see through each other: painted in list order over everything that
    /// lies behind them, and taking no depth. Whoever lists them cuts them where they cross and puts the far ones first.
    pub panes: Vec<Sheet>,
    /// Lines.
    pub ribbons: Vec<Ribbon>,
    /// The corner compass.
    pub compass: Option<Compass>,
}

impl Frame {
    /// An empty picture.
    #[must_use]
    pub fn new(camera: Camera, light: Light, background: Background) -> Self {
        Self {
            camera,
            light,
            background,
            rest_height: 0.0,
            cut: None,
            capped: false,
            trace: None,
            draws: Vec::new(),
            sheets: Vec::new(),
            panes: Vec::new(),
            ribbons: Vec::new(),
            compass: None,
        }
    }
}

/// What one call of draw did, for tests and for the curious.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DrawReport {
    /// Draw calls issued.
    pub calls: u32,
    /// Triangles sent, over all passes.
    pub triangles: u32,
    /// Meshes or textures that were asked for but never put.
    pub missing: u32,
    /// Whether the shadow pass ran (it is skipped while nothing that throws a shadow moves).
    pub shadows_redrawn: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_colour_bytes() {
        assert_eq!(
            rgb(0xFF_80_00).map(f32::to_bits),
            [1.0, 128.0 / 255.0, 0.0].map(f32::to_bits),
            "orange"
        );
        assert_eq!(
            rgba(0x00_00_FF, 0.5)[3].to_bits(),
            0.5_f32.to_bits(),
            "alpha is kept"
        );
    }

    #[test]
    fn check_cut_plane_faces_the_viewer() {
        let point = Vec3::new(5.0, -3.0, 80.0);
        for normal in [Vec3::X, -Vec3::X, Vec3::new(1.0, 2.0, -3.0)] {
            for eye in [Vec3::new(900.0, 10.0, 4.0), Vec3::new(-700.0, -200.0, 30.0)] {
                let plane = Cut::plane_facing(point, normal, eye);
                let n = plane.truncate();
                assert!((n.length() - 1.0).abs() < 1e-5, "unit normal");
                assert!(
                    n.dot(eye) + plane.w > 0.0,
                    "the viewer is on the opened side"
                );
                assert!(
                    (n.dot(point) + plane.w).abs() < 1e-3,
                    "the point is on the plane"
                );
            }
        }
    }

    #[test]
    fn check_compass_letters_follow_the_view() {
        let compass = Compass {
            rect_px: [10.0, 500.0, 90.0, 90.0],
            arms: Vec::new(),
            hub: [0.5; 3],
        };
        let camera = Camera::perspective(
            Vec3::new(0.0, -800.0, 0.0),
            Vec3::ZERO,
            Vec3::Z,
            0.5,
            1.0,
            2000.0,
            [800.0, 600.0],
        );
        let [cx, cy] = compass.letter_px(&camera, Vec3::ZERO);
        assert!(
            (cx - 55.0).abs() < 1e-3 && (cy - 545.0).abs() < 1e-3,
            "the hub is in the middle"
        );
        let [x, _] = compass.letter_px(&camera, Vec3::X);
        assert!(
            x > cx + 30.0 && x < 100.0,
            "world x points right on the canvas"
        );
        let [_, y] = compass.letter_px(&camera, Vec3::Z);
        assert!(
            y < cy - 30.0 && y > 500.0,
            "world z points up on the canvas"
        );
    }
}
