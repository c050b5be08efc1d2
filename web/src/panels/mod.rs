//! The panels: one file each. They show view values and send actions; no rule is kept here.

pub(crate) mod acquire;
pub(crate) mod annotation;
pub(crate) mod choice;
pub(crate) mod controls;
pub(crate) mod dial;
pub(crate) mod figure;
pub(crate) mod head;
pub(crate) mod help;
pub(crate) mod measure;
pub(crate) mod parts;
pub(crate) mod picture;
pub(crate) mod practise;
pub(crate) mod reading;
pub(crate) mod review;
pub(crate) mod teach;
mod tuning;
pub(crate) mod volume;
pub(crate) mod why;
