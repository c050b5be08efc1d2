//! Several files as one ZIP archive (PKWARE APPNOTE 6.3): entries stored as they are, names in UTF-8.
//!
//! Written here and not by the `zip` library because the page links it: that library adds 95 kB to the download, and what
//! is needed takes a page of code. The entries are pictures, which are compressed already or small. Equal entries give equal
//! bytes; Python's `zipfile` reads the result in the tests.

use crate::moment::Moment;

/// Version of the format needed to read a stored entry: 2.0.
const VERSION: u16 = 20;
/// General purpose flag, bit 11: the name is UTF-8.
const UTF8_NAMES: u16 = 1 << 11;

/// A ZIP file of `entries` (name, content), all dated `at`, in their order. At most 65 535 entries and 4 GB, the limits of
/// the plain format; what lies beyond is left out.
#[must_use]
pub fn zip(entries: &[(String, Vec<u8>)], at: Moment) -> Vec<u8> {
    let mut out: Vec<u8> = Vec::new();
    let mut directory: Vec<u8> = Vec::new();
    let mut count: u16 = 0;
    let (time, date) = dos(at);
    for (name, content) in entries {
        let (Ok(size), Ok(start), Ok(length), Some(next)) = (
            u32::try_from(content.len()),
            u32::try_from(out.len()),
            u16::try_from(name.len()),
            count.checked_add(1),
        ) else {
            break;
        };
        let mut fields: Vec<u8> = Vec::new();
        for word in [VERSION, UTF8_NAMES, 0, time, date] {
            fields.extend(word.to_le_bytes());
        }
        for word in [crc32(content), size, size] {
            fields.extend(word.to_le_bytes());
        }
        fields.extend(length.to_le_bytes());
        // No extra field.
        fields.extend([0; 2]);

        out.extend(b"PK\x03\x04");
        out.extend(&fields);
        out.extend(name.as_bytes());
        out.extend(content);

        directory.extend(b"PK\x01\x02");
        directory.extend(VERSION.to_le_bytes());
        directory.extend(&fields);
        // No comment, first disk, no attributes.
        directory.extend([0; 10]);
        directory.extend(start.to_le_bytes());
        directory.extend(name.as_bytes());
        count = next;
    }
    let (at, size) = (out.len(), directory.len());
    out.extend(directory);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend(count.to_le_bytes());
    out.extend(count.to_le_bytes());
    for length in [size, at] {
        out.extend(u32::try_from(length).unwrap_or(u32::MAX).to_le_bytes());
    }
    out.extend([0; 2]);
    out
}

/// Time and date as MS-DOS had them, which is what the format holds: from 1980, in steps of two seconds.
fn dos(at: Moment) -> (u16, u16) {
    let local = at.local();
    let year = local.year.clamp(1980, 2107) - 1980;
    let time = (local.hour << 11) | (local.minute << 5) | (local.second / 2);
    let date = (year << 9) | (local.month << 5) | local.day;
    let word = |bits: i64| u16::try_from(bits).unwrap_or(0);
    (word(time), word(date))
}

/// CRC-32 as ZIP and PNG have it (ISO 3309, polynomial 0xEDB88320 bit by bit: a few megabytes at most).
#[must_use]
pub fn crc32(bytes: &[u8]) -> u32 {
    let mut crc = u32::MAX;
    for byte in bytes {
        crc ^= u32::from(*byte);
        for _ in 0..8 {
            let low = crc & 1;
            crc >>= 1;
            if low == 1 {
                crc ^= 0xEDB8_8320;
            }
        }
    }
    !crc
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_value_of_crc_32() {
        // The catalogue of parametrised CRC algorithms gives this for "123456789".
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
        assert_eq!(crc32(b""), 0);
    }

    #[test]
    fn an_archive_has_its_parts_where_the_end_record_says() {
        let entries = [
            ("a.txt".to_owned(), b"one".to_vec()),
            ("b/ü.txt".to_owned(), Vec::new()),
        ];
        let bytes = zip(&entries, Moment::default());
        let end = bytes.len() - 22;
        let word = |at: usize| {
            let four: [u8; 4] = bytes[at..at + 4].try_into().expect("four bytes");
            usize::try_from(u32::from_le_bytes(four)).expect("small")
        };
        assert_eq!(&bytes[end..end + 4], b"PK\x05\x06");
        assert_eq!(
            word(end + 12) + word(end + 16),
            end,
            "directory before the end"
        );
        let directory = word(end + 16);
        assert_eq!(&bytes[directory..directory + 4], b"PK\x01\x02");
        assert_eq!(&bytes[..4], b"PK\x03\x04");
        assert_eq!(zip(&entries, Moment::default()), bytes, "equal bytes");
    }
}
