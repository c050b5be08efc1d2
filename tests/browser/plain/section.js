// Sections by three-mesh-bvh, chained into loops.

import { BufferAttribute, BufferGeometry } from 'three';
import { MeshBVH } from 'three-mesh-bvh';

export class Cutter {
  constructor(surfaces) {
    this.meshes = surfaces.map(({ vertices, triangles }) => {
      const geometry = new BufferGeometry();
      geometry.setAttribute('position', new BufferAttribute(new Float32Array(vertices), 3));
      geometry.setIndex(new BufferAttribute(new Uint32Array(triangles), 1));
      const bvh = new MeshBVH(geometry);
      const count = vertices.length / 3;
      return { bvh, at: geometry.attributes.position.array, index: geometry.index.array, count };
    });
  }

  /** Loops of every mesh: an array of [x, y, x, y …] per mesh. */
  cut({ origin, row, column, normal }) {
    const [nx, ny, nz] = normal;
    const off = nx * origin[0] + ny * origin[1] + nz * origin[2];
    return this.meshes.map(({ bvh, at, index, count }) => {
      const next = new Map();
      const crossing = (a, b) => {
        if (a > b) [a, b] = [b, a];
        const da = nx * at[3 * a] + ny * at[3 * a + 1] + nz * at[3 * a + 2] - off;
        const db = nx * at[3 * b] + ny * at[3 * b + 1] + nz * at[3 * b + 2] - off;
        const t = da / (da - db);
        const x = at[3 * a] + (at[3 * b] - at[3 * a]) * t - origin[0];
        const y = at[3 * a + 1] + (at[3 * b + 1] - at[3 * a + 1]) * t - origin[1];
        const z = at[3 * a + 2] + (at[3 * b + 2] - at[3 * a + 2]) * t - origin[2];
        return [row[0] * x + row[1] * y + row[2] * z, column[0] * x + column[1] * y + column[2] * z];
      };
      const key = (a, b) => a < b ? a * count + b : b * count + a;
      bvh.shapecast({
        intersectsBounds: ({ min, max }) => {
          const low = nx * (nx > 0 ? min.x : max.x) + ny * (ny > 0 ? min.y : max.y) + nz * (nz > 0 ? min.z : max.z);
          const high = nx * (nx > 0 ? max.x : min.x) + ny * (ny > 0 ? max.y : min.y) + nz * (nz > 0 ? max.z : min.z);
          return low <= off && high >= off;
        },
        intersectsRange: (offset, length) => {
          for (let i = offset; i < offset + length; i += 1) {
            const a = index[3 * i], b = index[3 * i + 1], c = index[3 * i + 2];
            const sa = nx * at[3 * a] + ny * at[3 * a + 1] + nz * at[3 * a + 2] >= off;
            const sb = nx * at[3 * b] + ny * at[3 * b + 1] + nz * at[3 * b + 2] >= off;
            const sc = nx * at[3 * c] + ny * at[3 * c + 1] + nz * at[3 * c + 2] >= off;
            if (sa === sb && sb === sc) continue;
            // From the edge that goes up to the one that goes down.
            let up, down, p, q;
            if (sa !== sb) { if (sb) { up = key(a, b); p = a; q = b; } else down = key(a, b); }
            if (sb !== sc) { if (sc) { up = key(b, c); p = b; q = c; } else down = key(b, c); }
            if (sc !== sa) { if (sa) { up = key(c, a); p = c; q = a; } else down = key(c, a); }
            next.set(up, [down, p, q]);
          }
          return false;
        },
      });
      const loops = [];
      while (next.size) {
        let [at0] = next.keys();
        const loop = [];
        for (let step = next.get(at0); step; step = next.get(at0)) {
          next.delete(at0);
          const [x, y] = crossing(step[1], step[2]);
          loop.push(x, y);
          at0 = step[0];
        }
        loops.push(loop);
      }
      return loops;
    });
  }
}
