//! Pose to grey-scale pixels: times of a finished 512 x 512 picture of a baked body, of its steps, of the cheaper level
//! of detail, and of a volume, one JSON line per measure.
//!
//! Needs a baked body: `cargo xtask bake` first. Times are not stable between machines; compare within one run. Beside
//! median and 99th percentile of all drawings stands the median over the poses of the best drawing of each: what the
//! machine does when nothing else is going on.

#![expect(
    clippy::print_stdout,
    clippy::expect_used,
    reason = "a benchmark reports on standard output and stops at the first thing that is wrong"
)]

use std::path::Path;
use std::time::Instant;

use anatomy::{Body, Section, SectionScratch};
use geometry::{Angle, ApexSide, Convention, ImagePlane, Mm, Pose};
use picture::{
    Detail, Field, Frame, GreyScratch, GreySettings, Margins, Press, Sweep, Volume, VolumePlane,
    press_section, transducer,
};

/// Poses around each window: a small fan, as a hand would make it.
const FAN_DEGREES: [f64; 5] = [-6.0, -3.0, 0.0, 3.0, 6.0];
/// Drawings of each pose, after one that makes tables and warms caches and memory.
const ROUNDS: usize = 5;
/// Press of the pressed round, mm.
const PRESS_MM: f64 = 5.0;

const STEPS: [&str; 7] = [
    "pose to grey 512 x 512",
    "grey: section",
    "grey: press",
    "grey: runs along beams",
    "grey: physics",
    "grey: point spread, greys",
    "grey: scan conversion",
];

/// What is kept between two pictures, as a program would.
struct Desk<'a> {
    body: &'a Body,
    section: Section,
    cut: SectionScratch,
    press: Press,
    scratch: GreyScratch,
    rgba: Vec<u8>,
    /// Sum of all that was made, so that nothing can be left out.
    sum: u64,
}

impl Desk<'_> {
    /// Seconds for one pose: all of it, then step by step.
    ///
    /// Never inlined: a browser replaces the first, slow translation of a function when it is called again, so what ends
    /// up in `main` would be measured in the slow one, unlike in the page.
    #[inline(never)]
    fn draw(
        &mut self,
        pose: &Pose,
        convention: Convention,
        (field, frame, settings): (&Field, &Frame, &GreySettings),
    ) -> [f64; 7] {
        let start = Instant::now();
        let now = || start.elapsed().as_secs_f64();
        let plane = ImagePlane::from_pose(pose, convention);
        self.body
            .section_into(&plane, &mut self.cut, &mut self.section);
        let cut = now();
        press_section(self.body, field, &mut self.section, &mut self.press);
        let pressed = now();
        self.scratch.meet(self.body, &self.section, field, settings);
        let met = now();
        self.scratch.insonify(&plane, field, settings);
        let sent = now();
        self.scratch.detect(field, settings);
        let detected = now();
        self.scratch.draw(field, frame, &mut self.rgba);
        let done = now();
        let bytes: u64 = self.rgba.iter().map(|b| u64::from(*b)).sum();
        self.sum = self.sum.wrapping_add(bytes);
        [
            done,
            cut,
            pressed - cut,
            met - pressed,
            sent - met,
            detected - sent,
            done - detected,
        ]
    }
}

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |name: &str| {
        std::fs::read(folder.join(name)).unwrap_or_else(|error| {
            panic!("{name}: {error}; bake the bodies first (cargo xtask bake)")
        })
    };
    let body = Body::read(&file("adult_female.glb"), &file("adult_female.json")).expect("a body");
    let first = ImagePlane::from_pose(&body.windows()[0].pose, body.windows()[0].convention());
    let mut desk = Desk {
        body: &body,
        section: Section::empty(&first),
        cut: SectionScratch::default(),
        press: Press::default(),
        scratch: GreyScratch::default(),
        rgba: Vec::new(),
        sum: 0,
    };
    // The names of the steps stand for the full detail.
    let mut full: [Times; 7] = Default::default();
    let mut moving: [Times; 7] = Default::default();
    let mut pressed: [Times; 7] = Default::default();
    for window in body.windows() {
        let Some(transducer) = transducer(&window.transducer) else {
            continue;
        };
        let field = Field::new(transducer, window.depth, ApexSide::Top);
        let frame = Frame::fit(&field, 512, 512, Margins::all(24.0));
        let settings = GreySettings::for_field(&field);
        for (detail, press, all) in [
            (Detail::Full, Mm::ZERO, &mut full),
            (Detail::Full, Mm::new(PRESS_MM), &mut pressed),
            (Detail::Moving, Mm::ZERO, &mut moving),
        ] {
            desk.scratch.set_detail(detail);
            let mut rounds = [[[0.0; 7]; FAN_DEGREES.len()]; ROUNDS + 1];
            // The fan is gone through as a hand does it: no pose is drawn twice in a row.
            for round in &mut rounds {
                for (lean, steps) in FAN_DEGREES.into_iter().zip(round) {
                    let tilt = Angle::deg(window.pose.tilt().to_deg() + lean);
                    let pose = window.pose.with_tilt(tilt).with_press(press);
                    *steps = desk.draw(&pose, window.convention(), (&field, &frame, &settings));
                }
            }
            for (step, times) in all.iter_mut().enumerate() {
                for pose in 0..FAN_DEGREES.len() {
                    times.add(rounds[1..].iter().map(|round| round[pose][step]));
                }
            }
        }
    }
    println!(
        "{{\"about\":\"grey-scale of adult_female, {} poses around its windows, sum of the bytes {}\"}}",
        full[0].best.len(),
        desk.sum
    );
    for (name, times) in STEPS.iter().zip(&mut full) {
        times.report(name);
    }
    pressed[0].report("pressed pose to grey 512 x 512");
    moving[0].report("moving pose to grey 512 x 512");
    sweep(&body);
}

/// A volume as the page acquires it, and a plane cut out of it.
fn sweep(body: &Body) {
    let known = transducer("volume_convex").expect("a volume transducer");
    let field = Field::new(known, known.usual_depth, ApexSide::Top);
    let volume = Volume::new(field).expect("it sweeps");
    let settings = GreySettings::for_field(&field);
    let (mut acquired, mut cut) = (Times::default(), Times::default());
    let mut rgba = Vec::new();
    let mut sum = 0_u64;
    for window in body.windows().iter().take(4) {
        let mut whole = Vec::new();
        let mut planes = Vec::new();
        for _ in 0..2 {
            let mut sweep = Sweep::default();
            sweep.begin(body, &volume, &window.pose, window.convention(), &settings);
            let start = Instant::now();
            while !sweep.advance(body, &volume, &window.pose, 4) {}
            whole.push(start.elapsed().as_secs_f64());
            for which in VolumePlane::ALL {
                let cut = volume.cut(which, volume.middle(), window.convention());
                let bounds = volume.bounds(which);
                let frame = Frame::fit_bounds(bounds, 256, 256, Margins::all(4.0));
                let start = Instant::now();
                sweep.pixels(&volume, &cut, &frame, &mut rgba);
                planes.push(start.elapsed().as_secs_f64());
                sum += rgba.iter().map(|b| u64::from(*b)).sum::<u64>();
            }
        }
        acquired.add(whole.into_iter());
        cut.add(planes.into_iter());
    }
    println!("{{\"about\":\"volume of 61 planes in 4 windows, sum of the bytes {sum}\"}}");
    acquired.report("volume of 61 planes");
    cut.report("plane of a volume to 256 x 256");
}

/// Seconds of all drawings, and of the best drawing of each pose.
#[derive(Default)]
struct Times {
    all: Vec<f64>,
    best: Vec<f64>,
}

impl Times {
    /// Adds the drawings of one pose.
    fn add(&mut self, rounds: impl Iterator<Item = f64> + Clone) {
        self.best.push(rounds.clone().fold(f64::MAX, f64::min));
        self.all.extend(rounds);
    }

    fn report(&mut self, name: &str) {
        let micros = |times: &mut Vec<f64>, percent: usize| {
            times.sort_by(f64::total_cmp);
            let place = times.len().saturating_sub(1) * percent / 100;
            times.get(place).map_or(0.0, |s| s * 1e6)
        };
        let (median, p99) = (micros(&mut self.all, 50), micros(&mut self.all, 99));
        let best = micros(&mut self.best, 50);
        println!(
            "{{\"name\":\"{name}\",\"median_us\":{median:.1},\"p99_us\":{p99:.1},\"best_us\":{best:.1}}}"
        );
    }
}
