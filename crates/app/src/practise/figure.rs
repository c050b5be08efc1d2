//! Views beside the two stages: those of a check's questions, and the learner's side of a comparison.

use geometry::{Angle, ImageSide, MarkSide, PatientSide, Placement, Pose, Vector};
use practice::compose::seen;
use practice::mark::accepts;
use practice::question::Asked;
use practice::{Answer, Choice, Kind, PlaneWord, Question, Task};

use super::in_words::in_words;
use super::round::{Figured, Item, Stage};
use super::show;
use crate::scene::{CameraPreset, preset_camera};
use crate::state::State;
use crate::texts::{PractiseTexts, Texts};
use crate::views::{SidesView, sides_view};

/// Which view.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Still {
    /// That of a question of the open check, by its number from 0.
    Question(usize),
    /// The picture before a movement, or what the learner gave, while the stages show what came after or what is right.
    Given,
}

/// A body and a picture to look at, not to move.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureView {
    /// Whether the body is shown.
    pub body: bool,
    /// Whether the picture is shown.
    pub picture: bool,
    /// Whether the letters at the picture's sides are shown.
    pub letters: bool,
    /// The four sides of the picture.
    pub sides: SidesView,
}

/// Two views to compare: what the learner gave, and what is right.
#[derive(Debug, Clone, PartialEq)]
pub struct CompareView {
    /// The name of the one: "Your pose", "As you answered", "Before", …
    pub given: &'static str,
    /// The name of the other.
    pub right: &'static str,
    /// The one; the other is on the stages.
    pub figure: FigureView,
}

/// What a state shows as a figure.
pub(super) fn figure(state: &State, texts: &Texts) -> FigureView {
    let veil = state.veil();
    let mut sides = sides_view(state, texts);
    if veil.exchanged {
        let [_, _, top, bottom] = &mut sides.sides;
        std::mem::swap(&mut top.letters, &mut bottom.letters);
        std::mem::swap(&mut top.words, &mut bottom.words);
    }
    FigureView {
        body: veil.body,
        picture: veil.picture,
        letters: veil.letters,
        sides,
    }
}

/// The names of the two views of a comparison.
fn names(question: &Question, answer: Option<&Answer>, words: &PractiseTexts) -> [&'static str; 2] {
    match (question.kind, answer) {
        (Kind::PlaceProbe, Some(Answer::Placed(_))) => [words.your_pose, words.right_pose],
        (Kind::PlaceProbe, _) => [words.first_pose, words.right_pose],
        (Kind::NextMove, _) => [words.before, words.after],
        (Kind::FindTheFault, _) => [words.as_shown, words.put_right],
        _ => [words.as_answered, words.as_it_is],
    }
}

/// The two views that there are to compare: of a movement from the start, else once the answer is told.
pub(super) fn compare(state: &State, texts: &Texts) -> Option<CompareView> {
    let round = state.practise.round.as_ref()?;
    let (item, question) = (round.item()?, round.on_show()?);
    let figured = item.given.as_ref()?;
    let two = match round.stage {
        Stage::Told => true,
        Stage::Asking | Stage::Worked => question.after.is_some(),
        Stage::Sheet | Stage::Acquiring | Stage::Review => false,
    };
    let [given, right] = names(question, item.answer.as_ref(), &texts.practise);
    two.then(|| CompareView {
        given,
        right,
        figure: figured.figure.clone(),
    })
}

/// Keeps the view before the movement of the open question, with what it shows in words.
pub(super) fn keep_before(state: &mut State) {
    let shown = state.still(Still::Given);
    let kept = shown.as_ref().and_then(|shown| {
        let question = shown.practise.round.as_ref()?.on_show()?;
        let contents = seen(&question.view, shown.body()?);
        Some(Figured {
            figure: figure(shown, shown.texts),
            words: in_words(shown, Some(&contents), question, shown.texts),
        })
    });
    keep(state, kept);
}

/// Keeps the view of what the learner gave.
pub(super) fn keep_given(state: &mut State) {
    let shown = state.still(Still::Given);
    let kept = shown.map(|shown| Figured {
        figure: figure(&shown, shown.texts),
        words: String::new(),
    });
    keep(state, kept);
}

fn keep(state: &mut State, kept: Option<Figured>) {
    if let Some(round) = &mut state.practise.round
        && let Some(item) = round.items.get_mut(round.at)
    {
        item.given = kept;
    }
}

fn told_item(state: &State) -> Option<&Item> {
    let round = state.practise.round.as_ref()?;
    (round.stage == Stage::Told).then(|| round.item())?
}

impl State {
    /// The application as a view beside the stages shows it; `None` where there is no such view now.
    #[must_use]
    pub fn still(&self, which: Still) -> Option<Self> {
        let mut shown = self.clone();
        let round = shown.practise.round.as_mut()?;
        match which {
            Still::Question(number) => {
                let there = round.stage == Stage::Sheet && number < round.items.len();
                round.at = there.then_some(number)?;
                show::lay_out(&mut shown, true);
            }
            Still::Given if matches!(round.stage, Stage::Asking | Stage::Worked) => {
                round.on_show()?.after.as_ref()?;
                show::lay_out(&mut shown, false);
            }
            Still::Given => {
                let item = told_item(self)?;
                let given = given(item)?;
                // A fault is still a fault in the view that has it.
                if item.question.kind == Kind::FindTheFault {
                    round.stage = Stage::Asking;
                }
                show::stand(&mut shown, &given);
                shown.camera = match item.question.kind {
                    Kind::PlaceProbe => near(&shown, &item.question),
                    _ => show::camera_of(&shown, &item.question.view),
                };
            }
        }
        Some(shown)
    }
}

/// Both views of a placed probe from one viewpoint, where the skin of both looks the same way.
fn near(shown: &State, question: &Question) -> crate::scene::Camera {
    let mut right = shown.clone();
    let placement = show::right_placement(question);
    let alike = placement.pose.normal().dot(shown.pose.normal()) > 0.5
        && (placement.pose.contact() - shown.pose.contact()).norm() < 150.0;
    if alike {
        right.pose = placement.pose;
    }
    preset_camera(&right, CameraPreset::ToWindow)
}

/// Where the probe stands in what the learner gave; `None` where there is nothing to compare with the right view.
pub(super) fn given(item: &Item) -> Option<Placement> {
    let (question, answer) = (&item.question, item.answer.as_ref()?);
    match (question.kind, answer) {
        (Kind::PlaceProbe, Answer::Placed(placed)) => Some(*placed),
        (Kind::PlaceProbe, _) => match &question.task {
            Task::Place { start } => Some(*start),
            _ => None,
        },
        (Kind::NextMove | Kind::FindTheFault, _) => Some(show::shown_placement(question, false)),
        (_, Answer::Chosen(chosen)) => as_answered(question, chosen),
        _ => None,
    }
}

/// A beam this near to a direction cannot have it across: there is no such pose at this place.
const ALONG: f64 = 0.7;

/// The probe turned about its beam until the first wrong choice would be right; `None` for a right answer and where no
/// such turn does it.
fn as_answered(question: &Question, chosen: &[Choice]) -> Option<Placement> {
    let parts = question.parts().iter().zip(chosen);
    let (part, choice) = parts
        .filter(|(part, choice)| !accepts(part.right, **choice))
        .find(|(part, _)| {
            matches!(
                part.asked,
                Asked::Plane | Asked::Notch | Asked::ImageSide(_)
            )
        })?;
    let placement = question.view.placement;
    let axes = placement.pose.axes();
    let beam = axes.depth;
    let notch: Vector<geometry::Patient> = match (part.asked, *choice) {
        (Asked::Notch, Choice::Side(side)) => side.direction().to_vector(),
        (Asked::ImageSide(image), Choice::Side(side)) => {
            toward_notch(image, side, placement.convention.mark)?
                .direction()
                .to_vector()
        }
        (Asked::Plane, Choice::Plane(PlaneWord::Named(plane))) => {
            let across = match plane {
                geometry::BodyPlane::Sagittal => PatientSide::Left,
                geometry::BodyPlane::Coronal => PatientSide::Anterior,
                geometry::BodyPlane::Transverse => PatientSide::Head,
            };
            let normal = across.direction();
            if normal.dot(beam).abs() > ALONG {
                return None;
            }
            let notch = normal.cross(beam);
            // The nearer of the two ways round.
            let same_way = notch.dot(axes.lateral.to_vector()) >= 0.0;
            if same_way { notch } else { -notch }
        }
        _ => return None,
    };
    let along = notch.direction()?.dot(beam).abs();
    if along > ALONG {
        return None;
    }
    let pose = &placement.pose;
    let turned =
        Pose::from_notch_and_beam(pose.contact(), pose.normal(), notch, beam.to_vector()).ok()?;
    let differs = turned.axes().lateral.dot(axes.lateral) < Angle::deg(3.0).cos();
    differs.then_some(Placement {
        pose: turned.with_press(pose.press()),
        ..placement
    })
}

/// Where the notch would point if this side of the image showed that side of the patient; `None` for top and bottom,
/// which do not follow the notch.
fn toward_notch(image: ImageSide, side: PatientSide, mark: MarkSide) -> Option<PatientSide> {
    match (image, mark) {
        (ImageSide::Left, MarkSide::Left) | (ImageSide::Right, MarkSide::Right) => Some(side),
        (ImageSide::Left, MarkSide::Right) | (ImageSide::Right, MarkSide::Left) => {
            Some(side.opposite())
        }
        (ImageSide::Top | ImageSide::Bottom, _) => None,
    }
}
