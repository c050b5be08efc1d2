//! Reading one TOML table key by key, so that every error names file, structure and key.

use crate::error::ModelError;
use crate::triple::Triple;
use toml::{Table, Value};

/// Where a table stands: for error messages only.
#[derive(Debug, Clone)]
pub(crate) struct Site {
    pub(crate) file: String,
    pub(crate) structure: String,
}

impl Site {
    pub(crate) fn wrong(&self, key: &str, expected: &'static str) -> ModelError {
        ModelError::WrongValue {
            file: self.file.clone(),
            structure: self.structure.clone(),
            key: key.to_owned(),
            expected,
        }
    }
}

/// A table whose keys are taken out one by one; what is left at the end is an error.
#[derive(Debug)]
pub(crate) struct Keys<'a> {
    pub(crate) site: &'a Site,
    path: String,
    table: Table,
}

impl<'a> Keys<'a> {
    pub(crate) fn new(site: &'a Site, path: impl Into<String>, table: Table) -> Self {
        Self {
            site,
            path: path.into(),
            table,
        }
    }

    /// From a value that must be a table.
    pub(crate) fn of_value(
        site: &'a Site,
        path: impl Into<String>,
        value: Value,
    ) -> Result<Self, ModelError> {
        let path = path.into();
        match value {
            Value::Table(table) => Ok(Self::new(site, path, table)),
            _ => Err(site.wrong(&path, "a table")),
        }
    }

    pub(crate) fn key(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    pub(crate) fn missing(&self, key: &str) -> ModelError {
        ModelError::MissingKey {
            file: self.site.file.clone(),
            structure: self.site.structure.clone(),
            key: self.key(key),
        }
    }

    pub(crate) fn wrong(&self, key: &str, expected: &'static str) -> ModelError {
        self.site.wrong(&self.key(key), expected)
    }

    pub(crate) fn take(&mut self, key: &str) -> Option<Value> {
        self.table.remove(key)
    }

    pub(crate) fn text(&mut self, key: &str) -> Result<Option<String>, ModelError> {
        match self.take(key) {
            None => Ok(None),
            Some(Value::String(s)) => Ok(Some(s)),
            Some(_) => Err(self.wrong(key, "a text")),
        }
    }

    pub(crate) fn need_text(&mut self, key: &str) -> Result<String, ModelError> {
        self.text(key)?.ok_or_else(|| self.missing(key))
    }

    pub(crate) fn number(&mut self, key: &str) -> Result<Option<f64>, ModelError> {
        let Some(value) = self.take(key) else {
            return Ok(None);
        };
        number(&value)
            .map(Some)
            .ok_or_else(|| self.wrong(key, "a finite number"))
    }

    pub(crate) fn need_number(&mut self, key: &str) -> Result<f64, ModelError> {
        self.number(key)?.ok_or_else(|| self.missing(key))
    }

    pub(crate) fn flag(&mut self, key: &str) -> Result<bool, ModelError> {
        match self.take(key) {
            None => Ok(false),
            Some(Value::Boolean(b)) => Ok(b),
            Some(_) => Err(self.wrong(key, "true or false")),
        }
    }

    pub(crate) fn numbers(&mut self, key: &str) -> Result<Option<Vec<f64>>, ModelError> {
        let Some(value) = self.take(key) else {
            return Ok(None);
        };
        numbers(&value)
            .map(Some)
            .ok_or_else(|| self.wrong(key, "a list of finite numbers"))
    }

    pub(crate) fn triple(&mut self, key: &str) -> Result<Option<Triple>, ModelError> {
        let Some(list) = self.numbers(key)? else {
            return Ok(None);
        };
        Triple::try_from(list)
            .map(Some)
            .map_err(|_list| self.wrong(key, "three numbers"))
    }

    pub(crate) fn need_triple(&mut self, key: &str) -> Result<Triple, ModelError> {
        self.triple(key)?.ok_or_else(|| self.missing(key))
    }

    pub(crate) fn table(&mut self, key: &str) -> Result<Option<Self>, ModelError> {
        let Some(value) = self.take(key) else {
            return Ok(None);
        };
        Keys::of_value(self.site, self.key(key), value).map(Some)
    }

    pub(crate) fn list(&mut self, key: &str) -> Result<Vec<Value>, ModelError> {
        match self.take(key) {
            None => Ok(Vec::new()),
            Some(Value::Array(list)) => Ok(list),
            Some(_) => Err(self.wrong(key, "a list")),
        }
    }

    pub(crate) fn texts(&mut self, key: &str) -> Result<Vec<String>, ModelError> {
        let list = self.list(key)?;
        list.into_iter()
            .map(|v| match v {
                Value::String(s) => Ok(s),
                _ => Err(self.wrong(key, "a list of texts")),
            })
            .collect()
    }

    pub(crate) fn rows(&mut self, key: &str) -> Result<Option<Vec<Vec<f64>>>, ModelError> {
        let Some(value) = self.take(key) else {
            return Ok(None);
        };
        let Value::Array(list) = value else {
            return Err(self.wrong(key, "a list of rows"));
        };
        list.iter()
            .map(|row| numbers(row).ok_or_else(|| self.wrong(key, "rows of finite numbers")))
            .collect::<Result<Vec<_>, _>>()
            .map(Some)
    }

    /// The names still there, in file order of the parser (sorted).
    pub(crate) fn names(&self) -> Vec<String> {
        self.table.keys().cloned().collect()
    }

    /// Fails on the first key nobody asked for: a misspelt key must not be silently ignored.
    pub(crate) fn finish(self) -> Result<(), ModelError> {
        match self.table.keys().next() {
            None => Ok(()),
            Some(key) => Err(ModelError::UnknownKey {
                file: self.site.file.clone(),
                structure: self.site.structure.clone(),
                key: self.key(key),
            }),
        }
    }
}

/// A finite number from an integer or float value.
pub(crate) fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Float(x) if x.is_finite() => Some(*x),
        Value::Integer(i) => i32::try_from(*i).ok().map(f64::from),
        _ => None,
    }
}

/// A list of finite numbers.
pub(crate) fn numbers(value: &Value) -> Option<Vec<f64>> {
    value.as_array()?.iter().map(number).collect()
}
