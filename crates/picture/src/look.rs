//! How the surfaces of one body look: colours per surface, and where an outline belongs.

use anatomy::{Body, Surface, SurfaceKind, System};

use crate::gel::GEL;
use crate::palette::{Palette, Rgb};
use crate::scan::{BEYOND, Label, OUTSIDE};

/// Width of the outlines unless set otherwise, pixels.
pub const LINE_PX: f64 = 1.2;

/// Strength of an outline between different tissues, of 256.
const FULL_LINE: i32 = 170;
/// Between skin, fat and muscle, and around structures of one tissue: there, but quiet.
const QUIET_LINE: i32 = 84;

/// Colours and outlines of one body in one palette; make it once and keep it.
#[derive(Debug, Clone)]
pub struct Look {
    surfaces: Vec<SurfaceLook>,
    outside: [i32; 4],
    gel: [i32; 4],
    line: Rgb,
    line_px: f64,
}

#[derive(Debug, Clone, Copy)]
struct SurfaceLook {
    colour: [i32; 4],
    /// Which structure it belongs to; the layers under the skin have numbers of their own.
    owner: usize,
    key: &'static str,
    layer: bool,
}

impl Look {
    /// The look of `body` in `palette`.
    #[must_use]
    pub fn new(body: &Body, palette: &Palette) -> Self {
        let surfaces = body
            .surfaces()
            .iter()
            .enumerate()
            .map(|(number, surface)| {
                let key = palette_key(body, surface);
                SurfaceLook {
                    colour: opaque(palette.colour(key)),
                    owner: surface
                        .structure()
                        .map_or(body.structures().len() + number, |structure| structure.0),
                    key,
                    layer: surface.structure().is_none(),
                }
            })
            .collect();
        Self {
            surfaces,
            outside: opaque(palette.colour("outside")),
            gel: opaque(palette.colour("gel")),
            line: palette.colour("outline"),
            line_px: LINE_PX,
        }
    }

    /// The same look with outlines of another width (pixels; 0 for none): wider for screens with finer pixels.
    #[must_use]
    pub fn with_line_px(mut self, line_px: f64) -> Self {
        self.line_px = if line_px.is_finite() {
            line_px.clamp(0.0, 8.0)
        } else {
            LINE_PX
        };
        self
    }

    /// The same look with nothing (transparent) outside the skin.
    #[must_use]
    pub(crate) fn bare(&self) -> Self {
        Self {
            outside: [0; 4],
            ..self.clone()
        }
    }

    pub(crate) fn line_px(&self) -> f64 {
        self.line_px
    }

    pub(crate) fn line_colour(&self) -> Rgb {
        self.line
    }

    /// Red, green, blue and opacity, 0 to 255.
    pub(crate) fn colour(&self, label: Label) -> [i32; 4] {
        match label {
            OUTSIDE => self.outside,
            BEYOND => [0; 4],
            GEL => self.gel,
            surface => self
                .surfaces
                .get(usize::from(surface))
                .map_or([0; 4], |s| s.colour),
        }
    }

    /// Strength of the outline between two neighbours, 0 (none) to 256.
    pub(crate) fn line_weight(&self, one: Label, other: Label) -> i32 {
        if one == BEYOND || other == BEYOND {
            return 0;
        }
        let of = |label: Label| self.surfaces.get(usize::from(label));
        let (Some(one), Some(other)) = (of(one), of(other)) else {
            // The surface of the skin against gel or air.
            return QUIET_LINE;
        };
        let both = |start: &str| one.key.starts_with(start) && other.key.starts_with(start);
        if one.owner == other.owner || both("blood") {
            // A vena cava runs on into the atrium: there is no wall between two lumens that meet.
            0
        } else if one.key == other.key {
            // Fat runs on into fat; two muscles stay two.
            if both("fat") { 0 } else { QUIET_LINE }
        } else if one.layer && other.layer {
            QUIET_LINE
        } else {
            FULL_LINE
        }
    }
}

fn opaque(colour: Rgb) -> [i32; 4] {
    let [r, g, b] = colour.map(i32::from);
    [r, g, b, 255]
}

/// The palette key of a surface: its tissue, with blood and vessel walls told apart by vessel.
#[must_use]
pub fn palette_key(body: &Body, surface: &Surface) -> &'static str {
    let tissue = body.tissue(surface.tissue).key.as_str();
    let vessel = surface.structure().map(|index| {
        let structure = body.structure(index);
        vessel(structure.system, structure.id.as_str())
    });
    match (tissue, surface.kind, vessel) {
        ("blood", _, Some(vessel)) => vessel.blood_key(),
        ("vessel_wall", SurfaceKind::Wall(_), Some(Vessel::Artery | Vessel::LeftHeart)) => {
            "vessel_wall_arterial"
        }
        ("vessel_wall", SurfaceKind::Wall(_), Some(Vessel::Vein | Vessel::RightHeart)) => {
            "vessel_wall_venous"
        }
        _ => crate::palette::known_key(tissue),
    }
}

/// Kinds of vessel that an atlas colours apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Vessel {
    Artery,
    Vein,
    Portal,
    LeftHeart,
    RightHeart,
}

impl Vessel {
    fn blood_key(self) -> &'static str {
        match self {
            Self::Artery => "blood_arterial",
            Self::Vein => "blood_venous",
            Self::Portal => "blood_portal",
            Self::LeftHeart => "blood_left_heart",
            Self::RightHeart => "blood_right_heart",
        }
    }
}

/// The portal system is the portal vein with its branches and tributaries; lung vessels carry the colour of the half
/// of the heart they belong to (colouring of anatomical atlases, common practice).
fn vessel(system: System, id: &str) -> Vessel {
    const PORTAL: [&str; 6] = [
        "inferior_mesenteric_vein",
        "left_portal_vein",
        "portal_vein",
        "right_portal_vein",
        "splenic_vein",
        "superior_mesenteric_vein",
    ];
    const RIGHT_HEART: [&str; 5] = [
        "left_pulmonary_artery",
        "pulmonary_trunk",
        "right_atrium",
        "right_pulmonary_artery",
        "right_ventricle",
    ];
    if PORTAL.contains(&id) {
        Vessel::Portal
    } else if RIGHT_HEART.contains(&id) {
        Vessel::RightHeart
    } else if system == System::Cardiac || id == "pulmonary_veins" {
        Vessel::LeftHeart
    } else if system == System::Venous {
        Vessel::Vein
    } else {
        Vessel::Artery
    }
}
