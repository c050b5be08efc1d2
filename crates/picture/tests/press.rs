//! A compression study of the groin on the baked bodies: the vein closes, the artery does not.
//!
//! Criterion: a healthy common femoral vein closes under the probe, the artery beside it stays round (compression
//! ultrasonography of the leg veins; Lensing and others, N Engl J Med 1989; 320: 342-345, from memory). Bodies are baked
//! before the tests run (`cargo xtask bake`).

#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

use std::path::Path;

use anatomy::{Body, Section};
use geometry::{ApexSide, DEFAULT_TOLERANCE, ImagePlane, Mm};
use picture::words::{Lumen, Scene};
use picture::{
    Contents, Field, Frame, Look, Margins, Palette, PictureScratch, Press, Seen, contents,
    describe, press_section, schematic, transducer,
};

/// The deepest press that the program offers, mm.
const FULL_MM: f64 = 25.0;

/// Share of its area that a closed vein may keep: the model leaves 3 % of each column, and outlines are bent in
/// columns half a millimetre apart, which leaves slivers at the vein's edges.
const CLOSED: f64 = 0.1;

/// Change of an artery's area that the columns' width may cause.
const ARTERY: f64 = 0.04;

fn body(id: &str) -> Body {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |end: &str| {
        std::fs::read(folder.join(format!("{id}.{end}"))).expect("a baked body (cargo xtask bake)")
    };
    Body::read(&file("glb"), &file("json")).expect("a body")
}

struct Study<'a> {
    body: &'a Body,
    field: Field,
    section: Section,
    seen: Contents,
    text: String,
}

fn study<'a>(body: &'a Body, window: &str, press: f64) -> Study<'a> {
    let window = body.window(window).expect("a window");
    let transducer = transducer(&window.transducer).expect("a transducer");
    let field = Field::new(transducer, window.depth, ApexSide::Top);
    let pose = window.pose.with_press(Mm::new(press));
    let plane = ImagePlane::from_pose(&pose, window.convention());
    let mut section = body.section(&plane);
    let mut pressed = Press::default();
    press_section(body, &field, &mut section, &mut pressed);
    let seen = contents(body, &section, &field).under(&pressed);
    let text = describe(&Scene {
        body,
        pose: &pose,
        plane: &plane,
        field: &field,
        contents: &seen,
        tolerance: DEFAULT_TOLERANCE,
    })
    .text();
    Study {
        body,
        field,
        section,
        seen,
        text,
    }
}

impl Study<'_> {
    fn find(&self, id: &str) -> &Seen {
        let index = self.body.find(id).expect("a structure");
        self.seen.find(index).expect("it is in the picture")
    }

    fn lumen_mm2(&self, id: &str) -> f64 {
        let seen = self.find(id);
        seen.area_mm2 - seen.wall_mm2
    }
}

#[test]
fn the_femoral_vein_closes_and_the_artery_does_not() {
    const VEIN: &str = "left_common_femoral_vein";
    const ARTERY_ID: &str = "left_common_femoral_artery";
    for id in ["adult_female", "adult_male"] {
        let body = body(id);
        let at = |press: f64| study(&body, "groin_left_saphenofemoral_transverse", press);
        let free = at(0.0);
        let (vein, artery) = (free.lumen_mm2(VEIN), free.lumen_mm2(ARTERY_ID));
        assert!(
            vein > 40.0 && artery > 20.0,
            "{id}: {vein} and {artery} mm2"
        );
        assert!(!free.text.contains("flattened"), "{id}: {}", free.text);
        let (mut last, mut depth) = (vein, free.find(ARTERY_ID).depth_mm);
        for press in [3.0, 6.0, 10.0, 15.0, 20.0, FULL_MM] {
            let now = at(press);
            let open = now.lumen_mm2(VEIN);
            assert!(
                open < last + 0.02 * vein,
                "{id} at {press} mm: vein {open} mm2 of {last}"
            );
            last = open;
            let change = now.lumen_mm2(ARTERY_ID) / artery - 1.0;
            assert!(
                change.abs() < ARTERY,
                "{id} at {press} mm: artery changed by {change}"
            );
            let way = now.find(ARTERY_ID).depth_mm;
            // What lies in front of the artery is thinner and thinner, until it can give no more.
            assert!(way < depth + 0.3, "{id} at {press} mm: {way} mm of {depth}");
            depth = way;
        }
        assert!(last < CLOSED * vein, "{id}: {last} mm2 left of {vein}");
        let way = free.find(ARTERY_ID).depth_mm;
        assert!(depth < 0.75 * way, "{id}: {depth} mm left of {way}");
        let full = at(FULL_MM);
        assert!(
            full.text
                .contains("vein in short axis (flattened by the probe)"),
            "{id}: {}",
            full.text
        );
    }
}

#[test]
fn pixels_names_and_words_agree_about_the_pressed_vein() {
    const VEIN: &str = "left_common_femoral_vein";
    let body = body("adult_female");
    let look = Look::new(&body, &Palette::fallback());
    let index = body.find(VEIN).expect("a vein");
    let blue = |study: &Study<'_>| {
        let frame = Frame::fit(&study.field, 512, 512, Margins::all(8.0));
        let mut rgba = Vec::new();
        let mut scratch = PictureScratch::default();
        schematic(
            study.body,
            &study.section,
            &study.field,
            &frame,
            &look,
            &mut scratch,
            &mut rgba,
        );
        let mut under = 0_u32;
        let at_centre = frame.to_px(study.find(VEIN).centre);
        for y in 0..512_u32 {
            for x in 0..512_u32 {
                let at = frame.to_mm([f64::from(x), f64::from(y)]);
                under += u32::from(study.seen.structure_at(at) == Some(index));
            }
        }
        assert!(
            at_centre.iter().all(|px| (0.0..512.0).contains(px)),
            "inside"
        );
        f64::from(under) * frame.mm_per_px() * frame.mm_per_px()
    };
    for press in [0.0, 8.0, FULL_MM] {
        let study = study(&body, "groin_left_saphenofemoral_transverse", press);
        let (pointed, told) = (blue(&study), study.find(VEIN).area_mm2);
        assert!(
            (pointed - told).abs() < 0.1 * told + 1.0,
            "at {press} mm the pointer finds {pointed} mm2, the contents tell {told}"
        );
        let row = picture::words::rows(&body, &study.field, &study.seen)
            .into_iter()
            .find(|row| row.structure == index)
            .expect("a row");
        let want = match press {
            0.0 => Lumen::Open,
            8.0 => Lumen::PartlyFlattened,
            _ => Lumen::Flattened,
        };
        assert_eq!(row.lumen, want, "at {press} mm: {}", row.words());
    }
}

#[test]
fn a_section_that_nothing_presses_on_stays_as_it_is() {
    let body = body("adult_female");
    let window = body
        .window("groin_left_saphenofemoral_transverse")
        .expect("a window");
    let field = Field::new(
        transducer("linear").expect("a transducer"),
        window.depth,
        ApexSide::Top,
    );
    // The plane lifted off the skin.
    let plane = ImagePlane::from_pose(&window.pose, window.convention());
    let lifted = ImagePlane::from_notch_and_beam(
        plane.origin() + plane.column().to_vector() * -10.0,
        -plane.row().to_vector(),
        plane.column().to_vector(),
        window.convention(),
    )
    .expect("a plane");
    let untouched = body.section(&lifted);
    let mut section = body.section(&lifted);
    let mut press = Press::default();
    press_section(&body, &field, &mut section, &mut press);
    assert_eq!(section.all_loops(), untouched.all_loops());
    assert_eq!(press.squeezed(), []);
}

#[test]
fn pressing_leaves_no_tissue_behind_the_face() {
    /// What reaches this far behind the face is no skin to be dented but another part of the body, as the jaw beside a
    /// probe on the neck, mm; the dent itself is the press of 8 mm and the drop of the face's edge.
    const OTHER_PART_MM: f64 = 25.0;
    let body = body("adult_female");
    let (mut points, mut elsewhere) = (0, 0);
    for window in body.windows() {
        let transducer = transducer(&window.transducer).expect("a transducer");
        let field = Field::new(transducer, window.depth, ApexSide::Top);
        let pose = window.pose.with_press(Mm::new(8.0));
        let plane = ImagePlane::from_pose(&pose, window.convention());
        let free = body.section(&plane);
        let mut section = body.section(&plane);
        press_section(&body, &field, &mut section, &mut Press::default());
        assert_eq!(free.all_loops().len(), section.all_loops().len());
        let half = transducer.face_width.get() / 2.0 - 1.0;
        for step in -10..=10 {
            let x = half * f64::from(step) / 10.0;
            let stands_back = field.edge_drop().get() * (x / half) * (x / half);
            // Right behind the face; another part of the body may lie farther off.
            let at = [x, -stands_back - 1.5];
            points += 1;
            if free.inside(0, [x, at[1] - OTHER_PART_MM]) {
                elsewhere += 1;
                continue;
            }
            assert!(
                !section.inside(0, at),
                "{}: tissue at {at:?} behind the face",
                window.id
            );
        }
        for outline in section.all_loops().loops() {
            assert!(
                outline.points.iter().flatten().all(|c| c.is_finite()),
                "{}: surface {}",
                window.id,
                outline.mesh
            );
        }
    }
    assert!(50 * elsewhere < points, "{elsewhere} of {points}");
}
