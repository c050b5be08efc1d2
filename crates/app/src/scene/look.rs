//! Which surfaces the body view shows, and in which colours.

use anatomy::{Body, Surface, SurfaceKind, System};
use picture::palette_key;

use crate::colours::{Colour, Tokens};
use crate::state::State;

/// Which structures the body view shows under the skin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StructureFilter {
    /// All of them.
    #[default]
    Everything,
    /// Heart, arteries and veins.
    Vessels,
    /// Bones and cartilage.
    Skeleton,
    /// What is neither bone, muscle nor vessel.
    Organs,
    /// What is filled with fluid and is no vessel: gallbladder, bladder, ventricles.
    Fluid,
    /// Only the structure pointed out.
    Chosen,
}

/// Tissues that are fluid, blood left out.
const FLUIDS: [&str; 5] = ["urine", "bile", "csf", "serous_fluid", "gastric_fluid"];

impl StructureFilter {
    /// All, in the order of the menu.
    pub const ALL: [Self; 6] = [
        Self::Everything,
        Self::Organs,
        Self::Vessels,
        Self::Skeleton,
        Self::Fluid,
        Self::Chosen,
    ];

    /// A word for menus and for what a tab keeps: "vessels".
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Everything => "everything",
            Self::Organs => "organs",
            Self::Vessels => "vessels",
            Self::Skeleton => "skeleton",
            Self::Fluid => "fluid",
            Self::Chosen => "chosen",
        }
    }

    fn shows(self, system: &System, tissue: &str) -> bool {
        let vessel = matches!(system, System::Arterial | System::Venous | System::Cardiac);
        let frame = matches!(
            system,
            System::Skeletal | System::Muscular | System::Connective
        );
        match self {
            Self::Everything => true,
            Self::Vessels => vessel,
            Self::Skeleton => *system == System::Skeletal,
            Self::Organs => !vessel && !frame && *system != System::Integument,
            Self::Fluid => !vessel && FLUIDS.contains(&tissue),
            Self::Chosen => false,
        }
    }
}

/// How a surface takes part in the body view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceRole {
    /// The outside: fades where the image plane passes.
    Skin,
    /// Seen where the skin is faded or hidden.
    Inside,
    /// The structure pointed out: drawn so that it stands out by more than its colour.
    Chosen,
}

/// One surface of the body view.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceLook {
    /// Number of the surface in [`Body::surfaces`].
    pub surface: usize,
    /// How it takes part.
    pub role: SurfaceRole,
    /// Its colour.
    pub colour: Colour,
}

/// The surfaces to draw, in paint order; nothing before the body is here. While only the skin is here it is
/// surface 0.
#[must_use]
pub fn surface_looks(state: &State, tokens: &Tokens) -> Vec<SurfaceLook> {
    let skin = state.skin_shown().then(|| SurfaceLook {
        surface: 0,
        role: SurfaceRole::Skin,
        colour: tokens.get("surface-skin"),
    });
    let Some(body) = state.body() else {
        return if state.skin().is_some() {
            skin.into_iter().collect()
        } else {
            Vec::new()
        };
    };
    let inside = body
        .surfaces()
        .iter()
        .enumerate()
        .filter_map(|(number, surface)| inner_look(state, body, number, surface, tokens));
    skin.into_iter().chain(inside).collect()
}

fn inner_look(
    state: &State,
    body: &Body,
    number: usize,
    surface: &Surface,
    tokens: &Tokens,
) -> Option<SurfaceLook> {
    // Fills and walls would hide what they enclose; the solid alone stands for the structure.
    let SurfaceKind::Solid(index) = surface.kind else {
        return None;
    };
    let structure = body.structure(index);
    let chosen = state.chosen() == Some(structure.id.as_str());
    let tissue = body.tissue(structure.tissue).key.as_str();
    if !chosen && (!state.filter().shows(&structure.system, tissue) || is_fill(structure)) {
        return None;
    }
    let token = format!("tissue-{}", palette_key(body, surface));
    Some(SurfaceLook {
        surface: number,
        role: if chosen {
            SurfaceRole::Chosen
        } else {
            SurfaceRole::Inside
        },
        colour: tokens.get(&token),
    })
}

/// Fat between the organs and the like: painted in the section, but no thing to look at from outside.
fn is_fill(structure: &anatomy::Structure) -> bool {
    /// Priorities below this are fills (body description, section 6: "fill 50-160").
    const FIRST_ORGAN: i32 = 200;
    structure.priority < FIRST_ORGAN
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fluid_is_what_is_filled_with_it_and_no_vessel() {
        for (system, tissue, shown) in [
            (System::Urinary, "urine", true),
            (System::Digestive, "bile", true),
            (System::Nervous, "csf", true),
            (System::Digestive, "liver", false),
            (System::Arterial, "blood", false),
            (System::Cardiac, "serous_fluid", false),
        ] {
            assert_eq!(
                StructureFilter::Fluid.shows(&system, tissue),
                shown,
                "{system:?} of {tissue}"
            );
        }
    }
}
