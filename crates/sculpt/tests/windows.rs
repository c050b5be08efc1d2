//! Every probe window of every body reaches the skin, points into the body and cuts what it promises to show.
//!
//! Shadows are ignored here: a structure may still lie behind a rib or gas.

#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

mod support;

use anatomy::catalogue::WindowEntry;
use sculpt::model::Model;
use sculpt::triple::{self as t, Triple};
use sculpt::window::load_windows;
use support::{index, model, models_dir};

/// Fields of view, common practice: opening angle in degrees, radius of the face or width of a flat face, mm.
fn field(kind: &str) -> (f64, f64, f64) {
    match kind {
        "convex" => (66.0, 55.0, 0.0),
        "micro_convex" => (96.0, 12.0, 0.0),
        "phased" => (84.0, 0.0, 0.0),
        "linear" => (0.0, 0.0, 44.0),
        other => panic!("unknown transducer {other}"),
    }
}

/// Points of the picture about 1 mm apart, as patient mm.
fn points(w: &WindowEntry) -> Vec<Triple> {
    let (degrees, radius, width) = field(&w.transducer);
    let (contact, beam, notch) = (w.resolved.contact, w.resolved.beam, w.resolved.notch);
    let at = |x: f64, y: f64| t::add(contact, t::add(t::scale(notch, x), t::scale(beam, y)));
    let mut out = Vec::new();
    for depth in (0..).map(f64::from).take_while(|d| *d <= w.depth_mm) {
        if width > 0.0 {
            out.extend((0..=44).map(|i| at(f64::from(i) - width / 2.0, depth)));
            continue;
        }
        let r = radius + depth;
        let half = degrees.to_radians() / 2.0;
        let steps = (2.0 * half * r).ceil().max(1.0);
        let mut i = 0.0;
        while i <= steps {
            let angle = -half + 2.0 * half * i / steps;
            out.push(at(r * libm::sin(angle), r * libm::cos(angle) - radius));
            i += 1.0;
        }
    }
    out
}

fn check_body(body: &str, count: usize) {
    let m: &Model = model(body);
    let windows = load_windows(&models_dir(), m).expect("the windows are valid");
    assert_eq!(windows.len(), count, "windows of {body}");
    let mut problems = Vec::new();
    for w in &windows {
        let r = &w.resolved;
        let off = m.value(m.skin, r.contact).abs();
        if off > 0.01 {
            problems.push(format!("{}: contact {off:.2} mm off the skin", w.id));
        }
        if t::dot(r.beam, r.notch).abs() > 1e-9 {
            problems.push(format!("{}: notch not across the beam", w.id));
        }
        let lean = -t::dot(r.beam, r.normal);
        if lean < 0.25 {
            let degrees = libm::asin(lean).to_degrees();
            problems.push(format!("{}: beam only {degrees:.0}° from the skin", w.id));
        }
        let picture = points(w);
        for id in w
            .must_see
            .iter()
            .chain(w.axis_of.iter().map(|a| &a.structure))
        {
            let i = index(m, id);
            let bounds = m.structures[i].solid.bounds;
            if !picture
                .iter()
                .any(|&p| bounds.contains(p) && m.value(i, p) < 0.0)
            {
                problems.push(format!("{}: {id} is not in the picture", w.id));
            }
        }
    }
    assert!(problems.is_empty(), "{body}\n{}", problems.join("\n"));
}

#[test]
fn windows_of_the_woman_show_what_they_promise() {
    check_body("adult_female", 48);
}

#[test]
fn windows_of_the_man_show_what_they_promise() {
    check_body("adult_male", 47);
}

#[test]
fn windows_of_the_infant_show_what_they_promise() {
    check_body("infant_head", 7);
}
