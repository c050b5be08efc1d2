//! The probe in numbers: movements, the notch on its clock, the place of contact.

use geometry::{ImageSide, SideName, Sides};

use crate::action::Movement;
use crate::state::State;
use crate::texts::{MovementTexts, Texts, fill};
use crate::update::{DEEPEST_PRESS_MM, STEEPEST_DEG, movement_value, usual_step};

/// One movement, for a slider, a number box and two buttons.
#[derive(Debug, Clone, PartialEq)]
pub struct MovementView {
    /// Which.
    pub movement: Movement,
    /// Its words.
    pub texts: MovementTexts,
    /// Value in `unit`, rounded to a tenth.
    pub value: f64,
    /// Least value of the control.
    pub least: f64,
    /// Greatest value of the control.
    pub most: f64,
    /// One usual step.
    pub step: f64,
    /// "°" or "mm".
    pub unit: &'static str,
    /// The value in words for a screen reader: "30°, notch toward the patient's right".
    pub value_text: String,
}

/// The notch on the clock of the skin, seen from outside.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockView {
    /// Clockwise from twelve, 0 to 360 degrees, not rounded: for the hand of the dial.
    pub degrees: f64,
    /// Where the notch points along the skin: "head end".
    pub toward: String,
    /// "12 o'clock", "10:30".
    pub hours: String,
    /// What twelve, three, six and nine o'clock point to, as letters.
    pub letters: [String; 4],
    /// The same in words.
    pub words: [String; 4],
    /// What the notch does to the picture: "Image left is the notch's side. It shows: head end."; empty while a question asks
    /// for it.
    pub follows: String,
}

/// The probe's panel.
#[derive(Debug, Clone, PartialEq)]
pub struct ProbeView {
    /// Rotate, tilt, rock, compress.
    pub movements: [MovementView; 4],
    /// The dial.
    pub clock: ClockView,
    /// Contact point, patient frame: "4 mm left, 116 mm in front, 120 mm toward the head of the origin …".
    pub contact: String,
    /// Where on the body: "front of the upper abdomen, 9 mm left of the mid-line".
    pub place: Option<String>,
}

fn tenth(value: f64) -> f64 {
    let rounded = (value * 10.0).round() / 10.0;
    // No negative zero in a number box.
    if rounded == 0.0 { 0.0 } else { rounded }
}

pub(super) fn probe_view(state: &State, texts: &Texts) -> ProbeView {
    ProbeView {
        movements: Movement::ALL.map(|movement| movement_view(state, movement, texts)),
        clock: clock_view(state, texts),
        contact: contact_text(state, texts),
        place: super::words::place(state).map(|place| texts.pictures.places.place(&place)),
    }
}

fn movement_view(state: &State, movement: Movement, texts: &Texts) -> MovementView {
    let value = match (movement, tenth(movement_value(state.pose(), movement))) {
        // A full turn is none.
        (Movement::Rotate, 360.0) => 0.0,
        (_, value) => value,
    };
    let (least, most, unit) = match movement {
        Movement::Rotate => (0.0, 360.0, texts.units.degrees),
        Movement::Tilt | Movement::Rock => (-STEEPEST_DEG, STEEPEST_DEG, texts.units.degrees),
        Movement::Compress => (0.0, DEEPEST_PRESS_MM, texts.units.mm),
    };
    // A window may hold the probe more steeply than a hand may set it; its control reaches as far.
    let (least, most) = (least.min(value), most.max(value));
    MovementView {
        movement,
        texts: *texts.movement(movement),
        value,
        least,
        most,
        step: usual_step(movement),
        unit,
        value_text: value_text(state, movement, value, texts),
    }
}

fn value_text(state: &State, movement: Movement, value: f64, texts: &Texts) -> String {
    let threshold = geometry::screen_threshold(state.tolerance());
    let (pose, words) = (state.pose(), &texts.probe);
    let number = value.to_string().replace('.', texts.units.decimal);
    let said = |pattern: &str, side: &SideName| {
        fill(pattern, &[&number, &texts.pictures.ways(side, threshold)])
    };
    match movement {
        Movement::Compress => format!("{number} {}", texts.units.mm),
        Movement::Rotate => said(words.notch_toward, &SideName::of(pose.notch_on_skin())),
        Movement::Tilt | Movement::Rock if value.abs() < 0.05 => fill(words.straight, &[&number]),
        Movement::Tilt => {
            // Where the beam has swung: across the plane, to the side of the untilted elevation axis.
            let across = (-pose.normal()).cross(pose.notch_on_skin());
            let across = if value < 0.0 { -across } else { across };
            let toward = across.direction().unwrap_or(pose.normal());
            said(words.beam_toward, &SideName::of(toward))
        }
        Movement::Rock => {
            let pattern = if value > 0.0 {
                words.rocked_to_notch
            } else {
                words.rocked_from_notch
            };
            said(pattern, &SideName::of(pose.axes().depth))
        }
    }
}

fn clock_view(state: &State, texts: &Texts) -> ClockView {
    let pose = state.pose();
    let threshold = geometry::screen_threshold(state.tolerance());
    let (twelve, three) = geometry::clock_face(pose.normal());
    let quarters = [twelve, three, -twelve, -three].map(SideName::of);
    ClockView {
        degrees: pose.rotation().to_deg(),
        toward: texts
            .sides
            .words(&SideName::of(pose.notch_on_skin()), threshold),
        hours: hours_text(pose.notch_clock_hours(), texts),
        letters: quarters.map(|side| side.letters(threshold)),
        words: quarters.map(|side| texts.sides.words(&side, threshold)),
        follows: follows(state, threshold, texts),
    }
}

/// The one thing to understand about the notch, true of the picture on show.
fn follows(state: &State, threshold: f64, texts: &Texts) -> String {
    let side = super::notch_side(state);
    let image_side = match side {
        ImageSide::Right => texts.choices.image_right,
        _ => texts.choices.image_left,
    };
    let plane = state.plane();
    let sides = Sides::of(&plane);
    let shown = texts.sides.words(sides.get(side), threshold);
    fill(texts.probe.follows, &[image_side, &shown])
}

/// "9 o'clock" or "10:30", to the nearest five minutes of the clock, which is two and a half degrees.
fn hours_text(hours: f64, texts: &Texts) -> String {
    let fives = (hours * 12.0).round().rem_euclid(144.0);
    let hour = (fives / 12.0).floor();
    let minutes = (fives - hour * 12.0) * 5.0;
    let hour = if hour < 1.0 { 12.0 } else { hour };
    if minutes < 1.0 {
        let number = format!("{hour:.0}");
        let pattern = texts.counted(texts.probe.hour, number.parse().unwrap_or_default());
        fill(pattern, &[&number])
    } else {
        format!("{hour:.0}:{minutes:02.0}")
    }
}

fn contact_text(state: &State, texts: &Texts) -> String {
    let words = &texts.probe;
    let [x, y, z] = state.pose().contact().to_array();
    let part = |value: f64, [positive, negative]: [&str; 2]| {
        let pattern = if value < 0.0 { negative } else { positive };
        fill(pattern, &[&format!("{:.0}", value.abs())])
    };
    let parts = [
        part(x, words.left_right),
        part(y, words.behind_before),
        part(z, words.head_foot),
    ];
    fill(words.contact, &[&parts[0], &parts[1], &parts[2]])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_reads_as_a_clock() {
        for (hours, text) in [
            (0.0, "12 o'clock"),
            (11.99, "12 o'clock"),
            (9.0, "9 o'clock"),
            (10.5, "10:30"),
            (0.25, "12:15"),
        ] {
            assert_eq!(hours_text(hours, &Texts::english()), text, "{hours}");
        }
    }
}
