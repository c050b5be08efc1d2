//! One output line.

use anatomy::{AxisView, Body, Section, SurfaceKind};
use geometry::{
    FILE_THRESHOLD, ImagePlane, PlaneName, SideName, Sides, name_plane, patient_orientation,
    screen_threshold,
};
use picture::{Contents, Field, Press, Scene, contents, describe, press_section};
use serde::Serialize;

use crate::number;
use crate::resolve::Question;

#[derive(Debug, Serialize)]
pub(crate) struct Answer {
    row: [f64; 3],
    column: [f64; 3],
    normal: [f64; 3],
    origin_mm: [f64; 3],
    plane: &'static str,
    angles_deg: Angles,
    oblique: Option<ObliqueAnswer>,
    sides: FourSides,
    sides_words: FourSides,
    patient_orientation: String,
    pose: PoseAnswer,
    #[serde(flatten)]
    on_body: Option<OnBody>,
}

#[derive(Debug, Serialize)]
struct Angles {
    sagittal: f64,
    coronal: f64,
    transverse: f64,
}

#[derive(Debug, Serialize)]
struct ObliqueAnswer {
    kind: &'static str,
    double: bool,
    between: [&'static str; 2],
}

#[derive(Debug, Serialize)]
struct FourSides {
    left: String,
    right: String,
    top: String,
    bottom: String,
}

#[derive(Debug, Serialize)]
struct PoseAnswer {
    rotation_deg: f64,
    tilt_deg: f64,
    rock_deg: f64,
    press_mm: f64,
    contact_mm: [f64; 3],
    normal: [f64; 3],
}

#[derive(Debug, Serialize)]
struct OnBody {
    body: String,
    transducer: &'static str,
    depth_mm: f64,
    structures: Vec<SeenAnswer>,
    text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    surfaces: Option<Vec<SurfaceAnswer>>,
}

#[derive(Debug, Serialize)]
struct SeenAnswer {
    id: String,
    label: String,
    axis: Option<&'static str>,
    axis_deg: Option<f64>,
    area_mm2: f64,
    depth_mm: f64,
    segment: Option<String>,
}

#[derive(Debug, Serialize)]
struct SurfaceAnswer {
    name: String,
    structure: Option<String>,
    kind: &'static str,
    tissue: String,
    paint_order: u32,
    loops: Vec<Vec<[f64; 2]>>,
}

/// What can be said of a pose without a body.
pub(crate) fn of_pose(question: &Question) -> Answer {
    let plane = ImagePlane::from_pose(&question.pose, question.convention);
    let naming = name_plane(plane.normal(), question.tolerance);
    let sides = Sides::of(&plane);
    let threshold = screen_threshold(question.tolerance);
    Answer {
        row: number::unit(plane.row()),
        column: number::unit(plane.column()),
        normal: number::unit(plane.normal()),
        origin_mm: number::place(plane.origin()),
        plane: naming.name.word(),
        angles_deg: Angles {
            sagittal: number::degrees(naming.angles.sagittal),
            coronal: number::degrees(naming.angles.coronal),
            transverse: number::degrees(naming.angles.transverse),
        },
        oblique: match naming.name {
            PlaneName::Named(_) => None,
            PlaneName::Oblique(oblique) => Some(ObliqueAnswer {
                kind: oblique.kind.word(),
                double: oblique.double,
                between: oblique.between.map(|plane| plane.word()),
            }),
        },
        sides: four(&sides, |side| side.letters(FILE_THRESHOLD)),
        sides_words: four(&sides, |side| side.end_words(threshold)),
        patient_orientation: patient_orientation(&plane),
        pose: PoseAnswer {
            rotation_deg: number::degrees(question.pose.rotation()),
            tilt_deg: number::degrees(question.pose.tilt()),
            rock_deg: number::degrees(question.pose.rock()),
            press_mm: number::mm(question.pose.press()),
            contact_mm: number::place(question.pose.contact()),
            normal: number::unit(question.pose.normal()),
        },
        on_body: None,
    }
}

/// The same with what the picture shows of a body under the pressed probe, and, where they are wanted, the outlines of
/// the surfaces as the body lies.
pub(crate) fn on_body(question: &Question, body: &Body, field: &Field, loops: bool) -> Answer {
    let plane = ImagePlane::from_pose(&question.pose, question.convention);
    let (mut section, mut press) = (body.section(&plane), Press::default());
    // The outlines are those of the surfaces as the body lies; what is seen has been pressed.
    let outlines = loops.then(|| surfaces(body, &section));
    press_section(body, field, &mut section, &mut press);
    let seen = contents(body, &section, field).under(&press);
    let scene = Scene {
        body,
        pose: &question.pose,
        plane: &plane,
        field,
        contents: &seen,
        tolerance: question.tolerance,
    };
    Answer {
        on_body: Some(OnBody {
            body: body.id().to_owned(),
            transducer: field.transducer().id,
            depth_mm: number::mm(field.depth()),
            structures: structures(body, &seen),
            text: describe(&scene).text(),
            surfaces: outlines,
        }),
        ..of_pose(question)
    }
}

fn four(sides: &Sides, name: impl Fn(&SideName) -> String) -> FourSides {
    FourSides {
        left: name(&sides.left),
        right: name(&sides.right),
        top: name(&sides.top),
        bottom: name(&sides.bottom),
    }
}

fn structures(body: &Body, seen: &Contents) -> Vec<SeenAnswer> {
    seen.structures
        .iter()
        // What only touches the plane has the area of rounding noise: it is not in the picture.
        .filter(|one| number::millimetres(one.area_mm2) > 0.0)
        .map(|one| {
            let structure = body.structure(one.structure);
            let segment = one.segment.and_then(|place| structure.segments.get(place));
            SeenAnswer {
                id: structure.id.as_str().to_owned(),
                label: structure.label.clone(),
                axis: one.axis.map(|(view, _)| axis_word(view)),
                axis_deg: one.axis.map(|(_, angle)| number::degrees(angle)),
                area_mm2: number::millimetres(one.area_mm2),
                depth_mm: number::millimetres(one.depth_mm),
                segment: segment.map(|segment| segment.id.clone()),
            }
        })
        .collect()
}

pub(crate) const fn axis_word(view: AxisView) -> &'static str {
    match view {
        AxisView::Long => "long",
        AxisView::Short => "short",
        AxisView::Oblique => "oblique",
    }
}

fn surfaces(body: &Body, section: &Section) -> Vec<SurfaceAnswer> {
    section
        .layers()
        .iter()
        .map(|&layer| {
            let surface = &body.surfaces()[layer.surface];
            let structure = surface
                .structure()
                .map(|index| body.structure(index).id.as_str().to_owned());
            SurfaceAnswer {
                name: surface_name(body, layer.surface),
                structure,
                kind: match surface.kind {
                    SurfaceKind::Skin => "skin",
                    SurfaceKind::Dermis => "dermis",
                    SurfaceKind::Muscle => "muscle",
                    SurfaceKind::Wall(_) => "wall",
                    SurfaceKind::Solid(_) => "solid",
                },
                tissue: body.tissue(surface.tissue).key.clone(),
                paint_order: surface.paint_order,
                loops: section
                    .loops(layer)
                    .map(|outline| {
                        outline
                            .points
                            .iter()
                            .map(|point| point.map(number::millimetres))
                            .collect()
                    })
                    .collect(),
            }
        })
        .collect()
}

/// The name of a surface for people and files: as its node is called in the body's own GLB.
pub(crate) fn surface_name(body: &Body, surface: usize) -> String {
    match body.surfaces()[surface].kind {
        SurfaceKind::Skin => "skin".to_owned(),
        SurfaceKind::Dermis => "skin/dermis".to_owned(),
        SurfaceKind::Muscle => "skin/muscle".to_owned(),
        SurfaceKind::Wall(index) => format!("{}/wall", body.structure(index).id),
        SurfaceKind::Solid(index) => body.structure(index).id.as_str().to_owned(),
    }
}
