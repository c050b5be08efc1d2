//! Fields of view against elementary geometry: arc = R F, chord = 2 R sin(F/2), edge drop = R (1 - cos(F/2)), width at
//! depth D = 2 (R + D) sin(F/2). Radii and angles are common practice of the trade (no source); the lengths follow.

#![expect(
    clippy::expect_used,
    clippy::float_cmp,
    reason = "a test stops at the first thing that is wrong, and its numbers are small"
)]

use geometry::{Angle, ApexSide, Mm};
use picture::{
    BeamPoint, FaceShape, Field, Frame, Margins, TopShape, Transducer, transducer, transducers,
};

fn curved(radius: f64, fov: f64) -> &'static Transducer {
    let base = *transducer("convex").expect("the abdominal transducer");
    Box::leak(Box::new(Transducer {
        shape: FaceShape::Curved {
            radius: Mm::new(radius),
            fov: Angle::deg(fov),
        },
        ..base
    }))
}

/// Rounded to the last digit of the table, so half a unit of it is allowed.
fn check_curved(radius: f64, fov: f64, arc: f64, chord: f64, drop: f64, depth: f64, width: f64) {
    let field = Field::new(curved(radius, fov), Mm::new(depth), ApexSide::Top);
    let near = |got: Mm, want: f64, half_digit: f64, what: &str| {
        assert!(
            (got.get() - want).abs() <= half_digit,
            "{what} of R {radius}, {fov} degrees: {} instead of {want}",
            got.get()
        );
    };
    near(field.face_arc(), arc, 0.05, "arc");
    near(field.width_at(Mm::new(0.0)), chord, 0.05, "chord");
    near(field.edge_drop(), drop, 0.05, "edge drop");
    near(field.width_at(Mm::new(depth)), width, 0.5, "width");
    // The outline must agree with the formulas, not only the functions that state them.
    let face = field.face();
    let (first, last) = (face[0], face[face.len() - 1]);
    assert!(
        (last[0] - first[0] - chord).abs() <= 0.05,
        "face ends {first:?} {last:?}"
    );
    assert!(
        (first[1] + drop).abs() <= 0.05,
        "face ends {first:?} stand back"
    );
    let bounds = field.bounds();
    assert!((bounds.width() - width).abs() <= 0.5, "outline {bounds:?}");
    assert!(
        (bounds.max[1] - depth).abs() < 0.05,
        "outline reaches {depth}: {bounds:?}"
    );
}

#[test]
fn curved_faces_follow_the_formulas() {
    check_curved(60.0, 60.0, 62.8, 60.0, 8.0, 100.0, 160.0);
    check_curved(45.0, 70.0, 55.0, 51.6, 8.1, 100.0, 166.0);
    check_curved(14.0, 90.0, 22.0, 19.8, 4.1, 50.0, 91.0);
    check_curved(11.0, 140.0, 26.9, 20.7, 7.2, 50.0, 115.0);
}

#[test]
fn a_phased_sector_opens_from_a_point() {
    let field = Field::new(
        transducer("phased").expect("phased"),
        Mm::new(100.0),
        ApexSide::Top,
    );
    for (depth, width) in [(50.0, 70.7), (100.0, 141.4)] {
        let got = field.width_at(Mm::new(depth)).get();
        assert!((got - width).abs() < 0.05, "{got} at {depth}");
    }
    assert_eq!(field.face(), [[0.0, 0.0]]);
    assert_eq!(field.outline()[0], [0.0, 0.0]);
}

#[test]
fn a_linear_field_is_as_wide_as_its_face_at_every_depth() {
    for (id, width) in [
        ("linear", 50.0),
        ("linear_narrow", 38.0),
        ("hockey_stick", 25.0),
    ] {
        let field = Field::new(
            transducer(id).expect("linear"),
            Mm::new(40.0),
            ApexSide::Top,
        );
        for depth in [0.0, 17.0, 40.0] {
            assert_eq!(field.width_at(Mm::new(depth)).get(), width, "{id}");
        }
        assert_eq!(field.outline().len(), 4, "{id} shows a rectangle");
    }
}

#[test]
fn every_transducer_is_consistent() {
    assert_eq!(transducers().len(), 8);
    for t in transducers() {
        assert_eq!(transducer(t.id), Some(t), "{} is found by its key", t.id);
        let (least, most) = t.depth_range;
        assert!(
            least.get() < most.get() && t.band_mhz.0 < t.band_mhz.1,
            "{}",
            t.id
        );
        assert_eq!(t.clamp_depth(t.usual_depth), t.usual_depth, "{}", t.id);
        let field = Field::new(t, t.usual_depth, ApexSide::Top);
        if let FaceShape::Curved { .. } = t.shape {
            let chord = field.width_at(Mm::new(0.0)).get();
            assert!(
                (chord - t.face_width.get()).abs() < 0.5,
                "{}: chord {chord}",
                t.id
            );
        }
    }
    assert_eq!(transducer("micro-convex"), transducer("micro_convex"));
    assert_eq!(transducer("convexx"), None);
    let tops = ["convex", "endocavity", "linear", "phased"]
        .map(|id| transducer(id).expect(id).top_shape());
    assert_eq!(
        tops,
        [
            TopShape::Curved,
            TopShape::TightCurve,
            TopShape::Flat,
            TopShape::Point
        ]
    );
}

#[test]
fn beam_and_image_points_are_inverse_and_edges_belong_to_the_field() {
    for t in transducers() {
        for apex in [ApexSide::Top, ApexSide::Bottom] {
            let field = Field::new(t, t.usual_depth, apex);
            let depth = field.depth().get();
            for beam in [-1.0, -0.4, 0.0, 0.7, 1.0] {
                for share in [0.001, 0.3, 0.999] {
                    let at = BeamPoint {
                        beam,
                        depth_mm: depth * share,
                    };
                    let back = field.beam_point(field.image_point(at));
                    assert!(
                        (back.beam - beam).abs() < 1e-9
                            && (back.depth_mm - at.depth_mm).abs() < 1e-9,
                        "{}: {at:?} {back:?}",
                        t.id
                    );
                    let inner = BeamPoint {
                        beam: beam * 0.999,
                        ..at
                    };
                    assert!(
                        field.contains(field.image_point(inner)),
                        "{}: {inner:?}",
                        t.id
                    );
                    let outer = BeamPoint { beam: 1.001, ..at };
                    assert!(
                        !field.contains(field.image_point(outer)),
                        "{}: {outer:?}",
                        t.id
                    );
                }
                let too_deep = BeamPoint {
                    beam,
                    depth_mm: depth * 1.001,
                };
                assert!(!field.contains(field.image_point(too_deep)), "{}", t.id);
                let behind = BeamPoint {
                    beam,
                    depth_mm: -0.1,
                };
                assert!(!field.contains(field.image_point(behind)), "{}", t.id);
            }
        }
    }
}

#[test]
fn apex_at_the_bottom_turns_the_field_over() {
    let t = transducer("endocavity").expect("endocavity");
    let (top, bottom) = (ApexSide::Top, ApexSide::Bottom);
    let (up, down) = (
        Field::new(t, t.usual_depth, bottom),
        Field::new(t, t.usual_depth, top),
    );
    for (a, b) in up.outline().iter().zip(down.outline()) {
        assert_eq!([a[0], -a[1]], b);
    }
    assert!(up.bounds().min[1] < -70.0, "the far end is at the top");
}

/// Depth marks stand where the pixel of that depth is, to half a pixel, for every transducer, size and apex.
#[test]
fn ticks_are_right_to_half_a_pixel() {
    for t in transducers() {
        for apex in [ApexSide::Top, ApexSide::Bottom] {
            for (width, height) in [(512, 512), (360, 300), (1024, 768)] {
                let field = Field::new(t, t.usual_depth, apex);
                let frame = Frame::fit(&field, width, height, Margins::all(24.0));
                let ticks = field.depth_ticks();
                let whole_cm = (field.depth().get() / 10.0).floor();
                assert_eq!(
                    ticks.len() as f64,
                    whole_cm + 1.0,
                    "{}: one mark per cm",
                    t.id
                );
                let [face_x, face_y] = frame.to_px([0.0, 0.0]);
                for tick in ticks {
                    let [x, y] = frame.to_px(tick.at);
                    let down = if apex == ApexSide::Top { 1.0 } else { -1.0 };
                    let want = face_y + down * f64::from(tick.cm) * 10.0 / frame.mm_per_px();
                    assert!(
                        (y - want).abs() < 0.5 && (x - face_x).abs() < 0.5,
                        "{} {tick:?}",
                        t.id
                    );
                    let depth = field.depth_of(frame.to_mm([x, y]));
                    assert!(
                        (depth - f64::from(tick.cm) * 10.0).abs() < 0.5 * frame.mm_per_px(),
                        "{depth}"
                    );
                    assert_eq!(tick.long, tick.cm % 5 == 0);
                }
            }
        }
    }
}

#[test]
fn the_frame_shows_the_whole_field_inside_its_margins() {
    for t in transducers() {
        for (width, height) in [(512, 512), (300, 700), (900, 200)] {
            let field = Field::new(t, t.usual_depth, ApexSide::Top);
            let margins = Margins {
                left: 10.0,
                right: 40.0,
                top: 20.0,
                bottom: 30.0,
            };
            let frame = Frame::fit(&field, width, height, margins);
            for p in field.outline() {
                let [x, y] = frame.to_px(p);
                assert!(
                    (9.49..=f64::from(width) - 40.49).contains(&x)
                        && (19.49..=f64::from(height) - 30.49).contains(&y),
                    "{} in {width} x {height}: {x} {y}",
                    t.id
                );
                let back = frame.to_mm([x, y]);
                assert!((back[0] - p[0]).abs() < 1e-9 && (back[1] - p[1]).abs() < 1e-9);
            }
        }
    }
}

#[test]
fn a_depth_out_of_range_becomes_the_nearest_offered() {
    let t = transducer("convex").expect("convex");
    assert_eq!(
        Field::new(t, Mm::new(9999.0), ApexSide::Top).depth(),
        Mm::new(240.0)
    );
    assert_eq!(
        Field::new(t, Mm::new(-3.0), ApexSide::Top).depth(),
        Mm::new(50.0)
    );
}
