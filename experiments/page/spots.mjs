/** Where the policies of the catalogue stand, and the angle that some of them look at. */
import { appraisalRoom } from "./appraise.mjs";
import { spotByLosses } from "./losses.mjs";
import { PATH_COLUMNS } from "./memory.mjs";

/** @typedef {import("./memory.mjs").Placed} Placed */
/** @typedef {import("./scene.mjs").Scene} Scene */

const BOTH = 2; // the left and the right extreme drive

/** The two extreme drives of the opponent, EXTREME records (1, 2): by the limits of the angle.
 * @param {Scene} scene @param {boolean} fastest @returns {Placed} */
export function extremesOf(scene, fastest) {
  const { memory } = scene;
  const out = { ...memory.records("EXTREME", BOTH), shape: [1, BOTH] };
  const limits = memory.pooled(memory.state.limits, "LIMITS");
  memory.call("sim.envelope:fill_extremes", scene.faced, limits, fastest, scene.ability, ...scene.flight, out);
  return out;
}

/** Where the bisector of a pair of extreme paths meets the waiting line. @param {Scene} scene @param {Placed} extremes */
export function bisectorX(scene, extremes) {
  const { memory } = scene;
  const mark = memory.mark();
  const out = memory.room(1);
  const values = [[scene.x_m], [scene.y_m]].map((value) => memory.numbers(value));
  memory.call("sim.envelope:fill_bisector", ...values, extremes, memory.numbers([scene.line_m]), out);
  const x = memory.floats(out)[0];
  memory.release(mark);
  return x;
}

/**
 * The spot (x, y) of a policy of `state.policies`. Hands over in between where it takes long.
 * @param {Scene} scene @param {any} policy @param {Placed} extremes @returns {Generator<undefined, [number, number]>}
 */
export function* spotOf(scene, policy, extremes) {
  if (policy.rule === "losses") return yield* spotByLosses(scene, policy.worst_share);
  const { memory } = scene;
  const mark = memory.mark();
  const out = memory.room(1, 2);
  stand(scene, policy, extremes, out);
  const [x, y] = memory.floats(out);
  memory.release(mark);
  return [x, y];
}

/** @param {Scene} scene @param {any} policy @param {Placed} extremes @param {Placed} out */
function stand(scene, policy, extremes, out) {
  const { memory, faced, line_m: line } = scene;
  const from = "strategies.recovery";
  const beside = policy.beside_m?.[scene.me];
  if (policy.rule === "middle") memory.call(`${from}.middle:stand_in_the_middle`, beside, line, out);
  else if (policy.rule === "bisector") memory.call(`${from}.bisector:stand_halfway`, faced, extremes, beside, line, out);
  else if (policy.rule === "shade") memory.call(`${from}.linear_shade:shade`, faced, policy.shade_m_per_m, beside, line, out);
  else if (policy.rule === "biased") standBiased(scene, policy, extremes, out);
  else standInBalance(scene, policy, extremes, out);
}

/** @param {Scene} scene @param {any} policy @param {Placed} extremes @param {Placed} out */
function standBiased(scene, policy, extremes, out) {
  const { memory, n } = scene;
  const [belief, seen] = memory.state.belief;
  const strokes = memory.pooled(seen, "STROKE_SEEN");
  const bias = memory.pooledNumbers(policy.bias[scene.me], 1);
  const room = [memory.records("CONTACT"), memory.room(strokes.shape[0]), memory.room(3, n.DIRECTIONS)];
  memory.call(
    "strategies.recovery.biased:stand_biased",
    ...[scene.faced, extremes, scene.line_m, bias, scene.hand, memory.pooled(belief, "BELIEF"), strokes, ...room, out],
  );
}

/** @param {Scene} scene @param {any} policy @param {Placed} extremes @param {Placed} out */
function standInBalance(scene, policy, extremes, out) {
  const { memory, n } = scene;
  const drives = policy.fastest ? extremesOf(scene, true) : extremes;
  const roomFor = (/** @type {number} */ places) => [
    memory.room(1, places),
    memory.room(1, places),
    ...appraisalRoom(memory, places),
    memory.room(BOTH, places),
    memory.room(BOTH, places),
  ];
  const balls = [memory.records("BALL", BOTH), memory.room(BOTH, n.PATH_POINTS, PATH_COLUMNS)];
  const rooms = [...roomFor(n.PLACES), ...roomFor(n.FINE_PLACES)];
  memory.call(
    "strategies.recovery.time_balanced:stand_in_balance",
    ...[scene.faced, extremes, drives, scene.line_m, scene.legs, scene.times, ...scene.flight, ...balls, ...rooms, out],
  );
}
