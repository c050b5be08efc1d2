//! What is pointed at in the picture.

use wording::wording;

wording! {
    /// Words of the place pointed at. `{}` stands for what is put in, in the order given.
    pub struct CursorTexts {
        /// Beyond the skin.
        outside: "Outside the body",
        /// Plain layers under the skin.
        layer: "Skin, fat or muscle",
        /// A structure without a part: its name.
        structure: "{}",
        /// A structure with the part of it that is met: both names.
        segment: "{}, {}",
        /// How the plane shows its axis: view and angle.
        axis: "{}, {} from its axis",
        /// What it is made of: tissue.
        tissue: "tissue: {}",
        /// How deep the place is: mm.
        depth: "{} mm deep",
        /// What keys do in the picture.
        hint: "Arrow keys move a cross that names what lies under it. Enter points the structure out in both views. \
               Escape puts the cross away.",
    }
}
