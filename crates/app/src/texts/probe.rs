//! The probe.

use wording::wording;

wording! {
    /// The probe in words. `{}` stands for what is put in.
    pub struct ProbeTexts {
        /// A full hour.
        hour: "{} o'clock|{} o'clock",
        /// What the notch does to the picture: image side, patient's side.
        follows: "{} is the notch's side. It shows: {}.",
        /// Where the notch points: degrees, side.
        notch_toward: "{}°, notch toward the {}",
        /// Where a tilt has swung the beam: degrees, side.
        beam_toward: "{}°, beam toward the {}",
        /// No tilt or rock: degrees.
        straight: "{}°, straight",
        /// Rocked toward the notch: degrees, side.
        rocked_to_notch: "{}°, beam toward the notch, running toward the {}",
        /// Rocked away from it: degrees, side.
        rocked_from_notch: "{}°, beam away from the notch, running toward the {}",
        /// Contact point: mm left or right, before or behind, above or below the origin.
        contact: "{}, {}, {} of the origin of the body's frame",
        /// Left and right of the origin.
        left_right: ["{} mm left", "{} mm right"],
        /// Behind and in front of it.
        behind_before: ["{} mm behind", "{} mm in front"],
        /// Toward the head and the feet from it.
        head_foot: ["{} mm toward the head", "{} mm toward the feet"],
    }
}
