//! What can be wrong with a body description.

use std::path::PathBuf;

/// Why the TOML files of a body could not become a model. Every variant says where to look.
#[derive(Debug, thiserror::Error)]
pub enum ModelError {
    /// The file is missing or not readable: check the name in `include` or the models folder.
    #[error("cannot read {}", path.display())]
    Read {
        /// File.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The file is not TOML: the source error names line and column.
    #[error("{file} is not valid TOML")]
    Syntax {
        /// File.
        file: String,
        /// What the parser said.
        #[source]
        source: Box<toml::de::Error>,
    },
    /// A file includes itself, directly or through others.
    #[error("{file} includes itself")]
    IncludeCycle {
        /// File.
        file: String,
    },
    /// A key that must be there is not.
    #[error("{file}: {structure}: key {key} is missing")]
    MissingKey {
        /// File.
        file: String,
        /// Structure or section.
        structure: String,
        /// Dotted key.
        key: String,
    },
    /// A key nobody knows, most likely misspelt.
    #[error("{file}: {structure}: key {key} is not known")]
    UnknownKey {
        /// File.
        file: String,
        /// Structure or section.
        structure: String,
        /// Dotted key.
        key: String,
    },
    /// A value of the wrong kind or outside its range.
    #[error("{file}: {structure}: key {key} must be {expected}")]
    WrongValue {
        /// File.
        file: String,
        /// Structure or section.
        structure: String,
        /// Dotted key.
        key: String,
        /// What was expected.
        expected: &'static str,
    },
    /// A key names a structure, frame, tissue or landmark that the body does not have.
    #[error("{file}: {structure}: key {key} names {name}, which this body does not have")]
    UnknownName {
        /// File.
        file: String,
        /// Structure or section.
        structure: String,
        /// Dotted key.
        key: String,
        /// The name not found.
        name: String,
    },
    /// Structures refer to each other in a circle, so neither has a value.
    #[error("{file}: {structure}: refers to itself through {name}")]
    CircularReference {
        /// File.
        file: String,
        /// Structure.
        structure: String,
        /// The reference that closes the circle.
        name: String,
    },
}
