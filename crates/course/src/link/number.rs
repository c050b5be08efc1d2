//! Numbers with at most three decimals and no negative zero, the only ones a link holds.
//!
//! A thousandth of a millimetre or degree is far below what a picture or a sentence shows, so a copied link says the
//! same as the page it was copied from; a tenth was seen to move a structure out of the sentence.

/// Thousandths nearest to `value`, or `None` when it is not finite or too large to be meant.
pub(super) fn thousandths(value: f64) -> Option<i64> {
    let scaled = (value * 1000.0).round();
    // One million units is beyond every range of a link; below it the cast is exact.
    if scaled.is_finite() && scaled.abs() < 1e9 {
        Some(exact_integer(scaled))
    } else {
        None
    }
}

/// The nearest multiple of 0.001 as a plain number.
pub(super) fn from_thousandths(thousandths: i64) -> f64 {
    exact_float(thousandths) / 1000.0
}

/// Decimal text: `-3.5`, `12`, `0`.
pub(super) fn text(thousandths: i64) -> String {
    let sign = if thousandths < 0 { "-" } else { "" };
    let (whole, part) = (thousandths.abs() / 1000, thousandths.abs() % 1000);
    if part == 0 {
        format!("{sign}{whole}")
    } else {
        let digits = format!("{part:03}");
        format!("{sign}{whole}.{}", digits.trim_end_matches('0'))
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "the caller has bounded it below 1e9 and rounded it"
)]
fn exact_integer(value: f64) -> i64 {
    value as i64
}

#[expect(
    clippy::cast_precision_loss,
    reason = "thousandths stay below 1e9, exact in f64"
)]
fn exact_float(value: i64) -> f64 {
    value as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_have_no_negative_zero() {
        for (value, wanted) in [
            (0.0, "0"),
            (-0.0004, "0"),
            (-0.0006, "-0.001"),
            (12.0, "12"),
            (-116.25, "-116.25"),
            (7.03, "7.03"),
            (359.9996, "360"),
        ] {
            assert_eq!(
                thousandths(value).map(text).as_deref(),
                Some(wanted),
                "{value}"
            );
        }
        for value in [f64::NAN, f64::INFINITY, 1e9] {
            assert_eq!(thousandths(value), None, "{value}");
        }
    }
}
