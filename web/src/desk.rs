//! The running program: the application's state, the two views, and what has to be drawn next.
//!
//! Events call [`Desk::act`], which changes the state and asks for a frame. The frame redraws what the changes name and
//! then writes the panels' signals. Nothing runs when nothing changes. Every entry tolerates that the desk is already in
//! use (a browser may call back at an odd moment) by doing nothing.

use crate::announce::Speaker;
use crate::body_file;
use crate::examination::{self, Keeping};
use crate::platform::prefer::{self, Theme};
use crate::platform::report;
use crate::platform::{address, language};
use crate::record::{self, KeptRecord};
use crate::stage::body_view::BodyView;
use crate::stage::frame::FrameLoop;
use crate::stage::picture_view::PictureView;
use crate::stage::size::Size;
use crate::stage::stills::Stills;
use crate::stage::tryout::TryoutViews;
use crate::stage::volume_views::VolumeViews;
use app::colours::{self, Tokens};
use app::drag::{self, Under};
use app::drawing::{self, Drawing};
use app::picture::VolumePlane;
use app::practise::Still;
use app::scene::{ScreenPoint, Viewport};
use app::views::{self, CursorView, Panels, VolumeView};
use app::volume::VolumeDrawing;
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
    /// The three planes of a volume.
    pub(crate) volume: RwSignal<VolumeView>,
    /// What is pointed at in the picture.
    pub(crate) cursor: RwSignal<Option<CursorView>>,
    /// The live region.
    pub(crate) live: RwSignal<String>,
    /// Whether something is still on its way to rest.
    pub(crate) moving: RwSignal<bool>,
    /// How much of the body is here: "loading", "skin", "loaded", "failed".
    pub(crate) body: RwSignal<&'static str>,
    /// The colours chosen.
    pub(crate) theme: RwSignal<Theme>,
    /// Counts refused actions.
    pub(crate) refused: RwSignal<u32>,
}

/// Where the program shows itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    /// A page of its own: the address bar holds the view, the theme is kept.
    Page,
    /// A frame of another page: the address is its author's, and changes are reported instead.
    Frame,
}

/// The running program.
#[derive(Clone)]
pub(crate) struct Desk(Rc<Parts>);

struct Parts {
    inner: RefCell<Inner>,
    frame: FrameLoop,
    shown: Shown,
    writer: address::Writer,
    place: Place,
    speaker: Speaker,
    texts: &'static Texts,
    /// The body being fetched, so that none is fetched twice.
    fetching: RefCell<Option<String>>,
    /// Time of the last frame of a running animation.
    last_ms: Cell<Option<f64>>,
    keeping: RefCell<Keeping>,
    record: KeptRecord,
}

struct Inner {
    state: State,
    drawing: Option<Drawing>,
    tokens: Tokens,
    colours: colours::Theme,
    changes: Changes,
    body_view: Option<BodyView>,
    picture_view: Option<PictureView>,
    /// For acquired pictures, so that the live one keeps its working memory.
    aside: Option<Drawing>,
    tryout: TryoutViews,
    stills: Stills,
    volume: VolumeViews,
    /// Whether the volume in grey is still on its way.
    acquiring: bool,
}

impl Desk {
    /// The program as `fragment` says, without views yet.
    pub(crate) fn new(fragment: &str, place: Place) -> Self {
        let texts = language::texts();
        let mut state = State::new(fragment);
        state.speak(texts);
        if let Some(name) = language::missing() {
            let _ = app::update(&mut state, Action::LanguageFailed(name.to_owned()));
        }
        let _ = app::update(
            &mut state,
            Action::SetReducedMotion(prefer::reduced_motion()),
        );
        let shown = Shown {
            panels: RwSignal::new(views::panels(&state, None, texts)),
            volume: RwSignal::new(views::volume_view(&state, &VolumeDrawing::default(), texts)),
            cursor: RwSignal::new(None),
            live: RwSignal::new(String::new()),
            moving: RwSignal::new(true),
            body: RwSignal::new("loading"),
            theme: RwSignal::new(match place {
                Place::Page => Theme::stored(),
                Place::Frame => Theme::Auto,
            }),
            refused: RwSignal::new(0),
        };
        let colours = prefer::colours(shown.theme.get_untracked());
        let desk = Self(Rc::new(Parts {
            inner: RefCell::new(Inner {
                state,
                // Fails only when a colour is missing, which a test of the application rules out.
                drawing: drawing::palette().ok().map(Drawing::new),
                tokens: Tokens::of(colours),
                colours,
                changes: Changes::none(),
                body_view: None,
                picture_view: None,
                aside: drawing::palette().ok().map(Drawing::new),
                tryout: TryoutViews::default(),
                stills: Stills::default(),
                volume: VolumeViews::default(),
                acquiring: false,
            }),
            frame: FrameLoop::new(),
            shown,
            writer: address::Writer::new(),
            place,
            speaker: Speaker::new(shown.live),
            texts,
            fetching: RefCell::new(None),
            last_ms: Cell::new(None),
            keeping: RefCell::new(Keeping::open(place)),
            record: KeptRecord::new(),
        }));
        let weak = Rc::downgrade(&desk.0);
        desk.0.frame.set(move |time| {
            if let Some(parts) = weak.upgrade() {
                Self(parts).draw(time);
            }
        });
        if place == Place::Page {
            examination::begin(&desk);
            record::begin(&desk);
        }
        desk.fetch_if_wanted();
        desk.0.frame.request();
        desk
    }

    /// Signals of the panels.
    pub(crate) fn shown(&self) -> Shown {
        self.0.shown
    }

    /// The words of the interface.
    pub(crate) fn texts(&self) -> &'static Texts {
        self.0.texts
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
        let (keep, refused) = (changes.keep, changes.refused);
        let before = std::mem::take(&mut inner.changes);
        inner.changes = before.and(changes);
        drop(inner);
        if keep {
            self.keep();
        }
        if self.0.place == Place::Page {
            self.0.record.keep(self);
        }
        if refused {
            self.0.shown.refused.update(|count| *count += 1);
        }
        self.fetch_if_wanted();
        self.0.frame.request();
    }

    /// Asks for a frame, and with it for the next job that can wait.
    pub(crate) fn wake(&self) {
        self.0.frame.request();
    }

    /// Keeps the examination, and tells the application what came of it.
    fn keep(&self) {
        let todo = self.0.inner.try_borrow().ok().and_then(|inner| {
            let mut keeping = self.0.keeping.try_borrow_mut().ok()?;
            Some(keeping.keep(&inner.state))
        });
        for what in todo.into_iter().flatten() {
            self.act(Action::Examine(what));
        }
    }

    /// Uses what keeps the examination.
    pub(crate) fn keeping<T>(&self, use_it: impl FnOnce(&mut Keeping) -> T) -> Option<T> {
        let mut keeping = self.0.keeping.try_borrow_mut().ok()?;
        Some(use_it(&mut keeping))
    }

    /// Uses state and the drawing for acquired pictures; `None` when they are in use.
    pub(crate) fn aside<T>(
        &self,
        draw: impl FnOnce(&State, &mut Drawing, &Texts) -> Option<T>,
    ) -> Option<T> {
        let mut inner = self.0.inner.try_borrow_mut().ok()?;
        let Inner { state, aside, .. } = &mut *inner;
        draw(state, aside.as_mut()?, self.0.texts)
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

    /// Draws the body view at once and not in the next frame, for whoever wants to copy it.
    pub(crate) fn draw_body_now(&self) {
        let Ok(mut inner) = self.0.inner.try_borrow_mut() else {
            return;
        };
        let changes = Changes {
            camera: true,
            ..Changes::none()
        };
        inner.redraw(&changes, self.0.texts);
    }

    /// Takes a canvas for mark and notch tried out, before or after, or lets it go.
    pub(crate) fn attach_tryout(&self, after: bool, canvas: Option<HtmlCanvasElement>) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.tryout.attach(after, canvas);
            inner.changes.panels = true;
        }
        self.0.frame.request();
    }

    /// Such a canvas has another size.
    pub(crate) fn tryout_resized(&self, after: bool, size: Size) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.tryout.resize(after, size);
            inner.changes.panels = true;
        }
        self.0.frame.request();
    }

    /// Takes a canvas beside the stages; see [`Stills::attach`].
    pub(crate) fn attach_still(
        &self,
        which: Still,
        canvas: HtmlCanvasElement,
        tags: Option<web_sys::HtmlElement>,
    ) -> Option<u32> {
        let mut inner = self.0.inner.try_borrow_mut().ok()?;
        inner.stills.attach(which, canvas, tags)
    }

    /// Such a canvas has another size.
    pub(crate) fn still_resized(&self, number: u32, size: Size) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.stills.resize(number, size);
        }
        self.0.frame.request();
    }

    /// Such a canvas leaves the page.
    pub(crate) fn detach_still(&self, number: u32) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.stills.detach(number);
        }
    }

    /// Takes the canvas of a plane of the volume, or lets it go.
    pub(crate) fn attach_volume(&self, which: VolumePlane, canvas: Option<HtmlCanvasElement>) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.volume.attach(which, canvas);
            inner.changes.panels = true;
        }
        self.0.frame.request();
    }

    /// Such a canvas has another size.
    pub(crate) fn volume_resized(&self, which: VolumePlane, size: Size) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut() {
            inner.volume.resize(which, size);
            inner.changes.panels = true;
        }
        self.0.frame.request();
    }

    /// A press on a plane of the volume moves the point there; the place as a share of its canvas.
    pub(crate) fn point_in_volume(&self, which: VolumePlane, share: [f64; 2]) {
        let at = self
            .0
            .inner
            .try_borrow()
            .ok()
            .and_then(|inner| inner.volume.place(&inner.state, which, share));
        if let Some(at) = at {
            self.act(Action::PointInVolume(which, at));
        }
    }

    /// The lost context is back.
    pub(crate) fn restore_body_view(&self) {
        if let Ok(mut inner) = self.0.inner.try_borrow_mut()
            && let Some(view) = &mut inner.body_view
        {
            view.restore();
            inner.stills.forget();
            inner.changes.scene = true;
            inner.changes.pose = true;
        }
        self.0.frame.request();
    }

    /// Colours changed, by choice or by the system.
    pub(crate) fn set_theme(&self, theme: Theme) {
        match self.0.place {
            Place::Page => theme.apply(),
            Place::Frame => theme.show(),
        }
        self.0.shown.theme.set(theme);
        self.follow_colours();
    }

    /// Reads the theme again.
    pub(crate) fn follow_colours(&self) {
        let colours = prefer::colours(self.0.shown.theme.get_untracked());
        if let Ok(mut inner) = self.0.inner.try_borrow_mut()
            && inner.colours != colours
        {
            inner.colours = colours;
            inner.tokens = Tokens::of(colours);
            inner.stills.forget();
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

    /// The pointer is over the picture here, device pixels, or has left it.
    pub(crate) fn hover(&self, at_px: Option<[f64; 2]>) {
        let at = self.0.inner.try_borrow().ok().and_then(|inner| {
            let frame = inner.picture_view.as_ref()?.frame(&inner.state);
            Some(frame.to_mm(at_px?))
        });
        self.act(Action::PointAt(at));
    }

    /// Points out what lies under the keyboard's cross; a second time takes it back.
    pub(crate) fn choose_under_cursor(&self) {
        let under = self
            .0
            .shown
            .cursor
            .with_untracked(|cursor| cursor.as_ref()?.structure.clone());
        let Some(id) = under else { return };
        let chosen = self.read(|state| state.chosen() == Some(id.as_str()));
        self.act(Action::ChooseStructure(
            (chosen != Some(true)).then_some(id),
        ));
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
        let more = inner.draw_still(self.0.texts);
        let changes = std::mem::take(&mut inner.changes);
        let new_section = inner.redraw(&changes, self.0.texts);
        let moving = inner.state.is_moving();
        let acquiring = inner.acquiring;
        let seen = inner.drawing.as_ref().and_then(Drawing::contents);
        let written = changes.panels || new_section || changes.body;
        let panels = written.then(|| views::panels(&inner.state, seen, self.0.texts));
        let cursor =
            (written || changes.cursor).then(|| views::cursor(&inner.state, seen, self.0.texts));
        // The last of it arrives in a frame that changes nothing else.
        let volume = (written || changes.scene || !changes.cursor)
            .then(|| views::volume_view(&inner.state, &inner.volume.drawing, self.0.texts));
        let fragment = changes
            .address
            .then(|| app::address::fragment(&inner.state));
        let body = stage_key(inner.state.stage());
        drop(inner);

        match (fragment, self.0.place) {
            (Some(fragment), Place::Page) => self.0.writer.write(fragment),
            (Some(fragment), Place::Frame) => report::view(&fragment),
            (None, _) => {}
        }
        if self.0.place == Place::Frame && (changes.draws() || new_section) && !moving {
            report::drawn();
        }
        if let Some(words) = changes.announcement {
            self.0.speaker.say_soon(words);
        }
        let shown = self.0.shown;
        if let Some(cursor) = cursor {
            let said = cursor.as_ref().filter(|cursor| cursor.by_keys);
            let said = said.map(CursorView::text);
            let before = shown
                .cursor
                .with_untracked(|old| old.as_ref().map(CursorView::text));
            if let Some(words) = said.filter(|words| before.as_ref() != Some(words)) {
                self.0.speaker.say_soon(words);
            }
            write(shown.cursor, cursor);
        }
        if let Some(panels) = panels {
            write(shown.panels, panels);
        }
        if let Some(volume) = volume {
            write(shown.volume, volume);
        }
        write(shown.moving, moving);
        write(shown.body, body);
        if moving || acquiring || more {
            self.0.frame.request();
        } else {
            examination::next_job(self);
        }
    }
}

impl Inner {
    /// Draws the next view beside the stages, if one has to be drawn; whether there are more.
    fn draw_still(&mut self, texts: &Texts) -> bool {
        let dark = self.colours == colours::Theme::Dark;
        let view = self.body_view.as_mut();
        let [drew_body, more] = self
            .stills
            .draw_next(&self.state, view, &self.tokens, dark, texts);
        if drew_body {
            self.changes.scene = true;
            self.changes.camera = true;
        }
        more
    }

    /// Draws what the changes name; returns whether the section is a new one.
    fn redraw(&mut self, changes: &Changes, texts: &Texts) -> bool {
        let Self {
            state,
            drawing,
            tokens,
            colours,
            body_view,
            picture_view,
            tryout,
            volume,
            acquiring,
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
        if let Some(view) = picture_view
            && (changes.cursor || changes.panels)
        {
            view.show_cursor(state);
        }
        if let Some(tried) = state.tryout()
            && (section_changed || changes.panels || changes.body)
        {
            tryout.draw(state, tried, tokens, texts);
        }
        let was_acquiring = *acquiring;
        let volume_drawn = state.volume_shown()
            && (section_changed || changes.panels || changes.body || was_acquiring);
        *acquiring = volume_drawn && volume.draw(state, tokens);
        let acquired = was_acquiring && !*acquiring;
        let new_panes =
            volume_drawn && (section_changed || changes.scene || changes.body || acquired);
        if let Some(view) = body_view {
            if changes.body || changes.scene {
                view.take_body(state);
            }
            if section_changed || changes.draws() || new_panes {
                view.draw(
                    state,
                    (drawing, &mut volume.drawing),
                    tokens,
                    *colours == colours::Theme::Dark,
                    texts,
                    (section_changed || changes.body, new_panes),
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
    pub(crate) fn texts(self) -> &'static Texts {
        self.0.with_value(Desk::texts)
    }
}
