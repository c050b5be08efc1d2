//! What lies under the pointer or the keyboard's cross in the picture.

use anatomy::{AxisView, Body, axis_view};
use picture::Contents;

use crate::names;
use crate::state::State;
use crate::texts::{Texts, fill};

/// The place pointed at.
#[derive(Debug, Clone, PartialEq)]
pub struct CursorView {
    /// Image mm.
    pub at: [f64; 2],
    /// Whether keys moved it there.
    pub by_keys: bool,
    /// Identifier of the structure, where there is one.
    pub structure: Option<String>,
    /// "Proximal abdominal aorta": what is shown large.
    pub name: String,
    /// "long axis, 3° from its axis · tissue: blood · 96 mm deep".
    pub facts: String,
}

impl CursorView {
    /// Everything as one text.
    #[must_use]
    pub fn text(&self) -> String {
        format!("{}: {}.", self.name, self.facts)
    }
}

pub(super) fn cursor_view(
    state: &State,
    seen: Option<&Contents>,
    texts: &Texts,
) -> Option<CursorView> {
    let (cursor, body, seen) = (state.cursor?, state.body()?, seen?);
    let field = state.field();
    if !field.contains(cursor.at) {
        return None;
    }
    let words = &texts.cursor;
    let depth = field.depth_of(cursor.at).max(0.0);
    let deep = fill(words.depth, &[&format!("{depth:.0}")]);
    let mut view = CursorView {
        at: cursor.at,
        by_keys: cursor.by_keys,
        structure: None,
        name: String::new(),
        facts: deep.clone(),
    };
    let Some(index) = seen.structure_at(cursor.at) else {
        let inside = body.skin().contains(cursor.place(&state.plane()));
        view.name = if inside { words.layer } else { words.outside }.to_owned();
        return Some(view);
    };
    let structure = body.structure(index);
    let plane = state.plane();
    let place = cursor.place(&plane);
    view.structure = Some(structure.id.as_str().to_owned());
    view.name = match structure.segment_at(place) {
        Some(segment) => names::part(
            Some(body.facts()),
            structure.id.as_str(),
            &segment.id,
            texts,
        ),
        None => fill(words.structure, &[&structure.label]),
    };
    let mut facts = Vec::new();
    if let Some(axis) = structure.axis_on(&plane, place) {
        let (shown, angle) = axis_view(axis, plane.normal());
        let shown = match shown {
            AxisView::Long => texts.choices.long_axis,
            AxisView::Short => texts.choices.short_axis,
            AxisView::Oblique => texts.choices.oblique_axis,
        };
        let angle = format!("{:.0}°", angle.to_deg());
        facts.push(fill(words.axis, &[shown, &angle]));
    }
    facts.push(fill(words.tissue, &[&tissue_word(body, index, texts)]));
    facts.push(deep);
    view.facts = facts.join(" · ");
    Some(view)
}

/// "renal cortex". A tissue without words, which a test of the application rules out, is called by its key.
fn tissue_word(body: &Body, index: anatomy::StructureIndex, texts: &Texts) -> String {
    let key = &body.tissue(body.structure(index).tissue).key;
    let words = texts.tissues.word(key).map(str::to_owned);
    words.unwrap_or_else(|| key.replace('_', " "))
}
