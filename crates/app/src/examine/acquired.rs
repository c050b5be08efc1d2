//! A kept picture shown again, and what is true of it.

use anatomy::{Body, BodySide};
use course::examination::KeptPicture;
use course::link::{self, LinkState};
use geometry::{Angle, Convention, ImagePlane, Mm, check_tolerance};
use picture::{Contents, Press, contents, press_section, transducer};
use practice::acquisition::{Facts, field_middle};
use practice::annotation::{
    Checked, Finding, Meaning, Part, Report, Shot, SideWord, Vocabulary, check,
};

use crate::address;
use crate::state::{BodyStage, State};
use crate::views;

/// What is true of an acquired picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// What it shows.
    pub facts: Facts,
    /// What stands on it, held against that; none without a vocabulary or without an annotation.
    pub report: Option<Report>,
    /// Identifier of the structure that it is of, where the annotation says so and is right.
    pub subject: Option<String>,
}

/// `link` as it is after it has been written and read.
#[must_use]
pub fn as_written(link: &LinkState) -> LinkState {
    link::read(&link::write(link)).unwrap_or_else(|_| link.clone())
}

/// Puts probe and setup on the digits that a link can write, so that the picture can be drawn again to the bit.
pub(crate) fn snap(state: &mut State) {
    let link = as_written(&address::link_of(state));
    take(state, &link);
}

/// Shows what a link says, on the body that is here.
fn take(state: &mut State, link: &LinkState) {
    if let Some(pose) = link.pose.as_ref().and_then(address::pose_of_link) {
        state.pose = pose;
    }
    if let Some(known) = link.transducer.as_deref().and_then(transducer) {
        state.setup.transducer = known;
    }
    if let Some(depth) = link.depth_mm {
        state.setup.depth = state.setup.transducer.clamp_depth(Mm::new(depth));
    }
    state.setup.convention = Convention {
        mark: link.mark,
        apex: link.apex,
    };
    if let Ok(tolerance) = check_tolerance(link.tolerance_deg) {
        state.setup.tolerance = tolerance;
    }
    state.grey_percent = link.picture.grey_percent.unwrap_or(0.0);
    state.setup.tuning = address::tuning_of_link(&link.picture);
}

/// A state that shows `picture` as it was acquired, for drawing and words. Its body is here only when it is the body of
/// `state`.
#[must_use]
pub fn replay(state: &State, picture: &KeptPicture) -> State {
    let mut again = state.clone();
    if let Some(id) = &picture.view.body
        && *id != again.body_id
    {
        again.body_id.clone_from(id);
        again.stage = BodyStage::Loading {
            received: 0,
            total: None,
        };
    }
    again.pose_motion = None;
    again.camera_motion = None;
    again.open = None;
    again.chosen = None;
    take(&mut again, &picture.view);
    again.window.clone_from(&picture.view.window);
    again.setup.position = picture.view.position;
    again.setup.seat = picture.view.seat;
    again.shown_plane = views::exact_naming(&again).name;
    again
}

/// The image plane of a picture and the tolerance of its name; no body is needed for either.
pub(crate) fn plane_of(picture: &KeptPicture) -> Option<(ImagePlane, Angle)> {
    let pose = address::pose_of_link(picture.view.pose.as_ref()?)?;
    let convention = Convention {
        mark: picture.view.mark,
        apex: picture.view.apex,
    };
    let tolerance = check_tolerance(picture.view.tolerance_deg).ok()?;
    Some((ImagePlane::from_pose(&pose, convention), tolerance))
}

/// Holds a line against what is shown. `seen` are the contents of the pressed section, as they are drawn.
pub(crate) fn report(
    state: &State,
    body: &Body,
    seen: &Contents,
    vocabulary: &Vocabulary,
    line: &str,
) -> Report {
    let plane = state.plane();
    let shot = Shot {
        body,
        plane: &plane,
        naming: views::exact_naming(state),
        offset: views::central_offset(state),
        contents: seen,
        centre: field_middle(&state.field()),
    };
    check(vocabulary, line, &shot, wants_segment(state))
}

/// Whether the requested list asks for parts of structures, so that an annotation has to name one.
fn wants_segment(state: &State) -> bool {
    state
        .examination
        .request()
        .is_some_and(|request| request.views.iter().any(|view| view.segment.is_some()))
}

/// Finds out what is true of a picture of the present body.
pub(crate) fn judge(state: &State, picture: &KeptPicture) -> Option<Judged> {
    let again = replay(state, picture);
    let body = again.body()?;
    let (plane, field) = (again.plane(), again.field());
    let mut section = body.section(&plane);
    let mut press = Press::default();
    press_section(body, &field, &mut section, &mut press);
    let seen = contents(body, &section, &field).under(&press);
    let name = views::exact_naming(&again).name;
    let vocabulary = state.examination.vocabulary.as_deref();
    let report = vocabulary
        .filter(|_| !picture.annotation.trim().is_empty())
        .map(|vocabulary| report(&again, body, &seen, vocabulary, &picture.annotation));
    let subject = vocabulary
        .zip(report.as_ref())
        .and_then(|(vocabulary, report)| subject(body, &seen, vocabulary, report));
    Some(Judged {
        facts: Facts::of(body, &plane, &field, name, &seen),
        report,
        subject,
    })
}

/// The structure that a rightly annotated picture is of: of those that the line names, one of the side it says, else the
/// largest that is shown.
fn subject(
    body: &Body,
    seen: &Contents,
    vocabulary: &Vocabulary,
    report: &Report,
) -> Option<String> {
    let right = |part: Part| {
        report
            .tokens
            .iter()
            .filter(move |token| token.part == Some(part) && token.finding == Finding::Right)
    };
    let meaning = |token: &Checked| Some(&vocabulary.term(token.mark.as_deref()?)?.meaning);
    let said = right(Part::Side).find_map(|token| match meaning(token)? {
        Meaning::Side(SideWord::Right) => Some(BodySide::Right),
        Meaning::Side(SideWord::Left) => Some(BodySide::Left),
        _ => None,
    });
    let named = right(Part::Structure)
        .chain(right(Part::Segment))
        .find_map(|token| match meaning(token)? {
            Meaning::Structure { structures, .. } => Some(structures.clone()),
            Meaning::Segment { structure, .. } => structure.clone().map(|id| vec![id]),
            _ => None,
        })?;
    named
        .iter()
        .filter_map(|id| body.find(id))
        .filter_map(|index| Some((index, seen.find(index)?.area_mm2)))
        .max_by(|(a, area_a), (b, area_b)| {
            let fits = |side: BodySide| said == Some(side);
            fits(body.structure(*a).side)
                .cmp(&fits(body.structure(*b).side))
                .then(area_a.total_cmp(area_b))
        })
        .map(|(index, _)| body.structure(index).id.as_str().to_owned())
}
