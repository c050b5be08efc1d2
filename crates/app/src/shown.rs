//! The body as it is shown: bent as its position asks, with what it lies on. For drawing and pointing only.

use std::sync::Arc;

use anatomy::{PosedSkin, PosedSurface, Posture, SkinPoint};
use geometry::{BodyPosition, Direction, Patient, Point, Posed, Room, Transform};

use crate::scene::{Furniture, furniture};
use crate::state::State;

/// What follows from a body's skin and its position; made anew when either changes.
#[derive(Debug, Clone)]
pub(crate) struct Shown {
    body_id: String,
    posture: Posture,
    /// None before the skin is here.
    skin: Option<Arc<PosedSkin>>,
    furniture: Furniture,
}

impl Shown {
    /// Nothing but a bed for a usual body.
    pub(crate) fn nothing(position: BodyPosition) -> Self {
        let posture = Posture::unposed(position);
        Self {
            body_id: String::new(),
            furniture: furniture(&posture, None),
            posture,
            skin: None,
        }
    }

    pub(crate) fn posture(&self) -> &Posture {
        &self.posture
    }

    pub(crate) fn furniture(&self) -> &Furniture {
        &self.furniture
    }
}

/// Brings what is shown up to date with body and position.
pub(crate) fn refresh(state: &mut State) {
    let position = state.setup.position;
    let shown = &state.shown;
    let has_skin = state.skin().is_some();
    if shown.posture.position() == position
        && shown.skin.is_some() == has_skin
        && (!has_skin || shown.body_id == state.body_id)
    {
        return;
    }
    let made = state.parts().map(|(facts, skin)| {
        let posture = Posture::new(facts, skin, position);
        let posed = PosedSkin::new(skin, &posture);
        Shown {
            body_id: state.body_id.clone(),
            furniture: furniture(&posture, Some(&posed)),
            posture,
            skin: Some(Arc::new(posed)),
        }
    });
    state.shown = made.unwrap_or_else(|| Shown::nothing(position));
}

impl State {
    /// The skin as shown, once a skin is here.
    #[must_use]
    pub fn shown_skin(&self) -> Option<&Arc<PosedSkin>> {
        self.skin().and(self.shown.skin.as_ref())
    }

    /// Surface `number` of the body as shown; `None` where it is as it was.
    #[must_use]
    pub fn shown_surface(&self, number: usize) -> Option<PosedSurface> {
        self.shown.posture.surface(self.body()?, number)
    }

    /// Where a place of the body is shown in the room.
    #[must_use]
    pub fn shown_at(&self, point: Point<Patient>) -> Point<Room> {
        let posed = self.shown.posture.point(point);
        self.position().room_from_posed().apply_point(posed)
    }

    /// The motion of whatever is attached to the skin where a probe stands: from the patient frame, in which it is
    /// reckoned, to the room, in which it is drawn.
    pub(crate) fn room_from_attached(&self, pose: &geometry::Pose) -> Transform<Patient, Room> {
        let carried = self.shown.posture.carry(pose.contact(), pose.normal());
        carried.then(&self.position().room_from_posed())
    }

    /// The place of the unposed skin that a ray of sight meets first.
    pub(crate) fn sight(&self, eye: Point<Room>, toward: Direction<Room>) -> Option<SkinPoint> {
        let posed_from_room: Transform<Room, Posed> = self.position().room_from_posed().inverse();
        self.shown_skin()?.ray(
            self.skin()?,
            posed_from_room.apply_point(eye),
            posed_from_room.apply_direction(toward),
        )
    }
}
