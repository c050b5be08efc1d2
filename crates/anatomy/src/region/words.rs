//! Places on the skin in words.

use geometry::PatientSide;
use wording::{form, wording};

use super::{Area, Midline, SkinPlace};
use crate::structure::BodySide;

wording! {
    /// Names of places on the skin, without article or full stop.
    ///
    /// A list of three is for the mid-line, the patient's right and the patient's left.
    pub struct PlaceWords {
        /// Faces of a region with its name: the face, "of the chest".
        faced: "{} {}",
        /// Faces of head, neck and trunk: the patient's right, left, front, back, top, underside.
        faces: ["right side", "left side", "front", "back", "top", "underside"],
        head: "of the head",
        neck: "of the neck",
        chest: "of the chest",
        lower_chest: "of the lower chest",
        upper_abdomen: "of the upper abdomen",
        mid_abdomen: "of the abdomen at the navel",
        lower_abdomen: "of the lower abdomen",
        /// A body whose regions are not known.
        unknown: "of the body",
        anterior_fontanelle: "anterior fontanelle",
        posterior_fontanelle: "posterior fontanelle",
        upper_back: "upper back",
        lower_back: "lower back",
        pubic_region: "pubic region",
        perineum: "perineum",
        behind_ear: ["behind the ear", "behind the right ear", "behind the left ear"],
        shoulder: ["shoulder", "right shoulder", "left shoulder"],
        flank: ["flank", "right flank", "left flank"],
        groin: ["groin", "right groin", "left groin"],
        hip: ["hip", "right hip", "left hip"],
        buttock: ["buttock", "right buttock", "left buttock"],
        /// A part of a limb with its face.
        limb: "{}, {}",
        /// Faces of a limb: front, back, top, underside, outer, inner.
        limb_faces: ["front", "back", "top", "underside", "outer side", "inner side"],
        upper_arm: ["upper arm", "right upper arm", "left upper arm"],
        elbow: ["elbow", "right elbow", "left elbow"],
        forearm: ["forearm", "right forearm", "left forearm"],
        hand: ["hand", "right hand", "left hand"],
        upper_thigh: ["upper thigh", "right upper thigh", "left upper thigh"],
        mid_thigh: ["mid-thigh", "right mid-thigh", "left mid-thigh"],
        lower_thigh: ["lower thigh", "right lower thigh", "left lower thigh"],
        knee: ["knee", "right knee", "left knee"],
        lower_leg: ["lower leg", "right lower leg", "left lower leg"],
        foot: ["foot", "right foot", "left foot"],
        /// A region with its distance from the mid-line.
        placed: "{}, {}",
        on_midline: "on the mid-line",
        right_of_midline: "{} mm right of the mid-line",
        left_of_midline: "{} mm left of the mid-line",
    }
}

impl PlaceWords {
    /// The place: "front of the upper abdomen, 20 mm left of the mid-line", "right flank", "left upper thigh, front".
    #[must_use]
    pub fn place(&self, place: &SkinPlace) -> String {
        let region = self.region(place);
        match place.midline {
            Some(midline) => form(self.placed, &[&region, &self.midline(midline)]),
            None => region,
        }
    }

    /// The region alone: "front of the upper abdomen".
    #[must_use]
    pub fn region(&self, place: &SkinPlace) -> String {
        match self.area(place.area) {
            Name::Faced(name) => form(self.faced, &[self.face(place.facing), name]),
            Name::Plain(name) => name.to_owned(),
            Name::Sided(names) => half(names, place.half).to_owned(),
            Name::Limb(names) => form(self.limb, &[half(names, place.half), self.limb_face(place)]),
        }
    }

    /// "20 mm left of the mid-line" (the patient's left), rounded to whole mm.
    #[must_use]
    pub fn midline(&self, midline: Midline) -> String {
        match midline {
            Midline::On => self.on_midline.to_owned(),
            Midline::Left(mm) => form(self.left_of_midline, &[&format!("{mm:.0}")]),
            Midline::Right(mm) => form(self.right_of_midline, &[&format!("{mm:.0}")]),
        }
    }

    fn face(&self, facing: PatientSide) -> &'static str {
        let [right, left, front, back, top, underside] = self.faces;
        match facing {
            PatientSide::Right => right,
            PatientSide::Left => left,
            PatientSide::Anterior => front,
            PatientSide::Posterior => back,
            PatientSide::Head => top,
            PatientSide::Foot => underside,
        }
    }

    fn limb_face(&self, place: &SkinPlace) -> &'static str {
        let [front, back, top, underside, outer, inner] = self.limb_faces;
        match (place.facing, place.half) {
            (PatientSide::Anterior, _) => front,
            (PatientSide::Posterior, _) => back,
            (PatientSide::Head, _) => top,
            (PatientSide::Foot, _) => underside,
            (PatientSide::Left, BodySide::Left) | (PatientSide::Right, BodySide::Right) => outer,
            (PatientSide::Left | PatientSide::Right, _) => inner,
        }
    }

    fn area(&self, area: Area) -> Name<'_> {
        match area {
            Area::Head => Name::Faced(self.head),
            Area::Neck => Name::Faced(self.neck),
            Area::Chest => Name::Faced(self.chest),
            Area::LowerChest => Name::Faced(self.lower_chest),
            Area::UpperAbdomen => Name::Faced(self.upper_abdomen),
            Area::MidAbdomen => Name::Faced(self.mid_abdomen),
            Area::LowerAbdomen => Name::Faced(self.lower_abdomen),
            Area::Unknown => Name::Faced(self.unknown),
            Area::AnteriorFontanelle => Name::Plain(self.anterior_fontanelle),
            Area::PosteriorFontanelle => Name::Plain(self.posterior_fontanelle),
            Area::UpperBack => Name::Plain(self.upper_back),
            Area::LowerBack => Name::Plain(self.lower_back),
            Area::PubicRegion => Name::Plain(self.pubic_region),
            Area::Perineum => Name::Plain(self.perineum),
            Area::BehindEar => Name::Sided(&self.behind_ear),
            Area::Shoulder => Name::Sided(&self.shoulder),
            Area::Flank => Name::Sided(&self.flank),
            Area::Groin => Name::Sided(&self.groin),
            Area::Hip => Name::Sided(&self.hip),
            Area::Buttock => Name::Sided(&self.buttock),
            Area::UpperArm => Name::Limb(&self.upper_arm),
            Area::Elbow => Name::Limb(&self.elbow),
            Area::Forearm => Name::Limb(&self.forearm),
            Area::Hand => Name::Limb(&self.hand),
            Area::UpperThigh => Name::Limb(&self.upper_thigh),
            Area::MidThigh => Name::Limb(&self.mid_thigh),
            Area::LowerThigh => Name::Limb(&self.lower_thigh),
            Area::Knee => Name::Limb(&self.knee),
            Area::LowerLeg => Name::Limb(&self.lower_leg),
            Area::Foot => Name::Limb(&self.foot),
        }
    }
}

/// How the name of a region is put together.
enum Name<'a> {
    Faced(&'static str),
    Plain(&'static str),
    Sided(&'a [&'static str; 3]),
    Limb(&'a [&'static str; 3]),
}

fn half(names: &[&'static str; 3], half: BodySide) -> &'static str {
    let [mid, right, left] = names;
    match half {
        BodySide::Mid => mid,
        BodySide::Right => right,
        BodySide::Left => left,
    }
}

impl SkinPlace {
    /// [`PlaceWords::place`] in English.
    #[must_use]
    pub fn words(&self) -> String {
        PlaceWords::ENGLISH.place(self)
    }

    /// [`PlaceWords::region`] in English.
    #[must_use]
    pub fn region_words(&self) -> String {
        PlaceWords::ENGLISH.region(self)
    }
}

impl Midline {
    /// [`PlaceWords::midline`] in English.
    #[must_use]
    pub fn words(self) -> String {
        PlaceWords::ENGLISH.midline(self)
    }
}
