//! What a learner on a telephone line may be asked to download. All sizes in bytes, 1 kB = 1000.

/// The program: WebAssembly and JavaScript together, after gzip.
pub(crate) const PROGRAM_GZIP: usize = 300_000;

/// One body with its catalogue, after brotli.
pub(crate) const BODY_BROTLI: usize = 700_000;
