// Pose to grey-scale pixels on a canvas, in animation frames: the program and the same model in plain JavaScript, by
// turns, in one page. Returns what is to be printed.

import { PlainPicture } from './plain_picture.js';
import { ANSWERS, run } from './wasi.js';

const SIDE = 512;
/** Drawings of each pose by each of the two, after one that makes tables and warms caches. */
const ROUNDS = 4;
/** The two pictures may differ by so many greys of 255 on average: single and double precision, the same model. */
const MOST_APART = 1.5;
/** And any one of them by so many: a whole structure, a shadow or a frame that is missing makes more. */
const MOST_APART_ANYWHERE = 6;

export async function measure(program, files, every) {
  let asked, onAnswer, next;
  const questions = new Promise(resolve => { next = resolve; });
  let queue = { promise: questions, resolve: next };
  const ended = run(program, ['bench', '/' + ANSWERS], files, {
    ask: async () => {
      asked?.();
      const question = await queue.promise;
      queue = {};
      queue.promise = new Promise(resolve => { queue.resolve = resolve; });
      return new TextEncoder().encode(question);
    },
    answer: buffer => onAnswer(buffer),
  });
  ended.catch(() => {});
  /** Asks without waiting for anything but the program; `take` gets the memory with the answer. */
  const ask = (question, take) => new Promise((resolve, reject) => {
    onAnswer = take;
    asked = () => { asked = null; resolve(); };
    ended.catch(reject);
    queue.resolve(question + '\n');
  });
  await new Promise(resolve => { asked = () => { asked = null; resolve(); }; });
  const asJson = async question => {
    const parts = [];
    await ask(question, buffer => parts.push(buffer.slice()));
    return JSON.parse(await new Blob(parts).text());
  };

  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = SIDE;
  document.body.append(canvas);
  const context = canvas.getContext('2d');
  const frame = () => new Promise(resolve => { requestAnimationFrame(() => resolve()); });

  const body = await asJson('body');
  const plain = new PlainPicture(body);
  const plainImage = new ImageData(SIDE, SIDE);
  const plainWords = new Uint32Array(plainImage.data.buffer);
  const own = { all: [], best: [] }, peer = { all: [], best: [] }, pressed = { all: [], best: [] };
  const moving = { all: [], best: [] };
  const ownCut = [], peerCut = [], ratios = [];
  let apart = 0, compared = 0, worst = 0, worstName = '';
  for (let number = 0; number < body.windows.length; number += every) {
    const window = await asJson(`window ${number}`);
    const prepared = plain.prepare(window.scan);
    const bestOwn = [], bestPeer = [], bestPressed = [], bestMoving = [];
    let pixels;
    for (let round = 0; round <= ROUNDS; round += 1) {
      for (const [i, pose] of window.poses.entries()) {
        const drawn = async how => {
          await frame();
          const start = performance.now();
          await ask(`${how} ${number} ${pose.lean}`, buffer => {
            const view = new Uint8ClampedArray(buffer.buffer, buffer.byteOffset, buffer.length);
            context.putImageData(new ImageData(view, SIDE, SIDE), 0, 0);
          });
          return performance.now() - start;
        };
        const movingTime = await drawn('move');
        const pressedTime = await drawn('press');
        const ownTime = await drawn('draw');
        if (round === 0) pixels = context.getImageData(0, 0, SIDE, SIDE).data;
        await frame();
        const start = performance.now();
        plain.draw({ ...prepared, plane: pose.plane, fibres: pose.fibres }, plainWords);
        context.putImageData(plainImage, 0, 0);
        const peerTime = performance.now() - start;
        if (round === 0) {
          const off = difference(pixels, plainImage.data);
          apart += off;
          compared += 1;
          if (off > worst) { worst = off; worstName = `${body.windows[number]} ${pose.lean}`; }
          continue;
        }
        ratios.push(peerTime / ownTime);
        own.all.push(ownTime);
        peer.all.push(peerTime);
        pressed.all.push(pressedTime);
        moving.all.push(movingTime);
        bestPressed[i] = Math.min(bestPressed[i] ?? Infinity, pressedTime);
        bestMoving[i] = Math.min(bestMoving[i] ?? Infinity, movingTime);
        bestOwn[i] = Math.min(bestOwn[i] ?? Infinity, ownTime);
        bestPeer[i] = Math.min(bestPeer[i] ?? Infinity, peerTime);
      }
    }
    own.best.push(...bestOwn);
    peer.best.push(...bestPeer);
    pressed.best.push(...bestPressed);
    moving.best.push(...bestMoving);
    for (const pose of window.poses) {
      await ask(`cut ${number} ${pose.lean}`, () => {});
      let start = performance.now();
      await ask(`cut ${number} ${pose.lean}`, () => {});
      ownCut.push((performance.now() - start) / body.cuts);
      start = performance.now();
      for (let i = 0; i < 4; i += 1) plain.cutter.cut(pose.plane);
      peerCut.push((performance.now() - start) / 4);
    }
  }
  if (!(apart / compared < MOST_APART && worst < MOST_APART_ANYWHERE)) {
    throw new Error(`the pictures are ${apart / compared} greys apart, ${worst} in ${worstName}: not the same model`);
  }
  const line = (name, all, best) => JSON.stringify({
    name, median_us: quantile(all, 0.5), p99_us: quantile(all, 0.99), ...(best && { best_us: quantile(best, 0.5) }),
  });
  const about = `frames of adult_female, ${compared} poses; program and plain JavaScript ${(apart / compared).toFixed(2)}`
    + ` greys apart on average, ${worst.toFixed(2)} in ${worstName}; plain JavaScript over program, frame by frame:`
    + ` median ${(quantile(ratios, 0.5) / 1000).toFixed(2)}`;
  return [
    JSON.stringify({ about }),
    line('frame: pose to canvas', own.all, own.best),
    line('frame: plain JavaScript', peer.all, peer.best),
    line('frame: body gives way to face', pressed.all, pressed.best),
    line('frame: the same while it moves', moving.all, moving.best),
    line('section of a body', ownCut),
    line('section by three-mesh-bvh', peerCut),
  ].join('\n') + '\n';
}

/** Mean difference of grey where both pictures show something. */
function difference(a, b) {
  let sum = 0, count = 0;
  for (let i = 0; i < a.length; i += 4) {
    if (a[i + 3] !== 255 || b[i + 3] !== 255) continue;
    sum += Math.abs(a[i] - b[i]);
    count += 1;
  }
  return count ? sum / count : 255;
}

/** In microseconds. */
function quantile(times, share) {
  const sorted = times.toSorted((a, b) => a - b);
  return 1000 * sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
}
