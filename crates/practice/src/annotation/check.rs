//! An annotation held against what the picture shows, token by token.

use std::ops::Range;

use anatomy::{AxisView, Body, BodySide, StructureIndex};
use geometry::{Angle, BodyPlane, ImagePlane, ObliqueKind, PlaneName, PlaneNaming, SagittalOffset};
use picture::{Contents, Seen};

use super::read::{Token, TokenKind, read};
use super::vocabulary::{Ambiguous, Meaning, PlaneWord, SideWord, Term, Vocabulary};

/// The facts of one picture.
#[derive(Debug, Clone, Copy)]
pub struct Shot<'a> {
    /// The body that was cut.
    pub body: &'a Body,
    /// The image plane.
    pub plane: &'a ImagePlane,
    /// What the plane is called.
    pub naming: PlaneNaming,
    /// Where a sagittal plane lies.
    pub offset: SagittalOffset,
    /// What the field of view shows.
    pub contents: &'a Contents,
    /// The centre of the picture, image mm: the segment that counts is the one there.
    pub centre: [f64; 2],
}

/// A part of an annotation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The plane, or how it shows the structure.
    Plane,
    /// The side of the patient.
    Side,
    /// The structure.
    Structure,
    /// The part of the structure.
    Segment,
}

/// Why a token is wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// The plane is called otherwise.
    PlaneIs(PlaneName),
    /// The plane is sagittal, but this far from the mid-line.
    OffMidline(SagittalOffset),
    /// The plane shows the structure otherwise: angle between its axis and the plane.
    AxisIs(AxisView, Angle),
    /// The structure has no long axis worth naming.
    NoAxis,
    /// This body has no such structure.
    NotInBody,
    /// The structure is not in the picture.
    NotShown,
    /// Too little of the structure is in the picture, mm2.
    TooLittle(f64),
    /// The structure in the picture is of the other side, or of neither.
    SideIs(BodySide),
    /// Only one side of the pair is in the picture.
    OnlyOneSide(BodySide),
    /// The centre of the picture shows another part of the structure: its name.
    SegmentIs(String),
    /// The structure has no named part there.
    NoSegment,
    /// A side, a part or an axis was named, but no structure.
    NoStructure,
    /// This has been said before.
    Twice,
}

/// What came out for one token.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// True of the picture.
    Right,
    /// True of how the plane shows the structure (angle between its axis and the plane), though not of the body plane.
    RightForTheStructure(Angle),
    /// Not true of the picture.
    Wrong(Why),
    /// Means two things: ask.
    Asked(Ambiguous),
    /// Kept, not checked: what the examiner or the patient did.
    Kept,
    /// Not in the vocabulary.
    Unknown,
}

/// One token and what came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// Where it stands in the line, bytes.
    pub range: Range<usize>,
    /// The mark it stands for; `None` for ambiguous and unknown words.
    pub mark: Option<String>,
    /// The part it belongs to; `None` for manoeuvres, ambiguous and unknown words.
    pub part: Option<Part>,
    /// What came out.
    pub finding: Finding,
}

/// What came out for a line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// Every token, in the order of the line.
    pub tokens: Vec<Checked>,
    /// Parts that are missing, in the order of [`Part`].
    pub missing: Vec<Part>,
}

impl Report {
    /// Whether nothing is missing and every token is right or kept.
    #[must_use]
    pub fn all_right(&self) -> bool {
        self.missing.is_empty()
            && self.tokens.iter().all(|token| {
                matches!(
                    token.finding,
                    Finding::Right | Finding::RightForTheStructure(_) | Finding::Kept
                )
            })
    }
}

/// Checks `line`. Plane and structure are always expected, the side where the structure is one of a pair, and the
/// segment when `with_segment` is set.
#[must_use]
pub fn check(vocabulary: &Vocabulary, line: &str, shot: &Shot<'_>, with_segment: bool) -> Report {
    let tokens = read(vocabulary, line);
    let said = Said::of(&tokens);
    let subject = Subject::of(vocabulary, &said, shot);
    let mut seen_marks: Vec<&str> = Vec::new();
    let checked = tokens
        .iter()
        .map(|token| {
            let TokenKind::Term(term) = token.kind else {
                return Checked {
                    range: token.range.clone(),
                    mark: None,
                    part: None,
                    finding: match token.kind {
                        TokenKind::Ambiguous(entry) => Finding::Asked(entry.clone()),
                        _ => Finding::Unknown,
                    },
                };
            };
            let finding = if seen_marks.contains(&term.mark.as_str()) {
                Finding::Wrong(Why::Twice)
            } else {
                finding(term, vocabulary, shot, &said, subject)
            };
            seen_marks.push(&term.mark);
            Checked {
                range: token.range.clone(),
                mark: Some(term.mark.clone()),
                part: part(&term.meaning),
                finding,
            }
        })
        .collect();
    Report {
        tokens: checked,
        missing: said.missing(shot.body, with_segment),
    }
}

fn part(meaning: &Meaning) -> Option<Part> {
    match meaning {
        Meaning::Plane(_) => Some(Part::Plane),
        Meaning::Side(_) => Some(Part::Side),
        Meaning::Structure { .. } => Some(Part::Structure),
        Meaning::Segment { .. } => Some(Part::Segment),
        Meaning::Manoeuvre => None,
    }
}

/// What the line as a whole says.
#[derive(Debug, Default)]
struct Said<'a> {
    plane: bool,
    side: Option<SideWord>,
    side_in_structure: bool,
    structures: Vec<&'a str>,
    structure: bool,
    segment: bool,
}

impl<'a> Said<'a> {
    fn of(tokens: &[Token<'a>]) -> Self {
        let mut said = Self::default();
        for token in tokens {
            let TokenKind::Term(term) = token.kind else {
                continue;
            };
            match &term.meaning {
                Meaning::Plane(_) => said.plane = true,
                Meaning::Side(side) => said.side = said.side.or(Some(*side)),
                Meaning::Structure {
                    structures,
                    side,
                    segments,
                } => {
                    said.structure = true;
                    said.segment |= !segments.is_empty();
                    said.side_in_structure |= side.is_some();
                    said.structures
                        .extend(structures.iter().map(String::as_str));
                }
                Meaning::Segment { structure, .. } => {
                    said.segment = true;
                    said.structure |= structure.is_some();
                    said.structures.extend(structure.as_deref());
                }
                Meaning::Manoeuvre => {}
            }
        }
        said
    }

    fn missing(&self, body: &Body, with_segment: bool) -> Vec<Part> {
        let sides: Vec<BodySide> = self
            .structures
            .iter()
            .filter_map(|id| body.find(id))
            .map(|index| body.structure(index).side)
            .collect();
        let paired = sides.contains(&BodySide::Right) && sides.contains(&BodySide::Left);
        [
            (Part::Plane, !self.plane),
            (
                Part::Side,
                paired && self.side.is_none() && !self.side_in_structure,
            ),
            (Part::Structure, !self.structure),
            (Part::Segment, with_segment && !self.segment),
        ]
        .into_iter()
        .filter_map(|(part, absent)| absent.then_some(part))
        .collect()
    }
}

/// The structure that side, segment and axis speak of.
#[derive(Debug, Clone, Copy)]
struct Subject<'a> {
    index: StructureIndex,
    seen: &'a Seen,
}

impl<'a> Subject<'a> {
    /// Of the structures that the line names and the picture shows: one of the side that the line says, if there is
    /// one, else the largest.
    fn of(vocabulary: &Vocabulary, said: &Said<'_>, shot: &Shot<'a>) -> Option<Self> {
        said.structures
            .iter()
            .filter_map(|id| shot.body.find(id))
            .filter_map(|index| Some((index, shot.contents.find(index)?)))
            .filter(|(_, seen)| enough(vocabulary, seen))
            .max_by(|(a, seen_a), (b, seen_b)| {
                let fits = |index: StructureIndex| {
                    said.side
                        .is_some_and(|side| same_side(side, shot.body.structure(index).side))
                };
                fits(*a)
                    .cmp(&fits(*b))
                    .then(seen_a.area_mm2.total_cmp(&seen_b.area_mm2))
            })
            .map(|(index, seen)| Self { index, seen })
    }
}

fn enough(vocabulary: &Vocabulary, seen: &Seen) -> bool {
    let longest = if seen.bounds.width() > seen.bounds.height() {
        seen.bounds.width()
    } else {
        seen.bounds.height()
    };
    seen.area_mm2 >= vocabulary.least_area_mm2() || longest >= vocabulary.least_length_mm()
}

fn same_side(word: SideWord, side: BodySide) -> bool {
    matches!(
        (word, side),
        (SideWord::Right, BodySide::Right) | (SideWord::Left, BodySide::Left)
    )
}

fn finding(
    term: &Term,
    vocabulary: &Vocabulary,
    shot: &Shot<'_>,
    said: &Said<'_>,
    subject: Option<Subject<'_>>,
) -> Finding {
    match &term.meaning {
        Meaning::Plane(word) => plane(*word, shot, subject),
        Meaning::Side(word) => from_why(side(*word, vocabulary, shot, said, subject)),
        Meaning::Structure {
            structures,
            segments,
            side,
        } => from_why(
            structure(structures, *side, vocabulary, shot)
                .or_else(|| part_shown(structures, segments, shot)),
        ),
        Meaning::Segment {
            segments,
            structure: of,
        } => from_why(
            of.as_ref()
                .and_then(|id| structure(std::slice::from_ref(id), None, vocabulary, shot))
                .or_else(|| segment(segments, shot, subject)),
        ),
        Meaning::Manoeuvre => Finding::Kept,
    }
}

fn from_why(why: Option<Why>) -> Finding {
    why.map_or(Finding::Right, Finding::Wrong)
}

fn plane(word: PlaneWord, shot: &Shot<'_>, subject: Option<Subject<'_>>) -> Finding {
    let name = shot.naming.name;
    let body_plane = |wanted: BodyPlane| {
        from_why((name != PlaneName::Named(wanted)).then_some(Why::PlaneIs(name)))
    };
    let oblique = |wanted: Option<ObliqueKind>| {
        let fits = match name {
            PlaneName::Oblique(oblique) => wanted.is_none_or(|kind| kind == oblique.kind),
            PlaneName::Named(_) => false,
        };
        from_why((!fits).then_some(Why::PlaneIs(name)))
    };
    match word {
        PlaneWord::Sagittal => body_plane(BodyPlane::Sagittal),
        PlaneWord::Transverse => body_plane(BodyPlane::Transverse),
        PlaneWord::Coronal => body_plane(BodyPlane::Coronal),
        PlaneWord::Oblique => oblique(None),
        PlaneWord::LongitudinalOblique => oblique(Some(ObliqueKind::Longitudinal)),
        PlaneWord::TransverseOblique => oblique(Some(ObliqueKind::Transverse)),
        PlaneWord::MidSagittal => match body_plane(BodyPlane::Sagittal) {
            Finding::Right if shot.offset != SagittalOffset::MidSagittal => {
                Finding::Wrong(Why::OffMidline(shot.offset))
            }
            other => other,
        },
        PlaneWord::Longitudinal => match (body_plane(BodyPlane::Sagittal), subject) {
            (Finding::Wrong(of_plane), Some(subject)) => match subject.seen.axis {
                Some((AxisView::Long, angle)) => Finding::RightForTheStructure(angle),
                _ => Finding::Wrong(of_plane),
            },
            (other, _) => other,
        },
        PlaneWord::LongAxis => from_why(axis(AxisView::Long, subject)),
        PlaneWord::ShortAxis => from_why(axis(AxisView::Short, subject)),
    }
}

fn axis(wanted: AxisView, subject: Option<Subject<'_>>) -> Option<Why> {
    let Some(subject) = subject else {
        return Some(Why::NoStructure);
    };
    match subject.seen.axis {
        None => Some(Why::NoAxis),
        Some((view, angle)) => (view != wanted).then_some(Why::AxisIs(view, angle)),
    }
}

fn side(
    word: SideWord,
    vocabulary: &Vocabulary,
    shot: &Shot<'_>,
    said: &Said<'_>,
    subject: Option<Subject<'_>>,
) -> Option<Why> {
    let Some(subject) = subject else {
        return Some(Why::NoStructure);
    };
    let own = shot.body.structure(subject.index).side;
    if word != SideWord::Both {
        return (!same_side(word, own)).then_some(Why::SideIs(own));
    }
    let shown = |wanted: BodySide| {
        said.structures
            .iter()
            .filter_map(|id| shot.body.find(id))
            .filter(|index| shot.body.structure(*index).side == wanted)
            .filter_map(|index| shot.contents.find(index))
            .any(|seen| enough(vocabulary, seen))
    };
    (!(shown(BodySide::Right) && shown(BodySide::Left))).then_some(Why::OnlyOneSide(own))
}

fn structure(
    ids: &[String],
    side: Option<SideWord>,
    vocabulary: &Vocabulary,
    shot: &Shot<'_>,
) -> Option<Why> {
    let there: Vec<StructureIndex> = ids.iter().filter_map(|id| shot.body.find(id)).collect();
    if there.is_empty() {
        return Some(Why::NotInBody);
    }
    let shown: Vec<&Seen> = there
        .iter()
        .filter_map(|index| shot.contents.find(*index))
        .collect();
    if shown.iter().any(|seen| enough(vocabulary, seen)) {
        return None;
    }
    if let Some(most) = shown.iter().map(|seen| seen.area_mm2).reduce(larger) {
        return Some(Why::TooLittle(most));
    }
    // RK on a picture of the left kidney is not "not shown" but "the other side".
    side.and_then(|_| other_side(ids, vocabulary, shot))
        .or(Some(Why::NotShown))
}

/// The side that is shown instead of the one that the word says: that of a structure which an unsided word of the
/// vocabulary names together with it (KID names both kidneys).
fn other_side(ids: &[String], vocabulary: &Vocabulary, shot: &Shot<'_>) -> Option<Why> {
    let own = shot
        .body
        .structure(ids.iter().find_map(|id| shot.body.find(id))?)
        .side;
    vocabulary
        .terms()
        .iter()
        .filter_map(|term| match &term.meaning {
            Meaning::Structure { structures, .. } => Some(structures),
            _ => None,
        })
        .filter(|named| ids.iter().any(|id| named.contains(id)))
        .flatten()
        .filter_map(|id| shot.body.find(id))
        .find(|index| {
            shot.body.structure(*index).side != own
                && shot
                    .contents
                    .find(*index)
                    .is_some_and(|seen| enough(vocabulary, seen))
        })
        .map(|index| Why::SideIs(shot.body.structure(index).side))
}

/// For a word that stands for a part of a structure: whether that part is what the picture shows of it.
fn part_shown(ids: &[String], segments: &[String], shot: &Shot<'_>) -> Option<Why> {
    if segments.is_empty() {
        return None;
    }
    let index = ids.iter().find_map(|id| shot.body.find(id))?;
    let seen = shot.contents.find(index)?;
    let all = &shot.body.structure(index).segments;
    match seen.segment.and_then(|number| all.get(number)) {
        None => Some(Why::NoSegment),
        Some(part) => (!segments.contains(&part.id)).then(|| Why::SegmentIs(part.label.clone())),
    }
}

fn segment(segments: &[String], shot: &Shot<'_>, subject: Option<Subject<'_>>) -> Option<Why> {
    let Some(subject) = subject else {
        return Some(Why::NoStructure);
    };
    let at = shot.plane.to_patient(shot.centre);
    match shot.body.structure(subject.index).segment_at(at) {
        None => Some(Why::NoSegment),
        Some(part) => (!segments.contains(&part.id)).then(|| Why::SegmentIs(part.label.clone())),
    }
}

fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}
