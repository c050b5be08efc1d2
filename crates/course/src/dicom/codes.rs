//! Codes of planes and anatomy.

use geometry::{BodyPlane, PlaneName};

/// A code with its scheme and meaning (PS3.3 8.8).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Code {
    pub(super) value: &'static str,
    pub(super) scheme: &'static str,
    pub(super) meaning: &'static str,
}

const fn sct(value: &'static str, meaning: &'static str) -> Code {
    Code {
        value,
        scheme: "SCT",
        meaning,
    }
}

/// The word of PS3.16 CID 6, "Transducer Orientation", for a plane.
pub(super) const fn plane(name: PlaneName) -> Code {
    match name {
        PlaneName::Named(BodyPlane::Sagittal) => sct("30730003", "Sagittal"),
        PlaneName::Named(BodyPlane::Coronal) => sct("81654009", "Coronal"),
        PlaneName::Named(BodyPlane::Transverse) => sct("62824007", "Transverse"),
        PlaneName::Oblique(_) => sct("21114003", "Oblique"),
    }
}

/// The codes of PS3.16 for structures of the bodies; structures whose code nobody has checked against the standard have
/// none.
pub(super) fn anatomy(structure: &str) -> Option<Code> {
    let plain = structure
        .strip_prefix("right_")
        .or_else(|| structure.strip_prefix("left_"))
        .unwrap_or(structure);
    // The side of a thyroid lobe is part of its code.
    let found = match structure {
        "right_thyroid_lobe" => sct("29565003", "Right lobe of thyroid gland"),
        "left_thyroid_lobe" => sct("79163004", "Left lobe of thyroid gland"),
        _ => match plain {
            "aorta" => sct("7832008", "Abdominal aorta"),
            "inferior_vena_cava" => sct("64131007", "Inferior vena cava"),
            "liver" => sct("10200004", "Liver"),
            "gallbladder" => sct("28231008", "Gallbladder"),
            "pancreas" => sct("15776009", "Pancreas"),
            "spleen" => sct("78961009", "Spleen"),
            "kidney" => sct("64033007", "Kidney"),
            "superior_mesenteric_artery" => sct("42258001", "Superior mesenteric artery"),
            "bladder" => sct("89837001", "Bladder"),
            "uterus" => sct("35039007", "Uterus"),
            "ovary" => sct("15497006", "Ovary"),
            "prostate" => sct("41216001", "Prostate"),
            "thyroid_isthmus" => sct("40867004", "Isthmus of thyroid gland"),
            "common_carotid_artery" => sct("32062004", "Common carotid artery"),
            "internal_carotid_artery" => sct("86117002", "Internal carotid artery"),
            "internal_jugular_vein" => sct("12123001", "Internal jugular vein"),
            "common_femoral_artery" => sct("181347005", "Common femoral artery"),
            "common_femoral_vein" => sct("397363009", "Common femoral vein"),
            "femoral_vein" => sct("83419000", "Femoral vein"),
            "popliteal_vein" => sct("56849005", "Popliteal vein"),
            "great_saphenous_vein" => sct("60734001", "Great saphenous vein"),
            _ => return None,
        },
    };
    Some(found)
}
