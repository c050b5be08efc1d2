//! A question made of a given view, or the reason why that question would be ambiguous.

mod fault;
mod movement;

pub(crate) use fault::other;
pub(crate) use movement::tilt_side;

use fault::{find_the_fault, is_one_of_a_pair};
use movement::next_move;

use anatomy::{Body, StructureId, StructureIndex, axis_view};
use geometry::{
    Angle, BodyPlane, Direction, ImageSide, MarkSide, Mm, ObliqueKind, Patient, PatientSide,
    Placement, PlaneName, Point, Pose, PoseError, SideName,
};
use picture::{Contents, Press, Seen, TopShape, contents, press_section};

use crate::annotation::{Meaning, Vocabulary};
use crate::misconception::Misconception;
use crate::question::{Asked, Choice, Fault, Part, PlaneWord, Question, Subject, Task, View};
use crate::skill::{Kind, Level};

/// No question is asked about an angle closer than this to the border between two answers (setting of this project).
pub const BORDER: Angle = Angle::deg(5.0);

/// A direction is asked about only while it is within this of its patient axis: 45° less [`BORDER`].
pub const CLEAREST: Angle = Angle::deg(40.0);

/// Visible area from which a lit structure can be seen and told, mm² (setting of this project: a disc of 9 mm).
pub const LEAST_LIT_MM2: f64 = 64.0;

/// The least room around the middle of a lit structure, mm (setting of this project).
const LEAST_ROOM_MM: f64 = 1.5;

/// A caption names a side only of what lies at least this far from the mid-line, and the probe has to stand as far, mm
/// (setting of this project).
const CLEAR_OF_MIDLINE_MM: f64 = 15.0;

/// Most options of one part: what a small screen shows without scrolling (setting of this project).
const MOST_OPTIONS: usize = 6;

/// Fewest options of a part about directions.
const FEWEST_SIDES: usize = 4;

/// What questions are made from.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// The body that the views are of.
    pub body: &'a Body,
    /// The words of annotations; without them no annotation can be asked for.
    pub vocabulary: Option<&'a Vocabulary>,
}

/// A step that a probe makes from the view before to the view after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Along the skin by (toward the notch, toward positive elevation), mm.
    Slide([f64; 2]),
    /// Tilted by this much; positive as in [`Pose`].
    Tilt(Angle),
    /// Rocked by this much; positive toward the notch.
    Rock(Angle),
    /// Rotated by this much; positive clockwise, seen from outside.
    Rotate(Angle),
    /// Pressed in by this much more.
    Press(Mm),
}

/// What is asked about a view.
#[derive(Debug, Clone, PartialEq)]
pub enum Wanted {
    /// [`Kind::PlaneFromProbe`].
    PlaneFromProbe,
    /// [`Kind::PlaneFromPicture`].
    PlaneFromPicture,
    /// [`Kind::Side`], of this side of the image.
    Side(ImageSide),
    /// [`Kind::NotchFromPicture`].
    NotchFromPicture,
    /// [`Kind::PlaceProbe`]: the view is the wanted one.
    PlaceProbe {
        /// Where the probe is at first.
        start: Placement,
        /// The structure to show.
        structure: StructureId,
        /// Its point to aim at, patient mm; without one the middle of what the wanted view shows of it.
        aim: Option<Point<Patient>>,
    },
    /// [`Kind::NextMove`]: the view is the one before.
    NextMove(Step),
    /// [`Kind::Annotate`], this structure lit.
    Annotate(StructureId),
    /// [`Kind::FindTheFault`]; the structure is the one that the caption names.
    FindTheFault(Fault, StructureId),
    /// [`Kind::TransducerFromPicture`].
    TransducerFromPicture,
    /// [`Kind::Axis`], this structure lit.
    Axis(StructureId),
}

impl Wanted {
    /// The kind of question.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::PlaneFromProbe => Kind::PlaneFromProbe,
            Self::PlaneFromPicture => Kind::PlaneFromPicture,
            Self::Side(_) => Kind::Side,
            Self::NotchFromPicture => Kind::NotchFromPicture,
            Self::PlaceProbe { .. } => Kind::PlaceProbe,
            Self::NextMove(_) => Kind::NextMove,
            Self::Annotate(_) => Kind::Annotate,
            Self::FindTheFault(..) => Kind::FindTheFault,
            Self::TransducerFromPicture => Kind::TransducerFromPicture,
            Self::Axis(_) => Kind::Axis,
        }
    }
}

/// Why a question cannot be asked about a view.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Unfit {
    /// The view is of another body than the context's.
    #[error("the view is of the body \"{view}\", not of \"{body}\"")]
    OtherBody {
        /// The view's.
        view: String,
        /// The context's.
        body: String,
    },
    /// The plane is too close to the border between two names.
    #[error("the plane is {degrees:.1}° from {plane}: within 5° of the border between two names")]
    PlaneNearBorder {
        /// The nearest body plane, or transverse where the kind of an oblique plane is unclear.
        plane: &'static str,
        /// The angle from it.
        degrees: f64,
    },
    /// A direction is too close to the border between two sides of the patient.
    #[error(
        "the {what} is {degrees:.1}° off the nearest patient axis: too close to 45° to ask about"
    )]
    SideNearBorder {
        /// Which direction.
        what: &'static str,
        /// The angle from the nearest axis.
        degrees: f64,
    },
    /// The angle between plane and structure is too close to a border.
    #[error("the plane makes {degrees:.1}° with the structure's axis: within 5° of a border")]
    AxisNearBorder {
        /// The angle.
        degrees: f64,
    },
    /// The structure has no axis.
    #[error("\"{0}\" has no long axis worth naming")]
    NoAxis(String),
    /// The body has no such structure.
    #[error("the body has no structure \"{0}\"")]
    NoStructure(String),
    /// The picture shows too little of the structure.
    #[error("too little of \"{0}\" is in the picture")]
    NotShown(String),
    /// There is no vocabulary, or no word for the structure.
    #[error("the vocabulary has no word for \"{0}\"")]
    NoWord(String),
    /// The fault cannot be told from the view.
    #[error("this fault cannot be told from this view")]
    FaultUnclear,
    /// The movement cannot be told from others.
    #[error("this movement cannot be told from another one")]
    MoveUnclear,
    /// The probe is at the wanted place from the start.
    #[error("the probe is at the wanted place from the start")]
    AlreadyThere,
    /// The probe cannot stand like that.
    #[error("the probe cannot stand like that: {0}")]
    Pose(#[from] PoseError),
}

/// The question that `wanted` asks about `view`.
///
/// # Errors
///
/// [`Unfit`] where the question would be ambiguous or cannot be asked.
pub fn compose(
    wanted: &Wanted,
    level: Level,
    view: &View,
    context: &Context<'_>,
) -> Result<Question, Unfit> {
    compose_seen(wanted, level, view, context, None)
}

/// As [`compose`], with what the view shows where that is known already: a section is what a draw spends its time on.
pub(crate) fn compose_seen(
    wanted: &Wanted,
    level: Level,
    view: &View,
    context: &Context<'_>,
    known: Option<&Contents>,
) -> Result<Question, Unfit> {
    if view.body != context.body.id() {
        return Err(Unfit::OtherBody {
            view: view.body.clone(),
            body: context.body.id().to_owned(),
        });
    }
    let mut question = Question {
        kind: wanted.kind(),
        level,
        view: view.clone(),
        after: None,
        subject: subject_of_window(view, context.body),
        disagreement: None,
        task: Task::Choose(Vec::new()),
    };
    match wanted {
        Wanted::PlaneFromProbe | Wanted::PlaneFromPicture => {
            let right = clear_plane(view)?;
            choose(&mut question, vec![plane_part(right, 1.0)]);
        }
        Wanted::Side(side) => {
            let right = clear_image_side(view, *side)?;
            if matches!(side, ImageSide::Left | ImageSide::Right) {
                clear_notch(&view.placement.pose)?;
            }
            let options = Choice::side_options(right);
            let asked = Asked::ImageSide(*side);
            choose(
                &mut question,
                vec![part(asked, options, Choice::Side(right), 1.0)],
            );
        }
        Wanted::NotchFromPicture => {
            // The letters beside the picture have to be as clear as the answer.
            clear_image_side(view, mark_side(view.placement.convention.mark))?;
            let right = clear_side("notch", view.placement.pose.axes().lateral)?;
            let options = Choice::side_options(right);
            choose(
                &mut question,
                vec![part(Asked::Notch, options, Choice::Side(right), 1.0)],
            );
        }
        Wanted::TransducerFromPicture => {
            let options = [
                TopShape::Curved,
                TopShape::TightCurve,
                TopShape::Flat,
                TopShape::Point,
            ];
            let options = options.map(Choice::Shape).to_vec();
            let right = Choice::Shape(view.transducer.top_shape());
            choose(&mut question, vec![part(Asked::Shape, options, right, 1.0)]);
        }
        Wanted::Axis(structure) => axis(&mut question, structure, context.body, known)?,
        Wanted::NextMove(step) => next_move(&mut question, *step, context.body)?,
        Wanted::FindTheFault(fault, structure) => {
            find_the_fault(&mut question, *fault, structure, context.body)?;
        }
        Wanted::Annotate(structure) => annotate(&mut question, structure, context, known)?,
        Wanted::PlaceProbe {
            start,
            structure,
            aim,
        } => place_probe(&mut question, start, structure, *aim, context.body)?,
    }
    add_misconceived(&mut question);
    Ok(question)
}

/// The plane's word, where it is clear: the nearest angle away from the tolerance, and the kind of an oblique plane away
/// from 45°.
///
/// # Errors
///
/// [`Unfit::PlaneNearBorder`].
pub fn clear_plane(view: &View) -> Result<PlaneWord, Unfit> {
    let naming = view.naming();
    let [nearest, _, _] = naming.angles.nearest();
    let angle = naming.angles.get(nearest);
    let near = |plane: BodyPlane, angle: Angle| Unfit::PlaneNearBorder {
        plane: plane.word(),
        degrees: angle.to_deg(),
    };
    if (angle - view.tolerance).abs() < BORDER {
        return Err(near(nearest, angle));
    }
    let transverse = naming.angles.transverse;
    if matches!(naming.name, PlaneName::Oblique(_))
        && (transverse - Angle::deg(45.0)).abs() < BORDER
    {
        return Err(near(BodyPlane::Transverse, transverse));
    }
    Ok(PlaneWord::of(naming.name))
}

/// The patient side that a direction shows, where it is clear.
///
/// # Errors
///
/// [`Unfit::SideNearBorder`].
pub fn clear_side(what: &'static str, direction: Direction<Patient>) -> Result<PatientSide, Unfit> {
    let name = SideName::of(direction);
    let size = name.parts(0.0).next().map_or(0.0, |(_, size)| size);
    let off = Angle::acos(size);
    if off > CLEAREST {
        return Err(Unfit::SideNearBorder {
            what,
            degrees: off.to_deg(),
        });
    }
    Ok(name.dominant())
}

/// The patient side that the notch points to, where the probe as it is drawn and told, by the notch's way along the skin,
/// says the same as the plane, which a rocked probe turns away from the skin.
///
/// # Errors
///
/// [`Unfit::SideNearBorder`].
pub fn clear_notch(pose: &Pose) -> Result<PatientSide, Unfit> {
    let right = clear_side("notch", pose.axes().lateral)?;
    let on_skin = pose.notch_on_skin();
    if clear_side("notch along the skin", on_skin)? == right {
        return Ok(right);
    }
    Err(Unfit::SideNearBorder {
        what: "notch, which the rocked probe turns from the skin,",
        degrees: Angle::acos(on_skin.dot(right.direction())).to_deg(),
    })
}

/// The patient side that a side of the picture shows, where it is clear.
///
/// # Errors
///
/// [`Unfit::SideNearBorder`].
pub fn clear_image_side(view: &View, side: ImageSide) -> Result<PatientSide, Unfit> {
    let plane = view.plane();
    match side {
        ImageSide::Left => clear_side("image left", -plane.row()),
        ImageSide::Right => clear_side("image right", plane.row()),
        ImageSide::Top => clear_side("image top", -plane.column()),
        ImageSide::Bottom => clear_side("image bottom", plane.column()),
    }
}

/// The side of the image at which the mark is.
#[must_use]
pub const fn mark_side(mark: MarkSide) -> ImageSide {
    match mark {
        MarkSide::Left => ImageSide::Left,
        MarkSide::Right => ImageSide::Right,
    }
}

/// What a view shows of its body.
#[must_use]
pub fn seen(view: &View, body: &Body) -> Contents {
    let (plane, field) = (view.plane(), view.field());
    let (mut section, mut press) = (body.section(&plane), Press::default());
    press_section(body, &field, &mut section, &mut press);
    contents(body, &section, &field).under(&press)
}

/// The pose turned by half a turn about its beam: the notch points the other way, the plane is the same.
///
/// # Errors
///
/// [`Unfit::Pose`], not met for a pose that was made from angles.
pub fn reversed(pose: &Pose) -> Result<Pose, Unfit> {
    let axes = pose.axes();
    let (notch, beam) = (-axes.lateral, axes.depth);
    let turned = Pose::from_notch_and_beam(
        pose.contact(),
        pose.normal(),
        notch.to_vector(),
        beam.to_vector(),
    )?;
    Ok(turned.with_press(pose.press()))
}

/// The placement after a step.
#[must_use]
pub fn stepped(placement: &Placement, step: Step, body: &Body) -> Placement {
    let pose = placement.pose;
    let pose = match step {
        Step::Slide([toward_notch, across]) => {
            let notch = pose.notch_on_skin();
            let elevation = (-pose.normal()).cross(notch);
            let along = notch * toward_notch + elevation * across;
            body.skin().slide(&pose, along)
        }
        Step::Tilt(by) => pose.with_tilt(pose.tilt() + by),
        Step::Rock(by) => pose.with_rock(pose.rock() + by),
        Step::Rotate(by) => pose.with_rotation(pose.rotation() + by),
        Step::Press(by) => pose.with_press(pose.press() + by),
    };
    Placement { pose, ..*placement }
}

fn part(asked: Asked, options: Vec<Choice>, right: Choice, worth: f64) -> Part {
    Part {
        asked,
        options,
        right,
        worth,
    }
}

fn choose(question: &mut Question, parts: Vec<Part>) {
    question.task = Task::Choose(parts);
}

fn plane_part(right: PlaneWord, worth: f64) -> Part {
    let options = [
        PlaneWord::Named(BodyPlane::Sagittal),
        PlaneWord::Named(BodyPlane::Coronal),
        PlaneWord::Named(BodyPlane::Transverse),
        PlaneWord::Oblique(Some(ObliqueKind::Longitudinal)),
        PlaneWord::Oblique(Some(ObliqueKind::Transverse)),
    ];
    let options = options.map(Choice::Plane).to_vec();
    part(Asked::Plane, options, Choice::Plane(right), worth)
}

impl Choice {
    /// The right side and its opposite; what misconceptions predict joins them later.
    fn side_options(right: PatientSide) -> Vec<Self> {
        vec![Self::Side(right), Self::Side(right.opposite())]
    }
}

/// Wrong options come from misconceptions first; where those do not fill a list of directions, the remaining sides
/// follow in a fixed order. Options stand in one order for all questions, so that their place tells nothing.
fn add_misconceived(question: &mut Question) {
    let held: Vec<Vec<Choice>> = (0..question.parts().len())
        .map(|place| {
            Misconception::ALL
                .into_iter()
                .filter_map(|one| one.predict(question, place))
                .collect()
        })
        .collect();
    let Task::Choose(parts) = &mut question.task else {
        return;
    };
    for (part, held) in parts.iter_mut().zip(held) {
        for choice in held {
            if part.options.len() < MOST_OPTIONS && !part.options.contains(&choice) {
                part.options.push(choice);
            }
        }
        if matches!(part.asked, Asked::ImageSide(_) | Asked::Notch) {
            for side in PatientSide::ALL {
                let choice = Choice::Side(side);
                if part.options.len() < FEWEST_SIDES && !part.options.contains(&choice) {
                    part.options.push(choice);
                }
            }
        }
        part.options.sort();
    }
}

/// The structure that a window is there for, as far as its view can tell without a picture.
fn subject_of_window(view: &View, body: &Body) -> Option<Subject> {
    let window = body.window(view.window.as_deref()?)?;
    let id = window
        .axis_of
        .first()
        .map(|(id, _)| id)
        .or_else(|| window.must_see.first())?;
    let structure = body.structure(body.find(id.as_str())?);
    let plane = view.plane();
    let axis = structure.axis_on(&plane, window.aim);
    Some(Subject {
        structure: id.clone(),
        label: structure.label.clone(),
        side: structure.side,
        axis: axis.map(|axis| axis_view(axis, plane.normal())),
        aim: window.aim,
    })
}

fn index(body: &Body, id: &StructureId) -> Result<StructureIndex, Unfit> {
    body.find(id.as_str())
        .ok_or_else(|| Unfit::NoStructure(id.as_str().to_owned()))
}

/// The structure as the view's picture shows it.
fn subject_seen(view: &View, seen: &Seen, body: &Body) -> Subject {
    let structure = body.structure(seen.structure);
    Subject {
        structure: structure.id.clone(),
        label: structure.label.clone(),
        side: structure.side,
        axis: seen.axis,
        aim: view.plane().to_patient(seen.centre),
    }
}

fn lit(
    view: &View,
    id: &StructureId,
    body: &Body,
    known: Option<&Contents>,
) -> Result<Subject, Unfit> {
    let wanted = index(body, id)?;
    let looked;
    let contents = match known {
        Some(known) => known,
        None => {
            looked = seen(view, body);
            &looked
        }
    };
    contents
        .find(wanted)
        .filter(|seen| large_enough(seen))
        .map(|seen| subject_seen(view, seen, body))
        .ok_or_else(|| Unfit::NotShown(id.as_str().to_owned()))
}

/// Whether enough of a structure is visible to light it.
pub(crate) fn large_enough(seen: &Seen) -> bool {
    seen.area_mm2 >= LEAST_LIT_MM2 && seen.room_mm >= LEAST_ROOM_MM && seen.open > 0.5
}

/// Whether the angle between axis and plane is away from both borders.
pub(crate) fn clear_axis(angle: Angle) -> bool {
    let limits = [
        anatomy::axis::LONG_AXIS_LIMIT,
        anatomy::axis::SHORT_AXIS_LIMIT,
    ];
    limits.iter().all(|limit| (angle - *limit).abs() >= BORDER)
}

fn axis(
    question: &mut Question,
    id: &StructureId,
    body: &Body,
    known: Option<&Contents>,
) -> Result<(), Unfit> {
    let plane = clear_plane(&question.view)?;
    let subject = lit(&question.view, id, body, known)?;
    let (view, angle) = subject
        .axis
        .ok_or_else(|| Unfit::NoAxis(id.as_str().to_owned()))?;
    if !clear_axis(angle) {
        return Err(Unfit::AxisNearBorder {
            degrees: angle.to_deg(),
        });
    }
    let options = [
        anatomy::AxisView::Long,
        anatomy::AxisView::Short,
        anatomy::AxisView::Oblique,
    ];
    let options = options.map(Choice::Axis).to_vec();
    let parts = vec![
        part(Asked::Axis, options, Choice::Axis(view), 0.5),
        plane_part(plane, 0.5),
    ];
    question.subject = Some(subject);
    choose(question, parts);
    Ok(())
}

fn annotate(
    question: &mut Question,
    id: &StructureId,
    context: &Context<'_>,
    known: Option<&Contents>,
) -> Result<(), Unfit> {
    clear_plane(&question.view)?;
    let vocabulary = context
        .vocabulary
        .ok_or_else(|| Unfit::NoWord(id.as_str().to_owned()))?;
    let subject = lit(&question.view, id, context.body, known)?;
    if !has_word(vocabulary, id) {
        return Err(Unfit::NoWord(id.as_str().to_owned()));
    }
    let side = is_one_of_a_pair(id).then_some(subject.side);
    question.subject = Some(subject);
    question.task = Task::Write { side };
    Ok(())
}

/// Whether the vocabulary names the structure as a whole.
pub(crate) fn has_word(vocabulary: &Vocabulary, id: &StructureId) -> bool {
    vocabulary.terms().iter().any(|term| {
        matches!(&term.meaning, Meaning::Structure { structures, segments, .. }
            if segments.is_empty() && structures.iter().any(|known| known == id.as_str()))
    })
}

/// Where the wanted depth is rounded to, mm.
const DEPTH_STEP_MM: f64 = 10.0;

fn place_probe(
    question: &mut Question,
    start: &Placement,
    id: &StructureId,
    aim: Option<Point<Patient>>,
    body: &Body,
) -> Result<(), Unfit> {
    clear_plane(&question.view)?;
    clear_image_side(&question.view, ImageSide::Left)?;
    let structure = body.structure(index(body, id)?);
    let plane = question.view.plane();
    let subject = match aim {
        Some(aim) => Subject {
            structure: id.clone(),
            label: structure.label.clone(),
            side: structure.side,
            axis: structure
                .axis_on(&plane, aim)
                .map(|axis| axis_view(axis, plane.normal())),
            aim,
        },
        None => lit(&question.view, id, body, None)?,
    };
    let depth = question.view.field().depth_of({
        let [x, y, _] = plane.to_image(subject.aim);
        [x, y]
    });
    let doubled = (2.0 * depth / DEPTH_STEP_MM).round() * DEPTH_STEP_MM;
    question.view.placement.depth = question.view.transducer.clamp_depth(Mm::new(doubled));
    question.subject = Some(subject);
    question.task = Task::Place { start: *start };
    let marks = crate::mark::placed(question, start);
    if marks.iter().all(|mark| mark.score >= crate::mark::FULL) {
        return Err(Unfit::AlreadyThere);
    }
    let there = crate::mark::placed(question, &question.view.placement.clone());
    if there.iter().any(|mark| mark.score < crate::mark::FULL) {
        return Err(Unfit::NotShown(id.as_str().to_owned()));
    }
    Ok(())
}
