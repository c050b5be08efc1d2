//! Colours of the schematic picture, one per tissue key.
//!
//! The colours themselves live in the application's one token file, as `--tissue-<key>: #rrggbb;` for every key of
//! [`PALETTE_KEYS`]. The keys are the keys of the tissue table, except that `blood` is told apart by vessel
//! (`blood_arterial`, `blood_venous`, `blood_portal`, `blood_left_heart`, `blood_right_heart`), and that four keys
//! belong to no tissue: `outside` (beyond the skin, dark), `gel` (between face and skin), `outline` (the thin lines)
//! and `unknown` (a tissue that this list does not have; must be conspicuous).
//!
//! Wishes for whoever picks colours: muted flat tones in which neighbours differ in lightness (liver against muscle,
//! kidney and fat; pancreas against fat; bowel against bowel wall); arteries and veins a colour-blind-safe pair
//! (vermilion and blue of Okabe and Ito, "Color Universal Design", 2008); fluids light and cool, gas near black, bone
//! near white; `outline` dark and warm, drawn at 60 %.

use std::fmt;

/// Every key a palette has to have.
pub const PALETTE_KEYS: [&str; 71] = [
    "adrenal",
    "bile",
    "bladder_wall",
    "blood_arterial",
    "blood_left_heart",
    "blood_portal",
    "blood_right_heart",
    "blood_venous",
    "bone",
    "bone_neonate",
    "bowel_content",
    "bowel_submucosa",
    "bowel_wall",
    "brain",
    "brain_neonate",
    "breast",
    "cartilage",
    "cerebellum",
    "choroid_plexus",
    "colon_content",
    "corpus_callosum",
    "csf",
    "deep_grey",
    "diaphragm",
    "disc",
    "endometrium",
    "fascia",
    "fat_epicardial",
    "fat_internal",
    "fat_sinus",
    "fat_subcutaneous",
    "fontanelle",
    "gas",
    "gastric_fluid",
    "gel",
    "liver",
    "lung",
    "lymph_node",
    "mucosa_gas",
    "muscle",
    "muscle_smooth",
    "myocardium",
    "myometrium",
    "organ_wall",
    "outline",
    "outside",
    "ovary",
    "pancreas",
    "perivascular_fat",
    "portal_wall",
    "prostate",
    "prostate_inner",
    "renal_cortex",
    "renal_medulla",
    "salivary",
    "seminal_vesicle",
    "serous_fluid",
    "skin",
    "small_bowel",
    "spinal_cord",
    "spleen",
    "sulcus",
    "testis",
    "thyroid",
    "unknown",
    "urine",
    "valve",
    "vermis",
    "vessel_wall",
    "vessel_wall_arterial",
    "vessel_wall_venous",
];

/// A colour, red, green, blue, 0 to 255 in sRGB.
pub type Rgb = [u8; 3];

/// A colour for every key of [`PALETTE_KEYS`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Palette {
    colours: [Rgb; PALETTE_KEYS.len()],
}

/// A palette that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PaletteError {
    /// Keys of [`PALETTE_KEYS`] without a colour; add a token for each.
    Missing(Vec<&'static str>),
}

impl fmt::Display for PaletteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(keys) => write!(f, "no colour for tissue {}", keys.join(", ")),
        }
    }
}

impl std::error::Error for PaletteError {}

/// The key as this list spells it, or `unknown`.
pub(crate) fn known_key(key: &str) -> &'static str {
    PALETTE_KEYS
        .binary_search(&key)
        .map_or("unknown", |at| PALETTE_KEYS[at])
}

impl Palette {
    /// A palette from (key, colour) pairs; of two with the same key the last holds, other keys are passed over.
    ///
    /// # Errors
    /// [`PaletteError::Missing`] names every key that has no colour.
    pub fn from_pairs<'a>(
        pairs: impl IntoIterator<Item = (&'a str, Rgb)>,
    ) -> Result<Self, PaletteError> {
        let mut found: [Option<Rgb>; PALETTE_KEYS.len()] = [None; PALETTE_KEYS.len()];
        for (key, colour) in pairs {
            if let Ok(at) = PALETTE_KEYS.binary_search(&key) {
                found[at] = Some(colour);
            }
        }
        let missing: Vec<&'static str> = PALETTE_KEYS
            .iter()
            .zip(&found)
            .filter_map(|(key, colour)| colour.is_none().then_some(*key))
            .collect();
        if missing.is_empty() {
            Ok(Self {
                colours: found.map(Option::unwrap_or_default),
            })
        } else {
            Err(PaletteError::Missing(missing))
        }
    }

    /// The colour of a key; that of `unknown` for a key no palette has.
    #[must_use]
    pub fn colour(&self, key: &str) -> Rgb {
        PALETTE_KEYS
            .binary_search(&key)
            .or_else(|_| PALETTE_KEYS.binary_search(&"unknown"))
            .map_or([255, 0, 255], |at| self.colours[at])
    }

    /// Colours for tests and for tools without a token file.
    #[must_use]
    pub fn fallback() -> Self {
        let mut colours = [[255, 0, 255]; PALETTE_KEYS.len()];
        for (key, hex) in FALLBACK {
            if let Ok(at) = PALETTE_KEYS.binary_search(&key) {
                let [_, r, g, b] = hex.to_be_bytes();
                colours[at] = [r, g, b];
            }
        }
        Self { colours }
    }
}

const FALLBACK: [(&str, u32); PALETTE_KEYS.len()] = [
    ("adrenal", 0x00d9_923e),
    ("bile", 0x0067_9a52),
    ("bladder_wall", 0x00c9_8f80),
    ("blood_arterial", 0x00cf_4429),
    ("blood_left_heart", 0x00d6_6650),
    ("blood_portal", 0x0083_64b4),
    ("blood_right_heart", 0x005a_8fc8),
    ("blood_venous", 0x002a_6cb5),
    ("bone", 0x00ef_e9da),
    ("bone_neonate", 0x00ec_e5d3),
    ("bowel_content", 0x00aa_9c66),
    ("bowel_submucosa", 0x00e6_b9ac),
    ("bowel_wall", 0x00cf_9c8b),
    ("brain", 0x00c9_b7ae),
    ("brain_neonate", 0x00c6_b8b2),
    ("breast", 0x00e6_bda6),
    ("cartilage", 0x00a9_c7c4),
    ("cerebellum", 0x00b3_a09c),
    ("choroid_plexus", 0x00d0_7f78),
    ("colon_content", 0x008f_8054),
    ("corpus_callosum", 0x00e2_d9cc),
    ("csf", 0x007f_b2d1),
    ("deep_grey", 0x00a5_9491),
    ("diaphragm", 0x00a8_5c58),
    ("disc", 0x0093_aab0),
    ("endometrium", 0x00e0_a9a4),
    ("fascia", 0x00e9_e2d4),
    ("fat_epicardial", 0x00ec_d58f),
    ("fat_internal", 0x00ea_d8a8),
    ("fat_sinus", 0x00f3_e6bf),
    ("fat_subcutaneous", 0x00f2_e2bd),
    ("fontanelle", 0x00d9_c6b3),
    ("gas", 0x0023_262b),
    ("gastric_fluid", 0x00b4_c7ae),
    ("gel", 0x0028_3a45),
    ("liver", 0x0095_5a4a),
    ("lung", 0x00b6_c1d4),
    ("lymph_node", 0x008f_a36b),
    ("mucosa_gas", 0x00f1_e3c6),
    ("muscle", 0x00b8_7064),
    ("muscle_smooth", 0x00c9_8a7c),
    ("myocardium", 0x00a0_4c4a),
    ("myometrium", 0x00b9_7a78),
    ("organ_wall", 0x00cd_b49a),
    ("outline", 0x002a_1a16),
    ("outside", 0x0010_1114),
    ("ovary", 0x00d9_b8a3),
    ("pancreas", 0x00df_ae63),
    ("perivascular_fat", 0x00f6_eccb),
    ("portal_wall", 0x00dc_d3e4),
    ("prostate", 0x00b9_8f79),
    ("prostate_inner", 0x009c_7362),
    ("renal_cortex", 0x00c0_775b),
    ("renal_medulla", 0x0092_4b3b),
    ("salivary", 0x00d8_a777),
    ("seminal_vesicle", 0x00c9_b48f),
    ("serous_fluid", 0x008f_b8c9),
    ("skin", 0x00d9_a78c),
    ("small_bowel", 0x00d9_b594),
    ("spinal_cord", 0x00d8_cba8),
    ("spleen", 0x007d_4a66),
    ("sulcus", 0x0076_6f78),
    ("testis", 0x00cd_b59a),
    ("thyroid", 0x00c7_715f),
    ("unknown", 0x00ff_00ff),
    ("urine", 0x00d5_d276),
    ("valve", 0x00ec_e3d0),
    ("vermis", 0x008e_7a78),
    ("vessel_wall", 0x00ea_d9cc),
    ("vessel_wall_arterial", 0x00ee_c9ba),
    ("vessel_wall_venous", 0x00c3_d3e6),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_sorted_and_the_fallback_has_them_all() {
        assert!(PALETTE_KEYS.is_sorted(), "binary search needs sorted keys");
        let pairs = FALLBACK.map(|(key, _)| (key, [1, 2, 3]));
        assert_eq!(FALLBACK.map(|(key, _)| key), PALETTE_KEYS);
        assert!(Palette::from_pairs(pairs).is_ok(), "every key has a colour");
    }

    #[test]
    fn a_missing_key_is_named() {
        let pairs = PALETTE_KEYS
            .iter()
            .filter(|k| **k != "liver")
            .map(|k| (*k, [0; 3]));
        let error = Palette::from_pairs(pairs).expect_err("liver is missing");
        assert_eq!(error.to_string(), "no colour for tissue liver");
    }

    #[test]
    fn a_key_nobody_knows_is_conspicuous() {
        let palette = Palette::fallback();
        assert_eq!(palette.colour("unobtainium"), palette.colour("unknown"));
    }
}
