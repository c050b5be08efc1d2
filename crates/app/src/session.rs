//! What a tab takes along when its page loads again: the view to the last digit, the steps that can be taken back and
//! done again, the viewer, and what was on show.
//!
//! A page loads again when its language changes, when a newer version is taken, or when somebody wishes it to. The address
//! holds the view, the browser's storage the examination and the learner's record; this holds the rest. It is kept for
//! the tab alone and is taken up only where the address still says what it said then, so that an opened link is never
//! overruled.
//!
//! One line a thing, `key value`, behind a line with the version. Views and steps are written as links are. Lines that are
//! not known, or cannot be read, are passed over; another version is passed over whole.

use course::link::{self, LinkState};

use crate::address;
use crate::practise::Screen;
use crate::scene::{Camera, StructureFilter};
use crate::start;
use crate::state::{Snapshot, State};
use crate::update::LONGEST_UNDO;
use crate::volume::VolumeChoice;
use crate::why::{Ask, Asked, Tryout};

/// First line of the text.
const VERSION: &str = "planeward-tab 1";

/// Longest text that is looked at, bytes: two full lists of steps, each as long as a link can be, stay below it.
const LONGEST: usize = 2 * LONGEST_UNDO * 512 + 4096;

/// What a tab takes along.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// The address at the time.
    address: String,
    /// The view as it was, which the address follows with a delay.
    view: String,
    body: Option<String>,
    undo: Vec<LinkState>,
    redo: Vec<LinkState>,
    camera: Option<Camera>,
    filter: StructureFilter,
    skin_shown: bool,
    predicting: bool,
    volume: VolumeChoice,
    chosen: Option<String>,
    asked: Option<Ask>,
}

impl Session {
    /// The fragment of the view as it was, where the address still says what it said then.
    #[must_use]
    pub fn view_at(&self, address: &str) -> Option<&str> {
        (self.address == address).then_some(&*self.view)
    }
}

/// What a tab that is being left takes along; none while there is nothing to take, or questions use the probe.
///
/// `address` is the fragment that stands in the address bar.
#[must_use]
pub fn write(state: &State, address: &str) -> Option<String> {
    if state.skin().is_none() || state.practise.screen != Screen::Scan {
        return None;
    }
    let step = |snapshot: &Snapshot| link::write(&address::link_of_snapshot(state, snapshot));
    let mut lines = vec![
        VERSION.to_owned(),
        format!("address {address}"),
        format!("view {}", address::fragment(state)),
    ];
    let camera = state
        .camera_motion
        .as_ref()
        .map_or(&state.camera, |motion| motion.end());
    let [x, y, z] = camera.target();
    lines.push(format!(
        "viewer {x},{y},{z},{},{},{}",
        camera.azimuth_deg(),
        camera.elevation_deg(),
        camera.distance_mm()
    ));
    if state.filter != StructureFilter::Everything {
        lines.push(format!("inside {}", state.filter.key()));
    }
    if !state.skin_shown {
        lines.push("skin hidden".to_owned());
    }
    if state.predicting {
        lines.push("predict on".to_owned());
    }
    if state.volume.shown {
        lines.push("volume shown".to_owned());
    }
    if let Some([x, y, z]) = state.volume.at {
        lines.push(format!("point {x},{y},{z}"));
    }
    if let Some(id) = &state.chosen {
        lines.push(format!("chosen {id}"));
    }
    if let Some(asked) = &state.why {
        lines.push(format!("why {}", asked.ask.key()));
    }
    // An interaction that still runs would be remembered when it ends.
    let running = state.open.as_ref().map(|(_, before)| before);
    let running = running.filter(|before| **before != state.snapshot());
    let undo = state.undo.iter().chain(running);
    lines.extend(undo.map(|snapshot| format!("undo {}", step(snapshot))));
    lines.extend(
        state
            .redo
            .iter()
            .map(|snapshot| format!("redo {}", step(snapshot))),
    );
    Some(lines.join("\n"))
}

/// Reads what [`write()`] wrote; none for a text of another version, or one that is longer than any of ours.
#[must_use]
pub fn read(text: &str) -> Option<Session> {
    if text.len() > LONGEST {
        return None;
    }
    let mut lines = text.lines();
    if lines.next() != Some(VERSION) {
        return None;
    }
    let mut session = Session {
        address: String::new(),
        view: String::new(),
        body: None,
        undo: Vec::new(),
        redo: Vec::new(),
        camera: None,
        filter: StructureFilter::Everything,
        skin_shown: true,
        predicting: false,
        volume: VolumeChoice::default(),
        chosen: None,
        asked: None,
    };
    for line in lines {
        let (key, value) = line.split_once(' ').unwrap_or((line, ""));
        match key {
            "address" => value.clone_into(&mut session.address),
            "view" => value.clone_into(&mut session.view),
            "viewer" => {
                session.camera = numbers(value)
                    .map(|[x, y, z, around, up, far]| Camera::new([x, y, z], around, up, far));
            }
            "inside" => {
                let mut known = StructureFilter::ALL.into_iter();
                let found = known.find(|filter| filter.key() == value);
                session.filter = found.unwrap_or_default();
            }
            "skin" => session.skin_shown = value != "hidden",
            "predict" => session.predicting = value == "on",
            "volume" => session.volume.shown = value == "shown",
            "point" => session.volume.at = numbers(value),
            "chosen" => session.chosen = Some(value.to_owned()),
            "why" => session.asked = Ask::from_key(value),
            "undo" => session.undo.extend(link::read(value)),
            "redo" => session.redo.extend(link::read(value)),
            _ => {}
        }
    }
    session.body = link::read(&session.view).ok()?.body;
    Some(session)
}

/// Exactly `N` finite numbers between commas.
fn numbers<const N: usize>(text: &str) -> Option<[f64; N]> {
    let mut all = [0.0; N];
    let mut words = text.split(',');
    for slot in &mut all {
        *slot = words
            .next()?
            .parse()
            .ok()
            .filter(|number: &f64| number.is_finite())?;
    }
    words.next().is_none().then_some(all)
}

/// Takes everything up but the view itself, which [`State::new`] has opened. Does nothing before the skin is here, and
/// nothing for another body.
pub(crate) fn take_up(state: &mut State) {
    let Some(session) = state.session.take() else {
        return;
    };
    if session.body.as_deref() != Some(state.body_id()) {
        return;
    }
    let Some((facts, skin)) = state.parts() else {
        state.session = Some(session);
        return;
    };
    let step = |wanted: &LinkState| {
        let of_this_body = wanted.body.as_deref() == Some(state.body_id());
        let pose = wanted.pose.as_ref().and_then(address::pose_of_link);
        Some(Snapshot {
            pose: start::on_skin(pose.filter(|_| of_this_body)?, skin),
            window: wanted.window.clone(),
            setup: start::setup_of_link(state.setup, wanted),
        })
    };
    let newest = |steps: &[LinkState]| {
        let beyond = steps.len().saturating_sub(LONGEST_UNDO);
        steps
            .iter()
            .skip(beyond)
            .filter_map(step)
            .collect::<Vec<_>>()
    };
    let (undo, redo) = (newest(&session.undo), newest(&session.redo));
    let known = |id: &String| facts.find(id).is_some();
    let chosen = session.chosen.filter(known);
    let asked = session.asked.filter(|ask| match ask {
        Ask::Axis(id) => known(id),
        Ask::Plane | Ask::Side(_) | Ask::Mark => true,
    });
    state.undo = undo;
    state.redo = redo;
    state.chosen = chosen;
    state.why = asked.map(|ask| Asked {
        ask,
        tryout: Tryout::default(),
        // Its animation has been seen.
        elapsed_ms: f64::MAX,
    });
    state.filter = session.filter;
    state.skin_shown = session.skin_shown;
    state.predicting = session.predicting;
    state.volume = session.volume;
    if let Some(camera) = session.camera {
        state.camera = camera;
    }
}
