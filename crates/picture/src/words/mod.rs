//! The pose and the section in words, made from the same values as the picture.
//!
//! Three things can be had: every sentence by itself (so that a question can hold back the one it asks for), all of
//! them as one text, and the section as rows of a table. Sentences are short; "left" and "right" always say whose;
//! angles are rounded to 5 degrees, lengths to 1 mm. All words are in the table
//! [`PictureWords`]; the functions without a table speak English.

mod pose;
mod section;
mod table;

pub use pose::{beam_sentence, notch_sentence, plane_sentence, press_sentence, sides_sentence};
pub use section::{Across, Lumen, MOST_NAMED, Row, part_name, picture_sentence, rows};
pub use table::PictureWords;

use anatomy::{Body, SkinPlace};
use geometry::{Angle, ImagePlane, Pose, Sides, name_plane, sagittal_offset};
use wording::form;

use crate::contents::Contents;
use crate::field::{BeamPoint, Field};

/// What is described.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// The body.
    pub body: &'a Body,
    /// Where the probe is.
    pub pose: &'a Pose,
    /// The image plane of that pose in the convention in use.
    pub plane: &'a ImagePlane,
    /// The field of view.
    pub field: &'a Field,
    /// What it shows.
    pub contents: &'a Contents,
    /// Tolerance for the plane's name and the names of the sides.
    pub tolerance: Angle,
}

/// The scene in sentences, each ending with a full stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Description {
    /// "Probe on the front of the upper abdomen, 20 mm left of the mid-line."
    pub place: String,
    /// "Notch toward the head (12 o'clock)."
    pub notch: String,
    /// "Beam straight back."
    pub beam: String,
    /// "Pressed in 5 mm."; `None` without pressure.
    pub press: Option<String>,
    /// "Mid-sagittal plane."
    pub plane: String,
    /// "Image left: head end. Image right: foot end. ..."
    pub sides: String,
    /// "In the picture from the top: skin, liver left lobe, aorta in long axis, L1 vertebra."
    pub picture: String,
    /// What the picture shows, one structure a row, near to far.
    pub rows: Vec<Row>,
}

impl Description {
    /// Everything as one text.
    #[must_use]
    pub fn text(&self) -> String {
        let mut parts = vec![self.place.as_str(), &self.notch, &self.beam];
        parts.extend(self.press.as_deref());
        parts.extend([self.plane.as_str(), &self.sides, &self.picture]);
        parts.join(" ")
    }

    /// The probe alone: place, notch, beam and pressure.
    #[must_use]
    pub fn pose_text(&self) -> String {
        let mut parts = vec![self.place.as_str(), &self.notch, &self.beam];
        parts.extend(self.press.as_deref());
        parts.join(" ")
    }
}

/// Puts a scene into English words.
#[must_use]
pub fn describe(scene: &Scene<'_>) -> Description {
    PictureWords::ENGLISH.describe(scene)
}

impl PictureWords {
    /// Puts a scene into words.
    #[must_use]
    pub fn describe(&self, scene: &Scene<'_>) -> Description {
        let middle = scene.field.image_point(BeamPoint {
            beam: 0.0,
            depth_mm: scene.field.depth().get() / 2.0,
        });
        let naming = name_plane(scene.plane.normal(), scene.tolerance);
        let at = scene.body.skin().nearest(scene.pose.contact());
        let rows = self.rows(scene.body, scene.field, scene.contents);
        Description {
            place: self.place(&scene.body.place(&at)),
            notch: self.notch(scene.pose, scene.tolerance),
            beam: self.beam(scene.pose.axes().depth),
            press: self.press(scene.pose.press()),
            plane: self.plane(&naming, sagittal_offset(scene.plane, middle)),
            sides: self.sides(&Sides::of(scene.plane), scene.tolerance),
            picture: self.picture(scene.field, scene.contents, &rows),
            rows,
        }
    }

    /// "Probe on the front of the upper abdomen, 20 mm left of the mid-line."
    #[must_use]
    pub fn place(&self, place: &SkinPlace) -> String {
        form(self.probe, &[&self.places.place(place)])
    }
}

/// Degrees as said aloud, to the nearest 5.
fn spoken_degrees(angle: Angle) -> f64 {
    (angle.to_deg() / 5.0).round() * 5.0
}
