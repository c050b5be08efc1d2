//! Names of planes and why.

use wording::wording;

wording! {
    /// Names of planes and why. `{}` stands for what is put in, in the order given.
    pub struct PlaneTexts {
        /// Sagittal, coronal, transverse, as inside a sentence.
        words: ["sagittal", "coronal", "transverse"],
        /// Oblique, as inside a sentence.
        oblique: "oblique",
        /// A sagittal plane within 5 mm of the mid-line.
        mid_sagittal: "Mid-sagittal",
        /// A sagittal plane right of it.
        right_parasagittal: "Right parasagittal",
        /// A sagittal plane left of it.
        left_parasagittal: "Left parasagittal",
        /// Distance to the right in mm.
        right_of_midline: "{} mm right of the mid-line",
        /// Distance to the left in mm.
        left_of_midline: "{} mm left of the mid-line",
        /// A coronal plane.
        coronal: "Coronal",
        /// A transverse plane.
        transverse: "Transverse",
        /// Oblique, nearer to running along the body.
        longitudinal_oblique: "Longitudinal oblique",
        /// Oblique, nearer to running across the body.
        transverse_oblique: "Transverse oblique",
        /// Turned about two axes, nearer to running along the body.
        double_longitudinal: "Double oblique, longitudinal",
        /// Turned about two axes, nearer to running across the body.
        double_transverse: "Double oblique, transverse",
        /// Why a plane has a plain name: angle, plane, tolerance, plane.
        named_reason: "{} from {}, within the {} that a {} plane may be off.",
        /// Why a plane is oblique: angle, plane, angle, plane, tolerance.
        oblique_reason: "Oblique: {} from {}, {} from {}. No body plane is within {}.",
        /// Where the notch is in the image: left, right.
        notch_side: [
            "The mark is at image left: that side of the image is the notch side of the probe.",
            "The mark is at image right: that side of the image is the notch side of the probe.",
        ],
        /// Body plane and structure axis: plane, structure, axis, angle.
        two_answers: "Two answers: the plane is {} to the body, and shows the {} in {}, {} between its axis and the \
                      plane.",
    }
}
