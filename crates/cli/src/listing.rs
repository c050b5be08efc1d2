//! What bodies and windows there are.

use std::io::Write;

use anatomy::Body;
use anatomy::body::Sex;
use anyhow::Result;
use geometry::MarkSide;
use serde::Serialize;

use crate::answer::{axis_word, surface_name};
use crate::bodies::Bodies;
use crate::number;

#[derive(Debug, Serialize)]
struct BodyLine<'a> {
    id: &'a str,
    label: &'a str,
    sex: Option<&'static str>,
    stature_mm: Option<f64>,
    triangles: usize,
    windows: usize,
    structures: Vec<StructureLine<'a>>,
    surfaces: Vec<String>,
}

#[derive(Debug, Serialize)]
struct StructureLine<'a> {
    id: &'a str,
    label: &'a str,
    short_label: &'a str,
    code: Option<&'a str>,
    code_from_memory: Option<bool>,
    volume_ml: Option<f64>,
}

#[derive(Debug, Serialize)]
struct WindowLine<'a> {
    id: &'a str,
    label: &'a str,
    plane_hint: &'a str,
    transducer: &'a str,
    depth_mm: f64,
    mark: &'static str,
    contact_mm: [f64; 3],
    normal: [f64; 3],
    rotation_deg: f64,
    tilt_deg: f64,
    rock_deg: f64,
    must_see: Vec<&'a str>,
    axis_of: Vec<AxisLine<'a>>,
}

#[derive(Debug, Serialize)]
struct AxisLine<'a> {
    id: &'a str,
    axis: &'static str,
}

/// One line for each body, by name.
pub(crate) fn bodies(bodies: &mut Bodies, output: &mut impl Write) -> Result<()> {
    for id in bodies.ids()? {
        let body = bodies.get(&id)?;
        let line = BodyLine {
            id: body.id(),
            label: body.label(),
            sex: match body.facts().sex {
                Sex::Female => Some("female"),
                Sex::Male => Some("male"),
                Sex::Either => None,
            },
            stature_mm: body.facts().stature.map(number::mm),
            triangles: body
                .cut_set()
                .meshes()
                .iter()
                .map(|mesh| mesh.triangles.len())
                .sum(),
            windows: body.windows().len(),
            structures: body
                .structures()
                .iter()
                .map(|structure| StructureLine {
                    id: structure.id.as_str(),
                    label: &structure.label,
                    short_label: &structure.short_label,
                    code: structure.code.as_ref().map(|code| code.text.as_str()),
                    code_from_memory: structure.code.as_ref().map(|code| code.from_memory),
                    volume_ml: structure.volume_ml,
                })
                .collect(),
            surfaces: (0..body.surfaces().len())
                .map(|place| surface_name(body, place))
                .collect(),
        };
        write_line(output, &line)?;
    }
    Ok(())
}

/// One line for each window of a body, in the order of its description.
pub(crate) fn windows(body: &Body, output: &mut impl Write) -> Result<()> {
    for window in body.windows() {
        let line = WindowLine {
            id: &window.id,
            label: &window.label,
            plane_hint: &window.plane_hint,
            transducer: &window.transducer,
            depth_mm: number::mm(window.depth),
            mark: match window.mark {
                MarkSide::Left => "left",
                MarkSide::Right => "right",
            },
            contact_mm: number::place(window.pose.contact()),
            normal: number::unit(window.pose.normal()),
            rotation_deg: number::degrees(window.pose.rotation()),
            tilt_deg: number::degrees(window.pose.tilt()),
            rock_deg: number::degrees(window.pose.rock()),
            must_see: window.must_see.iter().map(|id| id.as_str()).collect(),
            axis_of: window
                .axis_of
                .iter()
                .map(|(id, view)| AxisLine {
                    id: id.as_str(),
                    axis: axis_word(*view),
                })
                .collect(),
        };
        write_line(output, &line)?;
    }
    Ok(())
}

fn write_line(output: &mut impl Write, line: &impl Serialize) -> Result<()> {
    serde_json::to_writer(&mut *output, line)?;
    output.write_all(b"\n")?;
    Ok(())
}
