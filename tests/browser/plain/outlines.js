// Outlines in an image plane: clear of the field or not, their direction, bent round again, and the gel before them.

import { BEAMS } from './sizes.js';

/** Whether a loop is clear of the box of the beams. */
export function misses(scan, points) {
  let x0 = Infinity, x1 = -Infinity, y0 = Infinity, y1 = -Infinity;
  for (let i = 0; i < points.length; i += 2) {
    const x = points[i], y = points[i + 1];
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
  }
  if (!scan.box) {
    scan.box = [Infinity, -Infinity, Infinity, -Infinity];
    for (const k of [0, BEAMS / 2, BEAMS - 1]) {
      for (const d of [0, scan.depth]) {
        const x = scan.startX[k] + d * scan.alongX[k], y = scan.startY[k] + d * scan.alongY[k];
        scan.box = [
          Math.min(scan.box[0], x), Math.max(scan.box[1], x), Math.min(scan.box[2], y), Math.max(scan.box[3], y),
        ];
      }
    }
  }
  const [l, r, t, b] = scan.box;
  return x0 > r + 0.1 || x1 < l - 0.1 || y0 > b + 0.1 || y1 < t - 0.1;
}

export function heading(points, i, smooth) {
  const count = points.length / 2;
  const most = Math.min(Math.max(Math.floor(count / 10), 1), 8);
  const x = points[2 * i], y = points[2 * i + 1];
  const far = sign => {
    let at = ((i + sign) % count + count) % count;
    for (let n = 2; n <= most; n += 1) {
      const gx = points[2 * at] - x, gy = points[2 * at + 1] - y;
      if (gx * gx + gy * gy > smooth * smooth) break;
      at = ((i + sign * n) % count + count) % count;
    }
    return at;
  };
  const a = far(1), b = far(-1);
  return [points[2 * a] - points[2 * b], points[2 * a + 1] - points[2 * b + 1]];
}

export function bend(points, least) {
  return refine(refine(dropStraight(points, 0.45 * least), least), least);
}

function dropStraight(points, least) {
  const count = points.length / 2, out = [];
  let dropped = 0;
  for (let i = 0; i < count; i += 1) {
    const x = points[2 * i], y = points[2 * i + 1];
    if (out.length && dropped < 3 && i + 1 < count) {
      const kx = out[out.length - 2], ky = out[out.length - 1];
      const cx = points[2 * i + 2] - kx, cy = points[2 * i + 3] - ky;
      const off = cx * (y - ky) - cy * (x - kx);
      if (off * off < least * least * (cx * cx + cy * cy)) { dropped += 1; continue; }
    }
    dropped = 0;
    out.push(x, y);
  }
  return out.length < 10 ? points : out;
}

function refine(points, least) {
  const count = points.length / 2;
  if (count < 5) return points;
  const out = [];
  const x = i => points[2 * ((i + count) % count)], y = i => points[2 * ((i + count) % count) + 1];
  const smooth = i => {
    const ax = x(i) - x(i - 1), ay = y(i) - y(i - 1), bx = x(i + 1) - x(i), by = y(i + 1) - y(i);
    const along = ax * bx + ay * by;
    return along > 0 && along * along > 0.25 * (ax * ax + ay * ay) * (bx * bx + by * by);
  };
  let bendsHere = smooth(-1);
  for (let i = 0; i < count; i += 1) {
    const bendsAt = smooth(i);
    const ex = x(i) - x(i - 1), ey = y(i) - y(i - 1);
    if (bendsHere && bendsAt && ex * ex + ey * ey > least * least) {
      out.push(
        (9 * (x(i - 1) + x(i)) - x(i - 2) - x(i + 1)) / 16,
        (9 * (y(i - 1) + y(i)) - y(i - 2) - y(i + 1)) / 16,
      );
    }
    out.push(x(i), y(i));
    bendsHere = bendsAt;
  }
  return out;
}

/** Polygons of gel between face and skin. */
export function gelOf(scan, skin) {
  const LINES = 128, REACH = 16, OVERLAP = 0.5;
  // Not beyond the point where the beams meet.
  const behind = scan.width ? OVERLAP : Math.min(scan.radius, OVERLAP);
  const { width, radius, half, sense } = scan;
  const image = (beam, depth) => {
    if (width) return [beam * width / 2, depth * sense];
    const reach = radius + depth;
    return [reach * Math.sin(beam * half), (reach * Math.cos(beam * half) - radius) * sense];
  };
  const beamPoint = (x, y) => width
    ? [x / (width / 2), y * sense]
    : [Math.atan2(x, y * sense + radius) / half, Math.hypot(x, y * sense + radius) - radius];
  const area = loop => {
    let sum = 0;
    for (let i = 0, j = loop.length - 2; i < loop.length; j = i, i += 2) sum += loop[j] * loop[i + 1] - loop[i] * loop[j + 1];
    return sum / 2;
  };
  let most = 0;
  for (const loop of skin) { const a = area(loop); if (Math.abs(a) > Math.abs(most)) most = a; }
  const turn = Math.sign(most);
  const gap = new Float64Array(LINES + 1).fill(NaN);
  for (const loop of skin) {
    let fx = loop[loop.length - 2], fy = loop[loop.length - 1];
    for (let i = 0; i < loop.length; i += 2) {
      const tx = loop[i], ty = loop[i + 1];
      if (fy * sense <= REACH + OVERLAP || ty * sense <= REACH + OVERLAP) {
        const [aBeam, aDepth] = beamPoint(fx, fy), [bBeam, bDepth] = beamPoint(tx, ty);
        const far = REACH + OVERLAP;
        if (!(aDepth > far && bDepth > far || aBeam > 1 && bBeam > 1 || aBeam < -1 && bBeam < -1)) {
          for (let n = 0; n <= LINES; n += 1) {
            const here = -1 + 2 * n / LINES;
            if ((aBeam < here) === (bBeam < here)) continue;
            const [sx, sy] = image(here, 0), [hx, hy] = image(here, 1);
            const dx = hx - sx, dy = hy - sy, ex = tx - fx, ey = ty - fy;
            const cross = dx * ey - dy * ex;
            if (cross === 0) continue;
            const at = ((fx - sx) * ey - (fy - sy) * ex) / cross;
            const known = Number.isNaN(gap[n]) ? Infinity : Math.abs(gap[n]);
            if (at >= 0 && at < known) gap[n] = cross * turn < 0 ? at : -at;
          }
        }
      }
      fx = tx;
      fy = ty;
    }
  }
  const polygons = [];
  for (let n = 0; n <= LINES;) {
    if (!(gap[n] > 0 && gap[n] <= REACH)) { n += 1; continue; }
    let end = n;
    while (end <= LINES && gap[end] > 0 && gap[end] <= REACH) end += 1;
    const polygon = [];
    for (let i = n; i < end; i += 1) polygon.push(...image(-1 + 2 * i / LINES, -behind));
    for (let i = end - 1; i >= n; i -= 1) polygon.push(...image(-1 + 2 * i / LINES, gap[i] + OVERLAP));
    polygons.push(polygon);
    n = end;
  }
  return polygons;
}
