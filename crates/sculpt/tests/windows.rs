//! Every probe window of every body reaches the skin, points into the body, shows what it promises in front of all
//! bone and gas, and shows it in the axis it promises.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a test stops at the first thing that is wrong, and the measured values are worth reading with --nocapture"
)]

#[path = "support/shown.rs"]
mod shown;
mod support;

use anatomy::axis::{LONG_AXIS_LIMIT, SHORT_AXIS_LIMIT};
use anatomy::catalogue::{ViewEntry, WindowEntry};
use sculpt::model::Model;
use sculpt::triple as t;
use sculpt::window::load_windows;
use shown::{Painter, Picture};
use support::{index, model, models_dir};

/// Least share of a structure's part of the picture that must lie in front of bone, gas and lung: with less, nobody
/// would recognise it (common practice, no source).
const LIT_SHARE: f64 = 0.05;

/// Must-see structures that lie wholly in shadow, as body, window, structure: none does.
const HIDDEN: &[[&str; 3]] = &[];

fn check_body(body: &str, count: usize, step: f64) {
    let m: &Model = model(body);
    let windows = load_windows(&models_dir(), m).expect("the windows are valid");
    assert_eq!(windows.len(), count, "windows of {body}");
    let painter = Painter::new(m);
    let mut problems = Vec::new();
    for w in &windows {
        let picture = painter.picture(w, step);
        let found = [
            standing(m, w),
            missing(m, w, &picture),
            hidden(m, w, &picture, &painter),
            axes(m, w, &picture),
        ];
        problems.extend(found.concat().iter().map(|p| format!("{}: {p}", w.id)));
    }
    assert!(problems.is_empty(), "{body}\n{}", problems.join("\n"));
}

/// The probe stands on the skin and looks into the body.
fn standing(m: &Model, w: &WindowEntry) -> Vec<String> {
    let r = &w.resolved;
    let mut problems = Vec::new();
    let off = m.value(m.skin, r.contact).abs();
    if off > 0.01 {
        problems.push(format!("contact {off:.2} mm off the skin"));
    }
    if t::dot(r.beam, r.notch).abs() > 1e-9 {
        problems.push("notch not across the beam".to_owned());
    }
    let lean = -t::dot(r.beam, r.normal);
    if lean < 0.25 {
        let degrees = libm::asin(lean).to_degrees();
        problems.push(format!("beam only {degrees:.0}° from the skin"));
    }
    problems
}

/// What the window names is painted in its picture.
fn missing(m: &Model, w: &WindowEntry, picture: &Picture) -> Vec<String> {
    let named = w.axis_of.iter().map(|a| &a.structure);
    w.must_see
        .iter()
        .chain(named)
        .filter(|id| picture.seen(index(m, id)).area <= 0.0)
        .map(|id| format!("{id} is not in the picture"))
        .collect()
}

/// What must be seen is not behind bone, gas or lung, but for the marked ones.
fn hidden(m: &Model, w: &WindowEntry, picture: &Picture, painter: &Painter<'_>) -> Vec<String> {
    let mut problems = Vec::new();
    for id in &w.must_see {
        let i = index(m, id);
        let seen = picture.seen(i);
        // Of what casts the shadow itself only the near face can be seen.
        let least = if painter.casts_shadow(i) {
            0.0
        } else {
            LIT_SHARE
        };
        let is_hidden = seen.area > 0.0 && seen.lit <= least * seen.area;
        let marked = HIDDEN.contains(&[m.id.as_str(), w.id.as_str(), id.as_str()]);
        println!(
            "{} {} {id}: {:.0} of {:.0} mm2 in front",
            m.id, w.id, seen.lit, seen.area
        );
        if is_hidden != marked {
            let word = if is_hidden {
                "behind"
            } else {
                "marked as hidden but in front of"
            };
            problems.push(format!("{id} is {word} bone, gas or lung"));
        }
    }
    problems
}

/// Long and short axes are what the window says they are.
fn axes(m: &Model, w: &WindowEntry, picture: &Picture) -> Vec<String> {
    let (long, short) = (LONG_AXIS_LIMIT.to_deg(), SHORT_AXIS_LIMIT.to_deg());
    let mut problems = Vec::new();
    for claim in &w.axis_of {
        let i = index(m, &claim.structure);
        if picture.seen(i).area <= 0.0 {
            continue;
        }
        let angle = picture.axis_angle(m, i);
        println!("{} {} {}: {angle:.1}°", m.id, w.id, claim.structure);
        let holds = match claim.axis {
            ViewEntry::Long => angle <= long,
            ViewEntry::Short => angle >= short,
            ViewEntry::Oblique => angle > long && angle < short,
        };
        if !holds {
            problems.push(format!(
                "axis of {} at {angle:.1}° to the plane",
                claim.structure
            ));
        }
    }
    problems
}

#[test]
fn windows_of_the_woman_show_what_they_promise() {
    check_body("adult_female", 48, 1.0);
}

#[test]
fn windows_of_the_man_show_what_they_promise() {
    check_body("adult_male", 47, 1.0);
}

#[test]
fn windows_of_the_infant_show_what_they_promise() {
    check_body("infant_head", 7, 0.5);
}
