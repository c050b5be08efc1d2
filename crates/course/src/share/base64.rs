//! base64url without padding (RFC 4648, section 5): the letters that addresses leave alone.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

pub(super) fn encode(bytes: &[u8]) -> String {
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let part = |at: usize| u32::from(chunk.get(at).copied().unwrap_or(0));
        let bits = (part(0) << 16) | (part(1) << 8) | part(2);
        for place in 0..=chunk.len() {
            let six = (bits >> (18 - 6 * place)) & 63;
            text.push(char::from(LETTERS[six as usize]));
        }
    }
    text
}

/// The bytes; or the first character that does not belong there. Padding at the end is passed over, and so are bits that
/// fill no byte.
pub(super) fn decode(text: &str) -> Result<Vec<u8>, char> {
    let mut bytes = Vec::new();
    let (mut bits, mut held): (u32, u32) = (0, 0);
    for c in text.trim_end_matches('=').chars() {
        let value = match c {
            'A'..='Z' => u32::from(c) - u32::from('A'),
            'a'..='z' => u32::from(c) - u32::from('a') + 26,
            '0'..='9' => u32::from(c) - u32::from('0') + 52,
            '-' => 62,
            '_' => 63,
            other => return Err(other),
        };
        bits = (bits << 6) | value;
        held += 6;
        if held >= 8 {
            held -= 8;
            let [.., low] = (bits >> held).to_be_bytes();
            bytes.push(low);
        }
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_published_vectors() {
        // RFC 4648, section 10, without padding.
        for (plain, code) in [
            ("", ""),
            ("f", "Zg"),
            ("fo", "Zm8"),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg"),
            ("fooba", "Zm9vYmE"),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(encode(plain.as_bytes()), code);
            assert_eq!(decode(code).as_deref(), Ok(plain.as_bytes()));
        }
        assert_eq!(encode(&[0xFB, 0xFF]), "-_8");
        assert_eq!(decode("Zg=="), Ok(b"f".to_vec()));
        assert_eq!(decode("a b"), Err(' '));
        assert_eq!(decode("ä"), Err('ä'));
    }

    proptest! {
        #[test]
        fn any_bytes_come_back(bytes in prop::collection::vec(any::<u8>(), 0..40)) {
            prop_assert_eq!(decode(&encode(&bytes)), Ok(bytes));
        }

        #[test]
        fn any_text_is_survived(text in ".{0,40}") {
            let _ = decode(&text);
        }
    }
}
