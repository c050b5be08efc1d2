//! Prompts, options and reasons in words.

use anatomy::{AxisView, BodySide};
use geometry::{Angle, BodyPlane, ImageSide, MarkSide, ObliqueKind, PatientSide, PlaneName};
use picture::TopShape;
use practice::explain::{LEAST_SLIDE_MM, LEAST_TURN, Reason, Turns};
use practice::misconception::Misconception;
use practice::question::Asked;
use practice::{Answer, Choice, Fault, Kind, Move, PlaneWord, Question, Skill, Subject};
use wording::Key;

use crate::texts::{PractiseTexts, Texts, fill};

/// Number of a kind in the tables of words.
fn kind_place(kind: Kind) -> usize {
    Kind::ALL.iter().position(|one| *one == kind).unwrap_or(0)
}

/// "sides of the picture".
pub(crate) fn kind_words(kind: Kind, texts: &PractiseTexts) -> &'static str {
    texts.kinds[kind_place(kind)]
}

/// "sides of the picture, transverse".
pub(crate) fn skill_words(skill: Skill, texts: &Texts) -> String {
    let plane = match skill.plane {
        practice::PlaneClass::Sagittal => texts.practise.planes[0],
        practice::PlaneClass::Coronal => texts.practise.planes[1],
        practice::PlaneClass::Transverse => texts.practise.planes[2],
        practice::PlaneClass::Oblique => texts.practise.planes[4],
    };
    format!("{}, {plane}", kind_words(skill.kind, &texts.practise))
}

/// The rule that a first hint gives.
pub(crate) fn rule(kind: Kind, texts: &PractiseTexts) -> &'static str {
    texts.rules[kind_place(kind)]
}

/// The sentence about a misconception.
pub(crate) fn misconception(one: Misconception, texts: &PractiseTexts) -> &'static str {
    let place = Misconception::ALL
        .iter()
        .position(|known| *known == one)
        .unwrap_or(0);
    texts.misconceptions[place]
}

fn plane_place(plane: PlaneWord) -> usize {
    match plane {
        PlaneWord::Named(BodyPlane::Sagittal) => 0,
        PlaneWord::Named(BodyPlane::Coronal) => 1,
        PlaneWord::Named(BodyPlane::Transverse) => 2,
        PlaneWord::Longitudinal => 3,
        PlaneWord::Oblique(None) => 4,
        PlaneWord::Oblique(Some(ObliqueKind::Longitudinal)) => 5,
        PlaneWord::Oblique(Some(ObliqueKind::Transverse)) => 6,
    }
}

pub(crate) fn toward(side: PatientSide, texts: &PractiseTexts) -> &'static str {
    let place = PatientSide::ALL
        .iter()
        .position(|one| *one == side)
        .unwrap_or(0);
    texts.toward[place]
}

pub(super) fn image_side(side: ImageSide, texts: &PractiseTexts) -> &'static str {
    match side {
        ImageSide::Left => texts.image_sides[0],
        ImageSide::Right => texts.image_sides[1],
        ImageSide::Top => texts.image_sides[2],
        ImageSide::Bottom => texts.image_sides[3],
    }
}

fn mark_side(mark: MarkSide, texts: &PractiseTexts) -> &'static str {
    match mark {
        MarkSide::Left => texts.image_sides[0],
        MarkSide::Right => texts.image_sides[1],
    }
}

pub(crate) fn body_side(side: BodySide, texts: &PractiseTexts) -> &'static str {
    match side {
        BodySide::Left => texts.body_sides[0],
        BodySide::Right => texts.body_sides[1],
        BodySide::Mid => texts.body_sides[2],
    }
}

fn shape(shape: TopShape, texts: &PractiseTexts) -> &'static str {
    match shape {
        TopShape::Curved => texts.shapes[0],
        TopShape::TightCurve => texts.shapes[1],
        TopShape::Flat => texts.shapes[2],
        TopShape::Point => texts.shapes[3],
    }
}

fn axis(view: AxisView, texts: &PractiseTexts) -> &'static str {
    match view {
        AxisView::Long => texts.axes[0],
        AxisView::Short => texts.axes[1],
        AxisView::Oblique => texts.axes[2],
    }
}

/// "rock, the beam toward the notch".
fn movement(made: Move, texts: &PractiseTexts) -> String {
    match made {
        Move::Slide(side) => fill(texts.slide, &[toward(side, texts)]),
        Move::Tilt(side) => fill(texts.tilt, &[toward(side, texts)]),
        Move::RockToNotch => texts.rock_to_notch.to_owned(),
        Move::RockFromNotch => texts.rock_from_notch.to_owned(),
        Move::TurnClockwise => texts.clockwise.to_owned(),
        Move::TurnCounter => texts.counter.to_owned(),
        Move::Press => texts.press.to_owned(),
        Move::Release => texts.release.to_owned(),
    }
}

/// What a choice says.
pub(crate) fn choice(one: Choice, texts: &PractiseTexts) -> String {
    match one {
        Choice::Plane(plane) => texts.planes[plane_place(plane)].to_owned(),
        Choice::Side(side) => toward(side, texts).to_owned(),
        Choice::Move(made) => movement(made, texts),
        Choice::Fault(fault) => match fault {
            Fault::NotchReversed => texts.faults[0],
            Fault::MarkOnOtherSide => texts.faults[1],
            Fault::DepthLetters => texts.faults[2],
            Fault::BodySide => texts.faults[3],
        }
        .to_owned(),
        Choice::TurnNotch(side) => fill(texts.turn_notch, &[toward(side, texts)]),
        Choice::ShowMark(mark) => fill(texts.show_mark, &[mark_side(mark, texts)]),
        Choice::WriteAtTop(side) => fill(texts.write_top, &[toward(side, texts)]),
        Choice::WriteSide(side) => fill(texts.write_side, &[body_side(side, texts)]),
        Choice::Shape(top) => shape(top, texts).to_owned(),
        Choice::Axis(view) => axis(view, texts).to_owned(),
    }
}

/// The heading of a part.
pub(crate) fn part(asked: Asked, texts: &PractiseTexts) -> &'static str {
    match asked {
        Asked::Plane => texts.parts[0],
        Asked::ImageSide(_) => texts.parts[1],
        Asked::Notch => texts.parts[2],
        Asked::Move => texts.parts[3],
        Asked::Fault => texts.parts[4],
        Asked::Repair => texts.parts[5],
        Asked::Shape => texts.parts[6],
        Asked::Axis => texts.parts[7],
    }
}

fn lower(label: &str) -> String {
    let mut letters = label.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().collect::<String>() + letters.as_str()
    })
}

/// What the question asks.
pub(crate) fn prompt(question: &Question, texts: &PractiseTexts) -> String {
    let pattern = texts.prompts[kind_place(question.kind)];
    let label = question
        .subject
        .as_ref()
        .map(|subject| lower(&subject.label))
        .unwrap_or_default();
    match question.kind {
        Kind::Side => {
            let side = question
                .parts()
                .first()
                .map_or("", |part| match part.asked {
                    Asked::ImageSide(side) => image_side(side, texts),
                    _ => "",
                });
            fill(pattern, &[side])
        }
        Kind::Axis => fill(pattern, &[&label]),
        Kind::PlaceProbe => {
            let plane = PlaneWord::of(question.view.naming().name);
            let left = question.view.sides().left.dominant();
            fill(
                pattern,
                &[
                    &label,
                    texts.a_plane[plane_place(plane)],
                    toward(left, texts),
                ],
            )
        }
        _ => pattern.to_owned(),
    }
}

/// The caption and the department, for a picture and a body that disagree.
pub(crate) fn caption(question: &Question, texts: &Texts) -> Option<String> {
    let (shown, subject) = (question.disagreement.as_ref()?, question.subject.as_ref()?);
    let label = shown.caption.map_or_else(
        || subject.label.clone(),
        |side| label_on_side(subject, side, texts),
    );
    let words = &texts.practise;
    Some(format!(
        "{} {}",
        fill(words.caption, &[&lower(&label)]),
        fill(words.department, &[mark_side(shown.department, words)])
    ))
}

/// The name of a structure's counterpart on this side of the body; its own name on its own side.
fn label_on_side(subject: &Subject, side: BodySide, texts: &Texts) -> String {
    let id = subject.structure.as_str();
    let bare = id
        .strip_prefix("left_")
        .or_else(|| id.strip_prefix("right_"))
        .unwrap_or(id);
    let (word, english) = match side {
        BodySide::Left => ("left", ["Right", "Left"]),
        BodySide::Right => ("right", ["Left", "Right"]),
        BodySide::Mid => return subject.label.clone(),
    };
    if side == subject.side {
        return subject.label.clone();
    }
    let key = Key::of("names.structures").named(&format!("{word}_{bare}"));
    match texts.names.get(key) {
        Some(name) => name.to_owned(),
        // Names that no language replaces are English and begin with their side.
        None => subject.label.replacen(english[0], english[1], 1),
    }
}

/// An answer in words.
pub(crate) fn answer(question: &Question, answer: &Answer, texts: &PractiseTexts) -> String {
    let _ = question;
    match answer {
        Answer::Chosen(chosen) => {
            let words: Vec<String> = chosen.iter().map(|one| choice(*one, texts)).collect();
            words.join("; ")
        }
        Answer::Written(line) => line.clone(),
        Answer::Placed(_) | Answer::Skipped => texts.nothing.to_owned(),
    }
}

/// The right answer in words; `None` where it is a pose.
pub(crate) fn right_answer(question: &Question, texts: &PractiseTexts) -> Option<String> {
    let right = question.right_choices();
    if !right.is_empty() {
        return Some(answer(question, &Answer::Chosen(right), texts));
    }
    if question.kind != Kind::Annotate {
        return None;
    }
    let plane = PlaneWord::of(question.view.naming().name);
    let subject = question.subject.as_ref()?;
    Some(format!(
        "{}, {}",
        texts.planes[plane_place(plane)],
        lower(&subject.label)
    ))
}

fn degrees(angle: Angle) -> String {
    format!("{:.0}", angle.to_deg())
}

/// "From your pose to the right one: slide 30 mm toward the head; rotate 40° clockwise."
fn way_to_go(
    slide_mm: f64,
    side: PatientSide,
    turns: Option<Turns>,
    texts: &PractiseTexts,
) -> String {
    let mut steps = Vec::new();
    if slide_mm >= LEAST_SLIDE_MM || turns.is_none() {
        let pattern = if turns.is_some() {
            texts.way_slide
        } else {
            texts.way_put
        };
        steps.push(fill(
            pattern,
            &[&format!("{slide_mm:.0}"), toward(side, texts)],
        ));
    }
    let mut turn = |by: Angle, [forth, back]: [&str; 2], sides: [PatientSide; 2]| {
        let degrees = by.to_deg();
        if by.abs() >= LEAST_TURN {
            let back_too = degrees < 0.0;
            let (pattern, side) = if back_too {
                (back, sides[1])
            } else {
                (forth, sides[0])
            };
            let number = format!("{:.0}", degrees.abs());
            steps.push(fill(pattern, &[&number, toward(side, texts)]));
        }
    };
    if let Some(turns) = turns {
        let way = turns.tilt_toward;
        turn(turns.rotate, texts.way_rotate, [way; 2]);
        turn(turns.tilt, [texts.way_tilt; 2], [way, way.opposite()]);
        turn(turns.rock, texts.way_rock, [way; 2]);
    }
    fill(texts.way, &[&steps.join("; ")])
}

/// A reason as one or more sentences.
pub(crate) fn reason(one: &Reason, all: &Texts) -> String {
    let texts = &all.practise;
    match one {
        Reason::NotchAtMark { notch, mark } => fill(
            texts.why_notch,
            &[toward(*notch, texts), mark_side(*mark, texts)],
        ),
        Reason::ImageSideShows {
            image,
            patient,
            off,
        } => {
            let (image, patient) = (image_side(*image, texts), toward(*patient, texts));
            if off.to_deg() < 1.0 {
                fill(texts.why_side, &[image, patient])
            } else {
                fill(texts.why_side_off, &[image, patient, &degrees(*off)])
            }
        }
        Reason::TopIsSkin { at_top, side } => {
            let place = if *at_top {
                texts.image_sides[2]
            } else {
                texts.image_sides[3]
            };
            fill(texts.why_top, &[place, toward(*side, texts)])
        }
        Reason::PlaneFollows(naming) => {
            let angles = naming.angles;
            let plane = match naming.name {
                PlaneName::Named(plane) => PlaneWord::Named(plane),
                name @ PlaneName::Oblique(_) => PlaneWord::of(name),
            };
            fill(
                texts.why_plane,
                &[
                    &degrees(angles.sagittal),
                    &degrees(angles.coronal),
                    &degrees(angles.transverse),
                    &degrees(naming.tolerance),
                    texts.planes[plane_place(plane)],
                ],
            )
        }
        Reason::ContainsBeam(side) => fill(texts.why_beam, &[toward(*side, texts)]),
        Reason::AxisFollows { label, view, angle } => fill(
            texts.why_axis,
            &[&degrees(*angle), &lower(label), axis(*view, texts)],
        ),
        Reason::ShapeFollows {
            shape: top,
            transducer,
        } => fill(
            texts.why_shape,
            &[&lower(all.transducer(transducer)), shape(*top, texts)],
        ),
        Reason::Moved {
            made,
            plane_turned,
            beam_turned,
            went,
        } => {
            let words = movement(*made, texts);
            match made {
                Move::Slide(_) => fill(
                    texts.why_moved_slide,
                    &[&format!("{:.0}", went.get()), &words],
                ),
                Move::Press | Move::Release => fill(texts.why_moved_press, &[&words]),
                _ => fill(
                    texts.why_moved_plane,
                    &[&degrees(*plane_turned), &degrees(*beam_turned), &words],
                ),
            }
        }
        Reason::NotchDisagrees { body, picture } => fill(
            texts.why_fault_notch,
            &[toward(*body, texts), toward(*picture, texts)],
        ),
        Reason::MarkDisagrees {
            picture,
            department,
        } => fill(
            texts.why_fault_mark,
            &[mark_side(*picture, texts), mark_side(*department, texts)],
        ),
        Reason::DepthLettersDisagree { top } => fill(texts.why_fault_top, &[toward(*top, texts)]),
        Reason::CaptionDisagrees { side } => {
            fill(texts.why_fault_caption, &[body_side(*side, texts)])
        }
        Reason::PlacedOff {
            plane,
            reversed,
            aim,
            wrong_half,
        } => {
            let aim = format!("{:.0}", aim.get());
            let mut words = fill(texts.why_placed, &[&degrees(*plane), &aim]);
            for (holds, sentence) in [
                (*reversed, texts.why_reversed),
                (*wrong_half, texts.why_half),
            ] {
                if holds {
                    words.push(' ');
                    words.push_str(sentence);
                }
            }
            words
        }
        Reason::WayToGo {
            slide,
            toward: side,
            turns,
        } => way_to_go(slide.get(), *side, *turns, texts),
        Reason::WordsFollow { label } => fill(texts.why_words, &[&lower(label)]),
    }
}
