//! The list of a set of saved pictures as JSON, version 1, and the names of their files.
//!
//! ```json
//! {
//!   "format": "planeward pictures",
//!   "version": 1,
//!   "note": "For teaching, not for diagnosis. Synthetic body.",
//!   "pictures": [
//!     {"number": 1, "png": "01_SAG_AO_PROX.png", "dicom": "01_SAG_AO_PROX.dcm", "time": "2026-11-25T09:45:01+01:00",
//!      "body": "adult_female", "annotation": "SAG AO PROX", "view": "v1.body=…", "words": ["…"]}
//!   ]
//! }
//! ```
//!
//! A file that is not there is `null`.

use crate::examination::KeptPicture;
use crate::link;

/// One picture of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<'a> {
    /// The picture.
    pub picture: &'a KeptPicture,
    /// Name of the file with the picture and its caption.
    pub png: Option<String>,
    /// Name of the DICOM file.
    pub dicom: Option<String>,
    /// What is said of it, sentence by sentence.
    pub words: Vec<String>,
}

/// The list; `note` is the caution that stands on all of it.
#[must_use]
pub fn json(note: &str, entries: &[Entry<'_>]) -> String {
    let items: Vec<String> = entries.iter().map(entry).collect();
    format!(
        "{{\n  \"format\": \"planeward pictures\",\n  \"version\": 1,\n  \"note\": {},\n  \"pictures\": [\n{}\n  ]\n}}\n",
        quoted(note),
        items.join(",\n")
    )
}

fn entry(entry: &Entry<'_>) -> String {
    let picture = entry.picture;
    let file = |name: &Option<String>| name.as_deref().map_or_else(|| "null".to_owned(), quoted);
    let words: Vec<String> = entry.words.iter().map(|words| quoted(words)).collect();
    format!(
        "    {{\"number\": {}, \"png\": {}, \"dicom\": {}, \"time\": {}, \"body\": {}, \"annotation\": {}, \
         \"view\": {}, \"words\": [{}]}}",
        picture.number,
        file(&entry.png),
        file(&entry.dicom),
        quoted(&picture.at.iso()),
        quoted(picture.view.body.as_deref().unwrap_or_default()),
        quoted(&picture.annotation),
        quoted(&link::write(&picture.view)),
        words.join(", ")
    )
}

/// A JSON string (RFC 8259, section 7).
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if u32::from(c) < 0x20 => out.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// The name of a picture's files without their ending: its number and its annotation in letters and digits that every
/// system allows: `03_SAG_AO_PROX`.
#[must_use]
pub fn file_stem(picture: &KeptPicture) -> String {
    /// Longer annotations are cut: some systems allow few characters for a whole path.
    const MOST: usize = 40;
    let mut name = format!("{:02}", picture.number);
    for word in picture
        .annotation
        .split(|c: char| !c.is_ascii_alphanumeric())
    {
        if !word.is_empty() && name.len() + word.len() < MOST {
            name.push('_');
            name.push_str(&word.to_ascii_uppercase());
        }
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::LinkState;
    use crate::moment::Moment;

    fn picture(annotation: &str) -> KeptPicture {
        KeptPicture {
            number: 3,
            at: Moment {
                unix_ms: 1_795_596_301_999,
                offset_min: 60,
            },
            view: LinkState {
                body: Some("adult_female".to_owned()),
                ..LinkState::default()
            },
            annotation: annotation.to_owned(),
        }
    }

    #[test]
    fn file_names_are_plain_and_short() {
        for (annotation, stem) in [
            ("SAG AO PROX", "03_SAG_AO_PROX"),
            ("", "03"),
            ("sag ../../ao | \"é\" ü", "03_SAG_AO"),
            (
                "averyveryveryverylongword anotherveryverylongword",
                "03_AVERYVERYVERYVERYLONGWORD",
            ),
        ] {
            assert_eq!(file_stem(&picture(annotation)), stem, "{annotation}");
        }
    }

    #[test]
    fn the_list_is_json_that_others_read() {
        let said = picture("a \"b\" \\ \u{1} ü");
        let entries = [Entry {
            picture: &said,
            png: Some("03.png".to_owned()),
            dicom: None,
            words: vec!["One.".to_owned(), "Two.".to_owned()],
        }];
        let read: serde_json::Value = serde_json::from_str(&json("note", &entries)).expect("JSON");
        assert_eq!(read["version"], 1);
        let one = &read["pictures"][0];
        assert_eq!(one["annotation"], said.annotation);
        assert_eq!(one["time"], "2026-11-25T09:45:01+01:00");
        assert_eq!(one["dicom"], serde_json::Value::Null);
        assert_eq!(one["words"][1], "Two.");
        assert!(
            link::read(one["view"].as_str().expect("text")).is_ok(),
            "the view is a link"
        );
        let none: serde_json::Value = serde_json::from_str(&json("", &[])).expect("JSON");
        assert_eq!(none["pictures"], serde_json::json!([]));
    }
}
