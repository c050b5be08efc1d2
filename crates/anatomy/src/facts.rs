//! From the catalogue's entries to checked facts: every name resolved, every number finite, every rule usable.

use geometry::{MarkSide, Mm, Point};

use crate::axis::{AxisView, CentreLine, LongAxis};
use crate::body::{BodyFacts, Sex, Surface, SurfaceKind};
use crate::catalogue::{
    AxisEntry, Catalogue, MarkEntry, SegmentEntry, SegmentPlace, SexEntry, SideEntry,
    StructureEntry, SurfaceEntry, VERSION, ViewEntry, WindowEntry,
};
use crate::json::{Json, JsonError};
use crate::region::RegionMap;
use crate::segment::Segment;
use crate::structure::{BodySide, Code, Structure, StructureId, StructureIndex, System, Wall};
use crate::tissue::{Tissue, TissueId};
use crate::window::{self, Window, WindowError};

/// Most tissues a body can have: their ids fit one byte of a label map, with one value to spare for "nothing".
const MOST_TISSUES: usize = 255;

/// Why a catalogue cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CatalogueError {
    /// The bytes are not the expected JSON.
    #[error("not a body catalogue: {0}")]
    Json(#[from] JsonError),
    /// Another version of the format.
    #[error("catalogue version {0}, expected {VERSION}")]
    Version(u32),
    /// A number out of its range.
    #[error("{what} of {of:?} is {value}, expected {expected}")]
    Number {
        /// Which number.
        what: &'static str,
        /// Whose.
        of: String,
        /// Its value.
        value: f64,
        /// What is allowed, with the unit.
        expected: &'static str,
    },
    /// A list with too many entries.
    #[error("{count} {what}, at most {most} are possible")]
    TooMany {
        /// Which list.
        what: &'static str,
        /// Its length.
        count: usize,
        /// The limit.
        most: usize,
    },
    /// A name used twice.
    #[error("{what} {name:?} occurs twice")]
    Twice {
        /// What the name is of.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A name that means nothing here.
    #[error("{of:?} names the unknown {what} {name:?}")]
    Unknown {
        /// What the name should be of.
        what: &'static str,
        /// The name.
        name: String,
        /// Who uses it.
        of: String,
    },
    /// A rule that lacks what it works on.
    #[error("{of:?}: {reason}")]
    Rule {
        /// The structure or surface.
        of: String,
        /// What is wrong, in words.
        reason: &'static str,
    },
    /// A window without a possible pose.
    #[error("window {id:?}: {error}")]
    Window {
        /// Its name.
        id: String,
        /// What is wrong.
        error: WindowError,
    },
}

/// Parses and checks a catalogue file.
///
/// # Errors
/// [`CatalogueError`].
pub(crate) fn parse(json: &[u8]) -> Result<Catalogue, CatalogueError> {
    let json = Json::read(json)?;
    // Looked at first, so that a file of another version is called that and not "missing field".
    let version = json.count("version")?;
    if version != VERSION {
        return Err(CatalogueError::Version(version));
    }
    Ok(Catalogue::from_json(&json)?)
}

/// Resolves the names of a parsed catalogue.
///
/// # Errors
/// [`CatalogueError`].
pub(crate) fn facts(catalogue: &Catalogue) -> Result<BodyFacts, CatalogueError> {
    let body = &catalogue.body;
    let names = Names::new(catalogue)?;
    positive("offset_scale", &body.id, body.offset_scale)?;
    positive("dermis_mm", &body.id, body.dermis_mm)?;
    if let Some(stature) = body.stature_mm {
        positive("stature_mm", &body.id, stature)?;
    }
    for (name, at) in &catalogue.landmarks {
        finite("landmark", name, at)?;
    }
    for tissue in &catalogue.tissues {
        let values = [
            tissue.c,
            tissue.rho,
            tissue.z,
            tissue.att,
            tissue.n,
            tissue.bs,
            tissue.spec,
            tissue.grain,
        ];
        finite("acoustic value", &tissue.key, &values)?;
    }
    let structures = catalogue
        .structures
        .iter()
        .map(|entry| structure(entry, &names))
        .collect::<Result<Vec<_>, _>>()?;
    let surfaces = catalogue
        .surfaces
        .iter()
        .map(|entry| surface(entry, &names))
        .collect::<Result<Vec<_>, _>>()?;
    if surfaces
        .first()
        .is_none_or(|first| first.kind != SurfaceKind::Skin)
    {
        return Err(CatalogueError::Rule {
            of: "surfaces".to_owned(),
            reason: "the first surface must be the skin",
        });
    }
    for (pair, entry) in surfaces.windows(2).zip(catalogue.surfaces.iter().skip(1)) {
        if pair[0].paint_order >= pair[1].paint_order {
            let reason = "paint orders must ascend strictly";
            return Err(CatalogueError::Rule {
                of: entry.node.clone(),
                reason,
            });
        }
    }
    let windows = catalogue
        .windows
        .iter()
        .map(|entry| window(entry, &names, body.offset_scale));
    Ok(BodyFacts {
        id: body.id.clone(),
        label: body.label.clone(),
        sex: match body.sex {
            SexEntry::Female => Sex::Female,
            SexEntry::Male => Sex::Male,
            SexEntry::Either => Sex::Either,
        },
        stature: body.stature_mm.map(Mm::new),
        offset_scale: body.offset_scale,
        dermis: Mm::new(body.dermis_mm),
        regions: RegionMap::new(&catalogue.landmarks, &structures),
        landmarks: catalogue.landmarks.clone(),
        tissues: catalogue.tissues.iter().map(Tissue::from).collect(),
        windows: windows.collect::<Result<Vec<_>, _>>()?,
        structures,
        surfaces,
    })
}

/// The names of a catalogue, sorted for look-up.
struct Names<'a> {
    tissues: Vec<(&'a str, usize)>,
    structures: Vec<(&'a str, usize)>,
    surfaces: Vec<(&'a str, usize)>,
}

impl<'a> Names<'a> {
    fn new(catalogue: &'a Catalogue) -> Result<Self, CatalogueError> {
        if catalogue.tissues.len() > MOST_TISSUES {
            let count = catalogue.tissues.len();
            return Err(CatalogueError::TooMany {
                what: "tissues",
                count,
                most: MOST_TISSUES,
            });
        }
        Ok(Self {
            tissues: sorted(
                "tissue",
                catalogue.tissues.iter().map(|entry| entry.key.as_str()),
            )?,
            structures: sorted(
                "structure",
                catalogue.structures.iter().map(|entry| entry.id.as_str()),
            )?,
            surfaces: sorted(
                "surface",
                catalogue.surfaces.iter().map(|entry| entry.node.as_str()),
            )?,
        })
    }

    fn tissue(&self, name: &str, of: &str) -> Result<TissueId, CatalogueError> {
        let index = look_up(&self.tissues, "tissue", name, of)?;
        u8::try_from(index)
            .map(TissueId)
            .or(Err(CatalogueError::TooMany {
                what: "tissues",
                count: self.tissues.len(),
                most: MOST_TISSUES,
            }))
    }

    fn structure(&self, name: &str, of: &str) -> Result<StructureIndex, CatalogueError> {
        look_up(&self.structures, "structure", name, of).map(StructureIndex)
    }

    fn surface(&self, name: &str, of: &str) -> Result<usize, CatalogueError> {
        look_up(&self.surfaces, "surface", name, of)
    }
}

fn sorted<'a>(
    what: &'static str,
    names: impl Iterator<Item = &'a str>,
) -> Result<Vec<(&'a str, usize)>, CatalogueError> {
    let mut list: Vec<_> = names.enumerate().map(|(i, name)| (name, i)).collect();
    list.sort_unstable();
    match list.windows(2).find(|pair| pair[0].0 == pair[1].0) {
        Some(pair) => Err(CatalogueError::Twice {
            what,
            name: pair[0].0.to_owned(),
        }),
        None => Ok(list),
    }
}

fn look_up(
    list: &[(&str, usize)],
    what: &'static str,
    name: &str,
    of: &str,
) -> Result<usize, CatalogueError> {
    match list.binary_search_by(|(known, _)| (*known).cmp(name)) {
        Ok(at) => Ok(list[at].1),
        Err(_) => Err(CatalogueError::Unknown {
            what,
            name: name.to_owned(),
            of: of.to_owned(),
        }),
    }
}

fn structure(entry: &StructureEntry, names: &Names<'_>) -> Result<Structure, CatalogueError> {
    let id = &entry.id;
    let rule = |reason| CatalogueError::Rule {
        of: id.clone(),
        reason,
    };
    for point in &entry.centre_line {
        finite("centre line", id, point)?;
    }
    let centre_line = CentreLine::new(entry.centre_line.iter().map(|&at| Point::from_array(at)));
    if centre_line.is_none() && !entry.centre_line.is_empty() {
        return Err(rule("the centre line has no length"));
    }
    let axis = match entry.axis {
        None => None,
        Some(AxisEntry::CentreLine) if centre_line.is_none() => {
            return Err(rule("the axis is the centre line, but there is none"));
        }
        Some(AxisEntry::CentreLine) => Some(LongAxis::CentreLine),
        Some(AxisEntry::Line { a, b } | AxisEntry::Principal { a, b }) => {
            finite("axis", id, &a)?;
            finite("axis", id, &b)?;
            let (from, to) = (Point::from_array(a), Point::from_array(b));
            if (to - from).direction().is_none() {
                return Err(rule("the axis has no length"));
            }
            let stated = matches!(entry.axis, Some(AxisEntry::Line { .. }));
            Some(if stated {
                LongAxis::Line { a: from, b: to }
            } else {
                LongAxis::Principal { a: from, b: to }
            })
        }
    };
    if let Some(value) = entry.gas_fraction {
        within("gas_fraction", id, value, 0.0, 1.0, "0 to 1")?;
    }
    if let Some(value) = entry.volume_ml {
        within(
            "volume_ml",
            id,
            value,
            0.0,
            1.0e9,
            "a volume in mL, not negative",
        )?;
    }
    let wall = match &entry.wall {
        None => None,
        Some(wall) => {
            positive("wall", id, wall.mm)?;
            let open_into = wall
                .open_into
                .iter()
                .map(|name| names.structure(name, id))
                .collect::<Result<_, _>>()?;
            Some(Wall {
                tissue: names.tissue(&wall.tissue, id)?,
                mm: wall.mm,
                open_into,
            })
        }
    };
    let segments = entry
        .segments
        .iter()
        .map(|part| segment(part, id, axis.is_some(), centre_line.is_some()));
    Ok(Structure {
        id: StructureId::new(id),
        label: entry.label.clone(),
        short_label: entry.short_label.clone(),
        side: match entry.side {
            SideEntry::Left => BodySide::Left,
            SideEntry::Right => BodySide::Right,
            SideEntry::Mid => BodySide::Mid,
        },
        system: System::from_word(&entry.system).ok_or_else(|| CatalogueError::Unknown {
            what: "body system",
            name: entry.system.clone(),
            of: id.clone(),
        })?,
        tissue: names.tissue(&entry.tissue, id)?,
        priority: entry.priority,
        code: entry.code.as_ref().map(|code| Code {
            text: code.text.clone(),
            from_memory: code.from_memory,
        }),
        wall,
        gas_fraction: entry.gas_fraction,
        axis,
        segments: segments.collect::<Result<_, _>>()?,
        centre_line,
        volume_ml: entry.volume_ml,
    })
}

fn segment(
    entry: &SegmentEntry,
    of: &str,
    axis: bool,
    centre_line: bool,
) -> Result<Segment, CatalogueError> {
    let rule = |reason| {
        Err(CatalogueError::Rule {
            of: of.to_owned(),
            reason,
        })
    };
    match &entry.place {
        SegmentPlace::Arc { from, to } | SegmentPlace::Axis { from, to } => {
            for &value in [from, to] {
                within("segment limit", of, value, 0.0, 1.0, "a fraction, 0 to 1")?;
            }
            if matches!(entry.place, SegmentPlace::Arc { .. }) && !centre_line {
                return rule("a segment by arc needs a centre line");
            }
            if matches!(entry.place, SegmentPlace::Axis { .. }) && !axis {
                return rule("a segment by axis needs an axis");
            }
        }
        SegmentPlace::Z { from, to } => finite("segment limit", of, &[*from, *to])?,
        SegmentPlace::Halfspace { at, n } => {
            finite("segment plane", of, at)?;
            finite("segment plane", of, n)?;
        }
        SegmentPlace::Ellipsoid { c, r } => {
            finite("segment centre", of, c)?;
            for &half_axis in r {
                positive("segment half axis", of, half_axis)?;
            }
        }
        SegmentPlace::Box { lo, hi } => {
            finite("segment box", of, lo)?;
            finite("segment box", of, hi)?;
        }
    }
    Ok(Segment {
        id: entry.id.clone(),
        label: entry.label.clone(),
        place: entry.place.clone(),
    })
}

fn surface(entry: &SurfaceEntry, names: &Names<'_>) -> Result<Surface, CatalogueError> {
    let node = entry.node.as_str();
    let kind = match node {
        "skin" => SurfaceKind::Skin,
        "skin/dermis" => SurfaceKind::Dermis,
        "skin/muscle" => SurfaceKind::Muscle,
        _ => match node.strip_suffix("/wall") {
            Some(structure) => SurfaceKind::Wall(names.structure(structure, node)?),
            None => SurfaceKind::Solid(names.structure(node, node)?),
        },
    };
    let not_inside = entry
        .not_inside
        .iter()
        .map(|name| names.surface(name, node))
        .collect::<Result<_, _>>()?;
    Ok(Surface {
        kind,
        tissue: names.tissue(&entry.tissue, node)?,
        paint_order: entry.paint_order,
        not_inside,
    })
}

fn window(
    entry: &WindowEntry,
    names: &Names<'_>,
    offset_scale: f64,
) -> Result<Window, CatalogueError> {
    let id = &entry.id;
    positive("depth_mm", id, entry.depth_mm)?;
    finite("aim", id, &entry.spec.aim)?;
    for name in entry
        .must_see
        .iter()
        .chain(entry.axis_of.iter().map(|part| &part.structure))
    {
        names.structure(name, id)?;
    }
    let pose = window::pose(&entry.resolved).map_err(|error| CatalogueError::Window {
        id: id.clone(),
        error,
    })?;
    Ok(Window {
        id: id.clone(),
        label: entry.label.clone(),
        plane_hint: entry.plane_hint.clone(),
        transducer: entry.transducer.clone(),
        depth: Mm::new(entry.depth_mm),
        mark: match entry.mark {
            MarkEntry::Left => MarkSide::Left,
            MarkEntry::Right => MarkSide::Right,
        },
        pose,
        aim: Point::from_array(entry.spec.aim.map(|mm| mm * offset_scale)),
        must_see: entry
            .must_see
            .iter()
            .map(|name| StructureId::new(name))
            .collect(),
        axis_of: entry
            .axis_of
            .iter()
            .map(|part| {
                let view = match part.axis {
                    ViewEntry::Long => AxisView::Long,
                    ViewEntry::Short => AxisView::Short,
                    ViewEntry::Oblique => AxisView::Oblique,
                };
                (StructureId::new(&part.structure), view)
            })
            .collect(),
    })
}

/// JSON cannot hold infinities, but a number such as 1e400 reads as one.
fn finite(what: &'static str, of: &str, values: &[f64]) -> Result<(), CatalogueError> {
    for &value in values {
        within(what, of, value, -1.0e9, 1.0e9, "a number of ordinary size")?;
    }
    Ok(())
}

fn positive(what: &'static str, of: &str, value: f64) -> Result<(), CatalogueError> {
    within(
        what,
        of,
        value,
        f64::MIN_POSITIVE,
        1.0e9,
        "a number above zero",
    )
}

fn within(
    what: &'static str,
    of: &str,
    value: f64,
    least: f64,
    most: f64,
    expected: &'static str,
) -> Result<(), CatalogueError> {
    if (least..=most).contains(&value) {
        Ok(())
    } else {
        Err(CatalogueError::Number {
            what,
            of: of.to_owned(),
            value,
            expected,
        })
    }
}
