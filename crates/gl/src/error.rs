//! What can go wrong between the canvas and the first picture.

/// Why the renderer could not be made or rebuilt.
///
/// None of these is fatal to the page: without a renderer the section, the names and the questions still work.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GlError {
    /// The browser gave no WebGL2 context for this canvas.
    #[error("this browser gives no WebGL2 context for the canvas ({reason})")]
    NoWebGl2 {
        /// What the browser said, or why the answer was unusable.
        reason: String,
    },
    /// A shader did not compile.
    #[error("the {name} shader does not compile: {log}")]
    Shader {
        /// Which shader.
        name: &'static str,
        /// The driver's log.
        log: String,
    },
    /// A program did not link.
    #[error("the {name} program does not link: {log}")]
    Program {
        /// Which program.
        name: &'static str,
        /// The driver's log.
        log: String,
    },
    /// An off-screen target is not usable on this device.
    #[error("the {name} target is incomplete (framebuffer status {status:#06x})")]
    Framebuffer {
        /// Which target.
        name: &'static str,
        /// The value of `checkFramebufferStatus`.
        status: u32,
    },
    /// The driver returned nothing where an object was asked for; usually the context has just been lost.
    #[error("the context made no {what}; it may be lost")]
    NoObject {
        /// Which kind of object.
        what: &'static str,
    },
}

/// Why an upload was refused. Nothing is changed when one of these is returned.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum UploadError {
    /// Positions or normals are not whole triples, or differ in length.
    #[error(
        "{positions} position numbers and {normals} normal numbers do not make equal lists of triples"
    )]
    Lengths {
        /// How many numbers in the position array.
        positions: usize,
        /// How many numbers in the normal array.
        normals: usize,
    },
    /// The index array is not whole triangles.
    #[error("{indices} indices do not make whole triangles")]
    Indices {
        /// How many indices.
        indices: usize,
    },
    /// An index points past the last vertex.
    #[error("index {index} points past the last of {vertices} vertices")]
    IndexRange {
        /// The index.
        index: u32,
        /// How many vertices there are.
        vertices: usize,
    },
    /// A texture's byte count is not width × height × 4, or a side is zero or too large.
    #[error("{bytes} bytes do not make a picture of {width} by {height} RGBA pixels")]
    Pixels {
        /// Width, pixels.
        width: u32,
        /// Height, pixels.
        height: u32,
        /// How many bytes were given.
        bytes: usize,
    },
    /// The mesh or picture is too large for the device's 32-bit counters.
    #[error("{count} elements are more than one buffer can hold")]
    TooLarge {
        /// How many.
        count: usize,
    },
}
