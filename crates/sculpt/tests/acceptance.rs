//! Sizes of organs and of the outside of the body against published and remembered values.

#![expect(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the measured values are worth reading with --nocapture, and a test stops at the first thing that is wrong"
)]

mod support;

use sculpt::exact::{Label, Labeller};
use sculpt::model::{Axis, Model};
use sculpt::triple::{self as t, Bounds};
use serde::Deserialize;
use support::{girth, index, model, volume_ml};

/// How far the formulas may be from the values they were fitted with: a grid of 1.5-2 mm makes up most of it.
const MODEL_SHARE: f64 = 0.03;
/// How far a model may be from the reference: bodies differ more than this.
const REFERENCE_SHARE: f64 = 0.20;
/// The same for outside measures.
const SURVEY_SHARE: f64 = 0.075;

#[derive(Deserialize)]
struct Volumes {
    volume: Vec<Volume>,
}

#[derive(Deserialize)]
struct Volume {
    what: String,
    mode: String,
    woman: Option<Sizes>,
    man: Option<Sizes>,
    source: String,
}

#[derive(Deserialize)]
struct Sizes {
    model: f64,
    reference: f64,
}

#[test]
fn volumes_match_the_table() {
    let table: Volumes = toml::from_str(include_str!("data/volumes.toml")).unwrap();
    let mut problems = Vec::new();
    for row in &table.volume {
        for (body, sizes) in [("adult_female", &row.woman), ("adult_male", &row.man)] {
            let Some(sizes) = sizes else { continue };
            let ml = measured_volume(model(body), row);
            for (what, wanted, share) in [
                ("model", sizes.model, MODEL_SHARE),
                ("reference", sizes.reference, REFERENCE_SHARE),
            ] {
                if (ml / wanted - 1.0).abs() > share {
                    problems.push(format!(
                        "{body} {}: {ml:.1} mL, {what} {wanted} ({})",
                        row.what, row.source
                    ));
                }
            }
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

fn measured_volume(m: &Model, row: &Volume) -> f64 {
    let ids: Vec<usize> = if row.what == "heart" {
        (0..m.structures.len())
            .filter(|&i| {
                m.structures[i].system == "cardiac" && m.structures[i].id != "epicardial_fat"
            })
            .collect()
    } else {
        row.what.split('+').map(|id| index(m, id)).collect()
    };
    let bounds = |i: usize| {
        let s = &m.structures[i];
        s.solid.bounds.grown(s.wall.as_ref().map_or(0.0, |w| w.mm))
    };
    let b = ids
        .iter()
        .map(|&i| bounds(i))
        .fold(Bounds::EMPTY, Bounds::union);
    let size = b.size();
    let step = (libm::cbrt(size[0] * size[1] * size[2]) / 70.0).clamp(0.4, 3.0);
    match row.mode.as_str() {
        "solid" => volume_ml(b, step, |p| ids.iter().any(|&i| m.value(i, p) < 0.0)),
        "wall" => volume_ml(b, step, |p| {
            ids.iter()
                .any(|&i| m.value(i, p) < m.structures[i].wall.as_ref().map_or(0.0, |w| w.mm))
        }),
        "painted" => {
            let labeller = Labeller::new(m);
            volume_ml(b, step, |p| match labeller.label(p) {
                Label::Solid(i) | Label::Wall(i) => ids.contains(&i),
                _ => false,
            })
        }
        other => panic!("unknown mode {other}"),
    }
}

/// Cerebrum, cerebellum and brainstem of a neonate, by what they are painted with; neither fluid nor folds of the pia.
const BRAIN_TISSUES: [&str; 5] = [
    "brain_neonate",
    "deep_grey",
    "corpus_callosum",
    "cerebellum",
    "vermis",
];

/// Whole brain at birth by magnetic resonance, mL: 336 for girls, 347 for boys (Holland and others, JAMA Neurology 2014;
/// 71: 1266-1274). This head is of either sex.
const BRAIN_AT_BIRTH: [f64; 2] = [336.0, 347.0];

#[test]
fn the_infants_brain_has_the_published_volume() {
    let m = model("infant_head");
    let labeller = Labeller::new(m);
    let brain = m
        .structures
        .iter()
        .filter(|s| BRAIN_TISSUES.contains(&s.tissue.as_str()));
    let bounds = brain.fold(Bounds::EMPTY, |b, s| b.union(s.solid.bounds));
    let ml = volume_ml(bounds, 1.0, |p| match labeller.label(p) {
        Label::Solid(i) => BRAIN_TISSUES.contains(&m.structures[i].tissue.as_str()),
        _ => false,
    });
    println!("infant_head brain: {ml:.1} mL");
    assert!(
        (BRAIN_AT_BIRTH[0]..=BRAIN_AT_BIRTH[1]).contains(&ml),
        "brain of {ml:.1} mL"
    );
}

#[derive(Deserialize)]
struct SizeTable {
    length: Vec<Size>,
    calibre: Vec<Size>,
}

/// A row of the table of lengths and calibres; a body without a range does not have the structure.
#[derive(Deserialize)]
struct Size {
    what: String,
    share: Option<f64>,
    z: Option<f64>,
    edge: Option<String>,
    woman: Option<[f64; 2]>,
    man: Option<[f64; 2]>,
    source: String,
}

#[test]
fn lengths_and_calibres_match_the_table() {
    let table: SizeTable = toml::from_str(include_str!("data/sizes.toml")).unwrap();
    let mut problems = Vec::new();
    for row in table.length.iter().chain(&table.calibre) {
        for (body, range) in [("adult_female", row.woman), ("adult_male", row.man)] {
            let Some([lo, hi]) = range else { continue };
            let m = model(body);
            let mm = match &row.edge {
                None => length(m, &row.what),
                Some(edge) => calibre(m, row, edge),
            };
            println!("{body} {}: {mm:.1} mm, {lo} to {hi}", row.what);
            if !(lo..=hi).contains(&mm) {
                problems.push(format!(
                    "{body} {}: {mm:.1} mm, not {lo} to {hi} ({})",
                    row.what, row.source
                ));
            }
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

/// Extent of a structure along its axis; along a centre line its length with the round ends.
fn length(m: &Model, id: &str) -> f64 {
    let i = index(m, id);
    let s = &m.structures[i];
    let Axis::Line { a, b } = s.axis else {
        let line: f64 = s
            .centreline
            .windows(2)
            .map(|w| t::length(t::sub(w[1], w[0])))
            .sum();
        let ends = [0.0, 1.0].map(|share| support::calibre_across(m, id, share, 0.0) / 2.0);
        return line + ends[0] + ends[1];
    };
    let along = t::unit(t::sub(b, a)).expect("an axis of some length");
    let places: Vec<f64> = support::grid(s.solid.bounds, 1.0)
        .filter(|&p| m.value(i, p) < 0.0)
        .map(|p| t::dot(p, along))
        .collect();
    places.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        - places.iter().copied().fold(f64::INFINITY, f64::min)
}

fn calibre(m: &Model, row: &Size, edge: &str) -> f64 {
    let s = &m.structures[index(m, &row.what)];
    let wall = match edge {
        "lumen" => 0.0,
        "outer" => s.wall.as_ref().map_or(0.0, |w| w.mm),
        other => panic!("unknown edge {other}"),
    };
    let share = row.share.unwrap_or_else(|| {
        let z = row.z.expect("a share or a height") * m.offset_scale;
        share_at_height(&s.centreline, z)
    });
    support::calibre_across(m, &row.what, share, wall)
}

/// Share of a line's length at its last crossing of a height.
fn share_at_height(line: &[t::Triple], z: f64) -> f64 {
    let (mut arc, mut found) = (0.0, None);
    for w in line.windows(2) {
        let step = t::length(t::sub(w[1], w[0]));
        if (w[0][2] >= z) != (w[1][2] >= z) {
            found = Some(arc + step * (w[0][2] - z) / (w[0][2] - w[1][2]));
        }
        arc += step;
    }
    found.expect("the line reaches the height") / arc
}

#[derive(Deserialize)]
struct Girths {
    measure: Vec<Measure>,
}

#[derive(Deserialize)]
struct Measure {
    what: String,
    measure: String,
    part: String,
    pick: String,
    woman: Survey,
    man: Survey,
}

#[derive(Deserialize)]
struct Survey {
    z: [f64; 2],
    survey: f64,
}

#[test]
fn outside_measures_match_survey_values() {
    let table: Girths = toml::from_str(include_str!("data/girths.toml")).unwrap();
    let mut problems = Vec::new();
    for row in &table.measure {
        for (body, survey) in [("adult_female", &row.woman), ("adult_male", &row.man)] {
            let mm = measured(model(body), row, survey.z);
            println!(
                "{body} {}: {mm:.0} of {} ({:+.1} %)",
                row.what,
                survey.survey,
                100.0 * (mm / survey.survey - 1.0)
            );
            if (mm / survey.survey - 1.0).abs() > SURVEY_SHARE {
                problems.push(format!(
                    "{body} {}: {mm:.0} mm, survey {}",
                    row.what, survey.survey
                ));
            }
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

fn measured(m: &Model, row: &Measure, [from, to]: [f64; 2]) -> f64 {
    const STEP: f64 = 8.0;
    let skin = |p| m.value(m.skin, p);
    let torso = m.structures[m.skin]
        .solid
        .terms
        .iter()
        .find(|t| t.part.as_deref() == Some("torso"))
        .map(|t| &t.shape)
        .expect("the skin has a torso");
    let kind = match row.measure.as_str() {
        "girth" => 0,
        "breadth" => 1,
        "depth" => 2,
        other => panic!("unknown measure {other}"),
    };
    let steps = ((to - from) / STEP).ceil() as usize;
    let all = (0..=steps).map(|i| {
        let z = if steps == 0 {
            from
        } else {
            from + (to - from) * i as f64 / steps as f64
        };
        match row.part.as_str() {
            "body" => girth(skin, z, [0.0, 0.0], 260.0)[kind],
            "torso" => girth(|p| torso.value(p, &|_| f64::NAN), z, [0.0, 0.0], 260.0)[kind],
            "leg" => girth(
                |p| if p[0] > 0.0 { skin(p) } else { 1.0 },
                z,
                [82.0, 5.0],
                130.0,
            )[kind],
            "whole" => {
                let out = (0..700)
                    .map(|i| f64::from(i) * 0.5)
                    .filter(|&x| (-30..=30).any(|k| skin([x, 26.0 + f64::from(k) * 2.0, z]) < 0.0));
                2.0 * out.fold(0.0, f64::max)
            }
            other => panic!("unknown part {other}"),
        }
    });
    if row.pick == "largest" {
        all.fold(0.0, f64::max)
    } else {
        all.fold(f64::INFINITY, f64::min)
    }
}

#[test]
fn nothing_lies_outside_the_skin() {
    // Parts that follow the skin by a growth of it may come this close to it or beyond, mm.
    const SLACK: f64 = 0.05;
    let mut problems = Vec::new();
    for body in sculpt::BODIES {
        let m = model(body);
        for i in sculpt::layers::painted_structures(m) {
            let s = &m.structures[i];
            let size = s.solid.bounds.size();
            let step = libm::cbrt(size[0] * size[1] * size[2] / 15_000.0).max(0.6);
            let worst = support::grid(s.solid.bounds, step)
                .filter(|&p| m.value(i, p) < 0.0)
                .map(|p| m.value(m.skin, p))
                .fold(f64::NEG_INFINITY, f64::max);
            if worst > SLACK {
                problems.push(format!(
                    "{body}: {} reaches {worst:.1} mm out of the skin",
                    s.id
                ));
            }
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

/// PV on a picture must not be the portal vein or the pulmonary valve: structures may share an abbreviation (Fat, the
/// two parts of one organ) only within one system of the body.
#[test]
fn an_abbreviation_stands_for_one_thing() {
    let mut problems = Vec::new();
    for body in sculpt::BODIES {
        let all = &model(body).structures;
        for (i, a) in all.iter().enumerate() {
            for b in &all[i + 1..] {
                if a.short_label == b.short_label && a.system != b.system {
                    problems.push(format!(
                        "{body}: {} of {} and {}",
                        a.short_label, a.id, b.id
                    ));
                }
            }
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}
