//! Two small pictures side by side: the picture as it is, and as mark and notch are tried out.

use super::picture_view::PictureView;
use super::size::Size;
use app::colours::Tokens;
use app::drawing::Drawing;
use app::why::Tryout;
use app::{State, Texts};
use web_sys::HtmlCanvasElement;

/// Before and after.
#[derive(Default)]
pub(crate) struct TryoutViews {
    views: [Option<PictureView>; 2],
    /// A drawing each, so that neither cuts the body again for the other.
    drawings: [Option<Drawing>; 2],
}

impl TryoutViews {
    /// Takes the canvas before or after, or lets it go.
    pub(crate) fn attach(&mut self, after: bool, canvas: Option<HtmlCanvasElement>) {
        let place = usize::from(after);
        self.views[place] = canvas
            .and_then(PictureView::new)
            .map(PictureView::without_names);
        self.drawings[place] = self.views[place]
            .as_ref()
            .and_then(|_| app::drawing::palette().ok())
            .map(Drawing::new);
    }

    /// A canvas has another size.
    pub(crate) fn resize(&mut self, after: bool, size: Size) {
        if let Some(view) = &mut self.views[usize::from(after)] {
            view.set_size(size);
        }
    }

    /// Draws both, where they are on show.
    pub(crate) fn draw(&mut self, state: &State, tryout: Tryout, tokens: &Tokens, texts: &Texts) {
        let both = [Tryout::default(), tryout];
        for ((view, drawing), tried) in self.views.iter().zip(&mut self.drawings).zip(both) {
            if let (Some(view), Some(drawing)) = (view, drawing) {
                let state = tried.applied(state);
                drawing.look_at(&state);
                view.draw(&state, drawing, tokens, texts);
            }
        }
    }
}
