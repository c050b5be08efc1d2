//! Requested sets of pictures, and which of them a picture covers.
//!
//! A picture is judged by what it shows: its plane, the structures in its field of view, how the plane runs to their
//! axes, and the part of the structure at the middle of the picture. What somebody wrote on it does not count.
//!
//! The lists are our own. That an aorta is asked for at three levels in two planes is published practice (accreditation
//! wording of one radiology group's protocol); the others are common practice, no source.

use std::sync::LazyLock;

use anatomy::{AxisView, Body};
use geometry::{BodyPlane, ImagePlane, PlaneName};
use picture::{BeamPoint, Contents, Field};

/// Visible area from which a structure counts as shown, mm2: as the vocabulary has it (setting of this project).
const LEAST_AREA_MM2: f64 = 4.0;

/// Visible extent from which it counts however thin it is, mm: as the vocabulary has it (setting of this project).
const LEAST_LENGTH_MM: f64 = 5.0;

/// How far the end of a tube may lie off the plane and still be what the picture shows, mm (setting of this project:
/// about the width of the aorta).
const END_REACH_MM: f64 = 20.0;

/// One picture that is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// Identifier of the structure it is of.
    pub subject: String,
    /// The plane of the body, where it matters.
    pub plane: Option<BodyPlane>,
    /// How the plane runs to the structure's axis, where it matters.
    pub axis: Option<AxisView>,
    /// Identifier of the part of the structure at the middle of the picture, where it matters.
    pub segment: Option<String>,
    /// Structures that have to be shown in place of the subject: where it has divided.
    pub divides_into: Vec<String>,
}

/// A set of pictures that is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Stable key; empty for a teacher's own list.
    pub id: String,
    /// The pictures.
    pub views: Vec<View>,
}

/// What is lacking for a view.
#[derive(Debug, Clone, PartialEq)]
pub enum Lack {
    /// This structure is not shown: its identifier.
    NotShown(String),
    /// The plane is called otherwise.
    PlaneIs(PlaneName),
    /// The plane runs otherwise to the structure's axis; `None` where that cannot be said.
    AxisIs(Option<AxisView>),
    /// Another part of the structure is at the middle: its name; `None` where there is none.
    SegmentIs(Option<String>),
    /// The place where it divides is not near the plane.
    NotWhereItDivides,
}

/// A structure in a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// Its identifier.
    pub id: String,
    /// How the plane runs to its axis.
    pub axis: Option<AxisView>,
    /// Identifier and name of the part at the middle of the picture.
    pub segment: Option<(String, String)>,
}

/// What the judgement needs to know of a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// What the plane is called.
    pub plane: PlaneName,
    /// What is shown, nearest first.
    pub shown: Vec<Shown>,
    /// Identifiers of structures whose centre line ends in the picture.
    pub ends: Vec<String>,
}

impl Facts {
    /// The facts of a picture: `contents` are what `field` shows of `plane` through `body`.
    #[must_use]
    pub fn of(
        body: &Body,
        plane: &ImagePlane,
        field: &Field,
        name: PlaneName,
        contents: &Contents,
    ) -> Self {
        let middle = plane.to_patient(field_middle(field));
        let shown = contents
            .structures
            .iter()
            .filter(|seen| {
                seen.area_mm2 >= LEAST_AREA_MM2
                    || seen.bounds.width() >= LEAST_LENGTH_MM
                    || seen.bounds.height() >= LEAST_LENGTH_MM
            })
            .map(|seen| {
                let structure = body.structure(seen.structure);
                Shown {
                    id: structure.id.as_str().to_owned(),
                    axis: seen.axis.map(|(view, _)| view),
                    segment: structure
                        .segment_at(middle)
                        .map(|part| (part.id.clone(), part.label.clone())),
                }
            })
            .collect();
        let ends = body
            .structures()
            .iter()
            .filter(|structure| {
                let end = structure
                    .centre_line
                    .as_ref()
                    .and_then(|line| line.points().last().copied());
                end.is_some_and(|end| {
                    let [x, y, off] = plane.to_image(end);
                    off.abs() <= END_REACH_MM && field.contains([x, y])
                })
            })
            .map(|structure| structure.id.as_str().to_owned())
            .collect();
        Self {
            plane: name,
            shown,
            ends,
        }
    }

    fn find(&self, id: &str) -> Option<&Shown> {
        self.shown.iter().find(|shown| shown.id == id)
    }
}

/// The middle of the picture: the central ray at half the displayed depth, image mm.
#[must_use]
pub fn field_middle(field: &Field) -> [f64; 2] {
    field.image_point(BeamPoint {
        beam: 0.0,
        depth_mm: field.depth().get() / 2.0,
    })
}

impl View {
    /// Identifiers of all structures that it needs.
    pub fn structures(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.subject)
            .chain(&self.divides_into)
            .map(String::as_str)
    }

    /// What a picture lacks to be this view, gravest first; nothing when it is.
    #[must_use]
    pub fn lacks(&self, facts: &Facts) -> Vec<Lack> {
        let mut lacks = Vec::new();
        if self.divides_into.is_empty() {
            match facts.find(&self.subject) {
                None => return vec![Lack::NotShown(self.subject.clone())],
                Some(shown) => self.lacks_of(shown, &mut lacks),
            }
        } else {
            let missing = self
                .divides_into
                .iter()
                .filter(|id| facts.find(id).is_none());
            lacks.extend(missing.map(|id| Lack::NotShown(id.clone())));
            if !facts.ends.contains(&self.subject) {
                lacks.push(Lack::NotWhereItDivides);
            }
        }
        if self
            .plane
            .is_some_and(|plane| facts.plane != PlaneName::Named(plane))
        {
            lacks.push(Lack::PlaneIs(facts.plane));
        }
        lacks
    }

    fn lacks_of(&self, shown: &Shown, lacks: &mut Vec<Lack>) {
        if self.axis.is_some() && shown.axis != self.axis {
            lacks.push(Lack::AxisIs(shown.axis));
        }
        let there = shown.segment.as_ref();
        if self
            .segment
            .as_ref()
            .is_some_and(|wanted| there.is_none_or(|(id, _)| id != wanted))
        {
            lacks.push(Lack::SegmentIs(there.map(|(_, name)| name.clone())));
        }
    }
}

impl Request {
    /// Whether a body has everything that is asked for.
    #[must_use]
    pub fn fits(&self, has: impl Fn(&str) -> bool) -> bool {
        self.views.iter().all(|view| view.structures().all(&has))
    }
}

/// All lists, in the order of a menu.
#[must_use]
pub fn requests() -> &'static [Request] {
    &*REQUESTS
}

/// The list with this key.
#[must_use]
pub fn request(id: &str) -> Option<&'static Request> {
    REQUESTS.iter().find(|request| request.id == id)
}

fn level(plane: BodyPlane, segment: &str) -> View {
    View {
        plane: Some(plane),
        segment: Some(segment.to_owned()),
        ..of("aorta")
    }
}

fn long(subject: &str) -> View {
    View {
        axis: Some(AxisView::Long),
        ..of(subject)
    }
}

fn short(subject: &str, segment: Option<&str>) -> View {
    View {
        axis: Some(AxisView::Short),
        segment: segment.map(str::to_owned),
        ..of(subject)
    }
}

fn of(subject: &str) -> View {
    View {
        subject: subject.to_owned(),
        plane: None,
        axis: None,
        segment: None,
        divides_into: Vec::new(),
    }
}

static REQUESTS: LazyLock<[Request; 3]> = LazyLock::new(|| {
    let list = |id: &str, views: Vec<View>| Request {
        id: id.to_owned(),
        views,
    };
    let kidney = |id: &str| {
        [
            long(id),
            short(id, Some("upper")),
            short(id, Some("mid")),
            short(id, Some("lower")),
        ]
    };
    let lobe = |id: &str| [long(id), short(id, None)];
    [
        list(
            "aorta",
            vec![
                level(BodyPlane::Sagittal, "proximal"),
                level(BodyPlane::Sagittal, "mid"),
                level(BodyPlane::Sagittal, "distal"),
                level(BodyPlane::Transverse, "proximal"),
                level(BodyPlane::Transverse, "mid"),
                level(BodyPlane::Transverse, "distal"),
                View {
                    divides_into: vec![
                        "right_common_iliac_artery".to_owned(),
                        "left_common_iliac_artery".to_owned(),
                    ],
                    ..of("aorta")
                },
            ],
        ),
        list(
            "kidneys",
            [kidney("right_kidney"), kidney("left_kidney")].concat(),
        ),
        list(
            "thyroid",
            [
                &lobe("right_thyroid_lobe")[..],
                &lobe("left_thyroid_lobe")[..],
                &[View {
                    plane: Some(BodyPlane::Transverse),
                    ..of("thyroid_isthmus")
                }][..],
            ]
            .concat(),
        ),
    ]
});

#[cfg(test)]
mod tests {
    use super::*;

    fn facts(plane: BodyPlane, shown: &[(&str, Option<AxisView>, Option<&str>)]) -> Facts {
        Facts {
            plane: PlaneName::Named(plane),
            shown: shown
                .iter()
                .map(|(id, axis, segment)| Shown {
                    id: (*id).to_owned(),
                    axis: *axis,
                    segment: segment.map(|id| (id.to_owned(), id.to_uppercase())),
                })
                .collect(),
            ends: Vec::new(),
        }
    }

    fn check_covered(list: &str, facts: &Facts, covered: &[usize]) {
        let views = &request(list).expect("a list").views;
        let found: Vec<usize> = (0..views.len())
            .filter(|&place| views[place].lacks(facts).is_empty())
            .collect();
        assert_eq!(found, covered, "{list}: {facts:?}");
    }

    #[test]
    fn a_picture_covers_what_it_shows_and_nothing_else() {
        use BodyPlane::{Coronal, Sagittal, Transverse};
        let aorta = |segment| [("aorta", Some(AxisView::Long), Some(segment))];
        check_covered("aorta", &facts(Sagittal, &aorta("proximal")), &[0]);
        check_covered("aorta", &facts(Sagittal, &aorta("distal")), &[2]);
        check_covered("aorta", &facts(Transverse, &aorta("mid")), &[4]);
        check_covered("aorta", &facts(Coronal, &aorta("mid")), &[]);
        check_covered("aorta", &facts(Transverse, &[]), &[]);
        let kidney = [("left_kidney", Some(AxisView::Short), Some("lower"))];
        check_covered("kidneys", &facts(Transverse, &kidney), &[7]);
        check_covered("kidneys", &facts(Coronal, &kidney), &[7]);
        let oblique = [("left_kidney", Some(AxisView::Oblique), Some("lower"))];
        check_covered("kidneys", &facts(Transverse, &oblique), &[]);
    }

    #[test]
    fn the_bifurcation_needs_both_branches_and_the_end_of_the_aorta() {
        let branches = [
            ("right_common_iliac_artery", None, None),
            ("left_common_iliac_artery", None, None),
        ];
        let mut facts = facts(BodyPlane::Transverse, &branches);
        check_covered("aorta", &facts, &[]);
        facts.ends = vec!["aorta".to_owned()];
        check_covered("aorta", &facts, &[6]);
        facts.shown.pop();
        check_covered("aorta", &facts, &[]);
    }

    #[test]
    fn what_is_lacking_is_said_gravest_first() {
        let views = &request("aorta").expect("a list").views;
        let shown = [("aorta", Some(AxisView::Short), Some("mid"))];
        assert_eq!(
            views[0].lacks(&facts(BodyPlane::Transverse, &shown)),
            [
                Lack::SegmentIs(Some("MID".to_owned())),
                Lack::PlaneIs(PlaneName::Named(BodyPlane::Transverse)),
            ]
        );
        assert_eq!(
            views[0].lacks(&facts(BodyPlane::Sagittal, &[])),
            [Lack::NotShown("aorta".to_owned())]
        );
    }

    #[test]
    fn a_list_fits_a_body_that_has_all_of_it() {
        let aorta = request("aorta").expect("a list");
        assert!(aorta.fits(|_| true), "a body with everything");
        assert!(!aorta.fits(|id| id == "aorta"), "no iliac arteries");
        assert!(request("nothing").is_none(), "no list of this name");
    }
}
