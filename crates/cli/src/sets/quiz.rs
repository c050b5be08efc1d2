//! Questions of a set as still pictures and choices.

use anyhow::{Context as _, Result, bail};
use course::moment::Moment;
use course::qti::{self, QtiItem};
use course::set::Set;
use course::{round, vocabulary};
use practice::annotation::Vocabulary;
use practice::question::{Asked, Choice, Fault, Move};
use practice::{PlaneWord, Question, View};

use crate::bodies::Bodies;
use crate::still::{Still, still};

/// The program's own words for annotations.
const VOCABULARY: &str = include_str!("../../../../models/vocabulary.toml");

/// The words that annotations of a set are held against: its own, or the program's.
pub(super) fn vocabulary(set: &Set) -> Result<Vocabulary> {
    if let Some(own) = &set.vocabulary {
        return Ok(vocabulary::from_json(own)?);
    }
    Ok(vocabulary::from_file(toml::from_str(VOCABULARY)?)?)
}

/// The package, and which questions have no place in it.
pub(super) fn package(
    set: &Set,
    at: Moment,
    bodies: &mut Bodies,
) -> Result<(Vec<u8>, Vec<String>)> {
    let words = vocabulary(set)?;
    let (mut items, mut left) = (Vec::new(), Vec::new());
    for place in round::order(set, set.seed.unwrap_or(0)) {
        let id = round::body_at(set, place).context("the set changed while it was read")?;
        let body = bodies.get(id)?;
        let made = round::item(set, place, 0, body, Some(&words));
        let item = match made {
            Ok(item) => item,
            Err(refused) => {
                let name = round::entry(set, place)
                    .map_or_else(String::new, |(entry, nth)| entry.item_id(nth));
                left.push(format!("question {name}: {refused}"));
                continue;
            }
        };
        let kind = item.question.kind;
        if !qti::is_still(kind) {
            left.push(format!(
                "question {}: {} needs the body view, which a still picture cannot give",
                item.id,
                kind.key()
            ));
            continue;
        }
        let pictures = pictures(&item.question, body)?;
        let [part, ..] = item.question.parts() else {
            left.push(format!(
                "question {}: it is not answered by choosing",
                item.id
            ));
            continue;
        };
        let options = part
            .options
            .iter()
            .map(|choice| (choice.key(), words_of(*choice)));
        items.push(QtiItem {
            title: format!("{}: {}", set.title, item.id),
            prompt: item
                .prompt
                .clone()
                .unwrap_or_else(|| prompt(&item.question, part.asked)),
            options: options.collect(),
            right: part.right.key(),
            points: item.points,
            pictures,
            feedback: String::new(),
            id: item.id,
        });
    }
    if items.is_empty() {
        bail!("none of its questions can be a still picture with choices");
    }
    Ok((qti::package(set, &items, at), left))
}

fn pictures(question: &Question, body: &anatomy::Body) -> Result<Vec<(Vec<u8>, String)>> {
    let display = question.display();
    let of = |view: &View, words: &str| -> Result<(Vec<u8>, String)> {
        let look = Still {
            letters: display.letters,
            mark: display.mark,
        };
        Ok((still(view, body, look)?, words.to_owned()))
    };
    match &question.after {
        Some(after) => Ok(vec![
            of(&question.view, "Ultrasound picture before the movement")?,
            of(after, "Ultrasound picture after the movement")?,
        ]),
        None => Ok(vec![of(&question.view, "Ultrasound picture")?]),
    }
}

fn prompt(question: &Question, asked: Asked) -> String {
    match asked {
        Asked::Plane => "Which plane of the body is this picture in? The letters at its sides name the directions of the patient.".to_owned(),
        Asked::ImageSide(side) => {
            // The body is not shown, so the pose is told.
            let axes = question.view.placement.pose.axes();
            let toward = |direction| geometry::SideName::of(direction).dominant().words();
            format!(
                "The beam points toward the {}, the notch toward the {}. The dot is the mark: the notch's side of the picture. Which direction of the patient is at the image {}?",
                toward(axes.depth),
                toward(axes.lateral),
                side.word()
            )
        }
        Asked::Notch => "Toward which direction of the patient does the notch point? The letters at the sides of the picture name its directions, the dot is the mark.".to_owned(),
        Asked::Move => "Which movement of the probe made the second picture out of the first?".to_owned(),
        Asked::Shape => "Which shape of transducer made this picture?".to_owned(),
        Asked::Fault => "What is wrong?".to_owned(),
        Asked::Repair => "How is it put right?".to_owned(),
        Asked::Axis => "How does the plane run to the axis of the structure?".to_owned(),
    }
}

fn words_of(choice: Choice) -> String {
    match choice {
        Choice::Plane(word) => plane_words(word).to_owned(),
        Choice::Side(side) => format!("toward the {}", side.words()),
        Choice::Move(Move::Slide(side)) => format!("slide toward the {}", side.words()),
        Choice::Move(Move::Tilt(side)) => {
            format!("tilt, the beam swinging toward the {}", side.words())
        }
        Choice::Move(Move::RockToNotch) => "rock, the beam swinging toward the notch".to_owned(),
        Choice::Move(Move::RockFromNotch) => {
            "rock, the beam swinging away from the notch".to_owned()
        }
        Choice::Move(Move::TurnClockwise) => {
            "rotate clockwise, as seen from outside the skin".to_owned()
        }
        Choice::Move(Move::TurnCounter) => {
            "rotate counterclockwise, as seen from outside the skin".to_owned()
        }
        Choice::Move(Move::Press) => "compress".to_owned(),
        Choice::Move(Move::Release) => "release the pressure".to_owned(),
        Choice::Fault(Fault::NotchReversed) => "the notch points the other way".to_owned(),
        Choice::Fault(Fault::MarkOnOtherSide) => "the mark is at the other side".to_owned(),
        Choice::Fault(Fault::DepthLetters) => {
            "the letters at top and bottom are exchanged".to_owned()
        }
        Choice::Fault(Fault::BodySide) => "the caption names the other side of the body".to_owned(),
        Choice::Shape(shape) => match shape {
            picture::TopShape::Curved => "curved array: a wide curved top",
            picture::TopShape::TightCurve => "tightly curved array: a narrow curved top",
            picture::TopShape::Flat => "linear array: a flat top",
            picture::TopShape::Point => "phased array: the top is a point",
        }
        .to_owned(),
        // Parts that are not exported.
        other => other.key(),
    }
}

const fn plane_words(word: PlaneWord) -> &'static str {
    use geometry::{BodyPlane, ObliqueKind};
    match word {
        PlaneWord::Named(BodyPlane::Sagittal) => "sagittal",
        PlaneWord::Named(BodyPlane::Coronal) => "coronal",
        PlaneWord::Named(BodyPlane::Transverse) => "transverse",
        PlaneWord::Longitudinal => "longitudinal",
        PlaneWord::Oblique(None) => "oblique",
        PlaneWord::Oblique(Some(ObliqueKind::Longitudinal)) => "longitudinal oblique",
        PlaneWord::Oblique(Some(ObliqueKind::Transverse)) => "transverse oblique",
    }
}
