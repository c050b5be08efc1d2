//! Pose to pixels: median and 99th percentile time of a 512 x 512 schematic of a baked body,
//! one JSON line per measure.
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
use geometry::{Angle, ApexSide, Convention, ImagePlane, Pose};
use picture::{
    Field, Frame, Look, Margins, Palette, PictureScratch, contents, schematic, transducer,
};

/// Poses around each window: a small fan, as a hand would make it.
const FAN_DEGREES: [f64; 9] = [-12.0, -9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0, 12.0];
const ROUNDS: usize = 6;

/// What is kept between two pictures, as a program would.
struct Desk<'a> {
    body: &'a Body,
    look: Look,
    section: Section,
    cut: SectionScratch,
    scratch: PictureScratch,
    rgba: Vec<u8>,
    /// Sum of all that was made, so that nothing can be left out.
    sum: u64,
}

impl Desk<'_> {
    /// Seconds for the section, the pixels and the contents of one pose.
    ///
    /// Never inlined: a browser replaces the first, slow translation of a function when it is called again, so what ends
    /// up in `main` would be measured in the slow one, unlike in the page.
    #[inline(never)]
    fn draw(
        &mut self,
        pose: &Pose,
        convention: Convention,
        field: &Field,
        frame: &Frame,
    ) -> [f64; 3] {
        let start = Instant::now();
        let plane = ImagePlane::from_pose(pose, convention);
        self.body
            .section_into(&plane, &mut self.cut, &mut self.section);
        let cut = start.elapsed().as_secs_f64();
        schematic(
            self.body,
            &self.section,
            field,
            frame,
            &self.look,
            &mut self.scratch,
            &mut self.rgba,
        );
        let painted = start.elapsed().as_secs_f64();
        let seen = contents(self.body, &self.section, field);
        let told = start.elapsed().as_secs_f64();
        let bytes: u64 = self.rgba.iter().map(|b| u64::from(*b)).sum();
        self.sum = self.sum.wrapping_add(bytes + seen.structures.len() as u64);
        [cut, painted - cut, told - painted]
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
        look: Look::new(&body, &Palette::fallback()),
        section: Section::empty(&first),
        cut: SectionScratch::default(),
        scratch: PictureScratch::default(),
        rgba: Vec::new(),
        sum: 0,
    };
    let (mut whole, mut cuts, mut paints, mut looks) = (vec![], vec![], vec![], vec![]);
    for round in 0..ROUNDS {
        for window in body.windows() {
            let Some(transducer) = transducer(&window.transducer) else {
                continue;
            };
            let field = Field::new(transducer, window.depth, ApexSide::Top);
            let frame = Frame::fit(&field, 512, 512, Margins::all(24.0));
            for lean in FAN_DEGREES {
                let tilt = Angle::deg(window.pose.tilt().to_deg() + lean);
                let pose = window.pose.with_tilt(tilt);
                let [cut, paint, look] = desk.draw(&pose, window.convention(), &field, &frame);
                // The first round warms caches and memory.
                if round > 0 {
                    cuts.push(cut);
                    paints.push(paint);
                    whole.push(cut + paint);
                    looks.push(look);
                }
            }
        }
    }
    let sum = desk.sum;
    let micros = |times: &mut Vec<f64>, percent: usize| {
        times.sort_by(f64::total_cmp);
        let place = times.len().saturating_sub(1) * percent / 100;
        times.get(place).map_or(0.0, |s| s * 1e6)
    };
    println!(
        "{{\"about\":\"adult_female, {} poses around its windows, sum of the bytes {sum}\"}}",
        whole.len()
    );
    for (name, times) in [
        ("section of a body", &mut cuts),
        ("section to 512 x 512 pixels", &mut paints),
        ("pose to 512 x 512 pixels", &mut whole),
        ("section to contents", &mut looks),
    ] {
        let (median, p99) = (micros(times, 50), micros(times, 99));
        println!("{{\"name\":\"{name}\",\"median_us\":{median:.1},\"p99_us\":{p99:.1}}}");
    }
}
