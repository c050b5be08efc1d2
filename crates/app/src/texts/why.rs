//! Answers to "why?".

use wording::wording;

wording! {
    /// Words of the answers. `{}` stands for what is put in, in the order given.
    pub struct WhyTexts {
        /// Button beside a name.
        ask: "Why?",
        /// The button beside the plane's name, read aloud.
        ask_plane: "Why? Name of the plane",
        /// A side of the picture as a button, read aloud after its name.
        ask_side: "Asks why this side has its name",
        /// The axis of a structure as a button, read aloud: axis, angle, structure.
        ask_axis: "{}, {}: why, for the {}?",
        /// Button for mark and notch.
        ask_mark: "Mark and notch",
        /// Heading of the panel, read aloud.
        panel: "Answer",
        /// Title for a plane: its name.
        plane_title: "Why {}?",
        /// Title for a side: image side, its words.
        side_title: "Why is {} the {}?",
        /// Title for an axis: axis, structure.
        axis_title: "Why {} of the {}?",
        /// Title for mark and notch.
        mark_title: "Mark and notch",
        /// Rule of plane names: tolerance.
        plane_rule: "A plane is called after the body plane it is nearest to, when it is off by no more than {}. \
                     Beyond that it is oblique.",
        /// What does not count.
        plane_counts: "Only the way the plane runs through the patient counts. How the patient lies, where the \
                       examiner sits and how far the beam is rocked change nothing.",
        /// Mid-sagittal.
        mid_sagittal: "Mid-sagittal: in the middle of the picture it is within 5 mm of the patient's mid-line.",
        /// Parasagittal: distance and side.
        parasagittal: "Parasagittal: in the middle of the picture it is {}. Up to 5 mm would be mid-sagittal.",
        /// Longitudinal oblique: angle between head–foot axis and plane.
        longitudinal: "Longitudinal: the head–foot axis is {} from the plane, and up to 45° it runs along the body.",
        /// Transverse oblique: angle between head–foot axis and plane.
        transverse: "Transverse: the head–foot axis is {} from the plane, and beyond 45° the plane runs across the \
                     body.",
        /// Double oblique.
        double: "Double: it is turned away from all three body planes.",
        /// What is drawn: body plane.
        plane_drawn: "In the body view the square swings out of the image plane into the {} plane.",
        /// Sources of plane names.
        plane_source: "Patient's axes: DICOM PS3.3 C.7.6.2.1.1. Tolerance, 5 mm and 45°: common practice, no source.",
        /// The notch's side: image side of the mark, image side, what the notch points to.
        side_notch: "The mark is at {}, so {} shows the notch side of the probe. The notch points to the {}.",
        /// The other side: image side of the mark, image side.
        side_tail: "The mark is at {}, so {} shows the end of the probe away from the notch.",
        /// The side of the face: image side.
        side_face: "The face of the probe is at {}. That is where the beam comes from.",
        /// The deep side: image side.
        side_deep: "The beam runs toward {}, away from the face of the probe.",
        /// How far a side is from an axis of the patient: angle, patient's side.
        side_angle: "{} from the direction of the {}.",
        /// When a side gets two names: angle.
        side_rule: "A side is named after every direction of the patient that it is within {} of, the nearest first.",
        /// Sources of the names of sides.
        side_source: "Letters: DICOM PS3.3 C.7.6.1.1.1. Mark at image left: common practice, no source.",
        /// Rule of axes.
        axis_rule: "Long axis: the plane is within 20° of the structure's own axis. Short axis: 70° or more from it, \
                    a cross-section. Between the two: oblique to the structure.",
        /// This structure: structure, angle.
        axis_here: "The axis of the {} is {} from the plane.",
        /// Body plane and axis told apart: body plane, structure.
        axis_apart: "That is a second answer. \"{}\" tells how the plane lies in the patient, and would stay the same \
                     without the {}.",
        /// Another structure of the same picture: structure, axis.
        axis_other: "The same picture shows the {} in {}.",
        /// What is drawn.
        axis_drawn: "The line in the body view is the structure's axis.",
        /// Sources of the limits.
        axis_source: "20° and 70°: common practice, no source.",
        /// Rule of mark and notch.
        mark_rule: "The mark on the screen and the notch on the probe are the same end of the picture. Turning the \
                    notch half way round mirrors the picture. Showing the mark at the other side mirrors it back.",
        /// Sources of it.
        mark_source: "It follows from the geometry. Which side the mark is shown at is common practice, no source: \
                      image left in most laboratories, image right in many echocardiography laboratories.",
        /// Button: turn the notch.
        try_notch: "Turn the notch by 180°",
        /// Button: swap the mark.
        try_mark: "Swap the mark",
        /// Caption of the picture as it is.
        before: "Now",
        /// Caption of the picture tried out.
        after: "Tried out",
        /// Nothing is tried yet.
        verdict_none: "Press one button, then both. The probe stays where it is.",
        /// Both together.
        verdict_same: "Both together: the same picture.",
        /// One alone.
        verdict_mirrored: "One alone: the mirror image. Image left and image right have changed places.",
        /// Button that closes the answer.
        close: "Close the answer",
    }
}
