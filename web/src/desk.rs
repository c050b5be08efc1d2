//! The running program: the application's state, the two views, and what has to be drawn next.
//!
//! Events call [`Desk::act`], which changes the state and asks for a frame. The frame redraws what the changes name and
//! then writes the panels' signals. Nothing runs when nothing changes. Every entry tolerates that the desk is already in
//! use (a browser may call back at an odd moment) by doing nothing.

use crate::announce::Speaker;
use crate::body_file;
use crate::platform::address;
use crate::platform::prefer::{self, Theme};
use crate::stage::body_view::BodyView;
use crate::stage::frame::FrameLoop;
use crate::stage::picture_view::PictureView;
use crate::stage::size::Size;
use app::colours::{self, Tokens};
use app::drag::{self, Under};
use app::drawing::{self, Drawing};
use app::scene::{ScreenPoint, Viewport};
use app::views::{self, Panels};
use app::{Action, BodyStage, Changes, State, Texts};
use leptos::prelude::*;
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use web_sys::HtmlCanvasElement;

/// Longest time one step of an animation covers: after a pause the probe goes on, it does not jump.
const LONGEST_TICK_MS: f64 = 100.0;

/// What the page shows outside the canvases.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shown {
    /// The panels of the application.
    pub(crate) panels: RwSignal<Panels>,
    /// The live region.
    pub(crate) live: RwSignal<String>,
    /// Whether something is still on its way to rest.
    pub(crate) moving: RwSignal<bool>,
    /// How much of the body is here: "loading", "skin", "loaded", "failed".
    pub(crate) body: RwSignal<&'static str>,
    /// The colours chosen.
    pub(crate) theme: RwSignal<Theme>,
}

/// The running program.
#[derive(Clone)]
pub(crate) struct Desk(Rc<Parts>);

struct Parts {
    inner: RefCell<Inner>,
    frame: FrameLoop,
    shown: Shown,
    writer: address::Writer,
    speaker: Speaker,
    texts: Texts,
    /// The body being fetched, so that none is fetched twice.
    fetching: RefCell<Option<String>>,
    /// Time of the last frame of a running animation.
    last_ms: Cell<Option<f64>>,
}

struct Inner {
    state: State,
    drawing: Option<Drawing>,
    tokens: Tokens,
    dark: bool,
    changes: Changes,
    body_view: Option<BodyView>,
    picture_view: Option<PictureView>,
}

impl Desk {
    /// The program as the address says, without views yet.
    pub(crate) fn new() -> Self {
        let texts = Texts::english();
        let mut state = State::new(&address::read());
        let _ = app::update(
            &mut state,
            Action::SetReducedMotion(prefer::reduced_motion()),
        );
        let shown = Shown {
            panels: RwSignal::new(views::panels(&state, None, &texts)),
            live: RwSignal::new(String::new()),
            moving: RwSignal::new(true),
            body: RwSignal::new("loading"),
            theme: RwSignal::new(Theme::stored()),
        };
        let dark = prefer::is_dark(shown.theme.get_untracked());
        let desk = Self(Rc::new(Parts {
            inner: RefCell::new(Inner {
                state,
                // Fails only when a colour is missing, which a test of the application rules out.
                drawing: drawing::palette().ok().map(Drawing::new),
                tokens: tokens(dark),
                dark,
                changes: Changes::none(),
                body_view: None,
                picture_view: None,
            }),
            frame: FrameLoop::new(),
            shown,
            writer: address::Writer::new(),
            speaker: Speaker::new(shown.live),
            texts,
            fetching: RefCell::new(None),
            last_ms: Cell::new(None),
        }));
        let weak = Rc::downgrade(&desk.0);
        desk.0.frame.set(move |time| {
            if let Some(parts) = weak.upgrade() {
                Self(parts).draw(time);
            }
        });
        desk.fetch_if_wanted();
        desk.0.frame.request();
        desk
    }

    /// Signals of the panels.
    pub(crate) fn shown(&self) -> Shown {
        self.0.shown
    }

    /// The words of the interface.
    pub(crate) fn texts(&self) -> &Texts {
        &self.0.texts
    }

    /// Lets something happen.
    pub(crate) fn act(&self, action: Action) {
        let Ok(mut inner) = self.0.inner.try_borrow_mut() else {
            return;
        };
        let changes = app::update(&mut inner.state, action);
        if changes == Changes::none() {
            return;
        }
        let before = std::mem::take(&mut inner.changes);
        inner.changes = before.and(changes);
        drop(inner);
        self.fetch_if_wanted();
        self.0.frame.request();
    }

    /// Reads the state; `None` when it is in use.
    pub(crate) fn read<T>(&self, look: impl FnOnce(&State) -> T) -> Option<T> {
        self.0
            .inner
            .try_borrow()
            .ok()
            .map(|inner| look(&inner.state))
    }

    /// What lies under a point of the body view.
    pub(crate) fn under(&self, at: ScreenPoint, viewport: Viewport) -> Under {
        self.read(|state| drag::under(state, at, viewport))
            .unwrap_or(Under::Nothing)
    }

    /// Takes the body view's canvas. Without WebGL2 the application is told, and goes on.
    pub(crate) fn attach_body_view(&self, canvas: HtmlCanvasElement, tags: web_sys::HtmlElement) {
        let made = BodyView::new(canvas, tags);
        let works = made.is_ok();
        if let Err(error) = &made {
            web_sys::console::info_1(&error.to_string().into());
        }
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.body_view = made.ok();
            inner.changes.body = true;
            inner.changes.scene = true;
        }
        self.act(Action::SetBodyViewWorks(works));
        self.0.frame.request();
    }

    /// Takes the picture's canvas.
    pub(crate) fn attach_picture(&self, canvas: HtmlCanvasElement) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.picture_view = PictureView::new(canvas);
            inner.changes.picture = true;
        }
        self.0.frame.request();
    }

    /// The body view has another size.
    pub(crate) fn body_view_resized(&self, size: Size) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut()
            && let Some(view) = &mut inner.body_view
        {
            view.set_size(size);
            inner.changes.camera = true;
        }
        self.0.frame.request();
    }

    /// The picture has another size.
    pub(crate) fn picture_resized(&self, size: Size) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut()
            && let Some(view) = &mut inner.picture_view
        {
            view.set_size(size);
            inner.changes.picture = true;
        }
        self.0.frame.request();
    }

    /// The lost context is back.
    pub(crate) fn restore_body_view(&self) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut()
            && let Some(view) = &mut inner.body_view
        {
            view.restore();
            inner.changes.scene = true;
            inner.changes.pose = true;
        }
        self.0.frame.request();
    }

    /// Colours changed, by choice or by the system.
    pub(crate) fn set_theme(&self, theme: Theme) {
        theme.apply();
        self.0.shown.theme.set(theme);
        self.follow_colours();
    }

    /// Reads the theme again.
    pub(crate) fn follow_colours(&self) {
        let dark = prefer::is_dark(self.0.shown.theme.get_untracked());
        if let Ok(mut inner) = self.0.inner.try_borrow_mut()
            && inner.dark != dark
        {
            inner.dark = dark;
            inner.tokens = tokens(dark);
            inner.changes.scene = true;
            inner.changes.picture = true;
        }
        self.0.frame.request();
    }

    /// A press on the picture points out what lies there; places in device pixels.
    pub(crate) fn point_out(&self, at_px: [f64; 2]) {
        let found = self.0.inner.try_borrow().ok().and_then(|inner| {
            let frame = inner.picture_view.as_ref()?.frame(&inner.state);
            let index = inner
                .drawing
                .as_ref()?
                .contents()?
                .structure_at(frame.to_mm(at_px))?;
            let id = inner.state.body()?.structure(index).id.as_str().to_owned();
            // A second press on the same takes it back.
            (inner.state.chosen() != Some(id.as_str())).then_some(id)
        });
        self.act(Action::ChooseStructure(found));
    }

    /// A copy of the drawn section's pixels, without what is written over them. For tests.
    pub(crate) fn picture_pixels(&self) -> Vec<u8> {
        let mut inner = self.0.inner.borrow_mut();
        let Inner {
            state,
            drawing,
            picture_view,
            ..
        } = &mut *inner;
        let (Some(drawing), Some(view)) = (drawing, picture_view) else {
            return Vec::new();
        };
        drawing
            .picture(state, &view.frame(state), view.ratio())
            .to_vec()
    }

    /// The body that was being fetched is here, or failed.
    pub(crate) fn body_done(&self) {
        self.0.fetching.borrow_mut().take();
    }

    fn fetch_if_wanted(&self) {
        let wanted = self.read(|state| {
            matches!(state.stage(), BodyStage::Loading { .. }).then(|| state.body_id().to_owned())
        });
        let Some(Some(id)) = wanted else { return };
        let mut fetching = self.0.fetching.borrow_mut();
        if fetching.as_ref() == Some(&id) {
            return;
        }
        *fetching = Some(id.clone());
        wasm_bindgen_futures::spawn_local(body_file::fetch_body(self.clone(), id));
    }

    /// One animation frame.
    fn draw(&self, time: f64) {
        let Ok(mut inner) = self.0.inner.try_borrow_mut() else {
            self.0.frame.request();
            return;
        };
        if inner.state.is_moving() {
            let elapsed = self
                .0
                .last_ms
                .replace(Some(time))
                .map_or(0.0, |last| time - last);
            let ticked = app::update(
                &mut inner.state,
                Action::Tick(elapsed.clamp(0.0, LONGEST_TICK_MS)),
            );
            let before = std::mem::take(&mut inner.changes);
            inner.changes = before.and(ticked);
        } else {
            self.0.last_ms.set(None);
        }
        let changes = std::mem::take(&mut inner.changes);
        let new_section = inner.redraw(&changes, &self.0.texts);
        let moving = inner.state.is_moving();
        let panels = (changes.panels || new_section || changes.body).then(|| {
            let seen = inner.drawing.as_ref().and_then(Drawing::contents);
            views::panels(&inner.state, seen, &self.0.texts)
        });
        let fragment = changes
            .address
            .then(|| app::address::fragment(&inner.state));
        let body = stage_key(inner.state.stage());
        drop(inner);

        if let Some(fragment) = fragment {
            self.0.writer.write(fragment);
        }
        if let Some(words) = changes.announcement {
            self.0.speaker.say_soon(words);
        }
        let shown = self.0.shown;
        if let Some(panels) = panels {
            write(shown.panels, panels);
        }
        write(shown.moving, moving);
        write(shown.body, body);
        if moving {
            self.0.frame.request();
        }
    }
}

impl Inner {
    /// Draws what the changes name; returns whether the section is a new one.
    fn redraw(&mut self, changes: &Changes, texts: &Texts) -> bool {
        let Self {
            state,
            drawing,
            tokens,
            dark,
            body_view,
            picture_view,
            ..
        } = self;
        let Some(drawing) = drawing else { return false };
        let new_section = drawing.look_at(state);
        let section_changed = new_section || changes.pose || changes.picture;
        if let Some(view) = picture_view
            && (section_changed || changes.body)
        {
            view.draw(state, drawing, tokens, texts);
        }
        if let Some(view) = body_view {
            if changes.body || changes.scene {
                view.take_body(state);
            }
            if section_changed || changes.draws() {
                view.draw(
                    state,
                    drawing,
                    tokens,
                    *dark,
                    texts,
                    section_changed || changes.body,
                );
            }
        }
        new_section
    }
}

fn stage_key(stage: &BodyStage) -> &'static str {
    match stage {
        BodyStage::Loading { .. } => "loading",
        BodyStage::SkinOnly { .. } => "skin",
        BodyStage::Loaded(_) => "loaded",
        BodyStage::Failed { .. } => "failed",
    }
}

fn tokens(dark: bool) -> Tokens {
    Tokens::of(if dark {
        colours::Theme::Dark
    } else {
        colours::Theme::Light
    })
}

/// Writes a signal only where its value differs, so that nothing downstream runs for nothing.
fn write<T: PartialEq + Send + Sync + 'static>(signal: RwSignal<T>, value: T) {
    if signal.with_untracked(|old| *old != value) {
        signal.set(value);
    }
}

/// A handle that closures of the view can copy.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Handle(StoredValue<Desk, LocalStorage>);

impl Handle {
    /// Keeps the desk for as long as the page lives.
    pub(crate) fn new(desk: Desk) -> Self {
        Self(StoredValue::new_local(desk))
    }

    /// Lets something happen; nothing, when the page is already going away.
    pub(crate) fn act(self, action: Action) {
        self.with(|desk| desk.act(action));
    }

    /// Something came to rest: a step of undo, the address, the spoken words.
    pub(crate) fn end(self) {
        self.act(Action::EndInteraction);
    }

    /// Uses the desk, if it is still there.
    pub(crate) fn with<T>(self, use_desk: impl FnOnce(&Desk) -> T) -> Option<T> {
        self.0.try_with_value(use_desk)
    }

    /// Signals of the page.
    pub(crate) fn shown(self) -> Shown {
        self.0.with_value(Desk::shown)
    }

    /// The words of the interface.
    pub(crate) fn texts(self) -> Texts {
        self.0.with_value(|desk| *desk.texts())
    }
}
