//! Tissues: what fills a structure, with the acoustic values the grey-scale picture uses.

use crate::catalogue::TissueEntry;

/// Number of a tissue within one body's tissue table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TissueId(pub u8);

impl TissueId {
    /// As an index into [`Body::tissues`](crate::body::Body::tissues).
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// One tissue. Values as in the tissue table of the body description, where their sources stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Tissue {
    /// Key, for instance `liver`; also the name of its colour.
    pub key: String,
    /// Speed of sound, m/s.
    pub c: f64,
    /// Density, kg/m³.
    pub rho: f64,
    /// Acoustic impedance, `MRayl`.
    pub z: f64,
    /// Attenuation, dB/(cm MHz).
    pub att: f64,
    /// Frequency exponent of the attenuation.
    pub n: f64,
    /// Mean backscatter in dB relative to liver.
    pub bs: f64,
    /// Brightness of a perpendicular boundary, 0–1.
    pub spec: f64,
    /// Nothing useful is seen behind this tissue.
    pub shadow: bool,
    /// Relative coarseness of the speckle, 1 = liver.
    pub grain: f64,
    /// The look in words.
    pub texture: String,
}

impl From<&TissueEntry> for Tissue {
    fn from(entry: &TissueEntry) -> Self {
        let TissueEntry {
            key,
            c,
            rho,
            z,
            att,
            n,
            bs,
            spec,
            shadow,
            grain,
            texture,
        } = entry.clone();
        Self {
            key,
            c,
            rho,
            z,
            att,
            n,
            bs,
            spec,
            shadow,
            grain,
            texture,
        }
    }
}
