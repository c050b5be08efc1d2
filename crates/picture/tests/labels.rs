//! Places of names: never over one another, inside the picture, stable under small motion.

#![expect(
    clippy::cast_precision_loss,
    reason = "a test stops at the first thing that is wrong, and its numbers are small"
)]

use std::path::Path;

use anatomy::Body;
use geometry::{Angle, ApexSide, ImagePlane};
use picture::labels::{LabelMemory, LabelStyle, PlacedLabel, Rect, Wish, arrange};
use picture::{Field, Frame, Margins, contents, place_labels, transducer};
use proptest::prelude::*;

const WHOLE: Rect = Rect {
    x: -0.5,
    y: -0.5,
    w: 512.0,
    h: 400.0,
};

fn width(text: &str) -> f64 {
    6.5 * text.chars().count() as f64
}

/// Structures are discs around their anchors; the first disc that holds a point shows there.
fn discs(wishes: &[Wish]) -> impl Fn(usize, [f64; 2]) -> bool + '_ {
    |key, at| {
        wishes
            .iter()
            .find(|w| libm::hypot(at[0] - w.anchor[0], at[1] - w.anchor[1]) <= w.room)
            .is_some_and(|w| w.key == key)
    }
}

fn place(wishes: &[Wish], keep_clear: &[Rect], memory: &mut LabelMemory) -> Vec<PlacedLabel> {
    let shows = discs(wishes);
    arrange(
        wishes,
        WHOLE,
        &LabelStyle::default(),
        keep_clear,
        &width,
        &shows,
        memory,
    )
}

fn wish(key: usize, anchor: [f64; 2], room: f64) -> Wish {
    let names = [format!("Structure number {key}"), format!("S{key}")];
    Wish {
        key,
        names,
        anchor,
        room,
        area: 3.0 * room * room,
    }
}

fn crosses(a: [[f64; 2]; 2], b: [[f64; 2]; 2]) -> bool {
    let side = |p: [[f64; 2]; 2], q: [f64; 2]| {
        (p[1][0] - p[0][0]) * (q[1] - p[0][1]) - (p[1][1] - p[0][1]) * (q[0] - p[0][0])
    };
    side(a, b[0]) * side(a, b[1]) < 0.0 && side(b, a[0]) * side(b, a[1]) < 0.0
}

fn check_sound(placed: &[PlacedLabel], keep_clear: &[Rect]) {
    for (i, a) in placed.iter().enumerate() {
        let r = a.rect;
        assert!(
            r.x >= WHOLE.x
                && r.y >= WHOLE.y
                && r.x + r.w <= WHOLE.x + WHOLE.w
                && r.y + r.h <= WHOLE.y + WHOLE.h,
            "inside the picture: {a:?}"
        );
        assert!(
            keep_clear.iter().all(|k| !k.overlaps(&r)),
            "kept clear: {a:?}"
        );
        for b in &placed[..i] {
            assert!(!r.overlaps(&b.rect), "{a:?} over {b:?}");
            if let (Some(la), Some(lb)) = (a.leader, b.leader) {
                assert!(!crosses(la, lb), "{a:?} crosses {b:?}");
            }
        }
        // A leader line may start at its own text but passes under no other.
        if let Some([from, to]) = a.leader {
            for b in placed.iter().filter(|b| b.key != a.key) {
                for step in 0..=40 {
                    let t = f64::from(step) / 40.0;
                    let p = [
                        from[0] + t * (to[0] - from[0]),
                        from[1] + t * (to[1] - from[1]),
                    ];
                    assert!(!b.rect.contains(p), "line of {a:?} under {b:?}");
                }
            }
        }
    }
}

fn wishes() -> impl Strategy<Value = Vec<Wish>> {
    prop::collection::vec((-20.0..540.0_f64, -20.0..430.0_f64, 0.5..70.0_f64), 0..60).prop_map(
        |all| {
            all.into_iter()
                .enumerate()
                .map(|(key, (x, y, room))| wish(key, [x, y], room))
                .collect()
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, ..ProptestConfig::default() })]

    #[test]
    fn names_never_overlap(first in wishes(), moves in prop::collection::vec(-4.0..4.0_f64, 120)) {
        let keep_clear = [Rect { x: 240.0, y: 0.0, w: 20.0, h: 20.0 }, Rect { x: 480.0, y: 100.0, w: 32.0, h: 200.0 }];
        let mut memory = LabelMemory::default();
        check_sound(&place(&first, &keep_clear, &mut memory), &keep_clear);
        // The remembered places must not break the rules either.
        let moved: Vec<Wish> = first
            .iter()
            .zip(moves.chunks(2))
            .map(|(w, m)| Wish { anchor: [w.anchor[0] + m[0], w.anchor[1] + m[1]], ..w.clone() })
            .collect();
        check_sound(&place(&moved, &keep_clear, &mut memory), &keep_clear);
    }
}

#[test]
fn large_regions_carry_their_name_and_small_ones_a_line() {
    let all = [
        wish(1, [150.0, 200.0], 90.0),
        wish(2, [350.0, 200.0], 20.0),
        wish(3, [440.0, 330.0], 5.0),
    ];
    let placed = place(&all, &[], &mut LabelMemory::default());
    let of = |key: usize| placed.iter().find(|p| p.key == key).expect("placed");
    assert_eq!(
        (of(1).text.as_str(), of(1).leader),
        ("Structure number 1", None)
    );
    assert_eq!(
        (of(2).text.as_str(), of(2).leader),
        ("S2", None),
        "the short name fits"
    );
    assert_eq!(of(3).text, "S3");
    let [_, tip] = of(3).leader.expect("a line");
    assert!(
        libm::hypot(tip[0] - 440.0, tip[1] - 330.0) <= 5.0,
        "it ends in the structure"
    );
}

#[test]
fn the_largest_come_first_and_specks_have_no_name() {
    let style = LabelStyle::default();
    let mut all: Vec<Wish> = (0..60)
        .map(|n| {
            wish(
                n,
                [40.0 + 48.0 * (n % 10) as f64, 40.0 + 60.0 * (n / 10) as f64],
                8.0 + 0.1 * n as f64,
            )
        })
        .collect();
    all.push(wish(99, [256.0, 10.0], 1.0));
    let placed = place(&all, &[], &mut LabelMemory::default());
    assert!(placed.len() <= style.most, "{} names", placed.len());
    assert!(
        placed.iter().all(|p| p.key >= 36 && p.key != 99),
        "only the largest"
    );
}

/// A slow drag: names must not jump about. Moves are of 1 pixel; a name may move by its structure's move only.
#[test]
fn names_keep_their_places_while_structures_creep() {
    let base: Vec<Wish> = (0..14)
        .map(|n| {
            wish(
                n,
                [60.0 + 30.0 * n as f64, 120.0 + 40.0 * (n % 4) as f64],
                if n % 3 == 0 { 24.0 } else { 5.0 },
            )
        })
        .collect();
    let mut memory = LabelMemory::default();
    let mut before = place(&base, &[], &mut memory);
    let (mut jumps, mut seen) = (0, 0);
    for step in 1..60 {
        let moved: Vec<Wish> = base
            .iter()
            .map(|w| Wish {
                anchor: [w.anchor[0] + f64::from(step), w.anchor[1]],
                ..w.clone()
            })
            .collect();
        let now = place(&moved, &[], &mut memory);
        for label in &now {
            if let Some(old) = before.iter().find(|b| b.key == label.key) {
                seen += 1;
                let d = libm::hypot(label.rect.x - old.rect.x, label.rect.y - old.rect.y);
                jumps += usize::from(d > 3.0);
            }
        }
        before = now;
    }
    assert!(seen > 500, "{seen} names followed");
    assert!(jumps * 50 < seen, "{jumps} jumps in {seen}");
}

#[test]
fn nonsense_is_passed_over() {
    let mut bad = wish(1, [f64::NAN, 3.0], 20.0);
    bad.area = f64::INFINITY;
    let empty = Wish {
        names: [String::new(), String::new()],
        ..wish(2, [100.0, 100.0], 30.0)
    };
    assert!(place(&[bad, empty], &[], &mut LabelMemory::default()).is_empty());
}

/// Names on the real windows of the bodies while the probe tilts slowly: sound in every picture, and steady.
#[test]
fn names_on_real_windows_are_sound_and_steady() {
    const STEP_DEGREES: f64 = 0.25;
    const STEPS: u32 = 8;
    // A name may go along with its structure; what it moves beyond that in one step is a jump.
    const JUMP_PX: f64 = 12.0;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    // Not every window of the woman: they take their time.
    for (id, every) in [("adult_female", 3), ("infant_head", 1)] {
        let file = |end: &str| {
            std::fs::read(folder.join(format!("{id}.{end}")))
                .expect("a baked body (cargo xtask bake)")
        };
        let body = Body::read(&file("glb"), &file("json")).expect("a body");
        let (mut followed, mut jumps, mut lost, mut lines) = (0, 0, 0, 0);
        for window in body.windows().iter().step_by(every) {
            let known = transducer(&window.transducer).expect("a known transducer");
            let field = Field::new(known, window.depth, ApexSide::Top);
            let frame = Frame::fit(&field, 512, 400, Margins::all(26.0));
            let mut memory = LabelMemory::default();
            let mut before: Vec<PlacedLabel> = Vec::new();
            for step in 0..STEPS {
                let lean = Angle::deg(window.pose.tilt().to_deg() + f64::from(step) * STEP_DEGREES);
                let plane =
                    ImagePlane::from_pose(&window.pose.with_tilt(lean), window.convention());
                let seen = contents(&body, &body.section(&plane), &field);
                let style = LabelStyle::default();
                let placed = place_labels(&body, &seen, &frame, &style, &[], &width, &mut memory);
                check_sound(&placed, &[]);
                lines += placed.iter().filter(|p| p.leader.is_some()).count();
                for old in &before {
                    match placed.iter().find(|p| p.key == old.key) {
                        Some(now) => {
                            followed += 1;
                            let moved =
                                libm::hypot(now.rect.x - old.rect.x, now.rect.y - old.rect.y);
                            jumps += usize::from(moved > JUMP_PX);
                        }
                        None => lost += 1,
                    }
                }
                before = placed;
            }
        }
        assert!(
            followed > 500 && lines > 100,
            "{id}: {followed} names, {lines} lines"
        );
        assert!(jumps * 25 < followed, "{id}: {jumps} jumps in {followed}");
        assert!(
            lost * 25 < followed,
            "{id}: {lost} names went of {followed}"
        );
    }
}
