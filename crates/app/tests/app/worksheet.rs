//! A set on paper.

use crate::support::{body, body_named};
use app::Texts;
use app::drawing::palette;
use app::worksheet::{Sheet, sheet};
use course::set::{Order, Question, Set, View};
use practice::Kind;

fn set(kinds: &[Kind]) -> Set {
    let view = View {
        window: Some("sagittal_left_aorta_proximal".to_owned()),
        ..View::default()
    };
    let questions = (1..)
        .zip(kinds)
        .map(|(number, kind)| Question::fixed(&format!("q{number}"), *kind, view.clone()));
    Set {
        title: "On paper".to_owned(),
        questions: questions.collect(),
        ..Set::default()
    }
}

/// Names the structure that the first question is about.
fn about(set: &mut Set, structure: &str) {
    if let course::set::Asked::Fixed(fixed) = &mut set.questions[0].asked {
        fixed.structure = Some(structure.to_owned());
    }
}

fn made(set: &Set, seed: u64) -> Sheet {
    let palette = palette().expect("all colours");
    sheet(
        set,
        seed,
        &[body("adult_female")],
        None,
        &palette,
        &Texts::english(),
    )
}

#[test]
fn check_questions_and_answers() {
    let sheet = made(
        &set(&[Kind::PlaneFromProbe, Kind::PlaneFromPicture, Kind::Side]),
        3,
    );
    assert_eq!(sheet.questions.len(), 3, "{sheet:?}");
    let [probe, picture, side] = &sheet.questions[..] else {
        panic!("three questions");
    };
    let [(chart, caption)] = &probe.pictures[..] else {
        panic!("one chart: {probe:?}");
    };
    assert!(
        chart.contains("class=\"chart\"") && chart.contains("<circle"),
        "the body with the probe and its notch: {chart}"
    );
    assert_eq!(caption, "Seen from the front");
    assert!(
        probe.words.starts_with("Probe on the "),
        "its place in words: {}",
        probe.words
    );
    assert!(
        !probe.words.contains("agittal"),
        "the answer is not in the question: {}",
        probe.words
    );
    assert_eq!(picture.pictures.len(), 1, "the section");
    for question in [probe, picture, side] {
        let options = &question.parts.first().expect("a choice").1;
        assert!(options.len() >= 3, "{}: {options:?}", question.id);
        assert!(
            !question.answer.is_empty() && !question.reason.is_empty(),
            "{question:?}"
        );
    }
    assert!(sheet.left_out.is_empty(), "all are on paper");
}

#[test]
fn check_pictures_are_drawings() {
    let sheet = made(&set(&[Kind::PlaneFromPicture, Kind::Side]), 3);
    let letters = |place: usize| sheet.questions[place].pictures[0].0.clone();
    let svg = letters(0);
    assert!(
        svg.starts_with("<svg ") && svg.ends_with("</svg>"),
        "one element"
    );
    assert_eq!(
        svg.matches('<').count(),
        svg.matches('>').count(),
        "tags are closed"
    );
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "numbers");
    assert!(
        !svg.contains("style="),
        "no style that the page's policy refuses"
    );
    for letter in [">H<", ">F<", ">A<", ">P<"] {
        assert!(svg.contains(letter), "the sides are named: {letter}");
    }
    assert!(
        !letters(1).contains(">H<"),
        "a side that is asked for is not named"
    );
    let fills: std::collections::BTreeSet<&str> = svg
        .match_indices("fill=\"#")
        .map(|(at, _)| &svg[at + 6..at + 13])
        .collect();
    assert!(fills.len() >= 5, "tissues are told apart: {fills:?}");
}

#[test]
fn check_placing_the_probe_is_drawn_on_an_empty_chart() {
    let mut placed = set(&[Kind::PlaceProbe, Kind::PlaneFromPicture]);
    about(&mut placed, "aorta");
    let sheet = made(&placed, 3);
    let [place, _] = &sheet.questions[..] else {
        panic!("both are on paper: {sheet:?}");
    };
    assert!(place.prompt.contains("Draw the probe"), "{}", place.prompt);
    let [(empty, _)] = &place.pictures[..] else {
        panic!("the chart alone: {place:?}");
    };
    assert!(!empty.contains("<circle"), "without the probe");
    assert!(
        place.words.is_empty(),
        "nothing tells where: {}",
        place.words
    );
    let [(solved, _), (section, _)] = &place.answer_pictures[..] else {
        panic!("the answer has chart and picture: {place:?}");
    };
    assert!(solved.contains("<circle"), "the answer has the probe");
    assert!(section.contains("class=\"section\""), "and its picture");
    assert!(
        place.answer.starts_with("Probe on the "),
        "{}",
        place.answer
    );
}

#[test]
fn check_a_fault_is_on_paper() {
    let mut faulty = set(&[Kind::FindTheFault]);
    about(&mut faulty, "aorta");
    if let course::set::Asked::Fixed(fixed) = &mut faulty.questions[0].asked {
        fixed.fault = Some(practice::Fault::DepthLetters);
    }
    let sheet = made(&faulty, 3);
    let [fault] = &sheet.questions[..] else {
        panic!("it is on paper: {sheet:?}");
    };
    let [(chart, _), (section, _)] = &fault.pictures[..] else {
        panic!("body and picture: {fault:?}");
    };
    assert!(chart.contains("<circle"), "the body shows the probe");
    // The probe stands on the front; the picture says that its top is the back.
    let lowest = |letter: &str| {
        let at = section.find(letter).expect("a letter");
        let tag = section[..at].rfind("y=\"").expect("its place");
        let number: String = section[tag + 3..]
            .chars()
            .take_while(|c| *c != '"')
            .collect();
        number.parse::<f64>().expect("a number")
    };
    assert!(
        lowest(">P<") < lowest(">A<"),
        "the letters at top and bottom are exchanged"
    );
    assert_eq!(fault.parts.len(), 2, "what is wrong and what mends it");
}

#[test]
fn check_pictures_to_acquire_can_be_ticked_off() {
    let mut wanted = set(&[Kind::Side]);
    let picture = course::set::WantedView {
        subject: "aorta".to_owned(),
        plane: None,
        axis: None,
        segment: None,
        divides_into: Vec::new(),
        more: Vec::new(),
    };
    wanted.acquire = Some(course::set::Acquire {
        views: vec![picture.clone(), picture],
        ..course::set::Acquire::default()
    });
    let sheet = made(&wanted, 3);
    assert_eq!(sheet.acquire.len(), 2, "{:?}", sheet.acquire);
    assert!(sheet.acquire[0].contains("orta"), "{:?}", sheet.acquire);
    assert!(sheet.left_out.is_empty(), "{}", sheet.left_out);
}

#[test]
fn check_pictures_to_acquire_are_named_in_the_language() {
    let spanish = Texts::read(include_str!("../../../../web/languages/es.txt"));
    let mut wanted = set(&[Kind::Side]);
    let view = |segment: Option<&str>| course::set::WantedView {
        subject: "aorta".to_owned(),
        plane: Some(geometry::BodyPlane::Sagittal),
        axis: None,
        segment: segment.map(str::to_owned),
        divides_into: Vec::new(),
        more: Vec::new(),
    };
    wanted.acquire = Some(course::set::Acquire {
        views: vec![view(Some("proximal")), view(None)],
        ..course::set::Acquire::default()
    });
    let bodies = [body_named("adult_female", &spanish.names)];
    let palette = palette().expect("all colours");
    let sheet = sheet(&wanted, 3, &bodies, None, &palette, &spanish);
    assert_eq!(
        sheet.acquire,
        ["Aorta abdominal proximal, sagital", "Aorta, sagital"]
    );
}

#[test]
fn check_a_list_that_the_body_cannot_give_is_said() {
    let mut wanted = set(&[Kind::Side]);
    wanted.acquire = Some(course::set::Acquire {
        list: Some("no_such_list".to_owned()),
        ..course::set::Acquire::default()
    });
    let sheet = made(&wanted, 3);
    assert!(sheet.acquire.is_empty(), "{:?}", sheet.acquire);
    assert!(
        sheet.left_out.contains("no_such_list"),
        "{}",
        sheet.left_out
    );
}

#[test]
fn check_a_sheet_has_the_words_of_its_language() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../web/languages");
    let text = std::fs::read_to_string(folder.join("es.txt")).expect("Spanish");
    let spanish = Texts::read(Box::leak(text.into_boxed_str()));
    let palette = palette().expect("all colours");
    let bodies = [body("adult_female")];
    let one = set(&[Kind::PlaneFromProbe]);
    let sheet = sheet(&one, 3, &bodies, None, &palette, &spanish);
    let words = &sheet.questions[0].words;
    assert!(words.starts_with("Sonda"), "{words}");
    assert_eq!(sheet.questions[0].pictures[0].1, "Visto por delante");
}

#[test]
fn check_the_seed_makes_the_same_sheet_again() {
    let mut shuffled = set(&[
        Kind::PlaneFromProbe,
        Kind::PlaneFromPicture,
        Kind::Side,
        Kind::NotchFromPicture,
    ]);
    shuffled.order = Order::Shuffled;
    let first = made(&shuffled, 11);
    assert_eq!(first, made(&shuffled, 11), "the same seed");
    assert!(
        first.foot.contains("seed 11"),
        "it is printed: {}",
        first.foot
    );
    let orders: std::collections::BTreeSet<Vec<String>> = (0..20)
        .map(|seed| {
            made(&shuffled, seed)
                .questions
                .into_iter()
                .map(|question| question.id)
                .collect()
        })
        .collect();
    assert!(orders.len() > 1, "another seed may give another order");
}

/// The number of an attribute in a piece of SVG.
fn number(element: &str, attribute: &str) -> f64 {
    let start = format!("{attribute}=\"");
    let (_, rest) = element.split_once(&start).expect("the attribute is there");
    let (value, _) = rest.split_once('"').expect("it ends");
    value.parse().expect("a number")
}

#[test]
fn letters_and_scale_stand_apart() {
    // A tick of the scale that touches an F makes an E of it, and the side another one.
    let sheet = made(&set(&[Kind::PlaneFromPicture]), 3);
    let (svg, _) = &sheet.questions[0].pictures[0];
    let right = svg
        .split("<text")
        .filter(|text| text.contains(">F</text>"))
        .map(|text| number(text, " x") + number(text, "font-size") / 2.0)
        .fold(f64::NEG_INFINITY, f64::max);
    assert!(right.is_finite(), "image right is the foot end: {svg}");
    let ticks: Vec<f64> = svg
        .split("<path d=\"M")
        .filter(|path| {
            path.split('"')
                .next()
                .is_some_and(|path| path.contains('h'))
        })
        .filter_map(|path| path.split(' ').next()?.parse().ok())
        .collect();
    assert!(ticks.len() > 10, "a scale: {ticks:?}");
    assert!(
        ticks.iter().all(|tick| *tick > right),
        "the scale begins behind the letters: {ticks:?}, {right}"
    );
    let view: Vec<f64> = svg
        .split_once("viewBox=\"")
        .and_then(|(_, rest)| rest.split('"').next())
        .map(|text| text.split(' ').filter_map(|n| n.parse().ok()).collect())
        .expect("a view box");
    let numbers = svg.split("<text").skip(1).map(|text| number(text, " x"));
    assert!(
        numbers.fold(0.0, f64::max) + 4.0 < view[0] + view[2],
        "its numbers are within the picture"
    );
}
