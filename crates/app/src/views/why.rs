//! The answer to "why?": the rule, the figures of this moment, the source, and what is drawn.

use geometry::{
    ApexSide, BodyPlane, Direction, ImageSide, MarkSide, Oblique, ObliqueKind, PatientSide,
    PlaneName, SagittalOffset, Sides, screen_threshold,
};

use super::plane::{PlaneView, SideView, SidesView, central_offset, notch_side};
use super::structures::{StructureView, StructuresView};
use crate::state::State;
use crate::texts::{Texts, WhyTexts, fill};
use crate::why::{Ask, Tryout, Verdict};

/// An answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WhyView {
    /// What is asked.
    pub ask: Ask,
    /// "Why mid-sagittal?"
    pub title: String,
    /// Sentences, each a paragraph: rule first, then what holds here.
    pub answer: Vec<String>,
    /// What the body view shows of it.
    pub drawn: Option<String>,
    /// Where the rule comes from.
    pub source: &'static str,
    /// Mark and notch tried out, where the question is about them.
    pub tryout: Option<TryoutView>,
}

/// Mark and notch tried out beside the picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TryoutView {
    /// What is tried.
    pub tryout: Tryout,
    /// What it does to the picture, in one sentence.
    pub verdict: &'static str,
    /// Letters at image left and image right before.
    pub before: [String; 2],
    /// The same after.
    pub after: [String; 2],
}

impl WhyView {
    /// Everything as one text.
    #[must_use]
    pub fn text(&self) -> String {
        let mut parts = vec![self.title.clone()];
        parts.extend(self.answer.iter().cloned());
        parts.extend(self.drawn.clone());
        parts.push(self.source.to_owned());
        parts.join(" ")
    }
}

pub(super) fn why_view(
    state: &State,
    plane: &PlaneView,
    sides: &SidesView,
    structures: &StructuresView,
    texts: &Texts,
) -> Option<WhyView> {
    let asked = state.why.as_ref()?;
    let words = &texts.why;
    let mut view = match &asked.ask {
        Ask::Plane => plane_answer(state, plane, texts),
        Ask::Side(side) => side_answer(state, sides, *side, texts),
        Ask::Axis(id) => axis_answer(plane, structures, id, texts)?,
        Ask::Mark => WhyView {
            ask: Ask::Mark,
            title: words.mark_title.to_owned(),
            answer: vec![words.mark_rule.to_owned(), sides.notch.clone()],
            drawn: None,
            source: words.mark_source,
            tryout: None,
        },
    };
    let about_ends = match &asked.ask {
        Ask::Mark => true,
        Ask::Side(side) => matches!(side, ImageSide::Left | ImageSide::Right),
        Ask::Plane | Ask::Axis(_) => false,
    };
    view.tryout = about_ends.then(|| tryout_view(state, asked.tryout, words));
    Some(view)
}

fn plane_answer(state: &State, plane: &PlaneView, texts: &Texts) -> WhyView {
    let words = &texts.why;
    let mut answer = vec![
        fill(words.plane_rule, &[&plane.tolerance]),
        plane.reason.clone(),
    ];
    match state.shown_plane {
        PlaneName::Named(BodyPlane::Sagittal) => answer.push(match central_offset(state) {
            SagittalOffset::MidSagittal => words.mid_sagittal.to_owned(),
            SagittalOffset::Right(_) | SagittalOffset::Left(_) => {
                let offset = plane.offset.as_deref().unwrap_or_default();
                fill(words.parasagittal, &[offset])
            }
        }),
        PlaneName::Named(BodyPlane::Coronal | BodyPlane::Transverse) => {}
        PlaneName::Oblique(oblique) => oblique_answer(oblique, plane, words, &mut answer),
    }
    answer.push(words.plane_counts.to_owned());
    let nearest = plane.angles.iter().find(|angle| angle.nearest);
    WhyView {
        ask: Ask::Plane,
        title: fill(words.plane_title, &[&plane.name.to_lowercase()]),
        answer,
        drawn: nearest.map(|angle| fill(words.plane_drawn, &[angle.name])),
        source: words.plane_source,
        tryout: None,
    }
}

fn oblique_answer(oblique: Oblique, plane: &PlaneView, words: &WhyTexts, answer: &mut Vec<String>) {
    if oblique.double {
        answer.push(words.double.to_owned());
    }
    let from_transverse = plane
        .angles
        .iter()
        .find(|angle| angle.plane == BodyPlane::Transverse)
        .map_or(0.0, |angle| angle.degrees);
    let from_axis = format!("{:.0}°", 90.0 - from_transverse);
    let pattern = match oblique.kind {
        ObliqueKind::Longitudinal => words.longitudinal,
        ObliqueKind::Transverse => words.transverse,
    };
    answer.push(fill(pattern, &[&from_axis]));
}

fn side_label(sides: &SidesView, wanted: ImageSide) -> Option<&SideView> {
    sides.sides.iter().find(|view| view.side == wanted)
}

fn side_answer(state: &State, sides: &SidesView, side: ImageSide, texts: &Texts) -> WhyView {
    let words = &texts.why;
    let plane = state.plane();
    let (label, full) =
        side_label(sides, side).map_or(("", ""), |view| (view.label, view.full_words.as_str()));
    let label = label.to_lowercase();
    let mark = match state.convention().mark {
        MarkSide::Left => texts.choices.image_left,
        MarkSide::Right => texts.choices.image_right,
    }
    .to_lowercase();
    let at_face = match state.convention().apex {
        ApexSide::Top => side == ImageSide::Top,
        ApexSide::Bottom => side == ImageSide::Bottom,
    };
    let toward = side_label(sides, side).map_or("", |view| view.words.as_str());
    let first = match side {
        ImageSide::Left | ImageSide::Right if side == notch_side(state) => {
            fill(words.side_notch, &[&mark, &label, toward])
        }
        ImageSide::Left | ImageSide::Right => fill(words.side_tail, &[&mark, &label]),
        ImageSide::Top | ImageSide::Bottom if at_face => fill(words.side_face, &[&label]),
        ImageSide::Top | ImageSide::Bottom => fill(words.side_deep, &[&label]),
    };
    let threshold = screen_threshold(state.tolerance());
    let mut answer = vec![first];
    let names = Sides::of(&plane);
    let name = names.get(side);
    for (patient, share) in name.parts(threshold) {
        answer.push(fill(
            words.side_angle,
            &[&angle_of(share), patient_word(patient, texts)],
        ));
    }
    let widest = format!("{:.0}°", 90.0 - state.tolerance().to_deg());
    answer.push(fill(words.side_rule, &[&widest]));
    WhyView {
        ask: Ask::Side(side),
        title: fill(words.side_title, &[&label, full]),
        answer,
        drawn: None,
        source: words.side_source,
        tryout: None,
    }
}

fn patient_word(side: PatientSide, texts: &Texts) -> &'static str {
    texts.sides.name(side)
}

/// Angle from an axis whose component is `share` of a unit direction.
fn angle_of(share: f64) -> String {
    let across = (1.0 - share * share).max(0.0).sqrt();
    format!("{:.0}°", geometry::Angle::atan2(across, share).to_deg())
}

fn axis_answer(
    plane: &PlaneView,
    structures: &StructuresView,
    id: &str,
    texts: &Texts,
) -> Option<WhyView> {
    let words = &texts.why;
    let row = structures.rows.iter().find(|row| row.id == id)?;
    let (axis, angle) = (row.axis?, row.axis_angle.as_ref()?);
    let name = row.label.to_lowercase();
    let mut answer = vec![
        words.axis_rule.to_owned(),
        fill(words.axis_here, &[&name, angle]),
        fill(words.axis_apart, &[&plane.name, &name]),
    ];
    // The structure that differs most plainly is the best example.
    let differs = |other: &&StructureView| {
        other.named
            && other
                .axis
                .is_some_and(|other| other != axis && other != texts.choices.oblique_axis)
    };
    if let Some(other) = structures.rows.iter().find(differs) {
        let seen = other.axis.unwrap_or_default();
        answer.push(fill(words.axis_other, &[&other.label.to_lowercase(), seen]));
    }
    Some(WhyView {
        ask: Ask::Axis(id.to_owned()),
        title: fill(words.axis_title, &[axis, &name]),
        answer,
        drawn: Some(words.axis_drawn.to_owned()),
        source: words.axis_source,
        tryout: None,
    })
}

fn tryout_view(state: &State, tryout: Tryout, words: &WhyTexts) -> TryoutView {
    let threshold = screen_threshold(state.tolerance());
    let letters = |tried: &Tryout| {
        let plane = tried.applied(state).plane();
        let row: Direction<_> = plane.row();
        [-row, row].map(|side| geometry::SideName::of(side).letters(threshold))
    };
    let verdict = if tryout == Tryout::default() {
        words.verdict_none
    } else {
        match tryout.verdict(state) {
            Verdict::Same => words.verdict_same,
            Verdict::Mirrored => words.verdict_mirrored,
        }
    };
    TryoutView {
        tryout,
        verdict,
        before: letters(&Tryout::default()),
        after: letters(&tryout),
    }
}
