//! The opening of a cut as seen on the canvas, and what of the scene it concerns. Pure.

use crate::camera::Camera;
use crate::frame::{Cut, CutMode, Draw, Frame, Phase, Sheet, WindowShape};
use glam::{Mat4, Vec3, Vec4};

/// Length of the opening's tube over its radius, as in `shaders/lit.frag.glsl`.
const TUBE: f32 = 2.0;

/// Alpha from which a surface counts as solid, as in `shaders/lit.frag.glsl`.
const FULL_ALPHA: f32 = 0.985;

/// Whether some of a translucent mesh may be solid.
pub(crate) fn may_be_full(draw: &Draw) -> bool {
    draw.colour[3] >= FULL_ALPHA || draw.material.edge_alpha > 0.0
}

/// Whether some of a translucent mesh may be less than solid.
pub(crate) fn may_be_faded(draw: &Draw, cut: bool) -> bool {
    draw.colour[3] < FULL_ALPHA || (cut && draw.cut == CutMode::FadeNearSide)
}

/// Whether a box lies wholly outside one side of the view.
pub(crate) fn out_of_view(clip_from_world: &Mat4, corners: &[Vec3]) -> bool {
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

/// Whether a point on the near side of the plane, or on it, is inside the window.
fn inside(camera: &Camera, cut: &Cut, point: Vec3) -> bool {
    let normal = cut.plane.truncate();
    let from_centre = point - cut.centre;
    match cut.shape {
        WindowShape::Sphere => from_centre.length() < cut.radius,
        WindowShape::Cylinder => {
            let depth = normal.dot(point) + cut.plane.w;
            let across = (from_centre - normal * normal.dot(from_centre)).length_squared();
            let share = [
                across / (cut.radius * cut.radius),
                depth / (TUBE * cut.radius),
            ];
            let depth_squared = share[1] * share[1];
            share[0] * share[0] + depth_squared * depth_squared < 1.0
                && before_the_section(camera, cut, point, depth)
        }
    }
}

/// Whether the line of sight through a point goes on to the mouth of the tube. Such lines fill a cone, or for parallel
/// sight a second tube: convex as well.
fn before_the_section(camera: &Camera, cut: &Cut, point: Vec3, depth: f32) -> bool {
    let normal = cut.plane.truncate();
    let back = camera.toward_viewer(point);
    let rise = normal.dot(back);
    let foot = cut.centre - normal * (normal.dot(cut.centre) + cut.plane.w);
    rise > 1e-4 && (point - back * (depth / rise)).distance(foot) < cut.radius
}

/// Whether the cut removes all of a box: its corners are, and what is removed is convex.
pub(crate) fn cut_away(camera: &Camera, cut: &Cut, corners: &[Vec3]) -> bool {
    corners
        .iter()
        .all(|p| cut.plane.truncate().dot(*p) + cut.plane.w > 0.0 && inside(camera, cut, *p))
}

/// Whether all that the cut leaves of a box lies behind its plane.
///
/// The window is convex, so it is enough that near corners are inside it, and so are far corners when they are dropped
/// on the plane: where the box's edges cross the plane lies between these.
pub(crate) fn behind_plane(camera: &Camera, cut: &Cut, corners: &[Vec3]) -> bool {
    let normal = cut.plane.truncate();
    let height = |p: &Vec3| normal.dot(*p) + cut.plane.w;
    let left = |p: &Vec3| inside(camera, cut, *p - normal * height(p).min(0.0));
    corners.iter().all(|p| height(p) <= 0.0) || corners.iter().all(left)
}

/// Whether a box cannot be seen in a rectangle of the canvas (left, bottom, width, height in pixels).
pub(crate) fn beside(
    camera: &Camera,
    corners: &[Vec3],
    [left, bottom, width, height]: [i32; 4],
) -> bool {
    let Some(seen) = corners
        .iter()
        .map(|p| camera.project(*p))
        .collect::<Option<Vec<_>>>()
    else {
        return false;
    };
    let top = pixel(camera.viewport_px[1]) - bottom - height;
    let apart = |axis: usize, low: i32, size: i32| {
        let (from, to) = seen.iter().fold((f32::MAX, f32::MIN), |(a, b), p| {
            (a.min(p[axis]), b.max(p[axis]))
        });
        pixel(to) < low || pixel(from) > low + size
    };
    width <= 0 || height <= 0 || apart(0, left, width) || apart(1, top, height)
}

/// The sine of the angle between plane and line of sight at which an opening begins to close, and is closed.
const CLOSING: f32 = 0.26;
const CLOSED: f32 = 0.10;

/// How far a cut is opened to this viewer, 0…1: a plane seen edge-on shows no section, only a hole, so it closes.
pub(crate) fn strength(camera: &Camera, cut: &Cut) -> f32 {
    let slant = cut.plane.truncate().dot(camera.toward_viewer(cut.centre));
    let t = ((slant - CLOSED) / (CLOSING - CLOSED)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// The cut of a frame, if it opens anything to its viewer.
pub(crate) fn open_cut(frame: &Frame) -> Option<&Cut> {
    frame
        .cut
        .as_ref()
        .filter(|cut| strength(&frame.camera, cut) > 0.0)
}

/// Whether the cut may remove or fade something in a box.
pub(crate) fn touches(cut: &Cut, corners: &[Vec3]) -> bool {
    corners
        .iter()
        .any(|p| cut.plane.truncate().dot(*p) + cut.plane.w > 0.0)
}

/// Whether a sheet lies in the plane of the cut under a solid skin, so that it shows through the opening only.
pub(crate) fn covers(frame: &Frame, sheet: &Sheet) -> bool {
    /// How far a corner may be off the plane, as a share of the window's radius.
    const OFF: f32 = 1e-2;
    let lies_in = |cut: &Cut| {
        let off = |p: &Vec3| (cut.plane.truncate().dot(*p) + cut.plane.w).abs();
        sheet.corners.iter().all(|p| off(p) < OFF * cut.radius)
    };
    let mut skin = frame
        .draws
        .iter()
        .filter(|d| d.phase == Phase::Translucent && d.cut == CutMode::FadeNearSide)
        .peekable();
    frame.cut.as_ref().is_some_and(lies_in)
        && skin.peek().is_some()
        && skin.all(|d| d.colour[3] >= FULL_ALPHA)
}

/// What a frame's meshes inside the body need not be drawn beyond.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Sight {
    /// The skin lets them be seen anywhere, or there is none.
    Anywhere,
    /// A solid skin shows them through the opening only: left, bottom, width, height in pixels.
    Within([i32; 4]),
    /// A solid skin without an opening hides them.
    Nowhere,
}

/// Where meshes inside the body may be seen.
pub(crate) fn sight(frame: &Frame) -> Sight {
    let skin = || frame.draws.iter().filter(|d| d.phase == Phase::Translucent);
    if skin().next().is_none() || skin().any(|d| d.colour[3] < FULL_ALPHA) {
        return Sight::Anywhere;
    }
    let opened = skin().any(|d| d.cut == CutMode::FadeNearSide);
    match open_cut(frame) {
        Some(cut) if opened => Sight::Within(opening_px(frame, cut)),
        _ => Sight::Nowhere,
    }
}

/// The rectangle of canvas that an opening may fall in: left, bottom, width, height in pixels; maybe empty.
pub(crate) fn opening_px(frame: &Frame, cut: &Cut) -> [i32; 4] {
    let camera = &frame.camera;
    let normal = cut.plane.truncate().normalize_or(Vec3::Z);
    let foot = cut.centre - normal * (normal.dot(cut.centre) + cut.plane.w);
    let (middle, depth) = match cut.shape {
        WindowShape::Sphere => (cut.centre, cut.radius),
        // What a tube opens is seen in front of its mouth.
        WindowShape::Cylinder => (foot, 0.0),
    };
    let side = normal.any_orthonormal_vector();
    let across = normal.cross(side);
    let whole = [0.0, 0.0, camera.viewport_px[0], camera.viewport_px[1]];
    let mut found = [f32::MAX, f32::MAX, f32::MIN, f32::MIN];
    for k in 0..8 {
        let pick = |bit: u32, low: f32, high: f32| if k & bit == 0 { low } else { high };
        let low = if cut.shape == WindowShape::Sphere {
            -depth
        } else {
            0.0
        };
        let corner = middle
            + side * pick(1, -cut.radius, cut.radius)
            + across * pick(2, -cut.radius, cut.radius)
            + normal * pick(4, low, depth);
        let Some([x, y]) = camera.project(corner) else {
            return whole.map(pixel);
        };
        found = [
            found[0].min(x),
            found[1].min(y),
            found[2].max(x),
            found[3].max(y),
        ];
    }
    let [width, height] = camera.viewport_px;
    let (left, right) = (
        found[0].clamp(0.0, width).floor(),
        found[2].clamp(0.0, width).ceil(),
    );
    let (top, bottom) = (
        found[1].clamp(0.0, height).floor(),
        found[3].clamp(0.0, height).ceil(),
    );
    [left, height - bottom, right - left, bottom - top].map(pixel)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "canvas coordinates, some thousands at most; `as` saturates"
)]
pub(crate) fn pixel(px: f32) -> i32 {
    px.round() as i32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::{Background, Light, Material, MeshId};
    use crate::maps::corners;

    fn camera() -> Camera {
        Camera::perspective(
            Vec3::new(0.0, -900.0, 0.0),
            Vec3::ZERO,
            Vec3::Z,
            0.6,
            10.0,
            3000.0,
            [640.0, 480.0],
        )
    }

    fn cut(shape: WindowShape) -> Cut {
        Cut {
            plane: Cut::plane_facing(Vec3::ZERO, Vec3::Y, camera().eye()),
            centre: Vec3::ZERO,
            shape,
            radius: 100.0,
            feather: 20.0,
            ghost: 0.0,
        }
    }

    fn skin() -> Draw {
        Draw {
            phase: Phase::Translucent,
            cut: CutMode::FadeNearSide,
            ..Draw::new(MeshId(1), Mat4::IDENTITY, [1.0; 4])
        }
    }

    fn frame(draws: Vec<Draw>, cut: Option<Cut>) -> Frame {
        let background = Background {
            top: [1.0; 3],
            bottom: [0.5; 3],
        };
        Frame {
            draws,
            cut,
            ..Frame::new(camera(), Light::day(), background)
        }
    }

    #[test]
    fn check_boxes_are_left_out_only_when_nothing_shows() {
        let clip = camera().clip_from_world();
        let at = |p: Vec3| -> Vec<Vec3> {
            corners(
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
        // (middle, removed by a ball, removed by a tube)
        for (middle, ball, tube) in [
            (Vec3::new(0.0, -40.0, 0.0), true, true),
            (Vec3::new(0.0, -10.0, 0.0), false, false),
            (Vec3::new(0.0, 40.0, 0.0), false, false),
            (Vec3::new(0.0, -85.0, 0.0), false, true),
            (Vec3::new(0.0, -300.0, 0.0), false, false),
            (Vec3::new(80.0, -40.0, 0.0), false, false),
            // In the tube, but the line of sight through a corner passes its mouth by.
            (Vec3::new(68.0, -100.0, 0.0), false, false),
            (Vec3::new(40.0, -100.0, 0.0), false, true),
        ] {
            assert_eq!(
                cut_away(&camera(), &cut(WindowShape::Sphere), &at(middle)),
                ball,
                "ball, box at {middle}"
            );
            assert_eq!(
                cut_away(&camera(), &cut(WindowShape::Cylinder), &at(middle)),
                tube,
                "tube, box at {middle}"
            );
        }
    }

    #[test]
    fn check_shader_has_the_same_numbers() {
        let glsl = include_str!("shaders/lit.frag.glsl");
        for line in [
            format!("const float TUBE = {TUBE:?};"),
            format!("const float FULL_ALPHA = {FULL_ALPHA:?};"),
        ] {
            assert!(glsl.contains(&line), "the shader says {line}");
        }
    }

    #[test]
    fn check_skin_covers_sheets_in_the_plane_only() {
        let at = |y: f32| Sheet {
            texture: crate::frame::TextureId(1),
            corners: [(-1.0, 1.0), (1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)]
                .map(|(x, z)| Vec3::new(300.0 * x, y, 300.0 * z)),
            part: Sheet::WHOLE,
            alpha: 1.0,
            hidden_alpha: 0.0,
            outline: None,
        };
        let tube = Some(cut(WindowShape::Cylinder));
        let glass = Draw {
            colour: [1.0, 1.0, 1.0, 0.3],
            ..skin()
        };
        // (draws, cut, where the sheet hangs, covered)
        for (draws, cut, y, covered) in [
            (vec![skin()], tube, 0.0, true),
            (vec![skin()], tube, 20.0, false),
            (vec![skin()], None, 0.0, false),
            (vec![glass], tube, 0.0, false),
            (Vec::new(), tube, 0.0, false),
        ] {
            let name = format!("{} draws, {cut:?}, {y}", draws.len());
            assert_eq!(covers(&frame(draws, cut), &at(y)), covered, "{name}");
        }
    }

    #[test]
    fn check_opening_holds_what_is_opened() {
        for shape in [WindowShape::Sphere, WindowShape::Cylinder] {
            let frame = frame(Vec::new(), Some(cut(shape)));
            let [left, bottom, width, height] = opening_px(&frame, &cut(shape));
            assert!(
                width > 60 && width < 320 && height > 60 && height < 320,
                "a part of the canvas: {width} by {height}"
            );
            for p in [Vec3::X, Vec3::NEG_X, Vec3::Z, Vec3::NEG_Z, Vec3::NEG_Y].map(|p| p * 99.0) {
                let [x, y] = frame.camera.project(p).expect("in front").map(pixel);
                let y = 480 - y;
                assert!(
                    (left..=left + width).contains(&x),
                    "{shape:?} {p}: {x} in {left} + {width}"
                );
                assert!(
                    (bottom..=bottom + height).contains(&y),
                    "{shape:?} {p}: {y} in {bottom} + {height}"
                );
            }
        }
        let mut round_the_viewer = cut(WindowShape::Sphere);
        round_the_viewer.centre = camera().eye();
        let frame = frame(Vec::new(), Some(round_the_viewer));
        assert_eq!(
            opening_px(&frame, &round_the_viewer),
            [0, 0, 640, 480],
            "the whole canvas"
        );
    }

    #[test]
    fn check_what_a_cap_hides() {
        let at = |middle: Vec3| -> Vec<Vec3> {
            corners(
                (Vec3::splat(-20.0), Vec3::splat(20.0)),
                Mat4::from_translation(middle),
            )
            .collect()
        };
        // The viewer's side is −y; (middle of a box of 40, whether what is left of it is behind the plane)
        for (middle, hidden) in [
            (Vec3::new(0.0, 300.0, 0.0), true),
            (Vec3::new(400.0, 30.0, 0.0), true),
            (Vec3::new(0.0, 5.0, 0.0), true),
            (Vec3::new(0.0, -40.0, 0.0), true),
            (Vec3::new(85.0, 5.0, 0.0), false),
            (Vec3::new(0.0, -200.0, 0.0), false),
            (Vec3::new(400.0, 5.0, 0.0), false),
        ] {
            for shape in [WindowShape::Sphere, WindowShape::Cylinder] {
                assert_eq!(
                    behind_plane(&camera(), &cut(shape), &at(middle)),
                    hidden,
                    "{shape:?}, box at {middle}"
                );
            }
        }
    }

    #[test]
    fn check_an_opening_seen_edge_on_closes() {
        let mut last = 1.1;
        for degrees in [90.0_f32, 40.0, 14.0, 11.0, 8.0, 5.0, 0.0, -20.0] {
            let (s, c) = libm::sincosf(degrees.to_radians());
            let mut turned = cut(WindowShape::Cylinder);
            turned.plane = Vec4::new(c, -s, 0.0, 0.0);
            let now = strength(&camera(), &turned);
            assert!(
                now < last || (now <= 0.0 && last <= 0.0) || now >= 1.0,
                "{degrees}°: {now} after {last}"
            );
            let frame = frame(vec![skin()], Some(turned));
            assert_eq!(sight(&frame) == Sight::Nowhere, now <= 0.0, "{degrees}°");
            last = now;
        }
        assert!(last <= 0.0, "closed from behind");
    }

    #[test]
    fn check_boxes_behind_the_plane_are_left_whole() {
        let at = |y: f32| -> Vec<Vec3> {
            corners(
                (Vec3::splat(-20.0), Vec3::splat(20.0)),
                Mat4::from_translation(Vec3::Y * y),
            )
            .collect()
        };
        for (y, touched) in [
            (-300.0, true),
            (-20.0, true),
            (10.0, true),
            (21.0, false),
            (500.0, false),
        ] {
            assert_eq!(
                touches(&cut(WindowShape::Sphere), &at(y)),
                touched,
                "box at {y}"
            );
        }
    }

    #[test]
    fn check_boxes_beside_a_rectangle() {
        let at = |x: f32, z: f32| -> Vec<Vec3> {
            corners(
                (Vec3::splat(-20.0), Vec3::splat(20.0)),
                Mat4::from_translation(Vec3::new(x, 0.0, z)),
            )
            .collect()
        };
        // The right upper quarter of the canvas: left, bottom, width, height.
        let quarter = [320, 240, 320, 240];
        for (x, z, out) in [
            (100.0, 80.0, false),
            (0.0, 0.0, false),
            (-100.0, 80.0, true),
            (100.0, -80.0, true),
        ] {
            assert_eq!(
                beside(&camera(), &at(x, z), quarter),
                out,
                "box at {x}, {z}"
            );
        }
        assert!(
            beside(&camera(), &at(0.0, 0.0), [320, 240, 0, 10]),
            "nothing is seen in nothing"
        );
        let behind: Vec<Vec3> = at(100.0, 80.0)
            .iter()
            .map(|p| *p - Vec3::Y * 900.0)
            .collect();
        assert!(
            !beside(&camera(), &behind, quarter),
            "a box round the viewer may be anywhere"
        );
    }

    #[test]
    fn check_what_a_skin_lets_see() {
        let tube = Some(cut(WindowShape::Cylinder));
        let glass = Draw {
            colour: [1.0, 1.0, 1.0, 0.3],
            ..skin()
        };
        let shut = Draw {
            cut: CutMode::None,
            ..skin()
        };
        assert_eq!(sight(&frame(Vec::new(), tube)), Sight::Anywhere, "no skin");
        assert_eq!(sight(&frame(vec![glass], None)), Sight::Anywhere, "glass");
        assert_eq!(
            sight(&frame(vec![skin()], None)),
            Sight::Nowhere,
            "no opening"
        );
        assert_eq!(
            sight(&frame(vec![shut], tube)),
            Sight::Nowhere,
            "a skin that is not opened"
        );
        assert!(
            matches!(sight(&frame(vec![skin()], tube)), Sight::Within(_)),
            "opened"
        );
    }

    #[test]
    fn check_passes_that_would_draw_nothing_are_left_out() {
        let solid = Draw {
            cut: CutMode::None,
            ..skin()
        };
        assert!(
            may_be_full(&solid) && !may_be_faded(&solid, true),
            "uncut skin is one solid pass"
        );
        assert!(
            may_be_full(&skin()) && may_be_faded(&skin(), true),
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
}
