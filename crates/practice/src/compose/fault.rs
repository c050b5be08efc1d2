//! Questions about a picture and a body that disagree.

use anatomy::{Body, BodySide, StructureId};
use geometry::{ImageSide, Placement};

use super::{
    CLEAR_OF_MIDLINE_MM, Unfit, choose, clear_image_side, clear_notch, index, part, reversed,
};
use crate::question::{Asked, Choice, Disagreement, Fault, Question, Subject};

pub(super) fn find_the_fault(
    question: &mut Question,
    fault: Fault,
    id: &StructureId,
    body: &Body,
) -> Result<(), Unfit> {
    let view = &question.view;
    let structure = body.structure(index(body, id)?);
    let sides = [
        ImageSide::Left,
        ImageSide::Right,
        ImageSide::Top,
        ImageSide::Bottom,
    ];
    for side in sides {
        clear_image_side(view, side)?;
    }
    let here = view.placement;
    let notch = clear_notch(&here.pose)?;
    let top = clear_image_side(view, ImageSide::Top)?;
    let contact_x = here.pose.contact().x();
    // The caption's side can be told where structure and probe are on one side of the body.
    let half = if contact_x < 0.0 {
        BodySide::Right
    } else {
        BodySide::Left
    };
    let told =
        contact_x.abs() >= CLEAR_OF_MIDLINE_MM && structure.side == half && is_one_of_a_pair(id);
    let caption = told.then_some(structure.side);
    let department = here.convention.mark;
    let (picture, right) = match fault {
        Fault::NotchReversed => {
            let pose = reversed(&here.pose)?;
            (
                Placement { pose, ..here },
                Choice::TurnNotch(notch.opposite()),
            )
        }
        Fault::MarkOnOtherSide => {
            let mut picture = here;
            picture.convention.mark = department.opposite();
            (picture, Choice::ShowMark(department))
        }
        Fault::DepthLetters => (here, Choice::WriteAtTop(top)),
        Fault::BodySide => (here, Choice::WriteSide(caption.ok_or(Unfit::FaultUnclear)?)),
    };
    let mut faults = Fault::ALL.map(Choice::Fault).to_vec();
    let mut repairs = vec![
        right,
        Choice::TurnNotch(notch.opposite()),
        Choice::ShowMark(department),
        Choice::WriteAtTop(top),
    ];
    match caption {
        Some(side) => repairs.push(Choice::WriteSide(side)),
        None => faults.retain(|choice| *choice != Choice::Fault(Fault::BodySide)),
    }
    repairs.push(match right {
        Choice::TurnNotch(side) => Choice::TurnNotch(side.opposite()),
        Choice::ShowMark(mark) => Choice::ShowMark(mark.opposite()),
        Choice::WriteAtTop(side) => Choice::WriteAtTop(side.opposite()),
        Choice::WriteSide(side) => Choice::WriteSide(other(side)),
        unchanged => unchanged,
    });
    repairs.sort();
    repairs.dedup();
    question.disagreement = Some(Disagreement {
        fault,
        picture,
        department,
        caption: caption.map(|side| match fault {
            Fault::BodySide => other(side),
            _ => side,
        }),
        depth_letters_exchanged: fault == Fault::DepthLetters,
    });
    question.subject = Some(Subject {
        structure: id.clone(),
        label: structure.label.clone(),
        side: structure.side,
        axis: None,
        aim: here.pose.contact(),
    });
    let parts = vec![
        part(Asked::Fault, faults, Choice::Fault(fault), 0.5),
        part(Asked::Repair, repairs, right, 0.5),
    ];
    choose(question, parts);
    Ok(())
}

/// Whether the structure has a counterpart on the other side; the aorta lies on the left and has none.
pub(super) fn is_one_of_a_pair(id: &StructureId) -> bool {
    ["left_", "right_"]
        .iter()
        .any(|side| id.as_str().starts_with(side))
}

/// The other side of the body; the middle has none.
pub(crate) const fn other(side: BodySide) -> BodySide {
    match side {
        BodySide::Left => BodySide::Right,
        BodySide::Right => BodySide::Left,
        BodySide::Mid => BodySide::Mid,
    }
}
