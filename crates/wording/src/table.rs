//! Tables of words and the macro that declares them.

use crate::dictionary::Dictionary;
use crate::key::{Key, hash};

/// A word, a list of words or a table of them.
pub trait Words {
    /// Gives every word's key and place to `slot`; `at` is the key of the whole.
    fn each(&mut self, at: Key, slot: &mut dyn FnMut(Key, &mut &'static str));

    /// Adds every word with its dotted key; `at` is the key of the whole, empty or ending in a dot.
    fn list(&self, at: &str, into: &mut Vec<Entry>);
}

/// A word with its key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// `panels.title`.
    pub key: String,
    /// Its words.
    pub words: &'static str,
}

impl Words for &'static str {
    fn each(&mut self, at: Key, slot: &mut dyn FnMut(Key, &mut &'static str)) {
        slot(at, self);
    }

    fn list(&self, at: &str, into: &mut Vec<Entry>) {
        into.push(Entry {
            key: at.trim_end_matches('.').to_owned(),
            words: self,
        });
    }
}

/// The parts of a list are called 1, 2, 3 …
impl<T: Words, const N: usize> Words for [T; N] {
    fn each(&mut self, at: Key, slot: &mut dyn FnMut(Key, &mut &'static str)) {
        for (number, part) in (1_u32..).zip(self) {
            part.each(at.then(hash(&number.to_string())), slot);
        }
    }

    fn list(&self, at: &str, into: &mut Vec<Entry>) {
        for (number, part) in (1_u32..).zip(self) {
            part.list(&format!("{at}{number}."), into);
        }
    }
}

/// Every word of a table with its dotted key, in the order of the fields.
#[must_use]
pub fn entries(words: &dyn Words) -> Vec<Entry> {
    let mut all = Vec::new();
    words.list("", &mut all);
    all
}

/// Puts the words of a language file into a table; what the file leaves out stays as it is.
pub fn fill(words: &mut dyn Words, from: &Dictionary) {
    words.each(Key::ROOT, &mut |key, word| {
        if let Some(found) = from.get(key) {
            *word = found;
        }
    });
}

/// Declares a table of words: each field's name with its English words.
///
/// ```
/// wording::wording! {
///     /// Words of the kitchen.
///     pub struct KitchenTexts {
///         /// On the lid.
///         pot: "Pot",
///         spoons: "{} spoon|{} spoons",
///         sizes: ["small", "large"],
///     }
/// }
/// assert_eq!(KitchenTexts::ENGLISH.pot, "Pot");
/// ```
///
/// The fields are public `&'static str`, or arrays of them. `ENGLISH` is the English table. A field's value may also be
/// another table: `shelf: ShelfTexts = ShelfTexts::ENGLISH`.
#[macro_export]
macro_rules! wording {
    ($(
        $(#[$about:meta])*
        pub struct $name:ident {
            $($(#[$note:meta])* $field:ident: $value:tt $(= $english:expr)?),* $(,)?
        }
    )*) => {$(
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[allow(
            missing_docs,
            clippy::allow_attributes,
            reason = "a field without a comment is the words for what it is named after"
        )]
        pub struct $name {
            $($(#[$note])* pub $field: $crate::wording_kind!($value $($english)?),)*
        }

        impl $name {
            /// English.
            pub const ENGLISH: Self = Self {
                $($field: $crate::wording_english!($value $($english)?),)*
            };
        }

        impl $crate::Words for $name {
            fn each(
                &mut self,
                at: $crate::Key,
                slot: &mut dyn FnMut($crate::Key, &mut &'static str),
            ) {
                $($crate::Words::each(
                    &mut self.$field,
                    at.then(const { $crate::hash(stringify!($field)) }),
                    slot,
                );)*
            }

            fn list(&self, at: &str, into: &mut Vec<$crate::Entry>) {
                $($crate::Words::list(
                    &self.$field,
                    &format!("{at}{}.", stringify!($field)),
                    into,
                );)*
            }
        }
    )*};
}

/// The type of a field of [`wording!`].
#[doc(hidden)]
#[macro_export]
macro_rules! wording_kind {
    ($english:literal) => { &'static str };
    ([$($english:literal),+ $(,)?]) => { [&'static str; [$($english),+].len()] };
    ($table:tt $english:expr) => { $table };
}

/// The English words of a field of [`wording!`].
#[doc(hidden)]
#[macro_export]
macro_rules! wording_english {
    ($english:literal) => { $english };
    ([$($english:literal),+ $(,)?]) => { [$($english),+] };
    ($table:tt $english:expr) => { $english };
}

#[cfg(test)]
mod tests {
    #![expect(unreachable_pub, reason = "the macro declares public tables")]

    use super::*;

    wording! {
        /// A shelf.
        pub struct Shelf {
            pot: "Pot",
        }
        /// Words of a kitchen.
        pub struct Kitchen {
            /// Of the room.
            title: "Kitchen",
            sizes: ["small", "large"],
            shelf: Shelf = Shelf::ENGLISH,
            again: [Shelf; 2] = [Shelf::ENGLISH, Shelf { pot: "Pan" }],
            last: "end"
        }
    }

    #[test]
    fn keys_are_fields_in_their_order() {
        let told: Vec<(String, &str)> = entries(&Kitchen::ENGLISH)
            .into_iter()
            .map(|entry| (entry.key, entry.words))
            .collect();
        let wanted = [
            ("title", "Kitchen"),
            ("sizes.1", "small"),
            ("sizes.2", "large"),
            ("shelf.pot", "Pot"),
            ("again.1.pot", "Pot"),
            ("again.2.pot", "Pan"),
            ("last", "end"),
        ];
        assert_eq!(told, wanted.map(|(key, words)| (key.to_owned(), words)));
    }

    #[test]
    fn a_file_fills_what_it_holds() {
        let mut words = Kitchen::ENGLISH;
        fill(
            &mut words,
            &Dictionary::read("title = Küche\n[sizes]\n2 = groß\n[again.2]\npot = Pfanne\n"),
        );
        let wanted = Kitchen {
            title: "Küche",
            sizes: ["small", "groß"],
            again: [Shelf::ENGLISH, Shelf { pot: "Pfanne" }],
            ..Kitchen::ENGLISH
        };
        assert_eq!(words, wanted, "the rest stays English");
    }
}
