//! Pose to pixels: 5th, 50th and 99th percentile of the time of a 512 x 512 grey-scale picture of a baked body with its steps,
//! one JSON line.
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
use picture::{Field, Frame, GreyScratch, GreySettings, Margins, transducer};

/// Poses around each window: a small fan, as a hand would make it.
const FAN_DEGREES: [f64; 5] = [-6.0, -3.0, 0.0, 3.0, 6.0];
const ROUNDS: usize = 3;
const STEPS: [&str; 5] = [
    "pose_to_pixels_us",
    "section_us",
    "runs_us",
    "echoes_us",
    "pixels_us",
];

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |name: &str| {
        std::fs::read(folder.join(name)).unwrap_or_else(|error| {
            panic!("{name}: {error}; bake the bodies first (cargo xtask bake)")
        })
    };
    let body = Body::read(&file("adult_female.glb"), &file("adult_female.json")).expect("a body");
    let first = ImagePlane::from_pose(&body.windows()[0].pose, body.windows()[0].convention());
    let (mut section, mut cut) = (Section::empty(&first), SectionScratch::default());
    let (mut scratch, mut rgba) = (GreyScratch::default(), Vec::new());
    let mut times: [Vec<f64>; 5] = Default::default();
    let mut sum = 0_u64;
    for window in body.windows() {
        let Some(transducer) = transducer(&window.transducer) else {
            continue;
        };
        let field = Field::new(transducer, window.depth, ApexSide::Top);
        let frame = Frame::fit(&field, 512, 512, Margins::all(24.0));
        let settings = GreySettings::for_field(&field);
        for round in 0..ROUNDS {
            for lean in FAN_DEGREES {
                let tilt = Angle::deg(window.pose.tilt().to_deg() + lean);
                let start = Instant::now();
                let plane =
                    ImagePlane::from_pose(&window.pose.with_tilt(tilt), window.convention());
                body.section_into(&plane, &mut cut, &mut section);
                let cut_at = start.elapsed().as_secs_f64();
                scratch.meet(&body, &section, &field, &settings);
                let met_at = start.elapsed().as_secs_f64();
                scratch.insonify(&plane, &field, &settings);
                let sent_at = start.elapsed().as_secs_f64();
                scratch.show(&field, &frame, &settings, &mut rgba);
                let done = start.elapsed().as_secs_f64();
                sum = sum.wrapping_add(rgba.iter().map(|b| u64::from(*b)).sum::<u64>());
                // The first round makes the tables of the field and warms caches and memory.
                if round > 0 {
                    let steps = [
                        done,
                        cut_at,
                        met_at - cut_at,
                        sent_at - met_at,
                        done - sent_at,
                    ];
                    for (all, step) in times.iter_mut().zip(steps) {
                        all.push(step * 1e6);
                    }
                }
            }
        }
    }
    let poses = times[0].len();
    let steps: Vec<String> = STEPS
        .iter()
        .zip(&mut times)
        .map(|(name, all)| {
            all.sort_by(f64::total_cmp);
            let at = |percent: usize| {
                all.get(all.len().saturating_sub(1) * percent / 100)
                    .map_or(0.0, |t| *t)
            };
            format!(
                "\"{name}\":{{\"p5\":{:.0},\"p50\":{:.0},\"p99\":{:.0}}}",
                at(5),
                at(50),
                at(99)
            )
        })
        .collect();
    println!(
        "{{\"bench\":\"grey\",\"body\":\"adult_female\",\"size\":512,\"poses\":{poses},{},\"sum\":{sum}}}",
        steps.join(",")
    );
}
