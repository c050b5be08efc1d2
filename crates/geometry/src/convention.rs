//! How a picture is laid out: where its mark is and which end its apex is at.

/// A side of the picture as the viewer sees it; never a side of the patient.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ImageSide {
    /// Where the rows begin.
    Left,
    /// Where the rows end.
    Right,
    /// Where the columns begin.
    Top,
    /// Where the columns end.
    Bottom,
}

impl ImageSide {
    /// All four, in reading order.
    pub const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Top, Self::Bottom];

    /// The side's word, always to be used with "image".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }
}

/// The side of the image that carries the display mark: the notch side of the probe is shown there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarkSide {
    /// Image left.
    Left,
    /// Image right.
    Right,
}

impl MarkSide {
    /// The side's word, always to be used with "image".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// The other side.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// +1 where the row direction is the notch direction (mark right), −1 where it is the opposite.
    pub(crate) const fn row_sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }
}

/// The end of the image at which the probe's face is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ApexSide {
    /// Depth grows downward: the columns run with the beam.
    Top,
    /// Depth grows upward: the columns run against the beam. Used by some departments for
    /// endocavity pictures (common practice, no source).
    Bottom,
}

impl ApexSide {
    /// The end's word, always to be used with "image".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }

    /// +1 where the column direction is the beam direction (apex at the top), −1 where opposite.
    pub(crate) const fn column_sign(self) -> f64 {
        match self {
            Self::Top => 1.0,
            Self::Bottom => -1.0,
        }
    }
}

/// Where a department puts the mark and the apex.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Convention {
    /// The side that carries the mark.
    pub mark: MarkSide,
    /// The end with the probe's face.
    pub apex: ApexSide,
}

impl Convention {
    /// Abdomen, vessels, small parts, obstetrics: mark at image left, apex at the top
    /// (sonography textbooks; common practice).
    pub const GENERAL: Self = Self {
        mark: MarkSide::Left,
        apex: ApexSide::Top,
    };

    /// Echocardiography laboratories: mark at image right, apex at the top
    /// (Henry et al., Circulation 1980; 62: 212; the rule itself from memory).
    pub const CARDIAC: Self = Self {
        mark: MarkSide::Right,
        apex: ApexSide::Top,
    };

    /// Endocavity pictures in departments that draw the probe at the bottom
    /// (common practice, no source; departments differ).
    pub const ENDOCAVITY_APEX_BOTTOM: Self = Self {
        mark: MarkSide::Left,
        apex: ApexSide::Bottom,
    };
}
