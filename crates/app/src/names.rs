//! What a structure and a part of it are called, by their identifiers.
//!
//! Lists, sets and worksheets also name what the body at hand lacks, or are read before there is a body. Then the names of
//! the language file serve, and without those the identifier in plain words, which is all that is known.

use anatomy::BodyFacts;
use picture::words::part_name;
use wording::Key;

use crate::texts::{Texts, capitalised};

/// The name of a structure: "Inferior vena cava".
pub(crate) fn structure(facts: Option<&BodyFacts>, id: &str, texts: &Texts) -> String {
    facts
        .and_then(|facts| facts.structures.get(facts.find(id)?.0))
        .map_or_else(
            || listed(Key::of("names.structures").named(id), id, texts),
            |found| found.label.clone(),
        )
}

/// The name of a part, which says of what it is: "Mid abdominal aorta", "Left kidney, upper pole".
pub(crate) fn part(facts: Option<&BodyFacts>, id: &str, segment: &str, texts: &Texts) -> String {
    let found = facts.and_then(|facts| facts.structures.get(facts.find(id)?.0));
    let short = match found {
        Some(found) => found.short_label.clone(),
        None => {
            let key = Key::of("names.short").named(id);
            texts.names.get(key).unwrap_or_default().to_owned()
        }
    };
    let own = found.and_then(|found| found.segments.iter().find(|own| own.id == segment));
    let label = own.map_or_else(
        || {
            listed(
                Key::of("names.parts").named(id).named(segment),
                segment,
                texts,
            )
        },
        |own| own.label.clone(),
    );
    let whole = structure(facts, id, texts);
    capitalised(&part_name(&whole, &short, &label, texts.cursor.segment))
}

/// A name of the language file, else the identifier in plain words.
fn listed(key: Key, id: &str, texts: &Texts) -> String {
    let name = texts.names.get(key).map(str::to_owned);
    name.unwrap_or_else(|| capitalised(&id.replace('_', " ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Without a body: (structure, part, in English, in Spanish).
    #[test]
    fn check_names_before_there_is_a_body() {
        let spanish = Texts::read(include_str!("../../../web/languages/es.txt"));
        for (id, segment, plain, named) in [
            (
                "aorta",
                "proximal",
                "Aorta, proximal",
                "Aorta abdominal proximal",
            ),
            (
                "left_kidney",
                "upper",
                "Left kidney, upper",
                "Riñón izquierdo, polo superior",
            ),
            (
                "liver",
                "left_lobe",
                "Liver, left lobe",
                "Hígado, lóbulo hepático izquierdo",
            ),
            (
                "third_kidney",
                "far_end",
                "Third kidney, far end",
                "Third kidney, far end",
            ),
        ] {
            assert_eq!(part(None, id, segment, &Texts::ENGLISH), plain);
            assert_eq!(part(None, id, segment, &spanish), named);
        }
        assert_eq!(
            structure(None, "left_kidney", &Texts::ENGLISH),
            "Left kidney"
        );
        assert_eq!(structure(None, "left_kidney", &spanish), "Riñón izquierdo");
    }
}
