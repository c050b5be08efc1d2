//! What goes to course systems and into result files: answers as keys, how far a placed probe is off, the file itself.

use course::moment::Moment;
use course::results::{self, PoseError, ResultFile};
use course::{link, round};
use geometry::{Placement, Vector};
use practice::{Answer, Choice, Question, Task};

use super::super::pictures;
use super::super::round::Round;
use super::{ACQUIRE, latency, outcome, picture_outcome};

/// One key for the options of a question of one part; several parts have none, since their answers are joined.
pub(super) fn options(question: &Question) -> Vec<String> {
    match question.parts() {
        [part] => part.options.iter().map(|choice| choice.key()).collect(),
        _ => Vec::new(),
    }
}

fn keys(choices: &[Choice]) -> String {
    let keys: Vec<String> = choices.iter().map(|choice| choice.key()).collect();
    keys.join("+")
}

pub(super) fn answer_key(answer: &Answer) -> String {
    match answer {
        Answer::Chosen(choices) => keys(choices),
        Answer::Placed(placed) => {
            let [x, y, z] = placed.pose.contact().to_array();
            let angle = |angle: geometry::Angle| format!("{:.0}", angle.to_deg());
            format!(
                "at {x:.0} {y:.0} {z:.0} turn {} tilt {} rock {}",
                angle(placed.pose.rotation()),
                angle(placed.pose.tilt()),
                angle(placed.pose.rock())
            )
        }
        Answer::Written(line) => line.clone(),
        Answer::Skipped => String::new(),
    }
}

pub(super) fn right_key(question: &Question) -> String {
    match &question.task {
        Task::Choose(_) => keys(&question.right_choices()),
        Task::Place { .. } => answer_key(&Answer::Placed(question.view.placement)),
        Task::Write { .. } => question
            .subject
            .as_ref()
            .map_or_else(String::new, |subject| subject.structure.as_str().to_owned()),
    }
}

pub(super) fn pose_error(placed: &Placement, question: &Question) -> PoseError {
    let wanted = &question.view.placement;
    let (plane, right) = (placed.plane(), wanted.plane());
    let (normal, wanted_normal) = (plane.normal(), right.normal());
    let between = geometry::Angle::atan2(
        normal.cross(wanted_normal).norm(),
        normal.dot(wanted_normal).abs(),
    );
    let moved: Vector<geometry::Patient> = placed.pose.contact() - wanted.pose.contact();
    let [left, _, head] = moved.to_array();
    let turn = (placed.pose.rotation() - wanted.pose.rotation()).to_deg();
    let most = |value: f64| value.clamp(-4000.0, 4000.0);
    PoseError {
        plane_deg: between.to_deg().clamp(0.0, 90.0),
        reversed: plane.row().dot(right.row()) < 0.0,
        other_side: placed.pose.contact().x() * wanted.pose.contact().x() < -400.0,
        rotation_deg: (turn + 180.0).rem_euclid(360.0) - 180.0,
        tilt_deg: (placed.pose.tilt() - wanted.pose.tilt())
            .to_deg()
            .clamp(-180.0, 180.0),
        rock_deg: (placed.pose.rock() - wanted.pose.rock())
            .to_deg()
            .clamp(-180.0, 180.0),
        toward_left_mm: most(left),
        toward_head_mm: most(head),
    }
}

/// Name and text of the learner's result file, once the round is over.
#[must_use]
pub(in crate::practise) fn result_file(round: &Round) -> Option<(String, String)> {
    let set = round.set.as_ref()?;
    let moment = |ms: u64| Moment {
        unix_ms: i64::try_from(ms).unwrap_or(0),
        offset_min: 0,
    };
    let items = round.items.iter().zip(&set.asked).map(|(item, entry)| {
        let outcome = outcome(item);
        results::Item {
            id: entry.id.clone(),
            kind: item.question.kind.key().to_owned(),
            skill: item.question.skill().key(),
            points: entry.points,
            outcome,
            score: item.marked.as_ref().map_or(0.0, |marked| marked.fraction),
            first_score: entry.first_score,
            answers: entry.tries.clone(),
            correct: right_key(&item.question),
            hints: item.hints,
            latency_ms: u32::try_from(entry.first_ms).unwrap_or(u32::MAX),
            misconception: entry.misconception.map(str::to_owned),
            view: Some(link::write(&link_state(&item.question))),
            pose: entry.pose,
            more: Vec::new(),
        }
    });
    let pictures = set.pictures.iter().flat_map(|pictures| {
        let latency = u32::try_from(latency(pictures)).unwrap_or(u32::MAX);
        pictures
            .views()
            .enumerate()
            .map(move |(nth, (view, mark))| results::Item {
                id: round::picture_id(&set.set, nth),
                kind: ACQUIRE.to_owned(),
                skill: String::new(),
                points: 1,
                outcome: picture_outcome(mark.score),
                score: mark.score,
                first_score: mark.score,
                answers: Some(mark.annotation.clone())
                    .filter(|words| !words.is_empty())
                    .into_iter()
                    .collect(),
                correct: pictures::view_key(view),
                hints: 0,
                latency_ms: latency,
                misconception: None,
                view: mark.link.clone(),
                pose: None,
                more: Vec::new(),
            })
    });
    let file = ResultFile {
        program: env!("CARGO_PKG_VERSION").to_owned(),
        title: set.set.title.clone(),
        set: set.identity.clone(),
        seed: round.seed,
        attempt: set.attempt,
        label: set
            .set
            .label
            .as_ref()
            .map(|_asked| set.label.trim().to_owned())
            .filter(|label| !label.is_empty()),
        started: moment(set.started_ms),
        ended: round.ended_ms.map(moment),
        pass_percent: set.set.pass_percent,
        items: items.chain(pictures).collect(),
        more: Vec::new(),
    };
    let name = format!("planeward-result-{}-{}.json", set.identity, round.seed);
    Some((name, results::write(&file)))
}

fn link_state(question: &Question) -> link::LinkState {
    let view = &question.view;
    link::LinkState {
        body: Some(view.body.clone()),
        window: view.window.clone(),
        pose: Some(crate::address::link_of_pose(&view.placement.pose)),
        transducer: Some(view.transducer.id.to_owned()),
        depth_mm: Some(view.placement.depth.get()),
        mark: view.placement.convention.mark,
        apex: view.placement.convention.apex,
        tolerance_deg: view.tolerance.to_deg(),
        position: view.position,
        ..link::LinkState::default()
    }
}
