// The grey-scale picture in plain JavaScript: what the program is measured against.
//
// The same model as `crates/picture/src/grey`, written the way a careful author would without WebAssembly: typed arrays,
// no allocation in hot loops, integer hashes, tables made once. Sections are cut by three-mesh-bvh and chained into
// loops. What the model means and where its numbers come from is said in the Rust sources; names are the same. The
// measuring page compares both pictures, so that the two cannot drift apart unnoticed.
//
// Fibre directions come with the data, for free.

import { bend, gelOf, heading, misses } from './plain/outlines.js';
import { NOISE, NOISE_STEP, PART_POWER, alongCells, noiseOf, scatterers } from './plain/scatterers.js';
import { Cutter } from './plain/section.js';
import { BEAMS, SAMPLES } from './plain/sizes.js';
import { Weave, filled, smoothNoise, textureAlong } from './plain/textures.js';

const COARSE = 8;
const ROWS = SAMPLES / COARSE;
const OUTSIDE = 65535;
const GEL = 65533;
const BUBBLES = 65532;
const NOTHING = 1e-6;
const amplitude = db => Math.pow(10, db / 20);

// ---- boundaries -------------------------------------------------------------------------------------------------

const hit = { reflected: 0, turned: 0 };

function crossBoundary(z1, c1, z2, c2, tangent) {
  const cos1 = 1 / Math.sqrt(1 + tangent * tangent);
  const sin1 = Math.abs(tangent * cos1);
  const sin2 = sin1 * c2 / c1;
  if (sin2 >= 1) { hit.reflected = 1; hit.turned = 0; return 1; }
  const cos2 = Math.sqrt(1 - sin2 * sin2);
  const r = (z2 * cos1 - z1 * cos2) / (z2 * cos1 + z1 * cos2);
  const turned = sin2 * cos1 - cos2 * sin1;
  hit.reflected = r * r;
  hit.turned = tangent < 0 ? -turned : turned;
  return hit.reflected;
}

function lobe(tangent, smooth) {
  const q = tangent * tangent;
  const share = 0.12 + 0.88 * smooth;
  return share * Math.exp(-q / (1 + q) / (0.36 * 0.36)) + 0.10 * smooth / Math.sqrt(1 + q);
}

const REFLECTOR = 0.1;
const PATCH_MM = 4;

// ---- the picture ------------------------------------------------------------------------------------------------

/** All that lasts as long as field, settings and frame do. */
function makeScan({ field, spread, compression, frame }) {
  const { depth, sense, radius, half, width } = field;
  const step = depth / SAMPLES;
  const startX = new Float64Array(BEAMS), startY = new Float64Array(BEAMS);
  const alongX = new Float64Array(BEAMS), alongY = new Float64Array(BEAMS);
  for (let k = 0; k < BEAMS; k += 1) {
    const place = -1 + 2 * k / (BEAMS - 1);
    if (width) {
      startX[k] = place * width / 2;
      alongY[k] = sense;
    } else {
      alongX[k] = Math.sin(place * half);
      alongY[k] = Math.cos(place * half) * sense;
      startX[k] = radius * alongX[k];
      startY[k] = radius * alongY[k] - radius * sense;
    }
  }
  const pitch = (width || 2 * half) / (BEAMS - 1);
  const spacing = width ? () => pitch : d => (radius + d) * pitch;
  const scan = {
    field, spread, step, startX, startY, alongX, alongY, pitch, spacing, depth, sense, width, radius, half,
    mhz: field.mhz, slope: compression.slope, offset: new Float32Array(compression.offset),
    axial: new Float32Array(spread.axial), lineGain: new Float32Array(spread.line_gain),
    lateral: spread.lateral.map(tap => new Float32Array(tap)), reach: spread.reach,
  };
  scan.atFace = new Float32Array(SAMPLES);
  for (const [db, fade] of [[16, 7 / (1.54 / field.mhz)], [-16, 0.9 * field.mhz / 3.5]]) {
    for (let i = 0, level = amplitude(db); i < SAMPLES && level > NOTHING; i += 1, level *= amplitude(-fade * step)) {
      scan.atFace[i] += level;
    }
  }
  // Pixels: where each takes its grey from.
  const pixels = [], corners = [], weights = [];
  const middle = (BEAMS - 1) / 2;
  for (let y = 0; y < frame.height; y += 1) {
    for (let x = 0; x < frame.width; x += 1) {
      const mx = (x - frame.origin[0]) * frame.mm, my = (y - frame.origin[1]) * frame.mm * sense;
      const beam = width ? mx / (width / 2) : Math.atan2(mx, my + radius) / half;
      const d = width ? my : Math.hypot(mx, my + radius) - radius;
      const side = (1 - Math.abs(beam)) * middle * spacing(Math.max(d, 0));
      const cover = Math.min(Math.min(side, d, depth - d) / frame.mm + 0.5, 1);
      const alpha = Math.floor(cover * 255 + 0.5);
      if (cover <= 0 || alpha === 0) continue;
      const b = Math.min(Math.max((beam + 1) * middle, 0), BEAMS - 1 - 1e-9);
      const s = Math.min(Math.max(d / step - 0.5, 0), SAMPLES - 1 - 1e-9);
      const share = f => Math.min(Math.floor((f - Math.floor(f)) * 256 + 0.5), 255);
      pixels.push(y * frame.width + x);
      corners.push(Math.floor(b) * SAMPLES + Math.floor(s));
      weights.push(share(s) | share(b) << 8 | alpha << 16);
    }
  }
  scan.pixels = new Uint32Array(pixels);
  scan.corners = new Uint32Array(corners);
  scan.weights = new Uint32Array(weights);
  return scan;
}

class RunMap {
  constructor() {
    this.first = new Int32Array(BEAMS + 1);
    this.start = new Float64Array(1 << 16);
    this.slope = new Float64Array(1 << 16);
    this.label = new Uint16Array(1 << 16);
  }
}

export class PlainPicture {
  constructor(body) {
    this.body = body;
    this.cutter = new Cutter(body.surfaces);
    this.runs = new RunMap();
    this.crossings = {
      count: 0, line: new Uint16Array(1 << 17), u: new Float64Array(1 << 17), slope: new Float64Array(1 << 17),
      rank: new Uint16Array(1 << 17), turn: new Int8Array(1 << 17), order: new Uint32Array(1 << 17),
      first: new Uint32Array(BEAMS + 1),
    };
    const samples = () => new Float32Array(BEAMS * SAMPLES);
    this.re = samples();
    this.im = samples();
    this.greys = new Uint8Array(BEAMS * SAMPLES + SAMPLES + 1);
    this.left = new Float32Array(ROWS * BEAMS);
    this.passed = new Float32Array(ROWS * BEAMS);
    this.hard = new Uint8Array(ROWS * BEAMS);
    this.sums = new Float32Array(BEAMS + 2 * 42);
    const line = () => new Float32Array(SAMPLES);
    this.tissue = line();
    this.haze = line();
    this.lines = line();
    this.a = line();
    this.b = line();
    this.energy = line();
    this.energyBits = new Int32Array(this.energy.buffer);
    this.rowLeft = new Float32Array(ROWS);
    this.rowGain = new Float32Array(ROWS);
    this.padRe = new Float32Array(SAMPLES + 16);
    this.padIm = new Float32Array(SAMPLES + 16);
    this.weave = new Weave();
    this.log2 = Float32Array.from({ length: 1024 }, (_, i) => Math.log2(1 + (i + 0.5) / 1024));
    this.noise = new Int16Array(NOISE);
    for (let i = 0; i < this.noise.length; i += 1) this.noise[i] = noiseOf(i);
    this.turn = { sample: -1, x: 0, y: 0, dx: 0, dy: 0 };
    this.bounces = [];
  }

  prepare(pose) {
    return { ...pose, scan: makeScan(pose) };
  }

  /** Draws a prepared pose as RGBA words. */
  draw(pose, rgba) {
    const { scan, plane } = pose;
    const loops = this.cutter.cut(plane);
    this.scan = scan;
    this.plane = plane;
    this.paint(loops);
    this.prepareMedia(pose, loops);
    this.float();
    this.insonify();
    this.detect();
    this.convert(rgba);
  }

  // -- runs

  paint(loops) {
    const { scan, crossings, body } = this;
    crossings.count = 0;
    const layers = [];
    const rankOf = new Map();
    layers.push({ label: GEL, notInside: [] });
    for (const polygon of gelOf(scan, loops[0])) this.addLoop(polygon, 0);
    const least = 0.007 * scan.depth;
    for (let s = 0; s < loops.length; s += 1) {
      if (!loops[s].length) continue;
      rankOf.set(s, layers.length);
      const rank = layers.length;
      layers.push({ label: s, notInside: body.surfaces[s].not_inside });
      for (const loop of loops[s]) {
        if (misses(scan, loop)) continue;
        this.addLoop(least > 0.5 ? loop : bend(loop, least), rank);
      }
    }
    const keeper = new Uint8Array(layers.length);
    const rules = layers.map(({ notInside }) => notInside.map(s => rankOf.get(s)).filter(r => r !== undefined));
    for (const rule of rules) for (const rank of rule) keeper[rank] = 1;
    // Crossings in the order of beams, then of depth.
    const { first, order, line, u, slope: slopes, rank: ranks, turn } = crossings;
    first.fill(0);
    for (let i = 0; i < crossings.count; i += 1) first[line[i] + 1] += 1;
    for (let k = 0; k < BEAMS; k += 1) first[k + 1] += first[k];
    const place = first.slice();
    for (let i = 0; i < crossings.count; i += 1) order[place[line[i]]++] = i;
    const inside = new Int32Array((layers.length + 31) >> 5);
    const winding = new Int16Array(layers.length);
    const runs = this.runs;
    let n = 0;
    const top = () => {
      for (let word = inside.length - 1; word >= 0; word -= 1) {
        let left = inside[word];
        while (left !== 0) {
          const bit = 31 - Math.clz32(left);
          const rank = word * 32 + bit;
          let out = false;
          for (const other of rules[rank]) if (inside[other >> 5] >>> (other & 31) & 1) { out = true; break; }
          if (!out) return rank;
          left &= ~(1 << bit);
        }
      }
      return -1;
    };
    for (let k = 0; k < BEAMS; k += 1) {
      const from = first[k], to = first[k + 1];
      for (let i = from + 1; i < to; i += 1) {
        const e = order[i], at = u[e];
        let j = i;
        while (j > from && u[order[j - 1]] > at) { order[j] = order[j - 1]; j -= 1; }
        order[j] = e;
      }
      inside.fill(0);
      winding.fill(0);
      runs.first[k] = n;
      const lineStart = n;
      let highest = -1, shown = OUTSIDE;
      runs.start[n] = 0; runs.slope[n] = 0; runs.label[n] = OUTSIDE; n += 1;
      for (let i = from; i < to;) {
        const at = u[order[i]];
        if (at >= scan.depth) break;
        let slope = slopes[order[i]], stale = false;
        for (; i < to && u[order[i]] === at; i += 1) {
          const e = order[i], rank = ranks[e], before = winding[rank], after = before + turn[e];
          winding[rank] = after;
          if ((before === 0) !== (after === 0)) {
            inside[rank >> 5] ^= 1 << (rank & 31);
            if (rank >= highest || keeper[rank]) { stale = true; slope = slopes[e]; }
          }
        }
        if (!stale) continue;
        highest = top();
        const label = highest < 0 ? OUTSIDE : layers[highest].label;
        if (label === shown) continue;
        shown = label;
        if (at <= 0) runs.label[lineStart] = label;
        else { runs.start[n] = at; runs.slope[n] = slope; runs.label[n] = label; n += 1; }
      }
    }
    runs.first[BEAMS] = n;
  }

  addLoop(points, rank) {
    const { scan } = this;
    if (misses(scan, points)) return;
    const count = points.length / 2;
    const smooth = 0.02 * scan.depth;
    const apexY = scan.width ? -Infinity : -scan.radius * scan.sense;
    const front = y => scan.width ? true : (y - apexY) * scan.sense >= 0;
    let fx = points[2 * count - 2], fy = points[2 * count - 1];
    let fFront = front(fy), fPlace = this.place(fx, fy, fFront, 0), fHead = null;
    for (let i = 0; i < count; i += 1) {
      const tx = points[2 * i], ty = points[2 * i + 1];
      const tFront = front(ty), tPlace = this.place(tx, ty, tFront, fPlace);
      const low = Math.min(fPlace, tPlace), high = Math.max(fPlace, tPlace);
      let tHead = null;
      if (low < high || fFront !== tFront) {
        fHead ??= heading(points, (i + count - 1) % count, smooth);
        tHead = heading(points, i, smooth);
        if (fFront === tFront) {
          for (let k = low; k < high; k += 1) this.cross(k, fx, fy, tx, ty, fHead, tHead, rank);
        } else {
          for (let k = 0; k < low; k += 1) this.cross(k, fx, fy, tx, ty, fHead, tHead, rank);
          for (let k = high; k < BEAMS; k += 1) this.cross(k, fx, fy, tx, ty, fHead, tHead, rank);
        }
      }
      fx = tx; fy = ty; fFront = tFront; fPlace = tPlace; fHead = tHead;
    }
  }

  place(x, y, front, guess) {
    const { startX, startY, alongX, alongY, sense } = this.scan;
    const counted = k => (sense * ((x - startX[k]) * alongY[k] - (y - startY[k]) * alongX[k]) >= 0) === front;
    let beams = guess;
    while (beams < BEAMS && counted(beams)) beams += 1;
    while (beams > 0 && !counted(beams - 1)) beams -= 1;
    return beams;
  }

  cross(k, fx, fy, tx, ty, fHead, tHead, rank) {
    const { startX, startY, alongX, alongY, sense, depth: end, spacing } = this.scan;
    const ex = tx - fx, ey = ty - fy, ax = alongX[k], ay = alongY[k];
    const across = ax * ey - ay * ex;
    if (across === 0) return;
    const rx = fx - startX[k], ry = fy - startY[k];
    const depth = (rx * ey - ry * ex) / across;
    if (depth > end) return;
    let part = -(ax * ry - ay * rx) / across;
    if (!(part >= 0 && part <= 1)) part = 0.5;
    const hx = fHead[0] + (tHead[0] - fHead[0]) * part, hy = fHead[1] + (tHead[1] - fHead[1]) * part;
    const ahead = hx * ax + hy * ay, aside = -(ax * hy - ay * hx) * sense;
    const steep = Math.abs(aside) * 60 > Math.abs(ahead) ? ahead / aside : Math.sign(ahead * aside) * 60;
    const c = this.crossings, n = c.count;
    c.line[n] = k;
    c.u[n] = depth;
    c.slope[n] = steep * spacing(Math.min(Math.max(depth, 0), end));
    c.rank[n] = rank;
    c.turn[n] = across > 0 ? 1 : -1;
    c.count = n + 1;
  }

  // -- media

  prepareMedia({ media, fibres, bubbles, air, gel }, loops) {
    const { plane, body } = this;
    this.filled = new Array(loops.length);
    const none = [0, 0, 0];
    this.air = filled(air, OUTSIDE, plane, none);
    this.gel = filled(gel, GEL, plane, none);
    this.bubbles = filled(bubbles, BUBBLES, plane, none);
    this.weave.begin();
    // Surfaces of one tissue share their knots, unless fibres set them apart.
    const shared = new Map();
    for (let s = 0; s < loops.length; s += 1) {
      if (!loops[s].length) continue;
      const tissue = body.surfaces[s].tissue;
      const fibre = fibres[s] ?? none;
      const key = `${tissue} ${fibre}`;
      if (!shared.has(key)) shared.set(key, { shade: null });
      this.filled[s] = { ...filled(media[tissue], tissue, plane, fibre), knots: shared.get(key) };
    }
  }

  get(label) {
    if (label === OUTSIDE) return this.air;
    if (label === GEL) return this.gel;
    if (label === BUBBLES) return this.bubbles;
    return this.filled[label];
  }

  medium(first, label) {
    return first && label === OUTSIDE ? this.gel : this.get(label);
  }

  float() {
    const { scan, plane, runs } = this;
    const { origin, row, column } = plane;
    for (let k = 0; k < BEAMS; k += 1) {
      if (row[1] * scan.alongX[k] + column[1] * scan.alongY[k] < 0.4) continue;
      let before = OUTSIDE;
      for (let i = runs.first[k]; i < runs.first[k + 1]; i += 1) {
        const label = runs.label[i], start = runs.start[i];
        if (this.get(label).gassy && !this.get(before).gassy && start > 0) {
          const x = scan.startX[k] + start * scan.alongX[k], y = scan.startY[k] + start * scan.alongY[k];
          const px = origin[0] + x * row[0] + y * column[0];
          const py = origin[1] + x * row[1] + y * column[1];
          const pz = origin[2] + x * row[2] + y * column[2];
          if (smoothNoise(px / 11, py / 11, pz / 11) + 0.4 * smoothNoise(px / 1.7, py / 1.7, pz / 1.7) > 0.75) {
            runs.label[i] = BUBBLES;
          }
        }
        before = label;
      }
    }
  }

  // -- transmission

  measure() {
    const { scan, left, passed, hard, sums } = this;
    left.fill(1, 0, BEAMS);
    passed.fill(1);
    hard.fill(0);
    for (let k = 0; k < BEAMS; k += 1) this.walk(k);
    for (let row = 1; row < ROWS; row += 1) {
      const spacing = Math.max(scan.spacing(scan.step * row * COARSE), 1e-3);
      const half = Math.min(0.022 * scan.depth / spacing / 2, 40);
      const whole = Math.floor(half), part = half - whole, reach = whole + 1;
      const above = (row - 1) * BEAMS, below = row * BEAMS;
      for (let k = 0; k < BEAMS; k += 1) sums[reach + k] = left[above + k] * passed[above + k];
      for (let k = 0; k < reach; k += 1) {
        sums[k] = sums[reach];
        sums[reach + BEAMS + k] = sums[reach + BEAMS - 1];
      }
      const share = 1 / (1 + 2 * half);
      let sum = 0;
      for (let k = 1; k < 2 * whole + 2; k += 1) sum += sums[k];
      for (let k = 0; k < BEAMS; k += 1) {
        const spread = (sum + part * (sums[k] + sums[k + 2 * reach])) * share;
        left[below + k] = hard[below + k] ? sums[k + reach] : spread > 0 ? spread : 0;
        if (k + 1 < BEAMS) sum += sums[k + 2 * whole + 2] - sums[k + 1];
      }
    }
  }

  walk(k) {
    const { scan, runs, passed, hard } = this;
    const rowMm = scan.step * COARSE;
    const from0 = runs.first[k], to0 = runs.first[k + 1];
    let log2 = 0, row = 0, before = null, isHard = false;
    for (let i = from0; i < to0; i += 1) {
      const label = runs.label[i], start = runs.start[i];
      const here = this.medium(i === from0, label);
      if (before && before.number !== here.number && start > 0) {
        let tangent = runs.slope[i] / Math.max(scan.spacing(start), 1e-3);
        tangent = Math.min(Math.max(tangent, -8), 8);
        isHard = crossBoundary(before.z, before.c, here.z, here.c, 0) > REFLECTOR;
        const reflected = crossBoundary(before.z, before.c, here.z, here.c, tangent);
        log2 += Math.log2(1 - Math.max(reflected, here.front) + 1e-12);
        if (!isHard) log2 -= (hit.turned / 0.122) ** 2;
      }
      before = here;
      const end = i + 1 < to0 ? runs.start[i + 1] : scan.depth;
      const loss = here.loss * (Math.LOG2E * Math.LN10 / 20);
      let from = Math.max(start, 0);
      while (row < ROWS) {
        const rowEnd = rowMm * (row + 1);
        if (end < rowEnd) { log2 -= loss * Math.max(end - from, 0); break; }
        log2 -= loss * (rowEnd - from);
        from = rowEnd;
        passed[row * BEAMS + k] = Math.pow(2, log2);
        log2 = 0;
        row += 1;
        if (row < ROWS) hard[row * BEAMS + k] = isHard || label === OUTSIDE && i > from0 ? 1 : 0;
      }
    }
    while (row < ROWS) { passed[row * BEAMS + k] = Math.pow(2, log2); log2 = 0; row += 1; }
  }

  // -- echoes

  sampleAt(depth) {
    const place = Math.ceil(depth / this.scan.step - 0.5);
    return place < 0 ? 0 : place > SAMPLES ? SAMPLES : place;
  }

  line(depth, height) {
    const place = depth / this.scan.step - 0.5;
    if (place < 0) return;
    const i = Math.floor(place), part = place - i;
    if (i + 1 >= SAMPLES) return;
    const gained = height * this.scan.lineGain[i];
    this.lines[i] += gained * (1 - part);
    this.lines[i + 1] += gained * part;
  }

  stroke(depth, height, reach) {
    const { step } = this.scan;
    const pieces = Math.min(reach / step, 32);
    if (pieces < 2) { this.line(depth, height); return; }
    const each = height / Math.sqrt(pieces);
    for (let at = depth - (pieces - 1) / 2 * step; at < depth + pieces / 2 * step; at += step) this.line(at, each);
  }

  addHaze(depth, level) {
    const { scan, haze } = this;
    const fade = amplitude(-1.5 * scan.mhz * 0.1 * scan.step);
    level *= 0.55;
    for (let i = this.sampleAt(depth); i < SAMPLES; i += 1, level *= fade) haze[i] += level;
  }

  echoAlong(here, cosine) {
    const off = cosine * cosine / (here.fibre_half * here.fibre_half);
    return here.fibre_drop === 0 ? here.echo : here.echo * amplitude(-here.fibre_drop * off / (1 + off));
  }

  send(k) {
    const { scan, runs, tissue, haze, lines, rowLeft, rowGain, bounces, turn, plane } = this;
    tissue.fill(0);
    haze.set(scan.atFace);
    lines.fill(0);
    turn.sample = -1;
    this.end = 0;
    bounces.length = 0;
    const from0 = runs.first[k], to0 = runs.first[k + 1];
    const firstEnd = from0 + 1 < to0 ? runs.start[from0 + 1] : scan.depth;
    if (runs.label[from0] === OUTSIDE && firstEnd > 1.5) {
      const apart = 2.5 * 1.54 / scan.mhz;
      for (let n = 1; n <= 16; n += 1) this.line(n * apart, amplitude(32 - 4 * n));
      return;
    }
    for (let row = 0; row < ROWS; row += 1) rowLeft[row] = this.left[row * BEAMS + k];
    for (let row = 0; row < ROWS - 1; row += 1) {
      const gain = rowLeft[row + 1] / (rowLeft[row] * this.passed[row * BEAMS + k] + 1e-20);
      rowGain[row] = gain < 3 ? gain : 3;
    }
    rowGain[ROWS - 1] = 1;
    const mirror = amplitude(48);
    const rowMm = scan.step * COARSE;
    let before = null, within = 1, row = 0;
    for (let i = from0; i < to0; i += 1) {
      const start = runs.start[i], end = i + 1 < to0 ? runs.start[i + 1] : scan.depth;
      const here = this.medium(i === from0, runs.label[i]);
      if (before && before.number !== here.number && start > 0) {
        const tangent = runs.slope[i] / Math.max(scan.spacing(start), 1e-3);
        const straight = crossBoundary(before.z, before.c, here.z, here.c, 0);
        const held = straight > REFLECTOR ? tangent : Math.min(Math.max(tangent, -1), 1);
        const share = Math.max(crossBoundary(before.z, before.c, here.z, here.c, held), here.front);
        const x = scan.startX[k] + start * scan.alongX[k], y = scan.startY[k] + start * scan.alongY[k];
        const { origin, row: r, column: c } = plane;
        const uneven = Math.pow(2, 2 * (smoothNoise(
          (origin[0] + x * r[0] + y * c[0]) / PATCH_MM,
          (origin[1] + x * r[1] + y * c[1]) / PATCH_MM,
          (origin[2] + x * r[2] + y * c[2]) / PATCH_MM,
        ) - 0.5));
        const back = Math.sqrt(share) * lobe(tangent, Math.max(before.smooth, here.smooth)) * uneven;
        const whole = row < ROWS ? rowLeft[row] : 0;
        const level = whole * within;
        const echo = level * back * mirror;
        within *= 1 - share;
        this.stroke(start, echo, Math.abs(runs.slope[i]));
        bounces.push({
          depth: start, echo, back: straight > REFLECTOR && here.finish === 0 ? back * 0.08 : Math.min(back, 1),
          before: level, after: whole * within,
        });
        if (here.finish === 1) { this.mirror(k, start, tangent, level * share); break; }
        if (here.finish === 2) this.addHaze(start, level * Math.sqrt(share));
      }
      before = here;
      let from = Math.max(start, 0);
      const first = this.sampleAt(from);
      let along = here.fibre[0] * scan.alongX[k] + here.fibre[1] * scan.alongY[k];
      if (here.sheet) {
        along = runs.slope[i] / Math.max(scan.spacing(start), 1e-3);
        along /= Math.sqrt(1 + along * along);
      }
      const echo = this.echoAlong(here, along);
      const fade = amplitude(-here.loss * scan.step);
      let loudest = 0;
      while (row < ROWS) {
        const rowEnd = rowMm * (row + 1);
        const to = end < rowEnd ? end : rowEnd;
        const level = rowLeft[row] * within;
        if (level > loudest) loudest = level;
        if (level > NOTHING) {
          const a = this.sampleAt(from), b = this.sampleAt(to);
          if (a < b) {
            const rise = (rowGain[row] - 1) / COARSE;
            let l = level * echo * amplitude(-here.loss * ((a + 0.5) * scan.step - from));
            for (let j = a; j < b; j += 1, l *= fade) tissue[j] = l * (1 + rise * (j - row * COARSE + 0.5));
          }
        }
        if (end < rowEnd) { within *= amplitude(-here.loss * Math.max(to - from, 0)); break; }
        within = 1;
        row += 1;
        from = rowEnd;
      }
      if (loudest > NOTHING) {
        this.end = this.sampleAt(end);
        if (!here.even && first < this.end) this.weave.apply(here, scan, k, tissue, first, this.end);
      }
    }
    this.ghosts();
  }

  ghosts() {
    const { scan } = this;
    const bounces = this.bounces.filter(b => b.back > 0.012).slice(0, 10);
    const face = { depth: 0, echo: 0, back: 0.25, before: 1, after: 1 };
    for (let i = 0; i < bounces.length; i += 1) {
      const far = bounces[i];
      for (let j = 0; j <= i; j += 1) {
        const near = j === 0 ? face : bounces[j - 1];
        const apart = far.depth - near.depth;
        const again = near.back * far.back * Math.min(far.before / Math.max(near.after, NOTHING), 1);
        let depth = far.depth + apart, height = far.echo * again;
        while (height > 0.004 && depth < scan.depth && apart > 0.1) {
          this.line(depth, height);
          depth += apart;
          height *= again;
        }
      }
    }
  }

  mirror(k, depth, tangent, level) {
    const { scan, tissue, turn, runs } = this;
    const ax = scan.alongX[k], ay = scan.alongY[k], down = scan.sense;
    const rx = ay * down, ry = -ax * down;
    const long = Math.sqrt(1 + tangent * tangent);
    const fx = (rx + tangent * ax) / long, fy = (ry + tangent * ay) / long;
    const twice = 2 * (fx * ax + fy * ay);
    const dx = twice * fx - ax, dy = twice * fy - ay;
    const sx = scan.startX[k] + depth * ax, sy = scan.startY[k] + depth * ay;
    const first = this.sampleAt(depth);
    if (first >= SAMPLES) return;
    const way = i => (i + 0.5) * scan.step - depth;
    turn.sample = first;
    turn.x = sx + way(first) * dx;
    turn.y = sy + way(first) * dy;
    turn.dx = dx;
    turn.dy = dy;
    this.addHaze(depth, level * 0.5);
    const phase = 4 * Math.PI * 0.02 * scan.mhz / 1.54;
    level *= 0.9 * Math.exp(-phase * phase);
    const middle = (BEAMS - 1) / 2;
    for (let from = first; from < SAMPLES; from += 4) {
      const to = Math.min(from + 4, SAMPLES);
      const x = sx + way(from) * dx, y = sy + way(from) * dy, up = y * scan.sense;
      const beam = scan.width ? middle + x / scan.pitch : middle + Math.atan2(x, up + scan.radius) / scan.pitch;
      const d = scan.width ? up : Math.hypot(x, up + scan.radius) - scan.radius;
      if (d <= 0 || level < NOTHING) break;
      const line = Math.floor(Math.min(Math.max(beam, 0), BEAMS - 1) + 0.5);
      let low = runs.first[line], high = runs.first[line + 1];
      while (low + 1 < high) {
        const mid = (low + high) >> 1;
        if (runs.start[mid] <= d) low = mid; else high = mid;
      }
      const label = d > scan.depth ? OUTSIDE : runs.label[low];
      const here = this.get(label);
      if (label === OUTSIDE || here.finish !== 0) { level *= 0.5; continue; }
      this.end = to;
      const fade = amplitude(-here.loss * scan.step);
      for (let i = from; i < to; i += 1, level *= fade) tissue[i] = level * here.echo;
      if (!here.even) textureAlong(here, scan.step, x, y, dx * scan.step, dy * scan.step, tissue, from, to);
    }
  }

  insonify() {
    const { scan, tissue, haze, lines, a, b, padRe, padIm, noise, turn } = this;
    const cells = scatterers(this.plane, scan.spread.cell_mm);
    const unit = 1 / Math.sqrt(2 * PART_POWER);
    const noiseUnit = 1 / Math.sqrt(2 * 65536 * 65536 / 12);
    const noiseLevel = Math.pow(10, -95 / 20);
    const { axial } = scan;
    this.measure();
    for (let k = 0; k < BEAMS; k += 1) {
      this.send(k);
      const end = this.end, split = turn.sample < 0 ? end : Math.min(turn.sample, end);
      const ax = scan.alongX[k], ay = scan.alongY[k], d = 0.5 * scan.step;
      alongCells(
        cells, scan.startX[k] + d * ax, scan.startY[k] + d * ay, ax * scan.step, ay * scan.step, a, b, 0, split,
      );
      if (turn.sample >= 0) {
        alongCells(cells, turn.x, turn.y, turn.dx * scan.step, turn.dy * scan.step, a, b, split, end);
      }
      const own = k * SAMPLES;
      const noiseRe = k * NOISE_STEP % (NOISE - SAMPLES), noiseIm = (k + BEAMS) * NOISE_STEP % (NOISE - SAMPLES);
      for (let i = 0; i < SAMPLES; i += 1) {
        const stray = (haze[i] + noiseLevel) * noiseUnit;
        padRe[i + 8] = stray * noise[noiseRe + i] + lines[i];
        padIm[i + 8] = stray * noise[noiseIm + i];
      }
      for (let i = 0; i < end; i += 1) {
        const level = tissue[i] * unit;
        padRe[i + 8] += level * a[i];
        padIm[i + 8] += level * b[i];
      }
      smear(axial, padRe, this.re, own);
      smear(axial, padIm, this.im, own);
    }
  }

  detect() {
    const { scan, re, im, energy, energyBits, greys, log2 } = this;
    const { lateral, reach, slope, offset } = scan;
    const block = SAMPLES / reach.length;
    for (let k = 0; k < BEAMS; k += 1) {
      for (let n = 0; n < reach.length; n += 1) {
        const taps = reach[n];
        for (let i = n * block; i < (n + 1) * block; i += 1) {
          const here = k * SAMPLES + i;
          let w = lateral[0][i], x = w * re[here], y = w * im[here];
          for (let tap = 1; tap <= taps; tap += 1) {
            const l = (k < tap ? 0 : k - tap) * SAMPLES + i;
            const r = (k + tap >= BEAMS ? BEAMS - 1 : k + tap) * SAMPLES + i;
            w = lateral[tap][i];
            x += w * (re[l] + re[r]);
            y += w * (im[l] + im[r]);
          }
          energy[i] = x * x + y * y + 1e-24;
        }
      }
      for (let i = 0; i < SAMPLES; i += 1) {
        const bits = energyBits[i];
        const value = slope * ((bits >> 23) - 127 + log2[bits >> 13 & 1023]) + offset[i];
        greys[k * SAMPLES + i] = value < 0 ? 0 : value > 255 ? 255 : value + 0.5;
      }
    }
    greys.copyWithin(BEAMS * SAMPLES, (BEAMS - 1) * SAMPLES, BEAMS * SAMPLES);
  }

  convert(rgba) {
    const { pixels, corners, weights } = this.scan;
    const { greys } = this;
    rgba.fill(0);
    for (let i = 0; i < pixels.length; i += 1) {
      const c = corners[i], w = weights[i], along = w & 255, across = w >>> 8 & 255;
      const a = greys[c] * (256 - along) + greys[c + 1] * along;
      const b = greys[c + SAMPLES] * (256 - along) + greys[c + SAMPLES + 1] * along;
      const grey = (a * (256 - across) + b * across + 0x8000) >>> 16;
      rgba[pixels[i]] = grey * 0x010101 | (w >>> 16) << 24;
    }
  }
}

function smear(axial, line, out, at) {
  const taps = axial.length - 1;
  for (let i = 0; i < SAMPLES; i += 1) {
    let sum = axial[0] * line[i + 8];
    for (let tap = 1; tap <= taps; tap += 1) sum += axial[tap] * (line[i + 8 - tap] + line[i + 8 + tap]);
    out[at + i] = sum;
  }
}
