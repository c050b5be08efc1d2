//! The JSON reader against `serde_json`, on any text and on catalogues.

use anatomy::catalogue::Catalogue;
use anatomy::json::Json;
use proptest::prelude::*;

mod support;

/// What `serde_json` makes of the same text. It reads a name that stands twice, and keeps the last; the reader refuses
/// that, so such texts are left out.
fn by_serde(value: &serde_json::Value) -> Json {
    match value {
        serde_json::Value::Null => Json::Null,
        serde_json::Value::Bool(value) => Json::Bool(*value),
        serde_json::Value::Number(value) => Json::Number(value.as_f64().unwrap_or(f64::NAN)),
        serde_json::Value::String(text) => Json::Text(text.clone()),
        serde_json::Value::Array(list) => Json::List(list.iter().map(by_serde).collect()),
        serde_json::Value::Object(fields) => {
            let named = fields
                .iter()
                .map(|(name, value)| (name.clone(), by_serde(value)));
            Json::Object(named.collect())
        }
    }
}

/// Objects in the order of their names, as `serde_json` keeps them.
fn sorted(value: Json) -> Json {
    match value {
        Json::List(list) => Json::List(list.into_iter().map(sorted).collect()),
        Json::Object(mut fields) => {
            fields.sort_by(|a, b| a.0.cmp(&b.0));
            Json::Object(fields.into_iter().map(|(n, v)| (n, sorted(v))).collect())
        }
        value => value,
    }
}

fn check_same(text: &str) {
    let serde = serde_json::from_str::<serde_json::Value>(text);
    let ours = Json::read(text.as_bytes());
    match (serde, ours) {
        (Ok(serde), Ok(ours)) => assert_eq!(sorted(ours), by_serde(&serde), "{text:?}"),
        (Err(_), Err(_)) => {}
        (serde, ours) => panic!("{text:?}: serde_json says {serde:?}, the reader {ours:?}"),
    }
}

#[test]
fn texts_are_read_as_serde_reads_them() {
    for text in [
        "",
        " ",
        "null",
        "nul",
        "nulll",
        "true",
        "false",
        "0",
        "-0",
        "00",
        "01",
        "-",
        "1.",
        ".5",
        "1.5e3",
        "1E+2",
        "1e",
        "1e400",
        "1e-400",
        "0.1",
        "123456789.123456789",
        "[]",
        "[ ]",
        "[1,]",
        "[1 2]",
        "[,]",
        "[1,2]x",
        "{}",
        "{\"a\":1}",
        "{\"a\" : [ { } ] }",
        "{\"a\":1,}",
        "{a:1}",
        "{\"a\"}",
        "\"\"",
        "\"a",
        "\"\\n\\t\\/\\\\\\\"\"",
        "\"\\u00e9\\u20ac\"",
        "\"\\ud83d\\ude00\"",
        "\"\\ud83d\"",
        "\"\\ude00\"",
        "\"\\ud83d\\u0041\"",
        "\"\\x\"",
        "\"\\u12g4\"",
        "\"tab\there\"",
        "\u{feff}1",
        "[[[[1]]]]",
    ] {
        check_same(text);
    }
    let deep = "[".repeat(70) + &"]".repeat(70);
    assert!(
        Json::read(deep.as_bytes()).is_err(),
        "a limit on the nesting"
    );
    assert!(Json::read(b"{\"a\":1,\"a\":2}").is_err(), "a name twice");
    assert!(Json::read(b"\"\xff\"").is_err(), "no UTF-8");
}

#[test]
fn a_catalogue_is_read_as_serde_reads_it() {
    let (catalogue, _) = support::egg();
    let bytes = catalogue.to_json().expect("JSON");
    let json = Json::read(&bytes).expect("grammatical");
    assert_eq!(Catalogue::from_json(&json), Ok(catalogue.clone()));
    assert_eq!(
        serde_json::from_slice::<Catalogue>(&bytes).expect("serde reads it"),
        catalogue
    );
}

proptest! {
    #[test]
    fn any_text_is_read_as_serde_reads_it(text in r#"[\[\]{}:," \\a-c0-9.eE+\-utnlr]{0,24}"#) {
        let twice = matches!(
            Json::read(text.as_bytes()),
            Err(anatomy::json::JsonError::Twice(_))
        );
        if !twice {
            check_same(&text);
        }
    }

    #[test]
    fn any_number_comes_back(value in proptest::num::f64::NORMAL) {
        let text = serde_json::to_string(&value).expect("finite");
        prop_assert_eq!(Json::read(text.as_bytes()), Ok(Json::Number(value)));
    }
}
