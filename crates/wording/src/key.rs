//! Names of words as numbers, so that the program need not hold the names.

/// The name of a word: the names of its table and its field, joined, as a hash of 32 bits.
///
/// A test of the application sees that no two names share a hash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key(u32);

impl Key {
    /// Before the first part.
    pub const ROOT: Self = Self(0x811c_9dc5);

    /// The name with one more part, given by its [`hash`].
    #[must_use]
    pub const fn then(self, part: u32) -> Self {
        Self(
            self.0
                .rotate_left(5)
                .wrapping_add(part)
                .wrapping_mul(0x9e37_79b1),
        )
    }

    /// The name with one more part.
    #[must_use]
    pub const fn named(self, part: &str) -> Self {
        self.then(hash(part))
    }

    /// The name that is written with dots: `panels.title`.
    #[must_use]
    pub fn of(dotted: &str) -> Self {
        dotted.split('.').fold(Self::ROOT, Self::named)
    }
}

/// FNV-1a of a part of a name, in 32 bits (the published constants of that hash).
#[must_use]
pub const fn hash(part: &str) -> u32 {
    let bytes = part.as_bytes();
    let mut sum = 0x811c_9dc5_u32;
    let mut at = 0;
    while at < bytes.len() {
        sum = (sum ^ bytes[at] as u32).wrapping_mul(0x0100_0193);
        at += 1;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_the_published_one() {
        // Test vectors published with the hash (draft-eastlake-fnv, 32-bit FNV-1a of "", "a", "foobar").
        for (text, sum) in [
            ("", 0x811c_9dc5),
            ("a", 0xe40c_292c),
            ("foobar", 0xbf9c_f968),
        ] {
            assert_eq!(hash(text), sum, "{text:?}");
        }
    }

    #[test]
    fn names_with_equal_letters_differ() {
        assert_eq!(
            Key::of("a.b"),
            Key::ROOT.named("a").named("b"),
            "dots part the names"
        );
        for [one, other] in [
            ["a.b", "b.a"],
            ["ab", "a.b"],
            ["a.b.c", "a.bc"],
            ["a", "a.a"],
        ] {
            assert_ne!(Key::of(one), Key::of(other), "{one} and {other}");
        }
    }
}
