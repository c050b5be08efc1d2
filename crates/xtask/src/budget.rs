//! What a learner on a slow line may be asked to download. All sizes in bytes, 1 kB = 1000.
//!
//! A ceiling is a guard: a build above it fails, so that no change makes the download larger unseen. A goal is where the
//! project wants to be; the size table says how far off it is. Lower a ceiling whenever the sizes allow it.

/// The program: WebAssembly and JavaScript together, after gzip.
pub(crate) const PROGRAM_GZIP: usize = 985_000;
/// The goal for the program.
pub(crate) const PROGRAM_GZIP_GOAL: usize = 300_000;

/// One body with its catalogue, after brotli.
pub(crate) const BODY_BROTLI: usize = 500_000;
/// The goal for a body: 1.7 bytes for each of 250,000 triangles, and the catalogue.
pub(crate) const BODY_BROTLI_GOAL: usize = 470_000;
