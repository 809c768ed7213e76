/**
 * From strokes that were charted to what a hitter is believed to play: `strategies.charts.belief`, the
 * same kernels and the same order of sums.
 */
import { inOrder } from "./sums.mjs";

/** @typedef {import("./memory.mjs").Placed} Placed */
/** @typedef {import("./scene.mjs").Scene} Scene */
/**
 * A stroke of the opponent in the frame of the player who charts; what was not seen is left out.
 * @typedef {Object} ChartedStroke
 * @property {number} contact_x_m
 * @property {number} contact_y_m
 * @property {number} [bounce_x_m] a ball in the net has no bounce
 * @property {number} [bounce_y_m]
 * @property {string} [wing] "forehand" or "backhand"
 * @property {string} [kind] of stroke
 * @property {string} [outcome]
 * @property {number} [speed_m_s]
 * @property {number} [topspin_rpm]
 */

const RIGHT = 1; // all is worked out as for a right-hander
const STILL = 4; // deviates of a target, and of pace

/** The BELIEF record and the STROKE_SEEN records of a scene's chart.
 * @param {Scene} scene @param {{hand: string, strokes: ChartedStroke[]}} chart @returns {[Placed, Placed]} */
export function beliefFromChart(scene, chart) {
  const { memory, hitter } = scene;
  const blank = memory.pooled(hitter.blank, "BELIEF");
  const strokes = chart.strokes.filter((stroke) => tellsDirection(scene, stroke));
  const seen = memory.records("STROKE_SEEN", strokes.length);
  const mark = memory.mark();
  const fit = new Fit(scene, strokes, chart.hand === "right" ? 1 : -1, blank);
  fit.aims().forEach((aims, i) => {
    memory.set(seen, "x_m", fit.x[i], i);
    memory.set(seen, "y_m", -fit.y[i], i);
    aims.forEach((chance, k) => memory.set(seen, "aims", chance, i, k));
    const [speed, topspin] = fit.paces(strokes[i], i);
    memory.set(seen, "speed_share", speed, i);
    memory.set(seen, "topspin_share", topspin, i);
  });
  memory.call("sim.belief:fill_usual_aims", blank, memory.room(2, scene.n.DIRECTIONS), seen);
  memory.release(mark);
  return [blank, seen];
}

/** How much the belief at the contact leans on the habit, from 0 to 1. @param {Scene} scene @param {[Placed, Placed]} belief */
export function leanOf(scene, [belief, strokes]) {
  const { memory, n } = scene;
  const mark = memory.mark();
  const near = memory.room(strokes.shape[0]);
  const [room, counts] = [memory.room(2, n.DIRECTIONS), memory.room(1, n.DIRECTIONS)];
  memory.call("sim.belief:fill_counts", scene.contact, scene.hand, belief, strokes, near, room, counts);
  const total = inOrder(memory.floats(counts), n.DIRECTIONS);
  const prior = memory.get(belief, "prior_strokes");
  memory.release(mark);
  return prior / (prior + total);
}

/** @param {Scene} scene @param {ChartedStroke} stroke */
function tellsDirection({ memory }, { outcome, kind }) {
  const { net, from_the_ground: ground } = memory.state.charts;
  return outcome !== net && ["", ...ground].includes(kind ?? "");
}

/** What each stroke was probably meant for. */
class Fit {
  /** @param {Scene} scene @param {ChartedStroke[]} strokes @param {number} hand of who was charted @param {Placed} blank */
  constructor(scene, strokes, hand, blank) {
    const { memory, n } = scene;
    const count = strokes.length;
    this.scene = scene;
    this.blank = blank;
    this.x = strokes.map((stroke) => -hand * stroke.contact_x_m);
    this.y = strokes.map((stroke) => -stroke.contact_y_m);
    this.wings = strokes.map(({ wing }, i) => {
      const isForehand = wing ? wing === "forehand" : this.x[i] >= 0;
      return isForehand ? n.FOREHAND : -n.FOREHAND;
    });
    this.contacts = memory.records("CONTACT", count);
    memory.fill(this.contacts, "z_m", 1);
    memory.fill(this.contacts, "quality", 1);
    this.wings.forEach((wing, i) => {
      memory.set(this.contacts, "x_m", this.x[i], i);
      memory.set(this.contacts, "y_m", this.y[i], i);
      memory.set(this.contacts, "wing", wing, i);
    });
    /** Whether crosscourt is the left (0) or the right (1). */
    this.side = this.wings.map((wing, i) => {
      return memory.call("sim.belief:crosscourt_of", this.x[i], BigInt(wing), RIGHT)[0] > 0 ? 1 : 0;
    });
    this.bounces = strokes.map(({ bounce_x_m: x = NaN, bounce_y_m: y = NaN }) => [-hand * x, -y]);
  }

  /** Chances of the aims of each stroke, by expectation and maximisation. @returns {number[][]} */
  aims() {
    const { memory } = this.scene;
    const weight = memory.get(this.blank, "prior_strokes");
    const near = this.nearness();
    const prior = this.prior();
    const own = prior.map((row) => row.map((share) => weight * share));
    const below = this.seenNear(near, prior).map((row, i) => row.map((count, k) => own[i][k] + count));
    const usual = prior.map((row, i) => row.map((share, k) => (below[i][k] > 0 ? share / below[i][k] : 0)));
    const chance = this.chances();
    let shares = prior;
    let meant = prior;
    for (let round = 0; round < memory.state.charts.rounds; round++) {
      meant = shares.map((row, i) => ofOne(row.map((share, k) => share * chance[i][k])));
      const seen = this.seenNear(near, meant);
      shares = usual.map((row, i) => ofOne(row.map((share, k) => share * (own[i][k] + seen[i][k]))));
    }
    return meant;
  }

  /** How much each stroke counts at the place of each other. @returns {Placed} */
  nearness() {
    const { memory } = this.scene;
    const count = this.x.length;
    const strokes = memory.records("STROKE_SEEN", count);
    this.x.forEach((x, i) => {
      memory.set(strokes, "x_m", x, i);
      memory.set(strokes, "y_m", -this.y[i], i);
    });
    const out = memory.room(count, count);
    memory.call("sim.belief:fill_nearness", this.contacts, RIGHT, this.blank, strokes, out);
    return out;
  }

  /** @param {Placed} near @param {number[][]} values one row a stroke @returns {number[][]} added up by nearness */
  seenNear(near, values) {
    const { memory } = this.scene;
    const mark = memory.mark();
    const [count, columns] = [values.length, memory.state.charts.direction_of.length];
    const out = memory.room(count, columns);
    memory.call("sim.over_arrays:fill_product", near, memory.numbers(values.flat(), count, columns), out);
    const found = rowsOf(memory.floats(out), count, columns);
    memory.release(mark);
    return found;
  }

  /** The habit's shares of the aims at each contact. @returns {number[][]} */
  prior() {
    const { memory, n } = this.scene;
    const { habit, no_strokes: none, columns } = memory.state.charts;
    const strokes = memory.pooled(none, "STROKE_SEEN");
    const count = this.x.length;
    const out = memory.room(count, n.DIRECTIONS);
    const room = [memory.room(strokes.shape[0]), memory.room(2, n.DIRECTIONS)];
    memory.call("sim.belief:fill_beliefs", this.contacts, RIGHT, memory.pooled(habit, "BELIEF"), strokes, ...room, out);
    return rowsOf(memory.floats(out), count, n.DIRECTIONS).map((shares, i) => {
      const aims = memory.state.charts.direction_of.map(() => 0);
      const side = this.side[i];
      aims[side] = shares[columns.crosscourt];
      aims[1 - side] = shares[columns.down_the_line];
      aims[2 + side] = shares[columns.short_angle];
      aims[4] = shares[columns.middle];
      return aims;
    });
  }

  /** The density of each bounce under each of the aims, over the largest. @returns {number[][]} */
  chances() {
    const { memory } = this.scene;
    const aims = memory.state.charts.direction_of.length;
    const columns = Array.from({ length: aims }, (_, k) => this.logChances(k));
    const rows = this.x.map((_, i) => columns.map((column) => column[i]));
    const lowered = rows.map((row) => row.map((value) => value - Math.max(...row)));
    const flat = memory.numbers(lowered.flat());
    const out = memory.room(flat.shape[0]);
    memory.call("sim.over_arrays:fill_exp", flat, out);
    return rowsOf(memory.floats(out), rows.length, columns.length);
  }

  /** Logarithm of the density of each bounce under one aim. @param {number} k @returns {number[]} */
  logChances(k) {
    const { memory, hitter, ability } = this.scene;
    const { columns, direction_of: directions, half_normal_mean: mean, half_normal_sd: sd } = memory.state.charts;
    const aim = memory.pooled(hitter.aims, "AIM");
    const [isMiddle, isShort] = [directions[k] === columns.middle, directions[k] === columns.short_angle];
    const direction = this.side.map((side) => {
      return directions[k] === columns.crosscourt && side !== k % 2 ? columns.down_the_line : directions[k];
    });
    const [target, log, scale] = this.targets(aim, direction, isMiddle ? 0 : mean, isShort ? 0 : mean);
    const spreadX = memory.get(aim, "width_spread_m") * (isMiddle ? 1 : sd);
    const spreadY = memory.get(aim, "depth_spread_m") * (isShort ? 0.5 : sd);
    const [turn, share] = [memory.get(ability, "direction_sd_rad"), memory.get(ability, "depth_sd_share")];
    const sds = this.x.map((x, i) => {
      const distance = length(target(i, "target_x_m") - x, target(i, "target_y_m") - this.y[i]);
      return [length(distance * turn, spreadX), length(distance * share, spreadY)];
    });
    memory.floats(scale).set(sds.map(([x, y]) => x * y));
    memory.call("sim.over_arrays:fill_log", scale, log);
    const logs = memory.floats(log);
    return sds.map(([sdX, sdY], i) => {
      if (isShort && this.side[i] !== k % 2) return -Infinity;
      const across = (this.bounces[i][0] - target(i, "target_x_m")) / sdX;
      const deep = (this.bounces[i][1] - target(i, "target_y_m")) / sdY;
      return -0.5 * (across * across + deep * deep) - logs[i];
    });
  }

  /** Targets toward directions, as a function of stroke and field; and room for two numbers a stroke.
   * @param {Placed} aim @param {number[]} direction @param {number} across @param {number} along
   * @returns {[(i: number, field: string) => number, Placed, Placed]} */
  targets(aim, direction, across, along) {
    const { memory, ability } = this.scene;
    const count = direction.length;
    const deviates = memory.room(count, STILL);
    const values = memory.floats(deviates);
    for (let i = 0; i < count; i++) values.set([across, along], i * STILL);
    const directions = memory.integers(count, (i) => direction[i]);
    const out = memory.records("INTENT", count);
    const room = /** @type {[Placed, Placed]} */ ([memory.room(count), memory.room(count)]);
    memory.call("strategies.aim:aim_all", this.contacts, directions, deviates, RIGHT, aim, ability, out);
    return [(i, field) => memory.get(out, field, i), ...room];
  }

  /** Speed and topspin of a drive over the usual ones; 0 where they were not measured.
   * @param {ChartedStroke} stroke @param {number} i @returns {[number, number]} */
  paces({ kind, speed_m_s: speed, topspin_rpm: topspin }, i) {
    const { memory, n, ability } = this.scene;
    if (!["", memory.state.charts.drive].includes(kind ?? "")) return [0, 0];
    const wing = this.wings[i] === n.FOREHAND ? "forehand" : "backhand";
    const over = (/** @type {number | undefined} */ value, /** @type {string} */ what) =>
      value === undefined ? 0 : value / memory.get(ability, `${wing}_${what}`);
    return [over(speed, "speed_m_s"), over(topspin === undefined ? topspin : topspin * n.RPM, "topspin_rad_s")];
  }
}

/** @param {number} x @param {number} y */
const length = (x, y) => Math.sqrt(x * x + y * y);

/** Shares of a whole of 1. @param {number[]} values */
function ofOne(values) {
  const total = inOrder(values, values.length);
  return values.map((value) => value / total);
}

/** @param {Float64Array} values @param {number} count @param {number} columns @returns {number[][]} */
function rowsOf(values, count, columns) {
  return Array.from({ length: count }, (_, i) => Array.from(values.subarray(i * columns, (i + 1) * columns)));
}
