//! Numbers with one decimal and no negative zero, the only ones a link holds.

/// Tenths nearest to `value`, or `None` when it is not finite or too large to be meant.
pub(super) fn tenths(value: f64) -> Option<i64> {
    let scaled = (value * 10.0).round();
    // One million units is beyond every range of a link; below it the cast is exact.
    if scaled.is_finite() && scaled.abs() < 1e7 {
        Some(exact_integer(scaled))
    } else {
        None
    }
}

/// The nearest multiple of 0.1 as a plain number.
pub(super) fn from_tenths(tenths: i64) -> f64 {
    exact_float(tenths) / 10.0
}

/// Decimal text: `-3.5`, `12`, `0`.
pub(super) fn text(tenths: i64) -> String {
    let sign = if tenths < 0 { "-" } else { "" };
    let (whole, part) = (tenths.abs() / 10, tenths.abs() % 10);
    if part == 0 {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{part}")
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "the caller has bounded it below 1e7 and rounded it"
)]
fn exact_integer(value: f64) -> i64 {
    value as i64
}

#[expect(
    clippy::cast_precision_loss,
    reason = "tenths stay below 1e7, exact in f64"
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
            (-0.04, "0"),
            (-0.06, "-0.1"),
            (12.0, "12"),
            (-116.25, "-116.3"),
            (359.96, "360"),
        ] {
            assert_eq!(tenths(value).map(text).as_deref(), Some(wanted), "{value}");
        }
        for value in [f64::NAN, f64::INFINITY, 1e9] {
            assert_eq!(tenths(value), None, "{value}");
        }
    }
}
