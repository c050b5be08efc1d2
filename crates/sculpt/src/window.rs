//! Probe windows out of `windows.toml`, carried out on the exact skin of one body.

use crate::error::ModelError;
use crate::keys::{Keys, Site};
use crate::marching::project;
use crate::model::Model;
use crate::triple::{self as t, Triple};
use anatomy::catalogue::{
    AxisOfEntry, FaceEntry, FaceWord, IndicatorEntry, IndicatorWord, MarkEntry, ResolvedEntry,
    ViewEntry, WindowEntry, WindowSpec,
};
use std::path::Path;
use toml::{Table, Value};

/// Radius of the disc over which the skin normal is averaged, mm: about half a probe face (common practice, no
/// source).
const NORMAL_RADIUS: f64 = 12.0;

/// Step of the search along a ray, mm: finer than any fold of the skin.
const RAY_STEP: f64 = 0.5;

/// Length of the search along a ray, mm: longer than any body is thick.
const RAY_LENGTH: f64 = 1200.0;

/// All windows of `model`, resolved.
///
/// # Errors
/// [`ModelError`] naming the window and key: also for a structure, landmark or contact point that does not exist.
pub fn load_windows(models_dir: &Path, model: &Model) -> Result<Vec<WindowEntry>, ModelError> {
    let file = "windows.toml";
    let path = models_dir.join(file);
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
    let mut out = Vec::new();
    for entry in keys.list("window")? {
        if let Some(window) = read_window(entry, model)? {
            out.push(window);
        }
    }
    keys.finish()?;
    Ok(out)
}

fn read_window(entry: Value, model: &Model) -> Result<Option<WindowEntry>, ModelError> {
    let name = entry
        .get("id")
        .and_then(Value::as_str)
        .unwrap_or("window without id")
        .to_owned();
    let site = Site {
        file: "windows.toml".to_owned(),
        structure: name,
    };
    let Value::Table(mut table) = entry else {
        return Err(site.wrong("window", "a table"));
    };
    if let Some(Value::Table(per_body)) = table.remove("per_body")
        && let Some(Value::Table(own)) = per_body.get(&model.id)
    {
        for (key, value) in own {
            table.insert(key.clone(), value.clone());
        }
    }
    let mut keys = Keys::new(&site, "", table);
    let id = keys.need_text("id")?;
    let label = keys.need_text("label")?;
    let bodies = keys.texts("bodies")?;
    if !bodies.contains(&model.id) {
        return Ok(None);
    }
    let spec = WindowSpec {
        level: keys.need_text("level")?,
        dx: keys.number("dx")?.unwrap_or(0.0),
        dy: keys.number("dy")?.unwrap_or(0.0),
        dz: keys.number("dz")?.unwrap_or(0.0),
        face: read_face(&mut keys)?,
        aim: keys.need_triple("aim")?,
        indicator: read_indicator(&mut keys)?,
    };
    let mark = match keys.need_text("marker_side")?.as_str() {
        "left" => MarkEntry::Left,
        "right" => MarkEntry::Right,
        _ => return Err(keys.wrong("marker_side", "left or right")),
    };
    let transducer = keys.need_text("probe")?.replace('-', "_");
    let depth_mm = 10.0 * keys.need_number("depth_cm")?;
    let plane_hint = keys.need_text("plane")?;
    let must_see = keys.texts("must_see")?;
    for id in &must_see {
        need_structure(model, &site, "must_see", id)?;
    }
    let mut axis_of = Vec::new();
    for value in keys.list("axis_of")? {
        let mut k = Keys::of_value(&site, "axis_of", value)?;
        let structure = k.need_text("structure")?;
        need_structure(model, &site, "axis_of.structure", &structure)?;
        let axis = match k.need_text("axis")?.as_str() {
            "long" => ViewEntry::Long,
            "short" => ViewEntry::Short,
            "oblique" => ViewEntry::Oblique,
            _ => return Err(k.wrong("axis", "long, short or oblique")),
        };
        k.finish()?;
        axis_of.push(AxisOfEntry { structure, axis });
    }
    keys.finish()?;
    let resolved = resolve(model, &spec, &site)?;
    Ok(Some(WindowEntry {
        id,
        label,
        plane_hint,
        transducer,
        depth_mm,
        mark,
        must_see,
        axis_of,
        spec,
        resolved,
    }))
}

fn need_structure(model: &Model, site: &Site, key: &str, id: &str) -> Result<(), ModelError> {
    match model.find(id) {
        Some(_) => Ok(()),
        None => Err(ModelError::UnknownName {
            file: site.file.clone(),
            structure: site.structure.clone(),
            key: key.to_owned(),
            name: id.to_owned(),
        }),
    }
}

fn read_face(keys: &mut Keys<'_>) -> Result<FaceEntry, ModelError> {
    match keys.take("face") {
        Some(Value::String(s)) => Ok(FaceEntry::Word(match s.as_str() {
            "anterior" => FaceWord::Anterior,
            "posterior" => FaceWord::Posterior,
            "superior" => FaceWord::Superior,
            "left" => FaceWord::Left,
            "right" => FaceWord::Right,
            _ => {
                return Err(keys.wrong(
                    "face",
                    "anterior, posterior, superior, left, right or a vector",
                ));
            }
        })),
        Some(v) => crate::keys::numbers(&v)
            .and_then(|l| Triple::try_from(l).ok())
            .filter(|d| t::length(*d) > 1e-6)
            .map(FaceEntry::Ray)
            .ok_or_else(|| keys.wrong("face", "a word or a direction")),
        None => Err(keys.missing("face")),
    }
}

fn read_indicator(keys: &mut Keys<'_>) -> Result<IndicatorEntry, ModelError> {
    match keys.take("indicator") {
        Some(Value::String(s)) => Ok(IndicatorEntry::Word(match s.as_str() {
            "head" => IndicatorWord::Head,
            "feet" | "foot" => IndicatorWord::Feet,
            "left" => IndicatorWord::Left,
            "right" => IndicatorWord::Right,
            "anterior" => IndicatorWord::Anterior,
            "posterior" => IndicatorWord::Posterior,
            _ => {
                return Err(keys.wrong(
                    "indicator",
                    "head, feet, left, right, anterior, posterior or a vector",
                ));
            }
        })),
        Some(v) => crate::keys::numbers(&v)
            .and_then(|l| Triple::try_from(l).ok())
            .map(IndicatorEntry::Vector)
            .ok_or_else(|| keys.wrong("indicator", "a word or a direction")),
        None => Err(keys.missing("indicator")),
    }
}

fn resolve(model: &Model, spec: &WindowSpec, site: &Site) -> Result<ResolvedEntry, ModelError> {
    let s = model.offset_scale;
    let level = model
        .landmarks
        .get(&spec.level)
        .ok_or_else(|| ModelError::UnknownName {
            file: site.file.clone(),
            structure: site.structure.clone(),
            key: "level".to_owned(),
            name: spec.level.clone(),
        })?;
    let (x, y, z) = (spec.dx * s, spec.dy * s, level[2] + spec.dz * s);
    // A ray from outside finds the first skin it meets; from inside, the first exit.
    let (start, along, from_inside) = match spec.face {
        FaceEntry::Word(FaceWord::Anterior) => ([x, -RAY_LENGTH / 2.0, z], [0.0, 1.0, 0.0], false),
        FaceEntry::Word(FaceWord::Posterior) => ([x, RAY_LENGTH / 2.0, z], [0.0, -1.0, 0.0], false),
        FaceEntry::Word(FaceWord::Superior) => (
            [x, level[1] + y, level[2] + RAY_LENGTH / 2.0],
            [0.0, 0.0, -1.0],
            false,
        ),
        FaceEntry::Word(FaceWord::Left) => ([0.0, y, z], [1.0, 0.0, 0.0], true),
        FaceEntry::Word(FaceWord::Right) => ([0.0, y, z], [-1.0, 0.0, 0.0], true),
        FaceEntry::Ray(v) => {
            let v = t::unit(v).ok_or_else(|| site.wrong("face", "a direction"))?;
            (t::sub([x, y, z], t::scale(v, RAY_LENGTH / 2.0)), v, false)
        }
    };
    let skin = |p: Triple| model.value(model.skin, p);
    let contact = first_crossing(&skin, start, along, from_inside)
        .ok_or_else(|| site.wrong("face", "a ray that meets the skin"))?;
    let aim = t::scale(spec.aim, s);
    let beam = t::unit(t::sub(aim, contact))
        .ok_or_else(|| site.wrong("aim", "away from the contact point"))?;
    let indicator = match spec.indicator {
        IndicatorEntry::Vector(v) => v,
        IndicatorEntry::Word(word) => match word {
            IndicatorWord::Head => [0.0, 0.0, 1.0],
            IndicatorWord::Feet => [0.0, 0.0, -1.0],
            IndicatorWord::Left => [1.0, 0.0, 0.0],
            IndicatorWord::Right => [-1.0, 0.0, 0.0],
            IndicatorWord::Anterior => [0.0, -1.0, 0.0],
            IndicatorWord::Posterior => [0.0, 1.0, 0.0],
        },
    };
    let notch = t::unit(t::reject(indicator, beam))
        .ok_or_else(|| site.wrong("indicator", "a direction across the beam"))?;
    Ok(ResolvedEntry {
        contact,
        normal: smoothed_normal(&skin, contact),
        notch,
        beam,
    })
}

fn first_crossing(
    field: &dyn Fn(Triple) -> f64,
    start: Triple,
    along: Triple,
    from_inside: bool,
) -> Option<Triple> {
    let steps = crate::grid::count(RAY_LENGTH / RAY_STEP);
    let at = |s: f64| t::add(start, t::scale(along, s));
    let beyond = |s: f64| (field(at(s)) < 0.0) != from_inside;
    let hit = (0..=steps).find(|&i| beyond(crate::grid::float(i) * RAY_STEP))?;
    let (mut lo, mut hi) = (
        crate::grid::float(hit.saturating_sub(1)) * RAY_STEP,
        crate::grid::float(hit) * RAY_STEP,
    );
    for _ in 0..30 {
        let mid = (lo + hi) / 2.0;
        if beyond(mid) {
            hi = mid;
        } else {
            lo = mid;
        }
    }
    Some(at((lo + hi) / 2.0))
}

/// Mean outward normal over a ring and the centre, so that a small dent does not tip the probe.
fn smoothed_normal(field: &dyn Fn(Triple) -> f64, at: Triple) -> Triple {
    const RING: u32 = 8;
    let own = t::unit(Model::gradient(field, at)).unwrap_or([0.0, -1.0, 0.0]);
    let u = t::any_perpendicular(own);
    let v = t::cross(own, u);
    let mut sum = own;
    for i in 0..RING {
        let angle = std::f64::consts::TAU * f64::from(i) / f64::from(RING);
        let offset = t::add(
            t::scale(u, NORMAL_RADIUS * libm::cos(angle)),
            t::scale(v, NORMAL_RADIUS * libm::sin(angle)),
        );
        let p = project(t::add(at, offset), field, 3, NORMAL_RADIUS);
        if let Some(n) = t::unit(Model::gradient(field, p)) {
            sum = t::add(sum, n);
        }
    }
    t::unit(sum).unwrap_or(own)
}
