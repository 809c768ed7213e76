/**
 * Balls met by a player who waits at rest at a place, as whole points have it: with starts before the
 * strike, and where each ball is played. The setting *placed* of studies (`sim.exchange.meet_balls`),
 * and what a moving picture shows.
 */
import { flightOf } from "./angle.mjs";
import { appraisalRoom } from "./appraise.mjs";
import { complement, quantile, scaled, shareOf } from "./intervals.mjs";
import { PATH_COLUMNS } from "./memory.mjs";
import { Scene } from "./scene.mjs";
import { SLICE, strikerOf } from "./strike.mjs";
import { byHalves, inOrder } from "./sums.mjs";

/** @typedef {import("./memory.mjs").Memory} Memory */
/** @typedef {import("./memory.mjs").Placed} Placed */
/** @typedef {import("./intervals.mjs").Estimate} Estimate */

const RECEIVE_DRAWS = 3;
const SHOWN = ["grade", "time_s", "ball_x_m", "ball_y_m", "ball_z_m", "body_x_m", "body_y_m", "time_to_spare_s"];

/**
 * @typedef {Object} MetBall what a moving picture shows of one ball
 * @property {boolean} landed_in
 * @property {number} grade as `numbers.MISSED`, STRETCHED, SET; time and places of one that is missed
 *   are those of the nearest meeting
 * @property {import("./angle.mjs").Point[]} path from strike to second bounce; empty if not in
 * @property {Record<string, number>} meeting SHOWN fields of the MEETING record; none if not in
 */

/**
 * Meet balls from a place; yields undefined between slices, and at last what came of them.
 * @param {Memory} memory @param {import("./scene.mjs").Asked} asked @param {[number, number]} place
 * @param {number} first number of the first ball @param {number} shown how many balls are told one by one
 * @returns {Generator<any, void>}
 */
export function* metAnswers(memory, asked, place, first = 0, shown = 0) {
  const start = memory.mark();
  try {
    const scene = new Scene(memory, asked);
    const receiver = new Receiver(scene, place, yield* strikerOf(scene, 1));
    /** @type {MetBall[]} */
    const told = [];
    const sums = { balls: 0, missed: 0, set: 0 };
    /** @type {number[][]} */
    const spare = [];
    for (let at = 0; at < scene.balls; ) {
      const block = scene.n.PLACED_BLOCK;
      const count = Math.min(SLICE, scene.balls - at, block - (at % block));
      receiver.meet(first + at, count);
      const seconds = (spare[Math.floor(at / block)] ??= []);
      for (let i = 0; i < count; i++) {
        if (told.length < shown) told.push(receiver.told(i));
        const grade = receiver.landed(i) ? receiver.meeting("grade", i) : null;
        sums.balls += Number(grade !== null);
        sums.missed += Number(grade === scene.n.MISSED);
        sums.set += Number(grade === scene.n.SET);
        seconds.push(grade === null ? 0 : Math.max(receiver.meeting("time_to_spare_s", i), -scene.n.SETTLED_OFF_S));
      }
      at += count;
      yield;
    }
    const missed = shareOfReplicates(memory, scene.balls, sums.balls, "missed", sums.missed);
    const blocks = spare.map((values) => inOrder(values, values.length));
    yield {
      balls: sums.balls,
      missed_per_100: scaled(missed, 100),
      share_in_time: complement(missed),
      set_per_100: scaled(shareOfReplicates(memory, scene.balls, sums.balls, "set", sums.set), 100),
      time_to_spare_s: inOrder(blocks, blocks.length) / sums.balls,
      shown: told,
      done: true,
    };
  } finally {
    memory.release(start);
  }
}

/**
 * The share of balls that something holds of, with its interval: `statistics.estimates.share` of a
 * tally in which a replicate faces one ball or none.
 * @param {Memory} memory @param {number} replicates @param {number} balls @param {string} column @param {number} hits
 * @returns {Estimate}
 */
function shareOfReplicates(memory, replicates, balls, column, hits) {
  const { COLUMNS, ROUNDING } = memory.n;
  const value = hits / balls;
  const [top, bottom] = [COLUMNS.indexOf(column), COLUMNS.indexOf("balls")];
  /** @type {number[]} what turns a replicate's columns into its residual */
  const weights = Array(COLUMNS.length).fill(0);
  weights[top] = 1 / balls;
  weights[bottom] = -value / balls;
  /** @type {number[][]} sums of products; a hit is a ball, and all are counted as 1 */
  const products = weights.map(() => Array(COLUMNS.length).fill(0));
  products[top][top] = products[top][bottom] = products[bottom][top] = hits;
  products[bottom][bottom] = balls;
  const terms = products.flatMap((row, i) => row.map((product, j) => weights[i] * product * weights[j]));
  let variance = byHalves(terms, terms.length);
  const squares = weights.map((weight, i) => weight * weight * products[i][i]);
  if (variance < ROUNDING * byHalves(squares, squares.length)) variance = 0;
  const se = Math.sqrt((Math.max(variance, 0) * replicates) / Math.max(replicates - 1, 1));
  return shareOf(memory, value, se, balls, (balls * balls) / balls);
}

/** A player at rest at a spot, and room to meet balls there. */
class Receiver {
  /** @param {Scene} scene @param {[number, number]} place @param {import("./strike.mjs").Striker} striker */
  constructor(scene, place, striker) {
    const { memory, n } = scene;
    this.scene = scene;
    this.place = place;
    this.striker = striker;
    this.met = memory.records("MEETING", SLICE);
    const grade = memory.room(1);
    const flight = memory.room(n.PATH_POINTS, PATH_COLUMNS);
    this.work = [...appraisalRoom(memory, 1), grade, flight, memory.records("MEETING")];
  }

  /** @param {number} first @param {number} count */
  meet(first, count) {
    const { memory, n, legs, times, seed, world } = this.scene;
    const mark = memory.mark();
    this.striker.strike(first, count, ...this.place);
    const struck = [memory.first(this.striker.balls, count), memory.first(this.striker.paths, count)];
    const replicates = memory.integers(count, (i) => first + i);
    const chance = memory.room(count, RECEIVE_DRAWS);
    const firsts = memory.integers(count, () => 0);
    memory.call("sim.chance:fill_uniforms", seed, replicates, BigInt(n.RECEIVE), firsts, chance);
    const bodies = this.scene.bodies(count, ...this.place);
    const spots = memory.numbers(Array(count).fill(this.place).flat(), count, 2);
    const [guess, startVx] = [memory.room(count), memory.room(count)];
    memory.call("sim.anticipation:fill_starts", struck[0], bodies, spots, chance, legs, guess, startVx);
    memory.floats(startVx).forEach((v, i) => memory.set(bodies, "vx_m_s", memory.get(bodies, "vx_m_s", i) + v, i));
    const out = memory.first(this.met, count);
    memory.call("sim.meeting:meet", ...struck, bodies, guess, legs, times, BigInt(n.BALANCED), world, ...this.work, out);
    memory.release(mark);
  }

  /** @param {number} i */
  landed(i) {
    return this.scene.memory.get(this.striker.balls, "outcome", i) === this.scene.n.IN;
  }

  /** @param {string} field @param {number} i */
  meeting(field, i) {
    return this.scene.memory.get(this.met, field, i);
  }

  /** @param {number} i @returns {MetBall} */
  told(i) {
    const { memory, n } = this.scene;
    if (!this.landed(i)) return { landed_in: false, grade: n.MISSED, path: [], meeting: {} };
    const size = n.PATH_POINTS * PATH_COLUMNS * Float64Array.BYTES_PER_ELEMENT;
    const after = { address: this.striker.paths.address + i * size, shape: [n.PATH_POINTS, PATH_COLUMNS] };
    return {
      landed_in: true,
      grade: this.meeting("grade", i),
      path: flightOf(this.scene, memory.one(this.striker.balls, i), after),
      meeting: Object.fromEntries(SHOWN.map((field) => [field, this.meeting(field, i)])),
    };
  }
}
