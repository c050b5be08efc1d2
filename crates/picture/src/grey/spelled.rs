//! What a picture is made from, spelled out as JSON: for the same model in another language, which the benchmark draws
//! beside this one.

use std::fmt::Write as _;

use anatomy::{Body, Section};

use super::GreyScratch;
use super::medium::{Finish, Media, Medium};
use super::settings::GreySettings;
use crate::field::Field;
use crate::frame::Frame;
use crate::transducer::FaceShape;

/// Field, point spread, compression, pixels and the media at this frequency.
#[doc(hidden)]
#[must_use]
pub fn spelled_scan(body: &Body, field: &Field, frame: &Frame, settings: &GreySettings) -> String {
    let mut scratch = GreyScratch::default();
    scratch.prepare(field, settings);
    let (Some(grid), Some(spread)) = (&scratch.level().grid, &scratch.level().spread) else {
        return String::new();
    };
    let mut compression = super::compression::Compression::default();
    compression.set(field, grid, settings);
    let width = match field.transducer().shape {
        FaceShape::Flat { width, .. } => width.get(),
        FaceShape::Curved { .. } | FaceShape::Point { .. } => 0.0,
    };
    let mhz = settings.mhz(field);
    let media: Vec<_> = body
        .tissues()
        .iter()
        .map(|tissue| medium(&Medium::of(tissue, mhz)))
        .collect();
    let [air, gel, bubbles] = Medium::of_no_tissue(mhz).map(|m| medium(&m));
    let [x, y] = frame.to_px([0.0, 0.0]);
    format!(
        "{{\"field\":{{\"depth\":{},\"sense\":{},\"radius\":{},\"half\":{},\"width\":{width},\"mhz\":{mhz}}},\
         \"spread\":{},\"compression\":{},\
         \"frame\":{{\"width\":{},\"height\":{},\"mm\":{},\"origin\":[{x},{y}]}},\
         \"media\":[{}],\"air\":{air},\"gel\":{gel},\"bubbles\":{bubbles}}}",
        field.depth().get(),
        field.sense(),
        field.apex_radius().unwrap_or(0.0),
        field.half_angle().to_rad(),
        spread.spelled(),
        compression.spelled(),
        frame.width(),
        frame.height(),
        frame.mm_per_px(),
        media.join(","),
    )
}

/// Direction of the fibres of each surface that is cut, patient axes.
#[doc(hidden)]
#[must_use]
pub fn spelled_fibres(body: &Body, section: &Section, mhz: f64) -> String {
    let mut all = String::from("{");
    for (surface, fibre) in Media::fibres(body, section, mhz) {
        let comma = if all.len() > 1 { "," } else { "" };
        let _ = write!(all, "{comma}\"{surface}\":{fibre:?}");
    }
    all + "}"
}

fn medium(medium: &Medium) -> String {
    let finish = match medium.finish {
        Finish::Plain => 0,
        Finish::Mirror => 1,
        Finish::Bubbles => 2,
    };
    format!(
        "{{\"z\":{},\"c\":{},\"loss\":{},\"echo\":{},\"smooth\":{},\"front\":{},\"finish\":{finish},\"texture\":{},\
         \"fibre_drop\":{},\"fibre_half\":{},\"sheet\":{},\"gassy\":{}}}",
        medium.z,
        medium.c,
        medium.loss_db_mm,
        medium.echo,
        medium.smooth,
        medium.front,
        medium.texture.spelled(),
        medium.fibre_drop_db,
        medium.fibre_half,
        medium.sheet,
        medium.gassy,
    )
}
