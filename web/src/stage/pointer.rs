//! What fingers and mice do on the body view.
//!
//! A press on the probe takes it along; a press elsewhere turns the view; a tap on the skin puts the probe
//! there; two fingers, or the right button, move and zoom. The pointer is captured, and a gesture ends on
//! release, on cancel and on loss of the capture, because inside frames releases do go missing.

use crate::desk::Desk;
use app::scene::{ScreenPoint, Viewport};
use app::{Action, Under};
use wasm_bindgen::JsCast as _;
use web_sys::{HtmlCanvasElement, PointerEvent, WheelEvent};

/// A press that moves less than this is a tap, CSS pixels.
const TAP_PX: f64 = 6.0;

/// Zoom factor of one pixel of wheel travel, as a natural logarithm.
const WHEEL_ZOOM: f64 = 0.0012;

/// Height of a line of text where a wheel counts in lines, CSS pixels.
const LINE_PX: f64 = 18.0;

#[derive(Debug, Clone, Copy)]
struct Finger {
    id: i32,
    at: ScreenPoint,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Gesture {
    None,
    /// The probe is held.
    Probe,
    /// The view turns; if nothing moves it was a tap.
    Turn {
        travelled: f64,
        tap_places: bool,
    },
    /// The view moves sideways.
    Pan,
    /// Two fingers.
    Pinch,
}

/// The gesture that is going on.
#[derive(Debug)]
pub(crate) struct Pointers {
    fingers: Vec<Finger>,
    gesture: Gesture,
}

impl Pointers {
    pub(crate) const fn new() -> Self {
        Self {
            fingers: Vec::new(),
            gesture: Gesture::None,
        }
    }

    /// A button or a finger goes down.
    pub(crate) fn down(&mut self, desk: &Desk, event: &PointerEvent) {
        let Some((canvas, at, viewport)) = place(event) else {
            return;
        };
        if self.fingers.len() >= 2 {
            return;
        }
        let _ = canvas.set_pointer_capture(event.pointer_id());
        self.fingers.push(Finger {
            id: event.pointer_id(),
            at,
        });
        if self.fingers.len() == 2 {
            self.release_probe(desk);
            self.gesture = Gesture::Pinch;
            return;
        }
        self.gesture = match (event.button(), desk.under(at, viewport)) {
            (0, Under::Probe) => {
                desk.act(Action::GrabProbe { at, viewport });
                Gesture::Probe
            }
            (0, under) => Gesture::Turn {
                travelled: 0.0,
                tap_places: under == Under::Skin,
            },
            (1 | 2, _) => Gesture::Pan,
            _ => Gesture::None,
        };
        let _ = canvas.class_list().add_1("dragging");
    }

    /// A pointer moves, held or not.
    pub(crate) fn moved(&mut self, desk: &Desk, event: &PointerEvent) {
        let Some((canvas, at, viewport)) = place(event) else {
            return;
        };
        let Some(index) = self
            .fingers
            .iter()
            .position(|finger| finger.id == event.pointer_id())
        else {
            if self.fingers.is_empty() && event.pointer_type() == "mouse" {
                let under = desk.under(at, viewport);
                let _ = canvas
                    .class_list()
                    .toggle_with_force("on-skin", under == Under::Skin);
                let _ = canvas
                    .class_list()
                    .toggle_with_force("on-probe", under == Under::Probe);
            }
            return;
        };
        let before = self.fingers.clone();
        if let Some(finger) = self.fingers.get_mut(index) {
            finger.at = at;
        }
        let Some(was) = before.get(index).map(|finger| finger.at) else {
            return;
        };
        let (dx, dy) = (at.x - was.x, at.y - was.y);
        match &mut self.gesture {
            Gesture::None => {}
            Gesture::Probe => desk.act(Action::DragProbe { at, viewport }),
            Gesture::Turn { travelled, .. } => {
                *travelled += dx.abs() + dy.abs();
                if *travelled > TAP_PX {
                    desk.act(Action::OrbitCamera { dx, dy, viewport });
                }
            }
            Gesture::Pan => desk.act(Action::PanCamera { dx, dy, viewport }),
            Gesture::Pinch => {
                if let (Some((old, old_span)), Some((new, span))) =
                    (middle(&before), middle(&self.fingers))
                {
                    desk.act(Action::PanCamera {
                        dx: new.x - old.x,
                        dy: new.y - old.y,
                        viewport,
                    });
                    if span > 1.0 && old_span > 1.0 {
                        desk.act(Action::ZoomCamera(old_span / span));
                    }
                }
            }
        }
    }

    /// A button or a finger goes up (`completed`), or the browser takes the gesture away.
    pub(crate) fn up(&mut self, desk: &Desk, event: &PointerEvent, completed: bool) {
        let known = self
            .fingers
            .iter()
            .any(|finger| finger.id == event.pointer_id());
        if !known {
            return;
        }
        self.fingers
            .retain(|finger| finger.id != event.pointer_id());
        let Some((canvas, at, viewport)) = place(event) else {
            return;
        };
        match self.gesture {
            Gesture::Turn {
                travelled,
                tap_places: true,
            } if completed && travelled <= TAP_PX => {
                desk.act(Action::PlaceProbe { at, viewport });
                desk.act(Action::EndInteraction);
            }
            Gesture::Probe => self.release_probe(desk),
            _ => {}
        }
        // A finger left over from two does not go on as something else.
        self.gesture = Gesture::None;
        if self.fingers.is_empty() {
            let _ = canvas.class_list().remove_1("dragging");
        }
    }

    fn release_probe(&self, desk: &Desk) {
        if self.gesture == Gesture::Probe {
            desk.act(Action::EndInteraction);
        }
    }
}

/// Zooms, unless the page should scroll: only with the focus on the view, or with Control (as a trackpad's
/// pinch arrives).
pub(crate) fn wheel(desk: &Desk, event: &WheelEvent) {
    let Some(canvas) = event
        .current_target()
        .and_then(|target| target.dyn_into::<HtmlCanvasElement>().ok())
    else {
        return;
    };
    let focused = canvas
        .owner_document()
        .and_then(|page| page.active_element());
    let has_focus = focused.is_some_and(|element| element == **canvas);
    if !(has_focus || event.ctrl_key()) {
        return;
    }
    event.prevent_default();
    let px = event.delta_y()
        * if event.delta_mode() == WheelEvent::DOM_DELTA_LINE {
            LINE_PX
        } else {
            1.0
        };
    desk.act(Action::ZoomCamera(js_sys::Math::exp(px * WHEEL_ZOOM)));
}

/// Middle of two fingers and how far they are apart.
fn middle(fingers: &[Finger]) -> Option<(ScreenPoint, f64)> {
    let [a, b] = fingers else { return None };
    let (dx, dy) = (a.at.x - b.at.x, a.at.y - b.at.y);
    let middle = ScreenPoint {
        x: (a.at.x + b.at.x) / 2.0,
        y: (a.at.y + b.at.y) / 2.0,
    };
    Some((middle, (dx * dx + dy * dy).sqrt()))
}

fn place(event: &PointerEvent) -> Option<(HtmlCanvasElement, ScreenPoint, Viewport)> {
    let canvas: HtmlCanvasElement = event.current_target()?.dyn_into().ok()?;
    let rect = canvas.get_bounding_client_rect();
    let at = ScreenPoint {
        x: f64::from(event.client_x()) - rect.left(),
        y: f64::from(event.client_y()) - rect.top(),
    };
    Some((
        canvas,
        at,
        Viewport {
            width: rect.width(),
            height: rect.height(),
        },
    ))
}
