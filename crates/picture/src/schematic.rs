//! The schematic picture: flat tissue colours with thin outlines, clipped to the field of view or bare.

use anatomy::{Body, Section};

use crate::field::Field;
use crate::frame::Frame;
use crate::gel::{GEL, Gel};
use crate::look::Look;
use crate::pixels::{self, COLUMN_LINES, PixelScratch, ROW_LINES, Sheet};
use crate::scan::{Label, Painter, RunMap};

/// Working memory of the pictures, to be kept from one picture to the next.
#[derive(Debug, Clone, Default)]
pub struct PictureScratch {
    pub(crate) painter: Painter,
    rows: RunMap,
    columns: RunMap,
    pixels: PixelScratch,
    pub(crate) gel: Gel,
}

/// Draws what the field of view shows of a section, as RGBA bytes (not premultiplied, rows from the top).
///
/// Inside the field everything is opaque: tissue, gel between face and skin, darkness beyond the skin. Outside the
/// field the picture is transparent, so that it can lie on black or hang in the body view; its edge is smooth.
pub fn schematic(
    body: &Body,
    section: &Section,
    field: &Field,
    frame: &Frame,
    look: &Look,
    scratch: &mut PictureScratch,
    rgba: &mut Vec<u8>,
) {
    scratch.gel.measure(field, skin_loops(section));
    let outline = field.outline();
    draw(body, section, Some(&outline), frame, look, scratch, rgba);
}

/// Draws what a section shows inside a closed outline (image mm), as [`schematic()`] does for a field of view; without
/// gel, which belongs to a face.
pub fn outlined(
    body: &Body,
    section: &Section,
    outline: &[[f64; 2]],
    frame: &Frame,
    look: &Look,
    scratch: &mut PictureScratch,
    rgba: &mut Vec<u8>,
) {
    scratch.gel.clear();
    draw(body, section, Some(outline), frame, look, scratch, rgba);
}

/// Draws the whole cut face of the body, transparent outside the skin: the cap of the cut body in the body view.
pub fn cut_face(
    body: &Body,
    section: &Section,
    frame: &Frame,
    look: &Look,
    scratch: &mut PictureScratch,
    rgba: &mut Vec<u8>,
) {
    draw(body, section, None, frame, &look.bare(), scratch, rgba);
}

fn draw(
    body: &Body,
    section: &Section,
    outline: Option<&[[f64; 2]]>,
    frame: &Frame,
    look: &Look,
    scratch: &mut PictureScratch,
    rgba: &mut Vec<u8>,
) {
    let PictureScratch {
        painter,
        rows,
        columns,
        pixels,
        gel,
    } = scratch;
    let gel = if outline.is_some() {
        gel.polygons()
    } else {
        &[]
    };
    let mut run = |lines: u32, end: f64, out: &mut RunMap, place: &dyn Fn([f64; 2]) -> [f64; 2]| {
        painter.begin(lines, 0.0, end);
        paint_section(painter, body, section, gel, place);
        if let Some(outline) = outline {
            painter.mask();
            painter.add_loop(outline.iter().map(|p| place(*p)));
        }
        painter.paint(out);
    };
    let (width, height) = (f64::from(frame.width()), f64::from(frame.height()));
    // Line s of pixel row y lies at height y - 1/2 + (s + 1/2) / n.
    let across = |at: f64, lines: u32| (at + 0.5) * f64::from(lines) - 0.5;
    run(frame.height() * ROW_LINES, width, rows, &|mm| {
        let [x, y] = frame.to_px(mm);
        [x + 0.5, across(y, ROW_LINES)]
    });
    run(frame.width() * COLUMN_LINES, height, columns, &|mm| {
        let [x, y] = frame.to_px(mm);
        [y + 0.5, across(x, COLUMN_LINES)]
    });
    let sheet = Sheet {
        width: usize::try_from(frame.width()).unwrap_or(1),
        height: usize::try_from(frame.height()).unwrap_or(1),
        line_px: look.line_px(),
    };
    pixels::draw(rows, columns, look, sheet, pixels, rgba);
}

/// Fills the painter with gel (polygons, image mm) and the section's layers in paint order.
///
/// Labels are numbers of the body's surfaces, [`GEL`] for gel; `place` maps image mm into scan space (u, v). The
/// painter must have been begun; a mask may follow.
pub fn paint_section(
    painter: &mut Painter,
    body: &Body,
    section: &Section,
    gel: &[Vec<[f64; 2]>],
    place: &dyn Fn([f64; 2]) -> [f64; 2],
) {
    painter.layer(GEL, []);
    for polygon in gel {
        painter.add_loop(polygon.iter().map(|p| place(*p)));
    }
    for layer in section.layers() {
        open_layer(painter, body, layer.surface);
        for outline in section.loops(*layer) {
            painter.add_loop(outline.points.iter().map(|p| place(*p)));
        }
    }
}

/// Opens the painter's layer of a surface; walls stay out of what they open into.
pub(crate) fn open_layer(painter: &mut Painter, body: &Body, surface: usize) {
    let kept_out = body
        .surfaces()
        .get(surface)
        .map(|s| s.not_inside.as_slice());
    painter.layer(
        label_of(surface),
        kept_out.unwrap_or(&[]).iter().map(|other| label_of(*other)),
    );
}

/// The outlines of the skin in a section, image mm.
pub(crate) fn skin_loops(section: &Section) -> impl Iterator<Item = &[[f64; 2]]> + Clone {
    section.all_loops().of_mesh(0).map(|outline| outline.points)
}

/// The label of a surface; bodies have a few hundred.
pub(crate) fn label_of(surface: usize) -> Label {
    Label::try_from(surface).unwrap_or(GEL - 1)
}
