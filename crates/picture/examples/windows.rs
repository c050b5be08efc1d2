//! Writes pictures of a body's probe windows to a folder: two PNGs a window
//! (schematic and grey-scale), and a page with labels and words to look at.
//!
//! `cargo run -p picture --example windows --release -- BODY OUT [--press MM] [WINDOW ...]`; the
//! body must have been baked.

#![expect(
    clippy::expect_used,
    reason = "a tool for the eyes of its developer stops at the first thing that is wrong"
)]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use anatomy::Body;
use geometry::{ApexSide, DEFAULT_TOLERANCE, ImagePlane, ImageSide, Mm, Sides, screen_threshold};
use picture::words::Scene;
use picture::{
    Field, Frame, GreyScratch, GreySettings, LabelMemory, LabelStyle, Look, Margins, Palette,
    PictureScratch, Press, contents, cut_face, describe, grey_scale, place_labels, press_section,
    schematic, transducer,
};

const SIZE: u32 = 560;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let body_id = arguments.next().expect("which body");
    let out = PathBuf::from(arguments.next().expect("which folder"));
    let mut press = Mm::new(0.0);
    let mut wanted = Vec::new();
    while let Some(word) = arguments.next() {
        if word == "--press" {
            let mm = arguments.next().and_then(|mm| mm.parse().ok());
            press = Mm::new(mm.expect("millimetres of pressing"));
        } else {
            wanted.push(word);
        }
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file =
        |end: &str| std::fs::read(folder.join(format!("{body_id}.{end}"))).expect("a baked body");
    let body = Body::read(&file("glb"), &file("json")).expect("a body");
    let look = Look::new(&body, &Palette::fallback());
    std::fs::create_dir_all(&out).expect("the folder");
    let mut page = String::from(
        "<!doctype html><meta charset=utf-8><style>body{background:#fff;font:13px sans-serif;display:flex;flex-wrap:wrap;gap:8px;margin:8px}figure{margin:0;width:560px;background:#000;color:#ddd}figcaption{padding:6px}svg text{font:13px sans-serif;fill:#fff;paint-order:stroke;stroke:#000a;stroke-width:3px}line{stroke:#fff;stroke-width:1.2}</style>",
    );
    let (mut grey, mut pressed) = (GreyScratch::default(), Press::default());
    for window in body.windows() {
        if !(wanted.is_empty() || wanted.contains(&window.id)) {
            continue;
        }
        let Some(transducer) = transducer(&window.transducer) else {
            panic!("no transducer {}", window.transducer);
        };
        let field = Field::new(transducer, window.depth, ApexSide::Top);
        let frame = Frame::fit(&field, SIZE, SIZE * 4 / 5, Margins::all(26.0));
        let pose = window.pose.with_press(press);
        let plane = ImagePlane::from_pose(&pose, window.convention());
        let mut section = body.section(&plane);
        press_section(&body, &field, &mut section, &mut pressed);
        let mut rgba = Vec::new();
        schematic(
            &body,
            &section,
            &field,
            &frame,
            &look,
            &mut PictureScratch::default(),
            &mut rgba,
        );
        save(&out.join(format!("{}.png", window.id)), &frame, &rgba);
        grey_scale(
            &body,
            &section,
            &field,
            &frame,
            &GreySettings::for_field(&field),
            &mut grey,
            &mut rgba,
        );
        save(&out.join(format!("{}_grey.png", window.id)), &frame, &rgba);
        if wanted.contains(&window.id) {
            let sheet = Frame::new(900, 900, 0.6, [450.0, 250.0]);
            cut_face(
                &body,
                &section,
                &sheet,
                &look,
                &mut PictureScratch::default(),
                &mut rgba,
            );
            save(&out.join(format!("{}_cut.png", window.id)), &sheet, &rgba);
        }
        let seen = contents(&body, &section, &field).under(&pressed);
        let labels = place_labels(
            &body,
            &seen,
            &frame,
            &LabelStyle::default(),
            &[],
            &text_width,
            &mut LabelMemory::default(),
        );
        let words = describe(&Scene {
            body: &body,
            pose: &pose,
            plane: &plane,
            field: &field,
            contents: &seen,
            tolerance: DEFAULT_TOLERANCE,
        });
        let (w, h) = (frame.width(), frame.height());
        let _ = write!(
            page,
            "<figure><svg width={w} height={h} viewBox='-0.5 -0.5 {w} {h}'><image href='{}.png' x=-0.5 y=-0.5 width={w} height={h} />",
            window.id
        );
        for label in labels {
            if let Some([a, b]) = label.leader {
                let _ = write!(
                    page,
                    "<line x1={} y1={} x2={} y2={} />",
                    a[0], a[1], b[0], b[1]
                );
            }
            let r = label.rect;
            let _ = write!(
                page,
                "<text x={} y={}>{}</text>",
                r.x,
                r.y + r.h - 4.0,
                label.text
            );
        }
        for tick in field.depth_ticks() {
            let [_, y] = frame.to_px(tick.at);
            let length = if tick.long { 12 } else { 6 };
            let _ = write!(
                page,
                "<line x1={} y1={y} x2={} y2={y} />",
                w - 1 - length,
                w - 1
            );
        }
        let sides = Sides::of(&plane);
        for side in ImageSide::ALL {
            let [x, y] = match side {
                ImageSide::Left => [4, h / 2],
                ImageSide::Right => [w - 30, h / 2],
                ImageSide::Top => [w / 2, 14],
                ImageSide::Bottom => [w / 2, h - 6],
            };
            let letters = sides.get(side).letters(screen_threshold(DEFAULT_TOLERANCE));
            let _ = write!(page, "<text x={x} y={y}>{letters}</text>");
        }
        let _ = write!(
            page,
            "</svg><img src='{0}_grey.png'><figcaption><b>{0}</b><br>{1}</figcaption></figure>",
            window.id,
            words.text()
        );
    }
    std::fs::write(out.join("index.html"), page).expect("the page");
}

/// About the width of 13-pixel Arial.
fn text_width(text: &str) -> f64 {
    text.chars()
        .map(|c| match c {
            'i' | 'l' | 'j' | 't' | 'f' | 'I' | ' ' => 3.6,
            'm' | 'M' | 'W' => 10.8,
            c if c.is_uppercase() => 9.2,
            _ => 7.2,
        })
        .sum()
}

fn save(path: &Path, frame: &Frame, rgba: &[u8]) {
    let file = std::fs::File::create(path).expect("a file");
    let mut encoder = png::Encoder::new(file, frame.width(), frame.height());
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    encoder
        .write_header()
        .and_then(|mut w| w.write_image_data(rgba))
        .expect("a picture");
}
