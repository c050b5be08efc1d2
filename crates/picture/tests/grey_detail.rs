//! The cheaper level of detail shows the same structures as the full one, in the same places, as bright.
//!
//! Bodies are baked before the tests run (`cargo xtask bake`).

#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

use std::collections::BTreeMap;
use std::path::Path;

use anatomy::{Body, StructureIndex};
use geometry::{ApexSide, ImagePlane};
use picture::{
    Detail, Field, Frame, GreyScratch, GreySettings, Margins, contents, grey_pixels, grey_scan_at,
    transducer,
};

/// Side of the pictures, pixels.
const PX: u32 = 256;

/// Least number of pixels of a structure whose mean is compared: below that a few speckles decide.
const LEAST_PIXELS: f64 = 200.0;

/// Difference of the mean grey of a structure (of 255; 60 dB): speckles are others and edges of shadows a beam wider,
/// levels are not.
const SAME_GREY: f64 = 15.0;

/// Least correlation of the two pictures, seen in squares of this many pixels.
const SQUARE: u32 = 8;
const ALIKE: f64 = 0.97;

fn body(id: &str) -> Body {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |end: &str| {
        std::fs::read(folder.join(format!("{id}.{end}"))).expect("a baked body (cargo xtask bake)")
    };
    Body::read(&file("glb"), &file("json")).expect("a body")
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let n = a.iter().fold(0.0, |n, _| n + 1.0);
    let mean = |x: &[f64]| x.iter().sum::<f64>() / n;
    let (ma, mb) = (mean(a), mean(b));
    let sum = |x: &[f64], mx: f64, y: &[f64], my: f64| -> f64 {
        x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum()
    };
    sum(a, ma, b, mb) / (sum(a, ma, a, ma) * sum(b, mb, b, mb)).sqrt()
}

/// Means of squares of a picture.
fn squares(rgba: &[u8]) -> Vec<f64> {
    let grey = |x: u32, y: u32| f64::from(rgba[((y * PX + x) * 4) as usize]);
    let mut all = Vec::new();
    for y in (0..PX).step_by(SQUARE as usize) {
        for x in (0..PX).step_by(SQUARE as usize) {
            let square = (0..SQUARE * SQUARE).map(|i| grey(x + i % SQUARE, y + i / SQUARE));
            all.push(square.sum::<f64>() / f64::from(SQUARE * SQUARE));
        }
    }
    all
}

/// Compares both details in every window of a body; returns how many structures were compared.
fn check_windows(id: &str) -> usize {
    let body = body(id);
    let mut scratch = GreyScratch::default();
    let mut compared = 0;
    for window in body.windows() {
        let known = transducer(&window.transducer).expect("a transducer");
        let field = Field::new(known, window.depth, ApexSide::Top);
        let frame = Frame::fit(&field, PX, PX, Margins::all(2.0));
        let settings = GreySettings::for_field(&field);
        let plane = ImagePlane::from_pose(&window.pose, window.convention());
        let section = body.section(&plane);
        let seen = contents(&body, &section, &field);
        let pictures = [Detail::Full, Detail::Moving].map(|detail| {
            let mut rgba = Vec::new();
            grey_scan_at(detail, &body, &section, &field, &settings, &mut scratch);
            grey_pixels(&field, &frame, &settings, &mut scratch, &mut rgba);
            rgba
        });
        assert_ne!(pictures[0], pictures[1], "{id} {}: two details", window.id);
        let alike = correlation(&squares(&pictures[0]), &squares(&pictures[1]));
        assert!(
            alike > ALIKE,
            "{id} {}: pictures alike by {alike}",
            window.id
        );
        let mut sums: BTreeMap<StructureIndex, [f64; 3]> = BTreeMap::new();
        for y in 0..PX {
            for x in 0..PX {
                let at = frame.to_mm([x, y].map(f64::from));
                let place = ((y * PX + x) * 4) as usize;
                let opaque = pictures.iter().all(|p| p[place + 3] == 255);
                if let (true, Some(structure)) = (opaque, seen.structure_at(at)) {
                    let sum = sums.entry(structure).or_insert([0.0; 3]);
                    sum[0] += 1.0;
                    for (sum, picture) in sum[1..].iter_mut().zip(&pictures) {
                        *sum += f64::from(picture[place]);
                    }
                }
            }
        }
        for (structure, [n, full, moving]) in sums {
            if n < LEAST_PIXELS {
                continue;
            }
            compared += 1;
            let (full, moving) = (full / n, moving / n);
            assert!(
                (full - moving).abs() < SAME_GREY,
                "{id} {}: {} has grey {full:.1} in full and {moving:.1} on the move",
                window.id,
                body.structure(structure).id
            );
        }
    }
    compared
}

#[test]
fn both_details_show_the_same_structures() {
    for (id, least) in [("adult_female", 250), ("infant_head", 30)] {
        let compared = check_windows(id);
        assert!(compared >= least, "{id}: only {compared} structures");
    }
}

#[test]
fn a_hand_that_stops_and_goes_on_gets_the_same_bytes_again() {
    let body = body("infant_head");
    let window = &body.windows()[0];
    let known = transducer(&window.transducer).expect("a transducer");
    let field = Field::new(known, window.depth, ApexSide::Top);
    let frame = Frame::fit(&field, PX, PX, Margins::all(2.0));
    let settings = GreySettings::for_field(&field);
    let section = body.section(&ImagePlane::from_pose(&window.pose, window.convention()));
    let mut scratch = GreyScratch::default();
    let mut drawn = |detail: Detail| {
        let mut rgba = Vec::new();
        grey_scan_at(detail, &body, &section, &field, &settings, &mut scratch);
        grey_pixels(&field, &frame, &settings, &mut scratch, &mut rgba);
        rgba
    };
    let [full, moving] = [Detail::Full, Detail::Moving].map(&mut drawn);
    for (detail, want) in [(Detail::Full, full), (Detail::Moving, moving)] {
        assert!(drawn(detail) == want, "{detail:?} again");
    }
}
