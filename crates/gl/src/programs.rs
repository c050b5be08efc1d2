//! The eight programs, their uniforms and the texture units they read.

use crate::device::Program;
use crate::error::GlError;
use web_sys::WebGl2RenderingContext as Gl;

/// The shadow map, read by comparison.
pub(crate) const SHADOW_UNIT: u32 = 0;
/// The shadow map, read as plain depth.
pub(crate) const SHADOW_DEPTH_UNIT: u32 = 1;
/// The map of heights.
pub(crate) const HEIGHT_UNIT: u32 = 2;
/// The map of the rest surface.
pub(crate) const REST_UNIT: u32 = 3;
/// The picture of a sheet.
pub(crate) const PICTURE_UNIT: u32 = 4;

/// All programs. The index of a uniform is its place in the list it is asked for with.
#[derive(Debug)]
pub(crate) struct Programs {
    /// Lit surfaces that are drawn whole. Uniform 0: the draw.
    pub(crate) lit: Program,
    /// Lit surfaces that may be cut or translucent. Uniform 0: the draw.
    pub(crate) lit_cuts: Program,
    /// The depth of what [`Self::lit_cuts`] draws. Uniform 0: the draw.
    pub(crate) cuts_depth: Program,
    /// Depth or height only. Uniforms: the draw, clip from world.
    pub(crate) depth: Program,
    /// The map of the rest surface. Uniform 0: world from map.
    pub(crate) rest: Program,
    /// The backdrop.
    pub(crate) background: Program,
    /// Sheets. Uniform 0: the sheet.
    pub(crate) sheet: Program,
    /// Lines. Uniform 0: whether the hidden part is drawn.
    pub(crate) ribbon: Program,
}

const SHUT_OUT: &str = include_str!("shaders/shut_out.glsl");
const LIT_VERTEX: &str = include_str!("shaders/lit.vert.glsl");
const LIT_FRAGMENT: &str = include_str!("shaders/lit.frag.glsl");

impl Programs {
    pub(crate) fn build(gl: &Gl) -> Result<Self, GlError> {
        let lit = |name, cuts: &str| {
            Program::new(
                gl,
                name,
                &format!("{SHUT_OUT}{LIT_VERTEX}"),
                &format!("{cuts}{LIT_FRAGMENT}"),
                &["draw"],
                &[
                    ("shadow_map", SHADOW_UNIT),
                    ("height_map", HEIGHT_UNIT),
                    ("rest_map", REST_UNIT),
                ],
            )
        };
        Ok(Self {
            lit: lit("lit", "")?,
            lit_cuts: lit("lit and cut", "#define CUTS\n")?,
            cuts_depth: lit("depth of the cut", "#define CUTS\n#define DEPTH_ONLY\n")?,
            depth: Program::new(
                gl,
                "depth",
                include_str!("shaders/depth.vert.glsl"),
                include_str!("shaders/depth.frag.glsl"),
                &["draw", "clip_from_scene"],
                &[],
            )?,
            rest: Program::new(
                gl,
                "rest surface",
                include_str!("shaders/rest.vert.glsl"),
                &format!("{SHUT_OUT}{}", include_str!("shaders/rest.frag.glsl")),
                &["world_from_rest"],
                &[
                    ("shadow_map", SHADOW_UNIT),
                    ("shadow_depth", SHADOW_DEPTH_UNIT),
                    ("height_map", HEIGHT_UNIT),
                ],
            )?,
            background: Program::new(
                gl,
                "background",
                include_str!("shaders/background.vert.glsl"),
                include_str!("shaders/background.frag.glsl"),
                &[],
                &[],
            )?,
            sheet: Program::new(
                gl,
                "sheet",
                include_str!("shaders/sheet.vert.glsl"),
                include_str!("shaders/sheet.frag.glsl"),
                &["sheet"],
                &[("picture", PICTURE_UNIT)],
            )?,
            ribbon: Program::new(
                gl,
                "ribbon",
                include_str!("shaders/ribbon.vert.glsl"),
                include_str!("shaders/ribbon.frag.glsl"),
                &["hidden"],
                &[],
            )?,
        })
    }
}
