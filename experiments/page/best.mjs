/** Which places are tried, and the best of them: `experiments.balls.best` and `.places`. */

/** @typedef {import("./memory.mjs").Memory} Memory */
/** @typedef {{x_m: number, low_m: number, high_m: number, top_x_m: number, share: number}} Best */

/** The lateral places of the whole line, ascending. @param {any} n @param {boolean} coarse @returns {number[]} */
export function lineX(n, coarse) {
  const step = coarse ? n.COARSE_STEP_X_M : n.STEP_X_M;
  const half = Math.round(n.FARTHEST_X_M / step);
  return Array.from({ length: 2 * half + 1 }, (_, i) => step * (i - half));
}

/** The places about a best one among which it is judged, ascending. @param {any} n @param {number} x */
export function aroundX(n, x) {
  const steps = ascending(n.AROUND.flatMap((/** @type {number} */ k) => [-k, k]));
  return steps.map((k) => x + n.FINEST_X_M * k).filter((each) => Math.abs(each) <= n.FARTHEST_X_M);
}

/** The values without repeats, ascending; no -0. @param {number[]} values @returns {number[]} */
export function ascending(values) {
  return [...new Set(values.map((v) => v + 0))].sort((a, b) => a - b);
}

/** Which place of a curve keeps most; of equal ones that nearest to their middle.
 * @param {number[]} x @param {number[]} kept @returns {number} */
export function topOf(x, kept) {
  const most = Math.max(...kept);
  const tied = x.map((_, i) => i).filter((i) => kept[i] === most);
  const middle = 0.5 * (x[tied[0]] + x[tied[tied.length - 1]]);
  return tied.reduce((best, i) => (Math.abs(x[i] - middle) < Math.abs(x[best] - middle) ? i : best));
}

/** The best place of a curve at ascending places, and its plateau.
 * @param {any} n @param {number[]} x @param {number[]} kept @param {number} k the top @returns {Best} */
export function bestOf(n, x, kept, k = topOf(x, kept)) {
  const limit = kept[k] - n.PLATEAU;
  const back = x.slice(0, k + 1).reverse().map((v) => -v);
  const left = -firstBelow(back, kept.slice(0, k + 1).reverse(), limit);
  const right = firstBelow(x.slice(k), kept.slice(k), limit);
  const low = Math.max(left, x[0]);
  const high = Math.min(right, x[x.length - 1]);
  return { x_m: 0.5 * (low + high), low_m: low, high_m: high, top_x_m: x[k], share: kept[k] };
}

/** @param {number[]} x @param {number[]} kept @param {number} limit */
function firstBelow(x, kept, limit) {
  const k = kept.findIndex((value) => value < limit);
  if (k < 0) return Infinity;
  const share = (kept[k - 1] - limit) / (kept[k - 1] - kept[k]);
  return x[k - 1] + share * (x[k] - x[k - 1]);
}

/** The best of the places near it, and its plateau with the help of a curve from other balls.
 * @param {Memory} memory @param {number[]} x @param {number[]} kept @param {number[]} nearX @param {number[]} nearKept @returns {Best} */
export function joinedBest(memory, x, kept, nearX, nearKept) {
  const near = withoutRepeats(nearX, nearKept);
  const k = topOf(near.x, near.kept);
  const most = near.kept[k];
  const here = curveAt(memory, near.x[k], x, kept);
  const moved = kept.map((value) => Math.min(value + most - here, most));
  const other = x.map((value, i) => /** @type {[number, number]} */ ([value, moved[i]]));
  const all = other.filter(([value]) => !near.x.includes(value));
  all.push(...near.x.map((value, i) => /** @type {[number, number]} */ ([value, near.kept[i]])));
  all.sort(([a], [b]) => a - b);
  const places = all.map(([value]) => value);
  return bestOf(memory.n, places, all.map(([, value]) => value), places.indexOf(near.x[k]));
}

/** Places ascending, each once, with what the first of equal ones keeps.
 * @param {number[]} x @param {number[]} kept */
export function withoutRepeats(x, kept) {
  const places = ascending(x);
  return { x: places, kept: places.map((place) => kept[x.indexOf(place)]) };
}

/** @param {Memory} memory @param {number} x @param {number[]} at @param {number[]} values @returns {number} */
function curveAt(memory, x, at, values) {
  const mark = memory.mark();
  const out = memory.room(1);
  memory.call("sim.over_arrays:fill_interpolated", memory.numbers([x]), memory.numbers(at), memory.numbers(values), out);
  const found = memory.floats(out)[0];
  memory.release(mark);
  return found;
}
