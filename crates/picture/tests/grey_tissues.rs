//! Grey-scale pictures of the tissue table and of the baked bodies: what is brighter than what, and what is black.
//!
//! Order of the organs, bright to dark: renal sinus, pancreas, spleen, liver, renal cortex (a table of normal abdominal
//! measurements, <http://radiology.world/normal-abdominal-measurements/>), renal medulla, fluid (from memory). Bodies are
//! baked before the tests run (`cargo xtask bake`).

#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

use std::path::Path;

use anatomy::{Body, Tissue};
use geometry::{ApexSide, Convention, ImagePlane, Mm, Point, Vector};
use picture::grey::{LIVER_GREY, Phantom, grey_scale_of_phantom};
use picture::{Field, Frame, GreyScratch, GreySettings, Margins, grey_scale, transducer};

/// Side of the pictures, pixels.
const PX: u32 = 400;

/// What the texture of a tissue may add to its mean level, and chance: a few hundred speckles, dB.
const LEVEL_DB: f64 = 2.0;

fn body(id: &str) -> Body {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |end: &str| {
        std::fs::read(folder.join(format!("{id}.{end}"))).expect("a baked body (cargo xtask bake)")
    };
    Body::read(&file("glb"), &file("json")).expect("a body")
}

/// Level of a tissue just below a centimetre of liver, dB against liver, read back from pixels.
fn level_db(tissue: &Tissue, liver: &Tissue) -> f64 {
    let known = transducer("convex").expect("the abdominal transducer");
    let field = Field::new(known, Mm::new(80.0), ApexSide::Top);
    let frame = Frame::fit(&field, PX, PX, Margins::all(4.0));
    let settings = GreySettings {
        compensation_db: 0.0,
        dynamic_range_db: 100.0,
        ..GreySettings::for_field(&field)
    };
    let slab = |from: f64| {
        vec![
            [-300.0, from],
            [300.0, from],
            [300.0, 300.0],
            [-300.0, 300.0],
        ]
    };
    let phantom = Phantom::default()
        .with(liver.clone(), slab(-50.0))
        .with(tissue.clone(), slab(20.0));
    let (mut sum, mut n) = (0.0, 0.0);
    // Textures are larger than the slab: several places of the body.
    for number in 0..4 {
        let plane = ImagePlane::from_notch_and_beam(
            Point::new(31.0 * f64::from(number), -70.0, 23.0),
            Vector::new(0.9, 0.1, 0.2),
            Vector::new(-0.1, 0.95, 0.1),
            Convention::GENERAL,
        )
        .expect("a plane");
        let mut rgba = Vec::new();
        grey_scale_of_phantom(
            &phantom,
            &plane,
            &field,
            &frame,
            &settings,
            &mut GreyScratch::default(),
            &mut rgba,
        );
        for (y, row) in (0_u32..).zip(rgba.chunks_exact(PX as usize * 4)) {
            for (x, pixel) in (0_u32..).zip(row.chunks_exact(4)) {
                let [px, py] = frame.to_mm([x, y].map(f64::from));
                let lost = [liver.att * 20.0, tissue.att * (py - 20.0)]
                    .iter()
                    .sum::<f64>();
                if px.abs() < 12.0 && (23.0..29.0).contains(&py) {
                    let shown = f64::from(pixel[0]) / 255.0 - LIVER_GREY;
                    sum += shown * settings.dynamic_range_db + 0.2 * known.usual_mhz * lost;
                    n += 1.0;
                }
            }
        }
    }
    sum / n
}

#[test]
fn organs_are_as_bright_as_their_table_says_and_in_the_published_order() {
    let body = body("adult_female");
    let tissue = |key: &str| {
        let found = body.tissues().iter().find(|t| t.key == key);
        found.unwrap_or_else(|| panic!("no tissue {key}"))
    };
    let liver = tissue("liver");
    let keys = [
        "fat_sinus",
        "pancreas",
        "spleen",
        "liver",
        "renal_cortex",
        "renal_medulla",
    ];
    let shown = keys.map(|key| level_db(tissue(key), liver));
    // The mean of a logarithm is not the logarithm of the mean: all levels against that of liver.
    for ((key, level), next) in keys.iter().zip(shown).zip(shown.iter().skip(1)) {
        let want = tissue(key).bs;
        let got = level - shown[3];
        assert!(
            (got - want).abs() < LEVEL_DB,
            "{key}: {got:.1} dB against liver, its table says {want}"
        );
        assert!(level > *next + 1.0, "{key} at {level:.1} dB: {shown:?}");
    }
}

/// A real picture of a window, and the mean grey of each structure in it.
struct Shown {
    body: Body,
    section: anatomy::Section,
    frame: Frame,
    field: Field,
    rgba: Vec<u8>,
}

fn shown(id: &str, window: &str) -> Shown {
    let body = body(id);
    let found = body.window(window).expect("a window");
    let known = transducer(&found.transducer).expect("a transducer");
    let field = Field::new(known, found.depth, ApexSide::Top);
    let frame = Frame::fit(&field, PX, PX, Margins::all(4.0));
    let plane = ImagePlane::from_pose(&found.pose, found.convention());
    let section = body.section(&plane);
    let mut rgba = Vec::new();
    grey_scale(
        &body,
        &section,
        &field,
        &frame,
        &GreySettings::for_field(&field),
        &mut GreyScratch::default(),
        &mut rgba,
    );
    Shown {
        body,
        section,
        frame,
        field,
        rgba,
    }
}

impl Shown {
    /// Depth and grey of places at least 2 mm inside a structure.
    fn places(&self, id: &str) -> Vec<(f64, f64)> {
        const INSIDE_MM: f64 = 2.0;
        let wanted = self.body.find(id).unwrap_or_else(|| panic!("no {id}"));
        let is = |at: [f64; 2]| {
            let painted = self.section.structure_at(&self.body, at);
            painted.and_then(|p| p.structure) == Some(wanted)
        };
        let mut places = Vec::new();
        for y in (0..PX).step_by(3) {
            for x in (0..PX).step_by(3) {
                let at = self.frame.to_mm([x, y].map(f64::from));
                let around = [
                    [0.0, INSIDE_MM],
                    [0.0, -INSIDE_MM],
                    [INSIDE_MM, 0.0],
                    [-INSIDE_MM, 0.0],
                ];
                if self.field.contains(at)
                    && is(at)
                    && around.iter().all(|d| is([at[0] + d[0], at[1] + d[1]]))
                {
                    let grey = f64::from(self.rgba[((y * PX + x) * 4) as usize]);
                    places.push((self.field.depth_of(at), grey));
                }
            }
        }
        assert!(places.len() >= 6, "{id} is hardly in the picture");
        places
    }

    fn grey(&self, id: &str) -> f64 {
        mean(&self.places(id), [0.0, f64::MAX])
    }
}

/// Mean grey between two depths.
fn mean(places: &[(f64, f64)], depths: [f64; 2]) -> f64 {
    let inside = places
        .iter()
        .filter(|(depth, _)| (depths[0]..=depths[1]).contains(depth));
    let (sum, n) = inside.fold((0.0, 0.0), |(sum, n), (_, grey)| (sum + grey, n + 1.0));
    assert!(n >= 6.0, "only {n} places between {depths:?} mm");
    sum / n
}

/// Of each pair the first is brighter than the second by at least `LEAST` greys, at the depths that they share: echoes
/// of organs are compared side by side at one depth (teaching texts, from memory).
fn check_order(id: &str, window: &str, pairs: &[[&str; 2]]) {
    const LEAST: f64 = 4.0;
    let picture = shown(id, window);
    for pair in pairs {
        let both = pair.map(|id| picture.places(id));
        let ends = both.each_ref().map(|places| {
            let depths = places.iter().map(|(depth, _)| *depth);
            depths.fold([f64::MAX, 0.0_f64], |[a, b], d| [a.min(d), b.max(d)])
        });
        let shared = [ends[0][0].max(ends[1][0]), ends[0][1].min(ends[1][1])];
        let [bright, dark] = both.each_ref().map(|places| mean(places, shared));
        assert!(
            bright > dark + LEAST,
            "{id} {window}: {pair:?} have greys {bright:.0} and {dark:.0} between {shared:?} mm"
        );
    }
}

#[test]
fn windows_show_their_organs_in_order() {
    for (body, window, pairs) in [
        (
            "adult_female",
            "right_kidney_sagittal",
            [
                ["right_renal_sinus", "right_kidney"],
                ["liver", "right_kidney"],
            ]
            .as_slice(),
        ),
        (
            "adult_female",
            "right_flank_hepatorenal",
            &[
                ["right_renal_sinus", "liver"],
                ["right_kidney", "right_renal_pyramids"],
            ],
        ),
        (
            "adult_male",
            "left_kidney_coronal",
            &[["left_renal_sinus", "left_kidney"]],
        ),
        (
            "adult_female",
            "epigastric_transverse_pancreas",
            &[["pancreas", "aorta"], ["liver", "aorta"]],
        ),
    ] {
        check_order(body, window, pairs);
    }
}

#[test]
fn fluid_is_black_in_the_windows_that_look_for_it() {
    // Mean grey of 255: black but for the ghosts of the front wall (seen in every bladder) and the rims of vessels.
    const BLACK: f64 = 20.0;
    for (body, window, fluid) in [
        (
            "adult_female",
            "subcostal_oblique_gallbladder_long",
            "gallbladder",
        ),
        ("adult_female", "pelvis_sagittal_female", "bladder"),
        ("adult_male", "pelvis_transverse_male", "bladder"),
        ("adult_female", "sagittal_right_ivc", "inferior_vena_cava"),
        ("adult_female", "transverse_aorta_mid", "aorta"),
    ] {
        let grey = shown(body, window).grey(fluid);
        assert!(grey < BLACK, "{body} {window}: {fluid} has grey {grey:.1}");
    }
}
