//! The scene in sentences, always from the same values as the picture.

use geometry::Sides;
use picture::Contents;
use picture::words::{
    beam_sentence, notch_sentence, picture_sentence, plane_sentence, press_sentence, rows,
    sides_sentence,
};

use crate::state::{Setup, Snapshot, State};
use crate::texts::Texts;

use super::menus::{depth_text, position_words};
use super::plane::{central_offset, exact_naming};

/// The scene in sentences, each with its full stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WordsView {
    /// Probe: place, notch, beam, pressure.
    pub pose: String,
    /// The plane.
    pub plane: String,
    /// The four sides.
    pub sides: String,
    /// What the picture shows; none before a body is here.
    pub picture: Option<String>,
}

impl WordsView {
    /// Everything as one text: the live text beside the views.
    #[must_use]
    pub fn text(&self) -> String {
        let mut parts = vec![self.pose.as_str(), &self.plane, &self.sides];
        parts.extend(self.picture.as_deref());
        parts.join(" ")
    }
}

/// Where on the body the probe stands, in words; none before the skin is here.
pub(super) fn place(state: &State) -> Option<String> {
    let facts = state.facts()?;
    let pose = state.pose();
    Some(facts.regions.place(pose.contact(), pose.normal()).words())
}

pub(super) fn words_view(state: &State, seen: Option<&Contents>) -> WordsView {
    let picture = state.body().zip(seen).map(|(body, seen)| {
        let field = state.field();
        picture_sentence(&field, seen, &rows(body, &field, seen))
    });
    WordsView {
        pose: pose_sentences(state),
        plane: plane_sentence(&exact_naming(state), central_offset(state)),
        sides: sides_sentence(&Sides::of(&state.plane()), state.tolerance()),
        picture,
    }
}

fn pose_sentences(state: &State) -> String {
    let pose = state.pose();
    let mut parts = Vec::new();
    parts.extend(place(state).map(|place| format!("Probe on the {place}.")));
    parts.push(notch_sentence(pose, state.tolerance()));
    parts.push(beam_sentence(pose.axes().depth));
    parts.extend(press_sentence(pose.press()));
    parts.join(" ")
}

/// What to say after a step: only what is new, in the order pose, setup. The words describe the pose the probe is
/// going to, not one of the moments on the way.
pub(crate) fn announcement(state: &State, before: &Snapshot, texts: &Texts) -> String {
    let mut settled = state.clone();
    settled.pose = *state.settled_pose();
    let mut parts = Vec::new();
    if settled.pose != before.pose {
        parts.push(pose_sentences(&settled));
    }
    parts.extend(setup_words(&state.setup, &before.setup, texts));
    let names_may_differ = settled.pose != before.pose
        || state.setup.convention != before.setup.convention
        || state.setup.tolerance != before.setup.tolerance;
    if names_may_differ {
        parts.push(plane_sentence(
            &exact_naming(&settled),
            central_offset(&settled),
        ));
        parts.push(sides_sentence(
            &Sides::of(&settled.plane()),
            settled.tolerance(),
        ));
    }
    parts.join(" ")
}

fn setup_words(now: &Setup, before: &Setup, texts: &Texts) -> Vec<String> {
    let (panels, choices) = (&texts.panels, &texts.choices);
    let mut parts = Vec::new();
    if now.transducer.id != before.transducer.id {
        parts.push(format!("{}: {}.", panels.transducer, now.transducer.label));
    }
    if now.depth != before.depth {
        parts.push(format!(
            "{} {}.",
            panels.depth,
            depth_text(now.depth.get(), texts)
        ));
    }
    if now.convention.mark != before.convention.mark {
        parts.push(format!(
            "{} {}.",
            panels.mark_side,
            now.convention.mark.word()
        ));
    }
    if now.convention.apex != before.convention.apex {
        parts.push(format!(
            "{} {}.",
            panels.apex_side,
            now.convention.apex.word()
        ));
    }
    if now.tolerance != before.tolerance {
        parts.push(format!(
            "{} {:.0}°.",
            panels.tolerance,
            now.tolerance.to_deg()
        ));
    }
    if now.position != before.position {
        let words = position_words(now.position, choices);
        parts.push(format!("{}: {words}.", panels.position));
    }
    parts
}
