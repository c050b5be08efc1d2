//! Between schematic and grey-scale: one picture faded into the other.

/// Fades `over` into `under` (both RGBA of one size, not premultiplied): `share` 0 shows `under`, 1 shows `over`.
///
/// A share that is no number counts as 0; where one picture is shorter than the other, the end stays `under`.
pub fn blend_pictures(under: &[u8], over: &[u8], share: f64, out: &mut Vec<u8>) {
    out.clear();
    out.extend_from_slice(under);
    let share = if share > 0.0 { share.min(1.0) } else { 0.0 };
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 0 and 256"
    )]
    let weight = (share * 256.0 + 0.5) as u16;
    for (a, b) in out.iter_mut().zip(over) {
        let sum = u16::from(*a) * (256 - weight) + u16::from(*b) * weight;
        let [_, high] = sum.to_le_bytes();
        *a = high;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_the_pictures_and_the_middle_is_between() {
        let (a, b) = (vec![0, 100, 255, 255], vec![255, 200, 0, 255]);
        let mut out = Vec::new();
        for (share, want) in [
            (0.0, a.clone()),
            (1.0, b.clone()),
            (-3.0, a.clone()),
            (f64::NAN, a.clone()),
            (7.0, b.clone()),
            (0.5, vec![127, 150, 127, 255]),
        ] {
            blend_pictures(&a, &b, share, &mut out);
            assert_eq!(out, want, "share {share}");
        }
        blend_pictures(&a, &[], 1.0, &mut out);
        assert_eq!(out, a, "no picture to fade to");
    }
}
