//! The catalogue from its JSON, field for field.

use std::collections::BTreeMap;

use super::{
    AxisEntry, AxisOfEntry, BodyEntry, Catalogue, CodeEntry, FaceEntry, FaceWord, IndicatorEntry,
    IndicatorWord, MarkEntry, ResolvedEntry, SegmentEntry, SegmentPlace, SexEntry, SideEntry,
    StructureEntry, SurfaceEntry, TissueEntry, ViewEntry, WallEntry, WindowEntry, WindowSpec,
};
use crate::json::{Json, JsonError, kind, whole_number};

impl Catalogue {
    /// Reads a catalogue of this version; names and numbers are not checked against each other here.
    ///
    /// # Errors
    /// [`JsonError`]; a field that the format does not know is an error, too.
    pub fn from_json(json: &Json) -> Result<Self, JsonError> {
        json.only(&[
            "version",
            "body",
            "landmarks",
            "tissues",
            "structures",
            "surfaces",
            "windows",
        ])?;
        for list in ["tissues", "structures", "surfaces", "windows"] {
            json.need(list)?;
        }
        Ok(Self {
            version: json.count("version")?,
            body: body(json.need("body")?)?,
            landmarks: landmarks(json.need("landmarks")?)?,
            tissues: json.each("tissues", tissue)?,
            structures: json.each("structures", structure)?,
            surfaces: json.each("surfaces", surface)?,
            windows: json.each("windows", window)?,
        })
    }
}

/// A field that may be absent.
fn maybe<T>(
    json: &Json,
    name: &'static str,
    make: impl FnOnce(&Json) -> Result<T, JsonError>,
) -> Result<Option<T>, JsonError> {
    json.get(name).map(make).transpose()
}

/// The value that the word of a field stands for.
fn word<T: Copy>(
    json: &Json,
    name: &'static str,
    expected: &'static str,
    words: &[(&str, T)],
) -> Result<T, JsonError> {
    let found = json.text(name)?;
    words
        .iter()
        .find(|(known, _)| *known == found)
        .map(|(_, value)| *value)
        .ok_or_else(|| kind(expected, name))
}

fn text(json: &Json, name: &'static str) -> Result<String, JsonError> {
    json.text(name).map(str::to_owned)
}

fn body(json: &Json) -> Result<BodyEntry, JsonError> {
    json.only(&[
        "id",
        "label",
        "sex",
        "stature_mm",
        "offset_scale",
        "dermis_mm",
    ])?;
    Ok(BodyEntry {
        id: text(json, "id")?,
        label: text(json, "label")?,
        sex: word(
            json,
            "sex",
            "female, male or either",
            &[
                ("female", SexEntry::Female),
                ("male", SexEntry::Male),
                ("either", SexEntry::Either),
            ],
        )?,
        stature_mm: maybe(json, "stature_mm", |value| value.as_number("stature_mm"))?,
        offset_scale: json.number("offset_scale")?,
        dermis_mm: json.number("dermis_mm")?,
    })
}

fn landmarks(json: &Json) -> Result<BTreeMap<String, [f64; 3]>, JsonError> {
    let Json::Object(fields) = json else {
        return Err(kind("an object", "landmarks"));
    };
    let named = |(name, at): &(String, Json)| Ok((name.clone(), at.as_numbers(name)?));
    fields.iter().map(named).collect()
}

fn tissue(json: &Json) -> Result<TissueEntry, JsonError> {
    json.only(&[
        "key", "c", "rho", "z", "att", "n", "bs", "spec", "shadow", "grain", "texture",
    ])?;
    Ok(TissueEntry {
        key: text(json, "key")?,
        c: json.number("c")?,
        rho: json.number("rho")?,
        z: json.number("z")?,
        att: json.number("att")?,
        n: json.number("n")?,
        bs: json.number("bs")?,
        spec: json.number("spec")?,
        shadow: json.flag("shadow")?,
        grain: json.number("grain")?,
        texture: text(json, "texture")?,
    })
}

fn structure(json: &Json) -> Result<StructureEntry, JsonError> {
    json.only(&[
        "id",
        "label",
        "short_label",
        "side",
        "system",
        "tissue",
        "priority",
        "code",
        "wall",
        "gas_fraction",
        "axis",
        "centre_line",
        "segments",
        "volume_ml",
    ])?;
    Ok(StructureEntry {
        id: text(json, "id")?,
        label: text(json, "label")?,
        short_label: text(json, "short_label")?,
        side: word(
            json,
            "side",
            "left, right or mid",
            &[
                ("left", SideEntry::Left),
                ("right", SideEntry::Right),
                ("mid", SideEntry::Mid),
            ],
        )?,
        system: text(json, "system")?,
        tissue: text(json, "tissue")?,
        priority: priority(json.number("priority")?)?,
        code: maybe(json, "code", |code| {
            code.only(&["text", "from_memory"])?;
            Ok(CodeEntry {
                text: text(code, "text")?,
                from_memory: code.flag("from_memory")?,
            })
        })?,
        wall: maybe(json, "wall", |wall| {
            wall.only(&["tissue", "mm", "open_into"])?;
            Ok(WallEntry {
                tissue: text(wall, "tissue")?,
                mm: wall.number("mm")?,
                open_into: wall.texts("open_into")?,
            })
        })?,
        gas_fraction: maybe(json, "gas_fraction", |share| {
            share.as_number("gas_fraction")
        })?,
        axis: maybe(json, "axis", axis)?,
        centre_line: json.each("centre_line", |point| point.as_numbers("centre_line"))?,
        segments: json.each("segments", segment)?,
        volume_ml: maybe(json, "volume_ml", |volume| volume.as_number("volume_ml"))?,
    })
}

fn priority(value: f64) -> Result<i32, JsonError> {
    whole_number(value.abs())
        .and_then(|size| i32::try_from(size).ok())
        .map(|size| if value < 0.0 { -size } else { size })
        .ok_or_else(|| kind("a whole number", "priority"))
}

fn axis(json: &Json) -> Result<AxisEntry, JsonError> {
    let which = json.text("kind")?;
    json.only(if which == "centre_line" {
        &["kind"]
    } else {
        &["kind", "a", "b"]
    })?;
    match which {
        "centre_line" => Ok(AxisEntry::CentreLine),
        "line" | "principal" => {
            let (a, b) = (json.numbers("a")?, json.numbers("b")?);
            Ok(if which == "line" {
                AxisEntry::Line { a, b }
            } else {
                AxisEntry::Principal { a, b }
            })
        }
        _ => Err(kind("line, centre_line or principal", "kind")),
    }
}

fn segment(json: &Json) -> Result<SegmentEntry, JsonError> {
    json.only(&["id", "label", "place"])?;
    Ok(SegmentEntry {
        id: text(json, "id")?,
        label: text(json, "label")?,
        place: place(json.need("place")?)?,
    })
}

fn place(json: &Json) -> Result<SegmentPlace, JsonError> {
    let which = json.text("by")?;
    json.only(match which {
        "halfspace" => &["by", "at", "n"],
        "ellipsoid" => &["by", "c", "r"],
        "box" => &["by", "lo", "hi"],
        _ => &["by", "from", "to"],
    })?;
    Ok(match which {
        "arc" | "z" | "axis" => {
            let (from, to) = (json.number("from")?, json.number("to")?);
            match which {
                "arc" => SegmentPlace::Arc { from, to },
                "z" => SegmentPlace::Z { from, to },
                _ => SegmentPlace::Axis { from, to },
            }
        }
        "halfspace" => SegmentPlace::Halfspace {
            at: json.numbers("at")?,
            n: json.numbers("n")?,
        },
        "ellipsoid" => SegmentPlace::Ellipsoid {
            c: json.numbers("c")?,
            r: json.numbers("r")?,
        },
        "box" => SegmentPlace::Box {
            lo: json.numbers("lo")?,
            hi: json.numbers("hi")?,
        },
        _ => {
            return Err(kind("arc, z, axis, halfspace, ellipsoid or box", "by"));
        }
    })
}

fn surface(json: &Json) -> Result<SurfaceEntry, JsonError> {
    json.only(&["node", "tissue", "paint_order", "not_inside"])?;
    Ok(SurfaceEntry {
        node: text(json, "node")?,
        tissue: text(json, "tissue")?,
        paint_order: json.count("paint_order")?,
        not_inside: json.texts("not_inside")?,
    })
}

fn window(json: &Json) -> Result<WindowEntry, JsonError> {
    json.only(&[
        "id",
        "label",
        "plane_hint",
        "transducer",
        "depth_mm",
        "mark",
        "must_see",
        "axis_of",
        "spec",
        "resolved",
    ])?;
    json.need("must_see")?;
    Ok(WindowEntry {
        id: text(json, "id")?,
        label: text(json, "label")?,
        plane_hint: text(json, "plane_hint")?,
        transducer: text(json, "transducer")?,
        depth_mm: json.number("depth_mm")?,
        mark: word(
            json,
            "mark",
            "left or right",
            &[("left", MarkEntry::Left), ("right", MarkEntry::Right)],
        )?,
        must_see: json.texts("must_see")?,
        axis_of: json.each("axis_of", |entry| {
            entry.only(&["structure", "axis"])?;
            Ok(AxisOfEntry {
                structure: text(entry, "structure")?,
                axis: word(
                    entry,
                    "axis",
                    "long, short or oblique",
                    &[
                        ("long", ViewEntry::Long),
                        ("short", ViewEntry::Short),
                        ("oblique", ViewEntry::Oblique),
                    ],
                )?,
            })
        })?,
        spec: spec(json.need("spec")?)?,
        resolved: resolved(json.need("resolved")?)?,
    })
}

fn spec(json: &Json) -> Result<WindowSpec, JsonError> {
    json.only(&["level", "dx", "dy", "dz", "face", "aim", "indicator"])?;
    let offset = |name| {
        json.get(name)
            .map_or(Ok(0.0), |value| value.as_number(name))
    };
    Ok(WindowSpec {
        level: text(json, "level")?,
        dx: offset("dx")?,
        dy: offset("dy")?,
        dz: offset("dz")?,
        face: match json.need("face")? {
            ray @ Json::List(_) => FaceEntry::Ray(ray.as_numbers("face")?),
            _ => FaceEntry::Word(word(
                json,
                "face",
                "a side of the body or a vector",
                &[
                    ("anterior", FaceWord::Anterior),
                    ("posterior", FaceWord::Posterior),
                    ("superior", FaceWord::Superior),
                    ("left", FaceWord::Left),
                    ("right", FaceWord::Right),
                ],
            )?),
        },
        aim: json.numbers("aim")?,
        indicator: match json.need("indicator")? {
            vector @ Json::List(_) => IndicatorEntry::Vector(vector.as_numbers("indicator")?),
            _ => IndicatorEntry::Word(word(
                json,
                "indicator",
                "a direction of the body or a vector",
                &[
                    ("head", IndicatorWord::Head),
                    ("feet", IndicatorWord::Feet),
                    ("foot", IndicatorWord::Feet),
                    ("left", IndicatorWord::Left),
                    ("right", IndicatorWord::Right),
                    ("anterior", IndicatorWord::Anterior),
                    ("posterior", IndicatorWord::Posterior),
                ],
            )?),
        },
    })
}

fn resolved(json: &Json) -> Result<ResolvedEntry, JsonError> {
    json.only(&["contact", "normal", "notch", "beam"])?;
    Ok(ResolvedEntry {
        contact: json.numbers("contact")?,
        normal: json.numbers("normal")?,
        notch: json.numbers("notch")?,
        beam: json.numbers("beam")?,
    })
}
