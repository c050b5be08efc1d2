//! A small reader of JSON (RFC 8259) for the files that the page reads.
//!
//! `serde_json` reads the same texts, and the tests hold this reader against it; but the code that serde's derive makes
//! for the catalogue alone was a twelfth of the whole program that a learner downloads. Here one parser makes a tree,
//! and whoever wants a value asks the tree for it by name.

mod parse;

/// Why a text is not the expected JSON.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum JsonError {
    /// The text breaks the grammar.
    #[error("expected {expected} at byte {at}")]
    Syntax {
        /// What the grammar asks for.
        expected: &'static str,
        /// Where, counted from 0.
        at: usize,
    },
    /// A value is of another kind than the reader needs.
    #[error("expected {expected} in `{field}`")]
    Kind {
        /// What was needed.
        expected: &'static str,
        /// The field that holds the value.
        field: String,
    },
    /// A needed field is not there.
    #[error("missing field `{0}`")]
    Missing(&'static str),
    /// A field that means nothing here.
    #[error("unknown field `{0}`")]
    Unknown(String),
    /// A field that stands twice in one object.
    #[error("field `{0}` occurs twice")]
    Twice(String),
}

/// A JSON value.
#[derive(Debug, Clone, PartialEq)]
pub enum Json {
    /// `null`
    Null,
    /// `true` or `false`
    Bool(bool),
    /// A number; always finite.
    Number(f64),
    /// A string.
    Text(String),
    /// An array.
    List(Vec<Self>),
    /// An object, in the order of the text; no name stands twice.
    Object(Vec<(String, Self)>),
}

impl Json {
    /// Reads a whole text.
    ///
    /// # Errors
    /// [`JsonError::Syntax`] and [`JsonError::Twice`]; a number beyond the range of `f64` and a nesting of more than
    /// 64 levels count as syntax errors.
    ///
    /// ```
    /// use anatomy::json::Json;
    /// let value = Json::read(br#"{"depth_mm": 160}"#)?;
    /// assert_eq!(value.number("depth_mm")?, 160.0);
    /// # Ok::<(), anatomy::json::JsonError>(())
    /// ```
    pub fn read(text: &[u8]) -> Result<Self, JsonError> {
        parse::whole(text)
    }

    /// The value of field `name`; `None` where there is no such field, or no object, or `null`.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Self> {
        let Self::Object(fields) = self else {
            return None;
        };
        fields
            .iter()
            .find(|(field, _)| field == name)
            .map(|(_, value)| value)
            .filter(|value| **value != Self::Null)
    }

    /// The value of a field that has to be there.
    ///
    /// # Errors
    /// [`JsonError::Missing`].
    pub fn need(&self, name: &'static str) -> Result<&Self, JsonError> {
        self.get(name).ok_or(JsonError::Missing(name))
    }

    /// That this is an object without other fields than these.
    ///
    /// # Errors
    /// [`JsonError::Unknown`], [`JsonError::Kind`].
    pub fn only(&self, names: &[&str]) -> Result<(), JsonError> {
        let Self::Object(fields) = self else {
            return Err(kind(
                "an object",
                names.first().copied().unwrap_or_default(),
            ));
        };
        match fields.iter().find(|(name, _)| !names.contains(&&**name)) {
            Some((name, _)) => Err(JsonError::Unknown(name.clone())),
            None => Ok(()),
        }
    }

    /// A needed string.
    ///
    /// # Errors
    /// [`JsonError::Missing`], [`JsonError::Kind`].
    pub fn text(&self, name: &'static str) -> Result<&str, JsonError> {
        self.need(name)?.as_text(name)
    }

    /// A needed number.
    ///
    /// # Errors
    /// [`JsonError::Missing`], [`JsonError::Kind`].
    pub fn number(&self, name: &'static str) -> Result<f64, JsonError> {
        self.need(name)?.as_number(name)
    }

    /// A needed truth value.
    ///
    /// # Errors
    /// [`JsonError::Missing`], [`JsonError::Kind`].
    pub fn flag(&self, name: &'static str) -> Result<bool, JsonError> {
        match self.need(name)? {
            Self::Bool(value) => Ok(*value),
            _ => Err(kind("true or false", name)),
        }
    }

    /// A needed count: a whole number, not negative.
    ///
    /// # Errors
    /// [`JsonError::Missing`], [`JsonError::Kind`].
    pub fn count(&self, name: &'static str) -> Result<u32, JsonError> {
        whole_number(self.number(name)?).ok_or_else(|| kind("a whole number from 0 on", name))
    }

    /// A needed size or index: a whole number, not negative; one that no memory holds becomes the largest.
    ///
    /// # Errors
    /// [`JsonError::Missing`], [`JsonError::Kind`].
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "wholeness and sign are checked first, and the cast stops at the largest value"
    )]
    pub fn size(&self, name: &'static str) -> Result<usize, JsonError> {
        let value = self.number(name)?;
        if value >= 0.0 && value.fract() == 0.0 {
            Ok(value as usize)
        } else {
            Err(kind("a whole number from 0 on", name))
        }
    }

    /// Needed numbers, exactly `N` of them.
    ///
    /// # Errors
    /// [`JsonError::Missing`], [`JsonError::Kind`].
    pub fn numbers<const N: usize>(&self, name: &'static str) -> Result<[f64; N], JsonError> {
        self.need(name)?.as_numbers(name)
    }

    /// The entries of a list, each made by `make`; an absent list is empty.
    ///
    /// # Errors
    /// [`JsonError::Kind`], and what `make` returns.
    pub fn each<T>(
        &self,
        name: &'static str,
        make: impl FnMut(&Self) -> Result<T, JsonError>,
    ) -> Result<Vec<T>, JsonError> {
        match self.get(name) {
            None => Ok(Vec::new()),
            Some(list) => list.as_list(name)?.iter().map(make).collect(),
        }
    }

    /// The strings of a list; an absent list is empty.
    ///
    /// # Errors
    /// [`JsonError::Kind`].
    pub fn texts(&self, name: &'static str) -> Result<Vec<String>, JsonError> {
        self.each(name, |entry| entry.as_text(name).map(str::to_owned))
    }

    /// This value as a string; `name` is for the error.
    ///
    /// # Errors
    /// [`JsonError::Kind`].
    pub fn as_text(&self, name: &str) -> Result<&str, JsonError> {
        match self {
            Self::Text(text) => Ok(text),
            _ => Err(kind("a string", name)),
        }
    }

    /// This value as a number; `name` is for the error.
    ///
    /// # Errors
    /// [`JsonError::Kind`].
    pub fn as_number(&self, name: &str) -> Result<f64, JsonError> {
        match self {
            Self::Number(value) => Ok(*value),
            _ => Err(kind("a number", name)),
        }
    }

    /// This value as a list; `name` is for the error.
    ///
    /// # Errors
    /// [`JsonError::Kind`].
    pub fn as_list(&self, name: &str) -> Result<&[Self], JsonError> {
        match self {
            Self::List(list) => Ok(list),
            _ => Err(kind("a list", name)),
        }
    }

    /// This value as a list of exactly `N` numbers; `name` is for the error.
    ///
    /// # Errors
    /// [`JsonError::Kind`].
    pub fn as_numbers<const N: usize>(&self, name: &str) -> Result<[f64; N], JsonError> {
        let list = self.as_list(name)?;
        let mut numbers = [0.0; N];
        if list.len() != N {
            return Err(kind("a list of another length", name));
        }
        for (number, entry) in numbers.iter_mut().zip(list) {
            *number = entry.as_number(name)?;
        }
        Ok(numbers)
    }
}

/// A [`JsonError::Kind`].
#[must_use]
pub fn kind(expected: &'static str, field: &str) -> JsonError {
    JsonError::Kind {
        expected,
        field: field.to_owned(),
    }
}

/// `value` as a count, if it is one.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "range and wholeness are checked first"
)]
pub fn whole_number(value: f64) -> Option<u32> {
    let fits = value >= 0.0 && value <= f64::from(u32::MAX) && value.fract() == 0.0;
    fits.then_some(value as u32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_asked_for_by_name() {
        let value = Json::read(br#"{"a": [1, 2.5e1, -3], "b": "x", "c": null, "d": true, "n": 7}"#)
            .expect("grammatical");
        assert_eq!(value.numbers("a"), Ok([1.0, 25.0, -3.0]));
        assert_eq!(value.text("b"), Ok("x"));
        assert_eq!(value.get("c"), None, "null is as good as nothing");
        assert_eq!(value.flag("d"), Ok(true));
        assert_eq!(value.count("n"), Ok(7));
        assert_eq!(value.texts("none"), Ok(Vec::new()));
        assert_eq!(value.text("e"), Err(JsonError::Missing("e")));
        assert_eq!(value.count("b"), Err(kind("a number", "b")));
        assert_eq!(
            value.only(&["a", "b", "c", "d"]),
            Err(JsonError::Unknown("n".to_owned()))
        );
        assert!(value.numbers::<2>("a").is_err(), "one number too many");
    }

    #[test]
    fn counts_are_whole() {
        for (value, count) in [
            (0.0, Some(0)),
            (4_294_967_295.0, Some(u32::MAX)),
            (4_294_967_296.0, None),
            (1.5, None),
            (-1.0, None),
        ] {
            assert_eq!(whole_number(value), count, "{value}");
        }
    }
}
