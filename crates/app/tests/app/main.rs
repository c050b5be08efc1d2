//! The application driven from outside, on a small body.

#[cfg(test)]
mod any_actions;
#[cfg(test)]
mod body_view;
#[cfg(test)]
mod grey_scale;
#[cfg(test)]
mod journeys;
mod positions;
#[cfg(test)]
mod support;
