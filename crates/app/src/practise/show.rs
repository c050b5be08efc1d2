//! Questions on the two views: the probe, the setup and the viewpoint follow the question; what it asks is veiled.

use geometry::{Convention, Placement};
use practice::compose::reversed;
use practice::{Eye, Fault, Kind, Question, Task, View};

use super::figure;
use super::round::{Purpose, Round, Stage, item};
use super::{Screen, Veil};
use crate::action::{Changes, Seat};
use crate::scene::{Camera, CameraPreset, preset_camera};
use crate::start;
use crate::state::{BodyStage, State};
use crate::update::{head_for, move_camera};
use crate::views::{Panels, WordsView};

pub(super) fn open(state: &mut State) -> Changes {
    if state.practise.screen == Screen::Practise {
        return Changes::none();
    }
    state.practise.screen = Screen::Practise;
    state.practise.before = Some(Box::new(state.snapshot()));
    let stage = state.practise.round.as_ref().map(Round::stage);
    let shown = match stage {
        Some(Stage::Told) => lay_out(state, true).and(told(state)),
        Some(_) => question(state),
        None => Changes::none(),
    };
    shown.and(screen_changed())
}

/// Back to the scan as it was left.
pub(super) fn close(state: &mut State) -> Changes {
    if state.practise.screen == Screen::Scan {
        return Changes::none();
    }
    state.practise.screen = Screen::Scan;
    home(state).and(screen_changed())
}

fn screen_changed() -> Changes {
    Changes {
        address: true,
        body: true,
        ..Changes::everything()
    }
}

/// The probe as the scan left it.
pub(super) fn home(state: &mut State) -> Changes {
    let Some(before) = state.practise.before.clone() else {
        return Changes::everything();
    };
    if state.practise.screen == Screen::Scan {
        state.practise.before = None;
    }
    state.setup = before.setup;
    state.window = before.window;
    state.chosen = None;
    put(state, before.pose);
    state.camera = preset_camera(state, CameraPreset::ExaminerSeat);
    Changes::everything()
}

/// Puts the probe there at once: from one question to the next there is no way to show.
fn put(state: &mut State, pose: geometry::Pose) {
    state.pose_motion = None;
    state.camera_motion = None;
    state.drag = None;
    state.open = None;
    state.undo.clear();
    state.redo.clear();
    state.pose = pose;
    start::settle(state);
}

/// Takes over transducer, depth, layout, position and seat of a view.
fn set_up(state: &mut State, view: &View, placement: &Placement) {
    let setup = &mut state.setup;
    setup.tuning = setup.tuning.carried(setup.transducer, view.transducer);
    setup.transducer = view.transducer;
    setup.depth = view.transducer.clamp_depth(placement.depth);
    setup.convention = placement.convention;
    setup.tolerance = view.tolerance;
    setup.position = view.position;
    setup.seat = match view.eye {
        Eye::LeftSeat => Seat::Left,
        Eye::RightSeat | Eye::Feet | Eye::Head => Seat::Right,
    };
    state.window = None;
}

/// Shows the question that is open, veiled; of a movement the picture after it, with the one before beside it.
pub(super) fn question(state: &mut State) -> Changes {
    let changes = lay_out(state, true);
    figure::keep_before(state);
    changes
}

/// Puts the probe and the setup where the open question has them, after its movement or before it.
pub(super) fn lay_out(state: &mut State, after: bool) -> Changes {
    let Some(question) = state
        .practise
        .round
        .as_ref()
        .and_then(Round::on_show)
        .cloned()
    else {
        return Changes::everything();
    };
    let other = bring(state, &question.view.body);
    let placement = shown_placement(&question, after);
    set_up(state, &question.view, &placement);
    state.chosen = lit(&question);
    put(state, placement.pose);
    state.camera = camera_of(state, &question.view);
    Changes {
        body: other,
        ..Changes::everything()
    }
}

/// A state that shows a question, and nothing of what it asks, in grey: for pictures that are drawn aside. `after` is for
/// the picture after a movement.
pub(crate) fn posed(state: &State, asked: &Question, after: bool) -> State {
    let mut again = state.clone();
    again.practise.screen = Screen::Practise;
    again.practise.round = Some(Round {
        seed: 0,
        purpose: Purpose::Check,
        items: vec![item(0, asked.clone(), None, false)],
        at: 0,
        stage: Stage::Asking,
        clock_ms: None,
        ended_ms: None,
        set: None,
        told_open: false,
    });
    let _ = lay_out(&mut again, after);
    again.grey_percent = 100.0;
    again
}

/// Turns to a body that a set has on its shelf; whether it is another one than before.
pub(super) fn bring(state: &mut State, id: &str) -> bool {
    if state.body().is_some_and(|here| here.id() == id) {
        return false;
    }
    let Some(body) = state.practise.shelf.iter().find(|body| body.id() == id) else {
        return false;
    };
    state.stage = BodyStage::Loaded(body.clone());
    id.clone_into(&mut state.body_id);
    state.awaited = None;
    state.chosen = None;
    state.why = None;
    state.cursor = None;
    true
}

/// From where a view looks at the body as it stands in `state`.
pub(super) fn camera_of(state: &State, view: &View) -> Camera {
    let preset = match view.eye {
        Eye::Feet => CameraPreset::FromFeet,
        Eye::Head => CameraPreset::FromAbove,
        Eye::RightSeat | Eye::LeftSeat => CameraPreset::ExaminerSeat,
    };
    preset_camera(state, preset)
}

/// Puts the probe there at once, with layout and depth of the picture.
pub(super) fn stand(state: &mut State, placement: &Placement) {
    state.setup.convention = placement.convention;
    state.setup.depth = state.setup.transducer.clamp_depth(placement.depth);
    put(state, placement.pose);
}

fn lit(question: &Question) -> Option<String> {
    let subject = question.subject.as_ref()?;
    question
        .display()
        .lit
        .then(|| subject.structure.as_str().to_owned())
}

/// The placement that the views are drawn from while the question is open.
pub(super) fn shown_placement(question: &Question, after: bool) -> Placement {
    match (&question.task, &question.after, &question.disagreement) {
        (Task::Place { start }, _, _) => *start,
        (_, Some(view), _) if after => view.placement,
        // A probe turned by half a turn gives the picture of the other mark side: the body shows the one, the picture
        // the other.
        (_, _, Some(shown)) if shown.fault == Fault::NotchReversed => Placement {
            convention: other_mark(question.view.placement.convention),
            ..question.view.placement
        },
        (_, _, Some(shown)) => Placement {
            convention: shown.picture.convention,
            ..question.view.placement
        },
        _ => question.view.placement,
    }
}

fn other_mark(convention: Convention) -> Convention {
    Convention {
        mark: convention.mark.opposite(),
        ..convention
    }
}

/// Where the probe is now.
pub(super) fn placement(state: &State) -> Placement {
    Placement {
        pose: *state.settled_pose(),
        convention: state.convention(),
        depth: state.depth(),
    }
}

/// The answer is told: the veil is lifted, and the probe goes from the learner's pose to the right one.
pub(super) fn told(state: &mut State) -> Changes {
    let Some(item) = state.practise.round.as_ref().and_then(Round::item) else {
        return Changes::everything();
    };
    let Some(given) = figure::given(item) else {
        return Changes::everything();
    };
    let question = item.question.clone();
    let right = right_placement(&question);
    stand(state, &given);
    state.setup.depth = state.setup.transducer.clamp_depth(right.depth);
    state.setup.convention = right.convention;
    let mut changes = Changes::everything().and(head_for(state, right.pose));
    if question.kind == Kind::PlaceProbe {
        let near = preset_camera(state, CameraPreset::ToWindow);
        changes = changes.and(move_camera(state, near));
    }
    figure::keep_given(state);
    changes
}

/// What the question's picture should have been.
pub(super) fn right_placement(question: &Question) -> Placement {
    match (&question.after, &question.disagreement) {
        (Some(after), _) => after.placement,
        (None, Some(shown)) if shown.fault == Fault::NotchReversed => {
            let here = question.view.placement;
            let pose = reversed(&here.pose).unwrap_or(here.pose);
            Placement { pose, ..here }
        }
        _ => question.view.placement,
    }
}

/// Back to the learner's own pose, or on to the right one.
pub(super) fn show_mine(state: &mut State, mine: bool) -> Changes {
    let Some(item) = state.practise.round.as_ref().and_then(Round::item) else {
        return Changes::none();
    };
    if state
        .practise
        .round
        .as_ref()
        .is_none_or(|round| round.stage != Stage::Told)
    {
        return Changes::none();
    }
    let right = right_placement(&item.question);
    let Some(given) = figure::given(item) else {
        return Changes::none();
    };
    let wanted = if mine { given } else { right };
    state.setup.convention = wanted.convention;
    state.setup.depth = state.setup.transducer.clamp_depth(wanted.depth);
    Changes {
        picture: true,
        ..head_for(state, wanted.pose)
    }
}

/// The review: the probe stands where the last question left it.
pub(super) fn review(state: &mut State) -> Changes {
    state.chosen = None;
    Changes::everything()
}

/// Opens a question in the scan screen, as it should have been.
pub(super) fn reopen(state: &mut State, number: usize) -> Changes {
    let found = state
        .practise
        .round
        .as_ref()
        .filter(|round| round.stage == Stage::Review)
        .and_then(|round| round.items.get(number))
        .map(|item| item.question.clone());
    let Some(question) = found else {
        return Changes::none();
    };
    let right = right_placement(&question);
    set_up(state, &question.view, &right);
    state.chosen = lit(&question);
    put(state, right.pose);
    state.camera = preset_camera(state, CameraPreset::ExaminerSeat);
    state.practise.screen = Screen::Scan;
    state.practise.before = None;
    screen_changed()
}

impl State {
    /// What the views leave out; everything is shown but while a question is open.
    #[must_use]
    pub fn veil(&self) -> Veil {
        let practise = &self.practise;
        let open = (practise.screen == Screen::Practise)
            .then_some(practise.round.as_ref())
            .flatten();
        let Some(round) = open else {
            return Veil::OPEN;
        };
        if round.stage == Stage::Acquiring {
            return Veil {
                names: false,
                ..Veil::OPEN
            };
        }
        let Some(question) = round.on_show() else {
            return Veil::OPEN;
        };
        if matches!(round.stage, Stage::Told | Stage::Review | Stage::Worked) {
            // A fault is still a fault while it is explained in a worked example.
            let fault = round.stage == Stage::Worked;
            return Veil {
                exchanged: fault && exchanged(question),
                mark_at: drawn_mark(question).filter(|_| fault),
                moves: false,
                ..Veil::OPEN
            };
        }
        let display = question.display();
        Veil {
            body: display.body,
            picture: display.picture,
            letters: display.letters,
            exchanged: exchanged(question),
            mark: display.mark,
            mark_at: drawn_mark(question),
            names: false,
            moves: question.kind == Kind::PlaceProbe,
        }
    }
}

fn exchanged(question: &Question) -> bool {
    question
        .disagreement
        .as_ref()
        .is_some_and(|shown| shown.depth_letters_exchanged)
}

/// The mark of a picture whose notch is reversed stands where the department has it.
fn drawn_mark(question: &Question) -> Option<geometry::MarkSide> {
    question
        .disagreement
        .as_ref()
        .filter(|shown| shown.fault == Fault::NotchReversed)
        .map(|shown| shown.department)
}

/// The panels without what an open question asks.
pub(crate) fn veiled(mut panels: Panels) -> Panels {
    let veil = panels.veil;
    if veil.exchanged {
        let [_, _, top, bottom] = &mut panels.sides.sides;
        std::mem::swap(&mut top.letters, &mut bottom.letters);
        std::mem::swap(&mut top.words, &mut bottom.words);
    }
    if !veil.letters {
        for side in &mut panels.sides.sides {
            side.letters.clear();
            side.words.clear();
        }
    }
    if !veil.letters || !veil.names || !veil.mark || veil.exchanged {
        panels.probe.clock.follows.clear();
    }
    if !veil.names {
        // The words beside the views are those of the question: what it asks stands nowhere in the page. The questions
        // of a check have each their own.
        let question = panels.practise.question.as_ref();
        panels.words = WordsView {
            pose: question.map(|one| one.words.clone()).unwrap_or_default(),
            plane: String::new(),
            sides: String::new(),
            picture: None,
        };
        panels.why = None;
        panels.plane.name.clear();
        panels.plane.reason.clear();
        panels.plane.offset = None;
        panels.structures.rows.clear();
        panels.structures.axis_note = None;
    }
    panels
}
