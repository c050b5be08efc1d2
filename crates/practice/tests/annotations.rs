//! Annotations of pictures of a small body whose parts are known beforehand: a vessel along the body with two named
//! stretches, a right and a left ball.
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

// The writer of small bodies is the body reader's own; a second one here could only drift from it.
#[path = "../../anatomy/tests/support/mod.rs"]
mod support;

use anatomy::catalogue::SideEntry;
use anatomy::{AxisView, Body, BodySide};
use geometry::{
    Angle, ApexSide, BodyPlane, Convention, DEFAULT_TOLERANCE, Direction, ImagePlane, Mm,
    ObliqueKind, Patient, PlaneName, Point, Pose, SagittalOffset, Vector, name_plane,
    sagittal_offset,
};
use picture::{Contents, Field, contents, transducer};
use practice::annotation::{
    Ambiguous, Choice, Finding, Meaning, Part, PlaneWord, Report, Shot, SideWord, Term, TokenKind,
    Vocabulary, VocabularyError, Why, check, complete, read,
};
use proptest::prelude::*;

fn body() -> Body {
    let (mut catalogue, mut meshes) = support::egg();
    for (id, node, x, side) in [
        ("right_ball", "right_ball", -60.0_f32, SideEntry::Right),
        ("left_ball", "left_ball", 60.0, SideEntry::Left),
    ] {
        let order = 100 + u32::from(x > 0.0);
        let mut entry = support::structure(id, "liver", 900);
        entry.side = side;
        catalogue.structures.push(entry);
        catalogue
            .surfaces
            .push(support::surface(node, "liver", order));
        meshes.push((node, support::ellipsoid([x, 30.0, 0.0], [14.0; 3], 8)));
    }
    let json = serde_json::to_vec(&catalogue).expect("a catalogue");
    Body::read(&support::glb(&meshes, support::PLAIN), &json).expect("a body")
}

fn term(mark: &str, also: &[&str], meaning: Meaning) -> Term {
    Term {
        mark: mark.to_owned(),
        also: also.iter().map(|&name| name.to_owned()).collect(),
        meaning,
    }
}

fn structure(ids: &[&str], side: Option<SideWord>) -> Meaning {
    Meaning::Structure {
        structures: ids.iter().map(|&id| id.to_owned()).collect(),
        segments: vec![],
        side,
    }
}

fn segment(id: &str) -> Meaning {
    Meaning::Segment {
        segments: vec![id.to_owned()],
        structure: None,
    }
}

fn terms() -> Vec<Term> {
    vec![
        term("SAG", &["SAGITTAL"], Meaning::Plane(PlaneWord::Sagittal)),
        term("TRV", &["TRANS"], Meaning::Plane(PlaneWord::Transverse)),
        term("COR", &[], Meaning::Plane(PlaneWord::Coronal)),
        term("OBL", &[], Meaning::Plane(PlaneWord::Oblique)),
        term(
            "SAG OBL",
            &[],
            Meaning::Plane(PlaneWord::LongitudinalOblique),
        ),
        term("TRV OBL", &[], Meaning::Plane(PlaneWord::TransverseOblique)),
        term("ML", &[], Meaning::Plane(PlaneWord::MidSagittal)),
        term("LONG", &[], Meaning::Plane(PlaneWord::Longitudinal)),
        term("LAX", &["LONG AXIS"], Meaning::Plane(PlaneWord::LongAxis)),
        term("SAX", &["SHORT AXIS"], Meaning::Plane(PlaneWord::ShortAxis)),
        term("RT", &["R"], Meaning::Side(SideWord::Right)),
        term("LT", &[], Meaning::Side(SideWord::Left)),
        term("BILAT", &[], Meaning::Side(SideWord::Both)),
        term("UPPER", &[], segment("upper")),
        term("LOWER", &[], segment("lower")),
        term("VESSEL", &["BIG VESSEL"], structure(&["vessel"], None)),
        term("BALL", &[], structure(&["right_ball", "left_ball"], None)),
        term("RB", &[], structure(&["right_ball"], Some(SideWord::Right))),
        term("LB", &[], structure(&["left_ball"], Some(SideWord::Left))),
        term("GHOST", &[], structure(&["ghost"], None)),
        term("COMP", &[], Meaning::Manoeuvre),
    ]
}

fn ambiguous() -> Ambiguous {
    let choice = |mark: &str, words: &str| Choice {
        mark: mark.to_owned(),
        words: words.to_owned(),
    };
    Ambiguous {
        word: "L".to_owned(),
        choices: vec![choice("LT", "left"), choice("LONG", "longitudinal")],
    }
}

fn vocabulary() -> Vocabulary {
    Vocabulary::new(terms(), vec![ambiguous()], 4.0, 5.0).expect("a vocabulary")
}

/// A picture of the body from the front of `contact`, the notch toward `notch`.
struct Picture {
    body: Body,
    plane: ImagePlane,
    contents: Contents,
    depth: f64,
}

impl Picture {
    fn new(contact: [f64; 3], notch: [f64; 3], depth: f64) -> Self {
        let body = body();
        let front = Direction::<Patient>::from_array([0.0, -1.0, 0.0]).expect("a direction");
        let pose = Pose::from_notch_and_beam(
            Point::from_array(contact),
            front,
            Vector::from_array(notch),
            Vector::new(0.0, 1.0, 0.0),
        )
        .expect("a pose");
        let plane = ImagePlane::from_pose(&pose, Convention::GENERAL);
        let field = Field::new(
            transducer("convex").expect("a transducer"),
            Mm::new(depth),
            ApexSide::Top,
        );
        let contents = contents(&body, &body.section(&plane), &field);
        Self {
            body,
            plane,
            contents,
            depth,
        }
    }

    fn check(&self, line: &str, with_segment: bool) -> Report {
        let centre = [0.0, self.depth / 2.0];
        let shot = Shot {
            body: &self.body,
            plane: &self.plane,
            naming: name_plane(self.plane.normal(), DEFAULT_TOLERANCE),
            offset: sagittal_offset(&self.plane, centre),
            contents: &self.contents,
            centre,
        };
        check(&vocabulary(), line, &shot, with_segment)
    }
}

const TO_THE_RIGHT: [f64; 3] = [-1.0, 0.0, 0.0];
const TO_THE_HEAD: [f64; 3] = [0.0, 0.0, 1.0];

/// Through the middle: vessel and both balls.
fn transverse() -> Picture {
    Picture::new([0.0, -100.0, 8.0], TO_THE_RIGHT, 160.0)
}

fn findings(picture: &Picture, line: &str) -> Vec<Finding> {
    picture
        .check(line, false)
        .tokens
        .into_iter()
        .map(|token| token.finding)
        .collect()
}

fn check_right(picture: &Picture, line: &str) {
    let report = picture.check(line, false);
    assert!(report.all_right(), "{line}: {report:?}");
}

#[test]
fn words_are_right_in_any_order_and_case() {
    let through = Picture::new([0.0, -100.0, 0.0], TO_THE_RIGHT, 160.0);
    for line in [
        "TRV VESSEL",
        "vessel trans",
        "Big-Vessel, trv",
        "TRV VESSEL COMP",
        "SAX VESSEL",
        "TRV RT BALL",
        "R ball TRV",
        "TRV RB",
        "TRV BILAT BALL",
        "TRV LT BALL",
    ] {
        check_right(&through, line);
    }
    let along = Picture::new([0.0, -100.0, 20.0], TO_THE_HEAD, 160.0);
    for line in [
        "SAG VESSEL",
        "ML VESSEL",
        "LONG VESSEL",
        "LAX VESSEL UPPER",
        "SAG LAX VESSEL",
    ] {
        check_right(&along, line);
    }
}

#[test]
fn what_is_wrong_is_named() {
    let transverse = transverse();
    let name = PlaneName::Named(BodyPlane::Transverse);
    for (line, wanted) in [
        ("SAG VESSEL", Why::PlaneIs(name)),
        ("ML VESSEL", Why::PlaneIs(name)),
        ("OBL VESSEL", Why::PlaneIs(name)),
        ("LONG VESSEL", Why::PlaneIs(name)),
        ("SAX", Why::NoStructure),
        ("SAX RB", Why::NoAxis),
        ("TRV TRV VESSEL", Why::Twice),
        ("LOWER VESSEL TRV", Why::SegmentIs("Upper".to_owned())),
        ("LOWER RB TRV", Why::NoSegment),
        ("TRV UPPER", Why::NoStructure),
        ("RT", Why::NoStructure),
        ("RT VESSEL", Why::SideIs(BodySide::Mid)),
        ("TRV LT RB", Why::SideIs(BodySide::Right)),
        ("GHOST TRV", Why::NotInBody),
    ] {
        let found = findings(&transverse, line);
        assert!(
            found.contains(&Finding::Wrong(wanted.clone())),
            "{line}: {found:?}, wanted {wanted:?}"
        );
    }
    let found = findings(&transverse, "LAX VESSEL");
    assert!(
        matches!(found[0], Finding::Wrong(Why::AxisIs(AxisView::Short, angle)) if angle > Angle::deg(85.0)),
        "{found:?}"
    );
}

#[test]
fn what_is_not_in_the_picture_is_told_from_the_other_side() {
    // Beside the mid-line: the left ball is cut, the right one and the vessel are not.
    let left = Picture::new([60.0, -75.0, 0.0], TO_THE_HEAD, 160.0);
    assert_eq!(
        findings(&left, "SAG VESSEL RB LB"),
        [
            Finding::Right,
            Finding::Wrong(Why::NotShown),
            Finding::Wrong(Why::SideIs(BodySide::Left)),
            Finding::Right
        ]
    );
    assert_eq!(
        findings(&left, "RT BALL SAG"),
        [
            Finding::Wrong(Why::SideIs(BodySide::Left)),
            Finding::Right,
            Finding::Right
        ]
    );
    assert_eq!(
        findings(&left, "BILAT BALL")[0],
        Finding::Wrong(Why::OnlyOneSide(BodySide::Left))
    );
    let offset = SagittalOffset::Left(Mm::new(60.0));
    assert_eq!(
        findings(&left, "ML LB")[0],
        Finding::Wrong(Why::OffMidline(offset))
    );
    // Only the rim of the ball.
    let rim = Picture::new([46.05, -85.0, 0.0], TO_THE_HEAD, 160.0);
    assert!(
        matches!(findings(&rim, "LB")[0], Finding::Wrong(Why::TooLittle(area)) if area < 4.0),
        "{:?}",
        findings(&rim, "LB")
    );
}

#[test]
fn long_may_be_said_of_the_structure() {
    // A plane turned by 30° about the vessel shows it along, though it is no sagittal plane.
    let line = "LONG VESSEL";
    let body = body();
    let front = Direction::<Patient>::from_array([-0.5, -0.866, 0.0]).expect("a direction");
    let pose = Pose::from_notch_and_beam(
        Point::new(-50.0, -86.6, 0.0),
        front,
        Vector::from_array(TO_THE_HEAD),
        Vector::new(0.5, 0.866, 0.0),
    )
    .expect("a pose");
    let plane = ImagePlane::from_pose(&pose, Convention::GENERAL);
    let field = Field::new(
        transducer("convex").expect("a transducer"),
        Mm::new(160.0),
        ApexSide::Top,
    );
    let contents = contents(&body, &body.section(&plane), &field);
    let picture = Picture {
        body,
        plane,
        contents,
        depth: 160.0,
    };
    let found = findings(&picture, line);
    assert!(
        matches!(found[0], Finding::RightForTheStructure(angle) if angle < Angle::deg(1.0)),
        "{found:?}"
    );
    assert!(picture.check(line, false).all_right(), "right either way");
    for (line, right) in [
        ("OBL VESSEL", true),
        ("SAG OBL VESSEL", true),
        ("TRV OBL VESSEL", false),
        ("SAG VESSEL", false),
    ] {
        assert_eq!(picture.check(line, false).all_right(), right, "{line}");
    }
    assert!(
        matches!(findings(&picture, "SAG")[0], Finding::Wrong(Why::PlaneIs(PlaneName::Oblique(oblique))) if oblique.kind == ObliqueKind::Longitudinal),
        "the wrong name comes with the right one"
    );
}

#[test]
fn missing_parts_are_named() {
    let picture = transverse();
    for (line, with_segment, wanted) in [
        ("", false, vec![Part::Plane, Part::Structure]),
        ("TRV", false, vec![Part::Structure]),
        ("BALL", false, vec![Part::Plane, Part::Side]),
        ("TRV RB", false, vec![]),
        ("TRV VESSEL", true, vec![Part::Segment]),
        ("TRV VESSEL UPPER", true, vec![]),
    ] {
        assert_eq!(picture.check(line, with_segment).missing, wanted, "{line}");
    }
}

#[test]
fn ambiguous_words_are_asked_about_and_unknown_ones_kept_apart() {
    let picture = transverse();
    assert_eq!(
        findings(&picture, "L VESSEL WHATEVER COMP"),
        [
            Finding::Asked(ambiguous()),
            Finding::Right,
            Finding::Unknown,
            Finding::Kept
        ]
    );
    assert!(
        !picture.check("TRV L VESSEL", false).all_right(),
        "a question is no right answer"
    );
}

#[test]
fn completions_replace_the_last_word_and_give_nothing_away() {
    let vocabulary = vocabulary();
    let marks = |line: &str| {
        complete(&vocabulary, line, 5)
            .iter()
            .map(|c| (c.range.clone(), c.mark.to_owned()))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        marks("trv sa"),
        [
            (4..6, "SAG".to_owned()),
            (4..6, "SAG OBL".to_owned()),
            (4..6, "SAX".to_owned())
        ]
    );
    assert_eq!(marks("BIG"), [(0..3, "VESSEL".to_owned())]);
    assert_eq!(marks("TRV "), []);
    assert_eq!(marks(""), []);
}

#[test]
fn words_of_another_language_are_taken_in_where_they_say_one_thing() {
    let mut vocabulary = vocabulary();
    let name = |vocabulary: &Vocabulary, mark: &str| {
        let offered = complete(vocabulary, mark, 9);
        let found = offered.iter().find(|offer| offer.mark == mark);
        found.expect("it is offered").name.to_owned()
    };
    assert_eq!(name(&vocabulary, "SAG"), "SAGITTAL");
    vocabulary.translate(
        |mark| match mark {
            // The mark itself, one in small letters, one that is taken, and two that are new.
            "SAG" => Some("SAG, Sagital, TRV, SAGITAL, EN SAGITAL"),
            // One of its own comes to the front.
            "TRV" => Some("TRANS"),
            _ => None,
        },
        |_, _| None,
    );
    assert_eq!(name(&vocabulary, "SAG"), "SAGITAL");
    assert_eq!(name(&vocabulary, "TRV"), "TRANS");
    let also = |mark: &str| vocabulary.term(mark).expect("a term").also.clone();
    assert_eq!(also("SAG"), ["SAGITAL", "EN SAGITAL", "SAGITTAL"]);
    assert_eq!(also("TRV"), ["TRANS"]);
    let kinds: Vec<TokenKind<'_>> = read(&vocabulary, "sagital trv")
        .into_iter()
        .map(|token| token.kind)
        .collect();
    assert!(
        matches!(kinds[..], [TokenKind::Term(a), TokenKind::Term(b)] if a.mark == "SAG" && b.mark == "TRV"),
        "{kinds:?}"
    );
}

#[test]
fn a_vocabulary_that_contradicts_itself_is_refused() {
    let with = |extra: Term| {
        let mut all = terms();
        all.push(extra);
        Vocabulary::new(all, vec![], 4.0, 5.0)
    };
    let name = |text: &str| text.to_owned();
    for (mark, wanted) in [
        (
            "TRANS",
            VocabularyError::Twice {
                name: name("TRANS"),
            },
        ),
        (
            "lower",
            VocabularyError::Name {
                name: name("lower"),
            },
        ),
        ("A  B", VocabularyError::Name { name: name("A  B") }),
        ("", VocabularyError::Name { name: name("") }),
    ] {
        assert_eq!(with(term(mark, &[], Meaning::Manoeuvre)), Err(wanted));
    }
    let mut entry = ambiguous();
    entry.choices[0].mark = name("NOWHERE");
    assert_eq!(
        Vocabulary::new(terms(), vec![entry.clone()], 4.0, 5.0),
        Err(VocabularyError::Choice {
            word: name("L"),
            mark: name("NOWHERE")
        })
    );
    entry.choices.truncate(1);
    assert_eq!(
        Vocabulary::new(terms(), vec![entry], 4.0, 5.0),
        Err(VocabularyError::OneMeaning { word: name("L") })
    );
    assert_eq!(
        Vocabulary::new(terms(), vec![], -1.0, 5.0),
        Err(VocabularyError::Threshold {
            name: "least_area_mm2",
            value: -1.0
        })
    );
    assert!(
        Vocabulary::new(terms(), vec![], 4.0, f64::NAN).is_err(),
        "NaN is no threshold"
    );
}

proptest! {
    /// Any text is read, and the tokens cover its words in order without overlap.
    #[test]
    fn any_text_is_read(line in "\\PC{0,60}") {
        let vocabulary = vocabulary();
        let tokens = read(&vocabulary, &line);
        let mut at = 0;
        for token in &tokens {
            prop_assert!(token.range.start >= at && token.range.end > token.range.start);
            prop_assert!(!line[at..token.range.start].chars().any(char::is_alphanumeric));
            prop_assert!(line.get(token.range.clone()).is_some());
            at = token.range.end;
        }
        prop_assert!(!line[at..].chars().any(char::is_alphanumeric));
        for offer in complete(&vocabulary, &line, 4) {
            prop_assert_eq!(offer.range.end, line.len());
            prop_assert!(line.get(offer.range).is_some());
        }
    }
}
