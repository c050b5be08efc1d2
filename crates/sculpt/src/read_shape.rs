//! Shapes out of their TOML tables.

use crate::error::ModelError;
use crate::keys::Keys;
use crate::load::{find_frame, mirror_term, read_fat, read_op};
use crate::loft::{Curve, Loft, LoftRow};
use crate::model::{Frame, Term};
use crate::shape::Shape;
use crate::triple::{self as t, Bounds, Triple, turn_xyz};
use crate::tube::{Tube, TubeRow};
use std::collections::BTreeMap;

/// The `shapes` list of a structure. Every length is multiplied by `scale`; ids of references are collected in
/// `references` and the shapes hold their positions in that list.
pub(crate) fn read_terms(
    keys: &mut Keys<'_>,
    scale: f64,
    frames: &BTreeMap<String, Frame>,
    references: &mut Vec<String>,
) -> Result<Vec<Term>, ModelError> {
    let list = keys.list("shapes")?;
    if list.is_empty() {
        return Err(keys.missing("shapes"));
    }
    let site = keys.site;
    let mut terms = Vec::new();
    for (i, value) in list.into_iter().enumerate() {
        let mut k = Keys::of_value(site, format!("shapes[{i}]"), value)?;
        let op = read_op(&mut k)?;
        let blend = k.number("blend")?.unwrap_or(0.0) * scale;
        let offset = k.number("offset")?.unwrap_or(0.0) * scale;
        let both = k.flag("both")?;
        let part = k.text("part")?;
        let frame = match k.text("frame")? {
            None => None,
            Some(name) => Some(find_frame(frames, &name, site, &k.key("frame"))?),
        };
        let fat = match k.take("fat") {
            None => None,
            Some(v) => Some(
                read_fat(&v, scale).ok_or_else(|| k.wrong("fat", "a number or rows [z, mm]"))?,
            ),
        };
        let shape = read_one(&mut k, scale, references)?;
        k.finish()?;
        let reach = reach(&shape, offset, frame.is_some());
        let term = Term {
            shape,
            op,
            blend,
            offset,
            frame,
            mirrored: false,
            fat,
            part,
            reach,
        };
        if both {
            let twin = mirror_term(&term);
            terms.push(term);
            terms.push(twin);
        } else {
            terms.push(term);
        }
    }
    Ok(terms)
}

fn read_one(
    k: &mut Keys<'_>,
    scale: f64,
    references: &mut Vec<String>,
) -> Result<Shape, ModelError> {
    let point = |k: &mut Keys<'_>, key: &str| k.need_triple(key).map(|p| t::scale(p, scale));
    Ok(match k.need_text("type")?.as_str() {
        "ellipsoid" => Shape::Ellipsoid {
            c: point(k, "c")?,
            r: sizes(k, "r", scale)?,
            rot: rot(k)?,
        },
        "superellipsoid" => {
            let (nxy, nz) = match k.numbers("n")?.as_deref() {
                None => (2.5, 2.5),
                Some(&[nxy, nz]) if nxy >= 1.0 && nz >= 1.0 => (nxy, nz),
                Some(_) => return Err(k.wrong("n", "two exponents of at least 1")),
            };
            Shape::Superellipsoid {
                c: point(k, "c")?,
                r: sizes(k, "r", scale)?,
                rot: rot(k)?,
                nxy,
                nz,
            }
        }
        "capsule" => {
            let (ra, rb) = match k.take("r") {
                None => return Err(k.missing("r")),
                Some(v) => match (crate::keys::number(&v), crate::keys::numbers(&v).as_deref()) {
                    (Some(r), _) => (r, r),
                    (None, Some(&[ra, rb])) => (ra, rb),
                    _ => return Err(k.wrong("r", "one radius or two")),
                },
            };
            Shape::Capsule {
                a: point(k, "a")?,
                b: point(k, "b")?,
                ra: ra * scale,
                rb: rb * scale,
            }
        }
        "tube" => {
            let rows = k.rows("p")?.ok_or_else(|| k.missing("p"))?;
            let mut round = true;
            let rows = rows
                .iter()
                .map(|row| match *row.as_slice() {
                    [x, y, z, r] => Some(TubeRow {
                        at: t::scale([x, y, z], scale),
                        ra: r * scale,
                        rb: r * scale,
                    }),
                    [x, y, z, ra, rb] => {
                        round = false;
                        Some(TubeRow {
                            at: t::scale([x, y, z], scale),
                            ra: ra * scale,
                            rb: rb * scale,
                        })
                    }
                    _ => None,
                })
                .collect::<Option<Vec<_>>>()
                .filter(|rows| rows.len() >= 2 && rows.iter().all(|r| r.ra > 0.0 && r.rb > 0.0))
                .ok_or_else(|| {
                    k.wrong(
                        "p",
                        "two or more rows [x, y, z, r] or [x, y, z, ra, rb] with positive radii",
                    )
                })?;
            let wide = k.triple("wide")?.unwrap_or([1.0, 0.0, 0.0]);
            Shape::Tube(Tube::new(&rows, wide, round))
        }
        "loft" => Shape::Loft(read_loft(k, scale)?),
        "box_rounded" => Shape::BoxRounded {
            c: point(k, "c")?,
            h: sizes(k, "h", scale)?,
            r: k.number("r")?.unwrap_or(0.0) * scale,
            rot: rot(k)?,
        },
        "half_space" => {
            let n = k.need_triple("n")?;
            Shape::HalfSpace {
                n: t::unit(n).ok_or_else(|| k.wrong("n", "a direction"))?,
                at: point(k, "at")?,
            }
        }
        "ref" => {
            references.push(k.need_text("id")?);
            Shape::Ref(references.len() - 1)
        }
        _ => {
            return Err(k.wrong(
                "type",
                "ellipsoid, superellipsoid, capsule, tube, loft, box_rounded, half_space or ref",
            ));
        }
    })
}

fn read_loft(k: &mut Keys<'_>, scale: f64) -> Result<Loft, ModelError> {
    let (axis, fixed_lateral): (Triple, Option<Triple>) = match k.take("axis") {
        Some(toml::Value::String(s)) => match s.as_str() {
            "x" => ([1.0, 0.0, 0.0], Some([0.0, 1.0, 0.0])),
            "y" => ([0.0, 1.0, 0.0], Some([1.0, 0.0, 0.0])),
            "z" => ([0.0, 0.0, 1.0], Some([1.0, 0.0, 0.0])),
            _ => return Err(k.wrong("axis", "x, y, z or a vector")),
        },
        Some(v) => {
            let list = crate::keys::numbers(&v).and_then(|l| Triple::try_from(l).ok());
            (
                list.ok_or_else(|| k.wrong("axis", "x, y, z or a vector"))?,
                None,
            )
        }
        None => return Err(k.missing("axis")),
    };
    let lateral = k
        .triple("lateral")?
        .or(fixed_lateral)
        .ok_or_else(|| k.missing("lateral"))?;
    let origin = t::scale(k.triple("o")?.unwrap_or([0.0; 3]), scale);
    let cap = k.number("cap")?.unwrap_or(0.0) * scale;
    let curve = match k.text("curve")?.as_deref() {
        None | Some("monotone") => Curve::Monotone,
        Some("spline") => Curve::Spline,
        Some(_) => return Err(k.wrong("curve", "monotone or spline")),
    };
    let rows = k
        .rows("rows")?
        .ok_or_else(|| k.missing("rows"))?
        .iter()
        .map(|row| match *row.as_slice() {
            [s, cu, cv, b, f, kk, n] => Some(LoftRow {
                s: s * scale,
                cu: cu * scale,
                cv: cv * scale,
                b: b * scale,
                f: f * scale,
                k: kk * scale,
                n,
            }),
            _ => None,
        })
        .collect::<Option<Vec<_>>>()
        .filter(|rows| rows.len() >= 2)
        .ok_or_else(|| k.wrong("rows", "two or more rows [s, cu, cv, b, f, k, n]"))?;
    let mut stations: Vec<f64> = rows.iter().map(|r| r.s).collect();
    stations.sort_by(f64::total_cmp);
    if stations.windows(2).any(|w| w[1] - w[0] < 1e-9) {
        return Err(k.wrong("rows", "rows at different stations"));
    }
    Loft::new(axis, lateral, origin, &rows, cap, curve)
        .ok_or_else(|| k.wrong("axis", "a direction other than lateral"))
}

/// The bound of [`Term::reach`] for shapes in patient coordinates that do not grow.
fn reach(shape: &Shape, offset: f64, framed: bool) -> Option<(Bounds, f64)> {
    let flatness = shape.flatness()?;
    (offset == 0.0 && !framed).then(|| (shape.bounds(&|_| Bounds::ALL), flatness))
}

fn sizes(k: &mut Keys<'_>, key: &str, scale: f64) -> Result<Triple, ModelError> {
    let r = k.need_triple(key)?;
    if r.iter().any(|&v| v <= 0.0) {
        return Err(k.wrong(key, "three positive numbers"));
    }
    Ok(t::scale(r, scale))
}

fn rot(k: &mut Keys<'_>) -> Result<Option<[Triple; 3]>, ModelError> {
    Ok(k.triple("rot")?.map(turn_xyz))
}
