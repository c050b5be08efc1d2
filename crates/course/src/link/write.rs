//! From a view to its text.

use super::{LinkPicture, LinkPose, LinkState, Seat, VERSION, number};

/// The fragment for `state`, without the `#`, always fewer than 470 characters when the identifiers are
/// no longer than 40.
///
/// Numbers that are not finite, or too large to mean anything, are written as 0: a link is
/// written while somebody works, and must never stop them.
#[must_use]
pub fn write(state: &LinkState) -> String {
    let mut parts: Vec<String> = Vec::new();
    if let Some(body) = &state.body {
        parts.push(format!("body={body}"));
    }
    if let Some(window) = &state.window {
        parts.push(format!("window={window}"));
    }
    if let Some(pose) = &state.pose {
        write_pose(pose, &mut parts);
    }
    if let Some(transducer) = &state.transducer {
        parts.push(format!("probe={transducer}"));
    }
    if let Some(depth) = state.depth_mm {
        parts.push(format!("depth={}", plain(depth)));
    }
    parts.push(format!("mark={}", state.mark.word()));
    parts.push(format!("apex={}", state.apex.word()));
    parts.push(format!("tol={}", plain(state.tolerance_deg)));
    parts.push(format!("lie={}", state.position.key()));
    parts.push(format!("seat={}", seat_word(state.seat)));
    write_picture(&state.picture, &mut parts);
    format!("{VERSION}{}", parts.join("&"))
}

fn write_picture(picture: &LinkPicture, parts: &mut Vec<String>) {
    for (key, value) in [
        ("grey", picture.grey_percent),
        ("gain", picture.gain_db),
        ("range", picture.range_db),
        ("freq", picture.frequency_mhz),
        ("focus", picture.focus_mm),
        ("comp", picture.compensation_db),
    ] {
        parts.extend(value.map(|value| format!("{key}={}", plain(value))));
    }
    if let Some(sliders) = picture.time_gain_db {
        parts.push(format!("tgc={}", sliders.map(plain).join(",")));
    }
}

fn write_pose(pose: &LinkPose, parts: &mut Vec<String>) {
    let [x, y, z] = pose.contact_mm.map(plain);
    parts.push(format!("at={x},{y},{z}"));
    let (azimuth, elevation) = tidy_normal(pose.out_azimuth_deg, pose.out_elevation_deg);
    parts.push(format!(
        "out={},{}",
        number::text(azimuth),
        number::text(elevation)
    ));
    let turn = thousandths(pose.rotation_deg).rem_euclid(360_000);
    parts.push(format!("turn={}", number::text(turn)));
    parts.push(format!("tilt={}", plain(pose.tilt_deg)));
    parts.push(format!("rock={}", plain(pose.rock_deg)));
    parts.push(format!("press={}", plain(pose.press_mm)));
}

/// A pose with the numbers that a link holds: thousandths, one turn, no azimuth at the poles. What is no number is 0.
#[must_use]
pub fn tidy(pose: LinkPose) -> LinkPose {
    let near = |value| number::from_thousandths(thousandths(value));
    let (azimuth, elevation) = tidy_normal(pose.out_azimuth_deg, pose.out_elevation_deg);
    let turn = thousandths(pose.rotation_deg).rem_euclid(360_000);
    LinkPose {
        contact_mm: pose.contact_mm.map(near),
        out_azimuth_deg: number::from_thousandths(azimuth),
        out_elevation_deg: number::from_thousandths(elevation),
        rotation_deg: number::from_thousandths(turn),
        tilt_deg: near(pose.tilt_deg),
        rock_deg: near(pose.rock_deg),
        press_mm: near(pose.press_mm),
    }
}

/// Azimuth in (−180 000, 180 000] thousandths, and 0 at the poles where it has no meaning.
pub(super) fn tidy_normal(azimuth_deg: f64, elevation_deg: f64) -> (i64, i64) {
    let elevation = thousandths(elevation_deg);
    if elevation.abs() >= 90_000 {
        return (0, elevation.clamp(-90_000, 90_000));
    }
    let turned = thousandths(azimuth_deg).rem_euclid(360_000);
    let azimuth = if turned > 180_000 {
        turned - 360_000
    } else {
        turned
    };
    (azimuth, elevation)
}

fn thousandths(value: f64) -> i64 {
    number::thousandths(value).unwrap_or(0)
}

fn plain(value: f64) -> String {
    number::text(thousandths(value))
}

pub(super) fn seat_word(seat: Seat) -> &'static str {
    match seat {
        Seat::Right => "right",
        Seat::Left => "left",
    }
}
