//! What was measured against what it should be: ratios of things measured in one run, and shares of a frame.

use super::Line;
use anyhow::{Context as _, Result};

/// Time between two frames of a usual screen, µs.
const FRAME_US: f64 = 1e6 / 60.0;

/// What counts as better.
#[derive(Clone, Copy, PartialEq)]
enum Wanted {
    AtLeast,
    AtMost,
}

/// Which number of a measure.
#[derive(Clone, Copy)]
enum Which {
    /// The best of several times, or the median where there is none.
    Best,
    P99,
}

fn time(lines: &[Line], name: &str, which: Which) -> Result<f64> {
    lines
        .iter()
        .find_map(|line| match line {
            Line::Measure {
                name: other,
                median_us,
                p99_us,
                best_us,
            } if other == name => Some(match which {
                Which::Best => best_us.unwrap_or(*median_us),
                Which::P99 => *p99_us,
            }),
            _ => None,
        })
        .with_context(|| format!("{name:?} was not measured"))
}

/// A row for each goal. Floors and goals are the project's own, set from prototypes measured beside the same peers.
pub(super) fn table(native: &[Line], browser: &[Line], frames: &[Line]) -> Result<String> {
    use Wanted::{AtLeast, AtMost};
    let best = |lines: &[Line], name: &str| time(lines, name, Which::Best);
    let made_up = "section of 40 made-up meshes";
    let picture = "frame: pose to canvas";
    let rows = [
        (
            "section, native: parry3d / own",
            best(native, "the same by parry3d")? / best(native, made_up)?,
            AtLeast,
            [10.0, 25.0],
        ),
        (
            "section, Chromium: three-mesh-bvh / own",
            best(frames, "section by three-mesh-bvh")? / best(frames, "section of a body")?,
            AtLeast,
            [8.0, 18.0],
        ),
        (
            "section: Chromium / native",
            best(browser, made_up)? / best(native, made_up)?,
            AtMost,
            [1.5, 1.2],
        ),
        (
            "pose to grey: Chromium / native",
            best(browser, "pose to grey 512 x 512")? / best(native, "pose to grey 512 x 512")?,
            AtMost,
            [1.5, 1.2],
        ),
        (
            "pose to canvas: plain JavaScript / own",
            best(frames, "frame: plain JavaScript")? / best(frames, picture)?,
            AtLeast,
            [4.0, 6.0],
        ),
        (
            "pose to canvas, p99, share of a frame",
            time(frames, "frame: body gives way to face", Which::P99)? / FRAME_US,
            AtMost,
            [0.25, 0.125],
        ),
        (
            "the same while the probe moves",
            time(frames, "frame: the same while it moves", Which::P99)? / FRAME_US,
            AtMost,
            [0.25, 0.125],
        ),
    ];
    let mut text = format!(
        "  {:<42}{:>8}{:>8}{:>8}\n",
        "ratio", "measured", "floor", "goal"
    );
    for (name, measured, wanted, [floor, goal]) in rows {
        let holds = |limit: f64| match wanted {
            AtLeast => measured >= limit,
            AtMost => measured <= limit,
        };
        let verdict = if holds(goal) {
            "goal reached"
        } else if holds(floor) {
            "above the floor"
        } else {
            "below the floor"
        };
        text += &format!("  {name:<42}{measured:>8.2}{floor:>8}{goal:>8}  {verdict}\n");
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measure(name: &str, us: f64) -> Line {
        Line::Measure {
            name: name.to_owned(),
            median_us: 2.0 * us,
            p99_us: 10.0 * us,
            best_us: Some(us),
        }
    }

    #[test]
    fn check_verdicts() {
        let native = [
            measure("the same by parry3d", 300.0),
            measure("section of 40 made-up meshes", 10.0),
            measure("pose to grey 512 x 512", 400.0),
        ];
        let browser = [
            measure("section of 40 made-up meshes", 20.0),
            measure("pose to grey 512 x 512", 520.0),
        ];
        let frames = [
            measure("section by three-mesh-bvh", 300.0),
            measure("section of a body", 10.0),
            measure("frame: pose to canvas", 500.0),
            measure("frame: plain JavaScript", 1000.0),
            measure("frame: body gives way to face", 500.0),
            measure("frame: the same while it moves", 250.0),
        ];
        let text = table(&native, &browser, &frames).unwrap();
        let row = |name: &str| text.lines().find(|l| l.contains(name)).unwrap().to_owned();
        assert!(row("parry3d").ends_with("goal reached"), "{text}");
        assert!(
            row("section: Chromium").ends_with("below the floor"),
            "{text}"
        );
        assert!(row("pose to grey").ends_with("above the floor"), "{text}");
        assert!(row("plain").ends_with("below the floor"), "{text}");
        assert!(row("share").contains("0.30"), "p99 counts here: {text}");
        assert!(row("moves").contains("0.15"), "p99 counts here: {text}");
        assert!(
            table(&native, &browser, &[]).is_err(),
            "nothing is left out"
        );
    }
}
