//! The structures in the picture, as a table near to far.

use anatomy::{AxisView, Body, System};
use geometry::PlaneName;
use picture::words::Row;
use picture::{Contents, Seen};

use crate::names;
use crate::state::State;
use crate::texts::{Texts, fill};

/// One row of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct StructureView {
    /// Stable identifier; choosing the row chooses this structure.
    pub id: String,
    /// Its name: "Aorta".
    pub label: String,
    /// The part of it in the picture, which says of what it is, where the part is known: "Proximal abdominal aorta".
    pub name: String,
    /// "long axis", "short axis" or "oblique".
    pub axis: Option<&'static str>,
    /// Angle between its long axis and the image plane: "12°".
    pub axis_angle: Option<String>,
    /// The button that asks why, read aloud.
    pub ask: String,
    /// Where across the picture: "image left", "centre", "image right".
    pub across: &'static str,
    /// Depth of its nearest visible point: "43 mm".
    pub depth: String,
    /// Visible area: "5.2 cm²".
    pub area: String,
    /// Whether it is the one pointed out.
    pub chosen: bool,
    /// Whether the sentence names it.
    pub named: bool,
}

/// The table.
#[derive(Debug, Clone, PartialEq)]
pub struct StructuresView {
    /// Rows, near to far.
    pub rows: Vec<StructureView>,
    /// Body plane told apart from structure axis, for the structure pointed out, else for the first that has a
    /// nameable axis: "The plane is sagittal; it shows the aorta in long axis."
    pub axis_note: Option<String>,
}

pub(super) fn structures_view(
    state: &State,
    seen: Option<&Contents>,
    texts: &Texts,
) -> StructuresView {
    let (Some(body), Some(seen)) = (state.body(), seen) else {
        return StructuresView {
            rows: Vec::new(),
            axis_note: None,
        };
    };
    let told = texts.pictures.rows(body, &state.field(), seen);
    let rows: Vec<StructureView> = told
        .iter()
        .filter_map(|row| {
            let found = seen.find(row.structure)?;
            let mut view = structure_view(state, body, found, texts);
            if let (Some(axis), Some(angle)) = (view.axis, &view.axis_angle) {
                view.ask = fill(
                    texts.why.ask_axis,
                    &[axis, angle, &view.label.to_lowercase()],
                );
            }
            view.across = texts.pictures.across(row.across);
            view.named = row.named;
            Some(view)
        })
        .collect();
    let noted = rows
        .iter()
        .find(|row| row.chosen && row.axis.is_some())
        .or_else(|| most_telling(body, &told, &rows));
    let axis_note = noted.and_then(|row| axis_note(state, row, texts));
    StructuresView { rows, axis_note }
}

/// The row that best shows that plane and axis are two answers: a vessel where there is one, for its axis is plain to
/// see; else the nearest structure in long or short axis.
fn most_telling<'a>(
    body: &Body,
    told: &[Row],
    rows: &'a [StructureView],
) -> Option<&'a StructureView> {
    let plain =
        |row: &&Row| row.named && matches!(row.axis, Some(AxisView::Long | AxisView::Short));
    let vessel = |row: &&Row| {
        let system = body.structure(row.structure).system;
        matches!(system, System::Arterial | System::Venous)
    };
    let best = told
        .iter()
        .filter(plain)
        .find(vessel)
        .or_else(|| told.iter().find(plain))?;
    let id = body.structure(best.structure).id.as_str();
    rows.iter().find(|view| view.id == id)
}

fn structure_view(state: &State, body: &Body, seen: &Seen, texts: &Texts) -> StructureView {
    let structure = body.structure(seen.structure);
    let choices = &texts.choices;
    let part = seen
        .segment
        .and_then(|number| structure.segments.get(number));
    StructureView {
        id: structure.id.as_str().to_owned(),
        label: structure.label.clone(),
        name: part.map_or_else(
            || structure.label.clone(),
            |part| names::part(Some(body.facts()), structure.id.as_str(), &part.id, texts),
        ),
        axis: seen.axis.map(|(view, _)| match view {
            AxisView::Long => choices.long_axis,
            AxisView::Short => choices.short_axis,
            AxisView::Oblique => choices.oblique_axis,
        }),
        axis_angle: seen
            .axis
            .map(|(_, angle)| format!("{:.0}{}", angle.to_deg(), texts.units.degrees)),
        ask: String::new(),
        across: "",
        depth: format!("{:.0} {}", seen.depth_mm, texts.units.mm),
        area: area_text(seen.area_mm2, texts),
        chosen: state.chosen() == Some(structure.id.as_str()),
        named: false,
    }
}

/// "42 mm²" below one square centimetre, else "5.2 cm²".
fn area_text(mm2: f64, texts: &Texts) -> String {
    if mm2 < 100.0 {
        format!("{mm2:.0} {}", texts.units.mm2)
    } else {
        format!("{} {}", texts.number(mm2 / 100.0, 1), texts.units.cm2)
    }
}

/// Body plane and structure axis are two answers.
fn axis_note(state: &State, row: &StructureView, texts: &Texts) -> Option<String> {
    let (axis, angle) = (row.axis?, row.axis_angle.as_ref()?);
    let plane = match super::plane::exact_naming(state).name {
        PlaneName::Named(plane) => texts.plane_word(plane),
        PlaneName::Oblique(_) => texts.planes.oblique,
    };
    let name = row.label.to_lowercase();
    Some(fill(texts.planes.two_answers, &[plane, &name, axis, angle]))
}
