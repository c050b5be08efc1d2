//! From the application's scene to the renderer's frame: names of meshes, materials, strengths of light.

use super::size::Size;
use app::State;
use app::colours::{Colour, Tokens};
use app::picture::VolumePlane;
use app::scene::{
    LineKind, ProbeFace, ProbeSolid, Scene, StructureFilter, SurfaceLook, SurfaceRole,
};
use gl::shapes::{ProbeMeshes, ProbeShape};
use gl::{
    Background, Camera, Compass, CompassArm, Cut, CutMode, Draw, Frame, Light, Material, MeshId,
    Outline, Phase, Ribbon, Sheet, TextureId, WindowShape,
};
use glam::{Mat4, Quat, Vec3, Vec4};

pub(crate) const ARROW: MeshId = MeshId(2);
pub(crate) const FACE: MeshId = MeshId(3);
pub(crate) const HOUSING: MeshId = MeshId(4);
pub(crate) const NOTCH: MeshId = MeshId(5);
pub(crate) const CABLE: MeshId = MeshId(6);
pub(crate) const BALL: MeshId = MeshId(7);
pub(crate) const FIELD: TextureId = TextureId(1);
pub(crate) const CUT_FACE: TextureId = TextureId(2);

/// Pictures of the planes of a volume follow this number.
const FIRST_PANE: u32 = 3;

/// How opaque the planes of a volume are: what stands behind one is seen through it, and its own picture is still read.
const PANE_ALPHA: f32 = 0.8;

/// The same for what lies behind the body's cut face, as a share.
const PANE_HIDDEN_ALPHA: f32 = 0.3;

/// How large the ball is that marks the point where the planes cross, against the one beside the notch.
const POINT_SIZE: f32 = 0.9;

/// Blocks of the furniture follow this number, and there are fewer than this many.
const FIRST_BLOCK: u32 = 10;
pub(crate) const MOST_BLOCKS: usize = 64;

/// Surfaces of the body follow these numbers.
const FIRST_SURFACE: u32 = 100;

/// Length of an arrow at a side of the sheet, mm.
pub(crate) const ARROW_MM: f32 = 34.0;

/// How far beyond the field's half diagonal the body is opened, mm, and how soft the edge of the opening is. What lies
/// inside is cut away as far as the margin goes. The soft edge stays inside the margin, so that it never veils a corner
/// of the field.
const OPENING_MARGIN_MM: f32 = 84.0;
const OPENING_FEATHER_MM: f32 = 72.0;

/// How much larger the knob at the notch and an arrow are drawn while they are lit.
const LIT_NOTCH: f32 = 2.2;
const LIT_ARROW: f32 = 1.35;

/// How far the trace is drawn in front of the skin, mm: more than the skin's facets are off.
const TRACE_LIFT_MM: f32 = 2.5;

/// The compass in the corner, CSS pixels.
const COMPASS_PX: f64 = 84.0;
const COMPASS_INSET_PX: f64 = 8.0;

/// Transducers with a longer housing than this have a shaft that goes in, mm.
const SHAFT_MM: f32 = 200.0;

/// Flat faces narrower than this look like the small face between ribs, mm.
const SMALL_FACE_MM: f32 = 30.0;

/// The mesh of a surface of the body.
pub(crate) fn surface_mesh(surface: usize) -> MeshId {
    MeshId(FIRST_SURFACE.saturating_add(u32::try_from(surface).unwrap_or(u32::MAX)))
}

/// The mesh of a block of the furniture.
pub(crate) fn block_mesh(block: usize) -> MeshId {
    let number = block.min(MOST_BLOCKS - 1);
    MeshId(FIRST_BLOCK.saturating_add(u32::try_from(number).unwrap_or(0)))
}

/// The picture of a plane of a volume.
pub(crate) fn pane_texture(which: VolumePlane) -> TextureId {
    TextureId(FIRST_PANE.saturating_add(u32::from(which.number())))
}

/// The probe's solids for its measures.
pub(crate) fn probe_meshes(solid: &ProbeSolid) -> ProbeMeshes {
    let (width, thickness) = (solid.face_width_mm, solid.face_thickness_mm);
    let shape = match solid.face {
        _ if solid.length_mm > SHAFT_MM => ProbeShape::endocavity(width, solid.length_mm * 0.5),
        ProbeFace::Curved { radius_mm } => ProbeShape::curved(width, thickness, radius_mm),
        ProbeFace::Flat if width < SMALL_FACE_MM => ProbeShape::phased(width, thickness),
        ProbeFace::Flat => ProbeShape::linear(width, thickness),
    };
    shape.build()
}

/// The renderer's camera for a view of this size.
pub(crate) fn camera(scene: &Scene, size: Size) -> Camera {
    Camera {
        view: Mat4::from_cols_array(&scene.camera.eye_from_room),
        projection: Mat4::from_cols_array(&scene.camera.clip_from_eye),
        viewport_px: [
            narrow(f64::from(size.width)),
            narrow(f64::from(size.height)),
        ],
    }
}

/// The compass for a view of this size; its letters are set by the page.
pub(crate) fn compass(scene: &Scene, tokens: &Tokens, size: Size) -> Compass {
    let side = COMPASS_PX * size.ratio();
    let inset = COMPASS_INSET_PX * size.ratio();
    let top = f64::from(size.height) - inset - side;
    let axis = tokens.get("axis").srgb();
    Compass {
        rect_px: [inset, top, side, side].map(narrow),
        arms: scene
            .compass
            .iter()
            .map(|tip| CompassArm {
                direction: Vec3::from_array(tip.direction) * 0.8,
                colour: axis,
                head: false,
            })
            .collect(),
        hub: axis,
    }
}

/// Everything of one frame. `has_pictures` says whether the sheets' pictures are there.
pub(crate) fn frame(
    state: &State,
    scene: &Scene,
    surfaces: &[SurfaceLook],
    tokens: &Tokens,
    dark: bool,
    size: Size,
    has_pictures: bool,
) -> Frame {
    let light = if dark { Light::lab() } else { Light::day() };
    let background = Background {
        top: tokens.get("scene-top").srgb(),
        bottom: tokens.get("scene-bottom").srgb(),
    };
    let mut frame = Frame::new(camera(scene, size), light, background);
    frame.rest_height = scene.furniture.rest_height;
    frame.cut = Some(opening(scene));
    add_body(&mut frame, scene, surfaces, inside(state, has_pictures));
    add_furniture(&mut frame, scene, tokens);
    add_probe(&mut frame, scene, tokens);
    add_sheets(&mut frame, scene, tokens, size, has_pictures);
    add_arrows(&mut frame, state, scene, tokens);
    add_lines(&mut frame, scene, tokens, size);
    frame.compass = Some(compass(scene, tokens, size));
    frame
}

/// How what lies under the skin is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Inside {
    /// Not at all: the skin and the cut face hide all of it, and drawing it would cost a phone its frame rate.
    Hidden,
    /// The part before the image plane is cut away.
    Cut,
    /// All of it, before the plane too: these are the structures that were asked for.
    Whole,
}

fn inside(state: &State, has_pictures: bool) -> Inside {
    match (state.filter(), state.skin_shown() && has_pictures) {
        (StructureFilter::Everything, true) => Inside::Hidden,
        (StructureFilter::Everything, false) => Inside::Cut,
        _ => Inside::Whole,
    }
}

/// Corners of the field's sheet.
fn corners(sheet: &app::scene::Sheet) -> [Vec3; 4] {
    sheet.corners.map(Vec3::from_array)
}

fn opening(scene: &Scene) -> Cut {
    let [a, _, c, _] = corners(&scene.field_sheet);
    let half_diagonal = (c - a).length() * 0.5;
    Cut {
        plane: Vec4::from_array(scene.cut_plane.equation),
        centre: (a + c) * 0.5,
        shape: WindowShape::Cylinder,
        radius: half_diagonal + OPENING_MARGIN_MM,
        feather: OPENING_FEATHER_MM,
        ghost: 0.0,
    }
}

fn add_body(frame: &mut Frame, scene: &Scene, surfaces: &[SurfaceLook], inside: Inside) {
    let model = Mat4::from_cols_array(&scene.room_from_posed);
    for look in surfaces {
        let plain = Draw::new(surface_mesh(look.surface), model, opaque(look.colour));
        frame.draws.push(match look.role {
            SurfaceRole::Skin => Draw {
                casts: true,
                occludes: true,
                phase: Phase::Translucent,
                cut: CutMode::FadeNearSide,
                ..plain
            },
            SurfaceRole::Inside => match inside {
                Inside::Hidden => continue,
                Inside::Cut => Draw {
                    material: Material::ORGAN,
                    cut: CutMode::RemoveNearSide,
                    ..plain
                },
                Inside::Whole => Draw {
                    material: Material::ORGAN,
                    ..plain
                },
            },
            SurfaceRole::Chosen => Draw {
                material: Material::ORGAN,
                phase: Phase::Overlay,
                hidden_alpha: 0.55,
                ..plain
            },
        });
    }
}

fn add_furniture(frame: &mut Frame, scene: &Scene, tokens: &Tokens) {
    let colour = opaque(tokens.get("bed"));
    for (number, block) in scene.furniture.blocks.iter().enumerate().take(MOST_BLOCKS) {
        let model = Mat4::from_cols_array(&block.room_from_block);
        frame.draws.push(Draw {
            material: Material::CLOTH,
            ..Draw::new(block_mesh(number), model, colour)
        });
    }
}

fn add_probe(frame: &mut Frame, scene: &Scene, tokens: &Tokens) {
    let model = Mat4::from_cols_array(&scene.room_from_probe);
    let parts = [
        (FACE, "probe-face", Material::MATTE),
        (HOUSING, "probe", Material::MOULDED),
        (CABLE, "probe-band", Material::MATTE),
        (NOTCH, "notch-on-probe", Material::MARK),
    ];
    for (mesh, token, material) in parts {
        frame.draws.push(Draw {
            casts: true,
            phase: Phase::Probe,
            hidden_alpha: 0.22,
            material,
            ..Draw::new(mesh, model, opaque(tokens.get(token)))
        });
    }
}

fn add_sheets(frame: &mut Frame, scene: &Scene, tokens: &Tokens, size: Size, has_pictures: bool) {
    let edge = tokens.get(if scene.lit.sheet { "lit" } else { "sheet-edge" });
    let ratio = narrow(size.ratio());
    if has_pictures {
        frame.sheets.push(Sheet {
            texture: CUT_FACE,
            corners: corners(&scene.cut_sheet),
            part: Sheet::WHOLE,
            alpha: 1.0,
            hidden_alpha: 0.0,
            outline: None,
        });
        frame.sheets.push(Sheet {
            texture: FIELD,
            corners: corners(&scene.field_sheet),
            part: Sheet::WHOLE,
            alpha: 1.0,
            hidden_alpha: 0.16,
            outline: None::<Outline>,
        });
    }
    frame.ribbons.push(Ribbon {
        points: scene
            .field_outline
            .iter()
            .map(|point| Vec3::from_array(*point))
            .collect(),
        closed: true,
        width_px: if scene.lit.sheet { 4.0 } else { 1.75 } * ratio,
        colour: opaque(edge),
        hidden_alpha: 0.35,
        lift: 1.5,
    });
}

fn add_arrows(frame: &mut Frame, state: &State, scene: &Scene, tokens: &Tokens) {
    // Arrows belong to the sheet; before there is one they would point at nothing.
    if state.skin().is_none() {
        return;
    }
    for (arrow, lit) in scene.arrows.iter().zip(scene.lit.sides) {
        let turn = Quat::from_rotation_arc(Vec3::Z, Vec3::from_array(arrow.direction));
        let stretch = Vec3::splat(if lit { LIT_ARROW } else { 1.0 });
        let foot = Vec3::from_array(arrow.position);
        let model = Mat4::from_scale_rotation_translation(stretch, turn, foot);
        let token = if lit { "lit" } else { "side-arrow" };
        frame.draws.push(Draw {
            phase: Phase::Overlay,
            hidden_alpha: if lit { 0.8 } else { 0.4 },
            material: Material::MARK,
            ..Draw::new(ARROW, model, opaque(tokens.get(token)))
        });
        if arrow.has_notch {
            let size = if scene.lit.notch { LIT_NOTCH } else { 1.0 };
            let model = Mat4::from_scale_rotation_translation(
                Vec3::splat(size),
                Quat::IDENTITY,
                notch_corner(scene),
            );
            frame.draws.push(Draw {
                phase: Phase::Overlay,
                hidden_alpha: 0.6,
                material: Material::MARK,
                ..Draw::new(BALL, model, opaque(tokens.get("notch-on-probe")))
            });
        }
    }
}

fn ribbon(points: &[[f32; 3]], tokens: &Tokens, token: &str, px: f32) -> Ribbon {
    Ribbon {
        points: points
            .iter()
            .map(|point| Vec3::from_array(*point))
            .collect(),
        closed: false,
        width_px: px,
        colour: opaque(tokens.get(token)),
        hidden_alpha: 0.0,
        lift: TRACE_LIFT_MM,
    }
}

/// Where the plane meets the skin, as a line drawn with a pen: dark dashes with a light rim.
pub(crate) fn add_trace(frame: &mut Frame, trace: &[Vec<[f32; 3]>], tokens: &Tokens, size: Size) {
    let ratio = narrow(size.ratio());
    for piece in trace {
        for (token, px) in [("trace-rim", 4.5), ("trace", 2.25)] {
            frame.ribbons.push(ribbon(piece, tokens, token, px * ratio));
        }
    }
}

/// The planes of a volume with their pictures, and the point where they cross.
pub(crate) fn add_panes(frame: &mut Frame, scene: &Scene, tokens: &Tokens) {
    for piece in &scene.volume.pieces {
        frame.panes.push(Sheet {
            texture: pane_texture(piece.which),
            corners: piece.corners.map(Vec3::from_array),
            part: piece.part,
            alpha: PANE_ALPHA,
            hidden_alpha: PANE_HIDDEN_ALPHA,
            outline: None,
        });
    }
    if let Some(point) = scene.volume.point {
        let model = Mat4::from_scale_rotation_translation(
            Vec3::splat(POINT_SIZE),
            Quat::IDENTITY,
            Vec3::from_array(point),
        );
        frame.draws.push(Draw {
            phase: Phase::Overlay,
            hidden_alpha: 0.85,
            material: Material::MARK,
            ..Draw::new(BALL, model, opaque(tokens.get("lit")))
        });
    }
}

/// The axis of the structure pointed out, body planes, planes of a volume.
fn add_lines(frame: &mut Frame, scene: &Scene, tokens: &Tokens, size: Size) {
    let ratio = narrow(size.ratio());
    for line in &scene.lines {
        let (token, px, hidden) = match line.kind {
            LineKind::Axis => ("lit", 3.5, 0.75),
            LineKind::BodyPlane(_) => ("lit", 3.0, 0.55),
            LineKind::Volume(_) => ("sheet-edge", 2.25, 0.5),
        };
        frame.ribbons.push(Ribbon {
            closed: line.closed,
            hidden_alpha: hidden,
            lift: 1.5,
            ..ribbon(&line.points, tokens, token, px * ratio)
        });
    }
}

/// Beside the face of the probe, at the end with the notch: where the picture shows its mark.
fn notch_corner(scene: &Scene) -> Vec3 {
    let reach = scene.probe.face_width_mm * 0.5 + 10.0;
    Mat4::from_cols_array(&scene.room_from_probe).transform_point3(Vec3::new(reach, 0.0, 6.0))
}

/// The raised notch of the probe, and a point farther out in the direction it looks.
pub(crate) fn notch_place(scene: &Scene) -> [Vec3; 2] {
    let along = scene.probe.length_mm * 0.24;
    let out = scene.probe.face_width_mm * 0.5;
    let room_from_probe = Mat4::from_cols_array(&scene.room_from_probe);
    [out, out + 30.0].map(|out| room_from_probe.transform_point3(Vec3::new(out, 0.0, -along)))
}

fn opaque(colour: Colour) -> [f32; 4] {
    let [r, g, b] = colour.srgb();
    [r, g, b, 1.0]
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "pixels and ratios lose nothing a screen could show"
)]
pub(crate) fn narrow(value: f64) -> f32 {
    value as f32
}
