//! Language files against the tables of words, and what another language says.

use app::drawing::{Drawing, palette};
use app::examine::shipped_vocabulary;
use app::geometry::{Angle, Direction, Mm, PatientSide, Point, Pose, SagittalOffset, name_plane};
use app::texts::LANGUAGES;
use app::views::{ExamineView, VerdictKind, panels};
use app::{Action, Examine, Movement, State, Texts};
use wording::{Fault, Plural, compare, entries};

use crate::support;

const SPANISH: &str = include_str!("../../../../web/languages/es.txt");

/// Languages with their files, by the tags the page offers.
const FILES: [(&str, &str); 1] = [("es", SPANISH)];

fn texts(tag: &str) -> Texts {
    FILES
        .iter()
        .find(|(known, _)| *known == tag)
        .map_or(Texts::ENGLISH, |(_, file)| Texts::read(file))
}

#[test]
fn every_offered_language_has_a_file_and_says_what_it_is() {
    let tags: Vec<&str> = LANGUAGES.iter().map(|(tag, _)| *tag).collect();
    let files: Vec<&str> = FILES.iter().map(|(tag, _)| *tag).collect();
    assert_eq!(tags[0], Texts::ENGLISH.language, "English comes first");
    assert_eq!(tags[1..], files[..], "a file for each other language");
    for (tag, _) in FILES {
        let texts = texts(tag);
        assert_eq!(texts.language, tag, "the file says which language it is");
        assert!(
            ["ltr", "rtl"].contains(&texts.direction),
            "{tag}: {}",
            texts.direction
        );
        assert!(
            Plural::ALL.iter().any(|(_, name)| *name == texts.plurals),
            "{tag} counts like {:?}, which is no rule",
            texts.plurals
        );
    }
}

/// Names of the parts of the bodies are compared by the browser tests, which have the bodies.
#[test]
fn no_key_is_missing_unknown_or_without_its_values() {
    let english = entries(&Texts::ENGLISH);
    assert!(
        english.len() > 300,
        "the tables are listed: {}",
        english.len()
    );
    for (tag, file) in FILES {
        let faults: Vec<String> = compare(&english, file, Plural::from_word(texts(tag).plurals))
            .into_iter()
            .filter(|fault| !matches!(fault, Fault::Unknown(_, key) if key.starts_with("names.")))
            .map(|fault| fault.to_string())
            .collect();
        assert!(
            faults.is_empty(),
            "web/languages/{tag}.txt against the English words:\n{}",
            faults.join("\n")
        );
    }
}

/// The tissue table of the bodies.
const TISSUES: &str = include_str!("../../../../models/tissues.toml");

#[test]
fn every_tissue_a_structure_can_be_made_of_has_words() {
    // These are round the body, or nothing.
    const NOT_IN_A_BODY: [&str; 3] = ["none", "outside", "gel"];
    let mut seen = 0;
    for line in TISSUES.lines() {
        let Some((key, value)) = line.split_once('=') else {
            continue;
        };
        let key = key.trim();
        if key.starts_with('#') || !value.trim_start().starts_with("{ c=") {
            continue;
        }
        seen += 1;
        if NOT_IN_A_BODY.contains(&key) {
            continue;
        }
        assert!(Texts::ENGLISH.tissues.word(key).is_some(), "{key}");
    }
    assert!(seen > 50, "the table was read: {seen}");
    let spanish = texts("es").tissues;
    assert_eq!(spanish.word("renal_cortex"), Some("corteza renal"));
}

fn pose(contact: [f64; 3], rotation: f64, tilt: f64) -> Pose {
    let [rotation, tilt, zero] = [rotation, tilt, 0.0].map(Angle::deg);
    let normal = Direction::from_array([0.0, -1.0, 0.0]).expect("a direction");
    Pose::new(
        Point::from_array(contact),
        normal,
        rotation,
        tilt,
        zero,
        Mm::ZERO,
    )
    .expect("a pose")
}

#[test]
fn spanish_says_whose_side_it_is() {
    let spanish = texts("es");
    let words = &spanish.pictures;
    let tolerance = Angle::deg(20.0);
    for (rotation, tilt, notch, beam) in [
        (
            0.0,
            0.0,
            "Muesca hacia la cabeza (las 12).",
            "Haz recto hacia atrás.",
        ),
        (
            270.0,
            0.0,
            "Muesca hacia la derecha del paciente (las 9).",
            "Haz recto hacia atrás.",
        ),
        (
            30.0,
            0.0,
            "Muesca hacia la cabeza y la izquierda del paciente (la 1).",
            "Haz recto hacia atrás.",
        ),
        (
            44.0,
            0.0,
            "Muesca hacia la cabeza y la izquierda del paciente (la 1 y media).",
            "Haz recto hacia atrás.",
        ),
        (
            90.0,
            30.0,
            "Muesca hacia la izquierda del paciente (las 3).",
            "Haz hacia atrás, 30° hacia los pies.",
        ),
    ] {
        let pose = pose([0.0, -100.0, 0.0], rotation, tilt);
        assert_eq!(
            words.notch(&pose, tolerance),
            notch,
            "rotated by {rotation}"
        );
        assert_eq!(words.beam(pose.axes().depth), beam, "tilted by {tilt}");
    }
    assert_eq!(spanish.sides.name(PatientSide::Head), "extremo cefálico");
    assert_eq!(spanish.number(15.5, 1), "15,5");
    assert_eq!(spanish.counted(words.smaller, 1), " y {} estructura menor");
    assert_eq!(
        spanish.counted(words.smaller, 3),
        " y {} estructuras menores"
    );
    let sagittal = name_plane(
        Direction::from_array([1.0, 0.0, 0.0]).expect("a direction"),
        tolerance,
    );
    let offset = SagittalOffset::Right(Mm::new(20.0));
    assert_eq!(
        words.plane(&sagittal, offset),
        "Plano parasagital derecho, 20 mm a la derecha de la línea media."
    );
}

#[test]
fn announcements_come_in_the_language_of_the_page() {
    let spanish: &'static Texts = Box::leak(Box::new(texts("es")));
    let mut state = support::opened("");
    state.speak(spanish);
    let _ = app::update(&mut state, Action::SetMovement(Movement::Rotate, 270.0));
    let changes = app::update(&mut state, Action::EndInteraction);
    let said = changes.announcement.expect("a turn is announced");
    for part in [
        "Sonda en: ",
        "Muesca hacia la derecha del paciente (las 9).",
        "Plano transversal",
    ] {
        assert!(said.contains(part), "{part:?} in {said:?}");
    }
    for english in ["Probe", "Notch", "Beam", "plane", "Image", "patient"] {
        assert!(!said.contains(english), "{english:?} in {said:?}");
    }
}

/// A vocabulary for the egg: the shipped file has the same shape.
const WORDS: &str = r#"{
    "version": 1, "language": "en", "least_area_mm2": 4.0, "least_length_mm": 5.0,
    "plane": [
        {"mark": "SAG", "also": ["SAGITTAL"], "plane": "sagittal"},
        {"mark": "TRV", "plane": "transverse"}
    ],
    "structure": [
        {"mark": "AO", "also": ["AORTA"], "structures": ["aorta"]},
        {"mark": "LIV", "also": ["LIVER"], "structures": ["liver"]}
    ],
    "manoeuvre": [{"mark": "EV"}],
    "ambiguous": [{"word": "TV", "choices": [["TRV", "transverse"], ["EV", "transvaginal"]]}]
}"#;

fn examination(state: &State, texts: &Texts) -> ExamineView {
    let mut drawing = Drawing::new(palette().expect("all colours"));
    drawing.look_at(state);
    panels(state, drawing.contents(), texts).examine
}

/// In a language, with the names that its file gives: (unknown words, name beside a mark, meaning of a word).
#[test]
fn annotations_may_be_written_in_the_words_of_the_page() {
    for (tag, unknown, name, meaning) in [
        ("en", 2, "LIVER", "transverse"),
        ("es", 0, "HÍGADO", "transversal"),
    ] {
        let texts = texts(tag);
        let mut state = support::opened("");
        let mut does = |what: Examine| {
            let _ = app::update(&mut state, Action::Examine(what));
            examination(&state, &texts)
        };
        does(shipped_vocabulary(WORDS.as_bytes(), &texts));
        does(Examine::Freeze);
        let offers = does(Examine::Write("li".to_owned())).offers;
        assert_eq!(offers[0].mark, "LIV");
        assert_eq!(offers[0].name.as_deref(), Some(name));
        does(Examine::Write("Sagital hígado aorta".to_owned()));
        let verdict = does(Examine::Check).verdict.expect("a verdict");
        let kinds = verdict.rows.iter().map(|row| row.kind);
        let found = kinds.filter(|kind| *kind == VerdictKind::Unknown).count();
        assert_eq!(found, unknown, "{tag}: {verdict:?}");
        does(Examine::Write("TV AO".to_owned()));
        let verdict = does(Examine::Check).verdict.expect("a verdict");
        let asked = &verdict.rows[0].sentence;
        assert!(asked.contains(meaning), "{asked}");
    }
}

#[test]
fn a_language_that_did_not_arrive_is_said() {
    let mut state = State::new("");
    let _ = app::update(&mut state, Action::LanguageFailed("Español".to_owned()));
    let panels = panels(&state, None, Texts::first());
    let said: Vec<&str> = panels
        .status
        .notices
        .iter()
        .map(|notice| notice.text.as_str())
        .collect();
    assert_eq!(
        said,
        ["The words for \"Español\" did not arrive, so the page is in English."]
    );
}
