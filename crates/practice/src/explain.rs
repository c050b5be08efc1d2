//! Why an answer is right, as data made from the actual pose; the application makes the sentences.

use anatomy::AxisView;
use geometry::{
    Angle, ImageSide, MarkSide, Mm, PatientSide, Placement, PlaneNaming, SideName, screen_threshold,
};
use picture::{TopShape, Transducer};

use crate::mark;
use crate::question::{Answer, Asked, Choice, Fault, Move, Question, Task};
use crate::skill::Kind;

/// One reason; a sentence.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// The notch points there, and the picture shows the notch's side of the probe at the mark.
    NotchAtMark {
        /// Where the notch points.
        notch: PatientSide,
        /// The side of the image with the mark.
        mark: MarkSide,
    },
    /// This side of the image shows that side of the patient; the direction is `off` from straight.
    ImageSideShows {
        /// The side of the image.
        image: ImageSide,
        /// The side of the patient.
        patient: PatientSide,
        /// How far it slants.
        off: Angle,
    },
    /// The picture's top is the skin under the probe, so it shows the side the probe stands on.
    TopIsSkin {
        /// Whether the probe's face is shown at the top (else at the bottom).
        at_top: bool,
        /// The side.
        side: PatientSide,
    },
    /// The plane's angles and the name that follows.
    PlaneFollows(PlaneNaming),
    /// The plane contains the beam, which runs toward this side: that leaves out the plane across it.
    ContainsBeam(PatientSide),
    /// The plane makes this angle with the structure's axis.
    AxisFollows {
        /// The structure's name.
        label: String,
        /// The view that follows.
        view: AxisView,
        /// The angle between axis and plane.
        angle: Angle,
    },
    /// The top of the picture has this shape, as the transducer's face has.
    ShapeFollows {
        /// The shape.
        shape: TopShape,
        /// The transducer.
        transducer: &'static Transducer,
    },
    /// The movement keeps or changes the plane.
    Moved {
        /// The movement.
        made: Move,
        /// By how much the plane turned.
        plane_turned: Angle,
        /// By how much the beam turned.
        beam_turned: Angle,
        /// How far the probe went along the skin.
        went: Mm,
    },
    /// What disagrees: the notch as the body shows it against the picture's letters.
    NotchDisagrees {
        /// Where the body shows the notch.
        body: PatientSide,
        /// Where the picture needs it.
        picture: PatientSide,
    },
    /// The mark is at this side, the department shows it at the other one.
    MarkDisagrees {
        /// Where the picture shows it.
        picture: MarkSide,
        /// Where the department does.
        department: MarkSide,
    },
    /// The top's letter belongs to the bottom.
    DepthLettersDisagree {
        /// What the top shows.
        top: PatientSide,
    },
    /// The caption says the other side than the probe stands on.
    CaptionDisagrees {
        /// The side that is right.
        side: anatomy::BodySide,
    },
    /// What a placement lacks: by how much its plane and its aim are off.
    PlacedOff {
        /// Angle between the two planes.
        plane: Angle,
        /// Whether the picture is the other way round.
        reversed: bool,
        /// Distance of the aim point from the plane.
        aim: Mm,
        /// Whether it stands on the other half of the body.
        wrong_half: bool,
    },
    /// The movements that are left from where the probe was put to where it should be.
    WayToGo {
        /// How far along the skin.
        slide: Mm,
        /// Toward which side.
        toward: PatientSide,
        /// The turns; `None` where the skin looks another way there, so that the probe has to be put anew.
        turns: Option<Turns>,
    },
    /// What the picture's words have to say: the plane and the structure.
    WordsFollow {
        /// The structure's name.
        label: String,
    },
}

/// Turns of a probe from one pose to another on skin that looks the same way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turns {
    /// Rotation, clockwise as seen from outside the skin, −180° to 180°.
    pub rotate: Angle,
    /// Tilt; positive swings the beam toward [`Self::tilt_toward`].
    pub tilt: Angle,
    /// Where a positive tilt swings the beam once the probe is rotated.
    pub tilt_toward: PatientSide,
    /// Rock; positive swings the beam toward the notch.
    pub rock: Angle,
}

/// Skin that looks this far another way is another place, where the probe is put anew.
const SAME_SKIN: Angle = Angle::deg(40.0);

/// A slide shorter than this, mm, and a turn smaller than this are not asked for.
pub const LEAST_SLIDE_MM: f64 = 5.0;
/// See [`LEAST_SLIDE_MM`].
pub const LEAST_TURN: Angle = Angle::deg(3.0);

/// `None` where nothing is left to do.
fn way_to_go(question: &Question, placed: &Placement) -> Option<Reason> {
    let (from, to) = (&placed.pose, &question.view.placement.pose);
    let way = to.contact() - from.contact();
    let toward = way
        .direction()
        .map_or(PatientSide::Head, |along| SideName::of(along).dominant());
    let alike = from.normal().dot(to.normal()) > SAME_SKIN.cos();
    let turns = alike.then(|| Turns {
        rotate: (to.rotation() - from.rotation()).wrapped_180(),
        tilt: to.tilt() - from.tilt(),
        tilt_toward: SideName::of(to.axes().elevation).dominant(),
        rock: (to.rock() - from.rock()).wrapped_180(),
    });
    let still_to_turn = turns.is_none_or(|turns| {
        [turns.rotate, turns.tilt, turns.rock]
            .iter()
            .any(|by| by.abs() >= LEAST_TURN)
    });
    let slide = Mm::new(way.norm());
    let to_do = still_to_turn || slide.get() >= LEAST_SLIDE_MM;
    to_do.then_some(Reason::WayToGo {
        slide,
        toward,
        turns,
    })
}

/// Why the right answer of `question` is right; for a placement also how far `answer` was from it. One or two reasons,
/// the shorter way first.
#[must_use]
pub fn explain(question: &Question, answer: &Answer) -> Vec<Reason> {
    if let (Task::Place { .. }, Answer::Placed(placement)) = (&question.task, answer) {
        let comparison = mark::compare(question, placement);
        let mut reasons = vec![Reason::PlacedOff {
            plane: comparison.plane_angle,
            reversed: comparison.reversed,
            aim: comparison.aim_distance,
            wrong_half: comparison.wrong_half(),
        }];
        reasons.extend(way_to_go(question, placement));
        reasons.push(notch_at_mark(question));
        return reasons;
    }
    let mut reasons = Vec::new();
    for part in question.parts() {
        reasons.extend(of_part(question, part.asked, part.right));
    }
    if reasons.is_empty() {
        reasons.push(Reason::PlaneFollows(question.view.naming()));
        if question.kind == Kind::PlaceProbe {
            reasons.push(notch_at_mark(question));
        }
        if let (Kind::Annotate, Some(subject)) = (question.kind, &question.subject) {
            reasons.push(Reason::WordsFollow {
                label: subject.label.clone(),
            });
        }
    }
    reasons
}

fn notch_at_mark(question: &Question) -> Reason {
    let placement = &question.view.placement;
    Reason::NotchAtMark {
        notch: SideName::of(placement.pose.axes().lateral).dominant(),
        mark: placement.convention.mark,
    }
}

fn of_part(question: &Question, asked: Asked, right: Choice) -> Vec<Reason> {
    let view = &question.view;
    match asked {
        Asked::Plane => {
            let beam = SideName::of(view.placement.pose.axes().depth).dominant();
            let follows = Reason::PlaneFollows(view.naming());
            if question.kind == Kind::Axis {
                vec![follows]
            } else {
                vec![follows, Reason::ContainsBeam(beam)]
            }
        }
        Asked::ImageSide(side @ (ImageSide::Left | ImageSide::Right)) => {
            vec![notch_at_mark(question), side_shows(question, side)]
        }
        Asked::ImageSide(side @ (ImageSide::Top | ImageSide::Bottom)) => {
            let at_top = view.placement.convention.apex == geometry::ApexSide::Top;
            let skin = if at_top {
                ImageSide::Top
            } else {
                ImageSide::Bottom
            };
            vec![
                Reason::TopIsSkin {
                    at_top,
                    side: view.sides().get(skin).dominant(),
                },
                side_shows(question, side),
            ]
        }
        Asked::Notch => vec![notch_at_mark(question)],
        Asked::Move => moved(question, right),
        Asked::Shape => match right {
            Choice::Shape(shape) => vec![Reason::ShapeFollows {
                shape,
                transducer: view.transducer,
            }],
            _ => Vec::new(),
        },
        Asked::Axis => question
            .subject
            .iter()
            .filter_map(|subject| {
                let (view, angle) = subject.axis?;
                Some(Reason::AxisFollows {
                    label: subject.label.clone(),
                    view,
                    angle,
                })
            })
            .collect(),
        Asked::Fault => fault(question),
        Asked::Repair => Vec::new(),
    }
}

fn side_shows(question: &Question, image: ImageSide) -> Reason {
    let name = *question.view.sides().get(image);
    let size = name
        .parts(screen_threshold(question.view.tolerance))
        .next()
        .map_or(1.0, |(_, size)| size);
    Reason::ImageSideShows {
        image,
        patient: name.dominant(),
        off: Angle::acos(size),
    }
}

fn moved(question: &Question, right: Choice) -> Vec<Reason> {
    let (Choice::Move(made), Some(after)) = (right, &question.after) else {
        return Vec::new();
    };
    let (before, after) = (&question.view, after);
    let turned = |a: geometry::Direction<geometry::Patient>,
                  b: geometry::Direction<geometry::Patient>| {
        Angle::acos(a.dot(b).abs())
    };
    let went = after.placement.pose.contact() - before.placement.pose.contact();
    vec![Reason::Moved {
        made,
        plane_turned: turned(before.plane().normal(), after.plane().normal()),
        beam_turned: turned(
            before.placement.pose.axes().depth,
            after.placement.pose.axes().depth,
        ),
        went: Mm::new(went.norm()),
    }]
}

fn fault(question: &Question) -> Vec<Reason> {
    let Some(shown) = &question.disagreement else {
        return Vec::new();
    };
    let toward = |placement: &Placement| SideName::of(placement.pose.axes().lateral).dominant();
    let reason = match shown.fault {
        Fault::NotchReversed => Reason::NotchDisagrees {
            body: toward(&question.view.placement),
            picture: toward(&shown.picture),
        },
        Fault::MarkOnOtherSide => Reason::MarkDisagrees {
            picture: shown.picture.convention.mark,
            department: shown.department,
        },
        Fault::DepthLetters => Reason::DepthLettersDisagree {
            top: question.view.sides().top.dominant(),
        },
        Fault::BodySide => Reason::CaptionDisagrees {
            side: question
                .subject
                .as_ref()
                .map_or(anatomy::BodySide::Mid, |subject| subject.side),
        },
    };
    vec![reason]
}
