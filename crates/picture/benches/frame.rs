//! Pictures on demand: the measuring page asks for them one by one, in animation frames of a browser, and draws the
//! same in plain JavaScript beside them.
//!
//! Questions come in lines on standard input; answers go to the file named by the first argument that is no flag:
//! `body` and `window N` are answered with JSON, `draw N LEAN` with the RGBA bytes of window N tilted by LEAN degrees,
//! `press N LEAN` with those of a body that gives way to the face, as the page draws it at rest (plain JavaScript leaves
//! that out), `move N LEAN` with the same in the detail of a probe that moves, `cut N LEAN` cuts that plane alone, [`CUTS`] times, and is answered with the number of loops.

#![expect(
    clippy::expect_used,
    reason = "a benchmark stops at the first thing that is wrong"
)]

use std::fmt::Write as _;
use std::fs::File;
use std::io::{Write as _, stdin};
use std::path::Path;

use anatomy::{Body, Section, SectionScratch, Window};
use geometry::{Angle, ApexSide, ImagePlane};
use picture::grey::{spelled_fibres, spelled_scan};
use picture::{
    Detail, Field, Frame, GreyScratch, GreySettings, Margins, Press, grey_pixels, grey_scan_at,
    press_section, transducer,
};

/// The page divides by this.
const CUTS: usize = 20;
/// Tilts of the JSON of a window, degrees.
const LEANS: [f64; 3] = [-6.0, 0.0, 6.0];

fn plane(window: &Window, lean: f64) -> ImagePlane {
    let tilt = Angle::deg(window.pose.tilt().to_deg() + lean);
    ImagePlane::from_pose(&window.pose.with_tilt(tilt), window.convention())
}

/// What is kept between two pictures, as a program would.
struct Desk {
    body: Body,
    /// Fields of the windows, with what is drawn in them.
    fitted: Vec<(Field, Frame, GreySettings)>,
    section: Section,
    cut: SectionScratch,
    press: Press,
    scratch: GreyScratch,
    rgba: Vec<u8>,
}

impl Desk {
    fn open() -> Self {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
        let file = |name: &str| std::fs::read(folder.join(name)).expect("a baked body");
        let body = Body::read(&file("adult_female.glb"), &file("adult_female.json"));
        let body = body.expect("a body");
        let fitted = body
            .windows()
            .iter()
            .map(|window| {
                let known = transducer(&window.transducer).expect("a known transducer");
                let field = Field::new(known, window.depth, ApexSide::Top);
                let frame = Frame::fit(&field, 512, 512, Margins::all(24.0));
                (field, frame, GreySettings::for_field(&field))
            })
            .collect();
        let section = Section::empty(&plane(&body.windows()[0], 0.0));
        Self {
            body,
            fitted,
            section,
            cut: SectionScratch::default(),
            press: Press::default(),
            scratch: GreyScratch::default(),
            rgba: Vec::new(),
        }
    }

    /// The body's surfaces in paint order, and the names of its windows.
    fn body(&self) -> String {
        let mut text = String::from("{\"surfaces\":[");
        for (number, surface) in self.body.surfaces().iter().enumerate() {
            let mesh = self.body.cut_set().mesh(number);
            let comma = if number > 0 { "," } else { "" };
            let _ = write!(
                text,
                "{comma}{{\"tissue\":{},\"not_inside\":{:?},\"vertices\":{:?},\"triangles\":{:?}}}",
                surface.tissue.index(),
                surface.not_inside,
                mesh.positions.as_flattened(),
                mesh.triangles.as_flattened(),
            );
        }
        let names: Vec<_> = self.body.windows().iter().map(|w| &w.id).collect();
        let _ = write!(text, "],\"windows\":{names:?},\"cuts\":{CUTS}}}");
        text
    }

    /// All that a window is drawn with, and its planes.
    fn window(&mut self, number: usize) -> String {
        let (field, frame, settings) = self.fitted[number];
        let mut poses = String::new();
        for lean in LEANS {
            let plane = plane(&self.body.windows()[number], lean);
            self.body
                .section_into(&plane, &mut self.cut, &mut self.section);
            let axes = [plane.row(), plane.column(), plane.normal()].map(|axis| axis.to_array());
            let comma = if poses.is_empty() { "" } else { "," };
            let _ = write!(
                poses,
                "{comma}{{\"lean\":{lean},\"plane\":{{\"origin\":{:?},\"row\":{:?},\"column\":{:?},\"normal\":{:?}}},\
                 \"fibres\":{}}}",
                plane.origin().to_array(),
                axes[0],
                axes[1],
                axes[2],
                spelled_fibres(&self.body, &self.section, settings.frequency_mhz),
            );
        }
        let scan = spelled_scan(&self.body, &field, &frame, &settings);
        format!("{{\"scan\":{scan},\"poses\":[{poses}]}}")
    }

    /// Never inlined: a browser replaces the first, slow translation of a function when it is called again.
    #[inline(never)]
    fn draw(&mut self, number: usize, lean: f64, pressed: bool, detail: Detail) {
        let (field, frame, settings) = &self.fitted[number];
        let plane = plane(&self.body.windows()[number], lean);
        self.body
            .section_into(&plane, &mut self.cut, &mut self.section);
        if pressed {
            press_section(&self.body, field, &mut self.section, &mut self.press);
        }
        let scratch = &mut self.scratch;
        grey_scan_at(detail, &self.body, &self.section, field, settings, scratch);
        grey_pixels(field, frame, settings, scratch, &mut self.rgba);
    }

    #[inline(never)]
    fn cut(&mut self, number: usize, lean: f64) -> usize {
        let plane = plane(&self.body.windows()[number], lean);
        for _ in 0..CUTS {
            self.body
                .section_into(&plane, &mut self.cut, &mut self.section);
        }
        self.section.all_loops().len()
    }
}

fn main() {
    let Some(screen) = std::env::args().skip(1).find(|word| !word.starts_with('-')) else {
        // `cargo bench` without a page that asks.
        return;
    };
    let mut screen = File::create(screen).expect("a file for answers");
    let mut desk = Desk::open();
    let mut line = String::new();
    while stdin().read_line(&mut line).expect("a question") > 0 {
        let mut words = line.split_whitespace();
        let what = words.next().unwrap_or_default();
        let number = words.next().and_then(|n| n.parse().ok()).unwrap_or(0);
        let lean = words.next().and_then(|n| n.parse().ok()).unwrap_or(0.0);
        let answer = match what {
            "body" => screen.write_all(desk.body().as_bytes()),
            "window" => screen.write_all(desk.window(number).as_bytes()),
            "draw" | "press" | "move" => {
                let detail = match what {
                    "move" => Detail::Moving,
                    _ => Detail::Full,
                };
                desk.draw(number, lean, what != "draw", detail);
                screen.write_all(&desk.rgba)
            }
            "cut" => {
                let loops = desk.cut(number, lean);
                screen.write_all(loops.to_string().as_bytes())
            }
            _ => panic!("nobody knows how to {line}"),
        };
        answer.expect("an answer");
        line.clear();
    }
}
