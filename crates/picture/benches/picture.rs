//! Pose to pixels: median and 99th percentile time of a 512 x 512 schematic of a baked body, one JSON line.
//!
//! Needs a baked body: `cargo xtask bake` first. Times are not stable between machines; compare within one run.

#![expect(
    clippy::print_stdout,
    clippy::expect_used,
    reason = "a benchmark reports on standard output and stops at the first thing that is wrong"
)]

use std::path::Path;
use std::time::Instant;

use anatomy::{Body, Section, SectionScratch};
use geometry::{Angle, ApexSide, ImagePlane};
use picture::{
    Field, Frame, Look, Margins, Palette, PictureScratch, contents, schematic, transducer,
};

/// Poses around each window: a small fan, as a hand would make it.
const FAN_DEGREES: [f64; 9] = [-12.0, -9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0, 12.0];
const ROUNDS: usize = 6;

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |name: &str| {
        std::fs::read(folder.join(name)).unwrap_or_else(|error| {
            panic!("{name}: {error}; bake the bodies first (cargo xtask bake)")
        })
    };
    let body = Body::read(&file("adult_female.glb"), &file("adult_female.json")).expect("a body");
    let look = Look::new(&body, &Palette::fallback());
    let first = ImagePlane::from_pose(&body.windows()[0].pose, body.windows()[0].convention());
    let (mut section, mut cut) = (Section::empty(&first), SectionScratch::default());
    let (mut scratch, mut rgba) = (PictureScratch::default(), Vec::new());
    let (mut whole, mut cuts, mut paints, mut looks) = (vec![], vec![], vec![], vec![]);
    let mut sum = 0_u64;
    for round in 0..ROUNDS {
        for window in body.windows() {
            let Some(transducer) = transducer(&window.transducer) else {
                continue;
            };
            let field = Field::new(transducer, window.depth, ApexSide::Top);
            let frame = Frame::fit(&field, 512, 512, Margins::all(24.0));
            for lean in FAN_DEGREES {
                let tilt = Angle::deg(window.pose.tilt().to_deg() + lean);
                let start = Instant::now();
                let plane =
                    ImagePlane::from_pose(&window.pose.with_tilt(tilt), window.convention());
                body.section_into(&plane, &mut cut, &mut section);
                let after_cut = start.elapsed();
                schematic(
                    &body,
                    &section,
                    &field,
                    &frame,
                    &look,
                    &mut scratch,
                    &mut rgba,
                );
                let done = start.elapsed();
                let seen = contents(&body, &section, &field);
                let told = start.elapsed();
                sum = sum.wrapping_add(rgba.iter().map(|b| u64::from(*b)).sum::<u64>());
                sum = sum.wrapping_add(seen.structures.len() as u64);
                // The first round warms caches and memory.
                if round > 0 {
                    cuts.push(after_cut.as_secs_f64());
                    paints.push((done - after_cut).as_secs_f64());
                    whole.push(done.as_secs_f64());
                    looks.push((told - done).as_secs_f64());
                }
            }
        }
    }
    let micros = |times: &mut Vec<f64>, percent: usize| {
        times.sort_by(f64::total_cmp);
        let place = times.len().saturating_sub(1) * percent / 100;
        times.get(place).map_or(0.0, |s| s * 1e6)
    };
    println!(
        "{{\"bench\":\"picture\",\"body\":\"adult_female\",\"size\":512,\"poses\":{},\"pose_to_pixels_us\":{{\"p50\":{:.0},\"p99\":{:.0}}},\"section_us\":{{\"p50\":{:.0},\"p99\":{:.0}}},\"paint_us\":{{\"p50\":{:.0},\"p99\":{:.0}}},\"contents_us\":{{\"p50\":{:.0},\"p99\":{:.0}}},\"sum\":{sum}}}",
        whole.len(),
        micros(&mut whole, 50),
        micros(&mut whole, 99),
        micros(&mut cuts, 50),
        micros(&mut cuts, 99),
        micros(&mut paints, 50),
        micros(&mut paints, 99),
        micros(&mut looks, 50),
        micros(&mut looks, 99),
    );
}
