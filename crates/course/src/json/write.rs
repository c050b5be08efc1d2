//! From a tree to text.

use anatomy::json::Json;

/// Fields of an object under construction, in order.
#[derive(Debug, Default)]
pub struct Fields(Vec<(String, Json)>);

impl Fields {
    /// Adds a field.
    pub fn put(&mut self, name: &str, value: Json) {
        self.0.push((name.to_owned(), value));
    }

    /// Adds a string.
    pub fn text(&mut self, name: &str, value: &str) {
        self.put(name, Json::Text(value.to_owned()));
    }

    /// Adds a string where there is one.
    pub fn maybe_text(&mut self, name: &str, value: Option<&str>) {
        if let Some(value) = value {
            self.text(name, value);
        }
    }

    /// Adds a number.
    pub fn number(&mut self, name: &str, value: f64) {
        self.put(name, Json::Number(value));
    }

    /// Adds a list of strings.
    pub fn texts(&mut self, name: &str, values: &[String]) {
        let list = values.iter().cloned().map(Json::Text).collect();
        self.put(name, Json::List(list));
    }

    /// Adds fields that another version wrote and this one keeps.
    pub fn extend(&mut self, more: &[(String, Json)]) {
        self.0.extend(more.iter().cloned());
    }

    /// The object.
    #[must_use]
    pub fn object(self) -> Json {
        Json::Object(self.0)
    }
}

/// The value on one line without blanks: equal trees give equal bytes.
#[must_use]
pub fn compact(value: &Json) -> String {
    let mut out = String::new();
    put(value, None, &mut out);
    out
}

/// The value over several lines, two blanks a level, with a line end at the end. A list of plain values stays on one
/// line.
#[must_use]
pub fn pretty(value: &Json) -> String {
    let mut out = String::new();
    put(value, Some(0), &mut out);
    out.push('\n');
    out
}

fn put(value: &Json, level: Option<usize>, out: &mut String) {
    match value {
        Json::Null => out.push_str("null"),
        Json::Bool(value) => out.push_str(if *value { "true" } else { "false" }),
        Json::Number(value) => out.push_str(&number(*value)),
        Json::Text(text) => string(text, out),
        Json::List(list) => {
            let plain = |entry: &Json| !matches!(entry, Json::List(_) | Json::Object(_));
            let level = level.filter(|_| !list.iter().all(plain));
            around('[', ']', list.len(), level, out, |at, level, out| {
                put(&list[at], level, out);
            });
        }
        Json::Object(fields) => {
            around('{', '}', fields.len(), level, out, |at, inner, out| {
                let (name, value) = &fields[at];
                string(name, out);
                out.push(':');
                if level.is_some() {
                    out.push(' ');
                }
                put(value, inner, out);
            });
        }
    }
}

fn around(
    open: char,
    close: char,
    count: usize,
    level: Option<usize>,
    out: &mut String,
    mut each: impl FnMut(usize, Option<usize>, &mut String),
) {
    let line = |level: usize, out: &mut String| {
        out.push('\n');
        out.extend(std::iter::repeat_n("  ", level));
    };
    out.push(open);
    for at in 0..count {
        if at > 0 {
            out.push(',');
        }
        if let Some(level) = level {
            line(level + 1, out);
        }
        each(at, level.map(|level| level + 1), out);
    }
    if let Some(level) = level
        && count > 0
    {
        line(level, out);
    }
    out.push(close);
}

/// Digits without an exponent, the fewest that read back as the same number; what is not finite is 0, since JSON has no
/// word for it.
fn number(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        // Also negative zero, which nobody means.
        return "0".to_owned();
    }
    format!("{value}")
}

fn string(text: &str, out: &mut String) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            // The two line separators break script files that hold JSON, and `<` could close a script element.
            '<' | '\u{2028}' | '\u{2029}' | '\u{7f}' => {
                out.push_str(&format!("\\u{:04x}", u32::from(c)));
            }
            c if c < ' ' => out.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn layouts() {
        let value = Json::read(br#"{"a":[1,2.5],"b":{"c":[{"d":"<x>\n"}],"e":{}},"f":[]}"#)
            .expect("grammatical");
        assert_eq!(
            compact(&value),
            r#"{"a":[1,2.5],"b":{"c":[{"d":"\u003cx>\n"}],"e":{}},"f":[]}"#
        );
        let lines = "{\n  \"a\": [1,2.5],\n  \"b\": {\n    \"c\": [\n      {\n        \"d\": \"\\u003cx>\\n\"\n      }\n    ],\n    \"e\": {}\n  },\n  \"f\": []\n}\n";
        assert_eq!(pretty(&value), lines);
    }

    #[test]
    fn numbers_have_no_exponent_and_no_negative_zero() {
        for (value, text) in [
            (-0.0, "0"),
            (20.0, "20"),
            (-0.5, "-0.5"),
            (1e21, "1000000000000000000000"),
            (f64::NAN, "0"),
        ] {
            assert_eq!(number(value), text);
        }
    }

    fn any_json() -> impl Strategy<Value = Json> {
        let leaf = prop_oneof![
            Just(Json::Null),
            any::<bool>().prop_map(Json::Bool),
            (-1e12..1e12).prop_map(Json::Number),
            ".{0,12}".prop_map(Json::Text),
        ];
        leaf.prop_recursive(3, 24, 4, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..4).prop_map(Json::List),
                prop::collection::btree_map(".{0,5}", inner, 0..4)
                    .prop_map(|map| Json::Object(map.into_iter().collect())),
            ]
        })
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(value in any_json()) {
            for text in [compact(&value), pretty(&value)] {
                let back = Json::read(text.as_bytes());
                prop_assert_eq!(back.as_ref(), Ok(&value));
                let other: serde_json::Value = serde_json::from_str(&text).expect("JSON for another reader");
                prop_assert_eq!(Json::read(other.to_string().as_bytes()).is_ok(), true);
            }
        }
    }
}
