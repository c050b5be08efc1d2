//! One picture as a DICOM file.

use std::io::Write;
use std::path::Path;

use anatomy::{Body, Section};
use anyhow::{Context as _, Result};
use course::dicom::{self, Picture, Subject, TransducerWords};
use course::moment::Moment;
use geometry::{ImagePlane, name_plane};
use picture::{
    Field, Frame, GreyScratch, GreySettings, Look, Margins, PALETTE_KEYS, Palette, PictureScratch,
    grey_scale, schematic,
};
use serde::Serialize;

use crate::args::Shading;
use crate::bodies::Bodies;
use crate::lines::malformed;
use crate::request::Request;
use crate::resolve;

/// Size of the picture, pixels.
const WIDTH: u16 = 640;
const HEIGHT: u16 = 480;

/// Free space around the field, pixels.
const MARGIN_PX: f64 = 8.0;

/// The tolerance of plane names where the line gives none, degrees.
const TOLERANCE_DEG: f64 = 20.0;

/// What is asked for.
#[derive(Debug)]
pub(crate) struct Wanted<'a> {
    pub(crate) at: Moment,
    pub(crate) annotation: &'a str,
    pub(crate) structure: Option<&'a str>,
    pub(crate) seed: u64,
    pub(crate) number: u32,
    pub(crate) shading: Shading,
}

#[derive(Debug, Serialize)]
struct Saved<'a> {
    file: &'a str,
    sop_instance_uid: String,
}

/// Writes the file for the pose of `line`, and says on `output` what was written.
pub(crate) fn save(
    line: &str,
    wanted: &Wanted<'_>,
    bodies: &mut Bodies,
    out: &Path,
    output: &mut impl Write,
) -> Result<()> {
    let request: Request = serde_json::from_str(line.trim()).map_err(|error| malformed(&error))?;
    let id = request.body.as_ref().context("the line names no body")?;
    let body = bodies.get(id)?;
    let question = resolve::question(&request, Some(body), TOLERANCE_DEG)?;
    let field = question
        .field
        .context("a picture needs contact_mm or window")?;
    let subject = wanted.structure.map(|id| subject(body, id)).transpose()?;

    let plane = ImagePlane::from_pose(&question.pose, question.convention);
    let frame = Frame::fit(
        &field,
        u32::from(WIDTH),
        u32::from(HEIGHT),
        Margins::all(MARGIN_PX),
    );
    let rgba = pixels(body, &body.section(&plane), &field, &frame, wanted.shading);
    let transducer = field.transducer();
    let geometry = transducer.dicom_geometry_code;
    let picture = Picture {
        seed: wanted.seed,
        number: wanted.number,
        at: wanted.at,
        body: body.facts(),
        size: (WIDTH, HEIGHT),
        rgba: &rgba,
        mm_per_px: frame.mm_per_px(),
        origin_px: frame.to_px([0.0, 0.0]),
        plane: &plane,
        name: name_plane(plane.normal(), question.tolerance).name,
        depth_mm: field.depth().get(),
        transducer: TransducerWords {
            id: transducer.id,
            geometry: (geometry.value, geometry.meaning),
            mhz: transducer.usual_mhz,
        },
        subject,
        annotation: wanted.annotation,
        link: line.trim(),
    };
    std::fs::write(out, dicom::write(&picture))
        .with_context(|| format!("cannot write {}", out.display()))?;
    let saved = Saved {
        file: &out.to_string_lossy(),
        sop_instance_uid: dicom::instance_uid(&picture),
    };
    serde_json::to_writer(&mut *output, &saved)?;
    output.write_all(b"\n")?;
    Ok(())
}

fn subject<'a>(body: &'a Body, id: &str) -> Result<Subject<'a>> {
    let index = body
        .find(id)
        .with_context(|| format!("body {:?} has no structure {id:?}", body.id()))?;
    Ok(Subject::of(body.facts(), body.structure(index)))
}

fn pixels(
    body: &Body,
    section: &Section,
    field: &Field,
    frame: &Frame,
    shading: Shading,
) -> Vec<u8> {
    let mut rgba = Vec::new();
    match shading {
        Shading::Grey => {
            let settings = GreySettings::for_field(field);
            let mut scratch = GreyScratch::default();
            grey_scale(
                body,
                section,
                field,
                frame,
                &settings,
                &mut scratch,
                &mut rgba,
            );
        }
        Shading::Section => {
            let colours = PALETTE_KEYS.iter().zip(0_u8..).map(|(key, number)| {
                let colour = [97, 151, 211].map(|step: u8| number.wrapping_mul(step) | 0x30);
                (*key, colour)
            });
            if let Ok(palette) = Palette::from_pairs(colours) {
                let look = Look::new(body, &palette);
                let mut scratch = PictureScratch::default();
                schematic(body, section, field, frame, &look, &mut scratch, &mut rgba);
            }
        }
    }
    rgba
}

/// Reads a moment as DICOM writes it, "20261125094501+0100".
pub(crate) fn moment(text: &str) -> Result<Moment, String> {
    let wrong = || format!("{text:?} is not written YYYYMMDDhhmmss+hhmm");
    let number = |from: usize, to: usize| -> Result<i64, String> {
        let digits = text
            .get(from..to)
            .filter(|part| part.bytes().all(|b| b.is_ascii_digit()));
        digits.and_then(|part| part.parse().ok()).ok_or_else(wrong)
    };
    let sign = match text.get(14..15) {
        Some("+") => 1,
        Some("-") => -1,
        _ => return Err(wrong()),
    };
    if text.len() != 19 {
        return Err(wrong());
    }
    let offset = sign * (number(15, 17)? * 60 + number(17, 19)?);
    let (date, time) = (&text[..8], &text[8..14]);
    let of_day = (number(8, 10)? * 3600 + number(10, 12)? * 60 + number(12, 14)?) * 1000;
    // The calendar is turned from days to dates in one place only; days of a date are counted up to it.
    let first = (number(0, 4)? - 1970) * 365;
    (first..first + 3000)
        .map(|days| Moment {
            unix_ms: days * 86_400_000 + of_day - offset * 60_000,
            offset_min: i32::try_from(offset).unwrap_or(0),
        })
        .find(|moment| moment.dicom_date() == date && moment.dicom_time() == time)
        .ok_or_else(wrong)
}
