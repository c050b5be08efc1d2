//! Choices and states.

use wording::wording;

wording! {
    /// Words for choices and states.
    pub struct ChoiceTexts {
        supine: "Supine",
        prone: "Prone",
        left_side_down: "Left side down",
        right_side_down: "Right side down",
        seated: "Seated",
        lithotomy: "Lithotomy",
        seat_right: "At the patient's right",
        seat_left: "At the patient's left",
        image_left: "Image left",
        image_right: "Image right",
        image_top: "Image top",
        image_bottom: "Image bottom",
        everything: "Everything",
        organs: "Organs",
        vessels: "Heart and vessels",
        skeleton: "Skeleton",
        fluid: "Fluid-filled parts",
        only_chosen: "Chosen structure only",
        view_seat: "Examiner's seat",
        view_feet: "From the feet",
        view_left: "From the patient's left",
        view_above: "From above",
        view_window: "Close to the probe",
        adult_female: "Adult woman",
        adult_male: "Adult man",
        infant_head: "Newborn's head",
        long_axis: "long axis",
        short_axis: "short axis",
        oblique_axis: "oblique",
    }
}
