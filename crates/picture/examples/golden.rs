//! The golden grey-scale pictures: written to a folder, to be looked at before their hashes are recorded; without a
//! folder the lines to be recorded (`tests/data/golden.txt`).
//!
//! `cargo run -p picture --example golden --release -- [FOLDER]`

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool for the eyes of its developer stops at the first thing that is wrong"
)]

use std::path::PathBuf;

use picture::grey::{GOLDEN_PX, golden_lines, golden_pictures};

fn main() {
    let Some(out) = std::env::args().nth(1).map(PathBuf::from) else {
        println!("{}", golden_lines().join("\n"));
        return;
    };
    std::fs::create_dir_all(&out).expect("the folder");
    for (name, rgba) in golden_pictures() {
        let file = std::fs::File::create(out.join(format!("{name}.png"))).expect("a file");
        let mut encoder = png::Encoder::new(file, GOLDEN_PX, GOLDEN_PX);
        encoder.set_color(png::ColorType::Rgba);
        encoder.set_depth(png::BitDepth::Eight);
        encoder
            .write_header()
            .and_then(|mut w| w.write_image_data(&rgba))
            .expect("a picture");
    }
}
