//! Words over the body view, as elements of the page, so that they are crisp and scale with the reader's text.

use wasm_bindgen::JsCast as _;
use web_sys::HtmlElement;

/// One word and the place of its middle, CSS pixels from the view's top left corner.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tag {
    pub(crate) text: String,
    pub(crate) at: [f64; 2],
    pub(crate) class: &'static str,
}

/// Elements kept from frame to frame.
pub(crate) struct Tags {
    host: HtmlElement,
    shown: Vec<Shown>,
}

struct Shown {
    element: HtmlElement,
    text: String,
    class: &'static str,
    /// Size of the word, measured when the word changes.
    size: [f64; 2],
}

impl Tags {
    /// Words in this place of the page; what stood there before is taken out.
    pub(crate) fn new(host: HtmlElement) -> Self {
        host.set_text_content(None);
        Self {
            host,
            shown: Vec::new(),
        }
    }

    /// Shows exactly these; words that would lie over an earlier one step aside, or are left out when they cannot.
    pub(crate) fn show(&mut self, tags: &[Tag], view: [f64; 2]) {
        while self.shown.len() < tags.len() {
            let Some(element) = self.make() else { break };
            self.shown.push(Shown {
                element,
                text: String::new(),
                class: "",
                size: [0.0; 2],
            });
        }
        let mut taken: Vec<[f64; 4]> = Vec::with_capacity(tags.len());
        for (place, shown) in self.shown.iter_mut().enumerate() {
            let Some(tag) = tags.get(place) else {
                shown.element.set_hidden(true);
                continue;
            };
            shown.write(tag);
            let bare = tag.class.contains("bare");
            match free_place(tag.at, shown.size, view, bare, &taken) {
                Some([x, y]) => {
                    let place = format!("translate({x:.1}px, {y:.1}px)");
                    let _ = shown.element.style().set_property("transform", &place);
                    shown.element.set_hidden(false);
                    taken.push([x, y, x + shown.size[0], y + shown.size[1]]);
                }
                None => shown.element.set_hidden(true),
            }
        }
    }

    fn make(&self) -> Option<HtmlElement> {
        let element: HtmlElement = self
            .host
            .owner_document()?
            .create_element("span")
            .ok()?
            .dyn_into()
            .ok()?;
        self.host.append_child(&element).ok()?;
        Some(element)
    }
}

impl Shown {
    fn write(&mut self, tag: &Tag) {
        if self.text == tag.text && self.class == tag.class && self.size[0] > 0.0 {
            return;
        }
        self.element.set_text_content(Some(&tag.text));
        self.element.set_class_name(tag.class);
        self.element.set_hidden(false);
        self.size = [
            f64::from(self.element.offset_width()),
            f64::from(self.element.offset_height()),
        ];
        self.text.clone_from(&tag.text);
        self.class = tag.class;
    }
}

/// The top left corner for a word whose middle should be at `at`; `None` where its place is out of sight or taken.
fn free_place(
    at: [f64; 2],
    size: [f64; 2],
    view: [f64; 2],
    bare: bool,
    taken: &[[f64; 4]],
) -> Option<[f64; 2]> {
    const OUT_OF_SIGHT_PX: f64 = 24.0;
    const INSET_PX: f64 = 4.0;
    let outside =
        |value: f64, room: f64| value < -OUT_OF_SIGHT_PX || value > room + OUT_OF_SIGHT_PX;
    if outside(at[0], view[0]) || outside(at[1], view[1]) {
        return None;
    }
    let within = |axis: usize, value: f64| {
        let most = view[axis] - size[axis] - INSET_PX;
        (value - size[axis] / 2.0).clamp(INSET_PX.min(most.max(0.0)), most.max(INSET_PX))
    };
    let [x, y] = [within(0, at[0]), within(1, at[1])];
    if bare {
        return Some([x, y]);
    }
    let step = size[1] + 2.0;
    [0.0, -step, step, -2.0 * step, 2.0 * step]
        .into_iter()
        .map(|shift| [x, within(1, at[1] + shift)])
        .find(|[x, y]| {
            let free = |other: &[f64; 4]| {
                x + size[0] <= other[0]
                    || other[2] <= *x
                    || y + size[1] <= other[1]
                    || other[3] <= *y
            };
            taken.iter().all(free)
        })
}
