//! The application without a screen: what it knows, what can happen to it, and what it shows, as plain values.
//!
//! A shell (the page) holds one [`State`] and one [`drawing::Drawing`], and does four things:
//!
//! 1. turns events into an [`Action`] and calls [`update()`], which gives [`Changes`];
//! 2. in the next animation frame redraws what the changes name: [`scene::scene`] and
//!    [`scene::surface_looks`] for the body view, [`drawing::Drawing`] for the picture, [`views::panels`] for the
//!    panels; while [`State::is_moving`] it asks for another frame and sends [`Action::Tick`];
//! 3. fetches the body [`State::body_id`] while [`State::stage`] says it is loading, and reports with
//!    [`Action::BodyProgress`], [`Action::SkinArrived`], [`Action::BodyArrived`] or [`Action::BodyFailed`];
//! 4. writes [`address::fragment`] after the `#` when the changes say so, and sends [`Action::OpenLink`] when the
//!    address was changed from outside; speaks [`Changes::announcement`] through one polite live region.
//!
//! What is kept between visits goes through [`examine::keeping`], whenever the changes say so; what a tab takes along when
//! its page loads again goes through [`session`].
//!
//! A pointer press in the body view asks [`drag::under`]: on the probe it starts [`Action::GrabProbe`], followed by
//! [`Action::DragProbe`] and [`Action::EndInteraction`]; elsewhere a drag is [`Action::OrbitCamera`], and a
//! tap on the skin may be [`Action::PlaceProbe`]. Keys go through [`keys::answer`]. Sliders, dials and held
//! keys end with [`Action::EndInteraction`] when they are let go, which makes one step of undo of them.
//!
//! No rule of anatomy, naming or marking is left to the shell, and no clock, thread or file is used here:
//! time is an argument of [`Action::Tick`].

pub mod action;
pub mod address;
pub mod colours;
pub mod cursor;
pub mod drag;
pub mod drawing;
pub mod examine;
pub mod keys;
pub mod lit;
mod motion;
mod names;
mod naming;
pub mod practise;
pub mod predict;
pub mod results;
pub mod scene;
pub mod session;
mod shown;
mod start;
pub mod state;
pub mod teach;
pub mod texts;
pub mod tuning;
pub mod update;
pub mod views;
pub mod volume;
pub mod why;
pub mod worksheet;

pub use action::{Action, Changes, Movement, Open, Seat, SlideAxis, Step, Way};
pub use drag::Under;
pub use examine::{Examination, Examine};
pub use state::{BodyStage, GreyChoice, State};
pub use texts::Texts;
pub use update::update;

pub use course;
pub use course::share;
pub use practice;

// The shell needs these crates' types to hand bodies over and to read frames; it depends on no other.
pub use anatomy;
pub use geometry;
pub use picture;
