//! The words of this module, as one table.

use anatomy::PlaceWords;
use geometry::{BodyPlane, ImageSide, PatientSide, SideName};
use wording::{Plural, wording};

use crate::contents::SkinLayer;

wording! {
    /// Words of descriptions. Sides of the patient come in the order of [`PatientSide::ALL`].
    pub struct PictureWords {
        /// How the language counts.
        plurals: Plural = Plural::One,
        /// Places on the skin.
        places: PlaceWords = PlaceWords::ENGLISH,
        /// Place on the skin.
        probe: "Probe on the {}.",
        /// The way something points.
        toward: ["patient's right", "patient's left", "front", "back", "head", "feet"],
        /// Between two ways, and before the last of several.
        and: " and ",
        /// Between the others.
        comma: ", ",
        /// Ways, clock.
        notch: "Notch toward the {} ({}).",
        /// A full hour; the hour decides on the form.
        hour: "{} o'clock|{} o'clock",
        /// Half an hour past it.
        half_past: "half past {}|half past {}",
        /// Way.
        beam_straight: "Beam straight {}.",
        /// Way, degrees, ways.
        beam_leaning: "Beam {}, {}° toward the {}.",
        /// The way a beam runs, most of all.
        beam_way: [
            "toward the patient's right",
            "toward the patient's left",
            "forward",
            "back",
            "toward the head",
            "toward the feet",
        ],
        /// Between two ways that a beam leans.
        lean_and: " and the ",
        /// mm.
        pressed: "Pressed in {} mm.",
        mid_sagittal: "Mid-sagittal plane",
        /// mm.
        right_parasagittal: "Right parasagittal plane, {} mm right of the mid-line",
        /// mm.
        left_parasagittal: "Left parasagittal plane, {} mm left of the mid-line",
        coronal: "Coronal plane",
        transverse: "Transverse plane",
        /// Name of the plane.
        plane: "{}.",
        /// Name of the plane, degrees, the plane it leans toward.
        plane_leaning: "{}, {}° toward {}.",
        /// Sagittal, coronal, transverse inside a sentence, after "toward" and "from".
        plane_words: ["sagittal", "coronal", "transverse"],
        longitudinal_oblique: "Longitudinal oblique plane",
        transverse_oblique: "Transverse oblique plane",
        double_longitudinal: "Double oblique plane, longitudinal",
        double_transverse: "Double oblique plane, transverse",
        /// Name of the plane; degrees and plane, twice.
        plane_oblique: "{}: {}° from {}, {}° from {}.",
        /// Sides of the image: left, right, top, bottom; names of the body's sides.
        image_sides: ["Image left: {}.", "Image right: {}.", "Image top: {}.", "Image bottom: {}."],
        /// Names of the body's sides at a side of the image.
        ends: ["patient's right", "patient's left", "front", "back", "head end", "foot end"],
        /// Structures from the top of the image, or from its bottom when the probe is there.
        picture: ["In the picture from the top: {}.", "In the picture from the bottom: {}."],
        nothing: "The picture shows nothing of the body.",
        /// After the structures.
        smaller: ", and {} smaller structure|, and {} smaller structures",
        no_contact: "Much of the face has no contact with the skin.",
        skin: "skin",
        fat: "fat",
        muscle: "muscle",
        /// Structure and its part, where the part has no full name of its own.
        part_of: "{} {}",
        /// Structure.
        in_long_axis: "{} in long axis",
        /// Structure.
        in_short_axis: "{} in short axis",
        /// Structure and how a pressed vein is left.
        pressed_vein: "{} ({})",
        flattened: "flattened by the probe",
        partly_flattened: "partly flattened by the probe",
        /// Where across the picture.
        across: ["image left", "centre", "image right"],
    }
}

impl PictureWords {
    pub(super) fn toward(&self, side: PatientSide) -> &'static str {
        pick(&self.toward, side)
    }

    pub(super) fn beam_way(&self, side: PatientSide) -> &'static str {
        pick(&self.beam_way, side)
    }

    /// "head and patient's right": the ways a direction points, dominant first.
    #[must_use]
    pub fn ways(&self, name: &SideName, threshold: f64) -> String {
        let ways: Vec<&str> = name
            .parts(threshold)
            .map(|(side, _)| self.toward(side))
            .collect();
        self.list(&ways)
    }

    pub(super) fn ends(&self, name: &SideName, threshold: f64) -> String {
        let ends: Vec<&str> = name
            .parts(threshold)
            .map(|(side, _)| pick(&self.ends, side))
            .collect();
        ends.join(self.and)
    }

    pub(super) fn image_side(&self, side: ImageSide) -> &'static str {
        let [left, right, top, bottom] = self.image_sides;
        match side {
            ImageSide::Left => left,
            ImageSide::Right => right,
            ImageSide::Top => top,
            ImageSide::Bottom => bottom,
        }
    }

    pub(super) fn plane_word(&self, plane: BodyPlane) -> &'static str {
        let [sagittal, coronal, transverse] = self.plane_words;
        match plane {
            BodyPlane::Sagittal => sagittal,
            BodyPlane::Coronal => coronal,
            BodyPlane::Transverse => transverse,
        }
    }

    pub(super) fn layer(&self, layer: SkinLayer) -> &'static str {
        match layer {
            SkinLayer::Skin => self.skin,
            SkinLayer::Fat => self.fat,
            SkinLayer::Muscle => self.muscle,
        }
    }

    /// "head, patient's right and back".
    pub(super) fn list(&self, words: &[&str]) -> String {
        match words.split_last() {
            Some((last, first)) if !first.is_empty() => {
                format!("{}{}{last}", first.join(self.comma), self.and)
            }
            _ => words.concat(),
        }
    }
}

fn pick(table: &[&'static str; 6], side: PatientSide) -> &'static str {
    let [right, left, front, back, head, foot] = table;
    match side {
        PatientSide::Right => right,
        PatientSide::Left => left,
        PatientSide::Anterior => front,
        PatientSide::Posterior => back,
        PatientSide::Head => head,
        PatientSide::Foot => foot,
    }
}
