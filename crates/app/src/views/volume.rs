//! The three planes of a volume, each named by its geometry.

use anatomy::AxisView;
use geometry::{
    BodyPlane, ImagePlane, ObliqueKind, PlaneName, SagittalOffset, Sides, name_plane,
    sagittal_offset, screen_threshold,
};
use picture::{VolumePlane, transducers};

use crate::action::Action;
use crate::state::State;
use crate::texts::{Texts, VolumeTexts, fill, uncapitalised};
use crate::volume::VolumeDrawing;

/// Most structures a plane's sentence names.
const MOST_NAMED: usize = 5;

/// Smallest area worth a name, mm2.
const LEAST_MM2: f64 = 60.0;

/// Fat between the organs and the like has priorities below this, and is no structure to name.
const FIRST_ORGAN: i32 = 200;

/// One of the planes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VolumePlaneView {
    /// Which.
    pub which: VolumePlane,
    /// "2. Transverse".
    pub caption: String,
    /// "across it, through the beam".
    pub kind: &'static str,
    /// Letters of image left, right, top, bottom.
    pub letters: [String; 4],
    /// Number, kind, name, sides, and what it shows.
    pub sentence: String,
}

/// One coordinate of the point.
#[derive(Debug, Clone, PartialEq)]
pub struct CoordinateView {
    /// Its words.
    pub label: &'static str,
    /// Value, mm, rounded to a tenth.
    pub value: f64,
    /// Least value, mm.
    pub least: f64,
    /// Greatest value, mm.
    pub most: f64,
}

/// The panel.
#[derive(Debug, Clone)]
pub struct VolumeView {
    /// Whether the transducer acquires a volume.
    pub sweeps: bool,
    /// Takes one that does.
    pub take: Option<Action>,
    /// Whether the planes are on show.
    pub shown: bool,
    /// The planes; none while they are not shown.
    pub planes: Vec<VolumePlaneView>,
    /// Along the notch direction, across the plane, depth.
    pub point: Vec<CoordinateView>,
    /// While the volume is acquired in grey.
    pub progress: Option<String>,
}

// The action follows from the transducer alone.
impl PartialEq for VolumeView {
    fn eq(&self, other: &Self) -> bool {
        (
            self.sweeps,
            self.shown,
            &self.planes,
            &self.point,
            &self.progress,
        ) == (
            other.sweeps,
            other.shown,
            &other.planes,
            &other.point,
            &other.progress,
        )
    }
}

/// The panel for a state and the planes cut for it.
#[must_use]
pub fn volume_view(state: &State, drawing: &VolumeDrawing, texts: &Texts) -> VolumeView {
    let swept = transducers().iter().find(|known| known.sweep.is_some());
    let shown = state.volume_shown();
    let planes = VolumePlane::ALL
        .into_iter()
        .filter(|_| shown)
        .filter_map(|which| plane_view(state, drawing, which, texts))
        .collect();
    let acquiring = shown && state.volume_in_grey() && drawing.share() < 1.0;
    let percent = format!("{:.0}", drawing.share() * 100.0);
    VolumeView {
        sweeps: state.volume().is_some(),
        take: swept.map(|known| Action::ChooseTransducer(known.id.to_owned())),
        shown,
        planes,
        point: if shown {
            point_view(state, &texts.volume)
        } else {
            Vec::new()
        },
        progress: acquiring.then(|| fill(texts.volume.acquiring, &[&percent])),
    }
}

/// What is said when the planes come or go: "Three planes of a volume: 1. Mid-sagittal, 2. Transverse, 3. Coronal."
pub(crate) fn volume_said(state: &State, texts: &Texts) -> String {
    let words = &texts.volume;
    if !state.volume_shown() {
        return words.put_away.to_owned();
    }
    let captions: Vec<String> = VolumePlane::ALL
        .into_iter()
        .filter_map(|which| caption(state, which, texts))
        .collect();
    format!("{}: {}.", words.title, captions.join(", "))
}

fn caption(state: &State, which: VolumePlane, texts: &Texts) -> Option<String> {
    let cut = state.volume_cut(which)?;
    let plane = cut.plane(state.pose());
    let name = plane_words(state, &plane, cut.to_image(cut.at), texts);
    Some(fill(
        texts.volume.caption,
        &[&which.number().to_string(), &name],
    ))
}

fn point_view(state: &State, words: &VolumeTexts) -> Vec<CoordinateView> {
    let (Some(volume), Some(at)) = (state.volume(), state.volume_point()) else {
        return Vec::new();
    };
    let [x, y, z] = at.to_array();
    let wide = volume.bounds(VolumePlane::Face);
    let deep = state.depth().get();
    [
        (words.along, x, wide.min[0], wide.max[0]),
        (words.across, y, wide.min[1], wide.max[1]),
        (words.deep, z, 0.0, deep),
    ]
    .map(|(label, value, least, most)| CoordinateView {
        label,
        value: (value * 10.0).round() / 10.0,
        least: least.floor(),
        most: most.ceil(),
    })
    .to_vec()
}

fn plane_view(
    state: &State,
    drawing: &VolumeDrawing,
    which: VolumePlane,
    texts: &Texts,
) -> Option<VolumePlaneView> {
    let words = &texts.volume;
    let cut = state.volume_cut(which)?;
    let plane = cut.plane(state.pose());
    let name = plane_words(state, &plane, cut.to_image(cut.at), texts);
    let number = which.number().to_string();
    let kind = words.kinds.get(which.index()).copied().unwrap_or_default();
    let sides = Sides::of(&plane);
    let threshold = screen_threshold(state.tolerance());
    let all = geometry::ImageSide::ALL.map(|side| sides.get(side));
    let [left, right, top, bottom] = all.map(|name| texts.sides.words(name, threshold));
    let sentence = fill(
        words.sentence,
        &[&number, kind, &name, &left, &right, &top, &bottom],
    );
    Some(VolumePlaneView {
        which,
        caption: caption(state, which, texts)?,
        kind,
        letters: all.map(|name| name.letters(threshold)),
        sentence: format!("{sentence} {}", shows(state, drawing, which, texts)),
    })
}

/// "Transverse", "Left parasagittal, 12 mm left of the mid-line", from the plane's directions and a point of it.
pub(crate) fn plane_words(
    state: &State,
    plane: &ImagePlane,
    at: [f64; 2],
    texts: &Texts,
) -> String {
    let words = &texts.planes;
    let name = match name_plane(plane.normal(), state.tolerance()).name {
        PlaneName::Named(BodyPlane::Sagittal) => match sagittal_offset(plane, at) {
            SagittalOffset::MidSagittal => words.mid_sagittal,
            SagittalOffset::Right(_) => words.right_parasagittal,
            SagittalOffset::Left(_) => words.left_parasagittal,
        },
        PlaneName::Named(BodyPlane::Coronal) => words.coronal,
        PlaneName::Named(BodyPlane::Transverse) => words.transverse,
        PlaneName::Oblique(oblique) => match (oblique.double, oblique.kind) {
            (false, ObliqueKind::Longitudinal) => words.longitudinal_oblique,
            (false, ObliqueKind::Transverse) => words.transverse_oblique,
            (true, ObliqueKind::Longitudinal) => words.double_longitudinal,
            (true, ObliqueKind::Transverse) => words.double_transverse,
        },
    };
    name.to_owned()
}

fn shows(state: &State, drawing: &VolumeDrawing, which: VolumePlane, texts: &Texts) -> String {
    let words = &texts.volume;
    let Some(body) = state.body() else {
        return String::new();
    };
    let named: Vec<String> = drawing
        .seen(which)
        .iter()
        .filter(|seen| seen.area_mm2 >= LEAST_MM2)
        .filter(|seen| body.structure(seen.structure).priority >= FIRST_ORGAN)
        .take(MOST_NAMED)
        .map(|seen| {
            let name = uncapitalised(&body.structure(seen.structure).label);
            let axis = match seen.axis {
                Some((AxisView::Long, _)) => texts.choices.long_axis,
                Some((AxisView::Short, _)) => texts.choices.short_axis,
                Some((AxisView::Oblique, _)) | None => return name,
            };
            fill(words.seen_in, &[&name, axis])
        })
        .collect();
    if named.is_empty() {
        words.shows_nothing.to_owned()
    } else {
        fill(words.shows, &[&named.join(", ")])
    }
}
