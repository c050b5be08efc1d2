//! The sizes a host would send, and the compressed copies beside the files.

use anyhow::Result;
use std::io::Write as _;

/// Compresses as a host with gzip at its highest level does.
///
/// The header carries no time and no name, so that equal input gives equal bytes.
///
/// # Errors
///
/// Does not fail in memory; the error comes from the writer's interface.
pub(crate) fn gzip(bytes: &[u8]) -> Result<Vec<u8>> {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    encoder.write_all(bytes)?;
    Ok(encoder.finish()?)
}

/// Compresses as a host with precompressed brotli files does (quality 11, window 2^22).
///
/// # Errors
///
/// Does not fail in memory; the error comes from the writer's interface.
pub(crate) fn brotli(bytes: &[u8]) -> Result<Vec<u8>> {
    let mut out = Vec::new();
    let params = brotli::enc::BrotliEncoderParams {
        quality: 11,
        lgwin: 22,
        size_hint: bytes.len(),
        ..Default::default()
    };
    brotli::BrotliCompress(&mut &*bytes, &mut out, &params)?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read as _;

    #[test]
    fn check_both_come_back() {
        let text = b"the plane of the picture ".repeat(400);
        let (gz, br) = (gzip(&text).unwrap(), brotli(&text).unwrap());
        assert!(gz.len() < text.len() / 10, "gzip shrinks a repeated text");
        assert!(br.len() < gz.len(), "brotli shrinks it further");
        let mut back = Vec::new();
        flate2::read::GzDecoder::new(&*gz)
            .read_to_end(&mut back)
            .unwrap();
        assert_eq!(back, text, "gzip loses nothing");
        back.clear();
        brotli::Decompressor::new(&*br, 4096)
            .read_to_end(&mut back)
            .unwrap();
        assert_eq!(back, text, "brotli loses nothing");
    }
}
