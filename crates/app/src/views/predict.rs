//! A prediction: the question with its answers, then what was true.

use geometry::ImageSide;

use crate::action::{Action, Way};
use crate::predict::{Turn, Whereabouts};
use crate::state::State;
use crate::texts::{Texts, capitalised, fill};

use super::menus::MenuItem;

/// The question, or what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictView {
    /// Whether turns are asked about.
    pub on: bool,
    /// "Image left now shows the head end. Where will it be after …?"; empty when nothing is asked.
    pub question: String,
    /// What can be said, in the order of [`Whereabouts::ALL`]; none once it was.
    pub answers: Vec<MenuItem>,
    /// "Yes: the head end is at image right."; empty before.
    pub verdict: String,
    /// Whether what was said is true; none before.
    pub right: Option<bool>,
    /// The side of the picture that can be asked why, after the answer.
    pub side: Option<ImageSide>,
}

pub(super) fn predict_view(state: &State, texts: &Texts) -> PredictView {
    let words = &texts.predict;
    let mut view = PredictView {
        on: state.predicting,
        question: String::new(),
        answers: Vec::new(),
        verdict: String::new(),
        right: None,
        side: None,
    };
    let Some(asked) = &state.prediction else {
        return view;
    };
    let [half, clockwise, anticlockwise] = words.turns;
    let turn = match asked.turn {
        Turn::Reverse => half,
        Turn::Quarter(Way::Forward) => clockwise,
        Turn::Quarter(Way::Back) => anticlockwise,
    };
    let about = texts.sides.name(asked.about);
    view.question = fill(words.question, &[about, turn]);
    let Some(said) = asked.said else {
        view.answers = Whereabouts::ALL
            .map(|place| MenuItem {
                key: format!("{place:?}"),
                label: place_words(place, texts),
                chosen: false,
                action: Action::Predict(place),
            })
            .to_vec();
        return view;
    };
    let truth = match asked.right {
        Whereabouts::At(side) => {
            let side = side_words(side, texts).to_lowercase();
            fill(words.at, &[about, &side])
        }
        Whereabouts::Nowhere => fill(words.at_none, &[about]),
    };
    let right = said == asked.right;
    let pattern = if right { words.right } else { words.wrong };
    view.right = Some(right);
    view.side = Some(match asked.right {
        Whereabouts::At(side) => side,
        // What image left shows instead tells why.
        Whereabouts::Nowhere => ImageSide::Left,
    });
    view.verdict = capitalised(&fill(pattern, &[&truth]));
    view
}

fn side_words(side: ImageSide, texts: &Texts) -> &'static str {
    match side {
        ImageSide::Left => texts.choices.image_left,
        ImageSide::Right => texts.choices.image_right,
        ImageSide::Top => texts.choices.image_top,
        ImageSide::Bottom => texts.choices.image_bottom,
    }
}

fn place_words(place: Whereabouts, texts: &Texts) -> String {
    match place {
        Whereabouts::At(side) => side_words(side, texts).to_owned(),
        Whereabouts::Nowhere => texts.predict.nowhere.to_owned(),
    }
}
