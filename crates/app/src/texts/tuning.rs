//! The knobs of the grey-scale picture.

use wording::wording;

wording! {
    /// Words of the picture settings.
    pub struct TuningTexts {
        /// Heading of the group.
        title: "Picture settings",
        /// What the knobs are good for, while the section in flat colours is shown.
        only_grey: "These settings change the grey-scale picture. The section in flat colours stays as it is.",
        /// Button beside it.
        show_grey: "Show grey-scale",
        /// Button that gives every knob back to transducer and depth.
        reset: "Reset picture settings",
        /// Behind the heading, once a knob was turned.
        turned: "changed",
        /// Gain, dynamic range, frequency, focus, compensation.
        knobs: [KnobTexts; 5] = KNOBS,
        /// Heading of the sliders.
        time_gain: "Time-gain compensation",
        /// What they do.
        time_gain_meaning: "Each slider makes the echoes around its depth brighter or darker.",
        /// Shown name of one slider: its depth in cm.
        slider: "{} cm",
        /// Name of one slider read aloud: its depth in cm.
        slider_label: "Time gain at {} cm",
        /// Units as read aloud: MHz, mm, dB, dB/(cm MHz).
        unit_words: [
            "megahertz",
            "millimetres",
            "decibels",
            "decibels per centimetre and megahertz",
        ],
    }
}

wording! {
    /// Name and meaning of a knob.
    pub struct KnobTexts {
        /// Its name.
        name: "Gain",
        /// What turning it does, in one sentence.
        meaning: "Makes all echoes brighter or darker alike.",
    }
}

/// Gain, dynamic range, frequency, focus, compensation.
const KNOBS: [KnobTexts; 5] = [
    KnobTexts::ENGLISH,
    KnobTexts {
        name: "Dynamic range",
        meaning: "Wider shows more shades of grey; narrower gives more contrast.",
    },
    KnobTexts {
        name: "Frequency",
        meaning: "Higher shows finer detail and reaches less deep.",
    },
    KnobTexts {
        name: "Focus",
        meaning: "The beam is narrowest at this depth, and detail across it is finest there.",
    },
    KnobTexts {
        name: "Depth compensation",
        meaning: "Lifts deep echoes by as much as tissue takes from them on the way.",
    },
];
