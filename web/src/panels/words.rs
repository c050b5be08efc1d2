//! The few words of the page that belong to the page alone, not to the application's texts.

/// After the plane's name: "Mid-sagittal plane".
pub(crate) const PLANE: &str = "plane";

/// Between an angle and a plane: "38° from sagittal".
pub(crate) const FROM: &str = "from";

/// Colours as the system has them.
pub(crate) const THEME_AUTO: &str = "Auto";

/// First line of the window menu.
pub(crate) const NO_WINDOW: &str = "Not at a named window";

/// Heading of the setup that is seldom changed.
pub(crate) const MORE: &str = "Body and view";

/// Read aloud for the degree and millimetre signs.
pub(crate) const DEGREES: &str = "degrees";
/// Read aloud for the millimetre sign.
pub(crate) const MILLIMETRES: &str = "millimetres";

/// Read aloud for the percent sign.
pub(crate) const PERCENT: &str = "percent";
/// Read aloud for "dB".
pub(crate) const DECIBELS: &str = "decibels";

/// What pressing on the picture does.
pub(crate) const PICTURE_HINT: &str = "Press on a structure to point it out in both views.";
