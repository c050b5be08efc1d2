// Beams of a picture and samples of a beam.

export const BEAMS = 256;
export const SAMPLES = 512;
