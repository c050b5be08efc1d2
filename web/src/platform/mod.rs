//! What the page asks of the browser beside drawing: files, storage, the address, preferences, the stop.

pub(crate) mod address;
pub(crate) mod fetch;
pub(crate) mod prefer;
pub(crate) mod stop;
pub(crate) mod store;
