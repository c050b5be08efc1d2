//! Sentence and table of what the picture shows.

use anatomy::{AxisView, Body, LongAxis, Structure, StructureIndex, System};

use wording::form;

use super::table::PictureWords;
use crate::contents::{Contents, Seen, SkinLayer};
use crate::field::Field;

/// Structures that the sentence names at most.
pub const MOST_NAMED: usize = 8;

/// Structures of a smaller visible area are neither named nor counted: a speck of 2 mm.
const SPECK_MM2: f64 = 3.0;

/// A vein of which less than this share is open is flattened, less than the other partly so (our judgement).
const FLATTENED: f64 = 0.2;
const PARTLY_FLATTENED: f64 = 0.7;

/// How a pressed probe leaves a vein.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lumen {
    /// Open, or no vein.
    Open,
    /// Clearly narrower than without pressing.
    PartlyFlattened,
    /// Wall on wall, as nearly as the model goes.
    Flattened,
}

impl Lumen {
    fn of(open: f64) -> Self {
        if open < FLATTENED {
            Self::Flattened
        } else if open < PARTLY_FLATTENED {
            Self::PartlyFlattened
        } else {
            Self::Open
        }
    }
}

/// Where across the picture something lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Across {
    /// The left third of the field at that depth.
    ImageLeft,
    /// The middle third.
    Centre,
    /// The right third.
    ImageRight,
}

/// One structure of the picture, for a table: rows near to far, columns image left, centre, image right.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Which.
    pub structure: StructureIndex,
    /// Its name with the segment: "liver left lobe".
    pub name: String,
    /// How the plane shows its long axis, where that is worth saying.
    pub axis: Option<AxisView>,
    /// Where across the picture its middle lies.
    pub across: Across,
    /// Depth of its nearest visible point, mm.
    pub depth_mm: f64,
    /// Width and height of its visible part on the picture, mm.
    pub size_mm: [f64; 2],
    /// Whether pressing has flattened it.
    pub lumen: Lumen,
    /// Whether the sentence names it.
    pub named: bool,
    /// Whether it is part of the layers at the top that the sentence sums up as "muscle".
    pub merged: bool,
}

impl Row {
    /// [`PictureWords::row`] in English.
    #[must_use]
    pub fn words(&self) -> String {
        PictureWords::ENGLISH.row(self)
    }
}

/// [`PictureWords::rows`] in English.
#[must_use]
pub fn rows(body: &Body, field: &Field, contents: &Contents) -> Vec<Row> {
    PictureWords::ENGLISH.rows(body, field, contents)
}

impl PictureWords {
    /// The structures in the picture, near to far, with the most telling ones marked as named.
    #[must_use]
    pub fn rows(&self, body: &Body, field: &Field, contents: &Contents) -> Vec<Row> {
        let shown: Vec<&Seen> = contents
            .structures
            .iter()
            .filter(|seen| open_area(seen) >= SPECK_MM2 && is_told(body, seen.structure))
            .collect();
        let wall_ends = shown
            .iter()
            .filter(|seen| !is_body_wall(body.structure(seen.structure)))
            .map(|seen| seen.depth_mm)
            .fold(f64::MAX, f64::min);
        let mut rows: Vec<Row> = shown
            .iter()
            .map(|seen| {
                let structure = body.structure(seen.structure);
                Row {
                    structure: seen.structure,
                    name: name(structure, seen.segment, self),
                    axis: seen
                        .axis
                        .map(|(view, _)| view)
                        .filter(|_| tells_axis(structure)),
                    across: across(field, seen.centre),
                    depth_mm: seen.depth_mm,
                    size_mm: [seen.bounds.width(), seen.bounds.height()],
                    lumen: Lumen::of(seen.open),
                    named: false,
                    merged: is_body_wall(structure) && seen.depth_mm < wall_ends,
                }
            })
            .collect();
        let mut ranked: Vec<(f64, usize)> = shown
            .iter()
            .enumerate()
            .filter(|(place, _)| !rows[*place].merged)
            .map(|(place, seen)| {
                (
                    weight(body.structure(seen.structure)) * open_area(seen).sqrt(),
                    place,
                )
            })
            .collect();
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (_, place) in ranked.into_iter().take(MOST_NAMED) {
            rows[place].named = true;
        }
        rows
    }

    /// "In the picture from the top: skin, fat, muscle, liver left lobe, aorta in long axis, and 3 smaller structures."
    #[must_use]
    pub fn picture(&self, field: &Field, contents: &Contents, rows: &[Row]) -> String {
        // Beyond this part of the field outside the skin the probe has no proper contact.
        const LOST_CONTACT: f64 = 0.5;
        let outside = contents.outside_mm2 / contents.field_mm2.max(1.0);
        if contents.layers.is_empty() && rows.is_empty() {
            return self.nothing.to_owned();
        }
        let [from_top, from_bottom] = self.picture;
        let pattern = match field.apex() {
            geometry::ApexSide::Top => from_top,
            geometry::ApexSide::Bottom => from_bottom,
        };
        let mut parts: Vec<String> = contents
            .layers
            .iter()
            .filter(|seen| seen.layer != SkinLayer::Muscle || is_near(seen.depth_mm, rows))
            .map(|seen| self.layer(seen.layer).to_owned())
            .collect();
        if rows.iter().any(|row| row.merged) && !parts.iter().any(|part| part == self.muscle) {
            parts.push(self.muscle.to_owned());
        }
        parts.extend(rows.iter().filter(|row| row.named).map(|row| self.row(row)));
        let mut list = parts.join(self.comma);
        let smaller = rows.iter().filter(|row| !row.named && !row.merged).count();
        if smaller > 0 {
            let counted = self.plurals.pick(self.smaller, smaller);
            list.push_str(&form(counted, &[&smaller.to_string()]));
        }
        let mut sentence = form(pattern, &[&list]);
        if outside > LOST_CONTACT {
            sentence.push(' ');
            sentence.push_str(self.no_contact);
        }
        sentence
    }

    /// "aorta in long axis", "left femoral vein in short axis (flattened by the probe)": name, axis and lumen.
    #[must_use]
    pub fn row(&self, row: &Row) -> String {
        let words = match row.axis {
            Some(AxisView::Long) => form(self.in_long_axis, &[&row.name]),
            Some(AxisView::Short) => form(self.in_short_axis, &[&row.name]),
            Some(AxisView::Oblique) | None => row.name.clone(),
        };
        match self.lumen(row.lumen) {
            Some(lumen) => form(self.pressed_vein, &[&words, lumen]),
            None => words,
        }
    }

    /// "flattened by the probe", "partly flattened by the probe"; `None` for an open one.
    #[must_use]
    pub fn lumen(&self, lumen: Lumen) -> Option<&'static str> {
        match lumen {
            Lumen::Open => None,
            Lumen::PartlyFlattened => Some(self.partly_flattened),
            Lumen::Flattened => Some(self.flattened),
        }
    }

    /// "image left", "centre", "image right".
    #[must_use]
    pub fn across(&self, across: Across) -> &'static str {
        let [left, centre, right] = self.across;
        match across {
            Across::ImageLeft => left,
            Across::Centre => centre,
            Across::ImageRight => right,
        }
    }
}

/// [`PictureWords::picture`] in English.
#[must_use]
pub fn picture_sentence(field: &Field, contents: &Contents, rows: &[Row]) -> String {
    PictureWords::ENGLISH.picture(field, contents, rows)
}

/// Area that a squeezed vein would have without pressing, mm2: what makes it worth telling stays.
fn open_area(seen: &Seen) -> f64 {
    // A flattened vein keeps a few hundredths.
    seen.area_mm2 / seen.open.clamp(0.02, 1.0)
}

/// Plain muscle is told with skin and fat only when it lies before the organs.
fn is_near(depth_mm: f64, rows: &[Row]) -> bool {
    rows.iter()
        .filter(|row| !row.merged)
        .all(|row| depth_mm <= row.depth_mm)
}

/// Fat between organs and the skin itself are background.
fn is_told(body: &Body, index: StructureIndex) -> bool {
    let structure = body.structure(index);
    let tissue = body.tissue(structure.tissue).key.as_str();
    !tissue.starts_with("fat") && tissue != "skin" && tissue != "perivascular_fat"
}

/// Muscles and sheets of the body wall, summed up as "muscle" where they cover the organs.
fn is_body_wall(structure: &Structure) -> bool {
    matches!(structure.system, System::Muscular | System::Connective)
}

/// How telling a structure is in a list that has to be short, beside the root of its area (our judgement).
fn weight(structure: &Structure) -> f64 {
    match structure.system {
        System::Arterial | System::Venous => 2.4,
        System::Digestive
        | System::Urinary
        | System::Reproductive
        | System::Endocrine
        | System::Cardiac
        | System::Lymphatic => 1.6,
        System::Nervous | System::Sensory | System::Respiratory => 1.2,
        System::Skeletal => 0.9,
        System::Integument => 0.7,
        System::Muscular => 0.5,
        System::Connective | System::Reference => 0.3,
    }
}

/// Vessels, ducts and organs with a stated axis are told in long or short axis; a bone or a muscle is not.
fn tells_axis(structure: &Structure) -> bool {
    let system = matches!(
        structure.system,
        System::Arterial
            | System::Venous
            | System::Urinary
            | System::Reproductive
            | System::Endocrine
            | System::Cardiac
            | System::Digestive
    );
    let stated = matches!(
        structure.axis,
        Some(LongAxis::Line { .. } | LongAxis::CentreLine)
    );
    // A lobed organ is told by its segment: the liver has a stated axis, yet nobody scans it "in long axis".
    let by_part = structure.system == System::Digestive
        && structure
            .segments
            .iter()
            .any(|segment| segment.id.contains("lobe"));
    system && stated && !by_part
}

/// "liver left lobe", "L1 vertebra", "right renal vein": lower case unless it is an abbreviation.
fn name(structure: &Structure, segment: Option<usize>, words: &PictureWords) -> String {
    // What stands in brackets is for reading, not for a list that is read aloud.
    let label = structure
        .label
        .split(" (")
        .next()
        .unwrap_or(&structure.label);
    let whole = lower(label);
    let Some(segment) = segment.and_then(|number| structure.segments.get(number)) else {
        return whole;
    };
    part_name(
        &whole,
        &structure.short_label,
        &segment.label,
        words.part_of,
    )
}

/// What a part of a structure is called inside a sentence: by the part alone where that says the structure too, else by
/// both in the pattern `both`. `short` is the structure's abbreviation, empty where none is known.
#[must_use]
pub fn part_name(whole: &str, short: &str, part: &str, both: &str) -> String {
    let (whole, part) = (lower(whole), lower(part));
    let last = part.rsplit(' ').next().unwrap_or("");
    if last == short {
        // "Retrohepatic IVC" of the inferior vena cava.
        format!("{}{whole}", part.trim_end_matches(last))
    } else if (!short.is_empty() && part.starts_with(short))
        || (part.contains(' ') && (whole.contains(last) || shares_a_stem(&part, &whole)))
    {
        // "Common bile duct" of the bile ducts, "aortic arch" of the aorta: the part has a full name of its own.
        part
    } else {
        form(both, &[&whole, &part])
    }
}

/// Whether a word of the part begins as a word of the whole does, side words apart: "aortic" and "aorta".
fn shares_a_stem(part: &str, whole: &str) -> bool {
    const STEM: usize = 4;
    whole
        .split(' ')
        .filter(|word| !matches!(*word, "left" | "right"))
        .filter_map(|word| word.get(..STEM))
        .any(|stem| part.split(' ').any(|word| word.starts_with(stem)))
}

/// Lower case at the start, unless the first word is an abbreviation such as "L1" or "IVC".
fn lower(text: &str) -> String {
    let first = text.split(' ').next().unwrap_or("");
    if first
        .chars()
        .skip(1)
        .any(|c| c.is_uppercase() || c.is_ascii_digit())
    {
        return text.to_owned();
    }
    let mut rest = text.chars();
    rest.next()
        .map_or_else(String::new, |c| c.to_lowercase().chain(rest).collect())
}

fn across(field: &Field, at: [f64; 2]) -> Across {
    let beam = field.beam_point(at).beam;
    if beam < -1.0 / 3.0 {
        Across::ImageLeft
    } else if beam > 1.0 / 3.0 {
        Across::ImageRight
    } else {
        Across::Centre
    }
}
