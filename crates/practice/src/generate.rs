//! Questions from a seed.
//!
//! A draw proposes views until one makes a question that is not ambiguous ([`compose`](crate::compose)). The same seed,
//! kind, level, focus and body give the same question on every machine.

use anatomy::{Body, StructureId, Window};
use geometry::{
    Angle, ApexSide, BodyPosition, Convention, DEFAULT_TOLERANCE, Direction, ImageSide, MarkSide,
    Mm, Patient, PatientSide, Placement, Point, Pose, Vector,
};
use picture::{Contents, Transducer, transducer, transducers};

use crate::compose::{
    Context, Step, Unfit, Wanted, clear_axis, compose_seen, has_word, large_enough, reversed, seen,
};
use crate::question::{Eye, Fault, Question, View};
use crate::random::SplitMix64;
use crate::skill::{Kind, Layout, Level, PlaneClass, Skill, approach};

/// Proposals after which a draw gives up: far more than any possible question needs.
const MOST_TRIES: u32 = 400;

/// What a question is drawn from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// The seed.
    pub seed: u64,
    /// The kind.
    pub kind: Kind,
    /// How hard.
    pub level: Level,
    /// Only this.
    pub focus: Focus,
    /// The tolerance of plane names.
    pub tolerance: Angle,
}

impl Draw {
    /// A draw without a narrower focus, at the usual tolerance.
    #[must_use]
    pub const fn new(seed: u64, kind: Kind, level: Level) -> Self {
        Self {
            seed,
            kind,
            level,
            focus: Focus {
                plane: None,
                approach: None,
                layout: None,
            },
            tolerance: DEFAULT_TOLERANCE,
        }
    }
}

/// What a question has to be about; `None` leaves it open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Focus {
    /// The plane of the view.
    pub plane: Option<PlaneClass>,
    /// The side of the patient that the probe stands on.
    pub approach: Option<PatientSide>,
    /// The layout of the picture.
    pub layout: Option<Layout>,
}

impl Focus {
    /// Why no probe can do this, if none can: a plane contains its beam.
    ///
    /// From the front or back no coronal plane, from a side no sagittal one, from the head or the feet no transverse one
    /// can be had.
    #[must_use]
    pub fn impossible(self) -> Option<NoQuestion> {
        let (plane, approach) = (self.plane?, self.approach?);
        let forbidden = match approach {
            PatientSide::Anterior | PatientSide::Posterior => PlaneClass::Coronal,
            PatientSide::Left | PatientSide::Right => PlaneClass::Sagittal,
            PatientSide::Head | PatientSide::Foot => PlaneClass::Transverse,
        };
        (plane == forbidden).then_some(NoQuestion::PlaneNeedsBeam { plane, approach })
    }

    fn fits(self, question: &Question) -> bool {
        self.fits_skill(&question.skill())
    }

    fn fits_skill(self, skill: &Skill) -> bool {
        self.plane.is_none_or(|plane| plane == skill.plane)
            && self.approach.is_none_or(|side| side == skill.approach)
            && self.layout.is_none_or(|layout| layout == skill.layout)
    }
}

/// Why there is no such question.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoQuestion {
    /// No plane of that name contains a beam from there.
    #[error(
        "a {} plane cannot be had from the {}: the plane must contain the beam",
        plane.key(),
        approach.words()
    )]
    PlaneNeedsBeam {
        /// The plane.
        plane: PlaneClass,
        /// The side the probe stands on.
        approach: PatientSide,
    },
    /// The body has no window that fits.
    #[error("this body has no probe window for such a question")]
    NoWindow,
    /// None of many proposals made a question; the last one's reason.
    #[error("no such question was found: {0}")]
    Unfit(Unfit),
    /// None of many proposals was about what was wanted.
    #[error("no such question was found on this body")]
    NotFound,
}

/// Draws a question.
///
/// # Errors
///
/// [`NoQuestion`].
pub fn draw(draw: &Draw, context: &Context<'_>) -> Result<Question, NoQuestion> {
    if let Some(reason) = draw.focus.impossible() {
        return Err(reason);
    }
    let stream = u64::from(kind_number(draw.kind)) * 8 + u64::from(level_number(draw.level));
    let mut random = SplitMix64::stream(draw.seed, stream);
    let places = places(context.body, draw);
    if places.is_empty() {
        return Err(NoQuestion::NoWindow);
    }
    let mut last = None;
    for _ in 0..MOST_TRIES {
        let Some(place) = random.pick(&places) else {
            break;
        };
        let Some(view) = propose(&mut random, place, draw, context.body) else {
            continue;
        };
        let mut known = None;
        let Some(wanted) = wanted(&mut random, &view, place, draw, context, &mut known) else {
            continue;
        };
        match compose_seen(&wanted, draw.level, &view, context, known.as_ref()) {
            Ok(question) if draw.focus.fits(&question) => return Ok(question),
            Ok(_) => {}
            Err(reason) => last = Some(reason),
        }
    }
    Err(last.map_or(NoQuestion::NotFound, NoQuestion::Unfit))
}

const fn kind_number(kind: Kind) -> u8 {
    match kind {
        Kind::PlaneFromProbe => 0,
        Kind::PlaneFromPicture => 1,
        Kind::Side => 2,
        Kind::NotchFromPicture => 3,
        Kind::PlaceProbe => 4,
        Kind::NextMove => 5,
        Kind::Annotate => 6,
        Kind::FindTheFault => 7,
        Kind::TransducerFromPicture => 8,
        Kind::Axis => 9,
    }
}

const fn level_number(level: Level) -> u8 {
    match level {
        Level::Easy => 0,
        Level::Medium => 1,
        Level::Hard => 2,
    }
}

/// How many windows the one place between the thighs counts for in a draw.
const PERINEUM_WINDOWS: usize = 5;

/// A place where a probe can stand.
#[derive(Debug, Clone)]
struct Place<'a> {
    window: Option<&'a Window>,
    pose: Pose,
    transducer: &'static Transducer,
    depth: Mm,
    convention: Convention,
}

impl<'a> Place<'a> {
    fn of(window: &'a Window) -> Option<Self> {
        Some(Self {
            window: Some(window),
            pose: window.pose,
            transducer: transducer(&window.transducer)?,
            depth: window.depth,
            convention: window.convention(),
        })
    }
}

/// The places a draw may start from.
fn places<'a>(body: &'a Body, draw: &Draw) -> Vec<Place<'a>> {
    let needs_window = matches!(draw.kind, Kind::PlaceProbe | Kind::FindTheFault);
    let mut places: Vec<Place<'a>> = body.windows().iter().filter_map(Place::of).collect();
    let endocavity = draw.level == Level::Hard || draw.focus.layout == Some(Layout::ApexBottom);
    if endocavity && !needs_window {
        // As often as a region with several windows.
        places.extend(perineum(body).into_iter().cycle().take(PERINEUM_WINDOWS));
    }
    // Slides and turns of hard questions may carry a probe round a flank; the starting side is a good guess.
    places.retain(|place| {
        draw.focus
            .approach
            .is_none_or(|side| side == approach(&place.pose))
    });
    if draw.level == Level::Easy && draw.focus.layout.is_none() {
        places.retain(|place| Layout::of(place.convention) == Layout::General);
    }
    if draw.focus.layout == Some(Layout::General) {
        places.retain(|place| Layout::of(place.convention) == Layout::General);
    }
    places
}

/// An endocavity transducer between the thighs of a body that has a perineum, beam to the head, notch to the front.
/// Where it stands and how it is held are common practice, no source.
fn perineum(body: &Body) -> Option<Place<'_>> {
    let symphysis = body.landmark("pubic_symphysis_top")?;
    let transducer = transducer("endocavity")?;
    // Behind the symphysis, far enough to miss the pubic bone.
    let behind = 55.0 * body.offset_scale();
    let inside = Point::new(0.0, symphysis.y() + behind, symphysis.z() - 20.0);
    let skin = body.skin();
    let at = skin.ray_from_inside(inside, -Direction::z_axis())?;
    let normal = skin.smoothed_normal(&at);
    let pose = Pose::from_notch_and_beam(
        at.point,
        normal,
        Vector::new(0.0, -1.0, 0.0),
        Vector::new(0.0, 0.0, 1.0),
    )
    .ok()?;
    let usable = approach(&pose) == PatientSide::Foot;
    usable.then_some(Place {
        window: None,
        pose,
        transducer,
        depth: transducer.usual_depth,
        convention: Convention {
            mark: MarkSide::Left,
            apex: ApexSide::Bottom,
        },
    })
}

/// A view at a place, as easy or hard as the draw says; `None` for a proposal that cannot stand.
fn propose(random: &mut SplitMix64, place: &Place<'_>, draw: &Draw, body: &Body) -> Option<View> {
    let mut view = View {
        body: body.id().to_owned(),
        window: place.window.map(|window| window.id.clone()),
        placement: Placement {
            pose: place.pose,
            convention: place.convention,
            depth: place.depth,
        },
        transducer: place.transducer,
        position: usual_position(place),
        eye: Eye::RightSeat,
        tolerance: draw.tolerance,
    };
    let oblique = draw.focus.plane == Some(PlaneClass::Oblique);
    match draw.level {
        Level::Easy => {}
        Level::Medium => {
            let pose = view.placement.pose;
            let jitter = if oblique {
                random.sign() * random.between(26.0, 64.0)
            } else {
                random.between(-12.0, 12.0)
            };
            let quarter = Angle::deg(90.0) * f64::from(draw_below(random, 4));
            let turned = turned_square(&pose, quarter + Angle::deg(jitter));
            let tilt = turned.tilt() + Angle::deg(random.between(-10.0, 10.0));
            view.placement.pose = turned.with_tilt(tilt);
            if random.chance(0.25) {
                view.eye = Eye::LeftSeat;
            }
        }
        Level::Hard => harder(random, &mut view, place, oblique, body)?,
    }
    layout(random, &mut view, draw);
    if draw.kind == Kind::TransducerFromPicture {
        // Any transducer may be put anywhere; easy pictures keep the one the window is for.
        if draw.level != Level::Easy || random.chance(0.5) {
            view.transducer = random.pick(transducers())?;
        }
        let (least, most) = view.transducer.depth_range;
        let depth = random.between(least.get(), most.get());
        view.placement.depth = Mm::new((depth / 5.0).round() * 5.0);
    }
    Some(view)
}

fn draw_below(random: &mut SplitMix64, count: u8) -> u8 {
    u8::try_from(random.below(usize::from(count))).unwrap_or(0)
}

/// The pose with its notch at the nearest patient axis across its beam, then turned; where the window's own notch is
/// aslant, a quarter turn of it would stay aslant for ever.
fn turned_square(pose: &Pose, by: Angle) -> Pose {
    let axes = pose.axes();
    let squared = PatientSide::ALL
        .into_iter()
        .map(PatientSide::direction)
        .max_by(|a, b| a.dot(axes.lateral).total_cmp(&b.dot(axes.lateral)))
        .unwrap_or(axes.lateral);
    let square = Pose::from_notch_and_beam(
        pose.contact(),
        pose.normal(),
        squared.to_vector(),
        axes.depth.to_vector(),
    )
    .unwrap_or(*pose);
    square.with_rotation(square.rotation() + by)
}

fn harder(
    random: &mut SplitMix64,
    view: &mut View,
    place: &Place<'_>,
    oblique: bool,
    body: &Body,
) -> Option<()> {
    let start = view.placement.pose;
    let mut pose = start;
    if place.window.is_some() {
        let along = Direction::<Patient>::from_array([
            random.between(-1.0, 1.0),
            random.between(-1.0, 1.0),
            random.between(-1.0, 1.0),
        ])?;
        pose = body.skin().slide(&pose, along * random.between(5.0, 30.0));
    }
    let jitter = if oblique || random.chance(0.35) {
        random.sign() * random.between(26.0, 64.0)
    } else {
        random.between(-14.0, 14.0)
    };
    let quarter = Angle::deg(90.0) * f64::from(draw_below(random, 4));
    let turned = turned_square(&pose, quarter + Angle::deg(jitter));
    let lean = if random.chance(0.3) { 30.0 } else { 12.0 };
    let tilt = turned.tilt() + Angle::deg(random.between(-lean, lean));
    let rock = turned.rock() + Angle::deg(random.between(-15.0, 15.0));
    view.placement.pose = turned.with_tilt(tilt).with_rock(rock);
    view.eye = *random.pick(&Eye::ALL)?;
    view.position = *random.pick(positions(place))?;
    if view.placement.convention.apex == ApexSide::Bottom && random.chance(0.3) {
        view.placement.convention.apex = ApexSide::Top;
    } else if random.chance(0.3) {
        view.placement.convention.mark = view.placement.convention.mark.opposite();
    }
    Some(())
}

/// The layout that is asked for, or, where none is, what the level left.
fn layout(random: &mut SplitMix64, view: &mut View, draw: &Draw) {
    let convention = &mut view.placement.convention;
    match draw.focus.layout {
        None => {}
        Some(Layout::General) => *convention = Convention::GENERAL,
        Some(Layout::MarkRight) => {
            *convention = Convention {
                mark: MarkSide::Right,
                apex: ApexSide::Top,
            };
        }
        Some(Layout::ApexBottom) => {
            convention.apex = ApexSide::Bottom;
            if draw.level == Level::Hard && random.chance(0.5) {
                convention.mark = convention.mark.opposite();
            }
        }
    }
}

/// How a body usually lies for a probe at this place (common practice, no source).
fn usual_position(place: &Place<'_>) -> BodyPosition {
    positions(place)
        .first()
        .copied()
        .unwrap_or(BodyPosition::Supine)
}

/// How a body may lie so that a hand reaches the place, the usual position first (common practice, no source).
fn positions(place: &Place<'_>) -> &'static [BodyPosition] {
    use BodyPosition::{LeftSideDown, Lithotomy, Prone, RightSideDown, Seated, Supine};
    match approach(&place.pose) {
        PatientSide::Anterior => &[Supine, LeftSideDown, RightSideDown, Seated],
        PatientSide::Posterior => &[Prone, LeftSideDown, RightSideDown, Seated],
        PatientSide::Right => &[Supine, LeftSideDown, Seated],
        PatientSide::Left => &[Supine, RightSideDown, Seated],
        PatientSide::Head => &[Supine],
        PatientSide::Foot => &[Lithotomy],
    }
}

/// What to ask about a proposed view.
fn wanted(
    random: &mut SplitMix64,
    view: &View,
    place: &Place<'_>,
    draw: &Draw,
    context: &Context<'_>,
    known: &mut Option<Contents>,
) -> Option<Wanted> {
    Some(match draw.kind {
        Kind::PlaneFromProbe => Wanted::PlaneFromProbe,
        Kind::PlaneFromPicture => Wanted::PlaneFromPicture,
        Kind::Side => Wanted::Side(*random.pick(&ImageSide::ALL)?),
        Kind::NotchFromPicture => Wanted::NotchFromPicture,
        Kind::TransducerFromPicture => Wanted::TransducerFromPicture,
        Kind::NextMove => Wanted::NextMove(step(random, draw.level)),
        Kind::FindTheFault => {
            let window = place.window?;
            let shown = named_structures(window);
            Wanted::FindTheFault(*random.pick(&Fault::ALL)?, random.pick(&shown)?.clone())
        }
        Kind::PlaceProbe => {
            let window = place.window?;
            let structure = named_structures(window).into_iter().next()?;
            Wanted::PlaceProbe {
                start: start(random, view, draw, context.body)?,
                structure,
                aim: Some(window.aim),
            }
        }
        Kind::Axis | Kind::Annotate => {
            // A cheap look at the angles first: the section is what a draw spends its time on.
            crate::compose::clear_plane(view).ok()?;
            if !draw.focus.fits_skill(&view.skill(draw.kind)) {
                return None;
            }
            let contents = known.insert(seen(view, context.body));
            let structure = lit(random, contents, draw.kind, context)?;
            match draw.kind {
                Kind::Axis => Wanted::Axis(structure),
                _ => Wanted::Annotate(structure),
            }
        }
    })
}

fn named_structures(window: &Window) -> Vec<StructureId> {
    let by_axis = window.axis_of.iter().map(|(id, _)| id.clone());
    by_axis.chain(window.must_see.iter().cloned()).collect()
}

/// A structure of the picture that can be asked about.
fn lit(
    random: &mut SplitMix64,
    contents: &Contents,
    kind: Kind,
    context: &Context<'_>,
) -> Option<StructureId> {
    let fit: Vec<StructureId> = contents
        .structures
        .iter()
        .filter(|seen| large_enough(seen))
        .filter(|seen| match kind {
            Kind::Axis => seen.axis.is_some_and(|(_, angle)| clear_axis(angle)),
            _ => true,
        })
        .map(|seen| context.body.structure(seen.structure).id.clone())
        .filter(|id| {
            kind == Kind::Axis || context.vocabulary.is_some_and(|words| has_word(words, id))
        })
        .collect();
    random.pick(&fit).cloned()
}

/// Where the probe stands at first when it has to be placed.
fn start(random: &mut SplitMix64, view: &View, draw: &Draw, body: &Body) -> Option<Placement> {
    let wanted = view.placement;
    let pose = match draw.level {
        // Near by: the movement that is wanted can be seen.
        Level::Easy => {
            let turned = wanted
                .pose
                .with_rotation(wanted.pose.rotation() + Angle::deg(90.0));
            body.skin().slide(
                &turned,
                Vector::new(0.0, 0.0, random.sign() * random.between(10.0, 30.0)),
            )
        }
        // The other way round, or across.
        Level::Medium if random.chance(0.5) => reversed(&wanted.pose).ok()?,
        Level::Medium | Level::Hard => {
            let windows: Vec<&Window> = body
                .windows()
                .iter()
                .filter(|window| Some(window.id.as_str()) != view.window.as_deref())
                .collect();
            random.pick(&windows)?.pose
        }
    };
    Some(Placement {
        pose,
        depth: view.transducer.usual_depth,
        ..wanted
    })
}

fn step(random: &mut SplitMix64, level: Level) -> Step {
    let (low, high) = match level {
        Level::Easy => (25.0, 45.0),
        Level::Medium => (18.0, 35.0),
        Level::Hard => (12.0, 25.0),
    };
    let by = Angle::deg(random.sign() * random.between(low, high));
    match random.below(5) {
        0 => Step::Rotate(by * 2.0),
        1 => Step::Tilt(by),
        2 => Step::Rock(by * 0.8),
        3 => {
            let mm = random.sign() * random.between(low, high);
            Step::Slide(if random.chance(0.5) {
                [mm, 0.0]
            } else {
                [0.0, mm]
            })
        }
        _ => Step::Press(Mm::new(random.between(6.0, 14.0))),
    }
}

/// Every skill that a probe on this body can be asked about: what its windows' sides allow, in the order in which it is
/// best met.
#[must_use]
pub fn skills(body: &Body) -> Vec<Skill> {
    let mut places: Vec<(PatientSide, Layout)> = body
        .windows()
        .iter()
        .map(|window| (approach(&window.pose), Layout::of(window.convention())))
        .collect();
    places
        .extend(perineum(body).map(|place| (approach(&place.pose), Layout::of(place.convention))));
    places.sort_by_key(|(side, layout)| (*layout, front_first(*side)));
    places.dedup();
    let mut skills = Vec::new();
    for kind in Kind::ALL {
        for (approach, layout) in &places {
            // Pictures from inside have no named window to go to and no caption.
            let needs_window = matches!(kind, Kind::PlaceProbe | Kind::FindTheFault);
            if needs_window && *layout == Layout::ApexBottom {
                continue;
            }
            for plane in PlaneClass::ALL {
                let focus = Focus {
                    plane: Some(plane),
                    approach: Some(*approach),
                    layout: Some(*layout),
                };
                if focus.impossible().is_none() {
                    skills.push(Skill {
                        kind,
                        plane,
                        approach: *approach,
                        layout: *layout,
                    });
                }
            }
        }
    }
    skills
}

/// The order in which sides of approach are best met.
const fn front_first(side: PatientSide) -> u8 {
    match side {
        PatientSide::Anterior => 0,
        PatientSide::Right => 1,
        PatientSide::Left => 2,
        PatientSide::Posterior => 3,
        PatientSide::Head => 4,
        PatientSide::Foot => 5,
    }
}
