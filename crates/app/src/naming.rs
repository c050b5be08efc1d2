//! The plane name on show, kept from flickering while the probe moves.
//!
//! A hand that holds a probe near the tolerance would make the name jump back and forth. While an
//! interaction or an animation runs, the name on show therefore changes only when the plane has gone
//! a little past the limit; the angles shown beside it are always exact, and as soon as the probe rests the
//! name is exact too. Marking never uses the name on show.

use geometry::{
    Angle, BodyPlane, Direction, Oblique, Patient, PlaneAngles, PlaneName, PlaneNaming, name_plane,
};

/// How far past the limit the plane has to go, while it moves, before the name changes (our choice).
pub(crate) const SLACK: Angle = Angle::deg(1.0);

/// The name to show for a plane with this normal, when `shown` was on show before.
///
/// `moving` says whether an interaction or an animation runs.
pub(crate) fn shown_name(
    shown: PlaneName,
    normal: Direction<Patient>,
    tolerance: Angle,
    moving: bool,
) -> PlaneName {
    let exact = name_plane(normal, tolerance);
    if moving && holds_on(&shown, &exact, tolerance) {
        shown
    } else {
        exact.name
    }
}

/// Whether the plane is still within the slack of the name on show.
fn holds_on(shown: &PlaneName, exact: &PlaneNaming, tolerance: Angle) -> bool {
    match (shown, &exact.name) {
        (PlaneName::Named(plane), PlaneName::Oblique(_)) => {
            angle_from(&exact.angles, *plane) <= tolerance + SLACK
        }
        (PlaneName::Oblique(_), PlaneName::Named(plane)) => {
            angle_from(&exact.angles, *plane) > tolerance - SLACK
        }
        (PlaneName::Oblique(old), PlaneName::Oblique(new)) => {
            oblique_holds(old, new, exact, tolerance)
        }
        // Two different named planes: only possible with a tolerance of 45° or more, or after a jump.
        (PlaneName::Named(_), PlaneName::Named(_)) => false,
    }
}

/// Kind and doubleness flicker likewise; the two nearest planes are words of the explanation and may
/// not lag behind, so a change of those shows at once.
fn oblique_holds(old: &Oblique, new: &Oblique, exact: &PlaneNaming, tolerance: Angle) -> bool {
    if old.between != new.between {
        return false;
    }
    let angles = [
        exact.angles.sagittal,
        exact.angles.coronal,
        exact.angles.transverse,
    ];
    let near = |angle: Angle, limit: Angle| (angle - limit).abs() <= SLACK;
    let kind_near = near(exact.angles.transverse, Angle::deg(45.0));
    let double_near = angles
        .iter()
        .any(|angle| near(*angle, tolerance) || near(*angle, Angle::deg(90.0) - tolerance));
    (old.kind == new.kind || kind_near) && (old.double == new.double || double_near)
}

/// The angle between the image plane and a body plane.
pub(crate) fn angle_from(angles: &PlaneAngles, plane: BodyPlane) -> Angle {
    match plane {
        BodyPlane::Sagittal => angles.sagittal,
        BodyPlane::Coronal => angles.coronal,
        BodyPlane::Transverse => angles.transverse,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plane turned from sagittal toward transverse by `degrees`.
    fn turned(degrees: f64) -> Direction<Patient> {
        let angle = Angle::deg(degrees);
        Direction::from_array([angle.cos(), 0.0, angle.sin()]).expect("unit length")
    }

    fn check_shown(path: &[(f64, bool, bool)]) {
        let tolerance = Angle::deg(20.0);
        let mut shown = PlaneName::Named(BodyPlane::Sagittal);
        for (degrees, moving, named) in path {
            shown = shown_name(shown, turned(*degrees), tolerance, *moving);
            let is_named = matches!(shown, PlaneName::Named(BodyPlane::Sagittal));
            assert_eq!(is_named, *named, "{degrees} of {path:?}: {shown:?}");
        }
    }

    #[test]
    fn the_name_lags_while_moving_and_is_exact_at_rest() {
        check_shown(&[
            (19.9, true, true),
            (20.4, true, true),
            (19.9, true, true),
            (21.2, true, false),
        ]);
        check_shown(&[(21.2, true, false), (19.6, true, false), (18.8, true, true)]);
        check_shown(&[(20.4, true, true), (20.4, false, false)]);
        check_shown(&[(30.0, false, false), (19.9, false, true)]);
    }

    #[test]
    fn a_jump_to_another_plane_shows_at_once() {
        let shown = PlaneName::Named(BodyPlane::Sagittal);
        let shown = shown_name(shown, turned(88.0), Angle::deg(20.0), true);
        assert_eq!(shown, PlaneName::Named(BodyPlane::Transverse));
    }
}
