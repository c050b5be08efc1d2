//! The body view: renderer, what has been handed to it, and the words over it.

use super::body_scene as build;
use super::size::Size;
use super::tags::{Tag, Tags};
use app::colours::Tokens;
use app::drawing::Drawing;
use app::geometry::BodyPosition;
use app::picture::VolumePlane;
use app::scene::{self, Block, LineKind, ProbeSolid, Scene, Viewport};
use app::volume::VolumeDrawing;
use app::{State, Texts};
use gl::shapes;
use gl::{GlError, Renderer};
use glam::Vec3;
use std::sync::Arc;
use web_sys::{HtmlCanvasElement, HtmlElement};

/// One canvas with its renderer.
pub(crate) struct BodyView {
    renderer: Renderer,
    canvas: HtmlCanvasElement,
    tags: Tags,
    size: Size,
    /// What the furniture's and the probe's meshes were built from.
    blocks: Vec<Block>,
    probe: Option<ProbeSolid>,
    /// How many surfaces of the body the renderer holds, of which body, and bent for which position.
    held: Held,
    /// Surfaces that are held bent.
    bent: Vec<usize>,
    has_pictures: bool,
    /// Whether the pictures of the volume's planes are here.
    has_panes: bool,
    premultiplied: Vec<u8>,
}

#[derive(Debug, Clone, PartialEq, Default)]
struct Held {
    body: String,
    surfaces: usize,
    position: Option<BodyPosition>,
}

impl BodyView {
    /// Takes the canvas's WebGL2 context; words go into `tags`.
    ///
    /// # Errors
    ///
    /// Where there is no usable context.
    pub(crate) fn new(canvas: HtmlCanvasElement, tags: HtmlElement) -> Result<Self, GlError> {
        let mut renderer = Renderer::new(canvas.clone())?;
        // Shapes of our own fit the buffers; an upload can only fail on arrays that do not match.
        let _ = renderer.put_shape(
            build::ARROW,
            &shapes::arrow(build::ARROW_MM, 2.4, 6.2, 13.0),
        );
        let _ = renderer.put_shape(build::BALL, &shapes::ball(4.2, 8));
        Ok(Self {
            renderer,
            canvas,
            tags: Tags::new(tags),
            size: Size::default(),
            blocks: Vec::new(),
            probe: None,
            held: Held::default(),
            bent: Vec::new(),
            has_pictures: false,
            has_panes: false,
            premultiplied: Vec::new(),
        })
    }

    /// Follows the canvas's size.
    pub(crate) fn set_size(&mut self, size: Size) {
        self.size = size;
        self.renderer.resize(size.width, size.height);
    }

    /// Rebuilds everything after a lost context came back.
    pub(crate) fn restore(&mut self) {
        if let Err(error) = self.renderer.restore() {
            web_sys::console::info_1(&error.to_string().into());
        }
    }

    /// Hands the renderer what is here of the body: nothing, the skin, or all of it, bent as its position asks.
    pub(crate) fn take_body(&mut self, state: &State) {
        let now = Held {
            body: state.body_id().to_owned(),
            surfaces: state
                .body()
                .map_or(usize::from(state.skin().is_some()), |body| {
                    body.surfaces().len()
                }),
            position: state.skin().map(|_| state.position()),
        };
        if now == self.held {
            return;
        }
        let same_body = now.body == self.held.body;
        let have = if same_body { self.held.surfaces } else { 0 };
        for surface in now.surfaces.min(have)..self.held.surfaces {
            self.renderer.remove_mesh(build::surface_mesh(surface));
        }
        let moved = !same_body || now.position != self.held.position;
        if let Some(skin) = state.shown_skin().filter(|_| have == 0 || moved) {
            let skin = Arc::clone(skin);
            let mesh = skin.mesh();
            self.put(0, &mesh.positions, skin.normals(), &mesh.triangles);
        }
        if let Some(body) = state.body().map(Arc::clone) {
            let was_bent = std::mem::take(&mut self.bent);
            for surface in 1..body.surfaces().len() {
                if surface < have && !moved {
                    if was_bent.contains(&surface) {
                        self.bent.push(surface);
                    }
                    continue;
                }
                let mesh = body.cut_set().mesh(surface);
                if let Some(bent) = state.shown_surface(surface) {
                    self.put(surface, &bent.positions, &bent.normals, &mesh.triangles);
                    self.bent.push(surface);
                } else if surface >= have || was_bent.contains(&surface) {
                    let normals = body.surface_normals(surface);
                    self.put(surface, &mesh.positions, normals, &mesh.triangles);
                }
            }
        }
        self.has_pictures &= same_body && now.surfaces == self.held.surfaces;
        self.held = now;
    }

    fn put(
        &mut self,
        surface: usize,
        positions: &[[f32; 3]],
        normals: &[[f32; 3]],
        triangles: &[[u32; 3]],
    ) {
        let (positions, normals) = (positions.as_flattened(), normals.as_flattened());
        let id = build::surface_mesh(surface);
        if let Err(error) = self
            .renderer
            .put_mesh(id, positions, normals, triangles.as_flattened())
        {
            web_sys::console::warn_1(&error.to_string().into());
        }
    }

    /// Draws the view; the sheets' pictures are painted anew when `new_pictures`, those of the volume when `new_panes`.
    pub(crate) fn draw(
        &mut self,
        state: &State,
        (drawing, volume): (&mut Drawing, &mut VolumeDrawing),
        tokens: &Tokens,
        dark: bool,
        texts: &Texts,
        (new_pictures, new_panes): (bool, bool),
    ) {
        if self.size.css_width < 1.0 || self.size.css_height < 1.0 {
            return;
        }
        let viewport = Viewport {
            width: self.size.css_width,
            height: self.size.css_height,
        };
        let scene = scene::scene(state, viewport, texts);
        self.put_solids(&scene);
        if new_pictures || (state.body().is_some() && !self.has_pictures) {
            self.has_pictures =
                self.put_pictures(state, drawing, &scene, tokens.get("scene-plate").rgb);
        }
        if new_panes || !self.has_panes {
            self.has_panes = self.put_panes(state, volume, &scene);
        }
        let surfaces = scene::surface_looks(state, tokens);
        let mut frame = build::frame(
            state,
            &scene,
            &surfaces,
            tokens,
            dark,
            self.size,
            self.has_pictures,
        );
        if self.has_panes {
            build::add_panes(&mut frame, &scene, tokens);
        }
        build::add_trace(&mut frame, &drawing.skin_trace(state), tokens, self.size);
        self.renderer.draw(&frame);
        let tags = tags_of(state, &scene, tokens, texts, self.size);
        self.tags
            .show(&tags, [self.size.css_width, self.size.css_height]);
    }

    /// The canvas that is drawn on.
    pub(crate) const fn canvas(&self) -> &HtmlCanvasElement {
        &self.canvas
    }

    /// Draws another state at another size, to be copied from the canvas at once; the words that stand over it. The size
    /// goes back with [`Self::take_size_back`], and the view has to be drawn anew.
    pub(crate) fn draw_still(
        &mut self,
        state: &State,
        drawing: &mut Drawing,
        tokens: &Tokens,
        dark: bool,
        texts: &Texts,
        size: Size,
    ) -> Vec<Tag> {
        self.take_body(state);
        self.renderer.resize(size.width, size.height);
        let viewport = Viewport {
            width: size.css_width,
            height: size.css_height,
        };
        let scene = scene::scene(state, viewport, texts);
        self.put_solids(&scene);
        let has_pictures = self.put_pictures(state, drawing, &scene, tokens.get("scene-plate").rgb);
        let surfaces = scene::surface_looks(state, tokens);
        let mut frame = build::frame(state, &scene, &surfaces, tokens, dark, size, has_pictures);
        build::add_trace(&mut frame, &drawing.skin_trace(state), tokens, size);
        self.renderer.draw(&frame);
        // The sheets hold another state's pictures now.
        self.has_pictures = false;
        tags_of(state, &scene, tokens, texts, size)
    }

    /// The canvas has its own size again.
    pub(crate) fn take_size_back(&mut self) {
        self.renderer.resize(self.size.width, self.size.height);
    }

    fn put_solids(&mut self, scene: &Scene) {
        if self.blocks != scene.furniture.blocks {
            let blocks = scene.furniture.blocks.iter().enumerate();
            for (number, block) in blocks.take(build::MOST_BLOCKS) {
                let shape = shapes::rounded_box(Vec3::from_array(block.half), block.radius, 6);
                let _ = self.renderer.put_shape(build::block_mesh(number), &shape);
            }
            self.blocks.clone_from(&scene.furniture.blocks);
        }
        if self.probe != Some(scene.probe) {
            let meshes = build::probe_meshes(&scene.probe);
            let parts = [
                (build::FACE, &meshes.face),
                (build::HOUSING, &meshes.housing),
                (build::NOTCH, &meshes.notch),
                (build::CABLE, &meshes.cable),
            ];
            for (id, shape) in parts {
                let _ = self.renderer.put_shape(id, shape);
            }
            self.probe = Some(scene.probe);
        }
    }

    /// Paints the two sheets; the cut face around the field is paled toward `pale`, so that the field stands out.
    fn put_pictures(
        &mut self,
        state: &State,
        drawing: &mut Drawing,
        scene: &Scene,
        pale: [u8; 3],
    ) -> bool {
        let field = drawing.field_texture(state, &scene.field_sheet);
        premultiply(field, &mut self.premultiplied);
        let frame = &scene.field_sheet.frame;
        let field_put = self.renderer.put_texture(
            build::FIELD,
            frame.width(),
            frame.height(),
            &self.premultiplied,
        );
        let cut = drawing.cut_texture(state, &scene.cut_sheet);
        premultiply(cut, &mut self.premultiplied);
        fade(&mut self.premultiplied, pale);
        let frame = &scene.cut_sheet.frame;
        let cut_put = self.renderer.put_texture(
            build::CUT_FACE,
            frame.width(),
            frame.height(),
            &self.premultiplied,
        );
        field_put.is_ok() && cut_put.is_ok()
    }

    /// Paints the planes of a volume that are on show; says whether there are any.
    fn put_panes(&mut self, state: &State, volume: &mut VolumeDrawing, scene: &Scene) -> bool {
        let mut put = !scene.volume.pieces.is_empty();
        for pane in &scene.volume.sheets {
            let frame = &pane.sheet.frame;
            let rgba = volume.picture(state, pane.which, frame);
            if rgba.is_empty() {
                return false;
            }
            premultiply(rgba, &mut self.premultiplied);
            let done = self.renderer.put_texture(
                build::pane_texture(pane.which),
                frame.width(),
                frame.height(),
                &self.premultiplied,
            );
            put &= done.is_ok();
        }
        put
    }
}

/// The words over a view of this size.
fn tags_of(state: &State, scene: &Scene, tokens: &Tokens, texts: &Texts, size: Size) -> Vec<Tag> {
    let camera = build::camera(scene, size);
    let ratio = size.ratio();
    let css = |px: [f32; 2]| px.map(|length| f64::from(length) / ratio);
    let project = |point: Vec3| camera.project(point).map(css);
    let mut tags = Vec::with_capacity(12);
    if state.skin().is_some() {
        let [notch, beyond] = build::notch_place(scene);
        if let (Some(notch), Some(beyond)) = (project(notch), project(beyond)) {
            let at = beside(notch, beyond);
            tags.push(Tag {
                text: texts.panels.notch.to_lowercase(),
                at,
                class: "tag notch",
            });
        }
    }
    for line in scene.lines.iter().filter(|line| !line.words.is_empty()) {
        let at = match line.kind {
            LineKind::Volume(which) => {
                let seen = line.points.iter().map(|point| Vec3::from_array(*point));
                plane_tag_place(which, seen.filter_map(project))
            }
            LineKind::Axis | LineKind::BodyPlane(_) => line
                .points
                .first()
                .and_then(|point| project(Vec3::from_array(*point))),
        };
        if let Some(at) = at {
            tags.push(Tag {
                text: line.words.clone(),
                at,
                class: match line.kind {
                    LineKind::BodyPlane(_) | LineKind::Axis => "tag lit",
                    LineKind::Volume(_) => "tag",
                },
            });
        }
    }
    if state.skin().is_some() {
        for arrow in &scene.arrows {
            let tip = Vec3::from_array(arrow.position)
                + Vec3::from_array(arrow.direction) * (build::ARROW_MM + 12.0);
            if !arrow.words.is_empty()
                && let Some(at) = project(tip)
            {
                tags.push(Tag {
                    text: arrow.words.clone(),
                    at,
                    class: "tag",
                });
            }
        }
    }
    let compass = build::compass(scene, tokens, size);
    for tip in &scene.compass {
        let at = css(compass.letter_px(&camera, Vec3::from_array(tip.direction) * 0.9));
        tags.push(Tag {
            text: tip.letter.to_string(),
            at,
            class: "tag bare",
        });
    }
    tags
}

/// The place on its edge where a plane of a volume is named: each plane's at another end of the view, so that the names
/// keep apart.
fn plane_tag_place(which: VolumePlane, edge: impl Iterator<Item = [f64; 2]>) -> Option<[f64; 2]> {
    let toward = match which {
        VolumePlane::Acquired => [-1.0, 0.4],
        VolumePlane::Crossing => [0.3, 1.0],
        VolumePlane::Face => [1.0, -0.2],
    };
    let along = |at: &[f64; 2]| at[0] * toward[0] + at[1] * toward[1];
    edge.max_by(|a, b| along(a).total_cmp(&along(b)))
}

/// A place for a tag off `from` in the direction of `toward`, so that it points there and covers nothing of it.
fn beside(from: [f64; 2], toward: [f64; 2]) -> [f64; 2] {
    // Half a short word and half a line of text.
    const OFF_PX: [f64; 2] = [44.0, 24.0];
    let (dx, dy) = (toward[0] - from[0], toward[1] - from[1]);
    let length = (dx * dx + dy * dy).sqrt();
    // Seen from the front, the notch looks at the viewer: the tag stands above it.
    let [dx, dy] = if length < 3.0 {
        [0.0, -1.0]
    } else {
        [dx / length, dy / length]
    };
    [from[0] + dx * OFF_PX[0], from[1] + dy * OFF_PX[1]]
}

/// Mixes premultiplied pixels half and half with a colour; their opacity stays.
fn fade(rgba: &mut [u8], toward: [u8; 3]) {
    for pixel in rgba.chunks_exact_mut(4) {
        let [colour @ .., alpha] = pixel else {
            continue;
        };
        if *alpha == 0 {
            continue;
        }
        for (part, wanted) in colour.iter_mut().zip(toward) {
            let wanted = u16::from(wanted) * u16::from(*alpha) / 255;
            *part = u8::try_from((u16::from(*part) + wanted) / 2).unwrap_or(u8::MAX);
        }
    }
}

/// RGBA bytes with the colours multiplied by their opacity, as the renderer takes them.
fn premultiply(rgba: &[u8], out: &mut Vec<u8>) {
    out.clear();
    out.extend_from_slice(rgba);
    for pixel in out.chunks_exact_mut(4) {
        if let [r, g, b, a] = pixel {
            // Nearly all pixels are wholly opaque or wholly clear.
            match *a {
                255 => {}
                0 => (*r, *g, *b) = (0, 0, 0),
                alpha => {
                    for part in [r, g, b] {
                        let product = u16::from(*part) * u16::from(alpha) + 127;
                        *part = u8::try_from(product / 255).unwrap_or(u8::MAX);
                    }
                }
            }
        }
    }
}
