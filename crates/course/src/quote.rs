//! What somebody else wrote, as a message of ours may quote it.

/// The longest that a message says of one thing in a file, characters.
const QUOTED: usize = 200;

/// What a file says, as a message may say it again.
pub(crate) fn one_line(said: &impl ToString) -> String {
    shortened(&said.to_string(), QUOTED)
}

/// At most `most` characters of `text`, with a sign for what was left out. Control characters, and marks that turn the
/// direction of the words behind them, become replacement characters: a message is one line that reads as it was written.
pub(crate) fn shortened(text: &str, most: usize) -> String {
    let mut letters = text.chars();
    let plain = |letter: char| {
        if letter.is_control() || turns(letter) {
            char::REPLACEMENT_CHARACTER
        } else {
            letter
        }
    };
    let mut short: String = letters.by_ref().take(most).map(plain).collect();
    if letters.next().is_some() {
        short.push('…');
    }
    short
}

/// Directional formatting characters (Unicode Standard Annex 9, section 2), and the two separators that end a line.
fn turns(letter: char) -> bool {
    matches!(
        letter,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotations_are_one_short_line() {
        for (text, quoted) in [
            ("plain", "plain"),
            ("Maße 7", "Maße 7"),
            ("sixteen letters.", "sixteen letters."),
            ("seventeen letters", "seventeen letter…"),
            ("a\u{0}b\nc", "a\u{fffd}b\u{fffd}c"),
            ("a\u{202e}b\u{2028}", "a\u{fffd}b\u{fffd}"),
            ("", ""),
        ] {
            assert_eq!(shortened(text, 16), quoted, "{text:?}");
        }
    }
}
