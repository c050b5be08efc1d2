//! Where the image plane lies on the pixels.
//!
//! Pixel coordinates: x to the right, y down, (0, 0) is the CENTRE of the top-left pixel, so pixel i covers
//! i - 0.5 to i + 0.5 and the whole picture -0.5 to width - 0.5.

use crate::field::{Bounds, Field};

/// Free space around the field, pixels: room for side letters, the mark and the depth scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// At image left.
    pub left: f64,
    /// At image right.
    pub right: f64,
    /// Above.
    pub top: f64,
    /// Below.
    pub bottom: f64,
}

impl Margins {
    /// The same margin on all four sides.
    #[must_use]
    pub const fn all(px: f64) -> Self {
        Self {
            left: px,
            right: px,
            top: px,
            bottom: px,
        }
    }
}

/// Square pixels laid over the image plane without turning or mirroring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    width: u32,
    height: u32,
    mm_per_px: f64,
    origin_px: [f64; 2],
}

/// Pictures wider or higher than this are refused (16 384 pixels, the usual limit of a canvas).
pub const MOST_PIXELS: u32 = 16_384;

impl Frame {
    /// `width` x `height` pixels of `mm_per_px` millimetres, the image origin at pixel `origin_px`.
    ///
    /// Sizes are brought into 1 to [`MOST_PIXELS`]; a scale that is not a positive number becomes 1 mm.
    #[must_use]
    pub fn new(width: u32, height: u32, mm_per_px: f64, origin_px: [f64; 2]) -> Self {
        Self {
            width: width.clamp(1, MOST_PIXELS),
            height: height.clamp(1, MOST_PIXELS),
            mm_per_px: if mm_per_px.is_finite() && mm_per_px > 0.0 {
                mm_per_px
            } else {
                1.0
            },
            origin_px,
        }
    }

    /// The largest frame that shows all of `field` inside the margins, centred across, the face against its margin.
    #[must_use]
    pub fn fit(field: &Field, width: u32, height: u32, margins: Margins) -> Self {
        Self::fit_bounds(field.bounds(), width, height, margins)
    }

    /// The largest frame that shows all of `bounds` inside the margins, centred both ways.
    #[must_use]
    pub fn fit_bounds(bounds: Bounds, width: u32, height: u32, margins: Margins) -> Self {
        let (width, height) = (width.clamp(1, MOST_PIXELS), height.clamp(1, MOST_PIXELS));
        let room_x = (f64::from(width) - margins.left - margins.right).max(1.0);
        let room_y = (f64::from(height) - margins.top - margins.bottom).max(1.0);
        let mm_per_px = (bounds.width() / room_x).max(bounds.height() / room_y);
        let mm_per_px = if mm_per_px > 0.0 { mm_per_px } else { 1.0 };
        let centre_px = [
            margins.left + room_x / 2.0 - 0.5,
            margins.top + room_y / 2.0 - 0.5,
        ];
        let origin_px = [0, 1].map(|axis: usize| {
            centre_px[axis] - (bounds.min[axis] + bounds.max[axis]) / 2.0 / mm_per_px
        });
        Self::new(width, height, mm_per_px, origin_px)
    }

    /// Width, pixels.
    #[must_use]
    pub const fn width(&self) -> u32 {
        self.width
    }

    /// Height, pixels.
    #[must_use]
    pub const fn height(&self) -> u32 {
        self.height
    }

    /// Size of a pixel, mm.
    #[must_use]
    pub const fn mm_per_px(&self) -> f64 {
        self.mm_per_px
    }

    /// Image mm to pixels.
    #[must_use]
    pub fn to_px(&self, at_mm: [f64; 2]) -> [f64; 2] {
        [
            self.origin_px[0] + at_mm[0] / self.mm_per_px,
            self.origin_px[1] + at_mm[1] / self.mm_per_px,
        ]
    }

    /// Pixels to image mm.
    #[must_use]
    pub fn to_mm(&self, at_px: [f64; 2]) -> [f64; 2] {
        [
            (at_px[0] - self.origin_px[0]) * self.mm_per_px,
            (at_px[1] - self.origin_px[1]) * self.mm_per_px,
        ]
    }

    /// The part of the image plane that the pixels cover, mm.
    #[must_use]
    pub fn covered(&self) -> Bounds {
        Bounds {
            min: self.to_mm([-0.5, -0.5]),
            max: self.to_mm([f64::from(self.width) - 0.5, f64::from(self.height) - 0.5]),
        }
    }
}
