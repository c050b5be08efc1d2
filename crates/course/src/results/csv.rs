//! Tables for spreadsheets (RFC 4180): UTF-8 with a byte order mark, lines that end with CR LF, quotes where needed, and
//! a guard against cells that a spreadsheet would take for a formula.

use super::ResultFile;

/// What stands between cells. Decimal numbers have a point in both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Separator {
    /// As the standard has it.
    #[default]
    Comma,
    /// As spreadsheets of many languages expect it.
    Semicolon,
}

/// A table from its rows.
#[must_use]
pub fn table(rows: &[Vec<String>], separator: Separator) -> String {
    let between = match separator {
        Separator::Comma => ',',
        Separator::Semicolon => ';',
    };
    let mut out = String::from('\u{feff}');
    for row in rows {
        for (at, text) in row.iter().enumerate() {
            if at > 0 {
                out.push(between);
            }
            cell(text, between, &mut out);
        }
        out.push_str("\r\n");
    }
    out
}

fn cell(text: &str, between: char, out: &mut String) {
    let guarded = if is_formula(text) {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    let quoted = guarded.contains(['"', '\r', '\n', ',', ';', '\t', between]);
    if quoted {
        out.push('"');
        out.push_str(&guarded.replace('"', "\"\""));
        out.push('"');
    } else {
        out.push_str(&guarded);
    }
}

/// Whether a spreadsheet might run the cell: it begins with `=`, `+`, `-`, `@`, a tab or a line end, and is no plain
/// number. Blanks in front do not make it harmless.
fn is_formula(text: &str) -> bool {
    let shown = text.trim_start_matches(' ');
    let starts = shown.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
    starts && !is_number(text)
}

/// Sign, digits, and perhaps a point and more digits.
fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let plain = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    plain(whole) && plain(part)
}

/// The head of the table of [`of_files`].
pub const HEAD: [&str; 29] = [
    "file",
    "title",
    "set",
    "label",
    "seed",
    "attempt",
    "started",
    "ended",
    "item",
    "kind",
    "skill",
    "outcome",
    "score",
    "first_score",
    "points",
    "tries",
    "hints",
    "seconds",
    "answer",
    "correct",
    "misconception",
    "plane_error_deg",
    "reversed",
    "other_side",
    "rotation_error_deg",
    "tilt_error_deg",
    "rock_error_deg",
    "toward_left_mm",
    "toward_head_mm",
];

/// One row for each item of each file.
#[must_use]
pub fn of_files(files: &[(&str, &ResultFile)], separator: Separator) -> String {
    let mut rows = vec![HEAD.map(str::to_owned).to_vec()];
    for (name, file) in files {
        for item in &file.items {
            let mut row = vec![
                (*name).to_owned(),
                file.title.clone(),
                file.set.clone(),
                file.label.clone().unwrap_or_default(),
                file.seed.to_string(),
                file.attempt.to_string(),
                file.started.iso(),
                file.ended
                    .map_or_else(String::new, crate::moment::Moment::iso),
                item.id.clone(),
                item.kind.clone(),
                item.skill.clone(),
                item.outcome.word().to_owned(),
                number(item.score),
                number(item.first_score),
                item.points.to_string(),
                item.answers.len().to_string(),
                item.hints.to_string(),
                number(f64::from(item.latency_ms) / 1000.0),
                item.answers.last().cloned().unwrap_or_default(),
                item.correct.clone(),
                item.misconception.clone().unwrap_or_default(),
            ];
            if let Some(pose) = &item.pose {
                row.extend([
                    number(pose.plane_deg),
                    yes(pose.reversed),
                    yes(pose.other_side),
                    number(pose.rotation_deg),
                    number(pose.tilt_deg),
                    number(pose.rock_deg),
                    number(pose.toward_left_mm),
                    number(pose.toward_head_mm),
                ]);
            }
            row.resize(HEAD.len(), String::new());
            rows.push(row);
        }
    }
    table(&rows, separator)
}

fn yes(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

/// A number with at most four decimals.
#[must_use]
pub fn number(value: f64) -> String {
    let text = format!("{:.4}", value);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_guarded_and_numbers_are_not() {
        for (text, wanted) in [
            ("=1+1", "'=1+1"),
            ("=HYPERLINK(\"x\")", "\"'=HYPERLINK(\"\"x\"\")\""),
            ("+cmd", "'+cmd"),
            ("-cmd", "'-cmd"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "\"'\t=1\""),
            (" =1", "' =1"),
            ("＝1", "'＝1"),
            ("-12.5", "-12.5"),
            ("-12.", "'-12."),
            ("-1e5", "'-1e5"),
            ("+3", "+3"),
            ("-", "'-"),
            ("plain", "plain"),
            ("a,b", "\"a,b\""),
            ("a;b", "\"a;b\""),
            ("two\r\nlines", "\"two\r\nlines\""),
            ("say \"x\"", "\"say \"\"x\"\"\""),
            ("", ""),
        ] {
            let mut out = String::new();
            cell(text, ',', &mut out);
            assert_eq!(out, wanted, "{text:?}");
        }
    }

    #[test]
    fn the_file_has_its_mark_and_its_line_ends() {
        let rows = vec![
            vec!["a".to_owned(), "ü".to_owned()],
            vec!["1".to_owned(), "-2.5".to_owned()],
        ];
        assert_eq!(table(&rows, Separator::Comma), "\u{feff}a,ü\r\n1,-2.5\r\n");
        assert_eq!(
            table(&rows, Separator::Semicolon),
            "\u{feff}a;ü\r\n1;-2.5\r\n"
        );
    }

    #[test]
    fn numbers_are_short() {
        for (value, text) in [
            (0.5, "0.5"),
            (-0.000_01, "0"),
            (12.0, "12"),
            (1.0 / 3.0, "0.3333"),
            (100.0, "100"),
        ] {
            assert_eq!(number(value), text);
        }
    }
}
