//! Sentences about the probe and its plane.

use geometry::{
    Angle, BodyPlane, Direction, ImageSide, Mm, ObliqueKind, Patient, PlaneName, PlaneNaming, Pose,
    SagittalOffset, SideName, Sides, screen_threshold,
};
use wording::form;

use super::spoken_degrees;
use super::table::PictureWords;

/// Below this a beam is straight, and a plane exact: half of the 5 degrees that angles are rounded to.
const STRAIGHT: Angle = Angle::deg(2.5);

/// Part of the sideways lean that a second side must have to be named with it (about 27 degrees around the clock).
const SECOND_LEAN: f64 = 0.45;

impl PictureWords {
    /// "Notch toward the head (12 o'clock)." The clock face is the one seen by who looks at that skin from outside.
    #[must_use]
    pub fn notch(&self, pose: &Pose, tolerance: Angle) -> String {
        let toward: Vec<&str> = SideName::of(pose.notch_on_skin())
            .parts(screen_threshold(tolerance))
            .map(|(side, _)| self.toward(side))
            .collect();
        let clock = self.clock(pose.notch_clock_hours());
        form(self.notch, &[&self.list(&toward), &clock])
    }

    /// "12 o'clock", "half past 10": the clock to the nearest half hour.
    fn clock(&self, hours: f64) -> String {
        let halves = (hours * 2.0).round() % 24.0;
        let hour = (halves / 2.0).floor();
        let named = if hour < 1.0 { 12.0 } else { hour };
        let pattern = if halves % 2.0 < 1.0 {
            self.hour
        } else {
            self.half_past
        };
        let number = format!("{named:.0}");
        let forms = self
            .plurals
            .pick(pattern, number.parse().unwrap_or_default());
        form(forms, &[&number])
    }

    /// "Beam straight back." or "Beam back, 30° toward the feet."
    #[must_use]
    pub fn beam(&self, beam: Direction<Patient>) -> String {
        let name = SideName::of(beam);
        let mut parts = name.parts(0.0);
        let main = self.beam_way(name.dominant());
        let size = parts.next().map_or(1.0, |(_, size)| size);
        let off = Angle::acos(size);
        if off < STRAIGHT {
            return form(self.beam_straight, &[main]);
        }
        let lean = off.sin();
        let leaning: Vec<&str> = parts
            .filter(|(_, size)| *size > SECOND_LEAN * lean)
            .map(|(side, _)| self.toward(side))
            .collect();
        form(
            self.beam_leaning,
            &[main, &degrees(off), &leaning.join(self.lean_and)],
        )
    }

    /// "Pressed in 5 mm."; nothing under half a millimetre.
    #[must_use]
    pub fn press(&self, press: Mm) -> Option<String> {
        (press.get() >= 0.5).then(|| form(self.pressed, &[&whole(press)]))
    }

    /// "Mid-sagittal plane.", "Transverse plane, 10° toward coronal.", "Longitudinal oblique plane: 40° from sagittal,
    /// 50° from coronal."
    #[must_use]
    pub fn plane(&self, naming: &PlaneNaming, offset: SagittalOffset) -> String {
        match naming.name {
            PlaneName::Named(plane) => {
                let name = match (plane, offset) {
                    (BodyPlane::Sagittal, SagittalOffset::MidSagittal) => {
                        self.mid_sagittal.to_owned()
                    }
                    (BodyPlane::Sagittal, SagittalOffset::Right(mm)) => {
                        form(self.right_parasagittal, &[&whole(mm)])
                    }
                    (BodyPlane::Sagittal, SagittalOffset::Left(mm)) => {
                        form(self.left_parasagittal, &[&whole(mm)])
                    }
                    (BodyPlane::Coronal, _) => self.coronal.to_owned(),
                    (BodyPlane::Transverse, _) => self.transverse.to_owned(),
                };
                let off = naming.angles.get(plane);
                if off < STRAIGHT {
                    return form(self.plane, &[&name]);
                }
                let [_, second, _] = naming.angles.nearest();
                form(
                    self.plane_leaning,
                    &[&name, &degrees(off), self.plane_word(second)],
                )
            }
            PlaneName::Oblique(oblique) => {
                let [near, next] = oblique.between;
                let kind = match (oblique.double, oblique.kind) {
                    (true, ObliqueKind::Longitudinal) => self.double_longitudinal,
                    (true, ObliqueKind::Transverse) => self.double_transverse,
                    (false, ObliqueKind::Longitudinal) => self.longitudinal_oblique,
                    (false, ObliqueKind::Transverse) => self.transverse_oblique,
                };
                form(
                    self.plane_oblique,
                    &[
                        kind,
                        &degrees(naming.angles.get(near)),
                        self.plane_word(near),
                        &degrees(naming.angles.get(next)),
                        self.plane_word(next),
                    ],
                )
            }
        }
    }

    /// "Image left: head end. Image right: foot end. Image top: front. Image bottom: back."
    #[must_use]
    pub fn sides(&self, sides: &Sides, tolerance: Angle) -> String {
        let threshold = screen_threshold(tolerance);
        let parts: Vec<String> = ImageSide::ALL
            .into_iter()
            .map(|side| {
                let ends = self.ends(sides.get(side), threshold);
                form(self.image_side(side), &[&ends])
            })
            .collect();
        parts.join(" ")
    }
}

fn degrees(angle: Angle) -> String {
    format!("{:.0}", spoken_degrees(angle))
}

fn whole(length: Mm) -> String {
    format!("{:.0}", length.get())
}

/// [`PictureWords::notch`] in English.
#[must_use]
pub fn notch_sentence(pose: &Pose, tolerance: Angle) -> String {
    PictureWords::ENGLISH.notch(pose, tolerance)
}

/// [`PictureWords::beam`] in English.
#[must_use]
pub fn beam_sentence(beam: Direction<Patient>) -> String {
    PictureWords::ENGLISH.beam(beam)
}

/// [`PictureWords::press`] in English.
#[must_use]
pub fn press_sentence(press: Mm) -> Option<String> {
    PictureWords::ENGLISH.press(press)
}

/// [`PictureWords::plane`] in English.
#[must_use]
pub fn plane_sentence(naming: &PlaneNaming, offset: SagittalOffset) -> String {
    PictureWords::ENGLISH.plane(naming, offset)
}

/// [`PictureWords::sides`] in English.
#[must_use]
pub fn sides_sentence(sides: &Sides, tolerance: Angle) -> String {
    PictureWords::ENGLISH.sides(sides, tolerance)
}
