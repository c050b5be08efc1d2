//! The probe dragged over the skin with the pointer.

use anatomy::SkinPoint;
use geometry::{Direction, Patient, Point, Pose, Room};

use crate::scene::{ScreenPoint, Viewport};
use crate::state::State;

/// How near the pointer has to be to the drawn probe to take it up, CSS pixels: half of a comfortable target
/// (WCAG 2.2, 2.5.8 asks for 24 across; a thumb wants more).
const GRAB_RADIUS_PX: f64 = 24.0;

/// A drag that is going on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Drag {
    /// From the pointer to the contact point as first seen, CSS pixels, so that the probe does not jump to
    /// the pointer when it is taken up by its handle.
    offset: [f64; 2],
}

/// What lies under a point of the body view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Under {
    /// The probe: a drag from here moves it.
    Probe,
    /// The skin: a tap may place the probe here, a drag turns the view.
    Skin,
    /// Nothing to move: a drag turns the view.
    Nothing,
}

/// A ray from the viewer's eye.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ray {
    origin: Point<Room>,
    direction: Direction<Room>,
}

/// The ray through a point of the body view.
fn ray(state: &State, at: ScreenPoint, viewport: Viewport) -> Ray {
    let toward = Direction::from_array(state.camera.ray(at, viewport));
    Ray {
        origin: Point::from_array(state.camera.eye()),
        direction: toward.unwrap_or(-Direction::z_axis()),
    }
}

/// The place of the unposed skin that is seen at a point of the body view.
#[must_use]
pub fn skin_at(state: &State, at: ScreenPoint, viewport: Viewport) -> Option<SkinPoint> {
    let ray = ray(state, at, viewport);
    state.sight(ray.origin, ray.direction)
}

/// Where a place of the body appears in the body view.
#[must_use]
pub fn on_screen(state: &State, point: Point<Patient>, viewport: Viewport) -> Option<ScreenPoint> {
    let room = state.shown_at(point).to_array();
    state.camera.screen_point(room, viewport)
}

/// What lies under a point of the body view.
#[must_use]
pub fn under(state: &State, at: ScreenPoint, viewport: Viewport) -> Under {
    if probe_distance(state, at, viewport).is_some_and(|px| px <= GRAB_RADIUS_PX) {
        return Under::Probe;
    }
    if skin_at(state, at, viewport).is_some() {
        Under::Skin
    } else {
        Under::Nothing
    }
}

/// Distance in CSS pixels from the line of the drawn probe, from its face to its cable.
fn probe_distance(state: &State, at: ScreenPoint, viewport: Viewport) -> Option<f64> {
    let length = state.setup.transducer.housing.length.get();
    let face = state.pose.footprint_centre();
    let cable = face - state.pose.axes().depth * length;
    let room_from_attached = state.room_from_attached(&state.pose);
    let seen = |end: Point<Patient>| {
        let end = room_from_attached.apply_point(end).to_array();
        state.camera.screen_point(end, viewport)
    };
    let (a, b) = (seen(face)?, seen(cable)?);
    let along = [b.x - a.x, b.y - a.y];
    let to = [at.x - a.x, at.y - a.y];
    let squared = along[0] * along[0] + along[1] * along[1];
    let share = if squared > 0.0 {
        ((to[0] * along[0] + to[1] * along[1]) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let off = [to[0] - share * along[0], to[1] - share * along[1]];
    Some((off[0] * off[0] + off[1] * off[1]).sqrt())
}

impl Drag {
    /// Takes the probe up at a point of the view.
    pub(crate) fn start(state: &State, at: ScreenPoint, viewport: Viewport) -> Option<Self> {
        let contact = on_screen(state, state.pose.contact(), viewport)?;
        let offset = [contact.x - at.x, contact.y - at.y];
        offset
            .iter()
            .all(|part| part.is_finite())
            .then_some(Self { offset })
    }

    /// The pose with the contact point under the pointer, as far as the skin leads there: the probe
    /// stays on the sheet of skin it is on and keeps its notch's direction along the way.
    pub(crate) fn pose(&self, state: &State, at: ScreenPoint, viewport: Viewport) -> Option<Pose> {
        let skin = state.skin()?;
        let point = ScreenPoint {
            x: at.x + self.offset[0],
            y: at.y + self.offset[1],
        };
        if !(point.x.is_finite() && point.y.is_finite()) {
            return None;
        }
        let ray = ray(state, point, viewport);
        let target = match state.sight(ray.origin, ray.direction) {
            Some(hit) => hit.point,
            // Beside the body: the place where the line of sight passes the probe.
            None => {
                let room_from_attached = state.room_from_attached(&state.pose);
                let contact = room_from_attached.apply_point(state.pose.contact());
                let ahead = (contact - ray.origin).dot(ray.direction.to_vector());
                let beside = ray.origin + ray.direction * ahead;
                room_from_attached.inverse().apply_point(beside)
            }
        };
        Some(skin.slide_to(&state.pose, target).pose)
    }
}
