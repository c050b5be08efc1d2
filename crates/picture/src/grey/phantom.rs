//! A section without a body: tissues in closed loops, for tests, golden pictures and lessons about artefacts.

use anatomy::Tissue;
use geometry::{ApexSide, Direction, ImagePlane, Mm, Patient};

use super::GreyScratch;
use super::beam_runs::{add_loop, begin};
use super::medium::{Filled, Medium};
use super::settings::GreySettings;
use crate::field::Field;
use crate::frame::{Frame, Margins};
use crate::scan::Label;
use crate::transducer::transducers;

/// Tissues in layers, later over earlier, in image mm. What no layer covers is air.
#[derive(Debug, Clone, Default)]
pub struct Phantom {
    layers: Vec<Layer>,
}

#[derive(Debug, Clone)]
struct Layer {
    tissue: Tissue,
    fibre: [f64; 3],
    outline: Vec<[f64; 2]>,
}

impl Phantom {
    /// Adds a tissue inside a closed loop (last point joins first), over all earlier ones.
    #[must_use]
    pub fn with(self, tissue: Tissue, outline: Vec<[f64; 2]>) -> Self {
        self.with_fibres(tissue, None, outline)
    }

    /// The same with fibres along a direction of the patient.
    #[must_use]
    pub fn with_fibres(
        mut self,
        tissue: Tissue,
        fibre: Option<Direction<Patient>>,
        outline: Vec<[f64; 2]>,
    ) -> Self {
        self.layers.push(Layer {
            tissue,
            fibre: fibre.map_or([0.0; 3], Direction::to_array),
            outline,
        });
        self
    }
}

/// [`grey_scale`](super::grey_scale) of a phantom that lies in the plane `plane`.
pub fn grey_scale_of_phantom(
    phantom: &Phantom,
    plane: &ImagePlane,
    field: &Field,
    frame: &Frame,
    settings: &GreySettings,
    scratch: &mut GreyScratch,
    rgba: &mut Vec<u8>,
) {
    scratch.meet_phantom(phantom, plane, field, settings);
    scratch.insonify(plane, field, settings);
    scratch.detect(field, settings);
    scratch.draw(field, frame, rgba);
}

impl GreyScratch {
    pub(super) fn meet_phantom(
        &mut self,
        phantom: &Phantom,
        plane: &ImagePlane,
        field: &Field,
        settings: &GreySettings,
    ) {
        self.prepare(field, settings);
        let Some(grid) = &self.levels[self.detail as usize].grid else {
            return;
        };
        begin(&mut self.painter, grid);
        for (label, layer) in (0..Label::MAX).zip(&phantom.layers) {
            self.painter.layer(label, []);
            add_loop(&mut self.painter, grid, &layer.outline);
        }
        self.painter.paint(&mut self.runs);
        let mhz = settings.mhz(field);
        let filled = (0..Label::MAX)
            .zip(&phantom.layers)
            .map(|(label, l)| Filled::new(Medium::of(&l.tissue, mhz), label, plane, l.fibre));
        self.media.set(filled);
    }
}

/// Side of a golden picture, pixels.
pub const GOLDEN_PX: u32 = 160;

/// A small picture per transducer of one phantom with everything in it, by name: whoever draws them natively and in
/// WebAssembly must get the same bytes.
#[must_use]
pub fn golden_pictures() -> Vec<(&'static str, Vec<u8>)> {
    let mut scratch = GreyScratch::default();
    let plane = ImagePlane::from_notch_and_beam(
        geometry::Point::new(20.0, -90.0, 140.0),
        geometry::Vector::new(0.1, -0.2, 0.97),
        geometry::Vector::new(0.3, 0.94, 0.15),
        geometry::Convention::GENERAL,
    );
    let Ok(plane) = plane else { return Vec::new() };
    transducers()
        .iter()
        .map(|transducer| {
            let field = Field::new(transducer, transducer.usual_depth, ApexSide::Top);
            let frame = Frame::fit(&field, GOLDEN_PX, GOLDEN_PX, Margins::all(4.0));
            let phantom = everything(field.depth());
            let mut rgba = Vec::new();
            grey_scale_of_phantom(
                &phantom,
                &plane,
                &field,
                &frame,
                &GreySettings::for_field(&field),
                &mut scratch,
                &mut rgba,
            );
            (transducer.id, rgba)
        })
        .collect()
}

/// Name and hash of every golden picture, as "convex 0123456789abcdef" (FNV-1a of its bytes, 64 bits; Fowler, Noll, Vo,
/// public domain).
#[must_use]
pub fn golden_lines() -> Vec<String> {
    golden_pictures()
        .iter()
        .map(|(id, rgba)| {
            let hash = rgba.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
                (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
            });
            format!("{id} {hash:016x}")
        })
        .collect()
}

/// A tissue with round numbers: z in `MRayl`, attenuation in dB/(cm MHz), echo level in dB against liver. Their sources
/// stand in the tissue table of the bodies.
#[must_use]
fn plain(key: &str, z: f64, att: f64, bs: f64, spec: f64) -> Tissue {
    Tissue {
        key: key.to_owned(),
        c: 1540.0,
        rho: z / 1540.0 * 1e6,
        z,
        att,
        n: 1.0,
        bs,
        spec,
        shadow: false,
        grain: 1.0,
        texture: String::new(),
    }
}

fn ring(centre: [f64; 2], radius: f64) -> Vec<[f64; 2]> {
    (0_u32..48)
        .map(|i| {
            let angle = geometry::Angle::deg(f64::from(i) * 7.5);
            [
                centre[0] + radius * angle.sin(),
                centre[1] + radius * angle.cos(),
            ]
        })
        .collect()
}

fn slab(x: [f64; 2], y: [f64; 2]) -> Vec<[f64; 2]> {
    vec![[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]]
}

/// Skin, fat, muscle and liver with a cyst, a stone, gas, a tendon and lung below, scaled to a depth; a corner of air.
fn everything(depth: Mm) -> Phantom {
    let d = depth.get() / 100.0;
    let at = |x: f64, y: f64| [x * d, y * d];
    let wide = 200.0;
    Phantom::default()
        .with(
            plain("skin", 1.77, 0.35, 6.0, 0.3),
            slab([-wide, 30.0 * d], [-60.0, 200.0]),
        )
        .with(
            plain("fat_subcutaneous", 1.38, 0.63, -8.0, 0.2),
            slab([-wide, wide], [2.0 * d, 200.0]),
        )
        .with_fibres(
            plain("muscle", 1.66, 1.0, -6.0, 0.1),
            Some(Direction::x_axis()),
            slab([-wide, wide], [10.0 * d, 200.0]),
        )
        .with(
            plain("liver", 1.657, 0.5, 0.0, 0.1),
            slab([-wide, wide], [16.0 * d, 200.0]),
        )
        .with(
            plain("bile", 1.555, 0.03, -45.0, 0.5),
            ring(at(-14.0, 40.0), 9.0 * d),
        )
        .with(
            Tissue {
                c: 3432.0,
                shadow: true,
                ..plain("bone", 6.5, 15.0, 10.0, 1.0)
            },
            ring(at(3.0, 45.0), 4.0 * d),
        )
        .with(
            Tissue {
                c: 343.0,
                shadow: true,
                ..plain("gas", 0.0004, 40.0, 12.0, 1.0)
            },
            ring(at(17.0, 50.0), 4.0 * d),
        )
        .with_fibres(
            plain("tendon", 1.84, 1.57, 8.0, 0.4),
            Some(Direction::z_axis()),
            slab([-wide, -4.0 * d], [22.0 * d, 25.0 * d]),
        )
        .with(
            Tissue {
                c: 650.0,
                shadow: true,
                ..plain("lung", 0.169, 40.0, 8.0, 1.0)
            },
            vec![
                at(-300.0, 60.0),
                at(0.0, 80.0),
                at(300.0, 72.0),
                at(300.0, 400.0),
                at(-300.0, 400.0),
            ],
        )
}

#[cfg(test)]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers of beams, samples and pixels are small and not negative"
)]
mod tests;
