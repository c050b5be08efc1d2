//! Questions about a movement between two views.

use anatomy::Body;
use geometry::{Angle, Mm, PatientSide, Pose};

use super::{MOST_OPTIONS, Step, Unfit, choose, clear_side, part, stepped};
use crate::question::{Asked, Choice, Move, Question, View};

/// A slide that turns the beam by more than this looks like a tilt.
const STRAIGHT_SLIDE: Angle = Angle::deg(8.0);

/// The least and the greatest step that a movement can be told by (settings of this project).
const TELLING_ANGLE: (Angle, Angle) = (Angle::deg(10.0), Angle::deg(120.0));
const TELLING_SLIDE_MM: f64 = 8.0;
const TELLING_PRESS_MM: f64 = 4.0;

pub(super) fn next_move(question: &mut Question, step: Step, body: &Body) -> Result<(), Unfit> {
    let before = question.view.placement;
    let placement = stepped(&before, step, body);
    let after = View {
        placement,
        window: None,
        ..question.view.clone()
    };
    let told = |by: Angle| {
        let size = by.abs();
        if size >= TELLING_ANGLE.0 && size <= TELLING_ANGLE.1 {
            Ok(())
        } else {
            Err(Unfit::MoveUnclear)
        }
    };
    let right = match step {
        Step::Tilt(by) => {
            told(by)?;
            if (placement.pose.tilt() - before.pose.tilt() - by).abs() > Angle::deg(0.01) {
                return Err(Unfit::MoveUnclear);
            }
            let toward = tilt_side(&before.pose)?;
            Move::Tilt(if by > Angle::ZERO {
                toward
            } else {
                toward.opposite()
            })
        }
        Step::Rock(by) => {
            told(by)?;
            if by > Angle::ZERO {
                Move::RockToNotch
            } else {
                Move::RockFromNotch
            }
        }
        Step::Rotate(by) => {
            told(by)?;
            if by > Angle::ZERO {
                Move::TurnClockwise
            } else {
                Move::TurnCounter
            }
        }
        Step::Press(by) => {
            if by.get().abs() < TELLING_PRESS_MM {
                return Err(Unfit::MoveUnclear);
            }
            if by > Mm::ZERO {
                Move::Press
            } else {
                Move::Release
            }
        }
        Step::Slide(_) => {
            let moved = placement.pose.contact() - before.pose.contact();
            let way = moved.direction().ok_or(Unfit::MoveUnclear)?;
            let bent = placement.pose.axes().depth.dot(before.pose.axes().depth);
            if moved.norm() < TELLING_SLIDE_MM || Angle::acos(bent) > STRAIGHT_SLIDE {
                return Err(Unfit::MoveUnclear);
            }
            Move::Slide(clear_side("slide", way)?)
        }
    };
    question.after = Some(after);
    let mut options = vec![Choice::Move(right), Choice::Move(right.opposite())];
    options.extend(move_options(&before.pose));
    options.dedup();
    options.truncate(MOST_OPTIONS);
    let mut kept: Vec<Choice> = Vec::new();
    for choice in options {
        if !kept.contains(&choice) {
            kept.push(choice);
        }
    }
    choose(
        question,
        vec![part(Asked::Move, kept, Choice::Move(right), 1.0)],
    );
    Ok(())
}

/// The side toward which a positive tilt swings the beam, where it is clear.
pub(crate) fn tilt_side(pose: &Pose) -> Result<PatientSide, Unfit> {
    clear_side("way of the tilt", pose.axes().elevation)
}

/// One way of each movement, for the list of options.
fn move_options(pose: &Pose) -> Vec<Choice> {
    let tilt = tilt_side(pose).ok().map(Move::Tilt);
    [Some(Move::RockToNotch), Some(Move::TurnClockwise), tilt]
        .into_iter()
        .flatten()
        .flat_map(|one| [one, one.opposite()])
        .map(Choice::Move)
        .collect()
}
