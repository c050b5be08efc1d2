//! Names on the picture: inside large regions, beside small ones with a leader line; never over one another.
//!
//! Places are stable under small motion: a name stays where it was relative to its structure as long as that place is
//! still good, and a name that is shown keeps its right to be shown a little longer than a newcomer.
//!
//! All lengths are pixels of the [`Frame`]; text is measured by the caller, whose fonts these are.

use anatomy::{Body, StructureIndex, System};

use crate::contents::Contents;
use crate::frame::Frame;

/// Sizes and limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelStyle {
    /// Height of a line of text.
    pub line_px: f64,
    /// Free space kept around a name.
    pub pad_px: f64,
    /// Names shown at most.
    pub most: usize,
    /// Structures of a smaller visible area get no name.
    pub least_area_px: f64,
    /// Longest leader line.
    pub reach_px: f64,
}

impl Default for LabelStyle {
    /// For text of 13 pixels on a picture of about 512.
    fn default() -> Self {
        Self {
            line_px: 15.0,
            pad_px: 3.0,
            most: 24,
            least_area_px: 30.0,
            reach_px: 96.0,
        }
    }
}

/// A rectangle of pixels: left, top, width, height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Rect {
    /// Whether two rectangles share more than an edge.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.x < other.x + other.w
            && other.x < self.x + self.w
            && self.y < other.y + other.h
            && other.y < self.y + self.h
    }

    /// Whether a point lies inside or on the edge.
    #[must_use]
    pub fn contains(&self, at: [f64; 2]) -> bool {
        (self.x..=self.x + self.w).contains(&at[0]) && (self.y..=self.y + self.h).contains(&at[1])
    }

    fn around(centre: [f64; 2], w: f64, h: f64) -> Self {
        Self {
            x: centre[0] - w / 2.0,
            y: centre[1] - h / 2.0,
            w,
            h,
        }
    }

    fn grown(self, by: f64) -> Self {
        Self {
            x: self.x - by,
            y: self.y - by,
            w: self.w + 2.0 * by,
            h: self.h + 2.0 * by,
        }
    }

    fn centre(&self) -> [f64; 2] {
        [self.x + self.w / 2.0, self.y + self.h / 2.0]
    }

    fn within(&self, outer: &Self) -> bool {
        outer.contains([self.x, self.y]) && outer.contains([self.x + self.w, self.y + self.h])
    }

    fn nearest(&self, to: [f64; 2]) -> [f64; 2] {
        [
            to[0].clamp(self.x, self.x + self.w),
            to[1].clamp(self.y, self.y + self.h),
        ]
    }

    /// Whether the piece from `a` to `b` passes through the inside (Liang and Barsky's clipping).
    fn is_crossed_by(&self, a: [f64; 2], b: [f64; 2]) -> bool {
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        let (low, high) = ([self.x, self.y], [self.x + self.w, self.y + self.h]);
        for axis in 0..2 {
            let run = b[axis] - a[axis];
            if run == 0.0 {
                if a[axis] <= low[axis] || a[axis] >= high[axis] {
                    return false;
                }
                continue;
            }
            let (enter, leave) = ((low[axis] - a[axis]) / run, (high[axis] - a[axis]) / run);
            from = from.max(enter.min(leave));
            to = to.min(enter.max(leave));
        }
        from < to
    }
}

/// A structure that would like a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// Stable number of the structure.
    pub key: usize,
    /// The name in full and in short.
    pub names: [String; 2],
    /// A point inside it.
    pub anchor: [f64; 2],
    /// Room around that point.
    pub room: f64,
    /// Visible area; larger goes first.
    pub area: f64,
}

/// A name with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedLabel {
    /// Key of the wish; from [`place_labels`] the number of the structure.
    pub key: usize,
    /// The text to write.
    pub text: String,
    /// Where: the text fills it without padding.
    pub rect: Rect,
    /// Line from the text to the structure; `None` when the text lies inside the structure.
    pub leader: Option<[[f64; 2]; 2]>,
}

impl PlacedLabel {
    /// The structure it names, for labels from [`place_labels`].
    #[must_use]
    pub const fn structure(&self) -> StructureIndex {
        StructureIndex(self.key)
    }
}

/// Where names were in the last picture. Clear it by replacing it when the body changes.
#[derive(Debug, Clone, Default)]
pub struct LabelMemory {
    last: Vec<Remembered>,
}

#[derive(Debug, Clone, Copy)]
struct Remembered {
    key: usize,
    centre: [f64; 2],
    from_anchor: [f64; 2],
    name: usize,
    leader: bool,
    cost: f64,
}

impl Remembered {
    /// Where the name belongs now: it goes along with its structure, but not when the structure's anchor jumps from
    /// one part of it to another.
    fn follow(&self, wish: &Wish) -> [f64; 2] {
        const JUMP_PX: f64 = 8.0;
        let now = [0, 1].map(|axis: usize| wish.anchor[axis] + self.from_anchor[axis]);
        if libm::hypot(now[0] - self.centre[0], now[1] - self.centre[1]) > JUMP_PX {
            self.centre
        } else {
            now
        }
    }
}

/// Places the names of what the field shows; `keep_clear` are rectangles that names must leave free (side letters,
/// depth scale). `measure` gives the width of a text.
pub fn place_labels(
    body: &Body,
    contents: &Contents,
    frame: &Frame,
    style: &LabelStyle,
    keep_clear: &[Rect],
    measure: &dyn Fn(&str) -> f64,
    memory: &mut LabelMemory,
) -> Vec<PlacedLabel> {
    let px = 1.0 / frame.mm_per_px();
    let wishes: Vec<Wish> = contents
        .structures
        .iter()
        .filter(|seen| wants_name(body, seen.structure))
        .map(|seen| {
            let structure = body.structure(seen.structure);
            Wish {
                key: seen.structure.0,
                names: [structure.label.clone(), structure.short_label.clone()],
                anchor: frame.to_px(seen.centre),
                room: seen.room_mm * px,
                area: seen.area_mm2 * px * px,
            }
        })
        .collect();
    let whole = Rect {
        x: -0.5,
        y: -0.5,
        w: f64::from(frame.width()),
        h: f64::from(frame.height()),
    };
    let shows = |key: usize, at: [f64; 2]| {
        contents.structure_at(frame.to_mm(at)) == Some(StructureIndex(key))
    };
    arrange(&wishes, whole, style, keep_clear, measure, &shows, memory)
}

/// Fat that fills the space between organs, and the skin, need no name on the picture.
fn wants_name(body: &Body, index: StructureIndex) -> bool {
    let structure = body.structure(index);
    let tissue = body.tissue(structure.tissue).key.as_str();
    !(structure.system == System::Connective && tissue.contains("fat")) && tissue != "skin"
}

/// Places names in `whole`; `shows(key, point)` tells whether the structure is visible at a point.
///
/// No two texts overlap, none leaves `whole` or enters `keep_clear`, no leader line crosses a text or another leader.
pub fn arrange(
    wishes: &[Wish],
    whole: Rect,
    style: &LabelStyle,
    keep_clear: &[Rect],
    measure: &dyn Fn(&str) -> f64,
    shows: &dyn Fn(usize, [f64; 2]) -> bool,
    memory: &mut LabelMemory,
) -> Vec<PlacedLabel> {
    // A shown name counts as this much larger, so that two structures of about one size do not take turns.
    const SHOWN_BONUS: f64 = 1.3;
    let mut order: Vec<(&Wish, f64, Option<Remembered>)> = wishes
        .iter()
        .filter(|wish| wish.anchor.iter().all(|c| c.is_finite()) && wish.area.is_finite())
        .map(|wish| {
            let last = memory.last.iter().find(|r| r.key == wish.key).copied();
            let bonus = if last.is_some() { SHOWN_BONUS } else { 1.0 };
            (wish, wish.area * bonus, last)
        })
        .filter(|(_, area, _)| *area >= style.least_area_px)
        .collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.key.cmp(&b.0.key)));
    order.truncate(style.most);
    let mut table = Table {
        whole,
        style,
        keep_clear,
        measure,
        shows,
        anchors: order
            .iter()
            .map(|(wish, ..)| (wish.key, wish.anchor))
            .collect(),
        placed: Vec::new(),
    };
    // First those that can stay as they are, then the new ones; names inside their regions before leader lines, which
    // can work around them.
    let mut places: Vec<Option<Place>> = vec![None; order.len()];
    for pass in [
        Pass::StayInside,
        Pass::StayBeside,
        Pass::NewInside,
        Pass::NewBeside,
    ] {
        for ((wish, _, last), place) in order.iter().zip(&mut places) {
            if place.is_none() {
                *place = table.find(wish, *last, pass);
                if let Some(found) = place {
                    table.placed.push(PlacedLabel {
                        key: wish.key,
                        text: wish.names[found.name].clone(),
                        rect: found.rect,
                        leader: found.leader,
                    });
                }
            }
        }
    }
    memory.last = order
        .iter()
        .zip(&places)
        .filter_map(|((wish, ..), place)| place.as_ref().map(|place| remember(wish, place)))
        .collect();
    table.placed
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pass {
    StayInside,
    StayBeside,
    NewInside,
    NewBeside,
}

/// Where a name may stand.
#[derive(Debug, Clone, Copy)]
struct Place {
    /// 0 for the full name, 1 for the short one.
    name: usize,
    rect: Rect,
    leader: Option<[[f64; 2]; 2]>,
    cost: f64,
}

fn remember(wish: &Wish, place: &Place) -> Remembered {
    let centre = place.rect.centre();
    Remembered {
        key: wish.key,
        centre,
        from_anchor: [centre[0] - wish.anchor[0], centre[1] - wish.anchor[1]],
        name: place.name,
        leader: place.leader.is_some(),
        cost: place.cost,
    }
}

struct Table<'a> {
    whole: Rect,
    style: &'a LabelStyle,
    keep_clear: &'a [Rect],
    measure: &'a dyn Fn(&str) -> f64,
    shows: &'a dyn Fn(usize, [f64; 2]) -> bool,
    anchors: Vec<(usize, [f64; 2])>,
    placed: Vec<PlacedLabel>,
}

impl Table<'_> {
    /// Whether a text may stand here at all.
    fn is_free(&self, rect: &Rect) -> bool {
        let padded = rect.grown(self.style.pad_px);
        rect.within(&self.whole)
            && !self.keep_clear.iter().any(|other| padded.overlaps(other))
            && !self.placed.iter().any(|label| {
                padded.overlaps(&label.rect)
                    || label
                        .leader
                        .is_some_and(|[a, b]| padded.is_crossed_by(a, b))
            })
    }

    /// Whether a text lies wholly on its own structure: corners, middle and edges.
    fn is_on(&self, key: usize, rect: &Rect) -> bool {
        let r = rect.grown(1.0);
        let steps = [0.0, 0.25, 0.5, 0.75, 1.0];
        steps.iter().all(|sx| {
            [0.0, 0.5, 1.0]
                .iter()
                .all(|sy| (self.shows)(key, [r.x + sx * r.w, r.y + sy * r.h]))
        })
    }

    fn size(&self, wish: &Wish, name: usize) -> Option<(f64, f64)> {
        let text = wish.names.get(name).filter(|text| !text.is_empty())?;
        let width = (self.measure)(text);
        (width.is_finite() && width > 0.0).then_some((width, self.style.line_px))
    }

    fn find(&self, wish: &Wish, last: Option<Remembered>, pass: Pass) -> Option<Place> {
        /// How much dearer a remembered place may grow before a new one is sought, pixels of leader.
        const PATIENCE: f64 = 70.0;
        match (pass, last) {
            (Pass::StayInside, Some(last)) if !last.leader => self.inside(wish, Some(last)),
            // A name beside its structure moves in only when there is room to spare.
            (Pass::StayBeside, Some(last)) if last.leader => {
                self.inside(wish, Some(last)).or_else(|| {
                    let (w, h) = self.size(wish, last.name)?;
                    self.beside_at(wish, last.name, Rect::around(last.follow(wish), w, h))
                        .filter(|place| place.cost <= last.cost + PATIENCE)
                        .map(|place| Place {
                            cost: last.cost,
                            ..place
                        })
                })
            }
            (Pass::NewInside, None) => self.inside(wish, None),
            (Pass::NewBeside, _) => self.beside(wish),
            _ => None,
        }
    }

    /// A place inside the structure: where it was, else around the anchor; the full name if it fits.
    fn inside(&self, wish: &Wish, last: Option<Remembered>) -> Option<Place> {
        /// Room that a change for the better must have to spare, so that names do not flicker.
        const SPARE_PX: f64 = 6.0;
        if wish.room * 2.0 < self.style.line_px * 0.8 {
            return None;
        }
        for name in [0, 1] {
            let Some((w, h)) = self.size(wish, name) else {
                continue;
            };
            let slack = match last {
                Some(last) if last.leader || last.name > name => SPARE_PX,
                _ => 0.0,
            };
            let held = last
                .filter(|last| !last.leader && last.name == name)
                .map(|last| last.follow(wish));
            let nudges = [[0.0, 0.0], [-0.4, 0.0], [0.4, 0.0], [0.0, -0.6], [0.0, 0.6]];
            let fresh = nudges.map(|n| [wish.anchor[0] + n[0] * w, wish.anchor[1] + n[1] * h]);
            for centre in held.into_iter().chain(fresh) {
                let rect = Rect::around(centre, w, h);
                if self.is_free(&rect) && self.is_on(wish.key, &rect.grown(slack)) {
                    return Some(Place {
                        name,
                        rect,
                        leader: None,
                        cost: 0.0,
                    });
                }
            }
        }
        None
    }

    /// A place beside a small structure, with a line to it: the cheapest of a ring of places.
    fn beside(&self, wish: &Wish) -> Option<Place> {
        // Unit steps around the clock, from image left and right outward, where text reads best.
        const DIRECTIONS: [[f64; 2]; 12] = [
            [1.0, 0.0],
            [-1.0, 0.0],
            [0.87, -0.5],
            [-0.87, -0.5],
            [0.87, 0.5],
            [-0.87, 0.5],
            [0.5, -0.87],
            [-0.5, -0.87],
            [0.5, 0.87],
            [-0.5, 0.87],
            [0.0, -1.0],
            [0.0, 1.0],
        ];
        let name = usize::from(self.size(wish, 1).is_some());
        let (w, h) = self.size(wish, name)?;
        let mut best: Option<Place> = None;
        let mut gap = 9.0;
        while gap <= self.style.reach_px {
            for d in DIRECTIONS {
                // The gap is kept between the structure's edge and the nearest point of the text.
                let away = wish.room.clamp(0.0, 40.0) + gap;
                let centre = [
                    wish.anchor[0] + d[0] * (away + w / 2.0 * d[0].abs()),
                    wish.anchor[1] + d[1] * (away + h / 2.0),
                ];
                let place = self.beside_at(wish, name, Rect::around(centre, w, h));
                if let Some(place) = place
                    && best.is_none_or(|least| place.cost < least.cost)
                {
                    best = Some(place);
                }
            }
            gap *= 1.45;
        }
        best
    }

    /// A place beside the structure with its price, or `None` where nothing may stand.
    fn beside_at(&self, wish: &Wish, name: usize, rect: Rect) -> Option<Place> {
        if !self.is_free(&rect) || rect.contains(wish.anchor) {
            return None;
        }
        let near = rect.nearest(wish.anchor);
        let length = libm::hypot(near[0] - wish.anchor[0], near[1] - wish.anchor[1]);
        if length > self.style.reach_px + wish.room {
            return None;
        }
        // The line ends a little inside the structure rather than in its middle.
        let into = (wish.room * 0.5).min(length * 0.5);
        let tip = [
            wish.anchor[0] + (near[0] - wish.anchor[0]) / length * into,
            wish.anchor[1] + (near[1] - wish.anchor[1]) / length * into,
        ];
        let leader = [near, tip];
        let blocked = self.placed.iter().any(|label| {
            label.rect.grown(1.0).is_crossed_by(near, tip)
                || label.leader.is_some_and(|[a, b]| cross(a, b, near, tip))
        }) || self.keep_clear.iter().any(|r| r.is_crossed_by(near, tip));
        if blocked {
            return None;
        }
        // Covering another structure's middle, or letting the line run over it, costs as much as a long line.
        let padded = rect.grown(4.0);
        let mut cost = length;
        for (key, anchor) in self.anchors.iter().filter(|(key, _)| *key != wish.key) {
            if padded.contains(*anchor) {
                cost += 45.0;
            } else if distance_to_piece(*anchor, near, tip) < 4.0 && *key != wish.key {
                cost += 20.0;
            }
        }
        Some(Place {
            name,
            rect,
            leader: Some(leader),
            cost,
        })
    }
}

fn side_of(a: [f64; 2], b: [f64; 2], p: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
}

fn cross(a: [f64; 2], b: [f64; 2], c: [f64; 2], d: [f64; 2]) -> bool {
    side_of(a, b, c) * side_of(a, b, d) <= 0.0 && side_of(c, d, a) * side_of(c, d, b) <= 0.0
}

fn distance_to_piece(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let length2 = d[0] * d[0] + d[1] * d[1];
    let t = if length2 > 0.0 {
        (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    libm::hypot(p[0] - a[0] - t * d[0], p[1] - a[1] - t * d[1])
}
