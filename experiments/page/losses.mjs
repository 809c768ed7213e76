/**
 * What a hitter's shots cost at every place, at nodes of a grid of contacts, and what follows from it:
 * places by the table of nodes, and the best reply. `strategies.recovery.place_losses` and
 * `strategies.shots.best_reply`, the same kernels on the same numbers.
 */
import { Appraiser } from "./appraise.mjs";
import { PATH_COLUMNS } from "./memory.mjs";
import { legsOf, runningTimes } from "./scene.mjs";

/** @typedef {import("./memory.mjs").Placed} Placed */
/** @typedef {import("./scene.mjs").Scene} Scene */

const HALF = 0.5;

/**
 * Losses at one node, (places of `fine_x_m`, shots): every direction in every style, each struck
 * `strokes` times. Kept, as they depend on the players, the world and the depth alone; hands over
 * after each shot.
 * @param {Scene} scene @param {number} node @param {number[]} styles @param {number} strokes
 * @returns {Generator<undefined, Placed>}
 */
export function* lossesAt(scene, node, styles, strokes) {
  const { memory } = scene;
  const key = keyOf(scene, node, styles, strokes);
  if (!memory.kept.has(key)) {
    const mark = memory.mark();
    memory.keep(key, yield* workOut(scene, node, styles, strokes));
    memory.release(mark);
  }
  return /** @type {Placed} */ (memory.recall(key));
}

/** @param {Scene} scene @param {number} node @param {number[]} styles @param {number} strokes */
function keyOf(scene, node, styles, strokes) {
  const { memory } = scene;
  const world = memory.kernels.content(scene.world.address, memory.layoutOf(scene.world).size);
  const who = [scene.me, scene.them, JSON.stringify([scene.changedLegs, scene.changedStrokes]), scene.depth_m];
  return `losses ${[who, styles, strokes, node, Array.from(world)].join(" ")}`;
}

/** @param {Scene} scene @param {number} node @param {number[]} styles @param {number} strokes @returns {Generator<undefined, Placed>} */
function* workOut(scene, node, styles, strokes) {
  const { memory, n } = scene;
  const { losses } = memory.state;
  const { deviates, errors } = evenDraws(scene, strokes);
  // The hitter's racket is in the right hand; against a left-handed one all is mirrored.
  const me = scene.hand > 0 ? scene.me : memory.state.players[scene.me].mirrored;
  const legs = legsOf(memory, me, scene.changedLegs);
  const times = runningTimes(memory, me, legs);
  const at = memory.one(memory.pooled(losses.nodes, "CONTACT"), node);
  const contacts = memory.copies(at, strokes);
  const places = memory.pooledNumbers(losses.place_x_m);
  const fine = memory.pooledNumbers(losses.fine_x_m);
  const count = places.shape[0];
  const x = { ...places, shape: [1, count] };
  const y = memory.numbers(new Float64Array(count).fill(-scene.line_m), 1, count);
  const intents = memory.records("INTENT", strokes);
  const struck = [memory.records("BALL", strokes), memory.room(strokes, n.PATH_POINTS, PATH_COLUMNS)];
  const appraiser = new Appraiser(memory, strokes, count);
  const cost = memory.room(count);
  const column = memory.room(fine.shape[0]);
  const shots = styles.length * n.DIRECTIONS;
  const out = memory.room(fine.shape[0], shots);
  for (let shot = 0; shot < shots; shot++) {
    const aim = memory.pooled(styles[Math.floor(shot / n.DIRECTIONS)], "AIM");
    const directions = memory.integers(strokes, () => shot % n.DIRECTIONS);
    memory.call("strategies.aim:aim_all", contacts, directions, deviates, 1, aim, scene.ability, intents);
    memory.call("sim.stroke:strike_all", contacts, intents, errors, scene.ability, ...scene.flight, false, ...struck);
    const { spare } = appraiser.appraise(struck[0], struck[1], x, y, legs, times);
    const control = memory.get(legs, "control_time_s");
    memory.call("strategies.recovery.weighing:lose", struck[0], spare, control, cost);
    memory.call("sim.over_arrays:fill_interpolated", fine, places, cost, column);
    const [values, whole] = [memory.floats(column), memory.floats(out)];
    for (let i = 0; i < values.length; i++) whole[i * shots + shot] = values[i];
    yield;
  }
  return out;
}

/** Normal deviates (strokes, 4) of the aim and uniform numbers (strokes, 3) of the errors, evenly spread.
 * @param {Scene} scene @param {number} strokes */
function evenDraws({ memory, n }, strokes) {
  const columns = n.DEVIATE_DRAWS + n.ERROR_DRAWS;
  const drawn = memory.room(strokes, columns);
  memory.call("strategies.even_draws:fill_even", memory.numbers(Array(columns).fill(HALF)), drawn);
  const part = (/** @type {number} */ from, /** @type {number} */ width) => {
    const out = memory.room(strokes, width);
    const [all, some] = [memory.floats(drawn), memory.floats(out)];
    for (let i = 0; i < strokes; i++) for (let k = 0; k < width; k++) some[i * width + k] = all[i * columns + from + k];
    return out;
  };
  const uniform = part(0, n.DEVIATE_DRAWS);
  const deviates = memory.room(strokes, n.DEVIATE_DRAWS);
  const flat = [strokes * n.DEVIATE_DRAWS];
  memory.call("sim.chance:fill_normals", { ...uniform, shape: flat }, { ...deviates, shape: flat });
  return { deviates, errors: part(n.DEVIATE_DRAWS, n.ERROR_DRAWS) };
}

/**
 * The spot by a table of nodes, where likely and worst shots are weighed against each other. Works
 * out one node after another, and hands over in between.
 * @param {Scene} scene @param {number} worstShare @returns {Generator<undefined, [number, number]>}
 */
export function* spotByLosses(scene, worstShare) {
  const { memory, n } = scene;
  const { losses, belief } = memory.state;
  const start = memory.mark();
  const found = memory.numbers(new Float64Array(n.NODES).fill(NaN), 1, n.NODES, 1);
  const needed = memory.room(1, n.NODES);
  const qualities = memory.numbers([1]);
  const table = [scene.faced, scene.hand, qualities, found];
  memory.call("strategies.recovery.weighing:mark_missing", ...table, needed);
  const marked = memory.counts(needed);
  for (let node = 0; node < n.NODES; node++) {
    if (marked[node] === 0) continue;
    const mark = memory.mark();
    const cost = yield* lossesAt(scene, node, losses.styles, n.STROKES);
    const at = memory.one(memory.pooled(losses.nodes, "CONTACT"), node);
    const strokes = memory.pooled(belief[1], "STROKE_SEEN");
    const room = [memory.room(strokes.shape[0]), memory.room(2, n.DIRECTIONS)];
    const shares = memory.room(1, n.DIRECTIONS);
    memory.call("sim.belief:fill_beliefs", at, 1, memory.pooled(belief[0], "BELIEF"), strokes, ...room, shares);
    const fine = memory.pooledNumbers(losses.fine_x_m);
    const [place] = memory.call(
      "strategies.recovery.weighing:choose_place",
      ...[cost, { ...shares, shape: [n.DIRECTIONS] }, worstShare, fine, memory.room(fine.shape[0])],
    );
    memory.floats(found)[node] = place;
    memory.release(mark);
  }
  const out = memory.room(1, 2);
  memory.call("strategies.recovery.weighing:stand_by_table", ...table, scene.line_m, memory.room(2, 1), out);
  const [x, y] = memory.floats(out);
  memory.release(start);
  return [x, y];
}

/**
 * What decides for a hitter who plays what pays best against receivers at rest `across`, in the
 * hitter's frame: fills INTENT records. All balls of a scene are struck from one place, so one choice
 * serves all.
 * @param {Scene} scene @returns {Generator<undefined, (contacts: Placed, across: number, out: Placed) => void>}
 */
export function* bestReply(scene) {
  const { memory, n, hitter, hand } = scene;
  const corners = yield* cornersOf(scene);
  return (contacts, across, out) => {
    const mark = memory.mark();
    const earned = earnedAt(scene, corners, -hand * across);
    const choice = earned.indexOf(Math.max(...earned));
    const aim = memory.pooled(hitter.styles[Math.floor(choice / n.DIRECTIONS)], "AIM");
    const count = contacts.shape[0];
    const directions = memory.integers(count, () => choice % n.DIRECTIONS);
    const still = memory.room(count, n.DEVIATE_DRAWS);
    memory.call("strategies.aim:aim_all", contacts, directions, still, hand, aim, scene.ability, out);
    memory.release(mark);
  };
}

/** The losses at the four nodes around the contact, each with its weight.
 * @param {Scene} scene @returns {Generator<undefined, {weight: number, loss: Float64Array}[]>} */
function* cornersOf(scene) {
  const { memory, n, hitter, hand } = scene;
  const { node_x_m: across, node_y_m: along } = memory.state.losses;
  const [nodeX, nodeY] = [across, along].map((number) => listed(scene, number));
  const [i, wide] = cellOf(hand * scene.x_m, nodeX);
  const [j, deep] = cellOf(scene.y_m, nodeY);
  const wing = scene.wing === n.FOREHAND ? 0 : 1;
  const corners = [];
  for (const [di, dj] of [[0, 0], [0, 1], [1, 0], [1, 1]]) {
    const mark = memory.mark();
    const node = (wing * nodeX.length + i + di) * nodeY.length + j + dj;
    const weight = (di ? wide : 1 - wide) * (dj ? deep : 1 - deep);
    const placed = yield* lossesAt(scene, node, hitter.styles, n.REPLY_STROKES);
    corners.push({ weight, loss: memory.floats(placed).slice() });
    memory.release(mark);
  }
  return corners;
}

/** What each shot earns against a receiver `across` in the mirrored frame: straight between nodes.
 * @param {Scene} scene @param {{weight: number, loss: Float64Array}[]} corners @param {number} across @returns {number[]} */
function earnedAt(scene, corners, across) {
  const fineX = listed(scene, scene.memory.state.losses.fine_x_m);
  const inside = Math.min(Math.max(across, fineX[0]), fineX[fineX.length - 1]);
  const [place, beyond] = cellOf(inside, fineX);
  const shots = scene.hitter.styles.length * scene.n.DIRECTIONS;
  const out = Array(shots).fill(0);
  for (const { weight, loss } of corners) {
    for (let k = 0; k < shots; k++) {
      const found = loss[place * shots + k] * (1 - beyond) + loss[(place + 1) * shots + k] * beyond;
      out[k] += weight * found;
    }
  }
  return out;
}

/** The numbers of a number in the pool. @param {Scene} scene @param {number} number @returns {number[]} */
function listed({ memory }, number) {
  const mark = memory.mark();
  const found = Array.from(memory.floats(memory.pooledNumbers(number)));
  memory.release(mark);
  return found;
}

/** The node below a value and the share of the way to the next, kept inside the grid.
 * @param {number} value @param {number[]} nodes @returns {[number, number]} */
function cellOf(value, nodes) {
  const place = Math.min(Math.max((value - nodes[0]) / (nodes[1] - nodes[0]), 0), nodes.length - 1);
  const index = Math.min(Math.trunc(place), nodes.length - 2);
  return [index, place - index];
}
