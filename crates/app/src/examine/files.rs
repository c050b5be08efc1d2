//! Pictures as files to take away: what is drawn into them, one DICOM file each, the whole set as one archive.
//!
//! Every file of a picture holds the same pixels, whatever size the window has: [`WIDTH`] × [`HEIGHT`] of the picture as
//! it was acquired, transducer, depth, press, grey-scale and gain included. The file with the caption has side letters,
//! depth scale and annotation over them; the DICOM file has nothing over them, its attributes say all that.

use course::archive;
use course::dicom::{self, Picture, Subject, TransducerWords};
use course::examination::KeptPicture;
use course::link;
use course::listing::{self, Entry, file_stem};
use course::moment::Moment;
use picture::{Frame, Margins};

use crate::drawing::Drawing;
use crate::state::State;
use crate::texts::Texts;
use crate::views;

use super::acquired::replay;

/// Width of a saved picture, pixels.
pub const WIDTH: u16 = 960;

/// Height of a saved picture without its caption, pixels.
pub const HEIGHT: u16 = 720;

/// How large lines and letters are drawn in it: as for a screen with two pixels to a CSS pixel.
pub const RATIO: f64 = 2.0;

/// Name of the archive.
pub const SET_NAME: &str = "planeward-pictures.zip";

/// Where the image plane lies on a saved picture.
#[must_use]
pub fn frame(state: &State) -> Frame {
    Drawing::frame(state, u32::from(WIDTH), u32::from(HEIGHT), RATIO)
}

/// Where the image plane lies on a small picture, which has no room for margins.
#[must_use]
pub fn small_frame(state: &State, width: u32, height: u32) -> Frame {
    Frame::fit(&state.field(), width, height, Margins::all(2.0))
}

/// The pixels of a saved picture as RGBA bytes, black outside the field; empty when its body is not here. `again` is the
/// picture's [`replay`].
pub fn pixels(again: &State, drawing: &mut Drawing) -> Vec<u8> {
    drawing.look_at(again);
    let mut rgba = drawing.picture(again, &frame(again), RATIO).to_vec();
    for pixel in rgba.chunks_exact_mut(4) {
        if let [colours @ .., alpha] = pixel {
            for colour in colours {
                *colour = dicom::over_black(*colour, *alpha);
            }
            *alpha = u8::MAX;
        }
    }
    rgba
}

/// Name of the file with picture and caption.
#[must_use]
pub fn png_name(picture: &KeptPicture) -> String {
    format!("{}.png", file_stem(picture))
}

/// Name of the DICOM file.
#[must_use]
pub fn dicom_name(picture: &KeptPicture) -> String {
    format!("{}.dcm", file_stem(picture))
}

/// The DICOM file of the picture of this number; none when its body is not here. `drawing` is for this alone.
pub fn dicom(state: &State, number: u32, drawing: &mut Drawing) -> Option<Vec<u8>> {
    let examination = state.examination();
    let kept = examination.picture(number)?;
    let again = replay(state, kept);
    let body = again.body()?;
    let rgba = pixels(&again, drawing);
    let frame = frame(&again);
    let transducer = again.transducer();
    let geometry = transducer.dicom_geometry_code;
    let subject = examination
        .judged(number)
        .and_then(|judged| body.find(judged.subject.as_deref()?))
        .map(|index| Subject::of(body.facts(), body.structure(index)));
    Some(dicom::write(&Picture {
        seed: examination.kept().seed,
        number,
        at: kept.at,
        body: body.facts(),
        size: (WIDTH, HEIGHT),
        rgba: &rgba,
        mm_per_px: frame.mm_per_px(),
        origin_px: frame.to_px([0.0, 0.0]),
        plane: &again.plane(),
        name: views::exact_naming(&again).name,
        depth_mm: again.depth().get(),
        transducer: TransducerWords {
            id: transducer.id,
            geometry: (geometry.value, geometry.meaning),
            mhz: transducer.usual_mhz,
        },
        subject,
        annotation: &kept.annotation,
        link: &link::write(&kept.view),
    }))
}

/// The archive of the whole set: `png` gives the file with picture and caption of a number, where there is one. Pictures
/// of a body that is not here are in the list only.
pub fn set(
    state: &State,
    texts: &Texts,
    at: Moment,
    drawing: &mut Drawing,
    mut png: impl FnMut(u32) -> Option<Vec<u8>>,
) -> Vec<u8> {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    let mut entries: Vec<Entry<'_>> = Vec::new();
    let mut text = String::new();
    for kept in state.examination().pictures() {
        let mut add = |name: String, content: Option<Vec<u8>>| {
            content.map(|content| {
                files.push((name.clone(), content));
                name
            })
        };
        let words = views::picture_lines(state, kept, texts);
        text.push_str(&words.join("\n"));
        text.push_str("\n\n");
        entries.push(Entry {
            picture: kept,
            png: add(png_name(kept), png(kept.number)),
            dicom: add(dicom_name(kept), dicom(state, kept.number, drawing)),
            words,
        });
    }
    let caution = texts.footer.join(" ");
    let list = listing::json(&caution, &entries);
    text.push_str(&caution);
    text.push('\n');
    files.push(("pictures.json".to_owned(), list.into_bytes()));
    files.push(("pictures.txt".to_owned(), text.into_bytes()));
    archive::zip(&files, at)
}
