//! The application driven from outside, on a small body.

#[cfg(test)]
mod any_actions;
#[cfg(test)]
mod body_view;
#[cfg(test)]
mod cursor;
#[cfg(test)]
mod examination;
#[cfg(test)]
mod grey_scale;
#[cfg(test)]
mod journeys;
#[cfg(test)]
mod languages;
#[cfg(test)]
mod positions;
#[cfg(test)]
mod predict;
#[cfg(test)]
mod restricted;
#[cfg(test)]
mod results;
#[cfg(test)]
mod session;
#[cfg(test)]
mod support;
#[cfg(test)]
mod teach;
#[cfg(test)]
mod tuning;
#[cfg(test)]
mod volume;
#[cfg(test)]
mod why;
#[cfg(test)]
mod worksheet;
