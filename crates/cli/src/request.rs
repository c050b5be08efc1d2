//! One input line.

use serde::Deserialize;

/// The fields of an input line; `planeward describe --help` explains them.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Request {
    pub(crate) normal: Option<[f64; 3]>,
    pub(crate) rotation_deg: Option<f64>,
    pub(crate) tilt_deg: Option<f64>,
    pub(crate) rock_deg: Option<f64>,
    pub(crate) press_mm: Option<f64>,
    pub(crate) notch: Option<[f64; 3]>,
    pub(crate) beam: Option<[f64; 3]>,
    pub(crate) mark: Option<Mark>,
    pub(crate) apex: Option<Apex>,
    pub(crate) tolerance_deg: Option<f64>,
    pub(crate) contact_mm: Option<[f64; 3]>,
    pub(crate) body: Option<String>,
    pub(crate) window: Option<String>,
    pub(crate) transducer: Option<String>,
    pub(crate) depth_mm: Option<f64>,
}

/// Side of the image with the mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Mark {
    Left,
    Right,
}

/// End of the image with the probe's face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Apex {
    Top,
    Bottom,
}
