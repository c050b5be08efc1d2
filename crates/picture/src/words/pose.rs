//! Sentences about the probe and its plane.

use geometry::{
    Angle, BodyPlane, Direction, ImageSide, Mm, ObliqueKind, Patient, PatientSide, PlaneName,
    PlaneNaming, Pose, SagittalOffset, SideName, Sides, screen_threshold,
};

use super::spoken_degrees;

/// Below this a beam is straight, and a plane exact: half of the 5 degrees that angles are rounded to.
const STRAIGHT: Angle = Angle::deg(2.5);

/// Part of the sideways lean that a second side must have to be named with it (about 27 degrees around the clock).
const SECOND_LEAN: f64 = 0.45;

/// "Notch toward the head (12 o'clock)." The clock face is the one seen by who looks at that skin from outside.
#[must_use]
pub fn notch_sentence(pose: &Pose, tolerance: Angle) -> String {
    let toward = SideName::of(pose.notch_on_skin()).words(screen_threshold(tolerance));
    format!(
        "Notch toward the {toward} ({}).",
        clock_words(pose.notch_clock_hours())
    )
}

/// "12 o'clock", "half past 10": the clock to the nearest half hour.
fn clock_words(hours: f64) -> String {
    let halves = (hours * 2.0).round() % 24.0;
    let hour = (halves / 2.0).floor();
    let named = if hour < 1.0 { 12.0 } else { hour };
    if halves % 2.0 < 1.0 {
        format!("{named:.0} o'clock")
    } else {
        format!("half past {named:.0}")
    }
}

/// "Beam straight back." or "Beam back, 30° toward the feet."
#[must_use]
pub fn beam_sentence(beam: Direction<Patient>) -> String {
    let name = SideName::of(beam);
    let mut parts = name.parts(0.0);
    let main = name.dominant();
    let size = parts.next().map_or(1.0, |(_, size)| size);
    let off = Angle::acos(size);
    if off < STRAIGHT {
        return format!("Beam straight {}.", way(main));
    }
    let lean = off.sin();
    let leaning: Vec<&str> = parts
        .filter(|(_, size)| *size > SECOND_LEAN * lean)
        .map(|(side, _)| side.words())
        .collect();
    format!(
        "Beam {}, {:.0}° toward the {}.",
        way(main),
        spoken_degrees(off),
        leaning.join(" and the ")
    )
}

fn way(side: PatientSide) -> &'static str {
    match side {
        PatientSide::Posterior => "back",
        PatientSide::Anterior => "forward",
        PatientSide::Right => "toward the patient's right",
        PatientSide::Left => "toward the patient's left",
        PatientSide::Head => "toward the head",
        PatientSide::Foot => "toward the feet",
    }
}

/// "Pressed in 5 mm."; nothing under half a millimetre.
#[must_use]
pub fn press_sentence(press: Mm) -> Option<String> {
    (press.get() >= 0.5).then(|| format!("Pressed in {:.0} mm.", press.get()))
}

/// "Mid-sagittal plane.", "Transverse plane, 10° toward coronal.", "Longitudinal oblique plane: 40° from sagittal, 50°
/// from coronal."
#[must_use]
pub fn plane_sentence(naming: &PlaneNaming, offset: SagittalOffset) -> String {
    match naming.name {
        PlaneName::Named(plane) => {
            let name = match (plane, offset) {
                (BodyPlane::Sagittal, SagittalOffset::MidSagittal) => {
                    "Mid-sagittal plane".to_owned()
                }
                (BodyPlane::Sagittal, SagittalOffset::Right(mm)) => {
                    format!(
                        "Right parasagittal plane, {:.0} mm right of the mid-line",
                        mm.get()
                    )
                }
                (BodyPlane::Sagittal, SagittalOffset::Left(mm)) => {
                    format!(
                        "Left parasagittal plane, {:.0} mm left of the mid-line",
                        mm.get()
                    )
                }
                (BodyPlane::Coronal, _) => "Coronal plane".to_owned(),
                (BodyPlane::Transverse, _) => "Transverse plane".to_owned(),
            };
            let off = naming.angles.get(plane);
            if off < STRAIGHT {
                format!("{name}.")
            } else {
                let [_, second, _] = naming.angles.nearest();
                format!(
                    "{name}, {:.0}° toward {}.",
                    spoken_degrees(off),
                    second.word()
                )
            }
        }
        PlaneName::Oblique(oblique) => {
            let [near, next] = oblique.between;
            let kind = match (oblique.double, oblique.kind) {
                (true, ObliqueKind::Longitudinal) => "Double oblique plane, longitudinal",
                (true, ObliqueKind::Transverse) => "Double oblique plane, transverse",
                (false, ObliqueKind::Longitudinal) => "Longitudinal oblique plane",
                (false, ObliqueKind::Transverse) => "Transverse oblique plane",
            };
            format!(
                "{kind}: {:.0}° from {}, {:.0}° from {}.",
                spoken_degrees(naming.angles.get(near)),
                near.word(),
                spoken_degrees(naming.angles.get(next)),
                next.word()
            )
        }
    }
}

/// "Image left: head end. Image right: foot end. Image top: front. Image bottom: back."
#[must_use]
pub fn sides_sentence(sides: &Sides, tolerance: Angle) -> String {
    let threshold = screen_threshold(tolerance);
    let parts: Vec<String> = ImageSide::ALL
        .into_iter()
        .map(|side| {
            let ends: Vec<&str> = sides
                .get(side)
                .parts(threshold)
                .map(|(s, _)| end(s))
                .collect();
            format!("Image {}: {}.", side.word(), ends.join(" and "))
        })
        .collect();
    parts.join(" ")
}

/// A side of the body as the name of a side of the picture (plain words of the project's conventions).
fn end(side: PatientSide) -> &'static str {
    match side {
        PatientSide::Head => "head end",
        PatientSide::Foot => "foot end",
        PatientSide::Right => "patient's right",
        PatientSide::Left => "patient's left",
        PatientSide::Anterior => "front",
        PatientSide::Posterior => "back",
    }
}
