//! The three planes of a volume.

use geometry::Point;
use picture::VolumePlane;

use crate::action::Changes;
use crate::state::State;
use crate::views::volume_said;

fn planes_changed() -> Changes {
    Changes {
        scene: true,
        panels: true,
        ..Changes::none()
    }
}

pub(super) fn show_volume(state: &mut State, shown: bool) -> Changes {
    if state.volume.shown == shown {
        return Changes::none();
    }
    let before = state.volume_shown();
    state.volume.shown = shown;
    // A transducer that sweeps nothing has nothing to show.
    let said = (state.volume_shown() != before).then(|| volume_said(state, state.texts));
    Changes {
        announcement: said,
        ..planes_changed()
    }
}

/// Moves the point where the planes cross; it is kept inside the volume.
pub(super) fn set_point(state: &mut State, at: [f64; 3]) -> Changes {
    let Some(volume) = state.volume() else {
        return Changes::none();
    };
    if !at.iter().all(|part| part.is_finite()) {
        return Changes::none();
    }
    let kept = volume.clamp(Point::from_array(at)).to_array();
    if state.volume.at == Some(kept) {
        return Changes::none();
    }
    state.volume.at = Some(kept);
    planes_changed()
}

/// The same from a place in the picture of one plane, image mm.
pub(super) fn point_in(state: &mut State, which: VolumePlane, at: [f64; 2]) -> Changes {
    if !at.iter().all(|part| part.is_finite()) {
        return Changes::none();
    }
    match state.volume_cut(which) {
        Some(cut) => set_point(state, cut.to_probe(at).to_array()),
        None => Changes::none(),
    }
}
