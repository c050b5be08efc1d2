//! The two stages: the body view and the picture, with what they need of the browser.

pub(crate) mod body_canvas;
pub(crate) mod body_scene;
pub(crate) mod body_view;
pub(crate) mod frame;
pub(crate) mod ink;
pub(crate) mod marks;
pub(crate) mod picture_view;
pub(crate) mod pointer;
pub(crate) mod saved;
pub(crate) mod size;
pub(crate) mod stills;
pub(crate) mod tags;
pub(crate) mod tryout;
pub(crate) mod volume_views;
