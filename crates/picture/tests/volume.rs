//! The three planes of an acquired volume: orthogonal, through the chosen point, named and laid out by geometry, and
//! cut off where nothing was acquired.

#![expect(
    clippy::expect_used,
    clippy::cast_precision_loss,
    reason = "a test stops at the first thing that is wrong, and its numbers are small"
)]

#[path = "../../anatomy/tests/support/mod.rs"]
mod support;

use anatomy::Body;
use geometry::{
    Angle, ApexSide, BodyPlane, Convention, DEFAULT_TOLERANCE, Direction, MarkSide, Mm, PlaneName,
    Point, Pose, Sides, name_plane, screen_threshold,
};
use picture::{
    Field, Frame, GreyScratch, GreySettings, Look, Margins, Palette, PictureScratch, Press, Sweep,
    Volume, VolumePlane, grey_scale, outlined, press_section, transducer, transducers,
    volume_contents,
};
use proptest::prelude::*;
use support::{PLAIN, egg, glb};

/// Rounding of a few additions and square roots of lengths below a metre, mm.
const ROUNDING_MM: f64 = 1e-9;
/// Chords instead of arcs, and the distance kept from the edge by what is asked, mm.
const EDGE_MM: f64 = 0.1;

fn volume(depth: f64, apex: ApexSide) -> Volume {
    let known = transducer("volume_convex").expect("a volume transducer");
    Volume::new(Field::new(known, Mm::new(depth), apex)).expect("it sweeps")
}

/// A probe with this notch, straight in; skin looks `out`.
fn held(out: [f64; 3], rotation: f64) -> Pose {
    let normal = Direction::from_array(out).expect("a direction");
    let (turn, zero) = (Angle::deg(rotation), Angle::ZERO);
    Pose::new(
        Point::new(10.0, -110.0, 100.0),
        normal,
        turn,
        zero,
        zero,
        Mm::ZERO,
    )
    .expect("a pose")
}

/// The same on the front of a body, in the middle.
fn on_front(body: &Body, rotation: f64) -> Pose {
    let hit = body
        .skin()
        .ray(Point::new(0.0, -900.0, 0.0), Direction::y_axis())
        .expect("skin");
    held([0.0, -1.0, 0.0], rotation).with_contact(hit.point, -Direction::y_axis())
}

fn egg_body() -> Body {
    let (catalogue, meshes) = egg();
    Body::read(&glb(&meshes, PLAIN), &catalogue.to_json().expect("JSON")).expect("a body")
}

fn in_polygon(points: &[[f64; 2]], at: [f64; 2]) -> bool {
    let mut inside = false;
    let mut from = points[points.len() - 1];
    for to in points {
        if (from[1] > at[1]) != (to[1] > at[1])
            && at[0] < from[0] + (at[1] - from[1]) / (to[1] - from[1]) * (to[0] - from[0])
        {
            inside = !inside;
        }
        from = *to;
    }
    inside
}

#[test]
fn only_the_volume_transducer_sweeps() {
    for known in transducers() {
        let swept = Volume::new(Field::new(known, known.usual_depth, ApexSide::Top));
        assert_eq!(swept.is_some(), known.id == "volume_convex", "{}", known.id);
    }
    // Half of 32 mm thickness at 35 degrees.
    let pivot = volume(120.0, ApexSide::Top).pivot_mm();
    assert!((pivot - 16.0 / 0.573_576).abs() < 1e-3, "{pivot}");
}

/// `letters`: image left, right, top, bottom of the first, second and third plane.
fn check_planes(
    out: [f64; 3],
    rotation: f64,
    mark: MarkSide,
    names: [BodyPlane; 3],
    letters: [&str; 3],
) {
    let (pose, convention) = (
        held(out, rotation),
        Convention {
            mark,
            apex: ApexSide::Top,
        },
    );
    let volume = volume(120.0, ApexSide::Top);
    for (which, (name, letters)) in VolumePlane::ALL
        .into_iter()
        .zip(names.into_iter().zip(letters))
    {
        let plane = volume.cut(which, volume.middle(), convention).plane(&pose);
        let case = format!("plane {} of {out:?} {rotation} {mark:?}", which.number());
        let naming = name_plane(plane.normal(), DEFAULT_TOLERANCE);
        assert_eq!(naming.name, PlaneName::Named(name), "{case}");
        let sides = Sides::of(&plane);
        let told: String = [&sides.left, &sides.right, &sides.top, &sides.bottom]
            .map(|side| side.letters(screen_threshold(DEFAULT_TOLERANCE)))
            .concat();
        assert_eq!(told, letters, "{case}");
    }
}

#[test]
fn a_coronal_section_comes_out_of_an_anterior_acquisition() {
    use BodyPlane::{Coronal, Sagittal, Transverse};
    let (front, right) = ([0.0, -1.0, 0.0], [-1.0, 0.0, 0.0]);
    let (left_mark, right_mark) = (MarkSide::Left, MarkSide::Right);
    // Notch to the head.
    check_planes(
        front,
        0.0,
        left_mark,
        [Sagittal, Transverse, Coronal],
        ["HFAP", "RLAP", "HFLR"],
    );
    // The mark on the other side mirrors all three pictures, and the third still is seen along the beam.
    check_planes(
        front,
        0.0,
        right_mark,
        [Sagittal, Transverse, Coronal],
        ["FHAP", "LRAP", "FHRL"],
    );
    // Notch to the patient's right: the second is what a quarter turn anticlockwise from there would show.
    check_planes(
        front,
        270.0,
        left_mark,
        [Transverse, Sagittal, Coronal],
        ["RLAP", "FHAP", "RLHF"],
    );
    // From the patient's right, notch to the head: acquired coronal; parallel to the face lies the sagittal plane.
    check_planes(
        right,
        0.0,
        left_mark,
        [Coronal, Transverse, Sagittal],
        ["HFRL", "PARL", "HFAP"],
    );
}

#[test]
fn the_outline_is_where_the_acquired_volume_ends() {
    for (depth, apex) in [
        (120.0, ApexSide::Top),
        (60.0, ApexSide::Bottom),
        (200.0, ApexSide::Top),
    ] {
        let volume = volume(depth, apex);
        let mut inside = 0;
        for at in [
            [0.0, 0.0, 0.5],
            [30.0, 20.0, 0.6],
            [-25.0, -30.0, 0.3],
            [0.0, 45.0, 0.9],
            [500.0, -500.0, 0.02],
        ] {
            let at = Point::new(at[0], at[1], at[2] * depth);
            for which in VolumePlane::ALL {
                let cut = volume.cut(
                    which,
                    at,
                    Convention {
                        mark: MarkSide::Right,
                        apex,
                    },
                );
                let (outline, bounds) = (volume.outline(&cut), volume.bounds(which));
                for point in &outline {
                    let within = |k: usize| {
                        point[k] >= bounds.min[k] - ROUNDING_MM
                            && point[k] <= bounds.max[k] + ROUNDING_MM
                    };
                    assert!(
                        within(0) && within(1),
                        "{point:?} beyond {bounds:?}, {which:?} {at:?}"
                    );
                }
                for i in 0..60 {
                    for j in 0..60 {
                        let share = |n: i32| f64::from(n) / 59.0;
                        let point = [
                            bounds.min[0] + bounds.width() * share(i),
                            bounds.min[1] + bounds.height() * share(j),
                        ];
                        let corners = [
                            [EDGE_MM, EDGE_MM],
                            [-EDGE_MM, EDGE_MM],
                            [EDGE_MM, -EDGE_MM],
                            [-EDGE_MM; 2],
                        ];
                        let held = corners.map(|off| {
                            volume.contains(cut.to_probe([point[0] + off[0], point[1] + off[1]]))
                        });
                        if held.iter().any(|other| *other != held[0]) {
                            continue;
                        }
                        inside += usize::from(held[0]);
                        assert_eq!(
                            in_polygon(&outline, point),
                            held[0],
                            "{which:?} {at:?} {depth} at {point:?}"
                        );
                    }
                }
            }
        }
        assert!(inside > 10_000, "only {inside} places inside at {depth} mm");
    }
}

#[test]
fn every_plane_shows_its_own_section_inside_the_outline_only() {
    let body = egg_body();
    let convention = Convention::GENERAL;
    let volume = volume(120.0, ApexSide::Top);
    let pose = on_front(&body, 0.0);
    let palette = Palette::from_pairs(
        picture::PALETTE_KEYS
            .iter()
            .enumerate()
            .map(|(i, key)| (*key, [90, u8::try_from(i).expect("few"), 200])),
    )
    .expect("every tissue");
    let look = Look::new(&body, &palette);
    let (mut scratch, mut rgba) = (PictureScratch::default(), Vec::new());
    for which in VolumePlane::ALL {
        let cut = volume.cut(which, volume.middle(), convention);
        let section = body.section(&cut.plane(&pose));
        let outline = volume.outline(&cut);
        let frame = Frame::fit_bounds(volume.bounds(which), 120, 100, Margins::all(2.0));
        outlined(
            &body,
            &section,
            &outline,
            &frame,
            &look,
            &mut scratch,
            &mut rgba,
        );
        let opaque = rgba.chunks_exact(4).filter(|p| p[3] == 255).count() as f64;
        let area = opaque * frame.mm_per_px() * frame.mm_per_px();
        let wanted = geometry::loop_area(&outline).abs();
        assert!(
            (area / wanted - 1.0).abs() < 0.06,
            "{which:?}: {area} of {wanted} mm2"
        );
        let seen = volume_contents(&body, &section, &outline);
        let sum: f64 = seen.iter().map(|one| one.area_mm2).sum();
        assert!(
            sum < wanted
                && seen
                    .windows(2)
                    .all(|two| two[0].area_mm2 >= two[1].area_mm2),
            "{seen:?}"
        );
    }
}

#[test]
fn the_middle_of_a_sweep_is_the_acquired_picture() {
    let body = egg_body();
    for (mark, apex) in [
        (MarkSide::Left, ApexSide::Top),
        (MarkSide::Right, ApexSide::Bottom),
    ] {
        let convention = Convention { mark, apex };
        let volume = volume(90.0, apex);
        let pose = on_front(&body, 30.0);
        let settings = GreySettings::for_field(volume.field());
        let mut sweep = Sweep::default();
        assert!(
            sweep.begin(&body, &volume, &pose, convention, &settings),
            "nothing yet"
        );
        let cut = volume.cut(VolumePlane::Acquired, volume.middle(), convention);
        let frame = Frame::fit_bounds(volume.bounds(cut.which), 140, 110, Margins::all(2.0));
        let (mut swept, mut direct) = (Vec::new(), Vec::new());
        sweep.pixels(&volume, &cut, &frame, &mut swept);
        assert!(swept.is_empty(), "half a sweep shows nothing");
        while !sweep.advance(&body, &volume, &pose, 7) {}
        assert!(
            !sweep.begin(&body, &volume, &pose, convention, &settings),
            "it is the wanted one"
        );
        sweep.pixels(&volume, &cut, &frame, &mut swept);
        let mut section = body.section(&cut.plane(&pose));
        press_section(&body, volume.field(), &mut section, &mut Press::default());
        let mut scratch = GreyScratch::default();
        grey_scale(
            &body,
            &section,
            volume.field(),
            &frame,
            &settings,
            &mut scratch,
            &mut direct,
        );
        let both = swept
            .chunks_exact(4)
            .zip(direct.chunks_exact(4))
            .filter(|(a, b)| a[3] == 255 && b[3] == 255);
        let (mut number, mut off) = (0.0, 0.0);
        for (a, b) in both {
            number += 1.0;
            off += (f64::from(a[0]) - f64::from(b[0])).abs();
        }
        assert!(number > 3000.0, "{number} pixels");
        let mean = direct.chunks_exact(4).map(|p| f64::from(p[0])).sum::<f64>() / number;
        assert!(mean > 30.0, "echoes, not darkness: {mean}");
        // The weights of the picture's own table are rounded to a 256th.
        assert!(
            off / number < 1.0,
            "{mark:?} {apex:?}: {} greys off",
            off / number
        );
        let mut whole = Sweep::default();
        whole.begin(&body, &volume, &pose, convention, &settings);
        whole.advance(&body, &volume, &pose, usize::MAX);
        whole.pixels(&volume, &cut, &frame, &mut direct);
        assert_eq!(direct, swept, "in pieces or at once");
        assert!(whole.begin(
            &body,
            &volume,
            &pose.with_rotation(Angle::deg(31.0)),
            convention,
            &settings
        ));
        assert!(!whole.is_complete(), "another place needs another sweep");
    }
}

/// In the crossing plane a structure must lie where the section of that plane has it: what is drawn from beams of
/// other planes has to be put in its place by the geometry of the sweep.
#[test]
fn planes_across_the_beams_show_what_is_there() {
    let body = egg_body();
    let convention = Convention::GENERAL;
    let volume = volume(120.0, ApexSide::Top);
    let pose = on_front(&body, 0.0);
    let settings = GreySettings {
        dynamic_range_db: 80.0,
        ..GreySettings::for_field(volume.field())
    };
    let mut sweep = Sweep::default();
    sweep.begin(&body, &volume, &pose, convention, &settings);
    sweep.advance(&body, &volume, &pose, usize::MAX);
    for which in [VolumePlane::Crossing, VolumePlane::Face] {
        let cut = volume.cut(which, volume.middle(), convention);
        let section = body.section(&cut.plane(&pose));
        let frame = Frame::fit_bounds(volume.bounds(which), 120, 100, Margins::all(0.0));
        let mut rgba = Vec::new();
        sweep.pixels(&volume, &cut, &frame, &mut rgba);
        let (mut tissue, mut beyond) = ((0.0, 0.0), (0.0, 0.0));
        for (i, pixel) in rgba
            .chunks_exact(4)
            .enumerate()
            .filter(|(_, p)| p[3] == 255)
        {
            let at = frame.to_mm([(i % 120) as f64, (i / 120) as f64]);
            let sum = if section.structure_at(&body, at).is_some() {
                &mut tissue
            } else {
                &mut beyond
            };
            *sum = (sum.0 + f64::from(pixel[0]), sum.1 + 1.0);
        }
        assert!(tissue.1 > 500.0, "{which:?} shows the body");
        let mean = tissue.0 / tissue.1;
        assert!(mean > 25.0, "{which:?}: tissue {mean}");
        if beyond.1 > 200.0 {
            assert!(
                beyond.0 / beyond.1 < mean / 2.0,
                "{which:?}: {tissue:?} {beyond:?}"
            );
        }
    }
}

proptest! {
    #[test]
    fn planes_are_orthogonal_and_hold_the_point(
        out in prop::array::uniform3(-1.0..1.0_f64),
        angles in (0.0..360.0, -60.0..60.0, -60.0..60.0),
        press in 0.0..20.0, depth in 40.0..200.0,
        at in prop::array::uniform3(-250.0..250.0_f64),
        (right, bottom) in (any::<bool>(), any::<bool>()),
    ) {
        let normal = Direction::from_array(out);
        prop_assume!(normal.is_some());
        let pose = Pose::new(
            Point::new(1.0, 2.0, 3.0), normal.expect("checked"),
            Angle::deg(angles.0), Angle::deg(angles.1), Angle::deg(angles.2), Mm::new(press),
        ).expect("a pose");
        let convention = Convention {
            mark: if right { MarkSide::Right } else { MarkSide::Left },
            apex: if bottom { ApexSide::Bottom } else { ApexSide::Top },
        };
        let volume = volume(depth, convention.apex);
        let cuts = VolumePlane::ALL.map(|which| volume.cut(which, Point::from_array(at), convention));
        let planes = cuts.map(|cut| cut.plane(&pose));
        prop_assert!(volume.contains(cuts[0].at), "{:?}", cuts[0].at);
        let place = pose.patient_from_probe().apply_point(cuts[0].at);
        for (cut, plane) in cuts.iter().zip(&planes) {
            let [x, y, off] = plane.to_image(place);
            prop_assert!(off.abs() < 1e-9, "{off} mm off plane {:?}", cut.which);
            let [u, v] = cut.to_image(cut.at);
            prop_assert!((x - u).abs() < 1e-9 && (y - v).abs() < 1e-9, "one place, two ways");
            let back = plane.to_patient([u, v]);
            prop_assert!((back - place).norm() < 1e-9);
            let probe = pose.patient_from_probe().apply_point(cut.to_probe([u + 3.0, v - 5.0]));
            prop_assert!((probe - plane.to_patient([u + 3.0, v - 5.0])).norm() < 1e-9);
        }
        for (a, b) in [(0, 1), (0, 2), (1, 2)] {
            let dot = planes[a].normal().dot(planes[b].normal());
            prop_assert!(dot.abs() < 1e-12, "planes {a} and {b}: {dot}");
        }
        // The first is parallel to the picture the transducer shows anyway, and laid out like it.
        let shown = geometry::ImagePlane::from_pose(&pose, convention);
        prop_assert!((planes[0].row().dot(shown.row()) - 1.0).abs() < 1e-9);
        prop_assert!((planes[0].column().dot(shown.column()) - 1.0).abs() < 1e-9);
        prop_assert!((planes[1].column().dot(shown.column()) - 1.0).abs() < 1e-9);
        prop_assert!((planes[2].row().dot(shown.row()) - 1.0).abs() < 1e-9);
        // The third is seen along the beam, whatever the convention.
        prop_assert!((planes[2].normal().dot(pose.axes().depth) - 1.0).abs() < 1e-9);
        // What is in the volume already stays where it is.
        let again = volume.clamp(cuts[0].at);
        prop_assert!((again.to_array()[0] - cuts[0].at.to_array()[0]).abs() < 1e-9);
    }
}
