//! The scene in sentences, always from the same values as the picture.

use anatomy::SkinPlace;
use geometry::{ApexSide, MarkSide, Sides};
use picture::{Contents, Knob};

use crate::state::{Setup, Snapshot, State};
use crate::texts::{Texts, fill};

use super::menus::{depth_text, position_words};
use super::plane::{central_offset, exact_naming};
use super::tuning::knob_sentence;

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
pub(super) fn place(state: &State) -> Option<SkinPlace> {
    let facts = state.facts()?;
    let pose = state.pose();
    Some(facts.regions.place(pose.contact(), pose.normal()))
}

pub(super) fn words_view(state: &State, seen: Option<&Contents>, texts: &Texts) -> WordsView {
    let words = &texts.pictures;
    let picture = state.body().zip(seen).map(|(body, seen)| {
        let field = state.field();
        words.picture(&field, seen, &words.rows(body, &field, seen))
    });
    WordsView {
        pose: pose_sentences(state, texts),
        plane: words.plane(&exact_naming(state), central_offset(state)),
        sides: words.sides(&Sides::of(&state.plane()), state.tolerance()),
        picture,
    }
}

pub(crate) fn pose_sentences(state: &State, texts: &Texts) -> String {
    let (pose, words) = (state.pose(), &texts.pictures);
    let mut parts = Vec::new();
    parts.extend(place(state).map(|place| words.place(&place)));
    parts.push(words.notch(pose, state.tolerance()));
    parts.push(words.beam(pose.axes().depth));
    parts.extend(words.press(pose.press()));
    parts.join(" ")
}

/// What to say after a step: only what is new, in the order pose, setup. The words describe the pose the probe is
/// going to, not one of the moments on the way.
pub(crate) fn announcement(state: &State, before: &Snapshot, texts: &Texts) -> String {
    let mut settled = state.clone();
    settled.pose = *state.settled_pose();
    let mut parts = Vec::new();
    if settled.pose != before.pose {
        parts.push(pose_sentences(&settled, texts));
    }
    parts.extend(setup_words(&state.setup, &before.setup, texts));
    parts.extend(tuning_words(state, &before.setup, texts));
    let names_may_differ = settled.pose != before.pose
        || state.setup.convention != before.setup.convention
        || state.setup.tolerance != before.setup.tolerance;
    if names_may_differ {
        parts.push(
            texts
                .pictures
                .plane(&exact_naming(&settled), central_offset(&settled)),
        );
        parts.push(
            texts
                .pictures
                .sides(&Sides::of(&settled.plane()), settled.tolerance()),
        );
    }
    parts.join(" ")
}

/// Knobs that were turned, or given back to transducer and depth; a reset of many is said in one word.
fn tuning_words(state: &State, before: &Setup, texts: &Texts) -> Vec<String> {
    let (now, old) = (state.tuning(), &before.tuning);
    if now.is_plain() && !old.is_plain() {
        return vec![format!("{}.", texts.tuning.reset)];
    }
    Knob::all()
        .filter(|knob| now.turned(*knob) != old.turned(*knob))
        .map(|knob| knob_sentence(state, knob, texts))
        .collect()
}

fn setup_words(now: &Setup, before: &Setup, texts: &Texts) -> Vec<String> {
    let (panels, choices) = (&texts.panels, &texts.choices);
    let mut parts = Vec::new();
    let said = &texts.said;
    let choice = |what, value| fill(said.choice, &[what, value]);
    if now.transducer.id != before.transducer.id {
        parts.push(choice(panels.transducer, texts.transducer(now.transducer)));
    }
    if now.depth != before.depth {
        parts.push(fill(said.depth, &[&depth_text(now.depth.get(), texts)]));
    }
    if now.convention.mark != before.convention.mark {
        let [left, right] = said.mark;
        parts.push(match now.convention.mark {
            MarkSide::Left => left.to_owned(),
            MarkSide::Right => right.to_owned(),
        });
    }
    if now.convention.apex != before.convention.apex {
        let [top, bottom] = said.face;
        parts.push(match now.convention.apex {
            ApexSide::Top => top.to_owned(),
            ApexSide::Bottom => bottom.to_owned(),
        });
    }
    if now.tolerance != before.tolerance {
        let degrees = format!("{:.0}{}", now.tolerance.to_deg(), texts.units.degrees);
        parts.push(fill(said.tolerance, &[&degrees]));
    }
    if now.position != before.position {
        let words = position_words(now.position, choices);
        parts.push(choice(panels.position, words));
    }
    parts
}
