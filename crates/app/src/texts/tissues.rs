//! What structures are made of, by the keys of the tissue table.

use wording::wording;

/// The table of words, and the way from a tissue's key to its word.
macro_rules! tissues {
    ($($key:ident: $words:tt,)*) => {
        wording! {
            /// Tissues in a sentence.
            pub struct TissueTexts {
                $($key: $words,)*
            }
        }

        impl TissueTexts {
            /// The keys that have words.
            pub const KEYS: &'static [&'static str] = &[$(stringify!($key)),*];

            /// The words for the tissue of this key; none for one that the table does not have.
            #[must_use]
            pub fn word(&self, key: &str) -> Option<&'static str> {
                match key {
                    $(stringify!($key) => Some(self.$key),)*
                    _ => None,
                }
            }
        }
    };
}

tissues! {
    skin: "skin",
    fat_subcutaneous: "fat under the skin",
    fat_internal: "fat between the organs",
    fat_sinus: "fat of the renal sinus",
    fat_epicardial: "fat on the heart",
    perivascular_fat: "fat around a vessel",
    muscle: "muscle",
    muscle_smooth: "smooth muscle",
    fascia: "fascia",
    diaphragm: "diaphragm",
    liver: "liver tissue",
    spleen: "splenic tissue",
    pancreas: "pancreatic tissue",
    renal_cortex: "renal cortex",
    renal_medulla: "renal medulla",
    adrenal: "adrenal tissue",
    thyroid: "thyroid tissue",
    salivary: "salivary gland tissue",
    lymph_node: "lymph node tissue",
    prostate: "prostate tissue",
    prostate_inner: "inner prostate tissue",
    seminal_vesicle: "seminal vesicle",
    testis: "testicular tissue",
    myometrium: "myometrium",
    endometrium: "endometrium",
    ovary: "ovarian tissue",
    breast: "glandular tissue of the breast",
    brain: "brain",
    brain_neonate: "brain of a newborn",
    deep_grey: "deep grey matter",
    corpus_callosum: "corpus callosum",
    cerebellum: "cerebellum",
    vermis: "vermis",
    choroid_plexus: "choroid plexus",
    sulcus: "folds and their membranes",
    spinal_cord: "spinal cord",
    myocardium: "myocardium",
    valve: "valve leaflet",
    vessel_wall: "vessel wall",
    portal_wall: "wall of a portal vein",
    organ_wall: "organ wall",
    bladder_wall: "bladder wall",
    bowel_wall: "bowel wall",
    bowel_submucosa: "submucosa of the bowel",
    mucosa_gas: "mucosa with gas",
    bowel_content: "contents of the bowel",
    small_bowel: "loops of bowel with their fat",
    colon_content: "contents of the colon",
    gastric_fluid: "fluid in the stomach",
    blood: "blood",
    bile: "bile",
    urine: "urine",
    serous_fluid: "serous fluid",
    csf: "cerebrospinal fluid",
    cartilage: "cartilage",
    disc: "disc",
    bone: "bone",
    bone_neonate: "bone of a newborn",
    fontanelle: "membrane of a fontanelle",
    lung: "lung",
    gas: "gas",
}
