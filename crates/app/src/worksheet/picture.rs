//! The section as a vector picture: outlines in millimetres, filled as the schematic is, with a line round each, so that
//! it can be read in grey.

use std::fmt::Write as _;

use anatomy::{Body, Section, SectionLayer, StructureId};
use geometry::{ApexSide, ImagePlane, MarkSide, Sides, screen_threshold};
use picture::{Field, Palette, Press, palette_key, press_section};
use practice::View;

/// Room around the field of view for letters and ticks, mm at a depth of 150 mm.
const MARGIN: f64 = 16.0;
/// From the field of view to the scale of depth, mm at a depth of 150 mm: behind the letters of the right side, of which
/// there may be three. A tick that touches an F makes an E of it.
const SCALE_FROM: f64 = 19.0;
/// Room for the scale and its numbers, mm at a depth of 150 mm.
const SCALE_ROOM: f64 = 14.0;

/// What is shown beside the section.
#[derive(Clone, Copy)]
pub(super) struct Show<'a> {
    /// What is read aloud in place of the picture. It tells nothing that may be asked.
    pub(super) words: &'a str,
    /// Letters at the sides.
    pub(super) letters: bool,
    /// Whether those at top and bottom are exchanged.
    pub(super) exchanged: bool,
    /// The mark.
    pub(super) mark: bool,
    /// Where the mark is drawn, if not where the layout has it.
    pub(super) mark_at: Option<MarkSide>,
    /// A structure with a ring round its middle.
    pub(super) lit: Option<&'a StructureId>,
}

/// The picture of a view as an SVG element. `name` is unique in the page; parts of the drawing are called by it.
pub(super) fn svg(
    body: &Body,
    view: &View,
    show: &Show<'_>,
    palette: &Palette,
    name: &str,
) -> String {
    let placement = &view.placement;
    let plane = ImagePlane::from_pose(&placement.pose, placement.convention);
    let field = Field::new(view.transducer, placement.depth, placement.convention.apex);
    let bounds = field.bounds();
    let scale = placement.depth.get() / 150.0;
    let margin = MARGIN * scale;
    let mut section = body.section(&plane);
    let mut press = Press::default();
    press_section(body, &field, &mut section, &mut press);
    let mut out = String::new();
    let (x, y) = (bounds.min[0] - margin, bounds.min[1] - margin);
    let (width, height) = (
        bounds.width() + margin + (SCALE_FROM + SCALE_ROOM) * scale,
        bounds.height() + 2.0 * margin,
    );
    let _ = write!(
        out,
        "<svg class=\"section\" viewBox=\"{x:.1} {y:.1} {width:.1} {height:.1}\" role=\"img\" aria-label=\"{}\">",
        show.words
    );
    let outline = path([field.outline().as_slice()]);
    let _ = write!(
        out,
        "<clipPath id=\"{name}-field\"><path d=\"{outline}\"/></clipPath><g clip-path=\"url(#{name}-field)\"><path d=\"{outline}\" fill=\"#ffffff\"/>"
    );
    for layer in section.layers() {
        paint(&mut out, body, &section, *layer, palette, scale, name);
    }
    let _ = write!(
        out,
        "</g><path d=\"{outline}\" fill=\"none\" stroke=\"#000000\" stroke-width=\"{:.2}\"/>",
        0.7 * scale
    );
    ticks(&mut out, &field, bounds.max[0], scale);
    if show.letters {
        let mut sides = Sides::of(&plane);
        if show.exchanged {
            std::mem::swap(&mut sides.top, &mut sides.bottom);
        }
        let threshold = screen_threshold(view.tolerance);
        let middle = [
            (bounds.min[0] + bounds.max[0]) / 2.0,
            (bounds.min[1] + bounds.max[1]) / 2.0,
        ];
        for (side, at) in [
            (&sides.left, [bounds.min[0] - 0.5 * margin, middle[1]]),
            (&sides.right, [bounds.max[0] + 0.5 * margin, middle[1]]),
            (&sides.top, [middle[0], bounds.min[1] - 0.4 * margin]),
            (&sides.bottom, [middle[0], bounds.max[1] + 0.7 * margin]),
        ] {
            text(&mut out, at, 8.0 * scale, &side.letters(threshold));
        }
    }
    if show.mark {
        let at_left = show.mark_at.unwrap_or(placement.convention.mark) == MarkSide::Left;
        let at_top = placement.convention.apex == ApexSide::Top;
        let x = if at_left {
            bounds.min[0] - 0.2 * margin
        } else {
            bounds.max[0] + 0.2 * margin
        };
        let y = if at_top {
            bounds.min[1] + 0.2 * margin
        } else {
            bounds.max[1] - 0.2 * margin
        };
        let _ = write!(
            out,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{:.1}\" fill=\"#000000\"/>",
            2.6 * scale
        );
    }
    if let Some(at) = show
        .lit
        .and_then(|id| middle_of(body, &section, &field, id))
    {
        let _ = write!(
            out,
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"none\" stroke=\"#ffffff\" stroke-width=\"{:.1}\"/><circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"none\" stroke=\"#000000\" stroke-width=\"{:.1}\"/>",
            at[0],
            at[1],
            9.0 * scale,
            3.0 * scale,
            at[0],
            at[1],
            9.0 * scale,
            1.4 * scale
        );
    }
    out.push_str("</svg>");
    out
}

/// One surface: its loops by the even-odd rule, without what it stays out of.
fn paint(
    out: &mut String,
    body: &Body,
    section: &Section,
    layer: SectionLayer,
    palette: &Palette,
    scale: f64,
    name: &str,
) {
    let surface = &body.surfaces()[layer.surface];
    let loops = path(section.loops(layer).map(|outline| outline.points));
    let kept_out: Vec<SectionLayer> = section
        .layers()
        .iter()
        .copied()
        .filter(|other| surface.not_inside.contains(&other.surface))
        .collect();
    let mut mask = String::new();
    if !kept_out.is_empty() {
        let id = format!("{name}-{}", layer.surface);
        let _ = write!(
            out,
            "<mask id=\"{id}\" maskUnits=\"userSpaceOnUse\" x=\"-2000\" y=\"-2000\" width=\"4000\" height=\"4000\"><rect x=\"-2000\" y=\"-2000\" width=\"4000\" height=\"4000\" fill=\"#ffffff\"/>"
        );
        for other in kept_out {
            let shape = path(section.loops(other).map(|outline| outline.points));
            let _ = write!(
                out,
                "<path d=\"{shape}\" fill=\"#000000\" fill-rule=\"evenodd\"/>"
            );
        }
        out.push_str("</mask>");
        mask = format!(" mask=\"url(#{id})\"");
    }
    let [red, green, blue] = palette.colour(palette_key(body, surface));
    let _ = write!(
        out,
        "<path d=\"{loops}\" fill=\"#{red:02x}{green:02x}{blue:02x}\" fill-rule=\"evenodd\" stroke=\"#2b2119\" stroke-width=\"{:.2}\"{mask}/>",
        0.35 * scale
    );
}

fn path<'a>(loops: impl IntoIterator<Item = &'a [[f64; 2]]>) -> String {
    let mut text = String::new();
    for points in loops {
        for (number, [x, y]) in points.iter().enumerate() {
            let _ = write!(text, "{}{x:.1} {y:.1}", if number == 0 { "M" } else { "L" });
        }
        text.push('Z');
    }
    text
}

/// Centimetres of depth beside the field.
fn ticks(out: &mut String, field: &Field, right: f64, scale: f64) {
    for tick in field.depth_ticks() {
        let long = if tick.long { 4.0 } else { 2.0 } * scale;
        let (x, y) = (right + SCALE_FROM * scale, tick.at[1]);
        let _ = write!(
            out,
            "<path d=\"M{x:.1} {y:.1}h{long:.1}\" stroke=\"#000000\" stroke-width=\"{:.2}\"/>",
            0.5 * scale
        );
        if tick.long {
            text(
                out,
                [x + 9.0 * scale, y + 2.0 * scale],
                5.5 * scale,
                &tick.cm.to_string(),
            );
        }
    }
}

fn text(out: &mut String, at: [f64; 2], size: f64, words: &str) {
    let _ = write!(
        out,
        "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{size:.1}\" text-anchor=\"middle\">{}</text>",
        at[0], at[1], words
    );
}

/// The middle of the largest visible outline of a structure.
fn middle_of(body: &Body, section: &Section, field: &Field, id: &StructureId) -> Option<[f64; 2]> {
    let mut best: Option<(f64, [f64; 2])> = None;
    for layer in section.layers() {
        let structure = body.surfaces()[layer.surface].structure();
        if structure.is_none_or(|index| body.structure(index).id != *id) {
            continue;
        }
        for outline in section.loops(*layer) {
            let inside: Vec<[f64; 2]> = outline
                .points
                .iter()
                .copied()
                .filter(|point| field.contains(*point))
                .collect();
            let Some(bounds) = picture::Bounds::around(&inside) else {
                continue;
            };
            let size = bounds.width() * bounds.height();
            let middle = mean(&inside);
            if best.is_none_or(|(most, _)| size > most) {
                best = Some((size, middle));
            }
        }
    }
    best.map(|(_, middle)| middle)
}

/// The mean of some points: nearer to the middle of a bent vessel than the middle of its box.
fn mean(points: &[[f64; 2]]) -> [f64; 2] {
    let mut sum = [0.0; 2];
    let mut count = 0.0;
    for point in points {
        count += 1.0;
        for k in 0..2 {
            sum[k] += point[k];
        }
    }
    sum.map(|value| value / f64::max(count, 1.0))
}
