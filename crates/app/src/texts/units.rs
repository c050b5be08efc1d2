//! Units.

use wording::wording;

wording! {
    /// Units after a number.
    pub struct UnitTexts {
        /// Between whole and tenths.
        decimal: ".",
        /// Millimetres.
        mm: "mm",
        /// Centimetres.
        cm: "cm",
        /// Square centimetres.
        cm2: "cm²",
        /// Square millimetres.
        mm2: "mm²",
        /// Percent.
        percent: "%",
        /// Decibels.
        db: "dB",
        /// Degrees, directly after the number.
        degrees: "°",
    }
}
