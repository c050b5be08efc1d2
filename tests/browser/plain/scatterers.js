// A random number for every little cell of the body, and electronic noise.

const SETS = [
  [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [1, -1, 0], [1, 0, 1], [1, 0, -1],
  [0, 1, 1], [0, 1, -1], [1, 1, 1], [1, 1, -1], [1, -1, 1], [1, -1, -1],
];
const ASKEW = [0.3771, 0.5839, 0.7189];
const COLUMN = 8;
const FRACTION = 14;
export const PART_POWER = 2 * (256 * 256 - 1) / 12;

const dot3 = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross3 = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const unit3 = a => { const n = Math.hypot(...a); return a.map(x => x / n); };

export function scatterers(plane, cell) {
  let best = [1, 0, 0], most = 0;
  for (const set of SETS.map(unit3)) {
    const fit = Math.abs(dot3(set, plane.normal));
    if (fit > most) { best = set; most = fit; }
  }
  const first = unit3(cross3(best, ASKEW)), second = cross3(best, first);
  const axes = [first.map(x => x / cell), second.map(x => x / cell), best.map(x => x / (cell * COLUMN))];
  return [plane.origin, plane.row, plane.column].map(v => axes.map(axis => dot3(axis, v)));
}

export function alongCells([origin, row, column], sx, sy, dx, dy, re, im, from, to) {
  const scale = 1 << FRACTION;
  let ax = Math.round((origin[0] + sx * row[0] + sy * column[0]) * scale);
  let ay = Math.round((origin[1] + sx * row[1] + sy * column[1]) * scale);
  let az = Math.round((origin[2] + sx * row[2] + sy * column[2]) * scale);
  const bx = Math.round((dx * row[0] + dy * column[0]) * scale);
  const by = Math.round((dx * row[1] + dy * column[1]) * scale);
  const bz = Math.round((dx * row[2] + dy * column[2]) * scale);
  for (let i = from; i < to; i += 1) {
    let h = ax >> FRACTION;
    h = (h + (h << 10)) | 0;
    h ^= h >>> 6;
    h = (h + (ay >> FRACTION)) | 0;
    h = (h + (h << 10)) | 0;
    h ^= h >>> 6;
    h = (h + (h << 10)) | 0;
    h ^= h >>> 6;
    h = (h + (h << 3)) | 0;
    h ^= h >>> 11;
    h = (h + (h << 15)) | 0;
    const cell = ((az + (h & 0x3fff)) | 0) >> FRACTION;
    h = (h + Math.imul(cell, 0x9e3779b9)) | 0;
    h ^= h >>> 15;
    h = (h + (h << 10)) | 0;
    h ^= h >>> 6;
    h = (h + (h << 3)) | 0;
    h ^= h >>> 11;
    h = (h + (h << 15)) | 0;
    re[i] = (h & 0xff) + (h >>> 16 & 0xff) - 255;
    im[i] = (h >>> 8 & 0xff) + (h >>> 24) - 255;
    ax = (ax + bx) | 0;
    ay = (ay + by) | 0;
    az = (az + bz) | 0;
  }
}

/** Numbers of electronic noise, and how far into them a beam begins after the one before. */
export const NOISE = 32768;
export const NOISE_STEP = 809;

export function noiseOf(i) {
  let h = i;
  h = (h + (h << 10)) | 0;
  h ^= h >>> 6;
  h = (h + 0) | 0;
  h = (h + (h << 10)) | 0;
  h ^= h >>> 6;
  h = (h + 0x5eed) | 0;
  h = (h + (h << 10)) | 0;
  h ^= h >>> 6;
  h = (h + (h << 3)) | 0;
  h ^= h >>> 11;
  h = (h + (h << 15)) | 0;
  return h << 16 >> 16;
}
