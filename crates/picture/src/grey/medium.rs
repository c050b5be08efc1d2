//! Tissues as the beam meets them: the body's acoustic values made ready for one frequency.

use anatomy::{Body, LongAxis, Section, SectionLayer, SurfaceKind, Tissue};
use geometry::{Direction, ImagePlane, Patient, Point, Vector};

use super::decibel::amplitude;
use super::texture::Texture;
use crate::gel::GEL;
use crate::scan::{BEYOND, Label, OUTSIDE};

/// Echo level of liver against that of a perfect flat mirror, dB. Measured integrated backscatter of soft tissue lies
/// 50 to 60 dB below a flat reflector (from memory); chosen so that capsules and fasciae are as bright as they look.
pub(crate) const LIVER_BELOW_MIRROR_DB: f32 = 48.0;

/// How the sound comes back from a strong reflector.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Finish {
    /// Nothing special.
    Plain,
    /// Smooth and large (lung behind the diaphragm or the pleura): a mirror.
    Mirror,
    /// Bubbles (bowel gas, stool): the beam is scattered to and fro and comes back late, the dirty shadow.
    Bubbles,
}

/// One tissue at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Medium {
    /// Impedance, `MRayl`.
    pub(crate) z: f32,
    /// Speed, m/s.
    pub(crate) c: f32,
    /// Loss there and back, dB per mm of depth.
    pub(crate) loss_db_mm: f32,
    /// Mean echo amplitude; liver is 1.
    pub(crate) echo: f32,
    /// Share of a boundary that reflects as a smooth face, 0 to 1.
    pub(crate) smooth: f32,
    /// Least share of the intensity that its front reflects, whatever the impedances (gas that is not modelled).
    pub(crate) front: f32,
    pub(crate) finish: Finish,
    pub(crate) texture: Texture,
    /// Drop of the echo when the beam runs along the fibres, dB; 0 for tissue without fibres.
    pub(crate) fibre_drop_db: f32,
    /// Angle off perpendicular at which half the drop is reached, as its sine.
    pub(crate) fibre_half: f32,
    /// Whether its fibres lie in a sheet along its boundaries, so that the angle to those counts.
    pub(crate) sheet: bool,
    /// Whether bubbles float in it, see [`BUBBLES`].
    pub(crate) gassy: bool,
}

/// Label of what bubbles there are in bowel: they are too small and too many to be modelled.
pub(crate) const BUBBLES: Label = GEL - 1;

/// Beyond this attenuation a medium counts as casting a shadow, dB/(cm MHz); for tissues that the data mark as
/// shadowing but that have the attenuation of a paste (stool, discs). Common practice, no source.
const SHADOW_ATT: f64 = 6.0;

/// Drop of the middle coat of a vessel against what the tissue table gives for the whole wall, dB: seen at a right
/// angle a wall is two bright lines, lumen to inner coat and middle to outer coat, with a dark one between (Pignoli and
/// others, Circulation 1986; 74: 1399-1406, from memory; the figure is chosen by eye). The lines are boundaries.
const MEDIA_DB: f32 = 16.0;

impl Medium {
    /// `tissue` at `mhz`.
    pub(crate) fn of(tissue: &Tissue, mhz: f64) -> Self {
        let key = tissue.key.as_str();
        let att = if tissue.shadow && tissue.att < SHADOW_ATT {
            SHADOW_ATT
        } else {
            tissue.att
        };
        let finish = match key {
            "lung" => Finish::Mirror,
            "gas" | "colon_content" | "mucosa_gas" => Finish::Bubbles,
            _ => Finish::Plain,
        };
        // Tendon: half the echo is lost 2 to 7 degrees off the perpendicular, ligament alike (musculoskeletal teaching
        // texts, from memory); muscle shows the same weakly.
        let (fibre_drop_db, fibre_half_deg) = match key {
            "tendon" => (22.0, 6.0),
            "ligament" => (16.0, 8.0),
            "muscle" => (4.0, 25.0),
            // Sheets of collagen: bright where the beam meets them at a right angle, and so faint where they run along
            // it that the sides of a round vessel or of a muscle's sheath drop out (teaching texts of musculoskeletal
            // and vascular sonography, from memory; the figures are chosen by eye).
            "fascia" => (16.0, 28.0),
            "vessel_wall" | "diaphragm" => (10.0, 30.0),
            _ => (0.0, 90.0),
        };
        Self {
            z: single(tissue.z),
            c: single(tissue.c),
            loss_db_mm: single(att * libm::pow(mhz, tissue.n) * 0.2),
            echo: amplitude(single(tissue.bs) - if key == "vessel_wall" { MEDIA_DB } else { 0.0 }),
            smooth: single(tissue.spec),
            front: if finish == Finish::Bubbles {
                single(tissue.spec * tissue.spec)
            } else {
                0.0
            },
            finish,
            texture: Texture::of(key, tissue.grain),
            fibre_drop_db,
            fibre_half: single(libm::sin(f64::to_radians(fibre_half_deg))),
            sheet: matches!(key, "fascia" | "vessel_wall" | "diaphragm"),
            gassy: key == "bowel_content",
        }
    }

    /// Echo amplitude when the cosine between beam and fibres is `along`.
    ///
    /// Perpendicular fibres send the whole echo back; a tilt by the half angle costs half of the drop in dB.
    pub(crate) fn echo_along(&self, along: f32) -> f32 {
        let off = along * along / (self.fibre_half * self.fibre_half);
        self.echo * amplitude(-self.fibre_drop_db * off / (1.0 + off))
    }

    /// Air, gel and bubbles.
    pub(crate) fn of_no_tissue(mhz: f64) -> [Self; 3] {
        [Self::air(), Self::gel(), Self::bubbles(mhz)]
    }

    fn air() -> Self {
        Self {
            z: 0.0004,
            c: 343.0,
            loss_db_mm: 10.0,
            echo: 0.0,
            smooth: 1.0,
            front: 0.0,
            finish: Finish::Plain,
            texture: Texture::EVEN,
            fibre_drop_db: 0.0,
            fibre_half: 1.0,
            sheet: false,
            gassy: false,
        }
    }

    /// Small bubbles in the content of bowel: a bright front and a slight shadow, through which most of the beam goes.
    /// Values chosen by eye.
    fn bubbles(mhz: f64) -> Self {
        Self {
            z: 1.54,
            c: 1540.0,
            loss_db_mm: single(0.75 * mhz * 0.2),
            echo: 0.9,
            smooth: 0.4,
            front: 0.12,
            ..Self::air()
        }
    }

    /// Water-like coupling gel (common practice): the impedance of soft tissue as systems assume it, no echo.
    fn gel() -> Self {
        Self {
            z: 1.54,
            c: 1540.0,
            loss_db_mm: 0.0,
            echo: 0.001,
            ..Self::air()
        }
    }
}

/// A medium where the plane cuts it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Filled {
    pub(crate) medium: Medium,
    /// Number of the medium: boundaries are where it changes.
    pub(crate) number: u16,
    /// Direction of its fibres in the image plane (x, y); what is missing to length 1 runs out of the plane. Zero
    /// without fibres.
    pub(crate) fibre: [f32; 2],
    /// Place in texture space of the image origin, and its change per mm along x and y of the image.
    pub(crate) grain: [[f32; 3]; 3],
    /// Number of the texture as it lies in this plane: media that share it share its values.
    pub(crate) shade: usize,
}

impl Filled {
    /// `medium` with fibres along `fibre` (patient axes; zero for none) where `plane` cuts it.
    pub(crate) fn new(medium: Medium, number: u16, plane: &ImagePlane, fibre: [f64; 3]) -> Self {
        let towards = Vector::from_array(fibre);
        let rows = medium.texture.lattice(fibre.map(single));
        let zero = Point::new(0.0, 0.0, 0.0);
        let grain = [
            plane.origin() - zero,
            plane.row().to_vector(),
            plane.column().to_vector(),
        ]
        .map(|v: Vector<Patient>| {
            let v = v.to_array().map(single);
            rows.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
        });
        Self {
            medium,
            number,
            fibre: [plane.row(), plane.column()].map(|axis| single(axis.to_vector().dot(towards))),
            grain,
            shade: 0,
        }
    }

    /// A place in the image (mm; `zero` 1), or a way there (`zero` 0), in texture space.
    pub(crate) fn place(&self, p: [f32; 2], zero: f32) -> [f32; 3] {
        let [origin, x, y] = self.grain;
        [0, 1, 2].map(|c: usize| zero * origin[c] + p[0] * x[c] + p[1] * y[c])
    }

    /// A medium without any texture.
    fn bare(medium: Medium, number: u16) -> Self {
        Self {
            medium,
            number,
            fibre: [0.0; 2],
            grain: [[0.0; 3]; 3],
            shade: 0,
        }
    }
}

/// The media of all labels of a section.
#[derive(Debug, Clone)]
pub(crate) struct Media {
    /// Tissues of the body, and MHz.
    made_for: (Vec<Tissue>, f64),
    tissues: Vec<Medium>,
    filled: Vec<Filled>,
    /// Textures as they lie in the plane, by number.
    shades: Vec<(Texture, [[f32; 3]; 3])>,
    air: Filled,
    gel: Filled,
    bubbles: Filled,
}

impl Default for Media {
    fn default() -> Self {
        Self {
            made_for: (Vec::new(), 0.0),
            tissues: Vec::new(),
            filled: Vec::new(),
            shades: Vec::new(),
            air: Filled::bare(Medium::air(), OUTSIDE),
            gel: Filled::bare(Medium::gel(), GEL),
            bubbles: Filled::bare(Medium::bubbles(1.0), BUBBLES),
        }
    }
}

impl Media {
    /// The media of `body` where `section` cuts it.
    pub(crate) fn prepare(&mut self, body: &Body, section: &Section, mhz: f64) {
        // Powers and words take longer than to see that nothing changed.
        if self.made_for.0 != body.tissues() || self.made_for.1.to_bits() != mhz.to_bits() {
            self.made_for = (body.tissues().to_vec(), mhz);
            self.bubbles = Filled::bare(Medium::bubbles(mhz), BUBBLES);
            self.tissues.clear();
            self.tissues
                .extend(body.tissues().iter().map(|t| Medium::of(t, mhz)));
        }
        let plane = section.plane();
        self.filled.clear();
        self.filled.resize(body.surfaces().len(), self.air);
        self.shades.clear();
        for layer in section.layers() {
            let Some(surface) = body.surfaces().get(layer.surface) else {
                continue;
            };
            let medium = self.tissues[surface.tissue.index()];
            let fibre = fibre_of(body, section, *layer, &medium);
            let number = u16::try_from(surface.tissue.index()).unwrap_or(u16::MAX);
            let mut filled = Filled::new(medium, number, plane, fibre);
            filled.shade = shade(&mut self.shades, &filled);
            self.filled[layer.surface] = filled;
        }
    }

    /// Direction of the fibres (patient axes; zero for none) of every surface that `section` cuts.
    pub(crate) fn fibres<'a>(
        body: &'a Body,
        section: &'a Section,
        mhz: f64,
    ) -> impl Iterator<Item = (usize, [f64; 3])> + 'a {
        section.layers().iter().filter_map(move |layer| {
            let surface = body.surfaces().get(layer.surface)?;
            let medium = Medium::of(body.tissue(surface.tissue), mhz);
            Some((layer.surface, fibre_of(body, section, *layer, &medium)))
        })
    }

    /// Media given one by one: label i is `filled[i]`.
    pub(crate) fn set(&mut self, filled: impl IntoIterator<Item = Filled>) {
        self.filled.clear();
        self.shades.clear();
        for mut filled in filled {
            filled.shade = shade(&mut self.shades, &filled);
            self.filled.push(filled);
        }
    }

    pub(crate) fn get(&self, label: Label) -> &Filled {
        match label {
            OUTSIDE | BEYOND => &self.air,
            GEL => &self.gel,
            BUBBLES => &self.bubbles,
            surface => self.filled.get(usize::from(surface)).unwrap_or(&self.air),
        }
    }
}

/// Number of a medium's texture among those of a picture: the same texture in the same place, to the bit.
fn shade(shades: &mut Vec<(Texture, [[f32; 3]; 3])>, filled: &Filled) -> usize {
    let wanted = (filled.medium.texture, filled.grain);
    let known = shades.iter().position(|shade| *shade == wanted);
    known.unwrap_or_else(|| {
        shades.push(wanted);
        shades.len() - 1
    })
}

/// Direction of the fibres of a layer's medium, patient axes; zero for a medium without fibres.
fn fibre_of(body: &Body, section: &Section, layer: SectionLayer, medium: &Medium) -> [f64; 3] {
    let fibred = medium.fibre_drop_db != 0.0 && !medium.sheet || medium.texture.has_fibres();
    match body.surfaces().get(layer.surface).map(|s| s.kind) {
        Some(SurfaceKind::Solid(index)) if fibred => {
            let structure = body.structure(index);
            let plane = section.plane();
            let middle = plane.to_patient(middle_of(section, layer));
            let along = match structure.axis {
                Some(LongAxis::CentreLine) => structure.axis_on(plane, middle),
                _ => structure.axis_at(middle),
            };
            along.map_or(HEADWARD, Direction::to_array)
        }
        _ if fibred => HEADWARD,
        _ => [0.0; 3],
    }
}

/// Unnamed muscle runs head to foot, as most of the trunk's and limbs' does: our simplification.
const HEADWARD: [f64; 3] = [0.0, 0.0, 1.0];

/// Mean of the contour points of a layer, image mm.
fn middle_of(section: &Section, layer: SectionLayer) -> [f64; 2] {
    let (mut sum, mut n) = ([0.0; 2], 0.0);
    for outline in section.loops(layer) {
        for p in outline.points {
            sum = [sum[0] + p[0], sum[1] + p[1]];
            n += 1.0;
        }
    }
    if n > 0.0 { sum.map(|s| s / n) } else { sum }
}

/// To single precision.
#[expect(
    clippy::cast_possible_truncation,
    reason = "lengths, angles and acoustic values are far inside the range of f32"
)]
pub(crate) fn single(x: f64) -> f32 {
    x as f32
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub(crate) fn tissue(key: &str) -> Tissue {
        Tissue {
            key: key.to_owned(),
            c: 1540.0,
            rho: 1050.0,
            z: 1.617,
            att: 0.5,
            n: 1.0,
            bs: 0.0,
            spec: 0.1,
            shadow: false,
            grain: 1.0,
            texture: String::new(),
        }
    }

    #[test]
    fn loss_is_that_of_the_formula() {
        let medium = Medium::of(&tissue("liver"), 3.5);
        let want = super::super::acoustics::round_trip_loss_db(0.5, 1.0, 3.5, 100.0);
        assert!(
            (f64::from(medium.loss_db_mm) * 100.0 - want).abs() < 1e-4,
            "{} dB per mm",
            medium.loss_db_mm
        );
    }

    #[test]
    fn a_tendon_goes_dark_when_tilted_and_liver_does_not() {
        let db = |key: &str, degrees: f64| {
            let medium = Medium::of(&tissue(key), 10.0);
            20.0 * libm::log10f(medium.echo_along(single(libm::sin(degrees.to_radians()))))
        };
        assert!(db("tendon", 0.0).abs() < 0.01, "perpendicular: full echo");
        assert!((db("tendon", 6.0) + 11.0).abs() < 0.1, "half the drop");
        assert!(db("tendon", 15.0) < -17.0, "dark at 15 degrees");
        assert!(db("liver", 40.0).abs() < 0.01, "liver has no direction");
        assert!(db("muscle", 40.0) > -4.0, "muscle changes little");
    }
}
