//! Names of a body's parts in another language.

use wording::{Dictionary, Entry, Key};

use crate::body::BodyFacts;

impl BodyFacts {
    /// Takes the names that a language has for the body's parts; what it leaves out keeps its name.
    ///
    /// The keys are `names.bodies.<body>`, `names.structures.<structure>`, `names.short.<structure>`,
    /// `names.parts.<structure>.<segment>` and `names.windows.<window>`, with the identifiers of the body file.
    pub fn rename(&mut self, names: &Dictionary) {
        let root = Key::ROOT.named("names");
        let put = |key: Key, label: &mut String| {
            if let Some(found) = names.get(key) {
                found.clone_into(label);
            }
        };
        put(root.named("bodies").named(&self.id), &mut self.label);
        let [structures, shorts, parts, windows] =
            ["structures", "short", "parts", "windows"].map(|table| root.named(table));
        for structure in &mut self.structures {
            let id = structure.id.as_str();
            put(structures.named(id), &mut structure.label);
            put(shorts.named(id), &mut structure.short_label);
            let part = parts.named(id);
            for segment in &mut structure.segments {
                put(part.named(&segment.id), &mut segment.label);
            }
        }
        for window in &mut self.windows {
            put(windows.named(&window.id), &mut window.label);
        }
    }

    /// The keys of [`Self::rename`] with the names they replace, for tests of language files.
    #[must_use]
    pub fn names(&self) -> Vec<Entry> {
        let entry = |key: String, label: &str| Entry {
            key: format!("names.{key}"),
            // A list of names is short-lived only in a test, which is where it is used.
            words: label.to_owned().leak(),
        };
        let mut all = vec![entry(format!("bodies.{}", self.id), &self.label)];
        for structure in &self.structures {
            let id = structure.id.as_str();
            all.push(entry(format!("structures.{id}"), &structure.label));
            all.push(entry(format!("short.{id}"), &structure.short_label));
            all.extend(
                structure
                    .segments
                    .iter()
                    .map(|segment| entry(format!("parts.{id}.{}", segment.id), &segment.label)),
            );
        }
        all.extend(
            self.windows
                .iter()
                .map(|window| entry(format!("windows.{}", window.id), &window.label)),
        );
        all
    }
}
