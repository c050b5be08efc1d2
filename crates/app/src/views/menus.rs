//! Choices: windows, depth, display, body view.

use geometry::{ApexSide, BodyPosition, MarkSide};
use picture::transducers;

use crate::action::{Action, Seat};
use crate::scene::{CameraPreset, StructureFilter};
use crate::state::{BODIES, State};
use crate::texts::{ChoiceTexts, Texts, capitalised};

/// One choice of a menu, with the action that makes it.
#[derive(Debug, Clone)]
pub struct MenuItem {
    /// Stable key within the menu.
    pub key: String,
    /// What is shown.
    pub label: String,
    /// Whether it is the present choice.
    pub chosen: bool,
    /// What choosing it does.
    pub action: Action,
}

// Key, label and choice say everything: the action follows from the key.
impl PartialEq for MenuItem {
    fn eq(&self, other: &Self) -> bool {
        (&self.key, &self.label, self.chosen) == (&other.key, &other.label, other.chosen)
    }
}

/// A menu: exactly one choice is made.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// What is chosen.
    pub label: &'static str,
    /// The choices.
    pub items: Vec<MenuItem>,
}

/// Windows of one region of the body.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowGroup {
    /// "Upper abdomen".
    pub region: String,
    /// Its windows.
    pub windows: Vec<MenuItem>,
}

/// The window picker.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowsView {
    /// Groups in the order in which the body lists its windows.
    pub groups: Vec<WindowGroup>,
    /// The window the probe is at, in words; none once it has been moved.
    pub current: Option<String>,
}

/// The depth setting.
#[derive(Debug, Clone, PartialEq)]
pub struct DepthView {
    /// Depth, mm, rounded to a tenth.
    pub value_mm: f64,
    /// Least depth of the transducer, mm.
    pub least_mm: f64,
    /// Greatest depth of the transducer, mm.
    pub most_mm: f64,
    /// "15.5 cm".
    pub text: String,
}

/// How the picture is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct DisplayView {
    /// Transducers.
    pub transducer: Choice,
    /// Side of the mark.
    pub mark: Choice,
    /// End with the probe's face.
    pub apex: Choice,
    /// How much of the grey-scale picture is shown, percent.
    pub grey_percent: f64,
    /// Its gain, dB.
    pub gain_db: f64,
    /// Tolerance of names, degrees.
    pub tolerance_deg: f64,
    /// Least tolerance, degrees.
    pub least_tolerance_deg: f64,
    /// Greatest tolerance, degrees.
    pub most_tolerance_deg: f64,
}

/// What the body view shows and from where.
#[derive(Debug, Clone, PartialEq)]
pub struct SceneMenuView {
    /// Bodies.
    pub body: Choice,
    /// How the body lies.
    pub position: Choice,
    /// Where the examiner sits.
    pub seat: Choice,
    /// Structures under the skin.
    pub filter: Choice,
    /// Whether the skin is shown.
    pub skin_shown: bool,
    /// Viewpoints; none is "chosen", since the view may be turned freely.
    pub viewpoints: Vec<MenuItem>,
}

fn item(key: &str, label: &str, chosen: bool, action: Action) -> MenuItem {
    MenuItem {
        key: key.to_owned(),
        label: label.to_owned(),
        chosen,
        action,
    }
}

pub(super) fn windows_view(state: &State, texts: &Texts) -> WindowsView {
    let Some(facts) = state.facts() else {
        return WindowsView {
            groups: Vec::new(),
            current: None,
        };
    };
    let mut groups: Vec<WindowGroup> = Vec::new();
    let mut current = None;
    for window in &facts.windows {
        let place = facts
            .regions
            .place(window.pose.contact(), window.pose.normal());
        let region = capitalised(&texts.pictures.places.region(&place));
        let chosen = state.window() == Some(window.id.as_str());
        if chosen {
            current = Some(window.label.clone());
        }
        let entry = item(
            &window.id,
            &window.label,
            chosen,
            Action::PickWindow(window.id.clone()),
        );
        match groups.iter_mut().find(|group| group.region == region) {
            Some(group) => group.windows.push(entry),
            None => groups.push(WindowGroup {
                region,
                windows: vec![entry],
            }),
        }
    }
    WindowsView { groups, current }
}

pub(super) fn depth_view(state: &State, texts: &Texts) -> DepthView {
    let depth = state.depth().get();
    let (least, most) = state.transducer().depth_range;
    DepthView {
        value_mm: (depth * 10.0).round() / 10.0,
        least_mm: least.get(),
        most_mm: most.get(),
        text: depth_text(depth, texts),
    }
}

/// "15.5 cm", "16 cm".
pub(super) fn depth_text(depth_mm: f64, texts: &Texts) -> String {
    let millimetres = depth_mm.round();
    let number = (millimetres / 10.0).to_string();
    let number = number.replace('.', texts.units.decimal);
    format!("{number} {}", texts.units.cm)
}

pub(super) fn display_view(state: &State, texts: &Texts) -> DisplayView {
    let (panels, choices) = (&texts.panels, &texts.choices);
    let (low, high) = geometry::TOLERANCE_RANGE;
    let transducer_items = transducers()
        .iter()
        .map(|known| {
            let chosen = known.id == state.transducer().id;
            item(
                known.id,
                texts.transducer(known),
                chosen,
                Action::ChooseTransducer(known.id.to_owned()),
            )
        })
        .collect();
    let marks = [
        (MarkSide::Left, choices.image_left),
        (MarkSide::Right, choices.image_right),
    ];
    let ends = [
        (ApexSide::Top, choices.image_top),
        (ApexSide::Bottom, choices.image_bottom),
    ];
    DisplayView {
        transducer: Choice {
            label: panels.transducer,
            items: transducer_items,
        },
        mark: Choice {
            label: panels.mark_side,
            items: marks
                .map(|(side, label)| {
                    let chosen = state.convention().mark == side;
                    item(side.word(), label, chosen, Action::SetMark(side))
                })
                .to_vec(),
        },
        apex: Choice {
            label: panels.apex_side,
            items: ends
                .map(|(end, label)| {
                    let chosen = state.convention().apex == end;
                    item(end.word(), label, chosen, Action::SetApex(end))
                })
                .to_vec(),
        },
        grey_percent: state.grey().percent,
        gain_db: state.grey().gain_db,
        tolerance_deg: (state.tolerance().to_deg() * 10.0).round() / 10.0,
        least_tolerance_deg: low.to_deg().round(),
        most_tolerance_deg: high.to_deg().round(),
    }
}

pub(crate) fn position_words(position: BodyPosition, choices: &ChoiceTexts) -> &'static str {
    match position {
        BodyPosition::Supine => choices.supine,
        BodyPosition::Prone => choices.prone,
        BodyPosition::LeftSideDown => choices.left_side_down,
        BodyPosition::RightSideDown => choices.right_side_down,
        BodyPosition::Seated => choices.seated,
        BodyPosition::Lithotomy => choices.lithotomy,
    }
}

fn filter_words(filter: StructureFilter, choices: &ChoiceTexts) -> &'static str {
    match filter {
        StructureFilter::Everything => choices.everything,
        StructureFilter::Organs => choices.organs,
        StructureFilter::Vessels => choices.vessels,
        StructureFilter::Skeleton => choices.skeleton,
        StructureFilter::Fluid => choices.fluid,
        StructureFilter::Chosen => choices.only_chosen,
    }
}

fn viewpoint_words(preset: CameraPreset, choices: &ChoiceTexts) -> (&'static str, &'static str) {
    match preset {
        CameraPreset::ExaminerSeat => ("seat", choices.view_seat),
        CameraPreset::FromFeet => ("feet", choices.view_feet),
        CameraPreset::FromLeft => ("left", choices.view_left),
        CameraPreset::FromAbove => ("above", choices.view_above),
        CameraPreset::ToWindow => ("window", choices.view_window),
    }
}

pub(crate) fn body_words(id: &str, choices: &ChoiceTexts) -> &'static str {
    match id {
        "adult_female" => choices.adult_female,
        "adult_male" => choices.adult_male,
        _ => choices.infant_head,
    }
}

pub(super) fn scene_view(state: &State, texts: &Texts) -> SceneMenuView {
    let (panels, choices) = (&texts.panels, &texts.choices);
    let bodies = BODIES.map(|id| {
        let chosen = state.body_id() == id;
        item(
            id,
            body_words(id, choices),
            chosen,
            Action::ChooseBody(id.to_owned()),
        )
    });
    let positions = BodyPosition::ALL.map(|position| {
        let chosen = state.position() == position;
        let words = position_words(position, choices);
        item(position.key(), words, chosen, Action::SetPosition(position))
    });
    let seats = [
        (Seat::Right, "right", choices.seat_right),
        (Seat::Left, "left", choices.seat_left),
    ];
    let filters = StructureFilter::ALL.map(|filter| {
        item(
            filter.key(),
            filter_words(filter, choices),
            state.filter() == filter,
            Action::SetFilter(filter),
        )
    });
    let viewpoints = CameraPreset::ALL.map(|preset| {
        let (key, words) = viewpoint_words(preset, choices);
        item(key, words, false, Action::Camera(preset))
    });
    SceneMenuView {
        body: Choice {
            label: panels.body,
            items: bodies.to_vec(),
        },
        position: Choice {
            label: panels.position,
            items: positions.to_vec(),
        },
        seat: Choice {
            label: panels.examiner,
            items: seats
                .map(|(seat, key, words)| {
                    item(key, words, state.seat() == seat, Action::SetSeat(seat))
                })
                .to_vec(),
        },
        filter: Choice {
            label: panels.layers,
            items: filters.to_vec(),
        },
        skin_shown: state.skin_shown(),
        viewpoints: viewpoints.to_vec(),
    }
}
