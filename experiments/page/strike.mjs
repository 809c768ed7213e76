/**
 * Strike the opponent's balls of a scene, and appraise them from places: `sim.exchange.strike_balls`
 * and `sim.meeting.appraisals`, the same kernels in the same order.
 */

/** @typedef {import("./memory.mjs").Placed} Placed */
/** @typedef {import("./scene.mjs").Scene} Scene */
/** @typedef {(contacts: Placed, receivers: Placed, chance: Placed, out: Placed, across: number) => void} Decider */
import { Appraiser } from "./appraise.mjs";
import { beliefFromChart } from "./charted.mjs";
import { bestReply } from "./losses.mjs";
import { PATH_COLUMNS } from "./memory.mjs";

export const SLICE = 200; // balls at once: few enough that a newer question is not kept waiting

/**
 * What strikes balls of a scene, `SLICE` at a time, and appraises them from up to `places` places.
 * Hands over where a hitter needs long to decide.
 * @param {Scene} scene @param {number} places @returns {Generator<undefined, Striker>}
 */
export function* strikerOf(scene, places) {
  return new Striker(scene, places, yield* deciderOf(scene));
}

export class Striker {
  /** @param {Scene} scene @param {number} places @param {Decider} decide */
  constructor(scene, places, decide) {
    const count = SLICE;
    const { memory, n } = scene;
    this.scene = scene;
    this.contacts = memory.copies(scene.contact, count);
    this.receivers = memory.records("BODY", count);
    this.turned = memory.records("BODY", count);
    this.chance = memory.room(count, Math.max(scene.hitter.draws, 1));
    this.errors = memory.room(count, n.ERROR_DRAWS + 1);
    this.late = memory.room(count);
    this.intents = memory.records("INTENT", count);
    this.balls = memory.records("BALL", count);
    this.paths = memory.room(count, n.PATH_POINTS, PATH_COLUMNS);
    this.decide = decide;
    this.appraiser = new Appraiser(scene.memory, count, places);
  }

  /**
   * Strike balls `first` to `first + count` at a receiver at rest at (x, y), into `balls` and
   * `paths`; those that do not land in have no path.
   * @param {number} first @param {number} count @param {number} x @param {number} y
   */
  strike(first, count, x, y) {
    const { scene, balls, paths } = this;
    const { memory, n } = scene;
    const head = (/** @type {Placed} */ placed) => memory.first(placed, count);
    const mark = memory.mark();
    const replicates = memory.integers(count, (i) => first + i);
    const firsts = memory.integers(count, () => 0);
    memory.fill(this.receivers, "x_m", x);
    memory.fill(this.receivers, "y_m", y);
    memory.call("sim.handover:turn_bodies", head(this.receivers), head(this.turned));
    const chance = { ...this.chance, shape: [count, scene.hitter.draws] };
    const draw = (/** @type {number} */ purpose, /** @type {Placed} */ out) =>
      memory.call("sim.chance:fill_uniforms", scene.seed, replicates, BigInt(purpose), firsts, out);
    draw(n.SHOT, chance);
    draw(n.EXECUTION, head(this.errors));
    const columns = n.ERROR_DRAWS + 1;
    const errors = memory.floats(this.errors);
    const late = memory.floats(this.late);
    for (let i = 0; i < count; i++) late[i] = errors[i * columns + n.ERROR_DRAWS];
    const contacts = head(this.contacts);
    const intents = head(this.intents);
    this.decide(contacts, head(this.turned), chance, intents, -x);
    memory.call("sim.can_play:settle_all", contacts, head(this.late), scene.ability, intents);
    const struck = [head(balls), head(paths)];
    memory.call(
      "sim.stroke:strike_all",
      ...[contacts, intents, head(this.errors), scene.ability, ...scene.flight, false, ...struck],
    );
    memory.release(mark);
  }

  /** Time to spare and grade of the balls just struck, from places at (x, y).
   * @param {number} count @param {Placed} x @param {Placed} y shape (1, places) each */
  appraise(count, x, y) {
    const { memory, legs, times } = this.scene;
    const struck = /** @type {[Placed, Placed]} */ ([memory.first(this.balls, count), memory.first(this.paths, count)]);
    return this.appraiser.appraise(...struck, x, y, legs, times);
  }
}

/**
 * What fills the INTENT records of a scene's hitter, from contacts, turned receivers and uniform
 * numbers; `across` is where the receivers stand, in the hitter's frame.
 * @param {Scene} scene @returns {Generator<undefined, Decider>}
 */
function* deciderOf(scene) {
  const { memory, hitter, hand, ability } = scene;
  if (hitter.rule === "any") {
    const allowed = memory.pooledNumbers(hitter.allowed, 1);
    return (contacts, _receivers, chance, out) =>
      memory.call("strategies.shots.any_allowed:intend_any", contacts, chance, allowed, hand, ability, ...scene.flight, out);
  }
  if (hitter.rule === "script") {
    const shots = memory.pooledNumbers(hitter.shots, memory.pool[hitter.shots].length / 32, 4);
    return (_contacts, _receivers, chance, out) =>
      memory.call("strategies.shots.script:intend_script", chance, shots, out);
  }
  if (hitter.rule === "reply") {
    const reply = yield* bestReply(scene);
    return (contacts, _receivers, _chance, out, across) => reply(contacts, across, out);
  }
  const [belief, seen] = sharesOf(scene);
  const who = [
    memory.pooledNumbers(hitter.habit_against[scene.me], 1),
    belief,
    seen,
    hand,
    memory.pooled(hitter.aims, "AIM"),
    ability,
    scene.choices,
    scene.legs,
    scene.times,
    memory.records("CONTACT"),
    memory.room(seen.shape[0]),
    memory.room(memory.n.ROOM_ROWS, memory.n.DIRECTIONS),
  ];
  return (contacts, receivers, chance, out) =>
    memory.call("strategies.shots.choosing:intend_all", contacts, receivers, chance, scene.line_m, ...who, out);
}

/** What is believed of the hitter's directions: a BELIEF record and the strokes that it rests on.
 * @param {Scene} scene @returns {[Placed, Placed]} */
export function sharesOf(scene) {
  const { memory, hitter, chart, them } = scene;
  if (hitter.blank !== undefined && chart !== null) return beliefFromChart(scene, chart);
  const [belief, strokes] = hitter.shares_of[them];
  return [memory.pooled(belief, "BELIEF"), memory.pooled(strokes, "STROKE_SEEN")];
}
