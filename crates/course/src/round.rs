//! From a set to the questions of a round.
//!
//! A question is known by its *place*: entries of the set counted through, one that draws as often as it draws. Places,
//! and with them names and seeds, do not depend on the order in which questions are asked.

use anatomy::{Body, StructureId, Window};
use geometry::{Angle, Convention, Direction, ImageSide, MarkSide, Mm, Placement, Point, Pose};
use picture::{Transducer, transducer};
use practice::acquisition::{self, Request};
use practice::annotation::Vocabulary;
use practice::compose::{Context, Unfit, Wanted, compose, stepped};
use practice::generate::{Draw, Focus, NoQuestion, draw};
use practice::random::SplitMix64;
use practice::{Eye, Kind, Level};

use crate::link::LinkPose;
use crate::set::{Asked, Drawn, Fixed, Order, Question, Set, Step, View, WantedView};

/// How far off the skin a contact point may be and still count as on it, mm: links round to a thousandth, bodies of later
/// versions may differ a little.
const ON_THE_SKIN_MM: f64 = 0.2;

/// How far beside the wanted place the probe stands at first, toward its notch and across, mm, and how it is turned: enough
/// that nothing is right by itself.
const BESIDE_MM: [f64; 2] = [35.0, 25.0];
const BESIDE_TURN_DEG: f64 = 70.0;

/// The transducer of a view that names neither one nor a window.
const USUAL_TRANSDUCER: &str = "convex";

/// A question of a round.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its name in results.
    pub id: String,
    /// Its place.
    pub place: u32,
    /// Marks for a right answer.
    pub points: u32,
    /// The teacher's own hint.
    pub hint: Option<String>,
    /// The teacher's own wording.
    pub prompt: Option<String>,
    /// The question.
    pub question: practice::Question,
}

/// Why a question cannot be asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refused {
    /// The set has fewer questions.
    #[error("the set has no question number {0}")]
    NoPlace(u32),
    /// The body is another one.
    #[error("the view is on the body \"{wanted}\", and the one at hand is \"{given}\"")]
    OtherBody {
        /// The view's.
        wanted: String,
        /// The one that was given.
        given: String,
    },
    /// The body has no such window.
    #[error("the body \"{body}\" has no window \"{window}\"")]
    NoWindow {
        /// The body.
        body: String,
        /// The window.
        window: String,
    },
    /// There is no such transducer.
    #[error("there is no transducer \"{0}\"")]
    NoTransducer(String),
    /// The body has no such structure.
    #[error("the body \"{body}\" has no structure \"{structure}\"")]
    NoStructure {
        /// The body.
        body: String,
        /// The structure.
        structure: String,
    },
    /// There is no such list of pictures.
    #[error("there is no list of pictures \"{0}\"")]
    NoList(String),
    /// The structure has no such part.
    #[error("the structure \"{structure}\" has no part \"{segment}\"")]
    NoSegment {
        /// The structure.
        structure: String,
        /// The part.
        segment: String,
    },
    /// No structure was named, and the view's window has none.
    #[error("a structure has to be named, since the view is on no window that names one")]
    NameStructure,
    /// The pose is none.
    #[error("the probe cannot stand like that")]
    Pose,
    /// The question would be ambiguous, or cannot be answered.
    #[error(transparent)]
    Unfit(#[from] Unfit),
    /// Nothing can be drawn.
    #[error(transparent)]
    NoQuestion(#[from] NoQuestion),
}

/// The places in the order in which a round with this seed asks them.
#[must_use]
pub fn order(set: &Set, seed: u64) -> Vec<u32> {
    let mut places: Vec<u32> = (0..set.count()).collect();
    if set.order == Order::Shuffled {
        SplitMix64::stream(set.seed.unwrap_or(seed), ORDER_STREAM).shuffle(&mut places);
    }
    places
}

/// Numbers that keep what is drawn for one purpose apart from the others.
const ORDER_STREAM: u64 = u64::MAX;

/// The entry at a place, and which of its questions it is.
#[must_use]
pub fn entry(set: &Set, place: u32) -> Option<(&Question, u32)> {
    let mut before = 0;
    for question in &set.questions {
        let nth = place - before;
        if nth < question.count() {
            return Some((question, nth));
        }
        before += question.count();
    }
    None
}

/// The body of the question at a place.
#[must_use]
pub fn body_at(set: &Set, place: u32) -> Option<&str> {
    let (question, _) = entry(set, place)?;
    let own = match &question.asked {
        Asked::Fixed(fixed) => fixed.view.body.as_deref(),
        Asked::Drawn(_) => None,
    };
    Some(own.unwrap_or(&set.body))
}

/// The pictures that a set wants acquired on its own body; `None` where it wants none.
///
/// # Errors
///
/// [`Refused`] where it names a list, a structure or a part that is not there.
pub fn requested(set: &Set, body: &Body) -> Result<Option<Request>, Refused> {
    let Some(wanted) = &set.acquire else {
        return Ok(None);
    };
    let request = match &wanted.list {
        Some(id) => acquisition::request(id)
            .cloned()
            .ok_or_else(|| Refused::NoList(id.clone()))?,
        None => Request {
            id: String::new(),
            views: wanted.views.iter().map(wanted_view).collect(),
        },
    };
    for view in &request.views {
        for id in view.structures() {
            let index = body.find(id).ok_or_else(|| Refused::NoStructure {
                body: body.id().to_owned(),
                structure: id.to_owned(),
            })?;
            let parts = &body.structure(index).segments;
            if let Some(segment) = view.segment.as_ref().filter(|_| id == view.subject)
                && parts.iter().all(|part| part.id != *segment)
            {
                return Err(Refused::NoSegment {
                    structure: id.to_owned(),
                    segment: segment.clone(),
                });
            }
        }
    }
    Ok(Some(request))
}

fn wanted_view(view: &WantedView) -> acquisition::View {
    acquisition::View {
        subject: view.subject.clone(),
        plane: view.plane,
        axis: view.axis,
        segment: view.segment.clone(),
        divides_into: view.divides_into.clone(),
    }
}

/// The name in results of a picture that is asked for, counted from 0: `acquire_1`, or another one where a question has
/// that.
#[must_use]
pub fn picture_id(set: &Set, nth: usize) -> String {
    let taken = |stem: &str| set.questions.iter().any(|one| one.id.starts_with(stem));
    let mut stem = "acquire".to_owned();
    while taken(&stem) {
        stem.push_str("_x");
    }
    format!("{stem}_{}", nth + 1)
}

/// The question at a place of a round with this seed. `body` is the one that [`body_at`] names; annotations need the
/// vocabulary: the set's own where it has one.
///
/// # Errors
///
/// [`Refused`] where the question would be ambiguous, or the set names something that is not there.
pub fn item(
    set: &Set,
    place: u32,
    seed: u64,
    body: &Body,
    vocabulary: Option<&Vocabulary>,
) -> Result<Item, Refused> {
    let (question, nth) = entry(set, place).ok_or(Refused::NoPlace(place))?;
    let context = Context { body, vocabulary };
    let seed = set.seed.unwrap_or(seed);
    let asked = match &question.asked {
        Asked::Fixed(one) => fixed(set, one, &context)?,
        Asked::Drawn(many) => drawn(set, many, nth, place, seed, &context)?,
    };
    Ok(Item {
        id: question.item_id(nth),
        place,
        points: question.points,
        hint: question.hint.clone(),
        prompt: question.prompt.clone(),
        question: asked,
    })
}

fn drawn(
    set: &Set,
    many: &Drawn,
    nth: u32,
    place: u32,
    seed: u64,
    context: &Context<'_>,
) -> Result<practice::Question, Refused> {
    // An entry's own seed makes it independent of where it stands; else the place keeps entries apart.
    let (seed, number) = match many.seed {
        Some(own) => (own, u64::from(nth)),
        None => (seed, u64::from(place)),
    };
    let kinds = many.kinds.len().max(1);
    let kind = many
        .kinds
        .get(nth as usize % kinds)
        .copied()
        .unwrap_or(Kind::PlaneFromPicture);
    let wish = Draw {
        seed: SplitMix64::stream(seed, number).bits(),
        kind,
        level: many.difficulty.level(nth),
        focus: Focus {
            plane: many.plane,
            approach: many.approach,
            layout: None,
        },
        tolerance: Angle::deg(set.tolerance_deg),
    };
    Ok(draw(&wish, context)?)
}

fn fixed(set: &Set, one: &Fixed, context: &Context<'_>) -> Result<practice::Question, Refused> {
    let body = context.body;
    let view = view(set, &one.view, body)?;
    let wanted = match one.kind {
        Kind::PlaneFromProbe => Wanted::PlaneFromProbe,
        Kind::PlaneFromPicture => Wanted::PlaneFromPicture,
        Kind::Side => Wanted::Side(one.side.unwrap_or(match view.placement.convention.mark {
            MarkSide::Left => ImageSide::Left,
            MarkSide::Right => ImageSide::Right,
        })),
        Kind::NotchFromPicture => Wanted::NotchFromPicture,
        Kind::TransducerFromPicture => Wanted::TransducerFromPicture,
        Kind::Annotate => Wanted::Annotate(structure(one, body)?),
        Kind::Axis => Wanted::Axis(structure(one, body)?),
        Kind::FindTheFault => Wanted::FindTheFault(
            one.fault.unwrap_or(practice::Fault::NotchReversed),
            structure(one, body)?,
        ),
        Kind::NextMove => Wanted::NextMove(one.movement.unwrap_or(Step::Tilt(Angle::deg(15.0)))),
        Kind::PlaceProbe => {
            let start = match &one.start {
                Some(start) => self::view(set, start, body)?.placement,
                None => beside(&view.placement, body),
            };
            Wanted::PlaceProbe {
                start,
                structure: structure(one, body)?,
                aim: None,
            }
        }
    };
    Ok(compose(&wanted, Level::Medium, &view, context)?)
}

/// A place near the wanted one where nothing is right by itself.
fn beside(wanted: &Placement, body: &Body) -> Placement {
    let turned = stepped(wanted, Step::Rotate(Angle::deg(BESIDE_TURN_DEG)), body);
    let moved = stepped(&turned, Step::Slide(BESIDE_MM), body);
    let upright = moved
        .pose
        .with_tilt(Angle::ZERO)
        .with_rock(Angle::ZERO)
        .with_press(Mm::ZERO);
    Placement {
        pose: upright,
        ..moved
    }
}

fn structure(one: &Fixed, body: &Body) -> Result<StructureId, Refused> {
    if let Some(id) = &one.structure {
        let index = body.find(id).ok_or_else(|| Refused::NoStructure {
            body: body.id().to_owned(),
            structure: id.clone(),
        })?;
        return Ok(body.structure(index).id.clone());
    }
    let window = one.view.window.as_deref().and_then(|id| body.window(id));
    window
        .and_then(|window| window.must_see.first().cloned())
        .ok_or(Refused::NameStructure)
}

/// A view of a set on its body, as questions have it.
///
/// The layout is the set's where that is not the usual one, else the window's own: cardiac windows show the mark at image
/// right.
///
/// # Errors
///
/// [`Refused`] where the set names something that is not there.
pub fn view(set: &Set, view: &View, body: &Body) -> Result<practice::View, Refused> {
    let wanted = view.body.as_ref().unwrap_or(&set.body);
    if wanted != body.id() {
        return Err(Refused::OtherBody {
            wanted: wanted.clone(),
            given: body.id().to_owned(),
        });
    }
    let window = match &view.window {
        Some(id) => Some(body.window(id).ok_or_else(|| Refused::NoWindow {
            body: body.id().to_owned(),
            window: id.clone(),
        })?),
        None => None,
    };
    let pose = match (view.pose, window) {
        (Some(pose), _) => on_skin(pose_of(&pose)?, body),
        (None, Some(window)) => window.pose,
        (None, None) => return Err(Refused::Pose),
    };
    let own = Convention {
        mark: set.mark,
        apex: set.apex,
    };
    let convention = match window {
        Some(window) if own == Convention::GENERAL => window.convention(),
        _ => own,
    };
    let probe = probe(view, window)?;
    let depth = view.depth_mm.map(Mm::new);
    let depth = depth
        .or_else(|| window.map(|window| window.depth))
        .unwrap_or(probe.usual_depth);
    Ok(practice::View {
        body: body.id().to_owned(),
        window: view.window.clone(),
        placement: Placement {
            pose,
            convention,
            depth: probe.clamp_depth(depth),
        },
        transducer: probe,
        position: set.position,
        eye: Eye::RightSeat,
        tolerance: Angle::deg(set.tolerance_deg),
    })
}

fn probe(view: &View, window: Option<&Window>) -> Result<&'static Transducer, Refused> {
    let key = view
        .transducer
        .as_deref()
        .or(window.map(|window| &*window.transducer))
        .unwrap_or(USUAL_TRANSDUCER);
    transducer(key).ok_or_else(|| Refused::NoTransducer(key.to_owned()))
}

fn pose_of(link: &LinkPose) -> Result<Pose, Refused> {
    let (azimuth, elevation) = (
        Angle::deg(link.out_azimuth_deg),
        Angle::deg(link.out_elevation_deg),
    );
    let level = elevation.cos();
    let normal = [
        level * azimuth.cos(),
        level * azimuth.sin(),
        elevation.sin(),
    ];
    let normal = Direction::from_array(normal).ok_or(Refused::Pose)?;
    Pose::new(
        Point::from_array(link.contact_mm),
        normal,
        Angle::deg(link.rotation_deg),
        Angle::deg(link.tilt_deg),
        Angle::deg(link.rock_deg),
        Mm::new(link.press_mm),
    )
    .map_err(|error| Refused::Unfit(error.into()))
}

/// The pose on the skin: unchanged where it is on it already, else at the nearest point.
fn on_skin(pose: Pose, body: &Body) -> Pose {
    let nearest = body.skin().nearest(pose.contact());
    if (nearest.point - pose.contact()).norm() <= ON_THE_SKIN_MM {
        pose
    } else {
        body.skin().place(&pose, &nearest)
    }
}

/// Marks that fit the results of practice: from a share, 0 to 1.
#[must_use]
pub fn outcome(score: f64) -> crate::results::Outcome {
    use crate::results::Outcome;
    if score >= 1.0 - 1e-9 {
        Outcome::Right
    } else if score > 1e-9 {
        Outcome::Partly
    } else {
        Outcome::Wrong
    }
}
