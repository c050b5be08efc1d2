//! The keyboard map of the body view: one table for handling and for the help panel.
//!
//! Keys act only while the body view has the focus (WCAG 2.2, 2.1.4), and Tab and Escape are never taken
//! (2.1.2). Letters are matched by what they type, not by where they lie.

use picture::Knob;

use crate::action::{Action, Movement, SlideAxis, Step, Way};
use crate::examine::Examine;
use crate::scene::CameraPreset;
use crate::texts::{KeyTexts, Texts};
use crate::why::Ask;

/// A key press as a browser reports it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeyPress<'a> {
    /// `KeyboardEvent.key`.
    pub key: &'a str,
    /// Shift is down.
    pub shift: bool,
    /// Control, or Command on Apple keyboards, is down.
    pub control: bool,
    /// Alt is down.
    pub alt: bool,
}

/// What a key does, apart from how far.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Deed {
    Slide(SlideAxis, Way),
    Move(Movement, Way),
    Depth(Way),
    Reverse,
    Quarter(Way),
    SwapMark,
    SwitchPicture,
    Gain(Way),
    Why,
    Volume,
    Orbit {
        azimuth_deg: f64,
        elevation_deg: f64,
    },
    Zoom(f64),
    Preset(CameraPreset),
    Reset,
    Undo,
    Redo,
    Freeze,
    Annotate,
    Acquire,
    Review(Way),
    Help,
}

/// How a row of the table is pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Chord {
    /// The key alone; Shift makes the step coarse, Alt fine, where there are steps.
    Plain,
    /// With Control or Command.
    Control,
    /// With Control or Command, and Shift.
    ControlShift,
}

struct Row {
    key: &'static str,
    chord: Chord,
    deed: Deed,
    words: fn(&KeyTexts) -> &'static str,
}

const fn plain(key: &'static str, deed: Deed, words: fn(&KeyTexts) -> &'static str) -> Row {
    Row {
        key,
        chord: Chord::Plain,
        deed,
        words,
    }
}

const TURN_DEG: f64 = 10.0;
const ZOOM: f64 = 0.85;

static TABLE: &[Row] = &[
    plain(
        "ArrowUp",
        Deed::Slide(SlideAxis::TwelveOClock, Way::Forward),
        |t| t.slide_twelve,
    ),
    plain(
        "ArrowDown",
        Deed::Slide(SlideAxis::TwelveOClock, Way::Back),
        |t| t.slide_six,
    ),
    plain(
        "ArrowRight",
        Deed::Slide(SlideAxis::ThreeOClock, Way::Forward),
        |t| t.slide_three,
    ),
    plain(
        "ArrowLeft",
        Deed::Slide(SlideAxis::ThreeOClock, Way::Back),
        |t| t.slide_nine,
    ),
    plain("h", Deed::Slide(SlideAxis::Notch, Way::Forward), |t| {
        t.slide_notch
    }),
    plain("g", Deed::Slide(SlideAxis::Notch, Way::Back), |t| {
        t.slide_tail
    }),
    plain("j", Deed::Slide(SlideAxis::Across, Way::Forward), |t| {
        t.sweep_forward
    }),
    plain("f", Deed::Slide(SlideAxis::Across, Way::Back), |t| {
        t.sweep_back
    }),
    plain("e", Deed::Move(Movement::Rotate, Way::Forward), |t| {
        t.rotate_clockwise
    }),
    plain("q", Deed::Move(Movement::Rotate, Way::Back), |t| {
        t.rotate_anticlockwise
    }),
    plain("w", Deed::Move(Movement::Tilt, Way::Forward), |t| {
        t.tilt_forward
    }),
    plain("s", Deed::Move(Movement::Tilt, Way::Back), |t| t.tilt_back),
    plain("d", Deed::Move(Movement::Rock, Way::Forward), |t| {
        t.rock_forward
    }),
    plain("a", Deed::Move(Movement::Rock, Way::Back), |t| t.rock_back),
    plain("x", Deed::Move(Movement::Compress, Way::Forward), |t| {
        t.press_in
    }),
    plain("z", Deed::Move(Movement::Compress, Way::Back), |t| {
        t.press_out
    }),
    plain("n", Deed::Reverse, |t| t.reverse_notch),
    plain("t", Deed::Quarter(Way::Forward), |t| t.quarter_clockwise),
    plain("r", Deed::Quarter(Way::Back), |t| t.quarter_anticlockwise),
    plain("m", Deed::SwapMark, |t| t.swap_mark),
    plain("v", Deed::SwitchPicture, |t| t.switch_picture),
    plain("6", Deed::Volume, |t| t.volume),
    plain("y", Deed::Why, |t| t.why),
    plain(".", Deed::Gain(Way::Forward), |t| t.more_gain),
    plain(",", Deed::Gain(Way::Back), |t| t.less_gain),
    plain("]", Deed::Depth(Way::Forward), |t| t.deeper),
    plain("[", Deed::Depth(Way::Back), |t| t.shallower),
    plain("1", Deed::Preset(CameraPreset::ExaminerSeat), |t| {
        t.view_seat
    }),
    plain("2", Deed::Preset(CameraPreset::FromFeet), |t| t.view_feet),
    plain("3", Deed::Preset(CameraPreset::FromLeft), |t| t.view_left),
    plain("4", Deed::Preset(CameraPreset::FromAbove), |t| t.view_above),
    plain("5", Deed::Preset(CameraPreset::ToWindow), |t| t.view_window),
    plain(
        "i",
        Deed::Orbit {
            azimuth_deg: 0.0,
            elevation_deg: TURN_DEG,
        },
        |t| t.orbit_up,
    ),
    plain(
        "k",
        Deed::Orbit {
            azimuth_deg: 0.0,
            elevation_deg: -TURN_DEG,
        },
        |t| t.orbit_down,
    ),
    plain(
        "u",
        Deed::Orbit {
            azimuth_deg: -TURN_DEG,
            elevation_deg: 0.0,
        },
        |t| t.orbit_left,
    ),
    plain(
        "o",
        Deed::Orbit {
            azimuth_deg: TURN_DEG,
            elevation_deg: 0.0,
        },
        |t| t.orbit_right,
    ),
    plain("+", Deed::Zoom(ZOOM), |t| t.nearer),
    plain("-", Deed::Zoom(1.0 / ZOOM), |t| t.farther),
    Row {
        key: "z",
        chord: Chord::Control,
        deed: Deed::Undo,
        words: |t| t.undo,
    },
    Row {
        key: "z",
        chord: Chord::ControlShift,
        deed: Deed::Redo,
        words: |t| t.redo,
    },
    Row {
        key: "y",
        chord: Chord::Control,
        deed: Deed::Redo,
        words: |t| t.redo,
    },
    plain("Home", Deed::Reset, |t| t.reset),
    plain("p", Deed::Freeze, |t| t.examine.freeze),
    plain("l", Deed::Annotate, |t| t.examine.annotate),
    plain("b", Deed::Acquire, |t| t.examine.acquire),
    plain("9", Deed::Review(Way::Back), |t| t.examine.previous),
    plain("0", Deed::Review(Way::Forward), |t| t.examine.next),
    plain("?", Deed::Help, |t| t.help),
];

/// What the shell should do about a key.
#[derive(Debug, Clone)]
pub enum KeyAnswer {
    /// Hand this action to `update` and keep the key from the browser. Held keys repeat; the
    /// interaction ends when the key is released.
    Act(Action),
    /// Show the keyboard help.
    Help,
    /// Go to the annotation line.
    Annotate,
    /// Acquire the picture; the shell knows what time it is.
    Acquire,
    /// Not ours: leave it to the browser.
    Leave,
}

/// What a key press in the focused body view means. `mark` is the side the mark is shown at now.
#[must_use]
pub fn answer(press: KeyPress<'_>, mark: geometry::MarkSide) -> KeyAnswer {
    let Some(row) = TABLE.iter().find(|row| row.takes(press)) else {
        return KeyAnswer::Leave;
    };
    let step = match (press.shift, press.alt) {
        (true, _) => Step::Coarse,
        (false, true) => Step::Fine,
        (false, false) => Step::Usual,
    };
    KeyAnswer::Act(match row.deed {
        Deed::Slide(axis, way) => Action::SlideStep(axis, way, step),
        Deed::Move(movement, way) => Action::MovementStep(movement, way, step),
        Deed::Depth(way) => Action::DepthStep(way),
        Deed::Reverse => Action::ReverseNotch,
        Deed::Quarter(way) => Action::QuarterTurn(way),
        Deed::SwapMark => Action::SetMark(mark.opposite()),
        Deed::SwitchPicture => Action::SwitchPicture,
        Deed::Volume => Action::SwitchVolume,
        Deed::Why => Action::AskWhy(Ask::Plane),
        Deed::Gain(way) => Action::KnobStep(Knob::Gain, way),
        Deed::Orbit {
            azimuth_deg,
            elevation_deg,
        } => Action::TurnCamera {
            azimuth_deg,
            elevation_deg,
        },
        Deed::Zoom(factor) => Action::ZoomCamera(factor),
        Deed::Preset(preset) => Action::Camera(preset),
        Deed::Reset => Action::Reset,
        Deed::Undo => Action::Undo,
        Deed::Redo => Action::Redo,
        Deed::Freeze => Action::Examine(Examine::SwitchFreeze),
        Deed::Review(way) => Action::Examine(Examine::ReviewStep(way)),
        Deed::Annotate => return KeyAnswer::Annotate,
        Deed::Acquire => return KeyAnswer::Acquire,
        Deed::Help => return KeyAnswer::Help,
    })
}

impl Row {
    fn takes(&self, press: KeyPress<'_>) -> bool {
        let letter = self.key.len() == 1 && self.key.chars().all(|c| c.is_ascii_lowercase());
        let same = if letter {
            press.key.eq_ignore_ascii_case(self.key)
        } else {
            press.key == self.key
        };
        let chord = match self.chord {
            // Alt with a letter types another character on many keyboards, so only arrows arrive as such;
            // Alt with the left and right arrows is the browser's, to go back and forward.
            Chord::Plain => !(press.control || press.alt && self.is_history_key()),
            Chord::Control => press.control && !press.shift && !press.alt,
            Chord::ControlShift => press.control && press.shift && !press.alt,
        };
        same && chord
    }

    fn is_history_key(&self) -> bool {
        matches!(self.key, "ArrowLeft" | "ArrowRight" | "Home")
    }

    fn takes_steps(&self) -> bool {
        matches!(self.deed, Deed::Slide(..) | Deed::Move(..))
    }
}

/// One line of the keyboard help.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyHelp {
    /// The keys in words: "Control + Z".
    pub keys: String,
    /// What they do.
    pub words: &'static str,
    /// Whether Shift makes the step bigger.
    pub has_steps: bool,
}

/// The whole map, in the order of the help panel.
#[must_use]
pub fn help(texts: &Texts) -> Vec<KeyHelp> {
    TABLE
        .iter()
        .map(|row| {
            let name = match row.key {
                "ArrowUp" => texts.keys.arrow_up.to_owned(),
                "ArrowDown" => texts.keys.arrow_down.to_owned(),
                "ArrowLeft" => texts.keys.arrow_left.to_owned(),
                "ArrowRight" => texts.keys.arrow_right.to_owned(),
                other => other.to_uppercase(),
            };
            let keys = match row.chord {
                Chord::Plain => name,
                Chord::Control => format!("{} + {name}", texts.keys.control),
                Chord::ControlShift => {
                    format!("{} + {} + {name}", texts.keys.control, texts.keys.shift)
                }
            };
            KeyHelp {
                keys,
                words: (row.words)(&texts.keys),
                has_steps: row.takes_steps(),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::MarkSide;

    fn press(key: &str) -> KeyPress<'_> {
        KeyPress {
            key,
            shift: false,
            control: false,
            alt: false,
        }
    }

    #[test]
    fn every_row_answers_to_its_own_key_and_no_two_share_one() {
        for (place, row) in TABLE.iter().enumerate() {
            let mut pressed = press(row.key);
            pressed.control = row.chord != Chord::Plain;
            pressed.shift = row.chord == Chord::ControlShift;
            let first = TABLE.iter().position(|other| other.takes(pressed));
            assert_eq!(first, Some(place), "{}", row.key);
        }
    }

    #[test]
    fn nothing_is_trapped() {
        for key in ["Tab", "Escape", "Enter", " ", "PageDown", "F5", "F11", "c"] {
            for shift in [false, true] {
                let left = answer(
                    KeyPress {
                        shift,
                        ..press(key)
                    },
                    MarkSide::Left,
                );
                assert!(matches!(left, KeyAnswer::Leave), "{key}: {left:?}");
            }
        }
        // The browser's own: copy, reload, back.
        for key in ["c", "r", "t", "w", "n", "f", "+", "-", "1"] {
            let left = answer(
                KeyPress {
                    control: true,
                    ..press(key)
                },
                MarkSide::Left,
            );
            assert!(matches!(left, KeyAnswer::Leave), "control {key}: {left:?}");
        }
        let back = answer(
            KeyPress {
                alt: true,
                ..press("ArrowLeft")
            },
            MarkSide::Left,
        );
        assert!(matches!(back, KeyAnswer::Leave), "{back:?}");
    }

    #[test]
    fn shift_makes_steps_coarse() {
        let coarse = answer(
            KeyPress {
                shift: true,
                ..press("E")
            },
            MarkSide::Left,
        );
        assert!(
            matches!(
                coarse,
                KeyAnswer::Act(Action::MovementStep(
                    Movement::Rotate,
                    Way::Forward,
                    Step::Coarse
                ))
            ),
            "{coarse:?}"
        );
        let swapped = answer(press("m"), MarkSide::Left);
        assert!(
            matches!(swapped, KeyAnswer::Act(Action::SetMark(MarkSide::Right))),
            "{swapped:?}"
        );
        assert!(matches!(
            answer(press("?"), MarkSide::Left),
            KeyAnswer::Help
        ));
    }

    #[test]
    fn help_lists_every_key_once_with_words() {
        let lines = help(&Texts::english());
        assert_eq!(lines.len(), TABLE.len());
        for (place, line) in lines.iter().enumerate() {
            assert!(!line.words.is_empty(), "{}", line.keys);
            let again = lines
                .iter()
                .skip(place + 1)
                .any(|other| other.keys == line.keys);
            assert!(!again, "{} twice", line.keys);
        }
    }
}
