//! From an input line to a pose, a layout and a field of view.

use anatomy::{Body, Window};
use anyhow::{Context as _, Result, bail, ensure};
use geometry::{
    Angle, ApexSide, Convention, Direction, MarkSide, Mm, Patient, Point, Pose, Vector,
    check_tolerance,
};
use picture::{Field, Transducer, transducer};

use crate::request::{Apex, Mark, Request};

/// The transducer of a pose that names none.
const USUAL_TRANSDUCER: &str = "convex";

/// Largest coordinate and length of a line, a kilometre in mm: far beyond any body, and far below
/// where squares of lengths leave the range of numbers.
const LARGEST_MM: f64 = 1e6;

/// What a line asks about.
#[derive(Debug)]
pub(crate) struct Question {
    pub(crate) pose: Pose,
    pub(crate) convention: Convention,
    pub(crate) tolerance: Angle,
    /// The field of view; only where the probe stands on a body.
    pub(crate) field: Option<Field>,
}

/// Works out a line; `body` is the body it names.
pub(crate) fn question(
    request: &Request,
    body: Option<&Body>,
    default_tolerance_deg: f64,
) -> Result<Question> {
    let window = match (&request.window, body) {
        (Some(id), Some(body)) => Some(
            body.window(id)
                .with_context(|| format!("body {:?} has no window {id:?}", body.id()))?,
        ),
        (Some(_), None) => bail!("a window needs a body"),
        (None, _) => None,
    };
    let tolerance = check_tolerance(request.tolerance_deg.unwrap_or(default_tolerance_deg))
        .context("tolerance_deg")?;
    let mark = match request.mark {
        Some(Mark::Left) => MarkSide::Left,
        Some(Mark::Right) => MarkSide::Right,
        None => window.map_or(MarkSide::Left, |window| window.mark),
    };
    let apex = match request.apex {
        Some(Apex::Bottom) => ApexSide::Bottom,
        Some(Apex::Top) => ApexSide::Top,
        None => window.map_or(ApexSide::Top, |window| window.convention().apex),
    };
    let on_body = body.filter(|_| request.contact_mm.is_some() || window.is_some());
    let field = match on_body {
        Some(_) => Some(field(request, window, apex)?),
        None => None,
    };
    Ok(Question {
        pose: pose(request, body, window)?,
        convention: Convention { mark, apex },
        tolerance,
        field,
    })
}

fn pose(request: &Request, body: Option<&Body>, window: Option<&Window>) -> Result<Pose> {
    let (contact, skin_normal) = contact(request, body, window)?;
    let given = request
        .normal
        .map(|normal| direction("normal", normal))
        .transpose()?;
    let normal = given.or(skin_normal);
    let pose = match (request.notch, request.beam) {
        (Some(notch), Some(beam)) => {
            for (field, value) in [
                ("rotation_deg", request.rotation_deg),
                ("tilt_deg", request.tilt_deg),
                ("rock_deg", request.rock_deg),
            ] {
                ensure!(
                    value.is_none(),
                    "{field} cannot be given together with notch and beam"
                );
            }
            // Without skin the angles are those of an upright probe: the skin faces the beam.
            let normal = match normal {
                Some(normal) => normal,
                None => -direction("beam", beam)?,
            };
            let (notch, beam) = (Vector::from_array(notch), Vector::from_array(beam));
            Pose::from_notch_and_beam(contact, normal, notch, beam)?
        }
        (Some(_), None) => bail!("notch is given without beam"),
        (None, Some(_)) => bail!("beam is given without notch"),
        (None, None) => {
            let normal = normal.context(
                "no pose: give normal, or notch and beam, or body with contact_mm or window",
            )?;
            let usual = |angle: fn(&Pose) -> Angle| {
                window.map_or(Angle::ZERO, |window| angle(&window.pose))
            };
            Pose::new(
                contact,
                normal,
                angle("rotation_deg", request.rotation_deg, usual(Pose::rotation))?,
                angle("tilt_deg", request.tilt_deg, usual(Pose::tilt))?,
                angle("rock_deg", request.rock_deg, usual(Pose::rock))?,
                Mm::ZERO,
            )?
        }
    };
    let press = match request.press_mm {
        Some(press) => {
            ensure!(
                (0.0..=LARGEST_MM).contains(&press),
                "press_mm {press} is not a length of 0 to {LARGEST_MM} mm"
            );
            Mm::new(press)
        }
        None => window.map_or(Mm::ZERO, |window| window.pose.press()),
    };
    Ok(pose.with_press(press))
}

/// The contact point and, on a body, the skin's normal there.
fn contact(
    request: &Request,
    body: Option<&Body>,
    window: Option<&Window>,
) -> Result<(Point<Patient>, Option<Direction<Patient>>)> {
    let wanted = match request.contact_mm {
        Some(point) => {
            ensure!(
                point.iter().all(|c| c.abs() <= LARGEST_MM),
                "contact_mm {point:?} is farther than {LARGEST_MM} mm from the origin"
            );
            Point::from_array(point)
        }
        None => {
            return Ok(match window {
                Some(window) => (window.pose.contact(), Some(window.pose.normal())),
                None => (Point::ORIGIN, None),
            });
        }
    };
    let Some(body) = body else {
        return Ok((wanted, None));
    };
    let at = body.skin().nearest(wanted);
    Ok((at.point, Some(body.skin().smoothed_normal(&at))))
}

fn field(request: &Request, window: Option<&Window>, apex: ApexSide) -> Result<Field> {
    let key = request
        .transducer
        .as_deref()
        .or(window.map(|window| window.transducer.as_str()))
        .unwrap_or(USUAL_TRANSDUCER);
    let kind: &'static Transducer = transducer(key).with_context(|| {
        let known: Vec<&str> = picture::transducers().iter().map(|kind| kind.id).collect();
        format!(
            "transducer {key:?} is not known; there are {}",
            known.join(", ")
        )
    })?;
    let depth = match request.depth_mm {
        Some(depth) => {
            let (least, greatest) = kind.depth_range;
            ensure!(
                (least.get()..=greatest.get()).contains(&depth),
                "depth_mm {depth} is outside {} to {} of transducer {key:?}",
                least.get(),
                greatest.get()
            );
            Mm::new(depth)
        }
        // A window's depth belongs to its own transducer.
        None => kind.clamp_depth(window.map_or(kind.usual_depth, |window| window.depth)),
    };
    Ok(Field::new(kind, depth, apex))
}

fn direction(field: &str, components: [f64; 3]) -> Result<Direction<Patient>> {
    Direction::from_array(components)
        .with_context(|| format!("{field} {components:?} has no direction"))
}

fn angle(field: &str, degrees: Option<f64>, usual: Angle) -> Result<Angle> {
    match degrees {
        Some(degrees) => Angle::try_deg(degrees).with_context(|| field.to_owned()),
        None => Ok(usual),
    }
}
