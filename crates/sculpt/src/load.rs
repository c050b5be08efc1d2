//! TOML files to a [`Model`]: includes with their scale, pairs, replacement by id, references.

use crate::error::ModelError;
use crate::keys::{Keys, Site, number, numbers};
use crate::model::{
    Axis, FatTable, Frame, Model, Op, Region, Segment, Side, Solid, Structure, Term, Wall,
    solid_bounds,
};
use crate::read_shape::read_terms;
use crate::triple::{self as t, Bounds, Triple};
use std::collections::BTreeMap;
use std::path::Path;
use toml::{Table, Value};

/// One structure before names are resolved to indices.
pub(crate) struct Draft {
    pub(crate) site: Site,
    structure: Structure,
    /// Ids of the references in shape order; the shapes hold positions in this list until they are resolved.
    references: Vec<String>,
    open_into: Vec<String>,
}

#[derive(Default)]
struct Gathered {
    body: Option<(Site, Table)>,
    landmarks: BTreeMap<String, Triple>,
    frames: BTreeMap<String, Frame>,
    drafts: Vec<Draft>,
}

impl Model {
    /// Loads `<models_dir>/<body>.toml` with everything it includes.
    ///
    /// # Errors
    /// [`ModelError`]: a file that cannot be read or parsed, or a key that is missing, unknown, wrong or names
    /// something the body does not have.
    pub fn load(models_dir: &Path, body: &str) -> Result<Self, ModelError> {
        let mut gathered = Gathered::default();
        read_file(
            models_dir,
            &format!("{body}.toml"),
            1.0,
            &mut Vec::new(),
            &mut gathered,
        )?;
        finish(gathered, body)
    }
}

fn read_file(
    dir: &Path,
    file: &str,
    scale: f64,
    open: &mut Vec<String>,
    gathered: &mut Gathered,
) -> Result<(), ModelError> {
    if open.iter().any(|f| f == file) {
        return Err(ModelError::IncludeCycle {
            file: file.to_owned(),
        });
    }
    let path = dir.join(file);
    let text =
        std::fs::read_to_string(&path).map_err(|source| ModelError::Read { path, source })?;
    let table: Table = toml::from_str(&text).map_err(|source| ModelError::Syntax {
        file: file.to_owned(),
        source: Box::new(source),
    })?;
    let site = Site {
        file: file.to_owned(),
        structure: "file".to_owned(),
    };
    let mut keys = Keys::new(&site, "", table);

    open.push(file.to_owned());
    for entry in keys.list("include")? {
        let mut include = Keys::of_value(&site, "include", entry)?;
        let name = include.need_text("file")?;
        let by = include.number("scale")?.unwrap_or(1.0);
        include.finish()?;
        read_file(dir, &name, scale * by, open, gathered)?;
    }
    open.pop();

    if let Some(Value::Table(body)) = keys.take("body") {
        let site = Site {
            file: file.to_owned(),
            structure: "body".to_owned(),
        };
        let mut names = Keys::new(&site, "", body);
        let drop = names.texts("drop")?;
        gathered.drafts.retain(|d| {
            let id = &d.structure.id;
            !drop.iter().any(|x| {
                x == id
                    || id.strip_prefix("left_") == Some(x)
                    || id.strip_prefix("right_") == Some(x)
            })
        });
        let rest: Table = names
            .names()
            .into_iter()
            .filter_map(|k| names.take(&k).map(|v| (k, v)))
            .collect();
        gathered.body = Some((site, rest));
    }
    if let Some(mut table) = keys.table("landmark")? {
        for name in table.names() {
            let p = table.need_triple(&name)?;
            gathered.landmarks.insert(name, t::scale(p, scale));
        }
    }
    if let Some(mut table) = keys.table("frame")? {
        for name in table.names() {
            let Some(mut f) = table.table(&name)? else {
                continue;
            };
            let frame = Frame {
                origin: t::scale(f.need_triple("origin")?, scale),
                rows: [
                    f.need_triple("x")?,
                    f.need_triple("y")?,
                    f.need_triple("z")?,
                ],
            };
            f.finish()?;
            gathered.frames.insert(name, frame);
        }
    }
    for entry in keys.list("structure")? {
        for draft in read_structure(file, entry, scale, &gathered.frames)? {
            match gathered
                .drafts
                .iter_mut()
                .find(|d| d.structure.id == draft.structure.id)
            {
                Some(old) => *old = draft,
                None => gathered.drafts.push(draft),
            }
        }
    }
    keys.finish()
}

fn read_structure(
    file: &str,
    entry: Value,
    scale: f64,
    frames: &BTreeMap<String, Frame>,
) -> Result<Vec<Draft>, ModelError> {
    let name = entry
        .get("id")
        .and_then(Value::as_str)
        .map_or_else(|| "structure without id".to_owned(), str::to_owned);
    let site = Site {
        file: file.to_owned(),
        structure: name,
    };
    let mut keys = Keys::of_value(&site, "", entry)?;
    let id = keys.need_text("id")?;
    let label = keys.need_text("label")?;
    let short_label = keys.text("short_label")?.unwrap_or_else(|| label.clone());
    let side = keys.need_text("side")?;
    let system = keys.need_text("system")?;
    let tissue = keys.need_text("tissue")?;
    let priority = keys.need_number("priority")?;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "priorities are small whole numbers, checked just below"
    )]
    let priority_whole = priority as i64;
    if priority.fract() != 0.0 || priority.abs() > 1e6 {
        return Err(keys.wrong("priority", "a small whole number"));
    }
    let code = keys.text("code")?;
    let mut open_into = Vec::new();
    let wall = match keys.table("wall")? {
        None => None,
        Some(mut w) => {
            let wall = Wall {
                tissue: w.need_text("tissue")?,
                mm: w.need_number("mm")? * scale,
                open_into: Vec::new(),
            };
            open_into = w.texts("open_into")?;
            w.finish()?;
            Some(wall)
        }
    };
    let gas_fraction = keys.number("gas_fraction")?;
    let axis_table = keys.table("axis")?;
    let segment_values = keys.list("segments")?;
    let mut references = Vec::new();
    let terms = read_terms(&mut keys, scale, frames, &mut references)?;
    keys.finish()?;

    let centreline = terms.iter().find_map(|term| match &term.shape {
        crate::shape::Shape::Tube(tube) => {
            let place = |p: Triple| term.frame.as_ref().map_or(p, |f| f.patient(p));
            Some(
                tube.centreline()
                    .iter()
                    .map(|&p| place(p))
                    .collect::<Vec<_>>(),
            )
        }
        _ => None,
    });
    let axis = read_axis(axis_table, scale, frames, centreline.as_ref(), &site)?;
    let segments = read_segments(segment_values, scale, centreline.as_ref(), &site)?;
    let base = Structure {
        id,
        label,
        short_label,
        side: Side::Mid,
        system,
        tissue,
        priority: priority_whole,
        code,
        wall,
        gas_fraction,
        axis,
        segments,
        solid: Solid::new(terms),
        centreline: centreline.unwrap_or_default(),
    };
    let draft = |structure: Structure, word: &str| Draft {
        site: site.clone(),
        structure,
        references: references
            .iter()
            .map(|r| r.replace("{side}", word))
            .collect(),
        open_into: open_into
            .iter()
            .map(|r| r.replace("{side}", word))
            .collect(),
    };
    Ok(match side.as_str() {
        "left" => vec![draft(
            Structure {
                side: Side::Left,
                ..base
            },
            "left",
        )],
        "right" => vec![draft(
            Structure {
                side: Side::Right,
                ..base
            },
            "right",
        )],
        "mid" => vec![draft(base, "mid")],
        "pair" => {
            let sided = |side: Side, word: &str, short: &str| Structure {
                id: format!("{word}_{}", base.id),
                label: format!("{}{} {}", word[..1].to_uppercase(), &word[1..], base.label),
                short_label: format!("{short} {}", base.short_label),
                side,
                ..base.clone()
            };
            let left = sided(Side::Left, "left", "Lt");
            let right = mirrored(sided(Side::Right, "right", "Rt"));
            vec![draft(left, "left"), draft(right, "right")]
        }
        _ => return Err(site.wrong("side", "left, right, mid or pair")),
    })
}

/// The right one of a pair: everything stated in patient coordinates seen in the mirror.
fn mirrored(mut s: Structure) -> Structure {
    s.solid.mirrored = true;
    s.centreline = s.centreline.into_iter().map(t::mirror).collect();
    s.axis = match s.axis {
        Axis::Line { a, b } => Axis::Line {
            a: t::mirror(a),
            b: t::mirror(b),
        },
        Axis::Centreline => Axis::Centreline,
        Axis::Principal => Axis::Principal,
    };
    for segment in &mut s.segments {
        segment.region = match segment.region.clone() {
            Region::HalfSpace { at, n } => Region::HalfSpace {
                at: t::mirror(at),
                n: t::mirror(n),
            },
            Region::Ellipsoid { c, r } => Region::Ellipsoid { c: t::mirror(c), r },
            Region::Box { lo, hi } => {
                let b = Bounds { lo, hi }.mirrored();
                Region::Box { lo: b.lo, hi: b.hi }
            }
            other => other,
        };
    }
    s
}

fn read_axis(
    table: Option<Keys<'_>>,
    scale: f64,
    frames: &BTreeMap<String, Frame>,
    centreline: Option<&Vec<Triple>>,
    site: &Site,
) -> Result<Axis, ModelError> {
    let Some(mut keys) = table else {
        return Ok(Axis::Principal);
    };
    let axis = match keys.need_text("kind")?.as_str() {
        "line" => {
            let (a, b) = (
                t::scale(keys.need_triple("a")?, scale),
                t::scale(keys.need_triple("b")?, scale),
            );
            match keys.text("frame")? {
                None => Axis::Line { a, b },
                Some(name) => {
                    let frame = find_frame(frames, &name, site, "axis.frame")?;
                    Axis::Line {
                        a: frame.patient(a),
                        b: frame.patient(b),
                    }
                }
            }
        }
        "tube" => {
            if centreline.is_none() {
                return Err(keys.wrong(
                    "kind",
                    "\"line\", because there is no tube among the shapes",
                ));
            }
            Axis::Centreline
        }
        _ => return Err(keys.wrong("kind", "\"line\" or \"tube\"")),
    };
    keys.finish()?;
    Ok(axis)
}

/// A frame by name.
pub(crate) fn find_frame(
    frames: &BTreeMap<String, Frame>,
    name: &str,
    site: &Site,
    key: &str,
) -> Result<Frame, ModelError> {
    frames
        .get(name)
        .copied()
        .ok_or_else(|| ModelError::UnknownName {
            file: site.file.clone(),
            structure: site.structure.clone(),
            key: key.to_owned(),
            name: name.to_owned(),
        })
}

fn read_segments(
    values: Vec<Value>,
    scale: f64,
    centreline: Option<&Vec<Triple>>,
    site: &Site,
) -> Result<Vec<Segment>, ModelError> {
    values
        .into_iter()
        .map(|value| {
            let mut keys = Keys::of_value(site, "segments", value)?;
            let (id, label) = (keys.need_text("id")?, keys.need_text("label")?);
            let region = match keys.need_text("by")?.as_str() {
                "arc" => {
                    if centreline.is_none() {
                        return Err(
                            keys.wrong("by", "something other than \"arc\": there is no tube")
                        );
                    }
                    Region::Arc {
                        from: keys.need_number("from")?,
                        to: keys.need_number("to")?,
                    }
                }
                "z" => Region::Z {
                    from: keys.need_number("from")? * scale,
                    to: keys.need_number("to")? * scale,
                },
                "axis" => Region::AxisFraction {
                    from: keys.need_number("from")?,
                    to: keys.need_number("to")?,
                },
                "halfspace" => Region::HalfSpace {
                    at: t::scale(keys.need_triple("at")?, scale),
                    n: keys.need_triple("n")?,
                },
                "ellipsoid" => Region::Ellipsoid {
                    c: t::scale(keys.need_triple("c")?, scale),
                    r: t::scale(keys.need_triple("r")?, scale),
                },
                "box" => Region::Box {
                    lo: t::scale(keys.need_triple("lo")?, scale),
                    hi: t::scale(keys.need_triple("hi")?, scale),
                },
                _ => return Err(keys.wrong("by", "arc, z, axis, halfspace, ellipsoid or box")),
            };
            keys.finish()?;
            Ok(Segment { id, label, region })
        })
        .collect()
}

/// A fat entry: one number, or a table of (z, mm).
pub(crate) fn read_fat(value: &Value, scale: f64) -> Option<FatTable> {
    if let Some(mm) = number(value) {
        return Some(FatTable(vec![(0.0, mm * scale)]));
    }
    let mut rows = value
        .as_array()?
        .iter()
        .map(|row| match numbers(row)?.as_slice() {
            [z, mm] => Some((z * scale, mm * scale)),
            _ => None,
        })
        .collect::<Option<Vec<_>>>()?;
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    (!rows.is_empty()).then_some(FatTable(rows))
}

fn finish(gathered: Gathered, body: &str) -> Result<Model, ModelError> {
    let (site, table) = gathered.body.ok_or_else(|| ModelError::MissingKey {
        file: format!("{body}.toml"),
        structure: "file".to_owned(),
        key: "body".to_owned(),
    })?;
    let mut keys = Keys::new(&site, "body", table);
    let id = keys.need_text("id")?;
    let label = keys.need_text("label")?;
    let sex = keys.need_text("sex")?;
    if !["female", "male", "either"].contains(&sex.as_str()) {
        return Err(keys.wrong("sex", "female, male or either"));
    }
    let stature_mm = keys.number("stature_mm")?;
    let dermis_mm = keys.need_number("dermis_mm")?;
    let offset_scale = keys.number("offset_scale")?.unwrap_or(1.0);
    keys.finish()?;

    let ids: BTreeMap<String, usize> = gathered
        .drafts
        .iter()
        .enumerate()
        .map(|(i, d)| (d.structure.id.clone(), i))
        .collect();
    let mut structures = Vec::with_capacity(gathered.drafts.len());
    for draft in gathered.drafts {
        let find = |name: &String, key: &str| {
            ids.get(name)
                .copied()
                .ok_or_else(|| ModelError::UnknownName {
                    file: draft.site.file.clone(),
                    structure: draft.site.structure.clone(),
                    key: key.to_owned(),
                    name: name.clone(),
                })
        };
        let mut s = draft.structure;
        for term in &mut s.solid.terms {
            if let crate::shape::Shape::Ref(place) = &mut term.shape {
                *place = find(&draft.references[*place], "shapes.id")?;
            }
        }
        if let Some(wall) = &mut s.wall {
            wall.open_into = draft
                .open_into
                .iter()
                .map(|name| find(name, "wall.open_into"))
                .collect::<Result<_, _>>()?;
        }
        structures.push((draft.site, s));
    }
    let order = reference_order(&structures)?;
    let mut boxes = vec![Bounds::EMPTY; structures.len()];
    for &i in &order {
        boxes[i] = solid_bounds(&structures[i].1.solid, &|other| boxes[other]);
    }
    for ((_, s), b) in structures.iter_mut().zip(boxes) {
        s.solid.bounds = b;
    }
    let skin = ids
        .get("skin")
        .copied()
        .ok_or_else(|| ModelError::UnknownName {
            file: site.file.clone(),
            structure: "body".to_owned(),
            key: "structure".to_owned(),
            name: "skin".to_owned(),
        })?;
    let structures: Vec<Structure> = structures.into_iter().map(|(_, s)| s).collect();
    Ok(Model {
        id,
        label,
        sex,
        stature_mm,
        dermis_mm,
        offset_scale,
        landmarks: gathered.landmarks,
        structures,
        skin,
    })
}

/// An order in which every structure comes after those it refers to.
fn reference_order(structures: &[(Site, Structure)]) -> Result<Vec<usize>, ModelError> {
    fn visit(
        i: usize,
        structures: &[(Site, Structure)],
        state: &mut [u8],
        order: &mut Vec<usize>,
    ) -> Result<(), ModelError> {
        if state[i] == 2 {
            return Ok(());
        }
        state[i] = 1;
        for term in &structures[i].1.solid.terms {
            let crate::shape::Shape::Ref(other) = term.shape else {
                continue;
            };
            if state[other] == 1 {
                let (site, s) = &structures[i];
                return Err(ModelError::CircularReference {
                    file: site.file.clone(),
                    structure: s.id.clone(),
                    name: structures[other].1.id.clone(),
                });
            }
            visit(other, structures, state, order)?;
        }
        state[i] = 2;
        order.push(i);
        Ok(())
    }
    let mut state = vec![0; structures.len()];
    let mut order = Vec::with_capacity(structures.len());
    for i in 0..structures.len() {
        visit(i, structures, &mut state, &mut order)?;
    }
    Ok(order)
}

/// Terms with their op, for [`read_terms`].
pub(crate) fn read_op(keys: &mut Keys<'_>) -> Result<Op, ModelError> {
    match keys.text("op")?.as_deref() {
        None | Some("add") => Ok(Op::Add),
        Some("sub") => Ok(Op::Sub),
        Some("and") => Ok(Op::And),
        Some(_) => Err(keys.wrong("op", "add, sub or and")),
    }
}

/// The second term of a shape with `both`: its mirror image, always joined by its own op.
pub(crate) fn mirror_term(term: &Term) -> Term {
    Term {
        mirrored: true,
        ..term.clone()
    }
}
