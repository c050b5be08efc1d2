//! The page of results in words.

use app::Texts;
use app::results::Results;
use course::moment::Moment;
use course::results::{Item, Outcome, ResultFile, write};

const SPANISH: &str = include_str!("../../../../web/languages/es.txt");

/// A round of plane questions; each entry is what was answered where "sagittal" is right.
fn round(seed: u64, answers: &[&str]) -> ResultFile {
    let item = |(place, answer): (usize, &&str)| {
        let right = *answer == "sagittal";
        Item {
            id: format!("q{place}"),
            kind: "plane_from_picture".to_owned(),
            skill: String::new(),
            points: 1,
            outcome: if right {
                Outcome::Right
            } else {
                Outcome::Wrong
            },
            score: f64::from(u8::from(right)),
            first_score: f64::from(u8::from(right)),
            answers: vec![(*answer).to_owned()],
            correct: "sagittal".to_owned(),
            hints: 0,
            latency_ms: 4000,
            misconception: (!right).then(|| "long_is_sagittal".to_owned()),
            view: None,
            pose: None,
            more: Vec::new(),
        }
    };
    ResultFile {
        program: "planeward 0.1.0".to_owned(),
        title: "Week 1".to_owned(),
        set: "0123456789abcdef".to_owned(),
        seed,
        attempt: 1,
        label: None,
        started: Moment::default(),
        ended: None,
        pass_percent: None,
        items: answers.iter().enumerate().map(item).collect(),
        more: Vec::new(),
    }
}

/// The page with these files.
fn with(files: &[(&str, String)]) -> Results {
    let mut results = Results::default();
    let files = files.iter();
    results.add(
        files
            .map(|(name, text)| ((*name).to_owned(), text.clone().into_bytes()))
            .collect(),
    );
    results
}

#[test]
fn why_a_file_is_not_counted_is_said_in_the_language_of_the_page() {
    let spanish = Texts::read(SPANISH);
    let whole = write(&round(1, &["sagittal"]));
    let damaged = whole.replace("Week 1", "Week 2");
    let labelled = |seed| ResultFile {
        label: Some("Bench 4".to_owned()),
        ..round(seed, &["sagittal"])
    };
    let second = ResultFile {
        attempt: 2,
        ..round(5, &["sagittal"])
    };
    let results = with(&[
        ("whole.json", whole.clone()),
        ("copy.json", whole.clone()),
        ("note.txt", "hello".to_owned()),
        (
            "new.json",
            r#"{"format":"planeward-result","version":9}"#.to_owned(),
        ),
        ("damaged.json", damaged),
        ("cut.json", whole[..whole.len() / 2].to_owned()),
        ("large.json", " ".repeat(3 << 20)),
        ("bent.json", r#"{"format":"planeward-result" 5}"#.to_owned()),
        ("empty.json", write(&round(2, &[]))),
        ("again.json", write(&second)),
        ("first.json", write(&labelled(3))),
        ("later.json", write(&labelled(4))),
    ]);
    let left = |texts: &Texts| {
        let mut left = results.view(texts).left;
        left.sort();
        left
    };
    assert_eq!(
        left(&spanish),
        [
            "again.json: es la ronda 2 y cuentan las primeras rondas.",
            "bent.json: tiene un fallo en line 1, column 30: se encontró `5}`, se esperaba ',' or '}' (detalles en inglés).",
            "copy.json: es una copia de whole.json.",
            "cut.json: se interrumpe a la mitad: una parte se perdió al guardarlo o enviarlo; pídalo de nuevo.",
            "damaged.json: está dañado: su contenido no coincide con su suma de comprobación.",
            "empty.json: no contiene ninguna respuesta.",
            "large.json: ocupa más de 2097152 bytes.",
            "later.json: es una ronda posterior de la misma persona que first.json.",
            "new.json: es un archivo de resultados de la versión 9; este programa lee la versión 1.",
            "note.txt: no es un archivo de resultados de Planeward.",
        ]
    );
    let english = left(&Texts::ENGLISH);
    assert_eq!(english[2], "copy.json: it is a copy of whole.json.");
    assert_eq!(english.len(), 10);
}

#[test]
fn planes_mistakes_and_figures_are_said_in_the_language_of_the_page() {
    let files: Vec<(String, String)> = (0..6)
        .map(|seed| {
            let answers = match seed {
                0 => ["sagittal", "sagittal", "coronal"],
                1 | 2 => ["sagittal", "longitudinal_oblique", "coronal"],
                _ => ["sagittal"; 3],
            };
            (format!("{seed}.json"), write(&round(seed, &answers)))
        })
        .collect();
    let files: Vec<(&str, String)> = files
        .iter()
        .map(|(name, text)| (&**name, text.clone()))
        .collect();
    let results = with(&files);
    let view = results.view(&Texts::read(SPANISH));
    let group = &view.groups[0];
    assert_eq!(group.planes, ["sagital", "coronal", "oblicuo longitudinal"]);
    assert_eq!(group.findings[0], "Sagital se tomó por coronal: 3 veces.");
    let misconception = group.findings.last().expect("a finding");
    assert!(
        misconception.starts_with("Primeras respuestas con el mismo error: 5. Esta respuesta "),
        "{misconception}"
    );
    assert!(
        group.facts[1].starts_with("Media de 2,17 de 3 correctas"),
        "{:?}",
        group.facts
    );
    let english = results.view(&Texts::ENGLISH);
    assert!(
        english.groups[0].facts[1].starts_with("Mean 2.17 of 3 right"),
        "{:?}",
        english.groups[0].facts
    );
}
