// Media with their textures, and the random function that draws these.

import { BEAMS, SAMPLES } from './sizes.js';

const UNEVEN = 0, SEPTA = 1, FIBRES = 2, VESSELS = 3;
const SHARE = [0.6, 0.1, 0.13, 0.06];

/** Distance of places between which a texture may go straight, mm. */
export const finest = texture => SHARE[texture.kind] * texture.size;

/** The same in samples. */
export function strideOf(texture, step) {
  const fine = finest(texture) / step;
  return fine < 8 ? 4 : fine < 16 ? 8 : 16;
}

/** Acoustic values of a tissue, handed over ready for one frequency. */
export function filled(medium, number, plane, fibre) {
  const TURNED = [[0.6, 0.64, 0.48], [-0.8, 0.48, 0.36], [0, -0.6, 0.8]];
  const texture = medium.texture;
  const scale = 1 / texture.size;
  const known = fibre[0] ** 2 + fibre[1] ** 2 + fibre[2] ** 2 > 0.5 ? 1 : 0;
  const keep = texture.kind === FIBRES ? known * (1 - 1 / texture.stretch) : 1 - texture.stretch;
  const along = texture.kind === FIBRES ? fibre : [0, 1, 0];
  const rows = TURNED.map(row => {
    const part = row[0] * along[0] + row[1] * along[1] + row[2] * along[2];
    return row.map((x, k) => scale * (x - keep * part * along[k]));
  });
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  return {
    ...medium,
    number,
    fibre: [dot(plane.row, fibre), dot(plane.column, fibre)],
    grain: [plane.origin, plane.row, plane.column].map(v => rows.map(row => dot(row, v))),
    even: texture.shift === 0 && texture.septum === 0,
  };
}

function corner(x, y, z) {
  let h = x ^ y ^ z;
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d);
  return (h >>> 9) * (1 / 8388608);
}

export function smoothNoise(x, y, z) {
  const fx = Math.floor(x), fy = Math.floor(y), fz = Math.floor(z);
  let px = x - fx, py = y - fy, pz = z - fz;
  px *= px * (3 - 2 * px);
  py *= py * (3 - 2 * py);
  pz *= pz * (3 - 2 * pz);
  // The bits of 1.5 · 2^23 plus the cell: what the Rust model hashes.
  const x0 = Math.imul(fx + 0x4b400000, 0x9e3779b1), x1 = (x0 + 0x9e3779b1) | 0;
  const y0 = Math.imul(fy + 0x4b400000, 0x85ebca77), y1 = (y0 + 0x85ebca77) | 0;
  const z0 = Math.imul(fz + 0x4b400000, 0xc2b2ae3d), z1 = (z0 + 0xc2b2ae3d) | 0;
  let a = corner(x0, y0, z0), b = corner(x0, y1, z0), c = corner(x0, y0, z1), d = corner(x0, y1, z1);
  a += (corner(x1, y0, z0) - a) * px;
  b += (corner(x1, y1, z0) - b) * px;
  c += (corner(x1, y0, z1) - c) * px;
  d += (corner(x1, y1, z1) - d) * px;
  a += (b - a) * py;
  c += (d - c) * py;
  return a + (c - a) * pz;
}

export function textureDb(t, x, y, z) {
  const v = smoothNoise(x, y, z) - 0.5;
  if (t.kind === UNEVEN) return t.shift * v;
  if (t.kind === SEPTA) {
    const w = smoothNoise(x * 2.3 + 17.3, y * 2.3 + 17.3, z * 2.3 + 17.3) - 0.5;
    const both = v + 0.35 * w;
    const off = both * t.thin;
    return t.shift * both + t.septum * (1 / (1 + off * off) - 0.28);
  }
  if (t.kind === FIBRES) {
    const w = smoothNoise(x * 1.4 + 29.1, y * 1.4 + 29.1, z * 1.4 + 29.1);
    const off = v * t.thin;
    let seen = (w - 0.4) * 4;
    if (seen < 0) seen = 0;
    if (seen > 1) seen = 1;
    return t.shift * v + t.septum * (seen / (1 + off * off) - 0.17);
  }
  const w = smoothNoise(x + 41.7, y + 41.7, z + 41.7) - 0.5;
  const a = v * t.thin, b = w * t.thin, q = a * a + b * b;
  const lumen = 1 / (1 + 8 * q * q * q);
  const sheath = 1 / (1 + 0.35 * q * q);
  return t.shift * v + t.septum * sheath + (-11 - t.septum) * lumen;
}

const factorAt = (t, x, y, z) => Math.exp(textureDb(t, x, y, z) * (Math.LN10 / 20));

/** Multiplies samples along a straight way by the texture there; places and ways in image mm. */
export function textureAlong(here, step, sx, sy, dx, dy, tissue, first, end) {
  const [o, gx, gy] = here.grain;
  const t = here.texture;
  const stride = strideOf(t, step);
  const x = o[0] + sx * gx[0] + sy * gy[0], y = o[1] + sx * gx[1] + sy * gy[1], z = o[2] + sx * gx[2] + sy * gy[2];
  const px = (dx * gx[0] + dy * gy[0]) * stride;
  const py = (dx * gx[1] + dy * gy[1]) * stride;
  const pz = (dx * gx[2] + dy * gy[2]) * stride;
  let low = factorAt(t, x, y, z);
  for (let n = 1, at = first; at < end; n += 1) {
    const high = factorAt(t, x + n * px, y + n * py, z + n * pz);
    const rise = (high - low) / stride;
    for (const stop = Math.min(at + stride, end); at < stop; at += 1, low += rise) tissue[at] *= low;
    low = high;
  }
}

/** Textures along beams, at knots that neighbours share; straight in between. */
export class Weave {
  constructor() {
    this.shades = [];
    this.count = 0;
  }

  begin() {
    this.count = 0;
  }

  /** A place for the knots of one texture. */
  shade(texture, scan) {
    const stride = strideOf(texture, scan.step);
    const beams = 2 * finest(texture) / scan.spacing(scan.depth / 2) < 4 ? 2 : 4;
    const row = () => ({ beam: -1, known: new Uint8Array(SAMPLES / 4 + 2), factors: new Float32Array(SAMPLES / 4 + 2) });
    this.shades[this.count] ??= { stride, beams, rows: [row(), row()] };
    const shade = this.shades[this.count];
    this.count += 1;
    shade.stride = stride;
    shade.beams = beams;
    shade.rows[0].beam = shade.rows[1].beam = -1;
    return shade;
  }

  apply(here, scan, k, tissue, first, end) {
    here.knots.shade ??= this.shade(here.texture, scan);
    const { shade } = here.knots;
    const { stride } = shade;
    const from = Math.floor(first / stride), to = Math.floor((end - 1) / stride) + 1;
    const number = Math.floor(k / shade.beams);
    const lowBeam = Math.min(number * shade.beams, BEAMS - 1);
    const highBeam = Math.min((number + 1) * shade.beams, BEAMS - 1);
    const low = know(shade, here, scan, number, lowBeam, from, to);
    const share = lowBeam === k ? 0 : (k - lowBeam) / (highBeam - lowBeam);
    const high = share === 0 ? low : know(shade, here, scan, number + 1, highBeam, from, to);
    let now = low[from] + (high[from] - low[from]) * share;
    for (let n = from, at = first; n < to; n += 1) {
      const next = low[n + 1] + (high[n + 1] - low[n + 1]) * share;
      const rise = (next - now) / stride;
      let factor = now + rise * (at - n * stride);
      for (const stop = Math.min((n + 1) * stride, end); at < stop; at += 1, factor += rise) tissue[at] *= factor;
      now = next;
    }
  }
}

function know(shade, here, scan, number, beam, from, to) {
  const row = shade.rows[number % 2];
  const { known, factors } = row;
  if (row.beam !== beam) {
    row.beam = beam;
    known.fill(0);
  }
  const [o, gx, gy] = here.grain;
  for (let n = from; n <= to; n += 1) {
    if (known[n]) continue;
    known[n] = 1;
    const d = (n * shade.stride + 0.5) * scan.step;
    const sx = scan.startX[beam] + d * scan.alongX[beam], sy = scan.startY[beam] + d * scan.alongY[beam];
    factors[n] = factorAt(
      here.texture,
      o[0] + sx * gx[0] + sy * gy[0], o[1] + sx * gx[1] + sy * gy[1], o[2] + sx * gx[2] + sy * gy[2],
    );
  }
  return factors;
}
