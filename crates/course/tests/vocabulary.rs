//! The vocabulary of the project, and files that are none.
#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

use course::vocabulary::{VocabularyFile, from_file, read};
use practice::annotation::{Meaning, TokenKind};

const OURS: &str = include_str!("../../../models/vocabulary.toml");

/// The descriptions of the bodies; a misspelt identifier would never match anything.
const BODIES: [&str; 10] = [
    include_str!("../../../models/adult_female.toml"),
    include_str!("../../../models/adult_male.toml"),
    include_str!("../../../models/adult_male_organs.toml"),
    include_str!("../../../models/infant_head.toml"),
    include_str!("../../../models/common.toml"),
    include_str!("../../../models/common_pelvis_limbs.toml"),
    include_str!("../../../models/common_skeleton.toml"),
    include_str!("../../../models/common_thorax_neck.toml"),
    include_str!("../../../models/common_trunk.toml"),
    include_str!("../../../models/windows.toml"),
];

fn ours() -> VocabularyFile {
    toml::from_str(OURS).expect("the vocabulary is TOML of its shape")
}

/// Whether a body describes a structure of this name; pairs are described once, without their side.
fn described(id: &str) -> bool {
    let plain = id.strip_prefix("right_").or(id.strip_prefix("left_"));
    [Some(id), plain].into_iter().flatten().any(|name| {
        let wanted = format!("\"{name}\"");
        BODIES.iter().any(|text| {
            text.lines()
                .any(|line| line.starts_with("id = ") && line.contains(&wanted))
        })
    })
}

#[test]
fn our_vocabulary_is_sound_and_its_structures_exist() {
    let vocabulary = from_file(ours()).expect("a vocabulary");
    let mut problems = Vec::new();
    for term in vocabulary.terms() {
        let ids = match &term.meaning {
            Meaning::Structure { structures, .. } => structures.clone(),
            Meaning::Segment { structure, .. } => structure.iter().cloned().collect(),
            _ => vec![],
        };
        problems.extend(
            ids.into_iter()
                .filter(|id| !described(id))
                .map(|id| format!("{}: no body has {id}", term.mark)),
        );
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

#[test]
fn usual_annotations_are_read_as_meant() {
    let vocabulary = from_file(ours()).expect("a vocabulary");
    for (line, marks) in [
        ("SAG AORTA PROX", vec!["SAG", "AO", "PROX"]),
        ("trv rt kidney mid", vec!["TRV", "RT", "KID", "MID"]),
        ("COR LT KIDNEY", vec!["COR", "LT", "KID"]),
        ("TRV LT CFV COMP", vec!["TRV", "LT", "CFV", "COMP"]),
        ("Long axis GB", vec!["LAX", "GB"]),
        ("sag obl rt portal vein", vec!["SAG OBL", "RT", "PV"]),
    ] {
        let found: Vec<&str> = practice::annotation::read(&vocabulary, line)
            .iter()
            .map(|token| match token.kind {
                TokenKind::Term(term) => term.mark.as_str(),
                _ => "?",
            })
            .collect();
        assert_eq!(found, marks, "{line}");
    }
    // Words that domain teachers want asked about.
    for word in ["TV", "TX", "L", "SUP", "LP", "AR", "FV", "SFV", "LS"] {
        assert!(vocabulary.ambiguous_word(word).is_some(), "{word}");
        assert!(vocabulary.term(word).is_none(), "{word}");
    }
}

#[test]
fn files_that_are_none_say_why() {
    let file = |extra: &str| {
        format!(r#"{{"version":1,"language":"en","least_area_mm2":4,"least_length_mm":5{extra}}}"#)
    };
    assert!(read(file("").as_bytes()).is_ok());
    assert!(read(file(r#","later_key":[1]"#).as_bytes()).is_ok());
    for (text, wanted) in [
        ("[]".to_owned(), "the vocabulary is not written as expected"),
        (
            file("").replace("\"version\":1", "\"version\":2"),
            "the vocabulary has version 2; this program reads version 1",
        ),
        (
            file(r#","plane":[{"mark":"SAG","plane":"sideways"}]"#),
            "\"SAG\" of [[plane]] needs \"plane\", and has \"sideways\"",
        ),
        (
            file(r#","side":[{"mark":"RT"}]"#),
            "\"RT\" of [[side]] needs \"side\", and has none",
        ),
        (
            file(r#","structure":[{"mark":"AO"}]"#),
            "\"AO\" of [[structure]] needs \"structures\", and has none",
        ),
        (
            file(r#","segment":[{"mark":"MID"}]"#),
            "\"MID\" of [[segment]] needs \"segments\", and has none",
        ),
        (
            file(r#","manoeuvre":[{"mark":"COMP"},{"mark":"COMP"}]"#),
            "\"COMP\" stands twice in the vocabulary",
        ),
    ] {
        let error = read(text.as_bytes())
            .expect_err("no vocabulary")
            .to_string();
        assert!(error.starts_with(wanted), "{text}: {error}");
    }
}
